import assert from 'node:assert/strict';
import test from 'node:test';
import {
  addChannel, addHole, addPoints, addUse, align, distribute, extent, Filed, grid, layoutOf, mirror, onGuides, put, remove, removeChannel, ring, rulers, snapped, Thing, unique, withCorners, XY,
} from '../src/boardedit';
import { asYAML, gone } from '../src/marked';
import { length } from '../src/quantities';

const thing = (id: string, x: number, y: number, halfW = 1, halfH = 1): Thing => ({ id, kind: 'emitter', x, y, halfW, halfH });
const places = (m: Map<string, XY>) => [...m.values()].map(([x, y]) => [x, y]);

/** Two channels, the first with two kinds of emitters; one kind of holes; a polygon. */
const filed: Filed = {
  channels: [
    { path: 'channels[0]', name: 'white', yaml: 'current: 700 mA, driver: buck', uses: [
      { path: 'channels[0].emitters[0]', part: 'w', lens: '', yaml: 'part: w', points: [[0.01, 0], [0.02, 0], [0.03, 0]] },
      { path: 'channels[0].emitters[1]', part: 'x', lens: 'l', yaml: 'part: x, lens: l', points: [[0.04, 0]] },
    ] },
    { path: 'channels[1]', name: 'red', yaml: '', uses: [{ path: 'channels[1].emitters[0]', part: 'r', lens: '', yaml: 'part: r', points: [[0, 0.01]] }] },
  ],
  holes: [{ path: 'board.holes[0]', diameter: '3.2 mm', length: '', width: '', points: [[-0.01, 0], [0, -0.01]] }],
  corners: [[0, 0], [0.1, 0], [0.1, 0.1], [0, 0.1]],
  sensor: [0.05, 0.05],
};
const ids = (values: Record<string, string>) => layoutOf(filed, values).channels.map((c) => `${c.name}: ${c.uses.map((u) => u.points.map((p) => `${p.id.replace('channels', '')}@${Math.round(1e3 * p.x)},${Math.round(1e3 * p.y)}`).join(' ')).join(' | ')}`);
const w = 'channels[0].emitters[0].at';

test('lengths are read with their units', () => {
  assert.equal(length('12 mm'), 0.012);
  assert.equal(length('−0.5 in'), -0.0127);
  assert.equal(length('3 V'), null);
  assert.equal(length('12'), null);
});

test('points that were moved, added and taken away', () => {
  const [two, added] = addPoints(filed, { [`${w}[0][1]`]: '5 mm', [`${w}[1]`]: gone }, 'channels[0].emitters[0]', [[0.06, 0], [0.07, -0.0015]]);
  assert.deepEqual(added, [`${w}[3]`, `${w}[4]`]);
  assert.equal(two[`${w}[4]`], `${asYAML}[70 mm, -1.5 mm]`);
  assert.deepEqual(ids(two), ['white: [0].emitters[0].at[0]@10,5 [0].emitters[0].at[2]@30,0 [0].emitters[0].at[3]@60,0 [0].emitters[0].at[4]@70,-1 | [0].emitters[1].at[0]@40,0', 'red: [1].emitters[0].at[0]@0,10']);
});

test('a point that goes back to where the file has it leaves the values; an added one changes in its own value', () => {
  const id = `${w}[0]`, moved = put({}, [{ id, filed: [0.01, 0], x: 0.011, y: 0.002 }]);
  assert.deepEqual(moved, { [`${id}[0]`]: '11 mm', [`${id}[1]`]: '2 mm' });
  assert.deepEqual(put(moved, [{ id, filed: [0.01, 0], x: 0.01, y: 0 }]), {});
  assert.deepEqual(put({ [`${w}[3]`]: `${asYAML}[1 mm, 2 mm]` }, [{ id: `${w}[3]`, filed: null, x: 0.003, y: 0 }]), { [`${w}[3]`]: `${asYAML}[3 mm, 0 mm]` });
});

test('an added point that is taken away lets those after it move up', () => {
  const [three] = addPoints(filed, {}, 'channels[0].emitters[0]', [[0.06, 0], [0.07, 0], [0.08, 0]]);
  const r = remove(filed, { ...three, [`${w}[5][0]`]: '81 mm' }, [`${w}[3]`, `${w}[4]`, `${w}[0]`]);
  assert.deepEqual(r.values, { [`${w}[3]`]: `${asYAML}[80 mm, 0 mm]`, [`${w}[3][0]`]: '81 mm', [`${w}[0]`]: gone });
  assert.equal(r.empty.length, 0);
});

test('a kind goes with its last point, and a channel that would be empty is named', () => {
  const r = remove(filed, { 'channels[0].emitters[1].lens': 'm', 'channels[0].emitters[1].at[0][0]': '41 mm' }, ['channels[0].emitters[1].at[0]']);
  assert.deepEqual(r.values, { 'channels[0].emitters[1]': gone });
  assert.deepEqual(remove(filed, {}, ['channels[1].emitters[0].at[0]']).empty.map((c) => c.name), ['red']);
  const all = remove(filed, {}, ['board.holes[0].at[0]', 'board.holes[0].at[1]']);
  assert.deepEqual(all.values, { 'board.holes[0]': gone });
});

test('a channel is removed with its names elsewhere', () => {
  const next = removeChannel(filed, { 'channels[1].current': '1 A' }, 'channels[1]', [{ path: 'supplies[0].feeds[0]', name: 'white' }, { path: 'supplies[0].feeds[1]', name: 'red' }]);
  assert.deepEqual(next, { 'channels[1]': gone, 'supplies[0].feeds[1]': gone });
});

test('emitters of another kind, and a channel of their own', () => {
  const [use, at] = addUse(filed, {}, 'channels[1]', 'part: w', [[0.01, 0.02], [0.02, 0.02]]);
  assert.equal(use['channels[1].emitters[1]'], `${asYAML}{part: w, at: [[10 mm, 20 mm], [20 mm, 20 mm]]}`);
  assert.deepEqual(at, ['channels[1].emitters[1].at[0]', 'channels[1].emitters[1].at[1]']);
  // The points of the added kind can be moved and taken away like those of the file.
  const r = remove(filed, { ...use, 'channels[1].emitters[1].at[1][0]': '25 mm' }, ['channels[1].emitters[1].at[0]']);
  assert.deepEqual(ids(r.values)[1], 'red: [1].emitters[0].at[0]@0,10 | [1].emitters[1].at[1]@25,20');
  assert.deepEqual(remove(filed, r.values, ['channels[1].emitters[1].at[1]']).values, {});
  const [channel, of] = addChannel(filed, {}, 'white 2', 'current: 700 mA', [{ yaml: 'part: w', points: [[0.01, 0.03]] }]);
  assert.equal(channel['channels[2]'], `${asYAML}{name: white 2, emitters: [{part: w, at: [[10 mm, 30 mm]]}], current: 700 mA}`);
  assert.deepEqual(of, ['channels[2].emitters[0].at[0]']);
  const [more] = addPoints(filed, channel, 'channels[2].emitters[0]', [[0, 0]]);
  assert.deepEqual(ids(more)[2], 'white 2: [2].emitters[0].at[0]@10,30 [2].emitters[0].at[1]@0,0');
  assert.equal(unique('white', ['white', 'white-2']), 'white-3');
  assert.equal(unique('white-2', ['white', 'white-2']), 'white-3');
});

test('holes, corners and the sensor', () => {
  const [hole] = addHole(filed, {}, 'diameter: 4 mm', [0.02, 0.02]);
  assert.deepEqual(layoutOf(filed, hole).holes.map((h) => [h.diameter, h.points.length]), [['3.2 mm', 2], ['4 mm', 1]]);
  const three = remove(filed, { 'board.corners[2][0]': '120 mm' }, ['board.corners[0]']);
  assert.equal(three.values['board.corners'], `${asYAML}[[100 mm, 0 mm], [120 mm, 100 mm], [0 mm, 100 mm]]`);
  assert.deepEqual(remove(filed, three.values, ['board.corners[0]']).values, three.values); // three corners stay
  assert.deepEqual(withCorners(filed, three.values, filed.corners), {});
  assert.equal(layoutOf(filed, remove(filed, { 'sensor.at[0]': '1 mm' }, ['sensor.at']).values).sensor, null);
  assert.deepEqual(layoutOf(filed, { 'sensor.at[0]': '1 mm' }).sensor, { id: 'sensor.at', x: 0.001, y: 0.05, filed: [0.05, 0.05] });
});

test('align: edges on the outermost one, centres on the centre of all', () => {
  const list = [thing('a', 0, 0), thing('b', 10, 5, 2, 3), thing('c', 4, -4)];
  assert.deepEqual(extent(list), { x0: -1, x1: 12, y0: -5, y1: 8, x: 5.5, y: 1.5 });
  assert.deepEqual(places(align(list, 'left')), [[0, 0], [1, 5], [0, -4]]);
  assert.deepEqual(places(align(list, 'right')), [[11, 0], [10, 5], [11, -4]]);
  assert.deepEqual(places(align(list, 'centre')), [[5.5, 0], [5.5, 5], [5.5, -4]]);
  assert.deepEqual(places(align(list, 'top')), [[0, 7], [10, 5], [4, 7]]);
  assert.deepEqual(places(align(list, 'middle')), [[0, 1.5], [10, 1.5], [4, 1.5]]);
  assert.deepEqual(places(align(list, 'bottom')), [[0, -4], [10, -2], [4, -4]]);
});

test('distribute: equal pitch between the outermost centres', () => {
  const m = distribute([thing('a', 9, 1), thing('b', 0, 2), thing('c', 1, 3), thing('d', 5, 4)], 'x');
  assert.deepEqual(Object.fromEntries([...m].map(([id, p]) => [id, [...p]])), { b: [0, 2], c: [3, 3], d: [6, 4], a: [9, 1] });
  assert.deepEqual(places(distribute([thing('a', 0, 6), thing('b', 1, 0), thing('c', 2, 1)], 'y')), [[1, 0], [2, 3], [0, 6]]);
});

test('ring, grid and mirror', () => {
  const four = ['a', 'b', 'c', 'd'].map((id) => thing(id, 0, 0));
  assert.deepEqual(places(ring(four, [1, 2], 0.01, 90)), [[1, 2.01], [0.99, 2], [1, 1.99], [1.01, 2]]);
  assert.deepEqual(places(grid(four, [0, 0], 2, 0.01, 0.02)), [[-0.005, 0.01], [0.005, 0.01], [-0.005, -0.01], [0.005, -0.01]]);
  assert.deepEqual(places(grid(four.slice(0, 3), [0, 0], 2, 0.01, 0.02)), [[-0.005, 0.01], [0.005, 0.01], [-0.005, -0.01]]);
  assert.deepEqual(places(mirror([thing('a', 3, 1)], 'x', 1)), [[-1, 1]]);
  assert.deepEqual(places(mirror([thing('a', 3, 1)], 'y', 2)), [[3, 3]]);
});

test('the raster and the guides', () => {
  assert.equal(snapped(0.01234, 0.001), 0.012);
  assert.equal(snapped(-0.01234, 0.005), -0.01);
  assert.equal(snapped(0.0123456, 0), 0.012346);
  assert.equal(Object.is(snapped(-0.0001, 0.001), 0), true); // no minus zero
  const others = [thing('a', 0.02, 0.011), thing('b', 0.05, 0.03)];
  assert.deepEqual(onGuides([0.0212, 0.02], others, 0.0015), { at: [0.02, 0.02], guides: [{ axis: 'x', at: 0.02 }] });
  assert.deepEqual(onGuides([0.001, 0.0105], others, 0.0015), { at: [0, 0.011], guides: [{ axis: 'x', at: 0 }, { axis: 'y', at: 0.011 }] });
  assert.deepEqual(onGuides([0.1, 0.1], others, 0.0015), { at: [0.1, 0.1], guides: [] });
});

test('distances to the nearest neighbours in the same row and column, or to the rim', () => {
  const rim = { x0: -50, x1: 50, y0: -20, y1: 20 };
  const d = rulers(thing('t', 0, 0), [thing('l', -10, 1), thing('m', -30, 0), thing('far', 20, 10), thing('up', 0.5, 8)], rim);
  assert.deepEqual(d.map((m) => [m.axis, m.from, m.to]), [['x', -10, 0], ['x', 0, 50], ['y', -20, 0], ['y', 0, 8]]);
});
