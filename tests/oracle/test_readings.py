"""Drops at rest, maps of readings and micrographs against scipy and scikit-learn."""

import math

import numpy
import pytest
from PIL import Image
from scipy import ndimage
from scipy.integrate import solve_bvp, solve_ivp
from scipy.linalg import null_space
from scipy.optimize import brentq
from scipy.stats import multivariate_normal
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern


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
def test_pictures_drawn_from_scipys_profile_are_read_to_a_tenth_of_a_degree(ask, tmp_path, reflection):
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
        known = {"task": "drop", "pixel": 1e-5, "length": length * 1e-5}
        tasks.append(known | {"width": w, "values": picture.astype(numpy.float32).ravel().tolist()})
        # The same as a camera stores it: 8 bits, with loss.
        path = tmp_path / f"{degrees}.jpg"
        Image.fromarray(numpy.round(picture * 255).astype(numpy.uint8)).save(path, quality=85)
        tasks.append(known | {"path": str(path)})
    for found, degrees in zip(ask(tasks), numpy.repeat(angles, 2), strict=True):
        assert "refused" not in found, found
        assert math.degrees(found["angle"]) == pytest.approx(degrees, abs=0.1)


def readings(seed, n):
    random = numpy.random.default_rng(seed)
    places = random.uniform(0, 15e-3, (n, 2))
    spread = random.uniform(0.01, 0.05, n)
    angle = 0.6 + 0.2 * numpy.sin(places[:, 0] / 2e-3) + 12 * places[:, 1] + spread * random.normal(size=n)
    return places, angle, spread


@pytest.mark.parametrize("n", [6, 40])
def test_maps_agree_with_gaussian_processes(ask, n):
    places, angle, spread = readings(n, n)
    at = numpy.random.default_rng(1).uniform(-3e-3, 18e-3, (25, 2))
    variance, length = 0.04, 3.1e-3
    table = numpy.column_stack([places, angle, spread]).tolist()
    (found,) = ask([{"task": "map", "readings": table, "variance": variance, "length": length, "places": at.tolist()}])
    # An unknown mean is the limit of a constant of huge variance on top of the surface.
    huge = 1e4
    kernel = ConstantKernel(variance, "fixed") * Matern(length, "fixed", nu=1.5) + ConstantKernel(huge, "fixed")
    process = GaussianProcessRegressor(kernel, alpha=spread**2, optimizer=None).fit(places, angle)
    mean, deviation = process.predict(at, return_std=True)
    assert [e[0] for e in found["at"]] == pytest.approx(mean, abs=2e-5)
    assert [e[1] for e in found["at"]] == pytest.approx(deviation, rel=1e-3)
    # Ordinary kriging by its own system of equations.
    def covariance(a, b):
        t = math.sqrt(3) * numpy.linalg.norm(a[:, None] - b[None], axis=2) / length
        return variance * (1 + t) * numpy.exp(-t)
    inner = covariance(places, places) + numpy.diag(spread**2)
    system = numpy.block([[inner, numpy.ones((n, 1))], [numpy.ones((1, n)), numpy.zeros((1, 1))]])
    right = numpy.vstack([covariance(places, at), numpy.ones((1, len(at)))])
    weights = numpy.linalg.solve(system, right)
    assert [e[0] for e in found["at"]] == pytest.approx(weights[:n].T @ angle, rel=1e-9)
    assert [e[1] for e in found["at"]] == pytest.approx(numpy.sqrt(variance - (weights * right).sum(axis=0)), rel=1e-7)
    # The restricted likelihood is that of contrasts that do not know the mean.
    contrasts = null_space(numpy.ones((1, n)))
    expected = multivariate_normal(cov=contrasts.T @ inner @ contrasts).logpdf(contrasts.T @ angle)
    assert found["likelihood"] == pytest.approx(expected, abs=1e-6)


def test_the_fitted_covariance_is_likelier_than_any_on_a_fine_grid(ask):
    places, angle, spread = readings(3, 30)
    table = numpy.column_stack([places, angle, spread]).tolist()
    (fitted,) = ask([{"task": "map", "readings": table, "places": []}])
    factors = numpy.exp(numpy.linspace(-3, 3, 25))
    tasks = [
        {"task": "map", "readings": table, "places": [], "variance": fitted["variance"] * a, "length": fitted["length"] * b}
        for a in factors
        for b in factors
    ]
    assert max(other["likelihood"] for other in ask(tasks)) <= fitted["likelihood"] + 1e-4


def test_voids_drawn_by_numpy_are_counted(ask):
    random = numpy.random.default_rng(8)
    w, h, pixel, fine = 420, 380, 1e-5, 4
    tilt = math.radians(-2.5)
    y, x = (numpy.mgrid[0 : h * fine, 0 : w * fine] + 0.5) / fine - 0.5
    u = (x - 209.6) * math.cos(tilt) + (y - 188.2) * math.sin(tilt)
    v = -(-(x - 209.6) * math.sin(tilt) + (y - 188.2) * math.cos(tilt))
    die = numpy.array([3.2e-3, 2.8e-3])
    u, v = u * pixel + die[0] / 2, v * pixel + die[1] / 2
    on = (u >= 0) & (v >= 0) & (u <= die[0]) & (v <= die[1])
    bumps = [[0.4e-3 + 0.4e-3 * i, 0.4e-3 + 0.4e-3 * j] for j in range(6) for i in range(7)]
    bump = numpy.zeros_like(on)
    for a, b in bumps:
        bump |= (u - a) ** 2 + (v - b) ** 2 < 75e-6**2
    void = (u - 1.0e-3) ** 2 + ((v - 1.4e-3) / 0.6) ** 2 < 110e-6**2
    void |= (u - 2.2e-3) ** 2 + (v - 1.0e-3) ** 2 < 85e-6**2
    void &= ~bump & on
    fine_picture = numpy.select([~on, bump, void], [0.05, 0.25, 0.4 / 0.62], 0.4)
    picture = fine_picture.reshape(h, fine, w, fine).mean(axis=(1, 3))
    picture *= 1 + 0.2 * numpy.linspace(-1, 1, w)[None, :]
    picture = ndimage.gaussian_filter(picture, 0.8) + random.normal(0, 0.015, (h, w))
    share = void.sum() / (on & ~bump).sum()
    task = {"task": "micrograph", "width": w, "values": picture.astype(numpy.float32).ravel().tolist(), "die": die.tolist(), "bumps": bumps, "diameter": 150e-6}
    (found,) = ask([task])
    assert "refused" not in found, found
    assert found["share"] == pytest.approx(share, abs=found["uncertainty"])
    assert len(found["voids"]) == 2
    centres = sorted(v[0] for v in found["voids"])
    assert numpy.array(centres) == pytest.approx(numpy.array([[1.0e-3, 1.4e-3], [2.2e-3, 1.0e-3]]), abs=1e-5)
