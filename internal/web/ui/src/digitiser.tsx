// The digitiser: points are set on the picture of a diagram, by pointer or by keyboard, and become a table with its source.
import { effect, signal } from '@preact/signals';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Key, post, TableDoubt, TableDoubts } from './api';
import { Axis, AxisPoint, calibrate, Calibration, colourOf, Image, paperOf, Pixel, Scale, tabulate, thinned, trace, valueAt } from './digitise';
import { EditedPart } from './newpart';
import { head, notPicture, pictureOf, tooLarge, workSide } from './picture';
import { trial } from './store';
import { names, session, tryCurve } from './tables';

/** Model is what has been set on a picture; each change is a step that can be undone. */
interface Model { across: boolean; h: Axis; v: Axis; units: [string, string]; points: Pixel[] }
interface Sheet { document: string; page: string; figure: string; stated: string }

/** active is the point that the next click sets: of an axis, or of the curve. */
interface Active { axis: 'h' | 'v' | 'curve'; index: number }

const blank = (k: Key): Model => ({
  across: false, units: [k.x_units?.[0] ?? '', k.units?.[0] ?? ''],
  h: { name: 'horizontal', scale: 'linear', points: [] }, v: { name: 'vertical', scale: 'linear', points: [] }, points: [],
});

// All of this outlives the view, so that a look at another view loses nothing.
const of = signal('');
const model = signal<Model | null>(null);
const past = signal<Model[]>([]);
const sheet = signal<Sheet>({ document: '', page: '', figure: '', stated: '' });
const active = signal<Active>({ axis: 'h', index: 0 });
const picture = signal<{ name: string; canvas: HTMLCanvasElement; reduced: number } | null>(null);
const cursor = signal<Pixel>({ px: 0, py: 0 });
const view = signal({ scale: 1, x: 0, y: 0 }); // screen = scale · pixel + (x, y)
const wrong = signal('');
const reading = signal(false);
const told = signal(''); // what the last key or click did
let image: Image | null = null;

const change = (next: Partial<Model>) => {
  past.value = [...past.value.slice(-199), model.value!];
  model.value = { ...model.value!, ...next };
};
const back = () => {
  const before = past.value.at(-1);
  if (!before) return;
  past.value = past.value.slice(0, -1);
  model.value = before;
  told.value = 'last step undone';
};

/** read takes a picture of bounded size. */
async function read(f: File) {
  wrong.value = '';
  reading.value = true;
  try {
    const start = await head(f), p = pictureOf(start);
    if (!p) { wrong.value = notPicture(f, start); return; }
    wrong.value = tooLarge(p, f.size);
    if (wrong.value !== '') return;
    const reduced = Math.min(1, workSide / Math.max(p.width, p.height));
    const size = reduced < 1 ? { resizeWidth: Math.max(1, Math.round(p.width * reduced)), resizeHeight: Math.max(1, Math.round(p.height * reduced)), resizeQuality: 'high' as const } : {};
    const bitmap = await createImageBitmap(f, size);
    const canvas = document.createElement('canvas');
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
    const g = canvas.getContext('2d', { willReadFrequently: true })!;
    g.fillStyle = '#fff'; // paper behind a picture that lets it through
    g.fillRect(0, 0, canvas.width, canvas.height);
    g.drawImage(bitmap, 0, 0);
    bitmap.close();
    image = null;
    picture.value = { name: f.name, canvas, reduced };
    cursor.value = { px: Math.round(canvas.width / 2), py: Math.round(canvas.height / 2) };
    if (sheet.value.figure === '' && sheet.value.document === '') sheet.value = { ...sheet.value };
    fitted = false;
  } catch {
    wrong.value = `${f.name} cannot be read as a picture; it is damaged or incomplete. Save it again, or take a screenshot of the diagram. Nothing was changed.`;
  } finally {
    reading.value = false;
  }
}
let fitted = false;

// A picture that was dropped on the part is read as soon as the digitiser is there.
effect(() => {
  const s = session.value;
  if (s?.picture) { const f = s.picture; session.value = { at: s.at, picture: null }; void read(f); }
});

/** pixels are those of the picture, read once. */
function pixels(): Image | null {
  const c = picture.value?.canvas;
  if (!c) return null;
  image ??= c.getContext('2d', { willReadFrequently: true })!.getImageData(0, 0, c.width, c.height);
  return image;
}

const calibration = () => { const m = model.value; return m ? calibrate(m.h, m.v) : ''; };

/** marks are all points on the picture, with their names. */
const marks = (m: Model) => [
  ...m.h.points.map((p, i) => ({ p: p as Pixel, axis: 'h' as const, index: i, name: `H${i + 1}` })),
  ...m.v.points.map((p, i) => ({ p: p as Pixel, axis: 'v' as const, index: i, name: `V${i + 1}` })),
  ...m.points.map((p, i) => ({ p, axis: 'curve' as const, index: i, name: String(i + 1) })),
];

/** next is the point that is set after one: the other one of the axis, the other axis, the curve. */
const next = (m: Model): Active => (m.h.points.length < 2 ? { axis: 'h', index: m.h.points.length } : m.v.points.length < 2 ? { axis: 'v', index: m.v.points.length } : { axis: 'curve', index: m.points.length });

/** set puts the active point at a pixel. */
function set(p: Pixel) {
  const m = model.value!, a = active.value;
  const at = <T extends Pixel>(list: T[], made: T): T[] => (a.index < list.length ? list.map((q, i) => (i === a.index ? { ...q, px: p.px, py: p.py } : q)) : [...list, made]);
  if (a.axis === 'curve') change({ points: at(m.points, p) });
  else change({ [a.axis]: { ...m[a.axis], points: at<AxisPoint>(m[a.axis].points, { ...p, text: '' }) } });
  const name = a.axis === 'curve' ? `point ${a.index + 1} of the curve` : `point ${a.index + 1} of the ${m[a.axis].name} axis`;
  told.value = `${name} set`;
  active.value = next(model.value!);
}

function remove(axis: 'h' | 'v' | 'curve', index: number) {
  const m = model.value!;
  if (axis === 'curve') change({ points: m.points.filter((_, i) => i !== index) });
  else change({ [axis]: { ...m[axis], points: m[axis].points.filter((_, i) => i !== index) } });
  told.value = 'point removed';
  active.value = next(model.value!);
}

/** nearest is the mark within a distance of a pixel. */
function nearest(p: Pixel, within: number) {
  let best: ReturnType<typeof marks>[number] | null = null, least = within;
  for (const k of marks(model.value!)) {
    const d = Math.hypot(k.p.px - p.px, k.p.py - p.py);
    if (d <= least) { least = d; best = k; }
  }
  return best;
}

const clamp = (p: Pixel): Pixel => { const c = picture.value!.canvas; return { px: Math.max(0, Math.min(c.width, p.px)), py: Math.max(0, Math.min(c.height, p.py)) }; };

/** follow traces the line between the first and the last point of the curve by its colour. */
function follow() {
  const m = model.value!, im = pixels();
  if (!im || m.points.length < 2) return;
  const paper = paperOf(im), out: Pixel[] = [];
  let lost = false;
  const line = colourOf(im, m.points[0]!, paper);
  for (let i = 1; i < m.points.length && !lost; i++) {
    const got = trace(im, m.points[i - 1]!, m.points[i]!, line, paper);
    lost = got.lost;
    out.push(...got.points);
  }
  if (out.length < 3) { told.value = ''; wrong.value = 'No line of that colour leads from the first point to the next. Set both exactly on the curve, or set more points between them.'; return; }
  wrong.value = lost ? 'The line is lost after a gap; what was followed stands in the table. Set more points and follow again.' : '';
  change({ points: thinned(out, 0.6, 40) });
  active.value = next(model.value!);
  told.value = `${model.value!.points.length} points along the curve`;
}

/** zoom changes the scale about a place of the screen. */
function zoom(factor: number, sx: number, sy: number) {
  const w = view.value, scale = Math.max(0.02, Math.min(40, w.scale * factor)), f = scale / w.scale;
  view.value = { scale, x: sx - (sx - w.x) * f, y: sy - (sy - w.y) * f };
}

/** draw draws the picture with all that is set on it. */
function draw(el: HTMLCanvasElement, style: CSSStyleDeclaration) {
  const ratio = Math.min(3, window.devicePixelRatio || 1), wide = el.clientWidth, high = el.clientHeight, pic = picture.value, m = model.value;
  if (el.width !== Math.round(wide * ratio) || el.height !== Math.round(high * ratio)) { el.width = Math.round(wide * ratio); el.height = Math.round(high * ratio); }
  const g = el.getContext('2d')!, colour = (name: string) => style.getPropertyValue(name).trim();
  g.setTransform(ratio, 0, 0, ratio, 0, 0);
  g.fillStyle = colour('--well');
  g.fillRect(0, 0, wide, high);
  if (!pic || !m) return;
  const { scale, x, y } = view.value;
  g.imageSmoothingEnabled = scale < 3;
  g.drawImage(pic.canvas, x, y, pic.canvas.width * scale, pic.canvas.height * scale);
  const on = (p: Pixel) => [scale * p.px + x, scale * p.py + y] as const;
  const line = (path: () => void, width: number, c: string) => { g.lineWidth = width + 2; g.strokeStyle = '#fff'; g.beginPath(); path(); g.stroke(); g.lineWidth = width; g.strokeStyle = c; g.beginPath(); path(); g.stroke(); };
  const write = (t: string, tx: number, ty: number, c: string) => { g.font = '600 12px system-ui, sans-serif'; g.lineWidth = 4; g.strokeStyle = '#fff'; g.strokeText(t, tx, ty); g.fillStyle = c; g.fillText(t, tx, ty); };
  const cal = calibration();
  if (typeof cal !== 'string' && m.points.length > 1) {
    const sorted = [...m.points].sort((a, b) => (m.across ? valueAt(cal, a).v - valueAt(cal, b).v : valueAt(cal, a).h - valueAt(cal, b).h));
    line(() => sorted.forEach((p, i) => { const [px, py] = on(p); if (i) g.lineTo(px, py); else g.moveTo(px, py); }), 1, '#a01440');
  }
  for (const k of marks(m)) {
    const [px, py] = on(k.p), ink = k.axis === 'curve' ? '#a01440' : '#14201d';
    if (k.axis === 'curve') line(() => g.arc(px, py, 4, 0, 7), 1.5, ink);
    else line(() => { g.moveTo(px - 9, py); g.lineTo(px + 9, py); g.moveTo(px, py - 9); g.lineTo(px, py + 9); }, 1.5, ink);
    if (k.axis !== 'curve' || m.points.length < 30) write(k.name, px + 7, py - 7, ink);
  }
  const [cx, cy] = on(cursor.value);
  line(() => { g.moveTo(cx - 16, cy); g.lineTo(cx - 4, cy); g.moveTo(cx + 4, cy); g.lineTo(cx + 16, cy); g.moveTo(cx, cy - 16); g.lineTo(cx, cy - 4); g.moveTo(cx, cy + 4); g.lineTo(cx, cy + 16); }, 1, '#14201d');
}

/** lens draws what is about the cursor, eight times as large. */
function lens(el: HTMLCanvasElement) {
  const g = el.getContext('2d')!, pic = picture.value, n = el.width, half = n / 16;
  g.fillStyle = '#fff';
  g.fillRect(0, 0, n, n);
  if (!pic) return;
  const { px, py } = cursor.value;
  g.imageSmoothingEnabled = false;
  g.drawImage(pic.canvas, px - half, py - half, 2 * half, 2 * half, 0, 0, n, n);
  g.strokeStyle = '#14201d';
  g.lineWidth = 1;
  g.beginPath();
  for (const [a, b] of [[0, n / 2 - 8], [n / 2 + 8, n]] as const) { g.moveTo(a, n / 2); g.lineTo(b, n / 2); g.moveTo(n / 2, a); g.lineTo(n / 2, b); }
  g.stroke();
}

const short = (v: number) => String(Number(v.toPrecision(4))).replace('-', '−');

/** readout is the values at the cursor. */
function readout(m: Model, cal: Calibration | string): string {
  const { px, py } = cursor.value, at = `x ${Math.round(px * 10) / 10}, y ${Math.round(py * 10) / 10} px`;
  if (typeof cal === 'string') return at;
  const v = valueAt(cal, cursor.value), [x, y] = m.across ? [v.v, v.h] : [v.h, v.v];
  return `${short(x)} ${m.units[0]}, ${short(y)} ${m.units[1]} (${at})`;
}

/** Stage is the picture, with pointer and keys. */
function Stage() {
  const box = useRef<HTMLCanvasElement>(null), loupe = useRef<HTMLCanvasElement>(null);
  const held = useRef<{ mark: ReturnType<typeof nearest>; x: number; y: number; moved: boolean } | null>(null);
  const fit = () => {
    const el = box.current, c = picture.value?.canvas;
    if (!el || !c) return;
    const scale = Math.min((el.clientWidth - 16) / c.width, (el.clientHeight - 16) / c.height);
    view.value = { scale, x: (el.clientWidth - c.width * scale) / 2, y: (el.clientHeight - c.height * scale) / 2 };
  };
  /** inside is where an event is within the border of the picture. */
  const inside = (e: MouseEvent) => { const el = box.current!, r = el.getBoundingClientRect(); return [e.clientX - r.left - el.clientLeft, e.clientY - r.top - el.clientTop] as const; };
  useEffect(() => {
    const el = box.current!;
    if (!fitted) { fit(); fitted = true; }
    const style = getComputedStyle(document.documentElement);
    let asked = 0;
    const again = () => { asked ||= requestAnimationFrame(() => { asked = 0; if (box.current) draw(box.current, style); if (loupe.current) lens(loupe.current); }); };
    const stop = effect(() => { void [picture.value, model.value, cursor.value, view.value, active.value]; again(); });
    const wheel = (e: WheelEvent) => { e.preventDefault(); zoom(Math.exp(-e.deltaY / 400), ...inside(e)); };
    el.addEventListener('wheel', wheel, { passive: false });
    const watch = new ResizeObserver(again);
    watch.observe(el);
    return () => { stop(); el.removeEventListener('wheel', wheel); watch.disconnect(); cancelAnimationFrame(asked); };
  }, [picture.value]);
  const at = (e: PointerEvent): Pixel => { const [x, y] = inside(e), w = view.value; return clamp({ px: (x - w.x) / w.scale, py: (y - w.y) / w.scale }); };
  /** shown brings the cursor into sight. */
  const shown = () => {
    const el = box.current!, w = view.value, sx = w.scale * cursor.value.px + w.x, sy = w.scale * cursor.value.py + w.y;
    const dx = sx < 20 ? 20 - sx : sx > el.clientWidth - 20 ? el.clientWidth - 20 - sx : 0, dy = sy < 20 ? 20 - sy : sy > el.clientHeight - 20 ? el.clientHeight - 20 - sy : 0;
    if (dx || dy) view.value = { ...w, x: w.x + dx, y: w.y + dy };
  };
  const step = (e: KeyboardEvent): boolean => {
    const by = e.shiftKey ? 10 : 1, move = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, -by], ArrowDown: [0, by] }[e.key];
    const middle = [box.current!.clientWidth / 2, box.current!.clientHeight / 2] as const;
    if (move && !e.ctrlKey && !e.altKey && !e.metaKey) cursor.value = clamp({ px: cursor.value.px + move[0]!, py: cursor.value.py + move[1]! });
    else if (e.key === 'Enter' || e.key === ' ') set(cursor.value);
    else if (e.key === 'Delete' || e.key === 'Backspace') { const m = nearest(cursor.value, 12 / view.value.scale + 1); if (m) remove(m.axis, m.index); }
    else if ((e.key === 'm' || e.key === 'M') && !e.ctrlKey) { const m = nearest(cursor.value, 12 / view.value.scale + 1); if (m) { active.value = { axis: m.axis, index: m.index }; told.value = `${m.name}: move it with the arrows, Enter sets it`; } }
    else if (e.key === '[' || e.key === ']') {
      const all = marks(model.value!), here = all.findIndex((k) => k.p.px === cursor.value.px && k.p.py === cursor.value.py), to = all.at(e.key === ']' ? (here + 1) % all.length : here - 1);
      if (to) { cursor.value = { px: to.p.px, py: to.p.py }; told.value = to.name; }
    } else if (e.key === '+' || e.key === '=') zoom(1.5, ...middle);
    else if (e.key === '-') zoom(1 / 1.5, ...middle);
    else if (e.key === '0') fit();
    else if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 'z' && !e.shiftKey) back();
    else return false;
    return true;
  };
  const cal = calibration(), m = model.value!;
  return (
    <div class="stage-of-picture">
      <canvas ref={box} class="diagram" style={{ aspectRatio: `${picture.value!.canvas.width} / ${picture.value!.canvas.height}` }} tabIndex={0} role="application" aria-label={`Diagram ${picture.value!.name}`} aria-describedby="digitiser-keys digitiser-at"
        onPointerDown={(e) => {
          if (e.button > 1) return;
          box.current!.focus({ preventScroll: true });
          box.current!.setPointerCapture(e.pointerId);
          held.current = { mark: e.button === 0 ? nearest(at(e), 8 / view.value.scale) : null, x: e.clientX, y: e.clientY, moved: false };
        }}
        onPointerMove={(e) => {
          const h = held.current;
          if (!h) { cursor.value = at(e); return; }
          if (!h.moved && Math.hypot(e.clientX - h.x, e.clientY - h.y) < 5) return;
          if (!h.moved && h.mark) { past.value = [...past.value.slice(-199), model.value!]; }
          h.moved = true;
          if (h.mark) {
            const p = at(e), now = model.value!, put = <T extends Pixel>(list: T[]) => list.map((q, i) => (i === h.mark!.index ? { ...q, ...p } : q));
            cursor.value = p;
            model.value = h.mark.axis === 'curve' ? { ...now, points: put(now.points) } : { ...now, [h.mark.axis]: { ...now[h.mark.axis], points: put(now[h.mark.axis].points) } };
          } else {
            view.value = { ...view.value, x: view.value.x + e.clientX - h.x, y: view.value.y + e.clientY - h.y };
            h.x = e.clientX;
            h.y = e.clientY;
          }
        }}
        onPointerUp={(e) => {
          const h = held.current;
          held.current = null;
          if (!h || h.moved || e.button !== 0) return;
          cursor.value = at(e);
          set(cursor.value);
        }}
        onPointerCancel={() => { held.current = null; }}
        onKeyDown={(e) => { if (step(e)) { e.preventDefault(); e.stopPropagation(); shown(); } }} />
      <canvas ref={loupe} class={view.value.scale * cursor.value.px + view.value.x < (box.current?.clientWidth ?? 0) / 2 ? 'loupe right' : 'loupe'} width={152} height={152} aria-hidden="true" />
      <p class="at" id="digitiser-at" role="status">{told.value !== '' && <span>{told.value}; </span>}{readout(m, cal)}</p>
      <p class="tools-of-picture">
        <button type="button" aria-label="Zoom in" onClick={() => zoom(1.5, box.current!.clientWidth / 2, box.current!.clientHeight / 2)}>+</button>
        <button type="button" aria-label="Zoom out" onClick={() => zoom(1 / 1.5, box.current!.clientWidth / 2, box.current!.clientHeight / 2)}>−</button>
        <button type="button" onClick={fit}>Fit</button>
        <button type="button" disabled={past.value.length === 0} onClick={back}>Undo step</button>
      </p>
      <p class="hint" id="digitiser-keys">Click to set a point, drag to move it; drag the picture to pan, wheel to zoom. Keys in the picture: arrows 1 px, Shift 10 px, Enter sets, Delete removes, M moves the point under the cursor, [ and ] go from point to point, + − 0 zoom, Ctrl+Z undoes.</p>
    </div>
  );
}

/** AxisPanel is what an axis shows, its scale, and its points with their values. */
function AxisPanel({ axis, k }: { axis: 'h' | 'v'; k: Key }) {
  const m = model.value!, a = m[axis], col = (axis === 'h') === !m.across ? 0 : 1;
  const units = col === 0 ? k.x_units ?? [] : k.units ?? [];
  const rows = Math.max(2, a.points.length), id = (s: string) => `axis-${axis}-${s}`;
  const put = (next: Partial<Axis>) => change({ [axis]: { ...a, ...next } });
  return (
    <fieldset class="axis">
      <legend>{axis === 'h' ? 'Horizontal' : 'Vertical'} axis: {names(k)[col]}</legend>
      <div class="axis-of">
        <label for={id('scale')}>scale</label>
        <select id={id('scale')} value={a.scale} onChange={(e) => put({ scale: e.currentTarget.value as Scale })}><option value="linear">linear</option><option value="log">logarithmic</option></select>
        {units.length > 0 && <><label for={id('unit')}>unit</label>
          <select id={id('unit')} value={m.units[col]} onChange={(e) => change({ units: col === 0 ? [e.currentTarget.value, m.units[1]] : [m.units[0], e.currentTarget.value] })}>{units.map((u) => <option value={u}>{u}</option>)}</select></>}
      </div>
      {Array.from({ length: rows }, (_, i) => {
        const p = a.points[i], on = active.value.axis === axis && active.value.index === i;
        return (
          <div class="axis-point">
            <button type="button" aria-pressed={on} onClick={() => { active.value = { axis, index: Math.min(i, a.points.length) }; }}>{p ? 'Move' : 'Set'}<span class="hidden"> point {i + 1} of the {a.name} axis</span> {axis.toUpperCase()}{i + 1}</button>
            <label class="hidden" for={id(String(i))}>Value at point {i + 1} of the {a.name} axis</label>
            <input id={id(String(i))} type="text" inputMode="decimal" autocomplete="off" disabled={!p} value={p?.text ?? ''} placeholder={p ? 'value' : 'not set'} onInput={(e) => put({ points: a.points.map((q, j) => (j === i ? { ...q, text: e.currentTarget.value } : q)) })} />
            <span class="soft">{m.units[col]}</span>
            {i > 1 && <button type="button" class="link" onClick={() => remove(axis, i)}>Remove<span class="hidden"> point {i + 1} of the {a.name} axis</span></button>}
          </div>
        );
      })}
      {a.points.length >= 2 && <button type="button" class="link" onClick={() => { active.value = { axis, index: a.points.length }; }}>Add a point<span class="hidden"> to the {a.name} axis</span></button>}
    </fieldset>
  );
}

/** source joins what is known of where the diagram stands. */
const source = (s: Sheet) => [s.document.trim(), s.page.trim() && `page ${s.page.trim()}`, s.figure.trim() && `figure ${s.figure.trim()}`].filter(Boolean).join(', ');

/** Result is the table, what speaks against it, its source, and the way into the part. */
function Result({ k, p, at, cal }: { k: Key; p: EditedPart; at: string; cal: Calibration }) {
  const m = model.value!, t = tabulate(cal, m.points, m.across), s = sheet.value;
  const text = (v: string, unit: string) => (unit === '' ? v : `${v} ${unit}`);
  const points = t.rows.map((r) => [text(r.x, m.units[0]), text(r.y, m.units[1])] as [string, string]);
  const testKey = k.test ?? '';
  const testX = testKey === '' ? '' : trial.value[`${p.file}#${p.path}.${testKey}`] ?? p.values.find((v) => v.path === testKey || v.path === testKey + '.value')?.text ?? '';
  const ratio = k.y === 'ratio' && testKey !== '';
  const [doubts, setDoubts] = useState<TableDoubt[] | null>(null);
  const asked = JSON.stringify([points, testX, s.stated]);
  useEffect(() => {
    let mine = true;
    const timer = window.setTimeout(() => {
      const plain = /^[^\x01\x02]*$/.test(testX) ? testX : '';
      post<TableDoubts>('/api/table', { kind: p.kind, key: k.key, points, test_x: plain, test_y: ratio ? '' : s.stated.trim() }).then((got) => { if (mine) setDoubts(got.doubts); }, () => { if (mine) setDoubts(null); });
    }, 200);
    return () => { mine = false; window.clearTimeout(timer); };
  }, [asked]);
  const bad = new Set((doubts ?? []).flatMap((d) => d.rows));
  const from = source(s);
  const field = (key: keyof Sheet, label: string, eg: string) => (
    <div><label for={'sheet-' + key}>{label}</label><input id={'sheet-' + key} type="text" autocomplete="off" spellcheck={false} value={s[key]} placeholder={eg} onInput={(e) => { sheet.value = { ...sheet.value, [key]: e.currentTarget.value }; }} /></div>
  );
  const hints = [...cal.hints, ...t.hints];
  const few = points.length < 2 || new Set(points.map(([x]) => x)).size !== points.length;
  return (
    <>
      <table class="points">
        <thead><tr><th scope="col">{names(k)[0]}</th><th scope="col">{names(k)[1]}</th><th scope="col"><span class="hidden">remove</span></th></tr></thead>
        <tbody>
          {t.rows.map((r, i) => <tr class={bad.has(i) ? 'doubted' : ''}><th scope="row">{points[i]![0]}</th><td>{points[i]![1]}</td><td><button type="button" class="link" onClick={() => remove('curve', r.of)}>Remove<span class="hidden"> the point at {points[i]![0]}</span></button></td></tr>)}
          {t.rows.length === 0 && <tr><td colSpan={3} class="soft">Set points along the curve.</td></tr>}
        </tbody>
      </table>
      <p class="actions">
        <button type="button" disabled={m.points.length < 2} onClick={follow}>Follow the line by its colour</button>
        {m.points.length > 0 && <button type="button" onClick={() => { change({ points: [] }); active.value = next(model.value!); }}>Clear points</button>}
      </p>
      <div role="status" class="checks-of-table">
        {hints.map((h) => <p class="hint">{h}</p>)}
        {(doubts ?? []).map((d) => <p class="doubt">{d.text}.</p>)}
        {points.length > 1 && doubts?.length === 0 && <p class="complete">{k.trend ? `The table ${k.trend} throughout` : 'No point is there twice'}, its values are usual{testKey && testX && (ratio || s.stated.trim() !== '') ? `, and it agrees with ${testKey} within 2 %` : ''}.</p>}
      </div>
      <div class="sheet-of-table">
        {field('document', 'Document', 'datasheet W1, issue 3')}
        {field('page', 'Page', '4')}
        {field('figure', 'Figure', '2')}
        {testKey !== '' && !ratio && field('stated', `Stated at ${testKey}${testX ? ` (${testX})` : ''}`, k.units?.[0] ? `such as 2.9 ${k.units[0]}` : '')}
      </div>
      <p class="actions">
        <button type="button" class="main" disabled={few} onClick={() => { tryCurve(at, points, from); session.value = null; }}>Use as {k.key}</button>
        <button type="button" onClick={() => { session.value = null; }}>Close</button>
      </p>
      {from === '' && points.length > 1 && <p class="hint">State the document and its page, so that derivations can name them.</p>}
    </>
  );
}

/** Digitiser reads one curve off a picture. */
export function Digitiser({ k, p, at }: { k: Key; p: EditedPart; at: string }) {
  if (of.value !== at || !model.value) {
    of.value = at;
    model.value = blank(k);
    past.value = [];
    active.value = { axis: 'h', index: 0 };
    const named = trial.value[`${p.file}#${p.path}.datasheet`] ?? p.values.find((v) => v.path === 'datasheet')?.text ?? '';
    sheet.value = { ...sheet.value, document: named || sheet.value.document, figure: '', stated: '' };
    told.value = wrong.value = '';
  }
  const m = model.value!, cal = calibration(), pic = picture.value;
  const [kx, ky] = names(k);
  return (
    <div class="digitiser" role="group" aria-label={`Read ${k.key} from a diagram`} onDragOver={(e) => { e.preventDefault(); e.stopPropagation(); }} onDrop={(e) => { e.preventDefault(); e.stopPropagation(); const f = e.dataTransfer?.files[0]; if (f) void read(f); }}>
      <div class="digitiser-head">
        <h3>Read {k.key} from a diagram</h3>
        <label class="button pick">{pic ? 'Another picture' : 'Choose a picture'}<input type="file" accept="image/png,image/jpeg,image/webp" onChange={(e) => { const f = e.currentTarget.files?.[0]; e.currentTarget.value = ''; if (f) void read(f); }} /></label>
      </div>
      {wrong.value !== '' && <p class="wrong" role="alert">{wrong.value} <button type="button" class="link" onClick={() => { wrong.value = ''; }}>dismiss</button></p>}
      {reading.value && <p role="status">Reading the picture…</p>}
      {!pic
        ? <div class="empty-drawing"><p>Drop the picture of a diagram here: PNG, JPEG or WebP, up to 40 megapixels.</p><p class="hint">The picture stays in this page; it is not stored.</p><button type="button" onClick={() => { session.value = null; }}>Close</button></div>
        : (
          <div class="digitiser-body">
            <Stage />
            <div class="digitiser-side">
              <div class="axis-of"><label for="axis-across">horizontal axis</label>
                <select id="axis-across" value={m.across ? 'y' : 'x'} onChange={(e) => change({ across: e.currentTarget.value === 'y' })}><option value="x">{kx}</option><option value="y">{ky}</option></select></div>
              <AxisPanel axis="h" k={k} />
              <AxisPanel axis="v" k={k} />
              {typeof cal === 'string'
                ? <><p class="hint" role="status">{cal} {m.points.length > 0 ? `${m.points.length} points of the curve are set.` : ''}</p><p class="actions"><button type="button" onClick={() => { session.value = null; }}>Close</button></p></>
                : <>
                    <p class="hint">{Math.abs(cal.rotationDeg) > 0.05 ? `Picture turned by ${cal.rotationDeg.toFixed(1)}°` : 'Picture upright'}, axes {cal.betweenDeg.toFixed(1)}° apart; both are taken into account.</p>
                    <Result k={k} p={p} at={at} cal={cal} />
                  </>}
            </div>
          </div>
        )}
    </div>
  );
}
