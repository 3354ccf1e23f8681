// The project's own parts: every value as it stands in its file, to be tried and written like those of the design; and the built-in ones.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { get } from './api';
import { Curve } from './curve';
import { fileLink, problemAt } from './parts';
import { sentence, state, stood, trial, tryValue, tryValues, write } from './store';

export interface Key { key: string; doc: string; eg?: string; one?: string[]; need?: boolean; curve?: boolean; x?: string; y?: string; list?: boolean; keys?: Key[] }
interface Leaf { path: string; text: string; line: number }
export interface Part { kind: string; id: string; name: string; file: string; line: number; path: string; invented: boolean; uses: string[]; values: Leaf[] }
interface ShelfPart { kind: string; id: string; name: string; used: boolean; own: boolean; info: string; price: string; file: string; line: number }
interface Parts { hash: string; kinds: { kind: string; doc: string; keys: Key[] }[]; own: Part[]; shelf: ShelfPart[] }

const chosen = signal('');
const kindShown = signal('');
const called = (p: { kind: string; id: string }) => p.kind + ' ' + p.id;
const field = (path: string) => 'p-' + path.replace(/\W+/g, '-');
const places = (n: number) => (n === 1 ? '1 place' : `${n} places`);

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
      {tried !== undefined && <p class="was">file: {stands === '' ? 'not stated' : stands} <button type="button" class="link" aria-label={`${label}: back to ${stands || 'what was not stated'}`} onClick={() => (back ? back() : tryValue(path, stands))}>back</button></p>}
      {wrong && <p class="wrong" id={key + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

export const beneath = (path: string, key: string) => path === key || path.startsWith(key + '.') || path.startsWith(key + '[');
/** said is how a place beneath a key is called: "no. 1", "source". */
const said = (rest: string) => rest.replace(/^\[(\d+)\]/, (_, i: string) => `no. ${Number(i) + 1} `).replace(/^\./, '').replace(/\]\[/g, ', ').replace(/^\[(.*)\]$/, '$1').replace(/[\[\]]/g, ' ').trim();

/** Items is a list of mappings, one row each. */
function Items({ k, values, at }: { k: Key; values: Leaf[]; at: (path: string) => string }) {
  const item = (v: Leaf) => /^\[(\d+)\]\.?(.*)$/.exec(v.path.slice(k.key.length));
  const found = values.map((v) => ({ v, m: item(v) })).filter((x) => x.m).map(({ v, m }) => ({ v, row: Number(m![1]), col: m![2]! }));
  const cols = [...new Set([...k.keys!.map((s) => s.key).filter((s) => found.some((f) => f.col === s)), ...found.map((f) => f.col)])];
  const rows = [...new Set(found.map((f) => f.row))];
  return (
    <div class="scroll" role="region" aria-label={k.key} tabIndex={0}>
      <table class="items">
        <thead><tr><th scope="col"><span class="hidden">no.</span></th>{cols.map((c) => <th scope="col">{c}</th>)}</tr></thead>
        <tbody>{rows.map((r) => (
          <tr><th scope="row">{r + 1}</th>{cols.map((c) => <td><Value key={c} path={at(`${k.key}[${r}]${c ? '.' + c : ''}`)} label={`${k.key} no. ${r + 1}, ${c}`} hidden stands={found.find((f) => f.row === r && f.col === c)?.v.text ?? ''} one={k.keys!.find((s) => s.key === c)?.one} /></td>)}</tr>
        ))}</tbody>
      </table>
    </div>
  );
}

/** Renamed says what another id does to the design, and offers to rename the part there as well. */
function Renamed({ p, builtin, path }: { p: Part; builtin: boolean; path: string }) {
  const tried = useComputed(() => trial.value[path]).value;
  const left = useComputed(() => p.uses.filter((u) => (trial.value[u] ?? p.id) === p.id).length).value;
  if (tried === undefined || p.uses.length === 0) return null;
  if (left === 0) return <p class="hint">The design names it so in {places(p.uses.length)}, too; both are written together.</p>;
  return (
    <div class="renamed" role="status">
      <p>The design names {p.id} in {places(left)}. {builtin ? 'With another id here it takes the built-in part of that name, and none of the values below.' : 'With another id here it names a part that is not there.'}</p>
      <button type="button" onClick={() => tryValues(p.uses.map((u) => ({ path: u, text: tried })))}>Rename it in the design, too</button>
    </div>
  );
}

function Row({ k, p, builtin }: { k: Key; p: Part; builtin: boolean }) {
  const values = p.values.filter((v) => beneath(v.path, k.key));
  const at = (path: string) => `${p.file}#${p.path}.${path}`;
  const single = values.length === 1 && values[0]!.path === k.key;
  const id = k.key === 'id';
  return (
    <div class={values.length > 0 && (k.curve || (k.list && k.keys)) ? 'partrow long' : 'partrow'} role="group" aria-label={k.key}>
      <div>
        <code>{k.key}</code>{k.need && values.length === 0 && <span class="wrong"> is due</span>} {values.length > 0 && <a class="hint" href={fileLink(p.file, values[0]!.line)}>line {values[0]!.line}</a>}
        <p class="hint">{k.doc}</p>
      </div>
      {k.curve
        ? <Curve k={k} p={p} values={values} />
        : k.list && k.keys && values.length > 0
          ? <Items k={k} values={values} at={at} />
          : <div class="values">
              {single && <Value path={at(k.key)} label={k.key} hidden stands={values[0]!.text} eg={k.eg} one={k.one} back={id ? () => tryValues([{ path: at('id'), text: p.id }, ...p.uses.filter((u) => u in trial.value).map((u) => ({ path: u, text: p.id }))]) : undefined} />}
              {id && <Renamed p={p} builtin={builtin} path={at('id')} />}
              {!single && values.map((v) => <Value key={v.path} path={at(v.path)} label={said(v.path.slice(k.key.length)) || k.key} stands={v.text} />)}
              {values.length === 0 && (k.list
                ? <p class="hint">not stated{k.eg ? `; such as ${k.eg}` : ''}. It takes several lines: write it in <a href={fileLink(p.file, p.line)}>the text</a>.</p>
                : k.keys
                  ? k.keys.map((sub) => !sub.curve && !sub.list && !sub.keys && <Value key={sub.key} path={at(`${k.key}.${sub.key}`)} label={sub.key} stands="" eg={sub.eg} one={sub.one} />)
                  : <Value path={at(k.key)} label={k.key} hidden stands="" eg={k.eg} one={k.one} />)}
            </div>}
    </div>
  );
}

/** taken puts a built-in part into the project. */
const taken = (p: { kind: string; id: string }, as: string, wrong?: (text: string) => void) =>
  write('/api/copy', { kind: p.kind, id: p.id, as }, `Copied into parts/${as}.yaml, marked as invented; undo takes it back.`, undefined, wrong);

/** Builtin is the built-in parts, a kind at a time. */
function Builtin({ list }: { list: ShelfPart[] }) {
  const kinds = [...new Set(list.map((s) => s.kind))];
  const [words, setWords] = useState('');
  const kind = kinds.includes(kindShown.value) ? kindShown.value : kinds[0] ?? '';
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  const shown = list.filter((s) => (wanted.length > 0 || s.kind === kind) && wanted.every((w) => `${s.kind} ${s.id} ${s.name} ${s.info}`.toLowerCase().includes(w)));
  const copy = async (s: ShelfPart) => { if (await taken(s, s.id)) { chosen.value = called(s); window.scrollTo(0, 0); } };
  return (
    <section class="card">
      <h2>The built-in shelf <small>{list.length} parts, all invented: nobody sells them</small></h2>
      <div class="search"><label for="shelf-words">Find a part of any kind</label><input id="shelf-words" type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} placeholder="6500 K, lens 60 deg, 24 V…" /></div>
      <div class="choose"><div role="group" aria-label="Kind">{kinds.map((k) => <button type="button" aria-pressed={wanted.length === 0 && k === kind} onClick={() => { kindShown.value = k; setWords(''); }}>{k}</button>)}</div></div>
      <p class="hint" role="status">{shown.length === 1 ? '1 part' : `${shown.length} parts`}{wanted.length > 0 ? ' with these words' : ''}.</p>
      {shown.length > 0 && (
        <div class="scroll" role="region" aria-label="Built-in parts" tabIndex={0}>
          <table class="stacked shelf">
            <thead><tr><th scope="col">part</th><th scope="col">key figures</th><th scope="col">price</th><th scope="col"><span class="hidden">what to do</span></th></tr></thead>
            <tbody>{shown.map((s) => (
              <tr key={called(s)}>
                <th scope="row"><strong>{s.id}</strong>{s.used && <span class="soft"> in this lamp</span>}<span class="range">{wanted.length > 0 ? `${s.kind}: ` : ''}{s.name}</span></th>
                <td data-head="key figures"><span>{s.info || '–'}</span></td>
                <td data-head="price"><span>{s.price || '–'}</span></td>
                <td data-head=""><span class="deeds"><a href={fileLink(s.file, s.line)}>text<span class="hidden"> of {s.id}</span></a> {s.own ? <span class="soft">copied</span> : <button type="button" onClick={() => void copy(s)}>Copy<span class="hidden"> {s.id} into the project</span></button>}</span></td>
              </tr>
            ))}</tbody>
          </table>
        </div>
      )}
    </section>
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
    if (await taken(p, id, setWrong)) { setWrong(''); setAs(null); done(p.kind, id); }
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
      stood.value = Object.fromEntries(got.own.flatMap((p) => [...p.values.map((x) => [`${p.file}#${p.path}.${x.path}`, x.text]), ...p.uses.map((u) => [u, p.id])]));
      setV(got);
      setWrong('');
    }, (e) => setWrong(sentence(e instanceof Error ? e.message : String(e))));
  }, [hash]);
  // What the design says is known here only while it is shown; values of parts stay, since only this view tries them.
  useEffect(() => () => { stood.value = Object.fromEntries(Object.entries(stood.value).filter(([path]) => path.includes('#'))); }, []);
  if (wrong) return <section class="card"><h2>Own parts</h2><p class="wrong" role="alert">The parts cannot be read. {wrong}</p></section>;
  if (!v) return <section class="card"><h2>Own parts</h2><p role="status">Reading the parts…</p></section>;
  const p = v.own.find((x) => called(x) === chosen.value) ?? v.own[0];
  const files = [...new Set(v.own.map((x) => x.file))];
  const idNow = p && (trial.value[`${p.file}#${p.path}.id`] ?? p.id);
  const named = p ? p.uses.filter((u) => (trial.value[u] ?? p.id) === idNow).length : 0;
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
          <h2>{idNow} <small>{p.name && `${p.name}, `}{p.kind}{named > 0 ? ', in this lamp' : p.uses.length > 0 ? ', no longer in this lamp with the id that you try' : ', not in this lamp'}{p.invented ? ', invented: nobody sells it' : ''}</small></h2>
          <p class="hint">What you type is tried in every view, and written when you write it: just that value changes, comments and spacing stay. Values take any unit that the file takes. To take away a value that is no point of a curve, use <a href={fileLink(p.file, p.line)}>the text</a>.</p>
          <div class="partrows">{(v.kinds.find((k) => k.kind === p.kind)?.keys ?? []).map((k) => <Row key={k.key} k={k} p={p} builtin={v.shelf.some((x) => x.kind === p.kind && x.id === p.id)} />)}</div>
        </section>
      )}
      <Copy list={v.shelf} done={(kind, id) => { chosen.value = kind + ' ' + id; }} />
      <Builtin list={v.shelf} />
    </>
  );
}
