// Samples of an instrument's file onto chips: a sample is dragged by its name onto a chip's box, with mouse, pen or finger. The
// choice stands in the sample's own list, where the keyboard makes it; the boxes only show and set it.
const EDGE = 60; // px from the window's edge from which on it scrolls along
const tray = document.querySelector("[data-chips]");
const lists = [...document.querySelectorAll("select.sample-chip")];

if (tray && lists.length) {
  tray.hidden = false;
  for (const list of lists) {
    const row = list.closest("tr");
    const grip = row.querySelector("[data-sample]");
    grip.classList.add("grip");
    grip.addEventListener("pointerdown", (press) => { if (press.button === 0) carry(press, grip, list); });
    list.addEventListener("change", show);
  }
  addEventListener("pageshow", show);
  show();
}

function chips() { return [...tray.querySelectorAll("[data-chip]")]; }

function show() {
  for (const box of chips()) {
    const mine = lists.filter((list) => list.value === box.dataset.chip);
    const held = box.querySelector(".held");
    held.replaceChildren(...mine.map((list) => free(list, box.dataset.chip)));
    box.classList.toggle("full", mine.length > 0);
    box.querySelector(".several").hidden = mine.length < 2;
  }
}

function nameOf(list) { return list.closest("tr").querySelector("[data-sample]").textContent; }

function free(list, chip) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet taken";
  button.textContent = `${nameOf(list)} ×`;
  button.setAttribute("aria-label", `Take ${nameOf(list)} off ${chip}`);
  button.addEventListener("click", () => { choose(list, ""); list.focus(); });
  return button;
}

function choose(list, chip) {
  list.value = chip;
  list.dispatchEvent(new Event("change", { bubbles: true }));
}

function carry(press, grip, list) {
  press.preventDefault();
  grip.setPointerCapture(press.pointerId);
  const ghost = document.createElement("span");
  ghost.className = "carried";
  ghost.textContent = nameOf(list);
  document.body.append(ghost);
  let over = null;

  const move = (at) => {
    ghost.style.transform = `translate(${at.clientX + 12}px, ${at.clientY + 8}px)`;
    const found = document.elementFromPoint(at.clientX, at.clientY)?.closest("[data-chip]") ?? null;
    if (found !== over) { over?.classList.remove("over"); found?.classList.add("over"); over = found; }
    if (at.clientY < EDGE) scrollBy(0, -EDGE / 4); else if (at.clientY > innerHeight - EDGE) scrollBy(0, EDGE / 4);
  };
  const end = (at) => {
    for (const [name, what] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) grip.removeEventListener(name, what);
    removeEventListener("keydown", leave);
    ghost.remove();
    over?.classList.remove("over");
    if (at.type === "pointerup" && over) choose(list, over.dataset.chip);
  };
  const leave = (key) => { if (key.key === "Escape") { over?.classList.remove("over"); over = null; end(key); } };
  grip.addEventListener("pointermove", move);
  grip.addEventListener("pointerup", end);
  grip.addEventListener("pointercancel", end);
  addEventListener("keydown", leave);
  move(press);
}
