import { signal } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Failed, Figure, Finding, get, Lamp, LightMap, post, Problem, Want } from './api';
import { Chart } from './chart';
import { Data, mm, num, Picture, Sign, Table, words } from './parts';
import { lightPixels, paint } from './ramp';
import { Scale } from './scale';
import { lamp, old, sentence, state, trying, write } from './store';

interface Version { id: string; kind: 'snapshot' | 'here' | 'other' | 'demo'; title: string; when?: string }

// What is compared with outlives the view, so that values can be tried beside it.
const other = signal<{ version: Version; text: string; lamp: Lamp } | null>(null);
const chosen = signal('');

const kinds: Record<Version['kind'], string> = { snapshot: 'Snapshots of this project', here: 'In this folder', other: 'Given on the command line', demo: 'Built-in demos' };
const name = (v: Version) => (v.when ? new Date(v.when).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'medium' }) : v.title);

/** change says how b differs from a: in kelvin for temperatures, in points for shares, else as a factor or a difference. */
function change(a: Figure, b: Figure): string {
  const d = b.value - a.value;
  const signed = (v: number, digits: number) => (v < 0 ? '−' : '+') + Math.abs(v).toFixed(digits);
  if (a.text === b.text) return '';
  if (a.kind === 'temperature' || a.kind === 'cct') return `${signed(d, Math.abs(d) < 10 ? 1 : 0)} K`;
  if (a.kind === 'ratio') return `${signed(100 * d, Math.abs(d) < 0.001 ? 3 : 1)} points`;
  if (a.kind !== 'none' && a.value > 0 && b.value > 0) return `× ${num(b.value / a.value)}`;
  return (d < 0 ? '−' : '+') + num(Math.abs(d));
}

type Verdict = 'better' | 'worse' | 'both as wanted' | '';

/** judge holds this figure against the other by what is wanted. */
function judge(w: Want | undefined, theirs: Figure, ours: Figure): Verdict {
  if (!w || theirs.text === ours.text) return '';
  if (w.more) return (ours.value - theirs.value) * w.more > 0 ? 'better' : 'worse';
  const off = (v: number) => Math.max(0, w.least !== undefined ? w.least - v : 0, w.most !== undefined ? v - w.most : 0);
  const a = off(theirs.value), b = off(ours.value);
  if (a === 0 && b === 0) return 'both as wanted';
  return a === b ? '' : b < a ? 'better' : 'worse';
}

const bad = (x: Lamp) => (x.findings ?? []).filter((f) => f.severity === 'stop' || f.severity === 'warn' || f.severity === 'ask');
const same = (f: Finding) => f.severity + '|' + f.check + '|' + f.subject;

const Say = ({ of }: { of: Verdict }) =>
  of === '' ? null : <span class={of === 'better' || of === 'worse' ? `say ${of}` : 'say'}><span aria-hidden="true">{of === 'better' ? '▲ ' : of === 'worse' ? '▼ ' : '● '}</span>{of}</span>;

function Pair({ left, right }: { left: ComponentChildren; right: ComponentChildren }) {
  const o = other.value!;
  return (
    <div class="pair">
      <div><h3>{name(o.version)}</h3>{left}</div>
      <div><h3>{trying.value ? 'Now, with what you try' : 'Now'}</h3>{right}</div>
    </div>
  );
}

/** Plane is one map on a scale that is given. */
function Plane({ m, hi }: { m: LightMap | undefined; hi: number }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => { if (m && canvas.current) paint(canvas.current, m.nx, m.ny, m.ppfd, 0, hi, lightPixels); }, [m, hi]);
  if (!m) return <p class="empty">This lamp has no such plane.</p>;
  return (
    <>
      <div class="mapbox plane"><canvas ref={canvas} class="cells" role="img" aria-label={`Light on the ${m.title}, from 0 to ${num(hi)} µmol/m²/s; the table beneath both maps holds the same`} />
        <svg viewBox={`0 0 ${m.length_m} ${m.width_m}`} aria-hidden="true" /></div>
      <p class="hint">{mm(m.length_m)} × {mm(m.width_m)}, {num(Math.min(...m.ppfd))} to {num(Math.max(...m.ppfd))} µmol/m²/s</p>
    </>
  );
}

function Maps({ theirs, ours }: { theirs: Lamp; ours: Lamp }) {
  const [plane, setPlane] = useState(0);
  const n = Math.max(theirs.maps.length, ours.maps.length);
  const at = Math.min(plane, n - 1);
  const a = theirs.maps[at], b = ours.maps[at];
  if (!a && !b) return null;
  const hi = Math.max(...(a?.ppfd ?? [0]), ...(b?.ppfd ?? [0]));
  const five = (m: LightMap, r: number, c: number) => m.ppfd[Math.floor((1 - (r + 0.5) / 5) * m.ny) * m.nx + Math.floor(((c + 0.5) / 5) * m.nx)]!;
  const rows = [0, 1, 2, 3, 4].map((r) => [`${['back', 'half back', 'middle', 'half front', 'front'][r]}`, ...[0, 1, 2, 3, 4].map((c) => `${a ? num(five(a, r, c)) : '–'} → ${b ? num(five(b, r, c)) : '–'}`)]);
  return (
    <section class="card">
      <h2>Light on a plane <small>both on one scale</small></h2>
      {n > 1 && <div class="choose"><div role="group" aria-label="Plane">{Array.from({ length: n }, (_, i) => <button type="button" aria-pressed={i === at} onClick={() => setPlane(i)}>{(ours.maps[i] ?? theirs.maps[i])!.title}</button>)}</div></div>}
      <Pair left={<Plane m={a} hi={hi} />} right={<Plane m={b} hi={hi} />} />
      <Scale lo={0} hi={hi} unit="µmol/m²/s" colours={lightPixels} />
      <Data title="As a table: other → now, µmol/m²/s" head={['', 'left', 'half left', 'middle', 'half right', 'right']} rows={rows} />
    </section>
  );
}

function Spectra({ theirs, ours }: { theirs: Lamp; ours: Lamp }) {
  const a = theirs.spectrum, b = ours.spectrum;
  if (!a.lambda_nm || !b.lambda_nm) return null;
  const atA = new Map(a.lambda_nm.map((nm, i) => [nm, a.target[i] ?? 0]));
  const x = b.lambda_nm.filter((nm) => nm >= 380 && nm <= 780 && nm % 2 === 0);
  const atB = new Map(b.lambda_nm.map((nm, i) => [nm, b.target[i] ?? 0]));
  const ya = x.map((nm) => 1000 * (atA.get(nm) ?? 0)), yb = x.map((nm) => 1000 * (atB.get(nm) ?? 0));
  return (
    <section class="card">
      <h2>Spectrum at the target</h2>
      <Chart label="Mean irradiance at the target per nanometre, of the other version and of this one; the table beneath holds the same." x={x} xLabel="wavelength, nm" yLabel="mW/m²/nm" height={240}
        series={[{ name: name(other.value!.version), colour: css('--lw-soft'), dash: [8, 4], y: ya }, { name: 'now', colour: css('--lw-within'), y: yb }]} />
      <Data title="As a table" head={['nm', 'other, mW/m²/nm', 'now, mW/m²/nm']} rows={x.map((nm, i) => [nm, num(ya[i]!), num(yb[i]!)]).filter((_, i) => x[i]! % 20 === 0)} />
    </section>
  );
}

const css = (v: string) => getComputedStyle(document.documentElement).getPropertyValue(v).trim();

function Figures({ theirs, ours }: { theirs: Lamp; ours: Lamp }) {
  const [all, setAll] = useState(false);
  const wants = new Map((state.value?.lamp?.wants ?? []).map((w) => [w.key, w]));
  const before = new Map(theirs.figures.map((f) => [f.key, f])), now = new Map(ours.figures.map((f) => [f.key, f]));
  const keys = [...ours.figures.map((f) => f.key), ...theirs.figures.map((f) => f.key).filter((k) => !now.has(k))];
  const differ = keys.filter((k) => before.get(k)?.text !== now.get(k)?.text);
  const shown = all ? keys : differ;
  const cell = (f: Figure | undefined) => (f ? <>{f.text}{f.range && <span class="range">{f.range}</span>}</> : '–');
  const row = (k: string) => {
    const a = before.get(k), b = now.get(k), w = wants.get(k);
    const v = a && b ? judge(w, a, b) : '';
    return [(b ?? a)!.title, cell(a), <strong>{cell(b)}</strong>, a && b ? change(a, b) : a ? 'the other only' : 'this one only', w ? <><Say of={v} />{(w.at || v) && <span class="range">{w.at ? 'wanted ' : ''}{w.text}</span>}</> : ''];
  };
  const judged = shown.filter((k) => wants.has(k)).sort((p, q) => Number(!wants.get(p)!.at) - Number(!wants.get(q)!.at));
  const rest = shown.filter((k) => !wants.has(k));
  return (
    <section class="card">
      <h2>Figures</h2>
      <p><label><input type="checkbox" checked={!all} onChange={(e) => setAll(!e.currentTarget.checked)} /> only those that differ ({differ.length} of {keys.length})</label></p>
      {judged.length === 0 ? <p class="empty">No figure that you wish for differs.</p> : <div class="beside"><Table stacked caption="Figures that are wished for" head={['figure', 'other', 'now', 'now against other', 'by what is wanted']} rows={judged.map(row)} /></div>}
      {rest.length > 0 && (
        <details class="data">
          <summary>{rest.length === 1 ? '1 more figure' : `${rest.length} more figures`}, of which neither more nor less is better</summary>
          <div class="beside"><Table stacked caption="Other figures of both versions" head={['figure', 'other', 'now', 'now against other']} rows={rest.map((k) => row(k).slice(0, 4))} /></div>
        </details>
      )}
      <p class="hint">Ranges hold eight lamps of ten. Wishes are those of this design; without one, only what everybody would have more or less of is judged.</p>
    </section>
  );
}

function Result() {
  const o = other.value!;
  const l = lamp.value!;
  const gone = bad(o.lamp).filter((f) => !bad(l).some((g) => same(g) === same(f)));
  const come = bad(l).filter((f) => !bad(o.lamp).some((g) => same(g) === same(f)));
  const list = (of: Finding[], none: string) => (of.length === 0 ? <p class="empty">{none}</p> : <ul class="plain signs">{of.map((f) => <li><Sign of={f.severity} /> <span><b>{words[f.severity]}:</b> {f.title}</span></li>)}</ul>);
  return (
    <div class={old.value ? 'both stale' : 'both'}>
      {old.value && <p class="stale-note">“Now” is from before; it follows when it is computed.</p>}
      <section class="card">
        <h2>Findings that only one has</h2>
        <Pair left={list(gone, 'None that this lamp has not.')} right={list(come, 'None that the other has not.')} />
      </section>
      <Figures theirs={o.lamp} ours={l} />
      <Maps theirs={o.lamp} ours={l} />
      <section class="card">
        <h2>The boards</h2>
        <Pair left={<Picture name="board" of={o.lamp} label={`Board of ${name(o.version)}`} />} right={<Picture name="board" label="Board of this lamp" />} />
        <Data title="As a table" head={['emitter', 'other', 'now']} rows={[...new Set([...o.lamp.emitters, ...l.emitters].map((e) => e.label))].map((label) => [label, ...[o.lamp, l].map((x) => {
          const e = x.emitters.find((y) => y.label === label);
          return e ? `${e.part}${e.lens ? ` under ${e.lens}` : ''} at ${mm(e.x_m)}, ${mm(e.y_m)}` : '–';
        })])} />
      </section>
      <Spectra theirs={o.lamp} ours={l} />
    </div>
  );
}

export function CompareView() {
  const [list, setList] = useState<Version[] | null>(null);
  const [busy, setBusy] = useState(false);
  const [wrong, setWrong] = useState<{ text: string; problems: Problem[] } | null>(null);
  const running = useRef<AbortController | null>(null);
  const hash = state.value?.hash;
  useEffect(() => { get<Version[]>('/api/versions').then(setList, () => setWrong({ text: 'The list of versions cannot be read.', problems: [] })); }, [hash]);
  useEffect(() => () => running.current?.abort(), []);
  const id = list?.some((v) => v.id === chosen.value) ? chosen.value : list?.[0]?.id ?? '';
  const open = async () => {
    const version = list?.find((v) => v.id === id);
    if (!version) return;
    const mine = new AbortController();
    running.current = mine;
    setBusy(true);
    setWrong(null);
    try {
      other.value = { version, ...(await post<{ text: string; lamp: Lamp }>('/api/compare', { id }, mine.signal)) };
    } catch (e) {
      if (mine.signal.aborted) setWrong({ text: 'Stopped.', problems: [] });
      else if (e instanceof Failed) setWrong({ text: e.problems.length ? 'That version has problems and cannot be computed:' : sentence(e.message), problems: e.problems });
      else setWrong({ text: 'The program does not answer.', problems: [] });
    } finally {
      setBusy(false);
    }
  };
  const o = other.value;
  return (
    <>
      <section class="card">
        <h2>Compare with</h2>
        {list === null && !wrong && <p role="status">Looking for versions…</p>}
        {list?.length === 0 && <p class="empty">There is nothing to compare with yet. The first change that you write takes a snapshot of what stood before; another design file in this folder, or a folder within it with a lamp.yaml, is offered as well.</p>}
        {list && list.length > 0 && (
          <div class="pick">
            <label class="hidden" for="version">Version to compare with</label>
            <select id="version" value={id} onChange={(e) => { chosen.value = e.currentTarget.value; setList([...list]); }}>
              {(Object.keys(kinds) as Version['kind'][]).map((k) => list.some((v) => v.kind === k) && <optgroup label={kinds[k]}>{list.filter((v) => v.kind === k).map((v) => <option value={v.id}>{name(v)}</option>)}</optgroup>)}
            </select>
            <button type="button" class="main" disabled={busy} onClick={() => void open()}>{busy ? 'Computing…' : 'Compare'}</button>
            {busy && <button type="button" onClick={() => running.current?.abort()}>Stop</button>}
          </div>
        )}
        {wrong && <div class="wrong" role="alert"><p>{wrong.text}</p>{wrong.problems.length > 0 && <ul>{wrong.problems.map((p) => <li>{p.at.file}{p.at.line > 0 ? `:${p.at.line}` : ''}: {p.msg}{p.hint ? `; ${p.hint}` : ''}</li>)}</ul>}</div>}
        <p class="hint">Snapshots are taken before each burst of changes, and of what another program overwrote; they are computed with the parts as they stand now. For another project start <code>lampwright serve THIS OTHER</code>.</p>
        {o && (
          <p class="actions"><span>Beside this lamp: <b>{o.lamp.name}</b>, {name(o.version)}.</span>
            {o.version.kind === 'snapshot' && <button type="button" disabled={trying.value} title={trying.value ? 'Write or drop what you try first' : undefined} onClick={() => void write('/api/save', { text: o.text }, 'The snapshot is the file again; undo takes it back.')}>Bring this snapshot back</button>}
            <button type="button" onClick={() => { other.value = null; }}>Close</button></p>
        )}
      </section>
      {o && <Result />}
    </>
  );
}
