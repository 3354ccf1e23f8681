// One reading at a time: the state of the lamp, a large field with its unit, what is expected, and the verdict while it is typed.
import { useEffect, useRef, useState } from 'preact/hooks';
import { BenchPoint, BenchReading } from './api';
import { clock, numberIn, signOf, spanOf, worst } from './benchedit';
import { at, bench, benchOld, doubt, draftOf, drafts, forget, live, reading, removeReading, removeValue, said, save, set, stateKey, type } from './benchstate';
import { Sign } from './pieces';
import { saving, state, undo } from './store';

/** Spanned draws a reading beside the range in which it agrees. */
export function Spanned({ p, draft }: { p: BenchPoint; draft?: boolean }) {
  const s = spanOf(p), sign = signOf(p);
  return (
    <span class={`limitbar span ${draft ? 'tried ' : ''}${sign === 'stop' || sign === 'warn' ? sign : ''}`} aria-hidden="true">
      <i class="band low high" style={{ left: `${s.band[0]}%`, width: `${s.band[1] - s.band[0]}%` }} />
      {s.meter && <i class="range" style={{ left: `${s.meter[0]}%`, width: `${s.meter[1] - s.meter[0]}%` }} />}
      {s.read !== null && <i class="needle" style={{ left: `${s.read}%` }} />}
    </span>
  );
}

/** Timer counts from when the lamp was set to its state, to when it is steady, or to the time at which readings are made. */
function Timer({ since, target, steady }: { since: number; target: number; steady: boolean }) {
  const [now, tick] = useState(Date.now());
  useEffect(() => { const t = window.setInterval(() => tick(Date.now()), 1000); return () => window.clearInterval(t); }, []);
  const past = Math.max(0, (now - since) / 1000), left = target - past;
  return (
    <span class="benchtimer" role="timer">
      <b>{clock(past)}</b>
      {target > 0 && <progress max={target} value={Math.min(past, target)} aria-label="Time until the lamp is steady" />}
      <span>{target <= 0 ? 'since it was set' : left > 0 ? `${steady ? 'steady' : 'read'} in ${clock(left)}` : steady ? 'steady: read now' : 'read now'}</span>
    </span>
  );
}

/** LampState is the state that the lamp must be in; it is large until the person has set it. */
function LampState({ r }: { r: BenchReading }) {
  const b = bench.value!, s = b.campaigns[r.campaign]?.states[r.state], key = stateKey(r);
  if (!s) return null;
  const there = set.value?.key === key, target = s.after_s > 0 ? s.after_s : s.steady ? b.ready_s : 0;
  return (
    <div class={there ? 'benchlamp there' : 'benchlamp'} role="group" aria-label="State of the lamp">
      <p class="benchsays" role="status">{!there && <span class="soft">Set the lamp</span>}<b>{s.says}</b>{s.rest.length > 0 && <span>{there ? '; ' : ''}{s.rest.join(', ')}</span>}</p>
      {there ? <Timer since={set.value!.since} target={target} steady={s.steady} /> : <button type="button" onClick={() => { set.value = { key, since: Date.now() }; document.getElementById('bench-value')?.focus(); }}>{target > 0 ? 'It is set; start the timer' : 'It is set'}</button>}
    </div>
  );
}

/** Verdict is the verdict in a word, with its sign, and a sentence. */
function Verdict({ p, old }: { p: BenchPoint; old: boolean }) {
  const sign = signOf(p);
  return (
    <div class={`benchverdict ${sign ?? ''}${old ? ' old' : ''}`}>
      {sign && <Sign of={sign} />}
      <p><b>{p.verdict.charAt(0).toUpperCase() + p.verdict.slice(1)}</b>{p.says && <>: {p.says}</>}</p>
    </div>
  );
}

/** Field is the value of a reading, as it is typed. */
function Field({ r, next }: { r: BenchReading; next: () => void }) {
  const typed = drafts.value[r.path], d = draftOf(r), l = live.value?.path === r.path && d?.text === live.value.text ? live.value : null;
  const wrong = d?.wrong || l?.wrong || '', p = (l?.reading ?? r).points[0];
  const keep = async () => { if (await save(r)) next(); };
  const notes = [d?.said, ...(l?.doubts ?? bench.value!.doubts.filter((x) => x.at.path.startsWith(r.path + '.') || x.at.path === r.path)).map((x) => x.msg + (x.hint ? '; ' + x.hint : ''))].filter(Boolean);
  return (
    <>
      <div class={d ? 'benchfield changed' : 'benchfield'}>
        <input id="bench-value" type="text" inputMode="decimal" enterkeyhint="next" autocomplete="off" spellcheck={false} value={typed ?? numberIn(r.value, r.unit)} aria-label={`${r.what}, ${r.where}, in ${r.unit}`} aria-invalid={wrong !== ''} aria-describedby="bench-expected bench-said"
          onInput={(e) => type(r, e.currentTarget.value)} onFocus={(e) => e.currentTarget.select()}
          onKeyDown={(e) => {
            if (e.key === 'Enter') { e.preventDefault(); void keep(); }
            if (e.key === 'Escape') forget(r);
            if (e.key === 'PageDown' || e.key === 'PageUp') { e.preventDefault(); go(e.key === 'PageDown' ? 1 : -1); }
          }} />
        <span class="unit">{r.unit}</span>
      </div>
      {p && <><p class="benchexpected" id="bench-expected"><span class="soft">Expected</span> <b>{p.expected}</b><span class="soft">, agrees within</span> {p.range}</p><Spanned p={d && !l ? { ...p, pending: true } : p} draft={d !== null} /></>}
      <div id="bench-said" role="status" class="benchsaid">
        {wrong !== '' ? <p class="wrong">{wrong}</p> : p && !p.pending && (!d || l) ? <Verdict p={p} old={benchOld.value && !l} /> : null}
        {notes.map((n) => <p class="doubt">{n}</p>)}
        {d && r.value !== '' && <p class="soft">In the file: {r.value}</p>}
        {said.value !== '' && !d && <p class="saved">{said.value}{state.value?.can_undo && <> <button type="button" class="link" onClick={() => void undo().then(() => { said.value = 'Undone.'; })}>Undo</button></>}</p>}
      </div>
      <div class="benchdeeds">
        <button type="button" disabled={at.value === 0} onClick={() => go(-1)}>Previous</button>
        <button type="button" class="main" disabled={saving.value || wrong !== ''} onClick={() => void keep()}>{d && d.text !== '' ? 'Save, next' : 'Next'}</button>
      </div>
    </>
  );
}

/** go shows another reading. */
export function go(by: number) {
  const n = bench.value?.readings.length ?? 0;
  at.value = Math.min(n - 1, Math.max(0, at.value + by));
  requestAnimationFrame(() => document.getElementById('bench-value')?.focus());
}

/** More is what is seldom done with a reading. */
const More = ({ r }: { r: BenchReading }) => (
  <p class="benchmore">
    <button type="button" aria-pressed={r.doubted} disabled={saving.value} onClick={() => void doubt(r)}>Doubted: keep, do not use</button>
    {r.typed && r.value !== '' && <button type="button" disabled={saving.value} onClick={() => { forget(r); void removeValue(r); }}>Remove value</button>}
    <button type="button" disabled={saving.value} onClick={() => { forget(r); void removeReading(r); }}>Delete reading</button>
  </p>
);

/** Series is a reading of several values; they are typed in the file. */
function Series({ r }: { r: BenchReading }) {
  const p = worst(r.points), off = r.points.filter((x) => x.verdict === 'differs' || x.verdict === 'questionable').length;
  return (
    <>
      <p>{r.points.length} values by {r.by === 'at' ? 'place' : r.by}; {off === 0 ? 'none is questionable' : `${off} questionable or different`}. They are typed in <a href="#/file:readings.yaml">readings.yaml</a>.</p>
      {p && <Verdict p={p} old={benchOld.value} />}
      <div class="benchdeeds"><button type="button" disabled={at.value === 0} onClick={() => go(-1)}>Previous</button><button type="button" class="main" onClick={() => go(1)}>Next</button></div>
    </>
  );
}

/** Card is the reading that is shown. */
export function Card() {
  const r = reading.value, b = bench.value!, box = useRef<HTMLElement>(null);
  if (!r) return null;
  const n = b.readings.length, left = b.readings.filter((x) => x.typed && x.value === '').length;
  return (
    <section class="benchcard" ref={box} aria-labelledby="bench-what">
      <p class="soft">Reading {Math.min(at.value, n - 1) + 1} of {n}{b.campaigns.length > 1 && `, ${b.campaigns[r.campaign]?.name}`}; {left === 0 ? 'all are read' : `${left} still to be read`}</p>
      <h3 id="bench-what">{r.what.charAt(0).toUpperCase() + r.what.slice(1)}{r.where && <span>{r.where}</span>}</h3>
      <LampState r={r} />
      {r.typed ? <Field key={r.path} r={r} next={() => go(1)} /> : <Series r={r} />}
      <p class="benchfacts">{r.instrument && <span><span class="soft">Instrument</span> {r.instrument}</span>}<span><span class="soft">Reading</span> {r.label}</span>{r.note && <span>{r.note}</span>}{r.doubted && <b>doubted: not used</b>}</p>
      <More r={r} />
    </section>
  );
}
