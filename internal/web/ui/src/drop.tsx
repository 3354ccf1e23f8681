// Files that are dropped on a part: a picture of a diagram is read by the digitiser, a luminous intensity distribution, a spectrum
// or a board outline is shown before it is used.
import { useState } from 'preact/hooks';
import { Change, Distribution, Dropped, Failed, FileSpectrum, Key, Outline, post } from './api';
import { Chart } from './chart';
import { open } from './digitised';
import { num } from './format';
import { beneath } from './keytree';
import { asFile } from './marked';
import { EditedPart } from './newpart';
import { accepted, base64, head, megabytes, Picture, pictureOf, refusal, tooLarge } from './picture';
import { sentence, setTrial, trial } from './store';

const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/** tryInPlace tries values in place of what is tried at other keys. */
function tryInPlace(list: Change[], dropped: string[]) {
  const kept = Object.entries(trial.value).filter(([path]) => !dropped.some((d) => beneath(path, d)));
  setTrial({ ...Object.fromEntries(kept), ...Object.fromEntries(list.map((c) => [c.path, c.text])) });
}

/** useFile names a dropped file in a part, in place of what states the same otherwise. */
function useFile(p: EditedPart, key: string, d: Dropped, others: string[], column?: string) {
  const at = (k: string) => `${p.file}#${p.path}.${k}`;
  const stated = (k: string) => p.values.some((v) => beneath(v.path, k));
  const list: Change[] = [{ path: `parts/${d.name}#`, text: asFile + d.token }, { path: at(key), text: d.name }];
  if (column !== undefined) list.push({ path: at('spectrum_column'), text: column });
  for (const k of others) if (stated(k)) list.push({ path: at(k), text: '\0' });
  tryInPlace(list, [...others, key].map(at));
}

/** Lobe is a distribution as a polar diagram, 0° straight down, with the half planes through 0° and 90°. */
function Lobe({ d }: { d: Distribution }) {
  const size = 240, mid = size / 2, r = mid - 18;
  const up = d.planes.some((p) => p.candela.some((c, i) => c > 0.02 * d.peak_cd && p.theta_deg[i]! > 95)), cy = up ? mid : 16;
  const reach = up ? r : size - 34;
  const half = (p: Distribution['planes'][number], side: number) => p.theta_deg.map((t, i) => {
    const q = (reach * p.candela[i]!) / (d.peak_cd || 1), a = (t * Math.PI) / 180;
    return `${(mid + side * q * Math.sin(a)).toFixed(1)},${(cy + q * Math.cos(a)).toFixed(1)}`;
  });
  const plane = (phi: number) => d.planes.find((p) => p.phi_deg === phi) ?? d.planes[0]!;
  const line = (a: number, b: number) => [...half(plane(a), -1).reverse(), ...half(plane(b), 1)].join(' ');
  return (
    <svg class="lobe" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={`Polar diagram: ${num(d.peak_cd)} cd maximum, beam angle ${num(d.beam_deg)}°, field angle ${num(d.field_deg)}°`}>
      {[0.25, 0.5, 0.75, 1].map((f) => <circle cx={mid} cy={cy} r={reach * f} class="ring" />)}
      {[-90, -60, -30, 0, 30, 60, 90].map((t) => <line x1={mid} y1={cy} x2={mid + reach * Math.sin((t * Math.PI) / 180)} y2={cy + reach * Math.cos((t * Math.PI) / 180)} class="ring" />)}
      <polyline points={line(180, 0)} class="lid" />
      {!d.axial && <polyline points={line(270, 90)} class="lid across" />}
    </svg>
  );
}

function Lid({ d, v, p, keys, done }: { d: Distribution; v: Dropped; p: EditedPart; keys: Key[]; done: () => void }) {
  const fits = keys.some((k) => k.key === 'photometry_file');
  return (
    <>
      <div class="dropped-body">
        <Lobe d={d} />
        <dl class="facts">
          <div><dt>luminous flux</dt><dd><strong>{num(d.flux_lm, 4)} lm</strong></dd></div>
          <div><dt>maximum</dt><dd><strong>{num(d.peak_cd)} cd</strong></dd></div>
          <div><dt>beam angle (FWHM)</dt><dd><strong>{num(d.beam_deg)}°</strong></dd></div>
          <div><dt>field angle</dt><dd><strong>{num(d.field_deg)}°</strong></dd></div>
          <div><dt>stated flux of the lamps</dt><dd>{d.stated_lm > 0 ? `${num(d.stated_lm, 4)} lm` : 'none (absolute photometry)'}</dd></div>
          <div><dt>format</dt><dd>LM-63:{d.edition}</dd></div>
        </dl>
      </div>
      {!d.axial && <p class="hint">Solid: plane 0° to 180°; dashed: plane 90° to 270°.</p>}
      {(d.warnings ?? []).map((w) => <p class="doubt">{sentence(w)}</p>)}
      {fits
        ? <p class="actions"><button type="button" class="main" onClick={() => { useFile(p, 'photometry_file', v, ['intensity_vs_angle']); done(); }}>Use as photometry_file</button><button type="button" onClick={done}>Cancel</button></p>
        : <p class="hint">This kind of part has no luminous intensity distribution; choose an emitter or a lens. <button type="button" class="link" onClick={done}>dismiss</button></p>}
    </>
  );
}

function SpectrumOf({ list, v, p, keys, done }: { list: FileSpectrum[]; v: Dropped; p: EditedPart; keys: Key[]; done: () => void }) {
  const [which, setWhich] = useState(0);
  const s = list[Math.min(which, list.length - 1)]!;
  const fits = keys.some((k) => k.key === 'spectrum_file');
  return (
    <>
      {list.length > 1 && <div class="use"><label for="drop-column">Column</label><select id="drop-column" value={String(which)} onChange={(e) => setWhich(Number(e.currentTarget.value))}>{list.map((x, i) => <option value={String(i)}>{x.name}</option>)}</select></div>}
      <div class="dropped-body">
        <Chart label={`Spectrum ${s.name}: peak at ${num(s.peak_nm, 4)} nm`} x={s.nm} xLabel="wavelength, nm" yLabel="relative power" height={200} series={[{ name: s.name, colour: css('--ink'), y: s.relative }]} marks={[]} />
        <dl class="facts">
          <div><dt>peak</dt><dd><strong>{num(s.peak_nm, 4)} nm</strong></dd></div>
          {s.fwhm_nm > 0 && <div><dt>width (FWHM)</dt><dd><strong>{num(s.fwhm_nm)} nm</strong></dd></div>}
          <div><dt>CCT</dt><dd>{s.cct_k > 0 ? <><strong>{num(s.cct_k, 4)} K</strong><span class="soft">Duv {num(s.duv, 2)}</span></> : 'not white'}</dd></div>
          <div><dt>LER</dt><dd>{num(s.ler_lm_w)} lm/W</dd></div>
          <div><dt>wavelengths</dt><dd>{num(s.nm[0]!, 4)} to {num(s.nm.at(-1)!, 4)} nm</dd></div>
        </dl>
      </div>
      {(s.notes ?? []).map((w) => <p class="doubt">{sentence(w)}</p>)}
      {fits
        ? <p class="actions"><button type="button" class="main" onClick={() => { useFile(p, 'spectrum_file', v, ['peaks', 'spectrum', 'spectrum_column'].filter((k) => k !== 'spectrum_column' || list.length === 1), list.length > 1 ? s.name : undefined); done(); }}>Use as spectrum_file</button><button type="button" onClick={done}>Cancel</button></p>
        : <p class="hint">This kind of part has no spectrum; choose an emitter. <button type="button" class="link" onClick={done}>dismiss</button></p>}
    </>
  );
}

function OutlineOf({ o, done }: { o: Outline; done: () => void }) {
  const [centred, setCentred] = useState(true);
  const all = [o.rim, ...o.holes].flat(), xs = all.map((q) => q[0]), ys = all.map((q) => q[1]);
  const x0 = Math.min(...xs), x1 = Math.max(...xs), y0 = Math.min(...ys), y1 = Math.max(...ys), pad = 0.06 * Math.max(x1 - x0, y1 - y0);
  const points = (list: [number, number][]) => list.map(([x, y]) => `${x.toFixed(3)},${(-y).toFixed(3)}`).join(' ');
  const inside = !centred && !o.fixed && x0 < 0 && x1 > 0 && y0 < 0 && y1 > 0;
  const use = () => {
    const list = centred ? o.centred : o.as_drawn;
    tryInPlace(list, ['board.shape', 'board.length', 'board.width', 'board.diameter', 'board.corners', ...(o.holes.length > 0 ? ['board.holes'] : [])]);
    done();
  };
  return (
    <>
      <div class="dropped-body">
        <svg class="outline-of-file" viewBox={`${x0 - pad} ${-y1 - pad} ${x1 - x0 + 2 * pad} ${y1 - y0 + 2 * pad}`} role="img" aria-label={`Outline of ${o.size}${o.hole_text ? ` with ${o.hole_text}` : ''}`}>
          <polygon points={points(o.rim)} class="rim" vector-effect="non-scaling-stroke" />
          {o.holes.map((h) => <polygon points={points(h)} class="hole" vector-effect="non-scaling-stroke" />)}
          {inside && <path d={`M${-pad} 0H${pad}M0 ${-pad}V${pad}`} class="rim" vector-effect="non-scaling-stroke" />}
        </svg>
        <dl class="facts">
          <div><dt>size</dt><dd><strong>{o.size}</strong></dd></div>
          <div><dt>corners</dt><dd>{o.fixed ? 'rectangle or disc' : o.rim.length}</dd></div>
          <div><dt>holes</dt><dd>{o.hole_text || 'none; those of the design stay'}</dd></div>
          <div><dt>unit of the file</dt><dd>{o.unit}{o.assumed ? ', assumed: the file states none' : ''}</dd></div>
        </dl>
      </div>
      {(o.notes ?? []).map((w) => <p class="doubt">{sentence(w)}</p>)}
      {!o.fixed && <p class="checks"><label><input type="checkbox" checked={centred} onChange={(e) => setCentred(e.currentTarget.checked)} /> Origin in the middle of the outline (positions on the board are measured from it)</label></p>}
      <p class="hint">The outline belongs to the board of the design. Packages that no longer lie on it are named in the preview.</p>
      <p class="actions"><button type="button" class="main" onClick={use}>Use as board outline</button><button type="button" onClick={done}>Cancel</button></p>
    </>
  );
}

/** Drop takes files by pointer or by keyboard. */
export function Drop({ p, keys }: { p: EditedPart; keys: Key[] }) {
  const [over, setOver] = useState(false);
  const [said, setSaid] = useState('');
  const [picture, setPicture] = useState<{ file: File; of: Picture } | null>(null);
  const [file, setFile] = useState<{ name: string; v: Dropped } | null>(null);
  const [busy, setBusy] = useState(false);
  const curves = keys.filter((k) => k.curve);
  const [which, setWhich] = useState('');
  const take = async (list: FileList | null | undefined) => {
    const f = list?.[0];
    if (!f) return;
    setPicture(null);
    setFile(null);
    let start: Uint8Array;
    try { start = await head(f); } catch { setSaid(`${f.name} cannot be read; is it a folder? Nothing was changed.`); return; }
    const of = pictureOf(start);
    if (of) {
      const wrong = tooLarge(of, f.size);
      setSaid(wrong);
      if (wrong === '') setPicture({ file: f, of });
      return;
    }
    const wrong = refusal(f, start);
    setSaid(wrong);
    if (wrong !== '') return;
    setBusy(true);
    try {
      const v = await post<Dropped>('/api/drop', { name: f.name, data: base64(new Uint8Array(await f.arrayBuffer())) });
      if (v.kind === '') setSaid(`${f.name} (${megabytes(f.size)}) is of no kind that is read here. ${accepted} Nothing was changed.`);
      else setFile({ name: f.name, v });
    } catch (e) {
      setSaid(e instanceof Failed ? sentence(e.message) : 'The program does not answer. Nothing was changed.');
    } finally { setBusy(false); }
  };
  const key = which || curves[0]?.key || '';
  const done = () => setFile(null);
  return (
    <div class={over ? 'drop over' : 'drop'} role="group" aria-label="Files of the datasheet"
      onDragOver={(e) => { e.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)} onDrop={(e) => { e.preventDefault(); setOver(false); void take(e.dataTransfer?.files); }}>
      <p>Drop a file of the datasheet here, or <label class="button pick">choose a file<input type="file" onChange={(e) => { void take(e.currentTarget.files); e.currentTarget.value = ''; }} /></label></p>
      <p class="hint">{accepted}</p>
      {busy && <p role="status">Reading the file…</p>}
      {said !== '' && <p class="wrong" role="alert">{said} <button type="button" class="link" onClick={() => setSaid('')}>dismiss</button></p>}
      {picture && (
        <div class="dropped">
          <p><b>{picture.file.name}</b> <span class="soft">{picture.of.kind}, {picture.of.width} × {picture.of.height} pixels, {megabytes(picture.file.size)}</span></p>
          {curves.length === 0
            ? <p class="hint">This kind of part has no curve.</p>
            : <div class="use">
                <label for="drop-curve">It shows</label>
                <select id="drop-curve" value={key} onChange={(e) => setWhich(e.currentTarget.value)}>{curves.map((k) => <option value={k.key}>{k.key}</option>)}</select>
                <button type="button" onClick={() => { open(`${p.file}#${p.path}.${key}`, picture.file); setPicture(null); }}>Read the curve</button>
                <button type="button" onClick={() => setPicture(null)}>Cancel</button>
              </div>}
        </div>
      )}
      {file && (
        <div class="dropped">
          <p><b>{file.name}</b> <span class="soft">{{ intensity: 'luminous intensity distribution', spectrum: 'spectrum', outline: 'board outline' }[file.v.kind] ?? ''}, {megabytes(file.v.bytes)}{file.v.name ? `; stored as parts/${file.v.name} when you save` : ''}</span></p>
          {file.v.problems.length > 0 && (
            <div class="missing" role="alert">
              <p><b>It cannot be used:</b></p>
              <ul>{file.v.problems.map((w) => <li>{w.line > 0 && <b>line {w.line}{w.col > 0 && `, column ${w.col}`}: </b>}{w.text}</li>)}</ul>
              <button type="button" class="link" onClick={done}>dismiss</button>
            </div>
          )}
          {file.v.distribution && <Lid d={file.v.distribution} v={file.v} p={p} keys={keys} done={done} />}
          {file.v.spectra.length > 0 && <SpectrumOf list={file.v.spectra} v={file.v} p={p} keys={keys} done={done} />}
          {file.v.outline && <OutlineOf o={file.v.outline} done={done} />}
        </div>
      )}
    </div>
  );
}
