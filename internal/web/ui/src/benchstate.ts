// The readings of the built lamp as the server answers them, and what is typed and not yet saved.
import { computed, signal } from '@preact/signals';
import { Bench, BenchReading, Change, Failed, Faults, post, Problem } from './api';
import { Typed, typedValue } from './benchedit';
import { gone } from './marked';
import { changes, notice, refresh, request, sentence, state, trialError, write } from './store';

/** fileHash is the hash of the readings file, as the state of the project has it; empty where there is none. */
export const fileHash = computed(() => state.value?.files.find((f) => f.name === 'readings.yaml')?.hash ?? '');

/** benchKey is what an answer depends on. */
export const benchKey = computed(() => JSON.stringify([state.value?.hash ?? '', fileHash.value, trialError.value ? [] : changes()]));

const got = signal<{ of: string; bench: Bench } | null>(null);
/** bench is the last answer, and benchOld says that it is that of other values. */
export const bench = computed(() => got.value?.bench ?? null);
export const benchOld = computed(() => got.value !== null && got.value.of !== benchKey.value);
/** benchFailed is why there is no answer. */
export const benchFailed = signal('');

/** at is the reading that is shown, by its place in the list. */
export const at = signal(0);
export const reading = computed<BenchReading | null>(() => bench.value?.readings[Math.min(at.value, bench.value.readings.length - 1)] ?? null);

/** drafts is what is typed and not saved, by the path of the reading. */
export const drafts = signal<Record<string, string>>({});
export const draftOf = (r: BenchReading): Typed | null => { const d = drafts.value[r.path]; return d === undefined ? null : typedValue(d, r.unit); };

interface Live { path: string; text: string; reading: BenchReading | null; wrong: string; doubts: Problem[] }
/** live is the answer to the value that was typed last. */
export const live = signal<Live | null>(null);

const wrongOf = (e: unknown) => (e instanceof Failed ? sentence(e.problems[0] ? e.problems[0].msg + (e.problems[0].hint ? '; ' + e.problems[0].hint : '') : e.message) : 'The program does not answer.');

let running = false;
/** askBench asks for the readings as they are now; while an answer is on the way, it is asked for once that has come. */
export async function askBench() {
  if (running) return;
  running = true;
  try {
    while (state.peek()?.hash && got.peek()?.of !== benchKey.peek()) {
      const of = benchKey.peek();
      try {
        got.value = { of, bench: await post<Bench>('/api/bench', { ...request(), readings: '', edits: [], quick: false }) };
        benchFailed.value = '';
        void compare(); // what is typed stands beside this answer now
      } catch (e) {
        if (benchKey.peek() !== of) continue;
        if (e instanceof Failed && e.status === 409) { await refresh(); if (benchKey.peek() !== of) continue; }
        benchFailed.value = wrongOf(e);
        return;
      }
    }
  } finally { running = false; }
}

let comparing = false, again = false;
/** compare asks for the verdict of what is typed at the reading that is shown: one request at a time, the newest value next. */
async function compare() {
  if (comparing) { again = true; return; }
  comparing = true;
  try {
    do {
      again = false;
      const r = reading.peek(), d = r && draftOf(r);
      if (!r || !d || d.wrong !== '' || d.text === '') return;
      const mine = { path: r.path, text: d.text };
      try {
        const b = await post<Bench>('/api/bench', { ...request(), readings: bench.peek()!.hash, edits: [{ path: r.path + '.value', text: d.text }], quick: true });
        const problem = b.problems[0];
        live.value = { ...mine, reading: b.readings[0] ?? null, wrong: problem ? sentence(problem.msg + (problem.hint ? '; ' + problem.hint : '')) : b.wrong, doubts: b.doubts.filter((p) => p.at.path.startsWith(r.path)) };
      } catch (e) {
        // Where the file has changed, it is compared again once the readings of the new one are there.
        if (e instanceof Failed && e.status === 409) await refresh();
        else live.value = { ...mine, reading: null, wrong: wrongOf(e), doubts: [] };
      }
    } while (again);
  } finally { comparing = false; }
}

/** type takes what is typed at a reading. */
export function type(r: BenchReading, text: string) {
  said.value = '';
  drafts.value = { ...drafts.value, [r.path]: text };
  void compare();
}

/** forget drops what is typed at a reading. */
export function forget(r: BenchReading) {
  const next = { ...drafts.value };
  delete next[r.path];
  drafts.value = next;
}

/** said is what was saved last, for the card. */
export const said = signal('');

/** put writes changes into the readings file. */
async function put(edits: Change[], done: string): Promise<boolean> {
  const ok = await write('/api/bench-save', { readings: bench.peek()?.hash ?? '', edits }, done);
  if (ok) { notice.value = null; said.value = done; } // the card says it, without moving what is under the thumb
  return ok;
}

/** save writes what is typed at a reading; it is true where the file has it. */
export async function save(r: BenchReading): Promise<boolean> {
  const d = draftOf(r);
  if (!d) return true;
  if (d.wrong !== '') return false;
  if (d.text === '' || d.text === r.value) { forget(r); return true; }
  if (!await put([{ path: r.path + '.value', text: d.text }], `Saved: ${d.text}.`)) return false;
  forget(r);
  return true;
}

export const removeValue = (r: BenchReading) => put([{ path: r.path + '.value', text: gone }], 'Value removed.');
export const doubt = (r: BenchReading) => put([r.doubted ? { path: r.path + '.doubted', text: gone } : { path: r.path + '.doubted', text: 'yes' }], r.doubted ? 'The reading is used again.' : 'The reading is kept, and not used.');
export const removeReading = (r: BenchReading) => put([{ path: r.path, text: gone }], `Reading ${r.label} deleted.`);
export const addReading = (edits: Change[]) => put(edits, 'Reading added.');
export const start = (answers: object) => write('/api/bench-start', answers, 'readings.yaml was written.');

/** faults is the explanations of the readings; of others where of is not the present key. */
export const faults = signal<{ of: string; list: Faults['faults'] } | null>(null);
export const faultsFailed = signal('');
export const searching = signal(false);
export async function findFaults() {
  const of = benchKey.peek();
  searching.value = true;
  faultsFailed.value = '';
  try {
    faults.value = { of, list: (await post<Faults>('/api/bench-faults', { ...request(), readings: bench.peek()?.hash ?? '', edits: [], quick: false })).faults };
  } catch (e) { faultsFailed.value = wrongOf(e); } finally { searching.value = false; }
}

/** set is the state in which the lamp is, as the person has said, and since when [ms]. */
export const set = signal<{ key: string; since: number } | null>(null);
export const stateKey = (r: BenchReading) => { const g = bench.value?.campaigns[r.campaign]; return `${g?.name}/${g?.states[r.state]?.name}`; };
