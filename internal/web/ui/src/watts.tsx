import { Data, Facts, num, Picture, Table } from './parts';
import { section } from './store';

export function WattsView() {
  return (
    <>
      <section class="card">
        <h2>From the wall plug to the leaves</h2>
        <Picture name="flow" label="Where each watt goes; the table beneath holds the same" />
        <Data title="As a table" head={['from', 'to', 'power', '']} rows={() => (section('flow') ?? []).map((f) => [f.from, f.to, `${num(f.watts)} W`, f.loss ? 'lost' : ''])} />
      </section>
      <section class="card">
        <h2>What it costs</h2>
        <Facts keys={['mains.power', 'mains.efficacy', 'mains.ppe', 'mains.energy-year', 'cost.electricity-year', 'cost.bom']} />
      </section>
      <section class="card">
        <h2>Order list</h2>
        {section('invented_parts') && <p class="hint">Some of these parts are invented; nobody sells them.</p>}
        <Table caption="Order list" head={['part', 'count', 'each', 'together']} rows={(section('orders') ?? []).map((o) => [<>{o.part}<span class={o.part ? 'range' : ''}>{o.what + (o.note ? `, ${o.note}` : '')}</span></>, o.count, o.priced ? `${o.each_eur.toFixed(2)} EUR` : 'no price', o.priced ? `${o.total_eur.toFixed(2)} EUR` : ''])} />
      </section>
    </>
  );
}
