// The bench: readings of the built lamp beside what the design predicts, one at a time on a phone, all of them on a wide screen.
import { useEffect } from 'preact/hooks';
import { BenchParameter, BenchReading } from './api';
import { Card, Spanned } from './benchcard';
import { signOf, worst } from './benchedit';
import { NewReading, StartForm } from './benchforms';
import { Residuals, SeriesPlots } from './benchplots';
import { askBench, at, bench, benchFailed, benchKey, benchOld, drafts, faults, faultsFailed, findFaults, searching } from './benchstate';
import { fileLink, Sign, Table, TaskProgress } from './pieces';
import { stopTask, taskOf, trying } from './store';
import { adopt } from './styles';
import css from './bench.css' with { type: 'text' };

adopt(css as string);

/** brief is a verdict where there is little room. */
const brief = (verdict: string) => verdict.replace('agrees, prediction vague', 'agrees, vague');

/** Row is a reading in the table. */
function Row({ r, i, state }: { r: BenchReading; i: number; state: string }) {
  const p = worst(r.points), sign = p ? signOf(p) : null, on = i === at.value;
  const value = r.points.length > 1 ? `${r.points.length} values` : r.value || (p && !p.pending ? `${p.read} ${r.unit}` : '');
  return (
    <tr class={`${on ? 'on' : ''}${r.doubted ? ' doubted' : ''}`}>
      <th scope="row">
        <button type="button" class="bare" aria-current={on || undefined} onClick={() => { at.value = i; }}>
          {sign ? <Sign of={sign} /> : <svg class="sign" viewBox="0 0 18 18" width="18" height="18" aria-hidden="true"><circle cx="9" cy="9" r="7" fill="none" stroke="currentColor" /></svg>}
          <span><b>{r.what}</b> <span class="soft">{[r.where, state].filter(Boolean).join('; ')}</span></span>
        </button>
      </th>
      <td class="num">{r.points.length === 1 ? p?.range : ''}</td>
      <td class="num"><b>{value}</b>{drafts.value[r.path] !== undefined && <span class="changed"> typed</span>}</td>
      <td class="drawn">{p && r.points.length === 1 && <Spanned p={p} />}</td>
      <td>{r.doubted ? 'doubted' : p && !p.pending ? brief(p.verdict) : <span class="soft">still to be read</span>}</td>
    </tr>
  );
}

/** All is the table of all readings. */
function All() {
  const b = bench.value!;
  return (
    <section class={benchOld.value ? 'benchall stale' : 'benchall'}>
      {b.campaigns.map((g, c) => (
        <div>
          <h3>{g.name} <small>{g.date}, room {g.room}{g.note && `; ${g.note}`}</small></h3>
          <div class="scroll" role="region" aria-label={`Readings of ${g.name}`} tabIndex={0}>
            <table>
              <thead><tr><th scope="col">Reading</th><th scope="col">Agrees within</th><th scope="col">Read</th><th scope="col"><span class="hidden">Drawn</span></th><th scope="col">Verdict</th></tr></thead>
              <tbody>{b.readings.map((r, i) => r.campaign === c && <Row key={r.path} r={r} i={i} state={g.states.length > 1 ? g.states[r.state]?.name ?? '' : ''} />)}</tbody>
            </table>
          </div>
          <details class="benchadd"><summary>Add a reading</summary><NewReading g={g} /></details>
        </div>
      ))}
    </section>
  );
}

/** shown is the number of parameters that are listed at once. */
const shown = 7;

/** Parameters is a table of learned parameters. */
const Parameters = ({ rows, caption }: { rows: BenchParameter[]; caption: string }) => <Table caption={caption} stacked head={['parameter', 'before', 'after', 'uncertainty', 'told']} rows={rows.map((p) => [p.title, p.before, <b>{p.after}</b>, `${Math.round(100 * p.sd_ratio)} %`, p.told])} />;

/** Learned is what the readings teach, and what they do not. */
function Learned() {
  const l = bench.value!.learned;
  if (!l) return null;
  return (
    <section class="benchplot">
      <h3>What the readings teach <small>{l.used} values</small></h3>
      <p>{l.says}{l.robust && ' Some disagree with the others; they count for less.'}</p>
      {l.rows.length > 0 && <Parameters caption="Learned parameters" rows={l.rows.slice(0, shown)} />}
      {l.rows.length > shown && <details class="data"><summary>{l.rows.length - shown} more parameters</summary><Parameters caption="Further learned parameters" rows={l.rows.slice(shown)} /></details>}
      {l.pairs.length > 0 && <><h4>Told together only</h4><ul>{l.pairs.map((t) => <li>{t}</li>)}</ul></>}
      {l.untold.length > 0 && <><h4>Not told apart</h4><ul>{l.untold.map((t) => <li>{t}</li>)}</ul></>}
      {l.silent.length > 0 && <details class="data"><summary>Not told at all: {l.silent.length} parameters</summary><ul>{l.silent.map((t) => <li>{t}</li>)}</ul></details>}
      {l.notes.map((t) => <p class="soft">{t}</p>)}
    </section>
  );
}

/** Tables is what the readings say of the lamp: results before and after, ageing, the next reading. */
const Tables = () => <>{bench.value!.learned?.tables.map((t) => <section class="benchplot"><h3>{t.title}</h3>{t.text && <p>{t.text}</p>}<Table caption={t.title} stacked head={t.head} rows={t.rows} /></section>)}</>;

/** FaultList is the explanations of the readings, searched on request. */
function FaultList() {
  const f = faults.value, job = taskOf('faults');
  if (!bench.value!.learned) return null;
  return (
    <section class="benchplot">
      <h3>Faults <small>explanations of the readings by their evidence</small></h3>
      {searching.value ? <p class="actions"><TaskProgress of="faults" label="Explanations that are compared" /> <button type="button" disabled={!job} onClick={() => { if (job) stopTask(job.id); }}>Stop</button></p>
        : <p class="actions"><button type="button" onClick={() => void findFaults()}>{f ? 'Find faults again' : 'Find faults'}</button>{f && f.of !== benchKey.value && <span class="soft">The list is that of other readings.</span>}</p>}
      {faultsFailed.value && <p class="wrong" role="alert">{faultsFailed.value}</p>}
      {f && (
        <ol class={f.of === benchKey.value ? 'faultlist' : 'faultlist stale'}>
          {f.list.slice(0, 5).map((x) => (
            <li>
              <span class="bar" aria-hidden="true"><i style={{ width: `${100 * x.probability}%` }} /></span>
              <p><b>{x.probability < 0.001 ? 'below 0.1 %' : `${(100 * x.probability).toFixed(x.probability < 0.1 ? 1 : 0)} %`}</b> {x.title}{x.odds && <span class="soft"> – {x.odds}</span>}</p>
              {x.factor && x.probability > 0.01 && <p class="soft">{x.factor}</p>}
              {x.action && x.probability > 0.5 && <p class="doubt">{x.action}</p>}
              {x.decide && <p>{x.decide}</p>}
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}

/** Told is what the readings say together. */
const Told = () => <div class="benchtold"><Learned /><Tables /><FaultList /></div>;

/** Problems is what is wrong in the readings file. */
function Problems() {
  const b = bench.value!;
  return (
    <section class="benchwrong" role="alert">
      <p><Sign of="stop" /> <b>readings.yaml has {b.problem_count === 1 ? 'a problem' : `${b.problem_count} problems`}.</b> The readings are shown once the file is corrected.</p>
      <ul>{b.problems.map((p) => <li><a href={fileLink('readings.yaml', p.at.line)}>line {p.at.line}</a>: {p.msg}{p.hint && `; ${p.hint}`}</li>)}</ul>
    </section>
  );
}

/** BenchView is the view. */
export function BenchView() {
  useEffect(() => { void askBench(); }, [benchKey.value]);
  const b = bench.value;
  if (!b) return benchFailed.value ? <p class="wrong" role="alert">{benchFailed.value} <button type="button" onClick={() => void askBench()}>Try again</button></p> : <p class="loading coming" role="status">Comparing the readings with the design…</p>;
  const long = b.readings.length > 24; // beneath a long table nobody would look
  const doubts = b.doubts.filter((d) => !b.readings.some((r) => d.at.path.startsWith(r.path)));
  return (
    <div class="benchview">
      <div class="benchhead"><h2>Bench</h2><span class="soft">{b.exists ? `readings of the built lamp; predictions of the design${trying.value ? ' with unsaved changes' : ''}` : 'measure the built lamp, and compare'}</span></div>
      {benchFailed.value && <p class="wrong" role="alert">{benchFailed.value}</p>}
      {!b.exists && <section class="benchplot"><p>Enter what lux meter, multimeter and thermometer display; each reading is compared with what this design predicts at that place and in that state, with the uncertainties of both.</p><StartForm /></section>}
      {b.problems.length > 0 && <Problems />}
      {b.wrong && b.readings.length > 0 && <p class="wrong" role="alert">Nothing is learned from the readings: {b.wrong}.</p>}
      {doubts.map((d) => <p class="doubt">{d.msg}{d.hint && `; ${d.hint}`} <a href={fileLink('readings.yaml', d.at.line)}>line {d.at.line}</a></p>)}
      {b.exists && b.problems.length === 0 && <div class={b.readings.length > 0 ? 'benchtwo' : ''}>
        {b.readings.length > 0 && <div class="benchright"><Card /><div class="benchpictures"><Residuals /><SeriesPlots />{long && <Told />}</div></div>}
        <div class="benchleft"><All />{!long && <Told />}</div>
      </div>}
    </div>
  );
}
