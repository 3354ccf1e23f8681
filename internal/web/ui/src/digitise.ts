// A diagram as a table: from points on a picture to values on its axes. Pixels count from the upper left corner of the picture.

export type Scale = 'linear' | 'log';
export interface Pixel { px: number; py: number }

/** AxisPoint is a point of an axis, or of a line across it, with the value that is printed there. */
export interface AxisPoint extends Pixel { text: string }
export interface Axis { name: string; scale: Scale; points: AxisPoint[] }

/** Linear is a·px + b·py + c. */
interface Linear { a: number; b: number; c: number }

/** Calibration turns pixels into values. */
export interface Calibration {
  h: Linear; v: Linear; // of the horizontal and the vertical axis, before the exponent of a logarithmic one
  hLog: boolean; vLog: boolean;
  rotationDeg: number; // of the horizontal axis, clockwise
  betweenDeg: number; // angle between the axes
  hints: string[];
}

/** number reads a typed number; NaN where it is none. */
export const number = (text: string) => {
  const t = text.trim().replace(/[−–]/g, '-').replace(',', '.');
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(t) ? Number(t) : NaN;
};

/** solve3 solves three equations; null where they have no one answer. */
function solve3(m: number[][], r: number[]): number[] | null {
  const a = m.map((row, i) => [...row, r[i]!]);
  for (let i = 0; i < 3; i++) {
    let p = i;
    for (let k = i + 1; k < 3; k++) if (Math.abs(a[k]![i]!) > Math.abs(a[p]![i]!)) p = k;
    if (Math.abs(a[p]![i]!) < 1e-12) return null;
    [a[i], a[p]] = [a[p]!, a[i]!];
    for (let k = 0; k < 3; k++) {
      if (k === i) continue;
      const f = a[k]![i]! / a[i]![i]!;
      for (let j = i; j < 4; j++) a[k]![j]! -= f * a[i]![j]!;
    }
  }
  return a.map((row, i) => row[3]! / row[i]!);
}

/**
 * fit finds the linear function that has the values u at the points of an axis, and one value along the other axis:
 *
 *   a·xᵢ + b·yᵢ + c = uᵢ,  a·(xₖ − x₁) + b·(yₖ − y₁) = 0 for the points of the other axis.
 *
 * Two points an axis determine it, rotation and skew included; more are least squares.
 */
function fit(along: AxisPoint[], u: number[], across: Pixel[]): Linear | null {
  const cx = along[0]!.px, cy = along[0]!.py, size = Math.max(1, ...[...along, ...across].map((p) => Math.hypot(p.px - cx, p.py - cy)));
  const rows = [...along.map((p, i) => [(p.px - cx) / size, (p.py - cy) / size, 1, u[i]!]), ...across.slice(1).map((p) => [(p.px - across[0]!.px) / size, (p.py - across[0]!.py) / size, 0, 0])];
  const m = [0, 1, 2].map((i) => [0, 1, 2].map((j) => rows.reduce((s, r) => s + r[i]! * r[j]!, 0)));
  const s = solve3(m, [0, 1, 2].map((i) => rows.reduce((t, r) => t + r[i]! * r[3]!, 0)));
  return s && { a: s[0]! / size, b: s[1]! / size, c: s[2]! - (s[0]! * cx + s[1]! * cy) / size };
}

const at = (f: Linear, p: Pixel) => f.a * p.px + f.b * p.py + f.c;

/** checkAxis returns the values of an axis on its scale, or what is wrong with it. */
function checkAxis(axis: Axis): number[] | string {
  if (axis.points.length < 2) return `Set two points of the ${axis.name} axis.`;
  const values = axis.points.map((p) => number(p.text));
  const bad = values.findIndex((v) => !Number.isFinite(v));
  if (bad >= 0) return axis.points[bad]!.text.trim() === '' ? `Type the value at point ${bad + 1} of the ${axis.name} axis.` : `“${axis.points[bad]!.text}”, point ${bad + 1} of the ${axis.name} axis, is not a number; such as 0.5 or 1e-3.`;
  const low = values.findIndex((v) => v <= 0);
  if (axis.scale === 'log' && low >= 0) return `A logarithmic axis has no value of ${axis.points[low]!.text}; check point ${low + 1} of the ${axis.name} axis, or choose linear.`;
  for (let i = 0; i < values.length; i++) {
    for (let k = 0; k < i; k++) {
      if (values[i] === values[k]) return `Points ${k + 1} and ${i + 1} of the ${axis.name} axis have the same value; choose two marks with different values.`;
      if (Math.hypot(axis.points[i]!.px - axis.points[k]!.px, axis.points[i]!.py - axis.points[k]!.py) < 4) return `Points ${k + 1} and ${i + 1} of the ${axis.name} axis are at the same place; choose marks far apart.`;
    }
  }
  return axis.scale === 'log' ? values.map(Math.log10) : values;
}

const degrees = 180 / Math.PI;

/** misfit names the point of an axis with three and more points that lies off the line of the others. */
function misfit(axis: Axis, u: number[], f: Linear): string[] {
  const span = Math.max(...u) - Math.min(...u), off = axis.points.map((p, i) => Math.abs(at(f, p) - u[i]!) / span), most = Math.max(...off);
  return axis.points.length > 2 && most > 0.01 ? [`Point ${off.indexOf(most) + 1} of the ${axis.name} axis is ${(100 * most).toFixed(1)} % of the axis away from the line of the others; check its value, and whether the scale is linear or logarithmic.`] : [];
}

/** calibrate returns how pixels become values, or what is missing. */
export function calibrate(horizontal: Axis, vertical: Axis): Calibration | string {
  const h = checkAxis(horizontal), v = checkAxis(vertical);
  if (typeof h === 'string') return h;
  if (typeof v === 'string') return v;
  const fh = fit(horizontal.points, h, vertical.points), fv = fit(vertical.points, v, horizontal.points);
  if (!fh || !fv) return 'The points lie on one line; the points of the vertical axis must lie above each other.';
  // Along the horizontal axis the value of the vertical one does not change.
  let [dx, dy] = [fv.b, -fv.a], [ex, ey] = [fh.b, -fh.a];
  if (fh.a * dx + fh.b * dy < 0) [dx, dy] = [-dx, -dy];
  if (fv.a * ex + fv.b * ey < 0) [ex, ey] = [-ex, -ey];
  const turn = Math.atan2(dy, dx) * degrees, across = Math.atan2(ey, ex) * degrees;
  const between = Math.abs(((turn - across + 540) % 360) - 180);
  if (!(between > 30 && between < 150)) return `The axes are ${between.toFixed(0)}° apart; check which points belong to the horizontal and which to the vertical axis.`;
  const hints = [...misfit(horizontal, h, fh), ...misfit(vertical, v, fv)];
  if (Math.abs(between - 90) > 5) hints.push(`The axes are ${between.toFixed(1)}° apart instead of 90°; the picture is skewed, or a point is at the wrong place.`);
  return { h: fh, v: fv, hLog: horizontal.scale === 'log', vLog: vertical.scale === 'log', rotationDeg: turn, betweenDeg: between, hints };
}

/** valueAt returns the values of both axes at a pixel. */
export const valueAt = (c: Calibration, p: Pixel) => ({ h: c.hLog ? 10 ** at(c.h, p) : at(c.h, p), v: c.vLog ? 10 ** at(c.v, p) : at(c.v, p) });

/** pixelAt returns the pixel of two values. */
export function pixelAt(c: Calibration, h: number, v: number): Pixel {
  const u = (c.hLog ? Math.log10(h) : h) - c.h.c, w = (c.vLog ? Math.log10(v) : v) - c.v.c;
  const det = c.h.a * c.v.b - c.h.b * c.v.a;
  return { px: (u * c.v.b - w * c.h.b) / det, py: (c.h.a * w - c.v.a * u) / det };
}

/** stepAt returns what one pixel is worth on both axes at a pixel. */
function stepAt(c: Calibration, p: Pixel) {
  const { h, v } = valueAt(c, p);
  return { h: Math.hypot(c.h.a, c.h.b) * (c.hLog ? Math.LN10 * Math.abs(h) : 1), v: Math.hypot(c.v.a, c.v.b) * (c.vLog ? Math.LN10 * Math.abs(v) : 1) };
}

/** rounded writes a value to a tenth of what a pixel is worth. */
export function rounded(value: number, step: number): string {
  const decimals = Math.min(12, Math.max(0, Math.ceil(-Math.log10(step)) + 1));
  const places = 10 ** Math.floor(Math.log10(step) - 1);
  const text = step >= 10 ? String(Math.round(value / places) * places) : value.toFixed(decimals);
  return (text.includes('.') ? text.replace(/\.?0+$/, '') : text).replace(/^-0$/, '0');
}

/** Row is a point of the table; of tells which point of the picture it is. */
export interface Row { x: string; y: string; of: number }
export interface Table { rows: Row[]; hints: string[] }

/** tabulate sorts points by x and rounds them. Where across is set, x of the table is on the vertical axis. */
export function tabulate(c: Calibration, points: Pixel[], across: boolean): Table {
  const all = points.map((p, of) => {
    const v = valueAt(c, p), s = stepAt(c, p);
    return across ? { n: v.v, x: rounded(v.v, s.v), y: rounded(v.h, s.h), step: s.v, of } : { n: v.h, x: rounded(v.h, s.h), y: rounded(v.v, s.v), step: s.h, of };
  });
  const rows = [...all].sort((a, b) => a.n - b.n || a.of - b.of);
  const hints: string[] = [];
  const turned = all.slice(1).filter((p, i) => p.n < all[i]!.n).length;
  if (turned > 0 && turned === all.length - 1) hints.push('Set from the end to the beginning; the table is sorted.');
  else if (turned > 0) hints.push('Not set in the order of the axis; the table is sorted.');
  rows.forEach((r, i) => {
    const before = rows[i - 1];
    if (before && (r.x === before.x || r.n - before.n < 0.5 * r.step)) hints.push(`Points ${i} and ${i + 1} of the table are less than half a pixel apart (${before.x} and ${r.x}); remove one of them.`);
  });
  return { rows: rows.map(({ x, y, of }) => ({ x, y, of })), hints };
}

/** Image is pixels as a canvas gives them. */
export interface Image { width: number; height: number; data: Uint8ClampedArray }
export type Colour = [number, number, number];

const colourAt = (im: Image, x: number, y: number): Colour => { const i = 4 * (y * im.width + x); return [im.data[i]!, im.data[i + 1]!, im.data[i + 2]!]; };
const distance = (a: Colour, b: Colour) => Math.max(Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1]), Math.abs(a[2] - b[2]));

/** paperOf returns the most frequent colour. */
export function paperOf(im: Image): Colour {
  const count = new Map<number, number>(), step = Math.max(1, Math.floor(Math.sqrt((im.width * im.height) / 20000)));
  let best = 0, most = 0;
  for (let y = 0; y < im.height; y += step) {
    for (let x = 0; x < im.width; x += step) {
      const [r, g, b] = colourAt(im, x, y), key = ((r >> 4) << 8) | ((g >> 4) << 4) | (b >> 4), n = (count.get(key) ?? 0) + 1;
      count.set(key, n);
      if (n > most) { most = n; best = key; }
    }
  }
  return [((best >> 8) & 15) * 17, ((best >> 4) & 15) * 17, (best & 15) * 17];
}

/** colourOf returns the colour of a line at a pixel: of those about it the one that differs most from the paper. */
export function colourOf(im: Image, p: Pixel, paper: Colour): Colour {
  let best = paper;
  for (let y = Math.max(0, Math.floor(p.py) - 3); y <= Math.min(im.height - 1, Math.floor(p.py) + 3); y++) {
    for (let x = Math.max(0, Math.floor(p.px) - 3); x <= Math.min(im.width - 1, Math.floor(p.px) + 3); x++) {
      const c = colourAt(im, x, y);
      if (distance(c, paper) > distance(best, paper)) best = c;
    }
  }
  return best;
}

/** near returns how much of a pixel's colour is that of the line, from 0 to 1. */
const near = (c: Colour, line: Colour, paper: Colour) => { const d = distance(c, line), most = 0.75 * distance(line, paper); return d >= most ? 0 : 1 - d / most; };

/** A line may be broken for so many pixels, as a dashed one is. */
const maxGap = 14;

/** trace follows a line by its colour from one pixel to another: in each column, or row where it is steep, the centre of
 * the pixels of that colour. It ends where the line is lost. */
export function trace(im: Image, from: Pixel, to: Pixel, line: Colour, paper: Colour): { points: Pixel[]; lost: boolean } {
  const steep = Math.abs(to.py - from.py) > Math.abs(to.px - from.px);
  const [a0, b0, a1, b1] = steep ? [from.py, from.px, to.py, to.px] : [from.px, from.py, to.px, to.py];
  const dir = a1 < a0 ? -1 : 1, wide = steep ? im.width : im.height;
  const points: Pixel[] = [];
  let b = b0, slope = (b1 - b0) / (Math.abs(a1 - a0) || 1), gap = 0;
  for (let a = Math.floor(a0); dir * (Math.floor(a1) - a) >= 0; a += dir) {
    const guess = b + slope, reach = 5 + 2 * Math.abs(slope) + gap;
    let weight = 0, sum = 0;
    const runs: { mid: number; weight: number }[] = [];
    const close = () => { if (weight > 0) runs.push({ mid: sum / weight, weight }); weight = sum = 0; };
    for (let k = Math.max(0, Math.floor(guess - reach)); k <= Math.min(wide - 1, Math.ceil(guess + reach)); k++) {
      const w = near(steep ? colourAt(im, k, a) : colourAt(im, a, k), line, paper);
      if (w > 0) { weight += w; sum += w * (k + 0.5); } else close();
    }
    close();
    const best = runs.filter((r) => r.weight > 0.4).sort((p, q) => Math.abs(p.mid - guess) - Math.abs(q.mid - guess))[0];
    if (!best) {
      b = guess;
      if (++gap > maxGap) return { points, lost: true };
      continue;
    }
    gap = 0;
    slope = 0.8 * slope + 0.2 * Math.max(-4, Math.min(4, best.mid - b));
    b = best.mid;
    points.push(steep ? { px: b, py: a + 0.5 } : { px: a + 0.5, py: b });
  }
  return { points, lost: false };
}

/** thinned keeps the points that a line of straight pieces needs to stay within a distance, and at most so many. */
export function thinned(points: Pixel[], within: number, most: number): Pixel[] {
  if (points.length < 3) return points;
  const keep = new Set([0, points.length - 1]);
  while (keep.size < most) {
    const sorted = [...keep].sort((a, b) => a - b);
    let worst = within, at = -1;
    for (let s = 1; s < sorted.length; s++) {
      const p = points[sorted[s - 1]!]!, q = points[sorted[s]!]!, long = Math.hypot(q.px - p.px, q.py - p.py) || 1;
      for (let i = sorted[s - 1]! + 1; i < sorted[s]!; i++) {
        const d = Math.abs((q.px - p.px) * (points[i]!.py - p.py) - (q.py - p.py) * (points[i]!.px - p.px)) / long;
        if (d > worst) { worst = d; at = i; }
      }
    }
    if (at < 0) break;
    keep.add(at);
  }
  return [...keep].sort((a, b) => a - b).map((i) => points[i]!);
}
