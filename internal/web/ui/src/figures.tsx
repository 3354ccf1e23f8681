import { useEffect, useRef, useState } from 'preact/hooks';
import { figure, Line, Why } from './parts';
import { lamp, rough, state, trying, why } from './store';

export function FiguresView() {
  const [filter, setFilter] = useState('');
  const words = filter.toLowerCase().split(/\s+/).filter(Boolean);
  const list = lamp.value!.figures.filter((f) => words.every((w) => (f.key + ' ' + f.title).toLowerCase().includes(w)));
  const file = new Map((state.value?.lamp?.figures ?? []).map((f) => [f.key, f]));
  const groups = [...new Set(list.map((f) => f.key.split('.')[0]!))];
  return (
    <>
      <div class="search"><label for="filter">Find a figure</label><input id="filter" type="search" value={filter} onInput={(e) => setFilter(e.currentTarget.value)} placeholder="junction, warm, spill…" /></div>
      <p class="hint" role="status">{list.length} of {lamp.value!.figures.length} figures. The range holds eight lamps of ten, by the tolerances of their parts.</p>
      {list.length === 0 && <p class="empty">No figure has these words.</p>}
      {groups.map((g) => (
        <section class="card" key={g} aria-labelledby={'fig-' + g}>
          <h2 id={'fig-' + g}>{g}</h2>
          <div class="scroll" role="region" aria-label={`Figures of ${g}`} tabIndex={0}>
            <table class="figures">
              <thead><tr><th scope="col">what it is</th><th scope="col">value</th>{trying.value && <th scope="col">in the file</th>}<th scope="col">eight lamps of ten</th><th scope="col"><span class="hidden">derivation</span></th></tr></thead>
              <tbody>
                {list.filter((f) => f.key.split('.')[0] === g).map((f) => (
                  <tr key={f.key}>
                    <th scope="row">{f.title}<code>{f.key}</code></th>
                    <td><strong>{f.text}</strong></td>
                    {trying.value && <td>{file.get(f.key)?.text === f.text ? <span class="soft">same</span> : file.get(f.key)?.text ?? '–'}</td>}
                    <td>{f.range || (rough.value ? '…' : '–')}</td>
                    <td><Why of={f.key}><span aria-hidden="true">why</span><span class="hidden">why {f.title}</span></Why></td>
                  </tr>
                ))}
              </tbody>
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
  useEffect(() => {
    if (f && !d.current?.open) d.current?.showModal();
    if (!f && d.current?.open) d.current.close();
  }, [why.value]);
  const b = f?.basis;
  return (
    <dialog ref={d} aria-labelledby="why-title" onClose={() => { why.value = ''; }} onClick={(e) => { if (e.target === d.current) d.current?.close(); }}>
      {f && (
        <div class="why">
          <header><h2 id="why-title">{f.title}</h2><button type="button" onClick={() => d.current?.close()}>Close</button></header>
          <p class="big">{f.text}{f.range && <span class="soft"> {f.range} in eight lamps of ten</span>}</p>
          {rough.value && <p class="hint">The derivation is that of the values before; it follows in a moment.</p>}
          {b
            ? <dl>
                <dt>Formula</dt><dd><code>{b.formula}</code></dd>
                <dt>With numbers</dt><dd>{b.numbers}</dd>
                {(b.inputs ?? []).length > 0 && <>
                  <dt>Inputs</dt>
                  <dd><ul>{b.inputs!.map((i) => (
                    <li><b>{i.name}</b> = {i.value}
                      <span class="soft">{i.source ? ` — ${i.source}` : ''}{i.at?.line > 0 && <> (<Line at={i.at} />)</>}</span>
                      {i.figure && figure(i.figure) && <> <Why of={i.figure}>why</Why></>}
                    </li>
                  ))}</ul></dd>
                </>}
                <dt>Method</dt><dd>{b.method}</dd>
                <dt>Valid</dt><dd>{b.valid}</dd>
                {(b.notes ?? []).length > 0 && <><dt>Notes</dt><dd><ul>{b.notes!.map((n) => <li>{n}</li>)}</ul></dd></>}
              </dl>
            : <p class="empty">Its derivation is on the way.</p>}
          <p class="soft"><code>lampwright explain {f.key}</code></p>
        </div>
      )}
    </dialog>
  );
}
