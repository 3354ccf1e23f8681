import assert from 'node:assert/strict';
import { test } from 'node:test';
import { acknowledging, entryOf, withdrawn } from '../src/acknowledged';

const of = (reason: string, subject = 'channel "a"') => `\x01{check: ra, subject: ${JSON.stringify(subject)}, reason: ${JSON.stringify(reason)}, date: 2031-05-04}`;

test('a further entry stands after those of the file and those that were added', () => {
  const one = acknowledging({ x: '1' }, 2, 'ra', 'channel "a"', ' why\n not ', '2031-05-04');
  assert.deepEqual(one, { x: '1', 'acknowledged[2]': of('why not') });
  assert.deepEqual(acknowledging(one, 2, 'ra', 'lamp', 'b', '2031-05-04'), { ...one, 'acknowledged[3]': of('b', 'lamp') });
});

test('an entry of the file is taken away, an added one leaves and those after it move up', () => {
  const trial = { 'acknowledged[1]': '\0', 'acknowledged[2]': 'a', 'acknowledged[3]': 'b', x: '1' };
  assert.deepEqual(withdrawn(trial, 2, 'acknowledged[0]'), { ...trial, 'acknowledged[0]': '\0' });
  assert.deepEqual(withdrawn(trial, 2, 'acknowledged[2]'), { 'acknowledged[1]': '\0', 'acknowledged[2]': 'b', x: '1' });
  assert.deepEqual(withdrawn({ 'acknowledged[0]': 'a' }, 0, 'acknowledged[0]'), {});
});

test('an entry is found by a value within it', () => {
  assert.equal(entryOf('acknowledged[12].check'), 'acknowledged[12]');
  assert.equal(entryOf('channels[0].current'), 'channels[0].current');
});
