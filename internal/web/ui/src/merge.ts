// What a preview changes, put into the lamp that is shown.
import { Figure, Lamp, PreviewDiff } from './api';

/** merge applies the differences of a preview to the lamp of the file; sections that it does not hold stay as they were shown last. */
export function merge(file: Lamp, last: Lamp | null, t: PreviewDiff): Lamp {
  const out = { ...(last ?? file), full: false } as Lamp & Record<string, unknown>;
  const from = file as Lamp & Record<string, unknown>;
  for (const name of t.same) out[name] = from[name];
  for (const [name, v] of Object.entries(t.sections)) out[name] = Array.isArray(v) ? v.map((x) => (typeof x === 'number' ? (from[name] as unknown[])[x] : x)) : v;
  const gone = new Set(t.gone), added = new Map((t.added ?? []).map((f) => [f.key, f]));
  const moved = (f: Figure): Figure => { const n = t.figures[f.key]; return n ? { ...f, ...n, range: '' } : f; };
  out.figures = file.figures.filter((f) => !gone.has(f.key) && !added.has(f.key)).map(moved).concat([...added.values()]);
  return out;
}
