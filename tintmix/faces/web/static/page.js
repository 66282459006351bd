// What every screen has: scripts can do more than forms alone, and what is half typed is not lost.
import { keepForms } from "./keep.js";

for (const element of document.querySelectorAll(".no-script")) element.hidden = true;
keepForms();
// A screen from the browser's memory may be of an earlier revision: ask for it anew.
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
const problem = document.getElementById("problem");
if (problem) { problem.tabIndex = -1; problem.focus(); }
