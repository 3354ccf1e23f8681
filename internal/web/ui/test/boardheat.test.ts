import assert from 'node:assert/strict';
import test from 'node:test';
import { unpack } from '../src/merge';
import cases from './boardheat.json';
import { Grid, moveRise, readAt, riseThere, roughMap } from '../src/boardheat';

const g: Grid = { x0_m: -0.02, y0_m: -0.01, step_m: 0.001, nx: 41, ny: 21 };
const cells = (f: (x: number, y: number) => number) => Float64Array.from({ length: g.nx * g.ny }, (_, k) => f(g.x0_m + (k % g.nx) * g.step_m, g.y0_m + Math.floor(k / g.nx) * g.step_m));
const bump = (cx: number, cy: number) => (x: number, y: number) => 5 * Math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * 0.002 ** 2));

test('a field far from the rims moves as it is', () => {
  const rise = cells(bump(-0.005, 0)), temps = cells(() => 300);
  const moved = moveRise(rise, temps, g, 0.01, 0.002), want = cells(bump(0.005, 0.002));
  moved.forEach((v, k) => assert.ok(Math.abs(v - want[k]!) < 0.002, `cell ${k}: ${v}, want ${want[k]}`));
});

test('a field that comes to a rim is reflected there', () => {
  const rise = cells(bump(0.005, 0)), temps = cells(() => 300), rim = 0.0205;
  const moved = moveRise(rise, temps, g, 0.014, 0), at = bump(0.019, 0), image = bump(2 * rim - 0.019, 0);
  let worst = 0;
  moved.forEach((v, k) => { const x = g.x0_m + (k % g.nx) * g.step_m, y = g.y0_m + Math.floor(k / g.nx) * g.step_m; worst = Math.max(worst, Math.abs(v - at(x, y) - image(x, y))); });
  assert.ok(worst < 0.01, `${worst} K of 5 K`);
});

test('between cells it is read between them, and the rest of the map stays', () => {
  const rise = cells(bump(0, 0)), temps = rise.map((v) => 300 + v), moved = roughMap(temps, rise, g, 0.0005, 0);
  const want = cells(bump(0.0005, 0));
  moved.forEach((v, k) => assert.ok(Math.abs(v - 300 - want[k]!) < 0.2, `cell ${k}`)); // linear between cells of half a width
});

test('the mean over the board stays, and cells off the board stay empty', () => {
  const rise = cells(bump(0.012, 0)), temps = cells((x) => (x > 0.018 ? 0 : 300)), on = rise.map((v, k) => (temps[k]! > 0 ? v : 0));
  const moved = moveRise(on, temps, g, 0.005, 0), sum = (a: ArrayLike<number>) => Array.from(a).reduce((s, v) => s + v, 0);
  assert.ok(Math.abs(sum(moved) / sum(on) - 1) < 1e-9);
  moved.forEach((v, k) => { if (temps[k] === 0) assert.equal(v, 0); });
});

test('an emitter that moves gets what the others cause where it goes; another one what the moved one causes', () => {
  const own = cells(bump(-0.01, 0)), other = cells(bump(0.008, 0)), temps = own.map((v, k) => 300 + v + other[k]!);
  const map = roughMap(temps, own, g, 0.015, 0), base = { temps, rise: own };
  const there = bump(0.008, 0)(0.005, 0); // 1.6 K
  assert.ok(Math.abs(riseThere(base, map, g, -0.01, 0, 0.015, 0, true) - there) < 0.01);
  assert.ok(Math.abs(riseThere(base, map, g, 0.008, 0, 0.015, 0, false) - there) < 0.01);
  assert.equal(readAt(temps, g, -1, -1), temps[0]); // beyond the map, its rim
});

// Against the solved maps of demos, which TestRoughCases of internal/web writes: emitters moved by 3 mm to 19 mm.
test('the rough map is near the solved one', () => {
  for (const [k, c] of cases.entries()) {
    const g: Grid = c.grid, over = (p: typeof c.before_k) => unpack(p).map((v) => (v > 0 ? v + c.base_k : 0));
    const temps = over(c.before_k), after = over(c.after_k), rise = unpack(c.rise_k), map = roughMap(temps, rise, g, c.dx, c.dy);
    const top = Math.max(...rise), x = c.x[c.moved]!, y = c.y[c.moved]!;
    let near = 0, far = 0, sum = 0, n = 0;
    after.forEach((t, i) => {
      if (!(t > 0)) return;
      const e = Math.abs(map[i]! - t), cx = g.x0_m + (i % g.nx) * g.step_m, cy = g.y0_m + Math.floor(i / g.nx) * g.step_m;
      const away = Math.min(Math.hypot(cx - x, cy - y), Math.hypot(cx - x - c.dx, cy - y - c.dy));
      if (away > 0.006) far = Math.max(far, e); else near = Math.max(near, e);
      sum += e * e;
      n++;
    });
    const junction = Math.max(...c.x.map((ex, i) => Math.abs(c.junction_k[0]![i]! + riseThere({ temps, rise }, map, g, ex, c.y[i]!, c.dx, c.dy, i === c.moved) - c.junction_k[1]![i]!)));
    const said = `case ${k}, rise ${top.toFixed(1)} K: RMS ${Math.sqrt(sum / n).toFixed(2)} K, beyond 6 mm of the emitter ${far.toFixed(2)} K, within ${near.toFixed(2)} K, junctions ${junction.toFixed(2)} K`;
    console.log(said);
    assert.ok(Math.sqrt(sum / n) < 0.025 * top, said);
    assert.ok(far < 0.12 * top, said);
    assert.ok(near < 0.5 * top, said); // a peak as wide as a cell, read at other places of it
    assert.ok(junction < 0.05 * top, said);
  }
});
