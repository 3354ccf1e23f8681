// Values that can be tried, beside the view that they move.
import { signal, useComputed } from '@preact/signals';
import { Component, Fragment } from 'preact';
import { useState } from 'preact/hooks';
import { Knob } from './api';
import { num } from './format';
import { openPicker } from './picking';
import { id, problemAt } from './pieces';
import { clash, section, state, trial, tryValue, tryValues, where } from './store';

/** numberIn is the number of a text that is written in a unit; null where it is written otherwise. */
const numberIn = (text: string, unit?: string) => {
  const t = text.trim();
  if (!unit || !t.endsWith(unit)) return null;
  const v = Number(t.slice(0, -unit.length));
  return Number.isFinite(v) ? v : null;
};

/** Marks stand under a slider: what the file says, and what the value should not pass. */
function Marks({ k, file }: { k: Knob; file: number | null }) {
  const at = (v: number) => `${(100 * (v - k.min)) / (k.max - k.min || 1)}%`;
  const limit = k.limit !== undefined && k.limit <= k.max && k.limit >= k.min ? k.limit : null;
  if (limit === null && file === null) return null;
  return (
    <div class="marks">
      <span class="rail" aria-hidden="true">{file !== null && <i class="of-file" style={{ left: at(file) }} />}{limit !== null && <i class="of-limit" style={{ left: at(limit) }} />}</span>
      {limit !== null && <span class="soft">{num(limit)} {k.unit}: {k.limit_is}</span>}
    </div>
  );
}

/** KnobRow is a value that can be tried: a slider with a field for any text with a unit, or a choice. */
function KnobRow({ k, named }: { k: Knob; named?: boolean | undefined }) {
  const [typed, setTyped] = useState<string | null>(null);
  const stands = useComputed(() => state.value?.lamp?.knobs.find((x) => x.path === k.path)?.text ?? k.text).value;
  const tried = useComputed(() => trial.value[k.path]).value;
  const wrong = useComputed(() => problemAt(k.path)).value;
  const was = useComputed(() => clash(k.path)).value;
  const now = tried ?? stands;
  const shown = typed ?? now;
  const changed = tried !== undefined;
  // The field itself is read: a render may not have caught up with the last key.
  const commit = (text: string) => {
    // A bare number is one of the unit that stands in the field.
    if (k.unit && /^\s*[-+]?\d{0,9}[.,]?\d{1,9}\s*$/.test(text)) text = `${text.trim().replace(',', '.')} ${k.unit}`;
    if (text !== now) tryValue(k.path, text);
    setTyped(null);
  };
  const key = id('k-', k.path);
  const value = numberIn(now, k.unit) ?? k.value;
  return (
    <div class={(changed ? 'knob changed' : 'knob') + (k.choices || k.kind ? ' choice' : '')}>
      <label for={key}><span class={named ? 'of' : 'of narrow-only'}>{k.group}, </span>{k.label}</label>
      {k.kind
        ? <button type="button" id={key} class="part" title={k.name} onClick={() => openPicker(k.path)}>{now}</button>
        : k.choices
        ? <select id={key} value={now} aria-invalid={wrong !== ''} aria-describedby={wrong ? key + '-e' : undefined} onChange={(e) => { const c = k.choices!.find((x) => x.value === e.currentTarget.value); tryValues([{ path: k.path, text: e.currentTarget.value }, ...(c?.sets ?? [])]); }}>
            {!k.choices.some((c) => c.value === now) && <option value={now}>{now}</option>}
            {k.choices.map((c) => <option value={c.value}>{c.name ?? c.value}</option>)}
          </select>
        : <>
            <input id={key} class="typed" type="text" inputMode="text" autocomplete="off" spellcheck={false} value={shown} aria-invalid={wrong !== ''} aria-describedby={wrong ? key + '-e' : undefined}
              onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => commit(e.currentTarget.value)}
              onKeyDown={(e) => { if (e.key === 'Enter') commit(e.currentTarget.value); if (e.key === 'Escape') { e.currentTarget.value = now; setTyped(null); } }} />
            <input class="slide" type="range" aria-label={`${k.group}, ${k.label}, in ${k.unit}`} aria-valuetext={now} min={k.min} max={k.max} step={k.step} value={value}
              onInput={(e) => {
                setTyped(null);
                tryValue(k.path, `${e.currentTarget.value} ${k.unit}`);
              }} />
            <Marks k={k} file={changed ? numberIn(stands, k.unit) : null} />
          </>}
      {was !== undefined && <p class="wrong" role="alert">The file now states {stands}; it stated {was} when you changed this value.</p>}
      {changed && <p class="was">file: {stands} <button type="button" class="link" aria-label={`${k.group}, ${k.label}: reset to ${stands}`} onClick={() => tryValue(k.path, stands)}>Reset</button></p>}
      {wrong && <p class="wrong" id={key + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

/** Still is a KnobRow that is drawn anew only when its knob is another, or by what it reads itself. */
class Still extends Component<{ k: Knob; named?: boolean }> {
  override shouldComponentUpdate(next: { k: Knob }) { return next.k !== this.props.k; }
  render() { return <KnobRow k={this.props.k} named={this.props.named} />; }
}

/** current tells the current of a channel. */
const current = (k: Knob) => /^channels\[\d+\]\.current$/.test(k.path);

/** Together moves the currents of all channels by one factor. */
function Together() {
  const currents = (state.value?.lamp?.knobs ?? []).filter(current);
  if (currents.length < 2) return null;
  const factors = currents.map((k) => { const t = trial.value[k.path]; return t === undefined ? 1 : Number.parseFloat(t) / k.value; });
  const one = factors.every((f) => Math.abs(f - factors[0]!) < 0.02) ? Math.round(100 * factors[0]!) : 100;
  const move = (percent: number) => tryValues(currents.map((k) => ({ path: k.path, text: `${Number(((k.value * percent) / 100).toPrecision(3))} ${k.unit}` })));
  return (
    <fieldset>
      <legend>All channels</legend>
      <div class="knob">
        <label for="k-all">Currents, % of the file</label><output for="k-all">{one} %</output>
        <input id="k-all" class="slide" type="range" aria-valuetext={`${one} %`} min={10} max={200} step={1} value={one} onInput={(e) => move(Number(e.currentTarget.value))} />
      </div>
    </fieldset>
  );
}

const optics = (k: Knob) => /\.(lens|part)$/.test(k.path) && k.path.startsWith('channels[');

/** moves says which values move what a view shows. A view that is not named has none. */
const moves: Partial<Record<string, (k: Knob) => boolean>> = {
  review: (k) => k.path === 'installation.hanging_height' || current(k),
  figures: (k) => k.path === 'installation.hanging_height' || current(k),
  channels: (k) => k.group.startsWith('Channel '),
  board: (k) => k.group === 'Board' || k.group === 'Cooling' || current(k),
  light: (k) => k.group === 'Installation' && !k.path.includes('ambient') || k.group === 'Glass' || current(k) || k.path.endsWith('.lens'),
  colour: (k) => current(k) || k.path.endsWith('.level') || optics(k),
  transients: (k) => k.group === 'Cooling' || k.path.includes('ambient') || current(k),
};

/** leads is the group of values that stands first beside a view. */
const leads: Partial<Record<string, string>> = { review: 'Installation', light: 'Installation', board: 'Board', transients: 'Cooling' };

/** allValues shows every value beside each view. */
export const allValues = signal(false);

/** found are the values that were looked up, by their paths; they stand first. */
export const found = signal<string[]>([]);

/** showValue puts a value beside the view and goes to its field. */
export function showValue(path: string) {
  found.value = [path, ...found.value.filter((p) => p !== path)].slice(0, 6);
  window.setTimeout(() => { const f = document.getElementById(id('k-', path)); f?.scrollIntoView({ block: 'nearest', inline: 'nearest' }); f?.focus(); }, 30);
}

/** valuesOf returns the values beside a view. */
export const valuesOf = (view: string): Knob[] => (section('knobs') ?? []).filter((k) => allValues.value || found.value.includes(k.path) || moves[view]?.(k));

/** Knobs are the values beside the view: those that were looked up, then those that move what it shows, by their groups. */
export function Knobs() {
  const list = valuesOf(where.value.view), first = found.value.flatMap((p) => list.filter((k) => k.path === p));
  const rest = list.filter((k) => !first.includes(k)), lead = leads[where.value.view] ?? '';
  const names = [...new Set([...rest.filter((k) => k.group === lead), ...rest].map((k) => k.group))];
  return (
    <div class="knobs">
      {first.length > 0 && (
        <fieldset>
          <legend>Found</legend>
          {first.map((k) => <Still key={k.path} k={k} named />)}
          <button type="button" class="link" onClick={() => { found.value = []; }}>Remove from here</button>
        </fieldset>
      )}
      {names.map((g) => (
        <Fragment key={g}>
          {g !== lead && g === names.find((x) => x !== lead) && rest.filter(current).length > 1 && <Together />}
          <fieldset>
            <legend>{g}</legend>
            {rest.filter((k) => k.group === g).map((k) => <Still key={k.path} k={k} />)}
          </fieldset>
        </Fragment>
      ))}
    </div>
  );
}
