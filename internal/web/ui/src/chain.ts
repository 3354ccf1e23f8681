// The chain from the mains to the strings as a tree.
import { PowerNode } from './generated';

export interface Link { node: PowerNode; wire?: PowerNode; children: Link[] }

/** chainOf is the chain as a tree: wires stand with what they come from. */
export function chainOf(list: PowerNode[]): Link[] {
  const links = new Map<string, Link>();
  for (const node of list) if (node.kind !== 'wire') links.set(node.id, { node, children: [] });
  const roots: Link[] = [];
  for (const node of list) {
    const up = links.get(node.parent);
    if (node.kind === 'wire') { if (up) up.wire = node; continue; }
    (up ? up.children : roots).push(links.get(node.id)!);
  }
  return roots;
}

/** triedNode tells whether something of a part is tried: a key of its own, not of what stands beneath it in the chain. */
export function triedNode(n: PowerNode, paths: string[]): boolean {
  const own = (p: string) => {
    if (n.kind === 'driver') return p === n.slot;
    if (n.kind === 'supply') return p === n.path || p === n.slot || p === `${n.path}.feeds` || p === `${n.path}.fan`;
    if (n.kind === 'string') return p === n.path || p.startsWith(n.path + '.') && !/\.(driver|fuse|wire)\b/.test(p.slice(n.path.length));
    if (n.kind === 'mains') return p === 'mains' || p.startsWith('mains.') && !p.startsWith('mains.switch');
    return p === n.path || p.startsWith(n.path + '.');
  };
  return paths.some(own);
}
