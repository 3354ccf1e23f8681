// The strip of requirements: each with its value, its band and its state; a click states the requirement or leads to its view.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Requirement, ViewKey, views } from './api';
import { shortRange } from './format';
import { LimitBar } from './limit';
import { beyond, Limited, LimitState, stateOf } from './limits';
import { asYAML, gone } from './marked';
import { problemAt, Sign, Why } from './pieces';
import { distance, inUnit, shownOf } from './shown';
import { figure, filed, old, section, state, takeBack, trial, trying, tryValues } from './store';

/** strip is what a lamp is judged by first: figure, name, and the view that moves it. */
const strip: [key: string, name: string, view: ViewKey][] = [
  ['target.ppfd', 'PPFD, mean', 'light'], ['target.dli', 'DLI', 'day'], ['target.uniformity', 'Uniformity', 'light'], ['lamp.cct', 'CCT', 'colour'],
  ['lamp.ra', 'Ra', 'colour'], ['lamp.junction-max-ambient', 'Maximum T_j', 'board'], ['light.spill', 'Spill light', 'light'], ['cost.bom', 'Parts cost', 'power'],
];

const editing = signal('');

/** limitedBy is a figure against its requirement. */
const limitedBy = (key: string, w: Requirement | undefined): Limited | null => {
  const f = figure(key), was = trying.value ? filed(key) : undefined;
  if (!f) return null;
  // Ranges are of the last full evaluation; while values move there are none.
  const ranged = f.range !== '' && f.range !== f.text;
  return { value: f.value, lo: ranged ? f.p10 : undefined, hi: ranged ? f.p90 : undefined, min: w?.min, max: w?.max, was: was && was.text !== f.text ? was.value : undefined };
};

/** said is a requirement's state in a few words. */
function said(key: string, v: Limited, state: LimitState, w: Requirement | undefined): string {
  const f = figure(key)!;
  const side = (d: number) => `${distance(f, d)} ${d < 0 ? 'below' : 'above'}`;
  if (state === 'none') return w?.path && !w.at ? 'no requirement' : '';
  const limits = w!.min !== undefined && w!.max !== undefined ? shortRange(w!.text).replace(/ [^\d ]\S*$/, '') : w!.text.replace(/^([≤≥] \S+).*$/, '$1');
  if (state === 'out') return `${limits}; ${side(beyond(v, v.value))}`;
  if (state === 'edge') {
    const low = beyond(v, v.lo ?? v.value), high = beyond(v, v.hi ?? v.value);
    return `${limits}; ${Math.abs(low) > Math.abs(high) ? `P10 ${side(low)}` : `P90 ${side(high)}`}`;
  }
  return limits;
}

const stateWords: Record<LimitState, string> = { in: 'met', edge: 'met, but its range leaves the requirement', out: 'not met', none: 'no requirement' };

/** rank puts those that are out of their band first, where the strip is scrolled. */
const rank: Record<LimitState, number> = { out: 0, edge: 1, in: 2, none: 3 };

/** StateSign tells by its shape whether a requirement is met. */
export function StateSign({ of }: { of: LimitState }) {
  if (of === 'none') return <svg class="sign note" viewBox="0 0 18 18" width="16" height="16" aria-hidden="true"><path class="line" d="M4 9h10" /></svg>;
  if (of === 'edge') return <svg class="sign warn" viewBox="0 0 18 18" width="16" height="16" aria-hidden="true"><path class="line" d="M9 2.4l7 13H2z" style="stroke-width:2" /></svg>;
  return <Sign of={of === 'in' ? 'pass' : 'warn'} />;
}

function Target({ of, name }: { of: string; name: string }) {
  const w = useComputed(() => section('requirements').find((x) => x.key === of)).value;
  const f = useComputed(() => figure(of)).value;
  if (!f) return null;
  const v = limitedBy(of, w)!, met = stateOf(v, 1e-3), shown = shownOf(f.text);
  const moved = v.was !== undefined, tried = moved || (w?.path !== undefined && w.path in trial.value);
  const words = said(of, v, met, w);
  return (
    <li style={`--rank: ${rank[met]}`}>
      <button type="button" class={`target ${met}${moved ? ' changed' : ''}`} aria-haspopup="dialog" onClick={() => { editing.value = of; }}>
        <span class="name"><span>{name}</span><StateSign of={met} /></span>
        <span class="figure">{shown ? <>{shown.number}<span class="unit"> {shown.unit}</span></> : f.text}</span>
        <LimitBar v={v} tried={tried} stale={old.value} />
        <span class="state">{words}{moved && <span class="soft">{words && '; '}file {shownOf(filed(of)!.text)?.number ?? filed(of)!.text}</span>}</span>
        <span class="hidden">, {stateWords[met]}. Edit the requirement.</span>
      </button>
    </li>
  );
}

/** Targets is the strip. */
export const Targets = () => <ul class={old.value ? 'targets stale' : 'targets'} aria-label="Requirements">{strip.map(([key, name]) => <Target key={key} of={key} name={name} />)}</ul>;

/** ends returns the ends of a requirement as texts. */
const ends = (key: string, w: Requirement): [string, string] => {
  const f = figure(key)!, s = shownOf(f.text);
  const text = (x: number | undefined) => (x === undefined ? '' : `${Number(inUnit(f, x).toPrecision(5))}${s?.unit ? ` ${s.unit}` : ''}`);
  return [text(w.min), text(w.max)];
};

/** upper are the requirements that have an upper end alone. */
const upper = new Set(['lamp.junction-max-ambient', 'light.spill', 'cost.bom']);
/** band are those that have two ends. */
const banded = new Set(['target.ppfd', 'target.dli', 'lamp.cct', 'lamp.duv']);

/** stated is a requirement as the design file states it. */
function stated(key: string, from: string, to: string): string {
  if (upper.has(key)) return to;
  if (!banded.has(key) || to === '') return from;
  const number = (t: string) => Number(t.replace('−', '-').replace(/[^\d.e-].*$/i, ''));
  const a = number(from), b = number(to), unit = shownOf(from)?.unit ?? '';
  return asYAML + (`{value: ${Number(((a + b) / 2).toPrecision(5))}${unit ? ` ${unit}` : ''}, min: ${from}, max: ${to}}`);
}

/** TargetEditor states a requirement. */
export function TargetEditor() {
  const d = useRef<HTMLDialogElement>(null);
  const key = editing.value, w = key ? section('requirements').find((x) => x.key === key) : undefined, f = key ? figure(key) : undefined;
  const [ab, setAb] = useState<[string, string]>(['', '']);
  const [missing, setMissing] = useState('');
  useEffect(() => {
    if (w && f) { setAb(ends(key, w)); setMissing(''); if (!d.current?.open) d.current?.showModal(); }
    else if (d.current?.open) d.current.close();
  }, [key]);
  if (!w?.path || !f) return <dialog ref={d} aria-label="Requirement" onClose={() => { editing.value = ''; }} />;
  const path = w.path, [, , view] = strip.find(([k]) => k === key)!;
  const unit = shownOf(f.text)?.unit ?? '', wrong = missing || problemAt(path);
  const preview = () => {
    const bare = (t: string) => (/^\s*[\d.,]+\s*$/.test(t) && unit ? `${t.trim()} ${unit}` : t.trim());
    const from = bare(ab[0]), to = bare(ab[1]);
    if (from === '' && (to === '' || !upper.has(key))) { setMissing(banded.has(key) ? 'State a minimum; the maximum is optional.' : 'State a value.'); return; }
    const text = stated(key, from, to);
    tryValues([{ path, text }]);
    editing.value = '';
  };
  const remove = () => {
    const inFile = state.value?.lamp?.requirements.find((x) => x.path === path)?.at;
    if (inFile) tryValues([{ path, text: gone }]);
    else takeBack([path]);
    editing.value = '';
  };
  return (
    <dialog ref={d} class="asking" aria-labelledby="req-title" onClose={() => { editing.value = ''; }} onClick={(e) => { if (e.target === d.current) editing.value = ''; }}>
      <form class="why" method="dialog" onSubmit={(e) => { e.preventDefault(); preview(); }}>
        <header><h2 id="req-title">Requirement: {f.title}</h2><button type="button" onClick={() => { editing.value = ''; }}>Close</button></header>
        <p class="big">{f.text}{f.range && f.range !== f.text && <span class="soft"> {shortRange(f.range)} (P10–P90)</span>}</p>
        <div class="values">
          {!upper.has(key) && <div class="value"><label for="req-from">Minimum</label><input id="req-from" type="text" autocomplete="off" value={ab[0]} placeholder={unit && `in ${unit}`} onInput={(e) => setAb([e.currentTarget.value, ab[1]])} /></div>}
          {(upper.has(key) || banded.has(key)) && <div class="value"><label for="req-to">Maximum</label><input id="req-to" type="text" autocomplete="off" value={ab[1]} placeholder={unit && `in ${unit}`} onInput={(e) => setAb([ab[0], e.currentTarget.value])} /></div>}
        </div>
        {wrong && <p class="wrong" role="alert">{wrong}</p>}
        <p class="actions">
          <button type="submit" class="try">Preview</button>
          {(w.at || path in trial.value) && <button type="button" onClick={remove}>No requirement</button>}
          <a href={`#/${view}`} onClick={() => { editing.value = ''; }}>View: {views.find((v) => v.key === view)!.title}</a>
          <Why of={key} title={f.title}>Derivation</Why>
        </p>
      </form>
    </dialog>
  );
}
