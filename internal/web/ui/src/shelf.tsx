// The project's own parts: every value as it stands in its file, to be tried and written like those of the design.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { get } from './api';
import { fileLink, problemAt } from './parts';
import { sentence, state, stood, trial, tryValue, write } from './store';

interface Key { key: string; doc: string; eg?: string; one?: string[]; need?: boolean; curve?: boolean; list?: boolean; keys?: Key[] }
interface Leaf { path: string; text: string; line: number }
interface Part { kind: string; id: string; name: string; file: string; line: number; path: string; invented: boolean; uses: string[]; values: Leaf[] }
interface ShelfPart { kind: string; id: string; name: string; used: boolean; own: boolean }
interface Parts { hash: string; kinds: { kind: string; doc: string; keys: Key[] }[]; own: Part[]; shelf: ShelfPart[] }

const chosen = signal('');
const called = (p: { kind: string; id: string }) => p.kind + ' ' + p.id;
const field = (path: string) => 'p-' + path.replace(/\W+/g, '-');

/** Value is one text of a part. What is typed is tried, and stands in the file only when it is written. */
function Value({ path, label, hidden, stands, eg, one }: { path: string; label: string; hidden?: boolean; stands: string; eg?: string; one?: string[] }) {
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
      {tried !== undefined && <p class="was">file: {stands === '' ? 'not stated' : stands} <button type="button" class="link" aria-label={`${label}: back to ${stands || 'what was not stated'}`} onClick={() => tryValue(path, stands)}>back</button></p>}
      {wrong && <p class="wrong" id={key + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

const beneath = (path: string, key: string) => path === key || path.startsWith(key + '.') || path.startsWith(key + '[');
/** said is how a place beneath a key is called: "at 0.35 A", "source". */
const said = (rest: string) => rest.replace(/^\[(\d+)\]/, (_, i: string) => `no. ${Number(i) + 1} `).replace(/^\./, '').replace(/\]\[/g, ', ').replace(/^points/, '').replace(/^\[(.*)\]$/, '$1').replace(/[\[\]]/g, ' ').trim();

function Row({ k, p }: { k: Key; p: Part }) {
  const values = p.values.filter((v) => beneath(v.path, k.key));
  const at = (path: string) => `${p.file}#${p.path}.${path}`;
  const single = values.length === 1 && values[0]!.path === k.key;
  return (
    <div class="partrow" role="group" aria-label={k.key}>
      <div>
        <code>{k.key}</code>{k.need && values.length === 0 && <span class="wrong"> is due</span>} {values.length > 0 && <a class="hint" href={fileLink(p.file, values[0]!.line)}>line {values[0]!.line}</a>}
        <p class="hint">{k.doc}</p>
      </div>
      <div class="values">
        {single && <Value path={at(k.key)} label={k.key} hidden stands={values[0]!.text} eg={k.eg} one={k.one} />}
        {!single && values.map((v) => <Value key={v.path} path={at(v.path)} label={said(v.path.slice(k.key.length)) || k.key} stands={v.text} />)}
        {values.length === 0 && (k.curve || k.list
          ? <p class="hint">not stated{k.eg ? `; such as ${k.eg}` : ''}. It takes several lines: write it in <a href={fileLink(p.file, p.line)}>the text</a>.</p>
          : k.keys
            ? k.keys.map((sub) => !sub.curve && !sub.list && !sub.keys && <Value key={sub.key} path={at(`${k.key}.${sub.key}`)} label={sub.key} stands="" eg={sub.eg} one={sub.one} />)
            : <Value path={at(k.key)} label={k.key} hidden stands="" eg={k.eg} one={k.one} />)}
      </div>
    </div>
  );
}

function Copy({ list, done }: { list: ShelfPart[]; done: (kind: string, id: string) => void }) {
  const [which, setWhich] = useState('');
  const [as, setAs] = useState<string | null>(null);
  const [wrong, setWrong] = useState('');
  const free = list.filter((s) => !s.own);
  const p = free.find((s) => called(s) === which) ?? free.find((s) => s.used) ?? free[0];
  if (!p) return null;
  const used = free.filter((s) => s.used), kinds = [...new Set(list.map((s) => s.kind))];
  const id = as ?? p.id;
  const option = (s: ShelfPart) => <option value={called(s)}>{s.id} – {s.name}</option>;
  const put = async () => {
    const said = await write('/api/copy', { kind: p.kind, id: p.id, as: id }, `Copied into parts/${id}.yaml, marked as invented; undo takes it back.`, undefined, setWrong);
    if (said) { setWrong(''); setAs(null); done(p.kind, id); }
  };
  return (
    <section class="card">
      <h2>Copy a built-in part to change it</h2>
      <p class="hint">Built-in parts are invented and cannot be changed. A copy gets a file of its own in parts/ and stays marked as invented. Under the same id it goes before the built-in one, so that the lamp takes it at once; under another id, name it in the design.</p>
      <div class="copy">
        <div><label for="copy-part">Part</label>
          <select id="copy-part" value={called(p)} onChange={(e) => { setWhich(e.currentTarget.value); setAs(null); setWrong(''); }}>
            {used.length > 0 && <optgroup label="This lamp uses">{used.map(option)}</optgroup>}
            {kinds.map((k) => <optgroup label={k}>{free.filter((s) => s.kind === k && !s.used).map(option)}</optgroup>)}
          </select></div>
        <div><label for="copy-as">Its id in this project</label>
          <input id="copy-as" type="text" autocomplete="off" spellcheck={false} value={id} aria-invalid={wrong !== ''} aria-describedby={wrong ? 'copy-e' : undefined} onInput={(e) => setAs(e.currentTarget.value)} /></div>
        <button type="button" onClick={() => void put()}>Copy into the project</button>
      </div>
      {wrong && <p class="wrong" id="copy-e" role="alert">{wrong}</p>}
    </section>
  );
}

export function PartsView() {
  const [v, setV] = useState<Parts | null>(null);
  const [wrong, setWrong] = useState('');
  const hash = state.value?.hash;
  useEffect(() => {
    get<Parts>('/api/parts').then((got) => {
      stood.value = Object.fromEntries(got.own.flatMap((p) => p.values.map((x) => [`${p.file}#${p.path}.${x.path}`, x.text])));
      setV(got);
      setWrong('');
    }, (e) => setWrong(sentence(e instanceof Error ? e.message : String(e))));
  }, [hash]);
  if (wrong) return <section class="card"><h2>Own parts</h2><p class="wrong" role="alert">The parts cannot be read. {wrong}</p></section>;
  if (!v) return <section class="card"><h2>Own parts</h2><p role="status">Reading the parts…</p></section>;
  const p = v.own.find((x) => called(x) === chosen.value) ?? v.own[0];
  const files = [...new Set(v.own.map((x) => x.file))];
  const touched = (x: Part) => Object.keys(trial.value).some((k) => k.startsWith(`${x.file}#${x.path}.`));
  return (
    <>
      <section class="card">
        <h2>Own parts <small>parts/*.yaml of this project</small></h2>
        {v.own.length === 0 && <p class="empty">This project has no parts of its own; all of its parts are built in and invented. Copy one below to change it, or write parts/own.yaml with what a datasheet says.</p>}
        {files.map((f) => (
          <div key={f} class="file-of-parts">
            <h3><a href={fileLink(f, 0)}>{f}</a></h3>
            <div class="choose"><div role="group" aria-label={`Parts of ${f}`}>
              {v.own.filter((x) => x.file === f).map((x) => <button type="button" aria-pressed={x === p} onClick={() => { chosen.value = called(x); }}>{x.id}{touched(x) ? ' •' : ''}</button>)}
            </div></div>
          </div>
        ))}
      </section>
      {p && (
        <section class="card" key={called(p)}>
          <h2>{p.id} <small>{p.name && `${p.name}, `}{p.kind}{p.uses.length > 0 ? ', in this lamp' : ', not in this lamp'}{p.invented ? ', invented: nobody sells it' : ''}</small></h2>
          <p class="hint">What you type is tried in every view, and written when you write it: just that value changes, comments and spacing stay. Values take any unit that the file takes. To take a value or a point away, use <a href={fileLink(p.file, p.line)}>the text</a>.</p>
          <div class="partrows">{(v.kinds.find((k) => k.kind === p.kind)?.keys ?? []).map((k) => <Row key={k.key} k={k} p={p} />)}</div>
        </section>
      )}
      <Copy list={v.shelf} done={(kind, id) => { chosen.value = kind + ' ' + id; }} />
    </>
  );
}
