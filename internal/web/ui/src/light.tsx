// The place and its light: maps on planes through it, a section against depth, the scene in space, and the light that falls
// beside it on floor and walls.
import { batch, computed, signal, useComputed, useSignalEffect } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { RoomSurfaces, Cut, Failed, LightMap, post } from './api';
import { inFull, mm, num, roundTicks } from './format';
import { Data, Facts, Picture, Table } from './pieces';
import { arrow, arrows, Cross } from './probe';
import { contour, greyPixels, lightPixels, paint } from './ramp';
import { lengthOf } from './quantities';
import { Band, Scale } from './scale';
import type { Sheet, View } from './scene';
import { figure, lamp, old, pictures, request, section, sentence, taskOf } from './store';

type Kind = 'target' | 'surface' | 'level' | 'along' | 'across';
type What = 'ppfd' | 'lux';

/** Flat is light on a rectangle; x0 and y0 are its lower left corner, in metres. */
interface Flat {
  key: string; title: string; nx: number; ny: number; length_m: number; width_m: number; x0: number; y0: number; xName: string; yName: string;
  ppfd?: number[]; lux: number[]; error?: number[];
}

/** datum is from where heights in the place count. */
const datum = (kind: string) => (kind === 'bench' ? 'height above the bench' : 'height above the inside bottom');
/** depth tells a height by the water's surface as well. */
function depth(z: number): string {
  const p = section('installation');
  return p.water_m <= p.substrate_m ? '' : z <= p.water_m ? `, ${mm(p.water_m - z)} below the water surface` : `, ${mm(z - p.water_m)} above the water surface`;
}

// What is chosen outlives the view, so that a look at another one loses nothing.
const plane = signal<Kind>('target');
const what = signal<What>('ppfd');
const places = signal<Record<string, number>>({});
/** spot is the cell that the probe stands on; planes keep their own. */
const spot = signal<{ key: string; i: number; j: number } | null>(null);

const unitOf = (w: What) => (w === 'ppfd' ? 'µmol/m²/s' : 'lx');
const isCut = (k: Kind): k is 'level' | 'along' | 'across' => k === 'level' || k === 'along' || k === 'across';

/** maximum returns the largest of many numbers. */
function maximum(v: ArrayLike<number>) {
  let m = 0;
  for (let i = 0; i < v.length; i++) if (v[i]! > m) m = v[i]!;
  return m;
}

// --- light on a plane that is no map of the figures: asked for, one question at a time, the last one wins.
const cut = signal<Cut | null>(null);
const cutBusy = signal(false);
const cutWrong = signal('');
let asking: { abort: AbortController; kind: Kind } | null = null;
let askAgain = false, answered = '';

/** placeOf is where a cut lies: as chosen, or a first guess. */
function placeOf(k: Kind): number {
  const at = places.value[k];
  if (at !== undefined) return at;
  const p = section('installation');
  if (k !== 'level') return 0;
  return p.water_m > p.substrate_m ? (p.water_m + p.substrate_m) / 2 : p.substrate_m + p.hanging_m / 4;
}

function stopCut() {
  asking?.abort.abort();
  asking = null;
  askAgain = false;
  cutBusy.value = false;
}

async function askCut() {
  const kind = plane.peek();
  if (!isCut(kind)) return stopCut();
  if (asking) {
    if (asking.kind === kind) { askAgain = true; return; }
    stopCut();
  }
  const body = { ...request(), cut: { kind, at_m: placeOf(kind) }, clamp: true };
  const key = JSON.stringify(body);
  if (key === answered && cut.peek()?.kind === kind) return;
  const mine = asking = { abort: new AbortController(), kind };
  askAgain = false;
  const slow = window.setTimeout(() => { if (asking === mine) cutBusy.value = true; }, cut.peek()?.kind === kind ? 200 : 0);
  try {
    const got = await post<Cut>('/api/cut', body, mine.abort.signal);
    if (asking !== mine) return;
    answered = key;
    batch(() => { cut.value = got; cutBusy.value = false; cutWrong.value = ''; });
  } catch (e) {
    if (asking !== mine) return;
    batch(() => { cutBusy.value = false; cutWrong.value = e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.'; });
  } finally {
    window.clearTimeout(slow);
    if (asking === mine) asking = null;
  }
  if (askAgain) void askCut();
}

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

// --- what is shown
const flat = (key: string, m: LightMap, x0: number, y0: number, xName: string, yName: string): Flat => ({ ...m, key, x0, y0, xName, yName });

/** shownFlat is the chosen plane as it is known; of a cut that is on its way, the one before. */
const shownFlat = computed<Flat | null>(() => {
  const k = plane.value, maps = section('maps');
  if (k === 'target' || k === 'surface') {
    const m = maps[k === 'target' ? 0 : 1];
    return m ? flat(k, m, -m.length_m / 2, -m.width_m / 2, 'x', 'y') : null;
  }
  const c = cut.value;
  if (!c || c.kind !== k) return null;
  return c.kind === 'level' ? flat(k, c, -c.length_m / 2, -c.width_m / 2, 'x', 'y') : flat(k, c, -c.length_m / 2, c.low_m, c.kind === 'along' ? 'x' : 'y', datum(section('installation').kind));
});

const faces = computed<Flat[]>(() => (around.value?.faces ?? []).map((f) => {
  const r = around.value!.room;
  const level = f.side === 'floor', cross = f.side === 'left' || f.side === 'right';
  return {
    key: f.side, title: f.title, nx: f.nx, ny: f.ny, length_m: f.length_m, width_m: f.width_m, lux: f.lux, error: f.standard_error,
    x0: cross ? r.y0_m : r.x0_m, y0: level ? r.y0_m : 0, xName: cross ? 'y' : 'x', yName: level ? 'y' : 'height above the floor',
  };
}));

/** Sheet of colours with a point probe over it, seen from above or from the front, with what is wanted of photons as lines. */
function FlatMap({ m, w, hi, stale, over, band }: { m: Flat; w: What; hi: number; stale: boolean; over?: ComponentChildren; band?: Band | undefined }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const cells = w === 'ppfd' && m.ppfd ? m.ppfd : m.lux, colours = m.error ? greyPixels : lightPixels;
  useEffect(() => { if (canvas.current) paint(canvas.current, m.nx, m.ny, cells, 0, hi, colours); }, [cells, hi, colours]);
  const held = useComputed(() => (spot.value?.key === m.key ? spot.value : null)).value;
  const i = Math.min(held?.i ?? Math.floor(m.nx / 2), m.nx - 1), j = Math.min(held?.j ?? Math.floor(m.ny / 2), m.ny - 1);
  const x = m.x0 + ((i + 0.5) / m.nx) * m.length_m, y = m.y0 + ((j + 0.5) / m.ny) * m.width_m;
  const here = cells[j * m.nx + i]!;
  const unit = unitOf(m.ppfd ? w : 'lux');
  const put = (a: number, b: number) => { spot.value = { key: m.key, i: Math.min(m.nx - 1, Math.max(0, a)), j: Math.min(m.ny - 1, Math.max(0, b)) }; };
  const probe = (ev: PointerEvent) => {
    const r = (ev.currentTarget as Element).getBoundingClientRect();
    put(Math.floor(((ev.clientX - r.left) / r.width) * m.nx), Math.floor((1 - (ev.clientY - r.top) / r.height) * m.ny));
  };
  const size = Math.max(m.length_m, m.width_m) / 40;
  const cols = Math.min(7, m.nx), rows = Math.min(m.yName === 'y' ? 5 : 7, m.ny);
  const col = (c: number) => Math.floor(((c + 0.5) / cols) * m.nx), row = (r: number) => Math.floor((1 - (r + 0.5) / rows) * m.ny);
  const line = (level: number | undefined) => (level === undefined ? '' : contour(cells, m.nx, m.ny, level)
    .map((l) => 'M' + l.map(([a, b]) => `${(m.x0 + (a / m.nx) * m.length_m).toFixed(5)} ${(-m.y0 - (b / m.ny) * m.width_m).toFixed(5)}`).join('L')).join(''));
  const requiredLines = band ? [[line(band.min), 'requiredline'], [line(band.max), 'requiredline max']] as const : [];
  // Which side is which: a level plane has its front below, a section across its front at the left.
  const level = m.yName === 'y', cross = m.xName === 'y';
  const across = (v: number) => `${(100 * (v - m.x0)) / m.length_m}%`, up = (v: number) => `${(100 * (v - m.y0)) / m.width_m}%`;
  return (
    <div class={stale ? 'flat stale' : 'flat'}>
      <div class={m.width_m > 0.8 * m.length_m ? 'axed tall' : 'axed'}>
        <div class="axisname" aria-hidden="true"><span>{level ? 'y' : m.yName}, mm</span>{level && <span>back</span>}</div>
        <div class="yticks" aria-hidden="true">{roundTicks(1e3 * m.y0, 1e3 * (m.y0 + m.width_m), 4).map((t) => <span key={t} style={{ bottom: up(t / 1e3) }}>{inFull(t)}</span>)}</div>
        <div class="mapbox">
          <canvas ref={canvas} class="cells" aria-hidden="true" />
          <svg viewBox={`${m.x0} ${-m.y0 - m.width_m} ${m.length_m} ${m.width_m}`} tabindex={0} role="slider" aria-label={`Point probe, ${m.title}`} aria-valuenow={Math.round(here)} aria-valuemin={0} aria-valuemax={Math.round(hi)}
            aria-valuetext={`${num(here)} ${unit} at ${m.xName} ${mm(x)}, ${m.yName} ${mm(y)}`}
            onPointerMove={probe} onPointerDown={probe}
            onKeyDown={(ev) => {
              const d = arrow(ev, 5);
              if (d) { ev.preventDefault(); put(i + d[0], j + d[1]); }
            }}>
            {over}
            {requiredLines.filter(([d]) => d).map(([d, c]) => <><path class={c + ' under'} d={d} /><path class={c} d={d} /></>)}
            <g class="probe" transform={`translate(${x} ${-y})`}><Cross size={size} /></g>
          </svg>
        </div>
        <div class="xticks" aria-hidden="true">{roundTicks(1e3 * m.x0, 1e3 * (m.x0 + m.length_m), 6).map((t) => <span key={t} style={{ left: across(t / 1e3) }}>{inFull(t)}</span>)}</div>
        <div class="axes" aria-hidden="true"><span>{cross ? 'front' : 'left'}</span><span>{level ? 'front; ' : ''}{m.xName}, mm, seen from {level ? 'above' : cross ? 'the right' : 'the front'}</span><span>{cross ? 'back' : 'right'}</span></div>
      </div>
      <Scale lo={0} hi={hi} unit={unit} colours={colours} band={band} />
      {band && <p class="hint">Required mean: {bandText(band)} µmol/m²/s (marked under the scale{requiredLines.some(([d]) => d) ? `; on the map: ${[requiredLines[0]![0] && `solid line at ${num(band.min!)}`, requiredLines[1]![0] && `dashed line at ${num(band.max!)}`].filter(Boolean).join(', ')}` : ''}).</p>}
      <Reading m={m} i={i} j={j} />
      <Data title="As a table" head={[`${m.yName} \\ ${m.xName}`, ...Array.from({ length: cols }, (_, c) => mm(m.x0 + ((col(c) + 0.5) / m.nx) * m.length_m))]}
        rows={() => Array.from({ length: rows }, (_, r) => [mm(m.y0 + ((row(r) + 0.5) / m.ny) * m.width_m), ...Array.from({ length: cols }, (_, c) => num(cells[row(r) * m.nx + col(c)]!))])} />
    </div>
  );
}


const bandText = (b: Band) => (b.min !== undefined && b.max !== undefined ? `${num(b.min)} to ${num(b.max)}` : b.min !== undefined ? `≥ ${num(b.min)}` : `≤ ${num(b.max!)}`);

/** OnPlane is the light of the plane that is shown, by its cells; of the target only what the figures do not tell. */
function OnPlane({ m, w }: { m: Flat; w: What }) {
  const cells = w === 'ppfd' && m.ppfd ? m.ppfd : m.lux, unit = unitOf(m.ppfd ? w : 'lux');
  let sum = 0, low = Infinity;
  for (const v of cells) { sum += v; low = Math.min(low, v); }
  const mean = sum / cells.length;
  const fact = (name: string, value: string) => <div><dt>{name}</dt><dd><strong>{value}</strong></dd></div>;
  if (m.key === 'target') return <dl class="facts">{fact('Maximum on target', `${num(maximum(cells))} ${unit}`)}</dl>;
  return (
    <>
      <h3>On this plane</h3>
      <dl class="facts">
        {fact('Mean', `${num(mean)} ${unit}`)}
        {fact('Minimum', `${num(low)} ${unit}`)}
        {fact('Maximum', `${num(maximum(cells))} ${unit}`)}
        {fact('Uniformity (min/mean)', mean > 0 ? `${num((100 * low) / mean)} %` : '–')}
      </dl>
    </>
  );
}

/** Reading is what the probe reads in a cell, in both quantities. */
function Reading({ m, i, j }: { m: Flat; i: number; j: number }) {
  const c = j * m.nx + i;
  const x = m.x0 + ((i + 0.5) / m.nx) * m.length_m, y = m.y0 + ((j + 0.5) / m.ny) * m.width_m;
  return (
    <p class="reading" aria-live="off">
      {m.ppfd && <><b>{num(m.ppfd[c] ?? 0)} µmol/m²/s</b>, </>}
      <b>{num(m.lux[c] ?? 0)} lx</b>{m.error && <> ± {num(m.error[c] ?? 0, 2)}</>} <span class="soft">at {m.xName} {mm(x)}, {m.yName} {mm(y)}{m.ppfd && m.yName !== 'y' ? depth(y) : ''}</span>
    </p>
  );
}

/** Where is the slider and the field for the place of a cut. */
function Where({ k }: { k: 'level' | 'along' | 'across' }) {
  const p = section('installation'), c = cut.value;
  const at = placeOf(k);
  const [lo, hi] = c && c.kind === k ? [c.min_m, c.max_m] : k === 'level' ? [p.substrate_m, p.kind === 'tank' ? p.height_m : p.substrate_m + 0.6 * p.hanging_m] : k === 'along' ? [-p.width_m / 2, p.width_m / 2] : [-p.length_m / 2, p.length_m / 2];
  const [typed, setTyped] = useState<string | null>(null);
  const [wrong, setWrong] = useState('');
  const set = (v: number) => { places.value = { ...places.value, [k]: Math.min(hi, Math.max(lo, v)) }; };
  const label = k === 'level' ? sentence(datum(p.kind)).slice(0, -1) : k === 'along' ? 'y of the section, from the centre' : 'x of the section, from the centre';
  const take = (text: string) => {
    const v = lengthOf(text);
    setWrong(v === null ? `“${text.trim()}” is not a length; examples: ${mm(at)}, 12 cm` : '');
    if (v !== null) { set(v); setTyped(null); }
  };
  const back = (text: string) => { if (text.trim() === '') { setTyped(null); setWrong(''); } else take(text); };
  return (
    <div class="where">
      <label for="where-at">{label}</label>
      <input id="where-at" type="text" autocomplete="off" value={typed ?? mm(at)} aria-invalid={wrong !== ''} aria-describedby={wrong ? 'where-e' : undefined}
        onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => { if (typed !== null) back(e.currentTarget.value); }}
        onKeyDown={(e) => { if (e.key === 'Enter') back(e.currentTarget.value); if (e.key === 'Escape') { setTyped(null); setWrong(''); } }} />
      {wrong && <p class="wrong" id="where-e" role="alert">{wrong}</p>}
      <input class="slide" type="range" aria-label={`${label}, in mm`} aria-valuetext={mm(at)} min={Math.round(lo * 1000)} max={Math.round(hi * 1000)} step={1} value={Math.round(at * 1000)} onInput={(e) => { setTyped(null); setWrong(''); set(Number(e.currentTarget.value) / 1000); }} />
    </div>
  );
}

const kinds: [Kind, string][] = [['target', 'Target'], ['surface', 'Water surface'], ['level', 'Horizontal plane'], ['along', 'Longitudinal section'], ['across', 'Cross section']];

/** Over is what is drawn over a plane, to tell where one is. */
function Over({ m }: { m: Flat }) {
  const p = section('installation'), emitters = section('emitters');
  if (m.yName === 'y') return <>{emitters.flatMap((e) => ['spot under', 'spot'].map((c) => <circle class={c} cx={e.lens_at_m?.[0] ?? p.offset_x_m + e.x_m} cy={-(e.lens_at_m?.[1] ?? p.offset_y_m + e.y_m)} r={m.length_m / 110} />))}</>;
  const x1 = m.x0 + m.length_m;
  return p.water_m > p.substrate_m ? <><path class="waterline under" d={`M${m.x0} ${-p.water_m}H${x1}`} /><path class="waterline" d={`M${m.x0} ${-p.water_m}H${x1}`} /></> : null;
}

/** requiredBand is the PPFD that the design requirements. */
function requiredBand(): Band | undefined {
  const w = section('requirements').find((x) => x.key === 'target.ppfd');
  return w && (w.min !== undefined || w.max !== undefined) ? { min: w.min, max: w.max } : undefined;
}

function Planes() {
  const maps = section('maps'), k = plane.value, w = what.value;
  useSignalEffect(() => { void lamp.value; void plane.value; void places.value; void askCut(); });
  useEffect(() => stopCut, []);
  const m = shownFlat.value;
  const stale = old.value || (isCut(k) && cutBusy.value);
  const title = m ? (isCut(k) ? m.title : (maps[k === 'target' ? 0 : 1]?.title ?? '')) : '';
  return (
    <section class="card">
      <h2>Light on a plane <small>{title}{!isCut(k) || !m ? '' : k !== 'level' ? ` at ${k === 'along' ? 'y' : 'x'} ${mm(cut.value?.at_m ?? 0)}` : `, ${datum(section('installation').kind)} ${mm(cut.value?.at_m ?? 0)}`}</small></h2>
      <div class="choose">
        <div role="group" aria-label="Plane">{kinds.filter(([x]) => x !== 'surface' || maps.length > 1).map(([x, name]) => <button type="button" aria-pressed={x === k} onClick={() => { plane.value = x; }}>{name}</button>)}</div>
        <div role="group" aria-label="Quantity"><button type="button" aria-pressed={w === 'ppfd'} onClick={() => { what.value = 'ppfd'; }}>PPFD</button><button type="button" aria-pressed={w === 'lux'} onClick={() => { what.value = 'lux'; }}>Illuminance</button></div>
      </div>
      {isCut(k) && <Where k={k} />}
      {isCut(k) && k !== 'level' && <p class="hint">Light on a horizontal surface at each point of a vertical plane: the decrease with depth.{section('installation').water_m > 0 && ' Dashed line: water surface.'}</p>}
      {isCut(k) && cutWrong.value && <p class="wrong" role="alert">{cutWrong.value}</p>}
      <div class="side">
        {m ? <FlatMap m={m} w={w} hi={maximum(m[w] ?? m.lux)} stale={stale} over={<Over m={m} />} band={k === 'target' && w === 'ppfd' ? requiredBand() : undefined} /> : <p class="loading" role="status">{cutWrong.value ? '' : 'Computing the light on this plane…'}</p>}
        <div class="both">
          {m && k !== 'target' && <><OnPlane m={m} w={w} /><h3>At the target</h3></>}
          <Facts keys={[['target.ppfd', 'Mean PPFD'], ['target.ppfd-min', 'Minimum PPFD'], ['target.uniformity', 'Uniformity (min/mean)'], ['target.dli', 'Daily light integral (DLI)'], ['target.lux', 'Illuminance'], ['light.spill', 'Spill light'], ['light.incident-substrate', 'Direct at target']]} />
          {m && k === 'target' && <OnPlane m={m} w={w} />}
        </div>
      </div>
      {isCut(k) && (cut.value?.notes ?? []).map((n) => <p class="hint">{sentence(n)}</p>)}
    </section>
  );
}

const showRays = signal(true), showSurface = signal(false), showRoom = signal(true);

/** sheets are the planes of the scene, all but floor and walls in one scale. */
const sheets = computed(() => {
  const l = lamp.value;
  if (!l) return { sheets: [] as Sheet[], hi: 0, roomHi: 0 };
  const w = what.value, p = l.installation, k = plane.value, c = cut.value, r = around.value;
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
  if (key === 'target' || key === 'surface') { const m = l.maps[key === 'target' ? 0 : 1]; return m && flat(key, m, -m.length_m / 2, -m.width_m / 2, 'x', 'y'); }
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
          <div><h3>Planes</h3><Scale lo={0} hi={hi} unit={unitOf(what.value)} colours={lightPixels} /></div>
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
            <FlatMap m={m} w="lux" hi={hi} stale={stale} over={m.key === 'floor' ? ['foot under', 'foot'].map((c) => <rect class={c} x={-section('installation').length_m / 2} y={-section('installation').width_m / 2} width={section('installation').length_m} height={section('installation').width_m} />) : null} />
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
