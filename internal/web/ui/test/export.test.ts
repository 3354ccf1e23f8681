import assert from 'node:assert/strict';
import test from 'node:test';
import { chartFile, csv, fileName, fromTable, measure, named, pictureFile, xml } from '../src/export';

/** wellFormed checks that elements nest and attributes are quoted, as XML 1.0 requires; it returns the names of the elements. */
export function wellFormed(text: string): string[] {
  const open: string[] = [], all: string[] = [];
  const rest = text.replace(/^<\?xml[^>]*\?>/, '').replace(/<(\/?)([A-Za-z][\w:-]*)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/g, (_, close: string, name: string, attributes: string, empty: string) => {
    const keys = [...attributes.matchAll(/([\w:-]+)="/g)].map((m) => m[1]);
    assert.equal(new Set(keys).size, keys.length, `${name} has an attribute twice: ${attributes}`);
    if (close) assert.equal(open.pop(), name);
    else { all.push(name); if (!empty) open.push(name); }
    return '';
  });
  assert.deepEqual(open, []);
  assert.ok(!/[<>]/.test(rest), rest.slice(0, 200));
  assert.ok(!/&(?!amp;|lt;|gt;|quot;|#\d+;)/.test(rest), 'an ampersand that is none of an entity');
  return all;
}

test('CSV has units in its header and quotes what RFC 4180 names', () => {
  assert.equal(csv([{ name: 'x', unit: 'mm' }, { name: 'day, "warm"', unit: 'µmol/m²/s' }, { name: 'note' }], [[-30, 107.25, 'plain'], [0, NaN, 'two\nlines'], [1e-7, null, 'a,b']]),
    'x [mm],"day, ""warm"" [µmol/m²/s]",note\r\n-30,107.25,plain\r\n0,,"two\nlines"\r\n1e-7,,"a,b"\r\n');
});

test('a table as it is shown becomes numbers with their unit in the header', () => {
  const t = fromTable(['from', 'power', 'share, %', 'loss'], [['mains', '48.9 W', '100', 'loss'], ['drivers', '−1,204.5 W', '–', '']]);
  assert.deepEqual(t.columns, [{ name: 'from' }, { name: 'power', unit: 'W' }, { name: 'share', unit: '%' }, { name: 'loss' }]);
  assert.deepEqual(t.rows, [['mains', 48.9, 100, 'loss'], ['drivers', -1204.5, null, '']]);
  assert.deepEqual(fromTable(['a'], [['1 W'], ['2 mW']]), { columns: [{ name: 'a' }], rows: [['1 W'], ['2 mW']] }); // two units stay as they are written
  assert.deepEqual(named('hours from start of sunrise'), { name: 'hours from start of sunrise' });
});

test('labels of axes', () => {
  assert.deepEqual([measure('W/nm'), measure('level, %'), measure('relative'), measure('colour temperature')], [{ name: '', unit: 'W/nm' }, { name: 'level', unit: '%' }, { name: 'relative' }, { name: 'colour temperature' }]);
});

test('a chart as a file is well-formed, has its colours and fonts, and all series with all points', () => {
  const text = chartFile({
    title: 'Spectrum <of> "A & B"', x: [400, 500, 600], xLabel: 'wavelength, nm', yLabel: 'W/nm', band: { min: 2, max: 4 }, limits: [{ x: 550, name: 'limit' }], marks: [{ x: 500, y: 3, name: 'point & mark', colour: '#123456' }],
    lines: [{ name: 'day', colour: '#7a5c00', y: [1, 5, 2] }, { name: 'red', colour: '#b02a4c', dash: [8, 4], y: [0, null, 3] }],
  });
  const names = wellFormed(text);
  assert.ok(names.includes('svg') && text.includes('xmlns="http://www.w3.org/2000/svg"') && text.includes('font-family="'));
  const series = [...text.matchAll(/<path d="([^"]*)" fill="none" stroke="([^"]*)"[^>]*><title>([^<]*)<\/title>/g)];
  assert.deepEqual(series.map((m) => [m[3], m[2], m[1]!.match(/[ML]/g)!.join('')]), [['day', '#7a5c00', 'MLL'], ['red', '#b02a4c', 'MM']]); // a gap lifts the pen
  assert.ok(!/var\(|class=|style=/.test(text), 'nothing that a page would have to bring');
  // The highest value of the first series stands above its lowest: y grows downwards.
  const ys = series[0]![1]!.match(/[ML][\d.]+ ([\d.]+)/g)!.map((p) => Number(p.split(' ')[1]));
  assert.ok(ys[1]! < ys[2]! && ys[2]! < ys[0]!);
});

test('a picture of the server becomes a file with a size', () => {
  const text = pictureFile('<svg class="lw" viewBox="0 0 900 420.5" role="img"><title>a</title></svg>');
  wellFormed(text);
  assert.ok(text.includes('xmlns="http://www.w3.org/2000/svg" width="900" height="420.5"'));
});

test('names of files and texts of elements', () => {
  assert.equal(fileName('Long tank, 90 × 45 cm', 'PPFD: profile'), 'long-tank-90-45-cm-ppfd-profile');
  assert.equal(xml('a<b & "c">\u0001'), 'a&lt;b &amp; &quot;c&quot;&gt;');
});
