import { signal } from '@preact/signals';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Failed, Mix, post, XY } from './api';
import { Chart } from './chart';
import { celsius, num } from './format';
import { Data, Facts, Picture, Sign, Table } from './pieces';
import { figureKeys, section, sentence, state, trial, trying, tryValues } from './store';

const duv = (v: number) => `${v < 0 ? '−' : '+'}${Math.abs(v).toFixed(4)}`;
const dashes: (number[] | undefined)[] = [undefined, [8, 4], [2, 3], [10, 3, 2, 3], [5, 5], [1, 4]];

type MixRequirement = { cct: string; duv: string; xy: string; ppfd: string; lux: string; ra: string; rf: string; objective: string; min: Record<string, string>; max: Record<string, string> };
const mixRequirement = signal<MixRequirement | null>(null);
const mixed = signal<{ of: string; mix: Mix } | null>(null);

/** Ask is one field of the requirement. */
function Ask({ name, label, eg, value, wrong, set }: { name: string; label: string; eg: string; value: string; wrong: { path: string; text: string }; set: (text: string) => void }) {
  const id = 'mix-' + name.replace(/\W+/g, '-'), bad = wrong.path === name;
  return (
    <div class="ask">
      <label for={id}>{label}</label>
      <input id={id} type="text" autocomplete="off" spellcheck={false} placeholder={eg} value={value} aria-invalid={bad} aria-describedby={bad ? id + '-e' : undefined} onInput={(e) => set(e.currentTarget.value)} />
      {bad && <p class="wrong" id={id + '-e'} role="alert">{wrong.text}</p>}
    </div>
  );
}

/** mixOf is the values that a mix hangs on: all that are tried but the levels, which it finds. */
const mixOf = () => Object.entries(trial.value).filter(([path]) => !/^channels\[\d+\]\.level$/.test(path)).map(([path, text]) => ({ path, text }));

/** Mixer finds the levels that come nearest to a wish, and puts them to the trial. */
function Mixer() {
  const channels = section('channels');
  const [busy, setBusy] = useState(false);
  const [wrong, setWrong] = useState({ path: '', text: '' });
  const running = useRef<AbortController | null>(null);
  useEffect(() => () => running.current?.abort(), []);
  const required = (key: string) => section('requirements').find((x) => x.key === key)?.value ?? '';
  const w = mixRequirement.value ?? { cct: required('lamp.cct'), duv: required('lamp.duv'), xy: '', ppfd: required('target.ppfd'), lux: '', ra: required('lamp.ra'), rf: required('lamp.rf'), objective: 'power', min: {}, max: {} };
  const set = (part: Partial<MixRequirement>) => { mixRequirement.value = { ...w, ...part }; };
  const hash = state.value?.hash ?? '';
  const find = async (e: Event) => {
    e.preventDefault();
    running.current?.abort();
    const mine = new AbortController();
    running.current = mine;
    setBusy(true);
    setWrong({ path: '', text: '' });
    try {
      const rest = mixOf(), of = hash + JSON.stringify(rest);
      mixed.value = { of, mix: await post<Mix>('/api/mix', { base: hash, changes: rest, requirement: w }, mine.signal) };
    } catch (err) {
      if (mine.signal.aborted) return;
      setWrong(err instanceof Failed ? { path: err.path, text: sentence(err.problems[0]?.msg ?? err.message) } : { path: '', text: 'The program does not answer.' });
      mixed.value = null;
    } finally {
      if (running.current === mine) setBusy(false);
    }
  };
  const ask = (name: keyof MixRequirement & string, label: string, eg: string) => <Ask name={name} label={label} eg={eg} value={w[name] as string} wrong={wrong} set={(text) => set({ [name]: text })} />;
  const m = mixed.value?.mix, stale = m !== undefined && mixed.value!.of !== hash + JSON.stringify(mixOf());
  useEffect(() => setWrong({ path: '', text: '' }), [trial.value]);
  const percent = (v: number) => `${Number((100 * v).toFixed(1))} %`;
  // Tried as fine as the mix is known, so that a weak channel is not rounded away and the tried figures are those of the mix.
  const exact = (v: number) => `${Number((100 * v).toPrecision(5))} %`;
  const asked = (path: string) => wrong.text !== '' && (wrong.path === '' || !/^(cct|duv|xy|ppfd|lux|ra|rf|min\..*|max\..*)$/.test(path));
  return (
    <section class="card">
      <h2>Colour mix <small>dimming levels for a colour</small></h2>
      <form class="mix" onSubmit={(e) => void find(e)}>
        <div class="asks">
          {ask('cct', 'CCT', '5000 K ± 250 K')}
          {ask('duv', 'Duv', 'empty: 0 ± 0.006')}
          {ask('xy', 'or x, y', '0.31, 0.33')}
          {ask('ppfd', 'PPFD at target', 'empty: any')}
          {ask('lux', 'or illuminance', 'empty: any')}
          {ask('ra', 'Minimum Ra', 'empty: any')}
          {ask('rf', 'Minimum Rf', 'empty: any')}
          <div class="ask"><label for="mix-objective">Objective</label>
            <select id="mix-objective" value={w.objective} onChange={(e) => set({ objective: e.currentTarget.value })}><option value="power">minimum power</option><option value="light">maximum light</option><option value="ra">maximum Ra</option><option value="rf">maximum Rf</option></select></div>
        </div>
        <details class="data">
          <summary>Level limits of the channels</summary>
          <div class="asks">{channels.map((c) => <>
            <Ask name={'min.' + c.name} label={`${c.name}, minimum`} eg="0 %" value={w.min[c.name] ?? ''} wrong={wrong} set={(text) => set({ min: { ...w.min, [c.name]: text } })} />
            <Ask name={'max.' + c.name} label={`${c.name}, maximum`} eg="100 %" value={w.max[c.name] ?? ''} wrong={wrong} set={(text) => set({ max: { ...w.max, [c.name]: text } })} />
          </>)}</div>
        </details>
        <p class="actions"><button type="submit" class="main">{busy ? 'Computing…' : 'Compute levels'}</button> {busy && <button type="button" onClick={() => { running.current?.abort(); setBusy(false); }}>Stop</button>}</p>
        {asked(wrong.path) && <p class="wrong" role="alert">{wrong.text}</p>}
      </form>
      {m && (
        <div class={stale ? 'mixed stale' : 'mixed'} role="region" aria-label="The mix">
          {stale && <p class="stale-note">Outdated: compute the levels again.</p>}
          {!m.in_gamut && <p class="verdict"><Sign of="warn" /><span><b>Colour not within reach of these channels.</b> Nearest colour shown: {num(m.steps_off, 2)} SDCM away, at x = {m.xy.x.toFixed(4)}, y = {m.xy.y.toFixed(4)}.</span></p>}
          {m.in_gamut && <p class="verdict"><Sign of="pass" /><span>Colour within reach of these channels{m.steps_off >= 0.05 ? `, to ${num(m.steps_off, 2)} SDCM` : ''}.</span></p>}
          {m.tint && <p class="verdict"><Sign of="warn" /><span><b>Visibly {m.tint}:</b> {m.tint === 'coloured' ? 'too far from white for a CCT' : 'Duv outside ±0.006'}.</span></p>}
          {!m.amount_met && <p class="verdict"><Sign of="warn" /><span><b>PPFD not reached</b> at this colour; the maximum is shown.</span></p>}
          {!m.render_met && <p class="verdict"><Sign of="warn" /><span><b>Colour rendering not reached;</b> the best mix at this colour and light level is shown.</span></p>}
          <Table caption="Levels of the channels" head={['channel', 'level', 'now', 'relative flux']} rows={m.channels.map((c) => [c.name, <strong>{c.level === 0 ? 'off' : percent(c.level)}</strong>, percent(c.level_now), percent(c.light)])} />
          <p>{m.cct_k > 0 ? `${Math.round(m.cct_k)} K with Duv ${duv(m.duv)}, Ra ${m.ra.toFixed(0)}, Rf ${m.rf.toFixed(0)}` : `x = ${m.xy.x.toFixed(4)}, y = ${m.xy.y.toFixed(4)}, CCT undefined`}; {num(m.ppfd_umol_m2_s)} µmol/m²/s and {num(m.lux)} lx at the target; mains input {num(m.wall_w)} W; maximum T_j at typical ambient {celsius(m.junction_k, 0)}.</p>
          {(m.notes ?? []).filter((n) => !n.includes('out of gamut')).map((n) => <p class="hint">{sentence(n)}</p>)}
          <p class="actions">
            <button type="button" onClick={() => tryValues(m.channels.flatMap((c) => { const i = channels.findIndex((x) => x.name === c.name); return i >= 0 ? [{ path: `channels[${i}].level`, text: exact(c.level) }] : []; }))}>Preview these levels</button>
          </p>
        </div>
      )}
    </section>
  );
}

const uv = ({ x, y }: XY): [number, number] => [(4 * x) / (-2 * x + 12 * y + 3), (9 * y) / (-2 * x + 12 * y + 3)];

/** Where is where the colours lie. This picture and those of Things are the dossier's, each with its table. */
function Where() {
  const k = section('colour_preview');
  const row = (name: string, xy: XY) => [name, xy.x.toFixed(4), xy.y.toFixed(4), ...uv(xy).map((v) => v.toFixed(4))];
  return (
      <section class="card">
        <h2>Chromaticity diagram</h2>
        <Picture name="chroma" label="Chromaticity of the lamp, of the target and of each channel, with the spectral and Planckian loci and the tolerance of the requirement" />
        <Data title="As a table" head={['', 'x', 'y', 'u′', 'v′']} rows={() => [...(k.points ?? []).map((p) => row(p.name, p.xy)), ...(k.required ? [row(`required, ${k.required.name}, Duv ${duv(k.required.lo_duv ?? 0)} to ${duv(k.required.hi_duv ?? 0)}; its nominal colour`, k.required.xy)] : [])]} />
      </section>
  );
}

/** Things is what becomes of the colours of things. */
function Things() {
  const k = section('colour_preview');
  return (
    <>
      {k.r && k.r.length > 0 && (
        <section class="card">
          <h2>Colour rendering <small>CIE 13.3 test samples</small></h2>
          <Picture name="rendering" label="Rendering of each sample, R1 to R15, with a preview of its colour under daylight and under the lamp" />
          {(k.notes ?? []).length > 0 && <p class="hint">{sentence(k.notes!.join('; '))} Sample 14 is leaf green.</p>}
          <Data title="As a table" head={['sample', 'what', 'rendering']} rows={() => k.r!.map((v, i) => [`R${i + 1}`, k.patches?.[i]?.name ?? '', v.toFixed(0)])} />
        </section>
      )}
      {k.hue_bins && k.hue_bins.length > 0 && (
        <section class="card">
          <h2>Hue and chroma shift <small>16 bins, CIE 224</small></h2>
          <Picture name="hues" label="Hue and chroma shift in 16 hue bins" />
          <Data title="As a table" head={['bin', 'fidelity', 'chroma', 'hue', 'samples']} rows={() => k.hue_bins!.map((b, i) => [i + 1, b.rf.toFixed(0), `${b.chroma_shift < 0 ? '−' : '+'}${(100 * Math.abs(b.chroma_shift)).toFixed(1)} %`, `${b.hue_shift_rad < 0 ? '−' : '+'}${Math.abs((b.hue_shift_rad * 180) / Math.PI).toFixed(1)}°`, b.samples])} />
        </section>
      )}
    </>
  );
}

export function ColourView() {
  const s = section('spectrum'), channels = section('channels');
  const waves = s.lambda_nm ?? [];
  const keep = waves.map((nm, i) => [nm, i] as const).filter(([nm]) => nm >= 380 && nm <= 780 && nm % 2 === 0).map(([, i]) => i);
  const x = keep.map((i) => waves[i]!);
  const filed = trying.value ? state.value?.lamp?.spectrum : undefined; // what the file has, where other values are tried
  const was = (k: number) => (filed?.channels?.[k] && filed.lambda_nm?.length === waves.length ? keep.map((i) => filed.channels![k]![i] ?? 0) : undefined);
  const table = x.map((nm, r) => [nm, r] as const).filter(([nm]) => nm % 20 === 0);
  return (
    <>
      <section class="card">
        <h2>Spectrum by channel</h2>
        <Chart label="Spectral radiant flux of each channel after the lenses; same values in the table below." x={x} xLabel="wavelength, nm" yLabel="W/nm" height={280}
          series={channels.map((c, k) => ({ name: c.name, colour: c.colour, dash: dashes[k % dashes.length], y: keep.map((i) => s.channels?.[k]?.[i] ?? 0), file: was(k) }))} />
        <Data title="As a table" head={['nm', ...channels.map((c) => c.name + ', mW/nm')]} rows={() => table.map(([nm, r]) => [nm, ...channels.map((_, k) => num(1000 * (s.channels?.[k]?.[keep[r]!] ?? 0)))])} />
      </section>
      <section class="card">
        <h2>Spectrum at the target</h2>
        <Chart label="Mean spectral irradiance at the target; same values in the table below." x={x} xLabel="wavelength, nm" yLabel="mW/m²/nm" height={220}
          series={[{ name: 'at the target', colour: getComputedStyle(document.documentElement).getPropertyValue('--lw-within').trim(), y: keep.map((i) => 1000 * (s.target?.[i] ?? 0)), file: filed?.target && filed.lambda_nm?.length === waves.length ? keep.map((i) => 1000 * (filed.target![i] ?? 0)) : undefined }]} />
        <Data title="As a table" head={['nm', 'mW/m²/nm']} rows={() => table.map(([nm, r]) => [nm, num(1000 * (s.target?.[keep[r]!] ?? 0))])} />
      </section>
      <section class="card">
        <h2>Colour of the mixed light</h2>
        <Facts keys={figureKeys().filter((k) => /^(lamp|target)\.(cct|duv|ra|r9|rf|rg|sdcm|ler|blue|green|red|far-red|blue-red|red-far-red|ypf|chlorophyll|melanopic-der|melanopic-edi)$/.test(k))} />
        <Facts keys={[['lamp.flux', 'Luminous flux'], ['lamp.ppf', 'PPF'], ['light.lux-per-ppfd', 'Lux per PPFD']]} />
      </section>
      <Where />
      <Mixer />
      <Things />
    </>
  );
}
