import { signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { post, Problem } from './api';
import { saving, state, trying, where, write } from './store';

// The draft outlives the view, so that a look at another view loses nothing.
const draft = signal<{ base: string; text: string } | null>(null);
const found = signal<Problem[]>([]);
let timer = 0;

export const unsavedText = () => draft.value !== null && draft.value.text !== state.value?.text;

const rowHeight = 21;

export function FileView() {
  const s = state.value!;
  const area = useRef<HTMLTextAreaElement>(null);
  const gutter = useRef<HTMLDivElement>(null);
  const text = draft.value?.text ?? s.text;
  const problems = draft.value ? found.value : s.problems;
  const here = problems.filter((p) => p.at.file === s.file);
  const behind = draft.value !== null && draft.value.base !== s.hash;
  const dirty = unsavedText();
  const marked = new Map(here.map((p) => [p.at.line, p]));
  const wanted = where.value.view === 'file' ? Number(where.value.at) || 0 : 0;

  const go = (line: number, col = 1) => {
    const a = area.current;
    if (!a) return;
    const lines = a.value.split('\n');
    const start = lines.slice(0, line - 1).reduce((n, l) => n + l.length + 1, 0);
    a.focus({ preventScroll: true });
    a.setSelectionRange(start + col - 1, start + (lines[line - 1]?.length ?? 0));
    a.scrollTop = Math.max(0, (line - 6) * rowHeight);
    a.scrollIntoView({ block: 'nearest' });
  };
  useEffect(() => { if (wanted > 0) go(wanted); }, [where.value]);
  const edit = (value: string) => {
    draft.value = value === s.text ? null : { base: draft.value?.base ?? s.hash, text: value };
    window.clearTimeout(timer);
    timer = window.setTimeout(async () => {
      const now = draft.value;
      if (!now) { found.value = []; return; }
      const got = await post<{ problems: Problem[] }>('/api/check', { text: now.text }).catch(() => null);
      if (got && draft.value === now) found.value = got.problems;
    }, 350);
  };
  const put = async (base: string, anyway: boolean) => {
    if (await write('/api/save', { text, anyway }, 'Written to the file.', base)) { draft.value = null; found.value = []; }
  };
  const lines = text.split('\n').length;
  return (
    <section class="card file">
      <h2>{s.file} <small>{s.folder}</small></h2>
      {trying.value && <p class="hint">The values that you try are not in this text until you write them to the file.</p>}
      {behind && (
        <div class="banner bad" role="alert">
          <p><b>The file changed on the disk while you were editing.</b> Nothing was overwritten.</p>
          <button type="button" onClick={() => { draft.value = null; found.value = []; }}>Take what stands in the file</button>
          <button type="button" onClick={() => { draft.value = { base: s.hash, text }; }}>Keep my text, over it</button>
        </div>
      )}
      {problems.length > 0 && (
        <div class="problems" role="group" aria-label="Problems">
          <h3>{problems.length === 1 ? '1 problem' : `${problems.length} problems`}</h3>
          <ul>
            {problems.map((p) => (
              <li>
                {p.at.file === s.file && p.at.line > 0
                  ? <button type="button" class="link" onClick={() => go(p.at.line, p.at.col)}>line {p.at.line}</button>
                  : <span class="soft">{p.at.file}{p.at.line > 0 ? `:${p.at.line}` : ''}</span>}
                {' '}{p.msg}{p.hint ? `; ${p.hint}` : ''}
              </li>
            ))}
          </ul>
        </div>
      )}
      <div class="editor">
        <div class="gutter" ref={gutter} aria-hidden="true">
          <div>{Array.from({ length: lines }, (_, i) => <span class={marked.has(i + 1) ? 'bad' : i + 1 === wanted ? 'here' : ''} title={marked.get(i + 1)?.msg}>{marked.has(i + 1) ? '✕ ' : ''}{i + 1}</span>)}</div>
        </div>
        <textarea ref={area} aria-label={`Text of ${s.file}`} spellcheck={false} autocomplete="off" wrap="off" value={text}
          onInput={(e) => edit(e.currentTarget.value)}
          onScroll={(e) => { if (gutter.current) gutter.current.scrollTop = e.currentTarget.scrollTop; }}
          onKeyDown={(e) => { if ((e.ctrlKey || e.metaKey) && e.key === 's') { e.preventDefault(); if (dirty && !behind) void put(draft.value!.base, false); } }} />
      </div>
      <p class="actions">
        <button type="button" class="main" disabled={!dirty || behind || saving.value || problems.length > 0} onClick={() => void put(draft.value!.base, false)}>Write to the file</button>
        {dirty && problems.length > 0 && !behind && <button type="button" onClick={() => void put(draft.value!.base, true)}>Write it with its problems</button>}
        {dirty && !behind && <button type="button" onClick={() => { draft.value = null; found.value = []; }}>Drop my changes</button>}
        <span class="soft" role="status">{dirty ? 'not written yet' : 'as on the disk'}</span>
      </p>
    </section>
  );
}
