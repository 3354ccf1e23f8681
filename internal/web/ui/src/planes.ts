// The planes whose light is shown, and what is asked of the server about them: the light on a cut, on several levels, and of each channel.
import { batch, computed, Signal, signal } from '@preact/signals';
import { ChannelMap, Cut, Failed, LightMap, post } from './api';
import { mm } from './format';
import { lamp, request, section, sentence, shownRequest, state, trying } from './store';

export type Kind = 'target' | 'surface' | 'level' | 'levels' | 'along' | 'across';
export type Quantity = 'ppfd' | 'lux';

/** Flat is light on a rectangle; x0 and y0 are its lower left corner, in metres. */
export interface Flat {
  key: string; title: string; nx: number; ny: number; length_m: number; width_m: number; x0: number; y0: number; xName: string; yName: string;
  ppfd?: number[]; lux: number[]; error?: number[];
}

/** datum is from where heights in the place count. */
export const datum = (kind: string) => (kind === 'bench' ? 'height above the bench' : 'height above the inside bottom');
/** depth tells a height by the water's surface as well. */
export function depth(z: number): string {
  const p = section('installation');
  return p.water_m <= p.substrate_m ? '' : z <= p.water_m ? `, ${mm(p.water_m - z)} below the water surface` : `, ${mm(z - p.water_m)} above the water surface`;
}

// What is chosen outlives the view, so that a look at another one loses nothing.
export const plane = signal<Kind>('target');
export const quantity = signal<Quantity>('ppfd');
export const places = signal<Record<string, number>>({});
/** spot is the cell that the probe stands on; planes keep their own. */
export const spot = signal<{ key: string; i: number; j: number } | null>(null);
/** off is the channels whose light is not shown, by their names. */
export const off = signal<string[]>([]);
export const verdicts = signal(false);
/** wipe is how far the map shows the file, from its left, as a fraction; null where it shows what is tried alone. */
export const wipe = signal<number | null>(null);

export const unitOf = (w: Quantity) => (w === 'ppfd' ? 'µmol/m²/s' : 'lx');
export type CutKind = 'level' | 'along' | 'across';
export const isCut = (k: Kind): k is CutKind => k === 'level' || k === 'along' || k === 'across';

/** maximum returns the largest of many numbers, and minimum the smallest. */
export function maximum(v: ArrayLike<number>) {
  let m = 0;
  for (let i = 0; i < v.length; i++) if (v[i]! > m) m = v[i]!;
  return m;
}
export function minimum(v: ArrayLike<number>) {
  let m = Infinity;
  for (let i = 0; i < v.length; i++) if (v[i]! < m) m = v[i]!;
  return m;
}

/** placeOf is where a cut lies: as chosen, or a first guess. */
export function placeOf(k: CutKind): number {
  const at = places.value[k];
  if (at !== undefined) return at;
  const p = section('installation');
  if (k !== 'level') return 0;
  return p.water_m > p.substrate_m ? (p.water_m + p.substrate_m) / 2 : p.substrate_m + p.hanging_m / 4;
}

/** Question asks one thing at a time, and the last one wins; what was answered is not asked again. */
class Question<T> {
  readonly answer: Signal<{ of: string; kind: string; got: T } | null> = signal(null);
  readonly busy = signal(false);
  readonly wrong = signal('');
  private asking: { abort: AbortController; kind: string } | null = null;
  private again: (() => void) | null = null;
  constructor(private readonly path: string) {}

  stop() {
    this.asking?.abort.abort();
    this.asking = null;
    this.again = null;
    this.busy.value = false;
  }

  /** ask asks of a kind of plane; another kind overtakes what is on its way. */
  async ask(kind: string, body: object) {
    if (this.asking) {
      if (this.asking.kind === kind) { this.again = () => void this.ask(kind, body); return; }
      this.stop();
    }
    const of = JSON.stringify(body), known = this.answer.peek();
    if (known?.of === of) { this.busy.value = false; return; }
    const mine = this.asking = { abort: new AbortController(), kind };
    const slow = window.setTimeout(() => { if (this.asking === mine) this.busy.value = true; }, known?.kind === kind ? 200 : 0);
    try {
      const got = await post<T>(this.path, body, mine.abort.signal);
      if (this.asking !== mine) return;
      batch(() => { this.answer.value = { of, kind, got }; this.busy.value = false; this.wrong.value = ''; });
    } catch (e) {
      if (this.asking !== mine) return;
      batch(() => { this.busy.value = false; this.wrong.value = e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.'; });
    } finally {
      window.clearTimeout(slow);
      if (this.asking === mine) this.asking = null;
    }
    const next = this.again;
    this.again = null;
    if (next && !this.asking) next();
  }
}

const cutQuestion = new Question<Cut>('/api/cut'), fileCutQuestion = new Question<Cut>('/api/cut');
const levelsQuestion = new Question<{ levels: Cut[] }>('/api/levels');
const channelQuestion = new Question<{ channels: ChannelMap[] }>('/api/channel-light'), fileChannelQuestion = new Question<{ channels: ChannelMap[] }>('/api/channel-light');

const overviewQuestion = new Question<Cut>('/api/cut');
/** overview is the light on the section along the lamp, through its middle. */
export const overview = computed(() => overviewQuestion.answer.value?.got ?? null);
export const overviewWrong = computed(() => overviewQuestion.wrong.value);
export const askOverview = () => void overviewQuestion.ask('along', { ...request(), cut: { kind: 'along', at_m: section('installation').offset_y_m }, clamp: true });
export const stopOverview = () => overviewQuestion.stop();

export const cut = computed(() => cutQuestion.answer.value?.got ?? null);
export const levels = computed(() => levelsQuestion.answer.value?.got.levels ?? null);
export const cutBusy = computed(() => cutQuestion.busy.value || levelsQuestion.busy.value);
export const cutWrong = computed(() => cutQuestion.wrong.value || levelsQuestion.wrong.value);

export function stopCuts() {
  for (const q of [cutQuestion, fileCutQuestion, levelsQuestion, channelQuestion, fileChannelQuestion]) q.stop();
}

const ofFile = () => ({ base: state.value?.hash ?? '', changes: [] });

/** askCuts asks for the light on what is no map of the figures, of what is tried and of the file. */
export function askCuts() {
  const kind = plane.value;
  if (kind === 'levels') return void levelsQuestion.ask(kind, shownRequest());
  if (!isCut(kind)) return;
  const at = { cut: { kind, at_m: placeOf(kind) }, clamp: true };
  void cutQuestion.ask(kind, { ...shownRequest(), ...at });
  if (trying.value) void fileCutQuestion.ask(kind, { ...ofFile(), ...at });
}

let later = 0;
/** askChannels asks for the light of each channel: at once where one is off, else when nothing has moved for a while, so that a switch
 * finds it. */
export function askChannels() {
  window.clearTimeout(later);
  const kind = plane.value;
  if (kind === 'levels') return;
  const at = { cut: { kind, at_m: isCut(kind) ? placeOf(kind) : 0 }, clamp: true }, tried = { ...shownRequest(), ...at }, filed = { ...ofFile(), ...at };
  const both = () => { void channelQuestion.ask(kind, tried); if (trying.peek()) void fileChannelQuestion.ask(kind, filed); };
  if (off.value.length > 0) both();
  else later = window.setTimeout(both, 500);
}
export const forgetChannels = () => window.clearTimeout(later);

/** channelLight is the light of each channel on the plane that is shown; null before it is known. */
export const channelLight = computed(() => { const a = channelQuestion.answer.value; return a && a.kind === plane.value ? a.got.channels : null; });
const fileChannelLight = computed(() => { const a = fileChannelQuestion.answer.value; return a && a.kind === plane.value ? a.got.channels : null; });
/** channelsOld says that the light of channels is of other values than those that are shown. */
export const channelsOld = computed(() => {
  const a = channelQuestion.answer.value;
  if (!a) return true;
  const of = JSON.parse(a.of) as { base: string; changes: unknown };
  const now = shownRequest();
  return of.base !== now.base || JSON.stringify(of.changes) !== JSON.stringify(now.changes);
});

/** sumOf adds the channels that are on. */
function sumOf(list: ChannelMap[], w: Quantity, without: string[]): number[] {
  const out = new Array<number>(list[0]?.[w].length ?? 0).fill(0);
  for (const c of list) if (!without.includes(c.name)) for (let i = 0; i < out.length; i++) out[i] = out[i]! + c[w][i]!;
  return out;
}

// --- what is shown
const flat = (key: string, m: LightMap, x0: number, y0: number, xName: string, yName: string): Flat => ({ ...m, key, x0, y0, xName, yName });

/** flatOfMap is a map of the figures as a plane, and flatOfCut a cut. */
export const flatOfMap = (k: 'target' | 'surface', m: LightMap) => flat(k, m, -m.length_m / 2, -m.width_m / 2, 'x', 'y');
export const flatOfCut = (key: string, c: Cut) => (c.kind === 'level' ? flat(key, c, -c.length_m / 2, -c.width_m / 2, 'x', 'y') : flat(key, c, -c.length_m / 2, c.low_m, c.kind === 'along' ? 'x' : 'y', datum(section('installation').kind)));

/** shownFlat is the chosen plane as it is known, with all channels; of a cut that is on its way, the one before. */
export const shownFlat = computed<Flat | null>(() => {
  const k = plane.value, maps = section('maps');
  if (k === 'levels') return null;
  if (!isCut(k)) {
    const m = maps[k === 'target' ? 0 : 1];
    return m ? flatOfMap(k, m) : null;
  }
  const c = cut.value;
  return c && c.kind === k ? flatOfCut(k, c) : null;
});

/** shownCells is the light of the channels that are on. */
export const shownCells = computed<number[] | null>(() => {
  const m = shownFlat.value, w = quantity.value;
  if (!m) return null;
  const all = m[w] ?? m.lux;
  if (off.value.length === 0) return all;
  const list = channelLight.value, sum = list && sumOf(list, w, off.value);
  return sum && sum.length === all.length ? sum : all;
});

/** fileFlat is the chosen plane as the file has it, where other values are tried; null where it is not known, or has other cells. */
export const fileCells = computed<number[] | null>(() => {
  const k = plane.value, w = quantity.value, m = shownFlat.value;
  if (!trying.value || !m || k === 'levels' || lamp.value === state.value?.lamp) return null;
  let c: LightMap | undefined;
  if (isCut(k)) { const a = fileCutQuestion.answer.value; c = a && a.kind === k ? a.got : undefined; } else c = state.value?.lamp?.maps[k === 'target' ? 0 : 1];
  if (!c || c.nx !== m.nx || c.ny !== m.ny || c.length_m !== m.length_m || c.width_m !== m.width_m) return null;
  if (off.value.length === 0) return c[w];
  const list = fileChannelLight.value;
  return list && list[0]?.[w].length === c[w].length ? sumOf(list, w, off.value) : null;
});
