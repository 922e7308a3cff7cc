"""The published checks of the warpage study: every row that names a reference library is computed here again, by numpy or by solid models of 27-node bricks with scikit-fem."""

import json
import math
import re
import subprocess

import numpy
import pytest
import scipy.sparse.linalg
import skfem
from skfem.helpers import sym_grad

COOLING = -140.0


@pytest.fixture(scope="session")
def rows(example):
    program = example("facedown-warpage", "warpage_json")
    done = subprocess.run([program], input='{"published": true}\n', stdout=subprocess.PIPE, text=True, check=True)
    return {row["id"]: row for row in json.loads(done.stdout) if row["basis"] == "reference library"}


@pytest.fixture(scope="session")
def computed():
    """All rows of the reference libraries: name and value."""
    numbers = {}
    for part in (sections, mixtures, pairs, packages):
        numbers.update(part())
    return numbers


def test_every_reference_row_is_recomputed(rows, computed):
    assert set(rows) == {f"warpage-{name}" for name in computed}


def test_the_rows_print_what_the_libraries_compute(rows, computed):
    missed = {}
    for name, value in computed.items():
        expected = rows[f"warpage-{name}"]["expected"]
        digits = re.fullmatch(r"-?\d+\.?(\d*)", repr(expected)).group(1)
        # To the last digit that the row prints.
        if value != pytest.approx(expected, abs=0.52 * 10.0 ** -len(digits)):
            missed[name] = (value, expected)
    assert not missed


def plate(layers, cooling=COOLING):
    """Strain and curvature of layers from below (thickness mm, modulus GPa, Poisson's ratio, ppm/K), and the stress function in MPa of one of them."""
    biaxial = [1e3 * e / (1 - nu) for _, e, nu, _ in layers]
    edges = numpy.concatenate([[0], numpy.cumsum([t for t, *_ in layers])])
    moments = [[(b ** (k + 1) - a ** (k + 1)) / (k + 1) for k in range(3)] for a, b in zip(edges[:-1], edges[1:], strict=True)]
    q = numpy.array(biaxial) @ numpy.array(moments)
    free = [1e-6 * a * cooling for *_, a in layers]
    load = numpy.array([b * f for b, f in zip(biaxial, free, strict=True)]) @ numpy.array(moments)[:, :2]
    strain, curvature = numpy.linalg.solve([[q[0], q[1]], [q[1], q[2]]], load)
    return curvature * 1e3, lambda k, z: biaxial[k] * (strain + z * curvature - free[k])


def package(laminate=1.0, underfill=30):
    return [(laminate, 22, 0.20, 16), (0.075, 8, 0.30, underfill), (0.75, 131, 0.28, 2.8)]


def sections():
    curvature, stress = plate(package())
    out = {
        "package-section-curvature": curvature,
        "package-section-die-bottom": stress(2, 1.075),
        "package-section-die-top": stress(2, 1.825),
        "package-section-laminate-bottom": stress(0, 0.0),
        "package-section-laminate-top": stress(0, 1.0),
    }
    for mm in ("0.2", "0.4", "0.6", "0.8", "1.4", "2"):
        out[f"substrate-{mm}-mm"] = plate(package(float(mm)))[0]
    for ppm in (20, 40):
        out[f"underfill-{ppm}-ppm"] = plate(package(underfill=ppm))[0]
    film, stress = plate([(0.725, 180.2 * 0.721, 0.279, 2.8), (0.010, 3.5, 0.35, 35)], -325)
    out["film-curvature"] = -film
    out["film-stress"] = stress(1, 0.730)
    # The beam of two metals: without Poisson's ratios.
    out["thermostat-tip"] = plate([(1, 130, 0, 1.2), (1, 137, 0, 20)], 1)[0] * 0.1**2 / 2 * 1e6
    out["through-glass-transition"] = sum(1e3 * e / 0.7 * (a - 3) * 1e-6 * k for e, a, k in ((0.136, 85, 53), (13.5, 23, 87)))
    return out


def mixtures():
    out = {}
    moduli = lambda e, nu: (e / (3 * (1 - 2 * nu)), e / (2 * (1 + nu)))  # noqa: E731
    (km, gm), (kf, gf), v = moduli(3, 0.35), moduli(72, 0.17), 0.4
    k = km + v / (1 / (kf - km) + 3 * (1 - v) / (3 * km + 4 * gm))
    g = gm + v / (1 / (gf - gm) + 6 * (1 - v) * (km + 2 * gm) / (5 * gm * (3 * km + 4 * gm)))
    out["filled-resin-modulus"] = 9 * k * g / (3 * k + g)
    out["filled-resin-shear"] = g
    out["filled-resin-poisson"] = (3 * k - 2 * g) / (6 * k + 2 * g)
    out["filled-resin-expansion"] = 65 + (0.5 - 65) * (1 / k - 1 / km) / (1 / kf - 1 / km)
    f = math.pi / 4 * (80 / 150) ** 2
    through = f * 50 + (1 - f) * 8
    growth = (f * 50 * 22 + (1 - f) * 8 * 28) / through
    eta = (50 / 8 - 1) / (50 / 8 + 2)
    out["joint-layer-through"] = through
    out["joint-layer-in-plane"] = 8 * (1 + 2 * eta * f) / (1 - eta * f)
    out["joint-layer-expansion-through"] = growth
    out["joint-layer-expansion-in-plane"] = f * 22 * 1.35 + (1 - f) * 28 * 1.33 - growth * (f * 0.35 + (1 - f) * 0.33)
    out["copper-pattern-along"] = 0.7 * 117 + 0.3 * 7.5
    out["copper-pattern-across"] = 1 / (0.7 / 117 + 0.3 / 7.5)
    out["copper-pattern-expansion-along"] = (0.7 * 117 * 16.7 + 0.3 * 7.5 * 23) / (0.7 * 117 + 0.3 * 7.5)
    out["copper-pattern-expansion-across"] = 0.7 * 16.7 + 0.3 * 23
    return out


def suhir(upper, lower, mismatch, half, layer=0.0, forms=(1, 1)):
    """Shear MPa, curvature 1/m, height um at a place, peel MPa, and the decay per mm; plates of (mm, GPa, nu)."""
    stretch, bend = ([1e3 * e / (1 - nu**form) for _, e, nu in (upper, lower)] for form in forms)
    thickness = [upper[0], lower[0]]
    d = [b * t**3 / 12 for b, t in zip(bend, thickness, strict=True)]
    lever = sum(thickness)
    axial = sum(1 / (s * t) for s, t in zip(stretch, thickness, strict=True)) + lever**2 / (4 * sum(d))
    interface = layer + sum(t / 3 / (1e3 * e / (2 * (1 + nu))) for t, e, nu in (upper, lower))
    k = math.sqrt(axial / interface)
    # The bow by quadrature of the curvature, not by its closed form.
    x = numpy.linspace(0, half, 200001)
    bent = lever * mismatch / (2 * axial * sum(d)) * (1 - numpy.cosh(k * x) / numpy.cosh(k * half))
    slope = numpy.concatenate([[0], numpy.cumsum((bent[1:] + bent[:-1]) / 2 * numpy.diff(x))])
    height = numpy.trapezoid(slope, x)
    return {
        "shear": mismatch / math.sqrt(axial * interface) * math.tanh(k * half),
        "curvature": bent[0] * 1e3,
        "bow": height * 1e3,
        "peel": abs(thickness[0] * d[1] - thickness[1] * d[0]) / (2 * sum(d)) * mismatch / interface,
        "slope": slope[-1],
        "decay": 1 / k,
    }


def pairs():
    out = {}
    molybdenum, aluminium = (2.5, 325, 0.293), (2.5, 70, 0.345)
    # What the modulus is divided by: 1 - nu or 1 - nu^2, in stretching and in bending.
    for name, forms in (("mixed", (1, 2)), ("wide", (2, 2)), ("plate", (1, 1))):
        pair = suhir(molybdenum, aluminium, 240 * (23.6 - 4.9) * 1e-6, 25.4, forms=forms)
        out.update({f"thermostat-{name}-{what}": pair[what] for what in ("shear", "curvature", "bow", "peel")})
    pair = suhir((0.75, 131, 0.28), (1.0, 22, 0.20), 140 * (16 - 2.8) * 1e-6, 7.5, layer=0.075 / (8e3 / 2.6))
    out["finite-die-curvature"] = pair["curvature"]
    out["finite-die-decay"] = pair["decay"]
    out["finite-die-die-edge"] = -pair["bow"]
    out["finite-die-side"] = -pair["bow"] - pair["slope"] * 10 * 1e3
    return out


LAMINATE, FILL, SILICON = (22e3, 0.20, 16), (8e3, 0.30, 30), (131e3, 0.28, 2.8)
STEEL, COPPER, INTERFACE = (193e3, 0.30, 17.3), (117e3, 0.34, 17), (10.0, 0.30, 100)


def symmetric(matrix, right):
    """A direct solution that keeps to the diagonal, which a stiffness allows."""
    factor = scipy.sparse.linalg.splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return factor.solve(right)


def solid(lines, levels, blocks):
    """A quarter of a package, mm and MPa: blocks are (from, to in height, from, to off the centre, material). Gives height of a place in um and the stress of a block along its middle."""
    mesh = skfem.MeshHex.init_tensor(numpy.array(lines), numpy.array(lines), numpy.array(levels))
    centre = mesh.p[:, mesh.t].mean(axis=1)
    off, height = numpy.maximum(centre[0], centre[1]), centre[2]
    kind = numpy.full(off.size, -1)
    for k, (bottom, top, inner, outer, _) in enumerate(blocks):
        kind[(height > bottom) & (height < top) & (off > inner) & (off < outer)] = k
    mesh, kind = mesh.restrict(numpy.flatnonzero(kind >= 0)), kind[kind >= 0]
    modulus, poisson, growth = (numpy.array([b[4][k] for b in blocks])[kind][:, None] for k in range(3))
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHex2()), intorder=4)
    first = modulus * poisson / ((1 + poisson) * (1 - 2 * poisson))
    second = modulus / (2 * (1 + poisson))
    thermal = modulus / (1 - 2 * poisson) * growth * 1e-6 * COOLING
    # All bricks at once: integrals of the products of slopes, element by element (shape function, direction, again both).
    slopes = numpy.stack([own[0].grad[0] for own in basis.basis[::3]]).transpose(2, 0, 1, 3)
    count, functions = slopes.shape[:2]
    weighted = slopes * basis.dx[:, None, None, :]
    flat = (count, 3 * functions, -1)
    products = (weighted.reshape(flat) @ slopes.reshape(flat).swapaxes(1, 2)).reshape(count, functions, 3, functions, 3)
    matrices = first[:, :, None, None, None] * products + second[:, :, None, None, None] * products.swapaxes(2, 4)
    matrices[:, :, range(3), :, range(3)] += second[:, 0, None, None] * numpy.einsum("eakbk->eab", products)
    dofs = basis.element_dofs.T
    rows, columns = (numpy.broadcast_to(d, (count, dofs.shape[1], dofs.shape[1])).ravel() for d in (dofs[:, :, None], dofs[:, None, :]))
    stiffness = scipy.sparse.coo_matrix((matrices.ravel(), (rows, columns)), shape=(basis.N, basis.N)).tocsr()
    load = numpy.bincount(dofs.ravel(), (thermal[:, :, None] * weighted.sum(axis=3)).ravel(), minlength=basis.N)

    up = basis.nodal_dofs[2]
    held = [basis.get_dofs(lambda x, k=k: numpy.isclose(x[k], 0)).all([f"u^{k + 1}"]) for k in range(2)]
    held.append(up[[numpy.argmin(numpy.abs(mesh.p).sum(axis=0))]])
    x = skfem.solve(*skfem.condense(stiffness, load, D=numpy.unique(numpy.concatenate(held))), solver=symmetric)

    def at(*place):
        distance = numpy.abs(mesh.p - numpy.array(place)[:, None]).sum(axis=0)
        assert distance.min() < 1e-9
        return x[up[numpy.argmin(distance)]] * 1e3

    def stress(block, z):
        """Extrapolated along the height from the points of the middle element next to that height."""
        own = numpy.flatnonzero(kind == block)
        middle = mesh.p[:, mesh.t].mean(axis=1)[:, own]
        own = own[numpy.argmin(middle[0] + middle[1] + 1e3 * numpy.abs(middle[2] - z))]
        strain = numpy.asarray(sym_grad(basis.interpolate(x)))[:, :, own]
        sigma = first[own] * numpy.trace(strain) + 2 * second[own] * strain[0, 0] - thermal[own]
        return numpy.polyval(numpy.polyfit(numpy.asarray(basis.global_coordinates())[2, own], sigma, 1), z)

    return at, stress


FAR = [9, 11, 13, 14.5, 16, 17.5]
NEAR_DIE = [0, 2.5, 5, 6.5, 7.2, 7.5, 7.9]
NEAR_RIM = [9, 11, 12.5, 12.9, 13, 13.1, 13.5, 15, 16.5, 17.3, 17.5]
LEVELS = [0, 0.5, 1, 1.075, 1.45, 1.825]
DIE = [(0, 1, 0, 17.5, LAMINATE), (1, 1.075, 0, 7.5, FILL), (1.075, 1.825, 0, 7.5, SILICON)]


def places(at, name):
    return {f"{name}-die-edge": at(7.5, 0, 0), f"{name}-die-corner": at(7.5, 7.5, 0), f"{name}-side": at(17.5, 0, 0), f"{name}-corner": at(17.5, 17.5, 0)}


def packages():
    out = {}
    at, stress = solid(NEAR_DIE + FAR, LEVELS, DIE)
    out.update(places(at, "bare"))
    out["bare-die-back"] = stress(2, 1.825)
    for name, modulus in (("ring", 8e3), ("soft-ring", 5.0)):
        ring = [(1, 1.075, 13, 17.5, (modulus, 0.30, 30)), (1.075, 1.825, 13, 17.5, STEEL)]
        out.update(places(solid(NEAR_DIE + NEAR_RIM, LEVELS, DIE + ring)[0], name))
    for name, modulus in (("lid", 8e3), ("soft-lid", 5.0)):
        lid = [
            (1, 1.075, 13, 17.5, (modulus, 0.30, 30)),
            (1.075, 1.875, 13, 17.5, COPPER),
            (1.875, 3.375, 0, 17.5, COPPER),
            (1.825, 1.875, 0, 7.5, INTERFACE),
        ]
        at, _ = solid(NEAR_DIE + FAR, [*LEVELS, 1.875, 2.6, 3.375], DIE + lid)
        out.update(places(at, name))
        gap = lambda *place, at=at: at(*place, 1.875) - at(*place, 1.825)  # noqa: E731
        out[f"{name}-bond-line"] = gap(7.5, 7.5) - gap(0, 0)
    lines = [0, 2, 4, 5.3, 5.8, 6, 6.3, 7.2, 8.5, 9.5, 9.85, 10, 10.25, 11, 12.5, 15, 17.5]
    levels = [0, 0.5, 1, 1.075, 1.175, 1.225, 1.525, 1.825]
    blocks = [(0, 1, 0, 17.5, LAMINATE), (1, 1.075, 0, 10, FILL), (1.075, 1.175, 0, 10, SILICON), (1.175, 1.225, 0, 6, FILL), (1.225, 1.825, 0, 6, SILICON)]
    at, stress = solid(lines, levels, blocks)
    out["interposer-side"] = -at(17.5, 0, 0)
    out["interposer-corner"] = -at(17.5, 17.5, 0)
    out["interposer-die-back"] = stress(4, 1.825)
    at, stress = solid([0, 2.5, 5, 6.5, 7.2, 7.5], LEVELS, [(a, b, c, 7.5, m) for a, b, c, _, m in DIE])
    back, face = stress(2, 1.825), stress(2, 1.075)
    out["full-die-die-back"] = back
    out["full-die-die-face"] = face
    # The slope of the stress through the die, over its plate modulus.
    out["full-die-curvature"] = (back - face) / 0.75 * (1 - 0.28) / 131e3 * 1e3
    out["full-die-side"] = at(7.5, 0, 0)
    out["full-die-corner"] = at(7.5, 7.5, 0)
    return out
