import { Chart } from './chart';
import { Data, Facts, num, Picture } from './parts';
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
        <h3>{part}: voltage of one die</h3>
        <Chart label={`Voltage of one die of ${part} against its current, from ${num(k.voltage_a[0]!)} to ${num(k.voltage_a.at(-1)!)} A; it works at ${at}${k.max_a ? `, its absolute maximum is ${num(k.max_a)} A` : ''}.`}
          x={k.voltage_a} series={[{ name: 'sheet', colour: c.colour, y: k.voltage_v }]} xLabel="current of one die, A" yLabel="V" limits={limits}
          marks={[{ x: e.die_a, y: on(k.voltage_a, k.voltage_v, e.die_a), name: at, colour: c.colour }]} />
        <Data title="Points of the sheet" head={['current', 'voltage']} rows={() => k.voltage_a.map((a, i) => [`${num(a)} A`, `${num(k.voltage_v[i]!)} V`])} />
      </div>
      {k.flux_a && k.flux && (
        <div>
          <h3>{part}: light against current</h3>
          <Chart label={`Light of ${part} against the current of one die, relative to ${num(k.test_a)} A; it works at ${at}.`}
            x={k.flux_a} series={[{ name: 'sheet', colour: c.colour, y: k.flux }]} xLabel="current of one die, A" yLabel="relative" limits={limits}
            marks={[{ x: e.die_a, y: on(k.flux_a, k.flux, e.die_a), name: at, colour: c.colour }]} />
          <Data title="Points of the sheet" head={['current', 'relative light']} rows={() => k.flux_a!.map((a, i) => [`${num(a)} A`, num(k.flux![i]!)])} />
        </div>
      )}
      {k.flux_k && k.flux_t && (
        <div>
          <h3>{part}: light against junction temperature</h3>
          <Chart label={`Light of ${part} against junction temperature; its junction is at ${(e.junction_k - 273.15).toFixed(0)} °C on a usual day.`}
            x={k.flux_k.map((t) => t - 273.15)} series={[{ name: 'sheet', colour: c.colour, y: k.flux_t }]} xLabel="junction, °C" yLabel="relative"
            limits={k.max_k > 0 ? [{ x: k.max_k - 273.15, name: `absolute maximum ${(k.max_k - 273.15).toFixed(0)} °C` }] : []}
            marks={[{ x: e.junction_k - 273.15, y: on(k.flux_k, k.flux_t, e.junction_k), name: `${(e.junction_k - 273.15).toFixed(0)} °C`, colour: c.colour }]} />
          <Data title="Points of the sheet" head={['junction', 'relative light']} rows={() => k.flux_k!.map((t, i) => [`${(t - 273.15).toFixed(0)} °C`, num(k.flux_t![i]!)])} />
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
          <h2 id={'ch-' + c.name}><svg class="swatch" width="16" height="16" aria-hidden="true"><rect width="16" height="16" rx="3" fill={c.colour} /></svg> {c.name} <small>driver {c.driver}, {num(c.driver_min_a) === '0' ? 'up to' : `${num(c.driver_min_a)} to`} {num(c.driver_max_a)} A{c.pwm ? ', dimmed by pulses' : ''}</small></h2>
          <Facts keys={[[c.name + '.current', 'Current of one string'], [c.name + '.voltage', 'Voltage of the string'], [c.name + '.power', 'Into the emitters'], [c.name + '.flux', 'Light'], [c.name + '.ppf', 'Photons'], [c.name + '.junction', 'Hottest junction, usual day'], [c.name + '.junction-max-ambient', 'Hottest junction, hottest day']]} />
          <details class="more" open>
            <summary>Where it works on its sheets’ curves</summary>
            {(c.parts ?? []).map((p) => <PartCurves c={c} part={p} />)}
          </details>
        </section>
      ))}
      <section class="card">
        <h2>Voltages and the drivers’ windows</h2>
        <Picture name="windows" label="Range of each string’s voltage over the window of its driver" />
        <Data title="As a table" head={['channel', 'hot, low bins', 'typical', 'cold, high bins', 'in its wire', 'driver from', 'driver to']} rows={() => channels.map((c) => [c.name, `${num(c.hot_v)} V`, `${num(c.typical_v)} V`, `${num(c.cold_v)} V`, `${num(c.wire_drop_v)} V`, `${num(c.driver_min_v)} V`, `${num(c.driver_max_v)} V`])} />
      </section>
    </>
  );
}
