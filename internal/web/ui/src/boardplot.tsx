// Junction temperatures under the board, on the same x axis, and the emitters as a table.
import { fine } from './boardedit';
import { shownCase, caseOf, isRough, shift, zero } from './boardmap';
import { at, isChanged, Mark, marks, moving, notedAt, pick, selected, solvedAt, wrongOf } from './boardstate';
import { isBar, view } from './boarddraw';
import { csv } from './export';
import { celsius, inFull, mm, num, roundTicks } from './format';
import { LimitBar } from './limit';
import { SaveAs, Sign } from './pieces';
import { old, section, state } from './store';

const short: Record<string, string> = { typical: 'typical', 'max-ambient': 'maximum ambient', 'fan-failure': 'typical, fan failure', 'max-ambient-fan-failure': 'maximum ambient, fan failure' };
const order = ['typical', 'max-ambient', 'fan-failure', 'max-ambient-fan-failure'];
export const casesHere = () => order.flatMap((key) => section('cases').filter((c) => c.key === key));

/** Cases chooses the case of map, plot and table. */
export function Cases() {
  const list = casesHere();
  if (list.length < 2) return null;
  return <div class="seg" role="group" aria-label="Case">{list.map((c) => <button type="button" aria-pressed={caseOf.value === c.key} onClick={() => { shownCase.value = c.key; }}>{short[c.key]![0]!.toUpperCase() + short[c.key]!.slice(1)}</button>)}</div>;
}

/** limitOf is the highest junction temperature that is accepted at maximum ambient, in kelvin. */
const limitOf = () => { const m = state.value?.lamp?.requirements.find((r) => r.key === 'lamp.junction-max-ambient')?.max; return m ?? null; };

/** Dot is the junction of one emitter in a case. */
function Dot({ e, k, cls, y }: { e: Mark; k: number; cls: string; y: (k: number) => number }) {
  const v = view.value, [x] = at(e.id);
  return <i class={'jp ' + cls + (selected(e.id) ? ' on' : '') + (e.filed === null || isChanged(e.id) ? ' tried' : '')} style={{ left: `${(100 * (x - v.x0)) / v.w}%`, top: `${y(k + shift(e.id))}%` }} />;
}

/** Figure is the temperature at a dot. */
function Figure({ e, k, y }: { e: Mark; k: number; y: (k: number) => number }) {
  const v = view.value, t = k + shift(e.id);
  return <span class={'val' + (selected(e.id) ? ' on' : '') + (e.filed === null || isChanged(e.id) ? ' tried' : '')} style={{ left: `${(100 * (at(e.id)[0] - v.x0)) / v.w}%`, top: `${y(t)}%` }}>{(t - zero).toFixed(1)}</span>;
}

/** Lead is a line at the x of what is held. */
function Lead() {
  const m = moving.value, v = view.value;
  return m ? <span class="col" style={{ left: `${(100 * (at(m.lead)[0] - v.x0)) / v.w}%` }} /> : null;
}

/** Junctions is the plot; it stands under a bar, whose emitters have an x of their own. */
export function Junctions() {
  const cases = casesHere(), list = marks.value, now = caseOf.value, limit = limitOf();
  const at0 = list.map((e) => solvedAt(e.id)), temps = cases.flatMap((c) => at0.flatMap((i) => (i >= 0 && c.junction_k[i] !== undefined ? [c.junction_k[i]!] : [])));
  if (temps.length === 0) return null;
  const lo = Math.min(...temps, ...(limit ? [limit] : [])) - zero - 2, hi = Math.max(...temps, ...(limit ? [limit] : [])) - zero + 2;
  const y = (k: number) => 100 - (100 * (k - zero - lo)) / (hi - lo);
  const room = list.length <= 16 && isBar.value, ticks = roundTicks(lo, hi, 4);
  const classes: Record<string, string> = { typical: 'm', 'max-ambient': 'd', 'fan-failure': 'f', 'max-ambient-fan-failure': 't' };
  const worst = list.reduce<{ e: Mark; k: number } | null>((w, e, n) => { const k = cases.find((c) => c.key === now)?.junction_k[at0[n]!] ?? 0; return !w || k > w.k ? { e, k } : w; }, null);
  return (
    <figure class={old.value && !isRough.value ? 'junctions stale' : 'junctions'}>
      <figcaption><span>Junction temperature, °C</span>{cases.map((c) => <span class="lg"><i class={'jp ' + classes[c.key]} />{short[c.key]}</span>)}{limit !== null && <span class="lg"><i class="lim" />required at maximum ambient: ≤ {inFull(Math.round(limit - zero))} °C</span>}</figcaption>
      <div class="jplot" role="img" aria-label={`Junction temperatures over x. ${cases.map((c) => `${c.title}: ${celsius(Math.min(...c.junction_k), 0)} to ${celsius(Math.max(...c.junction_k), 0)}`).join('; ')}. ${worst ? `Highest: ${worst.e.label}.` : ''}`}>
        {ticks.map((t) => <span class="row" style={{ top: `${y(t + zero)}%` }}><b>{inFull(t)}</b></span>)}
        {limit !== null && <span class="row lim" style={{ top: `${y(limit)}%` }} />}
        <Lead />
        {list.map((e, n) => at0[n]! >= 0 && cases.map((c) => c.junction_k[at0[n]!] !== undefined && <Dot e={e} k={c.junction_k[at0[n]!]!} cls={classes[c.key]! + (c.key === now ? ' now' : '')} y={y} />))}
        {room && list.map((e, n) => { const k = cases.find((c) => c.key === now)?.junction_k[at0[n]!]; return k !== undefined && <Figure e={e} k={k} y={y} />; })}
      </div>
    </figure>
  );
}

/** Margin is a junction against its rated maximum. */
function Margin({ k, max, name }: { k: number; max: number; name: string }) {
  if (!(max > 0)) return <span class="soft">not stated</span>;
  return <><LimitBar v={{ value: k - zero, max: max - zero }} tone={k > max ? 'stop' : ''} /><span class="hidden">{name}: {celsius(k)} of at most {celsius(max)}</span></>;
}

function Row({ e }: { e: Mark }) {
  const i = solvedAt(e.id), s = section('emitters')[i], [x, y] = at(e.id), cases = casesHere();
  const now = cases.find((c) => c.key === caseOf.value)!, worst = cases[cases.length - 1]!;
  const changed = (axis: 0 | 1) => e.filed !== null && Math.abs((axis ? y : x) - e.filed[axis]) > 1e-9;
  const pos = (axis: 0 | 1) => <td class={'num' + (changed(axis) || e.filed === null ? ' tried' : '')}>{mm(axis ? y : x)}{changed(axis) && <span class="file"> file {mm(e.filed![axis])}</span>}</td>;
  const sign = wrongOf(e), note = notedAt(e.id);
  return (
    <tr class={(selected(e.id) ? 'on' : '') + (e.filed === null || isChanged(e.id) ? ' changed' : '')}>
      <th scope="row"><button type="button" class="link" aria-pressed={selected(e.id)} onClick={(ev) => pick(e.id, ev.shiftKey || ev.ctrlKey || ev.metaKey)}><i class="swatch" style={{ background: e.colour }} aria-hidden="true" />{e.label}</button>{note && <span title={note.title}><Sign of={note.severity} /><span class="hidden">{note.title}</span></span>}</th>
      <td>{e.part}</td><td>{e.lens || <span class="soft">none</span>}</td>{pos(0)}{pos(1)}
      <td class="num">{s && !sign ? `${num(1000 * s.die_a)} mA` : '–'}</td><td class="num">{s && !sign ? `${num(s.heat_w)} W` : '–'}</td>
      <td class="num">{s && now.junction_k[i] !== undefined ? celsius(now.junction_k[i]! + shift(e.id)) : '–'}</td>
      {worst.key !== now.key && <td class="num">{s && worst.junction_k[i] !== undefined ? celsius(worst.junction_k[i]!) : '–'}</td>}
      <td>{s && <Margin k={worst.junction_k[i] ?? s.junction_k} max={s.max_k} name={e.label} />}</td>
    </tr>
  );
}

/** Rows is the table of the emitters. */
export function Rows() {
  const cases = casesHere(), now = cases.find((c) => c.key === caseOf.value)!, worst = cases[cases.length - 1]!;
  if (!now) return null;
  const text = () => csv([{ name: 'emitter' }, { name: 'part' }, { name: 'lens' }, { name: 'x', unit: 'mm' }, { name: 'y', unit: 'mm' }, { name: 'die current', unit: 'mA' }, { name: 'dissipation', unit: 'W' }, ...cases.map((c) => ({ name: `T_j, ${short[c.key]}`, unit: '°C' })), { name: 'rated maximum', unit: '°C' }],
    marks.value.map((e) => { const i = solvedAt(e.id), s = section('emitters')[i]; return [e.label, e.part, e.lens, fine(1e3 * e.x), fine(1e3 * e.y), s && fine(1e3 * s.die_a), s && fine(s.heat_w), ...cases.map((c) => (i >= 0 ? Math.round(100 * (c.junction_k[i]! - zero)) / 100 : null)), s && s.max_k > 0 ? Math.round(100 * (s.max_k - zero)) / 100 : null]; }));
  return (<>
    <div class={old.value ? 'scroll emitters stale' : 'scroll emitters'} role="region" aria-label="Emitters as a table" tabIndex={0}>
      <table>
        <caption class="hidden">Emitters</caption>
        <thead><tr><th scope="col">emitter</th><th scope="col">part</th><th scope="col">lens</th><th scope="col" class="num">x</th><th scope="col" class="num">y</th><th scope="col" class="num">die current</th><th scope="col" class="num">dissipation</th><th scope="col" class="num">T_j, {short[now.key]}</th>{worst.key !== now.key && <th scope="col" class="num">T_j, {short[worst.key]}</th>}<th scope="col">{short[worst.key]} against rated maximum</th></tr></thead>
        <tbody>{marks.value.map((e) => <Row key={e.id} e={e} />)}</tbody>
      </table>
    </div>
    <p class="files"><SaveAs name="emitters" what="CSV" kind="csv" text={text} /></p>
  </>);
}

