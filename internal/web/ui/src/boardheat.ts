// A rough map of the board while emitters move: their own part of the temperature is moved along, the rest stays. The solved map
// takes its place once they rest.

export interface Grid { x0_m: number; y0_m: number; step_m: number; nx: number; ny: number }

/** sample reads cells at a place given in cells, between the centres of the nearest ones. */
function sample(cells: ArrayLike<number>, nx: number, ny: number, i: number, j: number): number {
  const a = Math.min(nx - 1, Math.max(0, i)), b = Math.min(ny - 1, Math.max(0, j));
  const i0 = Math.min(nx - 2, Math.floor(a)), j0 = Math.min(ny - 2, Math.floor(b));
  if (nx < 2 || ny < 2) return cells[Math.round(b) * nx + Math.round(a)]!;
  const u = a - i0, v = b - j0, k = j0 * nx + i0;
  return (1 - v) * ((1 - u) * cells[k]! + u * cells[k + 1]!) + v * ((1 - u) * cells[k + nx]! + u * cells[k + nx + 1]!);
}

/** sources are where the field at a cell came from before a move by so many cells, along one axis: the cell that far back, and the
 * one whose heat would have gone over the rim ahead, which reflects it. The map reaches half a cell beyond its outermost centres. */
function sources(i: number, d: number, n: number): number[] {
  const back = 2 * (d > 0 ? n - 0.5 : -0.5) - i - d;
  return d !== 0 && back >= -0.5 && back <= n - 0.5 ? [i - d, back] : [i - d];
}

/** moveRise returns the part of a map that some emitters cause after they have moved by dx, dy: the same field moved along, reflected
 * at the rim ahead, and scaled so that its mean over the board, and with it the heat into the sink, stays. Cells off the board are 0. */
export function moveRise(rise: ArrayLike<number>, temps: ArrayLike<number>, g: Grid, dx: number, dy: number): Float64Array {
  const { nx, ny } = g, out = new Float64Array(nx * ny), di = dx / g.step_m, dj = dy / g.step_m;
  const alongX = Array.from({ length: nx }, (_, i) => sources(i, di, nx));
  let before = 0, after = 0;
  for (let j = 0; j < ny; j++) {
    const alongY = sources(j, dj, ny);
    for (let i = 0; i < nx; i++) {
      const k = j * nx + i;
      if (!(temps[k]! > 0)) continue;
      let v = 0;
      for (const a of alongX[i]!) for (const b of alongY) v += sample(rise, nx, ny, a, b);
      out[k] = v;
      before += rise[k]!;
      after += v;
    }
  }
  if (after > 0) { const f = before / after; for (let k = 0; k < out.length; k++) out[k]! *= f; }
  return out;
}

/** roughMap returns a map in which the part of some emitters stands where they have moved to. */
export function roughMap(temps: ArrayLike<number>, rise: ArrayLike<number>, g: Grid, dx: number, dy: number): Float64Array {
  const moved = moveRise(rise, temps, g, dx, dy), out = new Float64Array(moved.length);
  for (let k = 0; k < out.length; k++) out[k] = temps[k]! > 0 ? temps[k]! - rise[k]! + moved[k]! : 0;
  return out;
}

/** readAt is a value of a map at a place, between cells. */
export const readAt = (cells: ArrayLike<number>, g: Grid, x: number, y: number) => sample(cells, g.nx, g.ny, (x - g.x0_m) / g.step_m, (y - g.y0_m) / g.step_m);

/** riseThere is by how much the temperature at a place changes: of an emitter that moves by what the others cause where it goes, of
 * anything else by what the moved ones cause where it is. */
export function riseThere(base: { temps: ArrayLike<number>; rise: ArrayLike<number> }, rough: ArrayLike<number>, g: Grid, x: number, y: number, dx: number, dy: number, moves: boolean): number {
  if (!moves) return readAt(rough, g, x, y) - readAt(base.temps, g, x, y);
  const others = (px: number, py: number) => readAt(base.temps, g, px, py) - readAt(base.rise, g, px, py);
  return others(x + dx, y + dy) - others(x, y);
}
