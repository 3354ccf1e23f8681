"""Solves heat cases by finite volumes on a uniform fine grid and scipy's sparse solvers: another program than ours, for
comparison only. Usage: extra.py FILE.json… writes "results" into each file.

Cells are uniform along x and y, `step` of the file wide; each layer is cut evenly. Layers, blocks, films and the outline are
weighed in a cell by its share of them, from 8 × 8 points. Two grids, the other of twice the step, are extrapolated as second
order where every edge of the case lies on both grids, and the finer is taken as it is otherwise. Needs numpy and scipy.
"""
import json
import sys

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as sl

SUB = 8


def hits(area, x, y):
    if "points" in area:
        inside = np.zeros(np.broadcast(x, y).shape, bool)
        p = area["points"]
        for (ax, ay), (bx, by) in zip(p, p[1:] + p[:1]):
            if ay != by:
                inside ^= ((ay > y) != (by > y)) & (x < ax + (bx - ax) * (y - ay) / (by - ay))
        return inside
    if "radius" in area:
        return (x - area.get("x", 0)) ** 2 + (y - area.get("y", 0)) ** 2 < area["radius"] ** 2
    return (abs(x - area.get("x", 0)) < area["wx"] / 2) & (abs(y - area.get("y", 0)) < area["wy"] / 2)


class Grid:
    def __init__(self, case, step, fine):
        self.case, self.step = case, step
        b = case["board"]
        if b["shape"] == "rect":
            outline, x0, x1, y0, y1 = {"wx": b["lx"], "wy": b["ly"]}, -b["lx"] / 2, b["lx"] / 2, -b["ly"] / 2, b["ly"] / 2
        elif b["shape"] == "disc":
            r = b["radius"]
            outline, x0, x1, y0, y1 = {"radius": r}, -r, r, -r, r
        else:
            p = np.array(b["points"])
            outline, (x0, y0), (x1, y1) = {"points": b["points"]}, p.min(0), p.max(0)
        self.x0, self.y0 = x0, y0
        self.nx, self.ny = round((x1 - x0) / step), round((y1 - y0) / step)
        self.on = self.share(outline)
        for h in b.get("holes", []):
            self.on = np.clip(self.on - self.share(h), 0, 1)
        self.on[self.on < 0.1] = 0
        self.planes = []  # from the bottom: thickness, kxy, kz, capacity, share of the cell, resistance of the joint below
        for item in case["layers"]:
            kxy, kz = item.get("k", item.get("k_xy")), item.get("k", item.get("k_z"))
            part = self.on.copy()
            if item.get("region", "full") != "full":
                part = np.minimum(part, np.clip(sum(self.share(a) for a in item["region"]), 0, 1))
            kzz = np.full(part.shape, float(kz))
            if "vias" in item:
                v = np.clip(sum(self.share(a) for a in item["vias"]["areas"]), 0, 1)
                kzz = kz + v * (item["vias"]["k_z"] - kz)
            n = (8 if item["t"] > 4e-4 else 3) if fine else (4 if item["t"] > 4e-4 else 2)
            for k in range(n):
                self.planes.append((item["t"] / n, kxy, kzz, item.get("rho", 0) * item.get("cp", 0), part, item.get("r_below", 0) if k == 0 else 0))
        blocks = [s["submount"] for s in case["sources"] if "submount" in s]
        if blocks:  # all of one height and make
            m, at = blocks[0], [s for s in case["sources"] if "submount" in s]
            part = np.clip(sum(self.share({"x": s["submount"].get("x", s["x"]), "y": s["submount"].get("y", s["y"]), "wx": s["submount"]["wx"], "wy": s["submount"]["wy"]}) for s in at), 0, 1)
            n = 6 if fine else 3
            for k in range(n):
                self.planes.append((m["t"] / n, m["k"], np.full(part.shape, float(m["k"])), m.get("rho", 0) * m.get("cp", 0), part, m.get("r_attach", 0) if k == 0 else 0))
        self.build()

    def share(self, area):
        s = np.zeros((self.nx, self.ny))
        for i in range(SUB):
            for j in range(SUB):
                x = self.x0 + (np.arange(self.nx) + (i + 0.5) / SUB) * self.step
                y = self.y0 + (np.arange(self.ny) + (j + 0.5) / SUB) * self.step
                s += hits(area, x[:, None], y[None, :])
        return s / SUB ** 2

    def build(self):
        n, d, case = len(self.planes), self.step, self.case
        self.index = np.full((n, self.nx, self.ny), -1)
        count = 0
        for k, p in enumerate(self.planes):
            on = p[4] > 0.05
            self.index[k][on] = count + np.arange(on.sum())
            count += on.sum()
        rows, cols, vals = [], [], []
        self.ground = np.zeros(count + 1)
        self.cap = np.zeros(count + 1)
        self.direct, self.count = np.zeros(count + 1), count

        def tie(a, b, g):
            rows.extend([a, b, a, b]), cols.extend([a, b, b, a]), vals.extend([g, g, -g, -g])

        for k, (dz, kxy, kz, c, part, joint) in enumerate(self.planes):
            i = self.index[k]
            for a, b, fa, fb in ((i[:-1], i[1:], part[:-1], part[1:]), (i[:, :-1], i[:, 1:], part[:, :-1], part[:, 1:])):
                ok = (a >= 0) & (b >= 0)
                tie(a[ok], b[ok], kxy * dz * 2 / (1 / fa[ok] + 1 / fb[ok]))
            ok = i >= 0
            self.cap[i[ok]] += c * dz * d * d * part[ok]
        self.top = np.full((self.nx, self.ny), -1)  # topmost plane of a column
        below = np.full((self.nx, self.ny), -1)
        for k, (dz, kxy, kz, c, part, joint) in enumerate(self.planes):
            ok = (self.index[k] >= 0) & (below >= 0)
            if ok.any():
                b = below[ok]
                dzb = np.array([p[0] for p in self.planes])[b]
                kzb = np.stack([p[2] for p in self.planes])[b, ok.nonzero()[0], ok.nonzero()[1]]
                r = dzb / 2 / kzb + joint + dz / 2 / kz[ok]
                low = self.index[b, ok.nonzero()[0], ok.nonzero()[1]]
                tie(self.index[k][ok], low, part[ok] * d * d / r)
            below[self.index[k] >= 0] = k
        self.top = below
        # films
        self.half_top = np.zeros((self.nx, self.ny))
        for k, p in enumerate(self.planes):
            at = self.top == k
            self.half_top[at] = p[0] / 2 / p[2][at]
        self.h_top = np.zeros((self.nx, self.ny))
        sink = None
        for face in ("top", "back"):
            f = case.get(face, {})
            rest = np.ones((self.nx, self.ny))
            weigh = []
            for p in f.get("patches", []) + ([f["patch"]] if "patch" in f else []):
                s = np.minimum(self.share(p), rest)
                rest = rest - s
                weigh.append((s, p.get("h"), p.get("h_contact")))
            weigh.append((rest, f.get("h", 0), None))
            for s, h, contact in weigh:
                if face == "top":
                    self.h_top += s * h
                    continue
                p = self.planes[0]
                ok = (self.index[0] >= 0) & (s > 0)
                area = np.minimum(s[ok], p[4][ok]) * d * d
                half = p[0] / 2 / p[2][ok]
                if contact:
                    sink = count
                    tie(self.index[0][ok], np.full(ok.sum(), sink), area / (half + 1 / contact))
                elif h:
                    np.add.at(self.ground, self.index[0][ok], area / (half + 1 / h))
        ok = self.top >= 0
        idx = self.index[self.top[ok], ok.nonzero()[0], ok.nonzero()[1]]
        part = np.stack([p[4] for p in self.planes])[self.top[ok], ok.nonzero()[0], ok.nonzero()[1]]
        h, half = self.h_top[ok], self.half_top[ok]
        np.add.at(self.ground, idx, part * d * d * h / (1 + h * half))
        self.surface = {(i, j): v for i, j, v in zip(*ok.nonzero(), idx)}
        self.load = np.zeros(count + 1)
        self.flux = np.zeros((self.nx, self.ny))
        for s in case["sources"]:
            w = self.share({k: s[k] for k in ("x", "y", "wx", "wy")})
            q = s["P"] * w / w.sum() / d ** 2
            self.flux += q
            np.add.at(self.load, idx, q[ok] * d * d / (1 + h * half))
        if sink is not None:
            self.ground[sink] += case["sink"]["G"]
            self.cap[sink] += case["sink"].get("C", 0)
        else:
            self.ground[count] = 1
        self.sink = sink
        m = sp.coo_matrix((np.concatenate([np.ravel(v) for v in vals]), (np.concatenate([np.ravel(v) for v in rows]), np.concatenate([np.ravel(v) for v in cols]))), shape=(count + 1, count + 1)).tocsc()
        self.matrix = m + sp.diags(self.ground)

    def tops(self, t):
        v = np.full((self.nx, self.ny), np.nan)
        for (i, j), k in self.surface.items():
            v[i, j] = t[k]
        return (v + self.flux * self.half_top) / (1 + self.h_top * self.half_top)

    def read(self, t):
        top = self.tops(t)
        out = {"mean_source": {}, "probes": {}}
        hot = []
        for s in self.case["sources"]:
            w = self.share({k: s[k] for k in ("x", "y", "wx", "wy")})
            out["mean_source"][s["name"]] = float(np.nansum(w * top) / w.sum())
            hot.append(np.nanmax(np.where(w > 0.5, top, -1e9)))
        out["T_max"] = float(max(hot))
        height = sum(item["t"] for item in self.case["layers"])
        for p in self.case["probes"]:
            out["probes"][p["name"]] = float(self.place(p, t, top, height))
        if self.sink is not None:
            out["T_sink"] = float(t[self.sink])
        return out

    def place(self, p, t, top, height):
        """bilinear in the plane between cells that exist, linear in z"""
        def column(i, j):
            if self.top[i, j] < 0:
                return None
            zs, ts, z = [], [], 0.0
            for k, q in enumerate(self.planes):
                if self.index[k, i, j] >= 0:
                    zs.append(z + q[0] / 2), ts.append(t[self.index[k, i, j]])
                if k + 1 < len(self.planes) or True:
                    z += q[0]
            if p["z"] >= height - 1e-12:
                return top[i, j]
            if p["z"] <= zs[0]:  # the gradient goes on to the face
                return ts[0] + (ts[1] - ts[0]) / (zs[1] - zs[0]) * (p["z"] - zs[0])
            return np.interp(p["z"], zs, ts)
        u, v = (p["x"] - self.x0) / self.step - 0.5, (p["y"] - self.y0) / self.step - 0.5
        i, j = int(np.clip(np.floor(u), 0, self.nx - 2)), int(np.clip(np.floor(v), 0, self.ny - 2))
        fx, fy = u - i, v - j
        if not (0 <= fx <= 1):
            fx = np.clip(fx, -0.5, 1.5)
        if not (0 <= fy <= 1):
            fy = np.clip(fy, -0.5, 1.5)
        total = weight = 0.0
        for a, wa in ((0, 1 - fx), (1, fx)):
            for b, wb in ((0, 1 - fy), (1, fy)):
                c = column(i + a, j + b)
                if c is not None:
                    total, weight = total + wa * wb * c, weight + wa * wb
        return total / weight

    def steady(self):
        if self.count < 30000:
            return sl.spsolve(self.matrix, self.load, permc_spec="MMD_AT_PLUS_A")
        ilu = sl.spilu(self.matrix, drop_tol=1e-4, fill_factor=12, permc_spec="MMD_AT_PLUS_A")
        t, info = sl.bicgstab(self.matrix, self.load, tol=1e-10, maxiter=2000, M=sl.LinearOperator(self.matrix.shape, ilu.solve))
        if info:
            raise SystemExit(f"no convergence: {info}")
        return t

    def course(self, times):
        """two short Euler steps, then trapezium steps, each span of times in 40 of them"""
        t, now, out = np.zeros(self.count + 1), 0.0, []
        for n, end in enumerate(times):
            steps = 40
            dt = (end - now) / steps
            cap = sp.diags(self.cap / dt)
            half = sl.splu((cap + self.matrix / 2).tocsc(), permc_spec="MMD_AT_PLUS_A")
            euler = sl.splu((sp.diags(self.cap / (dt / 4)) + self.matrix).tocsc(), permc_spec="MMD_AT_PLUS_A") if n == 0 else None
            for k in range(steps):
                if n == 0 and k < 2:
                    for _ in range(4):
                        t = euler.solve(self.load + self.cap / (dt / 4) * t)
                else:
                    t = half.solve(self.load + self.cap / dt * t - self.matrix @ t / 2)
            now = end
            out.append(self.read(t))
        return out


def extrapolate(coarse, fine):
    if isinstance(fine, dict):
        return {k: extrapolate(coarse[k], fine[k]) for k in fine}
    if isinstance(fine, list):
        return [extrapolate(a, b) for a, b in zip(coarse, fine)]
    return fine + (fine - coarse) / 3


for name in sys.argv[1:]:
    with open(name) as f:
        case = json.load(f)
    step = case["notes"]["step"]
    found, grids = [], []
    for s, fine in ((2 * step, False), (step, True)):
        g = Grid(case, s, fine)
        r = g.read(g.steady())
        if "times" in case:
            r = [dict(v, t=t) for t, v in zip(case["times"], g.course(case["times"]))] + [dict(r, t=1e99)]
        found.append(r), grids.append(int(g.count))
    result = extrapolate(*found) if case["notes"].get("aligned") else found[1]
    if "times" in case:
        for v, t in zip(result, case["times"] + ["steady"]):
            v["t"] = t
    case["results"] = result
    case["checks"] = {"cells": grids, "coarse": found[0]}
    with open(name, "w") as f:
        json.dump(case, f, indent=1)
    print(name, grids)
