// Lampwright's workspace. The order of the views is the order of the job: what is wrong, the light in the place, the
// channels, the board, colour, watts, what it does over time, what else there is to choose from, what was before, every figure, and the files.
import { computed, useComputed } from '@preact/signals';
import { Fragment, render } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { ViewKey, views } from './api';
import { Derivation, FiguresView } from './figures';
import { FileView, unsavedText } from './file';
import { allValues, Knobs, valuesOf } from './knobs';
import { Nav } from './path';
import { picking } from './picking';
import { fileLink, Sign } from './pieces';
import { hasVariants, leaving, listProjects, NewProject, ProjectsButton, ProjectsDialog, Variants } from './projects';
import { Papers } from './report';
import { ReviewView, ViewFindings } from './review';
import { Find, finding } from './find';
import { asked, helpKey, openHelp } from './helpstate';
import { laterView, loadLater, onDemand } from './later';
import { TargetEditor, Targets } from './targets';
import { begin, cameFrom, cancelJob, clashes, computeAgain, connected, discard, figure, filed, lampName, listen, loadError, notice, old, phase, queue, redo, refresh, rough, savable, save, saving, section, state, stepping, stopTask, taskOf, stopTrial, trial, trialBusy, trialError, trialJob, trialLamp, trialProblems, trying, undo, where } from './store';
import { units } from './units';
import 'uplot/dist/uPlot.min.css';
import './tokens.css';
import './page.css';
import './frame.css';
import './overview.css';
import './acknowledge.css';
import './help.css';
import './report.css';
import './power.css';
import './picker.css';
import './board.css';
import './parts.css';
import './newlamp.css';
import './light.css';

/** components draw the views of the table in internal/web/views.go. The first one comes with the page, the others after it. */
const components: Record<ViewKey, () => preact.JSX.Element> = {
  review: ReviewView, figures: FiguresView, file: FileView,
  light: laterView(() => import('./light'), (m) => m.LightView),
  channels: laterView(() => import('./channels'), (m) => m.ChannelsView),
  board: laterView(() => import('./board'), (m) => m.BoardView),
  colour: laterView(() => import('./colour'), (m) => m.ColourView),
  power: laterView(() => import('./power'), (m) => m.PowerView),
  day: laterView(() => import('./day'), (m) => m.DayView),
  bench: laterView(() => import('./bench'), (m) => m.BenchView),
  transients: laterView(() => import('./transients'), (m) => m.TransientsView),
  alternatives: laterView(() => import('./alternatives'), (m) => m.AlternativesView),
  compare: laterView(() => import('./compare'), (m) => m.CompareView),
  parts: laterView(() => import('./parts'), (m) => m.PartsView),
  values: laterView(() => import('./keys'), (m) => m.ValuesView),
};
const Picker = laterView(() => import('./picker'), (m) => m.PickerView);

/** HelpView is loaded when it is first opened. */
const HelpView = onDemand(() => import('./help').then((m) => m.Help));

function Progress({ done, total, label }: { done: number; total: number; label: string }) {
  return (
    <span class="progress">
      <progress max={total || 1} value={total ? done : undefined} aria-label={label} />
      <span>{label}{total > 1 ? `: ${done} of ${total} responses of the board` : '…'}</span>
    </span>
  );
}

/** elsewhere is the long computations but that of the plan, which shows its own progress on the overview. */
const elsewhere = computed(() => queue.value.filter((j) => !(j.for === 'plan' && where.value.view === 'review' && taskOf('plan')?.id === j.id)));

/** Queue is the long computations that run or wait for their turn, each with a way to stop it. */
function Queue() {
  return (
    <ul class="banner queue" aria-label="Long computations">
      {elsewhere.value.map((j) => {
        const of = j.name ?? '', name = of.charAt(0).toUpperCase() + of.slice(1);
        return (
          <li key={j.id}>
            {j.waiting ? <span>{name}: waiting</span> : <span class="progress"><progress max={j.total || 1} value={j.total ? j.done : undefined} aria-label={name} /><span>{name}{j.total > 1 ? `: ${j.done} of ${j.total}` : '…'}</span></span>}
            {' '}<button type="button" aria-label={`${j.waiting ? 'Cancel' : 'Stop'}: ${of}`} onClick={() => stopTask(j.id)}>{j.waiting ? 'Cancel' : 'Stop'}</button>
          </li>
        );
      })}
    </ul>
  );
}

function Status() {
  const s = state.value!;
  return (
    <div class="status">
      {!connected.value && <div class="banner bad" role="alert"><Sign of="warn" /> The program does not answer. Results may be outdated; unsaved changes are kept. Start <code>lampwright serve</code> again at the same address.</div>}
      {s.problems.length > 0 && <div class="banner bad" role="alert"><Sign of="stop" /> <span>{s.problems[0]!.at.file || s.file} has {s.problem_count === 1 ? 'a problem' : `problems (${s.problem_count} in all files)`}: {s.problems[0]!.msg}. {s.lamp && 'The results are of the last valid file.'}</span> <a href={s.files.some((f) => f.name === s.problems[0]!.at.file) ? fileLink(s.problems[0]!.at.file, s.problems[0]!.at.line) : '#/file'}>Show line</a></div>}
      {s.failed && <div class="banner bad" role="alert"><Sign of="stop" /> <span>The lamp could not be computed: {s.failed}.</span> <button type="button" onClick={() => void computeAgain()}>Try again</button></div>}
      {s.job && <div class="banner"><Progress done={s.job.done} total={s.job.total} label="Computing the file" /> {s.lamp && <span class="soft">{s.current ? 'Ranges, pictures and findings that depend on a range follow.' : 'Results outdated: computing.'}</span>} <button type="button" onClick={() => void cancelJob()}>Stop</button></div>}
      {elsewhere.value.length > 0 && <Queue />}
      {!s.job && s.lamp && !s.current && s.problems.length === 0 && !s.failed && <div class="banner bad"><Sign of="warn" /> <span>{s.lamp.full ? 'Stopped. Results outdated.' : 'Stopped. Ranges, pictures and findings that depend on a range are not computed.'}</span> <button type="button" onClick={() => void computeAgain()}>Compute</button></div>}
      <div role="status" class={notice.value ? `notice ${notice.value.kind}` : 'hidden'}>{notice.value && <>{notice.value.text} <button type="button" class="link" onClick={() => { notice.value = null; }}>dismiss</button></>}</div>
    </div>
  );
}

/** Trial stands at the foot of the window while values are tried: it moves nothing under a pointer, and is always in sight. */
function Trial() {
  const n = useComputed(() => Object.keys(trial.value).length).value;
  if (n === 0) return null;
  const clashing = clashes.value;
  return (
    <div class="banner trial" role="region" aria-label="Unsaved changes">
      <div class="says">
        <Verdict />
        <span><b>{n === 1 ? '1 unsaved change' : `${n} unsaved changes`}</b> {trialBusy.value ? '' : rough.value ? <span class="soft">Computing ranges…</span> : null}</span>
        {trialBusy.value && <><Progress done={trialJob.value?.done ?? 0} total={trialJob.value?.total ?? 0} label="Computing" /><button type="button" onClick={stopTrial}>Stop</button></>}
        {trialError.value && trialProblems.value.length === 0 && <span class="wrong" role="alert">{trialError.value.text}</span>}
        {trialProblems.value.length > 0 && <span class="wrong" role="alert">{trialProblems.value[0]!.msg}</span>}
        <Moves />
      </div>
      <span class="actions">
        {clashing > 0 && <span class="wrong">{clashing === 1 ? '1 of them' : `${clashing} of them`} also changed in the file.</span>}
        <button type="button" class="main" title="Ctrl+S" disabled={!savable.value} onClick={() => void save().then(() => { if (!trying.value) document.getElementById('main')?.focus({ preventScroll: true }); })}>{clashing > 0 ? 'Overwrite file' : 'Save to file'}</button>
        <button type="button" onClick={discard}>Discard</button>
      </span>
    </div>
  );
}

/** Verdict is how stops and warnings change with the tried values, and which are new. */
function Verdict() {
  const was = state.value?.lamp;
  const now = section('counts'), bad = section('bad');
  if (!was || !trialLamp.value || old.value) return null;
  const known = new Map(was.bad.map((f) => [`${f.check} ${f.subject}`, f.severity]));
  const fresh = bad.filter((f) => { const before = known.get(`${f.check} ${f.subject}`); return before === undefined || before === 'warn' && f.severity === 'stop'; });
  return (
    <span class="fromto">
      {(['stop', 'warn'] as const).map((v) => <span class="step"><Sign of={v} /> {counted[v][1]} {was.counts[v] ?? 0} → <b>{now[v] ?? 0}</b> </span>)}
      {fresh.length > 0 && <span>new: {fresh.slice(0, 2).map((f) => <span><Sign of={f.severity} /> {f.check}, {f.subject} </span>)}{fresh.length > 2 && `and ${fresh.length - 2} more`}</span>}
    </span>
  );
}

/** weighty is the headline figures, those first that decide. */
const weighty = ['target.ppfd', 'lamp.junction-max-ambient', 'light.spill', 'mains.power', 'lamp.flux', 'cost.bom'];

/** Moves is what the tried values move of the headline figures; it is spoken once they rest. */
function Moves() {
  const said = useComputed(() => {
    if (old.value || rough.value) return '';
    const list = weighty.flatMap((k) => { const now = figure(k), was = filed(k); return now && was && now.text !== was.text ? [`${headline.find(([key]) => key === k)![1]} ${now.text}`] : []; });
    return list.length > 0 ? `With these changes: ${list.join(', ')}.` : 'No headline result changes.';
  }).value;
  const none = said.startsWith('No ');
  return (
    <span class="moved">
      {none && <span class="soft">{said}</span>}
      {weighty.map((k) => <Moved key={k} of={k} label={headline.find(([key]) => key === k)![1]} />)}
      <span class="hidden" role="status">{none ? '' : said}</span>
    </span>
  );
}

/** Moved is a headline figure that the tried values change. */
function Moved({ of, label }: { of: string; label: string }) {
  const moved = useComputed(() => !old.value && figure(of)?.text !== filed(of)?.text).value;
  const now = useComputed(() => figure(of)?.text ?? '–'), was = useComputed(() => filed(of)?.text ?? '–');
  return moved ? <span>{label} <span class="soft">{was}</span> → <b>{now}</b></span> : null;
}

const headline: [string, string][] = [['mains.power', 'mains input'], ['lamp.flux', 'luminous flux'], ['target.ppfd', 'mean PPFD'], ['lamp.junction-max-ambient', 'maximum T_j'], ['light.spill', 'spill light'], ['cost.bom', 'parts cost']];

const counted = { stop: ['stop', 'stops'], warn: ['warning', 'warnings'], ask: ['missing data', 'missing data'] } as const;

function Counts() {
  const n = section('counts');
  return <a href="#/review" class="counts">{(['stop', 'warn', 'ask'] as const).map((v) => <span><Sign of={v} /><b>{n[v] ?? 0}</b> <span class="word">{counted[v][(n[v] ?? 0) === 1 ? 0 : 1]}</span></span>)}{(n.acknowledged ?? 0) > 0 && <span class="soft">{n.acknowledged} acknowledged</span>}</a>;
}

/** Told says what the strip of requirements is of: an older lamp, unsaved changes, or one that fails if it is built so. */
function Told() {
  const stops = section('counts').stop ?? 0, tried = trying.value;
  const said = old.value ? 'outdated' : [tried && 'with unsaved changes', stops > 0 && 'if built as designed'].filter(Boolean).join(', ');
  return said === '' ? null : <span class="before">{said}</span>;
}

function Head() {
  const s = state.value!;
  const there = phase.value === 'ready';
  return (
    <header class="head">
      <div class="title">
        <h1 class={hasVariants.value ? 'hidden' : ''}>{lampName.value || s.file}</h1>
        <Variants />
        {there && <div class={old.value ? 'sum stale' : 'sum'}><Counts /><Told /></div>}
        <div class="tools">
          <ProjectsButton />
          <button type="button" class="find" aria-haspopup="dialog" aria-keyshortcuts="Control+K" onClick={() => { finding.value = true; }}><span class="long">Find a value, result, command</span><span class="brief">Find</span> <kbd>Ctrl K</kbd></button>
          <button type="button" class="bare" disabled={!(s.can_undo || stepping.value.back) || saving.value} onClick={() => void undo()} title="Ctrl+Z" aria-label={stepping.value.back ? 'Undo the last unsaved change' : 'Undo the last change of the file'}>Undo</button>
          <button type="button" class="bare" disabled={!(s.can_redo || stepping.value.forth) || saving.value} onClick={() => void redo()} title="Ctrl+Shift+Z" aria-label={stepping.value.forth ? 'Redo the unsaved change' : 'Redo the change of the file'}>Redo</button>
          {there && <Papers />}
          <button type="button" class="bare" title="Help: handbook, file format, keys (?)" aria-haspopup="dialog" aria-keyshortcuts="Shift+?" onClick={() => openHelp()}>Help</button>
        </div>
      </div>
      {there && <Targets />}
    </header>
  );
}

const NewLamp = laterView(() => import('./newlamp'), (m) => m.NewLamp, false);

/** Start is what an empty folder shows: a new lamp from answers, and the templates. */
function Start() {
  const s = state.value!;
  return (
    <main class="start wide" id="main">
      <div class="lead"><h1>New lamp</h1><span class="soft">Five questions; every value can be changed later. The design is written to {s.file} in <code>{s.folder}</code>.</span></div>
      {notice.value && <p class="wrong" role="alert">{notice.value.text}</p>}
      <NewLamp />
      <section class="templates">
        <h2>Or start from a template</h2>
        <ul>{(s.templates ?? []).map((b) => <li><h3>{b.title}</h3><p>{b.about}</p><button type="button" onClick={() => void begin(b.key)}>Use template<span class="hidden">: {b.title}</span></button></li>)}</ul>
        <p class="soft">Tanks, lamps and parts of the templates are fictitious.</p>
      </section>
    </main>
  );
}

/** Elsewhere is the place of a new lamp where the folder has a design already. */
function Elsewhere() {
  const s = state.value!;
  useLayoutEffect(() => { void listProjects(); }, []);
  return (
    <main class="start wide" id="main">
      <div class="lead"><h1>New lamp</h1><span class="soft">{s.file} in <code>{s.folder}</code> is a design already; a new lamp is written into a folder of its own.</span></div>
      <NewProject />
      <p><a href="#/review">Back to {lampName.value || s.file}</a></p>
    </main>
  );
}

/** Waiting is what stands in a view's place before there is a lamp to show. */
function Waiting() {
  const s = state.value!;
  if (s.problems.length > 0) return <div class="loading"><p>The design file has problems; correct them to see results.</p><a href="#/file">Open the design file</a></div>;
  if (s.job) return <div class="loading"><p role="status">Computing board temperatures and light distribution. This takes a few seconds; results are stored.</p></div>;
  return <div class="loading"><p>No results yet. <button type="button" onClick={() => void computeAgain()}>Compute</button></p></div>;
}

const Opening = () => (
  <main class="start" id="main">
    <h1>Lampwright</h1>
    {loadError.value ? <><p class="wrong" role="alert">{loadError.value}</p><button type="button" onClick={() => void refresh()}>Try again</button></> : <p role="status">Opening the project…</p>}
  </main>
);

/** Values stand beside the view that they move: under it, one beside the other, where there is no room. */
function Values() {
  const all = allValues.value, some = valuesOf(where.value.view).length > 0;
  return (
    <aside aria-label="What-if values">
      <div id="values" tabIndex={-1}>
        <div class="values-head">
          <h2>Values</h2>
          <button type="button" class="link" aria-pressed={all} onClick={() => { allValues.value = !all; }}>{all ? 'of this view' : 'all'}</button>
        </div>
        {some || all ? <Knobs /> : <p class="hint">This view has no values. <kbd>Ctrl K</kbd> finds values.</p>}
      </div>
    </aside>
  );
}

/** OnPaper names what a printed page shows. */
function OnPaper() {
  const s = state.value!;
  return <p class="onpaper">{s.file} in {s.folder}, {new Date().toLocaleString()}{trying.value && ', with unsaved changes'}. The complete record is the design report.</p>;
}

function App() {
  const main = useRef<HTMLElement>(null);
  const at = phase.value;
  const view = views.find((v) => v.key === where.value.view) ?? views[0];
  const key = view.key;
  const last = useRef(key);
  useLayoutEffect(() => {
    document.title = [at === 'ready' || at === 'waiting' ? view.title : '', lampName.value, 'Lampwright'].filter(Boolean).join(' – ');
    const here = document.querySelector('nav a[aria-current]') as HTMLElement | null;
    const bar = here?.closest('ul');
    if (here && bar) bar.scrollLeft = here.offsetLeft - bar.clientWidth / 2 + here.clientWidth / 2;
    if (last.current === key) return;
    last.current = key;
    if (where.value.at === '') { window.scrollTo(0, cameFrom()); main.current?.focus({ preventScroll: true }); }
  }, [key, at, lampName.value]);
  if (at === 'opening') return <Opening />;
  if (at === 'empty') return <Start />;
  if (where.value.view === 'new') return <Elsewhere />;
  const View = components[key];
  const beside = at === 'ready' && (valuesOf(key).length > 0 || allValues.value);
  document.body.classList.toggle('beside', beside);
  return (
    <Fragment key={units.value}>
      <a class="skip" href="#main" onClick={(e) => { e.preventDefault(); main.current?.focus(); }}>Skip to content</a>
      {beside && <a class="skip" href="#values" onClick={(e) => { e.preventDefault(); document.getElementById('values')!.focus(); }}>Skip to what-if values</a>}
      <Head />
      <Nav of={key} ready={at === 'ready'} />
      <main id="main" class={view.wide ? 'two' : ''} ref={main} tabIndex={-1} aria-label={view.title}>
        <Status />
        {key === 'file' ? <FileView /> : at === 'ready' ? <View /> : <Waiting />}
        {at === 'ready' && key !== 'review' && <ViewFindings of={key} />}
      </main>
      {beside && <Values />}
      {at === 'ready' && <Trial />}
      <Derivation />
      <TargetEditor />
      <ProjectsDialog />
      {finding.value && <Find />}
      {asked.value && <HelpView />}
      {picking.value !== '' && <Picker key={picking.value} />}
      <footer><OnPaper /><p>Lampwright reports what it checked; it does not certify safety. <a href="/assets/NOTICES.txt">Licences of third-party software</a></p></footer>
    </Fragment>
  );
}

// What has the focus is never beneath the bar at the foot.
document.addEventListener('focusin', () => requestAnimationFrame(() => {
  const el = document.activeElement, bar = document.querySelector('.banner.trial');
  if (!el || !bar || bar.contains(el) || el.closest('aside, dialog') || el.id === 'main' || getComputedStyle(bar).position !== 'fixed') return;
  const over = el.getBoundingClientRect().bottom + 10 - bar.getBoundingClientRect().top;
  if (over > 0 && over < window.innerHeight) window.scrollBy(0, over);
}));
// A button that goes away with what it did hands the focus to what stands nearest.
document.addEventListener('click', (e) => {
  const from = (e.target as Element).closest('button');
  if (!from) return;
  const about: Element[] = [];
  for (let p = from.parentElement; p && p.id !== 'app'; p = p.parentElement) about.push(p);
  window.setTimeout(() => {
    if (document.activeElement && document.activeElement !== document.body) return;
    const near = about.find((p) => p.isConnected && p.querySelector('input:not(:disabled), select:not(:disabled), button:not(:disabled), a[href]'));
    const main = document.getElementById('main');
    const to = near && main?.contains(near) && near !== main || near?.closest('aside') ? near!.querySelector<HTMLElement>('input:not(:disabled), select:not(:disabled), button:not(:disabled), a[href]') : main;
    to?.focus({ preventScroll: true });
  }, 80);
});
document.addEventListener('keydown', helpKey);
// Ctrl+S saves; Ctrl+Z and Ctrl+Shift+Z step through unsaved changes and those of the file, but in a text that is being typed.
document.addEventListener('keydown', (e) => {
  if (!(e.ctrlKey || e.metaKey) || e.altKey || where.value.view === 'file' && e.key.toLowerCase() !== 'k') return;
  if (e.key.toLowerCase() === 'k') { e.preventDefault(); finding.value = true; return; }
  const key = e.key.toLowerCase(), typing = (e.target as Element | null)?.closest?.('textarea, input[type="text"], input[type="search"]');
  if (key === 's') {
    e.preventDefault();
    (document.activeElement as HTMLElement | null)?.blur?.(); // a value that is being typed counts
    if (savable.value) void save();
  } else if ((key === 'z' || key === 'y') && !typing) {
    e.preventDefault();
    void (key === 'y' || e.shiftKey ? redo() : undo());
  }
});
window.addEventListener('beforeunload', (e) => { if (trying.value && !leaving.value || unsavedText()) e.preventDefault(); });
const app = document.getElementById('app')!;
app.replaceChildren(); // what stood there until the script had come
render(<App />, app);
void refresh().finally(() => { listen(); loadLater(); void listProjects(); }); // the stream begins with the version, which is then known
