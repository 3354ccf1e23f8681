// A map of light on a plane: smooth, with numbered isolines, a probe, and profiles along its lines on the same axes.
import { useComputed } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { inFull, mm, num, roundTicks } from './format';
import { Flat, spot } from './planes';
import { arrow } from './probe';
import { paint } from './ramp';
import { Band } from './scale';
import { column, Isoline, isolines, Label, numbers, parts, profile, refine, row, verdict, words } from './surface';

/** Shown is what a map shows in one quantity: the light of the file as well, where other values are tried. */
export interface Shown { m: Flat; cells: number[]; file?: number[] | undefined; unit: string; lo: number; hi: number; colours: Uint32Array; band?: Band | undefined; kind: 'light' | 'verdict'; stale: boolean }

const tones = { below: 0x1c3d63, within: 0x6d9c6f, above: 0xefe0a0 };
export const toneNames = { [-1]: 'below', 0: 'within', 1: 'above' } as const;
/** tonePixels are the three tones of a verdict map, from −1 to 1. */
const tonePixels = Uint32Array.from({ length: 256 }, (_, i) => {
  const c = i < 85 ? tones.below : i < 171 ? tones.within : tones.above;
  return ((255 << 24) | ((c & 255) << 16) | (c & 0xff00) | (c >> 16)) >>> 0;
});

/** useSize is the size of an element in pixels. */
function useSize(ref: { current: HTMLElement | null }): [number, number] {
  const [size, set] = useState<[number, number]>([0, 0]);
  useEffect(() => {
    const el = ref.current;
    if (!el) return;
    const watch = new ResizeObserver(() => set([el.clientWidth, el.clientHeight]));
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  return size;
}

/** Surface is what is drawn of one set of cells. */
function useSurface(m: Flat, cells: number[] | undefined) {
  const k = parts(m.nx, m.ny);
  return useMemo(() => (cells ? { k, fine: refine(cells, m.nx, m.ny, k), wide: m.nx * k, high: m.ny * k } : null), [cells, m.nx, m.ny]);
}
type Fine = NonNullable<ReturnType<typeof useSurface>>;

const pathOf = (lines: Isoline['lines']) => lines.map((l) => 'M' + l.map(([x, y]) => `${(1000 * x).toFixed(1)} ${(1000 * (1 - y)).toFixed(1)}`).join('L')).join('');

const endsOf = (band: Band | undefined) => (band ? [band.min, band.max].filter((v): v is number => v !== undefined) : []);

/** linesOf are the isolines of cells, on the same surface as the colours, less finely sampled: straight pieces of a third of a cell. */
export function linesOf(m: Flat, cells: ArrayLike<number>, lo: number, hi: number, band: Band | undefined): Isoline[] {
  const k = Math.min(3, parts(m.nx, m.ny));
  return isolines(refine(cells, m.nx, m.ny, k), m.nx * k, m.ny * k, roundTicks(lo, hi, 8).filter((v) => v > lo && v < hi), endsOf(band));
}

/** useLater makes a thing after the frame that asks for it, so that figures and colours do not wait; what was made before stands until then. */
function useLater<T>(first: T, make: () => T, on: unknown[]): T {
  const [made, set] = useState(first);
  useEffect(() => {
    const later = window.setTimeout(() => set(make()));
    return () => window.clearTimeout(later);
  }, on);
  return made;
}

/** Cells paints a surface into a canvas. */
function Cells({ s, of, clip, file }: { s: Fine; of: Shown; clip?: string | undefined; file?: boolean }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    if (!canvas.current) return;
    if (of.kind === 'verdict') paint(canvas.current, s.wide, s.high, s.fine.map((v) => verdict(v, of.band?.min, of.band?.max)), -1, 1, tonePixels);
    else paint(canvas.current, s.wide, s.high, s.fine, of.lo, of.hi, of.colours);
  }, [s, of.lo, of.hi, of.colours, of.kind, of.band?.min, of.band?.max]);
  return <canvas ref={canvas} class={file ? 'cells of-file' : 'cells'} style={clip ? { clipPath: clip } : undefined} aria-hidden="true" />;
}

/** Lines is the isolines of cells with their numbers. They come a moment after the colours, and redraw nothing else. */
function Lines({ of, cells, clip, width, height, from, to }: { of: Shown; cells: number[]; clip?: string | undefined; width: number; height: number; from: number; to: number }) {
  const { m, lo, hi, band, kind } = of;
  const made = useLater({ lines: [] as Isoline[], labels: [] as Label[] }, () => {
    const lines = linesOf(m, cells, lo, hi, band);
    return { lines, labels: kind === 'verdict' || width === 0 ? [] : numbers(lines, width, height, (v) => 7 * inFull(v).length) };
  }, [cells, m.nx, m.ny, lo, hi, band?.min, band?.max, kind, width, height]);
  return (
    <>
      <svg class="isolines" viewBox="0 0 1000 1000" preserveAspectRatio="none" aria-hidden="true" style={clip ? { clipPath: clip } : undefined}>
        {made.lines.map((l) => <>{l.heavy && <path class="requiredline under" d={pathOf(l.lines)} />}<path class={l.heavy ? 'requiredline' : 'isoline'} d={pathOf(l.lines)} /></>)}
      </svg>
      {made.labels.filter((l) => l.x >= from && l.x <= to).map((l) => <span class={l.heavy ? 'level heavy' : 'level'} style={{ left: `${100 * l.x}%`, top: `${100 * l.y}%` }} aria-hidden="true">{inFull(l.level)}</span>)}
    </>
  );
}

/** cellAt is the cell that the probe stands on, of a plane. */
export function useProbe(m: Flat): { i: number; j: number; x: number; y: number; put: (i: number, j: number) => void } {
  const held = useComputed(() => (spot.value?.key === m.key ? spot.value : null)).value;
  const i = Math.min(held?.i ?? Math.floor(m.nx / 2), m.nx - 1), j = Math.min(held?.j ?? Math.floor(m.ny / 2), m.ny - 1);
  return {
    i, j, x: m.x0 + ((i + 0.5) / m.nx) * m.length_m, y: m.y0 + ((j + 0.5) / m.ny) * m.width_m,
    put: (a, b) => { spot.value = { key: m.key, i: Math.min(m.nx - 1, Math.max(0, a)), j: Math.min(m.ny - 1, Math.max(0, b)) }; },
  };
}

/** Grip is a line of the map that is dragged, or moved by arrow keys, in fractions of the map. */
export function Grip({ kind, at, label, text, now, min, max, set, children, step }: {
  kind: 'x' | 'y'; at: number; label: string; text: string; now: number; min: number; max: number; set: (fraction: number) => void; step: (cells: number) => void; children?: ComponentChildren;
}) {
  const move = (ev: PointerEvent) => {
    const r = (ev.currentTarget as Element).closest('.mapbox, .profile')!.getBoundingClientRect();
    set(kind === 'x' ? (ev.clientX - r.left) / r.width : 1 - (ev.clientY - r.top) / r.height);
  };
  return (
    <div class={`grip ${kind}`} style={kind === 'x' ? { left: `${100 * at}%` } : { bottom: `${100 * at}%` }} role="slider" tabIndex={0} aria-label={label} aria-valuetext={text} aria-valuenow={now} aria-valuemin={min} aria-valuemax={max}
      aria-orientation={kind === 'x' ? 'horizontal' : 'vertical'}
      onPointerDown={(ev) => { ev.preventDefault(); ev.stopPropagation(); ev.currentTarget.focus(); ev.currentTarget.setPointerCapture(ev.pointerId); }}
      onPointerMove={(ev) => { if (ev.currentTarget.hasPointerCapture(ev.pointerId)) { ev.stopPropagation(); move(ev); } }}
      onKeyDown={(ev) => { const d = arrow(ev, 5); if (d) { ev.preventDefault(); ev.stopPropagation(); step(d[0] + d[1]); } }}>{children}</div>
  );
}

/** Profile is the light along a line of the map, on the axis of the map: below it along x, beside it along y. */
function Profile({ s, along, i, j }: { s: Shown; along: 'x' | 'y'; i: number; j: number }) {
  const { m, band } = s, upright = along === 'y';
  const line = (cells: number[]) => (upright ? column(cells, m.nx, m.ny, i) : row(cells, m.nx, j));
  const now = line(s.cells), file = s.file && line(s.file);
  const top = Math.max(s.hi, ...now, ...(file ?? [])) * 1.05 || 1, k = parts(m.nx, m.ny);
  const share = (v: number) => Math.max(0, Math.min(1, v / top));
  const path = (cells: number[]) => 'M' + Array.from(profile(cells, k), (v, n) => {
    const a = (1000 * (n + 0.5)) / (k * cells.length), b = 100 * share(v);
    return upright ? `${b.toFixed(2)} ${(1000 - a).toFixed(1)}` : `${a.toFixed(1)} ${(100 - b).toFixed(2)}`;
  }).join('L');
  const at = upright ? j : i, n = upright ? m.ny : m.nx, there = (at + 0.5) / n, value = share(now[at]!);
  const lo = share(band?.min ?? 0), hi = share(band?.max ?? top);
  return (
    <div class={upright ? 'profile upright' : 'profile'} aria-hidden="true">
      <svg viewBox={upright ? '0 0 100 1000' : '0 0 1000 100'} preserveAspectRatio="none">
        {band && hi > lo && (upright ? <rect class="bandfill" x={100 * lo} y="0" width={100 * (hi - lo)} height="1000" /> : <rect class="bandfill" x="0" y={100 * (1 - hi)} width="1000" height={100 * (hi - lo)} />)}
        {file && <path class="of-file" d={path(file)} />}
        <path class={file ? 'now tried' : 'now'} d={path(now)} />
      </svg>
      <i class="crossline" style={upright ? { bottom: `${100 * there}%` } : { left: `${100 * there}%` }} />
      <i class={file ? 'dot tried' : 'dot'} style={upright ? { bottom: `${100 * there}%`, left: `${100 * value}%` } : { left: `${100 * there}%`, bottom: `${100 * value}%` }} />
      {roundTicks(0, top, upright ? 2 : 3).filter((t) => t > 0 && t <= top).map((t) => <span class="tick" style={upright ? { left: `${100 * share(t)}%` } : { bottom: `${100 * share(t)}%` }}>{inFull(t)}</span>)}
      <span class="of">{upright ? `${m.xName} ${mm(m.x0 + ((i + 0.5) / m.nx) * m.length_m)}` : `${m.yName} ${mm(m.y0 + ((j + 0.5) / m.ny) * m.width_m)}`}</span>
    </div>
  );
}

/** wordsOf tells the verdict on a map for those who do not see it. */
const wordsOf = { [-1]: 'below the band', 0: 'within the band', 1: 'above the band' } as const;

/** MapPlot is the map with all that lies on it. Its frame may be larger than the map, as that of a section that reaches up to the lamp. */
export function MapPlot({ s, over, frame, wipe, setWipe, profiles, children, hint }: {
  s: Shown; over?: ComponentChildren; frame?: { y0: number; y1: number } | undefined; wipe?: number | null; setWipe?: (at: number) => void; profiles?: boolean; children?: ComponentChildren; hint?: string;
}) {
  const { m, cells, file, unit, band } = s;
  const box = useRef<HTMLDivElement>(null), [width, height] = useSize(box);
  const now = useSurface(m, cells), before = useSurface(m, wipe === null || wipe === undefined ? undefined : file);
  const y0 = frame?.y0 ?? m.y0, y1 = frame?.y1 ?? m.y0 + m.width_m, tall = y1 - y0;
  const share = m.width_m / tall, low = (m.y0 - y0) / tall;
  const said = useMemo(() => (s.kind === 'verdict' && now ? words(now.fine, now.wide, now.high, band?.min, band?.max) : []), [now, s.kind, band?.min, band?.max]);
  const p = useProbe(m), here = cells[p.j * m.nx + p.i]!, was = file?.[p.j * m.nx + p.i];
  const probe = (ev: PointerEvent) => {
    const r = (ev.currentTarget as Element).getBoundingClientRect();
    p.put(Math.floor(((ev.clientX - r.left) / r.width) * m.nx), Math.floor(((1 - (ev.clientY - r.top) / r.height - low) / share) * m.ny));
  };
  const level = m.yName === 'y', cross = m.xName === 'y';
  const across = (v: number) => `${(100 * (v - m.x0)) / m.length_m}%`, up = (v: number) => `${(100 * (v - y0)) / tall}%`;
  const fx = (p.i + 0.5) / m.nx, fy = low + ((p.j + 0.5) / m.ny) * share;
  const wiping = before !== null && wipe !== null && wipe !== undefined;
  const left = wiping ? `inset(0 ${100 - 100 * wipe}% 0 0)` : undefined, right = wiping ? `inset(0 0 0 ${100 * wipe}%)` : undefined;
  const place = `${m.xName} ${mm(p.x)}, ${m.yName} ${mm(p.y)}`;
  const fileText = was === undefined ? '' : `; file ${num(was)}`;
  return (
    <div class={(s.stale ? 'plot stale' : 'plot') + (profiles ? ' with-profiles' : '')} style={profiles || frame ? { maxWidth: `calc((100vh - 420px) * ${(m.length_m / tall).toFixed(3)} + 150px)` } : undefined}>
      <div class="yticks" aria-hidden="true">
        <span class="name">{level ? 'back' : ''}</span>
        {roundTicks(1e3 * y0, 1e3 * y1, 4).map((t) => <span key={t} style={{ bottom: up(t / 1e3) }}>{inFull(t)}</span>)}
      </div>
      <div class="mapbox" ref={box} style={{ aspectRatio: `${m.length_m} / ${tall}` }}>
        <div class="plate" style={{ bottom: `${100 * low}%`, height: `${100 * share}%` }}>
          {now && <Cells s={now} of={s} />}
          {before && <Cells s={before} of={s} clip={left} file />}
          <Lines of={s} cells={cells} clip={right} width={width} height={height * share} from={wiping ? wipe : 0} to={1} />
          {before && wiping && <Lines of={s} cells={file!} clip={left} width={width} height={height * share} from={0} to={wipe} />}
          {said.map((w) => <span class={`level word ${toneNames[w.of]}`} style={{ left: `${100 * w.x}%`, top: `${100 * w.y}%` }} aria-hidden="true">{toneNames[w.of]}</span>)}
        </div>
        <svg class="over" viewBox={`${m.x0} ${-y1} ${m.length_m} ${tall}`} preserveAspectRatio="none" tabindex={0} role="slider" aria-label={`Point probe, ${m.title}`} aria-valuenow={Math.round(here)} aria-valuemin={0} aria-valuemax={Math.max(Math.round(s.hi), Math.round(here))}
          aria-valuetext={`${num(here)} ${unit} at ${place}${fileText}${s.kind === 'verdict' ? `, ${wordsOf[verdict(here, band?.min, band?.max)]}` : ''}`}
          onPointerMove={probe} onPointerDown={probe}
          onKeyDown={(ev) => { const d = arrow(ev, 5); if (d) { ev.preventDefault(); p.put(p.i + d[0], p.j + d[1]); } }}>
          {over}
        </svg>
        <i class="crossline x" style={{ left: `${100 * fx}%` }} aria-hidden="true" /><i class="crossline y" style={{ bottom: `${100 * fy}%` }} aria-hidden="true" />
        <i class="dot" style={{ left: `${100 * fx}%`, bottom: `${100 * fy}%` }} aria-hidden="true" />
        <div class={`readout${fx > 0.6 ? ' to-left' : ''}${fy > 0.6 ? ' beneath' : ''}`} style={{ left: `${100 * fx}%`, bottom: `${100 * fy}%` }} aria-hidden="true">
          <b>{num(here)}</b> {unit}{was !== undefined && <span>file {num(was)}</span>}<span>{m.xName} {mm(p.x)}, {level ? 'y' : 'height'} {mm(p.y)}</span>
        </div>
        {profiles && <>
          <Grip kind="x" at={fx} label={`Line of the profile along ${m.yName}`} text={`${m.xName} ${mm(p.x)}`} now={Math.round(1e3 * p.x)} min={Math.round(1e3 * m.x0)} max={Math.round(1e3 * (m.x0 + m.length_m))} set={(f) => p.put(Math.floor(f * m.nx), p.j)} step={(d) => p.put(p.i + d, p.j)} />
          <Grip kind="y" at={fy} label={`Line of the profile along ${m.xName}`} text={`${m.yName} ${mm(p.y)}`} now={Math.round(1e3 * p.y)} min={Math.round(1e3 * m.y0)} max={Math.round(1e3 * (m.y0 + m.width_m))} set={(f) => p.put(p.i, Math.floor(((f - low) / share) * m.ny))} step={(d) => p.put(p.i, p.j + d)} />
        </>}
        {wiping && <>
          <span class="wiped file" style={{ right: `${100 - 100 * wipe}%` }} aria-hidden="true">file</span><span class="wiped tried" style={{ left: `${100 * wipe}%` }} aria-hidden="true">tried</span>
          <Grip kind="x" at={wipe} label="Border between the file, on its left, and what is tried" text={`${Math.round(100 * wipe)} % of the map shows the file`} now={Math.round(100 * wipe)} min={0} max={100} set={(f) => setWipe?.(Math.max(0, Math.min(1, f)))} step={(d) => setWipe?.(Math.max(0, Math.min(1, wipe + d / 50)))}><span class="thumb" /></Grip>
        </>}
        {children}
      </div>
      {profiles && <Profile s={s} along="y" i={p.i} j={p.j} />}
      <div class="xticks" aria-hidden="true">{roundTicks(1e3 * m.x0, 1e3 * (m.x0 + m.length_m), 6).map((t) => <span key={t} style={{ left: across(t / 1e3) }}>{inFull(t)}</span>)}</div>
      <div class="axes" aria-hidden="true"><span>{cross ? 'front' : 'left'}</span><span>{hint ?? `${m.xName}, mm, seen from ${level ? 'above' : cross ? 'the right' : 'the front'}`}</span><span>{cross ? 'back' : 'right'}</span></div>
      {profiles && <Profile s={s} along="x" i={p.i} j={p.j} />}
    </div>
  );
}
