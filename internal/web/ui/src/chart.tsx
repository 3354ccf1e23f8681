// A curve over a quantity, with points and limits drawn on it, and a probe that reads it.
import { signal, useComputed } from '@preact/signals';
import { chartFile, csv, measure, named, onPaper } from './export';
import { inFull, num } from './format';
import { useEffect, useRef } from 'preact/hooks';
import { SaveAs } from './pieces';
import uPlot from 'uplot';

/** Series is a curve; file is what it is in the file, where other values are tried. */
export interface Series { name: string; colour: string; dash?: number[]; y: (number | null)[]; width?: number; file?: (number | null)[] | undefined }
export interface Mark { x: number; y: number; name: string; colour: string }
export interface LimitLine { x: number; name: string }

/** probes are where the probe of each axis stands: charts with the same axis show the same one. */
const probes = signal<Record<string, number>>({});

const nearest = (x: number[], at: number) => {
  let k = 0;
  for (let i = 1; i < x.length; i++) if (Math.abs(x[i]! - at) < Math.abs(x[k]! - at)) k = i;
  return k;
};

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

export function Chart({ label, x, series, xLabel, yLabel, marks = [], limits = [], height = 230, lines = true }: {
  label: string; x: number[]; series: Series[]; xLabel: string; yLabel: string; marks?: Mark[]; limits?: LimitLine[]; height?: number; lines?: boolean;
}) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const live = useRef({ marks, limits });
  const shown = useRef(''), near = useRef(true), late = useRef<(() => void) | null>(null);
  live.current = { marks, limits };
  const drawn = [...series, ...series.filter((s) => s.file).map((s): Series => ({ name: `${s.name}, file`, colour: s.colour, dash: [5, 4], width: 1.25, y: s.file! }))];
  const at = useComputed(() => probes.value[xLabel]).value, index = at === undefined || x.length === 0 ? -1 : nearest(x, at);
  const put = (k: number) => { const v = x[Math.min(x.length - 1, Math.max(0, k))]; if (v !== undefined) probes.value = { ...probes.peek(), [xLabel]: v }; };
  const move = useRef(put);
  move.current = put;
  const shape = drawn.map((s) => s.name).join('|') + xLabel + yLabel + height;

  useEffect(() => {
    const el = box.current;
    if (!el) return;
    const ink = css('--lw-ink'), soft = css('--lw-soft'), faint = css('--lw-faint'), beyond = css('--lw-beyond');
    const axis = (text: string, size: number): uPlot.Axis => ({
      label: text, labelSize: 22, size, stroke: ink, font: '12px system-ui, sans-serif', labelFont: '12px system-ui, sans-serif',
      grid: { stroke: faint, width: 1 }, ticks: { stroke: faint, width: 1 }, values: (_, at) => at.map(inFull),
    });
    const draw = (u: uPlot) => {
      const g = u.ctx, r = devicePixelRatio;
      g.save();
      g.font = `${12 * r}px system-ui, sans-serif`;
      // A name has a rim of the page's own colour, so that a curve that runs behind it does not run through it.
      const paper = css('--lw-paper');
      const write = (text: string, x: number, y: number, colour: string) => {
        g.lineJoin = 'round';
        g.lineWidth = 5 * r;
        g.strokeStyle = paper;
        g.strokeText(text, x, y);
        g.fillStyle = colour;
        g.fillText(text, x, y);
      };
      for (const l of live.current.limits) {
        const px = u.valToPos(l.x, 'x', true);
        g.strokeStyle = beyond;
        g.lineWidth = 1.5 * r;
        g.setLineDash([6 * r, 4 * r]);
        g.beginPath();
        g.moveTo(px, u.bbox.top);
        g.lineTo(px, u.bbox.top + u.bbox.height);
        g.stroke();
        g.setLineDash([]);
        g.textAlign = px > u.bbox.left + u.bbox.width * 0.6 ? 'right' : 'left';
        write(l.name, px + (g.textAlign === 'right' ? -5 : 5) * r, u.bbox.top + 13 * r, beyond);
      }
      for (const m of live.current.marks) {
        const px = u.valToPos(m.x, 'x', true), py = u.valToPos(m.y, 'y', true);
        g.fillStyle = m.colour;
        g.strokeStyle = paper;
        g.lineWidth = 2 * r;
        g.beginPath();
        g.arc(px, py, 5.5 * r, 0, 7);
        g.fill();
        g.stroke();
        g.textAlign = px > u.bbox.left + u.bbox.width * 0.55 ? 'right' : 'left';
        write(m.name, px + (g.textAlign === 'right' ? -10 : 10) * r, py + (py > u.bbox.top + 40 * r ? -9 : 18) * r, ink);
      }
      g.restore();
    };
    const limitsOf = (u: uPlot, lo: number, hi: number): [number, number] => {
      for (const l of live.current.limits) { lo = Math.min(lo, l.x); hi = Math.max(hi, l.x); }
      for (const m of live.current.marks) { lo = Math.min(lo, m.x); hi = Math.max(hi, m.x); }
      return [lo, hi + (hi - lo) * 0.02];
    };
    const heightOf = (_: uPlot, lo: number, hi: number): [number, number] => {
      for (const m of live.current.marks) { lo = Math.min(lo, m.y); hi = Math.max(hi, m.y); }
      const room = (hi - lo || 1) * 0.12;
      return [lo >= 0 ? Math.max(0, lo - room) : lo - room, hi + room];
    };
    const u = new uPlot({
      width: Math.max(200, el.clientWidth), height, legend: { show: false }, cursor: { drag: { x: false, y: false }, y: false, bind: { mouseleave: () => null } },
      scales: { x: { time: false, range: limitsOf }, y: { range: heightOf } },
      axes: [{ ...axis(xLabel, 34) }, axis(yLabel, 52)],
      series: [{}, ...drawn.map((s): uPlot.Series => ({
        label: s.name, stroke: s.colour || soft, width: s.width ?? 2, dash: s.dash, points: { show: !lines, size: 6, fill: s.colour, stroke: s.colour },
      }))],
      hooks: { draw: [draw], setCursor: [(u) => { if (u.cursor.event && u.cursor.idx !== null && u.cursor.idx !== undefined) move.current(u.cursor.idx); }] },
    }, [x, ...drawn.map((s) => s.y)] as uPlot.AlignedData, el);
    plot.current = u;
    const watch = new ResizeObserver(() => { if (el.clientWidth > 0 && el.clientWidth !== u.width) u.setSize({ width: el.clientWidth, height }); });
    watch.observe(el);
    // A chart that is not in sight is drawn when it comes into sight.
    const sight = new IntersectionObserver((e) => { near.current = e.at(-1)!.isIntersecting; if (near.current) { late.current?.(); late.current = null; } }, { rootMargin: '200px' });
    sight.observe(el);
    shown.current = '';
    return () => { watch.disconnect(); sight.disconnect(); u.destroy(); plot.current = null; };
  }, [shape]);

  const data = useRef<unknown[]>([]);
  useEffect(() => {
    const now = [x, ...drawn.map((s) => s.y)], spots = JSON.stringify([marks, limits]);
    if (spots === shown.current && now.every((v, i) => v === data.current[i])) return;
    shown.current = spots;
    data.current = now;
    const draw = () => plot.current?.setData(now as uPlot.AlignedData);
    if (near.current) draw();
    else late.current = draw;
  });

  // The line of the probe stands where the probe is, also where another chart or a key moved it.
  useEffect(() => {
    const u = plot.current;
    if (!u || index < 0) return;
    const left = u.valToPos(x[index]!, 'x');
    if (Math.abs((u.cursor.left ?? -10) - left) > 0.5) u.setCursor({ left, top: 1 }, false);
  });

  const measured = measure(yLabel), unit = measured.unit ?? '', axis = named(xLabel);
  const read = (v: number | null | undefined) => (v === null || v === undefined ? '–' : num(v));
  const values = index < 0 ? [] : series.map((s) => ({ name: s.name, value: read(s.y[index]), file: s.file ? read(s.file[index]) : '' }));
  const place = index < 0 ? '' : `${axis.name} ${num(x[index]!, 4)}${axis.unit ? ' ' + axis.unit : ''}`;
  const said = values.map((v) => `${v.name} ${v.value}${unit ? ' ' + unit : ''}${v.file && `, file ${v.file}`}`).join('; ');
  const all = () => drawn.map((s) => ({ name: s.name, colour: s.colour || onPaper.file, dash: s.dash, y: s.y, points: !lines }));
  const about = label.split(/[.;]/)[0]!;
  return (
    <figure class="chart">
      <div ref={box} role="slider" tabIndex={0} aria-label={label} aria-valuemin={x[0] ?? 0} aria-valuemax={x.at(-1) ?? 0} aria-valuenow={index < 0 ? x[0] ?? 0 : x[index]!} aria-valuetext={index < 0 ? 'arrow keys read the values' : `${place}: ${said}`}
        onKeyDown={(ev) => {
          const d = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1, PageUp: 10, PageDown: -10, Home: -x.length, End: x.length }[ev.key];
          if (!d) return;
          ev.preventDefault();
          put(index < 0 ? Math.floor(x.length / 2) : index + d * (ev.shiftKey ? 5 : 1));
        }} />
      <p class="read" aria-hidden="true">{index >= 0 && <>{place}: {values.map((v, k) => <>{k > 0 && ' · '}{values.length > 1 && v.name} <b>{v.value}</b>{unit && ' ' + unit}{v.file && <span> (file {v.file})</span>}</>)}</>}</p>
      <figcaption>
        {drawn.length > 1 && [...series, ...(drawn.length > series.length ? [{ name: 'file', colour: 'var(--ink-3)', dash: [5, 4] }] : [])].map((s) => <span class="key"><svg width="26" height="8" aria-hidden="true"><line x1="0" y1="4" x2="26" y2="4" stroke={s.colour} stroke-width="3" stroke-dasharray={s.dash?.join(' ')} /></svg>{s.name}</span>)}
        <span class="files">
          <SaveAs name={about} what="CSV" kind="csv" text={() => csv([axis, ...drawn.map((s) => ({ name: measured.name && measured.name !== s.name ? `${s.name}, ${measured.name}` : s.name, unit: measured.unit }))], x.map((v, i) => [v, ...drawn.map((s) => s.y[i])]))} />
          <SaveAs name={about} what="SVG" kind="svg" text={() => chartFile({ title: about, x, lines: all(), xLabel, yLabel, marks, limits })} />
        </span>
      </figcaption>
    </figure>
  );
}
