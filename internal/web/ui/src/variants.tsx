// The variants of the folder side by side, as their files have them.
import { signal } from '@preact/signals';
import { Failed, post, Variant } from './api';
import { shortRange } from './format';
import { Sign, TaskProgress } from './pieces';
import { sentence, state, trying } from './store';

const found = signal<{ hash: string; list: Variant[] } | null>(null);
const busy = signal(false), wrong = signal('');
let asking: AbortController | null = null;

async function ask() {
  asking?.abort();
  const mine = asking = new AbortController(), hash = state.value?.hash ?? '';
  busy.value = true;
  wrong.value = '';
  try {
    const list = await post<Variant[]>('/api/variants', {}, mine.signal);
    if (asking === mine) found.value = { hash, list };
  } catch (e) {
    if (asking === mine) wrong.value = mine.signal.aborted ? 'Stopped.' : e instanceof Failed ? sentence(e.message) : 'The program does not answer.';
  }
  if (asking === mine) busy.value = false;
}

/** VariantsCard compares the designs of the folder. */
export function VariantsCard() {
  const got = found.value, list = got?.list ?? [];
  const titles = new Map(list.flatMap((v) => v.figures).map((f) => [f.key, f.title]));
  return (
    <section class="card">
      <h2>Variants <small>designs in this folder, as saved</small></h2>
      {got && got.hash !== state.value?.hash && <p class="stale-note">Outdated: the design has changed since.</p>}
      {list.length === 1 && <p class="empty">There is one design in this folder. <b>Projects</b>, <b>Duplicate</b> makes a variant of it.</p>}
      {list.length > 1 && (
        <div class="scroll" role="region" aria-label="Variants" tabIndex={0}>
          <table class="abreast">
            <caption class="hidden">Variants of the design</caption>
            <thead><tr><th scope="col">result</th>{list.map((v) => <th scope="col"><a href={`/?project=${v.id}#/compare`}>{v.name}</a><span class="range">{v.file}</span></th>)}</tr></thead>
            <tbody>
              <tr><th scope="row">findings</th>{list.map((v) => <td>{v.wrong ? <span class="wrong">{v.wrong}</span> : (['stop', 'warn', 'ask'] as const).map((s) => <span class="count"><Sign of={s} /> {v.counts[s] ?? 0} </span>)}</td>)}</tr>
              {[...titles].map(([key, title]) => <tr><th scope="row">{title}</th>{list.map((v) => { const f = v.figures.find((x) => x.key === key); return <td>{f ? <><b>{f.text}</b>{f.range !== f.text && <span class="range">{shortRange(f.range)}</span>}</> : '–'}</td>; })}</tr>)}
              <tr><th scope="row">differs from {state.value?.file}</th>{list.map((v) => <td class="said">{v.file === state.value?.file ? '–' : <ul class="plain">{v.differs.map((d) => <li>{d}</li>)}{v.more > 0 && <li>and {v.more} more</li>}</ul>}</td>)}</tr>
            </tbody>
          </table>
        </div>
      )}
      <p class="actions">
        {busy.value ? <><TaskProgress of="variants" label="Computing variants" /> <button type="button" onClick={() => asking?.abort()}>Stop</button></>
          : <button type="button" onClick={() => void ask()}>{got ? 'Compute again' : 'Compute variants'}</button>}
        {trying.value && <span class="soft">without the unsaved changes</span>}
      </p>
      {wrong.value && <p class="wrong" role="alert">{wrong.value}</p>}
    </section>
  );
}
