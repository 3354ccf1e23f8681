// Readings as they are typed: numbers with a decimal comma, the text of a new reading, times as a clock. Pure.
import { BenchPoint, Severity } from './generated';

/** Typed is what a typed reading means: the text that is saved, what is to be said of it, or why it is no value. */
export interface Typed { text: string; said: string; wrong: string }

const plain = /^[-−+]?(\d+([.,]\d*)?|[.,]\d+)(e[-+]?\d+)?$/i;

/** typedValue reads a typed number, or a number with its unit. A comma is taken as a decimal point, but not where it may part thousands. */
export function typedValue(typed: string, unit: string): Typed {
  const wrong = (why: string): Typed => ({ text: '', said: '', wrong: why });
  let text = typed.trim().replace(/[\u00a0\u202f]/g, ' ').replace('−', '-');
  if (text === '') return wrong('');
  const said: string[] = [];
  const number = /^[-+]?[\d.,']+/.exec(text)?.[0] ?? '';
  if (number === '') return wrong(`“${typed.trim()}” is not a number. Type the reading as the meter displays it.`);
  if ((number.match(/[.,']/g) ?? []).length > 1) return wrong(`“${number}” has more than one point or comma. Type it without thousands separators.`);
  if (/^[-+]?[1-9]\d{0,2},\d{3}$/.test(number)) {
    const [a, b] = number.split(',') as [string, string];
    return wrong(`“${number}” can mean ${a}${b} or ${a}.${b}. Type ${a}${b}, or ${a}.${b.replace(/0+$/, '') || '0'}.`);
  }
  if (number.includes(',')) {
    text = text.replace(',', '.');
    said.push('The comma is read as a decimal point.');
  }
  text = text.replace(/^([-+]?)\./, '$10.').replace(/^([-+]?\d+)\.(?=\D|$)/, '$1');
  if (plain.test(text) && unit !== '') text += ' ' + unit;
  return { text, said: said.join(' '), wrong: '' };
}

/** numberIn is the number of a value as it is written; the whole text where it is not in that unit. */
export function numberIn(value: string, unit: string): string {
  const m = /^\s*([-−+]?[\d.]+(?:e[-+]?\d+)?)\s*(.*?)\s*$/i.exec(value);
  return m && m[2] === unit ? m[1]! : value.trim();
}

/** signOf is the sign beside a verdict, which differs by shape as well as by colour. */
export const signOf = (p: { verdict: string; pending: boolean }): Severity | null =>
  p.pending ? null : p.verdict === 'agrees' ? 'pass' : p.verdict === 'differs' ? 'stop' : p.verdict === 'questionable' ? 'warn' : 'note';

const ranks = ['agrees', 'agrees, prediction vague', 'questionable', 'differs'];

/** worst is the point of a series that is furthest from its prediction by its verdict; of none, the first. */
export function worst(points: BenchPoint[]): BenchPoint | undefined {
  let out = points[0];
  for (const p of points) {
    const a = ranks.indexOf(p.verdict), b = out ? ranks.indexOf(out.verdict) : -1;
    if (a > b || a === b && Math.abs(p.zeta) > Math.abs(out!.zeta)) out = p;
  }
  return out;
}

/** Span is the parts of the drawing of a reading beside its prediction, in per cent from the left. */
export interface Span { band: [number, number]; meter: [number, number] | null; read: number | null }

/** spanOf places the range in which readings agree, and a reading with its own uncertainty; the domain is three ranges wide, or more where the reading lies outside. */
export function spanOf(p: BenchPoint): Span {
  const u = Math.hypot(p.u_lamp, p.u_meter) || Math.abs(p.predicted) / 100 || 1;
  const reach = Math.max(5 * u, p.pending ? 0 : 1.15 * Math.abs(p.read - p.predicted) + 2 * p.u_meter);
  const at = (x: number) => Math.min(100, Math.max(0, 50 + (50 * (x - p.predicted)) / reach));
  const band: [number, number] = [at(p.predicted - 2 * u), at(p.predicted + 2 * u)];
  return p.pending ? { band, meter: null, read: null } : { band, meter: [at(p.read - 2 * p.u_meter), at(p.read + 2 * p.u_meter)], read: at(p.read) };
}

/** clock is a time in minutes and seconds, with hours where there are some. */
export function clock(seconds: number): string {
  const s = Math.max(0, Math.round(seconds)), two = (n: number) => String(n).padStart(2, '0');
  return s < 3600 ? `${Math.floor(s / 60)}:${two(s % 60)}` : `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}

/** Fields is a new reading as the form has it; empty ones are not given. */
export interface Fields { what: string; instrument: string; state: string; channel: string; place: string; distance: string; x: string; y: string; emitter: string; spot: string }

/** fieldsOf is the fields that a reading of a quantity at a place has. */
export function fieldsOf(ofChannel: boolean, place: string): { channel: boolean; distance: boolean; at: boolean; emitter: boolean; spot: boolean } {
  return { channel: ofChannel, distance: place === 'axis', at: place === 'surface' || place === 'target' || place === 'board', emitter: place === 'solder point', spot: place === 'spot' };
}

/** asText writes a text into YAML, whatever it contains. */
const asText = (t: string) => (/^[A-Za-z][\w -]*$/.test(t) && !/^(yes|no|on|off|true|false|null)$/i.test(t) ? t : JSON.stringify(t));

/** withUnit adds a unit to a bare number, with a point in place of a comma. */
export const withUnit = (t: string, unit: string) => (plain.test(t.trim()) ? `${t.trim().replace(',', '.').replace('−', '-')} ${unit}` : t.trim());

/** itemOf is a new reading as YAML. */
export function itemOf(f: Fields, ofChannel: boolean): string {
  const has = fieldsOf(ofChannel, f.place), out = [`what: ${f.what}`];
  if (f.instrument) out.push(`instrument: ${asText(f.instrument)}`);
  if (f.state) out.push(`state: ${asText(f.state)}`);
  if (has.channel && f.channel) out.push(`channel: ${asText(f.channel)}`);
  if (f.place) out.push(`place: ${f.place}`);
  if (has.distance && f.distance) out.push(`distance: ${asText(withUnit(f.distance, 'mm'))}`);
  if (has.at) out.push(`at: [${withUnit(f.x || '0', 'mm')}, ${withUnit(f.y || '0', 'mm')}]`);
  if (has.emitter && f.emitter) out.push(`emitter: ${asText(f.emitter)}`);
  if (has.spot && f.spot) out.push(`spot: ${asText(f.spot)}`);
  return `{${out.join(', ')}}`;
}
