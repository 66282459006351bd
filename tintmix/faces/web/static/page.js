// What every screen has: scripts can do more than forms alone, and what is half typed is not lost.
import { keepForms } from "./keep.js";
import { mark } from "./marked.js";
import "./wide.js";

for (const element of document.querySelectorAll(".no-script")) element.hidden = true;
keepForms();
// A screen from the browser's memory may be of an earlier revision: ask for it anew.
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
// The steps are one row: in a narrow window the present one is brought into view.
const step = document.querySelector(".step[aria-current]");
if (step) step.closest(".steps").scrollLeft = step.offsetLeft - 40;
const problem = document.getElementById("problem");
if (problem) {
  const box = problem.dataset.box && document.querySelector(`main [name="${CSS.escape(problem.dataset.box)}"]:not([type="hidden"])`);
  if (box) mark(box, "problem", problem.textContent.trim());
  problem.tabIndex = -1;
  (box || problem).focus();
}
