"""Partial inductances, lines, planes and shares of current of the electrical study against scipy, numpy and scikit-rf on random inputs."""

import json

import numpy
import pytest
import scipy.integrate
import scipy.sparse
import scipy.sparse.linalg
import skrf


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-electrical", "electrical_json")


def neumann(length, s):
    return length * numpy.arcsinh(length / s) - numpy.hypot(length, s) + s


def test_neumann_by_double_integral():
    """The form inside is the double integral of 1/R along two filaments."""
    value, _ = scipy.integrate.dblquad(lambda x, y: 1 / numpy.hypot(x - y, 0.7), 0, 2, 0, 2, epsabs=1e-11)
    assert 2 * neumann(2.0, 0.7) == pytest.approx(value, rel=1e-9)


def test_self_inductance_of_bars(solve):
    random = numpy.random.default_rng(1)
    tasks = [[r * 10 ** random.uniform(-0.5, 2), r] for r in 10 ** random.uniform(-6, -4, 30)]
    for (length, radius), answer in zip(tasks, solve([{"bar": t} for t in tasks]), strict=True):
        def weighed(s):
            h = s / 2
            return neumann(length / radius, s) * 4 * s / numpy.pi * (numpy.arccos(h) - h * numpy.sqrt(1 - h * h))
        value, _ = scipy.integrate.quad(weighed, 0, 2, epsabs=0, epsrel=1e-10, limit=200)
        assert answer == pytest.approx(2e-7 * radius * value, rel=1e-8)


def test_mutual_inductance_of_bars(solve):
    random = numpy.random.default_rng(2)
    tasks = []
    for radius in 10 ** random.uniform(-6, -4, 8):
        tasks.append([radius * 10 ** random.uniform(-0.3, 1.5), radius, radius * random.uniform(2.5, 6)])
    x, w = numpy.polynomial.legendre.leggauss(24)
    u, wu = (x + 1) / 2, w / 2
    angle = (numpy.arange(48) + 0.25) * 2 * numpy.pi / 48
    ring = numpy.sqrt(u)
    px, py = (ring[:, None] * numpy.cos(angle)).ravel(), (ring[:, None] * numpy.sin(angle)).ravel()
    weight = numpy.repeat(wu / 48, 48)
    for (length, radius, distance), answer in zip(tasks, solve([{"bars": t} for t in tasks]), strict=True):
        s = numpy.hypot(distance / radius + px[:, None] - px, py[:, None] - py)
        value = weight @ neumann(length / radius, s) @ weight
        assert answer == pytest.approx(2e-7 * radius * value, rel=1e-6)


def test_lines_of_zero_thickness(solve):
    random = numpy.random.default_rng(3)
    tasks = [[10 ** random.uniform(-1.5, 1.5), 0.0, 1.0, random.uniform(1.5, 12), 1.0] for _ in range(30)]
    frequency = skrf.Frequency(1, 1, 1, unit="MHz")
    for (u, _, _, er, _), answer in zip(tasks, solve([{"strip": t} for t in tasks]), strict=True):
        line = skrf.media.MLine(frequency, w=u, h=1.0, t=None, ep_r=er, rho=None, tand=0, disp="none", diel="frequencyinvariant")
        assert answer[0] == pytest.approx(float(numpy.real(numpy.ravel(line.z0_characteristic)[0])), rel=1e-6)
        assert answer[1] == pytest.approx(float(numpy.real(numpy.ravel(line.ep_reff)[0])), rel=1e-6)


def test_shares_by_nodal_analysis(solve):
    random = numpy.random.default_rng(4)
    tasks = [[int(random.integers(2, 30)), 10 ** random.uniform(-4, 2), 10 ** random.uniform(-3, 1)] for _ in range(20)] + [[5, 1.0, 1.0]]
    for (count, segment, bump), answer in zip(tasks, solve([{"ladder": t} for t in tasks]), strict=True):
        g = numpy.diag(numpy.full(count, 1 / bump))
        for k in range(count - 1):
            g[k : k + 2, k : k + 2] += numpy.array([[1, -1], [-1, 1]]) / segment
        shares = numpy.linalg.solve(g, numpy.eye(count)[0]) / bump
        assert answer == pytest.approx(shares.tolist(), rel=1e-7, abs=1e-12)


def drop_on_a_grid(cells, ratio):
    """Corner and mean drop of a square cell around a round contact by a grid of resistors (a quarter, mirror edges)."""
    h = 0.5 / cells
    index = numpy.arange(cells * cells).reshape(cells, cells)
    rows, columns, values, diagonal = [], [], [], numpy.zeros(cells * cells)
    for a, b in ((index[:-1], index[1:]), (index[:, :-1], index[:, 1:])):
        a, b = a.ravel(), b.ravel()
        rows += [a, b]
        columns += [b, a]
        values += [-numpy.ones(a.size)] * 2
        numpy.add.at(diagonal, a, 1.0)
        numpy.add.at(diagonal, b, 1.0)
    middle = (numpy.arange(cells) + 0.5) * h
    held = (middle[:, None] ** 2 + middle**2 < ratio**2).ravel()
    every = index.ravel()
    matrix = scipy.sparse.csr_matrix((numpy.concatenate([*values, diagonal]), (numpy.concatenate([*rows, every]), numpy.concatenate([*columns, every]))))
    free = ~held
    drop = numpy.zeros(cells * cells)
    drop[free] = scipy.sparse.linalg.spsolve(matrix[free][:, free].tocsc(), numpy.full(free.sum(), h * h))
    return drop[-1], drop.mean()


def test_drop_between_bumps_on_a_grid_of_resistors(solve):
    ratios = numpy.random.default_rng(5).uniform(0.08, 0.25, 5)
    for ratio, answer in zip(ratios, solve([{"array": r} for r in ratios]), strict=True):
        corner, mean = drop_on_a_grid(200, ratio)
        # The stepped rim of the contact on the grid costs up to a percent.
        assert answer[0] == pytest.approx(corner, rel=0.015)
        assert answer[2] == pytest.approx(mean, rel=0.02)


def test_plates_fed_from_their_edges(solve):
    aspects = numpy.random.default_rng(6).uniform(0.3, 3, 6)
    for aspect, answer in zip(aspects, solve([{"edge_fed": a} for a in aspects]), strict=True):
        n = numpy.arange(1, 400, 2)
        nx, ny = numpy.meshgrid(n, n)
        sign = (-1.0) ** ((nx - 1) // 2 + (ny - 1) // 2)
        k2 = (nx * numpy.pi / aspect) ** 2 + (ny * numpy.pi) ** 2
        largest = (16 / numpy.pi**2 * sign / (nx * ny) / k2).sum() / aspect
        mean = (64 / numpy.pi**4 / (nx * ny) ** 2 / k2).sum() / aspect
        assert answer[0] == pytest.approx(largest, rel=1e-5)
        assert answer[1] == pytest.approx(mean, rel=1e-6)


def rho(metal, kelvin):
    return metal["resistivity_ohm_m"] * (1 + metal["coefficient_per_k"] * (kelvin - metal["reference_k"]))


def slices(piece, kelvin):
    """Resistance of a piece as a body of revolution, by quadrature."""
    p, w = piece["diameter_m"] / 2, (piece["waist_m"] or piece["diameter_m"]) / 2
    value, _ = scipy.integrate.quad(lambda u: 1 / (w * w + (p * p - w * w) * u * u), 0, 1, epsabs=0, epsrel=1e-11)
    return rho(piece["metal"], kelvin) * piece["height_m"] / numpy.pi * value


def test_whole_problems(solve):
    """Resistances, drop and Joule heat of random designs, put together anew."""
    random = numpy.random.default_rng(7)
    given = solve([{"specimen": True}])[0]
    tasks = []
    for _ in range(20):
        p = json.loads(json.dumps(given))
        p["temperature_k"] = random.uniform(230, 450)
        p["bump"]["pieces"][1]["waist_m"] = random.choice([70e-6, 90e-6, 130e-6])
        p["bump"]["pieces"][1]["height_m"] = random.uniform(30e-6, 100e-6)
        p["nets"][0].update(current_a=random.uniform(0.1, 20), bumps=int(random.integers(6, 120)), pads=int(random.integers(4, 40)), crowding=random.uniform(1, 3))
        p["nets"][2].update(longest_path_m=random.uniform(0.2e-3, 2.6e-3), bends=int(random.integers(0, 4)))
        tasks.append(p)
    for p, answer in zip(tasks, solve([{"problem": t} for t in tasks]), strict=True):
        kelvin, net, signal, rdl = p["temperature_k"], p["nets"][0], p["nets"][2], p["rdl"]
        bump = sum(slices(piece, kelvin) for piece in p["bump"]["pieces"])
        assert answer["bump"]["resistance_ohm"] == pytest.approx(bump, rel=1e-9)
        sheet = rho(rdl["metal"], kelvin) / rdl["thickness_m"]
        via = rho(rdl["metal"], kelvin) * rdl["via"]["height_m"] / (numpy.pi / 4 * rdl["via"]["diameter_m"] ** 2)
        squares = signal["longest_path_m"] / signal["trace_width_m"] - signal["bends"] * 2 / numpy.pi * numpy.log(2)
        assert answer["nets"][2]["trace_resistance_ohm"] == pytest.approx(sheet * squares + via, rel=1e-9)
        most = net["current_a"] / net["bumps"] * net["crowding"]
        plane = net["plane"]
        ratio = plane["contact_diameter_m"] / 2 / numpy.sqrt(plane["width_m"] * plane["height_m"] / net["bumps"])
        corner, _, mean = solve([{"array": ratio}])[0]
        sheet /= plane["conducting_share"]
        branch = net["current_a"] / net["pads"] * min(net["crowding"], net["pads"])
        drop = most * bump + sheet * most * corner + branch * via
        found = answer["nets"][0]
        assert found["drop_bump_v"] + found["drop_plane_v"] + found["drop_trace_v"] == pytest.approx(drop, rel=1e-9)
        heat = net["current_a"] ** 2 * (bump / net["bumps"] + sheet * mean / net["bumps"] + via / net["pads"])
        assert sum(found["joule"].values()) == pytest.approx(heat, rel=1e-9)
