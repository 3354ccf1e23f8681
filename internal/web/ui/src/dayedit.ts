// Keyframes of a day as they are edited, without the page: times, levels, neighbours, and what is tried for them. Times are seconds
// from midnight; levels are relative to full day.
import { Frame, FrameList } from './generated';
import { beneath, cleared, nextItem } from './keytree';
import { asBlock, asYAML, gone } from './marked';
import { Values } from './steps';
import { flow, triedYAML, Yaml } from './yaml';

export const dayS = 86400;
/** stepS and stepLevel are what times and levels snap to; fineS and fineLevel without the snap. */
export const stepS = 300, fineS = 60, stepLevel = 0.01, fineLevel = 0.001;
/** maxFrames is the largest number of keyframes of a list. */
export const maxFrames = 288;

const two = (n: number) => String(n).padStart(2, '0');

/** clockText writes a time of day as the file does; the end of the day is 24:00. */
export function clockText(s: number): string {
  const n = Math.round(s), rest = n % 60;
  return `${two(Math.floor(n / 3600))}:${two(Math.floor(n / 60) % 60)}${rest ? `:${two(rest)}` : ''}`;
}

/** readClock reads a typed time of day: 9:30, 09:30, 9.30, 930 or 9; null where it is none. */
export function readClock(text: string): number | null {
  const m = /^\s*(\d{1,2})(?:[:.h ]\s*(\d{2})(?::(\d{2}))?)?\s*$/.exec(text) ?? /^\s*(\d{1,2})(\d{2})\s*$/.exec(text);
  if (!m) return null;
  const [h, min, s] = [m[1], m[2] ?? 0, m[3] ?? 0].map(Number) as [number, number, number];
  return h > 23 || min > 59 || s > 59 ? null : 3600 * h + 60 * min + s;
}

/** percentText writes a level as the file does, to a tenth of a per cent. */
export const percentText = (level: number) => `${Math.round(1000 * level) / 10} %`;

/** readPercent reads a typed level, in per cent; null where it is none between 0 % and 100 %. */
export function readPercent(text: string): number | null {
  const m = /^\s*(\d{1,3}(?:[.,]\d*)?)\s*%?\s*$/.exec(text);
  const v = m ? Number(m[1]!.replace(',', '.')) / 100 : NaN;
  return v >= 0 && v <= 1 ? v : null;
}

/** byLight says that a keyframe states its PPFD in place of a level. */
export const byLight = (f: Frame) => f.ppfd !== '';
export const sameFrame = (a: Frame, b: Frame) => a.time_s === b.time_s && a.percent === b.percent && a.ppfd === b.ppfd && a.cct === b.cct && a.ramp === b.ramp;

/** atLevel is a keyframe at a time with a level. */
export const atLevel = (time: number, level: number, ramp = ''): Frame => ({ time_s: time, time: clockText(time), level, percent: percentText(level), ppfd: '', cct: '', ramp });

/** firstDay is the programme that a lamp without one begins with. */
export const firstDay = [atLevel(8 * 3600, 0), atLevel(9 * 3600, 1), atLevel(17 * 3600, 1), atLevel(18 * 3600, 0)];

/** snap is the nearest multiple of a step. */
export const snap = (v: number, step: number) => Math.round(v / step) * step;

/** room is the times that a keyframe may have between its neighbours, whole minutes apart from them. */
export const room = (frames: Frame[], i: number): [number, number] => [i > 0 ? frames[i - 1]!.time_s + fineS : 0, i + 1 < frames.length ? frames[i + 1]!.time_s - fineS : dayS - fineS];

const within = (v: number, lo: number, hi: number) => Math.min(hi, Math.max(lo, v));
const put = (frames: Frame[], i: number, f: Frame) => frames.map((x, k) => (k === i ? f : x));

/** retimed returns the keyframes with one at another time, which stays between its neighbours, at a multiple of a step there. */
export function retimed(frames: Frame[], i: number, time: number, step: number): Frame[] {
  const [first, last] = room(frames, i), lo = Math.ceil(first / step) * step, hi = Math.floor(last / step) * step;
  const t = lo > hi ? frames[i]!.time_s : within(time, lo, hi);
  return put(frames, i, { ...frames[i]!, time_s: t, time: t === frames[i]!.time_s ? frames[i]!.time : clockText(t) });
}

/** relit returns the keyframes with one at another level; of one by light, the PPFD changes in proportion. */
export function relit(frames: Frame[], i: number, level: number): Frame[] {
  const f = frames[i]!, l = within(level, 0, 1);
  if (l === f.level) return frames;
  if (!byLight(f)) return put(frames, i, { ...f, level: l, percent: percentText(l) });
  const m = /^([\d.]+)(.*)$/.exec(f.ppfd), ppfd = m && f.level > 0 ? Math.max(1, Math.round((Number(m[1]) * l) / f.level)) : null;
  return ppfd === null ? frames : put(frames, i, { ...f, level: (f.level * ppfd) / Number(m![1]), ppfd: `${ppfd}${m![2]}` });
}

/** levelAt is the level that straight lines between the keyframes give, over midnight too. */
export function levelAt(frames: Frame[], time: number): number {
  if (frames.length === 0) return 0;
  const next = frames.findIndex((f) => f.time_s > time), b = frames[next < 0 ? 0 : next]!, a = frames[next < 0 ? frames.length - 1 : (next || frames.length) - 1]!;
  const span = (b.time_s - a.time_s + dayS) % dayS || dayS;
  return a.level + ((b.level - a.level) * ((time - a.time_s + dayS) % dayS)) / span;
}

/** inserted returns the keyframes with a further one, and its place; null where one stands within a minute, or the list is full. */
export function inserted(frames: Frame[], f: Frame): { frames: Frame[]; at: number } | null {
  if (frames.length >= maxFrames || frames.some((x) => Math.abs(x.time_s - f.time_s) < fineS)) return null;
  const at = frames.filter((x) => x.time_s < f.time_s).length;
  return { frames: [...frames.slice(0, at), f, ...frames.slice(at)], at };
}

/** addedAfter puts a keyframe in the middle of what follows one, on the straight line; after the last one, at most an hour behind it. */
export function addedAfter(frames: Frame[], i: number): { frames: Frame[]; at: number } | null {
  const from = frames[i]!.time_s, last = i + 1 >= frames.length, to = last ? Math.min(dayS, from + 7200) : frames[i + 1]!.time_s;
  const step = to - from > 2 * stepS ? stepS : fineS, time = snap((from + to) / 2, step);
  return time <= from || time >= to ? null : inserted(frames, atLevel(time, snap(levelAt(frames, time), stepLevel)));
}

/** moveTo returns the keyframes with one at a typed time, which may lie behind others, and its place; null where another one stands there. */
export function moveTo(frames: Frame[], i: number, time: number): { frames: Frame[]; at: number } | null {
  return inserted(frames.filter((_, k) => k !== i), { ...frames[i]!, time_s: time, time: clockText(time) });
}

// --- what is tried

const yamlOf = (frames: Frame[]): Yaml => frames.map((f): Yaml => ({
  time: f.time, ...(byLight(f) ? { ppfd: f.ppfd, ...(f.cct ? { cct: f.cct } : {}) } : { level: f.percent }), ...(f.ramp ? { ramp: f.ramp } : {}),
}));

const shared = 'day.keyframes';
const without = (tried: Values, path: string): Values => Object.fromEntries(Object.entries(tried).filter(([p]) => !beneath(p, path)));

/** ownPath is the list of a channel that the file has; '' where it has none. */
const ownPath = (filed: FrameList[], channel: string) => filed.find((l) => l.channel === channel && !l.shared)?.path.replace(/\.keyframes$/, '') ?? '';

/** addedPath is the list of a channel that was added; '' where there is none. */
const addedPath = (tried: Values, channel: string) => Object.keys(tried).find((p) => {
  const y = /^day\.channels\[\d+\]$/.test(p) ? triedYAML(tried[p]) : null;
  return y !== null && typeof y === 'object' && !Array.isArray(y) && y.channel === channel;
}) ?? '';

/** withFrames returns what is tried once keyframes stand in the list of a channel, or of all channels that share one: `filed` is the lists of the file. */
export function withFrames(tried: Values, filed: FrameList[], of: FrameList, frames: Frame[]): Values {
  const text = flow(yamlOf(frames));
  if (of.shared) {
    const file = filed.find((l) => l.shared), there = file !== undefined && !file.stated && file.frames.length > 0;
    const next: Values = { ...without(tried, shared), [shared]: (there ? asYAML : asBlock) + text };
    for (const path of file?.stated ? file.removes : []) next[path] = gone;
    return next;
  }
  const path = ownPath(filed, of.channel);
  if (path !== '') return { ...without(tried, `${path}.keyframes`), [`${path}.keyframes`]: asYAML + text };
  return { ...tried, [addedPath(tried, of.channel)]: asBlock + flow({ channel: of.channel, keyframes: yamlOf(frames) }) };
}

/** split returns what is tried once a channel has keyframes of its own. */
export function split(tried: Values, filed: FrameList[], channel: string, frames: Frame[]): Values {
  const path = ownPath(filed, channel);
  if (path !== '') return { ...without(tried, path), [`${path}.keyframes`]: asYAML + flow(yamlOf(frames)) };
  const at = nextItem('day.channels', filed.filter((l) => !l.shared).length, tried);
  return { ...tried, [at]: asBlock + flow({ channel, keyframes: yamlOf(frames) }) };
}

/** joined returns what is tried once a channel follows the keyframes of the others again. */
export function joined(tried: Values, filed: FrameList[], channel: string): Values {
  const path = ownPath(filed, channel);
  return path !== '' ? cleared(tried, path, () => true) : cleared(tried, addedPath(tried, channel), () => false);
}

// --- what is shown for it

/** programmeKey names the programme of a day: the project, the day that is shown, and what is tried beneath `day`. */
export const programmeKey = (a: { hash: string; date: string; case: string; tried: Values }) => JSON.stringify([a.hash, a.date, a.case, Object.entries(a.tried).filter(([p]) => beneath(p, 'day')).sort()]);

/** sameList says that two channels follow the same keyframes. */
export const sameList = (a: FrameList, b: FrameList) => (a.shared ? b.shared : !b.shared && a.channel === b.channel);

/** splitLists returns the lists once a channel has keyframes of its own. */
export const splitLists = (all: FrameList[], channel: string, frames: Frame[]) => all.map((l) => (l.channel === channel ? { ...l, path: '', shared: false, stated: false, removes: [], frames } : l));

/** joinedLists returns the lists once a channel follows the keyframes of the others; unchanged where there are none. */
export function joinedLists(all: FrameList[], channel: string): FrameList[] {
  const others = all.find((l) => l.shared);
  return others ? all.map((l) => (l.channel === channel ? { ...others, channel, full: l.full } : l)) : all;
}
