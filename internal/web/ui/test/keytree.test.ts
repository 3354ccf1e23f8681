import assert from 'node:assert/strict';
import test from 'node:test';
import { KeyNode } from '../src/generated';
import { asYAML, gone } from '../src/marked';
import { cleared, flat, hasWords, labelOf, matches, nextItem, shownText, textFor, withChanges } from '../src/keytree';

const node = (n: Partial<KeyNode>): KeyNode => ({ path: 'a', key: 'a', form: 'quantity', ...n });

test('texts', () => {
  assert.equal(textFor(node({ text: '700 mA' }), ' 650 '), '650 mA');
  assert.equal(textFor(node({ text: '700 mA' }), '0,65'), '0.65 mA');
  assert.equal(textFor(node({ text: '700 mA' }), '0.7 A'), '0.7 A');
  assert.equal(textFor(node({}), '650'), '650');
  assert.equal(textFor(node({ form: 'point' }), '10 mm, 0 mm'), asYAML + '[10 mm, 0 mm]');
  assert.equal(textFor(node({ form: 'values' }), 'white, red'), asYAML + '[white, red]');
  assert.equal(textFor(node({ whole: true, text: '{value: 60 %}' }), '60 %'), asYAML + '60 %');
  assert.equal(textFor(node({}), '{value: 60 %, min: 50 %}'), asYAML + '{value: 60 %, min: 50 %}');
  assert.equal(shownText(asYAML + '[a]'), '[a]');
  assert.equal(shownText(gone), '');
});

test('changes', () => {
  const tried = { 'supplies[0].fuse.rated_current': '2 A', 'supplies[0].part': 'x' };
  assert.deepEqual(withChanges(tried, [{ path: 'supplies[0].fuse', text: asYAML + '{}' }]), { 'supplies[0].part': 'x', 'supplies[0].fuse': asYAML + '{}' });
  assert.deepEqual(Object.keys(withChanges({ a: asYAML + '1', 'a.b': '2' }, [{ path: 'a', text: asYAML + '3' }])), ['a']);
});

test('taken away', () => {
  const filed = (p: string) => ['supplies[0]', 'supplies[0].fuse'].includes(p);
  assert.deepEqual(cleared({ 'supplies[0].fuse.price': '1 EUR' }, 'supplies[0].fuse', filed), { 'supplies[0].fuse': gone });
  assert.deepEqual(cleared({ 'mains.rcd': '30 mA' }, 'mains.rcd', filed), {});
  // An added item goes, and what was added behind it moves up.
  assert.deepEqual(
    cleared({ 'supplies[1]': 'b', 'supplies[1].fan': 'true', 'supplies[2]': 'c', 'supplies[2].fan': 'false' }, 'supplies[1]', filed),
    { 'supplies[1]': 'c', 'supplies[1].fan': 'false' });
  assert.deepEqual(cleared({ fan: asYAML + '{part: a, speed: 50 %}' }, 'fan.speed', filed), { fan: asYAML + '{part: a, speed: 50 %}', 'fan.speed': gone });
});

test('further items', () => {
  assert.equal(nextItem('supplies', 1, {}), 'supplies[1]');
  assert.equal(nextItem('supplies', 1, { 'supplies[1]': 'x', 'supplies[0]': gone }), 'supplies[2]');
});

test('tree', () => {
  const tree = [node({ path: 'mains', key: 'mains', form: 'mapping', keys: [node({ path: 'mains.rcd', key: 'rcd', doc: 'residual current' })] })];
  assert.deepEqual([...flat(tree).keys()], ['mains', 'mains.rcd']);
  assert.ok(matches(tree[0]!, ['residual']));
  assert.ok(!matches(tree[0]!, ['fuse']));
  assert.ok(hasWords('board.copper_coverage', ['cov', 'copper']) && !hasWords('half diffuse', ['fuse']) && !hasWords('a b', ['a', 'c']));
  assert.equal(labelOf('rated_voltage_dc'), 'Rated voltage (DC)');
  assert.equal(labelOf('hanging_height'), 'Hanging height');
});
