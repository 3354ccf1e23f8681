import assert from 'node:assert/strict';
import test from 'node:test';
import { Figure, Lamp, PreviewDiff } from '../src/api';
import { merge, unpack } from '../src/merge';
import cells from './cells.json' with { type: 'json' };

const figure = (key: string, value: number): Figure => ({ key, title: key, text: `${value} W`, range: '1 to 2', kind: 'W', value, p10: 1, p90: 2 });
const file = { figures: [figure('a', 1), figure('b', 2), figure('c', 3)], findings: ['first', 'second'], notes: ['of the file'], counts: { stop: 1 }, full: true } as unknown as Lamp;
const diff = (t: Partial<PreviewDiff>): PreviewDiff => ({ against: 7, figures: { at: [], text: [], value: [] }, sections: {}, same: [], ...t });

test('figures that changed lose their range; added and removed ones follow', () => {
  const got = merge(file, null, diff({ figures: { at: [1], text: ['5 W'], value: [5] }, gone: ['c'], added: [figure('d', 4)] }));
  assert.deepEqual(got.figures.map((f) => [f.key, f.text, f.range]), [['a', '1 W', '1 to 2'], ['b', '5 W', ''], ['d', '4 W', '1 to 2']]);
  assert.equal(got.full, false);
  assert.equal(file.figures.length, 3);
});

test('items of a section are new ones, or those of the file by their index', () => {
  const got = merge(file, null, diff({ sections: { findings: [1, 'new'], counts: [0, { stop: 0 }, []] } }));
  assert.deepEqual(got.findings, ['second', 'new']);
  assert.deepEqual(got.counts, { stop: 0 });
});

test('sections that are equal come from the file, those not sent from the preview before', () => {
  const last = { ...file, findings: ['other'], notes: ['of the preview before'] } as unknown as Lamp;
  const got = merge(file, last, diff({ same: ['findings'] }));
  assert.deepEqual(got.findings, ['first', 'second']);
  assert.deepEqual(got.notes, ['of the preview before']);
});

test('an item is that of the file with other fields', () => {
  const from = { ...file, channels: [{ name: 'a', amps: 1, note: 'x' }, { name: 'b', amps: 2 }] } as unknown as Lamp;
  const got = merge(from, null, diff({ sections: { channels: [[1, { amps: 3 }, []], [0, { amps: 4, watts: 5 }, ['note']], { name: 'c' }], counts: [0, { warn: 2 }, ['stop']] } }));
  assert.deepEqual(got.channels, [{ name: 'b', amps: 3 }, { name: 'a', amps: 4, watts: 5 }, { name: 'c' }]);
  assert.deepEqual(got.counts, { warn: 2 });
  assert.deepEqual(from.channels[0] as unknown, { name: 'a', amps: 1, note: 'x' });
});

test('packed cells are those of the server within half a step', () => {
  const got = unpack(cells.packed);
  assert.equal(got.length, cells.values.length);
  got.forEach((v, i) => assert.ok(Math.abs(v - cells.values[i]!) <= (cells.packed.max * 0.5000001) / 1023, `cell ${i}: ${v}, not ${cells.values[i]}`));
  const got2 = merge({ ...file, maps: [{ title: 'm', ppfd: [1] }] } as unknown as Lamp, null, diff({ sections: { maps: [[0, { ppfd: cells.packed }, []]] } }));
  assert.deepEqual(got2.maps[0]!.ppfd, got);
});
