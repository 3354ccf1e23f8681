// Choosing among alternatives: a table, one row a part, each row the whole lamp computed with it and with what it requires.
import { computed, effect, signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { at as addressOf, Count, Failed, Found, Picked, PickedRow, PickRow, posting } from './api';
import { LimitBar } from './limit';
import { picking } from './picking';
import { Sign, words } from './pieces';
import { sortRows } from './pickrows';
import { changes, section, sentence, state, tryValues } from './store';

const rows = signal<PickRow[]>([]);
const done = signal<Record<string, PickedRow>>({});
const was = signal<Count | null>(null);
const busy = signal(false), wrong = signal('');
const at = signal('');
const search = signal(''), clean = signal(false);
const sort = signal<{ key: string; down: boolean }>({ key: '', down: false });
let asking: AbortController | null = null;

/** columns are the results that matter for a kind of part. */
const columns = (path: string): string[] => {
  if (/\.lens$/.test(path)) return ['target.ppfd', 'target.uniformity', 'light.spill', 'cost.bom'];
  if (/emitters\[\d+\]\.part$/.test(path)) return ['target.ppfd', 'lamp.cct', 'lamp.ra', 'lamp.junction-max-ambient', 'mains.power', 'cost.bom'];
  if (/driver$|^supplies|wire|fuse/.test(path)) return ['target.ppfd', 'mains.power', 'lamp.junction-max-ambient', 'cost.bom'];
  return ['target.ppfd', 'lamp.junction-max-ambient', 'mains.power', 'cost.bom'];
};
const heads: Record<string, string> = {
  'target.ppfd': 'PPFD', 'target.uniformity': 'Uniformity', 'light.spill': 'Spill', 'lamp.cct': 'CCT', 'lamp.ra': 'Ra', 'lamp.junction-max-ambient': 'Maximum T_j', 'mains.power': 'Mains', 'cost.bom': 'Parts cost',
};

/** titleOf is what is chosen, in words. */
function titleOf(path: string): string {
  const channel = /^channels\[(\d+)\]/.exec(path), supply = /^supplies\[(\d+)\]/.exec(path);
  const name = channel ? section('channels')[Number(channel[1])]?.name ?? '' : supply && section('knobs').some((k) => k.path === 'supplies[1].part') ? String(Number(supply[1]) + 1) : '';
  const of = name ? ` of ${channel ? name : `supply ${name}`}` : supply ? ' of the supply' : '';
  if (/\.fuse$/.test(path)) return `Fuse${of}`;
  if (/wire\.part$/.test(path)) return `Wire${of}`;
  if (/\.driver$/.test(path)) return `Driver${of}`;
  if (/\.lens$/.test(path)) return `Lens${of}`;
  if (/emitters\[\d+\]\.part$/.test(path)) return `Emitter${of}`;
  if (supply) return name ? `Supply ${name}` : 'Supply';
  return { 'board.part': 'Board', 'board.thickness': 'Thickness of the board', 'sink.part': 'Heat sink', 'fan.part': 'Fan', 'thermal_interface.part': 'Thermal interface', 'sensor.part': 'Sensor', solder: 'Solder', wire_solder: 'Wire solder' }[path] ?? path;
}

/** lines reads an answer line by line as it comes. */
async function lines(response: Response, take: (v: Picked) => void) {
  const reader = response.body!.getReader(), decoder = new TextDecoder();
  for (let rest = ''; ;) {
    const { value, done: end } = await reader.read();
    rest += decoder.decode(value, { stream: !end });
    const parts = rest.split('\n');
    rest = parts.pop() ?? '';
    for (const p of parts) if (p) take(JSON.parse(p) as Picked);
    if (end) return;
  }
}

async function ask(path: string) {
  asking?.abort();
  const mine = asking = new AbortController();
  rows.value = []; done.value = {}; was.value = null; wrong.value = ''; at.value = ''; busy.value = true; search.value = '';
  try {
    const response = await fetch(addressOf('/api/pick'), posting({ base: state.value?.hash ?? '', changes: changes(), at: path }, mine.signal));
    if (!response.ok) {
      const data = await response.json();
      throw new Failed(response.status, data.error ?? response.statusText, data.problems ?? [], '');
    }
    await lines(response, (v) => {
      if (asking !== mine) return;
      if (v.rows) { rows.value = v.rows; was.value = v.count; at.value = v.rows.find((r) => r.now)?.id ?? v.rows[0]!.id; }
      if (v.row) done.value = { ...done.value, [v.row.id]: v.row };
      if (v.error) wrong.value = sentence(v.error);
    });
  } catch (e) {
    if (asking !== mine) return;
    wrong.value = mine.signal.aborted ? 'Stopped.' : e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'The program does not answer.';
  }
  if (asking === mine) busy.value = false;
}
const stop = () => asking?.abort();

effect(() => { if (picking.value !== '') void ask(picking.peek()); else { asking?.abort(); asking = null; } });

const shown = computed(() => {
  const text = search.value.toLowerCase();
  const list = rows.value.filter((r) => r.now || `${r.id} ${r.name} ${r.info}`.toLowerCase().includes(text) && !(clean.value && done.value[r.id]?.fresh.some((f) => f.severity === 'stop')));
  return sortRows(list, busy.value && sort.value.key === '' ? {} : done.value, sort.value); // rows do not move while they are computed
});

const close = () => { picking.value = ''; };
function take(id: string) {
  const row = done.value[id], r = rows.value.find((x) => x.id === id);
  if (!row || row.problem || r?.now) return;
  tryValues(row.sets);
  close();
}

const signed = (n: number) => (n > 0 ? `+${n}` : n < 0 ? `−${-n}` : '±0');
const price = (x: number) => `${x < -0.004 ? '−' : '+'}${Math.abs(x).toFixed(2)} EUR`;

function Numbers({ n, of, before }: { n: number; of: 'stop' | 'warn'; before: number }) {
  return <span class={`n${n > before ? ' more' : ''}`}><Sign of={of} /><b>{n}</b> {n !== before && <span class="soft">{signed(n - before)}</span>}<span class="hidden"> {of === 'stop' ? 'stops' : 'warnings'}</span></span>;
}

function Row({ r, cols }: { r: PickRow; cols: string[] }) {
  const c = done.value[r.id], on = at.value === r.id, ref = useRef<HTMLTableRowElement>(null);
  useEffect(() => { if (on && document.activeElement?.closest('.picker tbody')) ref.current?.focus(); }, [on]);
  const cell = (key: string) => {
    const f = c?.figures.find((x) => x.key === key);
    if (!f) return <td role="gridcell" data-head={heads[key]} />;
    const band = section('requirements').find((q) => q.key === key && q.at);
    return <td role="gridcell" class="num" data-head={heads[key]}>{f.text}{band && <LimitBar v={{ value: f.value, min: band.min, max: band.max }} />}</td>;
  };
  return (
    <tr ref={ref} class={`${r.now ? 'now' : ''}${on ? ' on' : ''}`} aria-selected={on} tabIndex={on ? 0 : -1} onClick={() => { at.value = r.id; }} onFocus={() => { at.value = r.id; }}>
      <th scope="row"><b>{r.name || r.id}</b>{r.name && r.name !== r.id && <span class="soft">{r.id}{r.from !== 'library' && r.from ? ', own part' : ''}</span>}<span class="soft">{r.info}</span></th>
      <td role="gridcell" class="num" data-head="Price">{r.price}{c && !r.now && !c.problem && <span class="soft">{price(c.price_eur)}</span>}</td>
      {c?.problem
        ? <td role="gridcell" class="wrong" colSpan={cols.length + 3}>{sentence(c.problem)}</td>
        : <>
            {cols.map(cell)}
            <td role="gridcell" class="num" data-head="Stops">{c && was.value && <Numbers n={c.after.stops} of="stop" before={was.value.stops} />}</td>
            <td role="gridcell" class="num" data-head="Warnings">{c && was.value && <Numbers n={c.after.warnings} of="warn" before={was.value.warnings} />}</td>
            <td role="gridcell" class="brings" data-head="Goes with it">{c ? c.brings.map((b) => <span>{b}</span>) : <span class="soft">{busy.value ? 'computing…' : 'not computed'}</span>}</td>
          </>}
      <td role="gridcell" class="do">{r.now ? <span class="soft">in the lamp</span> : c && !c.problem ? <button type="button" class="try" onClick={(e) => { e.stopPropagation(); take(r.id); }}>Try<span class="hidden">: {r.id}</span></button> : null}</td>
    </tr>
  );
}

const List = ({ list, label }: { list: Found[]; label: string }) => (list.length === 0 ? null : (
  <div><h3>{label}</h3><ul class="plain">{list.map((f) => <li><Sign of={f.severity} /> {words[f.severity]}: {f.check}, {f.subject}</li>)}</ul></div>
));

/** Effect is what the selected row would change. */
function Effect() {
  const r = rows.value.find((x) => x.id === at.value), c = done.value[at.value];
  if (!r || !c || r.now || c.problem) return null;
  return (
    <section class="effect" aria-label={`What ${r.id} would change`}>
      <h2>What {r.name || r.id} would change</h2>
      <div class="lists">
        {c.brings.length > 0 && <div><h3>Goes with it</h3><ul class="plain">{c.brings.map((b) => <li>{b}</li>)}</ul></div>}
        <List list={c.fresh} label="New" /><List list={c.clears} label="Cleared" />
        {c.fresh.length + c.clears.length === 0 && <p>No stop or warning changes.</p>}
      </div>
    </section>
  );
}

export function PickerView() {
  const dialog = useRef<HTMLDialogElement>(null), title = useRef<HTMLHeadingElement>(null), path = picking.value;
  const from = useRef<Element | null>(null);
  useEffect(() => {
    from.current = document.activeElement;
    dialog.current?.showModal();
    title.current?.focus();
    return () => { (from.current as HTMLElement | null)?.focus?.({ preventScroll: true }); };
  }, []);
  // The rows come after the dialog: the present part gets the focus then.
  const here = rows.value.length > 0;
  useEffect(() => { if (here && document.activeElement === title.current) dialog.current?.querySelector<HTMLElement>('tbody tr[aria-selected="true"]')?.focus(); }, [here]);
  const cols = columns(path), list = shown.value, n = rows.value.length, ready = Object.keys(done.value).length;
  const move = (by: number) => {
    const i = list.findIndex((r) => r.id === at.value), to = list[Math.min(list.length - 1, Math.max(0, i + by))];
    if (to) { at.value = to.id; requestAnimationFrame(() => dialog.current?.querySelector<HTMLElement>('tbody tr[aria-selected="true"]')?.focus()); }
  };
  const keys = (e: KeyboardEvent) => {
    if ((e.target as Element).closest('input, button')) return;
    if (e.key === 'ArrowDown' || e.key === 'ArrowUp') { e.preventDefault(); move(e.key === 'ArrowDown' ? 1 : -1); }
    if (e.key === 'Enter') { e.preventDefault(); take(at.value); }
  };
  const head = (key: string, label: string) => (
    <th scope="col" aria-sort={sort.value.key === key ? (sort.value.down ? 'descending' : 'ascending') : undefined}>
      <button type="button" class="link" onClick={() => { sort.value = { key, down: sort.value.key === key && !sort.value.down }; }}>{label}{sort.value.key === key ? (sort.value.down ? ' ↓' : ' ↑') : ''}</button>
    </th>
  );
  return (
    <dialog ref={dialog} class="picker" aria-labelledby="picker-title" onClose={close} onKeyDown={keys}>
      <header>
        <h1 id="picker-title" ref={title} tabIndex={-1}>{titleOf(path)}</h1>
        <span class="soft" role="status">{n > 0 && `${n} fit by their datasheets; each row is the whole lamp computed with it, unsaved changes included`}</span>
        <span class="tools">
          <label>Filter <input type="search" autocomplete="off" value={search.value} onInput={(e) => { search.value = e.currentTarget.value; }} /></label>
          <label class="check"><input type="checkbox" checked={clean.value} onChange={(e) => { clean.value = e.currentTarget.checked; }} /> without new stops</label>
          <button type="button" onClick={close}>Close <kbd>Esc</kbd></button>
        </span>
      </header>
      {busy.value && <p class="progress"><progress max={n || 1} value={n ? ready : undefined} aria-label="Computing the alternatives" /> {n > 0 ? `${ready} of ${n} computed` : 'Computing the lamp as it is…'} <button type="button" onClick={stop}>Stop</button></p>}
      {wrong.value && <p class="wrong" role="alert">{wrong.value} <button type="button" onClick={() => void ask(path)}>Compute again</button></p>}
      <div class="scroll" role="region" aria-label="Alternatives" tabIndex={-1}>
        <table role="grid" aria-label={titleOf(path)}>
          <thead><tr>{head('name', 'Part')}{head('price', 'Price')}{cols.map((k) => head(k, heads[k]!))}{head('stops', 'Stops')}{head('warnings', 'Warnings')}<th scope="col">Goes with it</th><th scope="col"><span class="hidden">Try</span></th></tr></thead>
          <tbody>{list.map((r) => <Row key={r.id} r={r} cols={cols} />)}</tbody>
        </table>
      </div>
      <p class="hint">↑ ↓ select a row, Enter tries it, Esc leaves the lamp as it is.{sort.value.key === '' ? ' Sorted by stops, then warnings, then price.' : ''}</p>
      <Effect />
    </dialog>
  );
}
