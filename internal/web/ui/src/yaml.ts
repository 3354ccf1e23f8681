// Values of a file as YAML on one line, as they are tried: written here, and read back only as they were written.
import { asBlock, asYAML } from './marked';

export type Yaml = string | Yaml[] | { [key: string]: Yaml };

const plain = /^[-−+]?[\p{L}\p{N}][\p{L}\p{N} _.%°µμ·²³/()±−+Ω*-]*$/u;

/** scalar writes a text, in quotes where YAML would take it for something else. */
const scalar = (text: string) => (plain.test(text) && text === text.trim() && !/^(null|true|false|yes|no)$/i.test(text) ? text : JSON.stringify(text).replace(/[\u0080-\u009f\u2028\u2029]/g, ' '));

/** flow writes a value on one line. */
export function flow(v: Yaml): string {
  if (typeof v === 'string') return scalar(v);
  if (Array.isArray(v)) return `[${v.map(flow).join(', ')}]`;
  return `{${Object.entries(v).map(([k, x]) => `${scalar(k)}: ${flow(x)}`).join(', ')}}`;
}

/** readFlow reads what flow has written; null where that was not it. */
export function readFlow(text: string): Yaml | null {
  let at = 0;
  const fail = () => { throw new Error('not written here'); };
  const eat = (c: string) => { if (text[at] !== c) fail(); at++; while (text[at] === ' ') at++; };
  const word = () => {
    const m = text[at] === '"' ? /^"(?:[^"\\]|\\.)*"/.exec(text.slice(at)) : /^[^,:[\]{}"]+/.exec(text.slice(at));
    if (!m) return fail() as never;
    at += m[0].length;
    return m[0][0] === '"' ? JSON.parse(m[0]) as string : m[0].trim();
  };
  const value = (): Yaml => {
    if (text[at] === '[') {
      const list: Yaml[] = [];
      for (eat('['); text[at] !== ']';) { list.push(value()); if (text[at] !== ']') eat(','); }
      eat(']');
      return list;
    }
    if (text[at] !== '{') return word();
    const map: { [key: string]: Yaml } = {};
    for (eat('{'); text[at] !== '}';) { const k = word(); eat(':'); map[k] = value(); if (text[at] !== '}') eat(','); }
    eat('}');
    return map;
  };
  try {
    const v = value();
    return at === text.length ? v : null;
  } catch { return null; }
}

/** tried is the value of a text that is tried as YAML; null where it is a plain text. */
export const triedYAML = (text: string | undefined): Yaml | null => (text !== undefined && (text[0] === asYAML || text[0] === asBlock) ? readFlow(text.slice(1)) : null);

/** leaves are the single values of a mapping, by their paths within it. */
export function leaves(v: Yaml, path = ''): { path: string; text: string }[] {
  if (typeof v === 'string') return [{ path, text: v }];
  if (Array.isArray(v)) return v.flatMap((x, i) => leaves(x, `${path}[${i}]`));
  return Object.entries(v).flatMap(([k, x]) => leaves(x, /^[A-Za-z_]\w*$/.test(k) ? (path ? `${path}.${k}` : k) : `${path}[${k}]`));
}
