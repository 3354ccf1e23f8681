// The keys of the design file as a tree, and the changes that set, clear, add and take away. Items of lists are counted as the file has them, those
// that are added behind them; what is taken away keeps its number until the file is written.
import { Change, KeyNode } from './generated';
import { asYAML, gone } from './marked';

/** beneath reports whether a path is that of a key, or of what stands within it. */
export const beneath = (path: string, key: string) => path === key || path.startsWith(key + '.') || path.startsWith(key + '[');

/** flat is every node of a tree by its path. */
export function flat(list: KeyNode[], into = new Map<string, KeyNode>()): Map<string, KeyNode> {
  for (const n of list) {
    into.set(n.path, n);
    flat(n.keys ?? [], into);
    flat(n.items ?? [], into);
  }
  return into;
}

/** textFor is what a typed text is sent as: YAML where it is a point, a list, or in the place of more than one value. */
export function textFor(n: KeyNode, typed: string): string {
  let t = typed.trim();
  const bracket = t.startsWith('[') || t.startsWith('{');
  if (n.form === 'point' && !bracket) t = `[${t}]`;
  if (n.form === 'values' && !bracket) t = `[${t}]`;
  const unit = /[^\d\s.,+-].*$/.exec(n.text ?? '')?.[0];
  if (n.form === 'quantity' && !n.whole && unit && /^[-+−]?\d+([.,]\d+)?$/.test(t)) t = `${t.replace(',', '.')} ${unit}`;
  return n.whole || t.startsWith('[') || t.startsWith('{') ? asYAML + t : t;
}

/** shownText is a tried text as a field shows it. */
export const shownText = (text: string) => (text === gone ? '' : text.startsWith(asYAML) ? text.slice(1) : text);

/** withChanges returns what is tried with further changes. A whole value takes the place of what is tried beneath it, and is tried last. */
export function withChanges(tried: Record<string, string>, list: Change[]): Record<string, string> {
  let next = { ...tried };
  for (const { path, text } of list) {
    if (text === gone || text.startsWith(asYAML)) next = Object.fromEntries(Object.entries(next).filter(([p]) => !beneath(p, path)));
    next[path] = text;
  }
  return next;
}

/** cleared returns what is tried once a value, or an item of a list, is taken away: `filed` tells whether the file has it. */
export function cleared(tried: Record<string, string>, path: string, filed: (path: string) => boolean): Record<string, string> {
  const rest = Object.fromEntries(Object.entries(tried).filter(([p]) => !beneath(p, path)));
  if (filed(path)) return { ...rest, [path]: gone };
  const item = /^(.*)\[(\d+)\]$/.exec(path);
  if (item) {
    // An item that was added: those behind it move up.
    const list = item[1]!, at = Number(item[2]);
    return Object.fromEntries(Object.entries(rest).map(([p, text]) => {
      const m = beneath(p, list) ? /^\[(\d+)\](.*)$/.exec(p.slice(list.length)) : null;
      return m && Number(m[1]) > at ? [`${list}[${Number(m[1]) - 1}]${m[2]}`, text] : [p, text];
    }));
  }
  // Within a mapping that was added as a whole.
  const within = Object.keys(rest).some((p) => p !== path && beneath(path, p) && rest[p]!.startsWith(asYAML));
  return within ? { ...rest, [path]: gone } : rest;
}

/** nextItem is the path at which a further item of a list is added. */
export function nextItem(list: string, inFile: number, tried: Record<string, string>): string {
  let n = inFile;
  while (`${list}[${n}]` in tried) n++;
  return `${list}[${n}]`;
}

/** labelOf is a key in words. */
export const labelOf = (key: string) => {
  const words: Record<string, string> = { ppfd: 'PPFD', dli: 'DLI', cct: 'CCT', duv: 'Duv', ra: 'Ra', rf: 'Rf', r9: 'R9', rcd: 'RCD', adc_bits: 'ADC bits', ip_code: 'IP code', led_load: 'LED load' };
  if (words[key]) return words[key]!;
  const t = key.replace(/_/g, ' ').replace(/\bdc$/, '(DC)').replace(/\badc\b/, 'ADC');
  return t.charAt(0).toUpperCase() + t.slice(1);
};

/** hasWords tells whether words of a text begin with all words of a search. */
export function hasWords(text: string, words: string[]): boolean {
  const own = ' ' + text.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, ' ');
  return words.every((w) => own.includes(' ' + w));
}

/** matches tells whether a key, or one beneath it, has all words of a search in its name, its path, its help or its text. */
export function matches(n: KeyNode, words: string[]): boolean {
  if (words.length === 0) return true;
  return hasWords(`${n.path} ${n.doc ?? ''} ${n.text ?? ''}`, words) || (n.keys ?? []).some((k) => matches(k, words)) || (n.items ?? []).some((k) => matches(k, words));
}
