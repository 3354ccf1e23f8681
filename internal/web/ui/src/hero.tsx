// The first picture: the lamp over its place with its light, the heights as handles, and where the power goes.
import { useSignalEffect } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { mm, num } from './format';
import { MapPlot, Shown } from './maps';
import { askOverview, flatOfCut, maximum, overview, overviewWrong, stopOverview } from './planes';
import { Over, requiredBand, SectionHandles, topOf } from './planeview';
import { lightPixels } from './ramp';
import { partsOf } from './energy';
import { figure, lamp, old, section, state } from './store';

/** Power is where the power of the lamp goes, as one bar. */
function Power() {
  const parts = partsOf(section('energy_flows') ?? []), all = parts.reduce((s, p) => s + p.watts, 0), mains = figure('mains.power');
  if (all <= 0) return null;
  return (
    <figure class="ways">
      <figcaption>{mains ? `Mains input ${mains.text}` : 'Power'}</figcaption>
      <ul>{parts.map((p) => <li class={p.useful ? 'useful' : ''} style={{ flexGrow: p.watts / all }}><b>{num(p.watts)} W</b> {p.name}</li>)}</ul>
    </figure>
  );
}

/** Beams are the edges of the lenses' beams in air, from each lens down to the water or the target. */
function Beams() {
  const p = section('installation'), floor = Math.max(p.water_m, p.substrate_m), end = p.length_m / 2;
  if (p.lamp_tilt_rad !== 0) return null;
  const lines = section('emitters').flatMap((e) => [-1, 1].map((side) => {
    const slope = side * Math.tan(Math.min(e.beam_rad, 2.9) / 2), x = e.lens_at_m[0], z = e.lens_at_m[2];
    const fall = Math.min(z - floor, slope === 0 ? Infinity : (side * end - x) / slope);
    return fall > 0 ? `M${x} ${-z}L${x + slope * fall} ${-(z - fall)}` : '';
  }));
  return <path class="beam" d={lines.join('')} />;
}

export function Hero() {
  useSignalEffect(() => { void lamp.value; void state.value; askOverview(); });
  useEffect(() => () => stopOverview(), []);
  const c = overview.value, p = section('installation'), ppfd = figure('target.ppfd');
  const m = useMemo(() => (c ? flatOfCut('overview', c) : null), [c]);
  if (overviewWrong.value && !m) return <p class="wrong" role="alert">{overviewWrong.value}</p>;
  if (!m) return <div class="hero-wait" style={{ aspectRatio: `${p.length_m} / ${topOf()}` }}><p role="status">Computing the light in the section…</p></div>;
  const cells = m.ppfd ?? m.lux;
  const s: Shown = { m, cells, unit: m.ppfd ? 'µmol/m²/s' : 'lx', lo: 0, hi: maximum(cells), colours: lightPixels, band: requiredBand(), kind: 'light', stale: old.value };
  const top = topOf();
  return (
    <div class="hero">
      <MapPlot key="hero" s={s} over={<><Beams /><Over m={m} y1={top} /></>} frame={{ y0: 0, y1: top }} hint={`section along the lamp at y ${mm(c!.at_m)}; ${s.unit}`}>
        <SectionHandles m={m} tall={top} />
        {ppfd && p.substrate_m > 0 && <span class="bed" style={{ bottom: `${(50 * p.substrate_m) / top}%` }}>mean at the target <b>{ppfd.text}</b></span>}
      </MapPlot>
      <Power />
    </div>
  );
}
