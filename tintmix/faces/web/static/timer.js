// The pot life, counted down from the moment the parts are together. It goes on over a reload, and in the window's title.
const AT_END = 60;
const WARN_AT = [300, 120, 60];
const title = document.title;
const above = document.getElementById("clock-left");

for (const box of document.querySelectorAll(".timer")) {
  const [face, says] = box.querySelectorAll("p");
  const button = box.querySelector("button");
  const key = `tintmix-clock-${box.dataset.sheet}`;
  const whole = 60 * Number(box.dataset.minutes);
  let ticking;
  box.hidden = false;

  function show() {
    const started = Number(sessionStorage.getItem(key));
    const left = started ? Math.round(whole - (Date.now() - started) / 1000) : whole;
    const shown = Math.max(left, 0);
    face.textContent = `${Math.floor(shown / 60)}:${String(shown % 60).padStart(2, "0")}`;
    document.title = started ? `${face.textContent} – ${title}` : title;
    above.hidden = !started;
    above.textContent = started ? `pot life left: ${face.textContent}` : "";
    button.textContent = started ? "Set the clock back" : "The parts are together: start the clock";
    box.classList.toggle("late", Boolean(started) && left <= AT_END);
    const warned = WARN_AT.find((at) => left === at);
    if (started && warned) says.textContent = warned > 60 ? `${warned / 60} minutes left.` : "One minute left.";
    if (started && left <= 0) { says.textContent = "The pot life that the data sheet tells is over."; clearInterval(ticking); }
    if (!started) says.textContent = "";
  }

  function run() {
    clearInterval(ticking);
    if (sessionStorage.getItem(key)) ticking = setInterval(show, 1000);
    show();
  }

  button.addEventListener("click", () => {
    if (sessionStorage.getItem(key)) sessionStorage.removeItem(key);
    else sessionStorage.setItem(key, Date.now());
    run();
  });
  run();
}
