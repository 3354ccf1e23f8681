// Where labels go on a crowded picture: clear of each other and of what they name, shorter where there is less room, and left
// out where there is none.

export interface Box { x: number; y: number; w: number; h: number }
/** Named is a thing with a name: half its breadth and height, and the radius of the ring about it. */
export interface Named { x: number; y: number; halfW: number; halfH: number; ring: number; texts: string[] }
export interface Label { x: number; y: number; text: string }

const overlap = (a: Box, b: Box) => a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
const inside = (a: Box, b: Box) => a.x >= b.x && a.y >= b.y && a.x + a.w <= b.x + b.w && a.y + a.h <= b.y + b.h;
const wide = (text: string, size: number) => (0.6 * text.length + 0.4) * size;

/** shorter are a name and what may stand for it: the start of a long one, and its number alone. */
export function shorter(name: string): string[] {
  const [, word, n] = /^(.*) (\d+)$/.exec(name) ?? [];
  if (!word || !n) return [name];
  return word.length > 9 ? [name, `${word.slice(0, 7)}… ${n}`, n] : [name, n];
}

/** place finds where each label goes, its middle and its base line; y runs downwards. The first ones come first. */
export function place(list: Named[], size: number, frame: Box, taken: Box[] = []): (Label | null)[] {
  const bodies = list.map((n): Box => ({ x: n.x - n.halfW, y: n.y - n.halfH, w: 2 * n.halfW, h: 2 * n.halfH }));
  const full = [...taken];
  const rings = (b: Box, but: number) => list.every((n, i) => i === but || n.ring === 0 || Math.hypot(Math.max(b.x - n.x, 0, n.x - b.x - b.w), Math.max(b.y - n.y, 0, n.y - b.y - b.h)) >= n.ring);
  return list.map((n, i) => {
    for (const text of n.texts) {
      const w = wide(text, size), r = Math.max(n.ring, n.halfH), s = Math.max(n.ring, n.halfW);
      const spots: [number, number][] = [[0, r + size], [0, -r - 0.35 * size], [s + 0.3 * size + w / 2, 0.35 * size], [-s - 0.3 * size - w / 2, 0.35 * size]];
      if (n.ring > n.halfH + 1.3 * size) spots.push([0, n.halfH + size], [0, -n.halfH - 0.35 * size]);
      for (const [dx, dy] of spots) {
        const b: Box = { x: n.x + dx - w / 2, y: n.y + dy - 0.85 * size, w, h: 1.1 * size };
        if (inside(b, frame) && rings(b, i) && !full.some((t) => overlap(b, t)) && !bodies.some((t) => overlap(b, t))) {
          full.push(b);
          return { x: n.x + dx, y: n.y + dy, text };
        }
      }
    }
    return null;
  });
}
