"""Joints: axisymmetric Young-Laplace surfaces and whole arrays against scipy's boundary-value solver on random inputs."""

import json
import subprocess

import numpy
import pytest
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq, minimize_scalar

GRAVITY = 9.806_65
GRID = numpy.linspace(0, 1, 61)


@pytest.fixture(scope="session")
def ask(example):
    """Answers many tasks in one run of the example program."""
    program = example("facedown-joints", "joints_json")

    def run(tasks):
        text = "".join(json.dumps(task) + "\n" for task in tasks)
        done = subprocess.run([program], input=text, stdout=subprocess.PIPE, text=True, check=True)
        answers = [json.loads(line) for line in done.stdout.splitlines()]
        assert len(answers) == len(tasks)
        return answers

    return run


class Surface:
    """One joint between pinned rims, its lower radius as the unit: r, z, inclination, volume and area along the arc.

    `r' = cos psi`, `z' = sin psi`, `psi' = p - weight z - sin psi / r`; either the height is given, or the force over
    the surface tension on the upper pad.
    """

    def __init__(self, upper, volume, height=None, force=None, weight=0.0, start=None):
        self.upper, self.weight = upper, weight

        def slope(_, y, x):
            r, z, psi = y[:3]
            rows = [numpy.cos(psi), numpy.sin(psi), x[0] - weight * z - numpy.sin(psi) / r, numpy.pi * r**2 * numpy.sin(psi), 2 * numpy.pi * r]
            return numpy.stack(rows) * x[1]

        def ends(low, high, x):
            r, z, psi = high[:3]
            if force is None:
                last = z - height
            else:
                last = numpy.pi * (r * r * (x[0] - weight * z) - 2 * r * numpy.sin(psi)) - force
            return numpy.array([low[0] - 1, low[1], low[3], low[4], r - upper, high[3] - volume, last])

        if start is None:
            start = self.parabola(upper, volume, height or volume / numpy.pi / ((1 + upper) / 2) ** 2 * 0.6)
        found = solve_bvp(slope, ends, *start, tol=1e-10, max_nodes=60_000, bc_tol=1e-12)
        assert found.success, found.message
        self.start = (found.x, found.y, found.p)
        self.pressure, self.length = found.p
        self.outline = found.sol
        self.height, self.area = found.y[1, -1], found.y[4, -1]
        self.first, self.last = found.y[2, 0], found.y[2, -1]
        fine = found.sol(numpy.linspace(0, 1, 20_001))[0]
        self.widest, self.narrowest = fine.max(), fine.min()
        self.force = numpy.pi * (upper**2 * (self.pressure - weight * self.height) - 2 * upper * numpy.sin(self.last))

    @staticmethod
    def parabola(upper, volume, height):
        """A bulged or necked outline with the wanted volume, to begin with."""
        z = GRID * height

        def outline(bulge):
            return 1 + (upper - 1) * GRID + bulge * 4 * GRID * (1 - GRID)

        def inside(bulge):
            return numpy.pi * numpy.trapezoid(outline(bulge) ** 2, z)

        bulge = brentq(lambda x: inside(x) - volume, -0.6 * min(1, upper), 20)
        r = outline(bulge)
        arc = numpy.concatenate([[0], numpy.cumsum(numpy.hypot(numpy.diff(r), numpy.diff(z)))])
        psi = numpy.arctan2(numpy.gradient(z, arc), numpy.gradient(r, arc))
        area = numpy.concatenate([[0], numpy.cumsum(numpy.pi * (r[1:] + r[:-1]) * numpy.diff(arc))])
        full = numpy.concatenate([[0], numpy.cumsum(numpy.pi * (r[1:] ** 2 + r[:-1] ** 2) / 2 * numpy.diff(z))])
        return arc / arc[-1], numpy.stack([r, z, psi, full, area]), numpy.array([1.0 / max(r), arc[-1]])

    def lateral(self):
        """Force over the tension against a shift of the upper rim, by the surface's linear response.

        A normal displacement `u cos phi` of a surface of constant mean curvature obeys
        `(r u')'/r + (k1^2 + k2^2 - 1/r^2) u = 0`; `u` is zero at the lower rim and `sin psi` at the upper one, where the
        rim has moved by one; the lower rim feels `pi a sin(psi) u'`.
        """
        assert self.weight == 0

        def slope(s, y):
            r, _, psi = self.outline(s / self.length)[:3]
            ring = numpy.sin(psi) / r
            return [y[1], -numpy.cos(psi) / r * y[1] - (ring**2 + (self.pressure - ring) ** 2 - 1 / r**2) * y[0]]

        done = solve_ivp(slope, (0, self.length), [0.0, 1.0], "DOP853", rtol=1e-11, atol=1e-13)
        return numpy.pi * numpy.sin(self.first) * numpy.sin(self.last) / done.y[0, -1]


def free_height(upper, volume):
    """Height of the truncated sphere, whose slice between parallel planes has the volume (pi h/6)(3 a^2 + 3 b^2 + h^2)."""
    return brentq(lambda h: numpy.pi * h / 6 * (3 + 3 * upper**2 + h * h) - volume, 1e-9, 1e3)


def random_joints(random, count):
    for _ in range(count):
        upper, fill = random.uniform(0.6, 1.6), random.uniform(0.8, 3.0)
        yield upper, fill * numpy.pi * ((1 + upper) / 2) ** 3


def test_shapes_agree_with_the_boundary_value_problem(ask):
    random = numpy.random.default_rng(21)
    cases = []
    for upper, volume in random_joints(random, 40):
        unit = 10 ** random.uniform(-5, -3.3)
        cases.append((unit, upper, volume, free_height(upper, volume) * random.uniform(0.9, 1.35)))
    tasks = [{"shape": {"lower": a, "upper": b * a, "volume": v * a**3, "height": h * a}} for a, b, v, h in cases]
    for (a, b, v, h), found in zip(cases, ask(tasks), strict=True):
        assert found["state"] == "holds"
        surface = Surface(b, v, height=h)
        assert found["pressure"] * a == pytest.approx(surface.pressure, rel=1e-7, abs=1e-8)
        assert found["inclination"] == pytest.approx(surface.first, rel=1e-7)
        assert found["angle_upper"] == pytest.approx(surface.last, rel=1e-7)
        assert found["length"] / a == pytest.approx(surface.length, rel=1e-8)
        assert found["force"] / a == pytest.approx(surface.force, rel=1e-7, abs=1e-7)
        # The grid on which the largest and least radius are sought finds them to 1e-8.
        assert found["widest"] / a == pytest.approx(surface.widest, rel=1e-7)
        assert found["narrowest"] / a == pytest.approx(surface.narrowest, rel=1e-7)
        assert found["free_height"] / a == pytest.approx(free_height(b, v), rel=1e-10)
        points = surface.outline(numpy.linspace(0, 1, 9))[:2].T
        assert numpy.array(found["outline"]) / a == pytest.approx(points, rel=1e-7, abs=1e-8)
        assert found["lateral"] == pytest.approx(surface.lateral(), rel=2e-5)


def test_force_and_stiffness_are_the_changes_of_the_area(ask):
    random = numpy.random.default_rng(22)
    cases = [(b, v, free_height(b, v) * random.uniform(0.92, 1.2)) for b, v in random_joints(random, 15)]
    tasks = [{"shape": {"lower": 1.0, "upper": b, "volume": v, "height": h}} for b, v, h in cases]
    for (b, v, h), found in zip(cases, ask(tasks), strict=True):
        d = 1e-3 * h
        middle = Surface(b, v, height=h)
        areas = [Surface(b, v, height=h + k * d, start=middle.start).area for k in (-2, -1, 1, 2)]
        # Five-point differences; areas to 1e-9 give the force to 1e-6 and its change to 1e-3.
        force = -(areas[0] - 8 * areas[1] + 8 * areas[2] - areas[3]) / (12 * d)
        assert found["force"] == pytest.approx(force, rel=1e-5, abs=1e-5)
        forces = [Surface(b, v, height=h + k * d, start=middle.start).force for k in (-2, -1, 1, 2)]
        stiffness = -(forces[0] - 8 * forces[1] + 8 * forces[2] - forces[3]) / (12 * d)
        assert found["vertical"] == pytest.approx(stiffness, rel=1e-5, abs=1e-5)


def problem(kinds, mass, tension, density=0.0, force=0.0):
    """An array of the study: kinds are (lower radius, upper radius, volume, count) in m."""
    joints = [
        {"name": f"kind{i}", "count": n, "upper_diameter": 2 * b, "lower_diameter": 2 * a, "upper_solder": [{"volume": v}]}
        for i, (a, b, v, n) in enumerate(kinds)
    ]
    solder = {"name": "solder", "surface_tension": tension, "density_liquid": density or 7000.0, "solidus": 490.0, "liquidus": 494.0}
    array = {"solder": solder, "joints": joints, "pitch": 10 * max(max(k[:2]) for k in kinds), "carried_mass": mass, "extra_force": force}
    return {"problem": {"bumps": array, "balls": None, "reflow": None, "body": None}}


def figures(outcome):
    return {f["name"]: f["value"] for f in outcome["figures"]}


def test_arrays_of_one_kind_rest_where_the_force_boundary_says(ask):
    random = numpy.random.default_rng(23)
    cases, tasks = [], []
    for upper, volume in random_joints(random, 20):
        a, tension, count = 10 ** random.uniform(-5, -4), random.uniform(0.4, 0.6), int(random.integers(50, 3000))
        weight = count * volume * a**3 * 7000 * GRAVITY
        load = count * tension * a * random.uniform(0, 0.5)
        cases.append((a, upper, volume, tension, count, load + weight / 2))
        tasks.append(problem([(a, upper * a, volume * a**3, count)], load / GRAVITY, tension))
    for (a, b, v, tension, count, load), outcome in zip(cases, ask(tasks), strict=True):
        surface = Surface(b, v, force=load / count / tension / a, start=Surface(b, v, height=free_height(b, v)).start)
        (kind,), given = outcome["bumps"]["kinds"], figures(outcome)
        assert kind["height"] / a == pytest.approx(surface.height, rel=1e-7)
        assert given["stand_off"] == pytest.approx(surface.height * a * 1e6, rel=1e-7)
        assert given["joint_force"] == pytest.approx(load / count * 1e6, rel=1e-9)
        assert kind["width"] / a == pytest.approx(2 * surface.widest, rel=1e-7)
        assert kind["neck"] / a == pytest.approx(2 * surface.narrowest, rel=1e-7)
        assert kind["angle_upper"] == pytest.approx(surface.last, rel=1e-7)
        assert kind["pressure"] == pytest.approx(surface.pressure * tension / a, rel=1e-7)
        assert given["lateral_stiffness"] == pytest.approx(surface.lateral() * tension, rel=2e-5)


def test_arrays_of_two_kinds_share_the_load_as_two_surfaces_do(ask):
    random = numpy.random.default_rng(24)
    cases, tasks = [], []
    for _ in range(8):
        a, tension = 10 ** random.uniform(-5, -4), random.uniform(0.4, 0.6)
        volume = random.uniform(4, 7)
        kinds = [(1.0, volume, int(random.integers(500, 2000))), (random.uniform(0.9, 1.1), volume * random.uniform(1.02, 1.15), int(random.integers(50, 300)))]
        load = sum(k[2] for k in kinds) * tension * a * random.uniform(0.1, 0.4)
        weight = sum(n * v * a**3 for _, v, n in kinds) * 7000 * GRAVITY
        cases.append((a, kinds, tension, load + weight / 2))
        tasks.append(problem([(a, b * a, v * a**3, n) for b, v, n in kinds], load / GRAVITY, tension))
    for (a, kinds, tension, load), outcome in zip(cases, ask(tasks), strict=True):
        starts = [Surface(b, v, height=free_height(b, v)).start for b, v, _ in kinds]

        def at(height):
            return [Surface(b, v, height=height, start=start) for (b, v, _), start in zip(kinds, starts)]

        def excess(height):
            return sum(n * s.force for s, (_, _, n) in zip(at(height), kinds)) * tension * a - load

        free = free_height(*kinds[0][:2])
        height = brentq(excess, 0.8 * free, 1.1 * free, xtol=1e-11)
        found = outcome["bumps"]["kinds"]
        assert [k["height"] / a for k in found] == pytest.approx([height] * 2, rel=1e-7)
        assert [k["force"] for k in found] == pytest.approx([s.force * tension * a for s in at(height)], rel=1e-5, abs=1e-6 * tension * a)
        assert sum(k["force"] * k["count"] for k in found) == pytest.approx(load, rel=1e-9)


def test_the_hardest_pull_is_the_largest_tension_of_the_surfaces(ask):
    random = numpy.random.default_rng(25)
    cases = [(random.uniform(0.8, 1.2), random.uniform(3, 7)) for _ in range(5)]
    tasks = [problem([(5e-5, 5e-5 * b, v * 5e-5**3, 100)], 1e-6, 0.5) for b, v in cases]
    for (b, v), outcome in zip(cases, ask(tasks), strict=True):
        free = free_height(b, v)
        chain = [Surface(b, v, height=free)]

        def pull(height):
            nearest = min(chain, key=lambda s: abs(s.height - height))
            chain.append(Surface(b, v, height=height, start=nearest.start))
            return chain[-1].force

        for height in numpy.linspace(1.02, 1.6, 30) * free:
            pull(height)
        least = min(chain, key=lambda s: s.force).height
        found = minimize_scalar(pull, bracket=(0.97 * least, least, 1.03 * least), options={"xtol": 1e-6})
        assert figures(outcome)["pull_limit"] == pytest.approx(-found.fun * 0.5 * 5e-5 * 1e6, rel=1e-7)


def test_half_the_weight_of_the_solder_stands_for_its_hydrostatic_pressure(ask):
    """The full equation with gravity, against the study's load: what is left is of second order in the Bond number."""
    tension, density, b, v = 0.5, 8000.0, 1.0, 5.0
    for bond, allowed in [(0.003, 2e-6), (0.03, 2e-4)]:
        a = (bond * tension / density / GRAVITY) ** 0.5
        share = 0.2
        (outcome,) = ask([problem([(a, b * a, v * a**3, 400)], 400 * share * tension * a / GRAVITY, tension, density)])
        start = Surface(b, v, height=free_height(b, v)).start
        surface = Surface(b, v, force=share, weight=bond, start=start)
        height = outcome["bumps"]["kinds"][0]["height"] / a
        without = Surface(b, v, force=share, start=start).height
        assert height == pytest.approx(surface.height, rel=allowed)
        # The check can fail: without the weight the height is off by far more.
        assert abs(without / surface.height - 1) > 10 * allowed
