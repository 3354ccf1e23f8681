// A value against its limits, in per cent of a domain that holds all of them. It is the same drawing everywhere.

/** Limited is a value with its limits, in one unit. */
export interface Limited {
  value: number;
  lo?: number | undefined; // P10
  hi?: number | undefined; // P90
  min?: number | undefined;
  max?: number | undefined;
  was?: number | undefined; // in the file, where the value is tried
}

/** State of a value: within its limits, with a range that leaves them, outside, or without a limit. */
export type LimitState = 'in' | 'edge' | 'out' | 'none';

/** The least width of a domain, relative to the value: near values are not drawn far apart. */
const least = 0.12;

/** domainOf returns what a drawing shows: all numbers, and a third of their distance on both sides. */
export function domainOf(v: Limited): [number, number] {
  const all = [v.value, v.lo, v.hi, v.min, v.max, v.was].filter((x): x is number => x !== undefined && Number.isFinite(x));
  let a = Math.min(...all), b = Math.max(...all);
  const room = Math.max(b - a, least * Math.max(Math.abs(a), Math.abs(b)), Number.MIN_VALUE);
  const pad = (room - (b - a)) / 2 + 0.32 * room;
  a -= pad;
  b += pad;
  return [a, b];
}

/** stateOf returns the state of a value. `error` is the relative error of a comparison that still meets a limit. */
export function stateOf(v: Limited, error = 1e-9): LimitState {
  if (v.min === undefined && v.max === undefined) return 'none';
  const below = (x: number) => v.min !== undefined && v.min - x > error * Math.abs(v.min);
  const above = (x: number) => v.max !== undefined && x - v.max > error * Math.abs(v.max);
  if (below(v.value) || above(v.value)) return 'out';
  return below(v.lo ?? v.value) || above(v.hi ?? v.value) ? 'edge' : 'in';
}

/** beyond returns how far a number is outside the limits: negative below, positive above, 0 within. */
export const beyond = (v: Limited, x: number): number =>
  v.min !== undefined && x < v.min ? x - v.min : v.max !== undefined && x > v.max ? x - v.max : 0;

/** Places are the parts of the drawing, in per cent from the left. */
export interface Places { value: number; band: [number, number] | null; low: boolean; high: boolean; range: [number, number] | null; was: number | null }

export function placesOf(v: Limited): Places {
  const [a, b] = domainOf(v);
  const at = (x: number) => Math.min(100, Math.max(0, (100 * (x - a)) / (b - a)));
  const lo = v.lo ?? v.value, hi = v.hi ?? v.value;
  return {
    value: at(v.value), low: v.min !== undefined, high: v.max !== undefined,
    band: v.min === undefined && v.max === undefined ? null : [v.min === undefined ? 0 : at(v.min), v.max === undefined ? 100 : at(v.max)],
    range: hi > lo ? [at(lo), at(hi)] : null,
    was: v.was === undefined || v.was === v.value ? null : at(v.was),
  };
}
