// Pieces that several views share.
import { useComputed } from '@preact/signals';
import { Component, ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { Finding, Knob, Pos, Severity } from './api';
import { num, shortRange } from './format';
import { clash, figure, filed, old, pictures, picturesComing, picturesOld, rough, section, state, taskOf, trial, trialError, trialProblems, trying, tryValue, tryValues, where, why } from './store';

const shapes: Record<Severity, ComponentChildren> = {
  stop: <><path d="M6 1h6l5 5v6l-5 5H6l-5-5V6z" /><path class="cut" d="M5 9h8" /></>,
  warn: <><path d="M9 1l8.5 16H.5z" /><path class="cut" d="M9 7v5M9 13.6v1.4" /></>,
  ask: <><circle cx="9" cy="9" r="8" /><path class="cut" d="M6.6 6.8a2.4 2.4 0 1 1 3.4 2.3c-.8.4-1 .9-1 1.8M9 12.6v1.5" /></>,
  note: <rect x="2" y="2" width="14" height="14" rx="2" />,
  pass: <path class="line" d="M2 9.5l5 5L16 4" />,
};

export const words: Record<Severity, string> = { stop: 'Stop', warn: 'Warning', ask: 'Missing data', note: 'Note', pass: 'Pass' };

/** Sign tells a severity by its shape; the word stands beside it. */
export const Sign = ({ of }: { of: Severity }) => (
  <svg class={`sign ${of}`} viewBox="0 0 18 18" width="18" height="18" aria-hidden="true" focusable="false">{shapes[of]}</svg>
);

/** fileLink leads to a line of a file; 0 means the file as a whole. */
export const fileLink = (file: string, line: number) => `#/file:${encodeURIComponent(file)}${line > 0 ? `:${line}` : ''}`;

/** Line links to a line of the design, of the project's own parts or of the parts library, and names a place elsewhere. */
export function Line({ at }: { at: Pos }) {
  if (!at || at.line <= 0) return null;
  if (at.file === state.value?.file) return <a href={fileLink(at.file, at.line)}>line {at.line}</a>;
  if (at.file.startsWith('library/') || state.value?.files.some((f) => f.name === at.file)) return <a href={fileLink(at.file, at.line)}>{at.file}, line {at.line}</a>;
  return <span class="soft">{at.file}:{at.line}</span>;
}

/** Why opens the derivation of a figure. */
export const Why = ({ of, title, children }: { of: string; title?: string; children?: ComponentChildren }) => (
  <button type="button" class="link" onClick={() => { why.value = of; }} aria-haspopup="dialog">{children ?? <>why<span class="hidden">: {title}</span></>}</button>
);

/** Picture shows a drawing of the server; it is our own markup, with everything from files escaped there. */
export function Picture({ name, label }: { name: string; label: string }) {
  const p = pictures.value;
  const wide = p[name];
  if (!wide) return <p class="empty">{state.value?.job || picturesComing.value ? 'Drawing…' : 'Nothing to draw.'}</p>;
  const narrow = p[`${name}-narrow`];
  const stale = rough.value || old.value || picturesOld.value;
  return (
    <figure class={stale ? 'picture stale' : 'picture'} aria-label={label}>
      {stale && <figcaption class="stale-note">outdated</figcaption>}
      <div class={narrow ? 'wide-only' : ''} dangerouslySetInnerHTML={{ __html: wide }} />
      {narrow && <div class="narrow-only" dangerouslySetInnerHTML={{ __html: narrow }} />}
    </figure>
  );
}

/** Data is the table behind a chart, folded away and made when it is opened; rows may be a function, called then. */
export function Data({ title, head, rows }: { title: string; head: string[]; rows: ComponentChildren[][] | (() => ComponentChildren[][]) }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="data" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{title}</summary>
      {open && <Table head={head} rows={typeof rows === 'function' ? rows() : rows} caption={title} />}
    </details>
  );
}

/** TaskProgress is how far a long computation of this page is, or that it waits. */
export function TaskProgress({ of, label }: { of: string; label: string }) {
  const job = taskOf(of);
  return <span class="progress"><progress max={job?.total || 1} value={job?.total ? job.done : undefined} aria-label={label} /><span role="status">{job?.waiting ? 'waiting for its turn' : (job?.total ?? 0) > 1 ? `${job!.done} of ${job!.total}` : ''}</span></span>;
}

/** Table is a table of words and numbers; where it is stacked, a narrow screen shows each row as a list. */
export const Table = ({ head, rows, caption, stacked }: { head: string[]; rows: ComponentChildren[][]; caption: string; stacked?: boolean }) => (
  <div class="scroll" role="region" aria-label={caption} tabIndex={0}>
    <table class={stacked ? 'stacked' : ''}>
      <caption class="hidden">{caption}</caption>
      <thead><tr>{head.map((h) => <th scope="col">{h}</th>)}</tr></thead>
      <tbody>{rows.map((r) => <tr>{r.map((c, i) => (i === 0 ? <th scope="row">{c}</th> : <td data-head={stacked ? head[i] : undefined} class={typeof c === 'number' || (typeof c === 'string' && /^[-−+]?\d/.test(c) && c.length < 24) ? 'num' : ''}>{c}</td>))}</tr>)}</tbody>
    </table>
  </div>
);

/** Fact is one figure with a way to its derivation. */
function Fact({ of, label }: { of: string; label: string }) {
  const title = useComputed(() => figure(of)?.title).value;
  const text = useComputed(() => figure(of)?.text ?? '');
  const was = useComputed(() => { const f = trying.value ? filed(of)?.text : undefined; return f && f !== figure(of)?.text ? `file: ${f}` : ''; });
  const range = useComputed(() => { const f = figure(of); return f && f.range !== f.text ? shortRange(f.range) : ''; });
  if (title === undefined) return null;
  return (
    <div>
      <dt>{label || title}</dt>
      <dd>
        <strong>{text}</strong>
        <span class="was">{was}</span>
        <span class="soft">{range}</span>
        <Why of={of} title={title} />
      </dd>
    </div>
  );
}

/** Facts is a short list of figures. */
export const Facts = ({ keys }: { keys: (string | [string, string])[] }) => (
  <dl class="facts">{keys.map((k) => (typeof k === 'string' ? <Fact key={k} of={k} label="" /> : <Fact key={k[0]} of={k[0]} label={k[1]} />))}</dl>
);

/** fixes are the texts of a finding's fixes. */
export const fixes = (f: Finding): string[] => f.fix ?? [];

/** Fix lists the fixes of a finding, with a button for each suggested edit. */
const Fix = ({ f }: { f: Finding }) => (
  <>
    {fixes(f).length > 0 && <><p><b>Fix:</b></p><ul>{fixes(f).map((text) => <li>{text}</li>)}</ul></>}
    {f.edits && <p class="actions">{f.edits.map((t) => <button type="button" onClick={() => tryValues(t.settings)}>Preview: {t.label}</button>)}</p>}
  </>
);

/** FindingCard shows a finding with its result, derivation and line. */
export const FindingCard = ({ f, children }: { f: Finding; children?: ComponentChildren }) => (
  <article class={`finding ${f.severity}`}>
    <h3><Sign of={f.severity} /><span><span class="word">{words[f.severity]}</span> {f.title}</span></h3>
    <div class="body">
      {f.limit && f.margin && <p class="soft">Limit {f.limit}, margin {f.margin}</p>}
      {f.why && f.severity !== 'pass' && <p>{f.why}</p>}
      <Fix f={f} />
      <p class="refs">
        {f.figure && figure(f.figure) && <span>{figure(f.figure)!.title}: <b>{figure(f.figure)!.text}</b> <Why of={f.figure} title={figure(f.figure)!.title} /></span>}
        {f.at?.line > 0 && <span>Set at <Line at={f.at} /></span>}
        {children}
      </p>
    </div>
  </article>
);

const id = (prefix: string, path: string) => prefix + path.replace(/\W+/g, '-');

const within = (path: string, whole: string) => path === whole || path.startsWith(whole + '.') || path.startsWith(whole + '[');

/** problemAt is what is wrong with a tried value, by its path; that in a file of parts has the file before it. */
export const problemAt = (path: string) => {
  const list = trialProblems.value.map((p) => ({ p, at: p.at.file && p.at.file !== state.value?.file ? `${p.at.file}#${p.at.path}` : p.at.path }));
  const hit = list.find((x) => within(x.at, path)) ?? (path in trial.value ? list.find((x) => x.at !== '' && within(path, x.at)) : undefined);
  if (hit) return hit.p.msg + (hit.p.hint ? '; ' + hit.p.hint : '');
  return trialError.value?.path === path ? trialError.value.text : '';
};

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
function KnobRow({ k }: { k: Knob }) {
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
    <div class={(changed ? 'knob changed' : 'knob') + (k.choices ? ' choice' : '')}>
      <label for={key}>{k.label}</label>
      {k.choices
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
class Still extends Component<{ k: Knob }> {
  override shouldComponentUpdate(next: { k: Knob }) { return next.k !== this.props.k; }
  render() { return <KnobRow k={this.props.k} />; }
}

/** Together moves the currents of all channels by one factor. */
function Together() {
  const currents = (state.value?.lamp?.knobs ?? []).filter((k) => /^channels\[\d+\]\.current$/.test(k.path));
  if (currents.length < 2) return null;
  const factors = currents.map((k) => { const t = trial.value[k.path]; return t === undefined ? 1 : Number.parseFloat(t) / k.value; });
  const one = factors.every((f) => Math.abs(f - factors[0]!) < 0.02) ? Math.round(100 * factors[0]!) : 100;
  const move = (percent: number) => tryValues(currents.map((k) => ({ path: k.path, text: `${Number(((k.value * percent) / 100).toPrecision(3))} ${k.unit}` })));
  return (
    <fieldset>
      <legend>All channels</legend>
      <div class="knob">
        <label for="k-all">Currents, relative to the file</label><output for="k-all">{one} %</output>
        <input id="k-all" class="slide" type="range" aria-valuetext={`${one} %`} min={10} max={200} step={1} value={one} onInput={(e) => move(Number(e.currentTarget.value))} />
      </div>
    </fieldset>
  );
}

/** closest is which values are nearest to what a view shows, so that they stand first beside it. */
const closest: Record<string, string[]> = { light: ['Installation'], board: ['Board', 'Cooling'], power: ['Day programme'] };

export function Knobs() {
  const list = section('knobs') ?? [];
  const first = closest[where.value.view] ?? [];
  const names = [...new Set([...first.filter((g) => list.some((k) => k.group === g)), ...list.map((k) => k.group)])];
  return (
    <div class="knobs">
      <Together />
      {names.map((g) => (
        <fieldset key={g}>
          <legend>{g}</legend>
          {list.filter((k) => k.group === g).map((k) => <Still key={k.path} k={k} />)}
        </fieldset>
      ))}
    </div>
  );
}
