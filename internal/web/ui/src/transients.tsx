// What the lamp does over time: its sunrise, its warm-up, and how its sensor cuts the light.
import { computed, signal } from '@preact/signals';
import { Sunrise, Failed, Foldback, post, Warmup } from './api';
import { Chart, Series } from './chart';
import { celsius, num } from './format';
import { Data, fileLink, Table, TaskProgress } from './pieces';
import { changes, section, sentence, state, trial } from './store';


type What = 'sunrise' | 'warmup' | 'foldback';
interface Answers { sunrise: Sunrise; warmup: Warmup; foldback: Foldback }

const css = (v: string) => getComputedStyle(document.documentElement).getPropertyValue(v).trim();
const percent = (share: number) => `${num(100 * share)} %`;

// What is asked and found outlives the view.
const full = signal(''), first = signal('2200 K'), steps = signal('12'), ramp = signal(''), change = signal(''), chosen = signal('typical');
const found = signal<{ [K in What]?: { of: string; answer: Answers[K] } }>({});
const busy = signal<{ [K in What]?: boolean }>({});
const wrong = signal<{ what: What; path: string; text: string } | null>(null);
const asking: { [K in What]?: AbortController } = {};

const args = (what: What) => (what === 'sunrise' ? { full: full.value, first: first.value, steps: Number(steps.value) || 0, ramp: ramp.value, change: change.value } : what === 'warmup' ? { case: chosen.value } : {});
/** asked is all that an answer hangs on. */
const asked = computed(() => ({ sunrise: '', warmup: '', foldback: '', ...Object.fromEntries((['sunrise', 'warmup', 'foldback'] as What[]).map((w) => [w, JSON.stringify([state.value?.hash, trial.value, args(w)])])) }));

async function ask(what: What) {
  asking[what]?.abort();
  const mine = asking[what] = new AbortController();
  const of = asked.value[what];
  busy.value = { ...busy.value, [what]: true };
  if (wrong.value?.what === what) wrong.value = null;
  try {
    const answer = await post<never>(`/api/${what}`, { base: state.value?.hash ?? '', changes: changes(), ...args(what) }, mine.signal);
    if (asking[what] === mine) found.value = { ...found.value, [what]: { of, answer } };
  } catch (e) {
    if (asking[what] !== mine) return;
    wrong.value = { what, ...(mine.signal.aborted ? { path: '', text: 'Stopped.' } : e instanceof Failed ? { path: e.path, text: sentence(e.problems[0]?.msg ?? e.message) } : { path: '', text: 'The program does not answer.' }) };
  }
  if (asking[what] === mine) busy.value = { ...busy.value, [what]: false };
}

/** Ask is the button of a question, with how far it is and a way to stop it. */
function Ask({ what, words }: { what: What; words: string }) {
  const mine = busy.value[what], w = wrong.value?.what === what ? wrong.value : null;
  return (
    <>
      <p class="actions">
        <button type="submit" class="main" disabled={mine}>{mine ? 'Computing…' : words}</button>
        {mine && <><TaskProgress of={what} label={words} /> <button type="button" onClick={() => asking[what]?.abort()}>Stop</button></>}
      </p>
      {w && !['full', 'first', 'steps', 'ramp', 'change'].includes(w.path) && <p class="wrong" role="alert">{w.text}</p>}
    </>
  );
}

const Notes = ({ of }: { of: string[] | null }) => ((of ?? []).length === 0 ? null : <ul class="hint">{of!.map((n) => <li>{sentence(n)}</li>)}</ul>);
const Stale = ({ what }: { what: What }) => (found.value[what]!.of === asked.value[what] ? null : <p class="stale-note">Outdated: compute again.</p>);
const form = (what: What) => (e: Event) => { e.preventDefault(); void ask(what); };

function Field({ of, value, label, hint }: { of: string; value: typeof full; label: string; hint?: string }) {
  const w = wrong.value?.path === of ? wrong.value : null;
  return (
    <div class="ask">
      <label for={'sunrise-' + of}>{label}</label>
      <input id={'sunrise-' + of} type="text" autocomplete="off" spellcheck={false} value={value.value} placeholder={hint} aria-invalid={w !== null} aria-describedby={w ? `sunrise-${of}-e` : undefined} onInput={(e) => { value.value = e.currentTarget.value; }} />
      {w && <p class="wrong" id={`sunrise-${of}-e`} role="alert">{w.text}</p>}
    </div>
  );
}

function SunriseCard() {
  const got = found.value.sunrise;
  const list = got?.answer.steps ?? [];
  const names = list[0]?.channels.map((c) => c.name) ?? [];
  const colours = new Map(section('channels').map((c) => [c.name, c.colour]));
  const dashes = [undefined, [8, 4], [2, 3], [10, 3, 2, 3], [5, 5]];
  // From off to full level: levels change linearly between the steps.
  const x = [0, ...list.map((s) => s.time_s / 60)];
  return (
    <section class="card">
      <h2>Sunrise</h2>
      <p class="hint">Channel levels from off to full level, at a lower CCT while dim; reverse them for sunset. Full level is that of the design, or the levels for a CCT with the light level and colour rendering that the design requires.</p>
      <form class="mix" onSubmit={form('sunrise')}>
        <div class="asks">
          <Field of="full" value={full} label="CCT at full level" hint="empty: as designed" />
          <Field of="first" value={first} label="CCT at start" />
          <Field of="steps" value={steps} label="Steps" />
          <Field of="ramp" value={ramp} label="Ramp time" hint="empty: as designed" />
          <Field of="change" value={change} label="Maximum change per step" hint="empty: twice even" />
        </div>
        <Ask what="sunrise" words="Compute levels" />
      </form>
      {got && <div class="both">
        <Stale what="sunrise" />
        <Chart label="Level of each channel during sunrise; same values in the table below" x={x} xLabel="minutes from start of sunrise" yLabel="level, %" height={220}
          series={names.map((n, i): Series => ({ name: n, colour: colours.get(n) ?? '#888', dash: dashes[i % dashes.length], y: [0, ...list.map((s) => 100 * (s.channels.find((c) => c.name === n)?.level ?? 0))] }))} />
        <Table caption="Sunrise, from off to full level" head={got.answer.table.head} rows={got.answer.table.rows} />
        <Notes of={got.answer.says} />
      </div>}
    </section>
  );
}

function WarmCard() {
  const cases = section('cases') ?? [];
  const got = found.value.warmup, w = got?.answer;
  // Until the sink is within a two-hundredth of its way, so that the part that moves is seen.
  const from = w?.moments[0]?.sink_k ?? 0;
  const end = w ? w.moments.find((m) => m.time_s >= 600 && Math.abs(w.steady.sink_k - m.sink_k) < 0.005 * Math.abs(w.steady.sink_k - from))?.time_s ?? Infinity : 0;
  const shown = w?.moments.filter((m) => m.time_s <= end) ?? [];
  const c = (k: number) => k - 273.15;
  return (
    <section class="card">
      <h2>Warm-up</h2>
      <p class="hint">From a cold start to steady state at the set levels, with the infrared thermometer reading for comparison at the bench.</p>
      <form class="mix" onSubmit={form('warmup')}>
        <div class="asks"><div class="ask"><label for="warm-case">Case</label>
          <select id="warm-case" value={chosen.value} onChange={(e) => { chosen.value = e.currentTarget.value; }}>{cases.map((x) => <option value={x.key}>{x.title}</option>)}</select></div></div>
        <Ask what="warmup" words="Simulate warm-up" />
      </form>
      {got && w && <div class="both">
        <Stale what="warmup" />
        <p><b>{sentence(w.says)}</b></p>
        <Chart label={`Temperatures after a cold start, ${w.case}; same values in the table below`} x={shown.map((m) => m.time_s / 60)} xLabel="minutes after switching on" yLabel="°C" height={260}
          series={[
            { name: 'maximum T_j', colour: css('--lw-beyond'), y: shown.map((m) => c(m.junction_k)) },
            ...(w.spots ?? []).map((s, i): Series => ({ name: s, colour: css('--lw-flow'), dash: i === 0 ? [8, 4] : [2, 3], y: shown.map((m) => c(m.spot_k![i]!)) })),
            { name: 'heat sink', colour: css('--lw-within'), y: shown.map((m) => c(m.sink_k)) },
          ]} />
        <Data title="As a table" head={w.table.head} rows={w.table.rows} />
        <Notes of={w.notes} />
      </div>}
    </section>
  );
}

function FoldCard() {
  const got = found.value.foldback, f = got?.answer;
  const c = (k: number) => k - 273.15;
  return (
    <section class="card">
      <h2>Thermal foldback</h2>
      <p class="hint">How the sensor reduces the level at maximum ambient, with fan failure where there is a fan: table for the controller and stability of the control loop.</p>
      {!section('board').has_sensor
        ? <p class="empty">The design has no temperature sensor. Add <code>sensor: {'{part: ntc-10k, at: [0 mm, 20 mm]}'}</code> to <a href={fileLink(state.value!.file, 0)}>the design file</a>.</p>
        : <form class="mix" onSubmit={form('foldback')}><Ask what="foldback" words="Compute foldback" /></form>}
      {got && f && section('board').has_sensor && <div class="both">
        <Stale what="foldback" />
        <ul class="plain">{f.says.map((t) => <li>{sentence(t)}</li>)}</ul>
        <h3>Level vs. sensor temperature</h3>
        <Chart label="Level vs. sensor temperature; same values in the table below" x={f.curve.map((p) => c(p.sensor_k))} xLabel="sensor, °C" yLabel="level, %" height={200} series={[{ name: 'level', colour: css('--lw-flow'), y: f.curve.map((p) => 100 * p.level) }]} />
        <Table caption="Foldback table" head={f.table.head} rows={f.table.rows} />
        <h3>Control loop, sensor working</h3>
        <Chart label={`Junction and sensor temperature over two hours with foldback; limit ${celsius(f.limit_k, 0)}; same values in the table below`} x={f.healthy.map((p) => p.s / 60)} xLabel="minutes after switching on" yLabel="°C" height={220}
          series={[{ name: 'maximum T_j', colour: css('--lw-beyond'), y: f.healthy.map((p) => c(p.junctionK)) }, { name: 'sensor', colour: css('--lw-flow'), dash: [8, 4], y: f.healthy.map((p) => c(p.sensorK)) }]} />
        <Chart label="Level over two hours with foldback; same values in the table below" x={f.healthy.map((p) => p.s / 60)} xLabel="minutes after switching on" yLabel="level, %" height={160} series={[{ name: 'level', colour: css('--lw-within'), y: f.healthy.map((p) => 100 * p.level) }]} />
        <Data title="Control loop as a table" head={['time', 'sensor', 'maximum T_j', 'level']} rows={() => f.healthy.filter((_, i) => i % Math.max(1, Math.ceil(f.healthy.length / 40)) === 0).map((p) => [`${num(p.s / 60)} min`, celsius(p.sensorK), celsius(p.junctionK), percent(p.level)])} />
        <Notes of={f.notes} />
      </div>}
    </section>
  );
}

export const TransientsView = () => <><SunriseCard /><WarmCard /><FoldCard /></>;
