"""Permeability of unit cells against Stokes flow by scikit-fem: triangles in the plane, bricks in space, continuous pressures."""

import math
import subprocess

import numpy
import pytest
from scipy.sparse import bmat
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    ElementHex1,
    ElementHex2,
    ElementTriP1,
    ElementTriP2,
    ElementVector,
    LinearForm,
    MeshHex,
    MeshHex2,
    MeshTri,
    MeshTri2,
    asm,
)
from skfem.models.general import divergence
from skfem.models.poisson import vector_laplace


@pytest.fixture(scope="session")
def cell(example):
    """12 K / gap^2 and the permeability of the array without plates over the pitch squared, on the finest of three meshes."""
    program = example("facedown-underfill", "unit_cells")

    def run(*words):
        done = subprocess.run([program, *map(str, words)], stdout=subprocess.PIPE, text=True, check=True)
        words = done.stdout.splitlines()[-1].split()
        return float(words[words.index("12K/h2") + 1]), float(words[words.index("plane") + 1])

    return run


def mean_velocity(mesh, velocity, pressure, held, area):
    """Integral of the velocity along x under a unit force over `area`; `held(x)` gives masks of held components."""
    flow = Basis(mesh, ElementVector(velocity), intorder=4)
    stiff, couple = asm(vector_laplace, flow), asm(divergence, flow, Basis(mesh, pressure, intorder=4))
    load = asm(LinearForm(lambda v, w: v[0]), flow)
    matrix = bmat([[stiff, -couple.T], [-couple, None]], "csc")
    right = numpy.concatenate([load, numpy.zeros(couple.shape[0])])
    component = numpy.zeros(flow.N, int)
    for local, dofs in enumerate(flow.element_dofs):
        component[dofs] = local % mesh.dim()
    free = numpy.ones(len(right), bool)
    for i, mask in enumerate(held(flow.doflocs)):
        free[: flow.N] &= ~(mask & (component == i))
    x = numpy.zeros(len(right))
    x[free] = splu(matrix[free][:, free]).solve(right[free])
    return load @ x[: flow.N] / area


def test_an_array_without_plates_agrees_with_triangles(cell):
    radius, rays, turns = 0.25, 14, 20
    s, t = numpy.meshgrid((numpy.arange(rays + 1) / rays) ** 1.3, numpy.linspace(0, math.pi / 2, turns + 1), indexing="ij")

    def place(s, t):
        edge = 0.5 / numpy.maximum(numpy.cos(t), numpy.sin(t))
        r = radius + s * (edge - radius)
        return numpy.array([r * numpy.cos(t), r * numpy.sin(t)])

    flat = MeshTri.init_tensor((numpy.arange(rays + 1) / rays) ** 1.3, numpy.linspace(0, math.pi / 2, turns + 1))
    curved = MeshTri2.from_mesh(flat)
    mesh = MeshTri2(place(*curved.doflocs), curved.t)

    def held(x):
        near = lambda a, b: numpy.abs(a - b) < 1e-9
        wall = near(numpy.hypot(*x), radius)
        passed = near(x[0], 0) | near(x[0], 0.5)
        mirror = near(x[1], 0) | near(x[1], 0.5)
        return wall, wall | passed | mirror

    plane = mean_velocity(mesh, ElementTriP2(), ElementTriP1(), held, 0.25)
    assert cell("square", "cylinder", 0.5, 0.5)[1] == pytest.approx(plane, rel=2e-4)


def share_between_plates(diameter, gap):
    """12 K / gap^2 of a square array of cylinders, lengths over the pitch; good to about 0.03 %."""
    radius, half = diameter / 2, gap / 2
    edges = (numpy.arange(7) / 6) ** 1.3, numpy.linspace(0, math.pi / 2, 9), 1 - (1 - numpy.arange(4) / 3) ** 1.2
    curved = MeshHex2.from_mesh(MeshHex.init_tensor(*edges))
    s, t, z = curved.doflocs
    edge = 0.5 / numpy.maximum(numpy.cos(t), numpy.sin(t))
    r = radius + s * (edge - radius)
    mesh = MeshHex2(numpy.array([r * numpy.cos(t), r * numpy.sin(t), half * z]), curved.t)

    def held(x):
        near = lambda a, b: numpy.abs(a - b) < 1e-9
        wall = near(numpy.hypot(x[0], x[1]), radius) | near(x[2], half)
        passed = near(x[0], 0) | near(x[0], 0.5)
        mirror = near(x[1], 0) | near(x[1], 0.5)
        return wall, wall | passed | mirror, wall | passed | near(x[2], 0)

    return 12 * mean_velocity(mesh, ElementHex2(), ElementHex1(), held, 0.25 * half) / gap**2


def test_a_cell_between_plates_agrees_with_bricks(cell):
    assert cell("square", "cylinder", 0.5, 1 / 3)[0] == pytest.approx(share_between_plates(0.5, 1 / 3), rel=5e-4)
