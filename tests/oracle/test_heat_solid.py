"""Three packages solved in space against quadratic finite elements on graded meshes.

The finite elements (27-node bricks of scikit-fem) take the same boxes, films and heat on the active faces, and their own
mesh, on two levels of which the results are extrapolated. Conjugate gradients with a two-level preconditioner (columns
of unknowns relaxed exactly, linear bricks solved directly) solve them.
"""

import json
import subprocess

import numpy
import pytest
import scipy.sparse
import scipy.sparse.linalg
import skfem


@pytest.fixture(scope="module")
def packages(example):
    done = subprocess.run([example("facedown-heat", "solid_json")], stdout=subprocess.PIPE, text=True, check=True)
    return {told["name"]: told for told in map(json.loads, done.stdout.splitlines())}


def line(marks, ratio, largest):
    """Edges through all marks (place, spacing), growing by at most the ratio."""
    places = {}
    for place, spacing in marks:
        same = next((p for p in places if abs(p - place) < 1e-9), place)
        places[same] = min(spacing, places.get(same, spacing))
    at = numpy.array(sorted(places))
    h = numpy.array([places[p] for p in at])
    rate = numpy.log(ratio)
    h = numpy.min(h[None, :] + rate * abs(at[:, None] - at[None, :]), axis=1)
    edges = [at[0]]
    for a, b, low, high in zip(at[:-1], at[1:], h[:-1], h[1:], strict=True):
        x = numpy.linspace(a, b, 400)
        wanted = numpy.minimum(numpy.minimum(low + rate * (x - a), high + rate * (b - x)), largest)
        count = numpy.concatenate([[0.0], numpy.cumsum(numpy.diff(x) * 0.5 * (1 / wanted[1:] + 1 / wanted[:-1]))])
        cells = max(1, int(numpy.ceil(count[-1] - 1e-9)))
        edges += list(numpy.interp(count[-1] * numpy.arange(1, cells + 1) / cells, count, x))
        edges[-1] = b
    return numpy.array(edges)


def inside(area, x, y):
    return (x > area[0][0]) & (x < area[1][0]) & (y > area[0][1]) & (y < area[1][1])


def lines(told, fineness):
    """Lines of the mesh: fine at the rims of dies and blocks, and in every layer toward its faces."""
    boxes, dies = told["boxes"], told["dies"]
    low = [0.0 if told["symmetric"][axis] else min(b["from"][axis] for b in boxes) for axis in range(2)]
    high = [max(b["to"][axis] for b in boxes) for axis in range(2)]
    smallest = min(d["to"][axis] - d["from"][axis] for d in dies for axis in range(2))
    out = []
    for axis in range(2):
        marks = [(low[axis], (high[axis] - low[axis]) / 10), (high[axis], (high[axis] - low[axis]) / 10)]
        for box in boxes:
            outlines = [(box["from"], box["to"])] + ([box["hole"]] if box["hole"] else [])
            marks += [(o[e][axis], smallest / 12) for o in outlines for e in range(2)]
        for die in dies:
            marks += [(die[e][axis], smallest / 40) for e in ("from", "to")]
            marks += [(heat[e][axis], smallest / 25) for heat in die["heat"] for e in ("from", "to")]
            marks += [(0.5 * (die["from"][axis] + die["to"][axis]), smallest / 8)]
        marks = [(place, spacing / fineness) for place, spacing in marks if low[axis] <= place <= high[axis]]
        out.append(line(marks, 1.7 ** (1 / fineness), (high[axis] - low[axis]) / 8 / fineness))
    faces = sorted({z for box in boxes for z in box["z"]})
    faces = [z for i, z in enumerate(faces) if i == 0 or z - faces[i - 1] > 1e-9]
    marks = []
    for a, b in zip(faces[:-1], faces[1:], strict=True):
        marks += [(z, max((b - a) / 8, min(b - a, 40e-6)) / fineness) for z in (a, b)]
    out.append(line(marks, 1.8 ** (1 / fineness), 0.5e-3 / fineness))
    return out


class Columns:
    """Relaxes all unknowns over one place of the plane at once, then the linear bricks, then the columns again."""

    def __init__(self, matrix, x, y, z, coarse):
        _, columns = numpy.unique(numpy.round(numpy.column_stack([x, y]) * 1e10).astype(numpy.int64), axis=0, return_inverse=True)
        self.order = numpy.lexsort([z, columns.ravel()])
        entries = matrix.tocoo()
        same = columns.ravel()[entries.row] == columns.ravel()[entries.col]
        block = scipy.sparse.csc_matrix((entries.data[same], (entries.row[same], entries.col[same])), shape=matrix.shape)
        block = block[self.order][:, self.order].tocsc()
        self.block = scipy.sparse.linalg.splu(block, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        self.matrix, self.coarse = matrix, coarse
        small = (coarse.T @ matrix @ coarse).tocsc()
        self.direct = scipy.sparse.linalg.splu(small, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def relax(self, rest):
        out = numpy.empty_like(rest)
        out[self.order] = self.block.solve(rest[self.order])
        return 0.5 * out

    def __call__(self, rest):
        out = self.relax(rest)
        out += self.coarse @ self.direct.solve(self.coarse.T @ (rest - self.matrix @ out))
        return out + self.relax(rest - self.matrix @ out)


def interpolation(basis, edges):
    """From the linear bricks on the same mesh to the quadratic ones; the values of unused corners are left out."""
    places = []
    for axis, line_ in enumerate(edges):
        halves = numpy.empty(2 * len(line_) - 1)
        halves[::2], halves[1::2] = line_, 0.5 * (line_[1:] + line_[:-1])
        at = numpy.clip(numpy.searchsorted(halves, basis.doflocs[axis]), 1, len(halves) - 1)
        places.append(at - (abs(halves[at - 1] - basis.doflocs[axis]) < abs(halves[at] - basis.doflocs[axis])))
    counts = [len(e) for e in edges]
    rows, columns, values = [], [], []
    every = numpy.arange(basis.N)
    for corner in range(8):
        weight = numpy.ones(basis.N)
        number = numpy.zeros(basis.N, dtype=numpy.int64)
        keep = numpy.ones(basis.N, dtype=bool)
        for axis in range(3):
            up, odd = corner >> axis & 1, places[axis] % 2 == 1
            keep &= odd | (up == 0)
            weight *= numpy.where(odd, 0.5, 1.0)
            number = number * counts[axis] + places[axis] // 2 + up * odd
        rows.append(every[keep])
        columns.append(number[keep])
        values.append(weight[keep])
    used, columns = numpy.unique(numpy.concatenate(columns), return_inverse=True)
    return scipy.sparse.csr_matrix((numpy.concatenate(values), (numpy.concatenate(rows), columns)), shape=(basis.N, len(used)))


def assembled(told, fineness):
    """The mesh of boxes with the box of every element, its quadratic unknowns and their matrix with the films."""
    edges = lines(told, fineness)
    mesh = skfem.MeshHex.init_tensor(*edges)
    x, y, z = mesh.p[:, mesh.t].mean(axis=1)
    owner = numpy.full(mesh.nelements, -1)
    for i, box in enumerate(told["boxes"]):
        holds = inside((box["from"], box["to"]), x, y) & (z > box["z"][0]) & (z < box["z"][1])
        if box["hole"]:
            holds &= ~inside(box["hole"], x, y)
        owner[holds] = i
    mesh, owner = mesh.restrict(numpy.flatnonzero(owner >= 0)), owner[owner >= 0]
    boxes = told["boxes"]
    element = skfem.ElementHex2()
    basis = skfem.Basis(mesh, element, intorder=5)
    k = numpy.array([[box["in_plane"], box["in_plane"], box["through"]] for box in boxes])[owner].T[:, :, None]

    @skfem.BilinearForm
    def conduction(u, v, w):
        return sum(w["k"][axis] * u.grad[axis] * v.grad[axis] for axis in range(3))

    matrix = conduction.assemble(basis, k=k)
    outer = mesh.boundary_facets()
    middle = mesh.p[:, mesh.facets[:, outer]].mean(axis=1)
    extent = numpy.ptp(mesh.p[:, mesh.facets[:, outer]], axis=1)
    normal = numpy.argmin(extent, axis=0)
    held = numpy.zeros(len(outer))
    own = mesh.f2t[0, outer]
    upper = middle[2] > mesh.p[2][mesh.t[:, own]].mean(axis=0)
    for i, box in enumerate(boxes):
        films = box["films"]
        film = numpy.where(normal != 2, films["upright"], numpy.where(upper, films["above"], films["below"]))
        held = numpy.where(owner[own] == i, film, held)
    for axis in range(2):
        if told["symmetric"][axis]:
            held[(normal == axis) & (abs(middle[axis]) < 1e-9)] = 0.0
    surface = skfem.FacetBasis(mesh, element, facets=outer[held > 0], intorder=5)
    film = skfem.BilinearForm(lambda u, v, w: w["h"] * u * v)
    matrix = (matrix + film.assemble(surface, h=held[held > 0][:, None])).tocsr()
    return edges, owner, basis, matrix


def solved(edges, basis, matrix, load):
    """The rise in every unknown."""
    cycle = Columns(matrix, *basis.doflocs, interpolation(basis, edges))
    operator = scipy.sparse.linalg.LinearOperator(matrix.shape, cycle)
    rise, stopped = scipy.sparse.linalg.cg(matrix, load, rtol=1e-8, maxiter=300, M=operator)
    assert stopped == 0
    # All heat leaves through the films.
    assert (matrix @ rise).sum() == pytest.approx(load.sum(), rel=1e-6)
    return rise


def elements(told, fineness):
    """Mean and largest rise of every die, unknowns."""
    edges, _, basis, matrix = assembled(told, fineness)
    mesh, element = basis.mesh, basis.elem

    # Heat on the active faces, which lie within the mesh.
    middles = mesh.p[:, mesh.facets].mean(axis=1)
    flat = numpy.ptp(mesh.p[2, mesh.facets], axis=0) < 1e-9
    spread = skfem.LinearForm(lambda v, w: 1.0 * v)

    def on(plane, area):
        chosen = numpy.flatnonzero(flat & (abs(middles[2] - plane) < 1e-9) & inside(area, middles[0], middles[1]))
        return spread.assemble(skfem.InteriorFacetBasis(mesh, element, facets=chosen, side=0, intorder=5)), chosen

    load = numpy.zeros(basis.N)
    present = [die for die in told["dies"] if die["to"][0] > mesh.p[0].min()]
    for die in present:
        for heat in die["heat"]:
            density, _ = on(die["active"], (heat["from"], heat["to"]))
            whole = numpy.prod(numpy.array(heat["to"]) - heat["from"])
            load += heat["heat"] / whole * density
    rise = solved(edges, basis, matrix, load)
    out = []
    for die in told["dies"]:
        if die not in present:
            # On the other side of the plane of symmetry.
            out.append([numpy.nan, numpy.nan])
            continue
        density, chosen = on(die["active"], (die["from"], die["to"]))
        unknowns = basis.get_dofs(facets=chosen).flatten()
        out.append([density @ rise / density.sum(), rise[unknowns].max()])
    return numpy.array(out), basis.N


def plain_package(lid, fineness):
    """Mean and largest rise in the die of a plain package in air, a quarter of it, 1 W in the die's volume."""
    # Height, half width, conductivity in the plane and through, from the board up, mm.
    parts = [(1.6, 50.75, 24.0, 0.40), (0.5, 17.5, 0.05, 8.0), (1.0, 17.5, 24.0, 0.5), (0.08, 5, 0.8, 13.0), (0.75, 5, 120.0, 120.0)]
    parts += [(0.05, 5, 3.0, 3.0), (2.0, 17.5, 390.0, 390.0)] if lid else []
    above = {0, 6} if lid else {0, 2, 4}
    boxes, z = [], 0.0
    for i, (height, half, in_plane, through) in enumerate(parts):
        films = {"above": 10.0 if i in above else 0.0, "below": 10.0 if i == 0 else 0.0, "upright": 0.0}
        spans = {"from": [-half * 1e-3] * 2, "to": [half * 1e-3] * 2, "z": [z, z + height * 1e-3], "hole": None}
        boxes.append(spans | {"in_plane": in_plane, "through": through, "films": films})
        z += height * 1e-3
    told = {"boxes": boxes, "symmetric": [True, True]}
    told["dies"] = [{"from": boxes[4]["from"], "to": boxes[4]["to"], "heat": []}]
    edges, owner, basis, matrix = assembled(told, fineness)
    die = skfem.Basis(basis.mesh, basis.elem, elements=numpy.flatnonzero(owner == 4), intorder=5)
    volume = skfem.LinearForm(lambda v, w: 1.0 * v).assemble(die)
    rise = solved(edges, basis, matrix, volume / (1e-4 * 0.75e-3))
    unknowns = die.get_dofs(elements=numpy.flatnonzero(owner == 4)).flatten()
    return volume @ rise / volume.sum(), rise[unknowns].max()


# Coarse and fine of the two meshes by package: the module has many dies and only one plane of symmetry.
MESHES = {"bare": (0.5, 0.75), "lidded": (0.55, 0.8), "module": (0.3, 0.42)}


@pytest.fixture(scope="module")
def compared(packages):
    """Our value, our error and the finite elements' limit of every mean and largest rise that the mesh holds."""
    rows = []
    for name, told in packages.items():
        (coarse, _), (fine, unknowns) = (elements(told, f) for f in MESHES[name])
        # At rims of dies the gradient is singular: the error falls a little faster than the spacing.
        ratio = (MESHES[name][1] / MESHES[name][0]) ** 1.3
        limit = fine + (fine - coarse) / (ratio - 1)
        for die, of_coarse, of_fine, of_limit in zip(told["dies"], coarse, fine, limit, strict=True):
            for column, reading in enumerate(("mean", "hottest")):
                if numpy.isfinite(of_limit[column]):
                    row = (f"{name}, {die['name']}, {reading}", *die[reading], of_coarse[column], of_fine[column], of_limit[column])
                    print(*row, unknowns)
                    rows.append(row)
    return rows


def test_junctions_agree_with_finite_elements(compared):
    assert len(compared) == 8
    for name, value, _, coarse, fine, limit in compared:
        # The reference has converged to a fraction of what is asked.
        assert abs(limit - fine) < 2e-3 * limit, name
        assert abs(fine - coarse) < 6e-3 * limit, name
        assert value == pytest.approx(limit, rel=5e-3), name


def test_told_errors_hold(compared):
    """Within the error that is told, but for one in eight: the hottest places of the module, at rims, tell no order."""
    missed = [row for row in compared if abs(row[1] - row[5]) > row[2]]
    assert len(missed) <= len(compared) / 8, missed
