// What a preview changes, put into the lamp that is shown.
import { Lamp, PackedCells, PreviewDiff } from './api';

type Fields = Record<string, unknown>;

/** cellSteps is the number of steps from 0 to the maximum of packed cells; see packCells in internal/web/short.go. */
const cellSteps = 1023;

/** unpack returns the cells of a map: each step is left + below − lower left, plus a difference in groups of 7 bits. */
export function unpack(p: PackedCells): number[] {
  const bytes = atob(p.cells), steps: number[] = [], nx = p.nx;
  const at = (i: number, j: number) => (i < 0 || j < 0 ? 0 : steps[j * nx + i]!);
  for (let k = 0; k < bytes.length;) {
    let u = 0, shift = 0, byte;
    do { byte = bytes.charCodeAt(k++); u |= (byte & 0x7f) << shift; shift += 7; } while (byte & 0x80);
    const i = steps.length % nx, j = (steps.length - i) / nx;
    steps.push(at(i - 1, j) + at(i, j - 1) - at(i - 1, j - 1) + (u & 1 ? -(u + 1) / 2 : u / 2));
  }
  return steps.map((s) => (s * p.max) / cellSteps);
}

const isPacked = (v: unknown): v is PackedCells => typeof v === 'object' && v !== null && 'cells' in v;

/** patched returns an item of the file with the fields that a preview changes. */
function patched(item: unknown, [, set, gone]: [number, Fields, string[]]): unknown {
  const out = { ...(item as Fields) };
  for (const [key, v] of Object.entries(set)) out[key] = isPacked(v) ? unpack(v) : v;
  for (const key of gone) delete out[key];
  return out;
}

/** sectionOf returns a section out of its differences from that of the file: its own patch, or a list in which a number is the
 * index of an item of the file, a list is the patch of one, and anything else is an item. */
function sectionOf(was: unknown, diff: unknown): unknown {
  if (!Array.isArray(was)) return patched(was, diff as [number, Fields, string[]]);
  return (diff as unknown[]).map((x) => (typeof x === 'number' ? was[x] : Array.isArray(x) ? patched(was[x[0]], x as [number, Fields, string[]]) : x));
}

/** merge applies the differences of a preview to the lamp of the file; sections that it does not hold stay as they were shown last. */
export function merge(file: Lamp, last: Lamp | null, t: PreviewDiff): Lamp {
  const out = { ...(last ?? file), full: false } as Lamp & Fields;
  const from = file as Lamp & Fields;
  for (const name of t.same) out[name] = from[name];
  for (const [name, v] of Object.entries(t.sections)) out[name] = sectionOf(from[name], v);
  const figures = file.figures.slice();
  t.figures.at.forEach((at, k) => { figures[at] = { ...file.figures[at]!, text: t.figures.text[k]!, value: t.figures.value[k]!, range: '' }; });
  const other = new Set([...(t.gone ?? []), ...(t.added ?? []).map((f) => f.key)]);
  out.figures = figures.filter((f) => !other.has(f.key)).concat(t.added ?? []);
  return out;
}
