"""Solves a heat case by trilinear finite elements and a sparse direct solver: another discretisation and another solver
than the program's own, for comparison only. Prints {"name of source": mean rise in kelvin}.

Two meshes, one with half the cells along x and y, are extrapolated. Needs numpy and scipy.
"""
import json
import sys

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as sl


def axis(length, step):
    return np.linspace(-length / 2, length / 2, round(length / step) + 1)


def box(item):
    return item["x"] - item["wx"] / 2, item["x"] + item["wx"] / 2, item["y"] - item["wy"] / 2, item["y"] + item["wy"] / 2


def inside(areas, x, y):
    hit = np.zeros(np.broadcast(x, y).shape, bool)
    for item in areas:
        x0, x1, y0, y1 = box(item)
        hit |= (x > x0) & (x < x1) & (y > y0) & (y < y1)
    return hit


def line(h):
    """stiffness and mass of a two-node line element, as (elements, 2, 2)"""
    h = np.asarray(h)[:, None, None]
    return np.array([[1, -1], [-1, 1]]) / h, np.array([[2, 1], [1, 2]]) * h / 6


def solve(case, step):
    x, y = axis(case["board"]["lx"], step), axis(case["board"]["ly"], step)
    z, layer = [0.0], []
    for n, item in enumerate(case["layers"]):
        parts = 5 if item["t"] > 1e-3 else 2
        for k in range(parts):
            z.append(z[-1] + item["t"] / parts)
            layer.append(n)
    nx, ny, nz = len(x) - 1, len(y) - 1, len(z) - 1
    kx, mx = line(np.diff(x))
    ky, my = line(np.diff(y))
    kz, mz = line(np.diff(z))
    xm, ym = (x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2
    node = np.arange((nx + 1) * (ny + 1) * (nz + 1)).reshape(nx + 1, ny + 1, nz + 1)
    rows, cols, vals = [], [], []
    flat = [(a, b) for a in (0, 1) for b in (0, 1)]
    for k in range(nz):
        item = case["layers"][layer[k]]
        on = np.ones((nx, ny), bool)
        if item.get("region", "full") != "full":
            on = inside(item["region"], xm[:, None], ym[None, :])
        i, j = np.nonzero(on)
        for a in [(p, q, r) for p, q in flat for r in (0, 1)]:
            for b in [(p, q, r) for p, q in flat for r in (0, 1)]:
                v = (kx[i, a[0], b[0]] * my[j, a[1], b[1]] * mz[k, a[2], b[2]]
                     + mx[i, a[0], b[0]] * ky[j, a[1], b[1]] * mz[k, a[2], b[2]]
                     + mx[i, a[0], b[0]] * my[j, a[1], b[1]] * kz[k, a[2], b[2]]) * item["k"]
                rows.append(node[i + a[0], j + a[1], k + a[2]])
                cols.append(node[i + b[0], j + b[1], k + b[2]])
                vals.append(v)

    def face(weight, level):
        i, j = np.nonzero(weight)
        lev = np.broadcast_to(level, weight.shape)[i, j]
        for a in flat:
            for b in flat:
                rows.append(node[i + a[0], j + a[1], lev])
                cols.append(node[i + b[0], j + b[1], lev])
                vals.append(weight[i, j] * mx[i, a[0], b[0]] * my[j, a[1], b[1]])

    back = np.full((nx, ny), float(case["back"]["h"]))
    patch = case["back"].get("patch")
    if patch:
        back[inside([patch], xm[:, None], ym[None, :])] = patch["h"]
    face(back, np.zeros((nx, ny), int))
    top_item = case["layers"][-1]
    below = nz - layer.count(len(case["layers"]) - 1)  # level under the uppermost layer
    top = np.full((nx, ny), nz)
    if top_item.get("region", "full") != "full":
        top[~inside(top_item["region"], xm[:, None], ym[None, :])] = below
    face(np.full((nx, ny), float(case["top"]["h"])), top)

    total = node.size
    rhs, means = np.zeros(total), {}
    for s in case["sources"]:
        i, j = np.nonzero(inside([s], xm[:, None], ym[None, :]))
        w = np.zeros(total)
        for a in flat:
            np.add.at(w, node[i + a[0], j + a[1], top[i, j]], np.diff(x)[i] * np.diff(y)[j] / 4)
        w /= s["wx"] * s["wy"]
        means[s["name"]] = w
        rhs += s["P"] * w
    matrix = sp.coo_matrix((np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols))), (total, total)).tocsc()
    used = np.flatnonzero(matrix.diagonal())
    theta = np.zeros(total)
    lu = sl.splu(matrix[used][:, used], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    theta[used] = lu.solve(rhs[used])
    return {name: float(w @ theta) for name, w in means.items()}


def main():
    with open(sys.argv[1]) as f:
        case = json.load(f)
    coarse, fine = solve(case, 0.001), solve(case, 0.0005)
    json.dump({name: fine[name] + (fine[name] - coarse[name]) / 3 for name in fine}, sys.stdout)


main()
