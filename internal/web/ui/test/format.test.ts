import assert from 'node:assert/strict';
import test from 'node:test';
import { celsius, inFull, mm, num, roundTicks, shortRange } from '../src/format';

test('numbers are printed in full, with a true minus and grouped from 10,000', () => {
  assert.equal(inFull(-0.5), '−0.5');
  assert.equal(inFull(9999), '9999');
  assert.equal(inFull(12345.5), '12,345.5');
  assert.equal(num(0.00123456), '0.00123');
  assert.equal(num(98765), '98,800');
});

test('units are converted for display', () => {
  assert.equal(celsius(298.15), '25.0 °C');
  assert.equal(celsius(373.149, 0), '100 °C');
  assert.equal(mm(-0.01234), '−12.3 mm');
});

test('a range states its unit once, where both ends have the same', () => {
  assert.equal(shortRange('159 µmol/m²/s to 169 µmol/m²/s'), '159 to 169 µmol/m²/s');
  assert.equal(shortRange('990 mA to 1.10 A'), '990 mA to 1.10 A');
  assert.equal(shortRange('70 to 75'), '70 to 75');
  assert.equal(shortRange(''), '');
});

test('ticks are multiples of 1, 2 or 5 within the range', () => {
  assert.deepEqual(roundTicks(0, 100, 5), [0, 20, 40, 60, 80, 100]);
  assert.deepEqual(roundTicks(-0.35, 0.35, 4), [-0.2, 0, 0.2]);
  assert.deepEqual(roundTicks(3, 3, 5), [3]); // an empty range has one tick
  assert.deepEqual(roundTicks(0, 0.3, 3), [0, 0.1, 0.2, 0.3]); // no 0.30000000000000004
});
