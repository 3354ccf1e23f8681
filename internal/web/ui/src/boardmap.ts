// Which temperature map of the board is shown: of which case, which part of it, solved or rough.
import { computed, effect, signal } from '@preact/signals';
import { BoardMap, HeatMap, post } from './api';
import { readAt, riseThere, roughMap } from './boardheat';
import { chosen, each, layoutKey, marks, moving, things } from './boardstate';
import { spread } from './ramp';
import { lamp, request, section, trialError, trialProblems } from './store';

export const zero = 273.15;

/** shownCase is the case that map and junctions are shown in. */
export const shownCase = signal('typical');
/** caseOf is that case where the lamp has it, else the typical one. */
export const caseOf = computed(() => (section('cases').some((c) => c.key === shownCase.value) ? shownCase.value : 'typical'));

export type Layer = 'heat' | 'over' | 'part' | 'none';
/** layer is what the colours show: temperature, rise above the board's minimum, rise by the selected emitters, or nothing. */
export const layer = signal<Layer>('heat');

/** fetched is the last answer about a case, or about the selected emitters, with the lamp that it is of. */
const fetched = signal<{ of: object; key: string; map: BoardMap } | null>(null);
const partOf = computed(() => (layer.value === 'part' ? chosen.value.filter((t) => t.kind === 'emitter').map((t) => t.id) : []));
const wanted = computed(() => `${caseOf.value}\n${partOf.value.join('\n')}`);
const needed = computed(() => caseOf.value !== 'typical' || layer.value === 'part');

/** listen asks for the map of another case than the typical one, whenever the lamp or the question changes; one question at a time. */
export function listen(): () => void {
  let busy = false, again = false;
  const ask = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const of = lamp.peek(), key = wanted.peek();
    try {
      const map = await post<BoardMap>('/api/board', { ...request(), case: caseOf.peek(), emitters: partOf.peek() });
      if (of) fetched.value = { of, key, map };
    } catch { /* what is wrong is said elsewhere; the next lamp asks again */ }
    busy = false;
    if (again) { again = false; void ask(); }
  };
  return effect(() => {
    const of = lamp.value, key = wanted.value;
    if (!needed.value || !of || trialError.value || trialProblems.value.length > 0) return;
    const f = fetched.peek();
    if (f && f.of === of && f.key === key) return;
    void ask();
  });
}

/** solved is the map of the case as it was solved last. */
const solved = computed((): HeatMap => (caseOf.value === 'typical' || !fetched.value || fetched.value.map.case !== caseOf.value ? section('board_heat') : fetched.value.map.heat));
/** waits says that the map is of another lamp or case than what is chosen. */
export const waits = computed(() => needed.value && (fetched.value?.of !== lamp.value || fetched.value?.key !== wanted.value));

// --- rough while moving
interface Rough { source: HeatMap; base: BoardMap | null; ids: ReadonlySet<string>; dx: number; dy: number; key: string | null }
const roughly = signal<Rough | null>(null);

/** begin asks for the part of the map that emitters cause which begin to move. */
export function begin(ids: ReadonlySet<string>) {
  const emitters = marks.peek().filter((m) => ids.has(m.id)).map((m) => m.id);
  roughly.value = null;
  if (emitters.length === 0) return;
  const mine: Rough = { source: solved.peek(), base: null, ids, dx: 0, dy: 0, key: null };
  roughly.value = mine;
  post<BoardMap>('/api/board', { ...request(), case: caseOf.peek(), emitters }).then((base) => {
    const now = roughly.peek();
    if (now && now.ids === ids && base.rise_k.length > 0) roughly.value = { ...now, base };
  }).catch(() => { if (roughly.peek()?.ids === ids) roughly.value = null; });
}

/** follow keeps the rough map with what moves, until it is solved or the move is taken back. */
export function follow(): () => void {
  return effect(() => {
    const m = moving.value, now = roughly.peek(), key = layoutKey.value, source = solved.value;
    if (!now) return;
    if (m && m.ids === now.ids) { if (m.dx !== now.dx || m.dy !== now.dy) roughly.value = { ...now, dx: m.dx, dy: m.dy }; return; }
    // At rest: the values that the move became are the first ones seen then.
    if (now.key === null) { roughly.value = now.dx === 0 && now.dy === 0 ? null : { ...now, key }; return; }
    if (key !== now.key || source !== now.source) roughly.value = null;
  });
}

/** rough is the map while emitters move, and until the board is solved. */
const rough = computed(() => {
  const r = roughly.value;
  if (!r?.base || (r.dx === 0 && r.dy === 0)) return null;
  return { r, base: r.base, temps: roughMap(r.base.heat.temp_k!, r.base.rise_k, r.base.heat, r.dx, r.dy) };
});
export const isRough = computed(() => rough.value !== null);
/** roughCount is how many emitters of how many are moved and not solved yet. */
export const roughCount = computed(() => (isRough.value ? [...roughly.value!.ids].filter((id) => marks.value.some((m) => m.id === id)).length : 0));

/** shift is by how much the temperature of an emitter changes, roughly, while others or itself move; in steps of 0.1 K. */
export const shift = each((id) => {
  const v = rough.value, t = things.peek().get(id);
  if (!v || !t) return 0;
  const k = riseThere({ temps: v.base.heat.temp_k!, rise: v.base.rise_k }, v.temps, v.base.heat, t.x - (v.r.key === null ? 0 : v.r.ids.has(id) ? v.r.dx : 0), t.y - (v.r.key === null ? 0 : v.r.ids.has(id) ? v.r.dy : 0), v.r.dx, v.r.dy, v.r.ids.has(id));
  return Math.round(10 * k) / 10;
});

/** heat is the map that is shown, with its range. */
export const heat = computed(() => {
  const r = rough.value, part = layer.value === 'part';
  const h = r ? r.base.heat : solved.value, all: ArrayLike<number> = r ? r.temps : h.temp_k ?? [];
  const temps = part ? (fetched.value && !r ? fetched.value.map.rise_k : []) : all;
  let lo = Infinity, hi = -Infinity, top = 0;
  for (let i = 0; i < temps.length; i++) { const t = temps[i]!; if (t > 0) { lo = Math.min(lo, t); if (t > hi) { hi = t; top = i; } } }
  // While it moves the colours keep their range.
  if (r) for (const t of r.base.heat.temp_k!) if (t > 0) { lo = Math.min(lo, t); hi = Math.max(hi, t); }
  if (part) lo = 0;
  // Beyond the rim cells go on as at it, and further out there is nothing that a line would go around.
  return { h, temps, lo, hi, top, there: hi > 0, full: spread(temps, h.nx, h.ny, 3).map((t) => t || lo) };
});

/** read is the temperature at a place; 0 off the board. */
export const read = (x: number, y: number) => { const { h, temps } = heat.value; return cellOf(x, y) >= 0 && temps[cellOf(x, y)]! > 0 ? readAt(temps, h, x, y) : 0; };
/** cellOf is the cell at a place; -1 beside the map. */
export function cellOf(x: number, y: number) {
  const { h } = heat.value;
  const i = Math.round((x - h.x0_m) / h.step_m), j = Math.round((y - h.y0_m) / h.step_m);
  return i >= 0 && j >= 0 && i < h.nx && j < h.ny ? j * h.nx + i : -1;
}
