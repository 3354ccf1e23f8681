// Maps in colours: the scales of internal/draw, which writes them into colours.ts (see TestColours). Lightness rises evenly, so
// that a grey print keeps the order, and hue goes from blue to yellow, which all common kinds of colour blindness keep apart.
import { grey, heat, light } from './colours';

// As 32-bit pixels, for whole maps at a time.
const little = new Uint8Array(new Uint32Array([1]).buffer)[0] === 1;
const pixels = (hex: string) => Uint32Array.from(hex.split(' '), (c) => {
  const v = parseInt(c, 16), r = v >> 16, g = (v >> 8) & 255, b = v & 255;
  return (little ? (255 << 24) | (b << 16) | (g << 8) | r : (r << 24) | (g << 16) | (b << 8) | 255) >>> 0;
});
export const lightPixels = pixels(light);
export const heatPixels = pixels(heat);
export const greyPixels = pixels(grey);

/** fill puts the colours of cells into pixels, row by row; cells that are not to be seen stay clear. */
export function fill(into: Uint32Array, cells: ArrayLike<number>, nx: number, ny: number, lo: number, hi: number, colours: Uint32Array, up: boolean, seen?: (v: number) => boolean) {
  const scale = 255 / (hi - lo || 1);
  for (let j = 0; j < ny; j++) {
    const row = (up ? j : ny - 1 - j) * nx;
    for (let i = 0; i < nx; i++) {
      const v = cells[j * nx + i]!;
      into[row + i] = seen && !seen(v) ? 0 : colours[Math.min(255, Math.max(0, Math.round((v - lo) * scale)))]!;
    }
  }
}

/** paint fills a canvas with one pixel a cell, the first row at the bottom. */
export function paint(c: HTMLCanvasElement, nx: number, ny: number, cells: ArrayLike<number>, lo: number, hi: number, colours: Uint32Array, seen?: (v: number) => boolean) {
  if (c.width !== nx || c.height !== ny) { c.width = nx; c.height = ny; }
  const g = c.getContext('2d', { willReadFrequently: true }); // pixels come from us, so that a card of graphics would only be waited for
  if (!g) return;
  const image = g.createImageData(nx, ny);
  fill(new Uint32Array(image.data.buffer), cells, nx, ny, lo, hi, colours, false, seen);
  g.putImageData(image, 0, 0);
}

/** contour is the lines along which cells reach a level, in cells from the lower left corner: straight between the centres of
 * cells, and on from the outermost ones to the edge. */
export function contour(cells: ArrayLike<number>, nx: number, ny: number, level: number): [number, number][][] {
  const held = (k: number, n: number) => Math.min(n - 1, Math.max(0, k - 1));
  const over = (i: number, j: number) => cells[held(j, ny) * nx + held(i, nx)]! - level;
  const place = (k: number, n: number) => Math.min(n, Math.max(0, k - 0.5));
  // A node is a centre of a cell, or lies on the edge beside one; a side of a mesh is named by its lower left node, twice over.
  const side = (i: number, j: number, up: 0 | 1) => 2 * (j * (nx + 2) + i) + up;
  const ends = new Map<number, number[]>();
  const half = (from: number, to: number) => { const known = ends.get(from); if (known) known.push(to); else ends.set(from, [to]); };
  const link = (a: number, b: number) => { half(a, b); half(b, a); };
  const wide = nx + 2, above = new Uint8Array(wide * (ny + 2));
  for (let j = 0; j < ny + 2; j++) for (let i = 0, row = held(j, ny) * nx; i < wide; i++) above[j * wide + i] = cells[row + held(i, nx)]! >= level ? 1 : 0;
  for (let j = 0; j <= ny; j++) {
    for (let i = 0; i <= nx; i++) {
      const k = j * wide + i, a = above[k], b = above[k + 1], c = above[k + wide + 1], d = above[k + wide];
      if (a === b && b === c && c === d) continue; // most of a map
      const low = side(i, j, 0), right = side(i + 1, j, 1), high = side(i, j + 1, 0), left = side(i, j, 1);
      const cut = [...(a !== b ? [low] : []), ...(b !== c ? [right] : []), ...(c !== d ? [high] : []), ...(d !== a ? [left] : [])];
      if (cut.length === 2) link(cut[0]!, cut[1]!);
      else if (cut.length === 4) { // a saddle: the mean decides
        if ((over(i, j) + over(i + 1, j) + over(i + 1, j + 1) + over(i, j + 1) >= 0) === (a === 1)) { link(low, right); link(high, left); } else { link(low, left); link(right, high); }
      }
    }
  }
  const point = (s: number): [number, number] => {
    const up = s % 2, node = (s - up) / 2, i = node % (nx + 2), j = (node - i) / (nx + 2);
    const v = over(i, j), w = over(i + 1 - up, j + up), t = v / (v - w);
    const x = place(i, nx), y = place(j, ny);
    return up ? [x, y + t * (place(j + 1, ny) - y)] : [x + t * (place(i + 1, nx) - x), y];
  };
  const lines: [number, number][][] = [];
  const walk = (start: number) => {
    const line = [point(start)];
    for (let at = start, to = ends.get(at)!.pop(); to !== undefined; at = to, to = ends.get(at)!.pop()) {
      const back = ends.get(to)!;
      back.splice(back.indexOf(at), 1);
      line.push(point(to));
    }
    lines.push(line);
  };
  for (const [s, e] of ends) if (e.length === 1) walk(s); // lines from edge to edge
  for (const [s, e] of ends) if (e.length > 0) walk(s); // rings
  return lines;
}

/** spread gives cells that are not seen the mean of those around them that are, ring by ring, so that a map reaches over a rim
 * that cuts through its cells. */
export function spread(cells: ArrayLike<number>, nx: number, ny: number, rings: number): Float64Array {
  let out = Float64Array.from(cells);
  for (let n = 0; n < rings; n++) {
    const next = out.slice();
    for (let j = 0; j < ny; j++) for (let i = 0; i < nx; i++) {
      if (out[j * nx + i]! > 0) continue;
      let sum = 0, count = 0;
      for (let b = Math.max(0, j - 1); b <= Math.min(ny - 1, j + 1); b++) for (let a = Math.max(0, i - 1); a <= Math.min(nx - 1, i + 1); a++) {
        const v = out[b * nx + a]!;
        if (v > 0) { sum += v; count++; }
      }
      if (count > 0) next[j * nx + i] = sum / count;
    }
    out = next;
  }
  return out;
}
