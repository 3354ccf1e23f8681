// The project's own parts: every value as it stands in its file, to be tried and written like those of the design; and the built-in ones.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { get, Key, LibraryPart, Part, PartLeaf, Parts } from './api';
import { Curve } from './curve';
import { fileLink } from './pieces';
import { sentence, state, stood, trial, tryValue, tryValues, write } from './store';
import { beneath, Value } from './value';


const chosen = signal('');
const kindShown = signal('');
const called = (p: { kind: string; id: string }) => p.kind + ' ' + p.id;
const places = (n: number) => (n === 1 ? '1 place' : `${n} places`);

/** said is how a place beneath a key is called: "no. 1", "source". */
const said = (rest: string) => rest.replace(/^\[(\d+)\]/, (_, i: string) => `no. ${Number(i) + 1} `).replace(/^\./, '').replace(/\]\[/g, ', ').replace(/^\[(.*)\]$/, '$1').replace(/[\[\]]/g, ' ').trim();

/** Items is a list of mappings, one row each. */
function Items({ k, values, at }: { k: Key; values: PartLeaf[]; at: (path: string) => string }) {
  const item = (v: PartLeaf) => /^\[(\d+)\]\.?(.*)$/.exec(v.path.slice(k.key.length));
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
  if (left === 0) return <p class="hint">The design uses the new id in {places(p.uses.length)}; both files are saved together.</p>;
  return (
    <div class="renamed" role="status">
      <p>The design uses {p.id} in {places(left)}. {builtin ? 'With another id here it uses the built-in part of that id instead of the values below.' : 'With another id here it refers to a part that does not exist.'}</p>
      <button type="button" onClick={() => tryValues(p.uses.map((u) => ({ path: u, text: tried })))}>Rename it in the design</button>
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
        <code>{k.key}</code>{k.need && values.length === 0 && <span class="wrong"> is required</span>} {values.length > 0 && <a class="hint" href={fileLink(p.file, values[0]!.line)}>line {values[0]!.line}</a>}
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
                ? <p class="hint">not stated{k.eg ? `; such as ${k.eg}` : ''}. It takes several lines: edit <a href={fileLink(p.file, p.line)}>the text</a>.</p>
                : k.keys
                  ? k.keys.map((sub) => !sub.curve && !sub.list && !sub.keys && <Value key={sub.key} path={at(`${k.key}.${sub.key}`)} label={sub.key} stands="" eg={sub.eg} one={sub.one} />)
                  : <Value path={at(k.key)} label={k.key} hidden stands="" eg={k.eg} one={k.one} />)}
            </div>}
    </div>
  );
}

/** taken puts a built-in part into the project. */
const taken = (p: { kind: string; id: string }, as: string, wrong?: (text: string) => void) =>
  write('/api/copy', { kind: p.kind, id: p.id, as }, `Copied to parts/${as}.yaml, marked as fictitious.`, undefined, wrong);

/** Builtin is the built-in parts, a kind at a time. */
function Builtin({ list }: { list: LibraryPart[] }) {
  const kinds = [...new Set(list.map((s) => s.kind))];
  const [words, setWords] = useState('');
  const kind = kinds.includes(kindShown.value) ? kindShown.value : kinds[0] ?? '';
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  const shown = list.filter((s) => (wanted.length > 0 || s.kind === kind) && wanted.every((w) => `${s.kind} ${s.id} ${s.name} ${s.info}`.toLowerCase().includes(w)));
  const copy = async (s: LibraryPart) => { if (await taken(s, s.id)) { chosen.value = called(s); window.scrollTo(0, 0); } };
  return (
    <section class="card">
      <h2>Parts library <small>{list.length} built-in parts, all fictitious</small></h2>
      <div class="search"><label for="library-words">Find a part</label><input id="library-words" type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} placeholder="6500 K, lens 60 deg, 24 V…" /></div>
      <div class="choose"><div role="group" aria-label="Kind">{kinds.map((k) => <button type="button" aria-pressed={wanted.length === 0 && k === kind} onClick={() => { kindShown.value = k; setWords(''); }}>{k}</button>)}</div></div>
      <p class="hint" role="status">{shown.length === 1 ? '1 part' : `${shown.length} parts`}{wanted.length > 0 ? ' found' : ''}.</p>
      {shown.length > 0 && (
        <div class="scroll" role="region" aria-label="Built-in parts" tabIndex={0}>
          <table class="stacked library">
            <thead><tr><th scope="col">part</th><th scope="col">key data</th><th scope="col">price</th><th scope="col"><span class="hidden">actions</span></th></tr></thead>
            <tbody>{shown.map((s) => (
              <tr key={called(s)}>
                <th scope="row"><strong>{s.id}</strong>{s.used && <span class="soft"> in this lamp</span>}<span class="range">{wanted.length > 0 ? `${s.kind}: ` : ''}{s.name}</span></th>
                <td data-head="key data"><span>{s.info || '–'}</span></td>
                <td data-head="price"><span>{s.price || '–'}</span></td>
                <td data-head=""><span class="deeds"><a href={fileLink(s.file, s.line)}>text<span class="hidden"> of {s.id}</span></a> {s.own ? <span class="soft">copied</span> : <button type="button" onClick={() => void copy(s)}>Copy<span class="hidden"> {s.id} to the project</span></button>}</span></td>
              </tr>
            ))}</tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function Copy({ list, done }: { list: LibraryPart[]; done: (kind: string, id: string) => void }) {
  const [which, setWhich] = useState('');
  const [as, setAs] = useState<string | null>(null);
  const [wrong, setWrong] = useState('');
  const free = list.filter((s) => !s.own);
  const p = free.find((s) => called(s) === which) ?? free.find((s) => s.used) ?? free[0];
  if (!p) return null;
  const used = free.filter((s) => s.used), kinds = [...new Set(list.map((s) => s.kind))];
  const id = as ?? p.id;
  const option = (s: LibraryPart) => <option value={called(s)}>{s.id} – {s.name}</option>;
  const put = async () => {
    if (await taken(p, id, setWrong)) { setWrong(''); setAs(null); done(p.kind, id); }
  };
  return (
    <section class="card">
      <h2>Copy a built-in part</h2>
      <p class="hint">Built-in parts are fictitious and read-only. A copy is a new file in parts/, marked as fictitious. With the same id it replaces the built-in part in this lamp; with another id, enter that id in the design.</p>
      <div class="copy">
        <div><label for="copy-part">Part</label>
          <select id="copy-part" value={called(p)} onChange={(e) => { setWhich(e.currentTarget.value); setAs(null); setWrong(''); }}>
            {used.length > 0 && <optgroup label="This lamp uses">{used.map(option)}</optgroup>}
            {kinds.map((k) => <optgroup label={k}>{free.filter((s) => s.kind === k && !s.used).map(option)}</optgroup>)}
          </select></div>
        <div><label for="copy-as">Id in this project</label>
          <input id="copy-as" type="text" autocomplete="off" spellcheck={false} value={id} aria-invalid={wrong !== ''} aria-describedby={wrong ? 'copy-e' : undefined} onInput={(e) => setAs(e.currentTarget.value)} /></div>
        <button type="button" onClick={() => void put()}>Copy to project</button>
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
  if (wrong) return <section class="card"><h2>Own parts</h2><p class="wrong" role="alert">The parts cannot be loaded. {wrong}</p></section>;
  if (!v) return <section class="card"><h2>Own parts</h2><p role="status">Loading the parts…</p></section>;
  const p = v.own.find((x) => called(x) === chosen.value) ?? v.own[0];
  const files = [...new Set(v.own.map((x) => x.file))];
  const idNow = p && (trial.value[`${p.file}#${p.path}.id`] ?? p.id);
  const named = p ? p.uses.filter((u) => (trial.value[u] ?? p.id) === idNow).length : 0;
  const touched = (x: Part) => Object.keys(trial.value).some((k) => k.startsWith(`${x.file}#${x.path}.`));
  return (
    <>
      <section class="card">
        <h2>Own parts <small>parts/*.yaml of this project</small></h2>
        {v.own.length === 0 && <p class="empty">This project uses built-in, fictitious parts only. Copy one below to change it, or create parts/own.yaml from a datasheet.</p>}
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
          <h2>{idNow} <small>{p.name && `${p.name}, `}{p.kind}{named > 0 ? ', in this lamp' : p.uses.length > 0 ? ', not in this lamp with the new id' : ', not in this lamp'}{p.fictitious ? ', fictitious' : ''}</small></h2>
          <p class="hint">Changes are previewed in all views until you save them; comments and spacing of the file stay. Any unit of the file format is accepted. To remove a value, edit <a href={fileLink(p.file, p.line)}>the text</a>; points of a curve can be removed here.</p>
          <div class="partrows">{(v.kinds.find((k) => k.kind === p.kind)?.keys ?? []).map((k) => <Row key={k.key} k={k} p={p} builtin={v.library.some((x) => x.kind === p.kind && x.id === p.id)} />)}</div>
        </section>
      )}
      <Copy list={v.library} done={(kind, id) => { chosen.value = kind + ' ' + id; }} />
      <Builtin list={v.library} />
    </>
  );
}
