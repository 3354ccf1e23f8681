// The selected keyframe as fields and buttons.
import { useState } from 'preact/hooks';
import { Frame, FrameList } from './api';
import { addedAfter, byLight, clockText, firstDay, maxFrames, moveTo, percentText, readClock, readPercent, relit, retimed, sameFrame, fineS } from './dayedit';
import { chosen, remove, select } from './daylane';
import { day, editFrames, fileDay, joinOthers, lists, splitOff } from './daystate';
import { trying } from './store';

/** Typed is a field of the keyframe. What is typed is tried, or said to be wrong beside it. */
function Typed({ name, label, value, changed, hint, put }: { name: string; label: string; value: string; changed: boolean; hint?: string; put: (text: string) => string }) {
  const [typed, setTyped] = useState<string | null>(null);
  const [wrong, setWrong] = useState('');
  const id = `day-${name}`;
  const commit = (text: string) => {
    const bad = text.trim() === value ? '' : put(text.trim());
    setWrong(bad);
    setTyped(bad ? text : null);
  };
  return (
    <div class={changed ? 'dayfield changed' : 'dayfield'}>
      <label for={id}>{label}</label>
      <input id={id} type="text" autocomplete="off" spellcheck={false} value={typed ?? value} placeholder={hint} aria-invalid={wrong !== ''} aria-describedby={wrong ? id + '-e' : undefined}
        onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => { if (typed !== null) commit(e.currentTarget.value); }}
        onKeyDown={(e) => { if (e.key === 'Enter') commit(e.currentTarget.value); if (e.key === 'Escape') { setTyped(null); setWrong(''); } }} />
      {wrong && <p class="wrong" id={id + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

/** Shape is how the light gets to a keyframe. */
const Shape = ({ l, at }: { l: FrameList; at: number }) => {
  const now = l.frames[at]!.ramp || 'straight';
  return (
    <div class="seg" role="group" aria-label="Ramp to this keyframe">
      {(['straight', 'eased', 'step'] as const).map((s) => <button type="button" aria-pressed={now === s} onClick={() => { if (s !== now) editFrames(l, l.frames.map((f, k) => (k === at ? { ...f, ramp: s === 'straight' ? '' : s } : f)), true); }}>{s}</button>)}
    </div>
  );
};

/** ppfdAt is the PPFD of the day at a time. */
function ppfdAt(time: number): number {
  const d = day.value?.day;
  const k = d ? d.times_s.findIndex((t) => t >= time) : -1;
  return k < 0 ? 0 : d!.ppfd_umol_m2_s[k]!;
}

/** Light is the level of a keyframe, or its PPFD and colour temperature. */
function Light({ l, at, changed }: { l: FrameList; at: number; changed: boolean }) {
  const f = l.frames[at]!, put = (next: Frame) => editFrames(l, l.frames.map((x, k) => (k === at ? next : x)), true);
  const unit = (text: string, u: string) => (/^[\d.,]+$/.test(text) ? `${text.replace(',', '.')} ${u}` : text);
  if (byLight(f)) return (
    <>
      <Typed name="ppfd" label="PPFD" value={f.ppfd} changed={changed} put={(t) => { if (!/^[\d.,]/.test(t)) return 'A PPFD, such as 80 µmol/m²/s.'; put({ ...f, ppfd: unit(t, 'µmol/m²/s') }); return ''; }} />
      <Typed name="cct" label="CCT" value={f.cct} changed={changed} hint="as mixed" put={(t) => { if (t !== '' && !/^\d/.test(t)) return 'A colour temperature, such as 3500 K, or nothing.'; put({ ...f, cct: t && unit(t, 'K') }); return ''; }} />
      <button type="button" onClick={() => put({ ...f, ppfd: '', cct: '', percent: percentText(f.level) })}>By level</button>
    </>
  );
  return (
    <>
      <Typed name="level" label="Level" value={percentText(f.level)} changed={changed} put={(t) => {
        const v = readPercent(t);
        if (v === null) return 'A level from 0 % to 100 %.';
        editFrames(l, relit(l.frames, at, v), true);
        return '';
      }} />
      {l.shared && f.level > 0 && <button type="button" title="State the PPFD at the target in place of the level" onClick={() => put({ ...f, percent: '', ppfd: `${Math.max(1, Math.round(ppfdAt(f.time_s)))} µmol/m²/s` })}>By PPFD</button>}
    </>
  );
}

/** Whose says which channels the keyframes move, and changes that. */
function Whose({ l }: { l: FrameList }) {
  const mates = lists.value.filter((x) => x.shared).map((x) => x.channel), all = lists.value.length;
  if (all < 2) return null;
  if (!l.shared) return (
    <span class="whose"><span class="soft">{l.channel} alone</span>
      <button type="button" disabled={mates.length === 0 && !lists.value.some((x) => x.shared)} onClick={() => joinOthers(l.channel)}>Join the others</button></span>
  );
  return (
    <span class="whose"><span class="soft">moves {mates.length === all ? 'all channels' : mates.join(', ')}</span>
      {mates.length > 1 && <button type="button" onClick={() => splitOff(l.channel, l.frames.length > 0 ? l.frames : firstDay)}>Own keyframes</button>}</span>
  );
}

/** DayFoot is the row of the selected keyframe. */
export function DayFoot() {
  const c = chosen.value, l = lists.value.find((x) => x.channel === c?.channel), f = l && c ? l.frames[c.at] : undefined;
  if (!c || !l || !f) return <p class="dayfoot soft">Select a keyframe, or add one by a double click on a lane.</p>;
  const known = fileDay.value?.lists.find((x) => x.channel === l.channel)?.frames ?? [], changed = trying.value && !known.some((x) => sameFrame(x, f));
  const after = l.frames.length < maxFrames ? addedAfter(l.frames, c.at) : null;
  const retime = (text: string) => {
    const t = readClock(text);
    if (t === null) return 'A time of day, such as 09:30.';
    if (t === f.time_s) return '';
    const next = moveTo(l.frames, c.at, t);
    if (!next) return `A keyframe is at ${clockText(t)} already.`;
    editFrames(l, next.at === c.at ? retimed(l.frames, c.at, t, fineS) : next.frames, true);
    select(l.channel, next.at);
    return '';
  };
  return (
    <div class="dayfoot" role="group" aria-label="Selected keyframe" key={`${c.channel} ${c.at}`}>
      <b>{l.channel}</b>
      <Typed name="time" label="Time" value={clockText(f.time_s)} changed={changed} put={retime} />
      <Light l={l} at={c.at} changed={changed} />
      <Shape l={l} at={c.at} />
      <button type="button" disabled={after === null} onClick={() => { if (after) { editFrames(l, after.frames, true); select(l.channel, after.at, true); } }}>Add after</button>
      <button type="button" disabled={l.frames.length < 2} title={l.frames.length < 2 ? 'A list has at least one keyframe' : 'Delete'} onClick={() => remove(l, c.at)}>Delete</button>
      <Whose l={l} />
      <span class="keyhint"><kbd>← →</kbd> 5 min, <kbd>↑ ↓</kbd> 1 %, with <kbd>Alt</kbd> 1 min, 0.1 %</span>
    </div>
  );
}
