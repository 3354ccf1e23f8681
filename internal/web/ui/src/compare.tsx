import { signal } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Compared, Difference, Failed, Figure, Finding, get, Lamp, LightMap, post, Problem, Version, Requirement } from './api';
import { Chart } from './chart';
import { mm, num, shortRange } from './format';
import { Data, fileLink, Sign, Table, words } from './pieces';
import { lightPixels, paint } from './ramp';
import { parts, refine } from './surface';
import { Scale } from './scale';
import { VariantsCard } from './variants';
import { changes, lamp, old, sentence, state, trial, trying, write } from './store';

// What is compared with outlives the view, so that values can be tried beside it.
const other = signal<{ version: Version; text: string; lamp: Lamp } | null>(null);
const chosen = signal('');

const kinds: Record<Version['kind'], string> = { snapshot: 'Snapshots of this project', here: 'In this folder', other: 'Given on the command line', demo: 'Built-in demos' };
const name = (v: Version) => (v.when ? new Date(v.when).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'medium' }) : v.title);

/** differsIn says what a snapshot differs in, then and now. */
const differsIn = (v: Version | undefined) => {
  if (v?.differs === undefined) return '';
  const more = v.differs - (v.first ?? []).length;
  return v.differs === 0 ? 'the same values as now' : (v.first ?? []).join('; ') + (more > 0 ? `; ${more} more` : '');
};

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

type Verdict = 'better' | 'worse' | 'both meet the requirement' | '';

/** judge holds this figure against the other by what is wanted. */
function judge(w: Requirement | undefined, theirs: Figure, ours: Figure): Verdict {
  if (!w || theirs.text === ours.text) return '';
  if (w.more) return (ours.value - theirs.value) * w.more > 0 ? 'better' : 'worse';
  const off = (v: number) => Math.max(0, w.min !== undefined ? w.min - v : 0, w.max !== undefined ? v - w.max : 0);
  const a = off(theirs.value), b = off(ours.value);
  if (a === 0 && b === 0) return 'both meet the requirement';
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
      <div><h3>{trying.value ? 'Now, with unsaved changes' : 'Now'}</h3>{right}</div>
    </div>
  );
}

/** Causes lists every value in which the two designs differ: what all else follows from. */
function Causes() {
  const o = other.value!;
  const [got, setGot] = useState<{ of: string; list: Difference[] } | null>(null);
  const [wrong, setWrong] = useState('');
  const hash = state.value?.hash, tried = trial.value;
  useEffect(() => {
    const stop = new AbortController();
    // What is typed or moved is waited for, so that a slider does not ask at every step.
    const later = window.setTimeout(() => {
      post<Difference[]>('/api/differences', { base: hash, changes: changes(), id: o.version.id }, stop.signal).then((list) => { setGot({ of: o.version.id, list }); setWrong(''); }, (e) => {
        if (!stop.signal.aborted) setWrong(e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.');
      });
    }, 150);
    return () => { stop.abort(); window.clearTimeout(later); };
  }, [o.version.id, hash, tried]);
  const list = got?.of === o.version.id ? got.list : null;
  const cell = (text: string, there: boolean) => (there ? <span class="said">{text || '(empty)'}</span> : <span class="soft">not stated</span>);
  return (
    <section class="card causes">
      <h2>Differences in the design {list && <small>{list.length === 1 ? '1 value' : `${list.length} values`}{trying.value ? ', with unsaved changes' : ''}</small>}</h2>
      {wrong && <p class="wrong" role="alert">{wrong}</p>}
      {!list && !wrong && <p role="status">Loading both designs…</p>}
      {list?.length === 0 && <p class="empty">None: both designs and their own parts have equal values. Comments, order and units are ignored.</p>}
      {list && list.length > 0 && (
        <Table stacked caption="Values that differ in the two designs" head={['where', 'value', o.version.when ? 'then' : 'other', trying.value ? 'now, unsaved' : 'now']} rows={list.map((d, i) => [
          d.in === list[i - 1]?.in ? <span class="hidden">{d.in}</span> : d.in || 'design',
          d.file && d.line ? <a href={fileLink(d.file, d.line)}>{d.what}</a> : d.what,
          cell(d.a, d.in_a), <strong>{cell(d.b, d.in_b)}</strong>,
        ])} />
      )}
    </section>
  );
}

/** extent is how far a board with all that stands on it reaches from its centre, along and across. */
function extent(l: Lamp): [number, number] {
  const b = l.board;
  const reach = (axis: 0 | 1) => Math.max(
    ...(b.corners ? b.corners.map((c) => Math.abs(c[axis])) : [(axis ? b.width_m : b.length_m) / 2]),
    axis ? Math.abs(b.contact_y_m) + b.contact_width_m / 2 : Math.abs(b.contact_x_m) + b.contact_length_m / 2,
    ...l.emitters.map((e) => Math.abs(axis ? e.y_m : e.x_m) + (e.lens_diameter_m ?? e.body_length_m) / 2));
  return [reach(0), reach(1)];
}

/** Plan draws a board within a frame that is given, so that two can be drawn to one scale. */
function Plan({ of, frame: [w, h], label }: { of: Lamp; frame: [number, number]; label: string }) {
  const b = of.board, size = Math.max(w, h) / 13;
  const colour = new Map(of.channels.map((c) => [c.name, c.colour]));
  return (
    <svg class="plan" viewBox={`${-w} ${-h} ${2 * w} ${2 * h}`} role="img" aria-label={label}>
      {b.corners ? <polygon class="edge" points={b.corners.map(([x, y]) => `${x},${-y}`).join(' ')} /> : b.shape === 'disc' ? <circle r={b.length_m / 2} class="edge" /> : <rect x={-b.length_m / 2} y={-b.width_m / 2} width={b.length_m} height={b.width_m} class="edge" />}
      {b.holes?.map((o) => (o.diameter_m ? <circle class="hole" cx={o.x_m} cy={-o.y_m} r={o.diameter_m / 2} /> : <rect class="hole" x={o.x_m - o.length_m! / 2} y={-o.y_m - o.width_m! / 2} width={o.length_m} height={o.width_m} />))}
      <rect class="contact" x={b.contact_x_m - b.contact_length_m / 2} y={-b.contact_y_m - b.contact_width_m / 2} width={b.contact_length_m} height={b.contact_width_m} />
      {b.has_sensor && <path class="sensor" transform={`translate(${b.sensor_x_m ?? 0} ${-(b.sensor_y_m ?? 0)})`} d={`M0 ${-size / 3}L${size / 3} 0L0 ${size / 3}L${-size / 3} 0z`} />}
      {b.spots?.map((s) => <g class="infrared" transform={`translate(${s.x_m} ${-s.y_m})`}><circle r={s.diameter_m / 2} /><path d={`M${-size / 6} 0H${size / 6}M0 ${-size / 6}V${size / 6}`} /></g>)}
      {of.emitters.map((e) => (
        <g transform={`translate(${e.x_m} ${-e.y_m})`}>
          {e.lens_diameter_m && <circle class="lens" r={e.lens_diameter_m / 2} />}
          <rect class="body" x={-(e.body_length_m || 0.004) / 2} y={-(e.body_width_m || 0.004) / 2} width={e.body_length_m || 0.004} height={e.body_width_m || 0.004} fill={colour.get(e.channel) ?? '#888'} />
          <text class="name" y={(e.lens_diameter_m ?? e.body_width_m) / 2 + size * 0.8} font-size={size * 0.75}>{e.label}</text>
        </g>
      ))}
    </svg>
  );
}

function Boards({ theirs, ours }: { theirs: Lamp; ours: Lamp }) {
  const o = other.value!, a = extent(theirs), b = extent(ours);
  const frame: [number, number] = [Math.max(a[0], b[0]) * 1.08, Math.max(a[1], b[1]) * 1.08];
  const side = (x: Lamp) => <p class="hint">{x.board.shape === 'disc' ? `disc, Ø ${mm(x.board.length_m)}` : `${mm(x.board.length_m)} × ${mm(x.board.width_m)}`}, {x.emitters.length === 1 ? '1 emitter' : `${x.emitters.length} emitters`}</p>;
  return (
    <section class="card">
      <h2>Boards <small>same scale</small></h2>
      <Pair left={<><Plan of={theirs} frame={frame} label={`Board of ${name(o.version)}; same values in the table below`} />{side(theirs)}</>} right={<><Plan of={ours} frame={frame} label="Board of this lamp; same values in the table below" />{side(ours)}</>} />
      <p class="hint">Dashed: heat sink contact area{theirs.board.has_sensor || ours.board.has_sensor ? '; diamond: sensor' : ''}{theirs.board.spots || ours.board.spots ? '; ring with a cross: infrared spot' : ''}.</p>
      <Data title="As a table" head={['emitter', 'other', 'now']} rows={[...new Set([...theirs.emitters, ...ours.emitters].map((e) => e.label))].map((label) => [label, ...[theirs, ours].map((x) => {
        const e = x.emitters.find((y) => y.label === label);
        return e ? `${e.part}${e.lens ? ` under ${e.lens}` : ''} at ${mm(e.x_m)}, ${mm(e.y_m)}` : '–';
      })])} />
    </section>
  );
}

/** Plane is one map on a scale that is given. */
function Plane({ m, hi }: { m: LightMap | undefined; hi: number }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    if (!m || !canvas.current) return;
    const k = parts(m.nx, m.ny);
    paint(canvas.current, m.nx * k, m.ny * k, refine(m.ppfd, m.nx, m.ny, k), 0, hi, lightPixels);
  }, [m, hi]);
  if (!m) return <p class="empty">This lamp does not have this plane.</p>;
  return (
    <>
      <div class="mapbox plane"><canvas ref={canvas} class="cells" role="img" aria-label={`Light on the ${m.title}, from 0 to ${num(hi)} µmol/m²/s; same values in the table below`} />
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
      <h2>Light on a plane <small>same scale</small></h2>
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
  const atA = new Map(a.lambda_nm.map((nm, i) => [nm, a.target?.[i] ?? 0]));
  const x = b.lambda_nm.filter((nm) => nm >= 380 && nm <= 780 && nm % 2 === 0);
  const atB = new Map(b.lambda_nm.map((nm, i) => [nm, b.target?.[i] ?? 0]));
  const ya = x.map((nm) => 1000 * (atA.get(nm) ?? 0)), yb = x.map((nm) => 1000 * (atB.get(nm) ?? 0));
  return (
    <section class="card">
      <h2>Spectrum at the target</h2>
      <Chart label="Mean irradiance at the target per nanometre, of the other version and of this one; same values in the table below." x={x} xLabel="wavelength, nm" yLabel="mW/m²/nm" height={240}
        series={[{ name: name(other.value!.version), colour: css('--lw-soft'), dash: [8, 4], y: ya }, { name: 'now', colour: css('--lw-within'), y: yb }]} />
      <Data title="As a table" head={['nm', 'other, mW/m²/nm', 'now, mW/m²/nm']} rows={x.map((nm, i) => [nm, num(ya[i]!), num(yb[i]!)]).filter((_, i) => x[i]! % 20 === 0)} />
    </section>
  );
}

const css = (v: string) => getComputedStyle(document.documentElement).getPropertyValue(v).trim();

function Figures({ theirs, ours }: { theirs: Lamp; ours: Lamp }) {
  const [all, setAll] = useState(false);
  const requirements = new Map((state.value?.lamp?.requirements ?? []).map((w) => [w.key, w]));
  const before = new Map(theirs.figures.map((f) => [f.key, f])), now = new Map(ours.figures.map((f) => [f.key, f]));
  const keys = [...ours.figures.map((f) => f.key), ...theirs.figures.map((f) => f.key).filter((k) => !now.has(k))];
  const differ = keys.filter((k) => before.get(k)?.text !== now.get(k)?.text);
  const shown = all ? keys : differ;
  const cell = (f: Figure | undefined) => (f ? <>{f.text}{f.range && <span class="range">{shortRange(f.range)}</span>}</> : '–');
  const row = (k: string) => {
    const a = before.get(k), b = now.get(k), w = requirements.get(k);
    const v = a && b ? judge(w, a, b) : '';
    return [(b ?? a)!.title, cell(a), <strong>{cell(b)}</strong>, a && b ? change(a, b) : a ? 'only in the other' : 'only in this one', w ? <><Say of={v} />{(w.at || v) && <span class="range">{w.at ? 'required ' : ''}{w.text}</span>}</> : ''];
  };
  const judged = shown.filter((k) => { const w = requirements.get(k); return w !== undefined && (w.at !== undefined || w.more !== 0); }).sort((p, q) => Number(!requirements.get(p)!.at) - Number(!requirements.get(q)!.at));
  const rest = shown.filter((k) => !judged.includes(k));
  return (
    <section class="card">
      <h2>Results</h2>
      <p><label><input type="checkbox" checked={!all} onChange={(e) => setAll(!e.currentTarget.checked)} /> differences only ({differ.length} of {keys.length})</label></p>
      {judged.length === 0 ? <p class="empty">No result with a requirement differs.</p> : <div class="beside"><Table stacked caption="Results with a requirement" head={['result', 'other', 'now', 'change', 'assessment']} rows={judged.map(row)} /></div>}
      {rest.length > 0 && (
        <details class="data">
          <summary>{rest.length === 1 ? '1 more result' : `${rest.length} more results`}, not assessed</summary>
          <div class="beside"><Table stacked caption="Other results" head={['result', 'other', 'now', 'change']} rows={rest.map((k) => row(k).slice(0, 4))} /></div>
        </details>
      )}
      <p class="hint">Ranges are P10–P90. Requirements are those of this design; without a requirement, only results where more (or less) is always better are assessed.</p>
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
      <Causes />
      {old.value && <p class="stale-note">“Now” is outdated: computing.</p>}
      <section class="card">
        <h2>Findings in only one version</h2>
        <Pair left={list(gone, 'None: all stops, warnings and missing data of the other are also in this one.')} right={list(come, 'None: all stops, warnings and missing data of this one are also in the other.')} />
      </section>
      <Figures theirs={o.lamp} ours={l} />
      <Maps theirs={o.lamp} ours={l} />
      <Boards theirs={o.lamp} ours={l} />
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
      const got = await post<Compared>('/api/compare', { id }, mine.signal);
      other.value = { version, text: got.text, lamp: got.lamp! };
    } catch (e) {
      if (mine.signal.aborted) setWrong({ text: 'Stopped.', problems: [] });
      else if (e instanceof Failed) setWrong({ text: e.problems.length ? `That version has ${e.message} and cannot be computed:` : sentence(e.message), problems: e.problems });
      else setWrong({ text: 'The program does not answer.', problems: [] });
    } finally {
      setBusy(false);
    }
  };
  const o = other.value;
  return (
    <>
      <VariantsCard />
      <section class="card">
        <h2>Compare with</h2>
        {list === null && !wrong && <p role="status">Loading versions…</p>}
        {list?.length === 0 && <p class="empty">Nothing to compare with. Saving a change takes a snapshot of the file before; other design files in this folder, and folders within it with a lamp.yaml, are listed too.</p>}
        {list && list.length > 0 && (
          <div class="version-pick">
            <label class="hidden" for="version">Version to compare with</label>
            <select id="version" value={id} onChange={(e) => { chosen.value = e.currentTarget.value; setList([...list]); }}>
              {(Object.keys(kinds) as Version['kind'][]).map((k) => list.some((v) => v.kind === k) && <optgroup label={kinds[k]}>{list.filter((v) => v.kind === k).map((v) => <option value={v.id}>{name(v)}{v.differs !== undefined && ` – ${differsIn(v)}`}</option>)}</optgroup>)}
            </select>
            <button type="button" class="main" disabled={busy} onClick={() => void open()}>{busy ? 'Computing…' : 'Compare'}</button>
            {busy && <button type="button" onClick={() => running.current?.abort()}>Stop</button>}
          </div>
        )}
        {differsIn(list?.find((v) => v.id === id)) && <p>Then → now: {differsIn(list?.find((v) => v.id === id))}.</p>}
        {wrong && <div class="wrong" role="alert"><p>{wrong.text}</p>{wrong.problems.length > 0 && <ul>{wrong.problems.map((p) => <li>{p.at.file}{p.at.line > 0 ? `:${p.at.line}` : ''}: {p.msg}{p.hint ? `; ${p.hint}` : ''}</li>)}</ul>}</div>}
        <p class="hint">Snapshots are taken before changes are saved and when another program overwrites the file; they are computed with the present parts. To compare with another project: <code>lampwright serve THIS OTHER</code>.</p>
        {o && (
          <p class="actions"><span>Compared with: <b>{o.lamp.name}</b>, {name(o.version)}.</span>
            {o.version.kind === 'snapshot' && <button type="button" disabled={trying.value} title={trying.value ? 'Save or discard the changes first' : undefined} onClick={() => void write('/api/save', { text: o.text }, 'Snapshot restored.')}>Restore snapshot</button>}
            <button type="button" onClick={() => { other.value = null; }}>Close</button></p>
        )}
      </section>
      {o && <Result />}
    </>
  );
}
