// Numbers of figures in the unit in which they are printed.
import { printed } from './format';
import type { Figure } from './generated';

const first = /^([+−-]?[\d,]*\.?\d+)\s*([^,]*)/;

/** Shown is how a figure is printed: number, unit and digits after the point. */
export interface Shown { number: string; unit: string; digits: number }

/** shownOf takes a printed figure apart; null where it is not a number with a unit. */
export function shownOf(text: string): Shown | null {
  const m = first.exec(text);
  return m ? { number: m[1]!, unit: m[2]!, digits: (m[1]!.split('.')[1] ?? '').length } : null;
}

/** inUnit returns a number in SI units in the unit in which a figure is printed: units differ by powers of ten, temperatures by 273.15. */
export function inUnit(f: Pick<Figure, 'kind' | 'value' | 'text'>, si: number): number {
  if (f.kind === 'temperature') return si - 273.15;
  const s = shownOf(f.text), number = s ? printed(s.number) : 0;
  if (!s || number === 0 || f.value === 0) return f.kind === 'ratio' ? 100 * si : si;
  return si * 10 ** Math.round(Math.log10(Math.abs(number / f.value)));
}

/** distance returns a difference of two numbers of a figure in words: "3.2", "131". */
export function distance(f: Pick<Figure, 'kind' | 'value' | 'text'>, si: number): string {
  const d = Math.abs(f.kind === 'temperature' ? si : inUnit(f, si)), digits = shownOf(f.text)?.digits ?? 0;
  return d.toFixed(d < 10 ** -digits / 2 && d > 0 ? digits + 1 : digits);
}
