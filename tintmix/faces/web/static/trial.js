// How long ago it was mixed is asked only where it was.
const mixed = document.getElementById("mixed");
const box = document.querySelector("[data-mixed]");

function fold() { box.hidden = !mixed.checked; }
if (mixed && box) { mixed.addEventListener("change", fold); fold(); addEventListener("load", fold); }
