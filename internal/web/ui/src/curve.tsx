// A curve of a part: its points as a table with a chart beside it; points are added and taken away like any value.
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { Chart } from './chart';
import { fileLink } from './pieces';
import { Key, Part } from './api';
import { column } from './quantities';
import { beneath, Value } from './value';
import { gone, trial, tryValue } from './store';

interface Point { x: string; path: string; stands: string; text: string; gone: boolean }

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

export function Curve({ k, p, values }: { k: Key; p: Part; values: { path: string; text: string; line: number }[] }) {
  const [kx, ky] = [k.x, k.y].map((n) => (n === 'none' ? 'number' : n === 'cct' ? 'colour temperature' : n ?? ''));
  const at = (path: string) => `${p.file}#${p.path}.${path}`;
  // Points stand beneath the key itself, or beneath points where a source stands beside them.
  const root = values.some((v) => beneath(v.path, k.key + '.points')) ? k.key + '.points' : k.key;
  const whole = values.find((v) => v.path === root);
  const others = values.filter((v) => !beneath(v.path, root));
  const key = (path: string) => path.slice(root.length).replace(/^\[(.*)\]$/, '$1').replace(/^\./, '');
  const tried = useComputed(() => JSON.stringify(Object.entries(trial.value).filter(([path]) => path.startsWith(at(root) + '[')))).value;
  const now = new Map(JSON.parse(tried) as [string, string][]);
  const points: Point[] = values.filter((v) => v !== whole && beneath(v.path, root)).map((v) => {
    const text = now.get(at(v.path));
    return { x: key(v.path), path: at(v.path), stands: v.text, text: text === undefined || text === gone ? v.text : text, gone: text === gone };
  });
  for (const [path, text] of now) if (!points.some((q) => q.path === path)) points.push({ x: path.slice(at(root).length + 1, -1), path, stands: '', text, gone: false });
  const xs = column(points.map((q) => q.x));
  if (xs) { const order = new Map(points.map((q, i) => [q, xs.values[i]!])); points.sort((a, b) => order.get(a)! - order.get(b)!); }
  const drawn = points.filter((q) => !q.gone);
  const X = column(drawn.map((q) => q.x)), Y = column(drawn.map((q) => q.text));
  const [x, setX] = useState(''), [y, setY] = useState('');
  const add = () => {
    if (x.trim() === '' || y.trim() === '') return;
    tryValue(`${at(root)}[${x.trim()}]`, y);
    setX('');
    setY('');
  };
  const id = 'c-' + at(root).replace(/\W+/g, '-');
  if (whole) return <div class="values"><Value path={at(whole.path)} label={k.key} hidden stands={whole.text} /></div>; // no curve as it stands
  return (
    <div class="curve">
      <div>
        <table class="points">
          <thead><tr><th scope="col">{kx}</th><th scope="col">{ky}</th><th scope="col"><span class="hidden">remove</span></th></tr></thead>
          <tbody>
            {points.map((q) => (
              <tr key={q.path} class={q.gone ? 'gone' : ''}>
                <th scope="row">{q.x}</th>
                <td>{q.gone ? <s>{q.stands}</s> : <Value path={q.path} label={`${k.key} at ${q.x}`} hidden stands={q.stands} />}</td>
                <td>{q.gone
                  ? <button type="button" class="link" onClick={() => tryValue(q.path, q.stands)}>Reset<span class="hidden"> the point at {q.x}</span></button>
                  : <button type="button" class="link" onClick={() => tryValue(q.path, q.stands === '' ? '' : gone)}>Remove<span class="hidden"> the point at {q.x}</span></button>}</td>
              </tr>
            ))}
            <tr class="more">
              <th scope="row"><label class="hidden" for={id + '-x'}>{k.key}, new point: {kx}</label><input id={id + '-x'} type="text" autocomplete="off" spellcheck={false} value={x} placeholder={X ? `new, ${X.unit}` : kx} onInput={(e) => setX(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} /></th>
              <td><label class="hidden" for={id + '-y'}>{k.key}, new point: {ky}</label><input id={id + '-y'} type="text" autocomplete="off" spellcheck={false} value={y} placeholder={Y?.unit || ky} onInput={(e) => setY(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} /></td>
              <td><button type="button" disabled={x.trim() === '' || y.trim() === ''} onClick={add}>Add<span class="hidden"> a point to {k.key}</span></button></td>
            </tr>
          </tbody>
        </table>
        {values.length === 0 && <p class="hint">Not stated. Add at least two points, or edit <a href={fileLink(p.file, p.line)}>the text</a>.</p>}
        {others.map((v) => <Value key={v.path} path={at(v.path)} label={v.path.slice(k.key.length + 1)} stands={v.text} />)}
      </div>
      {X && Y && drawn.length > 1 && X.values.every((v, i) => i === 0 || v > X.values[i - 1]!) && (
        <Chart label={`${k.key}: ${ky} vs. ${kx}; same values in the table beside it`} x={X.values} xLabel={[kx, X.unit].filter(Boolean).join(', ')} yLabel={[ky, Y.unit].filter(Boolean).join(', ')} height={200}
          series={[{ name: k.key, colour: css('--lw-within'), y: Y.values }]} marks={X.values.map((v, i) => ({ x: v, y: Y.values[i]!, name: '', colour: css('--lw-within') }))} />
      )}
    </div>
  );
}
