// The order of the rows of a picker.
import { PickedRow, PickRow } from './generated';

/** sortRows returns rows in the order of a column; without one, the present part first, then by stops, warnings and price. Rows that are not computed come last. */
export function sortRows(rows: PickRow[], done: Record<string, PickedRow>, by: { key: string; down: boolean }): PickRow[] {
  const number = (r: PickRow): number | string => {
    const c = done[r.id];
    if (by.key === 'name') return (r.name || r.id).toLowerCase();
    if (!c || c.problem) return Infinity;
    if (by.key === 'stops') return c.after.stops;
    if (by.key === 'warnings') return c.after.warnings;
    if (by.key === 'price') return c.price_eur;
    return c.figures.find((f) => f.key === by.key)?.value ?? Infinity;
  };
  const compare = (a: number | string, b: number | string) => (a < b ? -1 : a > b ? 1 : 0);
  if (by.key === '') {
    const rank = (r: PickRow) => { const c = done[r.id]; return r.now ? [-1, 0, 0] : c && !c.problem ? [c.after.stops, c.after.warnings, c.price_eur] : [Infinity, 0, 0]; };
    return rows.map((r, i) => ({ r, i, k: rank(r) })).sort((a, b) => compare(a.k[0]!, b.k[0]!) || compare(a.k[1]!, b.k[1]!) || compare(a.k[2]!, b.k[2]!) || a.i - b.i).map((x) => x.r);
  }
  return rows.map((r, i) => ({ r, i, k: number(r) })).sort((a, b) => {
    const last = Number(a.k === Infinity) - Number(b.k === Infinity);
    return last || (by.down ? -1 : 1) * compare(a.k, b.k) || a.i - b.i;
  }).map((x) => x.r);
}
