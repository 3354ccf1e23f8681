// The lane of a channel: its level over the day, and its keyframes, which are dragged, moved with the keys, added and deleted.
import { signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { Frame, FrameList } from './api';
import { byLight, clockText, dayS, fineLevel, fineS, percentText, relit, retimed, sameFrame, snap, stepLevel, stepS } from './dayedit';
import { editFrames, fileDay, lists } from './daystate';
import { pathOf } from './dayfile';
import { Values } from './steps';
import { setTrial, trial, trying } from './store';

/** bottom and room are the parts of a lane beneath level 0 and from there to 100 %. */
export const bottom = 0.12, room = 0.74;

const dashes = ['', '8 4', '2 3', '10 3 2 3', '5 5', '1 4'];
/** dashOf is the dash of the line of a channel. */
export const dashOf = (n: number) => dashes[n % dashes.length]!;

/** chosen is the keyframe that is selected. */
export const chosen = signal<{ channel: string; at: number } | null>(null);
/** toFocus says that the selected keyframe gets the focus once it is drawn. */
const toFocus = signal(false);

interface Drag { pointer: number; list: FrameList; at: number; x: number; y: number; width: number; height: number; frames: Frame[]; before: Values; moved: boolean }
let drag: Drag | null = null;

/** select chooses a keyframe, and gives it the focus where that is wanted. */
export function select(channel: string, at: number, focus = false) {
  chosen.value = { channel, at };
  toFocus.value = focus;
}

/** remove deletes a keyframe; the one before it is selected then. */
export function remove(l: FrameList, at: number) {
  if (l.frames.length < 2) return;
  editFrames(l, l.frames.filter((_, k) => k !== at), true);
  select(l.channel, Math.max(0, at - 1), true);
}

const start = (l: FrameList, at: number) => (e: PointerEvent) => {
  if (e.button !== 0) return;
  const el = e.currentTarget as HTMLElement, box = el.parentElement!.getBoundingClientRect();
  el.setPointerCapture(e.pointerId);
  select(l.channel, at);
  drag = { pointer: e.pointerId, list: l, at, x: e.clientX, y: e.clientY, width: box.width, height: room * box.height, frames: l.frames, before: trial.value, moved: false };
};

function move(e: PointerEvent) {
  if (!drag || drag.pointer !== e.pointerId) return;
  const dx = e.clientX - drag.x, dy = e.clientY - drag.y;
  if (!drag.moved && Math.hypot(dx, dy) < 3) return;
  const f = drag.frames[drag.at]!, step = e.altKey ? fineS : stepS, fine = e.altKey ? fineLevel : stepLevel;
  const time = Math.abs(dx) < 3 ? f.time_s : snap(f.time_s + (dayS * dx) / drag.width, step), level = Math.abs(dy) < 3 ? f.level : snap(f.level - dy / drag.height, fine);
  const next = retimed(relit(drag.frames, drag.at, level), drag.at, time, step);
  const now = lists.value.find((l) => l.channel === drag!.list.channel)?.frames[drag.at];
  if (now && sameFrame(now, next[drag.at]!)) return;
  editFrames(drag.list, next, !drag.moved);
  drag.moved = true;
}

function drop() { drag = null; }

const keys = (l: FrameList, at: number) => (e: KeyboardEvent) => {
  if (e.key === 'Escape' && drag) {
    if (drag.moved) setTrial(drag.before);
    return drop();
  }
  if (e.key === 'Delete' || e.key === 'Backspace') { e.preventDefault(); return remove(l, at); }
  const f = l.frames[at]!, dt = e.altKey ? fineS : stepS, dl = e.altKey ? fineLevel : stepLevel;
  const sideways = { ArrowLeft: -dt, ArrowRight: dt }[e.key], up = { ArrowDown: -dl, ArrowUp: dl }[e.key];
  if (sideways === undefined && up === undefined || e.ctrlKey || e.metaKey) return;
  e.preventDefault();
  const next = sideways !== undefined ? retimed(l.frames, at, f.time_s + sideways, dt) : relit(l.frames, at, snap(f.level + up!, fineLevel));
  if (!sameFrame(next[at]!, f)) editFrames(l, next, false);
};

const lightOf = (f: Frame) => (byLight(f) ? f.ppfd + (f.cct && `, ${f.cct}`) : percentText(f.level));

/** Diamond is a keyframe. */
function Diamond({ l, f, n, changed }: { l: FrameList; f: Frame; n: number; changed: boolean }) {
  const el = useRef<HTMLButtonElement>(null);
  const on = chosen.value?.channel === l.channel && chosen.value.at === n;
  const of = lists.value.find((x) => x.channel === chosen.value?.channel), mate = !on && l.shared && of?.shared === true && chosen.value?.at === n;
  useEffect(() => { if (on && toFocus.value) { toFocus.value = false; el.current?.focus({ preventScroll: true }); } });
  const top = 100 * (1 - bottom - room * Math.min(1, f.level)), time = clockText(f.time_s), edge = f.time_s < 5400 ? ' first' : f.time_s > dayS - 5400 ? ' last' : '';
  return (
    <>
      <button ref={el} type="button" class={`keyframe${on ? ' on' : ''}${mate ? ' mate' : ''}${changed ? ' changed' : ''}`} style={{ left: `${(100 * f.time_s) / dayS}%`, top: `${top}%` }} aria-pressed={on}
        aria-label={`${l.channel}, ${time}, ${lightOf(f)}${l.shared && lists.value.filter((x) => x.shared).length > 1 ? ', shared' : ''}${changed ? ', unsaved' : ''}`}
        onFocus={() => { if (!on) select(l.channel, n); }} onClick={() => select(l.channel, n)} onDblClick={(e) => e.stopPropagation()}
        onPointerDown={start(l, n)} onPointerMove={move} onPointerUp={drop} onPointerCancel={drop} onKeyDown={keys(l, n)} />
      {on && <span class={`keylabel${top > 45 ? ' above' : ''}${changed ? ' changed' : ''}${edge}`} style={{ left: `${(100 * f.time_s) / dayS}%`, top: `${top}%` }} aria-hidden="true">{time} · {lightOf(f)}</span>}
    </>
  );
}

/** Lane is the level of a channel with its keyframes. */
export function Lane({ l, n, colour, times, levels, onAdd }: { l: FrameList; n: number; colour: string; times: number[]; levels: number[]; onAdd: (e: MouseEvent) => void }) {
  const filed = fileDay.value, was = trying.value ? filed?.day?.channels.find((c) => c.name === l.channel)?.levels : undefined;
  const known = filed?.lists.find((x) => x.channel === l.channel)?.frames ?? [];
  const height = 100 / room, lift = bottom * height;
  // Relative to full day, as the keyframes are.
  const draw = (t: number[], y: number[]) => pathOf(t, y.map((v) => (100 * v) / (l.full || 1) + lift), 0, height, 1440, height);
  const path = draw(times, levels);
  return (
    <div class="daylane lane" style={`--c: ${colour}`} onDblClick={onAdd}>
      <svg viewBox={`0 0 1440 ${height}`} preserveAspectRatio="none" aria-hidden="true">
        {was && filed!.day && draw(filed!.day.times_s, was) !== path && <path class="line of-file" d={draw(filed!.day.times_s, was)} stroke-dasharray="5 4" />}
        {path && <path class="fill" d={`${path}V${height - lift}H0Z`} />}
        <path class="line" d={path} stroke-dasharray={dashOf(n) || undefined} />
      </svg>
      {l.frames.map((f, k) => <Diamond key={k} l={l} f={f} n={k} changed={trying.value && !known.some((x) => sameFrame(x, f))} />)}
    </div>
  );
}
