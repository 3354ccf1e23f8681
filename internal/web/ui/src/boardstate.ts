// What the board's view knows: the layout as it is tried, what is selected and what moves, and the commands on it.
import { computed, ReadonlySignal, signal } from '@preact/signals';
import { Emitter, Finding } from './api';
import { addChannel, addHole, addPoints, addUse, Channel, extent, Filed, FiledHoles, fine, Guide, layoutOf, Measure, Moves, onGuides, put, remove, removeChannel, rulers, snapped, Spot, Thing, unique, Use, within, XY } from './boardedit';
import { asYAML, gone } from './marked';
import { problemAt } from './pieces';
import { length } from './quantities';
import { section, setTrial, state, trial, trialProblems } from './store';
import { Values } from './steps';
import { flow } from './yaml';

/** Mark is an emitter as it is drawn. */
export interface Mark extends Thing { label: string; channel: string; channelPath: string; use: string; part: string; lens: string; colour: string; ring: number; filed: XY | null }

const solved = computed(() => new Map(section('emitters').map((e, i) => [idOf(e), i])));
/** solvedAt is the index of an emitter in the lamp that was solved; -1 where it is not in it. */
export const solvedAt = (id: string) => solved.value.get(id) ?? -1;

export const idOf = (e: Emitter) => e.x_path.slice(0, -3);

const none: Filed = { channels: [], holes: [], corners: [], sensor: null };
/** filed is what the file states of the board. */
export const filed = computed((): Filed => {
  const l = state.value?.lamp;
  if (!l) return none;
  const points = new Map<string, XY[]>();
  const note = (id: string, at: XY) => { const list = id.slice(0, id.lastIndexOf('.at[')); points.set(list, [...(points.get(list) ?? []), at]); };
  l.emitters.forEach((e) => note(idOf(e), [e.x_m, e.y_m]));
  l.layout.holes.forEach((id, k) => { const h = l.board.holes![k]!; note(id, [h.x_m, h.y_m]); });
  const holes = [...new Set(l.layout.holes.map((id) => id.slice(0, id.lastIndexOf('.at['))))].map((path): FiledHoles => {
    const size = (key: string) => l.layout.size[`${path}.${key}`] ?? '';
    return { path, diameter: size('diameter'), length: size('length'), width: size('width'), points: points.get(path) ?? [] };
  });
  return {
    channels: l.layout.channels.map((c, i) => ({ ...c, uses: l.layout.uses.filter((u) => u.channel === i).map((u) => ({ path: u.path, part: u.part, lens: u.lens ?? '', yaml: u.yaml, points: points.get(u.path) ?? [] })) })),
    holes, corners: l.board.corners ?? [], sensor: l.layout.sensor ? [l.board.sensor_x_m ?? 0, l.board.sensor_y_m ?? 0] : null,
  };
});

/** tried are the unsaved values of the layout, as a text, so that a current that moves draws nothing anew. */
const tried = computed(() => JSON.stringify(Object.entries(trial.value).filter(([path]) => /^(board\.(holes|corners)|sensor|channels\[\d+\](\.(name|emitters)|$))/.test(path))));
export const layoutKey = tried;
/** layout is the layout as it is tried. */
export const layout = computed(() => layoutOf(filed.value, Object.fromEntries(JSON.parse(tried.value) as [string, string][])));

const bodies = computed(() => {
  const of = new Map<string, Emitter>();
  for (const e of [...(state.value?.lamp?.emitters ?? []), ...section('emitters')]) { of.set(e.part, e); of.set(`${e.part} ${e.lens ?? ''}`, e); }
  return of;
});

/** marks are the emitters as they are tried, in the order of their channels. */
export const marks = computed((): Mark[] => {
  const colours = new Map(section('channels').map((c) => [c.name, c.colour]));
  return layout.value.channels.flatMap((c) => c.uses.flatMap((u) => u.points.map((p) => ({ c, u, p }))).map(({ c, u, p }, n): Mark => {
    const like = bodies.value.get(`${u.part} ${u.lens}`), body = like ?? bodies.value.get(u.part);
    const halfW = (body?.body_length_m || 0.004) / 2, halfH = (body?.body_width_m || 0.004) / 2;
    return {
      id: p.id, kind: 'emitter', x: p.x, y: p.y, halfW, halfH, label: `${c.name} ${n + 1}`, channel: c.name, channelPath: c.path, use: u.path, part: u.part, lens: u.lens,
      colour: colours.get(c.name) ?? '#888', ring: (u.lens && like?.lens_diameter_m || 0) / 2, filed: p.filed,
    };
  }));
});

/** Drilled is a hole as it is drawn. */
export interface Drilled extends Thing { of: string; round: boolean; filed: XY | null }
export const holes = computed((): Drilled[] => layout.value.holes.flatMap((h) => {
  const d = length(h.diameter) ?? 0, round = d > 0;
  const halfW = (round ? d : length(h.length) ?? 0) / 2, halfH = (round ? d : length(h.width) ?? 0) / 2;
  return h.points.map((p): Drilled => ({ id: p.id, kind: 'hole', x: p.x, y: p.y, halfW, halfH, of: h.path, round, filed: p.filed }));
}));

/** things are all that can be selected, by their ids. */
export const things = computed(() => {
  const all = new Map<string, Thing & { filed: XY | null }>();
  for (const t of marks.value) all.set(t.id, t);
  for (const t of holes.value) all.set(t.id, t);
  const spot = (s: Spot, kind: 'corner' | 'sensor', half: number) => all.set(s.id, { id: s.id, kind, x: s.x, y: s.y, halfW: half, halfH: half, filed: s.filed });
  layout.value.corners.forEach((c) => spot(c, 'corner', 0));
  if (layout.value.sensor) spot(layout.value.sensor, 'sensor', 0.001);
  return all;
});

/** shape is the outline as it is tried. */
export const shape = computed(() => trial.value['board.shape'] ?? section('board').shape);
const sized = (key: string, or: number) => computed(() => { const t = trial.value[`board.${key}`] ?? state.value?.lamp?.layout.size[`board.${key}`]; return (t && t !== gone ? length(t) : null) ?? or; });
const longTried = sized('length', 0.1), wideTried = sized('width', 0.05), acrossTried = sized('diameter', 0.1);
/** sizing is a length of the outline while its edge is dragged. */
export const sizing = signal<{ key: 'length' | 'width' | 'diameter'; m: number } | null>(null);
const extentOf = (s: typeof sizing.value) => {
  const cs = layout.value.corners;
  if (shape.value === 'polygon' && cs.length > 0) { const e = extent(cs.map((c) => ({ id: '', kind: 'corner', x: c.x, y: c.y, halfW: 0, halfH: 0 }))); return { x0: e.x0, x1: e.x1, y0: e.y0, y1: e.y1 }; }
  const of = (key: 'length' | 'width' | 'diameter', tried: number) => (s?.key === key ? s.m : tried) / 2;
  const l = shape.value === 'disc' ? of('diameter', acrossTried.value) : of('length', longTried.value), w = shape.value === 'disc' ? l : of('width', wideTried.value);
  return { x0: -l, x1: l, y0: -w, y1: w };
};
/** rim is the extent of the board as it is drawn, and rimAtRest as it is tried. */
export const rim = computed(() => extentOf(sizing.value)), rimAtRest = computed(() => extentOf(null));

/** size draws a length of the outline, on the raster; trySize tries it. */
export function size(key: 'length' | 'width' | 'diameter', m: number, free: boolean) { sizing.value = { key, m: Math.max(0.002, 2 * snapped(m / 2, free ? 0.00005 : snap.value || 0.00005)) }; }
export function trySize() {
  const s = sizing.value;
  sizing.value = null;
  if (!s) return;
  const path = `board.${s.key}`, next = { ...trial.value }, filed = length(state.value?.lamp?.layout.size[path] ?? '');
  if (filed !== null && Math.abs(filed - s.m) < 1e-9) delete next[path]; else next[path] = `${fine(1000 * s.m)} mm`;
  setTrial(next);
}

// --- selection
export const selection = signal<ReadonlySet<string>>(new Set());
/** chosen are the selected things that there still are, in their order on the board. */
export const chosen = computed(() => [...things.value.values()].filter((t) => selection.value.has(t.id)));
/** each is a value by thing that is read as a signal: what shows one thing is drawn anew only when its own value changes. */
export function each<T>(of: (id: string) => T): (id: string) => T {
  const all = new Map<string, ReadonlySignal<T>>();
  return (id) => { let c = all.get(id); if (!c) all.set(id, c = computed(() => of(id))); return c.value; };
}
const chosenSet = computed(() => new Set(chosen.value.map((t) => t.id)));
export const selected = each((id) => chosenSet.value.has(id));
/** pick selects one thing, or changes whether it is selected beside the others. */
export function pick(id: string, beside: boolean) {
  const next = new Set(beside ? selection.value : []);
  if (beside && next.has(id)) next.delete(id); else next.add(id);
  selection.value = next;
}
export const pickAll = (kind: Thing['kind'] = 'emitter') => { selection.value = new Set([...things.value.values()].filter((t) => t.kind === kind).map((t) => t.id)); };

// --- settings of the tools
export type Tool = 'select' | 'add' | 'hole' | 'corner';
export const tool = signal<Tool>('select');
/** snap is the raster that positions are put on, in metres; 0 is none. */
export const snap = signal(0.0005);
export const guides = signal(true);
/** kind is the use, by its path, of which a further emitter is added. */
export const kind = signal('');
export const told = signal('');

// --- what moves. A move that is under way is drawn at once, and tried when it ends.
export interface Moving { ids: ReadonlySet<string>; lead: string; dx: number; dy: number; guides: Guide[]; measures: Measure[] }
export const moving = signal<Moving | null>(null);
const restMs = 250;
let rest = 0;

const drawnX = each((id) => { const t = things.value.get(id), m = moving.value; return t ? (m?.ids.has(id) ? fine(t.x + m.dx) : t.x) : 0; });
const drawnY = each((id) => { const t = things.value.get(id), m = moving.value; return t ? (m?.ids.has(id) ? fine(t.y + m.dy) : t.y) : 0; });
/** at is where a thing is drawn. */
export const at = (id: string): XY => [drawnX(id), drawnY(id)];
/** moves says that a thing moves, and leads whether it is the one that is held. */
export const moves = each((id) => moving.value?.ids.has(id) ?? false);
export const leads = each((id) => moving.value?.lead === id);

/** move draws the selected things moved, the lead on the raster and on guides; an axis that hardly moves stays. */
export function move(ids: ReadonlySet<string>, lead: string, dx: number, dy: number, reach: number, free: boolean) {
  const t = things.value.get(lead);
  if (!t) return;
  const step = free ? 0.0001 : snap.value, others = [...things.value.values()].filter((o) => !ids.has(o.id) && o.kind !== 'corner');
  const raster = (m: number, d: number) => { const to = snapped(m + d, step); return Math.abs(to - m) < Math.max(step, 1e-4) * 0.98 && Math.abs(d) < step ? m : to; };
  let to: XY = [raster(t.x, dx), raster(t.y, dy)], lines: Guide[] = [];
  if (guides.value && !free) {
    const near = onGuides([t.x + dx, t.y + dy], others, step > 0 ? step / 2 : reach); // a raster leaves its own points in reach
    const on = (axis: 'x' | 'y') => near.guides.some((g) => g.axis === axis);
    to = [on('x') ? near.at[0] : to[0], on('y') ? near.at[1] : to[1]];
    lines = near.guides;
  }
  moving.value = { ids, lead, dx: fine(to[0] - t.x), dy: fine(to[1] - t.y), guides: lines, measures: rulers({ ...t, x: to[0], y: to[1] }, others, rim.value) };
}

/** settle tries the positions of what moves. */
export function settle() {
  window.clearTimeout(rest);
  const m = moving.value;
  if (!m) return;
  if (m.dx !== 0 || m.dy !== 0) place(new Map([...m.ids].flatMap((id) => { const t = things.value.get(id); return t ? [[id, [fine(t.x + m.dx), fine(t.y + m.dy)]] as const] : []; })));
  moving.value = null;
}

export function letGo() {
  window.clearTimeout(rest);
  moving.value = null;
}

/** nudge moves the selected things on from where they are drawn. */
export function nudge(lead: string, dx: number, dy: number) {
  if (!selection.value.has(lead)) pick(lead, false);
  if (moving.value && moving.value.lead !== lead) settle();
  const m = moving.value, t = things.value.get(lead), ids = m?.ids ?? new Set(chosen.value.map((c) => c.id));
  if (!t) return;
  const to = { dx: fine((m?.dx ?? 0) + dx), dy: fine((m?.dy ?? 0) + dy) };
  const others = [...things.value.values()].filter((o) => !ids.has(o.id) && o.kind !== 'corner');
  moving.value = { ids, lead, ...to, guides: [], measures: rulers({ ...t, x: t.x + to.dx, y: t.y + to.dy }, others, rim.value) };
  window.clearTimeout(rest);
  rest = window.setTimeout(settle, restMs);
}

// --- commands
const apply = (next: Values, select?: string[]) => { setTrial(next); if (select) selection.value = new Set(select); };

/** place puts things at positions. */
export function place(moves: Moves) {
  const whole = [...moves.keys()].some((id) => id.startsWith('board.corners[')) && 'board.corners' in trial.value;
  const list = [...moves].flatMap(([id, [x, y]]) => { const t = things.value.get(id); return t && Math.hypot(t.x - x, t.y - y) > 1e-9 ? [{ id, filed: whole && t.kind === 'corner' ? null : t.filed, x, y }] : []; });
  if (list.length > 0) apply(put(trial.value, list));
}

/** write tries one coordinate as it was typed; it may be no length, which the server then says. */
export function write(id: string, axis: 0 | 1, text: string) {
  const t = things.value.get(id), m = length(text);
  if (!t) return;
  if (m !== null) place(new Map([[id, axis === 0 ? [m, t.y] : [t.x, m]]]));
  if (m === null || (t.filed?.[axis] !== m && m !== null && text !== `${fine(m * 1000)} mm`)) setTrial({ ...trial.value, [`${id}[${axis}]`]: text });
}

export function erase() {
  const ids = chosen.value.map((t) => t.id);
  if (ids.length === 0) return;
  letGo();
  const r = remove(filed.value, trial.value, ids), channels = layout.value.channels;
  if (r.empty.length > 0) {
    const names = r.empty.map((c) => c.name).join(', ');
    if (r.empty.length === channels.length) { told.value = `Not deleted: a lamp requires an emitter.`; return; }
    told.value = '';
    emptied.value = { names, paths: r.empty.map((c) => c.path), values: r.values };
    return;
  }
  told.value = ids.length === 1 ? '1 deleted.' : `${ids.length} deleted.`;
  apply(r.values, []);
}

/** emptied is a deletion that waits for an answer: channels would be left without an emitter. */
export const emptied = signal<{ names: string; paths: string[]; values: Values } | null>(null);
export function eraseChannels() {
  const e = emptied.value;
  if (!e) return;
  let next = e.values;
  for (const path of [...e.paths].reverse()) next = removeChannel(filed.value, next, path, state.value?.lamp?.layout.names ?? []);
  emptied.value = null;
  told.value = `Channel ${e.names} removed.`;
  apply(next, []);
}

/** duplicate adds copies beside the selected emitters and holes. */
export function duplicate() {
  const list = chosen.value.filter((t) => t.kind === 'emitter' || t.kind === 'hole');
  if (list.length === 0) return;
  letGo();
  const e = extent(list), gap = Math.max(snap.value, 0.001), r = rim.value, pad = (t: Thing) => Math.max(t.halfW, (marks.value.find((m) => m.id === t.id)?.ring ?? 0));
  // Copies go to the side on which there is room: above or below a row, else to the right.
  const w = e.x1 - e.x0 + 2 * gap + Math.max(...list.map((t) => 2 * (pad(t) - t.halfW))), h = e.y1 - e.y0 + 2 * gap + Math.max(...list.map((t) => 2 * (pad(t) - t.halfW)));
  const offers: XY[] = [[snapUp(w), 0], [-snapUp(w), 0], [0, snapUp(h)], [0, -snapUp(h)]];
  const taken = [...things.value.values()].filter((t) => t.kind !== 'corner');
  const free = ([dx, dy]: XY) => list.every((t) => t.x + dx - t.halfW >= r.x0 && t.x + dx + t.halfW <= r.x1 && t.y + dy - t.halfH >= r.y0 && t.y + dy + t.halfH <= r.y1 && taken.every((o) => Math.abs(o.x - t.x - dx) >= o.halfW + t.halfW || Math.abs(o.y - t.y - dy) >= o.halfH + t.halfH));
  const [dx, dy] = offers.find(free) ?? offers[0]!;
  let values: Values = trial.value;
  const fresh: string[] = [];
  for (const t of list) {
    const of = t.id.slice(0, t.id.lastIndexOf('.at['));
    const [next, ids] = addPoints(filed.value, values, of, [[fine(t.x + dx), fine(t.y + dy)]]);
    values = next;
    fresh.push(...ids);
  }
  told.value = list.length === 1 ? '1 duplicated.' : `${list.length} duplicated.`;
  apply(values, fresh);
}
const snapUp = (m: number) => (snap.value > 0 ? fine(Math.ceil(m / snap.value - 1e-9) * snap.value) : fine(m));

/** addAt adds an emitter of the chosen kind, a hole or a corner at a position. */
export function addAt([x, y]: XY) {
  const p: XY = [snapped(x, snap.value || 0.0001), snapped(y, snap.value || 0.0001)];
  if (tool.value === 'hole') {
    const like = layout.value.holes.find((h) => h.diameter), size = holeSize.value;
    const [next, ids] = like && like.diameter === size ? addPoints(filed.value, trial.value, like.path, [p]) : addHole(filed.value, trial.value, `diameter: ${size}`, p);
    return apply(next, ids);
  }
  const use = kindOf();
  if (!use) return;
  const [next, ids] = addPoints(filed.value, trial.value, use.path, [p]);
  told.value = `1 ${use.part} added.`;
  apply(next, ids);
}
export const holeSize = signal('3.2 mm');

/** kindOf is the use of which a further emitter is added: the one set, or else that of the selection. */
export function kindOf(): Use | undefined {
  const uses = layout.value.channels.flatMap((c) => c.uses);
  const first = marks.value.find((m) => selection.value.has(m.id))?.use;
  return uses.find((u) => u.path === kind.value) ?? uses.find((u) => u.path === first) ?? uses[0];
}

/** toChannel moves the selected emitters to a channel: to its kind of the same part and lens, or as a further kind. */
export function toChannel(path: string) {
  const list = marks.value.filter((m) => selection.value.has(m.id) && m.channelPath !== path);
  if (list.length === 0) return;
  const uses = new Map(layout.value.channels.flatMap((c) => c.uses.map((u) => [u.path, u] as const)));
  let values: Values = trial.value;
  const fresh: string[] = [];
  for (const of of new Set(list.map((m) => m.use))) {
    const from = uses.get(of)!, points = list.filter((m) => m.use === of).map((m): XY => [m.x, m.y]);
    const same = layout.value.channels.find((c) => c.path === path)!.uses.find((u) => u.yaml === from.yaml);
    const [next, ids] = same ? addPoints(filed.value, values, same.path, points) : addUse(filed.value, values, path, from.yaml, points);
    values = next;
    fresh.push(...ids);
  }
  finish(values, list.map((m) => m.id), fresh);
}

/** toOwnKind makes the selected emitters a kind of their own in their channel, whose part and lens can then be chosen apart. */
export function toOwnKind() {
  const list = marks.value.filter((m) => selection.value.has(m.id));
  let values: Values = trial.value;
  const ids: string[] = [], fresh: string[] = [];
  for (const u of layout.value.channels.flatMap((c) => c.uses)) {
    const mine = list.filter((m) => m.use === u.path);
    if (mine.length === 0 || mine.length === u.points.length) continue;
    const [next, added] = addUse(filed.value, values, mine[0]!.channelPath, u.yaml, mine.map((m): XY => [m.x, m.y]));
    values = next;
    ids.push(...mine.map((m) => m.id));
    fresh.push(...added);
  }
  if (fresh.length > 0) finish(values, ids, fresh);
}

/** toNewChannel moves the selected emitters to a channel of their own, with current, driver and wire of the one they come from. */
export function toNewChannel() {
  const list = marks.value.filter((m) => selection.value.has(m.id));
  const from = layout.value.channels.find((c) => c.path === list[0]?.channelPath);
  if (!from) return;
  const uses = layout.value.channels.flatMap((c) => c.uses).map((u) => ({ yaml: u.yaml, points: list.filter((m) => m.use === u.path).map((m): XY => [m.x, m.y]) })).filter((u) => u.points.length > 0);
  const name = unique(from.name, layout.value.channels.map((c) => c.name));
  const [values, fresh] = addChannel(filed.value, trial.value, name, from.yaml, uses);
  const feeds = (state.value?.lamp?.layout.names ?? []).filter((n) => n.name === from.name && n.path.startsWith('supplies['));
  const next = { ...values };
  for (const f of feeds) {
    const at = f.path.lastIndexOf('['), end = (state.value?.lamp?.layout.names ?? []).filter((n) => n.path.startsWith(f.path.slice(0, at + 1))).length;
    let k = end;
    while (`${f.path.slice(0, at)}[${k}]` in next) k++;
    next[`${f.path.slice(0, at)}[${k}]`] = asYAML + flow(name);
  }
  finish(next, list.map((m) => m.id), fresh);
}

/** finish takes emitters away that were moved to another channel, with channels that they leave empty. */
function finish(values: Values, ids: string[], fresh: string[]) {
  const r = remove(filed.value, values, ids);
  let next = r.values;
  for (const c of [...r.empty].reverse()) next = removeChannel(filed.value, next, c.path, state.value?.lamp?.layout.names ?? []);
  told.value = r.empty.length > 0 ? `Channel ${r.empty.map((c) => c.name).join(', ')} removed: it has no emitter left.` : '';
  const live = new Set(layoutOf(filed.value, next).channels.flatMap((c) => c.uses.flatMap((u) => u.points.map((p) => p.id))));
  apply(next, fresh.filter((id) => live.has(id)));
}

/** back puts a thing where the file has it. */
export function back(id: string) {
  const t = things.value.get(id);
  letGo();
  if (t?.filed) place(new Map([[id, t.filed]]));
}

export const isChanged = (id: string) => Object.keys(trial.value).some((k) => within(k, id));
export type { Channel };

/** noted are findings about emitters, by their ids: those that state the emitter's place, or name it. */
const noted = computed(() => {
  const out = new Map<string, Finding>();
  for (const f of section('findings') ?? []) {
    if (f.check !== 'footprint' || f.severity === 'pass' || f.severity === 'note') continue;
    for (const m of marks.value) if (f.at?.path === m.id || new RegExp(`\\b${m.label.replace(/[^\w ]/g, '.')}(?!\\d)`).test(`${f.title} ${f.why ?? ''}`)) out.set(m.id, out.get(m.id) ?? f);
  }
  return out;
});
/** notedAt is the finding about an emitter. */
export const notedAt = each((id) => noted.value.get(id));

/** wrongOf is what is wrong with where a thing is put; of two emitters that overlap it is said of both. */
export function wrongOf(t: Thing & { label?: string }): string {
  if (moves(t.id)) return '';
  return misplaced(t);
}

/** misplaced is wrongOf without regard to what moves. */
export function misplaced(t: Thing & { label?: string }): string {
  const named = t.label && trialProblems.value.find((p) => ` ${p.msg}`.includes(` ${t.label} (`));
  return problemAt(`${t.id}[0]`) || problemAt(`${t.id}[1]`) || problemAt(t.id) || (named ? named.msg + (named.hint ? '; ' + named.hint : '') : '');
}
