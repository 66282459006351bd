import { mark } from "./marked.js";

// A form that a script sends as it is filled: soon after the last change, one at a time, and before the page goes elsewhere.
// told: the name of what tells the sentence.
export function keeper(form, told, wrong, take) {
  let timer;
  let keeping = Promise.resolve();
  let sent = 0;

  async function send() {
    let answer;
    let said;
    try {
      answer = await fetch(form.action, {
        method: "POST", body: new URLSearchParams(new FormData(form)), headers: { accept: "application/json" }, keepalive: true,
      });
      said = await answer.json();
    } catch {
      wrong("The page does not answer, so this is not kept. Is `tintmix serve` still running?");
      return;
    }
    if (!answer.ok) {
      const box = said.box && form.elements[said.box];
      if (box instanceof HTMLElement) mark(box, told, said.error);
      wrong(said.error, answer.status);
      return;
    }
    take(said);
    const undo = document.getElementById("undo");
    undo.hidden = !said.undo;
    undo.querySelector(".exact").textContent = said.undo;
    document.getElementById("redo").hidden = true;
  }

  function now() {
    clearTimeout(timer);
    timer = undefined;
    if (!form.querySelector("[aria-invalid=true]")) {
      sent += 1;
      keeping = keeping.then(send).finally(() => { sent -= 1; });
    }
    return keeping;
  }

  function soon(milliseconds) {
    clearTimeout(timer);
    timer = setTimeout(now, milliseconds);
  }

  form.addEventListener("submit", (event) => { event.preventDefault(); now(); });
  addEventListener("pagehide", () => { if (timer !== undefined) now(); });
  return { soon, now, waits: () => timer !== undefined, busy: () => timer !== undefined || sent > 0, done: () => keeping };
}
