// A map of cells as a smooth surface: what is painted, the isolines, their numbers and the profiles are all of the same surface. Pure.
import { contour } from './ramp';

/** blend puts n·k values into `to` for n values of `from`, which stand `step` apart: at the middles of k parts of each. They follow Catmull–Rom
 * splines limited to the two adjacent values; beyond the outermost ones they go straight on. It is the surface of the maps in the report
 * (internal/draw, refine). */
function blend(from: ArrayLike<number>, at: number, step: number, n: number, k: number, to: Float64Array, into: number, stride: number, lowest: number) {
  if (n === 1) { for (let p = 0; p < k; p++) to[into + p * stride] = from[at]!; return; }
  const get = (i: number) => (i < 0 ? 2 * from[at]! - from[at + Math.min(-i, n - 1) * step]! : i >= n ? 2 * from[at + (n - 1) * step]! - from[at + Math.max(2 * n - 2 - i, 0) * step]! : from[at + i * step]!);
  let a = get(-2), b = get(-1), c = get(0), d = get(1), cell = -1;
  for (let p = 0; p < n * k; p++) {
    const t = (p + 0.5) / k - 0.5, i = Math.floor(t), f = t - i;
    if (i !== cell || p === 0) {
      for (; cell < i; cell++) { a = b; b = c; c = d; d = get(cell + 3); }
    }
    const v = b + 0.5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)));
    const low = b < c ? b : c, high = b < c ? c : b, held = v < low ? low : v > high ? high : v;
    to[into + p * stride] = held < lowest ? lowest : held;
  }
}

/** floorOf is what a surface never falls below: zero, or the lowest cell below it. */
const floorOf = (cells: ArrayLike<number>) => { let low = 0; for (let i = 0; i < cells.length; i++) if (cells[i]! < low) low = cells[i]!; return low; };

/** refine returns k × k values for each cell, at the centres of its parts; never below zero where no cell is. */
export function refine(cells: ArrayLike<number>, nx: number, ny: number, k: number): Float64Array {
  const wide = nx * k, out = new Float64Array(wide * ny * k), rows = new Float64Array(wide * ny), low = floorOf(cells);
  for (let j = 0; j < ny; j++) blend(cells, j * nx, 1, nx, k, rows, j * wide, 1, -Infinity);
  for (let i = 0; i < wide; i++) blend(rows, i, wide, ny, k, out, i, wide, low);
  return out;
}

/** parts is into how many parts each way a cell is divided: about 180 values along the longer side; the browser blends between them. */
export const parts = (nx: number, ny: number) => Math.max(1, Math.min(8, Math.round(180 / Math.max(nx, ny))));

/** profile is a row of values along the surface, k for each cell. */
export function profile(values: ArrayLike<number>, k: number): Float64Array {
  const out = new Float64Array(values.length * k);
  blend(values, 0, 1, values.length, k, out, 0, 1, floorOf(values));
  return out;
}

/** row and column are the cells along a line through a cell. */
export const row = (cells: ArrayLike<number>, nx: number, j: number) => Array.from({ length: nx }, (_, i) => cells[j * nx + i]!);
export const column = (cells: ArrayLike<number>, nx: number, ny: number, i: number) => Array.from({ length: ny }, (_, j) => cells[j * nx + i]!);

export type Point = [number, number];
/** Isoline is the lines of one level, in fractions of the map from its lower left corner. */
export interface Isoline { level: number; heavy: boolean; lines: Point[][] }

/** isolines are the lines of levels on a refined surface; those at an end of the band are heavy, and levels close to them are left out. */
export function isolines(fine: ArrayLike<number>, wide: number, high: number, levels: number[], ends: number[]): Isoline[] {
  const step = levels.length > 1 ? levels[1]! - levels[0]! : Infinity;
  const all = [...levels.filter((v) => ends.every((e) => Math.abs(v - e) > 0.3 * step)).map((level) => ({ level, heavy: false })), ...ends.map((level) => ({ level, heavy: true }))];
  return all.map(({ level, heavy }) => ({
    level, heavy, lines: contour(fine, wide, high, level).map((l) => l.map(([x, y]): Point => [x / wide, y / high])),
  })).filter((l) => l.lines.length > 0);
}

export interface Label { level: number; heavy: boolean; x: number; y: number }

/** Box is a rectangle in pixels: its middle, and half its size. */
interface Box { x: number; y: number; w: number; h: number }
const apart = (a: Box, b: Box) => Math.abs(a.x - b.x) >= a.w + b.w || Math.abs(a.y - b.y) >= a.h + b.h;

/** numbers places the numbers of isolines, one a line or more on long ones: on the line, where it is straight, within the map, and not over
 * another number. Sizes are in pixels; the numbers of the band's ends are placed first. */
export function numbers(lines: Isoline[], width: number, height: number, widthOf: (level: number) => number, taken: Box[] = []): Label[] {
  const out: Label[] = [], boxes = [...taken];
  for (const of of [...lines].sort((a, b) => Number(b.heavy) - Number(a.heavy))) {
    const half = { w: widthOf(of.level) / 2 + 4, h: 9 };
    for (const line of of.lines) {
      const at = line.map(([x, y]): Point => [x * width, (1 - y) * height]);
      const upTo = [0];
      for (let k = 1; k < at.length; k++) upTo.push(upTo[k - 1]! + Math.hypot(at[k]![0] - at[k - 1]![0], at[k]![1] - at[k - 1]![1]));
      const length = upTo.at(-1)!;
      if (length < 3 * half.w) continue;
      let left = Math.max(1, Math.min(3, Math.floor(length / 700)));
      // Straightness over the width of the number: chord over arc. The best places are tried first.
      const span = (k: number) => {
        let a = k, b = k;
        while (a > 0 && upTo[k]! - upTo[a]! < half.w) a--;
        while (b < at.length - 1 && upTo[b]! - upTo[k]! < half.w) b++;
        const arc = upTo[b]! - upTo[a]!;
        return arc > 0 ? Math.hypot(at[b]![0] - at[a]![0], at[b]![1] - at[a]![1]) / arc : 0;
      };
      const every = Math.max(1, Math.floor(at.length / 60));
      const places = at.map((_, k) => k).filter((k) => k % every === 0).map((k) => ({ k, good: span(k) - 0.3 * Math.abs(upTo[k]! / length - 0.5) })).sort((a, b) => b.good - a.good);
      for (const { k } of places) {
        const box = { x: at[k]![0], y: at[k]![1], ...half };
        if (box.x < box.w || box.x > width - box.w || box.y < box.h || box.y > height - box.h || !boxes.every((b) => apart(b, box))) continue;
        boxes.push(box);
        out.push({ level: of.level, heavy: of.heavy, x: box.x / width, y: box.y / height });
        if (--left === 0) break;
      }
    }
  }
  return out;
}

/** verdict tells on which side of a band a value lies: −1 below, 0 within, 1 above. */
export const verdict = (v: number, min: number | undefined, max: number | undefined) => (min !== undefined && v < min ? -1 : max !== undefined && v > max ? 1 : 0);

/** words are where the words of a verdict map stand: for each part of the surface that is large enough, the point that is farthest from its
 * border, in fractions of the map from its upper left corner. */
export function words(fine: ArrayLike<number>, wide: number, high: number, min: number | undefined, max: number | undefined): { of: -1 | 0 | 1; x: number; y: number }[] {
  // Distance to the nearest cell of another verdict, or to the edge of the map, in steps of a king: two passes.
  const far = new Float64Array(wide * high), of = Int8Array.from({ length: wide * high }, (_, i) => verdict(fine[i]!, min, max));
  const same = (a: number, i: number, j: number) => i >= 0 && j >= 0 && i < wide && j < high && of[j * wide + i] === of[a];
  const pass = (i: number, j: number, steps: [number, number][]) => {
    const a = j * wide + i;
    let d = far[a] || Infinity;
    for (const [x, y] of steps) d = Math.min(d, same(a, i + x, j + y) ? far[(j + y) * wide + i + x]! + Math.hypot(x, y) : 1);
    far[a] = d;
  };
  for (let j = 0; j < high; j++) for (let i = 0; i < wide; i++) pass(i, j, [[-1, 0], [0, -1], [-1, -1], [1, -1]]);
  for (let j = high - 1; j >= 0; j--) for (let i = wide - 1; i >= 0; i--) pass(i, j, [[1, 0], [0, 1], [1, 1], [-1, 1]]);
  const out: { of: -1 | 0 | 1; x: number; y: number }[] = [];
  for (const v of [-1, 0, 1] as const) {
    let best = -1;
    for (let a = 0; a < far.length; a++) if (of[a] === v && (best < 0 || far[a]! > far[best]!)) best = a;
    if (best >= 0 && far[best]! > high / 16) out.push({ of: v, x: ((best % wide) + 0.5) / wide, y: 1 - (Math.floor(best / wide) + 0.5) / high });
  }
  return out;
}
