import { signal } from '@preact/signals';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Checked, Failed, FileText, get, post, Saved } from './api';
import { fileLink } from './pieces';
import { saving, sentence, state, trying, where, write } from './store';


// Drafts outlive the view, so that a look at another view loses nothing.
const drafts = signal<Record<string, { base: string; text: string }>>({});
const none: Checked = { problems: [], count: 0 };
const found = signal(none);
let timer = 0;

/** unsavedText tells whether any file has changes that are not written. */
export const unsavedText = () => Object.keys(drafts.value).length > 0;

const drop = (file: string) => {
  const { [file]: _, ...rest } = drafts.value;
  drafts.value = rest;
};

const rowHeight = 21;
const when = (v: Saved) => (v.when ? new Date(v.when).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'medium' }) : v.name);

/** FileView shows a file as text: the design, the project's own parts, and a file of the parts library to be read. */
export function FileView() {
  const s = state.value!;
  const area = useRef<HTMLTextAreaElement>(null);
  const gutter = useRef<HTMLDivElement>(null);
  const [got, setGot] = useState<FileText | null>(null);
  const [failed, setFailed] = useState('');
  const at = where.value.view === 'file' ? /^(?:(.*?):?)?(\d*)$/.exec(where.value.at) : null;
  const file = at?.[1] || s.file;
  const wanted = Number(at?.[2] ?? 0) || 0;
  const names = s.files.map((f) => f.name);
  const hash = s.files.find((f) => f.name === file)?.hash ?? '';
  // The design's text comes with the state; others are asked for.
  useEffect(() => {
    let mine = true;
    setFailed('');
    if (got?.name !== file) setGot(null);
    get<FileText>('/api/file?name=' + encodeURIComponent(file)).then((t) => { if (mine) setGot(t); }, (e) => { if (mine) setFailed(e instanceof Failed ? sentence(e.message) : 'The program does not answer.'); });
    return () => { mine = false; };
  }, [file, hash]);
  const stands = file === s.file ? s.text : got?.name === file ? got.text : null;
  const draft = drafts.value[file];
  const text = draft?.text ?? stands ?? '';
  const own = names.includes(file);
  const { problems, count } = draft ? found.value : { problems: s.problems, count: s.problem_count };
  const here = problems.filter((p) => p.at.file === file);
  const behind = draft !== undefined && draft.base !== hash;
  const dirty = draft !== undefined;
  const marked = new Map(here.map((p) => [p.at.line, p]));

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
  useEffect(() => { if (wanted > 0 && stands !== null) go(wanted); }, [where.value, stands !== null]);
  const check = (value: string) => {
    window.clearTimeout(timer);
    timer = window.setTimeout(async () => {
      if (drafts.value[file]?.text !== value) return;
      const answer = await post<Checked>('/api/check', { file, text: value }).catch(() => null);
      if (answer && drafts.value[file]?.text === value) found.value = answer;
    }, 350);
  };
  useEffect(() => { if (draft) check(draft.text); }, [file]);
  const edit = (value: string) => {
    if (value === stands && !behind) { drop(file); return; }
    drafts.value = { ...drafts.value, [file]: { base: draft?.base ?? hash, text: value } };
    check(value);
  };
  const put = async (base: string, anyway: boolean) => {
    if (await write('/api/save', { file, text, anyway }, `Saved to ${file}.`, base)) { drop(file); found.value = none; }
  };
  const before = async (name: string) => {
    const t = await get<FileText>(`/api/file?name=${encodeURIComponent(file)}&before=${encodeURIComponent(name)}`).catch(() => null);
    if (t) edit(t.text);
  };
  const lines = text.split('\n').length;
  return (
    <section class="card file">
      <h2>{file} <small>{own ? s.folder : 'parts library, read-only'}</small></h2>
      {(names.length > 1 || !own) && (
        <div class="choose"><div role="group" aria-label="File">{names.map((n) => <a class="button" aria-current={n === file ? 'true' : undefined} href={fileLink(n, 0)}>{n}{drafts.value[n] ? ' •' : ''}</a>)}</div></div>
      )}
      {failed && <p class="wrong" role="alert">{failed}</p>}
      {stands === null && !failed && <p role="status">Loading…</p>}
      {trying.value && <p class="hint">Unsaved what-if values are not in this text.</p>}
      {behind && (
        <div class="banner bad" role="alert">
          <p><b>The file changed on the disk while you were editing.</b> Nothing was overwritten.</p>
          <button type="button" onClick={() => { drop(file); found.value = none; }}>Use file version</button>
          <button type="button" disabled={hash === ''} onClick={() => { drafts.value = { ...drafts.value, [file]: { base: hash, text } }; }}>Overwrite file</button>
        </div>
      )}
      {problems.length > 0 && own && (
        <div class="problems" role="group" aria-label="Problems">
          <h3>{count === 1 ? '1 problem' : `${count} problems`}{count > problems.length && `; the first ${problems.length}:`}</h3>
          <ul>
            {problems.map((p) => (
              <li>
                {p.at.file === file && p.at.line > 0
                  ? <button type="button" class="link" onClick={() => go(p.at.line, p.at.col)}>line {p.at.line}</button>
                  : names.includes(p.at.file) ? <a href={fileLink(p.at.file, p.at.line)}>{p.at.file}:{p.at.line}</a>
                  : <span class="soft">{p.at.file}{p.at.line > 0 ? `:${p.at.line}` : ''}</span>}
                {' '}{p.msg}{p.hint ? `; ${p.hint}` : ''}
              </li>
            ))}
          </ul>
        </div>
      )}
      {stands !== null && (
        <div class="editor">
          <div class="gutter" ref={gutter} aria-hidden="true">
            <div>{Array.from({ length: lines }, (_, i) => <span class={marked.has(i + 1) ? 'bad' : i + 1 === wanted ? 'here' : ''} title={marked.get(i + 1)?.msg}>{marked.has(i + 1) ? '✕ ' : ''}{i + 1}</span>)}</div>
          </div>
          <textarea key={file} ref={area} aria-label={`Text of ${file}`} spellcheck={false} autocomplete="off" wrap="off" value={text} readOnly={!own}
            onInput={(e) => edit(e.currentTarget.value)}
            onScroll={(e) => { if (gutter.current) gutter.current.scrollTop = e.currentTarget.scrollTop; }}
            onKeyDown={(e) => { if ((e.ctrlKey || e.metaKey) && e.key === 's') { e.preventDefault(); if (dirty && !behind) void put(draft.base, false); } }} />
        </div>
      )}
      {own && (
        <p class="actions">
          <button type="button" class="main" disabled={!dirty || behind || saving.value || problems.length > 0} onClick={() => void put(draft!.base, false)}>Save to file</button>
          {dirty && problems.length > 0 && !behind && <button type="button" onClick={() => void put(draft.base, true)}>Save with problems</button>}
          {dirty && !behind && <button type="button" onClick={() => { drop(file); found.value = none; }}>Discard</button>}
          <span class="soft" role="status">{dirty ? 'unsaved' : 'saved'}</span>
        </p>
      )}
      {own && got && got.name === file && got.before.length > 0 && (
        <details class="data">
          <summary>{got.before.length === 1 ? '1 snapshot' : `${got.before.length} snapshots`} of this file</summary>
          <p class="hint">Load a snapshot into the text above; the file changes when you save.</p>
          <ul class="plain snaps">{got.before.slice(0, 40).map((b) => <li>{when(b)} <button type="button" class="link" onClick={() => void before(b.name)}>Load<span class="hidden"> the snapshot of {when(b)}</span></button></li>)}</ul>
        </details>
      )}
    </section>
  );
}
