// One field that finds values, results, findings, views and commands.
import { signal } from '@preact/signals';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { checkViews, views } from './api';
import { showValue } from './knobs';
import { words } from './pieces';
import { discard, redo, savable, save, section, stepping, trying, undo, why, state } from './store';
import { setUnits, units } from './units';

/** finding says that the field is open. */
export const finding = signal(false);

/** Entry is something that can be found. */
interface Entry { kind: string; name: string; more: string; go: () => void }

/** entries are all that can be found now. */
function entries(): Entry[] {
  const s = state.value!, out: Entry[] = [];
  const add = (kind: string, name: string, more: string, go: () => void) => out.push({ kind, name, more, go });
  for (const v of views) add('View', v.title, '', () => { location.hash = '/' + v.key; });
  if (s.lamp) {
    for (const k of section('knobs')) add('Value', `${k.group}, ${k.label}`, k.text, () => showValue(k.path));
    for (const f of section('figures')) add('Result', f.title, f.text, () => { why.value = f.key; });
    for (const f of section('bad')) add(words[f.severity], f.check, f.subject, () => { location.hash = '/' + (checkViews[f.check] ?? 'review'); });
  }
  if (savable.value) add('Command', 'Save to file', 'Ctrl S', () => void save());
  if (trying.value) add('Command', 'Discard unsaved changes', '', discard);
  if (stepping.value.back || s.can_undo) add('Command', 'Undo', 'Ctrl Z', () => void undo());
  if (stepping.value.forth || s.can_redo) add('Command', 'Redo', 'Ctrl Shift Z', () => void redo());
  add('Command', units.value === 'metric' ? 'Units: inch and °F' : 'Units: mm and °C', '', () => setUnits(units.value === 'metric' ? 'inch' : 'metric'));
  return out;
}

/** ranked returns what all words of a question are in, those first that begin with it. */
export function ranked<T extends { name: string; more: string; kind: string }>(list: T[], question: string): T[] {
  const asked = question.toLowerCase().split(/\s+/).filter(Boolean);
  if (asked.length === 0) return list;
  const rank = (e: T) => {
    const name = e.name.toLowerCase(), all = `${name} ${e.more.toLowerCase()} ${e.kind.toLowerCase()}`;
    if (!asked.every((w) => all.includes(w))) return -1;
    return name.startsWith(asked[0]!) ? 2 : asked.every((w) => name.includes(w)) ? 1 : 0;
  };
  return list.map((e, i) => ({ e, i, r: rank(e) })).filter((x) => x.r >= 0).sort((a, b) => b.r - a.r || a.i - b.i).map((x) => x.e);
}

/** most bounds the list. */
const most = 60;

export function Find() {
  const d = useRef<HTMLDialogElement>(null), field = useRef<HTMLInputElement>(null);
  const [question, setQuestion] = useState(''), [at, setAt] = useState(0);
  const all = useMemo(entries, []);
  useEffect(() => { d.current?.showModal(); field.current?.focus(); }, []);
  const list = ranked(all, question).slice(0, most), here = Math.min(at, list.length - 1);
  const close = () => { finding.value = false; };
  const go = (e: Entry | undefined) => { if (!e) return; close(); window.setTimeout(e.go); };
  const move = (to: number) => {
    const n = (to + list.length) % (list.length || 1);
    setAt(n);
    document.getElementById(`find-${n}`)?.scrollIntoView({ block: 'nearest' });
  };
  return (
    <dialog ref={d} class="finder" aria-label="Find" onClose={close} onClick={(e) => { if (e.target === d.current) close(); }}>
      <input ref={field} type="text" role="combobox" aria-label="Find a value, result, finding, view or command" aria-expanded="true" aria-controls="find-list" aria-autocomplete="list"
        aria-activedescendant={here >= 0 ? `find-${here}` : undefined} placeholder="Value, result, finding, view, command" autocomplete="off" spellcheck={false} value={question}
        onInput={(e) => { setQuestion(e.currentTarget.value); setAt(0); }}
        onKeyDown={(e) => {
          if (e.key === 'ArrowDown') { e.preventDefault(); move(here + 1); }
          if (e.key === 'ArrowUp') { e.preventDefault(); move(here - 1); }
          if (e.key === 'Enter') { e.preventDefault(); go(list[here]); }
        }} />
      <ul id="find-list" role="listbox" aria-label="Found">
        {list.map((e, i) => <li id={`find-${i}`} role="option" aria-selected={i === here} onClick={() => go(e)} onPointerMove={() => setAt(i)}><span class="kind">{e.kind}</span> <span>{e.name}</span> <span class="soft">{e.more}</span></li>)}
      </ul>
      {list.length === 0 && <p class="empty" role="status">Nothing found.</p>}
    </dialog>
  );
}
