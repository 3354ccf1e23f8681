// The place and its light: maps on planes through it, a section against depth, the scene in space, and the light that falls
// beside it on floor and walls.
import { batch, computed, signal, useSignalEffect } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { RoomSurfaces, Failed, LightMap, post } from './api';
import { mm, num } from './format';
import { MapPlot, useProbe } from './maps';
import { mapCSV } from './mapfile';
import { Picture, SaveAs, Table } from './pieces';
import { cut, Flat, flatOfMap, isCut, maximum, plane, quantity, shownFlat, spot, unitOf } from './planes';
import { Planes, Reading } from './planeview';
import { arrows } from './probe';
import { greyPixels, lightPixels } from './ramp';
import { Scale } from './scale';
import type { Sheet, View } from './scene';
import { figure, lamp, old, pictures, request, section, sentence, taskOf } from './store';

// --- light on floor and walls: traced when asked for.
const around = signal<RoomSurfaces | null>(null);
const tracedOf = signal('');
const tracing = signal(false);
const traceWrong = signal('');
let trace: AbortController | null = null;

/** traceInputs is what light about the place depends on. */
const traceInputs = computed(() => {
  const l = lamp.value;
  return l ? JSON.stringify([l.installation, l.emitters.map((e) => [e.x_m, e.y_m, e.radiant_w.toPrecision(5), e.lens, e.beam_rad, e.lens_at_m, e.aim])]) : '';
});

async function startTrace() {
  trace?.abort();
  const mine = trace = new AbortController();
  const of = traceInputs.value;
  batch(() => { tracing.value = true; traceWrong.value = ''; });
  try {
    const got = await post<RoomSurfaces>('/api/room-surfaces', request(), mine.signal);
    if (trace !== mine) return;
    batch(() => { around.value = got; tracedOf.value = of; });
  } catch (e) {
    if (trace !== mine) return;
    traceWrong.value = mine.signal.aborted ? 'Stopped.' : e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.';
  }
  tracing.value = false;
}

const faces = computed<Flat[]>(() => (around.value?.faces ?? []).map((f) => {
  const r = around.value!.room;
  const level = f.side === 'floor', cross = f.side === 'left' || f.side === 'right';
  return {
    key: f.side, title: f.title, nx: f.nx, ny: f.ny, length_m: f.length_m, width_m: f.width_m, lux: f.lux, error: f.standard_error,
    x0: cross ? r.y0_m : r.x0_m, y0: level ? r.y0_m : 0, xName: cross ? 'y' : 'x', yName: level ? 'y' : 'height above the floor',
  };
}));

/** RoomMap is the light on a surface of the room. */
function RoomMap({ m, hi, stale, over }: { m: Flat; hi: number; stale: boolean; over: ComponentChildren }) {
  const p = useProbe(m);
  return (
    <div>
      <MapPlot s={{ m, cells: m.lux, unit: 'lx', lo: 0, hi, colours: greyPixels, kind: 'light', stale }} over={over} />
      <Scale lo={0} hi={hi} unit="lx" colours={greyPixels} />
      <Reading m={m} i={p.i} j={p.j} />
      <p class="files"><SaveAs name={m.title} what="CSV" kind="csv" text={() => mapCSV({ title: m.title, xName: m.xName, yName: m.yName, x0: m.x0, y0: m.y0, length: m.length_m, width: m.width_m, nx: m.nx, ny: m.ny, values: [{ name: 'illuminance', unit: 'lx', cells: m.lux }, { name: 'standard error', unit: 'lx', cells: m.error ?? [] }] })} /></p>
    </div>
  );
}

const showRays = signal(true), showSurface = signal(false), showRoom = signal(true);

/** sheets are the planes of the scene, all but floor and walls in one scale. */
const sheets = computed(() => {
  const l = lamp.value;
  if (!l) return { sheets: [] as Sheet[], hi: 0, roomHi: 0 };
  const w = quantity.value, p = l.installation, k = plane.value, c = cut.value, r = around.value;
  const out: Sheet[] = [];
  const put = (key: string, m: LightMap, kind: Sheet['kind'], at: number, low: number) =>
    out.push({ key, title: m.title, kind, at, low, length: m.length_m, width: m.width_m, nx: m.nx, ny: m.ny, values: m[w], hi: 0, colours: lightPixels });
  const through = isCut(k) && c?.kind === k;
  if (l.maps[0]) put('target', l.maps[0], 'level', p.substrate_m + 0.001, 0);
  if (l.maps[1] && (showSurface.value || k === 'surface')) put('surface', l.maps[1], 'level', p.water_m, 0);
  if (through) put(k, c, k, c.at_m, c.low_m);
  const hi = Math.max(...out.map((s) => maximum(s.values)));
  for (const s of out) s.hi = hi;
  let roomHi = 0;
  if (r && showRoom.value) {
    roomHi = Math.max(...r.faces.map((f) => maximum(f.lux)));
    for (const f of r.faces) {
      const s = { key: f.side, title: f.title, length: f.length_m, width: f.width_m, nx: f.nx, ny: f.ny, values: f.lux, hi: roomHi, colours: greyPixels };
      if (f.side === 'floor') out.push({ ...s, kind: 'level', at: r.room.floor_m, low: 0, x0: r.room.x0_m, y0: r.room.y0_m, side: 'front' });
      else if (f.side === 'front' || f.side === 'back') out.push({ ...s, kind: 'along', at: f.side === 'front' ? r.room.y0_m : r.room.y1_m, low: r.room.floor_m, x0: r.room.x0_m, side: f.side === 'back' ? 'front' : 'back' });
      else out.push({ ...s, kind: 'across', at: f.side === 'left' ? r.room.x0_m : r.room.x1_m, low: r.room.floor_m, x0: r.room.y0_m, side: f.side === 'left' ? 'front' : 'back' });
    }
  }
  return { sheets: out, hi, roomHi };
});

/** flatOf is the plane of the scene that has a key. */
const flatOf = (key: string): Flat | undefined => {
  const l = lamp.value!, k = shownFlat.value;
  if (k?.key === key) return k;
  if (key === 'target' || key === 'surface') { const m = l.maps[key === 'target' ? 0 : 1]; return m && flatOfMap(key, m); }
  return faces.value.find((f) => f.key === key);
};

/** markAt is where the probe stands in space. */
const markAt = computed<[number, number, number] | null>(() => {
  const s = spot.value, m = s && lamp.value ? flatOf(s.key) : undefined;
  const sheet = sheets.value.sheets.find((x) => x.key === s?.key);
  if (!s || !m || !sheet || s.i >= m.nx || s.j >= m.ny) return null;
  const a = m.x0 + ((s.i + 0.5) / m.nx) * m.length_m, b = (m.y0 + ((s.j + 0.5) / m.ny) * m.width_m);
  if (sheet.kind === 'level') return [a, b, sheet.at];
  const z = m.error ? b + (around.value?.room.floor_m ?? 0) : b;
  return sheet.kind === 'along' ? [a, sheet.at, z] : [sheet.at, a, z];
});

function SpotReading() {
  const s = spot.value, m = s ? flatOf(s.key) : undefined;
  if (!s || !m || s.i >= m.nx || s.j >= m.ny) return <p class="reading soft">Point at or tap a plane to read the light there.</p>;
  return <div class="named"><b>{m.title}:</b> <Reading m={m} i={s.i} j={s.j} /></div>;
}

function Space() {
  const box = useRef<HTMLDivElement>(null);
  const [on, setOn] = useState<'off' | 'loading' | 'on' | 'failed'>('off');
  const scene = useRef<View | null>(null);
  const model = () => {
    const r = around.value?.room;
    return {
      installation: section('installation'), board: section('board'), emitters: section('emitters'), channels: section('channels'), sheets: sheets.value.sheets, rays: showRays.value, mark: markAt.value,
      ...(r && showRoom.value ? { room: { x0: r.x0_m, x1: r.x1_m, y0: r.y0_m, y1: r.y1_m, floor: r.floor_m } } : {}),
    };
  };
  const start = async () => {
    setOn('loading');
    try {
      const { build } = await import('./scene');
      if (!box.current) return;
      scene.current = build(box.current, (h) => { if (h) spot.value = h; });
      scene.current.show(model());
      setOn('on');
    } catch {
      setOn('failed');
    }
  };
  useEffect(() => () => scene.current?.end(), []);
  useSignalEffect(() => { const m = model(); scene.current?.show(m); });
  const check = (s: typeof showRays, name: string) => <label><input type="checkbox" checked={s.value} onChange={(e) => { s.value = e.currentTarget.checked; }} /> {name}</label>;
  const { hi, roomHi } = sheets.value;
  const [said, setSaid] = useState('');
  /** step moves the probe over the plane it stands on, or over the chosen one, and says what it reads. */
  const step = ([a, b]: [number, number], cells: number) => {
    const key = spot.value && flatOf(spot.value.key) && sheets.value.sheets.some((x) => x.key === spot.value!.key) ? spot.value.key : plane.value, m = flatOf(key);
    if (!m) return;
    const from = spot.value?.key === key ? spot.value : { i: Math.floor(m.nx / 2) - a * cells, j: Math.floor(m.ny / 2) - b * cells };
    const i = Math.min(m.nx - 1, Math.max(0, from.i + a * cells)), j = Math.min(m.ny - 1, Math.max(0, from.j + b * cells));
    spot.value = { key, i, j };
    const at = (k: number, n: number, low: number, size: number) => mm(low + ((k + 0.5) / n) * size);
    setSaid(`${m.title}: ${m.ppfd ? `${num(m.ppfd[j * m.nx + i]!)} µmol/m²/s, ` : ''}${num(m.lux[j * m.nx + i]!)} lx at ${m.xName} ${at(i, m.nx, m.x0, m.length_m)}, ${m.yName} ${at(j, m.ny, m.y0, m.width_m)}`);
  };
  return (
    <section class="card">
      <h2>3-D view</h2>
      <p class="hint">{on === 'on' ? 'Turn: drag or arrow keys. Zoom: pinch, wheel, + and −. Read the light: point at or tap a plane, or Shift with arrow keys.' : `Installation${section('installation').water_m > section('installation').substrate_m ? ' with water' : ''}, lamp at its hanging height, light on the planes chosen above, and beam edges of the lenses.`}</p>
      {on === 'off' && <p><button type="button" onClick={() => void start()}>Show 3-D view</button></p>}
      {on === 'loading' && <p role="status">Loading…</p>}
      {on === 'failed' && <p class="wrong" role="alert">This browser cannot draw 3-D. The sections and maps show the same values.</p>}
      {on === 'on' && (
        <div class="choose">
          <div role="group" aria-label="Seen from">{(['front', 'side', 'above'] as const).map((f) => <button type="button" onClick={() => scene.current?.look(f)}>{{ front: 'Front view', side: 'Side view', above: 'Top view' }[f]}</button>)}</div>
          <div class="checks" role="group" aria-label="Shown">{check(showRays, 'beam edges')}{section('maps').length > 1 && plane.value !== 'surface' && check(showSurface, 'light on the water surface')}{around.value && check(showRoom, 'room surfaces')}</div>
        </div>
      )}
      <div ref={box} class={(on === 'on' ? 'scene' : 'scene hidden-box') + (old.value ? ' stale' : '')} tabIndex={on === 'on' ? 0 : -1} role="application" aria-label="3-D view of the installation: arrow keys turn, with Shift they move the probe; plus and minus zoom; the maps show the same values as tables"
        onKeyDown={(ev) => {
          const s = scene.current;
          if (!s) return;
          if (ev.shiftKey && arrows[ev.key]) { ev.preventDefault(); return step(arrows[ev.key]!, 1); }
          const turn = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.08], ArrowDown: [0, 0.08] }[ev.key];
          if (turn) { ev.preventDefault(); s.turn(turn[0]!, turn[1]!); }
          if (ev.key === '+' || ev.key === '=') s.near(0.9);
          if (ev.key === '-') s.near(1 / 0.9);
        }} />
      {on === 'on' && <>
        <SpotReading />
        <p class="hidden" role="status">{said}</p>
        <div class="scales">
          <div><h3>Planes</h3><Scale lo={0} hi={hi} unit={unitOf(quantity.value)} colours={lightPixels} /></div>
          {roomHi > 0 && <div><h3>Room surfaces (grey)</h3><Scale lo={0} hi={roomHi} unit="lx" colours={greyPixels} /></div>}
        </div>
      </>}
    </section>
  );
}

function Spill() {
  const r = around.value, job = taskOf('trace');
  const [face, setFace] = useState('floor');
  const stale = r !== null && tracedOf.value !== traceInputs.value;
  const m = faces.value.find((f) => f.key === face) ?? faces.value[0];
  const hi = r ? Math.max(...r.faces.map((f) => maximum(f.lux))) : 0;
  const spill = figure('light.spill');
  return (
    <section class="card">
      <h2>Room surfaces</h2>
      <p class="hint">{spill && <>Spill light: {spill.text}. </>}Monte Carlo ray tracing through glass and water with inter-reflection; takes some seconds, in the background.</p>
      <div class="actions">
        {tracing.value
          ? <><span class="progress"><progress max={job?.total || 1} value={job?.total ? job.done : undefined} aria-label="Tracing the light on the room surfaces" /><span role="status">{job?.waiting ? 'Waiting for its turn' : 'Tracing'}{job?.total ? `: ${job.done} of ${job.total} bundles of rays` : '…'}</span></span> <button type="button" onClick={() => trace?.abort()}>Stop tracing</button></>
          : r !== null && !stale
            ? <span class="soft" role="status">Up to date.</span>
            : <button type="button" onClick={() => void startTrace()}>{r === null ? 'Trace room surfaces' : 'Trace again'}</button>}
        {traceWrong.value && !tracing.value && <span class="wrong" role="alert">{traceWrong.value}</span>}
        {stale && <span class="stale-note">Outdated: trace again.</span>}
      </div>
      {r && m && (
        <>
          {r.assumed && <p class="hint">Room dimensions not stated: {num(r.room.x1_m - r.room.x0_m, 2)} m × {num(r.room.y1_m - r.room.y0_m, 2)} m assumed, installation centred, {Math.round(-100 * r.room.floor_m)} cm above the floor. Set them under <code>place: surroundings:</code> how it is.</p>}
          <div class="choose"><div role="group" aria-label="Room surface">{r.faces.map((f) => <button type="button" aria-pressed={f.side === m.key} onClick={() => setFace(f.side)}>{sentence(f.title).slice(0, -1)}</button>)}</div></div>
          <div class="side">
            <RoomMap m={m} hi={hi} stale={stale} over={m.key === 'floor' ? ['foot under', 'foot'].map((c) => <rect class={c} x={-section('installation').length_m / 2} y={-section('installation').width_m / 2} width={section('installation').length_m} height={section('installation').width_m} />) : null} />
            <div>
              <Table caption="Room surfaces" head={['surface', 'mean', 'maximum']} rows={r.faces.map((f) => { const top = maximum(f.lux); return [f.title, `${num(f.mean_lux.value)} lx`, `${num(top)} ± ${num(f.standard_error[f.lux.indexOf(top)] ?? 0, 2)} lx`]; })} />
              <p class="hint">{num(r.paths, 2)} rays; ± is one standard error. Cell size about {Math.round((100 * m.length_m) / m.nx)} cm{m.key === 'floor' ? '; frame: the installation above' : ''}.</p>
            </div>
          </div>
        </>
      )}
    </section>
  );
}

export function LightView() {
  return (
    <>
      <Planes />
      <Space />
      <Spill />
      <section class="card">
        <h2>Longitudinal section</h2>
        <Picture name="installation" label="Longitudinal section of the installation with the beam edges of each lens" />
      </section>
      {pictures.value['installation-across'] && (
        <section class="card">
          <h2>Cross section <small>seen from the right</small></h2>
          <Picture name="installation-across" label="Cross section of the installation with the beam edges of each lens" />
        </section>
      )}
    </>
  );
}
