// The plan of the review: at most five changes that clear its stops and warnings, each computed with those above it.
import { computed, effect, signal } from '@preact/signals';
import { Cause, Change, Count, Failed, Found, Plan, post } from './api';
import { Sign, TaskProgress, words } from './pieces';
import { changes, old, queue, section, sentence, standing, state, takeBack, trial, trying, tryValues } from './store';

// What is found outlives the view.
const found = signal<{ of: string; plan: Plan } | null>(null);
const busy = signal(false);
const wrong = signal('');
let asking: AbortController | null = null;

/** own is the values of the plan: previewing them does not make it outdated. */
const own = computed(() => new Set((found.value?.plan.causes ?? []).flatMap((c) => c.sets.map((s) => s.path))));

/** asked is the lamp that a plan is of: the file and the unsaved changes that are not of the plan. */
const asked = computed(() => JSON.stringify([state.value?.hash, Object.entries(trial.value).filter(([path]) => !own.value.has(path))]));
const stale = computed(() => found.value !== null && found.value.of !== asked.value);

async function ask() {
  asking?.abort();
  const mine = asking = new AbortController();
  busy.value = true;
  wrong.value = '';
  found.value = null; // its values are values like others from now on
  const of = asked.value;
  try {
    const plan = await post<Plan>('/api/plan', { base: state.value?.hash ?? '', changes: changes() }, mine.signal);
    if (asking === mine) found.value = { of, plan };
  } catch (e) {
    if (asking === mine) wrong.value = mine.signal.aborted ? 'Stopped.' : e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.';
  }
  if (asking === mine) busy.value = false;
}

/** The plan of a file with stops is computed when the review is shown, once for each version of the file, and after what else is computed. */
let begun = '';
export function planWhenShown() {
  return effect(() => {
    const s = state.value;
    if (!s?.lamp || !s.current || trying.value || begun === s.hash || queue.value.length > 0 || (s.lamp.counts.stop ?? 0) === 0) return;
    begun = s.hash;
    window.setTimeout(() => { if (!trying.value) void ask(); });
  });
}

const previewed = (c: Cause) => c.sets.every((s) => (trial.value[s.path] ?? standing(s.path)) === s.text) && c.sets.some((s) => s.path in trial.value);
const all = (p: Plan): Change[] => p.causes.flatMap((c) => c.sets);

/** back takes the values of causes out of the preview. */
const back = (sets: Change[]) => takeBack(sets.map((s) => s.path));

const counted = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`;

/** Number is a number of findings of a severity, with its sign. */
const Number_ = ({ n, of }: { n: number; of: 'stop' | 'warn' }) => <span class="count"><Sign of={of} /> {of === 'stop' ? counted(n, 'stop', 'stops') : counted(n, 'warning', 'warnings')}</span>;

function Numbers({ list, label }: { list: Found[]; label: string }) {
  const stops = list.filter((f) => f.severity === 'stop'), warnings = list.filter((f) => f.severity === 'warn');
  if (list.length === 0) return null;
  return (
    <details class="matters">
      <summary>{label} {stops.length > 0 && <Number_ n={stops.length} of="stop" />} {warnings.length > 0 && <Number_ n={warnings.length} of="warn" />}</summary>
      <ul class="plain">{list.map((f) => <li>{words[f.severity]}: {f.check}, {f.subject}</li>)}</ul>
    </details>
  );
}

const From = ({ a, b }: { a: Count; b: Count }) => (
  <span class="fromto"><span class="step"><Sign of="stop" /> stops {a.stops} → <b>{b.stops}</b></span> <span class="step"><Sign of="warn" /> warnings {a.warnings} → <b>{b.warnings}</b></span></span>
);

function Row({ c, n }: { c: Cause; n: number }) {
  const on = previewed(c);
  return (
    <li class={on ? 'cause on' : 'cause'}>
      <div>
        <h3>{c.title}</h3>
        <p>{sentence(c.change)}</p>
        <p class="facts"><Numbers list={c.clears} label="clears" /><Numbers list={c.brings} label="new" /><span>{c.price}</span><span class="soft">then {counted(c.after.stops, 'stop', 'stops')}</span></p>
      </div>
      <button type="button" class="try" aria-pressed={on} onClick={() => (on ? back(c.sets) : tryValues(c.sets))}>{on ? 'Previewed' : 'Preview'}<span class="hidden"> change {n}</span></button>
    </li>
  );
}

export function PlanCard() {
  const n = section('counts'), p = found.value?.plan;
  if (!p && !busy.value && (n.stop ?? 0) + (n.warn ?? 0) === 0) return null;
  const on = p !== undefined && p.causes.length > 0 && p.causes.every(previewed);
  return (
    <section class={stale.value || old.value && !p ? 'card planned stale' : 'card planned'} aria-labelledby="plan">
      <div class="planned-head">
        <h2 id="plan">Plan</h2>
        {p && p.causes.length > 0 && <><span>{counted(p.causes.length, 'change', 'changes')}</span> <From a={p.before} b={p.after} /></>}
        {p && p.causes.length > 1 && <button type="button" class="try" aria-pressed={on} onClick={() => (on ? back(all(p)) : tryValues(all(p)))}>{on ? 'All previewed' : 'Preview all'}</button>}
      </div>
      {!p && <p class="hint">At most five changes that clear the stops and warnings, from the parts library and your own parts.</p>}
      {stale.value && <p class="stale-note">Outdated: the design has changed since.</p>}
      {p && p.causes.length > 0 && <ol>{p.causes.map((c, i) => <Row key={c.change} c={c} n={i + 1} />)}</ol>}
      {p && p.causes.length === 0 && <p>No change found that clears a stop or a warning.</p>}
      {p && p.left.length > 0 && <p class="wrong">Not cleared: {p.left.map((f) => `${f.check}, ${f.subject}`).join('; ')}. These need a change that is not tried here, such as other positions or further channels.</p>}
      {p && p.causes.length > 0 && <p class="hint">Each change is computed with those above it. Prices are parts cost; fuses and switches have none. Check each part against its datasheet.</p>}
      <p class="actions">
        {busy.value ? <><TaskProgress of="plan" label="Searching changes" /> <button type="button" onClick={() => asking?.abort()}>Stop</button></>
          : (!p || stale.value) && <button type="button" onClick={() => void ask()}>{p ? 'Search again' : 'Search changes'}</button>}
      </p>
      {wrong.value && <p class="wrong" role="alert">{wrong.value}</p>}
    </section>
  );
}
