// The casting in the hand: a drag or an arrow key turns it, coarse at once, finer when it rests; a click tells of a place.
import { paint, seenAt, unpack } from "./paths.js";
import { MM, UNIT, length, light, number, shown } from "./units.js";

const canvas = document.getElementById("casting");
const form = document.getElementById("view");
const boxes = { turn: form.elements.turn, tilt: form.elements.tilt, lit: form.elements.lit };
const says = document.getElementById("casting-says");
const trouble = document.getElementById("casting-problem");
const mark = document.getElementById("casting-mark");
const here = document.getElementById("casting-here");
const elsewhere = document.getElementById("casting-elsewhere");
const kept = elsewhere ? elsewhere.dataset.view : "";
const KEY_DEGREES = 5;
const PIXEL_DEGREES = 0.5;
const CLICK_PIXELS = 4;

let turned = 0;
let held = false;
let asking = false;
let picture = null;
let at = { turn: number(boxes.turn.value) || 0, tilt: number(boxes.tilt.value) };
if (!(Math.abs(at.tilt) <= 90)) at.tilt = 90;

const view = () => `turn=${at.turn}&tilt=${at.tilt}&lit=${boxes.lit.value}`;

function turn(by, up) {
  look(((at.turn + by) % 360 + 360) % 360, Math.min(Math.max(at.tilt + up, -90), 90));
}

function look(toTurn, toTilt) {
  at = { turn: Math.round(10 * toTurn) / 10, tilt: Math.round(10 * toTilt) / 10 };
  boxes.turn.value = at.turn;
  boxes.tilt.value = at.tilt;
  changed();
}

function changed() {
  turned += 1;
  mark.hidden = true;
  here.hidden = true;
  // What was said is of the view before; it stands again when this one is known.
  says.setAttribute("aria-busy", "true");
  canvas.dataset.fine = "";
  if (elsewhere) elsewhere.hidden = view() === kept;
  for (const box of document.querySelectorAll("[data-view-box]")) box.value = form.elements[box.dataset.viewBox].value;
  ask(0);
}

// One question at a time. A new view is asked coarse; one that rests is asked again, each time with twice the samples.
async function ask(samples) {
  if (asking) return;
  asking = true;
  const of = turned;
  let next = null;
  try {
    const answer = await fetch(`/casting/picture?${view()}&samples=${samples}`, { headers: { accept: "application/json" } });
    if (answer.ok) {
      const found = unpack(await answer.arrayBuffer());
      picture = found;
      paint(canvas, found, found.colours);
      tell("");
      if (of === turned && !held && found.fine < found.of) next = Math.max(1, 2 * found.fine);
      if (of === turned && found.fine === found.of) describe(found.says);
    } else tell((await answer.json()).error);
  } catch {
    tell("The page does not answer. Is `tintmix serve` still running?");
  }
  asking = false;
  if (of !== turned) ask(0);
  else if (next !== null) ask(next);
  canvas.dataset.fine = picture ? picture.fine : "";
}

function describe(sentence) {
  says.textContent = sentence;
  says.removeAttribute("aria-busy");
  canvas.setAttribute("aria-label", sentence);
}

function tell(sentence) {
  trouble.hidden = !sentence;
  trouble.textContent = sentence;
}

// A place: what is straight behind it, and how far the light has gone that is seen there.
function pick(x, y) {
  if (!picture) return;
  const column = Math.min(Math.max(Math.floor(x * picture.width), 0), picture.width - 1);
  const row = Math.min(Math.max(Math.floor(y * picture.height), 0), picture.height - 1);
  const seen = seenAt(picture, column, row);
  mark.hidden = false;
  mark.style.left = `${100 * x}%`;
  mark.style.top = `${100 * y}%`;
  document.getElementById("place-across").value = shown(((x - 0.5) * picture.width * picture.pixel_mm) / MM[UNIT], 4);
  document.getElementById("place-up").value = shown(((0.5 - y) * picture.height * picture.pixel_mm) / MM[UNIT], 4);
  here.hidden = false;
  if (!seen.sees) here.textContent = "There the casting is not.";
  else if (seen.path === null) here.textContent = `There: ${length(seen.straight)} of resin, and no light comes: dark by its shape.`;
  else {
    here.textContent = `There: ${length(seen.straight)} of resin, seen through ${length(seen.path)}; ${light(seen.light)} of the light comes in clear resin${seen.light < 0.2 ? ", so that it is dark by its shape" : ""}.`;
  }
}

let drag = null;
const share = (event) => {
  const box = canvas.getBoundingClientRect();
  return [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
};
canvas.addEventListener("pointerdown", (event) => {
  drag = { x: event.clientX, y: event.clientY, from: { ...at }, moved: false };
  held = true;
  canvas.setPointerCapture(event.pointerId);
});
canvas.addEventListener("pointermove", (event) => {
  if (!drag) return;
  const [dx, dy] = [event.clientX - drag.x, event.clientY - drag.y];
  if (!drag.moved && Math.hypot(dx, dy) < CLICK_PIXELS) return;
  drag.moved = true;
  look((((drag.from.turn - PIXEL_DEGREES * dx) % 360) + 360) % 360, Math.min(Math.max(drag.from.tilt + PIXEL_DEGREES * dy, -90), 90));
});
function letGo(event) {
  if (!drag) return;
  const clicked = !drag.moved;
  drag = null;
  held = false;
  if (clicked && event.type === "pointerup") pick(...share(event));
  ask(picture && !asking ? Math.max(1, picture.fine) : 0);
}
canvas.addEventListener("pointerup", letGo);
canvas.addEventListener("pointercancel", letGo);
canvas.addEventListener("keydown", (event) => {
  const step = event.shiftKey ? 3 * KEY_DEGREES : event.ctrlKey ? 1 : KEY_DEGREES;
  const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key];
  if (way) turn(...way);
  else if (event.key === "Home") look(0, 90);
  else return;
  event.preventDefault();
});
for (const button of document.querySelectorAll("[data-look]")) {
  button.hidden = false;
  button.addEventListener("click", () => look(...button.dataset.look.split(" ").map(Number)));
}
for (const box of [boxes.turn, boxes.tilt]) {
  box.addEventListener("change", () => {
    const [toTurn, toTilt] = [number(boxes.turn.value), number(boxes.tilt.value)];
    if (Number.isFinite(toTurn) && Number.isFinite(toTilt) && Math.abs(toTilt) <= 90) { at = { turn: toTurn, tilt: toTilt }; changed(); }
  });
}
boxes.lit.addEventListener("change", changed);

// A mesh that is dropped anywhere on the screen is sent, with the unit that is chosen.
const drop = document.getElementById("mesh-form");
for (const name of ["dragover", "drop"]) {
  addEventListener(name, (event) => {
    if (![...event.dataTransfer.types].includes("Files")) return;
    event.preventDefault();
    if (name === "drop") { drop.elements.mesh.files = event.dataTransfer.files; drop.closest("details").open = true; drop.requestSubmit(); }
  });
}
for (const button of document.querySelectorAll("[data-fold]")) {
  const parts = document.querySelectorAll(`[data-insert]`);
  const sort = () => parts.forEach((part) => { part.hidden = part.dataset.insert !== button.form.elements.insert.value; });
  button.addEventListener("change", sort);
  sort();
}
canvas.setAttribute("tabindex", "0");
document.getElementById("casting-keys").hidden = false;
ask(0);
