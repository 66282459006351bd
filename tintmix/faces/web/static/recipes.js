// Only the boxes of the kind of target that is chosen are shown.
const kinds = [...document.querySelectorAll("input[name=kind]")];
function fold() {
  for (const box of document.querySelectorAll("[data-kind]")) box.hidden = !kinds.some((kind) => kind.checked && kind.value === box.dataset.kind);
}
for (const kind of kinds) kind.addEventListener("change", fold);
if (kinds.length) { fold(); addEventListener("load", fold); }
