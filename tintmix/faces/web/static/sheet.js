// What is ticked and weighed is kept as it is done; the answer tells how far off it is, and what it makes.
import { keeper } from "./kept.js";
import { colour } from "./wide.js";

const form = document.getElementById("sheet-form");
const ways = [...document.querySelectorAll("input[name=how]")];

// Only the boxes of the way that is chosen are shown.
function fold() {
  for (const box of document.querySelectorAll("[data-how]")) box.hidden = !ways.some((way) => way.checked && box.dataset.how.split(" ").includes(way.value));
}
for (const way of ways) way.addEventListener("change", fold);
if (ways.length) { fold(); addEventListener("load", fold); }

if (form) {
  const problem = document.getElementById("sheet-problem");
  const ticked = document.getElementById("sheet-ticked");
  const panel = document.getElementById("as-weighed");
  const says = document.getElementById("as-weighed-says");
  const keep = keeper(form, "sheet-problem", tell, (said) => {
    tell("");
    for (const box of document.querySelectorAll("input[name=revision_sheet]")) box.value = said.revision;
    ticked.textContent = `${said.ticked} of ${said.ticks} ticked`;
    for (const [key, off] of Object.entries(said.off)) {
      const place = document.getElementById(`off-${key}`);
      if (place && place.textContent !== off) place.textContent = off;
    }
    for (const place of document.querySelectorAll(".by-now")) {
      const shown = said.day.shown[place.id.slice(4)];
      place.hidden = !shown;
      place.textContent = shown || "";
      place.nextElementSibling.hidden = Boolean(shown);
      const because = document.getElementById(`because-${place.id.slice(4)}`);
      because.hidden = !shown;
      because.firstElementChild.textContent = said.day.because;
    }
    const trial = document.getElementById("by-now");
    trial.replaceChildren(...said.day.trial.map((told) => Object.assign(document.createElement("p"), { className: "mark", textContent: told })));
    for (const place of document.querySelectorAll("[id^=told-]")) {
      const told = said.day.told[place.id.slice(5)] || "";
      if (place.textContent !== told) place.textContent = told;
    }
    for (const place of document.querySelectorAll(".effect")) {
      const effect = said.effects[place.id.slice(7)];
      place.hidden = !effect;
      if (!effect) continue;
      colour(place.querySelector(".first"), "fill", effect.planned, effect.planned_wide && effect.planned_wide.css);
      colour(place.querySelector(".second"), "fill", effect.srgb, effect.wide && effect.wide.css);
      place.querySelector(".effect-says").textContent = effect.says;
    }
    document.getElementById("planned-only").textContent = said.planned_only;
    panel.hidden = said.seen === null;
    if (said.seen) {
      says.textContent = said.seen.says;
      const swatches = document.querySelectorAll("#as-weighed-places .second");
      said.seen.places.forEach((place, at) => colour(swatches[at], "fill", place.srgb, place.wide && place.wide.css));
    }
  });

  form.addEventListener("change", () => keep.soon(0));
  form.addEventListener("input", (event) => { if (event.target.type === "text") keep.soon(900); });
  // What was just ticked and typed is kept before it goes into the book, or gives way to another sheet: else the form, made from
  // what stood here before, would be taken for another tab's.
  for (const other of document.querySelectorAll("#into-book form, form.setup")) {
    other.addEventListener("submit", async (event) => {
      if (!keep.busy()) return;
      event.preventDefault();
      const button = event.submitter;
      await (keep.waits() ? keep.now() : keep.done());
      other.requestSubmit(button);
    });
  }

  function tell(sentence) {
    problem.hidden = !sentence;
    problem.textContent = sentence;
  }
}
