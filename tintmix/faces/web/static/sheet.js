// What is ticked and weighed is kept as it is done; the answer tells how far off it is, and what it makes.
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
  let waiting;
  let keeping = Promise.resolve();

  form.addEventListener("change", () => keepSoon(0));
  form.addEventListener("input", (event) => { if (event.target.type === "text") keepSoon(900); });
  form.addEventListener("submit", (event) => { event.preventDefault(); keepNow(); });
  // What was just typed is kept before the page goes elsewhere, and before it goes into the book.
  addEventListener("pagehide", () => { if (waiting !== undefined) keepNow(); });
  for (const other of document.querySelectorAll("#into-book form")) {
    other.addEventListener("submit", async (event) => {
      if (waiting === undefined) return;
      event.preventDefault();
      const button = event.submitter;
      await keepNow();
      other.requestSubmit(button);
    });
  }

  function keepSoon(milliseconds) {
    clearTimeout(waiting);
    waiting = setTimeout(keepNow, milliseconds);
  }

  function keepNow() {
    clearTimeout(waiting);
    waiting = undefined;
    keeping = keeping.then(send);
    return keeping;
  }

  async function send() {
    const body = new URLSearchParams(new FormData(form));
    let said;
    let answer;
    try {
      answer = await fetch(form.action, { method: "POST", body, headers: { accept: "application/json" }, keepalive: true });
      said = await answer.json();
    } catch {
      tell("The page does not answer, so this is not kept. Is `tintmix serve` still running?");
      return;
    }
    if (!answer.ok) { tell(said.error); return; }
    tell("");
    for (const box of document.querySelectorAll("input[name=revision_sheet]")) box.value = said.revision;
    ticked.textContent = `${said.ticked} of ${said.ticks} ticked`;
    for (const [key, off] of Object.entries(said.off)) {
      const place = document.getElementById(`off-${key}`);
      if (place && place.textContent !== off) place.textContent = off;
    }
    panel.hidden = said.seen === null;
    if (said.seen) {
      says.textContent = said.seen.says;
      const swatches = document.querySelectorAll("#as-weighed-places .second");
      said.seen.places.forEach((place, at) => swatches[at].setAttribute("fill", place.srgb));
    }
    const undo = document.getElementById("undo");
    undo.hidden = !said.undo;
    undo.querySelector(".exact").textContent = said.undo;
    document.getElementById("redo").hidden = true;
  }

  function tell(sentence) {
    problem.hidden = !sentence;
    problem.textContent = sentence;
  }
}
