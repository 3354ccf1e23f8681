// The tools of the board: commands on what is selected, the raster, and the fields of the selection and of the outline.
import { signal } from '@preact/signals';
import { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { align, distribute, Edge, extent, fine, grid, mirror, Moves, ring, written } from './boardedit';
import {
  addAt, at, back, chosen, duplicate, emptied, erase, eraseChannels, guides, holes, holeSize, isChanged, kind, kindOf, layout, letGo, marks, moving, place, rim, selection, settle, snap, things, toChannel, told, toNewChannel, toOwnKind, tool, wrongOf, write,
} from './boardstate';
import { nudged } from './boarddraw';
import { mm } from './format';
import { openPicker } from './picking';
import { problemAt } from './pieces';
import { section, state, trial, trialProblems, tryValues } from './store';
import { withCorners, XY } from './boardedit';
import { flow } from './yaml';
import { filed, shape } from './boardstate';
import { asYAML, gone } from './marked';
import { length } from './quantities';
import { setTrial } from './store';

const icons = {
  select: <path d="M5 3l12 9.5-5.3.6L14.6 19l-2.4 1-2.8-5.9L5 17.6z" class="full" />,
  add: <><circle cx="10.5" cy="12.5" r="6" /><path d="M10.5 10v5M8 12.5h5M18 3v6M15 6h6" /></>,
  duplicate: <><circle cx="9" cy="13" r="5.5" /><circle cx="15" cy="10" r="5.5" /></>,
  erase: <><circle cx="12" cy="12" r="7" /><path d="M9 9l6 6M15 9l-6 6" /></>,
  align: <><path d="M3 12h18" /><rect x="5" y="9" width="5" height="6" class="full" /><rect x="13" y="7" width="6" height="10" /></>,
  distribute: <><path d="M4 4v16M20 4v16" /><rect x="9.5" y="7" width="5" height="10" class="full" /></>,
  mirror: <><path d="M12 3v18" stroke-dasharray="2 2" /><path d="M9 7l-6 5 6 5z" class="full" /><path d="M15 7l6 5-6 5z" /></>,
  grid: <><circle cx="7" cy="7" r="2.2" /><circle cx="17" cy="7" r="2.2" /><circle cx="7" cy="17" r="2.2" /><circle cx="17" cy="17" r="2.2" /></>,
  ring: <><circle cx="12" cy="12" r="7" stroke-dasharray="2.5 3.2" /><circle cx="12" cy="5" r="2" class="full" /><circle cx="18" cy="15.5" r="2" class="full" /><circle cx="6" cy="15.5" r="2" class="full" /></>,
  board: <><rect x="3" y="6" width="18" height="12" /><circle cx="6.5" cy="9.5" r="1.2" /><circle cx="17.5" cy="14.500" r="1.2" /></>,
};

const open = signal('');

/** Tip is a button of the tool row with its sign. */
const Tip = ({ of, name, keys, on, off, act }: { of: keyof typeof icons; name: string; keys?: string; on?: boolean; off?: boolean; act: () => void }) => (
  <button type="button" class="tl" title={keys ? `${name} (${keys})` : name} aria-label={name} aria-pressed={on} aria-keyshortcuts={keys?.replace('Ctrl ', 'Control+').replace('Del', 'Delete')} disabled={off} onClick={act}>
    <svg viewBox="0 0 24 24" width="20" height="20" aria-hidden="true">{icons[of]}</svg>
  </button>
);

/** Menu is a button of the tool row that opens choices or fields. */
function Menu({ of, name, off, children }: { of: keyof typeof icons; name: string; off?: boolean; children: ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null), now = open.value === name;
  useEffect(() => {
    if (!now) return;
    const away = (ev: PointerEvent) => { if (!box.current?.contains(ev.target as Node)) open.value = ''; };
    document.addEventListener('pointerdown', away);
    return () => document.removeEventListener('pointerdown', away);
  }, [now]);
  return (
    <div class="menu" ref={box} onKeyDown={(ev) => { if (ev.key === 'Escape' && now) { ev.stopPropagation(); open.value = ''; box.current?.querySelector('button')?.focus(); } }}>
      <button type="button" class="tl" title={name} aria-label={name} aria-haspopup="true" aria-expanded={now} disabled={off} onClick={() => { open.value = now ? '' : name; }}><svg viewBox="0 0 24 24" width="20" height="20" aria-hidden="true">{icons[of]}</svg></button>
      {now && <div class="sheet" role="group" aria-label={name}>{children}</div>}
    </div>
  );
}

const act = (moves: Moves) => { open.value = ''; letGo(); place(moves); };

const edges: [Edge, string][] = [['left', 'Left edges'], ['centre', 'Centres on one x'], ['right', 'Right edges'], ['top', 'Top edges'], ['middle', 'Centres on one y'], ['bottom', 'Bottom edges']];

/** Fields asks for numbers and does something with them. */
function Fields({ list, go, act }: { list: { name: string; text: string; plain?: boolean }[]; go: string; act: (values: number[]) => void }) {
  const [texts, setTexts] = useState(list.map((f) => f.text)), [wrong, setWrong] = useState('');
  const submit = () => {
    const values = texts.map((t, k) => (list[k]!.plain ? Number(t.replace('−', '-').replace(',', '.').replace(/ ?°$/, '')) : length(/[a-zµ"]/i.test(t) ? t : `${t.trim()} mm`) ?? NaN));
    const bad = values.findIndex((v) => !Number.isFinite(v));
    if (bad >= 0) setWrong(`${list[bad]!.name}: "${texts[bad]}" is not ${list[bad]!.plain ? 'a number' : 'a length, such as 12 mm'}`);
    else act(values);
  };
  return (
    <form onSubmit={(ev) => { ev.preventDefault(); submit(); }}>
      {list.map((f, k) => <label>{f.name}<input type="text" autocomplete="off" spellcheck={false} value={texts[k]} onInput={(ev) => setTexts(texts.map((t, i) => (i === k ? ev.currentTarget.value : t)))} /></label>)}
      {wrong && <p class="wrong" role="alert">{wrong}</p>}
      <button type="submit">{go}</button>
    </form>
  );
}

/** Tools is the row above the drawing. */
export function Tools() {
  const list = chosen.value.filter((t) => t.kind !== 'corner'), n = list.length, none = n === 0;
  const e = n > 0 ? extent(list) : null, wide = list.reduce((w, t) => Math.max(w, 2 * t.halfW), 0.004);
  const uses = layout.value.channels.flatMap((c) => c.uses.map((u) => ({ c, u }))), now = kindOf();
  const cols = Math.max(1, Math.ceil(Math.sqrt(n)));
  return (
    <div class="tools-row" role="toolbar" aria-label="Tools">
      <div class="g">
        <Tip of="select" name="Select" keys="V" on={tool.value === 'select'} act={() => { tool.value = 'select'; }} />
        <Tip of="add" name="Add emitter" keys="A" on={tool.value === 'add'} act={() => { tool.value = tool.value === 'add' ? 'select' : 'add'; }} />
        <Tip of="duplicate" name="Duplicate" keys="Ctrl D" off={!list.some((t) => t.kind === 'emitter' || t.kind === 'hole')} act={duplicate} />
        <Tip of="erase" name="Delete" keys="Del" off={chosen.value.length === 0} act={erase} />
      </div>
      <div class="g">
        <Menu of="align" name="Align" off={n < 2}>{edges.map(([edge, text]) => <button type="button" onClick={() => act(align(list, edge))}>{text}</button>)}</Menu>
        <Menu of="distribute" name="Distribute" off={n < 3}><button type="button" onClick={() => act(distribute(list, 'x'))}>Equal pitch along x</button><button type="button" onClick={() => act(distribute(list, 'y'))}>Equal pitch along y</button></Menu>
        <Menu of="mirror" name="Mirror" off={none}>
          <button type="button" onClick={() => act(mirror(list, 'x', 0))}>Left–right, about the y axis of the board</button>
          <button type="button" onClick={() => act(mirror(list, 'y', 0))}>Top–bottom, about the x axis of the board</button>
          <button type="button" disabled={n < 2} onClick={() => act(mirror(list, 'x', e!.x))}>Left–right, about the selection's centre</button>
          <button type="button" disabled={n < 2} onClick={() => act(mirror(list, 'y', e!.y))}>Top–bottom, about the selection's centre</button>
        </Menu>
        <Menu of="grid" name="Arrange in a grid" off={n < 2}>
          <Fields go="Arrange" list={[{ name: 'Columns', text: String(cols), plain: true }, { name: 'Pitch along x', text: written(Math.max(snap.value, fine(Math.ceil(2500 * wide) / 1000))) }, { name: 'Pitch along y', text: written(Math.max(snap.value, fine(Math.ceil(2500 * wide) / 1000))) }, { name: 'Centre x', text: written(fine(e?.x ?? 0)) }, { name: 'Centre y', text: written(fine(e?.y ?? 0)) }]}
            act={([c, px, py, x, y]) => act(grid(list, [x!, y!], Math.max(1, Math.round(c!)), px!, py!))} />
        </Menu>
        <Menu of="ring" name="Arrange in a ring" off={n < 2}>
          <Fields go="Arrange" list={[{ name: 'Radius', text: written(fine(Math.ceil(Math.max(n * wide * 1.5 / (2 * Math.PI), wide) * 1000) / 1000)) }, { name: 'First at angle, from x towards y', text: '90°', plain: true }, { name: 'Centre x', text: written(fine(e?.x ?? 0)) }, { name: 'Centre y', text: written(fine(e?.y ?? 0)) }]}
            act={([r, a, x, y]) => act(ring(list, [x!, y!], r!, a!))} />
        </Menu>
        <Menu of="board" name="Outline, holes, sensor"><Outline /></Menu>
      </div>
      <div class="g opts">
        <span class="t">Snap</span>
        <div class="seg" role="group" aria-label="Snap">{([[0, 'off'], [0.0005, '0.5 mm'], [0.001, '1 mm'], [0.005, '5 mm']] as const).map(([v, text]) => <button type="button" aria-pressed={snap.value === v} onClick={() => { snap.value = v; }}>{text}</button>)}</div>
        <button type="button" class="seg one" title="Guides (G)" aria-pressed={guides.value} onClick={() => { guides.value = !guides.value; }}>guides</button>
      </div>
      {tool.value === 'add' && now && (
        <p class="adding-row">Click on the board, or <button type="button" class="link" onClick={() => { addAt(free()); tool.value = 'select'; }}>add at a free position</button>:{' '}
          <label><span class="hidden">Kind of the further emitter</span><select value={now.path} onChange={(ev) => { kind.value = ev.currentTarget.value; }}>{uses.map(({ c, u }) => <option value={u.path}>{c.name}: {u.part}{u.lens && `, ${u.lens}`}</option>)}</select></label>
          <span class="soft">Shift: more than one. Esc: end.</span></p>
      )}
      {tool.value === 'hole' && <p class="adding-row">Click on the board to add a hole of <input type="text" class="short" aria-label="Diameter of the further hole" value={holeSize.value} onChange={(ev) => { if ((length(ev.currentTarget.value) ?? 0) > 0) holeSize.value = ev.currentTarget.value.trim(); else ev.currentTarget.value = holeSize.value; }} />. <span class="soft">Esc: end.</span></p>}
    </div>
  );
}

/** free is the position on the board that is furthest from everything on it. */
function free(): XY {
  const r = rim.value, all = [...things.value.values()].filter((t) => t.kind !== 'corner');
  let best: XY = [0, 0], most = -Infinity;
  const n = 40;
  for (let j = 1; j < n; j++) for (let i = 1; i < n; i++) {
    const x = r.x0 + ((r.x1 - r.x0) * i) / n, y = r.y0 + ((r.y1 - r.y0) * j) / n;
    if (shape.value === 'disc' && Math.hypot(x, y) > 0.9 * r.x1) continue;
    const room = Math.min(x - r.x0, r.x1 - x, y - r.y0, r.y1 - y, ...all.map((t) => Math.hypot(t.x - x, t.y - y) - Math.max(t.halfW, t.halfH)));
    if (room > most) { most = room; best = [x, y]; }
  }
  return best;
}

/** Size is a length of the outline. */
function Size({ path, name }: { path: string; name: string }) {
  const filed = state.value?.lamp?.layout.size[path], now = trial.value[path] ?? filed ?? '', wrong = problemAt(path);
  return (
    <label>{name}<input type="text" autocomplete="off" spellcheck={false} value={now === gone ? '' : now} aria-invalid={wrong !== ''} onChange={(ev) => {
      const t = ev.currentTarget.value.trim();
      if (t !== '' && t !== now) tryValues([{ path, text: /[a-zµ"]/i.test(t) ? t : `${t} mm` }]);
    }} />{wrong && <span class="wrong">{wrong}</span>}</label>
  );
}

/** toShape changes the shape of the outline, and keeps its size. */
function toShape(to: string) {
  const r = rim.value, next = { ...trial.value }, sizes = state.value?.lamp?.layout.size ?? {};
  for (const key of ['length', 'width', 'diameter']) { delete next[`board.${key}`]; if (sizes[`board.${key}`] !== undefined) next[`board.${key}`] = gone; }
  const own = state.value?.lamp?.board.shape ?? '';
  next['board.shape'] = to;
  if (to === own) delete next['board.shape'];
  const size = (key: string, m: number) => { next[`board.${key}`] = written(m); if (length(sizes[`board.${key}`] ?? '') === fine(m)) delete next[`board.${key}`]; };
  if (to === 'rectangle') { size('length', r.x1 - r.x0); size('width', r.y1 - r.y0); }
  if (to === 'disc') size('diameter', Math.max(r.x1 - r.x0, r.y1 - r.y0));
  if (to === 'polygon') return setTrial(withCorners(filed.value, next, [[r.x0, r.y0], [r.x1, r.y0], [r.x1, r.y1], [r.x0, r.y1]]));
  for (const k of Object.keys(next)) if (k.startsWith('board.corners')) delete next[k];
  if (filed.value.corners.length > 0) next['board.corners'] = gone;
  setTrial(next);
}

/** addCorner adds a corner in the middle of the longest side. */
function addCorner() {
  const cs = layout.value.corners;
  let k = 0, most = -1;
  cs.forEach((c, i) => { const d = cs[(i + 1) % cs.length]!, l = Math.hypot(d.x - c.x, d.y - c.y); if (l > most) { most = l; k = i; } });
  const a = cs[k]!, b = cs[(k + 1) % cs.length]!, list = cs.map((c): XY => [c.x, c.y]);
  list.splice(k + 1, 0, [fine((a.x + b.x) / 2), fine((a.y + b.y) / 2)]);
  setTrial(withCorners(filed.value, trial.value, list));
  selection.value = new Set([`board.corners[${k + 1}]`]);
}

function Outline() {
  const of = shape.value, sensorPart = state.value?.lamp?.layout.sensor_part;
  return (
    <div class="outline">
      <label>Outline<select value={of} onChange={(ev) => toShape(ev.currentTarget.value)}><option value="rectangle">rectangle</option><option value="disc">disc</option><option value="polygon">polygon</option></select></label>
      {of === 'rectangle' && <><Size path="board.length" name="Length, along x" /><Size path="board.width" name="Width, along y" /></>}
      {of === 'disc' && <Size path="board.diameter" name="Diameter" />}
      {of === 'polygon' && <><button type="button" onClick={addCorner}>Add a corner</button><p class="hint">Drag the corners. {layout.value.corners.length} corners; at least 3.</p></>}
      {problemAt('board.corners') && <p class="wrong">{problemAt('board.corners')}</p>}
      <button type="button" onClick={() => { tool.value = 'hole'; open.value = ''; }}>Add a hole</button>
      {layout.value.sensor ? <button type="button" onClick={() => { selection.value = new Set(['sensor.at']); open.value = ''; }}>Select the sensor</button> : sensorPart && <button type="button" onClick={() => { const [x, y] = free(); setTrial({ ...trial.value, sensor: `${asYAML}{part: ${flow(sensorPart)}, at: [${written(x)}, ${written(y)}]}` }); }}>Add a sensor</button>}
      <p class="hint">{holes.value.length} holes. Select one on the drawing to move or delete it.</p>
    </div>
  );
}

/** Field is one coordinate of the selected thing, or of the centre of all. */
function Field({ axis }: { axis: 'x' | 'y' }) {
  const [typing, setTyping] = useState<{ of: string; text: string } | null>(null);
  const list = chosen.value, one = list.length === 1 ? list[0]! : null, k = axis === 'x' ? 0 : 1;
  const e = extent(list.map((t) => { const [x, y] = at(t.id); return { ...t, x, y, halfW: 0, halfH: 0 }; }));
  const of = list.map((t) => t.id).join(), now = one ? at(one.id)[k] : e[axis];
  const shown = one && !moving.value?.ids.has(one.id) ? trial.value[`${one.id}[${k}]`] ?? written(now) : written(now);
  const wrong = one ? wrongOf(one as never) !== '' : false;
  const typed = typing?.of === of ? typing.text : null; // what was typed for another selection is gone
  const commit = (text: string) => {
    const clean = text.trim().replace('−', '-'), bare = /^[-+]?(\d+\.?\d*|\.\d+)$/.test(clean), whole = bare ? `${clean} mm` : clean;
    if (clean !== shown && clean !== '') {
      settle();
      if (one) write(one.id, k, whole);
      else { const m = length(whole); if (m !== null) place(new Map(list.map((t) => [t.id, axis === 'x' ? [fine(t.x + m - now), t.y] : [t.x, fine(t.y + m - now)]]))); }
    }
    setTyping(null);
  };
  const name = one ? ('label' in one ? (one as { label: string }).label : one.kind) : `the centre of ${list.length}`;
  return (
    <label>{axis}<input type="text" autocomplete="off" spellcheck={false} value={typed ?? shown} aria-label={`${axis} of ${name}`} aria-invalid={wrong} aria-describedby={wrong ? 'put-e' : undefined}
      onInput={(ev) => setTyping({ of, text: ev.currentTarget.value })} onBlur={(ev) => { if (typed !== null) commit(ev.currentTarget.value); }}
      onKeyDown={(ev) => { if (ev.key === 'Enter') commit(ev.currentTarget.value); if (ev.key === 'Escape') setTyping(null); }} /></label>
  );
}

/** Put is the strip of the selection: where it is, by numbers and buttons, and its channel. */
export function Put() {
  const list = chosen.value, one = list.length === 1 ? list[0]! : null, mark = marks.value.find((m) => m.id === one?.id);
  const emitters = marks.value.filter((m) => selection.value.has(m.id)), from = new Set(emitters.map((m) => m.channelPath));
  const kinds = [...new Set(emitters.map((m) => m.use))], countOf = (use: string) => marks.value.filter((m) => m.use === use).length;
  const step = snap.value || 0.0001, name = mark?.label ?? (one ? one.kind : `${list.length} selected`);
  const button = (what: ComponentChildren, side: string, dx: number, dy: number) => <button type="button" aria-label={`${name}: ${mm(step)} ${side}`} disabled={list.length === 0} onClick={() => nudged(list[0]!.id, step * dx, step * dy)}>{what}</button>;
  const hole = one?.kind === 'hole' ? layout.value.holes.find((h) => one.id.startsWith(`${h.path}.`)) : undefined;
  return (
    <div class="put" role="group" aria-label="Selection">
      <label class="which">Selection<select value={one?.id ?? (list.length > 1 ? 'several' : '')} onChange={(ev) => { settle(); selection.value = new Set([ev.currentTarget.value]); }}>
        {list.length !== 1 && <option value={list.length > 1 ? 'several' : ''}>{list.length > 1 ? `${list.length} selected` : 'nothing selected'}</option>}
        {marks.value.map((x) => <option value={x.id}>{x.label}</option>)}
        {one && !mark && <option value={one.id}>{one.kind === 'hole' ? 'hole' : one.kind}</option>}
      </select></label>
      {list.length > 0 && <><Field axis="x" /><Field axis="y" /></>}
      {list.length > 0 && <div class="nudge">{button('←', 'to the left', -1, 0)}{button('→', 'to the right', 1, 0)}{button('↑', 'up', 0, 1)}{button('↓', 'down', 0, -1)}</div>}
      {emitters.length > 0 && (
        <label class="which">Channel<select value={from.size === 1 ? [...from][0] : ''} onChange={(ev) => { settle(); if (ev.currentTarget.value === 'new') toNewChannel(); else if (ev.currentTarget.value === 'kind') toOwnKind(); else if (ev.currentTarget.value !== '') toChannel(ev.currentTarget.value); }}>
          {from.size > 1 && <option value="">several</option>}
          {layout.value.channels.map((c) => <option value={c.path}>{c.name}</option>)}
          {from.size === 1 && kinds.some((u) => emitters.filter((m) => m.use === u).length < countOf(u)) && <option value="kind">{emitters[0]!.channel}, as a kind with its own part and lens</option>}
          <option value="new">new channel, driven as {layout.value.channels.find((c) => c.path === emitters[0]!.channelPath)?.name}</option>
        </select></label>
      )}
      {kinds.length === 1 && <><button type="button" class="part" title={`Choose the part of all ${countOf(kinds[0]!)} emitters of this kind`} onClick={() => openPicker(`${kinds[0]}.part`)}>{emitters[0]!.part}</button>{emitters[0]!.lens && <button type="button" class="part" title={`Choose the lens of all ${countOf(kinds[0]!)} emitters of this kind`} onClick={() => openPicker(`${kinds[0]}.lens`)}>{emitters[0]!.lens}</button>}</>}
      {hole && <>{hole.diameter ? <Size path={`${hole.path}.diameter`} name="Diameter" /> : <><Size path={`${hole.path}.length`} name="Length" /><Size path={`${hole.path}.width`} name="Width" /></>}</>}
      {one?.filed && isChanged(one.id) && <p class="was">file: {mm(one.filed[0])}, {mm(one.filed[1])} <button type="button" class="link" aria-label={`${name}: reset to the position in the file`} onClick={() => back(one.id)}>Reset</button></p>}
      {list.length === 0 && <p class="hint">Click an emitter, a hole or the sensor, or drag over several.</p>}
    </div>
  );
}

/** Said is what is wrong with a position, what an edit did, and what a deletion asks. */
export function Said() {
  const one = chosen.value.length === 1 ? chosen.value[0]! : null, mark = marks.value.find((m) => m.id === one?.id);
  const wrong = one ? wrongOf(mark ?? one) : '', other = wrong ? undefined : marks.value.map(wrongOf).concat(holes.value.map(wrongOf)).find(Boolean);
  const p = trialProblems.value[0], first = p && p.msg + (p.hint ? '; ' + p.hint : '');
  return (
    <div class="said-row">
      <p class="wrong" id="put-e">{wrong || other || first}</p>
      {emptied.value && <div class="asked" role="alertdialog" aria-label="Delete the last emitters of a channel"><p>Channel {emptied.value.names} would have no emitter left; a channel requires at least one.</p><p class="actions"><button type="button" onClick={eraseChannels}>Remove the channel too</button><button type="button" onClick={() => { emptied.value = null; }}>Keep</button></p></div>}
      <p class="told soft" role="status">{told.value}</p>
    </div>
  );
}

/** Merge moves all emitters of one channel to another. */
export function Merge() {
  const list = layout.value.channels;
  if (list.length < 2) return null;
  return (
    <details class="more"><summary>Channels: {list.length}</summary>
      <ul class="plain">{list.map((c) => {
        const n = c.uses.reduce((k, u) => k + u.points.length, 0);
        return <li class="channel-row"><i class="swatch" style={{ background: section('channels').find((x) => x.name === c.name)?.colour }} aria-hidden="true" />{c.name}, {n === 1 ? '1 emitter' : `${n} emitters`}
          <label><span class="hidden">Merge {c.name} into</span><select value="" onChange={(ev) => { const to = ev.currentTarget.value; ev.currentTarget.value = ''; if (!to) return; selection.value = new Set(marks.value.filter((m) => m.channelPath === c.path).map((m) => m.id)); toChannel(to); }}><option value="">merge into…</option>{list.filter((o) => o !== c).map((o) => <option value={o.path}>{o.name}</option>)}</select></label>
          <button type="button" class="link" onClick={() => { selection.value = new Set(marks.value.filter((m) => m.channelPath === c.path).map((m) => m.id)); }}>Select<span class="hidden"> the emitters of {c.name}</span></button></li>;
      })}</ul>
    </details>
  );
}
