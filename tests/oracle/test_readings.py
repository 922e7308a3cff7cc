"""Drops at rest, maps of readings and micrographs against scipy and scikit-learn."""

import math

import numpy
import pytest
from scipy import ndimage
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq


@pytest.fixture(scope="session")
def ask(answering):
    return answering("facedown-underfill", "readings_json")


def profile(beta, slope):
    """Along the arc, to the slope."""

    def rate(_, y):
        x, z, phi, _ = y
        turn = 2 + beta * z - (math.sin(phi) / x if x > 1e-9 else 1.0)
        return [math.cos(phi), math.sin(phi), turn, math.pi * x * x * math.sin(phi)]

    def end(_, y):
        return y[2] - slope

    end.terminal = True
    return solve_ivp(rate, (0, 60), [0, 0, 0, 0], rtol=1e-11, atol=1e-13, events=end, dense_output=True)


def test_shapes_agree_with_solve_ivp(ask):
    random = numpy.random.default_rng(2)
    cases = [(10 ** random.uniform(-3, 3), random.uniform(0.05, 3.0)) for _ in range(30)]
    for found, (beta, slope) in zip(ask([{"task": "profile", "beta": b, "slope": s} for b, s in cases]), cases, strict=True):
        expected = profile(beta, slope).y_events[0][0]
        assert found[:2] == pytest.approx(expected[:2], rel=1e-7)
        assert found[2] == pytest.approx(expected[3], rel=1e-6)


def test_the_angle_of_a_volume_on_a_base_agrees_with_a_boundary_value_problem(ask):
    length = 2.727e-3
    for volume, diameter in [(2e-9, 2.6e-3), (5e-9, 3.1e-3), (20e-9, 8e-3)]:
        # Height over the radius for a drop below 90 deg: u'' = (1 + u'^2)^1.5 (p - u / l^2) - u' (1 + u'^2) / r, p unknown;
        # u is depth below the apex, w the volume.
        base = diameter / 2 / length
        wanted = volume / length**3

        def rate(r, y, p):
            u, v, _ = y
            root = numpy.sqrt(1 + v * v)
            around = numpy.where(r > 1e-9, v / numpy.maximum(r, 1e-9) / root, p[0] / 2)
            return numpy.stack([v, root**3 * (p[0] + u - around), math.pi * r * r * v])

        def ends(a, b, _):
            return numpy.array([a[0], a[1], a[2], b[2] - wanted])

        r = numpy.linspace(1e-6, base, 200)
        guess = 4 * wanted / math.pi / base**4
        start = numpy.stack([guess * r**2 / 1.0, 2 * guess * r, math.pi * guess * r**4 / 2])
        solved = solve_bvp(rate, ends, r, start, p=[4 * guess], tol=1e-8, max_nodes=20000)
        assert solved.success
        (found,) = ask([{"task": "sized", "volume": volume, "diameter": diameter, "length": length}])
        assert found[0] == pytest.approx(math.atan(solved.y[1, -1]), abs=2e-5)


@pytest.mark.parametrize("reflection", [False, True])
def test_pictures_drawn_from_scipys_profile_are_read_to_a_tenth_of_a_degree(ask, reflection):
    length = 250.0
    tasks, angles = [], [25.0, 50.0, 85.0, 115.0]
    for degrees in angles:
        slope = math.radians(degrees)
        widest = 105.0
        b = brentq(lambda b: b * profile((b / length) ** 2, min(slope, math.pi / 2)).y_events[0][0][0] - widest, 20, 2000)
        solved = profile((b / length) ** 2, slope)
        s = numpy.linspace(0, solved.t[-1], 4000)
        x, z = b * solved.sol(s)[:2]
        # Coverage by 10 x 10 points a pixel.
        fine = 10
        w, h, foot, centre = 300, 330, 200.3, 148.7
        u = (numpy.arange(w * fine) + 0.5) / fine - 0.5 - centre
        v = foot - ((numpy.arange(h * fine) + 0.5) / fine - 0.5)
        half = numpy.interp(z[-1] - numpy.abs(v), z, x, left=-1.0)
        if not reflection:
            half = numpy.where(v < 0, 1e9, half)
        inside = (numpy.abs(u)[None, :] < half[:, None]).reshape(h, fine, w, fine).mean(axis=(1, 3))
        picture = ndimage.gaussian_filter(0.9 - 0.8 * inside, 0.8)
        tasks.append({"task": "drop", "width": w, "values": picture.astype(numpy.float32).ravel().tolist(), "pixel": 1e-5, "length": length * 1e-5})
    for found, degrees in zip(ask(tasks), angles, strict=True):
        assert "refused" not in found, found
        assert math.degrees(found["angle"]) == pytest.approx(degrees, abs=0.1)
