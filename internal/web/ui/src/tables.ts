// Curves of parts as tables.
import { signal } from '@preact/signals';
import { Key } from './api';
import { beneath } from './keytree';
import { asBlock } from './marked';
import { setTrial, trial } from './store';
import { flow } from './yaml';

/** session is the curve that is read off a diagram, and the picture that was dropped for it. */
export const session = signal<{ at: string; picture: File | null } | null>(null);

/** names are what the axes of a curve show. */
export const names = (k: Key) => [k.x, k.y].map((n) => (n === 'none' ? 'number' : n === 'cct' ? 'colour temperature' : n ?? '')) as [string, string];

/** tryCurve tries a whole curve in place of what stands there, and of single points that were tried before. */
export function tryCurve(at: string, points: [string, string][], source: string) {
  const table = Object.fromEntries(points);
  const next = Object.fromEntries(Object.entries(trial.value).filter(([path]) => !beneath(path, at)));
  setTrial({ ...next, [at]: asBlock + flow(source === '' ? table : { source, points: table }) });
}
