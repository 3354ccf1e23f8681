// New parts among the unsaved changes: each begins with a change of its own, parts/own.yaml#emitters[2], behind which its values stand.
import type { Part } from './generated';
import { asBlock } from './marked';
import { leaves, triedYAML } from './yaml';

/** EditedPart is a part of a file, or a new one, which no file holds yet. */
export interface EditedPart extends Part { fresh?: boolean }

export type Trial = Record<string, string>;

/** Begun is a part that no file holds yet. */
export interface Begun { at: string; file: string; kind: string; index: number; path: string; values: { path: string; text: string }[] }

const place = /^(parts\/[^#]+)#([a-z_]+)\[(\d+)\]$/;

/** begun are the new parts, in the order in which they were begun. */
export function begun(trial: Trial): Begun[] {
  return Object.entries(trial).flatMap(([at, text]) => {
    const m = text[0] === asBlock ? place.exec(at) : null;
    return m ? [{ at, file: m[1]!, kind: m[2]!, index: Number(m[3]), path: `${m[2]}[${m[3]}]`, values: leaves(triedYAML(text) ?? {}) }] : [];
  });
}

const beneath = (path: string, at: string) => path === at || path.startsWith(at + '.') || path.startsWith(at + '[');

/** moved returns the changes with new parts at other places; undefined takes a part away. */
function moved(trial: Trial, to: Map<string, string | undefined>): Trial {
  const next: Trial = {};
  for (const [path, text] of Object.entries(trial)) {
    const at = [...to.keys()].find((k) => beneath(path, k));
    const now = at === undefined ? '' : to.get(at);
    if (at === undefined) next[path] = text;
    else if (now !== undefined) next[now + path.slice(at.length)] = text;
  }
  return next;
}

/** placed returns the changes with the new parts of a file behind those that it has of each kind. */
export function placed(trial: Trial, file: string, counts: Record<string, number>): Trial {
  const next = { ...counts }, to = new Map<string, string | undefined>();
  for (const b of begun(trial).filter((x) => x.file === file).sort((a, c) => a.index - c.index)) {
    const i = next[b.kind] ?? 0;
    next[b.kind] = i + 1;
    if (i !== b.index) to.set(b.at, `${file}#${b.kind}[${i}]`);
  }
  return to.size === 0 ? trial : moved(trial, to);
}

/** without returns the changes without a new part; those after it move up. */
export function without(trial: Trial, at: string): Trial {
  const gone = begun(trial).find((b) => b.at === at);
  if (!gone) return trial;
  const to = new Map<string, string | undefined>([[at, undefined]]);
  for (const b of begun(trial)) if (b.file === gone.file && b.kind === gone.kind && b.index > gone.index) to.set(b.at, `${b.file}#${b.kind}[${b.index - 1}]`);
  return moved(trial, to);
}

/** ordered returns the changes with the values of each new part in the order of the format, in which they are then written. */
export function ordered(trial: Trial, keys: (kind: string) => string[]): Trial {
  const parts = begun(trial), of = (path: string) => parts.find((b) => beneath(path, b.at));
  const list: [string, string][] = [];
  for (const [path, text] of Object.entries(trial)) {
    const b = of(path);
    if (!b) { list.push([path, text]); continue; }
    if (path !== b.at) continue;
    const order = keys(b.kind), rank = (p: string) => (p === b.at ? -1 : order.indexOf(/^\.(\w+)/.exec(p.slice(b.at.length))?.[1] ?? ''));
    list.push(...Object.entries(trial).filter(([p]) => beneath(p, b.at)).sort(([p], [q]) => rank(p) - rank(q)));
  }
  return list.every(([p], i) => p === Object.keys(trial)[i]) ? trial : Object.fromEntries(list);
}

/** freeId is an id that no part has, from what was asked for. */
export function freeId(wanted: string, taken: Set<string>): string {
  if (!taken.has(wanted)) return wanted;
  for (let n = 2; ; n++) if (!taken.has(`${wanted}-${n}`)) return `${wanted}-${n}`;
}
