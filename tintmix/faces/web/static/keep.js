// Forms marked data-keep="name": what is typed stays in this tab until it is sent, over reload and the browser's back. With
// data-undone="what it does": what was sent stands in it again once that is undone.
const HOLD = "typed:";
const SENT = "sent:";
const UNDONE = "undone";

export function keepForms() {
  const undone = sessionStorage.getItem(UNDONE);
  sessionStorage.removeItem(UNDONE);
  document.getElementById("undo")?.addEventListener("submit", (event) => {
    sessionStorage.setItem(UNDONE, event.target.querySelector(".exact").textContent);
  });
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const key = HOLD + location.pathname + ":" + form.dataset.keep;
    const { undone: does } = form.dataset;
    if (does && does === undone && !sessionStorage.getItem(key)) {
      const sent = sessionStorage.getItem(SENT + form.dataset.keep);
      if (sent) sessionStorage.setItem(key, sent);
    }
    if (!document.getElementById("problem")) restore(form, key);
    form.addEventListener("input", () => hold(form, key));
    form.addEventListener("submit", () => {
      if (does) { hold(form, key); sessionStorage.setItem(SENT + form.dataset.keep, sessionStorage.getItem(key)); }
      sessionStorage.removeItem(key);
    });
  }
}

function boxes(form) {
  return [...form.elements].filter((box) => box.name && !["hidden", "file", "submit", "button"].includes(box.type));
}

function hold(form, key) {
  const typed = boxes(form).map((box) => [box.name, box.type === "checkbox" || box.type === "radio" ? [box.value, box.checked] : box.value, box.dataset.first || ""]);
  sessionStorage.setItem(key, JSON.stringify(typed));
}

function restore(form, key) {
  let typed;
  try { typed = JSON.parse(sessionStorage.getItem(key) || "[]"); } catch { return; }
  const list = boxes(form);
  typed.forEach(([name, value, first], at) => {
    const box = list[at];
    // What stands first has changed since: it goes before what was chosen of the old list.
    if (!box || box.name !== name || (box.dataset.first || "") !== (first || "")) return;
    if (Array.isArray(value)) { if (box.value === value[0]) box.checked = value[1]; } else box.value = value;
  });
  if (typed.length) { const around = form.closest("details"); if (around) around.open = true; }
}
