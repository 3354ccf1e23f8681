import assert from 'node:assert/strict';
import test from 'node:test';
import { column, lengthOf } from '../src/quantities';

test('lengths are read in any unit; a number alone is in millimetres', () => {
  for (const [text, m] of [['12.5 cm', 0.125], ['5 in', 0.127], ['130', 0.13], ['1,5 m', 1.5], ['−20mm', -0.02], ['300 µm', 3e-4]] as const) {
    assert.ok(Math.abs(lengthOf(text)! - m) < 1e-12, text);
  }
  for (const text of ['5 V', '', 'ten mm', '1 2 mm']) assert.equal(lengthOf(text), null, text);
});

test('a column has one unit, with prefixes resolved', () => {
  assert.deepEqual(column(['350 mA', '700 mA']), { unit: 'mA', values: [350, 700] });
  assert.deepEqual(column(['500 mA', '0.7 A']), { unit: 'A', values: [0.5, 0.7] });
  assert.deepEqual(column(['92 % ± 2 %']), { unit: '%', values: [92] });
  assert.equal(column(['1 A', '2 V']), null);
  assert.equal(column(['much']), null);
  assert.equal(column([]), null);
});
