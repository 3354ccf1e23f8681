// The board: where emitters are, how warm it is there, and the tools to change it.
import { useEffect } from 'preact/hooks';
import { boardKey, Drawing, isBar, isotherms, levels, overlay, spot, strings } from './boarddraw';
import { caseOf, cellOf, follow, heat, isRough, layer, Layer, listen, roughCount, waits, zero } from './boardmap';
import { Cases, Junctions, Rows } from './boardplot';
import { marks, shape } from './boardstate';
import { Merge, Put, Said, Tools } from './boardtools';
import { heat as heatHex } from './colours';
import { celsius, inFull, mm, num, roundTicks } from './format';
import { MapData, mapCSV, mapFile } from './mapfile';
import { Data, Facts, Picture, SaveAs } from './pieces';
import { heatPixels } from './ramp';
import { Scale } from './scale';
import { old, section } from './store';
import { isolines, numbers, parts, refine } from './surface';

/** Reading is what the probe reads. */
function Reading() {
  const { h, temps, top, lo } = heat.value, part = layer.value === 'part';
  const [x, y] = spot.value ?? [h.x0_m + (top % h.nx) * h.step_m, h.y0_m + Math.floor(top / h.nx) * h.step_m];
  const k = temps[cellOf(x, y)] ?? 0, room = section('cases').find((c) => c.key === caseOf.value)?.room_k;
  return (
    <p class="reading" aria-live="off">
      {k > 0 ? part ? <><b>{k.toFixed(2)} K</b> by the selected emitters</> : <><b>{celsius(k)}</b>, {num(k - lo, 2)} K above board minimum{room !== undefined && `, ${(k - room).toFixed(1)} K above ambient`}</> : 'Outside the board'} <span class="soft">at x {mm(x)}, y {mm(y)}{spot.value ? '' : ', maximum'}</span>
    </p>
  );
}

const layers: [Layer, string][] = [['heat', '°C'], ['over', 'K above board minimum'], ['part', 'K from the selection'], ['none', 'none']];

function Layers() {
  const box = (s: { value: boolean }, text: string) => <label><input type="checkbox" checked={s.value} onChange={(ev) => { s.value = ev.currentTarget.checked; }} /> {text}</label>;
  return (
    <div class="choose checks">
      <div class="g"><span class="t">Layer</span><div class="seg" role="group" aria-label="Layer">{layers.map(([l, text]) => <button type="button" aria-pressed={layer.value === l} onClick={() => { layer.value = l; }}>{text}</button>)}</div></div>
      {box(overlay, 'emitters, axes, labels')}{box(isotherms, 'isotherms')}{box(strings, 'string order')}{heat.value.there && layer.value !== 'none' && <MapFiles />}
    </div>
  );
}

/** Chip is the state of the map: rough, being solved, or outdated. */
function Chip() {
  const n = roughCount.value;
  return <p class="chip-row" role="status">{isRough.value ? <span class="chip">rough while moving; {n} of {marks.value.length} emitters not solved yet</span> : old.value || waits.value ? <span class="chip">outdated; being solved</span> : null}</p>;
}

/** MapFiles are the map as files. */
function MapFiles() {
  const data = (): MapData => {
    const { h, temps } = heat.value, part = layer.value === 'part', title = `Board temperature, ${caseOf.value}`;
    const cells = Array.from(temps, (t) => (t > 0 ? Math.round(1e3 * (part ? t : t - zero)) / 1e3 : NaN));
    return { title, xName: 'x', yName: 'y', x0: h.x0_m - h.step_m / 2, y0: h.y0_m - h.step_m / 2, length: h.nx * h.step_m, width: h.ny * h.step_m, nx: h.nx, ny: h.ny, values: [part ? { name: 'rise by the selection', unit: 'K', cells } : { name: 'temperature', unit: '°C', cells }] };
  };
  const svg = () => {
    const d = data(), { h, full, lo, hi } = heat.value, off = layer.value === 'part' ? 0 : zero, canvas = document.querySelector<HTMLCanvasElement>('.drawing canvas')!;
    const k = parts(h.nx, h.ny), surface = refine(full, h.nx, h.ny, k), at = roundTicks(lo - off, hi - off, 8).filter((t) => t > lo - off && t < hi - off);
    const lines = isolines(surface, h.nx * k, h.ny * k, at.map((t) => t + off), []).map((l) => ({ ...l, level: Math.round(1e6 * (l.level - off)) / 1e6 }));
    const labels = numbers(lines, 760, Math.max(120, (760 * d.width) / d.length), (v) => 7 * inFull(v).length);
    return mapFile(d, canvas.toDataURL('image/png'), lines, labels, { lo: lo - off, hi: hi - off, unit: d.values[0]!.unit, colours: heatHex.split(' ').filter((_, i) => i % 4 === 2).map((c) => '#' + c) }, marks.value.map((m) => [m.x, m.y]));
  };
  return <p class="files"><SaveAs name="board temperature" what="CSV" kind="csv" text={() => mapCSV(data())} /> <SaveAs name="board temperature" what="SVG" kind="svg" text={svg} /></p>;
}

/** UnderMap reads and explains the map; it is drawn anew with every step of a move, the rest of the view is not. */
function UnderMap() {
  const { lo, hi, there } = heat.value, of = layer.value, steps = levels.value, step = steps.length > 1 ? steps[1]! - steps[0]! : 0;
  return (
    <div class="under-map">
      <div>{there && of !== 'none' && <Reading />}{of === 'part' && !there && <p class="hint">Select emitters to see how much of the temperature rise they cause.</p>}<Chip /></div>
      <div>{there && of !== 'none' && <Scale lo={of === 'heat' ? lo - zero : 0} hi={of === 'heat' ? hi - zero : hi - lo} unit={of === 'heat' ? '°C' : 'K'} colours={heatPixels} />}
        {there && of !== 'none' && <p class="hint">{of === 'over' && `Board minimum: ${celsius(lo)}. `}{isotherms.value && step > 0 && `Isotherms every ${num(step)} K. `}{overlay.value && 'Dashed frame: heat sink contact area.'}</p>}</div>
      <Layers />
    </div>
  );
}

export function BoardView() {
  useEffect(() => {
    const ends = [listen(), follow()];
    document.addEventListener('keydown', boardKey);
    return () => { ends.forEach((end) => end()); document.removeEventListener('keydown', boardKey); };
  }, []);
  const b = section('board'), cases = section('cases');
  return (
    <>
      <section class="card board-view">
        <div class="board-head"><h2>Board <small>{shape.value}, {mm(b.length_m)} × {mm(b.width_m)}, {marks.value.length} emitters</small></h2><Cases /></div>
        <Tools />
        <div class={isBar.value ? 'stage bar' : 'stage'}>
          <div class="drawing"><Drawing b={b} /></div>
          <div class="still"><Put /><Said /><UnderMap /></div>
          <Junctions />
        </div>
        <div class="beside-board">
          <Merge />
          <Facts keys={['lamp.junction', 'lamp.junction-max-ambient', 'sink.temperature', 'board.dielectric', 'sensor.temperature', ...(section('board').spots ?? []).map((s) => `spot.${s.name}`), 'lamp.heat']} />
        </div>
        <Rows />
        <p class="hint">Drag emitters, holes, sensor and corners of a polygon; drag over an empty part to select several, or use Shift. Keys: V select, A add, Ctrl D duplicate, Del delete, arrows one snap step (Shift 5 steps, Alt 0.1 mm), Space selects beside, Ctrl A all, G guides, Esc cancels.</p>
      </section>
      <section class="card">
        <h2>Temperature drops, junction to ambient</h2>
        <Picture name="layers" label="Temperature drop of each step, junction to ambient" />
        <Data title="As a table" head={['step', 'hot side', 'cold side', 'drop']} rows={() => (section('stack') ?? []).map((s) => [s.name, celsius(s.hot_k), celsius(s.cold_k), `${num(s.hot_k - s.cold_k)} K`])} />
      </section>
      <section class="card">
        <h2>{cases.some((c) => c.key.endsWith('-max-ambient-fan-failure')) ? 'Typical and maximum ambient, fan failure' : 'Typical and maximum ambient'}</h2>
        <Picture name="temperature" label="Temperatures from ambient to junction, by case" />
        <Data title="As a table" head={['case', 'ambient', 'heat sink', 'maximum T_j']} rows={() => cases.map((c) => [c.title + (c.runaway ? ' (thermal runaway)' : ''), celsius(c.room_k), celsius(c.sink_k), celsius(Math.max(...c.junction_k))])} />
      </section>
    </>
  );
}

