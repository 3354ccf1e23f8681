// The board: where emitters sit, and how warm it gets there.
import { computed, signal } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { Board, Emitter } from './api';
import { celsius, inFull, mm, num, roundTicks } from './format';
import { Box, Named, place, shorter } from './labels';
import { Data, Facts, Picture, problemAt } from './pieces';
import { arrow, Cross } from './probe';
import { contour, heatPixels, paint, spread } from './ramp';
import { Scale } from './scale';
import { old, rough, section, setTrial, state, trial, trialProblems } from './store';

type XY = [x: number, y: number];

const pc = (share: number) => `${100 * share}%`;
const half = (m: number) => Math.round(m * 2000) / 2000; // to half a millimetre
const fine = (m: number) => Math.round(m * 1e6) / 1e6;
const zero = 273.15;

// --- where emitters are put. A place that is under way (`held`) is drawn at once; it is tried when it has come to rest.
const held = signal<{ path: string; x: number; y: number } | null>(null);
const chosen = signal('');
const restMs = 250;
let rest = 0;

const units: Record<string, number> = { m: 1, cm: 1e-2, mm: 1e-3, µm: 1e-6, μm: 1e-6, um: 1e-6, nm: 1e-9, km: 1e3, in: 0.0254, mil: 25.4e-6 };
/** length is a length as a person writes it, in metres; null where it is none. */
function length(text: string): number | null {
  const [, number, unit] = /^\s*([-+−]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*(\S+)\s*$/i.exec(text) ?? [];
  return number && unit! in units ? Number(number.replace('−', '-')) * units[unit!]! : null;
}

/** filedAt is where an emitter sits by the file. */
const filedAt = (e: Emitter): XY | null => {
  const f = state.value?.lamp?.emitters.find((x) => x.x_path === e.x_path);
  return f ? [f.x_m, f.y_m] : null;
};

/** triedAt is where an emitter is to sit: as it is tried, or else as it was solved. */
const triedAt = (e: Emitter): XY => {
  const of = (path: string, solved: number, filed: number | undefined) => {
    const text = trial.value[path];
    return text === undefined ? filed ?? solved : length(text) ?? solved;
  };
  const f = filedAt(e);
  return [of(e.x_path, e.x_m, f?.[0]), of(e.y_path, e.y_m, f?.[1])];
};

/** at is where an emitter is drawn. */
const at = (e: Emitter): XY => (held.value?.path === e.x_path ? [held.value.x, held.value.y] : triedAt(e));

/** put tries values for a place; one that says what the file says leaves the trial. */
function put(e: Emitter, x: string | null, y: string | null) {
  const next = { ...trial.value }, f = filedAt(e);
  for (const [path, text, filed] of [[e.x_path, x, f?.[0]], [e.y_path, y, f?.[1]]] as const) {
    if (text === null) continue;
    const m = length(text);
    if (m !== null && filed !== undefined && Math.abs(m - filed) < 1e-9) delete next[path];
    else next[path] = text;
  }
  setTrial(next);
}

const written = (m: number) => `${Math.round(m * 1e6) / 1e3} mm`;

/** settle tries the place that is held. */
function settle() {
  window.clearTimeout(rest);
  const h = held.value, e = h && section('emitters').find((x) => x.x_path === h.path);
  if (e) {
    const [x, y] = triedAt(e);
    if (h.x !== x || h.y !== y) put(e, h.x === x ? null : written(h.x), h.y === y ? null : written(h.y));
  }
  held.value = null;
}

function letGo() {
  window.clearTimeout(rest);
  held.value = null;
}

/** nudge moves an emitter on from where it is drawn. */
function nudge(e: Emitter, dx: number, dy: number) {
  if (held.value && held.value.path !== e.x_path) settle();
  const [x, y] = at(e);
  held.value = { path: e.x_path, x: fine(x + dx), y: fine(y + dy) };
  window.clearTimeout(rest);
  rest = window.setTimeout(settle, restMs);
}

/** wrongOf is what is wrong with where an emitter is put; of two that overlap it is said of both. */
function wrongOf(e: Emitter): string {
  if (held.value?.path === e.x_path) return '';
  const named = trialProblems.value.find((p) => ` ${p.msg}`.includes(` ${e.label} (`));
  return problemAt(e.x_path) || problemAt(e.y_path) || (named ? named.msg + (named.hint ? '; ' + named.hint : '') : '');
}

// --- the picture
const marks = signal(true), lines = signal(true), over = signal(false);
/** spot is where the probe stands; nothing where it was never put, and then it stands on the warmest cell. */
const spot = signal<XY | null>(null);

/** outline is the extent of the board. */
function outline(b: Board) {
  const xs = b.corners?.map((c) => c[0]) ?? [-b.length_m / 2, b.length_m / 2], ys = b.corners?.map((c) => c[1]) ?? [-b.width_m / 2, b.width_m / 2];
  return { x0: Math.min(...xs), x1: Math.max(...xs), y0: Math.min(...ys), y1: Math.max(...ys) };
}

/** frame is what the picture shows: the board, the axes through the origin, and emitters put beyond, but no more than twice as far. */
const frame = computed(() => {
  const b = section('board'), o = outline(b);
  const big = Math.max(o.x1 - o.x0, o.y1 - o.y0);
  let x0 = Math.min(o.x0, 0), x1 = Math.max(o.x1, 0), y0 = Math.min(o.y0, 0), y1 = Math.max(o.y1, 0);
  for (const e of section('emitters')) {
    const [x, y] = triedAt(e), r = Math.max(e.lens_diameter_m ?? 0, e.body_length_m, e.body_width_m) / 2;
    x0 = Math.min(x0, Math.max(x - r, o.x0 - big)); x1 = Math.max(x1, Math.min(x + r, o.x1 + big));
    y0 = Math.min(y0, Math.max(y - r, o.y0 - big)); y1 = Math.max(y1, Math.min(y + r, o.y1 + big));
  }
  const pad = Math.max(x1 - x0, y1 - y0) * 0.045;
  return JSON.stringify([x0 - pad, x1 + pad, y0 - pad, y1 + pad]);
});
/** view is the frame; it stays the same object while its numbers do. */
const view = computed(() => { const [x0, x1, y0, y1] = JSON.parse(frame.value) as [number, number, number, number]; return { x0, x1, y0, y1, w: x1 - x0, h: y1 - y0 }; });

function Rim({ b, name }: { b: Board; name?: string }) {
  if (b.corners) return <polygon class={name} points={b.corners.map(([x, y]) => `${x},${-y}`).join(' ')} />;
  return b.shape === 'disc' ? <circle class={name} r={b.length_m / 2} /> : <rect class={name} x={-b.length_m / 2} y={-b.width_m / 2} width={b.length_m} height={b.width_m} />;
}

/** heat is the map of the board with its range. */
const heat = computed(() => {
  const h = section('board_heat'), temps = h.temp_k ?? [];
  let lo = Infinity, hi = -Infinity, top = 0;
  temps.forEach((t, i) => { if (t > 0) { lo = Math.min(lo, t); if (t > hi) { hi = t; top = i; } } });
  // Beyond the rim cells go on as at it, and further out there is nothing that a line would go around.
  return { h, temps, lo, hi, top, there: hi > 0, full: spread(temps, h.nx, h.ny, 3).map((t) => t || lo) };
});

/** cellOf is the cell at a place; -1 beside the map. */
function cellOf([x, y]: XY) {
  const { h } = heat.value;
  const i = Math.round((x - h.x0_m) / h.step_m), j = Math.round((y - h.y0_m) / h.step_m);
  return i >= 0 && j >= 0 && i < h.nx && j < h.ny ? j * h.nx + i : -1;
}

/** Heat is the map in colours, cut to the board, with its lines. */
function HeatCanvas() {
  const canvas = useRef<HTMLCanvasElement>(null);
  const b = section('board'), { h, lo, hi, there, full } = heat.value, v = view.value;
  useEffect(() => { if (canvas.current && there) paint(canvas.current, h.nx, h.ny, full, lo, hi, heatPixels); }, [h]);
  // The canvas is cut to the board's rim, which its cells straddle.
  const left = h.x0_m - h.step_m / 2, low = h.y0_m - h.step_m / 2, w = h.nx * h.step_m, tall = h.ny * h.step_m;
  const clip = b.corners ? `polygon(${b.corners.map(([x, y]) => `${pc((x - left) / w)} ${pc(1 - (y - low) / tall)}`).join(', ')})`
    : b.shape === 'disc' ? `ellipse(${pc(b.length_m / 2 / w)} ${pc(b.length_m / 2 / tall)} at ${pc(-left / w)} ${pc(1 + low / tall)})`
      : `inset(${pc(Math.max(0, 1 - (b.width_m / 2 - low) / tall))} ${pc(Math.max(0, 1 - (b.length_m / 2 - left) / w))} 0 0)`;
  return <canvas ref={canvas} aria-hidden="true" class={old.value ? 'heat stale' : 'heat'} style={{ left: pc((left - v.x0) / v.w), top: pc((v.y1 - low - tall) / v.h), width: pc(w / v.w), height: pc(tall / v.h), clipPath: clip }} />;
}

/** levels are the temperatures that lines are drawn at, as their numbers say them: °C, or kelvin over the coolest cell. */
const levels = computed(() => {
  const { lo, hi, there } = heat.value, from = over.value ? 0 : lo - zero;
  return there && hi - lo > 1e-3 ? roundTicks(from, from + hi - lo, 11).filter((t) => t > from + 1e-9) : [];
});

/** Lines are those of equal temperature, each with its number where there is room. */
function Lines({ size }: { size: number }) {
  const { h, lo, temps, full } = heat.value, b = section('board');
  const list = levels.value, base = over.value ? lo : zero, withMarks = marks.value;
  const shown = lines.value && !rough.value; // while a value moves there is no time to find them
  const emitters = section('emitters');
  const drawn = useMemo(() => {
    if (!shown) return null;
    const x0 = h.x0_m - h.step_m / 2, y0 = h.y0_m - h.step_m / 2;
    let d = '';
    const texts: { x: number; y: number; text: string }[] = [];
    const taken: XY[] = withMarks ? emitters.flatMap((e): XY[] => [[e.x_m, -e.y_m], [e.x_m, -e.y_m + (e.lens_diameter_m ?? 0) / 2 + size]]) : [];
    for (const level of list) {
      let best: XY | null = null, far = 1.9 * size;
      for (const line of contour(full, h.nx, h.ny, base + level)) {
        line.forEach(([i, j], k) => {
          const x = x0 + i * h.step_m, y = -y0 - j * h.step_m;
          d += `${k ? 'L' : 'M'}${x.toFixed(5)} ${y.toFixed(5)}`;
          // A number stands only where the board is on all sides, so that none hangs over its rim.
          if (k % 4 || [[1.6, 0], [-1.6, 0], [0, 1], [0, -1]].some(([a, c]) => !(temps[cellOf([x + a! * size, -y + c! * size])]! > 0))) return;
          const room = Math.min(...taken.map(([a, c]) => Math.hypot(x - a, y - c)));
          if (room > far) { far = room; best = [x, y]; }
        });
      }
      if (best) {
        taken.push(best);
        texts.push({ x: best[0], y: best[1], text: inFull(level) });
      }
    }
    return { d, texts };
  }, [h, shown, list, size, withMarks, withMarks && emitters]);
  if (!drawn) return null;
  return (
    <g class={old.value ? 'isolines stale' : 'isolines'} aria-hidden="true">
      <clipPath id="rim"><Rim b={b} /></clipPath>
      <g clip-path="url(#rim)"><path class="under" d={drawn.d} /><path d={drawn.d} /></g>
      {drawn.texts.map((t) => <text class="label" x={t.x} y={t.y + 0.32 * size} font-size={0.85 * size} stroke-width={0.17 * size}>{t.text}</text>)}
    </g>
  );
}

/** Axes run through the origin, from which places are counted, with a bar of length. */
function Axes({ size }: { size: number }) {
  const v = view.value, bar = barOf(), t = size * 0.3;
  const ticks = (lo: number, hi: number) => roundTicks(lo, hi, (hi - lo) / bar);
  const d = `M${v.x0} 0H${v.x1}M0 ${-v.y0}V${-v.y1}` + ticks(v.x0, v.x1).map((x) => `M${x} ${-t}V${t}`).join('') + ticks(v.y0, v.y1).map((y) => `M${-t} ${-y}H${t}`).join('');
  return (
    <g class="origin" aria-hidden="true">
      <path class="under" d={d} /><path d={d} />
      <text class="label" x={v.x1 - size * 0.5} y={-size * 0.45} font-size={size} stroke-width={0.17 * size}>x</text>
      <text class="label" x={size * 0.6} y={-v.y1 + size * 0.9} font-size={size} stroke-width={0.17 * size}>y</text>
    </g>
  );
}

/** barOf is a round length of some eighth of the picture. */
const barOf = () => roundTicks(0, Math.max(view.value.w, view.value.h), 8)[1]!;

/** Bar is a length to measure the picture by, and what the ticks of its axes are apart. */
function Bar() {
  const v = view.value, bar = barOf();
  return <div class="ruler" role="img" aria-label={`The bar is ${mm(bar)} long, and so far are the ticks of the axes apart.`}><span class="length" style={{ width: pc(bar / v.w) }} /><span aria-hidden="true">{mm(bar)}, as the ticks; the axes cross at 0, 0</span></div>;
}

/** Emitters are what can be moved, each with a label where there is room. */
function Emitters({ size, grab }: { size: number; grab: (ev: PointerEvent, e: Emitter) => void }) {
  const emitters = section('emitters'), channels = section('channels'), v = view.value, b = section('board');
  const colour = (e: Emitter) => channels.find((c) => c.name === e.channel)?.colour ?? '#888';
  const now = emitters.find((e) => e.x_path === chosen.value) ?? emitters[0];
  const spots = emitters.map((e): XY => {
    const [x, y] = at(e);
    return [Math.min(v.x1, Math.max(v.x0, x)), Math.min(v.y1, Math.max(v.y0, y))];
  });
  const size2 = (e: Emitter): XY => [e.body_length_m || 0.004, e.body_width_m || 0.004];
  const sensor: XY | null = b.has_sensor ? [b.sensor_x_m ?? 0, b.sensor_y_m ?? 0] : null;
  const r = size * 0.55;
  // The chosen one keeps its whole name, and one that is moved or misplaced its position, where there is no room too.
  const order = emitters.map((_, i) => i).sort((i, j) => Number(emitters[j] === now) - Number(emitters[i] === now));
  const list = order.map((i): Named => {
    const e = emitters[i]!, [x, y] = spots[i]!, [l, w] = size2(e);
    const moving = held.value?.path === e.x_path || wrongOf(e) !== '';
    const texts = moving ? [`${e.label}: ${mm(at(e)[0])}, ${mm(at(e)[1])}`] : e === now ? [e.label] : shorter(e.label);
    return { x, y: -y, halfW: l / 2, halfH: w / 2, ring: (e.lens_diameter_m ?? 0) / 2, texts };
  });
  if (sensor) list.push({ x: sensor[0], y: -sensor[1], halfW: r, halfH: r, ring: 0, texts: ['sensor'] });
  const infrared = b.spots ?? [], first = list.length;
  for (const s of infrared) list.push({ x: s.x_m, y: -s.y_m, halfW: s.diameter_m / 2, halfH: s.diameter_m / 2, ring: 0, texts: [s.name] });
  const box: Box = { x: v.x0, y: -v.y1, w: v.w, h: v.h };
  const found = place(list, size, box);
  const label = (k: number, must: string) => {
    const n = list[k]!, spot = found[k];
    if (!spot && !must) return null;
    const w = 0.29 * size * must.length;
    const [x, y, text] = spot ? [spot.x, spot.y, spot.text] : [Math.min(v.x1 - w, Math.max(v.x0 + w, n.x)), n.y > 0 ? n.y - Math.max(n.ring, n.halfH) - 0.4 * size : n.y + Math.max(n.ring, n.halfH) + size, must];
    return <text class="label" x={x - n.x} y={y - n.y} font-size={size} stroke-width={0.17 * size}>{text}</text>;
  };
  return (
    <>
      {sensor && <g transform={`translate(${sensor[0]} ${-sensor[1]})`}><title>sensor</title><path class="sensor" d={`M0 ${-r}L${r} 0L0 ${r}L${-r} 0z`} />{label(first - 1, '')}</g>}
      {infrared.map((s, i) => <g class="infrared" transform={`translate(${s.x_m} ${-s.y_m})`}><title>{`infrared spot ${s.name}, ${mm(s.diameter_m)}`}</title><circle r={s.diameter_m / 2} /><path d={`M${-r / 2} 0H${r / 2}M0 ${-r / 2}V${r / 2}`} />{label(first + i, '')}</g>)}
      {emitters.map((e, i) => {
        const [x, y] = spots[i]!, [l, w] = size2(e), wrong = wrongOf(e), [tx, ty] = at(e);
        const ring = Math.max((e.lens_diameter_m ?? 0) / 2, 0.75 * Math.max(l, w));
        return (
          <g key={e.x_path} class={'emitter' + (e === now ? ' chosen' : '') + (wrong ? ' bad' : '')} transform={`translate(${x} ${-y})`} tabindex={0} role="button" aria-pressed={e === now}
            aria-label={`${e.label}, ${e.part}, at ${mm(tx)}, ${mm(ty)}${wrong ? ', invalid position: ' + wrong : old.value ? '' : `, junction ${celsius(e.junction_k, 0)}`}`}
            onFocus={() => { chosen.value = e.x_path; }} onBlur={() => { if (held.value?.path === e.x_path) settle(); }}
            onPointerDown={(ev) => { ev.preventDefault(); (ev.currentTarget as SVGElement).focus({ preventScroll: true }); chosen.value = e.x_path; grab(ev, e); }}
            onKeyDown={(ev) => {
              const d = arrow(ev, 10);
              if (d) { ev.preventDefault(); nudge(e, 0.0005 * d[0], 0.0005 * d[1]); }
              if (ev.key === 'Escape' && held.value) { ev.preventDefault(); letGo(); }
            }}>
            <title>{`${e.label}, ${e.part}`}</title>
            {(e.lens_diameter_m || wrong) && <circle class="lens" r={wrong ? ring : e.lens_diameter_m! / 2} />}
            <rect x={-l / 2} y={-w / 2} width={l} height={w} fill={colour(e)} class="body" />
            {wrong && <g class="caution" transform={`translate(${0.75 * ring} ${-0.75 * ring}) scale(${size / 14})`}><path d="M0 -9L9 7H-9z" /><path class="cut" d="M0 -4V2M0 3.6V5" /></g>}
            {label(order.indexOf(i), e === now || wrong ? list[order.indexOf(i)]!.texts[0]! : '')}
          </g>
        );
      })}
    </>
  );
}

/** Probe reads the temperature at a point, by a pointer or by arrow keys. */
function Probe({ size }: { size: number }) {
  const { h, temps, top, lo, hi } = heat.value;
  const [x, y] = spot.value ?? [h.x0_m + (top % h.nx) * h.step_m, h.y0_m + Math.floor(top / h.nx) * h.step_m];
  const k = temps[cellOf([x, y])] ?? 0, v = view.value;
  return (
    <g class="probe" transform={`translate(${x} ${-y})`} tabindex={0} role="slider" aria-label="Point probe on the board" aria-valuemin={Math.round(lo - zero)} aria-valuemax={Math.round(hi - zero)} aria-valuenow={Math.round((k || lo) - zero)}
      aria-valuetext={`${k ? celsius(k) : 'outside the board'} at x ${mm(x)}, y ${mm(y)}`}
      onKeyDown={(ev) => {
        const d = arrow(ev, 5);
        if (d) { ev.preventDefault(); spot.value = [Math.min(v.x1, Math.max(v.x0, x + d[0] * h.step_m)), Math.min(v.y1, Math.max(v.y0, y + d[1] * h.step_m))]; }
      }}>
      <circle class="clear" r={1.4 * size} /><Cross size={size} />
    </g>
  );
}

/** Reading is what the probe reads. */
function Reading() {
  const { h, temps, top, lo } = heat.value;
  const [x, y] = spot.value ?? [h.x0_m + (top % h.nx) * h.step_m, h.y0_m + Math.floor(top / h.nx) * h.step_m];
  const k = temps[cellOf([x, y])] ?? 0, room = section('cases')?.[0]?.room_k;
  return (
    <p class="reading" aria-live="off">
      {k > 0 ? <><b>{celsius(k)}</b>, {num(k - lo, 2)} K above board minimum{room !== undefined && `, ${(k - room).toFixed(1)} K above ambient`}</> : 'Outside the board'} <span class="soft">at x {mm(x)}, y {mm(y)}{spot.value ? '' : ', maximum'}</span>
    </p>
  );
}

/** Field is one coordinate of the chosen emitter. */
function Field({ e, axis }: { e: Emitter; axis: 'x' | 'y' }) {
  const [typing, setTyping] = useState<{ path: string; text: string } | null>(null);
  const path = axis === 'x' ? e.x_path : e.y_path, now = at(e)[axis === 'x' ? 0 : 1];
  const shown = held.value?.path === e.x_path ? written(now) : trial.value[path] ?? written(now);
  const wrong = wrongOf(e) !== '';
  const typed = typing?.path === path ? typing.text : null; // what was typed for another emitter is gone
  const commit = (text: string) => {
    const clean = text.trim().replace('−', '-'), bare = /^[-+]?(\d+\.?\d*|\.\d+)$/.test(clean);
    if (clean !== shown && clean !== '') { letGo(); put(e, axis === 'x' ? (bare ? `${clean} mm` : clean) : null, axis === 'y' ? (bare ? `${clean} mm` : clean) : null); }
    setTyping(null);
  };
  return (
    <label>{axis}<input type="text" autocomplete="off" spellcheck={false} value={typed ?? shown} aria-label={`${axis} of ${e.label}`} aria-invalid={wrong} aria-describedby={wrong ? 'put-e' : undefined}
      onInput={(ev) => setTyping({ path, text: ev.currentTarget.value })} onBlur={(ev) => { if (typed !== null) commit(ev.currentTarget.value); }}
      onKeyDown={(ev) => { if (ev.key === 'Enter') commit(ev.currentTarget.value); if (ev.key === 'Escape') setTyping(null); }} /></label>
  );
}

/** Put says where the chosen emitter is, and moves it by numbers and buttons. */
function Put() {
  const emitters = section('emitters');
  const e = emitters.find((x) => x.x_path === chosen.value) ?? emitters[0];
  if (!e) return null;
  const filed = filedAt(e), changed = e.x_path in trial.value || e.y_path in trial.value;
  const wrong = wrongOf(e), other = wrong ? undefined : emitters.map(wrongOf).find(Boolean);
  const button = (what: ComponentChildren, name: string, dx: number, dy: number) => <button type="button" aria-label={`${e.label}: 0.5 mm ${name}`} onClick={() => nudge(e, 0.0005 * dx, 0.0005 * dy)}>{what}</button>;
  return (
    <div class="put" role="group" aria-label="Position of an emitter">
      <label class="which">Emitter<select value={e.x_path} onChange={(ev) => { settle(); chosen.value = ev.currentTarget.value; }}>{emitters.map((x) => <option value={x.x_path}>{x.label}, {x.part}</option>)}</select></label>
      <Field e={e} axis="x" />
      <Field e={e} axis="y" />
      <div class="nudge">{button('←', 'to the left', -1, 0)}{button('→', 'to the right', 1, 0)}{button('↑', 'up', 0, 1)}{button('↓', 'down', 0, -1)}</div>
      {changed && filed && <p class="was">file: {mm(filed[0])}, {mm(filed[1])} <button type="button" class="link" aria-label={`${e.label}: reset to the position in the file`} onClick={() => { letGo(); put(e, written(filed[0]), written(filed[1])); }}>Reset</button></p>}
      <p class="wrong" id="put-e">{wrong || other}</p>
    </div>
  );
}

export function BoardView() {
  const b = section('board');
  const svg = useRef<SVGSVGElement>(null);
  const drag = useRef<{ e: Emitter; dx: number; dy: number; id: number } | null>(null);
  const [px, setPx] = useState(0);
  useEffect(() => {
    const watch = new ResizeObserver(() => setPx(Math.round(svg.current?.clientWidth ?? 0)));
    watch.observe(svg.current!);
    return () => { watch.disconnect(); settle(); };
  }, []);
  const v = view.value, { lo, hi, there } = heat.value, rel = over.value;
  const size = (v.w * Math.max(12, Math.min(14, (px || 520) / 44))) / (px || 520); // of letters, in metres: 12 px to 14 px
  const steps = levels.value, step = steps.length > 1 ? steps[1]! - steps[0]! : 0;
  const point = (ev: PointerEvent): XY => {
    const r = svg.current!.getBoundingClientRect();
    return [v.x0 + ((ev.clientX - r.left) / r.width) * v.w, v.y1 - ((ev.clientY - r.top) / r.height) * v.h];
  };
  const grab = (ev: PointerEvent, e: Emitter) => {
    if (held.value) settle();
    const [x, y] = point(ev), [ex, ey] = at(e);
    drag.current = { e, dx: ex - x, dy: ey - y, id: ev.pointerId };
    svg.current!.setPointerCapture(ev.pointerId);
  };
  const move = (ev: PointerEvent) => {
    const d = drag.current, [x, y] = point(ev);
    if (!d) { spot.value = [x, y]; return; }
    if (ev.pointerId !== d.id) return;
    const [nx, ny] = [half(Math.min(v.x1, Math.max(v.x0, x + d.dx))), half(Math.min(v.y1, Math.max(v.y0, y + d.dy)))], [ox, oy] = at(d.e);
    // One axis that does not move stays as it is, off the half millimetres too.
    if (held.value || Math.hypot(x + d.dx - ox, y + d.dy - oy) > 0.00025) held.value = { path: d.e.x_path, x: Math.abs(nx - ox) < 0.00049 ? ox : nx, y: Math.abs(ny - oy) < 0.00049 ? oy : ny };
  };
  const drop = (keep: boolean) => {
    if (!drag.current) return;
    drag.current = null;
    if (keep) settle(); else letGo();
  };
  return (
    <>
      <section class="card">
        <h2>Board temperature <small>typical ambient</small></h2>
        <p class="hint">Move an emitter: drag it, or select it and use the arrow keys (0.5 mm; 5 mm with Shift). Temperatures are recomputed after the move. Point at the board to read a temperature.</p>
        <div class="choose checks">
          <div role="group" aria-label="Scale of the map"><button type="button" aria-pressed={!rel} onClick={() => { over.value = false; }}>°C</button><button type="button" aria-pressed={rel} onClick={() => { over.value = true; }}>K above board minimum</button></div>
          <label><input type="checkbox" checked={marks.value} onChange={(ev) => { marks.value = ev.currentTarget.checked; }} /> emitters, axes and labels</label>
          <label><input type="checkbox" checked={lines.value} onChange={(ev) => { lines.value = ev.currentTarget.checked; }} /> isotherms</label>
        </div>
        <div class={v.w > 2 * v.h ? 'side bar' : 'side'}>
          <div class="stage">
            <div class="under"><HeatCanvas />
            <svg ref={svg} viewBox={`${v.x0} ${-v.y1} ${v.w} ${v.h}`} role="group" aria-label={`Board, ${mm(b.length_m)} by ${mm(b.width_m)}, seen from above through the board`}
              onPointerDown={(ev) => { if (!drag.current) spot.value = point(ev); }} onPointerMove={move} onPointerUp={() => drop(true)} onPointerCancel={() => drop(false)}>
              <Lines size={size} />
              <Rim b={b} name="edge" />
              {b.holes?.map((o) => (o.diameter_m ? <circle class="hole" cx={o.x_m} cy={-o.y_m} r={o.diameter_m / 2} /> : <rect class="hole" x={o.x_m - o.length_m! / 2} y={-o.y_m - o.width_m! / 2} width={o.length_m} height={o.width_m} />))}
              {marks.value && <Axes size={size} />}
              {marks.value && <rect class="contact" x={b.contact_x_m - b.contact_length_m / 2} y={-b.contact_y_m - b.contact_width_m / 2} width={b.contact_length_m} height={b.contact_width_m} />}
              {there && <Probe size={size} />}
              {marks.value && <Emitters size={size} grab={grab} />}
            </svg></div>
            <Bar />
            {there && <Reading />}
            {there && <Scale lo={rel ? 0 : lo - zero} hi={rel ? hi - lo : hi - zero} unit={rel ? 'K' : '°C'} colours={heatPixels} />}
            {there && <p class="hint">{rel && `Board minimum: ${celsius(lo)}. `}{lines.value && step > 0 && `Isotherms every ${num(step)} K. `}{marks.value && 'Dashed frame: heat sink contact area.'}</p>}
          </div>
          <div class="beside-board">
            <Put />
            <Facts keys={['lamp.junction', 'lamp.junction-max-ambient', 'sink.temperature', 'board.dielectric', 'sensor.temperature', ...(section('board').spots ?? []).map((s) => `spot.${s.name}`), 'lamp.heat']} />
          </div>
        </div>
        <Data title="Emitters as a table" head={['emitter', 'part', 'x', 'y', 'die current', 'dissipation', 'T_sp', 'T_j']}
          rows={() => section('emitters').map((e) => [e.label, e.part, mm(e.x_m), mm(e.y_m), `${num(e.die_a)} A`, `${num(e.heat_w)} W`, celsius(e.solder_k), celsius(e.junction_k)])} />
      </section>
      <section class="card">
        <h2>Temperature drops, junction to ambient</h2>
        <Picture name="layers" label="Temperature drop of each step, junction to ambient" />
        <Data title="As a table" head={['step', 'hot side', 'cold side', 'drop']} rows={() => (section('stack') ?? []).map((s) => [s.name, celsius(s.hot_k), celsius(s.cold_k), `${num(s.hot_k - s.cold_k)} K`])} />
      </section>
      <section class="card">
        <h2>{(section('cases') ?? []).some((c) => c.key.endsWith('-max-ambient-fan-failure')) ? 'Typical and maximum ambient, fan failure' : 'Typical and maximum ambient'}</h2>
        <Picture name="temperature" label="Temperatures from ambient to junction, by case" />
        <Data title="As a table" head={['case', 'ambient', 'heat sink', 'maximum T_j']} rows={() => (section('cases') ?? []).map((c) => [c.title + (c.runaway ? ' (thermal runaway)' : ''), celsius(c.room_k), celsius(c.sink_k), celsius(Math.max(...c.junction_k))])} />
      </section>
    </>
  );
}
