// A value of a part, as a field.
import { useComputed } from '@preact/signals';
import { useRef, useState } from 'preact/hooks';
import { problemAt } from './pieces';
import { trial, tryValue } from './store';
import { flow, triedYAML } from './yaml';
import { asYAML } from './marked';

const field = (path: string) => 'p-' + path.replace(/\W+/g, '-');

/** What is typed is checked after so many milliseconds without a key. */
const rest = 600;

interface ValueOf {
  path: string; label: string; hidden?: boolean; stands: string; eg?: string; one?: string[]; back?: () => void;
  shown?: string; // what stands in the field, where that is a part of what is tried
  put?: (text: string) => void; // tries a text, where that is more than the text itself
  fresh?: boolean; // no file states anything yet
  quiet?: boolean; // problems at its path are those of the part, which are listed elsewhere
}

/** Value is one text of a part. What is typed is tried, and stands in the file only when it is written. */
export function Value({ path, label, hidden, stands, eg, one, back, shown, put, fresh, quiet }: ValueOf) {
  const [typed, setTyped] = useState<string | null>(null);
  const timer = useRef(0);
  const tried = useComputed(() => trial.value[path]).value;
  const wrong = useComputed(() => (quiet ? '' : problemAt(path))).value;
  const now = shown ?? tried ?? stands;
  const changed = shown === undefined ? tried !== undefined : shown !== stands;
  const key = field(path);
  const put1 = (text: string) => { if (text !== now) (put ?? ((t: string) => tryValue(path, t)))(text); };
  const commit = (text: string) => {
    window.clearTimeout(timer.current);
    put1(text);
    setTyped(null);
  };
  const about = { id: key, 'aria-invalid': wrong !== '', 'aria-describedby': wrong ? key + '-e' : undefined };
  return (
    <div class={changed ? 'value changed' : 'value'}>
      <label for={key} class={hidden ? 'hidden' : ''}>{label}</label>
      {one
        ? <select {...about} value={now} onChange={(e) => put1(e.currentTarget.value)}>
            {(stands === '' || !one.includes(now)) && <option value={stands === '' ? '' : now}>{stands === '' ? 'not stated' : now}</option>}
            {one.map((o) => <option value={o}>{o}</option>)}
          </select>
        : <input {...about} type="text" autocomplete="off" spellcheck={false} value={typed ?? now} placeholder={stands === '' ? (eg ? (fresh ? `such as ${eg}` : `not stated; such as ${eg}`) : fresh ? '' : 'not stated') : ''}
            onInput={(e) => { const text = e.currentTarget.value; setTyped(text); window.clearTimeout(timer.current); timer.current = window.setTimeout(() => put1(text.trim()), rest); }}
            onBlur={(e) => commit(e.currentTarget.value)}
            onKeyDown={(e) => { if (e.key === 'Enter') commit(e.currentTarget.value); if (e.key === 'Escape') { e.currentTarget.value = now; window.clearTimeout(timer.current); setTyped(null); } }} />}
      {changed && !fresh && <p class="was">file: {stands === '' ? 'not stated' : stands} <button type="button" class="link" aria-label={`${label}: reset to ${stands || 'not stated'}`} onClick={() => (back ? back() : (put ?? ((t: string) => tryValue(path, t)))(stands))}>Reset</button></p>}
      {wrong && <p class="wrong" id={key + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

/** SourcedValue is a quantity with the datasheet and page that it is from, which are written beside it. */
export function SourcedValue(p: { path: string; label: string; stands: string; eg?: string; fresh?: boolean }) {
  const tried = useComputed(() => trial.value[p.path]).value;
  const both = triedYAML(tried) as { value?: string; source?: string } | null;
  const value = both?.value ?? tried ?? p.stands, source = both?.source ?? '';
  const [open, setOpen] = useState(false);
  const put = (v: string, s: string) => tryValue(p.path, s.trim() === '' ? v : asYAML + flow({ value: v.trim(), source: s.trim() }));
  return (
    <>
      <Value path={p.path} label={p.label} hidden stands={p.stands} eg={p.eg} fresh={p.fresh} shown={both ? value : undefined} put={both ? (t) => put(t, t.trim() === '' ? '' : source) : undefined} />
      {open || source !== ''
        ? <Value path={p.path + '.source'} label="source" stands="" fresh eg="datasheet W1, issue 3, page 4" shown={source} put={(s) => { if (value !== '') put(value, s); }} />
        : value !== '' && <button type="button" class="link add-source" onClick={() => setOpen(true)}>Add source<span class="hidden"> of {p.label}</span></button>}
    </>
  );
}
