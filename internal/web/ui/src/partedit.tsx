// The editor of one part: its keys, required ones first, each with its unit, an example and what it means.
import { signal, useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { Key, Part, PartLeaf, Parts } from './api';
import { Curve } from './curve';
import { Drop } from './drop';
import { beneath } from './keytree';
import { asBlock, asYAML } from './marked';
import { EditedPart, without } from './newpart';
import { fileLink } from './pieces';
import { setTrial, state, trial, trialError, trialProblems, tryValue, tryValues } from './store';
import { SourcedValue, Value } from './value';
import { flow, triedYAML } from './yaml';

export const called = (p: { kind: string; id: string }) => p.kind + ' ' + p.id;
const places = (n: number) => (n === 1 ? '1 place' : `${n} places`);

/** said is how a place beneath a key is called: "no. 1", "source". */
const said = (rest: string) => rest.replace(/^\[(\d+)\]/, (_, i: string) => `no. ${Number(i) + 1} `).replace(/^\./, '').replace(/\]\[/g, ', ').replace(/^\[(.*)\]$/, '$1').replace(/[\[\]]/g, ' ').trim();

/** drop takes what is tried at a path and beneath it away from the unsaved changes. */
const dropTried = (at: string) => setTrial(Object.fromEntries(Object.entries(trial.value).filter(([path]) => !beneath(path, at))));

/** Items is a list of mappings, one row each, with a row that adds one. */
function Items({ k, p, values, at }: { k: Key; p: EditedPart; values: PartLeaf[]; at: (path: string) => string }) {
  const item = (v: PartLeaf) => /^\[(\d+)\]\.?(.*)$/.exec(v.path.slice(k.key.length));
  const found = values.map((v) => ({ v, m: item(v) })).filter((x) => x.m).map(({ v, m }) => ({ text: v.text, row: Number(m![1]), col: m![2]! }));
  const stated = found.reduce((n, f) => Math.max(n, f.row + 1), 0);
  const added = useComputed(() => JSON.stringify(Object.entries(trial.value).filter(([path]) => new RegExp(`^\\[\\d+\\]$`).test(path.slice(at(k.key).length)) && path.startsWith(at(k.key))))).value;
  for (const [path, text] of JSON.parse(added) as [string, string][]) {
    const row = Number(path.slice(at(k.key).length + 1, -1)), v = triedYAML(text);
    if (v && typeof v === 'object' && !Array.isArray(v)) for (const [col, x] of Object.entries(v)) found.push({ text: String(x), row, col });
  }
  const simple = k.keys!.filter((s) => !s.keys && !s.list && !s.curve);
  const cols = [...new Set([...simple.map((s) => s.key), ...found.map((f) => f.col)])];
  const rows = [...new Set(found.map((f) => f.row))];
  const [typed, setTyped] = useState<Record<string, string>>({});
  const add = () => {
    const v = Object.fromEntries(Object.entries(typed).map(([c, t]) => [c, t.trim()]).filter(([, t]) => t !== ''));
    if (Object.keys(v).length === 0) return;
    tryValue(at(`${k.key}[${rows.length}]`), asBlock + flow(v));
    setTyped({});
  };
  const id = (c: string) => 'i-' + at(`${k.key}.${c}`).replace(/\W+/g, '-');
  return (
    <div class="scroll" role="region" aria-label={k.key} tabIndex={0}>
      <table class="items">
        <thead><tr><th scope="col"><span class="hidden">no.</span></th>{cols.map((c) => <th scope="col">{c}</th>)}<th scope="col"><span class="hidden">remove</span></th></tr></thead>
        <tbody>
          {rows.map((r) => (
            <tr><th scope="row">{r + 1}</th>{cols.map((c) => <td><Value key={c} path={at(`${k.key}[${r}]${c ? '.' + c : ''}`)} label={`${k.key} no. ${r + 1}, ${c}`} hidden stands={found.find((f) => f.row === r && f.col === c)?.text ?? ''} one={k.keys!.find((s) => s.key === c)?.one} fresh={r >= stated} /></td>)}
              <td>{r >= stated && r === rows.length - 1 && <button type="button" class="link" onClick={() => dropTried(at(`${k.key}[${r}]`))}>Remove<span class="hidden"> {k.key} no. {r + 1}</span></button>}</td></tr>
          ))}
          <tr class="more">
            <th scope="row"><span class="hidden">new</span></th>
            {cols.map((c) => { const s = simple.find((x) => x.key === c); return <td><label class="hidden" for={id(c)}>{k.key}, new, {c}</label>{s && <input id={id(c)} type="text" autocomplete="off" spellcheck={false} value={typed[c] ?? ''} placeholder={s.eg ? `such as ${s.eg}` : ''} onInput={(e) => setTyped({ ...typed, [c]: e.currentTarget.value })} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} />}</td>; })}
            <td><button type="button" disabled={Object.values(typed).every((t) => t.trim() === '')} onClick={add}>Add<span class="hidden"> to {k.key}</span></button></td>
          </tr>
        </tbody>
      </table>
      {rows.length === 0 && !p.fresh && <p class="hint">not stated</p>}
    </div>
  );
}

/** Listed is a list of texts that stands in no file yet, in one field. */
function Listed({ k, path, fresh }: { k: Key; path: string; fresh?: boolean }) {
  const v = triedYAML(useComputed(() => trial.value[path]).value);
  const put = (text: string) => {
    const list = text.split(',').map((t) => t.trim()).filter((t) => t !== '');
    tryValue(path, list.length === 0 ? '' : asYAML + flow(list));
  };
  return <Value path={path} label={k.key} hidden stands="" eg={`${k.eg ?? ''}; several with commas between`.replace(/^; /, '')} fresh={fresh} shown={Array.isArray(v) ? v.map(String).join(', ') : ''} put={put} />;
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

/** Id is the id of a part. That of a new part must be free; where the design uses it, it is renamed there as well. */
function Id({ p, builtin, taken, stands }: { p: EditedPart; builtin: boolean; taken: Set<string>; stands: string }) {
  const at = `${p.file}#${p.path}`, path = at + '.id';
  const wrong = p.fresh && taken.has(p.id);
  const back = () => tryValues([{ path, text: p.id }, ...p.uses.filter((u) => u in trial.value).map((u) => ({ path: u, text: p.id }))]);
  const begin = (id: string) => tryValues([{ path: at, text: asBlock + flow({ id: id.trim() }) }, ...p.uses.map((u) => ({ path: u, text: id.trim() }))]);
  return (
    <>
      {p.fresh ? <Value path={path} label="id" hidden stands={p.id} fresh quiet shown={p.id} put={begin} /> : <Value path={path} label="id" hidden stands={stands} back={back} />}
      {wrong && <p class="wrong" role="alert">There is a part {p.id} already; enter another id.</p>}
      {!p.fresh && <Renamed p={p} builtin={builtin} path={path} />}
    </>
  );
}

function Row({ k, p, builtin, taken }: { k: Key; p: EditedPart; builtin: boolean; taken: Set<string> }) {
  const values = p.values.filter((v) => beneath(v.path, k.key));
  const at = (path: string) => `${p.file}#${p.path}.${path}`;
  const single = values.length === 1 && values[0]!.path === k.key;
  const simple = single || values.length === 0;
  const missing = useComputed(() => k.need && values.length === 0 && !Object.keys(trial.value).some((t) => beneath(t, at(k.key)))).value;
  const long = k.curve || (k.list && k.keys);
  const about = [k.units && k.units.length > 0 && `in ${k.units.slice(0, 4).join(', ')}`, k.limits].filter(Boolean).join('; ');
  return (
    <div class={long ? 'partrow long' : 'partrow'} role="group" aria-label={k.key}>
      <div>
        <code>{k.key}</code>{missing && k.key !== 'id' && <span class="wrong"> is required</span>} {values.length > 0 && !p.fresh && <a class="hint" href={fileLink(p.file, values[0]!.line)}>line {values[0]!.line}</a>}
        <p class="hint">{k.doc}{!k.curve && about && <span class="soft"> ({about})</span>}</p>
      </div>
      {k.curve
        ? <Curve k={k} p={p} values={values} />
        : k.list && k.keys
          ? <Items k={k} p={p} values={values} at={at} />
          : <div class="values">
              {k.key === 'id'
                ? <Id p={p} builtin={builtin} taken={taken} stands={values[0]?.text ?? ''} />
                : k.list && values.length === 0
                  ? <Listed k={k} path={at(k.key)} fresh={p.fresh} />
                  : k.keys && values.length === 0
                    ? k.keys.map((sub) => !sub.curve && !sub.list && !sub.keys && <Value key={sub.key} path={at(`${k.key}.${sub.key}`)} label={sub.key} stands="" eg={sub.eg} one={sub.one} fresh={p.fresh} />)
                    : simple && k.units
                      ? <SourcedValue path={at(k.key)} label={k.key} stands={values[0]?.text ?? ''} eg={k.eg} fresh={p.fresh} />
                      : simple
                        ? <Value path={at(k.key)} label={k.key} hidden stands={values[0]?.text ?? ''} eg={k.eg} one={k.one} fresh={p.fresh} />
                        : values.map((v) => <Value key={v.path} path={at(v.path)} label={said(v.path.slice(k.key.length)) || k.key} stands={v.text} />)}
            </div>}
    </div>
  );
}

/** wrongWith is what the server finds wrong with a part. */
const wrongWith = (p: Part) => trialProblems.value.filter((w) => w.at.file === p.file && beneath(w.at.path ?? '', p.path));

/** fieldOf is the first field of a key of a part. */
const fieldOf = (key: string) => document.querySelector<HTMLElement>(`.partrow[aria-label="${key}"] :is(input, select)`);

/** Missing names what a part still lacks. */
function Missing({ p, keys }: { p: EditedPart; keys: Key[] }) {
  const at = `${p.file}#${p.path}.`;
  const required = useComputed(() => keys.filter((k) => k.need && !p.values.some((x) => beneath(x.path, k.key)) && !Object.keys(trial.value).some((t) => beneath(t, at + k.key))).map((k) => k.key).join('\n')).value;
  const lacking = required === '' ? [] : required.split('\n');
  const text = useComputed(() => wrongWith(p).filter((w) => !lacking.some((k) => w.at.path === `${p.path}.${k}`)).map((w) => w.msg + (w.hint ? '; ' + w.hint : '')).join('\n')).value;
  const none = useComputed(() => p.fresh && trialProblems.value.length === 0 && trialError.value === null).value;
  const list = text === '' ? [] : text.split('\n');
  if (list.length === 0 && lacking.length === 0) return none ? <p class="complete" role="status">Complete. Save it to {p.file}, or use it in the lamp first.</p> : null;
  return (
    <div class="missing" role="status">
      <p><b>{p.fresh ? 'Before it can be saved' : 'To be corrected'}:</b></p>
      {lacking.length > 0 && <p>State {lacking.map((k, i) => <>{i > 0 && ', '}<button type="button" class="link" onClick={() => fieldOf(k)?.focus()}>{k}</button></>)}.</p>}
      <ul>{list.slice(0, 8).map((t) => <li>{t}</li>)}{list.length > 8 && <li>and {list.length - 8} more</li>}</ul>
    </div>
  );
}

/** Use puts a part into the lamp in place of another one of its kind. */
function Use({ p, v }: { p: EditedPart; v: Parts }) {
  const here = v.places.filter((x) => x.kind === p.kind);
  const [which, setWhich] = useState('');
  const now = useComputed(() => JSON.stringify(here.map((x) => trial.value[x.path] ?? x.id))).value;
  const ids = JSON.parse(now) as string[];
  const others = here.filter((_, i) => ids[i] !== p.id);
  if (others.length === 0) return null;
  const chosen = which === '' ? others : others.filter((x) => x.path === which);
  return (
    <div class="use">
      <label for="use-at">Use in the lamp</label>
      <select id="use-at" value={which} onChange={(e) => setWhich(e.currentTarget.value)}>
        {others.length > 1 && <option value="">everywhere ({places(others.length)})</option>}
        {others.map((x) => <option value={x.path}>{x.path}, now {ids[here.indexOf(x)]}</option>)}
      </select>
      <button type="button" onClick={() => tryValues((chosen.length > 0 ? chosen : others).map((x) => ({ path: x.path, text: p.id })))}>Preview<span class="hidden"> {p.id} in the lamp</span></button>
    </div>
  );
}

const optionalOpen = signal(false);

/** PartEditor shows all keys of a part. */
export function PartEditor({ p, v, taken }: { p: EditedPart; v: Parts; taken: Set<string> }) {
  const keys = v.kinds.find((k) => k.kind === p.kind)?.keys ?? [];
  const stated = (k: Key) => p.values.some((x) => beneath(x.path, k.key));
  const first = (k: Key) => ['id', 'name', 'datasheet'].indexOf(k.key);
  const inMain = (k: Key) => k.need || (p.fresh ? first(k) >= 0 : stated(k));
  const main = keys.filter(inMain).sort((a, b) => (first(a) < 0 ? 9 : first(a)) - (first(b) < 0 ? 9 : first(b)));
  const rest = keys.filter((k) => !inMain(k));
  const builtin = v.library.some((x) => x.kind === p.kind && x.id === p.id);
  const at = `${p.file}#${p.path}`;
  const idNow = trial.value[at + '.id'] ?? p.id;
  const named = p.uses.filter((u) => (trial.value[u] ?? p.id) === idNow).length;
  const open = p.fresh || optionalOpen.value || rest.some((k) => Object.keys(trial.value).some((t) => beneath(t, `${at}.${k.key}`)));
  const row = (k: Key) => <Row key={k.key} k={k} p={p} builtin={builtin} taken={taken} />;
  return (
    <section class="card part-editor">
      <h2>{idNow} <small>{p.name && `${p.name}, `}{p.kind}{named > 0 ? ', in this lamp' : p.uses.length > 0 ? ', not in this lamp with the new id' : ', not in this lamp'}{p.fictitious ? ', fictitious' : ''}{p.fresh ? `, new, not in ${p.file} yet` : ''}</small></h2>
      <p class="hint">Changes are previewed in all views until you save them; comments and spacing of the file stay. Any unit of the file format is accepted.{!p.fresh && <> To remove a value, edit <a href={fileLink(p.file, p.line)}>the text</a>; points of a curve can be removed here.</>}</p>
      <Missing p={p} keys={keys} />
      <div class="part-deeds">
        <Use p={p} v={v} />
        {p.fresh && <button type="button" onClick={() => setTrial(without(trial.value, at))}>Discard this part</button>}
      </div>
      <Drop p={p} keys={keys} />
      <div class="partrows">{main.map(row)}</div>
      {rest.length > 0 && (
        <details class="optional" open={open} onToggle={(e) => { optionalOpen.value = e.currentTarget.open; }}>
          <summary>Optional values <small>{rest.length} not stated</small></summary>
          <div class="partrows">{open && rest.map(row)}</div>
        </details>
      )}
      {state.value?.problems.length ? <p class="hint">The files have problems; correct them first.</p> : null}
    </section>
  );
}
