// The drawing of the board: map, isotherms, outline, holes, sensor, emitters, guides and distances.
import { computed, signal } from '@preact/signals';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { Board } from './api';
import { Thing, XY } from './boardedit';
import { begin, cellOf, heat, isRough, layer, waits, zero } from './boardmap';
import {
  addAt, at, chosen, Drilled, duplicate, erase, guides, holes, layout, leads, letGo, Mark, marks, misplaced, move, moves, notedAt, moving, nudge, pick, pickAll, rim, rimAtRest, selected, selection, settle, shape, size as sizeTo, sizing, snap, solvedAt, things, told, tool, trySize, wrongOf,
} from './boardstate';
import { celsius, inFull, mm, roundTicks } from './format';
import { Box, Named, place, shorter } from './labels';
import { words } from './pieces';
import { arrow, Cross } from './probe';
import { contour, heatPixels, paint } from './ramp';
import { parts, refine } from './surface';
import { old, rough as figuresRough, section } from './store';

const pc = (share: number) => `${100 * share}%`;

export const overlay = signal(true), isotherms = signal(true), strings = signal(false);
/** spot is where the probe is; null where it was never put, and then it is at the maximum. */
export const spot = signal<XY | null>(null);

/** frame is what the picture shows: the board, the axes through the origin, and emitters put beyond, but no more than twice as far. */
const frame = computed(() => {
  const o = rimAtRest.value, big = Math.max(o.x1 - o.x0, o.y1 - o.y0);
  let x0 = Math.min(o.x0, 0), x1 = Math.max(o.x1, 0), y0 = Math.min(o.y0, 0), y1 = Math.max(o.y1, 0);
  for (const e of marks.value) {
    const r = Math.max(e.ring, e.halfW, e.halfH);
    x0 = Math.min(x0, Math.max(e.x - r, o.x0 - big)); x1 = Math.max(x1, Math.min(e.x + r, o.x1 + big));
    y0 = Math.min(y0, Math.max(e.y - r, o.y0 - big)); y1 = Math.max(y1, Math.min(e.y + r, o.y1 + big));
  }
  const pad = Math.max(x1 - x0, y1 - y0) * 0.045;
  return JSON.stringify([x0 - pad, x1 + pad, y0 - pad, y1 + pad]);
});
/** view is the frame; it stays the same object while its numbers do. */
export const view = computed(() => { const [x0, x1, y0, y1] = JSON.parse(frame.value) as [number, number, number, number]; return { x0, x1, y0, y1, w: x1 - x0, h: y1 - y0 }; });
export const isBar = computed(() => view.value.w > 2 * view.value.h);

function Rim({ name }: { name?: string }) {
  const r = rim.value;
  if (shape.value === 'polygon') return <polygon class={name} points={layout.value.corners.map((c) => { const [x, y] = at(c.id); return `${x},${-y}`; }).join(' ')} />;
  return shape.value === 'disc' ? <circle class={name} r={r.x1} /> : <rect class={name} x={r.x0} y={-r.y1} width={r.x1 - r.x0} height={r.y1 - r.y0} />;
}

/** HeatCanvas is the map in colours, cut to the board that it is of. */
export function HeatCanvas() {
  const canvas = useRef<HTMLCanvasElement>(null);
  const b = section('board'), { h, lo, hi, there, full } = heat.value, v = view.value;
  useEffect(() => {
    const k = parts(h.nx, h.ny);
    if (canvas.current && there) paint(canvas.current, h.nx * k, h.ny * k, refine(full, h.nx, h.ny, k), lo, hi, heatPixels);
  }, [full, lo, hi]);
  // The canvas is cut to the board's rim, which its cells straddle.
  const left = h.x0_m - h.step_m / 2, low = h.y0_m - h.step_m / 2, w = h.nx * h.step_m, tall = h.ny * h.step_m;
  const clip = b.corners ? `polygon(${b.corners.map(([x, y]) => `${pc((x - left) / w)} ${pc(1 - (y - low) / tall)}`).join(', ')})`
    : b.shape === 'disc' ? `ellipse(${pc(b.length_m / 2 / w)} ${pc(b.length_m / 2 / tall)} at ${pc(-left / w)} ${pc(1 + low / tall)})`
      : `inset(${pc(Math.max(0, 1 - (b.width_m / 2 - low) / tall))} ${pc(Math.max(0, 1 - (b.length_m / 2 - left) / w))} 0 0)`;
  const stale = (old.value && !isRough.value) || waits.value;
  return <canvas ref={canvas} aria-hidden="true" hidden={layer.value === 'none' || !there} class={stale ? 'heat stale' : 'heat'} style={{ left: pc((left - v.x0) / v.w), top: pc((v.y1 - low - tall) / v.h), width: pc(w / v.w), height: pc(tall / v.h), clipPath: clip }} />;
}

/** levels are the temperatures that lines are drawn at, as their numbers say them: °C, or kelvin. */
export const levels = computed(() => {
  const { lo, hi, there } = heat.value, from = layer.value === 'heat' ? lo - zero : 0;
  return there && layer.value !== 'none' && hi - lo > 1e-3 ? roundTicks(from, from + hi - lo, 11).filter((t) => t > from + 1e-9) : [];
});

/** Lines are those of equal temperature, each with its number where there is room. */
function Lines({ size }: { size: number }) {
  const { h, lo, temps, full } = heat.value;
  const list = levels.value, base = layer.value === 'heat' ? zero : lo, withMarks = overlay.value;
  const shown = isotherms.value && !figuresRough.value && !isRough.value; // while a value moves there is no time to find them
  const emitters = marks.value;
  const drawn = useMemo(() => {
    if (!shown) return null;
    const x0 = h.x0_m - h.step_m / 2, y0 = h.y0_m - h.step_m / 2;
    let d = '';
    const texts: { x: number; y: number; text: string }[] = [];
    const taken: XY[] = withMarks ? emitters.flatMap((e): XY[] => [[e.x, -e.y], [e.x, -e.y + e.ring + size]]) : [];
    const part = parts(h.nx, h.ny), surface = refine(full, h.nx, h.ny, part), pitch = h.step_m / part; // the same surface as the colours
    for (const level of list) {
      let best: XY | null = null, far = 1.9 * size;
      for (const line of contour(surface, h.nx * part, h.ny * part, base + level)) {
        line.forEach(([i, j], k) => {
          const x = x0 + i * pitch, y = -y0 - j * pitch;
          d += `${k ? 'L' : 'M'}${x.toFixed(5)} ${y.toFixed(5)}`;
          // A number stands only where the board is on all sides, so that none hangs over its rim.
          if (k % 4 || [[1.6, 0], [-1.6, 0], [0, 1], [0, -1]].some(([a, c]) => !(temps[cellOf(x + a! * size, -y + c! * size)]! > 0))) return;
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
  }, [h, temps, shown, list, size, withMarks, withMarks && emitters]);
  if (!drawn) return null;
  return (
    <g class={old.value ? 'isolines stale' : 'isolines'} aria-hidden="true">
      <clipPath id="rim"><Rim /></clipPath>
      <g clip-path="url(#rim)"><path class="under" d={drawn.d} /><path d={drawn.d} /></g>
      {drawn.texts.map((t) => <text class="label" x={t.x} y={t.y + 0.32 * size} font-size={0.85 * size} stroke-width={0.17 * size}>{t.text}</text>)}
    </g>
  );
}

/** barOf is a round length of some eighth of the picture. */
export const barOf = () => roundTicks(0, Math.max(view.value.w, view.value.h), 8)[1]!;

/** Axes run through the origin, from which positions are measured. */
function Axes({ size }: { size: number }) {
  const v = view.value, d = `M${v.x0} 0H${v.x1}M0 ${-v.y0}V${-v.y1}`;
  return (
    <g class="origin" aria-hidden="true">
      <path class="under" d={d} /><path d={d} />
      <text class="label" x={v.x1 - size * 0.5} y={-size * 0.45} font-size={size} stroke-width={0.17 * size}>x</text>
      <text class="label" x={size * 0.6} y={-v.y1 + size * 0.9} font-size={size} stroke-width={0.17 * size}>y</text>
    </g>
  );
}

/** Rulers are graduated in millimetres: below the board along x, to its left along y; what moves is marked on both. */
function Rulers({ px }: { px: number }) {
  const v = view.value, step = barOf(), fine = step / 5, m = moving.value, lead = m && at(m.lead);
  const graduations = (lo: number, hi: number) => roundTicks(lo, hi, (hi - lo) / fine).filter((t) => t > lo + 2 * px && t < hi - 2 * px);
  const long = (t: number) => Math.abs(t / step - Math.round(t / step)) < 1e-6;
  const d = graduations(v.x0, v.x1).map((x) => `M${x} ${-v.y0}v${-(long(x) ? 7 : 4) * px}`).join('') + graduations(v.y0, v.y1).map((y) => `M${v.x0} ${-y}h${(long(y) ? 7 : 4) * px}`).join('');
  const text = (t: number) => inFull(Math.round(1e4 * t) / 10);
  return (
    <g class="rulers" aria-hidden="true">
      <path d={d} />
      {graduations(v.x0, v.x1).filter((x) => long(x) && x > v.x0 + 24 * px && x < v.x1 - 24 * px).map((x) => <text x={x} y={-v.y0 - 10 * px} font-size={12 * px} text-anchor="middle">{text(x)}</text>)}
      {graduations(v.y0, v.y1).filter((y) => long(y) && y > v.y0 + 30 * px && y < v.y1 - 10 * px).map((y) => <text x={v.x0 + 9 * px} y={-y + 4 * px} font-size={12 * px}>{text(y)}</text>)}
      {lead && <path class="mark" d={`M${lead[0]} ${-v.y0}v${-12 * px}M${v.x0} ${-lead[1]}h${12 * px}`} />}
    </g>
  );
}

/** Strings joins the emitters of each channel in the order of the file, which is that of the string. */
function Strings() {
  return <g class="strings" aria-hidden="true">{layout.value.channels.map((c) => {
    const d = c.uses.flatMap((u) => u.points).map((p, k) => { const [x, y] = at(p.id); return `${k ? 'L' : 'M'}${x} ${-y}`; }).join('');
    return <path d={d} stroke={marks.value.find((m) => m.channelPath === c.path)?.colour} />;
  })}</g>;
}

/** labelled are the places of the labels at rest, relative to their things; a label moves with its thing. */
function labelled(size: number): Map<string, { x: number; y: number; text: string }> {
  const v = view.value, b = section('board'), r = size * 0.55, one = chosen.value.length === 1 ? chosen.value[0]!.id : '';
  const list: (Named & { id: string })[] = [...marks.value].sort((a, c) => Number(c.id === one) - Number(a.id === one)).map((e) => ({
    id: e.id, x: e.x, y: -e.y, halfW: e.halfW, halfH: e.halfH, ring: e.ring,
    texts: misplaced(e) ? [`${e.label}: ${mm(e.x)}, ${mm(e.y)}`, e.label] : e.id === one ? [e.label] : shorter(e.label),
  }));
  const s = layout.value.sensor;
  if (s) list.push({ id: s.id, x: s.x, y: -s.y, halfW: r, halfH: r, ring: 0, texts: ['sensor'] });
  for (const i of b.spots ?? []) list.push({ id: `spot ${i.name}`, x: i.x_m, y: -i.y_m, halfW: i.diameter_m / 2, halfH: i.diameter_m / 2, ring: 0, texts: [i.name] });
  const box: Box = { x: v.x0, y: -v.y1, w: v.w, h: v.h };
  const found = place(list, size, box), out = new Map<string, { x: number; y: number; text: string }>();
  list.forEach((n, k) => { const f = found[k]; if (f) out.set(n.id, { x: f.x - n.x, y: f.y - n.y, text: f.text }); });
  return out;
}

/** Label is the text at a thing; one that moves or is misplaced states its position, without room too. */
function Label({ of, size, found }: { of: Mark; size: number; found: { x: number; y: number; text: string } | undefined }) {
  const v = view.value, m = moves(of.id), lead = leads(of.id), [x, y] = at(of.id);
  const text = lead ? `${of.label}: ${mm(x)}, ${mm(y)}` : found?.text ?? (wrongOf(of) ? `${of.label}: ${mm(x)}, ${mm(y)}` : m || selected(of.id) && chosen.value.length === 1 ? of.label : '');
  if (!text) return null;
  const w = 0.29 * size * text.length, r = Math.max(of.ring, of.halfH);
  const px = Math.min(v.x1 - w, Math.max(v.x0 + w, x + (found?.x ?? 0))) - x;
  const py = found?.y ?? (y < 0 ? -r - 0.4 * size : r + size);
  return <text class="label" x={px} y={py} font-size={size} stroke-width={0.17 * size}>{text}</text>;
}

type Grab = (ev: PointerEvent, t: Thing) => void;

/** nudged moves the selection on by a step, with the rough map. */
export function nudged(lead: string, dx: number, dy: number) {
  const first = !moving.value;
  nudge(lead, dx, dy);
  if (first && moving.value) begin(moving.value.ids);
}

/** stopDrag ends a drag without moving anything; null while there is none. */
let stopDrag: (() => void) | null = null;

/** onKey is what keys do on a thing. */
export function onKey(ev: KeyboardEvent, t: Thing) {
  const d = arrow(ev, 5);
  if (d && !ev.ctrlKey && !ev.metaKey) {
    ev.preventDefault();
    const step = ev.altKey ? 0.0001 / (ev.shiftKey ? 5 : 1) : snap.value || 0.0001;
    nudged(t.id, step * d[0], step * d[1]);
  } else if (ev.key === 'Enter' || ev.key === ' ') { ev.preventDefault(); pick(t.id, ev.key === ' ' || ev.shiftKey || ev.ctrlKey || ev.metaKey); } else if (ev.key === 'Escape' && (moving.value || stopDrag)) { ev.preventDefault(); ev.stopPropagation(); stopDrag?.(); letGo(); }
}

/** boardKey are the keys of the whole view, but in fields. */
export function boardKey(ev: KeyboardEvent) {
  if ((ev.target as Element | null)?.closest?.('input, textarea, select, dialog')) return;
  const key = ev.key.toLowerCase(), ctrl = ev.ctrlKey || ev.metaKey;
  const did = () => { ev.preventDefault(); };
  if (ctrl && !ev.altKey && key === 'd') { did(); duplicate(); } else if (ctrl && !ev.altKey && key === 'a') { did(); pickAll(); }
  if (ctrl || ev.altKey) return;
  if (key === 'delete' || key === 'backspace') { did(); erase(); } else if (key === 'v') tool.value = 'select';
  else if (key === 'a') tool.value = 'add';
  else if (key === 'g') { guides.value = !guides.value; told.value = guides.value ? 'Guides on.' : 'Guides off.'; } else if (key === 'escape') { if (moving.value || stopDrag) { stopDrag?.(); letGo(); } else if (tool.value !== 'select') tool.value = 'select'; else selection.value = new Set(); }
}

function Handle({ t, grab, name, children, extra }: { t: Thing; grab: Grab; name: string; children: preact.ComponentChildren; extra?: string }) {
  const [x, y] = at(t.id), on = selected(t.id), v = view.value;
  return (
    <g class={(extra ?? '') + (on ? ' chosen' : '')} transform={`translate(${Math.min(v.x1, Math.max(v.x0, x))} ${-Math.min(v.y1, Math.max(v.y0, y))})`} tabindex={0} role="button" aria-pressed={on} aria-label={name} data-id={t.id}
      onBlur={() => { if (moving.value?.lead === t.id && !dragging) settle(); }}
      onPointerDown={(ev) => grab(ev, t)} onKeyDown={(ev) => onKey(ev, t)}>
      {children}
    </g>
  );
}
let dragging = false;

/** One is an emitter. */
function One({ e, size, found, grab }: { e: Mark; size: number; found: { x: number; y: number; text: string } | undefined; grab: Grab }) {
  const wrong = wrongOf(e), note = wrong ? undefined : notedAt(e.id), [x, y] = at(e.id), solved = section('emitters')[solvedAt(e.id)];
  const tried = e.filed === null || Math.hypot(x - e.filed[0], y - e.filed[1]) > 1e-9;
  const ring = Math.max(e.ring, 1.5 * Math.max(e.halfW, e.halfH));
  return (
    <Handle t={e} grab={grab} extra={'emitter' + (wrong ? ' bad' : '') + (tried ? ' tried' : '')} name={`${e.label}, ${e.part}, at ${mm(x)}, ${mm(y)}${wrong ? ', invalid position: ' + wrong : old.value || !solved ? '' : `, junction ${celsius(solved.junction_k, 0)}`}${note ? `; ${words[note.severity]}: ${note.title}` : ''}`}>
      <title>{`${e.label}, ${e.part}`}</title>
      <circle class="hit" r={Math.max(e.ring, 1.05 * size)} />
      {selected(e.id) && <circle class="halo" r={ring + 0.25 * size} />}
      {(e.ring > 0 || wrong) && <circle class="lens" r={wrong ? ring : e.ring} />}
      <rect x={-e.halfW} y={-e.halfH} width={2 * e.halfW} height={2 * e.halfH} fill={e.colour} class="body" />
      {note && <g class={`caution ${note.severity}`} transform={`translate(${0.75 * ring} ${-0.75 * ring}) scale(${size / 16})`}><title>{note.title}</title><path d="M0 -9L9 7H-9z" /><path class="cut" d="M0 -4V2M0 3.6V5" /></g>}
      {wrong && <g class="caution" transform={`translate(${0.75 * ring} ${-0.75 * ring}) scale(${size / 14})`}><path d="M0 -9L9 7H-9z" /><path class="cut" d="M0 -4V2M0 3.6V5" /></g>}
      <Label of={e} size={size} found={found} />
    </Handle>
  );
}

/** Ghosts are where moved emitters are by the file. */
function Ghosts() {
  return <g class="ghosts" aria-hidden="true">{[...things.value.values()].filter((t) => t.filed && t.kind !== 'corner').map((t) => <Ghost key={t.id} id={t.id} r={Math.max(t.halfW, t.halfH)} filed={t.filed!} />)}</g>;
}
function Ghost({ id, r, filed }: { id: string; r: number; filed: XY }) {
  const [x, y] = at(id);
  return Math.hypot(x - filed[0], y - filed[1]) > 1e-9 ? <circle cx={filed[0]} cy={-filed[1]} r={r} /> : null;
}

function Emitters({ size, grab }: { size: number; grab: Grab }) {
  const found = labelled(size), r = size * 0.55, s = layout.value.sensor;
  return (
    <>
      {(section('board').spots ?? []).map((i) => { const l = found.get(`spot ${i.name}`); return <g class="infrared" transform={`translate(${i.x_m} ${-i.y_m})`}><title>{`infrared spot ${i.name}, ${mm(i.diameter_m)}`}</title><circle r={i.diameter_m / 2} /><path d={`M${-r / 2} 0H${r / 2}M0 ${-r / 2}V${r / 2}`} />{l && <text class="label" x={l.x} y={l.y} font-size={size} stroke-width={0.17 * size}>{l.text}</text>}</g>; })}
      <Ghosts />
      {s && <Handle t={things.value.get(s.id)!} grab={grab} extra="placed" name={`Sensor, at ${mm(at(s.id)[0])}, ${mm(at(s.id)[1])}`}><title>sensor</title><path class="sensor" d={`M0 ${-r}L${r} 0L0 ${r}L${-r} 0z`} />{found.get(s.id) && <text class="label" x={found.get(s.id)!.x} y={found.get(s.id)!.y} font-size={size} stroke-width={0.17 * size}>sensor</text>}</Handle>}
      {marks.value.map((e) => <One key={e.id} e={e} size={size} found={found.get(e.id)} grab={grab} />)}
    </>
  );
}

const holeName = (h: Drilled) => (h.round ? `Hole ${mm(2 * h.halfW)}` : `Cut-out ${mm(2 * h.halfW)} × ${mm(2 * h.halfH)}`);

function Holes({ grab }: { grab: Grab }) {
  return <>{holes.value.map((h) => (
    <Handle key={h.id} t={h} grab={grab} extra={'placed' + (wrongOf(h) ? ' bad' : '')} name={`${holeName(h)}, at ${mm(at(h.id)[0])}, ${mm(at(h.id)[1])}${wrongOf(h) ? ', invalid position: ' + wrongOf(h) : ''}`}>
      <title>{holeName(h)}</title>
      {h.round ? <circle class="hole" r={h.halfW} /> : <rect class="hole" x={-h.halfW} y={-h.halfH} width={2 * h.halfW} height={2 * h.halfH} />}
    </Handle>
  ))}</>;
}

function Corners({ size, grab }: { size: number; grab: Grab }) {
  if (shape.value !== 'polygon') return null;
  return <>{layout.value.corners.map((c, k) => <Handle key={c.id} t={things.value.get(c.id)!} grab={grab} extra="placed corner" name={`Corner ${k + 1}, at ${mm(at(c.id)[0])}, ${mm(at(c.id)[1])}`}><rect x={-size / 3} y={-size / 3} width={size / 1.5} height={size / 1.5} /></Handle>)}</>;
}

/** Edges are the handles of the sides of a rectangle, or of the rim of a disc; the board keeps its centre. */
function Edges({ size }: { size: number }) {
  const r = rim.value, d = shape.value === 'disc';
  if (shape.value === 'polygon') return null;
  const edge = (key: 'length' | 'width' | 'diameter', axis: 0 | 1, name: string) => {
    const m = axis === 0 ? 2 * r.x1 : 2 * r.y1;
    const there = (ev: PointerEvent) => { const s = (ev.currentTarget as SVGElement).ownerSVGElement!, b = s.getBoundingClientRect(), v = view.value; return axis === 0 ? Math.abs(v.x0 + ((ev.clientX - b.left) / b.width) * v.w) : Math.abs(v.y1 - ((ev.clientY - b.top) / b.height) * v.h); };
    return (
      <g class={`side-handle ${axis === 0 ? 'along' : 'up'}`} tabindex={0} role="slider" aria-label={name} aria-valuenow={Math.round(1e4 * m) / 10} aria-valuemin={2} aria-valuemax={2000} aria-valuetext={mm(m)} transform={axis === 0 ? `translate(${r.x1} 0)` : `translate(0 ${-r.y1})`}
        onPointerDown={(ev) => { if (tool.value !== 'select') return; ev.preventDefault(); ev.stopPropagation(); (ev.currentTarget as SVGElement).focus({ preventScroll: true }); (ev.currentTarget as SVGElement).setPointerCapture(ev.pointerId); sizing.value = { key, m }; }}
        onPointerMove={(ev) => { if (sizing.value?.key === key) { ev.stopPropagation(); sizeTo(key, 2 * there(ev), ev.altKey); } }}
        onPointerUp={(ev) => { if (sizing.value?.key === key) { ev.stopPropagation(); trySize(); } }} onPointerCancel={() => { sizing.value = null; }}
        onKeyDown={(ev) => {
          const a = arrow(ev, 5);
          if (a && a[axis] !== 0) { ev.preventDefault(); sizing.value = { key, m: Math.max(0.002, m + 2 * (snap.value || 0.0001) * a[axis]) }; trySize(); }
        }}>
        <rect x={axis === 0 ? -size / 4 : -size} y={axis === 0 ? -size : -size / 4} width={axis === 0 ? size / 2 : 2 * size} height={axis === 0 ? 2 * size : size / 2} />
        {sizing.value?.key === key && <text class="label" x={axis === 0 ? -2.4 * size : 3 * size} y={axis === 0 ? -1.3 * size : -0.5 * size} font-size={size} stroke-width={0.2 * size}>{mm(m)}</text>}
      </g>
    );
  };
  return <>{edge(d ? 'diameter' : 'length', 0, d ? 'Diameter of the board' : 'Length of the board, along x')}{!d && edge('width', 1, 'Width of the board, along y')}</>;
}

/** Distances are the guides and the distances of what moves: those along x above a bar, the others beside it. */
function Distances({ size }: { size: number }) {
  const m = moving.value, v = view.value;
  if (!m) return null;
  const lead = things.value.get(m.lead), ring = Math.max(lead?.halfW ?? 0, marks.value.find((e) => e.id === m.lead)?.ring ?? 0);
  const above = isBar.value ? rim.value.y1 + 0.55 * (v.y1 - rim.value.y1) : null;
  return (
    <g class="distances" aria-hidden="true">
      {m.guides.map((g) => <path class="guide" d={g.axis === 'x' ? `M${g.at} ${-v.y0}V${-v.y1}` : `M${v.x0} ${-g.at}H${v.x1}`} />)}
      {m.measures.filter((r) => r.to - r.from > 1e-4).map((r) => {
        const t = size * 0.35, mid = (r.from + r.to) / 2, text = inFull(Math.round((r.to - r.from) * 1e4) / 10), w = 0.6 * size * text.length;
        if (r.axis === 'x') {
          const y = -(above ?? r.across), small = r.to - r.from < w + 0.4 * size;
          return <><path d={`M${r.from} ${y}H${r.to}M${r.from} ${y - t}v${2 * t}M${r.to} ${y - t}v${2 * t}`} />{!small && <text class="label" x={mid} y={y - 0.3 * size} font-size={size} stroke-width={0.2 * size}>{text}</text>}</>;
        }
        const x = r.across + ring + 0.8 * size > v.x1 - w ? r.across - ring - 0.8 * size : r.across + ring + 0.8 * size, small = r.to - r.from < 1.2 * size;
        return <><path d={`M${x} ${-r.from}V${-r.to}M${x - t} ${-r.from}h${2 * t}M${x - t} ${-r.to}h${2 * t}`} />{!small && <text class="label" x={x + 0.3 * size + w / 2} y={-mid + 0.3 * size} font-size={size} stroke-width={0.2 * size}>{text}</text>}</>;
      })}
    </g>
  );
}

/** Probe reads the temperature at a point, by a pointer or by arrow keys. */
function Probe({ size }: { size: number }) {
  const { h, temps, top, lo, hi } = heat.value, part = layer.value === 'part';
  const [x, y] = spot.value ?? [h.x0_m + (top % h.nx) * h.step_m, h.y0_m + Math.floor(top / h.nx) * h.step_m];
  const k = temps[cellOf(x, y)] ?? 0, v = view.value, shown = (t: number) => (part ? `${t.toFixed(2)} K` : celsius(t)), off = part ? 0 : zero;
  return (
    <g class="probe" transform={`translate(${x} ${-y})`} tabindex={0} role="slider" aria-label="Point probe on the board" aria-valuemin={Math.round(lo - off)} aria-valuemax={Math.round(hi - off)} aria-valuenow={Math.round((k || lo) - off)}
      aria-valuetext={`${k ? shown(k) : 'outside the board'} at x ${mm(x)}, y ${mm(y)}`}
      onKeyDown={(ev) => {
        const d = arrow(ev, 5);
        if (d) { ev.preventDefault(); spot.value = [Math.min(v.x1, Math.max(v.x0, x + d[0] * h.step_m)), Math.min(v.y1, Math.max(v.y0, y + d[1] * h.step_m))]; }
      }}>
      <circle class="clear" r={1.4 * size} /><Cross size={size} />
    </g>
  );
}

/** Drawing is the board as a picture in which things are selected and moved. */
export function Drawing({ b }: { b: Board }) {
  const svg = useRef<SVGSVGElement>(null);
  const drag = useRef<{ t: Thing; cx: number; cy: number; id: number; ids: ReadonlySet<string>; far: boolean; beside: boolean } | null>(null);
  const [px, setPx] = useState(0);
  const [box, setBox] = useState<{ x0: number; y0: number; x1: number; y1: number; beside: boolean } | null>(null);
  useEffect(() => {
    const watch = new ResizeObserver(() => setPx(Math.round(svg.current?.clientWidth ?? 0)));
    watch.observe(svg.current!);
    return () => { watch.disconnect(); settle(); };
  }, []);
  const v = view.value;
  const size = (v.w * Math.max(12, Math.min(14, (px || 520) / 44))) / (px || 520); // of letters, in metres: 12 px to 14 px
  const point = (ev: PointerEvent): XY => {
    const r = svg.current!.getBoundingClientRect();
    return [v.x0 + ((ev.clientX - r.left) / r.width) * v.w, v.y1 - ((ev.clientY - r.top) / r.height) * v.h];
  };
  const grab: Grab = (ev, t) => {
    if (tool.value !== 'select') return; // the tool adds where the pointer is
    ev.preventDefault();
    ev.stopPropagation();
    if (moving.value) settle();
    const beside = ev.shiftKey || ev.ctrlKey || ev.metaKey;
    if (beside || !selection.value.has(t.id)) pick(t.id, beside);
    (ev.currentTarget as SVGElement).focus({ preventScroll: true });
    if (beside && !selection.value.has(t.id)) return;
    const ids = new Set(chosen.value.map((c) => c.id));
    drag.current = { t, cx: ev.clientX, cy: ev.clientY, id: ev.pointerId, ids, far: false, beside };
    dragging = true;
    stopDrag = () => drop(false);
    svg.current!.setPointerCapture(ev.pointerId);
    begin(ids);
  };
  const pointerMove = (ev: PointerEvent) => {
    const d = drag.current, [x, y] = point(ev);
    if (box) { setBox({ ...box, x1: x, y1: y }); return; }
    if (!d) { spot.value = [x, y]; return; }
    if (ev.pointerId !== d.id) return;
    // By how far the pointer went, wherever the page has scrolled meanwhile.
    const scale = v.w / svg.current!.getBoundingClientRect().width, dx = (ev.clientX - d.cx) * scale, dy = (d.cy - ev.clientY) * scale;
    if (!d.far && Math.hypot(dx, dy) < 0.00025) return;
    d.far = true;
    move(d.ids, d.t.id, dx, dy, (6 * v.w) / (px || 520), ev.altKey);
  };
  const drop = (keep: boolean) => {
    if (box) {
      const [a, c] = [Math.min(box.x0, box.x1), Math.max(box.x0, box.x1)], [e, f] = [Math.min(box.y0, box.y1), Math.max(box.y0, box.y1)];
      const hit = [...things.value.values()].filter((t) => t.x >= a && t.x <= c && t.y >= e && t.y <= f && t.kind !== 'corner');
      const only = hit.some((t) => t.kind === 'emitter') ? hit.filter((t) => t.kind === 'emitter') : hit;
      if (c - a > size / 3 || f - e > size / 3) selection.value = new Set([...(box.beside ? selection.value : []), ...only.map((t) => t.id)]);
      else if (!box.beside) selection.value = new Set();
      setBox(null);
      return;
    }
    const d = drag.current;
    if (!d) return;
    drag.current = null;
    dragging = false;
    stopDrag = null;
    if (!keep) letGo();
    else if (moving.value) settle();
    else if (!d.beside && d.ids.size > 1 && !d.far) pick(d.t.id, false);
  };
  const down = (ev: PointerEvent) => {
    if (drag.current) return;
    const p = point(ev);
    spot.value = p;
    if (tool.value !== 'select') { if (ev.button === 0) { ev.preventDefault(); addAt(p); if (!ev.shiftKey) tool.value = 'select'; } return; }
    if (ev.pointerType === 'mouse' && ev.button === 0 && overlay.value) {
      ev.preventDefault();
      svg.current!.setPointerCapture(ev.pointerId);
      setBox({ x0: p[0], y0: p[1], x1: p[0], y1: p[1], beside: ev.shiftKey });
    }
  };
  return (
    <div class="under"><HeatCanvas />
      <svg ref={svg} class={tool.value === 'select' ? '' : 'adding'} viewBox={`${v.x0} ${-v.y1} ${v.w} ${v.h}`} role="group" aria-label={`Board, ${mm(b.length_m)} by ${mm(b.width_m)}, seen from above through the board`}
        onPointerDown={down} onPointerMove={pointerMove} onPointerUp={() => drop(true)} onPointerCancel={() => drop(false)}>
        <Lines size={size} />
        <Rim name="edge" />
        {overlay.value && <Holes grab={grab} />}
        {overlay.value && <Axes size={size} />}
        {overlay.value && <Rulers px={v.w / (px || 520)} />}
        {overlay.value && <rect class="contact" x={b.contact_x_m - b.contact_length_m / 2} y={-b.contact_y_m - b.contact_width_m / 2} width={b.contact_length_m} height={b.contact_width_m} />}
        {strings.value && <Strings />}
        {heat.value.there && <Probe size={size} />}
        {overlay.value && <Corners size={size} grab={grab} />}
        {overlay.value && <Edges size={size} />}
        {overlay.value && <Emitters size={size} grab={grab} />}
        {overlay.value && <Distances size={size} />}
        {box && <rect class="band-box" x={Math.min(box.x0, box.x1)} y={-Math.max(box.y0, box.y1)} width={Math.abs(box.x1 - box.x0)} height={Math.abs(box.y1 - box.y0)} />}
      </svg></div>
  );
}
