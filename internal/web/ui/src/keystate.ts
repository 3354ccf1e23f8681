// The keys of the design file as the server states them: of the file, and of the file with what is tried.
import { computed, effect, signal } from '@preact/signals';
import { Change, KeyNode, Keys, post } from './api';
import { cleared, flat, nextItem, textFor, withChanges } from './keytree';
import { asYAML, gone } from './marked';
import { setTrial, state, stood, trial } from './store';

const base = signal<{ hash: string; keys: KeyNode[] } | null>(null);
const now = signal<{ of: string; keys: KeyNode[] } | null>(null);
/** keysFailed is why the keys are not there. */
export const keysFailed = signal('');

/** keyTree is every key with what the file and whole values that are tried put there; null until it has come. */
export const keyTree = computed(() => now.value?.keys ?? base.value?.keys ?? null);
const nodes = computed(() => flat(keyTree.value ?? []));
const filed = computed(() => flat(base.value?.keys ?? []));

/** keyAt is a key by its path. */
export const keyAt = (path: string): KeyNode | undefined => nodes.value.get(path);
/** inFile is what the file states at a path; undefined where it states nothing. */
export const inFile = (path: string): string | undefined => { const n = filed.value.get(path); return n?.set ? n.text ?? '' : undefined; };
const isFiled = (path: string) => filed.value.get(path)?.set ?? false;

/** shaping is what is tried that makes, or takes away, more than a single value: what the tree depends on. */
const shaping = computed(() => Object.entries(trial.value).filter(([path, text]) => !path.includes('#') && (text === gone || text.startsWith(asYAML) || !isFiled(path))));

let asked = 0;
async function ask(hash: string, changes: Change[]) {
  const mine = ++asked;
  try {
    if (base.peek()?.hash !== hash) {
      const got = await post<Keys>('/api/keys', { base: hash, changes: [] });
      base.value = { hash, keys: got.keys };
      const texts: Record<string, string> = {};
      for (const [path, n] of flat(got.keys)) if (n.set && !n.keys && !n.items) texts[path] = n.text ?? '';
      stood.value = { ...stood.peek(), ...texts };
    }
    if (mine !== asked) return;
    if (changes.length === 0) now.value = null;
    else {
      const got = await post<Keys>('/api/keys', { base: hash, changes });
      if (mine === asked) now.value = { of: hash, keys: got.keys };
    }
    keysFailed.value = '';
  } catch (e) {
    // What cannot be put in is said where it is tried; the keys stay as they were.
    if (mine === asked && !base.peek()) keysFailed.value = e instanceof Error ? e.message : String(e);
  }
}

/** watchKeys keeps the keys up to date while something shows them. */
export function watchKeys() {
  return effect(() => {
    const hash = state.value?.hash;
    if (!hash || (state.value?.problems.length ?? 0) > 0) return;
    void ask(hash, shaping.value.map(([path, text]) => ({ path, text })));
  });
}

/** put tries a typed text for a key; nothing typed takes it away. */
export function put(n: KeyNode, typed: string) {
  if (typed.trim() === '') return clear(n.path);
  const text = textFor(n, typed), file = inFile(n.path);
  if (file !== undefined && (text === file || text === asYAML + file)) return reset(n.path);
  setTrial(withChanges(trial.value, [{ path: n.path, text }]));
}

/** reset tries nothing for a key, nor beneath it. */
export function reset(path: string) {
  setTrial(Object.fromEntries(Object.entries(trial.value).filter(([p]) => p !== path && !p.startsWith(path + '.') && !p.startsWith(path + '['))));
}

/** clear takes a key, or an item of a list, away. */
export function clear(path: string) { setTrial(cleared(trial.value, path, isFiled)); }

/** apply tries several changes as one step; what is taken away may have been added only. */
export function apply(list: Change[]) {
  let next = trial.value;
  for (const c of list) next = c.text === gone ? cleared(next, c.path, isFiled) : withChanges(next, [c]);
  setTrial(next);
}

/** newItem is the path at which a further item of a list is added. */
export const newItem = (list: string) => nextItem(list, filed.value.get(list)?.items?.length ?? 0, trial.value);

/** add adds a mapping, or a further item of a list. */
export function add(n: KeyNode, yaml = n.new ?? '') {
  const path = n.form === 'mappings' ? newItem(n.path) : n.path;
  setTrial(withChanges(trial.value, [{ path, text: asYAML + yaml }]));
  return path;
}
