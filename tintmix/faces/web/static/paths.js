// A casting's picture: the weights of its paths are fetched once; a tint is a colour for each length, added up here.
import { WIDE } from "./wide.js";

const STEPS = 16384;
const SEES = 0x8000;
// Linear sRGB in Display P3 (SMPTE EG 432-1); where the screen shows that, no colour is cut.
const P3 = [[0.82246, 0.17754, 0], [0.03319, 0.96681, 0], [0.01708, 0.0724, 0.91052]];
const SPACE = { colorSpace: WIDE ? "display-p3" : "srgb" };
// The screen's curve (IEC 61966-2-1) as a table: finer than a step of eight bits where it is steepest, in the dark.
const CURVE = new Uint8ClampedArray(STEPS + 1);
for (let i = 0; i <= STEPS; i += 1) {
  const v = i / STEPS;
  CURVE[i] = Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}
const level = (v) => CURVE[v <= 0 ? 0 : v >= 1 ? STEPS : (v * STEPS + 0.5) | 0];

// The bytes as the server packs them: a table, then weights, straight depths, counts, bins.
export function unpack(buffer) {
  const size = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, size)));
  const pixels = head.width * head.height;
  let at = 4 + size;
  const next = (Kind, length) => { const part = new Kind(buffer, at, length); at += part.byteLength; return part; };
  return {
    ...head, weights: next(Float32Array, head.rows), straight: next(Float32Array, pixels),
    counts: next(Uint16Array, pixels), bins: next(Uint16Array, head.rows),
  };
}

// Paint into a canvas. colours: linear red, green, blue of each bin, the bare light 1.
export function paint(canvas, picture, colours) {
  const { width, height, weights, counts, bins, bare } = picture;
  if (canvas.width !== width || canvas.height !== height) { canvas.width = width; canvas.height = height; }
  const flat = new Float32Array(3 * colours.length);
  colours.forEach((one, i) => flat.set(WIDE ? P3.map(([r, g, b]) => r * one[0] + g * one[1] + b * one[2]) : one, 3 * i));
  const most = colours.length;
  const lengths = picture.lengths_mm.length;
  const image = new ImageData(width, height, SPACE);
  const out = image.data;
  const ground = level(bare);
  let row = 0;
  for (let pixel = 0, to = 0; pixel < counts.length; pixel += 1, to += 4) {
    const count = counts[pixel];
    const end = row + (count & (SEES - 1));
    out[to + 3] = 255;
    if (!(count & SEES)) { out[to] = out[to + 1] = out[to + 2] = ground; row = end; continue; }
    let r = 0;
    let g = 0;
    let b = 0;
    for (; row < end; row += 1) {
      // Without an insert's colour there is one for each length.
      const bin = 3 * (bins[row] < most ? bins[row] : bins[row] % lengths);
      const weight = weights[row];
      r += weight * flat[bin];
      g += weight * flat[bin + 1];
      b += weight * flat[bin + 2];
    }
    out[to] = level(r);
    out[to + 1] = level(g);
    out[to + 2] = level(b);
  }
  canvas.getContext("2d", SPACE).putImageData(image, 0, 0);
}

// What one pixel sees: whether the casting, its straight depth, the mean path, and the light in clear resin.
export function seenAt(picture, x, y) {
  const pixel = y * picture.width + x;
  let row = 0;
  for (let i = 0; i < pixel; i += 1) row += picture.counts[i] & (SEES - 1);
  const end = row + (picture.counts[pixel] & (SEES - 1));
  let light = 0;
  let way = 0;
  for (; row < end; row += 1) {
    light += picture.weights[row];
    way += picture.weights[row] * picture.lengths_mm[picture.bins[row] % picture.lengths_mm.length];
  }
  return { sees: Boolean(picture.counts[pixel] & SEES), straight: picture.straight[pixel], path: light > 0 ? way / light : null, light };
}
