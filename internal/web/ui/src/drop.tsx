// Files that are dropped on a part: a picture of a diagram is read by the digitiser.
import { useState } from 'preact/hooks';
import { Key } from './api';
import { open } from './digitised';
import { EditedPart } from './newpart';
import { accepted, head, megabytes, Picture, pictureOf, refusal, tooLarge } from './picture';

/** Drop takes files by pointer or by keyboard. */
export function Drop({ p, keys }: { p: EditedPart; keys: Key[] }) {
  const [over, setOver] = useState(false);
  const [said, setSaid] = useState('');
  const [picture, setPicture] = useState<{ file: File; of: Picture } | null>(null);
  const curves = keys.filter((k) => k.curve);
  const [which, setWhich] = useState('');
  const take = async (list: FileList | null | undefined) => {
    const f = list?.[0];
    if (!f) return;
    setPicture(null);
    let start: Uint8Array;
    try { start = await head(f); } catch { setSaid(`${f.name} cannot be read; is it a folder? Nothing was changed.`); return; }
    const of = pictureOf(start);
    const wrong = of ? tooLarge(of, f.size) : refusal(f, start);
    setSaid(wrong);
    if (of && wrong === '') setPicture({ file: f, of });
  };
  const key = which || curves[0]?.key || '';
  return (
    <div class={over ? 'drop over' : 'drop'} role="group" aria-label="Files of the datasheet"
      onDragOver={(e) => { e.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)} onDrop={(e) => { e.preventDefault(); setOver(false); void take(e.dataTransfer?.files); }}>
      <p>Drop a file of the datasheet here, or <label class="button pick">choose a file<input type="file" onChange={(e) => { void take(e.currentTarget.files); e.currentTarget.value = ''; }} /></label></p>
      <p class="hint">{accepted}</p>
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
    </div>
  );
}
