// Where the power of the lamp goes, in a few parts.
import type { EnergyFlow } from './generated';

/** Part is a share of the power: what is on the target, or lost at a step of the way. */
export interface Part { name: string; watts: number; useful: boolean }

/** steps are where the losses of the way are counted, by what they leave from. */
const steps: [name: string, from: string[]][] = [
  ['light beside the target', ['light after lenses', 'in the water']],
  ['heat in emitters and lenses', ['emitters', 'lenses']],
  ['supplies, drivers, wires, fan', ['mains input', 'power supply', 'drivers']],
];

/** partsOf returns the power on the target, then the losses from the target back to the mains. They add up to the mains input. */
export function partsOf(flows: EnergyFlow[]): Part[] {
  const froms = new Set(flows.map((f) => f.from));
  const useful = flows.filter((f) => !f.loss && !froms.has(f.to));
  const sum = (list: EnergyFlow[]) => list.reduce((s, f) => s + f.watts, 0);
  const known = new Set(steps.flatMap(([, from]) => from));
  const losses = flows.filter((f) => f.loss);
  return [
    { name: useful[0] ? `on the ${useful[0].to}` : 'on the target', watts: sum(useful), useful: true },
    ...steps.map(([name, from]) => ({ name, watts: sum(losses.filter((f) => from.includes(f.from))), useful: false })),
    { name: 'other', watts: sum(losses.filter((f) => !known.has(f.from))), useful: false },
  ].filter((p) => p.watts > 0);
}
