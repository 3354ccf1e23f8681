// A curve of a part: its points as a table with a chart beside it; points are added and taken away like any value. A curve that
// was read off a diagram is tried as a whole, with its source.
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { Chart } from './chart';
import { Digitise } from './digitised';
import { fileLink, problemAt } from './pieces';
import { Key } from './api';
import { beneath } from './keytree';
import { gone } from './marked';
import { EditedPart } from './newpart';
import { column } from './quantities';
import { names, tryCurve } from './tables';
import { Value } from './value';
import { trial, tryValue } from './store';
import { triedYAML, Yaml } from './yaml';

interface Point { x: string; path: string; stands: string; text: string; gone: boolean }

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/** wholeOf is a curve that is tried as a whole. */
function wholeOf(tried: string | undefined): { points: [string, string][]; source: string } | null {
  const v = triedYAML(tried);
  if (v === null || typeof v === 'string' || Array.isArray(v)) return null;
  const table = (v.points ?? v) as Record<string, Yaml>;
  return { points: Object.entries(table).map(([x, y]) => [x, String(y)]), source: typeof v.source === 'string' ? v.source : '' };
}

/** sorted puts points in the order of x, where all of them can be read. */
function sorted<T extends { x: string }>(points: T[]): T[] {
  const xs = column(points.map((q) => q.x));
  if (!xs) return points;
  const order = new Map(points.map((q, i) => [q, xs.values[i]!]));
  return [...points].sort((a, b) => order.get(a)! - order.get(b)!);
}

/** Drawn is the chart of a curve. */
function Drawn({ k, points }: { k: Key; points: { x: string; y: string }[] }) {
  const X = column(points.map((q) => q.x)), Y = column(points.map((q) => q.y));
  if (!X || !Y || points.length < 2 || !X.values.every((v, i) => i === 0 || v > X.values[i - 1]!)) return null;
  const [kx, ky] = names(k);
  return (
    <Chart label={`${k.key}: ${ky} vs. ${kx}; same values in the table beside it`} x={X.values} xLabel={[kx, X.unit].filter(Boolean).join(', ')} yLabel={[ky, Y.unit].filter(Boolean).join(', ')} height={200}
      series={[{ name: k.key, colour: css('--lw-within'), y: Y.values }]} marks={X.values.map((v, i) => ({ x: v, y: Y.values[i]!, name: '', colour: css('--lw-within') }))} />
  );
}

/** More is the row of a table that adds a point. */
function More({ id, k, hint, add }: { id: string; k: Key; hint: [string, string]; add: (x: string, y: string) => void }) {
  const [kx, ky] = names(k);
  const [x, setX] = useState(''), [y, setY] = useState('');
  const put = () => {
    if (x.trim() === '' || y.trim() === '') return;
    add(x.trim(), y.trim());
    setX('');
    setY('');
  };
  const enter = (e: KeyboardEvent) => { if (e.key === 'Enter') put(); };
  return (
    <tr class="more">
      <th scope="row"><label class="hidden" for={id + '-x'}>{k.key}, new point: {kx}</label><input id={id + '-x'} type="text" autocomplete="off" spellcheck={false} value={x} placeholder={hint[0]} onInput={(e) => setX(e.currentTarget.value)} onKeyDown={enter} /></th>
      <td><label class="hidden" for={id + '-y'}>{k.key}, new point: {ky}</label><input id={id + '-y'} type="text" autocomplete="off" spellcheck={false} value={y} placeholder={hint[1]} onInput={(e) => setY(e.currentTarget.value)} onKeyDown={enter} /></td>
      <td><button type="button" disabled={x.trim() === '' || y.trim() === ''} onClick={put}>Add<span class="hidden"> a point to {k.key}</span></button></td>
    </tr>
  );
}

const Head = ({ k }: { k: Key }) => <thead><tr>{names(k).map((n) => <th scope="col">{n}</th>)}<th scope="col"><span class="hidden">remove</span></th></tr></thead>;

/** Whole is a curve that is tried as a whole. */
function Whole({ k, p, path, of, stated }: { k: Key; p: EditedPart; path: string; of: { points: [string, string][]; source: string }; stated: number }) {
  const put = (points: [string, string][], source = of.source) => tryCurve(path, sorted(points.map(([x, y]) => ({ x, y }))).map((q) => [q.x, q.y]), source);
  const wrong = useComputed(() => problemAt(path)).value;
  const id = 'c-' + path.replace(/\W+/g, '-');
  const unit = (i: 0 | 1) => column(of.points.map((q) => q[i]))?.unit;
  return (
    <div class="curve">
      <div class="value changed">
        <table class="points">
          <Head k={k} />
          <tbody>
            {of.points.map(([x, y], i) => (
              <tr key={x}>
                <th scope="row">{x}</th>
                <td><Value path={`${path}[${x}]`} label={`${k.key} at ${x}`} hidden stands={y} fresh shown={y} put={(t) => put(of.points.map((q, j) => (j === i ? [q[0], t] : q)))} /></td>
                <td><button type="button" class="link" onClick={() => put(of.points.filter((_, j) => j !== i))}>Remove<span class="hidden"> the point at {x}</span></button></td>
              </tr>
            ))}
            <More id={id} k={k} hint={[unit(0) !== undefined ? `new, ${unit(0)}` : names(k)[0], unit(1) || names(k)[1]]} add={(x, y) => put([...of.points.filter((q) => q[0] !== x), [x, y]])} />
          </tbody>
        </table>
        <Value path={path + '.source'} label="source" stands="" fresh eg="datasheet W1, issue 3, page 4, figure 2" shown={of.source} put={(s) => put(of.points, s.trim())} />
        <p class="was">file: {stated === 0 ? 'not stated' : `${stated} points`} <button type="button" class="link" onClick={() => tryValue(path, '')}>Reset<span class="hidden"> {k.key}</span></button></p>
        {wrong && <p class="wrong" role="alert">{wrong}</p>}
        <Digitise k={k} p={p} />
      </div>
      <Drawn k={k} points={of.points.map(([x, y]) => ({ x, y }))} />
    </div>
  );
}

export function Curve({ k, p, values }: { k: Key; p: EditedPart; values: { path: string; text: string; line: number }[] }) {
  const at = (path: string) => `${p.file}#${p.path}.${path}`;
  // Points stand beneath the key itself, or beneath points where a source stands beside them.
  const root = values.some((v) => beneath(v.path, k.key + '.points')) ? k.key + '.points' : k.key;
  const single = values.find((v) => v.path === root);
  const others = values.filter((v) => !beneath(v.path, root));
  const key = (path: string) => path.slice(root.length).replace(/^\[(.*)\]$/, '$1').replace(/^\./, '');
  const entire = useComputed(() => trial.value[at(k.key)]).value;
  const tried = useComputed(() => JSON.stringify(Object.entries(trial.value).filter(([path]) => path.startsWith(at(root) + '[')))).value;
  const now = new Map(JSON.parse(tried) as [string, string][]);
  let points: Point[] = values.filter((v) => v !== single && beneath(v.path, root)).map((v) => {
    const text = now.get(at(v.path));
    return { x: key(v.path), path: at(v.path), stands: v.text, text: text === undefined || text === gone ? v.text : text, gone: text === gone };
  });
  const whole = wholeOf(entire);
  if (whole) return <Whole k={k} p={p} path={at(k.key)} of={whole} stated={points.length} />;
  for (const [path, text] of now) if (!points.some((q) => q.path === path)) points.push({ x: path.slice(at(root).length + 1, -1), path, stands: '', text, gone: false });
  points = sorted(points);
  const drawn = points.filter((q) => !q.gone);
  const unit = (texts: string[], other: string) => column(texts)?.unit || other;
  if (single) return <div class="values"><Value path={at(single.path)} label={k.key} hidden stands={single.text} /></div>; // no curve as it stands
  return (
    <div class="curve">
      <div>
        <table class="points">
          <Head k={k} />
          <tbody>
            {points.map((q) => (
              <tr key={q.path} class={q.gone ? 'gone' : ''}>
                <th scope="row">{q.x}</th>
                <td>{q.gone ? <s>{q.stands}</s> : <Value path={q.path} label={`${k.key} at ${q.x}`} hidden stands={q.stands} fresh={p.fresh} />}</td>
                <td>{q.gone
                  ? <button type="button" class="link" onClick={() => tryValue(q.path, q.stands)}>Reset<span class="hidden"> the point at {q.x}</span></button>
                  : <button type="button" class="link" onClick={() => tryValue(q.path, q.stands === '' ? '' : gone)}>Remove<span class="hidden"> the point at {q.x}</span></button>}</td>
              </tr>
            ))}
            <More id={'c-' + at(root).replace(/\W+/g, '-')} k={k} hint={[drawn.length > 0 ? `new, ${unit(drawn.map((q) => q.x), names(k)[0])}` : names(k)[0], unit(drawn.map((q) => q.text), names(k)[1])]} add={(x, y) => tryValue(`${at(root)}[${x}]`, y)} />
          </tbody>
        </table>
        {values.length === 0 && points.length === 0 && <p class="hint">{p.fresh ? 'Add at least two points' : <>Not stated. Add at least two points, or edit <a href={fileLink(p.file, p.line)}>the text</a></>}.</p>}
        {others.map((v) => <Value key={v.path} path={at(v.path)} label={v.path.slice(k.key.length + 1)} stands={v.text} />)}
        {drawn.length > 1 && others.length === 0 && <button type="button" class="link add-source" onClick={() => tryCurve(at(k.key), drawn.map((q) => [q.x, q.text]), 'datasheet')}>Add source<span class="hidden"> of {k.key}</span></button>}
        <Digitise k={k} p={p} />
      </div>
      <Drawn k={k} points={drawn.map((q) => ({ x: q.x, y: q.text }))} />
    </div>
  );
}
