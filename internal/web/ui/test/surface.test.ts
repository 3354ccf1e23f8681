import assert from 'node:assert/strict';
import test from 'node:test';
import { contour } from '../src/ramp';
import { column, isolines, numbers, profile, refine, row, verdict, words } from '../src/surface';

const grid = (nx: number, ny: number, f: (x: number, y: number) => number) => Array.from({ length: nx * ny }, (_, k) => f(((k % nx) + 0.5) / nx, (Math.floor(k / nx) + 0.5) / ny));

test('a quadratic is reproduced between the centres of cells, as Catmull–Rom splines do', () => {
  // x² + 2y on (1, 2)²: monotone, so that no value is limited. Of the two outermost cells either way the spline sees a straight continuation.
  const f = (x: number, y: number) => (1 + x) ** 2 + 2 * (1 + y), nx = 20, ny = 10, k = 5;
  const fine = refine(grid(nx, ny, f), nx, ny, k);
  let worst = 0;
  for (let j = 2 * k; j < (ny - 2) * k; j++) for (let i = 2 * k; i < (nx - 2) * k; i++) worst = Math.max(worst, Math.abs(fine[j * nx * k + i]! - f((i + 0.5) / (nx * k), (j + 0.5) / (ny * k))));
  assert.ok(worst < 1e-12, `${worst}`);
});

test('a plane is reproduced up to its edges', () => {
  const f = (x: number, y: number) => 3 + 4 * x - 2 * y, fine = refine(grid(6, 4, f), 6, 4, 4);
  for (let j = 0; j < 16; j++) for (let i = 0; i < 24; i++) assert.ok(Math.abs(fine[j * 24 + i]! - f((i + 0.5) / 24, (j + 0.5) / 16)) < 1e-12);
});

test('a bell is met within a part of its step, and centres keep the values of their cells', () => {
  const f = (x: number, y: number) => 100 * Math.exp(-8 * ((x - 0.5) ** 2 + (y - 0.5) ** 2)), nx = 25, ny = 13, k = 5, cells = grid(nx, ny, f), fine = refine(cells, nx, ny, k);
  for (let j = 0; j < ny; j++) for (let i = 0; i < nx; i++) assert.ok(Math.abs(fine[(j * k + 2) * nx * k + i * k + 2]! - cells[j * nx + i]!) < 1e-9);
  let worst = 0;
  for (let j = 0; j < ny * k; j++) for (let i = 0; i < nx * k; i++) worst = Math.max(worst, Math.abs(fine[j * nx * k + i]! - f((i + 0.5) / (nx * k), (j + 0.5) / (ny * k))));
  assert.ok(worst < 1.2, `${worst}`); // of a peak of 100, where neighbours differ by up to 18
});

test('a steep edge overshoots neither below zero nor above its top', () => {
  const fine = refine(grid(12, 6, (x) => (x < 0.5 ? 0 : 100)), 12, 6, 8);
  assert.equal(Math.min(...fine), 0);
  assert.equal(Math.max(...fine), 100);
  const end = refine([10, 1, 0, 0], 4, 1, 8); // straight on beyond the last centre would be below zero at the other end
  assert.ok(Math.min(...end) >= 0);
  assert.ok(Math.min(...profile([0, 1, 10], 8)) >= 0);
});

test('a profile is the surface along a row', () => {
  const cells = grid(9, 5, (x, y) => 50 * x * (1 + y)), fine = refine(cells, 9, 5, 5);
  const line = profile(row(cells, 9, 2), 5), up = profile(column(cells, 9, 5, 4), 5);
  for (let i = 0; i < 45; i++) assert.ok(Math.abs(line[i]! - fine[12 * 45 + i]!) < 1e-9);
  for (let j = 0; j < 25; j++) assert.ok(Math.abs(up[j]! - fine[j * 45 + 22]!) < 1e-9);
});

test('isolines of a cone are circles of the radius of their level; the ends of the band replace levels beside them', () => {
  const n = 40, k = 6, fine = refine(grid(n, n, (x, y) => 100 * (1 - Math.hypot(x - 0.5, y - 0.5))), n, n, k);
  const lines = isolines(fine, n * k, n * k, [60, 70, 80, 90], [72]);
  assert.deepEqual(lines.map((l) => [l.level, l.heavy]), [[60, false], [80, false], [90, false], [72, true]]);
  for (const l of lines.filter((l) => l.level > 60)) for (const [x, y] of l.lines[0]!) assert.ok(Math.abs(Math.hypot(x - 0.5, y - 0.5) - (1 - l.level / 100)) < 0.004);
});

test('numbers stand on their lines, within the map and apart from each other', () => {
  const n = 30, k = 8, fine = refine(grid(n, n, (x, y) => 100 * Math.exp(-6 * ((x - 0.4) ** 2 + (y - 0.6) ** 2))), n, n, k);
  const lines = isolines(fine, n * k, n * k, [10, 20, 30, 40, 50, 60, 70, 80, 90], [35, 55]), put = numbers(lines, 700, 500, () => 24);
  assert.ok(put.length >= 8, `${put.length}`);
  assert.ok(put.some((l) => l.level === 35 && l.heavy) && put.some((l) => l.level === 55 && l.heavy));
  for (const [i, a] of put.entries()) {
    assert.ok(a.x * 700 >= 16 && a.x * 700 <= 684 && a.y * 500 >= 9 && a.y * 500 <= 491);
    const at = fine[Math.floor((1 - a.y) * n * k) * n * k + Math.floor(a.x * n * k)]!;
    assert.ok(Math.abs(at - a.level) < 2.5, `${a.level} stands at ${at}`);
    for (const b of put.slice(i + 1)) assert.ok(Math.abs(a.x - b.x) * 700 >= 32 || Math.abs(a.y - b.y) * 500 >= 18);
  }
  assert.deepEqual(numbers(lines, 20, 20, () => 24), []); // no room
});

test('a verdict map has its words inside their parts', () => {
  assert.deepEqual([verdict(1, 2, 3), verdict(2, 2, 3), verdict(3, 2, 3), verdict(4, 2, 3), verdict(9, 2, undefined), verdict(1, undefined, 3)], [-1, 0, 0, 1, 0, 0]);
  const fine = grid(60, 30, (x) => x), put = words(fine, 60, 30, 0.25, 0.7);
  assert.deepEqual(put.map((w) => w.of), [-1, 0, 1]);
  for (const w of put) assert.equal(verdict(w.x, 0.25, 0.7), w.of);
  assert.deepEqual(words(fine, 60, 30, -1, 2).map((w) => w.of), [0]); // all within
  assert.ok(contour(fine, 60, 30, 0.25).length === 1);
});
