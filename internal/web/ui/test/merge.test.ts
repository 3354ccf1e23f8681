import assert from 'node:assert/strict';
import test from 'node:test';
import { Figure, Lamp, PreviewDiff } from '../src/api';
import { merge } from '../src/merge';

const figure = (key: string, value: number): Figure => ({ key, title: key, text: `${value} W`, range: '1 to 2', kind: 'W', value, p10: 1, p90: 2 });
const file = { figures: [figure('a', 1), figure('b', 2), figure('c', 3)], findings: ['first', 'second'], notes: ['of the file'], counts: { stop: 1 }, full: true } as unknown as Lamp;
const diff = (t: Partial<PreviewDiff>): PreviewDiff => ({ against: 7, figures: {}, sections: {}, same: [], ...t });

test('figures that changed lose their range; added and removed ones follow', () => {
  const got = merge(file, null, diff({ figures: { b: { text: '5 W', value: 5 } }, gone: ['c'], added: [figure('d', 4)] }));
  assert.deepEqual(got.figures.map((f) => [f.key, f.text, f.range]), [['a', '1 W', '1 to 2'], ['b', '5 W', ''], ['d', '4 W', '1 to 2']]);
  assert.equal(got.full, false);
  assert.equal(file.figures.length, 3);
});

test('items of a section are new ones, or those of the file by their index', () => {
  const got = merge(file, null, diff({ sections: { findings: [1, 'new'], counts: { stop: 0 } } }));
  assert.deepEqual(got.findings, ['second', 'new']);
  assert.deepEqual(got.counts, { stop: 0 });
});

test('sections that are equal come from the file, those not sent from the preview before', () => {
  const last = { ...file, findings: ['other'], notes: ['of the preview before'] } as unknown as Lamp;
  const got = merge(file, last, diff({ same: ['findings'] }));
  assert.deepEqual(got.findings, ['first', 'second']);
  assert.deepEqual(got.notes, ['of the preview before']);
});
