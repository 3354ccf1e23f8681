// What the server says: the same shapes as internal/web/view.go.

export interface Pos { file: string; line: number; col: number; path: string }
export interface Problem { at: Pos; msg: string; hint?: string; line?: string }
export interface Input { name: string; value: string; source: string; figure?: string; at: Pos }
export interface Basis { formula: string; numbers: string; inputs: Input[] | null; method: string; valid: string; notes?: string[] }
export interface Figure { key: string; title: string; text: string; range: string; ends?: boolean; kind: string; value: number; p10: number; p90: number }
export type Severity = 'stop' | 'warn' | 'ask' | 'note' | 'pass';
export interface Finding {
  severity: Severity; check: string; subject: string; title: string; figure?: string; value?: string; limit?: string; margin?: string;
  why: string; fix?: string[]; at: Pos; edits?: { label: string; settings: Change[] }[];
}
export interface Channel {
  name: string; current_a: number; string_a: number; typical_v: number; cold_v: number; hot_v: number; electric_w: number; radiant_w: number;
  flux_lm: number; ppf_umol_s: number; driver_in_w: number; wire_drop_v: number; colour: string; driver: string; driver_min_a: number;
  driver_max_a: number; driver_min_v: number; driver_max_v: number; strings: number; level: number; pwm: boolean; parts: string[] | null; current_path: string;
}
export interface Emitter {
  label: string; channel: string; part: string; lens?: string; x_m: number; y_m: number; body_length_m: number; body_width_m: number;
  lens_diameter_m?: number; die_a: number; voltage_v: number; electrical_w: number; radiant_w: number; heat_w: number; notes?: string[];
  lens_at_m?: [number, number, number]; aim?: [number, number, number]; x_path: string; y_path: string; junction_k: number; solder_k: number; beam_rad: number;
}
export interface Case { key: string; title: string; room_k: number; sink_k: number; heat_w: number; junction_k: number[]; solder_k: number[]; runaway: boolean }
export interface Board {
  shape: string; length_m: number; width_m: number; contact_x_m: number; contact_y_m: number; contact_length_m: number; contact_width_m: number;
  sensor_x_m?: number; sensor_y_m?: number; has_sensor: boolean;
  corners?: [number, number][]; holes?: { x_m: number; y_m: number; diameter_m?: number; length_m?: number; width_m?: number }[];
}
export interface HeatMap { x0_m: number; y0_m: number; step_m: number; nx: number; ny: number; temp_k: number[] | null }
export interface LightMap { title: string; length_m: number; width_m: number; nx: number; ny: number; ppfd: number[]; lux: number[] }
/** Cut is light on a plane through the place; of an upright one the first row is the lowest. */
export interface Cut extends LightMap { kind: 'level' | 'along' | 'across'; at_m: number; low_m: number; min_m: number; max_m: number; notes?: string[] }
interface Estimate { value: number; standard_error: number }
export interface Face { title: string; side: string; length_m: number; width_m: number; nx: number; ny: number; lux: number[]; standard_error: number[]; mean_lux: Estimate }
/** Around is the light on floor and walls about the place. */
export interface Around {
  complete: boolean; assumed: boolean; paths: number; spill: Estimate; faces: Face[]; notes: string[] | null;
  room: { x0_m: number; x1_m: number; y0_m: number; y1_m: number; floor_m: number; ceiling_m: number };
}
export interface Place {
  kind: string; length_m: number; width_m: number; height_m: number; water_m: number; substrate_m: number; hanging_m: number; glass_m: number;
  offset_x_m: number; offset_y_m: number; lamp_tilt_rad?: number; lamp_towards_rad?: number; sink: Sink;
}
/** Sink is its shape: fins run along its length. */
export interface Sink {
  length_m: number; width_m: number; base_m: number; fins?: { count: number; height_m: number; thickness_m: number };
  pins?: { diameter_m: number; height_m: number; across_m: number; along_m: number; staggered: boolean }; housing?: { area_m2: number; height_m: number };
}
export interface Flow { from: string; to: string; watts: number; loss: boolean }
export interface Order { part: string; what: string; count: number; each_eur: number; total_eur: number; priced: boolean; note?: string }
export interface Curves {
  name: string; sheet: string; voltage_a: number[]; voltage_v: number[]; flux_a: number[] | null; flux: number[] | null; flux_k: number[] | null;
  flux_t: number[] | null; derate_k: number[] | null; derate_a: number[] | null; max_a: number; max_k: number; test_a: number; test_k: number;
}
export interface Knob {
  path: string; group: string; label: string; text: string; unit?: string; value: number; min: number; max: number; step: number;
  choices?: { value: string; name?: string; sets?: Change[] }[]; limit?: number; limit_is?: string;
}
/** Want is which way a figure is to go: by a wish of the design, at its line, or by common sense (more is 1 or -1). */
export interface Want { key: string; least?: number; most?: number; value?: string; text: string; at?: Pos; more: number }
export interface XY { x: number; y: number }
export interface Looks {
  points: { name: string; xy: XY }[] | null; wanted?: { name: string; xy: XY; steps?: number }; r?: number[];
  hue_bins?: { rf: number; chroma_shift: number; hue_shift_rad: number; samples: number }[];
  patches?: { name: string; lamp_hex: string; daylight_hex: string }[]; light_hex?: string; notes?: string[];
}
export interface Mix {
  channels: { name: string; level: number; light: number; level_now: number; dimming: string; amps: number }[]; in_gamut: boolean; steps_off: number;
  amount_met: boolean; render_met: boolean; xy: XY; cct_k: number; duv: number; ra: number; rf: number; ppfd_umol_m2_s: number; lux: number; wall_w: number;
  junction_k: number; notes: string[] | null;
}
export interface Lamp {
  number?: number; name: string; invented_parts: boolean; full: boolean; figures: Figure[]; findings: Finding[] | null; counts: Partial<Record<Severity, number>>; channels: Channel[]; emitters: Emitter[];
  cases: Case[] | null; board: Board; board_heat: HeatMap; stack: { name: string; hot_k: number; cold_k: number }[] | null; place: Place;
  maps: LightMap[]; spectrum: { lambda_nm: number[]; channels: number[][]; target: number[] }; looks: Looks; flow: Flow[] | null; orders: Order[] | null;
  notes: string[] | null; knobs: Knob[]; wants: Want[]; curves?: Record<string, Curves>; pictures?: Record<string, string>;
}
/** Trial is what of a lamp is not as in the file's, which has the number `against`; see internal/web/trial.go. */
export interface Trial {
  against: number; figures: Record<string, { text: string; value: number }>; added?: Figure[]; gone?: string[];
  sections: Record<string, unknown>; same: string[];
}
export interface Job { id: number; done: number; total: number; for?: 'trial' | 'trace' | 'choice' | 'course' }
export interface Choice {
  heads: string[]; rows: { name: string; now: boolean; cells: string[]; problem?: string; sets: Change[] }[]; says?: string; picture?: string;
}
export interface State {
  version: number; folder: string; file: string; empty: boolean; begin?: { key: string; title: string; about: string }[]; hash: string; text: string; files: { name: string; hash: string }[];
  problems: Problem[]; failed?: string; job?: Job; current: boolean; can_undo: boolean; can_redo: boolean; outside: boolean; lamp: Lamp | null;
}
export interface Change { path: string; text: string }

/** Failed is what the server refused, with the places it names. */
export class Failed extends Error {
  constructor(readonly status: number, message: string, readonly problems: Problem[], readonly path: string) { super(message); }
}

async function answer<T>(response: Response): Promise<T> {
  const data = await response.json();
  if (!response.ok) throw new Failed(response.status, data.error ?? response.statusText, data.problems ?? [], data.path ?? '');
  return data as T;
}

export const get = async <T>(path: string): Promise<T> => answer<T>(await fetch(path));

export const post = async <T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> =>
  answer<T>(await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body), signal }));
