import assert from 'node:assert/strict';
import { test } from 'node:test';
import { begun, freeId, ordered, placed, without } from '../src/newpart';
import { base64, megapixels, named, notPicture, pictureOf, refusal, tooLarge } from '../src/picture';
import { asBlock } from '../src/marked';
import { flow, leaves, readFlow, triedYAML, Yaml } from '../src/yaml';

const two = { 'parts/own.yaml#fans[1]': asBlock + '{id: a}', 'parts/own.yaml#fans[1].speed': '1200 rpm', 'name': 'x', 'parts/own.yaml#fans[2]': asBlock + '{id: b}', 'parts/own.yaml#fans[2].id': 'c' };

test('new parts stand among the changes', () => {
  assert.deepEqual(begun(two).map((b) => [b.path, b.values]), [['fans[1]', [{ path: 'id', text: 'a' }]], ['fans[2]', [{ path: 'id', text: 'b' }]]]);
});

test('a part that is taken away moves those after it', () => {
  assert.deepEqual(without(two, 'parts/own.yaml#fans[1]'), { 'name': 'x', 'parts/own.yaml#fans[1]': asBlock + '{id: b}', 'parts/own.yaml#fans[1].id': 'c' });
  assert.deepEqual(Object.keys(without(two, 'parts/own.yaml#fans[2]')), ['parts/own.yaml#fans[1]', 'parts/own.yaml#fans[1].speed', 'name']);
});

test('parts that another program put into the file are not written over', () => {
  assert.equal(placed(two, 'parts/own.yaml', { fans: 1 }), two);
  assert.deepEqual(Object.keys(placed(two, 'parts/own.yaml', { fans: 2 })), ['parts/own.yaml#fans[2]', 'parts/own.yaml#fans[2].speed', 'name', 'parts/own.yaml#fans[3]', 'parts/own.yaml#fans[3].id']);
  assert.deepEqual(Object.keys(placed(two, 'parts/own.yaml', {})).slice(0, 1), ['parts/own.yaml#fans[0]']);
});

test('values of a new part are written in the order of the format', () => {
  const at = 'parts/own.yaml#fans[0]', mixed = { name: 'x', [at]: asBlock + '{id: a}', [at + '.speed']: '1', [at + '.curve[2 l/s]']: '3', b: 'y', [at + '.name']: 'n', [at + '.curve[1 l/s]']: '4' };
  const got = ordered(mixed, () => ['id', 'name', 'curve', 'speed']);
  assert.deepEqual(Object.keys(got), ['name', at, at + '.name', at + '.curve[2 l/s]', at + '.curve[1 l/s]', at + '.speed', 'b']);
  assert.deepEqual({ ...got }, mixed);
  assert.equal(ordered(got, () => ['id', 'name', 'curve', 'speed']), got);
});

test('ids are free', () => assert.equal(freeId('a', new Set(['a', 'a-2'])), 'a-3'));

test('YAML is read as it was written', () => {
  for (const v of ['300 lm ± 4 %', 'datasheet W1, page 3: "typ"', { a: '1', 'b c': ['x', { d: '' }], '0.1 A': '-2 mV/K' }, [], {}, 'null', '- x', 'a\nb #c'] as Yaml[]) assert.deepEqual(readFlow(flow(v)), v, flow(v));
  assert.equal(flow({ source: 'sheet, page 3', points: { '0.1 A': '2.7 V' } }), '{source: "sheet, page 3", points: {0.1 A: 2.7 V}}');
  for (const t of ['{a: 1', 'a: 1', '{a: 1} x', '[1,, 2]', '"']) assert.equal(readFlow(t), null, t);
  assert.equal(triedYAML('5 A'), null);
  assert.deepEqual(triedYAML(asBlock + '{a: 1}'), { a: '1' });
  assert.deepEqual(leaves({ id: 'x', body: { length: '3 mm' }, v: { '0.1 A': '2 V' }, l: ['1'] }), [
    { path: 'id', text: 'x' }, { path: 'body.length', text: '3 mm' }, { path: 'v[0.1 A]', text: '2 V' }, { path: 'l[0]', text: '1' },
  ]);
});

test('the size of a picture is read off its first bytes', () => {
  const bytes = (...v: (number | string)[]) => new Uint8Array(v.flatMap((x) => (typeof x === 'string' ? [...x].map((c) => c.charCodeAt(0)) : [x])));
  const png = bytes(0x89, 'PNG\r\n\x1a\n', 0, 0, 0, 13, 'IHDR', 0, 0, 0x27, 0x10, 0, 0, 0x27, 0x10);
  assert.deepEqual(pictureOf(png), { kind: 'PNG', width: 10000, height: 10000 });
  const jpeg = bytes(0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 0xff, 0xc2, 0, 17, 8, 0x01, 0x2c, 0x02, 0x58, 3, 0, 0, 0, 0);
  assert.deepEqual(pictureOf(jpeg), { kind: 'JPEG', width: 600, height: 300 });
  assert.deepEqual(pictureOf(bytes('RIFF', 0, 0, 0, 0, 'WEBPVP8X', 10, 0, 0, 0, 0, 0, 0, 0, 0xff, 1, 0, 0x2b, 1, 0)), { kind: 'WebP', width: 512, height: 300 });
  assert.equal(pictureOf(bytes('MZ', ...Array(60).fill(0))), null);
  assert.equal(pictureOf(bytes(0xff, 0xd8, 0xff)), null);
  assert.equal(named(bytes('MZ', 0, 0)), 'a program for Windows');
  assert.equal(named(bytes('%PDF-1.4')), 'a PDF file');
  assert.match(tooLarge({ kind: 'PNG', width: 10000, height: 10000 }, 1000), /10000 × 10000 pixels, 100 megapixels; at most 40 megapixels/);
  assert.equal(tooLarge({ kind: 'PNG', width: 8000, height: 5000 }, 1000), '');
  assert.match(tooLarge({ kind: 'PNG', width: 8, height: 8 }, 10), /at least 16/);
  assert.match(tooLarge({ kind: 'PNG', width: 800, height: 800 }, 31e6), /31 MB; at most 30 MB/);
  assert.equal(megapixels(12.34e6), '12.3 megapixels');
});

test('a file that is not taken is named with its size and with what is taken', () => {
  const f = (name: string, size: number) => ({ name, size }), text = new TextEncoder().encode('nm,power\n400,1\n');
  assert.match(refusal(f('setup.exe', 5), new Uint8Array([0x4d, 0x5a, 0, 0])), /^setup.exe \(1 kB\) is a program for Windows. Taken are: .*LM-63.* Nothing was changed.$/);
  assert.match(refusal(f('x.bin', 200e6), new Uint8Array(100)), /^x.bin \(200 MB\) is of no kind/);
  assert.match(refusal(f('x.csv', 200e6), text), /larger than the 8.39 MB/);
  assert.match(refusal(f('x.csv', 0), new Uint8Array(0)), /is empty/);
  assert.equal(refusal(f('x.csv', 20), text), '');
  assert.equal(refusal(f('x.csv', 20), new Uint8Array([0xff, 0xfe, 0x6e, 0])), ''); // UTF-16
  assert.match(notPicture(f('x.pdf', 20), new TextEncoder().encode('%PDF-1')), /is a PDF file. A diagram is dropped as PNG/);
  assert.match(notPicture(f('x.txt', 20), text), /is no picture that is read here/);
});

test('bytes are sent as base64', () => {
  const bytes = Uint8Array.from({ length: 100000 }, (_, i) => i % 256);
  assert.deepEqual(new Uint8Array(Buffer.from(base64(bytes), 'base64')), bytes);
});
