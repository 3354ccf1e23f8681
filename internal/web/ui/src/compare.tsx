import { useEffect, useState } from 'preact/hooks';
import { Failed, get, Lamp, post } from './api';
import { Sign, Table, words } from './parts';
import { lamp, sentence, state, write } from './store';

interface Saved { name: string; when: string }

export function CompareView() {
  const [list, setList] = useState<Saved[] | null>(null);
  const [other, setOther] = useState<{ name: string; text: string; lamp: Lamp } | null>(null);
  const [busy, setBusy] = useState('');
  const [wrong, setWrong] = useState('');
  const [onlyChanged, setOnlyChanged] = useState(true);
  const hash = state.value?.hash;
  useEffect(() => { get<Saved[]>('/api/versions').then(setList, () => setWrong('The list of snapshots cannot be read.')); }, [hash]);
  const open = async (name: string) => {
    setBusy(name);
    setWrong('');
    try {
      setOther({ name, ...(await post<{ text: string; lamp: Lamp }>('/api/compare', { name })) });
    } catch (e) {
      setWrong(e instanceof Failed ? sentence(e.problems[0]?.msg ?? e.message) : 'It could not be computed.');
    } finally {
      setBusy('');
    }
  };
  const when = (v: Saved) => (v.when ? new Date(v.when).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'medium' }) : v.name);
  const l = lamp.value!;
  const theirs = new Map(other?.lamp.figures.map((f) => [f.key, f]) ?? []);
  const key = (f: { check: string; subject: string; title: string }) => f.check + '|' + f.subject;
  const bad = (x: Lamp) => (x.findings ?? []).filter((f) => f.severity === 'stop' || f.severity === 'warn' || f.severity === 'ask');
  const gone = other ? bad(other.lamp).filter((f) => !bad(l).some((g) => key(g) === key(f))) : [];
  const come = other ? bad(l).filter((f) => !bad(other.lamp).some((g) => key(g) === key(f))) : [];
  const rows = other ? l.figures.filter((f) => !onlyChanged || theirs.get(f.key)?.text !== f.text) : [];
  return (
    <>
      <section class="card">
        <h2>Snapshots</h2>
        <p class="hint">One is taken before each burst of changes, and of what another program overwrote. They stand in the project folder under .lampwright-cache.</p>
        {wrong && <p class="wrong" role="alert">{wrong}</p>}
        {list === null && !wrong && <p role="status">Reading…</p>}
        {list?.length === 0 && <p class="empty">None yet. The first change that you write takes one of what stood before.</p>}
        {list && list.length > 0 && (
          <ul class="versions">{list.slice(0, 30).map((v) => (
            <li><span>{when(v)}</span><button type="button" aria-pressed={other?.name === v.name} disabled={busy !== ''} onClick={() => void open(v.name)}>{busy === v.name ? 'Computing…' : 'Compare'}</button></li>
          ))}</ul>
        )}
      </section>
      {other && (
        <>
          <section class="card">
            <h2>Findings</h2>
            {gone.length + come.length === 0 && <p>The same checks speak in both.</p>}
            {gone.length > 0 && <><h3>In the snapshot only</h3><ul class="plain">{gone.map((f) => <li><Sign of={f.severity} /> {words[f.severity]}: {f.title}</li>)}</ul></>}
            {come.length > 0 && <><h3>Now only</h3><ul class="plain">{come.map((f) => <li><Sign of={f.severity} /> {words[f.severity]}: {f.title}</li>)}</ul></>}
          </section>
          <section class="card">
            <h2>Figures</h2>
            <p><label><input type="checkbox" checked={onlyChanged} onChange={(e) => setOnlyChanged(e.currentTarget.checked)} /> only those that differ</label></p>
            {rows.length === 0 ? <p class="empty">No figure differs.</p> : <Table caption="Figures, snapshot and now" head={['figure', 'snapshot', 'now']} rows={rows.map((f) => [f.title, theirs.get(f.key)?.text ?? '–', <strong>{f.text}</strong>])} />}
            <p><button type="button" onClick={() => void write('/api/save', { text: other.text }, 'The snapshot is the file again; undo takes it back.')}>Bring this snapshot back</button></p>
          </section>
        </>
      )}
    </>
  );
}
