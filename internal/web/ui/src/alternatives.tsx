// Hanging heights, each computed with the rest of the lamp as it is shown.
import { computed, signal } from '@preact/signals';
import { Choice, Failed, post } from './api';
import { Table, TaskProgress } from './pieces';
import { changes, lamp, section, sentence, standing, state, trial, tryValues } from './store';

// What is asked and found outlives the view.
const channel = signal('');
const span = signal<{ from: string; to: string } | null>(null);
const found = signal<{ of: string; choice: Choice } | null>(null);
const busy = signal(false);
const wrong = signal({ path: '', text: '' });
let asking: AbortController | null = null;

/** between is the heights that are looked at: as typed, or about the present one. */
function between() {
  if (span.value) return span.value;
  const p = section('installation'), now = 1000 * p.hanging_m;
  const rim = p.kind === 'tank' ? Math.max(0, 1000 * (p.height_m - Math.max(p.water_m, p.substrate_m))) : 0;
  return { from: `${Math.max(50, Math.ceil((rim + 20) / 50) * 50)} mm`, to: `${Math.max(600, Math.ceil((2 * now) / 100) * 100)} mm` };
}

/** which is the channel of whose lenses each has a line; empty for none. */
function which() {
  const names = section('channels').map((c) => c.name);
  return names.includes(channel.value) ? channel.value : '';
}

/** asked is the question, with all that its answer hangs on: heights that are tried one after another do not make the others old. */
const asked = computed(() => JSON.stringify([state.value?.hash, Object.entries(trial.value).filter(([path]) => path !== 'installation.hanging_height'), which(), between()]));

async function ask() {
  const of = asked.value;
  asking?.abort();
  const mine = asking = new AbortController();
  busy.value = true;
  wrong.value = { path: '', text: '' };
  try {
    const choice = await post<Choice>('/api/choose', { base: state.value?.hash ?? '', changes: changes(), choice: { channel: which(), ...between() } }, mine.signal);
    if (asking === mine) found.value = { of, choice };
  } catch (e) {
    if (asking !== mine) return;
    wrong.value = mine.signal.aborted ? { path: '', text: 'Stopped.' } : e instanceof Failed ? { path: e.path, text: sentence(e.problems[0]?.msg ?? e.message) } : { path: '', text: 'The program does not answer.' };
  }
  if (asking === mine) busy.value = false;
}

/** tried tells whether a row is what is tried. */
const tried = (r: Choice['rows'][number]) => r.sets.length > 0 && r.sets.every((s) => (trial.value[s.path] ?? standing(s.path)) === s.text) && r.sets.some((s) => s.path in trial.value);

function Rows({ choice, stale }: { choice: Choice; stale: boolean }) {
  return (
    <div class={stale ? 'both stale' : 'both'}>
      {stale && <p class="stale-note">Outdated: compare again.</p>}
      {choice.says && <p><b>{sentence(choice.says)}</b></p>}
      {choice.picture && <figure class="picture" aria-label="Light against hanging height; same values in the table below"><div class="sweep" dangerouslySetInnerHTML={{ __html: choice.picture }} /></figure>}
      <Table stacked caption="Hanging heights" head={['height', ...choice.heads, 'preview']} rows={choice.rows.map((r) => [
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
  const w = wrong.value;
  const names = section('channels').map((c) => c.name);
  const got = found.value;
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
      <h2>Hanging height</h2>
      <p class="hint">Higher: better uniformity, less PPFD, more spill light. All other values are {lamp.value === state.value?.lamp ? 'as in the file' : 'as in the preview'}.</p>
      <form class="mix" onSubmit={(e) => { e.preventDefault(); void ask(); }}>
        <div class="asks">
          {field('from', 'From')}{field('to', 'To')}
          <div class="ask"><label for="choose-channel">Curves for all lenses of</label>
            <select id="choose-channel" value={which()} onChange={(e) => { channel.value = e.currentTarget.value; }}><option value="">none (current lenses)</option>{names.map((n) => <option value={n}>{n}</option>)}</select></div>
        </div>
        <p class="actions">
          <button type="submit" class="main" disabled={busy.value}>{busy.value ? 'Computing…' : 'Compare'}</button>
          {busy.value && <><TaskProgress of="heights" label="Computing the heights" /> <button type="button" onClick={() => asking?.abort()}>Stop</button></>}
        </p>
        {w.text && w.path !== 'from' && w.path !== 'to' && <p class="wrong" role="alert">{w.text}</p>}
      </form>
      {got && <Rows choice={got.choice} stale={got.of !== asked.value} />}
    </section>
  );
}
