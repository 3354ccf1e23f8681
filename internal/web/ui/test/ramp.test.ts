import assert from 'node:assert/strict';
import test from 'node:test';
import { contour, fill, greyPixels, heatPixels, lightPixels, spread } from '../src/ramp';

const luminance = (pixel: number) => {
  const lin = (c: number) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4); // IEC 61966-2-1, sRGB
  const [r, g, b] = [pixel & 255, (pixel >> 8) & 255, (pixel >> 16) & 255].map((v) => lin(v / 255));
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
};

test('each ramp has 256 opaque colours of increasing luminance', () => {
  for (const ramp of [lightPixels, heatPixels, greyPixels]) {
    assert.equal(ramp.length, 256);
    for (let i = 0; i < 256; i++) assert.equal(ramp[i]! >>> 24, 255);
    // Rounding to 8 bits may cost one step of a channel.
    for (let i = 1; i < 256; i++) assert.ok(luminance(ramp[i]!) > luminance(ramp[i - 1]!) - 0.004, `${i}`);
    assert.ok(luminance(ramp[255]!) - luminance(ramp[0]!) > 0.5);
  }
});

test('cells are filled from the bottom row up, clamped to the range', () => {
  const colours = Uint32Array.from({ length: 256 }, (_, i) => i + 1), into = new Uint32Array(4);
  fill(into, [0, 60, 100, 200], 2, 2, 0, 100, colours, false);
  assert.deepEqual([...into], [256, 256, 1, 154]); // 60 of 100 is colour 153
  fill(into, [-1, 60, 0, 0], 2, 2, 0, 100, colours, true, (v) => v > 0);
  assert.deepEqual([...into], [0, 154, 0, 0]);
});

test('a contour lies between the centres of cells', () => {
  // Columns 0, 1, 2 of a ramp along x: level 0.5 is half-way between the centres of the first two, at x = 1.
  const lines = contour([0, 1, 2, 0, 1, 2], 3, 2, 0.5);
  assert.equal(lines.length, 1);
  for (const [x] of lines[0]!) assert.ok(Math.abs(x - 1) < 1e-12);
  const ys = lines[0]!.map(([, y]) => y);
  assert.deepEqual([Math.min(...ys), Math.max(...ys)], [0, 2]); // from edge to edge
});

test('a contour about a peak is closed; a level above all has none', () => {
  const cells = [0, 0, 0, 0, 4, 0, 0, 0, 0];
  const [ring, ...others] = contour(cells, 3, 3, 1);
  assert.equal(others.length, 0);
  assert.deepEqual(ring![0], ring![ring!.length - 1]);
  assert.ok(ring!.some(([x, y]) => Math.abs(x - 2.25) < 1e-12 && Math.abs(y - 1.5) < 1e-12)); // 1 + 1/2 + (4 − 1)/4
  assert.deepEqual(contour(cells, 3, 3, 5), []);
});

test('empty cells take the mean of their neighbours, ring by ring', () => {
  assert.deepEqual([...spread([300, 0, 0, 0], 4, 1, 1)], [300, 300, 0, 0]);
  assert.deepEqual([...spread([300, 0, 310, 0], 4, 1, 1)], [300, 305, 310, 310]);
});
