import { useEffect, useRef, useState } from 'preact/hooks';
import { LightMap } from './api';
import { Data, Facts, Knobs, mm, num, Picture } from './parts';
import { lightTable, paint } from './ramp';
import { Scale } from './scale';
import { lamp, old, section } from './store';

/** Level is a false-colour map of a level plane with a point probe. */
function Level({ m, what }: { m: LightMap; what: 'ppfd' | 'lux' }) {
  const emitters = section('emitters'), place = section('place');
  const canvas = useRef<HTMLCanvasElement>(null);
  const [at, setAt] = useState<[number, number]>([Math.floor(m.nx / 2), Math.floor(m.ny / 2)]);
  const cells = m[what];
  const lo = 0, hi = Math.max(...cells);
  const unit = what === 'ppfd' ? 'µmol/m²/s' : 'lx';
  useEffect(() => { if (canvas.current) paint(canvas.current, m.nx, m.ny, cells, lo, hi, lightTable, () => true); }, [m, what]);
  const [i, j] = [Math.min(at[0], m.nx - 1), Math.min(at[1], m.ny - 1)];
  const x = ((i + 0.5) / m.nx - 0.5) * m.length_m, y = ((j + 0.5) / m.ny - 0.5) * m.width_m;
  const here = cells[j * m.nx + i]!;
  const probe = (ev: PointerEvent) => {
    const r = (ev.currentTarget as Element).getBoundingClientRect();
    setAt([Math.min(m.nx - 1, Math.max(0, Math.floor(((ev.clientX - r.left) / r.width) * m.nx))), Math.min(m.ny - 1, Math.max(0, Math.floor((1 - (ev.clientY - r.top) / r.height) * m.ny)))]);
  };
  const n = 5;
  return (
    <div class={old.value ? 'stale' : ''}>
      <div class="mapbox">
        <canvas ref={canvas} class="cells" aria-hidden="true" />
        <svg viewBox={`${-m.length_m / 2} ${-m.width_m / 2} ${m.length_m} ${m.width_m}`} tabindex={0} role="slider" aria-label={`Point probe on the ${m.title}`} aria-valuenow={Math.round(here)} aria-valuemin={0} aria-valuemax={Math.round(hi)}
          aria-valuetext={`${num(here)} ${unit} at ${mm(x)}, ${mm(y)} from the middle`}
          onPointerMove={probe} onPointerDown={probe}
          onKeyDown={(ev) => {
            const d = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[ev.key];
            if (d) { ev.preventDefault(); setAt([Math.min(m.nx - 1, Math.max(0, i + d[0]!)), Math.min(m.ny - 1, Math.max(0, j + d[1]!))]); }
          }}>
          {emitters.map((e) => <circle class="spot" cx={place.offset_x_m + e.x_m} cy={-(place.offset_y_m + e.y_m)} r={m.length_m / 110} />)}
          <g class="probe" transform={`translate(${x} ${-y})`}><path d={`M${-m.length_m / 40} 0H${m.length_m / 40}M0 ${-m.length_m / 40}V${m.length_m / 40}`} class="under" /><path d={`M${-m.length_m / 40} 0H${m.length_m / 40}M0 ${-m.length_m / 40}V${m.length_m / 40}`} /></g>
        </svg>
      </div>
      <Scale lo={lo} hi={hi} unit={unit} colours={lightTable} />
      <p class="reading" aria-live="off"><b>{num(here)} {unit}</b> at x {mm(x)}, y {mm(y)} from the middle</p>
      <Data title="As a table" head={['y \\ x', ...Array.from({ length: n }, (_, c) => mm(((c + 0.5) / n - 0.5) * m.length_m))]}
        rows={() => Array.from({ length: n }, (_, r) => [mm((0.5 - (r + 0.5) / n) * m.width_m), ...Array.from({ length: n }, (_, c) => num(cells[Math.floor((1 - (r + 0.5) / n) * m.ny) * m.nx + Math.floor(((c + 0.5) / n) * m.nx)]!))])} />
    </div>
  );
}

function Scene() {
  const box = useRef<HTMLDivElement>(null);
  const [on, setOn] = useState<'off' | 'loading' | 'on' | 'failed'>('off');
  const scene = useRef<{ show(l: NonNullable<typeof lamp.value>): void; end(): void; turn(yaw: number, pitch: number): void; near(by: number): void } | null>(null);
  const start = async () => {
    setOn('loading');
    try {
      const { build } = await import('./scene');
      scene.current = build(box.current!);
      scene.current.show(lamp.value!);
      setOn('on');
    } catch {
      setOn('failed');
    }
  };
  useEffect(() => () => scene.current?.end(), []);
  useEffect(() => { scene.current?.show(lamp.value!); }, [lamp.value]);
  return (
    <section class="card">
      <h2>In space</h2>
      <p class="hint">{on === 'on' ? 'Drag or use the arrow keys to turn, pinch, wheel or + and − to come nearer.' : 'The place with its water, the lamp at its height, and the light on each plane.'}</p>
      {on === 'off' && <button type="button" onClick={() => void start()}>Show in 3-D</button>}
      {on === 'loading' && <p role="status">Loading the scene…</p>}
      {on === 'failed' && <p class="wrong" role="alert">This browser does not draw in 3-D. The section and the maps hold the same.</p>}
      <div ref={box} class={on === 'on' ? 'scene' : 'scene hidden-box'} tabIndex={on === 'on' ? 0 : -1} role="application" aria-label="The place in 3-D: arrow keys turn, plus and minus come nearer; the maps below hold the same as tables"
        onKeyDown={(ev) => {
          const s = scene.current;
          if (!s) return;
          const turn = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.08], ArrowDown: [0, 0.08] }[ev.key];
          if (turn) { ev.preventDefault(); s.turn(turn[0]!, turn[1]!); }
          if (ev.key === '+' || ev.key === '=') s.near(0.9);
          if (ev.key === '-') s.near(1 / 0.9);
        }} />
    </section>
  );
}

export function PlaceView() {
  const maps = section('maps');
  const [plane, setPlane] = useState(0);
  const [what, setWhat] = useState<'ppfd' | 'lux'>('ppfd');
  const m = maps[Math.min(plane, maps.length - 1)];
  return (
    <>
      <div class="narrow-only"><Knobs prefix="in-" groups={(g) => g === 'Place'} /></div>
      <section class="card">
        <h2>Light on a plane</h2>
        {m && (
          <>
            <div class="choose">
              <div role="group" aria-label="Plane">{maps.map((x, i) => <button type="button" aria-pressed={i === plane} onClick={() => setPlane(i)}>{x.title}</button>)}</div>
              <div role="group" aria-label="Quantity"><button type="button" aria-pressed={what === 'ppfd'} onClick={() => setWhat('ppfd')}>Photons (PPFD)</button><button type="button" aria-pressed={what === 'lux'} onClick={() => setWhat('lux')}>Lux</button></div>
            </div>
            <div class="side">
              <Level m={m} what={what} />
              <Facts keys={[['target.ppfd', 'Mean on the target'], ['target.ppfd-least', 'Least on the target'], ['target.uniformity', 'Least over mean'], ['target.daily-light', 'Light of a day'], ['target.lux', 'Illuminance'], ['light.spill', 'Misses the place'], ['light.reaches', 'Reaches the target']]} />
            </div>
          </>
        )}
      </section>
      <section class="card">
        <h2>The place, cut along its length</h2>
        <Picture name="place" label="The place in section with the edges of each lens’s light" />
      </section>
      <Scene />
    </>
  );
}
