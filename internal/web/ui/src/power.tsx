// From the mains to the strings: the chain as a live diagram, the keys of the part that is selected, voltages at a cold start, energy flow and what it costs.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { Finding, KeyNode, PowerNode } from './api';
import { chainOf, fedBy, feed, feedsFor, Link, triedNode, without } from './chain';
import { num } from './format';
import { add, apply, keyAt, keysFailed, keyTree, newItem, watchKeys } from './keystate';
import { Keys } from './keys';
import { LimitBar } from './limit';
import { asYAML, gone } from './marked';
import { openPicker } from './picking';
import { Data, Facts, FindingCard, Picture, Sign, Table, Why, words } from './pieces';
import { figure, old, section, trial } from './store';

const chosen = signal('');

/** worstOf is the finding that colours a part; null where all is passed. */
const worstOf = (n: PowerNode, all: Finding[]) => n.findings.map((i) => all[i]).find((f) => f && (f.severity === 'stop' || f.severity === 'warn')) ?? null;

/** marginOf names the margin of a check at a part. */
const marginOf = (check: string) => ({
  'driver-headroom': 'input margin', 'driver-input': 'input margin', 'driver-current': 'current margin', 'driver-output-range': 'output margin', 'driver-power': 'power margin', 'linear-heat': 'heat margin', 'supply-load': 'load margin',
  'supply-peak': 'load margin', 'fault-current': 'fault current margin', 'inrush-switch': 'margin', 'inrush-breaker': 'margin', 'die-current': 'die margin', fuse: 'current margin', 'fuse-voltage': 'voltage margin', derating: 'derating margin', 'fan-supply': 'voltage margin', 'fan-speed': 'speed margin', 'air-limits': 'air margin',
}[check] ?? `margin, ${check.replace(/-/g, ' ')}`);

/** Part is a part of the chain. */
function Part({ n, wire }: { n: PowerNode; wire?: PowerNode | undefined }) {
  const all = section('findings') ?? [];
  const worst = worstOf(n, all);
  const tried = useComputed(() => triedNode(n, Object.keys(trial.value))).value;
  const on = chosen.value === n.id;
  const shown = [worst, ...n.findings.map((i) => all[i])].find((f) => f?.comparison) ?? null;
  const count = n.findings.filter((i) => all[i] && (all[i]!.severity === 'stop' || all[i]!.severity === 'warn')).length;
  return (
    <div class={`stage ${n.kind}`}>
      <div class={`part ${worst?.severity ?? ''}${n.absent ? ' absent' : ''}${tried ? ' tried' : ''}${on ? ' on' : ''}`}>
        <button type="button" class="hold" aria-expanded={on} aria-controls="part-editor" onClick={() => { chosen.value = on ? '' : n.id; }}>
          <b style={n.colour ? { borderColor: n.colour } : undefined} class={n.colour ? 'channel' : ''}>{n.title}</b>
          {worst && <span class="hidden">, {words[worst.severity]}: {worst.title}{count > 1 ? `, and ${count - 1} more` : ''}</span>}
          {tried && <span class="hidden">, changed</span>}
        </button>
        {worst && <span class="hung" aria-hidden="true"><Sign of={worst.severity} />{count > 1 ? count : ''}</span>}
        {n.part && n.part !== n.title && <small>{n.part}{tried ? ', tried' : ''}</small>}
        {shown?.comparison && <LimitBar v={{ value: shown.comparison.value, lo: shown.comparison.p10, hi: shown.comparison.p90, min: shown.comparison.min, max: shown.comparison.max }} tone={shown.severity === 'stop' ? 'stop' : shown.severity === 'warn' ? 'warn' : ''} />}
        {n.facts.length > 0 && <dl>{n.facts.map((f) => <div><dt>{f.label}</dt><dd>{f.text}</dd></div>)}{shown?.margin && <div><dt>{marginOf(shown.check)}</dt><dd>{shown.margin}</dd></div>}</dl>}
      </div>
      {wire && <Wire n={wire} />}
    </div>
  );
}

/** Wire is a wire, at what it comes from. */
function Wire({ n }: { n: PowerNode }) {
  const all = section('findings') ?? [], worst = worstOf(n, all), on = chosen.value === n.id;
  const tried = useComputed(() => triedNode(n, Object.keys(trial.value))).value;
  return (
    <button type="button" class={`wire ${worst?.severity ?? ''}${tried ? ' tried' : ''}${on ? ' on' : ''}`} aria-expanded={on} aria-controls="part-editor" onClick={() => { chosen.value = on ? '' : n.id; }}>
      {worst && <Sign of={worst.severity} />}<span class="hidden">Wire: </span>{n.absent ? 'wire not stated' : n.title}{n.facts[0] && <span class="soft"> {n.facts[0].text}</span>}
    </button>
  );
}

const Branch = ({ link }: { link: Link }) => (
  <div class={`branch from-${link.node.kind}`}>
    <Part n={link.node} wire={link.wire} />
    {link.children.length > 0 && <div class={`branches of-${link.node.kind}${link.children.length === 1 ? ' one' : ''}`}>{link.children.map((c) => <Branch key={c.node.id} link={c} />)}</div>}
  </div>
);

/** keysOf is the keys of a part, of those at its path. */
function keysOf(n: PowerNode): KeyNode[] {
  const at = keyAt(n.path), keys = at?.keys ?? [];
  const but = (...skip: string[]) => keys.filter((k) => !skip.includes(k.key));
  switch (n.kind) {
    case 'mains': return but('switch');
    case 'supply': return but('wire', 'fuse');
    case 'driver': return keys.filter((k) => ['driver', 'current', 'level', 'pull_down', 'fuse'].includes(k.key));
    case 'string': return but('driver', 'wire', 'fuse');
    default: return keys;
  }
}

/** Editor is the keys of the part that is selected. */
function Editor({ n }: { n: PowerNode }) {
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => head.current?.focus({ preventScroll: true }), [n.id]);
  const all = section('findings') ?? [], at = keyAt(n.path);
  const list = n.findings.map((i) => all[i]!).filter((f) => f && f.severity !== 'pass');
  const item = /\[\d+\]$/.test(n.path);
  const what = { mains: 'mains', switch: 'switch', supply: 'supply', fuse: 'fuse', wire: 'wire', fan: 'fan' }[n.kind] ?? '';
  const keys = keysOf(n), removable = what !== '' && !n.absent && n.kind !== 'mains' && (n.kind !== 'supply' || item);
  return (
    <section class="part-editor" id="part-editor" aria-labelledby="part-title">
      <header>
        <h2 id="part-title" ref={head} tabIndex={-1}>{n.kind === 'string' ? `String of ${n.title}` : n.kind === 'wire' ? `Wire: ${n.title}` : n.title}</h2>
        {n.slot && !n.absent && <button type="button" onClick={() => openPicker(n.slot!)}>Choose another {n.kind}…</button>}
        {n.absent && n.kind === 'fuse' && <button type="button" onClick={() => openPicker(n.slot!)}>Choose a fuse…</button>}
        {n.absent && n.kind !== 'fuse' && at?.new && <button type="button" onClick={() => { add(at); }}>Add {what === 'mains' ? 'what is known of the mains' : `a ${what}`}</button>}
        {removable && <button type="button" onClick={() => { apply(n.kind === 'supply' ? without(section('power') ?? [], n.path) : [{ path: n.path, text: gone }]); chosen.value = ''; }}>Remove the {what}</button>}
        <button type="button" class="bare" onClick={() => { chosen.value = ''; }}>Close</button>
      </header>
      {keysFailed.value && !keyTree.value && <p class="wrong" role="alert">{keysFailed.value}</p>}
      {n.kind === 'supply' && <Feeds n={n} />}
      {!n.absent && keys.length > 0 && <Keys list={keys} words={[]} level={1} />}
      {n.kind === 'fuse' && n.absent && <p class="hint">Between supply and drivers. A supply that delivers more than its wires conduct needs one.</p>}
      {list.length > 0 && <div class="findings"><h3>Findings</h3>{list.map((f) => <FindingCard key={f.check + f.subject + f.title} f={f} />)}</div>}
      {n.facts.some((f) => f.figure && figure(f.figure)) && <p class="refs">{n.facts.filter((f) => f.figure && figure(f.figure!)).map((f) => <span>{figure(f.figure!)!.title}: <b>{figure(f.figure!)!.text}</b> <Why of={f.figure!} title={figure(f.figure!)!.title} /></span>)}</p>}
    </section>
  );
}

/** Cold is the voltage that each driver needs at a cold start beside what its supply gives at least. */
function Cold() {
  const nodes = section('power') ?? [];
  const list = nodes.filter((n) => n.kind === 'driver').flatMap((d) => {
    const name = nodes.find((n) => n.kind === 'string' && n.parent === d.id)?.title ?? '';
    let up = nodes.find((n) => n.id === d.parent);
    while (up && up.kind !== 'supply') { const p: string = up.parent; up = nodes.find((n) => n.id === p); }
    const number = up ? nodes.filter((n) => n.kind === 'supply').indexOf(up) + 1 : 0;
    const string = figure(`${name}.voltage-max`)?.value, needs = figure(`${name}.input-required`)?.value, has = number ? figure(`supply${number}.voltage-min`)?.value : undefined;
    return string === undefined || needs === undefined || has === undefined ? [] : [{ name, string, needs, has, colour: nodes.find((n) => n.title === name)?.colour }];
  });
  if (list.length === 0) return null;
  const top = Math.max(...list.flatMap((x) => [x.needs, x.has])) * 1.08, at = (v: number) => `${(100 * v) / top}%`;
  return (
    <section class={old.value ? 'cold stale' : 'cold'} aria-labelledby="cold">
      <h2 id="cold">Voltage at a cold start <span class="soft">string, highest bins <i class="key string" /> cable and driver headroom <i class="key head" /> minimum supply after cable drop <i class="key has" /></span></h2>
      <ul class="plain">{list.map((x) => {
        const short = x.has < x.needs;
        return (
          <li key={x.name}>
            <span class="name">{x.name}</span>
            <span class="bar" aria-hidden="true"><i class="string" style={{ width: at(Math.min(x.string, x.needs)) }} /><i class="head" style={{ left: at(Math.min(x.string, x.needs)), width: at(Math.max(0, x.needs - x.string)) }} /><i class={short ? 'has short' : 'has'} style={{ left: at(x.has) }} /></span>
            <span class={short ? 'wrong' : ''}>requires {num(x.needs)} V, {num(x.has)} V available, {short ? <b>{num(x.needs - x.has)} V short</b> : `margin ${num(x.has - x.needs)} V`}</span>
          </li>
        );
      })}</ul>
    </section>
  );
}

/** AddSupply adds a further supply; those that are there name what they feed then. */
function AddSupply() {
  const list = keyAt('supplies');
  if (!list?.new) return null;
  const put = () => {
    const nodes = section('power') ?? [], path = newItem('supplies');
    apply([...feedsFor(fedBy(nodes)).filter((c) => c.text !== gone), { path, text: asYAML + list.new! }]);
    chosen.value = path;
  };
  return <button type="button" onClick={put}>+ Supply</button>;
}

/** Feeds is which channels a supply feeds: one of several supplies takes a channel over from another. */
function Feeds({ n }: { n: PowerNode }) {
  const nodes = section('power') ?? [], own = fedBy(nodes).get(n.path) ?? [];
  const all = nodes.filter((x) => x.kind === 'supply').length > 1 ? nodes.filter((x) => x.kind === 'string').map((x) => x.title) : [];
  if (all.length === 0) return null;
  return (
    <fieldset class="feeds">
      <legend>Feeds</legend>
      {all.map((name) => <label key={name}><input type="checkbox" checked={own.includes(name)} onChange={(e) => apply(feed(nodes, n.path, name, e.currentTarget.checked))} /> {name}</label>)}
    </fieldset>
  );
}

export function PowerView() {
  useEffect(watchKeys, []);
  const nodes = section('power') ?? [], tree = chainOf(nodes), on = nodes.find((n) => n.id === chosen.value);
  return (
    <>
      <section class="power" aria-labelledby="chain">
        <div class="view-head"><h2 id="chain">From the mains to the strings</h2><span class="soft">select a part or a wire to change it</span><span class="tools"><AddSupply /></span></div>
        <div class={old.value ? 'chain stale' : 'chain'}>{tree.map((link) => <Branch key={link.node.id} link={link} />)}</div>
        {on && <Editor n={on} />}
      </section>
      <Cold />
      <section class="card">
        <h2>Energy flow, mains to target</h2>
        <Picture name="energy-flow" label="Energy flow; same values in the table below" />
        <Data title="As a table" head={['from', 'to', 'power', '']} rows={() => (section('energy_flows') ?? []).map((f) => [f.from, f.to, `${num(f.watts)} W`, f.loss ? 'loss' : ''])} />
      </section>
      <section class="card">
        <h2>Power and cost</h2>
        <Facts keys={['mains.power', 'mains.efficacy', 'mains.ppe', 'mains.energy-year', 'cost.electricity-year', 'cost.bom']} />
      </section>
      <section class="card">
        <h2>Bill of materials</h2>
        {section('fictitious_parts') && <p class="hint">Some of these parts are fictitious.</p>}
        <Table stacked caption="Bill of materials" head={['part', 'quantity', 'unit price', 'total']} rows={(section('bom') ?? []).map((o) => [<>{o.part}<span class={o.part ? 'range' : ''}>{o.what + (o.note ? `, ${o.note}` : '')}</span></>, o.count, o.priced ? `${o.each_eur.toFixed(2)} EUR` : 'no price', o.priced ? `${o.total_eur.toFixed(2)} EUR` : ''])} />
      </section>
    </>
  );
}
