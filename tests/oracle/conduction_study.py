"""Two-point volumes against trilinear and quadratic bricks on the same meshes of the bare package: the study of docs/conduction.md.

Run `python tests/oracle/conduction_study.py`; it is no test. Each row: cells, and for volumes and trilinear bricks the mean and
largest rise of the die with their distance from the quadratic bricks' limit.
"""

import json
import subprocess
import time

import numpy
import scipy.sparse
import scipy.sparse.linalg
import skfem
from conftest import build
from test_heat_solid import elements, inside, lines


def owners(told, edges):
    """The box of every cell, -1 where none is; x, y, z."""
    middles = [0.5 * (e[1:] + e[:-1]) for e in edges]
    x, y, z = numpy.meshgrid(*middles, indexing="ij")
    owner = numpy.full(x.shape, -1)
    for i, box in enumerate(told["boxes"]):
        holds = inside((box["from"], box["to"]), x, y) & (z > box["z"][0]) & (z < box["z"][1])
        if box["hole"]:
            holds &= ~inside(box["hole"], x, y)
        owner[holds] = i
    return owner


def volumes(told, edges):
    """Mean and largest rise of the first die by two-point volumes."""
    owner = owners(told, edges)
    there = owner >= 0
    number = numpy.full(owner.shape, -1)
    number[there] = numpy.arange(there.sum())
    widths = numpy.meshgrid(*[numpy.diff(e) for e in edges], indexing="ij")
    boxes = told["boxes"]
    rows, columns, values = [], [], []
    ground = numpy.zeros(there.sum())
    for axis in range(3):
        key = "through" if axis == 2 else "in_plane"
        k = numpy.array([b[key] for b in boxes] + [numpy.nan])[owner]
        area = numpy.prod([widths[a] for a in range(3) if a != axis], axis=0)
        half = 2 * k * area / widths[axis]
        low = [slice(None)] * 3
        high = [slice(None)] * 3
        low[axis], high[axis] = slice(None, -1), slice(1, None)
        low, high = tuple(low), tuple(high)
        both = there[low] & there[high]
        g = (half[low] * half[high] / (half[low] + half[high]))[both]
        a, b = number[low][both], number[high][both]
        rows += [a, b, a, b]
        columns += [a, b, b, a]
        values += [g, g, -g, -g]
        # Faces without a neighbour, and the rim of the mesh.
        for side, name in ((0, "below"), (1, "above")):
            name = name if axis == 2 else "upright"
            open_ = there.copy()
            if side:
                open_[low] &= ~there[high]
            else:
                open_[high] &= ~there[low]
            if axis < 2 and not side and told["symmetric"][axis]:
                first = [slice(None)] * 3
                first[axis] = 0
                open_[tuple(first)] = False
            film = numpy.array([b["films"][name] for b in boxes] + [0.0])[owner]
            film = (film * area)[open_]
            ground[number[open_]] += film * half[open_] / (film + half[open_])
    die = told["dies"][0]
    plane = numpy.argmin(abs(edges[2] - die["active"]))
    x, y = numpy.meshgrid(*[0.5 * (e[1:] + e[:-1]) for e in edges[:2]], indexing="ij")
    face = inside((die["from"], die["to"]), x, y)
    area = numpy.outer(numpy.diff(edges[0]), numpy.diff(edges[1]))[face]
    below, above = number[:, :, plane - 1][face], number[:, :, plane][face]
    k = numpy.array([b["through"] for b in boxes])[owner]
    g = [2 * k[:, :, p][face] * area / numpy.diff(edges[2])[p] for p in (plane - 1, plane)]
    heat = sum(h["heat"] / numpy.prod(numpy.array(h["to"]) - h["from"]) for h in die["heat"]) * area
    load = numpy.zeros(there.sum())
    numpy.add.at(load, below, heat * g[0] / (g[0] + g[1]))
    numpy.add.at(load, above, heat * g[1] / (g[0] + g[1]))
    matrix = scipy.sparse.csr_matrix(
        (numpy.concatenate(values), (numpy.concatenate(rows), numpy.concatenate(columns))), shape=(there.sum(),) * 2
    ) + scipy.sparse.diags(ground)
    rise = scipy.sparse.linalg.spsolve(matrix.tocsc(), load, permc_spec="MMD_AT_PLUS_A")
    on_face = (heat + g[0] * rise[below] + g[1] * rise[above]) / (g[0] + g[1])
    return [(area @ on_face) / area.sum(), on_face.max()], there.sum()


def bricks(told, edges):
    """The same by trilinear bricks."""
    mesh = skfem.MeshHex.init_tensor(*edges)
    owner = owners(told, edges)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    place = [numpy.searchsorted(e, m) - 1 for e, m in zip(edges, middle, strict=True)]
    owner = owner[tuple(place)]
    mesh, owner = mesh.restrict(numpy.flatnonzero(owner >= 0)), owner[owner >= 0]
    boxes = told["boxes"]
    basis = skfem.Basis(mesh, skfem.ElementHex1(), intorder=3)
    k = numpy.array([[b["in_plane"], b["in_plane"], b["through"]] for b in boxes])[owner].T[:, :, None]
    form = skfem.BilinearForm(lambda u, v, w: sum(w["k"][a] * u.grad[a] * v.grad[a] for a in range(3)))
    matrix = form.assemble(basis, k=k)
    outer = mesh.boundary_facets()
    at = mesh.p[:, mesh.facets[:, outer]]
    normal, own = numpy.argmin(numpy.ptp(at, axis=1), axis=0), mesh.f2t[0, outer]
    upper = at.mean(axis=1)[2] > mesh.p[2][mesh.t[:, own]].mean(axis=0)
    of = {name: numpy.array([b["films"][name] for b in boxes])[owner[own]] for name in ("upright", "above", "below")}
    film = numpy.where(normal != 2, of["upright"], numpy.where(upper, of["above"], of["below"]))
    for axis in range(2):
        if told["symmetric"][axis]:
            film[(normal == axis) & (abs(at.mean(axis=1)[axis]) < 1e-9)] = 0.0
    surface = skfem.FacetBasis(mesh, skfem.ElementHex1(), facets=outer[film > 0], intorder=3)
    matrix = matrix + skfem.BilinearForm(lambda u, v, w: w["h"] * u * v).assemble(surface, h=film[film > 0][:, None])
    die = told["dies"][0]
    flat = numpy.ptp(mesh.p[2, mesh.facets], axis=0) < 1e-9
    place = mesh.p[:, mesh.facets].mean(axis=1)
    chosen = numpy.flatnonzero(flat & (abs(place[2] - die["active"]) < 1e-9) & inside((die["from"], die["to"]), place[0], place[1]))
    face = skfem.InteriorFacetBasis(mesh, skfem.ElementHex1(), facets=chosen, side=0, intorder=3)
    density = skfem.LinearForm(lambda v, w: 1.0 * v).assemble(face)
    heat = sum(h["heat"] / numpy.prod(numpy.array(h["to"]) - h["from"]) for h in die["heat"])
    rise = scipy.sparse.linalg.spsolve(matrix.tocsc(), heat * density, permc_spec="MMD_AT_PLUS_A")
    return [density @ rise / density.sum(), rise[basis.get_dofs(facets=chosen).flatten()].max()], basis.N


def main():
    done = subprocess.run([build("-p", "facedown-heat", "--example", "solid_json")], stdout=subprocess.PIPE, text=True, check=True)
    told = next(t for t in map(json.loads, done.stdout.splitlines()) if t["name"] == "bare")
    (coarse, _), (fine, _) = elements(told, 0.5), elements(told, 0.75)
    limit = (fine + (fine - coarse) / (1.5**1.3 - 1))[0]
    print(f"quadratic bricks: {limit[0]:.4f} K mean, {limit[1]:.4f} K largest; the solver in space tells {told['dies'][0]}")
    for fineness in (0.24, 0.34, 0.48, 0.68, 0.96):
        edges = lines(told, fineness)
        row = []
        for solve in (volumes, bricks):
            began = time.process_time()
            values, unknowns = solve(told, edges)
            row += [unknowns, *values, *(100 * (v / l - 1) for v, l in zip(values, limit, strict=True)), time.process_time() - began]
        print("{:7d} {:9.4f} {:9.4f} {:+6.2f} % {:+6.2f} % {:6.1f} s  {:7d} {:9.4f} {:9.4f} {:+6.2f} % {:+6.2f} % {:6.1f} s".format(*row))


if __name__ == "__main__":
    main()
