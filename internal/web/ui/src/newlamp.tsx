// A new lamp from five questions. Proposals, limits and the design come from the server; the page keeps what is typed until it is written.
import { batch, effect, signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { Answers, Failed, FieldError, LampForm, post, Sketch, Started } from './api';
import { TaskProgress } from './pieces';
import { aboveOf, Drawing, sideOf } from './sketch';
import { arrive, sentence, state } from './store';

type Field = keyof LampForm;
const empty: LampForm = {
  kind: 'tank', length: '', width: '', height: '', water_depth: '', substrate_depth: '', plants: '', ppfd_min: '', ppfd_max: '', full_level_time: '',
  cct: '', ra: '', ambient_typical: '', ambient_max: '', budget: '', cooling: 'silent', name: '',
};

// What is typed survives a reload, for each folder.
const key = () => `lampwright new ${state.value?.folder ?? ''}`;
const kept = (): LampForm => { try { return { ...empty, ...(JSON.parse(sessionStorage.getItem(key()) ?? '{}') as Partial<LampForm>) }; } catch { return empty; } };
const form = signal<LampForm>(empty);
const got = signal<Answers | null>(null);
const busy = signal(false);
const wrong = signal('');
let asked = 0, writing: AbortController | null = null;

async function ask() {
  const mine = ++asked;
  try {
    const next = await post<Answers>('/api/answers', { form: form.value });
    if (mine === asked) got.value = next;
  } catch (e) {
    if (mine === asked) wrong.value = e instanceof Failed ? sentence(e.message) : 'The program does not answer. What is typed is kept.';
  }
}

/** begin reads what was typed before, and asks for what follows from it whenever it changes. */
function begin() {
  form.value = kept();
  let timer = 0;
  const stop = effect(() => {
    try { sessionStorage.setItem(key(), JSON.stringify(form.value)); } catch { /* a browser that keeps nothing */ }
    window.clearTimeout(timer);
    timer = window.setTimeout(() => void ask(), got.peek() ? 150 : 0);
  });
  return () => { stop(); window.clearTimeout(timer); };
}

const put = (change: Partial<LampForm>) => { batch(() => { form.value = { ...form.value, ...change }; wrong.value = ''; }); };

async function write() {
  const mine = writing = new AbortController();
  batch(() => { busy.value = true; wrong.value = ''; });
  try {
    const done = await post<Started>('/api/new', { form: form.value }, mine.signal);
    try { sessionStorage.removeItem(key()); } catch { /* a browser that keeps nothing */ }
    location.hash = '#/review';
    arrive(done.state, `The design is written: ${count(done.stops, 'stop')}, ${count(done.warnings, 'warning')} at its review. How each value was chosen is stated at the top of ${done.state.file}.`);
  } catch (e) {
    wrong.value = mine.signal.aborted ? 'Stopped; nothing was written.' : e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer. Nothing is lost; try again.';
    if (e instanceof Failed && e.path !== '') document.getElementById(`new-${e.path}`)?.focus();
  } finally {
    if (writing === mine) busy.value = false;
  }
}

const count = (n: number, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`;
const errorOf = (field: Field): FieldError | undefined => got.value?.wrong.find((x) => x.field === field);

/** Answer is one field. What is not typed shows the proposal. */
function Answer({ of, label, note }: { of: Field; label: string; note?: string }) {
  const bad = errorOf(of), id = `new-${of}`;
  return (
    <div class={form.value[of] === '' ? 'answer' : 'answer own'}>
      <label for={id}>{label}</label>
      <input id={id} type="text" autocomplete="off" spellcheck={false} value={form.value[of] || (got.value?.filled[of] ?? '')} aria-invalid={!!bad} aria-describedby={bad ? `${id}-e` : undefined}
        onInput={(e) => put({ [of]: e.currentTarget.value })} />
      {note && <span class="soft">{note}</span>}
      {bad && <p class="wrong" id={`${id}-e`}>{sentence(bad.error)}</p>}
    </div>
  );
}

/** Choice is one of several answers. */
function Choice({ name, legend, value, list, pick }: { name: string; legend: string; value: string; list: [string, string, string?][]; pick: (key: string) => void }) {
  return (
    <fieldset class={list.some(([, , note]) => note) ? 'choice rows' : 'choice'}>
      <legend class="hidden">{legend}</legend>
      {list.map(([k, title, note]) => (
        <label class={value === k ? 'option on' : 'option'}>
          <input type="radio" name={name} value={k} checked={value === k} onChange={() => pick(k)} />
          <span>{title}{note && <span class="soft"> {note}</span>}</span>
        </label>
      ))}
    </fieldset>
  );
}

const Question = ({ n, title, children }: { n: number; title: string; children: preact.ComponentChildren }) => (
  <section class="question" aria-labelledby={`question-${n}`}><span class="n" aria-hidden="true">{n}</span><h2 id={`question-${n}`}>{title}</h2><div class="answers">{children}</div></section>
);

/** Plan draws the place; its words stand over the drawing, so that they are not scaled. */
function Plan({ d, label, most }: { d: Drawing; label: string; most: string }) {
  return (
    <div class="sketch" role="img" aria-label={label} style={{ aspectRatio: `${d.w} / ${d.h}`, maxWidth: most }}>
      <svg viewBox={`0 0 ${d.w} ${d.h}`} aria-hidden="true">
        {d.boxes.map((b) => <rect x={b.x} y={b.y} width={b.w} height={b.h} class={b.class} />)}
        {d.lines.map((l) => <line x1={l.x1} y1={l.y1} x2={l.x2} y2={l.y2} class={l.class} />)}
      </svg>
      {d.labels.map((l) => <span class={l.class} style={{ left: `${(100 * l.x) / d.w}%`, top: `${(100 * l.y) / d.h}%` }}>{l.text}</span>)}
    </div>
  );
}

const saidOf = (p: Sketch) => `${p.kind}, ${p.length} mm long, ${p.width} mm wide${p.height ? `, ${p.height} mm high` : ''}${p.water ? `, water ${p.water} mm deep` : ''}`;

/** Place draws the place from the side and from above, to one scale. */
function Place({ p }: { p: Sketch }) {
  const side = sideOf(p), above = aboveOf(p), most = `${((42 * side.w) / side.h).toFixed(1)}vh`;
  return (
    <>
      <h2>The place</h2>
      <Plan d={side} label={`From the side: ${saidOf(p)}`} most={most} />
      <Plan d={above} label={`From above: ${saidOf(p)}`} most={most} />
      <p class="soft">From the side and from above. The design computes the hanging height and the size of the lamp.</p>
    </>
  );
}

const looks: [string, string][] = [['3000 K', 'Warm, 3000 K'], ['4500 K', 'Neutral, 4500 K'], ['6500 K', 'Daylight, 6500 K']];
const classes: Partial<LampForm> = { ppfd_min: '', ppfd_max: '', full_level_time: '' };

export function NewLamp() {
  useEffect(begin, []);
  const a = got.value, f = form.value, bad = a?.wrong.length ?? 0;
  const cct = f.cct || (a?.filled.cct ?? '');
  return (
    <form class="newlamp" onSubmit={(e) => e.preventDefault()}>
      <div class="questions">
        <Question n={1} title="Where does it hang?">
          <Choice name="kind" legend="Kind of place" value={f.kind} list={[['tank', 'Planted tank'], ['terrarium', 'Terrarium'], ['bench', 'Bench']]} pick={(kind) => put({ kind, plants: '', ...classes })} />
          <div class="fields">
            <Answer of="length" label="Length inside" /><Answer of="width" label="Width inside" />
            {f.kind !== 'bench' && <Answer of="height" label="Height inside" />}
            {f.kind === 'tank' && <Answer of="water_depth" label="Water depth" />}
            {f.kind !== 'bench' && <Answer of="substrate_depth" label="Substrate depth" />}
          </div>
        </Question>
        <Question n={2} title="What grows there?">
          <Choice name="plants" legend="Class of plants" value={f.plants || (a?.filled.plants ?? '')} list={(a?.plants ?? []).map((p) => [p.key, p.title.charAt(0).toUpperCase() + p.title.slice(1), `${p.ppfd}, ${p.dli}`])} pick={(plants) => put({ plants, ...classes })} />
          <div class="fields">
            <Answer of="ppfd_min" label="PPFD, minimum" /><Answer of="ppfd_max" label="PPFD, maximum" /><Answer of="full_level_time" label="Time at full level" />
          </div>
          {a && <p class="source">Daily light integral {a.dli}, with 1 h of sunrise and of sunset. Source: {a.source}.{a.source === 'own values' && <> <button type="button" class="link" onClick={() => put(classes)}>Use the proposal</button></>}</p>}
        </Question>
        <Question n={3} title="How should it look?">
          <Choice name="look" legend="Colour temperature" value={looks.find(([k]) => k === cct)?.[0] ?? ''} list={looks} pick={(k) => put({ cct: k })} />
          <div class="fields"><Answer of="cct" label="CCT" /><Answer of="ra" label="Ra, minimum" /></div>
          <p class="source">Source: rule of thumb (no source). Ra ≥ 80 for viewing.</p>
        </Question>
        <Question n={4} title="How is it cooled?">
          <Choice name="cooling" legend="Cooling" value={f.cooling} list={[['silent', 'Silent, without a fan'], ['fan', 'A fan is acceptable']]} pick={(cooling) => put({ cooling })} />
          <div class="fields"><Answer of="ambient_typical" label="Ambient, typical" /><Answer of="ambient_max" label="Ambient, maximum" /></div>
        </Question>
        <Question n={5} title="What may it cost?">
          <div class="fields"><Answer of="budget" label="Budget" note="such as 220 EUR; empty: no limit" /><Answer of="name" label="Name of the lamp" /></div>
        </Question>
      </div>
      <div class="beside">
        {a && <Place p={a.place} />}
        <h2>One design, by fixed rules</h2>
        <p>The white emitter nearest to the look, the lens and height with the most light at the target, the first heat sink without a stop, the lowest price of drivers and supply. Parts are those of the parts library; built-in ones are fictitious. Every value can be changed afterwards.</p>
        <p class="actions">
          <button type="button" class="write" disabled={busy.value || bad > 0} onClick={() => void write()}>Write the design</button>
          {busy.value && <><TaskProgress of="new" label="Computing designs" /> <button type="button" onClick={() => writing?.abort()}>Stop</button></>}
          {bad > 0 && <span class="wrong" role="status">{bad === 1 ? '1 answer needs a change' : `${bad} answers need a change`}</span>}
        </p>
        {wrong.value && <p class="wrong" role="alert">{wrong.value}</p>}
      </div>
    </form>
  );
}
