// The project's own parts: every value as it stands in its file, to be tried and written like those of the design; new parts; and
// the built-in ones.
import { signal, useComputed, useSignalEffect } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { get, LibraryPart, Parts } from './api';
import { asBlock } from './marked';
import { begun, EditedPart, freeId, ordered, placed } from './newpart';
import { called, PartEditor } from './partedit';
import { fileLink } from './pieces';
import { sentence, setTrial, state, stood, trial, tryValue, write } from './store';
import { flow } from './yaml';

/** chosen is the part that is edited, by its place, or by kind and id. */
const chosen = signal('');
const kindShown = signal('');
const placeOf = (p: EditedPart) => `${p.file}#${p.path}`;

/** taken puts a copy of a part into the project. */
const taken = (p: { kind: string; id: string }, as: string, said: string, wrong?: (text: string) => void) =>
  write('/api/copy', { kind: p.kind, id: p.id, as }, `Copied to parts/${as}.yaml${said}.`, undefined, wrong);

/** singular is a kind of parts in the singular. */
const singular = (kind: string) => ({ lenses: 'lens', supplies: 'supply' })[kind] ?? kind.replace(/_/g, ' ').replace(/s$/, '');

/** Builtin is the built-in parts, a kind at a time. */
function Builtin({ list }: { list: LibraryPart[] }) {
  const [words, setWords] = useState('');
  const kinds = [...new Set(list.map((s) => s.kind))];
  const kind = kinds.includes(kindShown.value) ? kindShown.value : kinds[0] ?? '';
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  const shown = list.filter((s) => (wanted.length > 0 || s.kind === kind) && wanted.every((w) => `${s.kind} ${s.id} ${s.name} ${s.info}`.toLowerCase().includes(w)));
  const copy = async (s: LibraryPart) => { if (await taken(s, s.id, ', marked as fictitious')) { chosen.value = called(s); window.scrollTo(0, 0); } };
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

/** New begins a part from nothing. */
function New({ v, ids }: { v: Parts; ids: Set<string> }) {
  const [kind, setKind] = useState(v.kinds[0]!.kind);
  const [typed, setTyped] = useState<string | null>(null);
  const has = (id: string) => ids.has(`${kind} ${id}`);
  const proposed = freeId(`my-${singular(kind).replace(/ /g, '-')}`, new Set([...ids].filter((x) => x.startsWith(kind + ' ')).map((x) => x.slice(kind.length + 1))));
  const id = (typed ?? proposed).trim();
  const wrong = typed === null ? '' : !/^[A-Za-z0-9-]{1,60}$/.test(id) ? 'An id consists of letters, digits and hyphens, such as white-5000.' : has(id) ? `There is a ${singular(kind)} ${id} already; enter another id.` : '';
  const add = () => {
    if (wrong !== '') return;
    const at = `${v.own_file}#${kind}[${(v.counts[kind] ?? 0) + begun(trial.value).filter((b) => b.file === v.own_file && b.kind === kind).length}]`;
    tryValue(at, asBlock + flow({ id }));
    chosen.value = at;
    setTyped(null);
  };
  return (
    <section class="card">
      <h2>New part from a datasheet</h2>
      <div class="copy">
        <div><label for="new-kind">Kind</label>
          <select id="new-kind" value={kind} onChange={(e) => { setKind(e.currentTarget.value); setTyped(null); }}>{v.kinds.map((k) => <option value={k.kind}>{singular(k.kind)}: {k.doc}</option>)}</select></div>
        <div><label for="new-id">Id</label>
          <input id="new-id" type="text" autocomplete="off" spellcheck={false} value={typed ?? proposed} aria-invalid={wrong !== ''} aria-describedby={wrong ? 'new-e' : undefined} onInput={(e) => setTyped(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} /></div>
        <button type="button" disabled={wrong !== ''} onClick={add}>Begin part</button>
      </div>
      {wrong && <p class="wrong" id="new-e" role="alert">{wrong}</p>}
      <p class="hint">It is written to {v.own_file} when you save. Until its required values are stated, nothing can be saved.</p>
    </section>
  );
}

function Copy({ list, own, done }: { list: LibraryPart[]; own: EditedPart[]; done: (kind: string, id: string) => void }) {
  const [which, setWhich] = useState('');
  const [as, setAs] = useState<string | null>(null);
  const [wrong, setWrong] = useState('');
  const free = list.filter((s) => !s.own), mine = own.filter((p) => !p.fresh);
  const p = mine.find((s) => called(s) === which) ?? free.find((s) => called(s) === which) ?? free.find((s) => s.used) ?? free[0];
  if (!p) return null;
  const used = free.filter((s) => s.used), kinds = [...new Set(list.map((s) => s.kind))];
  const isOwn = mine.some((s) => s === p);
  const id = as ?? (isOwn ? `${p.id}-2` : p.id);
  const option = (s: { kind: string; id: string; name: string }) => <option value={called(s)}>{s.id} – {s.name}</option>;
  const put = async () => {
    if (await taken(p, id, isOwn ? '' : ', marked as fictitious', setWrong)) { setWrong(''); setAs(null); done(p.kind, id); }
  };
  return (
    <section class="card">
      <h2>Copy a part</h2>
      <p class="hint">Built-in parts are fictitious and read-only. A copy is a new file in parts/, marked as its original. With the same id it replaces the built-in part in this lamp; with another id, enter that id in the design.</p>
      <div class="copy">
        <div><label for="copy-part">Part</label>
          <select id="copy-part" value={called(p)} onChange={(e) => { setWhich(e.currentTarget.value); setAs(null); setWrong(''); }}>
            {mine.length > 0 && <optgroup label="Own parts">{mine.map(option)}</optgroup>}
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

/** fresh are the new parts as parts of their files. */
function fresh(v: Parts): EditedPart[] {
  return begun(trial.value).map((b) => {
    const id = b.values.find((x) => x.path === 'id')?.text ?? '';
    const uses = v.places.filter((u) => u.kind === b.kind && trial.value[u.path] === id).map((u) => u.path);
    return { kind: b.kind, id, name: trial.value[b.at + '.name'] ?? '', file: b.file, line: 0, path: b.path, fictitious: false, uses, values: b.values.map((x) => ({ ...x, line: 0 })), fresh: true };
  });
}

/** inOrder puts the values of new parts in the order of the format. */
function inOrder(v: Parts) {
  const next = ordered(trial.value, (kind) => v.kinds.find((k) => k.kind === kind)?.keys.map((k) => k.key) ?? []);
  if (next !== trial.value) trial.value = next;
}

export function PartsView() {
  const [v, setV] = useState<Parts | null>(null);
  const [wrong, setWrong] = useState('');
  const begunNow = useComputed(() => JSON.stringify(begun(trial.value).map((b) => [b, trial.value[b.at + '.name']]))).value;
  const hash = state.value?.hash;
  useEffect(() => {
    get<Parts>('/api/parts').then((got) => {
      stood.value = Object.fromEntries([...got.own.flatMap((p) => p.values.map((x) => [`${p.file}#${p.path}.${x.path}`, x.text] as const)), ...got.places.map((u) => [u.path, u.id] as const)]);
      setV(got);
      setWrong('');
      // Another program may have put parts where new ones were to stand.
      const next = placed(trial.value, got.own_file, got.counts);
      if (next !== trial.value && got.hash === state.value?.hash) setTrial(next);
      inOrder(got);
    }, (e) => setWrong(sentence(e instanceof Error ? e.message : String(e))));
  }, [hash]);
  // The order of the changes is that in which they are written.
  useSignalEffect(() => { void trial.value; if (v) inOrder(v); });
  // What the design says is known here only while it is shown; values of parts stay, since only this view tries them.
  useEffect(() => () => { stood.value = Object.fromEntries(Object.entries(stood.value).filter(([path]) => path.includes('#'))); }, []);
  if (wrong) return <section class="card"><h2>Own parts</h2><p class="wrong" role="alert">The parts cannot be loaded. {wrong}</p></section>;
  if (!v) return <section class="card"><h2>Own parts</h2><p role="status">Loading the parts…</p></section>;
  const own: EditedPart[] = [...v.own, ...(begunNow === '[]' ? [] : fresh(v))];
  const p = own.find((x) => placeOf(x) === chosen.value) ?? own.find((x) => called(x) === chosen.value) ?? own[0];
  const files = [...new Set(own.map((x) => x.file))];
  const touched = (x: EditedPart) => x.fresh || Object.keys(trial.value).some((k) => k.startsWith(`${x.file}#${x.path}.`));
  const ids = new Set([...own, ...v.library].map(called));
  const others = new Set([...own.filter((x) => x !== p), ...v.library].filter((x) => x.kind === p?.kind).map((x) => x.id));
  return (
    <>
      <section class="card">
        <h2>Own parts <small>parts/*.yaml of this project</small></h2>
        {own.length === 0 && <p class="empty">This project uses built-in, fictitious parts only. Begin a part from its datasheet, or copy one to change it.</p>}
        {files.map((f) => (
          <div key={f} class="file-of-parts">
            <h3>{v.own.some((x) => x.file === f) ? <a href={fileLink(f, 0)}>{f}</a> : f}</h3>
            <div class="choose"><div role="group" aria-label={`Parts of ${f}`}>
              {own.filter((x) => x.file === f).map((x) => <button type="button" aria-pressed={x === p} onClick={() => { chosen.value = placeOf(x); }}>{x.id}{touched(x) ? ' •' : ''}</button>)}
            </div></div>
          </div>
        ))}
      </section>
      {p && <PartEditor key={placeOf(p)} p={p} v={v} taken={others} />}
      <New v={v} ids={ids} />
      <Copy list={v.library} own={own} done={(kind, id) => { chosen.value = kind + ' ' + id; }} />
      <Builtin list={v.library} />
    </>
  );
}
