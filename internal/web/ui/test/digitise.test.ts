import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Axis, AxisPoint, calibrate, Calibration, colourOf, Image, number, paperOf, pixelAt, Pixel, rounded, tabulate, thinned, trace, valueAt } from '../src/digitise';

// A diagram of 0 to 4 by 10 to 1000, turned by 3° and skewed by 2°: u to the right, w upwards, in pixels.
const turn = (3 * Math.PI) / 180, skew = (2 * Math.PI) / 180;
const place = (x: number, y: number, log = true): Pixel => {
  const u = 150 * x, w = 200 * (log ? Math.log10(y) - 1 : (y - 10) / 495);
  return { px: 100 + u * Math.cos(turn) + w * Math.sin(turn + skew), py: 500 + u * Math.sin(turn) - w * Math.cos(turn + skew) };
};
const mark = (x: number, y: number, text: number, log = true): AxisPoint => ({ ...place(x, y, log), text: String(text) });
const horizontal: Axis = { name: 'horizontal', scale: 'linear', points: [mark(1, 10, 1), mark(4, 10, 4)] };
const vertical: Axis = { name: 'vertical', scale: 'log', points: [mark(0, 10, 10), mark(0, 1000, 1000)] };
const good = (c: Calibration | string): Calibration => { if (typeof c === 'string') assert.fail(c); return c; };

test('a turned and skewed diagram with a logarithmic axis gives back its values', () => {
  const c = good(calibrate(horizontal, vertical));
  assert.ok(Math.abs(c.rotationDeg - 3) < 1e-9 && Math.abs(c.betweenDeg - 88) < 1e-9, `${c.rotationDeg} ${c.betweenDeg}`);
  for (const [x, y] of [[0.3, 12], [2, 100], [3.9, 800]] as const) {
    const p = place(x, y), v = valueAt(c, p), back = pixelAt(c, x, y);
    assert.ok(Math.abs(v.h - x) < 1e-9 && Math.abs(v.v / y - 1) < 1e-9, `${v.h}, ${v.v}`);
    assert.ok(Math.abs(back.px - p.px) < 1e-6 && Math.abs(back.py - p.py) < 1e-6);
  }
  assert.deepEqual(c.hints, []);
});

test('points of the axes may lie on any line across the other axis', () => {
  const c = good(calibrate({ ...horizontal, points: [mark(1, 300, 1), mark(4, 300, 4)] }, { ...vertical, points: [mark(3, 1000, 1000), mark(3, 20, 20)] }));
  const v = valueAt(c, place(2.5, 55));
  assert.ok(Math.abs(v.h - 2.5) < 1e-9 && Math.abs(v.v - 55) < 1e-7);
});

test('a third point that does not fit is named, and least squares halve it', () => {
  const off = { ...mark(2.5, 10, 2.5), px: place(2.5, 10).px + 20 };
  const c = good(calibrate({ ...horizontal, points: [...horizontal.points, off] }, vertical));
  assert.match(c.hints[0]!, /^Point 3 of the horizontal axis is \d\.\d % of the axis away/);
  assert.deepEqual(good(calibrate({ ...horizontal, points: [...horizontal.points, mark(2.5, 10, 2.5)] }, vertical)).hints, []);
  const linear = calibrate({ ...horizontal }, { ...vertical, scale: 'linear', points: [...vertical.points, mark(0, 100, 100)] });
  assert.match(good(linear).hints[0]!, /linear or logarithmic/);
});

test('what is missing or cannot be is said', () => {
  const with2 = (points: AxisPoint[], scale: 'linear' | 'log' = 'linear') => String(calibrate({ name: 'horizontal', scale, points }, vertical));
  assert.match(with2([mark(1, 10, 1)]), /Set two points of the horizontal axis/);
  assert.match(with2([mark(1, 10, 1), { ...place(2, 10), text: ' ' }]), /Type the value at point 2/);
  assert.match(with2([mark(1, 10, 1), { ...place(2, 10), text: '2 A' }]), /“2 A”.* is not a number/);
  assert.match(with2([mark(0, 10, 0), mark(2, 10, 2)], 'log'), /no value of 0/);
  assert.match(with2([mark(1, 10, 1), mark(4, 10, 1)]), /same value/);
  assert.match(with2([mark(1, 10, 1), mark(1.01, 10, 2)]), /same place/);
  assert.match(String(calibrate(horizontal, { ...vertical, points: [mark(0, 10, 10), mark(3, 10, 1000)] })), /one line|apart/);
});

test('numbers are read as people type them', () => {
  for (const [text, want] of [['0,5', 0.5], ['−3', -3], ['1e-3', 1e-3], ['.5', 0.5], ['2.', 2]] as const) assert.equal(number(text), want);
  for (const text of ['', '1.2.3', '0x10', 'Infinity', '1 A', '--1']) assert.ok(Number.isNaN(number(text)), text);
});

test('a table is sorted, rounded to a tenth of a pixel, and doubles are named', () => {
  const c = good(calibrate(horizontal, vertical));
  const forth = [place(0.5, 20), place(1.5, 60), place(3, 400)];
  const t = tabulate(c, [...forth].reverse(), false);
  assert.deepEqual(t.rows.map((r) => r.of), [2, 1, 0]);
  assert.deepEqual(t.rows.map((r) => Number(r.x)), [0.5, 1.5, 3]);
  assert.deepEqual(t.hints, ['Set from the end to the beginning; the table is sorted.']);
  assert.deepEqual(tabulate(c, forth, false).hints, []);
  assert.match(tabulate(c, [forth[0]!, forth[2]!, forth[1]!], false).hints[0]!, /Not set in the order/);
  assert.match(tabulate(c, [forth[0]!, forth[1]!, place(1.501, 61)], false).hints[0]!, /Points 2 and 3 .* less than half a pixel/);
  const across = tabulate(c, forth, true);
  assert.deepEqual(across.rows.map((r) => [Math.round(Number(r.x)), Number(r.y)]), [[20, 0.5], [60, 1.5], [400, 3]]);
});

test('rounding follows what a pixel is worth', () => {
  for (const [v, step, want] of [[2.71828, 0.01, '2.718'], [2.7, 0.01, '2.7'], [1234.5, 30, '1235'], [1234.5, 200, '1230'], [-0.00001, 0.1, '0'], [0.000123456, 1e-6, '0.0001235'], [100, 0.5, '100']] as const) assert.equal(rounded(v, step), want);
});

/** drawn is a picture of a line of a colour, 3 pixels wide, with soft edges, on white. */
function drawn(width: number, height: number, f: (x: number) => number, colour = [200, 30, 40], gap = (_: number) => false): Image {
  const data = new Uint8ClampedArray(4 * width * height).fill(255);
  for (let x = 0; x < width; x++) {
    for (let y = 0; y < height; y++) {
      const slope = f(x + 1) - f(x), d = Math.abs(y + 0.5 - f(x + 0.5)) / Math.hypot(1, slope), ink = gap(x) ? 0 : Math.max(0, Math.min(1, 2 - d));
      for (let k = 0; k < 3; k++) data[4 * (y * width + x) + k] = Math.round(255 + ink * (colour[k]! - 255));
    }
  }
  return { width, height, data };
}

test('a line is followed by its colour within half a pixel, forwards and backwards, over gaps', () => {
  const f = (x: number) => 180 - 140 * (x / 400) ** 1.7;
  for (const gap of [(_: number) => false, (x: number) => x % 20 < 8]) {
    const im = drawn(400, 200, f, [200, 30, 40], gap), paper = paperOf(im);
    const ends = [{ px: 22.5, py: f(22.5) + 1 }, { px: 380, py: f(380) - 2 }];
    for (const [from, to] of [ends, [...ends].reverse()]) {
      const line = colourOf(im, { px: 30.5, py: f(30.5) }, paper), got = trace(im, from!, to!, line, paper);
      assert.ok(!got.lost && got.points.length > 200, `${got.lost} ${got.points.length}`);
      for (const p of got.points) assert.ok(Math.abs(p.py - f(p.px)) < 0.5, `${p.py} at ${p.px}, ${f(p.px)}`);
    }
  }
});

test('another curve does not catch the trace, and a line that ends is lost', () => {
  const f = (x: number) => 180 - 0.3 * x, g = (x: number) => 60 + 0.1 * x;
  const im = drawn(400, 200, f), other = drawn(400, 200, g, [20, 60, 200]);
  for (let i = 0; i < im.data.length; i++) im.data[i] = Math.min(im.data[i]!, other.data[i]!);
  const paper = paperOf(im), got = trace(im, { px: 5, py: f(5) }, { px: 390, py: f(390) }, colourOf(im, { px: 50, py: f(50) }, paper), paper);
  assert.ok(!got.lost);
  for (const p of got.points) if (Math.abs(f(p.px) - g(p.px)) > 6) assert.ok(Math.abs(p.py - f(p.px)) < 0.6, `${p.px}: ${p.py}`);
  const short = drawn(400, 200, f, [200, 30, 40], (x) => x > 200), end = trace(short, { px: 5, py: f(5) }, { px: 390, py: f(390) }, [200, 30, 40], [255, 255, 255]);
  assert.ok(end.lost && Math.abs(end.points.at(-1)!.px - 200.5) <= 1);
});

test('a steep line is followed by rows', () => {
  const f = (x: number) => 195 - 4 * (x - 10), im = drawn(80, 200, f), got = trace(im, { px: 12, py: f(12) }, { px: 55, py: f(55) }, [200, 30, 40], [255, 255, 255]);
  assert.ok(!got.lost && got.points.length > 160);
  for (const p of got.points) assert.ok(Math.abs(p.py - f(p.px)) < 2);
});

test('thinned points stay within their distance', () => {
  const all = Array.from({ length: 300 }, (_, i) => ({ px: i, py: 0.002 * i * i })), few = thinned(all, 0.5, 100);
  assert.ok(few.length < 20 && few[0] === all[0] && few.at(-1) === all.at(-1));
  for (const p of all) {
    const i = few.findIndex((q) => q.px >= p.px), q = few[i]!, r = few[Math.max(0, i - 1)]!, t = (p.px - r.px) / (q.px - r.px || 1);
    assert.ok(Math.abs(p.py - (r.py + t * (q.py - r.py))) < 0.75);
  }
  assert.equal(thinned(all, 0, 10).length, 10);
});

test('both axes may be logarithmic, and rounding is relative then', () => {
  // 0.01 to 1 over 400 px, 10 to 1000 over 300 px.
  const c = good(calibrate({ name: 'horizontal', scale: 'log', points: [{ px: 50, py: 350, text: '0.01' }, { px: 450, py: 350, text: '1' }] },
    { name: 'vertical', scale: 'log', points: [{ px: 50, py: 350, text: '10' }, { px: 50, py: 50, text: '1000' }] }));
  const v = valueAt(c, { px: 250, py: 200 }), back = pixelAt(c, 0.1, 100);
  assert.ok(Math.abs(v.h / 0.1 - 1) < 1e-9 && Math.abs(v.v / 100 - 1) < 1e-9);
  assert.ok(Math.abs(back.px - 250) < 1e-6 && Math.abs(back.py - 200) < 1e-6);
  // A pixel is 1.2 % of the current and 1.5 % of the value; a tenth of it has two digits more.
  const rows = tabulate(c, [{ px: 90, py: 320 }, { px: 430, py: 65 }], false).rows;
  assert.deepEqual(rows.map((r) => [r.x, r.y]), [['0.01585', '15.85'], ['0.7943', '794']]);
});

test('a gap in a slope is crossed along the slope', () => {
  const f = (x: number) => (x < 120 ? 190 : x < 200 ? 190 - 2 * (x - 120) : 30);
  const im = drawn(400, 220, f, [200, 30, 40], (x) => x >= 145 && x < 157), got = trace(im, { px: 20, py: 190 }, { px: 380, py: 30 }, [200, 30, 40], [255, 255, 255]);
  assert.ok(!got.lost && Math.abs(got.points.at(-1)!.py - 30) < 0.5);
});
