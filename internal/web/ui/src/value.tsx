// A value of a part, as a field.
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { problemAt } from './pieces';
import { trial, tryValue } from './store';

const field = (path: string) => 'p-' + path.replace(/\W+/g, '-');

/** Value is one text of a part. What is typed is tried, and stands in the file only when it is written. */
export function Value({ path, label, hidden, stands, eg, one, back }: { path: string; label: string; hidden?: boolean; stands: string; eg?: string; one?: string[]; back?: () => void }) {
  const [typed, setTyped] = useState<string | null>(null);
  const tried = useComputed(() => trial.value[path]).value;
  const wrong = useComputed(() => problemAt(path)).value;
  const now = tried ?? stands;
  const key = field(path);
  const commit = (text: string) => {
    if (text !== now) tryValue(path, text);
    setTyped(null);
  };
  const about = { id: key, 'aria-invalid': wrong !== '', 'aria-describedby': wrong ? key + '-e' : undefined };
  return (
    <div class={tried === undefined ? 'value' : 'value changed'}>
      <label for={key} class={hidden ? 'hidden' : ''}>{label}</label>
      {one
        ? <select {...about} value={now} onChange={(e) => tryValue(path, e.currentTarget.value)}>
            {!one.includes(now) && <option value={now}>{now === '' ? 'not stated' : now}</option>}
            {one.map((o) => <option value={o}>{o}</option>)}
          </select>
        : <input {...about} type="text" autocomplete="off" spellcheck={false} value={typed ?? now} placeholder={stands === '' ? `not stated${eg ? `; such as ${eg}` : ''}` : ''}
            onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => commit(e.currentTarget.value)}
            onKeyDown={(e) => { if (e.key === 'Enter') commit(e.currentTarget.value); if (e.key === 'Escape') { e.currentTarget.value = now; setTyped(null); } }} />}
      {tried !== undefined && <p class="was">file: {stands === '' ? 'not stated' : stands} <button type="button" class="link" aria-label={`${label}: reset to ${stands || 'not stated'}`} onClick={() => (back ? back() : tryValue(path, stands))}>Reset</button></p>}
      {wrong && <p class="wrong" id={key + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

export const beneath = (path: string, key: string) => path === key || path.startsWith(key + '.') || path.startsWith(key + '[');
