// The strip follows the hand: each move asks the server for the colours, one question at a time, and paints the answer.
import { keeper } from "./kept.js";
import { paint as paintPaths, unpack } from "./paths.js";
import { length, light, number, shown } from "./units.js";
import { WIDE, colour } from "./wide.js";

const form = document.getElementById("doses");
const strip = document.getElementById("strip");
const stops = strip.querySelectorAll("stop");
const darkMark = strip.querySelector(".dark-mark");
const darkLine = strip.querySelector(".dark-line");
const darkWord = strip.querySelector(".dark-word");
// What a place shows stands in two parts of the screen.
const places = [...document.querySelectorAll(".place")].map((card) => {
  const of = (query) => [...document.querySelectorAll(`[data-place="${card.dataset.place}"] ${query}`)];
  return {
    show: Object.fromEntries(of("[data-show]").map((part) => [part.dataset.show, part])),
    tint: of(".swatch .first")[0], like: of("[data-show=like] rect"), lift: of(".lift rect")[0],
  };
});
const weigh = document.getElementById("weigh");
const pigments = [...form.querySelectorAll("[data-pigment]")].map((row) => ({
  row, name: row.dataset.pigment, top: Number(row.dataset.top), usual: Number(row.dataset.top),
  highest: Number(row.dataset.highest), reach: row.querySelector(".reach"),
  box: row.querySelector(".dose-box"), slider: row.querySelector("input[type=range]"),
}));
const total = document.querySelector("[data-show=total]");
const live = document.getElementById("tint-live");
const warnings = document.getElementById("tint-warnings");
const problem = document.getElementById("tint-problem");
const casting = document.getElementById("casting");
let paths = null;
let shades = null;
const keep = keeper(form, "tint-problem", refused, (said) => { form.elements.revision_tint.value = said.revision; });
const POWER = 2;
const LENGTH = 1000;

// Doses and sliders
const doseAt = (pigment) => Number(shown(pigment.top * (pigment.slider.value / LENGTH) ** POWER, 3) || 0);
const wayTo = (pigment, dose) => (pigment.top > 0 ? Math.round(LENGTH * (dose / pigment.top) ** (1 / POWER)) : 0);
const say = (pigment, dose) => pigment.slider.setAttribute("aria-valuetext", `${shown(dose, 3)} g per 100 g mixed`);

// A typed dose beyond the slider's end moves the end, and a smaller one moves it back.
function stretch(pigment, dose) {
  pigment.top = Math.max(pigment.usual, dose);
  const known = pigment.top > 0 ? Math.min(pigment.highest / pigment.top, 1) ** (1 / POWER) : 1;
  pigment.reach.setAttribute("width", `${(100 * known).toFixed(1)}%`);
}

for (const pigment of pigments) {
  pigment.row.querySelector(".slider").hidden = false;
  stretch(pigment, number(pigment.box.value) || 0);
  say(pigment, number(pigment.box.value));
  pigment.slider.addEventListener("input", () => {
    const dose = doseAt(pigment);
    pigment.box.value = shown(dose, 3);
    pigment.box.removeAttribute("aria-invalid");
    say(pigment, dose);
    ask();
  });
  pigment.box.addEventListener("input", () => {
    const dose = pigment.box.value.trim() === "" ? 0 : number(pigment.box.value);
    const usable = dose >= 0 && dose <= 100;
    if (!usable) {
      pigment.box.setAttribute("aria-invalid", "true");
      tell(`${pigment.name}: type a dose from 0 to 100, such as 0.02.`);
      return;
    }
    pigment.box.removeAttribute("aria-invalid");
    stretch(pigment, dose);
    pigment.slider.value = wayTo(pigment, dose);
    say(pigment, dose);
    ask();
  });
  pigment.slider.addEventListener("change", () => keep.soon(250));
  pigment.box.addEventListener("change", () => keep.soon(250));
}

// Other forms that use or change the doses wait until those are kept.
for (const other of document.querySelectorAll("form[data-after-keep], #undo, #redo")) {
  other.addEventListener("submit", async (event) => {
    event.preventDefault();
    const wrong = form.querySelector("[aria-invalid=true]");
    if (wrong && other.dataset.afterKeep !== undefined) { wrong.focus(); return; }
    if (keep.waits()) keep.now();
    await keep.done();
    if (problem.hidden || other.dataset.afterKeep === undefined) other.submit();
  });
}

// The casting's paths are fetched once; a tint is then a colour for each length of them.
if (casting) fetchPaths();

async function fetchPaths() {
  const answer = await fetch(casting.dataset.paths, { headers: { accept: "application/json" } });
  if (!answer.ok) { tell((await answer.json()).error); return; }
  paths = unpack(await answer.arrayBuffer());
  paintCasting(shades || paths.colours);
}

function paintCasting(colours) {
  paintPaths(casting, paths, colours);
  casting.dataset.painted = Number(casting.dataset.painted || 0) + 1;
}

// Ask and paint
let asking = false;
let again = false;
let speaking;

async function ask() {
  if (weigh) weigh.hidden = true;
  if (asking) { again = true; return; }
  asking = true;
  try {
    const answer = await fetch(`${form.dataset.look}?${query()}`, { headers: { accept: "application/json" } });
    const seen = await answer.json();
    if (answer.ok) { paint(seen); tell(""); } else tell(seen.error);
  } catch {
    tell("The page does not answer. Is `tintmix serve` still running?");
  }
  asking = false;
  if (again) { again = false; ask(); }
}

function query() {
  const parts = new URLSearchParams();
  for (const pigment of pigments) {
    const dose = number(pigment.box.value);
    if (dose > 0) parts.set(`dose.${pigment.name}`, pigment.box.value.trim());
  }
  return parts;
}

function paint(seen) {
  seen.strip.stops.forEach(([, srgb], at) => colour(stops[at], "stop-color", srgb, seen.strip.wide[at]));
  const from = seen.strip.dark_from_mm;
  darkMark.setAttribute("visibility", from === null ? "hidden" : "visible");
  if (from !== null) {
    const along = (100 * (from - seen.strip.from_mm)) / (seen.strip.to_mm - seen.strip.from_mm);
    darkWord.textContent = `too dark from ${length(from)}`;
    darkLine.setAttribute("x1", `${Math.min(Math.max(along, 0), 100)}%`);
  }
  seen.places.forEach((place, at) => {
    const { show, tint, like, lift } = places[at];
    colour(tint, "fill", place.srgb, place.wide && place.wide.css);
    place.like.forEach((srgb, i) => colour(like[i], "fill", srgb, place.like_wide[i]));
    show.light.textContent = light(place.light);
    show.outside.hidden = place.inside_srgb || (WIDE && place.wide.inside);
    show.dark.hidden = !place.too_dark;
    show.sure.textContent = place.sure;
    show.off.textContent = place.off.toFixed(1);
    show.lift.hidden = place.lift === null;
    if (place.lift) { lift.setAttribute("fill", place.lift.srgb); show.stops.textContent = place.lift.stops; }
    if (place.target && show.target) { show.target.textContent = place.target.says; show["target-off"].textContent = place.target.off.toFixed(1); }
  });
  if (casting && seen.casting) {
    shades = seen.casting;
    if (paths) paintCasting(shades);
  }
  if (total) total.textContent = shown(seen.total_phr, 3);
  warnings.replaceChildren(...seen.warnings.map((sentence) => {
    const item = document.createElement("li");
    item.textContent = sentence;
    return item;
  }));
  clearTimeout(speaking);
  speaking = setTimeout(() => {
    live.textContent = seen.places.map((place) => `${place.name}: light through ${light(place.light)}${place.too_dark ? ", too dark" : ""}`).join("; ");
  }, 700);
}

function tell(sentence, ...buttons) {
  problem.hidden = !sentence;
  problem.replaceChildren(sentence ? `${sentence} ` : "", ...buttons);
}

function refused(sentence, status) {
  if (status !== 409) tell(sentence);
  else tell(sentence, button("Load what is there", () => location.reload()), button("Use mine instead", useMine));
}

async function useMine() {
  const now = await (await fetch("/tint/now", { headers: { accept: "application/json" } })).json();
  form.elements.revision_tint.value = now.revision;
  tell("");
  keep.now();
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "quiet";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}
