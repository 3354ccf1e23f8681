import assert from 'node:assert/strict';
import test from 'node:test';
import { PickedRow, PickRow, PowerNode } from '../src/generated';
import { chainOf, fedBy, feed, feedsFor, triedNode, without } from '../src/chain';
import { sortRows } from '../src/pickrows';

const node = (n: Partial<PowerNode>): PowerNode => ({ id: '', kind: '', parent: '', path: '', title: '', facts: [], findings: [], ...n });

test('chain', () => {
  const list = [
    node({ id: 'mains', kind: 'mains' }), node({ id: 'switch', kind: 'switch', parent: 'mains' }), node({ id: 's', kind: 'supply', parent: 'switch' }),
    node({ id: 'w', kind: 'wire', parent: 's' }), node({ id: 'd', kind: 'driver', parent: 's' }), node({ id: 'ac', kind: 'driver', parent: 'switch' }),
  ];
  const [root] = chainOf(list);
  assert.equal(root!.node.id, 'mains');
  const from = root!.children[0]!;
  assert.deepEqual(from.children.map((c) => c.node.id), ['s', 'ac']);
  assert.equal(from.children[0]!.wire!.id, 'w');
  assert.deepEqual(from.children[0]!.children.map((c) => c.node.id), ['d']);
});

test('tried', () => {
  const driver = node({ kind: 'driver', path: 'channels[0]', slot: 'channels[0].driver' }), string = node({ kind: 'string', path: 'channels[0]' });
  const supply = node({ kind: 'supply', path: 'supplies[0]', slot: 'supplies[0].part' }), fuse = node({ kind: 'fuse', path: 'supplies[0].fuse' });
  for (const [path, want] of [['channels[0].driver', [true, false]], ['channels[0].current', [false, true]], ['channels[0].fuse', [false, false]], ['channels[10].driver', [false, false]]] as [string, boolean[]][]) {
    assert.deepEqual([triedNode(driver, [path]), triedNode(string, [path])], want, path);
  }
  assert.ok(triedNode(supply, ['supplies[0].feeds']));
  assert.ok(!triedNode(supply, ['supplies[0].fuse.rated_current']));
  assert.ok(triedNode(fuse, ['supplies[0].fuse.rated_current']));
});

test('rows of a picker', () => {
  const row = (id: string, now = false): PickRow => ({ id, name: '', info: '', price: '', from: '', now });
  const done = (id: string, stops: number, warnings: number, price_eur: number): PickedRow => ({ id, sets: [], brings: [], after: { stops, warnings }, clears: [], fresh: [], price_eur, figures: [{ key: 'k', text: '', value: price_eur }] });
  const rows = [row('a'), row('b'), row('c'), row('d'), row('e', true)];
  const computed = { a: done('a', 2, 0, 1), b: done('b', 0, 4, 9), d: done('d', 0, 4, 3), e: done('e', 7, 7, 0) };
  const ids = (key: string, down = false) => sortRows(rows, computed, { key, down }).map((r) => r.id).join('');
  assert.equal(ids(''), 'edbac');
  assert.equal(ids('stops'), 'bdaec');
  assert.equal(ids('k', true), 'bdaec');
  assert.equal(ids('name'), 'abcde');
});

test('feeds', () => {
  const list = [
    node({ id: 'a', kind: 'supply', path: 'supplies[0]' }), node({ id: 'b', kind: 'supply', path: 'supplies[1]' }),
    ...['white', 'red: deep'].flatMap((name, i) => [node({ id: `d${i}`, kind: 'driver', parent: 'a' }), node({ id: `s${i}`, kind: 'string', parent: `d${i}`, title: name })]),
    node({ id: 'd2', kind: 'driver', parent: 'mains' }), node({ id: 's2', kind: 'string', parent: 'd2', title: 'blue' }),
  ];
  assert.deepEqual([...fedBy(list)], [['supplies[0]', ['white', 'red: deep']], ['supplies[1]', []]]);
  assert.deepEqual(feedsFor(fedBy(list)), [{ path: 'supplies[0].feeds', text: '\x01[white, "red: deep"]' }, { path: 'supplies[1].feeds', text: '\0' }]);
  assert.deepEqual(feed(list, 'supplies[1]', 'white', true), [{ path: 'supplies[0].feeds', text: '\x01["red: deep"]' }, { path: 'supplies[1].feeds', text: '\x01[white]' }]);
  assert.deepEqual(feed(list, 'supplies[1]', 'blue', true), [{ path: 'supplies[1].feeds', text: '\x01[blue]' }]);
  assert.deepEqual(without(list, 'supplies[0]'), [{ path: 'supplies[1].feeds', text: '\x01[white, "red: deep"]' }, { path: 'supplies[0]', text: '\0' }]);
  assert.deepEqual(without(list, 'supplies[1]'), [{ path: 'supplies[1]', text: '\0' }]);
});
