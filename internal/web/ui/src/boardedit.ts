// Editing on the board, without the page: where emitters, holes, corners and sensor are by the file and the unsaved values, and
// what each command makes of both. Positions are in metres.
import { Values } from './steps';
import { asYAML, gone } from './marked';
import { length } from './quantities';
import { flow, triedYAML, Yaml } from './yaml';

export type XY = readonly [x: number, y: number];

/** Thing is what can be selected and moved: a point of the design, by its path, with half of its extent. */
export interface Thing { id: string; kind: 'emitter' | 'hole' | 'corner' | 'sensor'; x: number; y: number; halfW: number; halfH: number }

/** fine is a length to a micrometre. */
export const fine = (m: number) => Math.round(m * 1e6) / 1e6 + 0;
export const written = (m: number) => `${Math.round(m * 1e6) / 1e3 + 0} mm`;
const point = (x: number, y: number) => `[${written(x)}, ${written(y)}]`;

const nodeOf = (text: string | undefined): Yaml | undefined => triedYAML(text) ?? undefined;
const field = (n: Yaml | undefined, key: string): Yaml | undefined => (n && typeof n === 'object' && !Array.isArray(n) ? n[key] : undefined);
const textOf = (n: Yaml | undefined) => (typeof n === 'string' ? n : '');
const items = (n: Yaml | undefined) => (Array.isArray(n) ? n : []);
const pointOf = (n: Yaml | undefined): XY => [length(textOf(items(n)[0])) ?? 0, length(textOf(items(n)[1])) ?? 0];

// --- the layout as it is tried

export interface FiledUse { path: string; part: string; lens: string; yaml: string; points: XY[] }
export interface FiledChannel { path: string; name: string; yaml: string; uses: FiledUse[] }
export interface FiledHoles { path: string; diameter: string; length: string; width: string; points: XY[] }
/** Filed is what the file states. */
export interface Filed { channels: FiledChannel[]; holes: FiledHoles[]; corners: XY[]; sensor: XY | null }

export interface Spot { id: string; x: number; y: number; filed: XY | null }
export interface Use { path: string; part: string; lens: string; yaml: string; points: Spot[] }
export interface Channel { path: string; name: string; yaml: string; uses: Use[] }
export interface Holes { path: string; diameter: string; length: string; width: string; points: Spot[] }
/** Layout is what the file states with the unsaved values; of each list, first what is left of the file's, then what was added. */
export interface Layout { channels: Channel[]; holes: Holes[]; corners: Spot[]; sensor: Spot | null }

/** added are the further items of a list that has so many in the file, by their indices. */
function added(values: Values, list: string, filed: number): [path: string, node: Yaml][] {
  const out: [string, Yaml][] = [];
  for (let n = filed; ; n++) {
    const node = nodeOf(values[`${list}[${n}]`]);
    if (node === undefined) return out;
    out.push([`${list}[${n}]`, node]);
  }
}

const moved = (values: Values, id: string, [x, y]: XY): XY => [length(values[`${id}[0]`] ?? '') ?? x, length(values[`${id}[1]`] ?? '') ?? y];

function spots(values: Values, list: string, base: XY[], filed: boolean): Spot[] {
  const all = base.map((p, k) => ({ id: `${list}[${k}]`, at: p, filed: filed ? p : null }));
  for (const [id, n] of added(values, list, base.length)) all.push({ id, at: pointOf(n), filed: null });
  return all.filter((s) => values[s.id] !== gone).map((s) => { const [x, y] = moved(values, s.id, s.at); return { id: s.id, x, y, filed: s.filed }; });
}

/** entries are those of a mapping on one line, but some. */
const entries = (n: Yaml, but: string[]) => (typeof n === 'object' && !Array.isArray(n) ? Object.entries(n).filter(([k]) => !but.includes(k)).map(([k, v]) => `${k}: ${flow(v)}`).join(', ') : '');

/** layoutOf returns the layout of the file with unsaved values. */
export function layoutOf(filed: Filed, values: Values): Layout {
  const useOf = (path: string, u: { part: string; lens: string; yaml: string; points: XY[] }, known: boolean): Use => ({
    path, part: values[`${path}.part`] ?? u.part, lens: values[`${path}.lens`] ?? u.lens, yaml: u.yaml, points: spots(values, `${path}.at`, u.points, known),
  });
  const newUse = ([path, n]: [string, Yaml]) => useOf(path, { part: textOf(field(n, 'part')), lens: textOf(field(n, 'lens')), yaml: entries(n, ['at']), points: items(field(n, 'at')).map(pointOf) }, false);
  const left = <T extends { path: string }>(list: T[]) => list.filter((x) => values[x.path] !== gone);
  const channels = left(filed.channels).map((c): Channel => ({
    path: c.path, name: values[`${c.path}.name`] ?? c.name, yaml: c.yaml,
    uses: [...left(c.uses).map((u) => useOf(u.path, u, true)), ...left(added(values, `${c.path}.emitters`, c.uses.length).map(newUse))],
  }));
  for (const [path, n] of added(values, 'channels', filed.channels.length)) {
    const uses = items(field(n, 'emitters')).map((u, j): [string, Yaml] => [`${path}.emitters[${j}]`, u]);
    channels.push({ path, name: values[`${path}.name`] ?? textOf(field(n, 'name')), yaml: entries(n, ['name', 'emitters']), uses: left([...uses, ...added(values, `${path}.emitters`, uses.length)].map(newUse)) });
  }
  const holeOf = (path: string, h: FiledHoles | Yaml, points: XY[], known: boolean): Holes => {
    const of = (key: 'diameter' | 'length' | 'width') => { const v = values[`${path}.${key}`]; return v === gone ? '' : v ?? textOf(field(h as unknown as Yaml, key)); };
    return { path, diameter: of('diameter'), length: of('length'), width: of('width'), points: spots(values, `${path}.at`, points, known) };
  };
  const holes = [
    ...left(filed.holes).map((h) => holeOf(h.path, h, h.points, true)),
    ...added(values, 'board.holes', filed.holes.length).map(([path, n]) => holeOf(path, n, items(field(n, 'at')).map(pointOf), false)),
  ];
  const whole = nodeOf(values['board.corners']);
  const corners = values['board.corners'] === gone ? [] : (whole ? items(whole).map(pointOf) : filed.corners).map((p, k): Spot => {
    const id = `board.corners[${k}]`, [x, y] = moved(values, id, p);
    return { id, x, y, filed: whole ? null : p };
  });
  const newSensor = nodeOf(values['sensor']);
  const sensor = newSensor ? pointOf(field(newSensor, 'at')) : values['sensor'] === gone ? null : filed.sensor;
  const s = sensor && moved(values, 'sensor.at', sensor);
  return { channels, holes, corners, sensor: s && { id: 'sensor.at', x: s[0], y: s[1], filed: filed.sensor } };
}

// --- what commands make of the unsaved values

export const within = (key: string, path: string) => key === path || key.startsWith(path + '.') || key.startsWith(path + '[') || key.startsWith(path + ' ');
const split = (id: string): [list: string, index: number] => { const at = id.lastIndexOf('['); return [id.slice(0, at), Number(id.slice(at + 1, -1))]; };

/** put moves points; one that is where the file has it leaves the unsaved values. */
export function put(values: Values, list: { id: string; filed: XY | null; x: number; y: number }[]): Values {
  const next = { ...values };
  for (const p of list) {
    if (next[p.id]?.startsWith(asYAML)) { next[p.id] = asYAML + point(p.x, p.y); continue; }
    ([p.x, p.y] as const).forEach((m, axis) => {
      const key = `${p.id}[${axis}]`, filed = p.filed?.[axis];
      if (filed !== undefined && Math.abs(m - filed) < 1e-9) delete next[key];
      else next[key] = written(m);
    });
  }
  return next;
}

/** append adds an item to a list that has so many in the file, and returns its path. */
function append(values: Values, list: string, filed: number, yaml: string): string {
  const path = `${list}[${filed + added(values, list, filed).length}]`;
  values[path] = asYAML + yaml;
  return path;
}

/** filedCount is the number of items that a list has in the file, or in the value that added it. */
function filedCount(filed: Filed, values: Values, list: string): number {
  if (list === 'channels') return filed.channels.length;
  if (list === 'board.holes') return filed.holes.length;
  for (const c of filed.channels) {
    if (list === `${c.path}.emitters`) return c.uses.length;
    for (const u of c.uses) if (list === `${u.path}.at`) return u.points.length;
  }
  for (const h of filed.holes) if (list === `${h.path}.at`) return h.points.length;
  // A list within a value that was added.
  for (const key of Object.keys(values)) {
    if (!list.startsWith(key) || !within(list, key)) continue;
    let n = nodeOf(values[key]);
    for (const step of list.slice(key.length).match(/[^.[\]]+/g) ?? []) n = Array.isArray(n) ? n[Number(step)] : field(n, step);
    if (Array.isArray(n)) return n.length;
  }
  return 0;
}

/** addPoints adds emitters of a kind, or holes of a kind, and returns the values with the ids of the new ones. */
export function addPoints(filed: Filed, values: Values, of: string, at: XY[]): [Values, string[]] {
  const next = { ...values }, list = `${of}.at`, n = filedCount(filed, values, list);
  return [next, at.map(([x, y]) => append(next, list, n, point(x, y)))];
}

/** addUse adds emitters of another kind to a channel. */
export function addUse(filed: Filed, values: Values, channel: string, yaml: string, at: XY[]): [Values, string[]] {
  const next = { ...values }, list = `${channel}.emitters`;
  const path = append(next, list, filedCount(filed, values, list), `{${yaml}, at: [${at.map(([x, y]) => point(x, y)).join(', ')}]}`);
  return [next, at.map((_, k) => `${path}.at[${k}]`)];
}

/** addChannel adds a channel with emitters. */
export function addChannel(filed: Filed, values: Values, name: string, yaml: string, uses: { yaml: string; points: XY[] }[]): [Values, string[]] {
  const next = { ...values };
  const list = uses.map((u) => `{${u.yaml}, at: [${u.points.map(([x, y]) => point(x, y)).join(', ')}]}`).join(', ');
  const path = append(next, 'channels', filed.channels.length, `{name: ${flow(name)}, emitters: [${list}]${yaml ? ', ' + yaml : ''}}`);
  return [next, uses.flatMap((u, j) => u.points.map((_, k) => `${path}.emitters[${j}].at[${k}]`))];
}

/** addHole adds a hole of a kind that there is not yet. */
export function addHole(filed: Filed, values: Values, size: string, [x, y]: XY): [Values, string[]] {
  const next = { ...values };
  const path = append(next, 'board.holes', filed.holes.length, `{${size}, at: [${point(x, y)}]}`);
  return [next, [`${path}.at[0]`]];
}

/** drop takes one item of a list away: one of the file is marked as gone, an added one leaves, and those after it move up. */
function drop(filed: Filed, values: Values, id: string): Values {
  const [list, k] = split(id), n = filedCount(filed, values, list);
  const out: Values = {};
  for (const [key, text] of Object.entries(values)) {
    if (within(key, id)) continue;
    const at = k >= n && key.startsWith(list + '[') ? Number(/^\d+/.exec(key.slice(list.length + 1))?.[0]) : -1;
    out[at > k ? `${list}[${at - 1}]${key.slice(`${list}[${at}]`.length)}` : key] = text;
  }
  if (k < n) out[id] = gone;
  return out;
}

/** Removal is the values without some things, and the channels that would have no emitter then. */
export interface Removal { values: Values; empty: Channel[] }

/** remove takes things away. A kind of emitters or holes without points goes with its last one. A polygon keeps three corners. */
export function remove(filed: Filed, values: Values, ids: string[]): Removal {
  let next = { ...values };
  const corners = ids.filter((id) => id.startsWith('board.corners['));
  const rest = ids.filter((id) => !corners.includes(id) && id !== 'sensor.at').sort((a, b) => byPath(b, a));
  for (const id of rest) next = drop(filed, next, id);
  if (ids.includes('sensor.at')) {
    next = Object.fromEntries(Object.entries(next).filter(([k]) => !within(k, 'sensor')));
    if (filed.sensor) next['sensor'] = gone;
  }
  if (corners.length > 0) {
    const left = layoutOf(filed, next).corners.filter((c) => !corners.includes(c.id));
    if (left.length >= 3) next = withCorners(filed, next, left.map((c) => [c.x, c.y]));
  }
  // Kinds without a point go from the last to the first, since those after an added one move up.
  const parents = [...new Set(rest.map((id) => split(split(id)[0].replace(/\.at$/, '') + '[0]')[0]))].sort((a, b) => byPath(b, a));
  for (const p of parents) {
    const now = layoutOf(filed, next), kind = [...now.channels.flatMap((c) => c.uses), ...now.holes].find((u) => u.path === p);
    if (kind && kind.points.length === 0) next = drop(filed, next, p);
  }
  return { values: next, empty: layoutOf(filed, next).channels.filter((c) => c.uses.length === 0) };
}

/** byPath orders paths by keys and indices. */
export function byPath(a: string, b: string): number {
  const x = a.match(/[^.[\]]+/g) ?? [], y = b.match(/[^.[\]]+/g) ?? [];
  for (let k = 0; k < Math.min(x.length, y.length); k++) {
    if (x[k] === y[k]) continue;
    const m = Number(x[k]), n = Number(y[k]);
    return Number.isNaN(m) || Number.isNaN(n) ? (x[k]! < y[k]! ? -1 : 1) : m - n;
  }
  return x.length - y.length;
}

/** removeChannel takes a channel away, and its name where supplies and switch state it. */
export function removeChannel(filed: Filed, values: Values, path: string, names: { path: string; name: string }[]): Values {
  const name = layoutOf(filed, values).channels.find((c) => c.path === path)?.name;
  let next = drop(filed, values, path);
  for (const n of names) if (n.name === name) next = { ...next, [n.path]: gone };
  return next;
}

/** withCorners replaces the corners of the board. */
export function withCorners(filed: Filed, values: Values, corners: XY[]): Values {
  const next = Object.fromEntries(Object.entries(values).filter(([k]) => !within(k, 'board.corners')));
  const same = corners.length === filed.corners.length && corners.every((c, k) => Math.hypot(c[0] - filed.corners[k]![0], c[1] - filed.corners[k]![1]) < 1e-9);
  if (!same) next['board.corners'] = `${asYAML}[${corners.map(([x, y]) => point(x, y)).join(', ')}]`;
  return next;
}

// --- arrangement of things

export type Moves = Map<string, XY>;
export type Edge = 'left' | 'centre' | 'right' | 'top' | 'middle' | 'bottom';

/** extent is the box about things. */
export function extent(list: Thing[]) {
  const x0 = Math.min(...list.map((t) => t.x - t.halfW)), x1 = Math.max(...list.map((t) => t.x + t.halfW));
  const y0 = Math.min(...list.map((t) => t.y - t.halfH)), y1 = Math.max(...list.map((t) => t.y + t.halfH));
  return { x0, x1, y0, y1, x: (x0 + x1) / 2, y: (y0 + y1) / 2 };
}

/** align puts things on one line: their edges on the outermost one, or their centres on the centre of all. */
export function align(list: Thing[], edge: Edge): Moves {
  const e = extent(list);
  return new Map(list.map((t) => [t.id, {
    left: [e.x0 + t.halfW, t.y], centre: [e.x, t.y], right: [e.x1 - t.halfW, t.y],
    top: [t.x, e.y1 - t.halfH], middle: [t.x, e.y], bottom: [t.x, e.y0 + t.halfH],
  }[edge].map(fine) as unknown as XY]));
}

/** distribute puts the centres of things at equal pitch between the two outermost ones. */
export function distribute(list: Thing[], axis: 'x' | 'y'): Moves {
  const sorted = [...list].sort((a, b) => a[axis] - b[axis]), first = sorted[0]!, last = sorted[sorted.length - 1]!;
  const pitch = (last[axis] - first[axis]) / Math.max(1, sorted.length - 1);
  return new Map(sorted.map((t, k) => { const at = fine(first[axis] + k * pitch); return [t.id, axis === 'x' ? [at, t.y] : [t.x, at]]; }));
}

/** ring puts things on a circle at equal angles, in their order; start is the angle of the first from x towards y, in degrees. */
export function ring(list: Thing[], [cx, cy]: XY, radius: number, start: number): Moves {
  return new Map(list.map((t, k) => { const a = ((start + (360 * k) / list.length) * Math.PI) / 180; return [t.id, [fine(cx + radius * Math.cos(a)), fine(cy + radius * Math.sin(a))]]; }));
}

/** grid puts things in rows from the upper left, about a centre, in their order. */
export function grid(list: Thing[], [cx, cy]: XY, columns: number, pitchX: number, pitchY: number): Moves {
  const rows = Math.ceil(list.length / columns);
  return new Map(list.map((t, k) => {
    const i = k % columns, j = Math.floor(k / columns);
    return [t.id, [fine(cx + (i - (columns - 1) / 2) * pitchX), fine(cy + ((rows - 1) / 2 - j) * pitchY)]];
  }));
}

/** mirror reflects things to the other side of a line: x and y exchange left and right, above and below. */
export function mirror(list: Thing[], axis: 'x' | 'y', about: number): Moves {
  return new Map(list.map((t) => [t.id, axis === 'x' ? [fine(2 * about - t.x), t.y] : [t.x, fine(2 * about - t.y)]]));
}

/** snapped is a coordinate on a raster through the origin; step 0 has none. */
export const snapped = (m: number, step: number) => (step > 0 ? fine(Math.round(m / step) * step) : fine(m));

/** Guide is a line that something moved stands on, with others or the axis of the board. */
export interface Guide { axis: 'x' | 'y'; at: number }

/** onGuides moves a position onto the nearest lines through the centres of others and through the origin. */
export function onGuides([x, y]: XY, others: Thing[], reach: number): { at: XY; guides: Guide[] } {
  const nearest = (m: number, lines: number[]) => { let best: number | null = null; for (const l of lines) if (Math.abs(l - m) <= reach && (best === null || Math.abs(l - m) < Math.abs(best - m))) best = l; return best; };
  const gx = nearest(x, [0, ...others.map((t) => t.x)]), gy = nearest(y, [0, ...others.map((t) => t.y)]);
  const guides: Guide[] = [];
  if (gx !== null) guides.push({ axis: 'x', at: gx });
  if (gy !== null) guides.push({ axis: 'y', at: gy });
  return { at: [gx ?? x, gy ?? y], guides };
}

/** Measure is a distance along an axis, from centre to centre, or to the rim of the board. */
export interface Measure { axis: 'x' | 'y'; from: number; to: number; across: number }

/** rulers are the distances from a thing to its nearest neighbours to all four sides, or to the rim where there is none. */
export function rulers(t: Thing, others: Thing[], rim: { x0: number; x1: number; y0: number; y1: number }): Measure[] {
  const out: Measure[] = [];
  for (const axis of ['x', 'y'] as const) {
    const cross = axis === 'x' ? 'y' : 'x', half = axis === 'x' ? 'halfH' : 'halfW', ends = axis === 'x' ? [rim.x0, rim.x1] : [rim.y0, rim.y1];
    const beside = others.filter((o) => Math.abs(o[cross] - t[cross]) < o[half] + t[half]).map((o) => o[axis]);
    const low = Math.max(ends[0]!, ...beside.filter((v) => v < t[axis] - 1e-9)), high = Math.min(ends[1]!, ...beside.filter((v) => v > t[axis] + 1e-9));
    if (low < t[axis]) out.push({ axis, from: low, to: t[axis], across: t[cross] });
    if (high > t[axis]) out.push({ axis, from: t[axis], to: high, across: t[cross] });
  }
  return out;
}

/** unique is a channel's name that is not taken: the same one with the next free number; such a name has no blank. */
export function unique(name: string, taken: string[]): string {
  const [, stem] = /^(.*?)(?:-\d+)?$/.exec(name)!;
  for (let n = 2; ; n++) if (!taken.includes(`${stem}-${n}`)) return `${stem}-${n}`;
}
