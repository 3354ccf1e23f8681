import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Steps } from '../src/steps';

test('a slider is one step, another value the next', () => {
  const s = new Steps();
  s.record({}, { a: '1' }, 0);
  s.record({ a: '1' }, { a: '2' }, 100);
  s.record({ a: '2' }, { a: '3' }, 800);
  s.record({ a: '3' }, { a: '3', b: '1' }, 900);
  s.record({ a: '3', b: '1' }, { a: '3', b: '2' }, 2000);
  assert.deepEqual(s.undo({ a: '3', b: '2' }), { a: '3', b: '1' });
  assert.deepEqual(s.undo({ a: '3', b: '1' }), { a: '3' });
  assert.deepEqual(s.undo({ a: '3' }), {});
  assert.equal(s.undo({}), undefined);
  assert.deepEqual(s.redo({}), { a: '3' });
  assert.ok(s.back && s.forth);
});

test('a new step ends what can be redone; the same values are no step', () => {
  const s = new Steps();
  s.record({ a: '1' }, { a: '1' }, 0);
  assert.ok(!s.back);
  s.record({}, { a: '1' }, 0);
  s.undo({ a: '1' });
  s.record({}, { b: '1' }, 10);
  assert.ok(!s.forth);
  assert.deepEqual(s.undo({ b: '1' }), {});
});

test('an undone step is not joined with the next change of the same value', () => {
  const s = new Steps();
  s.record({}, { a: '1' }, 0);
  s.undo({ a: '1' });
  s.redo({});
  s.record({ a: '1' }, { a: '2' }, 10);
  assert.deepEqual(s.undo({ a: '2' }), { a: '1' });
});

test('discarding is a step', () => {
  const s = new Steps();
  s.record({}, { a: '1', b: '2' }, 0);
  s.record({ a: '1', b: '2' }, {}, 100);
  assert.deepEqual(s.undo({}), { a: '1', b: '2' });
});
