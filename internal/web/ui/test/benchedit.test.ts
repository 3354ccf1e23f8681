import assert from 'node:assert/strict';
import { test } from 'node:test';
import { clock, fieldsOf, itemOf, numberIn, signOf, spanOf, typedValue, withUnit, worst } from '../src/benchedit';
import { BenchPoint } from '../src/generated';

const point = (p: Partial<BenchPoint>): BenchPoint => ({ x: 0, y: 0, pending: false, predicted: 100, u_lamp: 3, u_meter: 4, read: 100, zeta: 0, after: 100, weight: 1, verdict: 'agrees', expected: '', range: '', says: '', ...p });

test('a typed number gets its unit, a decimal comma is read as a point and said', () => {
  for (const [typed, text] of [['4270', '4270 lx'], [' 42.7 ', '42.7 lx'], ['42,7', '42.7 lx'], ['0,125', '0.125 lx'], ['12,5', '12.5 lx'], ['.5', '0.5 lx'], ['3.', '3 lx'], ['−4', '-4 lx'], ['4.27 klx', '4.27 klx'], ['1e3', '1e3 lx'], ['1234,5', '1234.5 lx']]) {
    assert.equal(typedValue(typed!, 'lx').text, text, typed);
    assert.equal(typedValue(typed!, 'lx').wrong, '', typed);
  }
  assert.match(typedValue('42,7', 'lx').said, /decimal point/);
  assert.equal(typedValue('42.7', 'lx').said, '');
  assert.equal(typedValue('5', '').text, '5');
});

test('what can be read in two ways, or is no number, is not guessed', () => {
  assert.match(typedValue('4,270', 'lx').wrong, /can mean 4270 or 4\.270.*Type 4270, or 4\.27\./);
  for (const typed of ['1,234.5', '1.234,5', '1.2.3', 'abc', 'lx 3', "4'270"]) assert.notEqual(typedValue(typed, 'lx').wrong + (typed === "4'270" ? 'x' : ''), '', typed);
  assert.deepEqual(typedValue('  ', 'lx'), { text: '', said: '', wrong: '' });
});

test('the number of a value in its unit', () => {
  assert.equal(numberIn('17.9 V', 'V'), '17.9');
  assert.equal(numberIn('17900 mV', 'V'), '17900 mV');
  assert.equal(numberIn('', 'V'), '');
});

test('signs differ by verdict, and nothing that is pending has one', () => {
  assert.deepEqual(['agrees', 'agrees, prediction vague', 'questionable', 'differs'].map((verdict) => signOf({ verdict, pending: false })), ['pass', 'note', 'warn', 'stop']);
  assert.equal(signOf({ verdict: 'agrees', pending: true }), null);
});

test('of a series the worst verdict, and the furthest of these', () => {
  const list = [point({ zeta: 1 }), point({ zeta: -2.5, verdict: 'questionable' }), point({ zeta: 2.9, verdict: 'questionable' }), point({ zeta: -0.2 })];
  assert.equal(worst(list), list[2]);
  assert.equal(worst([]), undefined);
});

test('the drawing: the range of agreement is 2 u to each side, and the domain holds the reading', () => {
  const near = spanOf(point({ read: 105 }));
  assert.deepEqual(near.band, [30, 70]); // u = 5, domain ±25
  assert.equal(near.read, 60);
  assert.deepEqual(near.meter, [44, 76]);
  const far = spanOf(point({ read: 300 }));
  assert.ok(far.read! > 90 && far.meter![1] <= 100 && far.band[1] < 60, JSON.stringify(far));
  assert.equal(spanOf(point({ pending: true })).read, null);
});

test('times as a clock', () => {
  assert.equal(clock(59.6), '1:00');
  assert.equal(clock(75), '1:15');
  assert.equal(clock(3600), '1:00:00');
  assert.equal(clock(-3), '0:00');
});

test('a new reading states what belongs to it, and nothing else', () => {
  const f = { what: 'illuminance', instrument: 'lux', state: 'only cool', channel: 'cool', place: 'axis', distance: '500', x: '1', y: '2', emitter: 'cool 1', spot: 's' };
  assert.equal(itemOf(f, false), '{what: illuminance, instrument: lux, state: only cool, place: axis, distance: "500 mm"}');
  assert.equal(itemOf({ ...f, place: 'target', x: '-50,5', y: '' }, false), '{what: illuminance, instrument: lux, state: only cool, place: target, at: [-50.5 mm, 0 mm]}');
  assert.equal(itemOf({ ...f, what: 'string voltage', place: '', state: 'yes' }, true), '{what: string voltage, instrument: lux, state: "yes", channel: cool}');
  assert.equal(itemOf({ ...f, what: 'contact temperature', place: 'solder point', emitter: 'a: "b"' }, false), '{what: contact temperature, instrument: lux, state: only cool, place: solder point, emitter: "a: \\"b\\""}');
  assert.deepEqual(fieldsOf(true, 'spot'), { channel: true, distance: false, at: false, emitter: false, spot: true });
  assert.equal(withUnit('22,5', '°C'), '22.5 °C');
  assert.equal(withUnit('72 °F', '°C'), '72 °F');
});
