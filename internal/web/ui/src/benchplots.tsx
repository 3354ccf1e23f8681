// What the readings look like beside their predictions: residuals, courses over time or angle, grids over the predicted map.
import { useEffect, useRef } from 'preact/hooks';
import { BenchReading, LightMap } from './api';
import { clock, signOf, worst } from './benchedit';
import { at, bench } from './benchstate';
import { num, roundTicks } from './format';
import { Data } from './pieces';
import { lightPixels, paint } from './ramp';
import { section } from './store';
import { parts, refine } from './surface';

const reach = 5;
const place = (zeta: number) => 50 + (50 * Math.min(reach, Math.max(-reach, zeta))) / reach;

/** Residuals is each reading against its prediction in standard uncertainties of the difference: that of the lamp about zero, that of the meter about the reading. */
export function Residuals() {
  const rows = bench.value!.readings.map((r, i) => ({ r, i, points: r.points.filter((p) => !p.pending) })).filter((x) => x.points.length > 0);
  if (rows.length === 0) return null;
  const far = rows.filter((x) => Math.abs(worst(x.points)!.zeta) > 2).length;
  return (
    <section class="benchplot">
      <h3>Readings against prediction <small>ζ: difference over its standard uncertainty</small></h3>
      <p class="hidden">{rows.length} readings; {far === 0 ? 'none is further off than 2' : `${far} further off than 2`}.</p>
      <div class="zeta" role="group" aria-label="Readings by ζ">
        {rows.map(({ r, i, points }) => {
          const p = worst(points)!, u = Math.hypot(p.u_lamp, p.u_meter) || 1, lamp = (2 * p.u_lamp) / u, meter = (2 * p.u_meter) / u;
          return (
            <button type="button" class={i === at.value ? 'zrow on' : 'zrow'} aria-current={i === at.value || undefined} onClick={() => { at.value = i; }}>
              <span class="zname">{r.label} {r.what}<small> {r.where}</small></span>
              <span class="zplot" aria-hidden="true">
                <i class="lampu" style={{ left: `${place(-lamp)}%`, right: `${100 - place(lamp)}%` }} />
                {points.length === 1 && <i class="meteru" style={{ left: `${place(p.zeta - meter)}%`, right: `${100 - place(p.zeta + meter)}%` }} />}
                {points.map((x) => <i class={`zdot ${signOf(x) ?? ''}${r.doubted ? ' doubted' : ''}`} style={{ left: `${place(x.zeta)}%` }} />)}
              </span>
              <span class="hidden">ζ {num(p.zeta)}, {p.verdict}</span>
            </button>
          );
        })}
        <div class="zaxis" aria-hidden="true">{[-5, -3, -2, 0, 2, 3, 5].map((z) => <span style={{ left: `${place(z)}%` }}>{String(z).replace('-', '−')}</span>)}</div>
      </div>
      <p class="keyline"><span><i class="lampu" />prediction, ±2 u</span><span><i class="meteru" />reading, ±2 u of the meter</span><span>beyond ±2 questionable, ±3 different</span></p>
      <Data title="Residuals as a table" head={['reading', 'quantity', 'place', 'ζ', 'predicted', 'u of the lamp', 'read', 'u of the meter', 'after learning', 'unit']} rows={() => rows.flatMap(({ r, points }) => points.map((p) => [r.label, r.what, r.where, num(p.zeta), num(p.predicted, 4), num(p.u_lamp), num(p.read, 4), num(p.u_meter), num(p.after, 4), r.unit]))} />
    </section>
  );
}

/** Course is a series over time or angle over its predicted band. */
function Course({ r }: { r: BenchReading }) {
  const ps = r.points, x0 = r.by === 'time' ? 0 : ps[0]!.x, x1 = ps.at(-1)!.x > x0 ? ps.at(-1)!.x : x0 + 1;
  const low = Math.min(...ps.map((p) => Math.min(p.predicted - 2 * p.u_lamp, p.read - 2 * p.u_meter, p.after))), high = Math.max(...ps.map((p) => Math.max(p.predicted + 2 * p.u_lamp, p.read + 2 * p.u_meter, p.after)));
  const room = 0.06 * (high - low || 1), lo = low - room, hi = high + room;
  const X = (x: number) => (1000 * (x - x0)) / (x1 - x0), Y = (y: number) => 300 - (300 * (y - lo)) / (hi - lo);
  const line = (f: (p: (typeof ps)[0]) => number) => 'M' + ps.map((p) => `${X(p.x).toFixed(1)} ${Y(f(p)).toFixed(1)}`).join('L');
  const band = line((p) => p.predicted + 2 * p.u_lamp) + 'L' + [...ps].reverse().map((p) => `${X(p.x).toFixed(1)} ${Y(p.predicted - 2 * p.u_lamp).toFixed(1)}`).join('L') + 'Z';
  const xTick = (x: number) => (r.by === 'time' ? clock(x) : `${num(x)}°`);
  const off = ps.filter((p) => p.verdict === 'differs' || p.verdict === 'questionable').length;
  const xs = r.by === 'time' ? [0, 0.25, 0.5, 0.75, 1].map((f) => x0 + f * (x1 - x0)) : roundTicks(x0, x1, 6);
  return (
    <section class="benchplot">
      <h3>{r.label} {r.what} <small>{r.where}, over {r.by}</small></h3>
      <div class="course" role="img" aria-label={`${r.what} over ${r.by}: ${ps.length} readings from ${num(ps[0]!.read)} to ${num(ps.at(-1)!.read)} ${r.unit}; predicted ${num(ps[0]!.predicted)} to ${num(ps.at(-1)!.predicted)} ${r.unit}; ${off} questionable or different`}>
        <div class="cy">{roundTicks(lo, hi, 5).map((v) => <span style={{ bottom: `${(100 * (v - lo)) / (hi - lo)}%` }}>{num(v)}</span>)}<span class="cunit">{r.unit}</span></div>
        <div class="cbox">
          <svg viewBox="0 0 1000 300" preserveAspectRatio="none" aria-hidden="true">
            <path class="cband" d={band} /><path class="cpred" d={line((p) => p.predicted)} /><path class="cafter" d={line((p) => p.after)} />
            {ps.map((p) => <path class="cbar" d={`M${X(p.x)} ${Y(p.read - 2 * p.u_meter)}V${Y(p.read + 2 * p.u_meter)}`} />)}
          </svg>
          {ps.map((p) => <i class={`zdot ${signOf(p) ?? ''}`} style={{ left: `${X(p.x) / 10}%`, top: `${Y(p.read) / 3}%` }} />)}
        </div>
        <div class="cx">{xs.map((x) => <span style={{ left: `${X(x) / 10}%` }}>{xTick(x)}</span>)}</div>
      </div>
      <p class="keyline"><span><i class="lampu" />predicted, ±2 u</span><span><i class="kafter" />after learning</span><span><i class="zdot pass still" />reading, ±2 u of the meter</span></p>
      <Data title={`${r.label} as a table`} head={[r.by === 'time' ? 'time [s]' : 'angle [°]', `read [${r.unit}]`, `predicted [${r.unit}]`, 'u of the lamp', 'u of the meter', 'ζ', 'verdict']} rows={() => ps.map((p) => [num(p.x, 5), num(p.read, 4), num(p.predicted, 4), num(p.u_lamp), num(p.u_meter), num(p.zeta), p.verdict])} />
    </section>
  );
}

/** Ground is the predicted map of the plane, for all channels at full day. */
function Ground({ m, cells, hi }: { m: LightMap; cells: number[]; hi: number }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    if (!canvas.current) return;
    const k = parts(m.nx, m.ny);
    paint(canvas.current, m.nx * k, m.ny * k, refine(cells, m.nx, m.ny, k), 0, hi, lightPixels);
  }, [cells, hi]);
  return <canvas ref={canvas} class="gcells" aria-hidden="true" />;
}

/** Grid is readings of light at places of a plane over the predicted map. */
function Grid({ r }: { r: BenchReading }) {
  const where = section('installation'), full = bench.value!.campaigns[r.campaign]?.states[r.state]?.says.startsWith('All channels');
  const m = section('maps')[r.place === 'surface' ? 1 : 0], cells = full && m ? (r.unit.includes('lx') ? m.lux : m.ppfd) : null;
  const unit = r.unit === 'klx' ? 1000 : 1, hi = Math.max(...(cells ?? []), ...r.points.map((p) => p.read * unit), 1e-9);
  const ground = cells && m ? <Ground m={m} cells={cells} hi={hi} /> : null;
  const mean = r.points.reduce((s, p) => s + p.read / p.predicted, 0) / r.points.length - 1;
  const percent = (f: number) => `${f < 0 ? '−' : '+'}${Math.abs(100 * f).toFixed(0)} %`;
  return (
    <section class="benchplot">
      <h3>{r.label} {r.what} <small>{r.where}, read over predicted{ground ? '; ground: predicted map' : ''}</small></h3>
      <div class="gridmap" role="img" aria-label={`${r.what} at ${r.points.length} places: ${percent(mean)} of the prediction on average; values in the table below`} style={{ aspectRatio: `${where.length_m} / ${where.width_m}` }}>
        {ground}
        {r.points.map((p) => (
          <span class={`gpoint ${signOf(p) ?? ''}`} style={{ left: `${50 + (100 * p.x) / where.length_m}%`, bottom: `${50 + (100 * p.y) / where.width_m}%` }}><i class={`zdot ${signOf(p) ?? ''}`} /><b>{num(p.read)}</b><small>{percent(p.read / p.predicted - 1)}</small></span>
        ))}
      </div>
      <Data title={`${r.label} as a table`} head={['x [mm]', 'y [mm]', `read [${r.unit}]`, `predicted [${r.unit}]`, 'u of the lamp', 'u of the meter', 'ζ', 'verdict']} rows={() => r.points.map((p) => [num(1000 * p.x), num(1000 * p.y), num(p.read, 4), num(p.predicted, 4), num(p.u_lamp), num(p.u_meter), num(p.zeta), p.verdict])} />
    </section>
  );
}

/** Pictures is the series of the readings, each over its prediction. */
export const SeriesPlots = () => <>{bench.value!.readings.filter((r) => r.points.length > 1 && r.by !== '').map((r) => (r.by === 'at' ? <Grid key={r.path} r={r} /> : <Course key={r.path} r={r} />))}</>;
