// Places in a photo: drawn with the pointer or the arrow keys, always the same as what stands in the boxes.
import { number } from "./units.js";

for (const work of document.querySelectorAll("[data-photo]")) begin(work);

function begin(work) {
  const picture = work.querySelector("svg.photo");
  const wide = Number(picture.dataset.width);
  const high = Number(picture.dataset.height);
  const group = picture.querySelector(".boxes");
  const rowsBox = work.querySelector(".place-rows");
  const form = work.closest("form");
  const live = work.querySelector("[data-photo-live]");
  const trouble = work.querySelector("[data-photo-problem]");
  const order = work.dataset.chips.split("\n");
  const ends = ["bare panel", "black card"];
  let atHand = -1;
  let drag = null;
  let changed = false;
  let size = Math.round(Math.min(wide, high) / 12);

  const rows = () => [...rowsBox.querySelectorAll("[data-row]")];
  const boxOf = (row) => ["x", "y", "w", "h"].map((side) => number(row.querySelector(`[data-side=${side}]`).value));
  const isSet = (row) => boxOf(row).every(Number.isFinite);

  function put(row, box) {
    rowsBox.closest("details").open = true;
    const [x, y, w, h] = clamp(box);
    [["x", x], ["y", y], ["w", w], ["h", h]].forEach(([side, value]) => { row.querySelector(`[data-side=${side}]`).value = Math.round(value); });
    changed = true;
    paint();
    ask();
  }

  function clamp([x, y, w, h]) {
    w = Math.min(Math.max(w, 8), wide);
    h = Math.min(Math.max(h, 8), high);
    return [Math.min(Math.max(x, 0), wide - w), Math.min(Math.max(y, 0), high - h), w, h];
  }

  function paint() {
    group.replaceChildren(...rows().flatMap((row, at) => {
      if (!isSet(row)) return [];
      const [x, y, w, h] = boxOf(row);
      const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      for (const [name, value] of Object.entries({ x, y, width: w, height: h })) rect.setAttribute(name, value);
      rect.setAttribute("class", at === atHand ? "box at-hand" : "box");
      const name = document.createElementNS("http://www.w3.org/2000/svg", "text");
      const letters = (14 * wide) / Math.max(picture.getBoundingClientRect().width, 1);
      name.setAttribute("class", "box-name");
      name.setAttribute("x", x + letters / 4);
      name.setAttribute("y", y + letters);
      name.style.fontSize = `${letters}px`;
      name.textContent = row.querySelector("select").value;
      return [rect, name];
    }));
  }

  function another() {
    const list = rows();
    const row = list[list.length - 1].cloneNode(true);
    for (const part of row.querySelectorAll("[id], [for], [name]")) {
      for (const name of ["id", "for", "name"]) if (part.hasAttribute(name)) part.setAttribute(name, part.getAttribute(name).replace(/place_\d+/, `place_${list.length}`));
      if (part.tagName === "INPUT") part.value = "";
    }
    row.querySelector("legend").textContent = `Place ${list.length + 1}`;
    row.querySelector("[data-reads]").hidden = true;
    rowsBox.append(row);
    listen(row);
    return row;
  }

  // The next place: an empty row, or one more; what lies there is the next chip that has no place, then bare panel.
  function next() {
    const row = rows().find((one) => !isSet(one)) || another();
    const taken = rows().filter(isSet).map((one) => one.querySelector("select").value);
    const choice = row.querySelector("select");
    const known = [...choice.options].map((option) => option.value);
    choice.value = order.find((name) => !taken.includes(name)) || ends.find((name) => known.includes(name)) || "";
    atHand = rows().indexOf(row);
    return row;
  }

  function say(row) {
    const [x, y, w, h] = boxOf(row).map(Math.round);
    live.textContent = `${row.querySelector("select").value || "a place"}: left ${x}, top ${y}, width ${w}, height ${h}`;
  }

  function listen(row) {
    row.addEventListener("focusin", () => { atHand = rows().indexOf(row); paint(); });
    row.addEventListener("input", () => { changed = true; paint(); ask(); });
  }

  // What each place reads, asked one question at a time.
  let asking = false;
  let again = false;
  async function ask() {
    if (asking) { again = true; return; }
    asking = true;
    const query = new URLSearchParams();
    for (const box of rowsBox.querySelectorAll("select, input")) if (box.value.trim()) query.set(box.name, box.value.trim());
    const tones = form.querySelector("[name=tones]:checked");
    if (tones) query.set("tones", tones.value);
    try {
      const answer = await fetch(`${work.dataset.look}?${query}`, { headers: { accept: "application/json" } });
      const seen = await answer.json();
      if (answer.ok) show(seen); else complain(seen.error);
    } catch {
      complain("The page does not answer. Is `tintmix serve` still running?");
    }
    asking = false;
    if (again) { again = false; ask(); }
  }

  function show(seen) {
    complain(seen.says);
    rows().forEach((row, at) => {
      const one = seen.rows[at];
      const place = row.querySelector("[data-reads]");
      place.hidden = !one;
      if (!one) return;
      place.querySelector("rect").setAttribute("fill", one.srgb || "none");
      place.querySelector("[data-says]").textContent = one.says;
      const doubt = place.querySelector("[data-doubt]");
      doubt.textContent = one.doubt;
      doubt.hidden = !one.doubt;
      if (at === atHand && !drag) speak(row, `${one.says} ${one.doubt}`);
    });
  }

  function complain(sentence) {
    trouble.textContent = sentence;
    trouble.hidden = !sentence;
  }

  let speaking;
  function speak(row, words) {
    clearTimeout(speaking);
    speaking = setTimeout(() => { live.textContent = `${row.querySelector("select").value || "a place"} ${words}`; }, 500);
  }
  rows().forEach(listen);

  const point = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
    return [at.x, at.y];
  };

  picture.addEventListener("pointerdown", (event) => {
    const [x, y] = point(event);
    const over = rows().findIndex((row) => { if (!isSet(row)) return false; const [l, t, w, h] = boxOf(row); return x >= l && x <= l + w && y >= t && y <= t + h; });
    picture.setPointerCapture(event.pointerId);
    picture.focus();
    if (over >= 0) {
      atHand = over;
      const box = boxOf(rows()[over]);
      drag = { row: rows()[over], from: [x, y], box, moves: true };
    } else {
      drag = { row: next(), from: [x, y], box: [x - size / 2, y - size / 2, size, size], moves: false };
      put(drag.row, drag.box);
    }
    paint();
  });
  picture.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const [x, y] = point(event);
    const [fx, fy] = drag.from;
    if (drag.moves) put(drag.row, [drag.box[0] + x - fx, drag.box[1] + y - fy, drag.box[2], drag.box[3]]);
    else if (Math.hypot(x - fx, y - fy) > size / 6) put(drag.row, [Math.min(x, fx), Math.min(y, fy), Math.abs(x - fx), Math.abs(y - fy)]);
  });
  picture.addEventListener("pointerup", () => {
    if (!drag) return;
    const [, , w, h] = boxOf(drag.row);
    size = Math.round(Math.sqrt(w * h));
    say(drag.row);
    drag = null;
    ask();
  });
  picture.addEventListener("pointercancel", () => { drag = null; });
  picture.addEventListener("keydown", (event) => {
    const step = event.ctrlKey ? 1 : Math.max(1, Math.round(wide / 100));
    const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (event.key === "Enter") {
      const row = next();
      put(row, [(wide - size) / 2, (high - size) / 2, size, size]);
      say(row);
    } else if (way && atHand >= 0 && isSet(rows()[atHand])) {
      const row = rows()[atHand];
      const [x, y, w, h] = boxOf(row);
      put(row, event.shiftKey ? [x, y, w + way[0], h + way[1]] : [x + way[0], y + way[1], w, h]);
      say(row);
    } else if (event.key === "Delete" && atHand >= 0) {
      for (const box of rows()[atHand].querySelectorAll("input")) box.value = "";
      paint();
      ask();
    } else return;
    event.preventDefault();
  });

  // What was drawn stays in this tab until it is sent, over reload and the browser's back.
  const key = `typed:photo:${work.dataset.photo}`;
  const typed = () => rows().map((row) => [...row.querySelectorAll("select, input")].map((box) => box.value));
  form.addEventListener("submit", () => sessionStorage.removeItem(key));
  addEventListener("pagehide", () => { if (changed) sessionStorage.setItem(key, JSON.stringify(typed())); });
  form.addEventListener("submit", () => { changed = false; });
  if (!document.getElementById("problem")) {
    let kept = [];
    try { kept = JSON.parse(sessionStorage.getItem(key) || "[]"); } catch { /* nothing that can be used */ }
    kept.forEach((values, at) => {
      const row = rows()[at] || another();
      row.querySelectorAll("select, input").forEach((box, i) => { box.value = values[i] ?? ""; });
    });
    changed = kept.length > 0;
  }
  for (const radio of form.querySelectorAll("[name=tones]")) radio.addEventListener("change", ask);
  addEventListener("resize", paint);
  // Only now is a drag or a key taken: before, nothing on the page says so.
  picture.setAttribute("tabindex", "0");
  work.querySelector("[data-photo-draws]").hidden = false;
  paint();
  if (rows().some(isSet)) ask();
}
