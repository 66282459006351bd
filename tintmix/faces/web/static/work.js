// Work in the background: how far it is, until it goes on by itself.
const panel = document.getElementById("work");
const part = document.getElementById("work-part");
const says = document.getElementById("work-says");

async function look() {
  let answer;
  try {
    answer = await fetch(`/work/${panel.dataset.work}`, { headers: { accept: "application/json" } });
  } catch {
    says.textContent = "The page does not answer. Is `tintmix serve` still running?";
    setTimeout(look, 1500);
    return;
  }
  if (!answer.ok) { location.reload(); return; }
  const work = await answer.json();
  if (work.state === "done") { location.replace(work.goes_to); return; }
  if (work.state !== "running") { location.reload(); return; }
  if (work.part !== null) part.value = work.part;
  if (work.seconds > 3) says.textContent = `Working, ${Math.round(work.seconds / 5) * 5} seconds so far. You can use the other screens meanwhile.`;
  setTimeout(look, 150);
}
look();
