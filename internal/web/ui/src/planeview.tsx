// The map of light on a chosen plane, with what belongs to it: channels, band, profiles, the share of area, the file beside it, and
// the lamp and the water as handles of a section.
import { signal, useComputed, useSignalEffect } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useMemo, useState } from 'preact/hooks';
import { csv } from './export';
import { inFull, mm, num } from './format';
import { linesOf, MapPlot, Shown, toneNames, useProbe } from './maps';
import { MapData, mapCSV, mapFile, profileCSV } from './mapfile';
import { Data, Facts, SaveAs } from './pieces';
import {
  askChannels, askCuts, channelLight, channelsOld, cut, cutBusy, CutKind, cutWrong, datum, depth, fileCells, Flat, flatOfCut, forgetChannels, isCut, Kind, levels, maximum, minimum, off, placeOf, places, plane, quantity,
  Quantity, shownCells, shownFlat, stopCuts, unitOf, verdicts, wipe,
} from './planes';
import { light as lightHex } from './colours';
import { lightPixels, paint } from './ramp';
import { lengthOf } from './quantities';
import { Band, Scale } from './scale';
import { figure, filed, lamp, old, section, sentence, standing, state, trial, trying, tryValue } from './store';
import { numbers, parts, refine } from './surface';

const bandText = (b: Band) => (b.min !== undefined && b.max !== undefined ? `${num(b.min)} to ${num(b.max)}` : b.min !== undefined ? `≥ ${num(b.min)}` : `≤ ${num(b.max!)}`);

/** OnPlane is the light of the plane that is shown, by its cells; of the target only what the figures do not tell. */
function OnPlane({ m, cells, unit }: { m: Flat; cells: number[]; unit: string }) {
  let sum = 0;
  for (const v of cells) sum += v;
  const low = minimum(cells), mean = sum / cells.length;
  const fact = (name: string, value: string) => <div><dt>{name}</dt><dd><strong>{value}</strong></dd></div>;
  if (m.key === 'target' && off.value.length === 0) return <dl class="facts">{fact('Maximum on target', `${num(maximum(cells))} ${unit}`)}</dl>;
  return (
    <>
      <h3>On this plane{off.value.length > 0 && ', channels that are shown'}</h3>
      <dl class="facts shown-mean">
        {fact('Mean', `${num(mean)} ${unit}`)}
        {fact('Minimum', `${num(low)} ${unit}`)}
        {fact('Maximum', `${num(maximum(cells))} ${unit}`)}
        {fact('Uniformity (min/mean)', mean > 0 ? `${num((100 * low) / mean)} %` : '–')}
      </dl>
    </>
  );
}

/** Reading is what the probe reads in a cell, in both quantities, with all channels. */
export function Reading({ m, i, j }: { m: Flat; i: number; j: number }) {
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
function Where({ k }: { k: CutKind }) {
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

const kinds: [Kind, string][] = [['target', 'Target'], ['surface', 'Water surface'], ['level', 'Horizontal plane'], ['levels', 'Depths'], ['along', 'Longitudinal section'], ['across', 'Cross section']];

/** lensHeight is the level of the lens fronts above the inside bottom: their mean, where the lamp is tilted. */
const lensHeight = () => { const e = section('emitters'); return e.length === 0 ? 0 : e.reduce((sum, x) => sum + x.lens_at_m[2], 0) / e.length; };

/** Over is what is drawn over a plane, to tell where one is. */
export function Over({ m, y1 }: { m: Flat; y1?: number | undefined }) {
  const p = section('installation'), emitters = section('emitters');
  if (m.yName === 'y') return <>{emitters.flatMap((e) => ['spot under', 'spot'].map((c) => <circle class={c} cx={e.lens_at_m[0]} cy={-e.lens_at_m[1]} r={m.length_m / 110} />))}</>;
  const x1 = m.x0 + m.length_m, axis = m.xName === 'y' ? 1 : 0, board = section('board'), size = axis === 1 ? board.width_m : board.length_m;
  const at = emitters.map((e) => [e.lens_at_m[axis], e.lens_at_m[2]] as const), mid = axis === 1 ? p.offset_y_m : p.offset_x_m, z = lensHeight(), r = m.length_m / 110;
  return (
    <>
      {p.substrate_m > 0 && <rect class="ground" x={m.x0} y={-p.substrate_m} width={m.length_m} height={p.substrate_m} />}
      {p.kind === 'tank' && <path class="glass" d={`M${m.x0} ${-p.height_m}V0H${x1}V${-p.height_m}`} />}
      {p.water_m > p.substrate_m && <><path class="waterline under" d={`M${m.x0} ${-p.water_m}H${x1}`} /><path class="waterline" d={`M${m.x0} ${-p.water_m}H${x1}`} /></>}
      {y1 !== undefined && p.lamp_tilt_rad === 0 && <path class="lamp" d={`M${Math.max(m.x0, mid - size / 2)} ${-z}H${Math.min(x1, mid + size / 2)}`} />}
      {y1 !== undefined && at.map(([x, h]) => <circle class="spot" cx={x} cy={-h} r={r} />)}
    </>
  );
}

let lastBand: Band | undefined;
/** requiredBand is the PPFD that the design requires; the same object as long as it is the same. */
export function requiredBand(): Band | undefined {
  const w = section('requirements').find((x) => x.key === 'target.ppfd');
  const band = w && (w.min !== undefined || w.max !== undefined) ? { min: w.min, max: w.max } : undefined;
  return lastBand = band && lastBand && band.min === lastBand.min && band.max === lastBand.max ? lastBand : band;
}

const dashes = ['', '8 4', '2 3', '10 3 2 3', '5 5', '1 4'];

/** ChannelMean is the part of a channel in the mean: of PPFD at the target the figure, else by its map. */
function ChannelMean({ name, k, w }: { name: string; k: Kind; w: Quantity }) {
  const text = useComputed(() => {
    if (k === 'target' && w === 'ppfd') { const f = figure(name + '.target-ppfd'); if (f) return num(f.value); }
    const c = channelsOld.value ? undefined : channelLight.value?.find((x) => x.name === name);
    return c ? num(w === 'ppfd' ? c.mean_ppfd : c.mean_lux) : '…';
  });
  return <span class="mean">{text}</span>;
}

/** Channels switches the light of each channel on and off, and states its part of the mean. */
function Channels({ k, w }: { k: Kind; w: Quantity }) {
  const list = useComputed(() => JSON.stringify(section('channels').map((c) => [c.name, c.colour]))).value;
  return (
    <div class="switches" role="group" aria-label="Channels that are shown">
      {(JSON.parse(list) as [string, string][]).map(([name, colour], n) => (
        <label key={name}>
          <input type="checkbox" checked={!off.value.includes(name)} onChange={(e) => { off.value = e.currentTarget.checked ? off.value.filter((x) => x !== name) : [...off.value, name]; }} />
          <svg width="24" height="8" aria-hidden="true"><line x1="0" y1="4" x2="24" y2="4" stroke={colour} stroke-width="3" stroke-dasharray={dashes[n % dashes.length]} /></svg>
          {name} <ChannelMean key={k + w} name={name} k={k} w={w} />
        </label>
      ))}
      <span class="soft">mean, {unitOf(w)}</span>
    </div>
  );
}

/** AreaShares is how much of the target has the required light, as the figures state it, of the file as well. */
function AreaShares({ band }: { band: Band }) {
  const keys = ['below', 'within', 'above'] as const;
  const now = useComputed(() => keys.map((k) => figure('target.area-' + k))).value, was = useComputed(() => (trying.value ? keys.map((k) => filed('target.area-' + k)) : [])).value;
  if (!now[1]) return null;
  const moved = was[1] !== undefined && was.some((f, i) => f?.text !== now[i]?.text);
  const limits = { below: band.min !== undefined ? `below ${num(band.min)}` : '', within: 'within', above: band.max !== undefined ? `above ${num(band.max)}` : '' };
  const bar = (name: string, list: typeof now) => (
    <div class="areabar"><span>{name}</span><div aria-hidden="true">{keys.map((k, i) => { const v = list[i]?.value ?? 0; return v > 0 && <i class={k} style={{ flexGrow: v }}>{v > 0.06 ? `${num(100 * v, 2)} % ${v > 0.14 ? limits[k] : ''}` : ''}</i>; })}</div></div>
  );
  return (
    <div class="areas">
      <h3>{now[1].text} of the {section('maps')[0]?.title ?? 'target'} is within {bandText(band)} µmol/m²/s {moved && <small class="soft">file {was[1]!.text}</small>}</h3>
      {bar(moved ? 'tried' : '', now)}
      {moved && bar('file', was)}
      <p class="hidden">{keys.filter((k) => limits[k]).map((k) => `${limits[k]}: ${now[keys.indexOf(k)]?.text ?? '–'}`).join('; ')}</p>
      <Facts keys={[['target.area-below', 'Below the band'], ['target.area-within', 'Within the band'], ['target.area-above', 'Above the band']].filter(([k]) => figure(k!)) as [string, string][]} />
    </div>
  );
}

/** useKnob is a value of the installation that a handle moves, in millimetres. */
function useKnob(path: string) {
  const k = section('knobs').find((x) => x.path === path && x.unit === 'mm');
  if (!k) return null;
  const read = (text: string | undefined) => { const v = lengthOf(text ?? ''); return v === null ? k.value : 1e3 * v; };
  const now = read(trial.value[path] ?? standing(path) ?? k.text);
  return { path, now, file: path in trial.value ? read(standing(path)) : now, min: k.min, max: k.max, set: (v: number) => tryValue(path, `${Math.round(Math.min(k.max, Math.max(k.min, v)))} mm`) };
}

/** held is the upper edge of a section while a handle is dragged, so that the drawing does not move under the pointer. */
const held = signal<number | null>(null);

/** Handle moves a height of the section: the lamp, or the water. */
function Handle({ knob, z, x, tall, label, kind }: { knob: NonNullable<ReturnType<typeof useKnob>>; z: number; x: string; tall: number; label: string; kind: 'lamp' | 'water' }) {
  const [from, setFrom] = useState<{ y: number; value: number; perPx: number } | null>(null);
  const text = mm(knob.now / 1e3), tried = knob.now !== knob.file;
  return (
    <div class={`handle ${kind}${tried ? ' tried' : ''}`} style={{ bottom: `${(100 * z) / tall}%`, left: x }} role="slider" tabIndex={0} aria-orientation="vertical" aria-label={label} aria-valuetext={text + (tried ? `, file ${mm(knob.file / 1e3)}` : '')} aria-valuenow={Math.round(knob.now)} aria-valuemin={knob.min} aria-valuemax={knob.max}
      onPointerDown={(ev) => {
        ev.preventDefault();
        ev.stopPropagation();
        ev.currentTarget.focus();
        ev.currentTarget.setPointerCapture(ev.pointerId);
        held.value = tall;
        setFrom({ y: ev.clientY, value: knob.now, perPx: (1e3 * tall) / ev.currentTarget.closest('.mapbox')!.getBoundingClientRect().height });
      }}
      onPointerMove={(ev) => { if (from) { ev.stopPropagation(); knob.set(from.value + (from.y - ev.clientY) * from.perPx); } }}
      onPointerUp={() => { setFrom(null); held.value = null; }} onPointerCancel={() => { setFrom(null); held.value = null; }}
      onKeyDown={(ev) => {
        const d = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[ev.key];
        if (d) { ev.preventDefault(); ev.stopPropagation(); knob.set(Math.round(knob.now) + d * (ev.shiftKey ? 10 : 1)); }
      }}>
      <span class="text">{label}: <b>{text}</b>{tried && <small> file {mm(knob.file / 1e3)}</small>}</span>
    </div>
  );
}

/** SectionHandles are the lamp and the water surface of a section. */
export function SectionHandles({ m, tall }: { m: Flat; tall: number }) {
  const p = section('installation'), hanging = useKnob('installation.hanging_height'), water = useKnob('installation.water_depth');
  const mid = m.xName === 'y' ? p.offset_y_m : p.offset_x_m;
  return (
    <>
      {hanging && <Handle knob={hanging} z={lensHeight()} x={`${Math.max(4, Math.min(96, (100 * (mid - m.x0)) / m.length_m))}%`} tall={tall} label="Hanging height" kind="lamp" />}
      {water && p.water_m > 0 && <Handle knob={water} z={p.water_m} x="96%" tall={tall} label="Water depth" kind="water" />}
    </>
  );
}

/** topOf is the upper edge of a section: above lamp and rim, at a multiple of 50 mm. */
export const topOf = () => held.value ?? Math.ceil((Math.max(lensHeight(), section('installation').height_m) + 0.06) / 0.05) * 0.05;

/** dataOf is what the files of a map hold: what is shown, both quantities, each channel and the file where they are known. */
function dataOf(m: Flat, cells: number[], file: number[] | null, w: Quantity): MapData {
  const unit = unitOf(w), name = w === 'ppfd' ? 'PPFD' : 'illuminance', part = off.value.length > 0 ? ', channels shown' : '';
  const values = [{ name: name + part, unit, cells: cells as ArrayLike<number> }];
  if (file) values.push({ name: `${name}${part}, file`, unit, cells: file });
  const other = w === 'ppfd' ? m.lux : m.ppfd;
  if (other) values.push(w === 'ppfd' ? { name: 'illuminance', unit: 'lx', cells: other } : { name: 'PPFD', unit: 'µmol/m²/s', cells: other });
  if (!channelsOld.value) for (const c of channelLight.value ?? []) values.push({ name: `${name}, ${c.name}`, unit, cells: c[w] });
  return { title: `${m.title}, ${name} in ${unit}`, xName: m.xName, yName: m.yName, x0: m.x0, y0: m.y0, length: m.length_m, width: m.width_m, nx: m.nx, ny: m.ny, values };
}

/** drawFile draws what the map shows as a file. */
function drawFile(s: Shown, d: MapData): string {
  const { m } = s, k = parts(m.nx, m.ny), fine = refine(s.cells, m.nx, m.ny, k), canvas = document.createElement('canvas');
  paint(canvas, m.nx * k, m.ny * k, fine, s.lo, s.hi, s.colours);
  const lines = linesOf(m, s.cells, s.lo, s.hi, s.band);
  const labels = numbers(lines, 760, (760 * m.width_m) / m.length_m, (v) => 7 * inFull(v).length);
  const colours = lightHex.split(' ').filter((_, i) => i % 4 === 2).map((c) => '#' + c);
  return mapFile(d, canvas.toDataURL('image/png'), lines, labels, { lo: s.lo, hi: s.hi, unit: s.unit, colours }, m.yName === 'y' ? section('emitters').map((e) => [e.lens_at_m[0], e.lens_at_m[1]]) : []);
}

/** MapDataMenu is the table of a map, and its files. */
function MapDataMenu({ s, file, w }: { s: Shown; file: number[] | null; w: Quantity }) {
  const { m, cells } = s, p = useProbe(m), data = () => dataOf(m, cells, file, w);
  const cols = Math.min(7, m.nx), rows = Math.min(m.yName === 'y' ? 5 : 7, m.ny);
  const col = (c: number) => Math.floor(((c + 0.5) / cols) * m.nx), row = (r: number) => Math.floor((1 - (r + 0.5) / rows) * m.ny);
  return (
    <Data title="Data" head={[`${m.yName} \\ ${m.xName}`, ...Array.from({ length: cols }, (_, c) => mm(m.x0 + ((col(c) + 0.5) / m.nx) * m.length_m))]}
      rows={() => Array.from({ length: rows }, (_, r) => [mm(m.y0 + ((row(r) + 0.5) / m.ny) * m.width_m), ...Array.from({ length: cols }, (_, c) => num(cells[row(r) * m.nx + col(c)]!))])}
      files={<>
        <SaveAs name={m.title} what="CSV of the map" kind="csv" text={() => mapCSV(data())} />
        <SaveAs name={`${m.title} profile ${m.xName}`} what={`CSV of the profile along ${m.xName}`} kind="csv" text={() => profileCSV(data(), 'x', p.i, p.j)} />
        <SaveAs name={`${m.title} profile ${m.yName}`} what={`CSV of the profile along ${m.yName}`} kind="csv" text={() => profileCSV(data(), 'y', p.i, p.j)} />
        <SaveAs name={m.title} what="SVG" kind="svg" text={() => drawFile(s, data())} />
      </>} />
  );
}

/** Levels is several level planes side by side, in one scale, with one probe. */
function Levels({ w }: { w: Quantity }) {
  const list = levels.value, p = section('installation');
  if (!list) return <p class="loading" role="status">{cutWrong.value ? '' : 'Computing the light on four levels…'}</p>;
  const hi = Math.max(...list.map((l) => maximum(l[w]))), lo = Math.min(...list.map((l) => minimum(l[w])));
  const unit = unitOf(w), stale = old.value || cutBusy.value;
  const mean = (v: number[]) => v.reduce((a, b) => a + b, 0) / v.length;
  return (
    <>
      <div class="levels">
        {list.map((l) => {
          const m = { ...flatOfCut('levels', l), title: sentence(l.title).slice(0, -1) }, average = mean(l[w]);
          return (
            <figure key={l.at_m}>
              <figcaption><b>{m.title}</b> <span class="soft">{datum(p.kind)} {mm(l.at_m)}</span><br />mean {num(average)} {unit}, min/mean {average > 0 ? `${num((100 * minimum(l[w])) / average)} %` : '–'}</figcaption>
              <MapPlot s={{ m, cells: l[w], unit, lo, hi, colours: lightPixels, kind: 'light', stale }} over={<Over m={m} />} />
            </figure>
          );
        })}
      </div>
      <Scale lo={lo} hi={hi} unit={unit} colours={lightPixels} />
      <Data title="Data" head={['level', `${datum(p.kind)}, mm`, `mean, ${unit}`, `minimum, ${unit}`, `maximum, ${unit}`, 'min/mean, %']}
        rows={() => list.map((l) => [l.title, num(1e3 * l.at_m, 4), num(mean(l[w])), num(minimum(l[w])), num(maximum(l[w])), num((100 * minimum(l[w])) / mean(l[w]))])}
        files={<SaveAs name="levels" what="CSV of all cells" kind="csv" text={() => csv([{ name: 'height', unit: 'mm' }, { name: 'x', unit: 'mm' }, { name: 'y', unit: 'mm' }, { name: w === 'ppfd' ? 'PPFD' : 'illuminance', unit }],
          list.flatMap((l) => l[w].map((v, c) => [Number((1e3 * l.at_m).toFixed(3)), Number((1e3 * (((c % l.nx) + 0.5) / l.nx - 0.5) * l.length_m).toFixed(3)), Number((1e3 * ((Math.floor(c / l.nx) + 0.5) / l.ny - 0.5) * l.width_m).toFixed(3)), v])))} />} />
    </>
  );
}

/** useWipeKey lets the key W begin and end the comparison with the file. */
function useWipeKey() {
  useEffect(() => {
    const key = (e: KeyboardEvent) => {
      if (e.key.toLowerCase() !== 'w' || e.ctrlKey || e.metaKey || e.altKey || (e.target as Element | null)?.closest?.('input:not([type=range], [type=checkbox]), textarea, select, dialog')) return;
      if (fileCells.peek()) { e.preventDefault(); wipe.value = wipe.value === null ? 0.5 : null; }
    };
    document.addEventListener('keydown', key);
    return () => document.removeEventListener('keydown', key);
  }, []);
}

/** Toolbar chooses what the map shows. */
function Toolbar({ k, w, band }: { k: Kind; w: Quantity; band: Band | undefined }) {
  const surface = useComputed(() => section('maps').length > 1).value, water = useComputed(() => section('installation').water_m > 0).value, beside = useComputed(() => fileCells.value !== null).value;
  return (
    <div class="choose">
      <div role="group" aria-label="Plane" class="seg">{kinds.filter(([x]) => x !== 'surface' || surface).map(([x, name]) => <button type="button" aria-pressed={x === k} onClick={() => { plane.value = x; }}>{x === 'levels' && !water ? 'Heights' : name}</button>)}</div>
      <div role="group" aria-label="Quantity" class="seg"><button type="button" aria-pressed={w === 'ppfd'} onClick={() => { quantity.value = 'ppfd'; }}>PPFD</button><button type="button" aria-pressed={w === 'lux'} onClick={() => { quantity.value = 'lux'; }}>Illuminance</button></div>
      {k === 'target' && w === 'ppfd' && band && <div role="group" aria-label="Drawn" class="seg"><button type="button" aria-pressed={!verdicts.value} onClick={() => { verdicts.value = false; }}>Light</button><button type="button" aria-pressed={verdicts.value} onClick={() => { verdicts.value = true; }}>Within the band</button></div>}
      {trying.value && k !== 'levels' && <button type="button" aria-pressed={wipe.value !== null && beside} disabled={!beside} title="W" onClick={() => { wipe.value = wipe.value === null ? 0.5 : null; }}>Compare with the file</button>}
    </div>
  );
}

/** useShown is the map that is shown. Its scale covers the file as well, so that colours follow what is tried. */
function useShown(m: Flat | null, k: Kind, w: Quantity, band: Band | undefined): Shown | null {
  const cells = shownCells.value, file = fileCells.value;
  const range = useMemo(() => {
    if (!cells) return [0, 1] as const;
    const low = Math.min(minimum(cells), file ? minimum(file) : Infinity), hi = Math.max(maximum(cells), file ? maximum(file) : 0);
    return [m?.yName === 'y' && low > 0.1 * hi ? low : 0, hi] as const;
  }, [cells, file]);
  if (!m || !cells) return null;
  const stale = old.value || (isCut(k) && cutBusy.value) || (off.value.length > 0 && channelLight.value === null);
  return { m, cells, file: file ?? undefined, unit: unitOf(w), lo: range[0], hi: range[1], colours: lightPixels, band: k === 'target' && w === 'ppfd' ? band : undefined, kind: k === 'target' && w === 'ppfd' && band && verdicts.value ? 'verdict' : 'light', stale };
}

/** Tones explains the tones of a verdict map. */
const Tones = ({ band }: { band: Band }) => (
  <p class="tones">{([-1, 0, 1] as const).filter((v) => (v < 0 ? band.min !== undefined : v > 0 ? band.max !== undefined : true)).map((v) => <span><i class={toneNames[v]} aria-hidden="true" />{v < 0 ? `below ${num(band.min!)}` : v > 0 ? `above ${num(band.max!)}` : 'within the band'}</span>)} <span class="soft">µmol/m²/s</span></p>
);

/** titleOf names the plane that is shown. */
function titleOf(k: Kind, m: Flat | null): string {
  const maps = section('maps');
  if (k === 'levels') return section('installation').water_m > 0 ? 'from the water surface down' : 'from the highest to the lowest';
  if (!m) return '';
  if (!isCut(k)) return maps[k === 'target' ? 0 : 1]?.title ?? '';
  return k === 'level' ? `${m.title}, ${datum(section('installation').kind)} ${mm(cut.value?.at_m ?? 0)}` : `${m.title} at ${k === 'along' ? 'y' : 'x'} ${mm(cut.value?.at_m ?? 0)}`;
}

function Shows({ s, k, w, children }: { s: Shown; k: Kind; w: Quantity; children?: ComponentChildren }) {
  const { m, band } = s, p = useProbe(m), upright = k === 'along' || k === 'across', top = upright ? topOf() : undefined;
  return (
    <div>
      <MapPlot key={m.key} s={s} over={<Over m={m} y1={top} />} frame={top === undefined ? undefined : { y0: 0, y1: top }} profiles={!upright} wipe={wipe.value} setWipe={(at) => { wipe.value = at; }}>
        {top !== undefined && <SectionHandles m={m} tall={top} />}
      </MapPlot>
      {s.kind === 'verdict' && band ? <Tones band={band} /> : <Scale lo={s.lo} hi={s.hi} unit={s.unit} colours={lightPixels} band={band} />}
      {band && <p class="hint">Required mean: {bandText(band)} µmol/m²/s; its ends are the heavy lines.</p>}
      <Reading m={m} i={p.i} j={p.j} />
      <MapDataMenu s={s} file={s.file ?? null} w={w} />
      {children}
    </div>
  );
}

/** Shown is the map, or what is said in its place. */
function ShownMap({ k, w, band }: { k: Kind; w: Quantity; band: Band | undefined }) {
  const s = useShown(shownFlat.value, k, w, band);
  return s ? <Shows s={s} k={k} w={w} /> : <p class="loading" role="status">{cutWrong.value ? '' : 'Computing the light on this plane…'}</p>;
}

/** Beside is what the shown cells tell beside the figures. */
function Beside({ k, w }: { k: Kind; w: Quantity }) {
  const m = shownFlat.value, cells = shownCells.value;
  return m && cells ? <><OnPlane m={m} cells={cells} unit={unitOf(w)} />{(k !== 'target' || off.value.length > 0) && <h3>At the target</h3>}</> : null;
}

const beside: [string, string][] = [['target.ppfd', 'Mean PPFD'], ['target.ppfd-min', 'Minimum PPFD'], ['target.uniformity', 'Uniformity (min/mean)'], ['target.dli', 'Daily light integral (DLI)'], ['target.lux', 'Illuminance'], ['light.spill', 'Spill light'], ['light.incident-substrate', 'Direct at target']];

const Title = ({ k }: { k: Kind }) => <small>{useComputed(() => titleOf(k, shownFlat.value))}</small>;

// A step of a slider redraws what reads the light, and nothing else.
export function Planes() {
  const k = plane.value, w = quantity.value, band = useComputed(requiredBand).value;
  useSignalEffect(() => { void lamp.value; void state.value; askCuts(); });
  useSignalEffect(() => { void lamp.value; void places.value; askChannels(); });
  useEffect(() => () => { stopCuts(); forgetChannels(); }, []);
  useWipeKey();
  const upright = k === 'along' || k === 'across', water = useComputed(() => section('installation').water_m > 0).value, whole = k === 'target' && off.value.length === 0;
  return (
    <section class="card">
      <h2>Light on a plane <Title key={k} k={k} /></h2>
      <Toolbar k={k} w={w} band={band} />
      {k !== 'levels' && <Channels k={k} w={w} />}
      {isCut(k) && <Where k={k} />}
      {cutWrong.value && (isCut(k) || k === 'levels') && <p class="wrong" role="alert">{cutWrong.value}</p>}
      {k === 'levels' ? <Levels w={w} /> : (
        <div class="side map">
          <ShownMap k={k} w={w} band={band} />
          {upright && <p class="hint">Light on a horizontal surface at each point of a vertical plane: the decrease with depth. Drag lamp and water surface, or use arrow keys.{water && ' Dashed line: water surface.'}</p>}
          <div class="both">
            {k === 'target' && w === 'ppfd' && band && <AreaShares band={band} />}
            {!whole && <Beside k={k} w={w} />}
            <Facts keys={beside} />
            {whole && <Beside k={k} w={w} />}
          </div>
        </div>
      )}
      {isCut(k) && <Notes />}
    </section>
  );
}

const Notes = () => <>{(cut.value?.notes ?? []).map((n) => <p class="hint">{sentence(n)}</p>)}</>;
