import assert from 'node:assert/strict';
import { test } from 'node:test';
import { inInches } from '../src/units';

// 1 inch = 25.4 mm exactly and t/°F = 1.8 t/°C + 32 (NIST SP 811, appendix B.8).
test('lengths in inches, temperatures in °F', () => {
  for (const [text, want] of [
    ['280 × 50 mm', '11.02 × 1.97 in'], ['230 mm', '9.06 in'], ['1.6 mm', '0.063 in'], ['0.9 m', '35.4 in'], ['−86.0 mm', '−3.386 in'],
    ['68.6 °C', '155.5 °F'], ['75 to 85 °C', '167 to 185 °F'], ['−40 °C', '−40 °F'], ['26 K above', '26 K above'], ['4.5 lm/W', '4.5 lm/W'],
    ['103 µmol/m²/s', '103 µmol/m²/s'], ['2.1 mol/m²/d', '2.1 mol/m²/d'], ['900 mA', '900 mA'], ['60 mm at 25 °C', '2.36 in at 77 °F'],
    ['3 m²', '3 m²'], ['12 mm²', '12 mm²'], ['5 min', '5 min'], ['1.5 mm/s', '1.5 mm/s'], ['1,600 mm', '62.99 in'],
  ]) assert.equal(inInches(text!), want);
});
