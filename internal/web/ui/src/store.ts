// What the page knows, and how it changes. Values that are tried stand in `trial`; the file is written only by `save`.
import { batch, computed, signal } from '@preact/signals';
import { Change, Failed, get, Job, Lamp, post, Problem, State } from './api';

export const state = signal<State | null>(null);
export const connected = signal(true);
export const loadError = signal('');

/** trial holds values that are tried, by their path. */
export const trial = signal<Record<string, string>>({});
export const trialLamp = signal<Lamp | null>(null);
export const trialBusy = signal(false);
export const trialJob = signal<Job | null>(null);
export const trialProblems = signal<Problem[]>([]);
export const trialError = signal<{ path: string; text: string } | null>(null);
export const saving = signal(false);
export const notice = signal<{ kind: 'good' | 'bad'; text: string } | null>(null);
/** slowest is how long the last quick answer took, in ms, from the event to the shown page. */
export const lastTrialMs = signal(0);

export const trying = computed(() => Object.keys(trial.value).length > 0);

/** lamp is what is shown: the tried values where there are some and they are computed, else the file's. */
export const lamp = computed<Lamp | null>(() => {
  const file = state.value?.lamp ?? null;
  const tried = trying.value ? trialLamp.value : null;
  if (!tried) return file;
  if (tried.full || !file) return tried;
  const basis = new Map((lastFull ?? file).figures.map((f) => [f.key, f]));
  // A quick answer leaves out what the view does not show.
  const whole = lastFull ?? file;
  return {
    ...tried,
    board_heat: tried.board_heat.temp_k ? tried.board_heat : whole.board_heat,
    spectrum: tried.spectrum.lambda_nm ? tried.spectrum : whole.spectrum,
    pictures: (lastFull ?? file).pictures,
    curves: (lastFull ?? file).curves,
    figures: tried.figures.map((f) => ({ ...f, basis: basis.get(f.key)?.basis })),
  };
});

/** phase is what the page is at; it changes seldom, so that the frame of the page is not drawn anew with every figure. */
export const phase = computed(() => (!state.value ? 'opening' : state.value.empty ? 'empty' : lamp.value ? 'ready' : 'waiting'));
export const lampName = computed(() => lamp.value?.name ?? '');

/** rough says that what is shown lacks its ranges and derivations so far. */
export const rough = computed(() => trying.value && trialLamp.value !== null && !trialLamp.value.full);

/** old says that what is shown is not what the file, or the tried values, give. */
export const old = computed(() => {
  const s = state.value;
  if (!s || !s.lamp) return false;
  if (trying.value) return trialBusy.value || trialError.value !== null || trialProblems.value.length > 0 || !trialLamp.value;
  return !s.current;
});

let lastFull: Lamp | null = null;
let running: { abort: AbortController; since: number } | null = null;
let again = false;
let settle = 0;

const changes = (): Change[] => Object.entries(trial.value).map(([path, text]) => ({ path, text }));

/** tryValue puts a value to the trial; one that says what the file says leaves it. */
export function tryValue(path: string, text: string) {
  tryValues([{ path, text }]);
}

export function tryValues(list: Change[]) {
  const next = { ...trial.value };
  for (const { path, text } of list) {
    const stands = state.value?.lamp?.knobs.find((k) => k.path === path)?.text;
    if (stands !== undefined && stands.replace(/\s+/g, ' ').trim() === text.trim()) delete next[path];
    else next[path] = text.trim();
  }
  trial.value = next;
  rerun();
}

export function dropTrial() {
  running?.abort.abort();
  batch(() => {
    trial.value = {};
    trialLamp.value = null;
    trialBusy.value = false;
    trialProblems.value = [];
    trialError.value = null;
    trialJob.value = null;
  });
  lastFull = null;
}

/** stopTrial ends a computation that takes long; the values stay, and what was shown stays. */
export function stopTrial() {
  running?.abort.abort();
  window.clearTimeout(settle);
  again = false;
}

/** rerun computes what is tried. A quick answer is waited for, a slow one is overtaken. */
export function rerun() {
  window.clearTimeout(settle);
  if (!trying.value) return dropTrial();
  if (running) {
    if (performance.now() - running.since < 150) {
      again = true;
      return;
    }
    running.abort.abort();
  }
  void compute(false);
}

async function compute(full: boolean) {
  const s = state.value;
  if (!s) return;
  const mine = { abort: new AbortController(), since: performance.now() };
  running = mine;
  again = false;
  // What is done at once is not announced: that would be two more renders a step of a slider.
  const slow = window.setTimeout(() => { if (running === mine && (!full || !trialLamp.value)) trialBusy.value = true; }, trialLamp.value ? 150 : 0);
  try {
    const got = await post<Lamp>('/api/try', { base: s.hash, changes: changes(), full, board: where.value.view === 'board', colour: where.value.view === 'colour' }, mine.abort.signal);
    window.clearTimeout(slow);
    if (running !== mine) return;
    running = null;
    if (full) lastFull = got;
    batch(() => {
      trialLamp.value = got;
      trialBusy.value = false;
      trialProblems.value = [];
      trialError.value = null;
      trialJob.value = null;
      if (!full) lastTrialMs.value = performance.now() - mine.since;
    });
    if (again) void compute(false);
    else if (!full) settle = window.setTimeout(() => { if (!running && trying.value) void compute(true); }, 250);
  } catch (e) {
    window.clearTimeout(slow);
    if (running !== mine) return;
    running = null;
    batch(() => {
      trialBusy.value = false;
      trialJob.value = null;
      if (e instanceof Failed && e.status === 409) return;
      if (e instanceof Failed) {
        trialProblems.value = e.problems;
        trialError.value = { path: e.path, text: e.message };
      } else if (mine.abort.signal.aborted) trialError.value = { path: '', text: 'stopped; what is shown is from before' };
      else trialError.value = { path: '', text: 'the program does not answer' };
    });
    if (e instanceof Failed && e.status === 409) await refresh();
    else if (again) void compute(false);
  }
}

/** save writes what is tried into the file. */
export async function save() {
  await write('/api/save', { changes: changes() }, 'Written to the file.');
}

export async function undo() { await write('/api/undo', {}, 'One step back.'); }
export async function redo() { await write('/api/redo', {}, 'One step forward.'); }

/** write changes the file; it is true where that was done. */
export async function write(path: string, body: object, done: string, base?: string): Promise<boolean> {
  if (!state.value || saving.value) return false;
  saving.value = true;
  try {
    const next = await post<State>(path, { base: base ?? state.value.hash, ...body });
    take(next);
    if (path === '/api/save') dropTrial();
    else if (trying.value) rerun();
    notice.value = { kind: 'good', text: done };
    return true;
  } catch (e) {
    notice.value = { kind: 'bad', text: e instanceof Error ? sentence(e.message) : String(e) };
    if (e instanceof Failed) {
      if (e.problems.length > 0) trialProblems.value = e.problems;
      if (e.status === 409) await refresh();
    }
    return false;
  } finally {
    saving.value = false;
  }
}

export const sentence = (text: string) => text.charAt(0).toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? '' : '.');

function take(next: State) {
  const before = state.value;
  if (before && next.version < before.version) return;
  state.value = next;
  if (before && before.hash !== next.hash) {
    if (next.outside) notice.value = { kind: 'good', text: `Another program changed ${next.file}; this page shows what stands there now.` };
    if (trying.value) rerun();
  }
}

export async function refresh() {
  try {
    take(await get<State>('/api/state'));
    loadError.value = '';
  } catch (e) {
    loadError.value = e instanceof Failed ? sentence(e.message) : 'The program does not answer. Start `lampwright serve` again.';
  }
}

export async function cancelJob() {
  const job = state.value?.job;
  if (job) take(await post<State>('/api/cancel', { id: job.id }));
}

export async function computeAgain() { take(await post<State>('/api/compute', {})); }

export async function begin(key: string) {
  try {
    take(await post<State>('/api/begin', { key }));
  } catch (e) {
    notice.value = { kind: 'bad', text: e instanceof Error ? sentence(e.message) : String(e) };
  }
}

export function listen() {
  const events = new EventSource('/api/events');
  events.addEventListener('version', (e) => {
    connected.value = true;
    if (Number((e as MessageEvent).data) !== state.value?.version) void refresh();
  });
  events.addEventListener('progress', (e) => {
    const job = JSON.parse((e as MessageEvent).data) as Job;
    if (job.trial) trialJob.value = trialBusy.value ? job : null;
    else if (state.value?.job?.id === job.id) state.value = { ...state.value, job };
  });
  events.onerror = () => { connected.value = false; };
}

// Where in the page one is: the view, and what it points at.
const parse = () => {
  const [view, at] = decodeURIComponent(location.hash).replace(/^#\/?/, '').split(':');
  return { view: view || 'review', at: at ?? '' };
};
export const where = signal(parse());
window.addEventListener('hashchange', () => { where.value = parse(); });

/** why is the key of the figure whose derivation is open. */
export const why = signal('');
