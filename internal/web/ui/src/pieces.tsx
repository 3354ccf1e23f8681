// Pieces that several views share.
import { Acknowledge } from './acknowledge';
import { openHelp } from './helpstate';
import { useComputed } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { Finding, Pos, Severity } from './api';
import { csv, download, fileName, fromTable, pictureFile } from './export';
import { shortRange } from './format';
import { beneath } from './keytree';
import { LimitBar } from './limit';
import { figure, filed, lampName, old, pictures, picturesComing, picturesOld, rough, state, taskOf, trial, trialError, trialProblems, trying, tryValues, why } from './store';

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

/** SaveAs hands a table or a drawing to the browser as a file, named for the lamp and what it shows. */
export function SaveAs({ name, what, kind, text }: { name: string; what: string; kind: 'csv' | 'svg'; text: (from: Element) => string }) {
  return (
    <button type="button" class="link save" onClick={(ev) => {
      const about = name || ev.currentTarget.closest('section')?.querySelector('h2')?.firstChild?.textContent || '';
      download(`${fileName(lampName.value, about)}.${kind}`, kind === 'csv' ? 'text/csv;charset=utf-8' : 'image/svg+xml', text(ev.currentTarget));
    }}>{what}{name && <span class="hidden"> of {name}</span>}</button>
  );
}

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
      <p class="files"><SaveAs name={name} what="SVG" kind="svg" text={() => pictureFile(wide)} /></p>
    </figure>
  );
}

/** textOf is the text of what a table shows in a cell. */
const textOf = (c: ComponentChildren): string => (c === null || c === undefined || typeof c === 'boolean' ? '' : typeof c === 'object' ? (Array.isArray(c) ? c.map(textOf).join('') : textOf((c as { props: { children?: ComponentChildren } }).props?.children)) : String(c));

/** Data is the table behind a chart, folded away and made when it is opened, with the table as a file; rows may be a function, called
 * then. Where files are given, they stand in place of that one. */
export function Data({ title, head, rows, files }: { title: string; head: string[]; rows: ComponentChildren[][] | (() => ComponentChildren[][]); files?: ComponentChildren }) {
  const [open, setOpen] = useState(false);
  const made = () => (typeof rows === 'function' ? rows() : rows);
  const text = () => { const t = fromTable(head, made().map((r) => r.map(textOf))); return csv(t.columns, t.rows); };
  return (
    <details class="data" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{title}</summary>
      {open && <><p class="files">{files ?? <SaveAs name="" what="CSV" kind="csv" text={text} />}</p><Table head={head} rows={made()} caption={title} /></>}
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

/** FindingCard is a finding in one line, with its value against its limit; opened, it has its reason, fixes, derivation and line. */
export const FindingCard = ({ f, children }: { f: Finding; children?: ComponentChildren }) => {
  const c = f.comparison;
  return (
    <details class={`finding ${f.severity}`}>
      <summary>
        <Sign of={f.severity} /><span class="hidden">{words[f.severity]}: </span>
        <span class="matter">{f.title}{f.acknowledged && <span class="soft"> – acknowledged</span>}</span>
        {c ? <LimitBar v={{ value: c.value, lo: c.p10, hi: c.p90, min: c.min, max: c.max }} tone={f.severity === 'stop' ? 'stop' : f.severity === 'warn' ? 'warn' : ''} /> : <span />}
        <span class="margin">{f.margin}</span>
      </summary>
      <div class="body">
        {f.limit && f.margin && <p class="soft">{f.value && `Value ${f.value}; `}limit {f.limit}; margin {f.margin}</p>}
        {f.why && f.severity !== 'pass' && <p>{f.why}</p>}
        <Fix f={f} />
        <p class="refs">
          {f.figure && figure(f.figure) && <span>{figure(f.figure)!.title}: <b>{figure(f.figure)!.text}</b> <Why of={f.figure} title={figure(f.figure)!.title} /></span>}
          {f.at?.line > 0 && <span>Set at <Line at={f.at} /></span>}
          {children}
          <button type="button" class="link" onClick={() => openHelp({ check: f.check })}>Handbook: {f.check}</button>
        </p>
        <Acknowledge f={f} />
      </div>
    </details>
  );
};

/** id is the id of a value's field, by its path. */
export const id = (prefix: string, path: string) => prefix + path.replace(/\W+/g, '-');

/** problemAt is what is wrong with a tried value, by its path; that in a file of parts has the file before it. */
export const problemAt = (path: string) => {
  const list = trialProblems.value.map((p) => ({ p, at: p.at.file && p.at.file !== state.value?.file ? `${p.at.file}#${p.at.path}` : p.at.path }));
  const hit = list.find((x) => beneath(x.at, path)) ?? (path in trial.value ? list.find((x) => x.at !== '' && beneath(path, x.at)) : undefined);
  if (hit) return hit.p.msg + (hit.p.hint ? '; ' + hit.p.hint : '');
  return trialError.value?.path === path ? trialError.value.text : '';
};
