import assert from 'node:assert/strict';
import { test } from 'node:test';
import { beyond, domainOf, placesOf, stateOf } from '../src/limits';
import { distance, inUnit, shownOf } from '../src/shown';

test('a domain holds all numbers with room on both sides', () => {
  assert.deepEqual(domainOf({ value: 50, min: 0, max: 100 }), [-32, 132]);
  const [a, b] = domainOf({ value: 100, max: 100 });
  assert.ok(Math.abs(b - a - 0.12 * 100 * 1.64) < 1e-9 && Math.abs(a + b - 200) < 1e-9);
});

test('states', () => {
  assert.equal(stateOf({ value: 60, min: 50, max: 90 }), 'in');
  assert.equal(stateOf({ value: 60, lo: 45, hi: 70, min: 50, max: 90 }), 'edge');
  assert.equal(stateOf({ value: 60, lo: 55, hi: 91, min: 50, max: 90 }), 'edge');
  assert.equal(stateOf({ value: 49, min: 50, max: 90 }), 'out');
  assert.equal(stateOf({ value: 91, max: 90 }), 'out');
  assert.equal(stateOf({ value: 91 }), 'none');
  assert.equal(stateOf({ value: 90 * (1 + 1e-10), max: 90 }), 'in');
});

test('distances beyond the limits', () => {
  assert.equal(beyond({ value: 0, min: 50, max: 90 }, 40), -10);
  assert.equal(beyond({ value: 0, min: 50, max: 90 }, 95), 5);
  assert.equal(beyond({ value: 0, min: 50, max: 90 }, 50), 0);
});

test('places', () => {
  const p = placesOf({ value: 50, lo: 25, hi: 75, min: 0, max: 100, was: 100 });
  const close = (x: number, y: number) => assert.ok(Math.abs(x - y) < 1e-9, `${x}, want ${y}`);
  close(p.value, 50);
  close(p.band![0], (100 * 32) / 164);
  close(p.band![1], (100 * 132) / 164);
  close(p.range![0], (100 * 57) / 164);
  close(p.was!, (100 * 132) / 164);
  assert.deepEqual(placesOf({ value: 1, max: 2 }).band![0], 0);
  assert.equal(placesOf({ value: 1, max: 2 }).range, null);
});

test('figures in the unit of their text', () => {
  assert.deepEqual(shownOf('103 µmol/m²/s'), { number: '103', unit: 'µmol/m²/s', digits: 0 });
  assert.deepEqual(shownOf('−0.0021'), { number: '−0.0021', unit: '', digits: 4 });
  assert.equal(shownOf('none'), null);
  const ppfd = { kind: 'ppfd', value: 102.7e-6, text: '103 µmol/m²/s' };
  assert.ok(Math.abs(inUnit(ppfd, 50e-6) - 50) < 1e-9);
  assert.equal(inUnit({ kind: 'temperature', value: 361.45, text: '88.3 °C' }, 353.15), 80);
  assert.equal(inUnit({ kind: 'ratio', value: 0.5, text: '50 %' }, 0.25), 25);
  assert.equal(inUnit({ kind: 'ratio', value: 0, text: '0 %' }, 0.25), 25);
  assert.equal(distance({ kind: 'temperature', value: 361.45, text: '88.3 °C' }, -8.3), '8.3');
  assert.equal(distance({ kind: 'cct', value: 3969, text: '3969 K' }, 131), '131');
  assert.equal(distance({ kind: 'ratio', value: 0.5, text: '50 %' }, 0.002), '0.2');
});
