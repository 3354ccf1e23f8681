// What the page knows, and how it changes. Values that are tried stand in `trial`; the file is written only by `save`.
import { batch, computed, effect, ReadonlySignal, signal } from '@preact/signals';
import { at, Basis, Change, Failed, Figure, get, Job, Lamp, page as pageID, post, Problem, State, Pictures, PreviewDiff, views } from './api';
import { withChanges } from './keytree';
import { merge } from './merge';
import { Steps } from './steps';

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
export const notice = signal<{ kind: 'good' | 'note' | 'bad'; text: string } | null>(null);
// What was done is said for a while; what went wrong, until it has been read.
effect(() => {
  const said = notice.value;
  if (said && said.kind !== 'bad') window.setTimeout(() => { if (notice.value === said) notice.value = null; }, 10_000);
});

/** stood is the values of the project's own parts as they stand in their files, and where the design names them, by their path. */
export const stood = signal<Record<string, string>>({});

/** standing is the text of a value as it stands in its file; undefined where the page does not know it. */
export const standing = (path: string): string | undefined => state.value?.lamp?.knobs.find((k) => k.path === path)?.text ?? stood.value[path] ?? (path.includes('#') ? '' : undefined);

/** triedOn is what stood in the file when a value was tried first. */
const triedOn = signal<Record<string, string | undefined>>({});

/** triedHash is the hash of the project when a value was tried first. The server compares with it what the page does not know, such as the position of a package. */
const triedHash = signal<Record<string, string>>({});

/** refused is the values that the server found changed in the file as well, and what the file stated before. */
const refused = signal<Record<string, string>>({});

/** clash is what a value that is tried was tried on, where the file says another thing by now. */
export const clash = (path: string): string | undefined => {
  const was = triedOn.value[path], now = standing(path);
  if (path in trial.value && path in refused.value) return refused.value[path];
  return path in trial.value && was !== undefined && now !== undefined && was !== now ? was : undefined;
};
export const clashes = computed(() => Object.keys(trial.value).filter((path) => clash(path) !== undefined).length);

/** savable says that the unsaved changes can be written now. */
export const savable = computed(() => trying.value && !saving.value && trialProblems.value.length === 0 && (trialError.value?.path ?? '') === '');

export const trying = computed(() => Object.keys(trial.value).length > 0);

/** lamp is what is shown: the tried values where there are some and they are computed, else the file's. */
export const lamp = computed<Lamp | null>(() => (trying.value ? trialLamp.value : null) ?? state.value?.lamp ?? null);

// A step of a slider changes a few figures of many. A component reads what it shows by these, and is drawn anew only when
// just that has changed.
const kept = <K, V>(make: (key: K) => V) => {
  const all = new Map<K, V>();
  return (key: K) => { let v = all.get(key); if (v === undefined) all.set(key, v = make(key)); return v; };
};
const shownFigures = computed(() => new Map((lamp.value?.figures ?? []).map((f) => [f.key, f])));
const filedFigures = computed(() => new Map((state.value?.lamp?.figures ?? []).map((f) => [f.key, f])));
const figureSignal = kept((key: string) => computed(() => shownFigures.value.get(key)));
const filedSignal = kept((key: string) => computed(() => filedFigures.value.get(key)));
const sectionSignal = kept((name: keyof Lamp) => computed(() => lamp.value?.[name]));

/** figure is a figure as it is shown. */
export const figure = (key: string): Figure | undefined => figureSignal(key).value;
const keys = computed(() => (lamp.value?.figures ?? []).map((f) => f.key).join('\n'));
/** figureKeys are the keys of all figures that are shown. */
export const figureKeys = () => keys.value.split('\n');
/** filed is a figure of the file. */
export const filed = (key: string): Figure | undefined => filedSignal(key).value;
/** section is a part of the lamp that is shown; there must be one. */
export const section = <K extends keyof Lamp>(name: K): Lamp[K] => (sectionSignal(name) as ReadonlySignal<Lamp[K]>).value;

// The pictures of the file's lamp are asked for when a view shows them; until they come, those of the lamp before stand there.
const filePictures = signal<{ lamp: number; views: string[]; list: Record<string, string> }>({ lamp: 0, views: [], list: {} });
const pictured = computed(() => filePictures.value.lamp === state.value?.lamp?.number && filePictures.value.views.includes(where.value.view));
const needed = computed(() => (state.value?.lamp?.full && views.find((v) => v.key === where.value.view)?.pictures && !pictured.value ? `lamp=${state.value.lamp.number}&view=${where.value.view}` : ''));
const ofTrial = computed(() => (trying.value ? trialLamp.value?.pictures : undefined));
/** pictures are those of the lamp that is shown, or of the last one that has some. */
export const pictures = computed(() => ({ ...filePictures.value.list, ...ofTrial.value }));
/** picturesOld says that pictures of the view are of another lamp, and picturesComing that its own are on the way. */
export const picturesOld = computed(() => !ofTrial.value && !pictured.value);
export const picturesComing = computed(() => needed.value !== '');

/** listenForPictures asks for what the view shows, whenever it needs others. */
function listenForPictures() {
  effect(() => {
    const of = needed.value;
    if (of === '' || !connected.value) return;
    const lamp = state.peek()!.lamp!.number!, view = where.peek().view;
    void get<Pictures>('/api/pictures?' + of).then((got) => {
      const last = filePictures.peek();
      if (state.peek()?.lamp?.number === lamp) filePictures.value = { lamp, views: last.lamp === lamp ? [...last.views, view] : [view], list: { ...last.list, ...got.pictures } };
    }).catch(() => undefined); // another lamp is on its way, or the program does not answer, which is said elsewhere
  });
}

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

let running: { abort: AbortController; since: number; full: boolean } | null = null;
let again = false;
let settle = 0;

/** changes is what is tried, as it is sent. */
export const changes = (): Change[] => Object.entries(trial.value).map(([path, text]) => ({ path, text }));

/** tryValue puts a value to the trial; one that says what the file says leaves it. */
export function tryValue(path: string, text: string) {
  tryValues([{ path, text }]);
}

export function tryValues(list: Change[]) {
  let next = { ...trial.value };
  for (const { path, text } of list) {
    const stands = standing(path);
    if (stands !== undefined && stands.replace(/\s+/g, ' ').trim() === text.trim()) delete next[path];
    else next = withChanges(next, [{ path, text: text.trim() }]);
  }
  setTrial(next);
}

/** takeBack takes values out of the trial. */
export function takeBack(paths: string[]) {
  const next = { ...trial.value };
  for (const path of paths) delete next[path];
  setTrial(next);
}

const steps = new Steps();
/** stepping tells which steps of the unsaved changes can be undone and redone. */
export const stepping = signal({ back: false, forth: false });
const showSteps = () => { stepping.value = { back: steps.back, forth: steps.forth }; };

/** setTrial tries just these values, and records what each new one is tried on. A fresh change is a step of its own, however soon it follows. */
export function setTrial(next: Record<string, string>, fresh = false) {
  if (fresh) steps.cut();
  steps.record(trial.value, next, performance.now());
  showSteps();
  putTrial(next);
}

function putTrial(next: Record<string, string>) {
  const on = { ...triedOn.value }, hash = { ...triedHash.value };
  for (const path of Object.keys(next)) if (!(path in trial.value)) { on[path] = standing(path); hash[path] = state.value?.hash ?? ''; }
  const still = Object.fromEntries(Object.entries(refused.value).filter(([path]) => path in next));
  batch(() => { trial.value = next; triedOn.value = on; triedHash.value = hash; refused.value = still; });
  rerun();
}

/** discard drops the unsaved changes; that can be undone. */
export function discard() {
  steps.record(trial.value, {}, performance.now());
  showSteps();
  dropTrial();
}

function dropTrial() {
  running?.abort.abort();
  batch(() => {
    trial.value = {};
    refused.value = {};
    trialLamp.value = null;
    trialBusy.value = false;
    trialProblems.value = [];
    trialError.value = null;
    trialJob.value = null;
  });
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
    if (!running.full && performance.now() - running.since < 400) {
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
  const mine = { abort: new AbortController(), since: performance.now(), full };
  running = mine;
  again = false;
  // What is done at once is not announced: that would be two more renders a step of a slider.
  const slow = window.setTimeout(() => { if (running === mine && (!full || !trialLamp.value)) trialBusy.value = true; }, trialLamp.value ? 150 : 0);
  try {
    const file = s.lamp, sent = changes();
    const got = await post<Lamp | PreviewDiff>('/api/preview', { base: s.hash, changes: sent, full, view: where.value.view, against: file?.number ?? 0 }, mine.abort.signal);
    window.clearTimeout(slow);
    if (running !== mine) return;
    running = null;
    if (again) void compute(false); // the next answer is computed while this one is drawn
    const last = trialLamp.value;
    batch(() => {
      shownChanges = sent;
      if ('against' in got) trialLamp.value = merge(file!, last, got);
      else {
        // What the view does not show is not told.
        const whole = last ?? file;
        trialLamp.value = {
          ...got, board_heat: got.board_heat.temp_k || !whole ? got.board_heat : whole.board_heat, spectrum: got.spectrum.lambda_nm || !whole ? got.spectrum : whole.spectrum,
          pictures: got.pictures ?? whole?.pictures, curves: got.curves ?? whole?.curves,
        };
      }
      trialBusy.value = false;
      trialProblems.value = [];
      trialError.value = null;
      trialJob.value = null;
    });
    if (!running && !full) settle = window.setTimeout(() => { if (!running && trying.value) void compute(true); }, 350);
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
      } else if (mine.abort.signal.aborted) trialError.value = { path: '', text: 'stopped; results outdated' };
      else trialError.value = { path: '', text: 'the program does not answer' };
    });
    if (e instanceof Failed && e.status === 409) await refresh();
    else if (again) void compute(false);
  }
}

/** save writes what is tried into the file; a value whose change in the file is shown overwrites it. */
export async function save() {
  const now = state.value?.hash ?? '';
  const tried = Object.fromEntries(Object.keys(trial.value).map((path) => [path, clash(path) !== undefined ? now : triedHash.value[path] ?? now]));
  await write('/api/save', { changes: changes(), tried }, 'Saved to file.');
}

/** undo takes back the last step of the unsaved changes, or else the last change of the file. */
export async function undo() {
  const before = steps.undo(trial.value);
  showSteps();
  if (before) putTrial(before);
  else if (state.value?.can_undo) await write('/api/undo', {}, 'Last change of the file undone.');
}

export async function redo() {
  const next = steps.redo(trial.value);
  showSteps();
  if (next) putTrial(next);
  else if (state.value?.can_redo) await write('/api/redo', {}, 'Change of the file redone.');
}

// Unsaved changes survive a reload of the page, with the version of the project that each was tried on.
const reloadKey = () => `lampwright unsaved changes ${state.peek()?.folder}/${state.peek()?.file}`;

function keepTrial() {
  effect(() => {
    const s = state.value;
    if (!s) return;
    try {
      if (trying.value) sessionStorage.setItem(reloadKey(), JSON.stringify({ of: s.folder + '/' + s.file, trial: trial.value, hash: triedHash.value }));
      else sessionStorage.removeItem(reloadKey());
    } catch { /* a browser that keeps nothing */ }
  });
}

function restoreTrial() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(reloadKey()) ?? 'null') as { of: string; trial: Record<string, string>; hash: Record<string, string> } | null;
    if (!kept || !state.value || kept.of !== state.value.folder + '/' + state.value.file || Object.keys(kept.trial).length === 0) return;
    setTrial(kept.trial);
    triedHash.value = { ...triedHash.value, ...kept.hash };
    notice.value = { kind: 'note', text: 'The unsaved changes from before the page was reloaded are shown.' };
  } catch { /* it was not this page that wrote it */ }
}

/** write changes the file; it is true where that was done. */
export async function write(path: string, body: object, done: string, base?: string, wrong?: (text: string) => void): Promise<boolean> {
  if (!state.value || saving.value) return false;
  saving.value = true;
  try {
    const next = await post<State>(path, { base: base ?? state.value.hash, ...body });
    take(next);
    if (path === '/api/save') { steps.clear(); showSteps(); dropTrial(); }
    else if (trying.value) rerun();
    notice.value = { kind: 'good', text: done };
    return true;
  } catch (e) {
    const text = e instanceof Failed ? sentence(e.message) : 'The program does not answer; nothing was written.';
    if (wrong) wrong(text);
    else notice.value = { kind: 'bad', text };
    if (e instanceof Failed) {
      if (e.problems.length > 0) trialProblems.value = e.problems;
      if (e.clashes.length > 0) refused.value = { ...refused.value, ...Object.fromEntries(e.clashes.map((c) => [c.path, c.was || 'another value'])) };
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
    if (!saving.value) notice.value = { kind: 'note', text: next.outside ? `Another program changed the project; this page shows the new version.` : 'The project was changed in another window; this page shows the new version.' };
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
  saving.value = true; // what comes of it is not of another window
  try {
    take(await post<State>('/api/begin', { key }));
  } catch (e) {
    notice.value = { kind: 'bad', text: e instanceof Error ? sentence(e.message) : String(e) };
  } finally {
    saving.value = false;
  }
}

/** arrive shows a project that this page has written. */
export function arrive(next: State, said: string) {
  saving.value = true; // what comes of it is not of another window
  take(next);
  saving.value = false;
  notice.value = { kind: 'note', text: said };
}

export function listen() {
  restoreTrial();
  keepTrial();
  listenForPictures();
  const events = new EventSource(at('/api/events'));
  events.addEventListener('version', async (e) => {
    const back = !connected.value;
    connected.value = true;
    if (back || Number((e as MessageEvent).data) !== state.value?.version) await refresh();
    if (back && trying.value) rerun(); // what was tried meanwhile is not lost
  });
  events.addEventListener('progress', (e) => {
    const job = JSON.parse((e as MessageEvent).data) as Job;
    if (queue.value.some((j) => j.id === job.id)) queue.value = queue.value.map((j) => (j.id === job.id ? job : j));
    else if (job.for === 'trial') trialJob.value = trialBusy.value ? job : null;
    else if (state.value?.job?.id === job.id) state.value = { ...state.value, job };
  });
  events.addEventListener('queue', (e) => { queue.value = JSON.parse((e as MessageEvent).data) as Job[]; });
  events.onerror = () => { connected.value = false; };
}

// Where in the page one is: the view, and what it points at.
const parse = () => {
  let text = location.hash;
  try { text = decodeURIComponent(text); } catch { /* a hash that somebody typed */ }
  const [view, ...at] = text.replace(/^#\/?/, '').split(':');
  return { view: views.some((v) => v.key === view) ? view! : 'review', at: at.join(':') };
};
export const where = signal(parse());

// A step back in the browser's history leads to where one was on that page, not to its top.
history.scrollRestoration = 'manual';
const left = new Map<number, number>();
let page = 0, pages = 0;
const turn = () => {
  left.set(page, window.scrollY); // what is shown is still the page that is left
  const known = (history.state as { page?: number } | null)?.page;
  page = known ?? pages + 1;
  pages = Math.max(pages, page);
  if (known === undefined) history.replaceState({ page }, '');
};
turn();
/** cameFrom is how far down one was on the page that is shown; 0 where one was not. */
export const cameFrom = () => left.get(page) ?? 0;

window.addEventListener('hashchange', () => {
  turn();
  const before = where.value.view;
  where.value = parse();
  if (notice.value?.kind === 'good') notice.value = null;
  why.value = ''; // a link out of a derivation leads to what lies beneath it
  if (trying.value && where.value.view !== before) rerun(); // another view shows what was not told
});

/** why is the key of the figure whose derivation is open. */
export const why = signal('');

/** queue is the long computations that run or wait for their turn, of all pages. */
export const queue = signal<Job[]>([]);
/** taskOf is the long computation of a kind that this page waits for. */
export const taskOf = (key: string): Job | undefined => queue.value.find((j) => j.for === key && j.page === pageID);
/** stopTask ends one, of any page. */
export const stopTask = (id: number) => { void post('/api/cancel', { id }); };

let shownChanges: Change[] = [];
/** shownRequest is what a question on the lamp that is shown is sent with: the server has just computed it, while newer values are on their way. */
export const shownRequest = () => ({ base: state.value?.hash ?? '', changes: trying.value && trialLamp.value ? shownChanges : [] });

/** request is what a question on the values that are tried is sent with. */
export const request = () => ({ base: state.value?.hash ?? '', changes: trialError.value ? [] : changes() });

/** basis is the derivation of the figure of `why`, of the values that are shown; null while it is on the way. */
export const basis = signal<{ key: string; basis: Basis } | null>(null);
/** basisFailed is why there is none. */
export const basisFailed = signal('');
let asked = 0;
export async function derive(key: string) {
  const mine = ++asked;
  basisFailed.value = '';
  try {
    const got = await post<Basis>('/api/why', { ...request(), key });
    if (mine === asked) basis.value = { key, basis: got };
  } catch (e) {
    if (mine === asked) basisFailed.value = e instanceof Failed ? sentence(e.message) : 'The program does not answer.';
  }
}
