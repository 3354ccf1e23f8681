// A curve of a part: its points as a table with a chart beside it; points are added and taken away like any value.
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { Chart } from './chart';
import { fileLink } from './parts';
import { beneath, Key, Part, Value } from './shelf';
import { gone, trial, tryValue } from './store';

interface Point { x: string; path: string; stands: string; text: string; gone: boolean }

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/** read takes a quantity apart: its number, and its unit. */
const read = (text: string) => {
  const m = /^\s*([-+−]?[\d.]+(?:e[-+]?\d+)?)\s*(.*?)\s*(?:±.*)?$/i.exec(text);
  return m ? { n: Number(m[1]!.replace('−', '-')), unit: m[2]! } : null;
};
const factors: Record<string, number> = { m: 1e-3, µ: 1e-6, μ: 1e-6, k: 1e3 };
const plain = new Set(['A', 'V', 'W', 'm', 'Ω', 'lm', 'Hz', 's']);

/** column reads quantities of one unit, or of one with and without m, µ or k before it; null where they cannot be put on one axis. */
function column(texts: string[]): { unit: string; values: number[] } | null {
  const all = texts.map(read);
  if (all.length === 0 || all.some((q) => !q || !Number.isFinite(q.n))) return null;
  const units = [...new Set(all.map((q) => q!.unit))];
  if (units.length === 1) return { unit: units[0]!, values: all.map((q) => q!.n) };
  const base = units.map((u) => (plain.has(u.slice(1)) && u[0]! in factors ? u.slice(1) : u));
  if (new Set(base).size > 1) return null;
  return { unit: base[0]!, values: all.map((q) => (q!.unit === base[0] ? q!.n : q!.n * factors[q!.unit[0]!]!)) };
}

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
          <thead><tr><th scope="col">{kx}</th><th scope="col">{ky}</th><th scope="col"><span class="hidden">take away</span></th></tr></thead>
          <tbody>
            {points.map((q) => (
              <tr key={q.path} class={q.gone ? 'gone' : ''}>
                <th scope="row">{q.x}</th>
                <td>{q.gone ? <s>{q.stands}</s> : <Value path={q.path} label={`${k.key} at ${q.x}`} hidden stands={q.stands} />}</td>
                <td>{q.gone
                  ? <button type="button" class="link" onClick={() => tryValue(q.path, q.stands)}>put back<span class="hidden"> the point at {q.x}</span></button>
                  : <button type="button" class="link" onClick={() => tryValue(q.path, q.stands === '' ? '' : gone)}>take away<span class="hidden"> the point at {q.x}</span></button>}</td>
              </tr>
            ))}
            <tr class="more">
              <th scope="row"><label class="hidden" for={id + '-x'}>{k.key}, another point: {kx}</label><input id={id + '-x'} type="text" autocomplete="off" spellcheck={false} value={x} placeholder={X ? `another, ${X.unit}` : kx} onInput={(e) => setX(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} /></th>
              <td><label class="hidden" for={id + '-y'}>{k.key}, another point: {ky}</label><input id={id + '-y'} type="text" autocomplete="off" spellcheck={false} value={y} placeholder={Y?.unit || ky} onInput={(e) => setY(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter') add(); }} /></td>
              <td><button type="button" disabled={x.trim() === '' || y.trim() === ''} onClick={add}>Add<span class="hidden"> a point to {k.key}</span></button></td>
            </tr>
          </tbody>
        </table>
        {values.length === 0 && <p class="hint">not stated. Add two points at least, or write it in <a href={fileLink(p.file, p.line)}>the text</a>.</p>}
        {others.map((v) => <Value key={v.path} path={at(v.path)} label={v.path.slice(k.key.length + 1)} stands={v.text} />)}
      </div>
      {X && Y && drawn.length > 1 && X.values.every((v, i) => i === 0 || v > X.values[i - 1]!) && (
        <Chart label={`${k.key}: ${ky} against ${kx}; the table beside it holds the same`} x={X.values} xLabel={[kx, X.unit].filter(Boolean).join(', ')} yLabel={[ky, Y.unit].filter(Boolean).join(', ')} height={200}
          series={[{ name: k.key, colour: css('--lw-within'), y: Y.values }]} marks={X.values.map((v, i) => ({ x: v, y: Y.values[i]!, name: '', colour: css('--lw-within') }))} />
      )}
    </div>
  );
}
