import assert from 'node:assert/strict';
import test from 'node:test';
import { aboveOf, sideOf } from '../src/sketch';

const tank = { kind: 'tank', length: 800, width: 350, height: 400, water: 360, substrate: 50 };

test('the place from the side is to scale: 360 mm of water, of which 50 mm are substrate', () => {
  const d = sideOf(tank);
  const water = d.boxes.find((b) => b.class === 'water')!, substrate = d.boxes.find((b) => b.class === 'substrate')!, lamp = d.boxes.find((b) => b.class === 'lamp')!;
  assert.equal(water.h, 310);
  assert.equal(substrate.h, 50);
  assert.equal(substrate.y, water.y + water.h);
  assert.equal(water.w, 800);
  assert.ok(lamp.y + lamp.h < water.y);
  assert.deepEqual(d.labels.map((l) => l.text), ['400 mm', 'water 360 mm', '800 mm']);
});

test('a bench has neither walls nor water', () => {
  const d = sideOf({ ...tank, kind: 'bench', height: 0, water: 0, substrate: 0 });
  assert.deepEqual(d.boxes.map((b) => b.class), ['lamp']);
  assert.equal(d.lines.filter((l) => l.class === 'wall').length, 1);
  assert.deepEqual(d.labels.map((l) => l.text), ['800 mm']);
});

test('the place from above has the width of the one from the side, and everything is within the drawing', () => {
  for (const p of [tank, { ...tank, height: 1200, water: 1000 }, { ...tank, kind: 'terrarium', water: 0 }]) {
    assert.equal(aboveOf(p).w, sideOf(p).w);
    for (const d of [sideOf(p), aboveOf(p)]) {
      for (const b of d.boxes) assert.ok(b.x >= 0 && b.y >= 0 && b.x + b.w <= d.w && b.y + b.h <= d.h);
      for (const l of d.labels) assert.ok(l.x <= d.w && l.y <= d.h);
    }
  }
  assert.equal(aboveOf(tank).boxes[0]!.h, 350);
});
