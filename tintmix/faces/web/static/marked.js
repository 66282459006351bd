// A box that is wrong is marked, whatever is folded over it is opened, and the mark goes as soon as something else is typed.
export function mark(box, told) {
  for (let fold = box.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  box.setAttribute("aria-invalid", "true");
  const described = new Set((box.getAttribute("aria-describedby") || "").split(" ").filter(Boolean));
  box.setAttribute("aria-describedby", [...described.add(told)].join(" "));
  box.addEventListener("input", () => box.removeAttribute("aria-invalid"), { once: true, capture: true });
}
