"""The front of the underfill: its pressures against scipy, and a bump-resolved front in the plane."""

import math

import numpy
import pytest
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import spsolve

GAP, TENSION, ANGLE = 60e-6, 0.03, 0.4


@pytest.fixture(scope="session")
def ask(answering):
    return answering("facedown-underfill", "front_json")


def network(conductance, dx, dy, left, bottom):
    """Five-point matrix of cells with sides dx, dy; feeds half a cell away along the left and the bottom."""
    nx, ny = conductance.shape
    number = numpy.arange(nx * ny).reshape(nx, ny)
    rows, columns, values, diagonal = [], [], [], numpy.zeros(nx * ny)
    for a, b, ka, kb, shape in (
        (number[:-1], number[1:], conductance[:-1], conductance[1:], dy / dx),
        (number[:, :-1], number[:, 1:], conductance[:, :-1], conductance[:, 1:], dx / dy),
    ):
        t = (shape * 2 * ka * kb / (ka + kb)).ravel()
        rows += [a.ravel(), b.ravel()]
        columns += [b.ravel(), a.ravel()]
        values += [-t, -t]
        numpy.add.at(diagonal, a.ravel(), t)
        numpy.add.at(diagonal, b.ravel(), t)
    if left:
        diagonal[number[0]] += conductance[0] * 2 * dy / dx
    if bottom:
        diagonal[number[:, 0]] += conductance[:, 0] * 2 * dx / dy
    matrix = coo_matrix((numpy.concatenate(values), (numpy.concatenate(rows), numpy.concatenate(columns))), (nx * ny,) * 2)
    return (matrix + diags(diagonal)).tocsr()


def test_the_time_to_fill_agrees_with_scipy_on_the_same_matrix(ask):
    size, n = (4e-3, 3e-3), 24
    (found,) = ask([{"size": size, "gap": GAP, "tension": TENSION, "angle": ANGLE, "edges": ["Left", "Bottom"], "least": n}])
    nx, ny = found["count"]
    permeability, drive = numpy.zeros((nx, ny)), numpy.zeros((nx, ny))
    for i, j, k, p, _, _ in found["cells"]:
        permeability[i, j], drive[i, j] = k, p
    assert drive == pytest.approx(TENSION * 2 * math.cos(ANGLE) / GAP, rel=1e-12)
    dx, dy = size[0] / nx, size[1] / ny
    matrix = network(permeability * GAP, dx, dy, True, True)
    u = spsolve(matrix.tocsc(), numpy.full(nx * ny, dx * dy * GAP)) / drive[0, 0]
    assert found["obstacle"] == pytest.approx(u.max(), rel=1e-8)
    assert found["fill"] == pytest.approx(u.max(), rel=1e-6)


def resolved(size, places, diameter, fine):
    """Fluidity times of a front through bumps that the grid resolves, with the same mean drive: depth-averaged flow between two
    faces around round islands."""
    nx, ny = int(round(size[0] / fine)), int(round(size[1] / fine))
    x, y = numpy.meshgrid((numpy.arange(nx) + 0.5) * fine, (numpy.arange(ny) + 0.5) * fine, indexing="ij")
    solid = numpy.zeros((nx, ny), bool)
    for px, py in places:
        solid |= numpy.hypot(x - px, y - py) < diameter / 2
    conductance = numpy.where(solid, 1e-12, 1.0) * GAP**3 / 12
    # With one drive everywhere the front follows an obstacle problem, solved by raising the time and Newton's method on the
    # set of wet cells: an independent way to the same physics, on a grid that knows each bump.
    matrix = network(conductance, fine, fine, True, False)
    feed = numpy.zeros(nx * ny)
    feed[numpy.arange(nx * ny).reshape(nx, ny)[0]] = conductance[0] * 2
    need = numpy.where(solid, 0.0, fine * fine * GAP).ravel()
    free = ~solid.ravel()

    def share(time):
        """Filled share at a fluidity time over the drive: w >= 0, A w = feed * time - need where wet."""
        wet = free.copy()
        for _ in range(200):
            w = numpy.zeros(nx * ny)
            at = numpy.flatnonzero(wet)
            w[at] = spsolve(matrix[at][:, at].tocsc(), (feed * time - need)[at])
            residual = matrix @ w - feed * time + need
            new = free & numpy.where(wet, w > 0, residual < 0)
            if (new == wet).all():
                break
            wet = new
        return wet.sum() / free.sum()

    return share


def test_a_front_through_resolved_bumps_comes_as_far(ask):
    """Bumps low against their pitch: the faces resist, and the islands only make the flow go round."""
    pitch, diameter = 600e-6, 300e-6
    size = (9 * pitch, 2 * pitch)
    places = [((i + 0.5) * pitch, (j + 0.5) * pitch) for i in range(9) for j in range(2)]
    # The plane flow knows no drive of the bumps' sides: both are told in fluidity time over the program's mean drive.
    task = {"size": size, "gap": GAP, "tension": TENSION, "angle": ANGLE, "edges": ["Left"], "least": 16, "places": places, "diameter": diameter}
    (found,) = ask([task])
    drive = numpy.array([c[3] for c in found["cells"]])
    assert drive == pytest.approx(drive[0], rel=1e-9)
    share = resolved(size, places, diameter, pitch / 24)
    course = numpy.array(found["course"])
    for part in (0.3, 0.5, 0.7):
        time = part**2 * found["fill"]
        expected = share(time * drive[0])
        filled = numpy.interp(math.sqrt(time), numpy.sqrt(course[:, 0]), course[:, 1])
        # The wall layer at the islands, of the gap's width, is in the program's permeability and not in a plane flow.
        assert filled == pytest.approx(expected, rel=0.05)
