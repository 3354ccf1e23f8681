import assert from 'node:assert/strict';
import { test } from 'node:test';
import { partsOf } from '../src/energy';

const flow = (from: string, to: string, watts: number, loss = false) => ({ from, to, watts, loss });

test('parts of the power add up to the mains input', () => {
  const flows = [
    flow('mains input', 'power supply', 47), flow('power supply', 'power supply and wire losses', 6.5, true), flow('power supply', 'drivers', 40), flow('power supply', 'fan', 0.5, true),
    flow('drivers', 'driver losses', 5, true), flow('drivers', 'emitters', 35), flow('emitters', 'emitter dissipation', 22, true), flow('emitters', 'lenses', 13),
    flow('lenses', 'lens losses', 1, true), flow('lenses', 'light after lenses', 12), flow('light after lenses', 'spill light', 2, true), flow('light after lenses', 'in the water', 10),
    flow('in the water', 'absorbed by the water or leaving it', 2, true), flow('in the water', 'substrate', 8),
  ];
  const parts = partsOf(flows);
  assert.deepEqual(parts.map((p) => [p.name, p.watts]), [['on the substrate', 8], ['light beside the target', 4], ['heat in emitters and lenses', 23], ['supplies, drivers, wires, fan', 12]]);
  assert.equal(parts.reduce((s, p) => s + p.watts, 0), 47);
  assert.deepEqual(partsOf([flow('mains input', 'heater', 3, true), flow('pump', 'water', 1, true)]).map((p) => p.name), ['supplies, drivers, wires, fan', 'other']);
});
