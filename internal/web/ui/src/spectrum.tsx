import { Chart } from './chart';
import { Data, Facts, num } from './parts';
import { figureKeys, section } from './store';

const dashes: (number[] | undefined)[] = [undefined, [8, 4], [2, 3], [10, 3, 2, 3], [5, 5], [1, 4]];

export function ColourView() {
  const s = section('spectrum'), channels = section('channels');
  const keep = s.lambda_nm.map((nm, i) => [nm, i] as const).filter(([nm]) => nm >= 380 && nm <= 780 && nm % 2 === 0).map(([, i]) => i);
  const x = keep.map((i) => s.lambda_nm[i]!);
  const table = x.map((nm, r) => [nm, r] as const).filter(([nm]) => nm % 20 === 0);
  return (
    <>
      <section class="card">
        <h2>Light of the lamp over wavelength</h2>
        <Chart label="Power of each channel per nanometre, leaving the lenses; the table beneath holds the same." x={x} xLabel="wavelength, nm" yLabel="W/nm" height={280}
          series={channels.map((c, k) => ({ name: c.name, colour: c.colour, dash: dashes[k % dashes.length], y: keep.map((i) => s.channels[k]?.[i] ?? 0) }))} />
        <Data title="As a table" head={['nm', ...channels.map((c) => c.name + ', mW/nm')]} rows={() => table.map(([nm, r]) => [nm, ...channels.map((_, k) => num(1000 * (s.channels[k]?.[keep[r]!] ?? 0)))])} />
      </section>
      <section class="card">
        <h2>What arrives at the target</h2>
        <Chart label="Mean irradiance at the target per nanometre; the table beneath holds the same." x={x} xLabel="wavelength, nm" yLabel="mW/m²/nm" height={220}
          series={[{ name: 'at the target', colour: getComputedStyle(document.documentElement).getPropertyValue('--lw-within').trim(), y: keep.map((i) => 1000 * (s.target[i] ?? 0)) }]} />
        <Data title="As a table" head={['nm', 'mW/m²/nm']} rows={() => table.map(([nm, r]) => [nm, num(1000 * (s.target[keep[r]!] ?? 0))])} />
      </section>
      <section class="card">
        <h2>Colour of all light together</h2>
        <Facts keys={figureKeys().filter((k) => /^(lamp\.(cct|duv|ra|r9|rf|rg)|colour\.|target\.(cct|duv|ra|r9)|plant\.|target\.(blue|red|ratio))/.test(k))} />
        <Facts keys={[['lamp.flux', 'Light'], ['lamp.ppf', 'Photons'], ['light.lux-per-ppfd', 'Lux per µmol/m²/s']]} />
      </section>
    </>
  );
}
