// Numbers as makers type and read them; the same rules as on the server.
export const MM = { mm: 1, inch: 25.4 };
export const UNIT = document.documentElement.dataset.lengthUnit;

export function number(text) {
  const plain = text.trim().replace(",", ".");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : NaN;
}

export function shown(value, digits = 4) {
  if (!Number.isFinite(value)) return "";
  if (value === 0) return "0";
  const places = digits - 1 - Math.floor(Math.log10(Math.abs(value)));
  const text = (Math.round(value * 10 ** places) / 10 ** places).toFixed(Math.min(Math.max(places, 0), 20));
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}

export function light(fraction) {
  const percent = 100 * fraction;
  if (percent > 0 && percent < 0.01) return "less than 0.01 %";
  return `${percent < 9.95 ? shown(percent, 2) : percent.toFixed(0)} %`;
}

export function length(mm, digits = 3) { return `${shown(mm / MM[UNIT], digits)} ${UNIT}`; }
