// The chain from the mains to the strings as a tree.
import { Change, PowerNode } from './generated';

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

/** fedBy is the names of the channels that each supply feeds, by its path. */
export function fedBy(list: PowerNode[]): Map<string, string[]> {
  const out = new Map<string, string[]>(list.filter((n) => n.kind === 'supply').map((n) => [n.path, []]));
  const byID = new Map(list.map((n) => [n.id, n]));
  for (const n of list) {
    if (n.kind !== 'string') continue;
    let up = byID.get(n.parent);
    while (up && up.kind !== 'supply') up = byID.get(up.parent);
    if (up) out.get(up.path)!.push(n.title);
  }
  return out;
}

const flow = (names: string[]) => `\x01[${names.map((n) => (/^[A-Za-z][\w -]*$/.test(n) && !/^(null|true|false|yes|no|on|off|y|n)$/i.test(n) ? n : JSON.stringify(n))).join(', ')}]`;

/** feedsFor is the changes with which supplies feed just these channels: with several supplies each names its own, and one that feeds none is there for the fan. */
export function feedsFor(fed: Map<string, string[]>): Change[] {
  return [...fed].flatMap(([path, names]): Change[] => (names.length > 0 ? [{ path: `${path}.feeds`, text: flow(names) }] : [{ path: `${path}.feeds`, text: '\0' }]));
}

/** feed is the changes that let a supply feed a channel, or no longer; another one that fed it lets it go. */
export function feed(list: PowerNode[], supply: string, channel: string, on: boolean): Change[] {
  const fed = fedBy(list);
  for (const [path, names] of fed) fed.set(path, path === supply && on ? [...new Set([...names, channel])] : names.filter((n) => n !== channel));
  return feedsFor(fed).filter((c) => c.path === `${supply}.feeds` || list.length > 0 && changed(fedBy(list), fed, c.path));
}
const changed = (a: Map<string, string[]>, b: Map<string, string[]>, path: string) => { const at = path.slice(0, -'.feeds'.length); return (a.get(at) ?? []).join() !== (b.get(at) ?? []).join(); };

/** without is the changes that take a supply away and let the first of the others feed its channels. */
export function without(list: PowerNode[], supply: string): Change[] {
  const fed = fedBy(list), orphans = fed.get(supply) ?? [];
  const first = [...fed.keys()].find((path) => path !== supply);
  const feeds: Change[] = first && orphans.length > 0 ? [{ path: `${first}.feeds`, text: flow([...fed.get(first)!, ...orphans]) }] : [];
  return [...feeds, { path: supply, text: '\0' }];
}
