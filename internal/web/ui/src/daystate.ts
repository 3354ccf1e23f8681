// The day of the lamp as the server answers it, one request at a time, and the keyframes as they are edited in between.
import { computed, signal } from '@preact/signals';
import { Change, Day, DayCourse, Failed, Frame, FrameList, post } from './api';
import { joined, joinedLists, programmeKey, sameList, split, splitLists, withFrames } from './dayedit';
import { sentence, setTrial, state, trial } from './store';
import { Values } from './steps';

export type Which = 'reference' | 'date' | 'max-ambient';
/** which is the day that is shown, and dateText the date where it is that of one. */
export const which = signal<Which>('reference'), dateText = signal('');

/** asked is a day that was asked for. */
interface Asked { hash: string; date: string; case: string; tried: Values }
const nowAsked = computed<Asked>(() => ({ hash: state.value?.hash ?? '', date: which.value === 'date' ? dateText.value : '', case: which.value === 'max-ambient' ? 'max-ambient' : '', tried: trial.value }));
const keyOf = (a: Asked) => JSON.stringify([a.hash, a.date, a.case, Object.entries(a.tried)]);
export const askedKey = computed(() => keyOf(nowAsked.value));

const got = signal<{ of: string; day: Day } | null>(null);
const gotFile = signal<{ of: string; day: Day } | null>(null);
/** dayFailed is why there is no answer. */
export const dayFailed = signal('');

/** day is the last answer. */
export const day = computed(() => got.value?.day ?? null);
const lastCourse = signal<DayCourse | null>(null);
/** course is the lamp over the day; where it cannot run its programme, that of the last values with which it could. */
export const course = computed(() => got.value?.day.day ?? (got.value?.day.given ? lastCourse.value : null));
/** dayOld says that the answer is that of other values. */
export const dayOld = computed(() => got.value !== null && got.value.of !== askedKey.value);
/** fileDay is the day of the file; null until it has come. */
export const fileDay = computed(() => gotFile.value?.day ?? null);

/** known is the keyframes of the programmes that were edited or answered last. What is undone or redone is shown at once, and no edit begins from another programme while an answer is on the way. */
const known = new Map<string, FrameList[]>();

/** mostKnown is the number of programmes that are kept; a long drag is some hundred of them. */
const mostKnown = 1000;

/** remember keeps the keyframes of a programme. It comes before the signals that show them. */
function remember(a: Asked, all: FrameList[]) {
  const key = programmeKey(a);
  known.delete(key);
  known.set(key, all);
  for (const oldest of known.keys()) { if (known.size <= mostKnown) break; known.delete(oldest); }
}

/** lists is the keyframes of each channel as they are tried; where they are not known yet, those of the last answer. */
export const lists = computed<FrameList[]>(() => {
  const last = got.value;
  return (last?.of === askedKey.value ? undefined : known.get(programmeKey(nowAsked.value))) ?? last?.day.lists ?? [];
});

let running = false;

/** askDay asks for the day as it is now; while an answer is on the way, it is asked for once that has come. */
export async function askDay() {
  if (running) return;
  running = true;
  try {
    while (state.value?.hash && (got.peek()?.of !== askedKey.peek() || gotFile.peek()?.of !== keyOf({ ...nowAsked.peek(), tried: {} }))) {
      if (!await askOnce()) break;
    }
  } finally { running = false; }
}

/** askOnce asks for what is tried, and else for the day of the file. It is false where that failed, and nothing has changed since. */
async function askOnce(): Promise<boolean> {
  const a = nowAsked.peek(), of = keyOf(a), file = { ...a, tried: {} }, ofFile = keyOf(file);
  const next = got.peek()?.of !== of && (gotFile.peek()?.of === ofFile || got.peek() !== null) ? a : gotFile.peek()?.of !== ofFile ? file : a;
  try {
    const changes: Change[] = Object.entries<string>(next.tried).map(([path, text]) => ({ path, text }));
    const answer = await post<Day>('/api/day', { base: next.hash, changes, date: next.date, case: next.case });
    remember(next, answer.lists);
    if (next === file || of === ofFile) gotFile.value = { of: ofFile, day: answer };
    // An answer that was overtaken, as by an undo, does not replace that of the values that are tried again.
    const newer = got.peek()?.of === askedKey.peek();
    if ((next === a || of === ofFile) && !newer) got.value = { of, day: answer };
    if (answer.day) lastCourse.value = answer.day;
    dayFailed.value = '';
    return true;
  } catch (e) {
    if (askedKey.peek() !== of) return true;
    dayFailed.value = e instanceof Failed ? sentence(e.problems[0] ? e.problems[0].msg + (e.problems[0].hint ? '; ' + e.problems[0].hint : '') : e.message) : 'The program does not answer.';
    return false;
  }
}

/** edit tries values whose keyframes are these; a fresh edit is a step of its own for undo. */
function edit(tried: Values, all: FrameList[], fresh: boolean) {
  remember({ ...nowAsked.value, tried }, all);
  setTrial(tried, fresh);
}

/** editFrames tries keyframes in a list. */
export function editFrames(list: FrameList, frames: Frame[], fresh: boolean) {
  const filed = fileDay.value?.lists;
  if (filed) edit(withFrames(trial.value, filed, list, frames), lists.value.map((l) => (sameList(list, l) ? { ...l, frames } : l)), fresh);
}

/** splitOff gives a channel keyframes of its own. */
export function splitOff(channel: string, frames: Frame[]) {
  const filed = fileDay.value?.lists;
  if (filed) edit(split(trial.value, filed, channel, frames), splitLists(lists.value, channel, frames), true);
}

/** joinOthers lets a channel follow the keyframes of the others. */
export function joinOthers(channel: string) {
  const filed = fileDay.value?.lists;
  if (filed) edit(joined(trial.value, filed, channel), joinedLists(lists.value, channel), true);
}
