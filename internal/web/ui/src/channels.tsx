import { Chart } from './chart';
import { num } from './format';
import { Data, Facts, Picture } from './pieces';
import { section } from './store';
import { Channel } from './api';

/** die returns the state of one package of that part in the channel. */
const die = (c: Channel, part: string) => section('emitters').find((e) => e.channel === c.name && e.part === part);

function PartCurves({ c, part }: { c: Channel; part: string }) {
  const k = section('curves')?.[part];
  const e = die(c, part);
  if (!k || !e) return null;
  // The point is put on the curve of its own quantity: the sheet's curve at its own temperature.
  const on = (xs: number[], ys: number[], x: number) => {
    let i = 1;
    while (i < xs.length - 1 && xs[i]! < x) i++;
    return ys[i - 1]! + ((x - xs[i - 1]!) / (xs[i]! - xs[i - 1]!)) * (ys[i]! - ys[i - 1]!);
  };
  const limits = k.max_a > 0 ? [{ x: k.max_a, name: `absolute maximum ${num(k.max_a)} A` }] : [];
  const at = `${num(e.die_a)} A`;
  return (
    <div class="pair">
      <div>
        <h3>{part}: forward voltage per die</h3>
        <Chart label={`Forward voltage per die of ${part} vs. die current, from ${num(k.voltage_a[0]!)} to ${num(k.voltage_a.at(-1)!)} A; operating point ${at}${k.max_a ? `, absolute maximum ${num(k.max_a)} A` : ''}.`}
          x={k.voltage_a} series={[{ name: 'datasheet', colour: c.colour, y: k.voltage_v }]} xLabel="die current, A" yLabel="V" limits={limits}
          marks={[{ x: e.die_a, y: on(k.voltage_a, k.voltage_v, e.die_a), name: at, colour: c.colour }]} />
        <Data title="Datasheet points" head={['current', 'voltage']} rows={() => k.voltage_a.map((a, i) => [`${num(a)} A`, `${num(k.voltage_v[i]!)} V`])} />
      </div>
      {k.flux_a && k.flux && (
        <div>
          <h3>{part}: relative flux vs. current</h3>
          <Chart label={`Relative flux of ${part} vs. die current, relative to ${num(k.test_a)} A; operating point ${at}.`}
            x={k.flux_a} series={[{ name: 'datasheet', colour: c.colour, y: k.flux }]} xLabel="die current, A" yLabel="relative" limits={limits}
            marks={[{ x: e.die_a, y: on(k.flux_a, k.flux, e.die_a), name: at, colour: c.colour }]} />
          <Data title="Datasheet points" head={['current', 'relative flux']} rows={() => k.flux_a!.map((a, i) => [`${num(a)} A`, num(k.flux![i]!)])} />
        </div>
      )}
      {k.flux_k && k.flux_t && (
        <div>
          <h3>{part}: relative flux vs. T_j</h3>
          <Chart label={`Relative flux of ${part} vs. junction temperature; T_j ${(e.junction_k - 273.15).toFixed(0)} °C at typical ambient.`}
            x={k.flux_k.map((t) => t - 273.15)} series={[{ name: 'datasheet', colour: c.colour, y: k.flux_t }]} xLabel="T_j, °C" yLabel="relative"
            limits={k.max_k > 0 ? [{ x: k.max_k - 273.15, name: `absolute maximum ${(k.max_k - 273.15).toFixed(0)} °C` }] : []}
            marks={[{ x: e.junction_k - 273.15, y: on(k.flux_k, k.flux_t, e.junction_k), name: `${(e.junction_k - 273.15).toFixed(0)} °C`, colour: c.colour }]} />
          <Data title="Datasheet points" head={['junction', 'relative flux']} rows={() => k.flux_k!.map((t, i) => [`${(t - 273.15).toFixed(0)} °C`, num(k.flux_t![i]!)])} />
        </div>
      )}
    </div>
  );
}

export function ChannelsView() {
  const channels = section('channels');
  return (
    <>
      {channels.map((c) => (
        <section class="card far" key={c.name} aria-labelledby={'ch-' + c.name}>
          <h2 id={'ch-' + c.name}><svg class="swatch" width="16" height="16" aria-hidden="true"><rect width="16" height="16" rx="3" fill={c.colour} /></svg> {c.name} <small>driver {c.driver}, {num(c.driver_min_a) === '0' ? 'up to' : `${num(c.driver_min_a)} to`} {num(c.driver_max_a)} A{c.pwm ? ', PWM dimming' : ''}</small></h2>
          <Facts keys={[[c.name + '.current', 'String current'], [c.name + '.voltage', 'String voltage'], [c.name + '.power', 'Emitter power'], [c.name + '.flux', 'Luminous flux'], [c.name + '.ppf', 'PPF'], [c.name + '.junction', 'Maximum T_j, typical ambient'], [c.name + '.junction-max-ambient', 'Maximum T_j, maximum ambient']]} />
          <details class="more" open>
            <summary>Operating points on datasheet curves</summary>
            {(c.parts ?? []).map((p) => <PartCurves c={c} part={p} />)}
          </details>
        </section>
      ))}
      <section class="card">
        <h2>String voltage and driver range</h2>
        <Picture name="windows" label="String voltage range and output voltage range of each driver" />
        <Data title="As a table" head={['channel', 'maximum ambient, lowest bin', 'typical', 'cold start, highest bin', 'cable drop', 'driver minimum', 'driver maximum']} rows={() => channels.map((c) => [c.name, `${num(c.hot_v)} V`, `${num(c.typical_v)} V`, `${num(c.cold_v)} V`, `${num(c.wire_drop_v)} V`, `${num(c.driver_min_v)} V`, `${num(c.driver_max_v)} V`])} />
      </section>
    </>
  );
}
