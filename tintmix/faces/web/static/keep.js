// Forms marked data-keep="name": what is typed stays in this tab until it is sent, over reload and the browser's back. With
// data-undone="what it does": what was sent stands in it again once that is undone.
// A box that the page has filled otherwise since, from a photo or by another answer, shows what the page knows: that is newer.
const HOLD = "typed:";
const SENT = "sent:";
const REFUSED = ":refused";
const UNDONE = "undone";

export function keepForms() {
  const refused = document.getElementById("problem");
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
    // Of what was refused, the page shows what was typed: what it knew before stands beside what was sent.
    const before = refused ? kept(key + REFUSED).map((one) => one[3]) : [];
    if (!refused) { sessionStorage.removeItem(key + REFUSED); restore(form, key); }
    form.addEventListener("input", () => hold(form, key, before));
    form.addEventListener("submit", () => {
      const typed = sessionStorage.getItem(key);
      if (typed) sessionStorage.setItem(key + REFUSED, typed);
      if (does) { hold(form, key, before); sessionStorage.setItem(SENT + form.dataset.keep, sessionStorage.getItem(key)); }
      sessionStorage.removeItem(key);
    });
  }
  // A box marked data-typed="/trial:trial:chip_0_mm" begins with what was typed for it on that screen, and not sent.
  if (!refused) for (const box of document.querySelectorAll("[data-typed]")) {
    const [path, form, name] = box.dataset.typed.split(":");
    const one = kept(`${HOLD}${path}:${form}`).find((typed) => typed[0] === name);
    if (one && one[1] && one[3] === served(box)) box.value = one[1];
  }
}

function kept(key) {
  try { return JSON.parse(sessionStorage.getItem(key) || "[]"); } catch { return []; }
}

function boxes(form) {
  return [...form.elements].filter((box) => box.name && !["hidden", "file", "submit", "button"].includes(box.type));
}

const ticks = (box) => box.type === "checkbox" || box.type === "radio";

// What the page itself put into a box.
function served(box) {
  if (ticks(box)) return box.defaultChecked;
  if (box.options) return ([...box.options].find((option) => option.defaultSelected) || box.options[0] || box).value;
  return box.defaultValue;
}

function hold(form, key, before) {
  const typed = boxes(form).map((box, at) => [
    box.name, ticks(box) ? [box.value, box.checked] : box.value, box.dataset.first || "", before[at] ?? served(box),
  ]);
  sessionStorage.setItem(key, JSON.stringify(typed));
}

function restore(form, key) {
  const typed = kept(key);
  const list = boxes(form);
  typed.forEach(([name, value, first, page], at) => {
    const box = list[at];
    // What stands first has changed since: it goes before what was chosen of the old list.
    if (!box || box.name !== name || (box.dataset.first || "") !== (first || "") || page !== served(box)) return;
    if (Array.isArray(value)) { if (box.value === value[0]) box.checked = value[1]; } else box.value = value;
  });
  if (typed.length) { const around = form.closest("details"); if (around) around.open = true; }
}
