// Colours beyond sRGB, where browser and screen show Display P3: each has its sRGB neighbour beside it for all others.
export const WIDE = CSS.supports("color", "color(display-p3 0 1 0)") && matchMedia("(color-gamut: p3)").matches;

export function colour(part, name, srgb, wide) { part.setAttribute(name, WIDE && wide ? wide : srgb); }

if (WIDE) {
  for (const part of document.querySelectorAll("[data-wide]")) part.setAttribute(part.tagName === "stop" ? "stop-color" : "fill", part.dataset.wide);
  for (const said of document.querySelectorAll("[data-narrow]")) said.hidden = true;
}
