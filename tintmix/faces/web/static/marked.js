// A box that is wrong is marked, whatever is folded over it is opened, and the mark goes as soon as something else is typed.
// told: the name of what tells the sentence; sentence: where that is far away, the same once more at the box.
export function mark(box, told, sentence = "") {
  for (let fold = box.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  box.setAttribute("aria-invalid", "true");
  const described = new Set((box.getAttribute("aria-describedby") || "").split(" ").filter(Boolean));
  box.setAttribute("aria-describedby", [...described.add(told)].join(" "));
  const said = document.createElement("span");
  said.className = "wrong-says";
  said.textContent = sentence;
  said.setAttribute("aria-hidden", "true");
  if (sentence) box.after(said);
  box.addEventListener("input", () => { box.removeAttribute("aria-invalid"); said.remove(); }, { once: true, capture: true });
}
