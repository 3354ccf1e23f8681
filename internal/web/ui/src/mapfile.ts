// A map as a file: CSV of its cells and of its profiles, SVG of what is drawn. Pure.
import { Cell, Column, csv, onPaper, svgFile, svgText } from './export';
import { inFull, roundTicks } from './format';
import { Isoline, Label } from './surface';

/** MapData is what a map's files are made of; lists are by cells, lowest row first. */
export interface MapData {
  title: string; xName: string; yName: string; x0: number; y0: number; length: number; width: number; nx: number; ny: number;
  values: { name: string; unit: string; cells: ArrayLike<number> }[];
}

/** places are the middles of n cells, in millimetres. */
const places = (low: number, size: number, n: number) => Array.from({ length: n }, (_, k) => Number((1e3 * (low + ((k + 0.5) / n) * size)).toFixed(3)));

/** mapCSV has a row for each cell. */
export function mapCSV(d: MapData): string {
  const xs = places(d.x0, d.length, d.nx), ys = places(d.y0, d.width, d.ny), rows: Cell[][] = [];
  for (let j = 0; j < d.ny; j++) for (let i = 0; i < d.nx; i++) rows.push([xs[i], ys[j], ...d.values.map((v) => v.cells[j * d.nx + i]!)]);
  return csv([{ name: d.xName, unit: 'mm' }, { name: d.yName, unit: 'mm' }, ...d.values.map((v): Column => ({ name: v.name, unit: v.unit }))], rows);
}

/** profileCSV has a row for each cell of a line through cell (i, j), along x or along y. */
export function profileCSV(d: MapData, along: 'x' | 'y', i: number, j: number): string {
  const xs = places(d.x0, d.length, d.nx), ys = places(d.y0, d.width, d.ny), n = along === 'x' ? d.nx : d.ny;
  const rows = Array.from({ length: n }, (_, k): Cell[] => {
    const a = along === 'x' ? k : i, b = along === 'x' ? j : k;
    return [xs[a], ys[b], ...d.values.map((v) => v.cells[b * d.nx + a]!)];
  });
  return csv([{ name: d.xName, unit: 'mm' }, { name: d.yName, unit: 'mm' }, ...d.values.map((v): Column => ({ name: v.name, unit: v.unit }))], rows);
}

/** mapFile draws a map: its colours as a picture (a data URL), isolines with their numbers, rulers in millimetres, and the colour scale. */
export function mapFile(d: MapData, image: string, lines: Isoline[], labels: Label[], scale: { lo: number; hi: number; unit: string; colours: string[] } | null, spots: [number, number][]): string {
  const pw = 760, ph = Math.max(120, (pw * d.width) / d.length), left = 56, top = 40, w = left + pw + 24, foot = scale ? 104 : 60;
  const X = (x: number) => left + ((x - d.x0) / d.length) * pw, Y = (y: number) => top + ph - ((y - d.y0) / d.width) * ph;
  const n = (v: number) => String(Number(v.toFixed(1)));
  const out = [svgText(left, 22, d.title, ' font-weight="600" font-size="15"'), `<image x="${left}" y="${top}" width="${pw}" height="${n(ph)}" preserveAspectRatio="none" href="${image}"/>`];
  for (const l of lines) {
    const path = l.lines.map((line) => 'M' + line.map(([x, y]) => `${n(left + x * pw)} ${n(top + (1 - y) * ph)}`).join('L')).join('');
    if (l.heavy) out.push(`<path d="${path}" fill="none" stroke="#071021" stroke-opacity="0.5" stroke-width="4"/>`);
    out.push(`<path d="${path}" fill="none" stroke="#ffffff" stroke-width="${l.heavy ? 2 : 0.9}"${l.heavy ? '' : ' stroke-opacity="0.75"'}><title>${inFull(l.level)}</title></path>`);
  }
  for (const [x, y] of spots) out.push(`<circle cx="${n(X(x))}" cy="${n(Y(y))}" r="4" fill="none" stroke="#ffffff" stroke-width="1.5"/>`);
  for (const l of labels) out.push(`<text x="${n(left + l.x * pw)}" y="${n(top + l.y * ph + 4)}" text-anchor="middle" fill="#ffffff" stroke="#071021" stroke-width="3" stroke-linejoin="round" paint-order="stroke" font-weight="600">${inFull(l.level)}</text>`);
  out.push(`<rect x="${left}" y="${top}" width="${pw}" height="${n(ph)}" fill="none" stroke="${onPaper.ink}"/>`);
  for (const t of roundTicks(1e3 * d.x0, 1e3 * (d.x0 + d.length), 8)) out.push(svgText(X(t / 1e3), top + ph + 16, inFull(t), ' text-anchor="middle"'));
  for (const t of roundTicks(1e3 * d.y0, 1e3 * (d.y0 + d.width), 6)) out.push(svgText(left - 6, Y(t / 1e3) + 4, inFull(t), ' text-anchor="end"'));
  out.push(svgText(left + pw / 2, top + ph + 34, `${d.xName}, mm`, ' text-anchor="middle"'), svgText(left - 48, top - 6, `${d.yName}, mm`));
  if (scale) {
    const y = top + ph + 48, step = pw / scale.colours.length;
    scale.colours.forEach((c, k) => out.push(`<rect x="${n(left + k * step)}" y="${n(y)}" width="${n(step + 0.5)}" height="14" fill="${c}"/>`));
    for (const t of roundTicks(scale.lo, scale.hi, 6)) out.push(svgText(left + ((t - scale.lo) / (scale.hi - scale.lo || 1)) * pw, y + 30, inFull(t), ' text-anchor="middle"'));
    out.push(svgText(left + pw, y + 46, scale.unit, ' text-anchor="end"'));
  }
  return svgFile(w, top + ph + foot, d.title, out.join('\n'));
}
