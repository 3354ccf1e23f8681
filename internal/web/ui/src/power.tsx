import { num } from './format';
import { Data, Facts, Picture, Table } from './pieces';
import { section } from './store';

export function PowerView() {
  return (
    <>
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
