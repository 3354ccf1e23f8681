// A curve over a quantity, with points and limits drawn on it.
import { inFull } from './format';
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';

export interface Series { name: string; colour: string; dash?: number[]; y: (number | null)[]; width?: number }
export interface Mark { x: number; y: number; name: string; colour: string }
export interface LimitLine { x: number; name: string }

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

export function Chart({ label, x, series, xLabel, yLabel, marks = [], limits = [], height = 230, lines = true }: {
  label: string; x: number[]; series: Series[]; xLabel: string; yLabel: string; marks?: Mark[]; limits?: LimitLine[]; height?: number; lines?: boolean;
}) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const live = useRef({ marks, limits });
  const shown = useRef(''), near = useRef(true), late = useRef<(() => void) | null>(null);
  live.current = { marks, limits };
  const shape = series.map((s) => s.name).join('|') + xLabel + yLabel + height;

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
      width: Math.max(200, el.clientWidth), height, legend: { show: false }, cursor: { drag: { x: false, y: false } },
      scales: { x: { time: false, range: limitsOf }, y: { range: heightOf } },
      axes: [{ ...axis(xLabel, 34) }, axis(yLabel, 52)],
      series: [{}, ...series.map((s): uPlot.Series => ({
        label: s.name, stroke: s.colour || soft, width: s.width ?? 2, dash: s.dash, points: { show: !lines, size: 6, fill: s.colour, stroke: s.colour },
      }))],
      hooks: { draw: [draw] },
    }, [x, ...series.map((s) => s.y)] as uPlot.AlignedData, el);
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
    const now = [x, ...series.map((s) => s.y)], spots = JSON.stringify([marks, limits]);
    if (spots === shown.current && now.every((v, i) => v === data.current[i])) return;
    shown.current = spots;
    data.current = now;
    const draw = () => plot.current?.setData(now as uPlot.AlignedData);
    if (near.current) draw();
    else late.current = draw;
  });

  return (
    <figure class="chart">
      <div ref={box} role="img" aria-label={label} />
      <figcaption>
        {series.length > 1 && series.map((s) => <span class="key"><svg width="26" height="8" aria-hidden="true"><line x1="0" y1="4" x2="26" y2="4" stroke={s.colour} stroke-width="3" stroke-dasharray={s.dash?.join(' ')} /></svg>{s.name}</span>)}
      </figcaption>
    </figure>
  );
}
