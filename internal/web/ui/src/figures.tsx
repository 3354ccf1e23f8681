import { useComputed } from '@preact/signals';
import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';
import { shortRange } from './format';
import { Line, Why } from './pieces';
import { basis, basisFailed, derive, figure, filed, lamp, rough, section, trialLamp, trying, why } from './store';

const ends = 'full range of stated or usual values';

/** Row is a figure. Texts that move with values are signals, which write themselves without a render. */
function Row({ of, title }: { of: string; title: string }) {
  const text = useComputed(() => figure(of)?.text ?? '–');
  const was = useComputed(() => { const f = filed(of)?.text; return f === undefined ? '–' : f === figure(of)?.text ? 'same' : f; });
  const range = useComputed(() => shortRange(figure(of)?.range ?? '') || (rough.value ? '…' : '–'));
  const toEnds = useComputed(() => (figure(of)?.ends ? ends : ''));
  return (
    <tr>
      <th scope="row">{title}<code>{of}</code></th>
      <td><strong>{text}</strong></td>
      {trying.value && <td>{was}</td>}
      <td>{range}<span class="range">{toEnds}</span></td>
      <td><Why of={of} title={title} /></td>
    </tr>
  );
}

export function FiguresView() {
  const [filter, setFilter] = useState('');
  const words = filter.toLowerCase().split(/\s+/).filter(Boolean);
  // Keys and titles stay while values move, and so does this list.
  const all = useComputed(() => lamp.value!.figures.map((f) => f.key + ' ' + f.title).join('\n')).value.split('\n');
  const list = all.filter((f) => words.every((w) => f.toLowerCase().includes(w))).map((f) => ({ key: f.slice(0, f.indexOf(' ')), title: f.slice(f.indexOf(' ') + 1) }));
  const group = (key: string) => key.split('.')[0]!;
  const groups = [...new Set(list.map((f) => group(f.key)))];
  return (
    <>
      <div class="search"><label for="filter">Find a result</label><input id="filter" type="search" value={filter} onInput={(e) => setFilter(e.currentTarget.value)} placeholder="junction, warm, spill…" /></div>
      <p class="hint" role="status">{list.length} of {all.length} results. P10–P90: range of 80 % of Monte Carlo samples of the part tolerances.</p>
      {list.length === 0 && <p class="empty">No result matches.</p>}
      {groups.map((g) => (
        <section class="card far" key={g} aria-labelledby={'fig-' + g}>
          <h2 id={'fig-' + g}>{g}</h2>
          <div class="scroll" role="region" aria-label={`Results: ${g}`} tabIndex={0}>
            <table class="figures">
              <thead><tr><th scope="col">result</th><th scope="col">value</th>{trying.value && <th scope="col">in the file</th>}<th scope="col">P10–P90</th><th scope="col"><span class="hidden">derivation</span></th></tr></thead>
              <tbody>{list.filter((f) => group(f.key) === g).map((f) => <Row key={f.key} of={f.key} title={f.title} />)}</tbody>
            </table>
          </div>
        </section>
      ))}
    </>
  );
}

/** Derivation shows how a figure came about, over whatever view is open. */
export function Derivation() {
  const d = useRef<HTMLDialogElement>(null);
  const f = why.value ? figure(why.value) : undefined;
  // Derivations are asked for when one is opened, and again when what is shown has changed beneath it.
  const number = section('number');
  useEffect(() => { if (why.value) void derive(why.value); }, [why.value, number, why.value ? trialLamp.value : null]);
  // At once, so that the event of a dialog that was closed before never comes between.
  useLayoutEffect(() => {
    if (f && !d.current?.open) d.current?.showModal();
    if (!f && d.current?.open) d.current.close();
  }, [why.value]);
  const b = basis.value?.key === why.value ? basis.value.basis : undefined;
  return (
    <dialog ref={d} aria-labelledby="why-title" onClose={() => { if (!d.current?.open) why.value = ''; }} onClick={(e) => { if (e.target === d.current) why.value = ''; }}>
      {f && (
        <div class="why">
          <header><h2 id="why-title">{f.title}</h2><button type="button" onClick={() => { why.value = ''; }}>Close</button></header>
          <p class="big">{f.text}{f.range && <span class="soft"> {shortRange(f.range)} {f.ends ? ends : '(P10–P90)'}</span>}</p>
          {b
            ? <dl>
                <dt>Formula</dt><dd><code>{b.formula}</code></dd>
                <dt>With values</dt><dd>{b.numbers}</dd>
                {(b.inputs ?? []).length > 0 && <>
                  <dt>Inputs</dt>
                  <dd><ul>{b.inputs!.map((i) => (
                    <li><b>{i.name}</b> = {i.value}
                      <span class="soft">{i.source ? ` — ${i.source}` : ''}{i.at?.line > 0 && <> (<Line at={i.at} />)</>}</span>
                      {i.figure && figure(i.figure) && <> <Why of={i.figure} title={figure(i.figure)!.title} /></>}
                    </li>
                  ))}</ul></dd>
                </>}
                <dt>Method</dt><dd>{b.method}</dd>
                <dt>Valid</dt><dd>{b.valid}</dd>
                {(b.notes ?? []).length > 0 && <><dt>Notes</dt><dd><ul>{b.notes!.map((n) => <li>{n}</li>)}</ul></dd></>}
              </dl>
            : basisFailed.value
              ? <p class="wrong" role="alert">The derivation is not available. {basisFailed.value} <button type="button" class="link" onClick={() => void derive(why.value)}>Try again</button></p>
              : <p class="empty" role="status">Loading the derivation…</p>}
          <p class="soft"><code>lampwright explain {f.key}</code></p>
        </div>
      )}
    </dialog>
  );
}
