// What else could be chosen: hanging heights, lenses, boards and sinks, each computed with the rest of the lamp as it is shown.
import { computed, signal } from '@preact/signals';
import { Choice, Failed, post } from './api';
import { Table, TaskProgress } from './pieces';
import { changes, lamp, section, sentence, standing, state, trial, tryValues } from './store';

type What = 'height' | 'lens' | 'board' | 'sink';
const questions: [What, string, string][] = [
  ['height', 'Hanging height', 'Higher: better uniformity, less PPFD, more spill light.'],
  ['lens', 'Lens of a channel', 'All lenses of the parts library and of your own parts that fit the emitters of the channel.'],
  ['board', 'Board', 'All boards in all available thicknesses, lowest junction temperature first.'],
  ['sink', 'Heat sink', 'All heat sinks with full base contact, lowest junction temperature first.'],
];

// What is asked and found outlives the view.
const what = signal<What>('height');
const channel = signal('');
const span = signal<{ from: string; to: string } | null>(null);
const found = signal<Record<string, { of: string; choice: Choice }>>({});
const busy = signal<{ [K in What]?: boolean }>({});
const wrong = signal({ path: '', text: '' });
const asking: { [K in What]?: AbortController } = {};

/** between is the heights that are looked at: as typed, or about the present one. */
function between() {
  if (span.value) return span.value;
  const p = section('installation'), now = 1000 * p.hanging_m;
  const rim = p.kind === 'tank' ? Math.max(0, 1000 * (p.height_m - Math.max(p.water_m, p.substrate_m))) : 0;
  return { from: `${Math.max(50, Math.ceil((rim + 20) / 50) * 50)} mm`, to: `${Math.max(600, Math.ceil((2 * now) / 100) * 100)} mm` };
}

/** which is the channel whose lenses are meant; heights need none. */
function which() {
  const names = section('channels').map((c) => c.name);
  return names.includes(channel.value) ? channel.value : what.value === 'lens' ? names[0] ?? '' : '';
}

/** own is the values that a question is about: rows that are tried one after another do not make the others old. */
const own: Record<What, RegExp> = { height: /^place\.hanging_height$/, lens: /\.lens$/, board: /^board\.(part|thickness)$/, sink: /^sink\.part$/ };

/** asked is the question, with all that its answer hangs on. */
const asked = computed(() => {
  const k = what.value, light = k === 'height' || k === 'lens';
  return JSON.stringify([state.value?.hash, Object.entries(trial.value).filter(([path]) => !own[k].test(path)), k, light ? which() : '', k === 'height' ? between() : '']);
});

async function ask() {
  const key = what.value, of = asked.value;
  asking[key]?.abort();
  const mine = asking[key] = new AbortController();
  busy.value = { ...busy.value, [key]: true };
  wrong.value = { path: '', text: '' };
  try {
    const choice = await post<Choice>('/api/choose', { base: state.value?.hash ?? '', changes: changes(), choice: { what: key, channel: which(), ...between() } }, mine.signal);
    if (asking[key] === mine) found.value = { ...found.value, [key]: { of, choice } };
  } catch (e) {
    if (asking[key] !== mine) return;
    wrong.value = mine.signal.aborted ? { path: '', text: 'Stopped.' } : e instanceof Failed ? { path: e.path, text: sentence(e.problems[0]?.msg ?? e.message) } : { path: '', text: 'The program does not answer.' };
  }
  if (asking[key] === mine) busy.value = { ...busy.value, [key]: false };
}

/** tried tells whether a row is what is tried. */
const tried = (r: Choice['rows'][number]) => r.sets.length > 0 && r.sets.every((s) => (trial.value[s.path] ?? standing(s.path)) === s.text) && r.sets.some((s) => s.path in trial.value);

function Rows({ choice, stale }: { choice: Choice; stale: boolean }) {
  return (
    <div class={stale ? 'both stale' : 'both'}>
      {stale && <p class="stale-note">Outdated: compare again.</p>}
      {choice.says && <p><b>{sentence(choice.says)}</b></p>}
      {choice.picture && <figure class="picture" aria-label="Light against hanging height; same values in the table below"><div class="sweep" dangerouslySetInnerHTML={{ __html: choice.picture }} /></figure>}
      <Table stacked caption="Alternatives" head={['alternative', ...choice.heads, 'preview']} rows={choice.rows.map((r) => [
        r.now ? <><strong>{r.name}</strong> <span class="soft">current design</span></> : tried(r) ? <><strong>{r.name}</strong> <span class="soft">previewed</span></> : r.name,
        ...(r.problem ? [<span class="wrong">{r.problem}</span>, ...choice.heads.slice(1).map(() => '')] : r.cells),
        r.now || r.problem ? '' : r.sets.length > 0
          ? <button type="button" onClick={() => tryValues(r.sets)}>Preview<span class="hidden">: {r.name}</span></button>
          : <span class="soft">edit the file</span>,
      ])} />
    </div>
  );
}

export function AlternativesView() {
  const channels = section('channels'), k = what.value, w = wrong.value;
  const names = channels.map((c) => c.name);
  const got = found.value[k];
  const between_ = between();
  const field = (name: 'from' | 'to', label: string) => (
    <div class="ask">
      <label for={'span-' + name}>{label}</label>
      <input id={'span-' + name} type="text" autocomplete="off" spellcheck={false} value={between_[name]} aria-invalid={w.path === name} aria-describedby={w.path === name ? `span-${name}-e` : undefined}
        onInput={(e) => { span.value = { ...between_, [name]: e.currentTarget.value }; }} />
      {w.path === name && <p class="wrong" id={`span-${name}-e`} role="alert">{w.text}</p>}
    </div>
  );
  return (
    <section class="card">
      <h2>Alternatives</h2>
      <div class="choose"><div role="group" aria-label="Component to compare">{questions.map(([key, name]) => <button type="button" aria-pressed={key === k} onClick={() => { what.value = key; wrong.value = { path: '', text: '' }; }}>{name}</button>)}</div></div>
      <p class="hint">{questions.find(([key]) => key === k)![2]} All other values are {lamp.value === state.value?.lamp ? 'as in the file' : 'as in the preview'}.</p>
      <form class="mix" onSubmit={(e) => { e.preventDefault(); void ask(); }}>
        {(k === 'height' || k === 'lens') && (
          <div class="asks">
            {k === 'height' && <>{field('from', 'From')}{field('to', 'To')}</>}
            <div class="ask"><label for="choose-channel">{k === 'height' ? 'Curves for all lenses of' : 'Channel'}</label>
              <select id="choose-channel" value={which()} onChange={(e) => { channel.value = e.currentTarget.value; }}>{k === 'height' && <option value="">none (current lenses)</option>}{names.map((n) => <option value={n}>{n}</option>)}</select></div>
          </div>
        )}
        <p class="actions">
          <button type="submit" class="main" disabled={busy.value[k]}>{busy.value[k] ? 'Computing…' : 'Compare'}</button>
          {busy.value[k] && <><TaskProgress of={`choice ${k}`} label="Computing the alternatives" /> <button type="button" onClick={() => asking[k]?.abort()}>Stop</button></>}
        </p>
        {w.text && w.path !== 'from' && w.path !== 'to' && <p class="wrong" role="alert">{w.text}</p>}
      </form>
      {got && <Rows choice={got.choice} stale={got.of !== asked.value} />}
    </section>
  );
}
