import { useEffect, useRef, useState } from 'preact/hooks';
import { Emitter } from './api';
import { celsius, Data, Facts, mm, num, Picture } from './parts';
import { heatPixels, paint } from './ramp';
import { Scale } from './scale';
import { old, section, tryValues } from './store';

const pc = (share: number) => `${100 * share}%`;
const half = (m: number) => Math.round(m * 2000) / 2; // to half a millimetre, in mm

export function BoardView() {
  const b = section('board'), emitters = section('emitters'), channels = section('channels');
  const canvas = useRef<HTMLCanvasElement>(null);
  const svg = useRef<SVGSVGElement>(null);
  const [held, setHeld] = useState<{ i: number; x: number; y: number } | null>(null);
  const [chosen, setChosen] = useState(0);
  const h = section('board_heat');
  const temps = h.temp_k ?? [];
  const on = temps.filter((t) => t > 0);
  const lo = Math.min(...on), hi = Math.max(...on);
  useEffect(() => { if (canvas.current && on.length > 0) paint(canvas.current, h.nx, h.ny, temps, lo, hi, heatPixels, (t) => t > 0); }, [h]);
  const pad = Math.max(b.length_m, b.width_m) * 0.03;
  const reach = (axis: 0 | 1, size: number) => (b.corners ? 2 * Math.max(...b.corners.map((c) => Math.abs(c[axis]))) : size) + 2 * pad;
  const W = reach(0, b.length_m), H = reach(1, b.width_m);
  const place = (e: Emitter, i: number) => (held?.i === i ? [held.x, held.y] : [e.x_m, e.y_m]) as [number, number];
  const point = (ev: PointerEvent): [number, number] => {
    const r = svg.current!.getBoundingClientRect();
    return [half(((ev.clientX - r.left) / r.width) * W - W / 2) / 1000, -half(((ev.clientY - r.top) / r.height) * H - H / 2) / 1000];
  };
  const move = (e: Emitter, x: number, y: number) => tryValues([{ path: e.x_path, text: `${half(x)} mm` }, { path: e.y_path, text: `${half(y)} mm` }]);
  const colour = (e: Emitter) => channels.find((c) => c.name === e.channel)?.colour ?? '#888';
  return (
    <>
      <section class="card">
        <h2>The board, and how warm it gets <small>usual day</small></h2>
        <p class="hint">Drag an emitter, or choose it and use the arrow keys: half a millimetre a step, 5 mm with Shift. The board’s heat is then solved again.</p>
        <div class="side">
          <div class={old.value ? 'stage stale' : 'stage'}>
            <div class="under"><canvas ref={canvas} aria-hidden="true" class="heat" style={{
              left: pc((h.x0_m - h.step_m / 2 + W / 2) / W), top: pc((H / 2 - h.y0_m + h.step_m / 2 - h.ny * h.step_m) / H), width: pc((h.nx * h.step_m) / W), height: pc((h.ny * h.step_m) / H),
            }} />
            <svg ref={svg} viewBox={`${-W / 2} ${-H / 2} ${W} ${H}`} role="group" aria-label={`Board, ${mm(b.length_m)} by ${mm(b.width_m)}, seen from the emitters’ side`}
              onPointerMove={(ev) => { if (held) { const [x, y] = point(ev); setHeld({ i: held.i, x, y }); } }}
              onPointerUp={() => { if (held) { const e = emitters[held.i]!; if (held.x !== e.x_m || held.y !== e.y_m) move(e, held.x, held.y); setHeld(null); } }}
              onPointerCancel={() => setHeld(null)}>
              {b.corners ? <polygon class="edge" points={b.corners.map(([x, y]) => `${x},${-y}`).join(' ')} /> : b.shape === 'disc' ? <circle r={b.length_m / 2} class="edge" /> : <rect x={-b.length_m / 2} y={-b.width_m / 2} width={b.length_m} height={b.width_m} class="edge" />}
              {b.holes?.map((o) => (o.diameter_m ? <circle class="hole" cx={o.x_m} cy={-o.y_m} r={o.diameter_m / 2} /> : <rect class="hole" x={o.x_m - o.length_m! / 2} y={-o.y_m - o.width_m! / 2} width={o.length_m} height={o.width_m} />))}
              <rect class="contact" x={b.contact_x_m - b.contact_length_m / 2} y={-b.contact_y_m - b.contact_width_m / 2} width={b.contact_length_m} height={b.contact_width_m} />
              {b.has_sensor && <g transform={`translate(${b.sensor_x_m ?? 0} ${-(b.sensor_y_m ?? 0)})`}><path class="sensor" d={`M0 ${-W / 60}L${W / 60} 0L0 ${W / 60}L${-W / 60} 0z`} /><text class="label" y={W / 24} font-size={W / 34}>sensor</text></g>}
              {emitters.map((e, i) => {
                const [x, y] = place(e, i);
                const bl = e.body_length_m || 0.004, bw = e.body_width_m || 0.004;
                return (
                  <g key={e.label} class={i === chosen ? 'emitter chosen' : 'emitter'} transform={`translate(${x} ${-y})`} tabindex={0} role="button"
                    aria-label={`${e.label}, ${e.part}, at ${mm(e.x_m)}, ${mm(e.y_m)}, junction ${celsius(e.junction_k, 0)}`}
                    onFocus={() => setChosen(i)}
                    onPointerDown={(ev) => { ev.preventDefault(); (ev.currentTarget as SVGElement).focus(); svg.current!.setPointerCapture(ev.pointerId); setChosen(i); setHeld({ i, x: e.x_m, y: e.y_m }); }}
                    onKeyDown={(ev) => {
                      const s = ev.shiftKey ? 0.005 : 0.0005;
                      const d = { ArrowLeft: [-s, 0], ArrowRight: [s, 0], ArrowUp: [0, s], ArrowDown: [0, -s] }[ev.key];
                      if (d) { ev.preventDefault(); move(e, e.x_m + d[0]!, e.y_m + d[1]!); }
                    }}>
                    {e.lens_diameter_m && <circle class="lens" r={e.lens_diameter_m / 2} />}
                    <rect x={-bl / 2} y={-bw / 2} width={bl} height={bw} fill={colour(e)} class="body" />
                    <text class="label" y={(e.lens_diameter_m ?? bw) / 2 + W / 36} font-size={W / 34}>{e.label}</text>
                  </g>
                );
              })}
            </svg></div>
            {on.length > 0 && <Scale lo={lo - 273.15} hi={hi - 273.15} unit="°C" colours={heatPixels} />}
          </div>
          <div>
            <Facts keys={['lamp.junction', 'lamp.junction-hottest', 'sink.temperature', 'board.dielectric', 'sensor.temperature', 'lamp.heat']} />
          </div>
        </div>
        <Data title="Emitters as a table" head={['emitter', 'part', 'x', 'y', 'current of a die', 'heat', 'solder point', 'junction']}
          rows={() => emitters.map((e) => [e.label, e.part, mm(e.x_m), mm(e.y_m), `${num(e.die_a)} A`, `${num(e.heat_w)} W`, celsius(e.solder_k), celsius(e.junction_k)])} />
      </section>
      <section class="card">
        <h2>Kelvin by kelvin from the hottest junction to the room</h2>
        <Picture name="layers" label="What each step on the way of the heat costs" />
        <Data title="As a table" head={['step', 'hot side', 'cold side', 'costs']} rows={() => (section('stack') ?? []).map((s) => [s.name, celsius(s.hot_k), celsius(s.cold_k), `${num(s.hot_k - s.cold_k)} K`])} />
      </section>
      <section class="card">
        <h2>Usual day, hottest day, fan stopped</h2>
        <Picture name="temperature" label="Temperature from the room to the hottest junction, case by case" />
        <Data title="As a table" head={['case', 'room', 'sink', 'hottest junction']} rows={() => (section('cases') ?? []).map((c) => [c.title + (c.runaway ? ' (no steady state)' : ''), celsius(c.room_k), celsius(c.sink_k), celsius(Math.max(...c.junction_k))])} />
      </section>
    </>
  );
}
