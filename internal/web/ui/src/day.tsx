// The day as an editable timeline: a lane for each channel with its keyframes, and beneath it, on the same axis, what the lamp does with them.
import { computed, signal } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { DayCourse, FrameList } from './api';
import { DayFoot } from './dayfoot';
import { firstDay, atLevel, clockText, dayS, inserted, snap, stepLevel, stepS } from './dayedit';
import { dayDrawing, dayTable, pathOf, Row } from './dayfile';
import { bottom, dashOf, Lane, room, select } from './daylane';
import { askDay, askedKey, course, dateText, day, dayFailed, dayOld, editFrames, fileDay, lists, Which, which } from './daystate';
import { celsius, num } from './format';
import { Keys } from './keys';
import { keyAt, watchKeys } from './keystate';
import { Data, SaveAs } from './pieces';
import { figure, lampName, section, sentence, trying } from './store';
import { adopt } from './styles';
import css from './day.css' with { type: 'text' };

adopt(css as string);

/** probeS is the time of day that is read [s]. */
const probeS = signal(12 * 3600);

/** nearest is the place of the probe in the times of a day. */
const nearest = computed(() => {
  const times = course.value?.times_s ?? [];
  let lo = 0, hi = times.length - 1;
  while (hi - lo > 1) { const mid = (lo + hi) >> 1; if (times[mid]! <= probeS.value) lo = mid; else hi = mid; }
  return hi >= 0 && Math.abs(times[hi]! - probeS.value) < Math.abs(times[lo]! - probeS.value) ? hi : lo;
});

/** readAt is a value of a list at the probe. */
const readAt = (y: number[] | undefined) => y?.[nearest.value];

/** filedAt is the same value of the file's day, where other values are tried. */
function filedAt(pick: (d: DayCourse) => number[] | undefined): number | undefined {
  const d = trying.value ? fileDay.value?.day : null;
  if (!d) return undefined;
  let k = 0;
  for (let i = 1; i < d.times_s.length; i++) if (Math.abs(d.times_s[i]! - probeS.value) < Math.abs(d.times_s[k]! - probeS.value)) k = i;
  return pick(d)?.[k];
}

/** tenths prints a number to a tenth, or to three digits. */
const tenths = (v: number) => (Math.abs(v) < 100 ? v.toFixed(1) : num(v));

/** Read is the value of a row at the probe. */
function Read({ pick, text, unit, brief }: { pick: (d: DayCourse) => number[] | undefined; text: (v: number) => string; unit: string; brief?: boolean }) {
  const d = course.value, v = d ? readAt(pick(d)) : undefined, was = filedAt(pick);
  const now = v === undefined ? '–' : text(v), moved = was !== undefined && text(was) !== now;
  return <div class={moved ? 'dayread changed' : 'dayread'}><b>{now}</b><small> {unit}</small>{moved && !brief && <small class="was">file {text(was)}</small>}</div>;
}

/** Band is a required band as it lies in a row. */
const Band = ({ of, lo, hi }: { of: [number, number] | undefined; lo: number; hi: number }) => {
  if (!of) return null;
  const y = (v: number) => 100 - (100 * (Math.min(hi, Math.max(lo, v)) - lo)) / (hi - lo);
  return <rect class="band" x="0" y={y(of[1])} width="1440" height={Math.max(0, y(of[0]) - y(of[1]))} />;
};

/** Plot is a row beneath the lanes. */
function Plot({ row, times, top, end, children }: { row: Row; times: number[]; top?: string; end?: string; children?: ComponentChildren }) {
  return (
    <div class="daylane plot">
      <svg viewBox="0 0 1440 100" preserveAspectRatio="none" aria-hidden="true">
        <Band of={row.band} lo={row.lo} hi={row.hi} />
        {row.lines.map((l) => {
          const path = pathOf(times, l.y, row.lo, row.hi, 1440, 100);
          return <>{l.fill && <path class="fill" d={`${path}V100H0Z`} />}<path class={`line${l.colour ? ' ' + l.colour : ''}`} d={path} stroke-dasharray={l.dash || undefined} /></>;
        })}
        {row.limit !== undefined && <path class="limit" d={`M0 ${100 - (100 * (row.limit - row.lo)) / (row.hi - row.lo)}H1440`} />}
      </svg>
      {top && <span class="of-top">{top}</span>}
      {end && <span class="of-end">{end}</span>}
      {children}
    </div>
  );
}

/** Strip is the colour of the light as it will look. */
function Strip({ d }: { d: DayCourse }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const g = canvas.current?.getContext('2d');
    if (!g) return;
    const light = g.createLinearGradient(0, 0, 1440, 0);
    d.times_s.forEach((t, k) => {
      // Of a stretch of one colour only its ends are stops.
      if (d.colours[k] !== d.colours[k - 1] || d.colours[k] !== d.colours[k + 1]) light.addColorStop(Math.min(1, t / dayS), d.colours[k]!);
    });
    g.fillStyle = light;
    g.fillRect(0, 0, 1440, 1);
  }, [d]);
  return <div class="daylane strip"><canvas ref={canvas} width={1440} height={1} aria-hidden="true" /></div>;
}

const maxOf = (y: number[]) => y.reduce((a, b) => Math.max(a, b), 0);

/** rowsOf is the rows beneath the lanes. */
function rowsOf(d: DayCourse) {
  const v = day.value!, ppfd = v.ppfd, dli = v.dli, limit = section('requirements').find((w) => w.key === 'lamp.junction-max-ambient')?.max;
  const temperatures = [...d.junction_k, ...d.sink_k], lowest = Math.min(...temperatures) - 1, highest = Math.max(maxOf(temperatures), limit ?? 0) + 3;
  const fileOf = trying.value ? fileDay.value?.day : null, same = fileOf && fileOf.times_s.length === d.times_s.length;
  const line = (y: number[], was: number[] | undefined) => [...(same && was ? [{ y: was, dash: '5 4', colour: 'of-file' }] : []), { y, dash: '', fill: true }];
  return {
    ppfd: { name: 'PPFD', unit: 'µmol/m²/s', lo: 0, hi: 1.1 * Math.max(maxOf(d.ppfd_umol_m2_s), ppfd?.hi ?? 0, 1e-9), lines: line(d.ppfd_umol_m2_s, fileOf?.ppfd_umol_m2_s), band: ppfd ? [ppfd.lo, ppfd.hi] : undefined } as Row,
    dli: { name: 'DLI since midnight', unit: 'mol/m²', lo: 0, hi: 1.1 * Math.max(d.sums.dli_mol_m2, dli?.hi ?? 0, 1e-9), lines: line(d.dli_mol_m2, fileOf?.dli_mol_m2).map((l) => ({ ...l, fill: false })), band: dli ? [dli.lo, dli.hi] : undefined } as Row,
    mains: { name: 'Mains input', unit: 'W', lo: 0, hi: 1.15 * Math.max(maxOf(d.mains_w), 1e-9), lines: line(d.mains_w, fileOf?.mains_w) } as Row,
    heat: { name: 'Temperature', unit: '°C', lo: lowest, hi: highest, lines: [{ y: d.junction_k, dash: '', fill: false }, { y: d.sink_k, dash: '3 3', fill: false }], limit } as Row,
  };
}

const range = (b: { lo: number; hi: number } | null) => (b ? (b.hi > b.lo && b.hi < 1e9 ? `${num(b.lo)}–${num(b.hi)}` : `≥ ${num(b.lo)}`) : '');

/** saidOf is the drawing in a sentence. */
function saidOf(d: DayCourse): string {
  const s = d.sums, v = day.value!, limit = section('requirements').find((w) => w.key === 'lamp.junction-max-ambient')?.max;
  return `Day at ${d.case}${d.date && `, ${d.date}`}: light for ${num(s.lit_h)} h; maximum PPFD ${num(s.max_ppfd_umol_m2_s)} µmol/m²/s${v.ppfd ? `, required ${range(v.ppfd)}` : ''}; DLI ${num(s.dli_mol_m2)} mol/m²/d${v.dli ? `, required ${range(v.dli)}` : ''}; `
    + `maximum mains input ${num(s.max_mains_w)} W, ${num(s.energy_kwh)} kWh; maximum junction temperature ${celsius(s.max_junction_k)}${limit ? `, required at most ${celsius(limit, 0)}` : ''}.`;
}

/** Axis is the hours, and the time of the probe, which the arrow keys move. */
function Axis() {
  const t = probeS.value, d = course.value;
  const says = d ? `${clockText(t)}: ${d.channels.map((c) => `${c.name} ${num(100 * (readAt(c.levels) ?? 0))} %`).join(', ')}, PPFD ${num(readAt(d.ppfd_umol_m2_s) ?? 0)}, mains ${num(readAt(d.mains_w) ?? 0)} W, junction ${celsius(readAt(d.junction_k) ?? 0)}` : clockText(t);
  const move = (by: number) => { probeS.value = Math.min(dayS, Math.max(0, snap(probeS.value, stepS) + by)); };
  return (
    <div class="dayaxis">
      {[0, 3, 6, 9, 12, 15, 18, 21, 24].map((h) => <span style={{ left: `${(100 * h) / 24}%` }} class={`${h % 6 ? 'minor' : ''}${h === 24 ? ' end' : ''}`}>{String(h).padStart(2, '0')}</span>)}
      <div class="probe" role="slider" tabIndex={0} aria-label="Time of day that is read" aria-valuemin={0} aria-valuemax={24} aria-valuenow={t / 3600} aria-valuetext={says} style={{ left: `${(100 * t) / dayS}%` }}
        onKeyDown={(e) => {
          const by = { ArrowLeft: -stepS, ArrowRight: stepS, ArrowDown: -stepS, ArrowUp: stepS, PageDown: -3600, PageUp: 3600, Home: -dayS, End: dayS }[e.key];
          if (by) { e.preventDefault(); move(by * (e.shiftKey ? 12 : 1)); }
        }}>{clockText(t)}</div>
    </div>
  );
}

/** addAt puts a keyframe where a lane was pressed twice. */
function addAt(l: FrameList, e: MouseEvent) {
  const box = (e.currentTarget as Element).getBoundingClientRect();
  const time = Math.min(dayS - stepS, Math.max(0, snap((dayS * (e.clientX - box.left)) / box.width, stepS)));
  const level = snap(Math.min(1, Math.max(0, (box.bottom - e.clientY - bottom * box.height) / (room * box.height))), stepLevel);
  const next = inserted(l.frames, atLevel(time, level));
  if (!next) return;
  editFrames(l, next.frames, true);
  select(l.channel, next.at, true);
}

/** Timeline is the lanes and the rows beneath them. */
function Timeline({ d }: { d: DayCourse }) {
  const rows = rowsOf(d), v = day.value!, times = d.times_s;
  const all = lists.value, channels = section('channels'), box = useRef<HTMLDivElement>(null);
  const probe = (e: PointerEvent) => {
    const lane = box.current!.querySelector('.daylane')!.getBoundingClientRect();
    if (e.clientX >= lane.left && e.clientX <= lane.right) probeS.value = Math.round((dayS * (e.clientX - lane.left)) / lane.width / 60) * 60;
  };
  const cost = figure('cost.electricity-year')?.text, year = figure('mains.energy-year')?.text;
  return (
    <div ref={box} class={`daygrid${dayOld.value && dayFailed.value || v.wrong ? ' stale' : ''}`} role="group" aria-label="Timeline of the day" aria-describedby="day-said" style={`--probe: ${(100 * probeS.value) / dayS}%; --lane: ${all.length > 5 ? 50 : all.length > 3 ? 60 : 70}px`} onPointerMove={probe} onPointerDown={probe}>
      <p class="hidden" id="day-said">{saidOf(d)}</p>
      {all.map((l, i) => {
        const c = channels.find((x) => x.name === l.channel), of = d.channels.find((x) => x.name === l.channel);
        return (
          <>
            <div class="dayname"><b>{l.channel}</b><span>{(c?.parts ?? []).join(', ')}{!l.shared && '; own keyframes'}</span></div>
            <Lane l={l} n={i} colour={c?.colour ?? '#888'} times={times} levels={of?.levels ?? []} onAdd={(e) => addAt(l, e)} />
            <Read pick={(x) => x.channels.find((y) => y.name === l.channel)?.levels} text={(y) => num(100 * y)} unit="%" />
          </>
        );
      })}
      <div class="dayname"><span>Colour of the light</span></div><Strip d={d} /><Read pick={(x) => x.cct_k} text={(y) => (y ? num(y, 4) : '–')} unit="K" brief />
      <div class="dayname"><b>PPFD</b><span>mean at the target{v.ppfd && <>, required {range(v.ppfd)}</>}</span></div>
      <Plot row={rows.ppfd} times={times} /><Read pick={(x) => x.ppfd_umol_m2_s} text={tenths} unit="µmol/m²/s" />
      <div class="dayname"><b>DLI</b><span>since midnight{v.dli && <>, required {range(v.dli)}</>}</span></div>
      <Plot row={rows.dli} times={times} end={`${num(d.sums.dli_mol_m2)} mol/m²`} /><Read pick={(x) => x.dli_mol_m2} text={(y) => y.toFixed(2)} unit="mol/m²" />
      <div class="dayname"><b>Mains input</b><span>{year && <>{year.replace(/\/year$/, '')}</>}{cost && cost !== '–' && <>, {cost}</>} a year</span></div>
      <Plot row={rows.mains} times={times} top={`${num(d.sums.max_mains_w)} W`} /><Read pick={(x) => x.mains_w} text={tenths} unit="W" />
      <div class="dayname"><b>Temperature</b><span>maximum T_j —, heat sink ┄</span></div>
      <Plot row={rows.heat} times={times} top={rows.heat.limit !== undefined ? `${celsius(rows.heat.limit, 0)} required` : ''} /><Read pick={(x) => x.junction_k} text={(y) => (y - 273.15).toFixed(1)} unit="°C" />
      <Axis />
    </div>
  );
}

/** DayChooser is which day is shown. */
function DayChooser() {
  const pick = (w: Which) => { which.value = w; if (w === 'date' && dateText.value === '') dateText.value = new Date().toISOString().slice(0, 10); };
  return (
    <div class="dayof">
      <div class="seg" role="group" aria-label="Day shown">
        {([['reference', 'Reference day'], ['date', 'A date'], ['max-ambient', 'Maximum ambient']] as const).map(([k, t]) => <button type="button" aria-pressed={which.value === k} onClick={() => pick(k)}>{t}</button>)}
      </div>
      {which.value === 'date' && <label>Date <input type="date" value={dateText.value} onInput={(e) => { if (e.currentTarget.value) dateText.value = e.currentTarget.value; }} /></label>}
    </div>
  );
}

/** DayKeys are the other keys of the day; they are asked for only while they are shown. */
function DayKeys() {
  useEffect(watchKeys, []);
  const list = (keyAt('day')?.keys ?? []).filter((k) => !['keyframes', 'channels'].includes(k.key));
  return list.length > 0 ? <div class="keysection"><Keys list={list} words={[]} /></div> : <p role="status">Reading the file…</p>;
}

function Modifiers() {
  const [open, setOpen] = useState(false);
  return (
    <details class="daymods" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary><b>Modifiers</b> <span class="soft">noon break, moonlight, clouds, acclimation, sun, price of electricity</span></summary>
      {open && <DayKeys />}
    </details>
  );
}

/** DayFiles is the day as a table and as files. */
function DayFiles({ d }: { d: DayCourse }) {
  const rows = rowsOf(d), colours = section('channels');
  const lanes: Row[] = d.channels.map((c, i) => ({ name: c.name, unit: 'level, %', lo: 0, hi: 100, lines: [{ y: c.levels.map((x) => 100 * x), dash: dashOf(i), fill: true, colour: colours.find((x) => x.name === c.name)?.colour ?? '#888' }] }));
  const inC: Row = { ...rows.heat, lo: rows.heat.lo - 273.15, hi: rows.heat.hi - 273.15, limit: rows.heat.limit === undefined ? undefined : rows.heat.limit - 273.15, lines: rows.heat.lines.map((l) => ({ ...l, y: l.y.map((x) => x - 273.15) })) };
  const plain = (r: Row): Row => ({ ...r, lines: r.lines.filter((l) => l.colour !== 'of-file') });
  const table = () => d.times_s.flatMap((t, k) => (t % 1800 === 0 ? [[clockText(t), ...d.channels.map((c) => `${num(100 * c.levels[k]!)} %`), num(d.ppfd_umol_m2_s[k]!), num(d.dli_mol_m2[k]!), num(d.mains_w[k]!), celsius(d.sink_k[k]!), celsius(d.junction_k[k]!), d.cct_k[k] ? num(d.cct_k[k]!, 4) : '–']] : []));
  return (
    <Data title="Data" head={['time', ...d.channels.map((c) => c.name), 'PPFD, µmol/m²/s', 'DLI, mol/m²', 'mains, W', 'heat sink', 'maximum T_j', 'CCT, K']} rows={table} files={<>
      <SaveAs name="day" what="CSV" kind="csv" text={() => dayTable(d)} /> <SaveAs name="day" what="SVG" kind="svg" text={() => dayDrawing(`Day: ${lampName.value}, ${d.case}`, d, [...lanes, plain(rows.ppfd), plain(rows.dli), plain(rows.mains), inC])} />
    </>} />
  );
}

/** DayView is the day of the lamp. */
export function DayView() {
  const key = askedKey.value, v = day.value;
  useEffect(() => { void askDay(); }, [key]);
  const d = v ? course.value : null, list = lists.value.find((l) => l.shared);
  return (
    <section class="dayview" aria-labelledby="day-title">
      <div class="dayhead">
        <h2 id="day-title">Day</h2>
        {v && d && <span class="soft">{v.sun ? 'the levels follow the sun of a place' : 'drag the diamonds, or select one and type time and level'}</span>}
        {v?.given && <DayChooser />}
      </div>
      {!v && !dayFailed.value && <p class="loading" role="status">Computing the day…</p>}
      {dayFailed.value && <p class="wrong" role="alert">{dayFailed.value}{d && ' The drawing is of the values before.'}</p>}
      {v?.wrong && <p class="wrong" role="alert">{sentence(v.wrong.replace(/^[^\s:]+:\d+:\d+: /, ''))}{d && ' The drawing is of the values before.'}</p>}
      {v && !v.given && <div class="empty"><p>The design states no daily programme.</p><button type="button" class="main" disabled={!fileDay.value || !list} onClick={() => editFrames(list!, firstDay, true)}>Begin with 8 h of full light</button></div>}
      {v && d && <><Timeline d={d} />{!v.sun && <DayFoot />}{(d.notes ?? []).map((n) => <p class="hint">{sentence(n)}</p>)}</>}
      {v && !d && v.given && !v.sun && <DayFoot />}
      {d && <DayFiles d={d} />}
      <Modifiers />
    </section>
  );
}
