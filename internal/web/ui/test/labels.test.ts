import assert from 'node:assert/strict';
import test from 'node:test';
import { Box, Named, place, shorter } from '../src/labels';

const frame: Box = { x: 0, y: 0, w: 100, h: 100 };
const thing = (x: number, y: number, ...texts: string[]): Named => ({ x, y, halfW: 2, halfH: 2, ring: 0, texts });

test('a label stands below its thing where there is room', () => {
  const [l] = place([thing(50, 50, 'warm 1')], 4, frame);
  assert.deepEqual(l, { x: 50, y: 56, text: 'warm 1' }); // half the height and one line below
});

test('labels do not overlap, become shorter, and are left out without room', () => {
  const found = place([thing(50, 50, 'warm 1', '1'), thing(50, 57, 'warm 2', '2')], 4, frame);
  const boxes = found.filter((l) => l !== null).map((l) => ({ x: l.x - (0.6 * l.text.length + 0.4) * 2, y: l.y - 3.4, w: (0.6 * l.text.length + 0.4) * 4, h: 4.4 }));
  assert.equal(boxes.length, 2);
  const [a, b] = boxes as [Box, Box];
  assert.ok(a.x + a.w <= b.x || b.x + b.w <= a.x || a.y + a.h <= b.y || b.y + b.h <= a.y);
  assert.deepEqual(place([thing(50, 50, 'a long name', '7')], 4, { x: 45, y: 40, w: 10, h: 20 }).map((l) => l?.text), ['7']);
  assert.deepEqual(place([thing(50, 50, 'name')], 4, { x: 49, y: 49, w: 2, h: 2 }), [null]);
});

test('shorter names end with the number', () => {
  assert.deepEqual(shorter('white 12'), ['white 12', '12']);
  assert.deepEqual(shorter('deep red far 3'), ['deep red far 3', 'deep re… 3', '3']);
  assert.deepEqual(shorter('fan'), ['fan']);
});
