// What a chart or a map shows as a file: a table as CSV (RFC 4180), a drawing as SVG that needs nothing beside it. Pure but for download.
import { inFull, printed, roundTicks } from './format';

/** Column is a name with its unit; it heads a column as "name [unit]". */
export interface Column { name: string; unit?: string | undefined }
export type Cell = string | number | null | undefined;

const quoted = (text: string) => (/[",\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
const cell = (v: Cell) => (typeof v === 'number' ? (Number.isFinite(v) ? String(v) : '') : quoted(v ?? ''));

/** csv writes a table: units in the header, numbers with a point, lines ended as RFC 4180 states. */
export function csv(columns: Column[], rows: Cell[][]): string {
  const head = columns.map((c) => quoted(c.unit ? `${c.name} [${c.unit}]` : c.name));
  return [head.join(','), ...rows.map((r) => r.map(cell).join(','))].join('\r\n') + '\r\n';
}

/** named splits the label of an axis, "wavelength, nm". */
export function named(label: string): Column {
  const m = /^(.*), ([^\s,]+)$/.exec(label);
  return m ? { name: m[1]!, unit: m[2]! } : { name: label };
}

/** measure reads the label of a vertical axis: a quantity with its unit, a unit alone, or a word. */
export const measure = (label: string): Column => { const n = named(label); return n.unit || /\s/.test(label) || label === 'relative' ? n : { name: '', unit: label }; };

const quantity = /^([-+−]?(?:\d[\d,]*\.?\d*|\.\d+)(?:e[-+]?\d+)?)(?:\s+(\S+))?$/i;

/** fromTable makes columns with units of a table as it is shown: where all cells of a column are numbers in one unit, they become numbers. */
export function fromTable(head: string[], rows: string[][]): { columns: Column[]; rows: Cell[][] } {
  const out: Cell[][] = rows.map(() => []);
  const columns = head.map((h, k): Column => {
    const label = named(h), read = rows.map((r) => ((r[k] ?? '') === '' || r[k] === '–' ? null : quantity.exec(r[k]!.trim())));
    const units = new Set(read.map((m, i) => ((rows[i]![k] ?? '') === '' || rows[i]![k] === '–' ? undefined : m ? m[2] ?? '' : '\0')).filter((u) => u !== undefined));
    const one = units.size === 1 && !units.has('\0') ? [...units][0]! : null;
    rows.forEach((r, i) => { out[i]!.push(one === null ? r[k] ?? '' : read[i] ? printed(read[i]![1]!) : null); });
    return one ? { name: h, unit: one } : label;
  });
  return { columns, rows: out };
}

/** fileName is a name that every file system takes. */
export const fileName = (...parts: string[]) => parts.map((p) => p.normalize('NFKD').toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 60)).filter(Boolean).join('-');

/** handOver gives data to the browser as a file. */
export function handOver(name: string, data: Blob) {
  const a = document.createElement('a');
  a.href = URL.createObjectURL(data);
  a.download = name;
  a.click();
  window.setTimeout(() => URL.revokeObjectURL(a.href), 60_000);
}

/** download hands a text to the browser as a file. */
export const download = (name: string, type: string, text: string) => handOver(name, new Blob([text], { type }));

export const xml = (text: string) => text.replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd]/g, '').replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

/** The colours of a file are those of paper, whatever the page shows. */
export const onPaper = { ink: '#14201d', soft: '#435049', rule: '#cfd7d2', paper: '#ffffff', band: '#9fb3a8', limit: '#b0241c', file: '#5b6862' };
const fonts = 'Segoe UI, Roboto, Helvetica Neue, Noto Sans, Liberation Sans, Arial, sans-serif';
const n = (v: number) => String(Number(v.toFixed(2)));

/** svgFile wraps a drawing. */
export const svgFile = (width: number, height: number, title: string, body: string) =>
  `<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" width="${n(width)}" height="${n(height)}" viewBox="0 0 ${n(width)} ${n(height)}" role="img" font-family="${fonts}" font-size="12">\n` +
  `<title>${xml(title)}</title>\n<rect width="100%" height="100%" fill="${onPaper.paper}"/>\n${body}\n</svg>\n`;

export const svgText = (x: number, y: number, text: string, more = '', ink = onPaper.ink) => `<text x="${n(x)}" y="${n(y)}" fill="${ink}"${more}>${xml(text)}</text>`;

/** pictureFile makes a file of a drawing of the server as it stands in the page: it has its colours and fonts in it, and lacks a size. */
export function pictureFile(inline: string): string {
  const m = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(inline);
  return '<?xml version="1.0" encoding="UTF-8"?>\n' + inline.replace(/^\s*<svg /, `<svg xmlns="http://www.w3.org/2000/svg"${m ? ` width="${m[1]}" height="${m[2]}"` : ''} `) + '\n';
}

export interface Line { name: string; colour: string; dash?: number[] | undefined; y: (number | null)[]; points?: boolean }
export interface Drawn {
  title: string; x: number[]; lines: Line[]; xLabel: string; yLabel: string;
  marks?: { x: number; y: number; name: string; colour: string }[]; limits?: { x: number; name: string }[]; band?: { min?: number | undefined; max?: number | undefined };
}

/** chartFile draws a chart as an SVG file. */
export function chartFile(d: Drawn): string {
  const w = 760, h = 360, left = 64, right = 16, top = 34, below = 64 + 18 * Math.max(0, d.lines.length > 1 ? 1 : 0), pw = w - left - right, ph = h - top - below;
  const xs = [...d.x, ...(d.marks ?? []).map((m) => m.x), ...(d.limits ?? []).map((l) => l.x)];
  const ys = [...d.lines.flatMap((l) => l.y.filter((v): v is number => v !== null && Number.isFinite(v))), ...(d.marks ?? []).map((m) => m.y)];
  const x0 = Math.min(...xs), x1 = Math.max(...xs), low = Math.min(...ys), top1 = Math.max(...ys), room = (top1 - low || 1) * 0.08;
  const y0 = low >= 0 ? Math.max(0, low - room) : low - room, y1 = top1 + room;
  const X = (v: number) => left + ((v - x0) / (x1 - x0 || 1)) * pw, Y = (v: number) => top + ph - ((v - y0) / (y1 - y0 || 1)) * ph;
  const out: string[] = [svgText(left, 20, d.title, ' font-weight="600" font-size="14"')];
  if (d.band) {
    const a = Math.max(y0, d.band.min ?? y0), b = Math.min(y1, d.band.max ?? y1);
    if (b > a) out.push(`<rect x="${left}" y="${n(Y(b))}" width="${pw}" height="${n(Y(a) - Y(b))}" fill="${onPaper.band}" fill-opacity="0.4"/>`);
  }
  for (const t of roundTicks(x0, x1, 8)) out.push(`<path d="M${n(X(t))} ${top}V${top + ph}" stroke="${onPaper.rule}"/>`, svgText(X(t), top + ph + 16, inFull(t), ' text-anchor="middle"'));
  for (const t of roundTicks(y0, y1, 5)) out.push(`<path d="M${left} ${n(Y(t))}H${left + pw}" stroke="${onPaper.rule}"/>`, svgText(left - 6, Y(t) + 4, inFull(t), ' text-anchor="end"'));
  out.push(svgText(left + pw / 2, top + ph + 34, d.xLabel, ' text-anchor="middle"'), svgText(left, top - 4, d.yLabel));
  for (const l of d.lines) {
    let path = '', pen = false;
    l.y.forEach((v, i) => {
      if (v === null || !Number.isFinite(v)) { pen = false; return; }
      path += `${pen ? 'L' : 'M'}${n(X(d.x[i]!))} ${n(Y(v))}`;
      pen = true;
    });
    const what = `<title>${xml(l.name)}</title>`;
    if (l.points) out.push(`<g fill="${l.colour}">${what}${l.y.map((v, i) => (v === null ? '' : `<circle cx="${n(X(d.x[i]!))}" cy="${n(Y(v))}" r="3"/>`)).join('')}</g>`);
    else out.push(`<path d="${path}" fill="none" stroke="${l.colour}" stroke-width="2" stroke-linejoin="round"${l.dash ? ` stroke-dasharray="${l.dash.join(' ')}"` : ''}>${what}</path>`);
  }
  for (const l of d.limits ?? []) out.push(`<path d="M${n(X(l.x))} ${top}V${top + ph}" stroke="${onPaper.limit}" stroke-dasharray="6 4"/>`, svgText(X(l.x) - 4, top + 12, l.name, ' text-anchor="end"', onPaper.limit));
  for (const m of d.marks ?? []) out.push(`<circle cx="${n(X(m.x))}" cy="${n(Y(m.y))}" r="5" fill="${m.colour}" stroke="${onPaper.paper}" stroke-width="2"/>`, ...(m.name ? [svgText(X(m.x) + 8, Y(m.y) - 8, m.name)] : []));
  if (d.lines.length > 1) {
    let at = left;
    for (const l of d.lines) {
      out.push(`<path d="M${n(at)} ${h - 14}h26" stroke="${l.colour}" stroke-width="3"${l.dash ? ` stroke-dasharray="${l.dash.join(' ')}"` : ''}/>`, svgText(at + 32, h - 10, l.name));
      at += 48 + 7 * l.name.length;
    }
  }
  return svgFile(w, h, d.title, out.join('\n'));
}
