// Made by go generate ./internal/web from the types of the server's answers and its table of views. Do not edit.

export const severities = ['stop', 'warn', 'ask', 'note', 'pass'] as const;
export type Severity = (typeof severities)[number];

export const views = [
  { key: 'review', title: 'Overview', wide: false, path: true, figure: '', pictures: false },
  { key: 'power', title: 'Power', wide: true, path: true, figure: 'mains.power', pictures: true },
  { key: 'channels', title: 'Channels', wide: true, path: true, figure: 'lamp.flux', pictures: true },
  { key: 'board', title: 'Board', wide: true, path: true, figure: 'lamp.junction-max-ambient', pictures: true },
  { key: 'light', title: 'Light', wide: true, path: true, figure: 'target.ppfd', pictures: true },
  { key: 'colour', title: 'Colour', wide: true, path: true, figure: 'lamp.cct', pictures: true },
  { key: 'day', title: 'Day', wide: false, path: true, figure: 'target.dli', pictures: false },
  { key: 'bench', title: 'Bench', wide: false, path: true, figure: '', pictures: false },
  { key: 'transients', title: 'Over time', wide: false, path: false, figure: '', pictures: false },
  { key: 'parts', title: 'Parts', wide: false, path: false, figure: '', pictures: false },
  { key: 'alternatives', title: 'Heights', wide: false, path: false, figure: '', pictures: false },
  { key: 'compare', title: 'Variants', wide: false, path: false, figure: '', pictures: false },
  { key: 'figures', title: 'Results', wide: true, path: false, figure: '', pictures: false },
  { key: 'values', title: 'All values', wide: false, path: false, figure: '', pictures: false },
  { key: 'file', title: 'Files', wide: false, path: false, figure: '', pictures: false },
] as const;
export type ViewKey = (typeof views)[number]['key'];

/** checkViews names the view in which the findings of a check stand. */
export const checkViews: Record<string, ViewKey> = {
  'acknowledged': 'review',
  'air-limits': 'board',
  'altitude': 'board',
  'ampacity': 'power',
  'blue-light': 'colour',
  'bom': 'power',
  'boot-light': 'channels',
  'breathing': 'board',
  'budget': 'power',
  'burn-threshold': 'board',
  'caution': 'review',
  'cct': 'colour',
  'coating': 'board',
  'colour-maintenance': 'transients',
  'condensation': 'board',
  'connector': 'power',
  'controller-clock': 'power',
  'controller-data': 'power',
  'controller-supply': 'power',
  'curve-reference': 'parts',
  'cutout': 'transients',
  'darkness': 'day',
  'day-colour': 'day',
  'day-foldback': 'day',
  'day-supply': 'power',
  'derating': 'channels',
  'die-current': 'channels',
  'dimming': 'channels',
  'dimming-signal': 'channels',
  'dimming-step': 'channels',
  'dither-flicker': 'channels',
  'dli': 'day',
  'drip-loop': 'power',
  'driver-current': 'power',
  'driver-headroom': 'power',
  'driver-input': 'power',
  'driver-output-range': 'power',
  'driver-power': 'power',
  'duv': 'colour',
  'emitter-life': 'transients',
  'esd': 'channels',
  'evaporation': 'light',
  'extrapolation': 'parts',
  'fan-failure': 'board',
  'fan-monitor': 'board',
  'fan-speed': 'board',
  'fan-supply': 'power',
  'fault-current': 'power',
  'first-light': 'channels',
  'flicker': 'channels',
  'foldback': 'transients',
  'footprint': 'board',
  'fuse': 'power',
  'fuse-voltage': 'power',
  'galvanic': 'board',
  'hot-plug': 'power',
  'housing': 'board',
  'ice': 'light',
  'infrared-spot': 'board',
  'inrush-breaker': 'power',
  'inrush-switch': 'power',
  'insulation-voltage': 'board',
  'ip-code': 'power',
  'junction': 'board',
  'junction-wanted': 'board',
  'laminate-temperature': 'board',
  'lamp-metal': 'board',
  'lens-data': 'light',
  'lens-fit': 'board',
  'lens-height': 'light',
  'lens-loss': 'light',
  'lens-material': 'board',
  'lens-temperature': 'board',
  'linear-heat': 'power',
  'mains': 'power',
  'maintenance': 'transients',
  'mounting': 'board',
  'natural-convection': 'board',
  'night-glow': 'channels',
  'not-modelled': 'light',
  'not-stated': 'parts',
  'off-leakage': 'power',
  'pad-potential': 'board',
  'panes': 'light',
  'parallel-strings': 'channels',
  'part-life': 'transients',
  'polarity': 'channels',
  'power-limit': 'channels',
  'ppfd': 'light',
  'programme': 'day',
  'protective-earth': 'power',
  'r9': 'colour',
  'ra': 'colour',
  'radiant-efficiency': 'channels',
  'rcd': 'power',
  'replaced-lamp': 'transients',
  'rf': 'colour',
  'rim': 'light',
  'runaway': 'transients',
  'selv': 'power',
  'sensor-input': 'board',
  'sensor-place': 'board',
  'sink-contact': 'board',
  'solder-fatigue': 'board',
  'solder-joint': 'board',
  'spill': 'light',
  'standby': 'power',
  'supply-derating': 'power',
  'supply-load': 'power',
  'supply-peak': 'power',
  'supply-wire': 'power',
  'suspension': 'light',
  'tim-temperature': 'board',
  'touch-current': 'power',
  'touch-voltage': 'power',
  'typed-values': 'parts',
  'uniformity': 'light',
  'water-level': 'light',
  'wire-drop': 'power',
  'wire-solder': 'power',
};

export interface State {
  version: number;
  folder: string;
  file: string;
  empty: boolean;
  templates?: Template[];
  hash: string;
  text: string;
  files: ProjectFile[];
  problems: Problem[];
  problem_count: number;
  failed?: string;
  job?: Job;
  current: boolean;
  can_undo: boolean;
  can_redo: boolean;
  outside: boolean;
  lamp: Lamp | null;
  severities: string[];
}

export interface PreviewDiff {
  against: number;
  figures: FigureChanges;
  added?: Figure[];
  gone?: string[];
  sections: Record<string, unknown>;
  same: string[];
}

export interface PackedCells {
  nx: number;
  max: number;
  cells: string;
}

export interface Pictures {
  pictures: Record<string, string>;
}

export interface Job {
  id: number;
  done: number;
  total: number;
  for?: string;
  name?: string;
  waiting?: boolean;
  page?: string;
}

export interface Failure {
  error: string;
  problems?: Problem[];
  path?: string;
  hash?: string;
  clashes?: Clash[];
}

export interface Change {
  path: string;
  text: string;
}

export interface Basis {
  formula: string;
  numbers: string;
  inputs: Input[] | null;
  method: string;
  valid: string;
  notes?: string[];
}

export interface Cut {
  title: string;
  length_m: number;
  width_m: number;
  nx: number;
  ny: number;
  ppfd: number[];
  lux: number[];
  kind: string;
  at_m: number;
  low_m: number;
  notes?: string[];
  min_m: number;
  max_m: number;
}

export interface RoomSurfaces {
  complete: boolean;
  assumed: boolean;
  room: RoomExtent;
  paths: number;
  spill: Estimate;
  faces: RoomSurface[];
  notes: string[] | null;
}

export interface Levels {
  levels: Cut[];
}

export interface ChannelLight {
  channels: ChannelMap[];
}

export interface Choice {
  heads: string[];
  rows: ChoiceRow[];
  says?: string;
  picture?: string;
}

export interface Plan {
  before: Count;
  after: Count;
  causes: Cause[];
  left: Found[];
}

export interface Projects {
  present: string;
  projects: Project[];
  beside: string;
}

export interface Variant {
  id: string;
  name: string;
  file: string;
  wrong?: string;
  counts: Record<string, number>;
  figures: Figure[];
  differs: string[];
  more: number;
}

export interface Made {
  id: string;
}

export interface Version {
  id: string;
  kind: string;
  title: string;
  when?: string;
  differs?: number;
  first?: string[];
}

export interface Difference {
  in: string;
  what: string;
  a: string;
  b: string;
  in_a: boolean;
  in_b: boolean;
  file?: string;
  line?: number;
}

export interface Mix {
  channels: MixedChannel[];
  in_gamut: boolean;
  steps_off: number;
  amount_met: boolean;
  render_met: boolean;
  xy: XY;
  cct_k: number;
  duv: number;
  tint: string;
  ra: number;
  rf: number;
  ppfd_umol_m2_s: number;
  lux: number;
  wall_w: number;
  junction_k: number;
  notes: string[] | null;
}

export interface Day {
  given: boolean;
  sun: boolean;
  wrong: string;
  day: DayCourse | null;
  lists: FrameList[];
  curve: string;
  ppfd: BandOfValue | null;
  dli: BandOfValue | null;
}

export interface Sunrise {
  ramp_s: number;
  ramp_assumed: boolean;
  bound: number;
  steps: SunriseStep[] | null;
  says: string[];
  table: TableData;
}

export interface Bench {
  exists: boolean;
  hash: string;
  quick: boolean;
  problems: Problem[];
  problem_count: number;
  doubts: Problem[];
  wrong: string;
  ready_s: number;
  instruments: BenchInstrument[];
  campaigns: BenchCampaign[];
  readings: BenchReading[];
  learned: BenchLearned | null;
  form: BenchForm;
}

export interface Faults {
  hash: string;
  faults: Fault[];
}

export interface Warmup {
  case: string;
  air_k: number;
  heat_w: number;
  spots: string[] | null;
  measured: MeasuredAt[] | null;
  moments: WarmupSample[];
  steady: WarmupSample;
  to_95_s: number;
  energy_balance: number;
  notes: string[] | null;
  says: string;
  table: TableData;
}

export interface Foldback {
  says: string[];
  table: TableData;
  curve: CurvePoint[];
  limit_k: number;
  healthy: Sample[];
  notes: string[];
}

export interface Parts {
  hash: string;
  kinds: PartKind[];
  own: Part[];
  library: LibraryPart[];
  places: PartPlace[];
  own_file: string;
  counts: Record<string, number>;
}

export interface Picked {
  rows?: PickRow[];
  row?: PickedRow;
  error?: string;
  count: Count;
}

export interface Keys {
  keys: KeyNode[];
}

export interface BoardMap {
  case: string;
  heat: HeatMap;
  rise_k: number[];
}

export interface FileText {
  name: string;
  text: string;
  hash: string;
  own: boolean;
  before: Saved[];
}

export interface Compared {
  text: string;
  lamp: Lamp | null;
}

export interface Checked {
  problems: Problem[];
  count: number;
}

export interface OpenedSheet {
  address: string;
}

export interface HelpContents {
  sections: Entry[];
}

export interface HelpHits {
  hits: Hit[];
}

export interface HelpSection {
  id: string;
  chapter: string;
  title: string;
  html: string;
  previous?: string;
  next?: string;
}

export interface TableDoubts {
  doubts: TableDoubt[];
}

export interface Dropped {
  kind: string;
  name: string;
  token: string;
  bytes: number;
  problems: FilePlace[];
  distribution?: Distribution;
  spectra: FileSpectrum[];
  outline?: Outline;
}

export interface Answers {
  filled: LampForm;
  wrong: FieldError[];
  plants: Plants[];
  source: string;
  dli: string;
  place: Sketch;
}

export interface Started {
  notes: LampNote[];
  stops: number;
  warnings: number;
  state: State;
}

export interface Template {
  key: string;
  title: string;
  about: string;
}

export interface ProjectFile {
  name: string;
  hash: string;
}

export interface Problem {
  at: Pos;
  msg: string;
  hint?: string;
  line?: string;
}

export interface Lamp {
  number?: number;
  name: string;
  fictitious_parts: boolean;
  full: boolean;
  figures: Figure[];
  findings: Finding[];
  counts: Record<string, number>;
  bad: Bad[];
  acknowledgements: number;
  channels: Channel[];
  emitters: Emitter[];
  cases: Case[];
  board: Board;
  board_heat: HeatMap;
  layout: Layout;
  stack: Layer[];
  installation: Installation;
  maps: LightMap[];
  spectrum: Spectrum;
  colour_preview: ColourPreview;
  energy_flows: EnergyFlow[];
  bom: BOMLine[];
  power: PowerNode[];
  assumptions: Assumption[];
  x: number;
  y: number;
  notes: string[];
  knobs: Knob[];
  requirements: Requirement[];
  curves?: Record<string, Curves>;
  pictures?: Record<string, string>;
}

export interface FigureChanges {
  at: number[];
  text: string[];
  value: number[];
}

export interface Figure {
  key: string;
  title: string;
  text: string;
  range: string;
  ends?: boolean;
  kind: string;
  value: number;
  p10: number;
  p90: number;
}

export interface Clash {
  path: string;
  was: string;
  now: string;
}

export interface Input {
  name: string;
  value: string;
  source: string;
  figure?: string;
  at: Pos;
}

export interface RoomExtent {
  x0_m: number;
  x1_m: number;
  y0_m: number;
  y1_m: number;
  floor_m: number;
  ceiling_m: number;
}

export interface Estimate {
  value: number;
  standard_error: number;
}

export interface RoomSurface {
  title: string;
  side: string;
  length_m: number;
  width_m: number;
  nx: number;
  ny: number;
  lux: number[];
  standard_error: number[];
  mean_lux: Estimate;
}

export interface ChannelMap {
  name: string;
  ppfd: number[];
  lux: number[];
  mean_ppfd: number;
  mean_lux: number;
}

export interface ChoiceRow {
  name: string;
  now: boolean;
  cells: string[];
  problem?: string;
  sets: Change[];
}

export interface Count {
  stops: number;
  warnings: number;
}

export interface Cause {
  title: string;
  change: string;
  sets: Change[];
  clears: Found[];
  brings: Found[];
  price: string;
  after: Count;
}

export interface Found {
  check: string;
  subject: string;
  severity: Severity;
}

export interface Project {
  id: string;
  name: string;
  folder: string;
  file: string;
  here: boolean;
  present: boolean;
}

export interface MixedChannel {
  name: string;
  level: number;
  light: number;
  level_now: number;
  dimming: string;
  min_amps: number;
  amps: number;
}

export interface XY {
  x: number;
  y: number;
}

export interface DayCourse {
  date: string;
  case: string;
  times_s: number[];
  channels: DayChannel[];
  ppfd_umol_m2_s: number[];
  dli_mol_m2: number[];
  mains_w: number[];
  sink_k: number[];
  junction_k: number[];
  sensor_k: number[] | null;
  cct_k: number[];
  duv: number[];
  supply_w: number[][] | null;
  colours: string[];
  sums: DaySums;
  notes: string[] | null;
}

export interface FrameList {
  channel: string;
  full: number;
  path: string;
  shared: boolean;
  stated: boolean;
  removes: string[];
  frames: Frame[];
}

export interface BandOfValue {
  lo: number;
  hi: number;
}

export interface SunriseStep {
  time_s: number;
  change: number;
  changed: string;
  channels: MixedChannel[];
  in_gamut: boolean;
  steps_off: number;
  amount_met: boolean;
  render_met: boolean;
  xy: XY;
  cct_k: number;
  duv: number;
  tint: string;
  ra: number;
  rf: number;
  ppfd_umol_m2_s: number;
  lux: number;
  wall_w: number;
  junction_k: number;
  notes: string[] | null;
}

export interface TableData {
  head: string[];
  rows: string[][];
}

export interface BenchInstrument {
  name: string;
  kind: string;
}

export interface BenchCampaign {
  name: string;
  date: string;
  room: string;
  note: string;
  path: string;
  next: string;
  states: BenchState[];
}

export interface BenchReading {
  path: string;
  campaign: number;
  label: string;
  what: string;
  where: string;
  place: string;
  state: number;
  instrument: string;
  unit: string;
  value: string;
  typed: boolean;
  note: string;
  doubted: boolean;
  by: string;
  points: BenchPoint[];
}

export interface BenchLearned {
  used: number;
  says: string;
  robust: boolean;
  rows: BenchParameter[];
  silent: string[];
  pairs: string[];
  untold: string[];
  notes: string[];
  tables: BenchTable[];
}

export interface BenchForm {
  quantities: BenchQuantity[];
  channels: string[];
  emitters: string[];
  spots: string[];
}

export interface Fault {
  title: string;
  healthy: boolean;
  probability: number;
  odds: string;
  factor: string;
  action: string;
  decide: string;
}

export interface MeasuredAt {
  x_m: number;
  y_m: number;
  diameter_m?: number;
}

export interface WarmupSample {
  time_s: number;
  sink_k: number;
  junction_k: number;
  spot_k: number[] | null;
  reads_k: number[] | null;
}

export interface CurvePoint {
  sensor_k: number;
  level: number;
}

export interface Sample {
  s: number;
  sensorK: number;
  readK: number;
  junctionK: number;
  level: number;
}

export interface PartKind {
  kind: string;
  doc: string;
  keys: Key[];
}

export interface Part {
  kind: string;
  id: string;
  name: string;
  file: string;
  line: number;
  path: string;
  fictitious: boolean;
  uses: string[];
  values: PartLeaf[];
}

export interface LibraryPart {
  kind: string;
  id: string;
  name: string;
  used: boolean;
  own: boolean;
  info: string;
  price: string;
  file: string;
  line: number;
}

export interface PartPlace {
  kind: string;
  id: string;
  path: string;
}

export interface PickRow {
  id: string;
  name: string;
  info: string;
  price: string;
  from: string;
  now: boolean;
}

export interface PickedRow {
  id: string;
  sets: Change[];
  brings: string[];
  after: Count;
  clears: Found[];
  fresh: Found[];
  price_eur: number;
  figures: PickFigure[];
  problem?: string;
}

export interface KeyNode {
  path: string;
  key: string;
  form: string;
  dim?: string;
  units?: string[];
  one?: string[];
  part?: string;
  doc?: string;
  limits?: string;
  eg?: string;
  need?: boolean;
  set?: boolean;
  text?: string;
  whole?: boolean;
  new?: string;
  keys?: KeyNode[];
  items?: KeyNode[];
}

export interface HeatMap {
  x0_m: number;
  y0_m: number;
  step_m: number;
  nx: number;
  ny: number;
  temp_k: number[] | null;
}

export interface Saved {
  name: string;
  when: string;
}

export interface Entry {
  id: string;
  chapter: string;
  title: string;
}

export interface Hit {
  id: string;
  chapter: string;
  title: string;
  text: Piece[];
}

export interface TableDoubt {
  rows: number[];
  text: string;
}

export interface FilePlace {
  line: number;
  col: number;
  text: string;
}

export interface Distribution {
  edition: number;
  flux_lm: number;
  stated_lm: number;
  peak_cd: number;
  beam_deg: number;
  field_deg: number;
  axial: boolean;
  planes: HalfPlane[];
  warnings: string[] | null;
}

export interface FileSpectrum {
  name: string;
  nm: number[];
  relative: number[];
  peak_nm: number;
  fwhm_nm: number;
  ler_lm_w: number;
  cct_k: number;
  duv: number;
  notes: string[] | null;
}

export interface Outline {
  rim: [number, number][];
  holes: [number, number][][];
  size: string;
  unit: string;
  assumed: boolean;
  notes: string[];
  as_drawn: Change[];
  centred: Change[];
  fixed: boolean;
  hole_text: string;
}

export interface LampForm {
  kind: string;
  length: string;
  width: string;
  height: string;
  water_depth: string;
  substrate_depth: string;
  plants: string;
  ppfd_min: string;
  ppfd_max: string;
  full_level_time: string;
  cct: string;
  ra: string;
  ambient_typical: string;
  ambient_max: string;
  budget: string;
  cooling: string;
  name: string;
}

export interface FieldError {
  field: string;
  error: string;
}

export interface Plants {
  key: string;
  title: string;
  ppfd: string;
  dli: string;
}

export interface Sketch {
  kind: string;
  length: number;
  width: number;
  height: number;
  water: number;
  substrate: number;
}

export interface LampNote {
  what: string;
  why: string;
  lack: boolean;
}

export interface Pos {
  file: string;
  line: number;
  col: number;
  path: string;
}

export interface Finding {
  severity: Severity;
  check: string;
  subject: string;
  title: string;
  figure?: string;
  value?: string;
  limit?: string;
  margin?: string;
  signed_margin?: number;
  comparison?: Comparison;
  why: string;
  fix?: string[];
  edits?: SuggestedEdit[];
  at: Pos;
  acknowledged?: Acknowledgement;
}

export interface Bad {
  severity: Severity;
  check: string;
  subject: string;
}

export interface Channel {
  name: string;
  current_a: number;
  string_a: number;
  typical_v: number;
  cold_v: number;
  hot_v: number;
  electric_w: number;
  radiant_w: number;
  flux_lm: number;
  ppf_umol_s: number;
  driver_in_w: number;
  wire_drop_v: number;
  colour: string;
  driver: string;
  driver_min_a: number;
  driver_max_a: number;
  driver_min_v: number;
  driver_max_v: number;
  strings: number;
  level: number;
  pwm: boolean;
  parts: string[];
  current_path: string;
}

export interface Emitter {
  label: string;
  channel: string;
  part: string;
  lens?: string;
  x_m: number;
  y_m: number;
  lens_at_m: [number, number, number];
  aim: [number, number, number];
  body_length_m: number;
  body_width_m: number;
  lens_diameter_m?: number;
  die_a: number;
  voltage_v: number;
  electrical_w: number;
  radiant_w: number;
  heat_w: number;
  notes?: string[];
  x_path: string;
  y_path: string;
  junction_k: number;
  solder_k: number;
  beam_rad: number;
  max_k: number;
}

export interface Case {
  key: string;
  title: string;
  room_k: number;
  air_k: number;
  sink_k: number;
  node_k: number;
  heat_w: number;
  face_w: number;
  housing_w?: number;
  housing_k?: number;
  sink_k_per_w: number;
  solder_k: number[];
  dielectric_k?: number[];
  junction_k: number[];
  sensor_k?: number;
  spot_k?: number[];
  loop_gain: number;
  iterations: number;
  runaway: boolean;
  runs_away: number;
  fan_dead: boolean;
  notes?: string[];
}

export interface Board {
  shape: string;
  length_m: number;
  width_m: number;
  corners?: [number, number][];
  holes?: BoardHole[];
  contact_x_m: number;
  contact_y_m: number;
  contact_length_m: number;
  contact_width_m: number;
  sensor_x_m?: number;
  sensor_y_m?: number;
  has_sensor: boolean;
  spots?: BoardSpot[];
}

export interface Layout {
  uses: Use[];
  channels: ChannelText[];
  holes: string[];
  corners: string[];
  sensor?: string;
  sensor_part: string;
  size: Record<string, string>;
  names: NamedChannel[];
}

export interface Layer {
  name: string;
  hot_k: number;
  cold_k: number;
}

export interface Installation {
  kind: string;
  length_m: number;
  width_m: number;
  height_m: number;
  water_m: number;
  substrate_m: number;
  hanging_m: number;
  lamp_tilt_rad: number;
  lamp_towards_rad: number;
  glass_m: number;
  offset_x_m: number;
  offset_y_m: number;
  sink: Sink;
}

export interface LightMap {
  title: string;
  length_m: number;
  width_m: number;
  nx: number;
  ny: number;
  ppfd: number[];
  lux: number[];
}

export interface Spectrum {
  lambda_nm: number[] | null;
  channels: number[][] | null;
  target: number[] | null;
}

export interface ColourPreview {
  points: ColourPoint[] | null;
  required?: ColourPoint;
  r?: number[];
  hue_bins?: BinFigures[];
  light_hex?: string;
  patches?: Patch[];
  notes?: string[];
}

export interface EnergyFlow {
  from: string;
  to: string;
  watts: number;
  loss: boolean;
}

export interface BOMLine {
  part: string;
  what: string;
  count: number;
  each_eur: number;
  total_eur: number;
  priced: boolean;
  note?: string;
  fictitious?: boolean;
}

export interface PowerNode {
  id: string;
  kind: string;
  parent: string;
  path: string;
  slot?: string;
  title: string;
  part?: string;
  absent?: boolean;
  colour?: string;
  facts: PowerFact[];
  findings: number[];
}

export interface Assumption {
  key: string;
  what: string;
  used: number;
  lo: number;
  hi: number;
  kind: string;
  why: string;
  fix: string;
  affects: string;
  figure_at_lo: number;
  figure_at_hi: number;
  at: Pos;
  param: string;
}

export interface Knob {
  path: string;
  group: string;
  label: string;
  text: string;
  unit?: string;
  value: number;
  min: number;
  max: number;
  step: number;
  limit?: number;
  limit_is?: string;
  choices?: KnobOption[];
  kind?: string;
  name?: string;
}

export interface Requirement {
  key: string;
  path?: string;
  dim?: string;
  min?: number;
  max?: number;
  value?: string;
  text: string;
  at?: Pos;
  more: number;
}

export interface Curves {
  name: string;
  sheet: string;
  voltage_a: number[];
  voltage_v: number[];
  flux_a: number[];
  flux: number[];
  flux_k: number[];
  flux_t: number[];
  derate_k: number[];
  derate_a: number[];
  max_a: number;
  max_k: number;
  test_a: number;
  test_k: number;
}

export interface DayChannel {
  name: string;
  levels: number[];
  ppfd_umol_m2_s: number[];
  solder_k: number[];
}

export interface DaySums {
  dli_mol_m2: number;
  energy_kwh: number;
  cost: number;
  lit_h: number;
  photoperiod_h: number;
  band_h: number;
  above_h: number;
  max_ppfd_umol_m2_s: number;
  max_mains_w: number;
  max_junction_k: number;
  max_sink_k: number;
  min_cct_k: number;
  max_cct_k: number;
}

export interface Frame {
  time_s: number;
  level: number;
  time: string;
  percent: string;
  ppfd: string;
  cct: string;
  ramp: string;
}

export interface BenchState {
  name: string;
  says: string;
  rest: string[];
  steady: boolean;
  after_s: number;
}

export interface BenchPoint {
  x: number;
  y: number;
  pending: boolean;
  predicted: number;
  u_lamp: number;
  u_meter: number;
  read: number;
  zeta: number;
  after: number;
  weight: number;
  verdict: string;
  expected: string;
  range: string;
  says: string;
}

export interface BenchParameter {
  title: string;
  of_lamp: boolean;
  before: string;
  after: string;
  sd_ratio: number;
  moved: number;
  told: string;
}

export interface BenchTable {
  title: string;
  text: string;
  head: string[];
  rows: string[][];
}

export interface BenchQuantity {
  name: string;
  meters: string[];
  places: string[];
  channel: boolean;
}

export interface Key {
  key: string;
  doc: string;
  eg?: string;
  one?: string[];
  need?: boolean;
  curve?: boolean;
  x?: string;
  y?: string;
  x_units?: string[];
  trend?: string;
  test?: string;
  units?: string[];
  limits?: string;
  list?: boolean;
  keys?: Key[];
}

export interface PartLeaf {
  path: string;
  text: string;
  line: number;
}

export interface PickFigure {
  key: string;
  text: string;
  value: number;
}

export interface Piece {
  text: string;
  found?: boolean;
}

export interface HalfPlane {
  phi_deg: number;
  theta_deg: number[];
  candela: number[];
}

export interface Comparison {
  value: number;
  p10: number;
  p90: number;
  min?: number;
  max?: number;
}

export interface SuggestedEdit {
  label: string;
  settings: Change[];
}

export interface Acknowledgement {
  reason: string;
  date?: string;
  at: Pos;
}

export interface BoardHole {
  x_m: number;
  y_m: number;
  diameter_m?: number;
  length_m?: number;
  width_m?: number;
}

export interface BoardSpot {
  name: string;
  x_m: number;
  y_m: number;
  diameter_m: number;
  stated: boolean;
}

export interface Use {
  path: string;
  channel: number;
  part: string;
  lens?: string;
  yaml: string;
}

export interface ChannelText {
  path: string;
  name: string;
  yaml: string;
}

export interface NamedChannel {
  path: string;
  name: string;
}

export interface Sink {
  length_m: number;
  width_m: number;
  base_m: number;
  fins?: Fins;
  pins?: Pins;
  housing?: Housing;
}

export interface ColourPoint {
  name: string;
  xy: XY;
  lo_k?: number;
  hi_k?: number;
  lo_duv?: number;
  hi_duv?: number;
}

export interface BinFigures {
  rf: number;
  chroma_shift: number;
  hue_shift_rad: number;
  samples: number;
  ref_a: number;
  ref_b: number;
  test_a: number;
  test_b: number;
}

export interface Patch {
  name: string;
  lamp_hex: string;
  daylight_hex: string;
}

export interface PowerFact {
  label: string;
  text: string;
  figure?: string;
}

export interface KnobOption {
  value: string;
  name?: string;
  sets?: Change[];
}

export interface Fins {
  count: number;
  height_m: number;
  thickness_m: number;
}

export interface Pins {
  diameter_m: number;
  height_m: number;
  across_m: number;
  along_m: number;
  staggered: boolean;
}

export interface Housing {
  area_m2: number;
  height_m: number;
}
