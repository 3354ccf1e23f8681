// The place of a new lamp as a drawing: from the side and from above, in millimetres. It shows sizes and computes none.
import { Sketch } from './api';

export interface Box { x: number; y: number; w: number; h: number; class: string }
export interface Line { x1: number; y1: number; x2: number; y2: number; class: string }
/** Label stands at a point of the drawing. */
export interface Label { x: number; y: number; text: string; class: string }
export interface Drawing { w: number; h: number; boxes: Box[]; lines: Line[]; labels: Label[] }

const mm = (x: number) => `${Math.round(x)} mm`;

/** dimension is a line with end marks along x, or along y. */
function dimension(d: Drawing, x1: number, y1: number, x2: number, y2: number, mark: number) {
  d.lines.push({ x1, y1, x2, y2, class: 'size' });
  for (const [x, y] of [[x1, y1], [x2, y2]] as const) {
    d.lines.push(y1 === y2 ? { x1: x, y1: y - mark, x2: x, y2: y + mark, class: 'size' } : { x1: x - mark, y1: y, x2: x + mark, y2: y, class: 'size' });
  }
}

/** hangs is how high the lamp is drawn over water, substrate or bench, as a part of the length: the design computes it. */
const hangs = 0.2;

/** sideOf is the place from the side: length and height, water and substrate, and a lamp above it. */
export function sideOf(p: Sketch): Drawing {
  const room = 0.16 * p.length, mark = 0.012 * p.length;
  const above = hangs * p.length, top = 0.06 * p.length;
  const surface = p.kind === 'tank' ? p.water : p.height; // what the lamp is drawn above
  const ground = top + above + Math.max(surface, p.height, 0.02 * p.length);
  const left = 0.02 * p.length, right = left + p.length;
  const d: Drawing = { w: right + room * 1.6, h: ground + room, boxes: [], lines: [], labels: [] };
  const at = (level: number) => ground - level;
  if (p.water > 0) d.boxes.push({ x: left, y: at(p.water), w: p.length, h: p.water - p.substrate, class: 'water' });
  if (p.substrate > 0) d.boxes.push({ x: left, y: at(p.substrate), w: p.length, h: p.substrate, class: 'substrate' });
  if (p.height > 0) {
    d.lines.push({ x1: left, y1: at(p.height), x2: left, y2: ground, class: 'wall' }, { x1: right, y1: at(p.height), x2: right, y2: ground, class: 'wall' });
    dimension(d, right + 0.35 * room, at(p.height), right + 0.35 * room, ground, mark);
    d.labels.push({ x: right + 0.45 * room, y: (at(p.height) + ground) / 2, text: mm(p.height), class: 'right' });
  }
  d.lines.push({ x1: left, y1: ground, x2: right, y2: ground, class: 'wall' });
  if (p.water > 0) d.labels.push({ x: left + p.length / 2, y: at((p.water + p.substrate) / 2), text: `water ${mm(p.water)}`, class: 'mid' });
  const lamp = 0.32 * p.length;
  d.boxes.push({ x: left + (p.length - lamp) / 2, y: top, w: lamp, h: 0.022 * p.length, class: 'lamp' });
  dimension(d, left, ground + 0.4 * room, right, ground + 0.4 * room, mark);
  d.labels.push({ x: left + p.length / 2, y: ground + 0.75 * room, text: mm(p.length), class: 'mid' });
  return d;
}

/** aboveOf is the place from above: length and width, with a lamp over its middle. */
export function aboveOf(p: Sketch): Drawing {
  const room = 0.16 * p.length, mark = 0.012 * p.length, left = 0.02 * p.length, top = 0.02 * p.length;
  const d: Drawing = { w: left + p.length + room * 1.6, h: top + p.width + 0.03 * p.length, boxes: [], lines: [], labels: [] };
  d.boxes.push({ x: left, y: top, w: p.length, h: p.width, class: p.kind === 'tank' ? 'water edge' : 'floor edge' });
  d.boxes.push({ x: left + 0.34 * p.length, y: top + p.width / 2 - 0.03 * p.length, w: 0.32 * p.length, h: 0.06 * p.length, class: 'lamp' });
  dimension(d, left + p.length + 0.35 * room, top, left + p.length + 0.35 * room, top + p.width, mark);
  d.labels.push({ x: left + p.length + 0.45 * room, y: top + p.width / 2, text: mm(p.width), class: 'right' });
  return d;
}
