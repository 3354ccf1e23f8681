// The day as files: a table of all its times, and its drawing.
import { DayCourse } from './api';
import { clockText, dayS } from './dayedit';
import { csv, onPaper, svgFile, svgText, xml } from './export';
import { num } from './format';

const celsius = (k: number) => k - 273.15;

/** dayTable is the day as CSV. */
export const dayTable = (d: DayCourse): string => csv(
  [{ name: 'time of day' }, ...d.channels.map((c) => ({ name: `${c.name}, level`, unit: '%' })), { name: 'PPFD', unit: 'µmol/m²/s' }, { name: 'DLI since midnight', unit: 'mol/m²' }, { name: 'mains input', unit: 'W' },
    { name: 'heat sink', unit: '°C' }, { name: 'maximum T_j', unit: '°C' }, { name: 'CCT', unit: 'K' }, { name: 'Duv' }],
  d.times_s.map((t, k) => [clockText(t), ...d.channels.map((c) => 100 * c.levels[k]!), d.ppfd_umol_m2_s[k], d.dli_mol_m2[k], d.mains_w[k], celsius(d.sink_k[k]!), celsius(d.junction_k[k]!), d.cct_k[k] || null, d.cct_k[k] ? d.duv[k] : null]),
);

/** Row is one drawing over the day: lines in one unit, from lo to hi, and a band or a limit. */
export interface Row { name: string; unit: string; lo: number; hi: number; lines: { y: number[]; dash: string; fill?: boolean; colour?: string }[]; band?: [number, number] | undefined; limit?: number | undefined }

/** pathOf is a line over the day in a box. */
export function pathOf(times: number[], y: number[], lo: number, hi: number, width: number, height: number, pad = 0): string {
  const f = (height - 2 * pad) / (hi - lo || 1);
  let out = '';
  for (let k = 0; k < times.length; k++) {
    // Of a level stretch only its ends are drawn.
    if (k > 0 && k + 1 < times.length && y[k] === y[k - 1] && y[k] === y[k + 1]) continue;
    out += `${out ? 'L' : 'M'}${((width * times[k]!) / dayS).toFixed(1)} ${(height - pad - f * (y[k]! - lo)).toFixed(2)}`;
  }
  return out;
}

/** dayDrawing is the day as an SVG file. */
export function dayDrawing(title: string, d: DayCourse, rows: Row[]): string {
  const w = 900, left = 150, right = 60, pw = w - left - right, each = 64, gap = 12, top = 40;
  const out = [svgText(left, 20, title, ' font-weight="600" font-size="14"')];
  const bottom = top + rows.length * (each + gap) + 20;
  for (let h = 0; h <= 24; h += 3) {
    const x = left + (pw * h) / 24;
    out.push(`<path d="M${x} ${top}V${bottom}" stroke="${onPaper.rule}"/>`, svgText(x, bottom + 16, String(h).padStart(2, '0'), ' text-anchor="middle"'));
  }
  rows.forEach((r, i) => {
    const y0 = top + i * (each + gap), y = (v: number) => each - ((v - r.lo) / (r.hi - r.lo || 1)) * each;
    out.push(svgText(8, y0 + 26, r.name, ' font-weight="600"'), svgText(8, y0 + 42, r.unit, '', onPaper.soft), svgText(left + pw + 6, y0 + 10, num(r.hi)), svgText(left + pw + 6, y0 + each, num(r.lo)));
    const parts = [`<path d="M0 ${each}H${pw}" stroke="${onPaper.rule}"/>`];
    if (r.band) parts.push(`<rect x="0" y="${y(Math.min(r.hi, r.band[1])).toFixed(1)}" width="${pw}" height="${Math.max(0, y(r.band[0]) - y(Math.min(r.hi, r.band[1]))).toFixed(1)}" fill="${onPaper.band}" fill-opacity="0.4"/>`);
    for (const l of r.lines) {
      const path = pathOf(d.times_s, l.y, r.lo, r.hi, pw, each), colour = l.colour ?? onPaper.ink;
      if (l.fill) parts.push(`<path d="${path}V${each}H0Z" fill="${xml(colour)}" fill-opacity="0.16"/>`);
      parts.push(`<path d="${path}" fill="none" stroke="${xml(colour)}" stroke-width="2"${l.dash ? ` stroke-dasharray="${l.dash}"` : ''}/>`);
    }
    if (r.limit !== undefined) parts.push(`<path d="M0 ${y(r.limit).toFixed(1)}H${pw}" stroke="${onPaper.limit}" stroke-dasharray="6 4"/>`);
    out.push(`<g transform="translate(${left} ${y0})">${parts.join('')}</g>`);
  });
  d.times_s.forEach((t, k) => {
    if (k + 1 < d.times_s.length) out.push(`<rect x="${(left + (pw * t) / dayS).toFixed(2)}" y="${bottom - 20}" width="${((pw * (d.times_s[k + 1]! - t)) / dayS + 0.3).toFixed(2)}" height="16" fill="${d.colours[k]}"/>`);
  });
  out.push(svgText(8, bottom - 8, 'Colour of the light', ' font-weight="600"'));
  return svgFile(w, bottom + 28, title, out.join('\n'));
}
