"""Wetting, cure, fronts and permeability against numpy and scipy on random inputs."""

import copy
import json
import math
import subprocess

import numpy
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import least_squares
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import spsolve

GAS = 8.314462618


@pytest.fixture(scope="session")
def ask(example):
    """Answers many tasks in one run of the example program."""
    program = example("facedown-underfill", "underfill_json")

    def run(tasks):
        text = "".join(json.dumps(task) + "\n" for task in tasks)
        done = subprocess.run([program], input=text, stdout=subprocess.PIPE, text=True, check=True)
        answers = [json.loads(line) for line in done.stdout.splitlines()]
        assert len(answers) == len(tasks)
        return answers

    return run


def owens_wendt(reads, angles):
    rows = numpy.array([[1.0, math.sqrt(p / d)] for d, p, _, _ in reads])
    left = numpy.array([(d + p) * (1 + math.cos(a)) / (2 * math.sqrt(d)) for (d, p, _, _), a in zip(reads, angles)])
    return rows, left, numpy.linalg.lstsq(rows, left, rcond=None)[0]


def test_surface_energies_agree_with_lstsq_and_their_spread_with_draws(ask):
    random = numpy.random.default_rng(11)
    cases = []
    for _ in range(40):
        solid = random.uniform(0.015, 0.05), random.uniform(0.004, 0.03)
        reads = []
        for d, p in [(0.0218, 0.051), (0.0508, 0.0), (0.029, 0.019), (0.039, 0.019)][: random.integers(2, 5)]:
            cosine = 2 * (math.sqrt(d * solid[0]) + math.sqrt(p * solid[1])) / (d + p) - 1
            angle = math.acos(min(cosine, math.cos(0.2))) + random.normal(0, 0.02)
            reads.append([d, p, angle, random.uniform(0.005, 0.02)])
        cases.append(reads)
    for reads, found in zip(cases, ask([{"task": "owens_wendt", "reads": reads} for reads in cases]), strict=True):
        rows, _, roots = owens_wendt(reads, [r[2] for r in reads])
        assert (roots > 0).all() and not found["clamped"]
        assert [found["dispersive"], found["polar"]] == pytest.approx(list(roots**2), rel=1e-9)
        assert found["condition"] == pytest.approx(numpy.linalg.cond(rows), rel=1e-9)
        inverse = numpy.linalg.pinv(rows)
        angles = numpy.array([r[2] for r in reads]) + random.normal(0, 1, (4000, len(reads))) * [r[3] for r in reads]
        tension = numpy.array([(r[0] + r[1]) / (2 * math.sqrt(r[0])) for r in reads])
        drawn = (tension * (1 + numpy.cos(angles))) @ inverse.T
        spread = numpy.std([drawn[:, 0] ** 2, drawn[:, 1] ** 2, (drawn**2).sum(1)], axis=1)
        # 4,000 draws give a standard deviation to 1.1 %; the propagation is of first order.
        assert found["spread"] == pytest.approx(spread, rel=0.08)


def test_acid_base_parts_agree_with_lstsq(ask):
    random = numpy.random.default_rng(12)
    liquids = numpy.array([[21.8, 25.5, 25.5], [39.0, 2.28, 39.6], [50.8, 0, 0], [34.0, 3.92, 57.4]]) * 1e-3
    tension = numpy.array([0.0728, 0.058, 0.0508, 0.064])
    angles = random.uniform(0.3, 1.4, (30, 4))
    for angle, found in zip(angles, ask([{"task": "acid_base", "angles": list(a)} for a in angles]), strict=True):
        rows = 2 * numpy.sqrt(liquids[:, [0, 2, 1]])
        roots = numpy.linalg.lstsq(rows, tension * (1 + numpy.cos(angle)), rcond=None)[0]
        assert found[:3] == pytest.approx(list(numpy.maximum(roots, 0) ** 2), rel=1e-8, abs=1e-14)
        assert found[3] == bool((roots < 0).any())


def test_plasma_laws_agree_with_least_squares(ask):
    random = numpy.random.default_rng(13)
    cases = []
    for _ in range(25):
        start, end, rate = random.uniform(1.0, 1.5), random.uniform(0.15, 0.5), random.uniform(0.5, 3)
        doses = numpy.array([0, 0, 0.2, 0.5, 1.0, 2.0, 4.0])
        angles = end + (start - end) * numpy.exp(-rate * doses) + random.normal(0, 0.01, doses.size)
        cases.append(numpy.stack([doses, angles], 1))
    answers = ask([{"task": "treatment", "readings": case.tolist()} for case in cases])
    for case, found in zip(cases, answers, strict=True):
        fit = least_squares(
            lambda x: x[1] + (x[0] - x[1]) * numpy.exp(-x[2] * case[:, 0]) - case[:, 1], found, xtol=1e-14, ftol=1e-14, gtol=1e-14
        )
        assert found == pytest.approx(list(fit.x), rel=1e-5)


def kinetics(random):
    return {
        "a1_per_s": 10 ** random.uniform(3, 5), "e1_j_mol": random.uniform(60e3, 80e3),
        "a2_per_s": 10 ** random.uniform(5, 7), "e2_j_mol": random.uniform(60e3, 75e3),
        "m": random.uniform(0.5, 1.5), "n": random.uniform(1, 2), "start": random.uniform(0, 0.05), "gel": random.uniform(0.5, 0.7),
    }


def rate(k, temperature, degree):
    first = k["a1_per_s"] * math.exp(-k["e1_j_mol"] / (GAS * temperature))
    second = k["a2_per_s"] * math.exp(-k["e2_j_mol"] / (GAS * temperature))
    return (first + second * max(degree, 0) ** k["m"]) * max(1 - degree, 0) ** k["n"]


def viscosity(points, energy, temperature):
    (t, mu), = points
    return mu * math.exp(energy / GAS * (1 / temperature - 1 / t))


def fluidity(k, growth, degree):
    return max((k["gel"] - degree) / k["gel"], 0) ** (growth["c1"] + growth["c2"] * degree)


def test_cure_and_fluidity_time_agree_with_solve_ivp(ask):
    random = numpy.random.default_rng(14)
    tasks = []
    for _ in range(15):
        steps = [[random.uniform(60, 900), random.uniform(380, 440), random.uniform(0, 3600)] for _ in range(3)]
        end = sum(s[0] + s[2] for s in steps)
        tasks.append({
            "task": "cure", "kinetics": kinetics(random), "growth": {"c1": random.uniform(1.2, 3), "c2": random.uniform(0, 2)},
            "viscosity": [[363.15, random.uniform(0.05, 0.5)]], "energy": random.uniform(40e3, 70e3), "start": 340.0, "steps": steps,
            "times": sorted(random.uniform(0, end, 12).tolist()),
        })
    for task, found in zip(tasks, ask(tasks), strict=True):
        k, growth = task["kinetics"], task["growth"]
        knots, temperature, time = [(0.0, task["start"])], task["start"], 0.0
        for ramp, temperature, hold in task["steps"]:
            knots += [(time + ramp, temperature), (time + ramp + hold, temperature)]
            time += ramp + hold
        history = numpy.array(knots)

        def slope(t, y):
            now = numpy.interp(t, history[:, 0], history[:, 1])
            return [rate(k, now, y[0]), fluidity(k, growth, y[0]) / viscosity(task["viscosity"], task["energy"], now)]

        degrees, fluidities, y, gel = [], [], [k["start"], 0.0], None
        times = numpy.array(task["times"])
        for a, b in zip(history[:-1, 0], history[1:, 0]):
            inside = times[(times > a) & (times <= b)]
            event = lambda t, y: y[0] - k["gel"]
            done = solve_ivp(slope, (a, b), y, "LSODA", t_eval=[*inside, b], rtol=1e-10, atol=1e-12, events=event)
            if done.t_events[0].size:
                gel = done.t_events[0][0]
            degrees += list(done.y[0][: inside.size])
            fluidities += list(done.y[1][: inside.size])
            y = done.y[:, -1]
        assert found["degree"] == pytest.approx(degrees, abs=1e-6)
        assert found["fluidity"] == pytest.approx(fluidities, rel=1e-6)
        if gel is not None:
            assert found["gel"] == pytest.approx(gel, rel=1e-6)


def test_fronts_through_regions_agree_with_quadrature(ask):
    random = numpy.random.default_rng(15)
    tasks = []
    for _ in range(20):
        regions = [[10 ** random.uniform(-11, -9), random.uniform(0.5, 1), random.uniform(100, 3000), random.uniform(1e-4, 5e-3)] for _ in range(4)]
        tasks.append({"task": "regions", "regions": regions, "places": [sum(r[3] for r in regions[:i]) for i in (1, 2, 3, 4)]})
    for task, found in zip(tasks, ask(tasks), strict=True):
        expected, time, resistance = [], 0.0, 0.0
        for k, free, pressure, length in task["regions"]:
            time += quad(lambda x: free / pressure * (resistance + x / k), 0, length, epsrel=1e-12)[0]
            resistance += length / k
            expected.append(time)
        assert found == pytest.approx(expected, rel=1e-10)


def test_a_line_fills_as_the_rate_equation_of_its_front_says(ask):
    """Front, degree of cure and temperature integrated together, without the fluidity time."""
    random = numpy.random.default_rng(16)
    (specimen,) = ask([{"task": "specimen"}])
    problems = []
    for _ in range(12):
        p = copy.deepcopy(specimen)
        p["gap_m"] = random.uniform(40e-6, 110e-6)
        p["bumps"] |= {"shape": "Cylinder", "pitch_m": 3e-4, "diameter_m": random.uniform(60e-6, 200e-6)}
        p["liquid"] |= {
            "kinetics": kinetics(random) | {"a2_per_s": 10 ** random.uniform(7, 8.5)}, "chemoviscosity": {"c1": random.uniform(1.2, 3), "c2": 1.0},
            "viscosity": [[363.15, random.uniform(0.1, 0.6)]], "activation_j_mol": 50e3,
        }
        for angle in ("angle_die", "angle_substrate", "angle_bump"):
            p[angle]["angle_rad"] = random.uniform(0.1, 1.0)
        p["dispense"] |= {"pattern": "Line", "heating": [random.uniform(310, 350), random.uniform(0.5, 3)]}
        problems.append(p)
    cells = [{"task": "permeability", "pitch": 3e-4, "diameter": p["bumps"]["diameter_m"], "gap": p["gap_m"]} for p in problems]
    answers = ask([{"task": "solve", "problem": p} for p in problems] + cells)
    outcomes, permeabilities = answers[:12], answers[12:]
    filled = 0
    for p, outcome, k_field in zip(problems, outcomes, permeabilities, strict=True):
        h, d, area, tension = p["gap_m"], p["bumps"]["diameter_m"], 9e-8, p["liquid"]["surface_tension_n_m"]
        cosines = [math.cos(p[a]["angle_rad"]) for a in ("angle_die", "angle_substrate", "angle_bump")]
        plates = tension * (cosines[0] + cosines[1]) / h
        bumped = plates + tension * cosines[2] * math.pi * d / (area - math.pi * d * d / 4)
        assert outcome["driving_pressure_pa"] == pytest.approx(bumped, rel=1e-12)
        rim = (p["die"]["height_m"] - p["bumps"]["covered_height_m"]) / 2
        regions = [(h * h / 12, 1.0, plates, rim), (k_field, 1 - math.pi * d * d / 4 / area, bumped, p["bumps"]["covered_height_m"]), (h * h / 12, 1.0, plates, rim)]
        k, growth, flow = p["liquid"]["kinetics"], p["liquid"]["chemoviscosity"], p["dispense"]["temperature_k"]
        start, heating = p["dispense"]["heating"]

        def slope(t, y, passed, region):
            temperature = min(start + heating * t, flow)
            mu = viscosity(p["liquid"]["viscosity"], 50e3, temperature) / max(fluidity(k, growth, y[0]), 1e-30)
            permeability, free, pressure, _ = region
            # At the very start the speed has no bound, and the square of the distance grows evenly.
            speed = pressure / (mu * free * (passed + y[1] / permeability)) if passed else 2 * permeability * pressure / (mu * free)
            return [rate(k, temperature, y[0]), speed]

        time, degree, passed = 0.0, k["start"], 0.0
        for region in regions:
            event = lambda t, y, *_: y[1] - (region[3] if passed else region[3] ** 2)
            event.terminal = True
            done = solve_ivp(slope, (time, time + 4000), [degree, 0.0], "LSODA", rtol=1e-9, atol=1e-14, events=event, args=(passed, region), max_step=20)
            if done.t_events[0].size == 0:
                time = None
                break
            time, degree = done.t_events[0][0], done.y_events[0][0][0]
            passed += region[3] / region[0]
        assert (time is None) == (outcome["fill_time_s"] is None)
        if time is not None:
            filled += 1
            assert outcome["fill_time_s"] == pytest.approx(time, rel=1e-4)
    assert filled >= 6


def laplacian(kx, ky, feed_x, feed_y):
    """Five-point operator on cells with conductances; a column or row beside a feed sees it half a cell away."""
    nx, ny = kx.shape
    number = numpy.arange(nx * ny).reshape(nx, ny)
    diagonal, source = numpy.zeros((nx, ny)), numpy.zeros((nx, ny))
    rows, columns, values = [], [], []
    for a, b, k in [
        (number[:-1], number[1:], 2 * kx[:-1] * kx[1:] / (kx[:-1] + kx[1:])),
        (number[:, :-1], number[:, 1:], 2 * ky[:, :-1] * ky[:, 1:] / (ky[:, :-1] + ky[:, 1:])),
    ]:
        rows += [a.ravel(), b.ravel()]
        columns += [b.ravel(), a.ravel()]
        values += [-k.ravel(), -k.ravel()]
        numpy.add.at(diagonal.ravel(), a.ravel(), k.ravel())
        numpy.add.at(diagonal.ravel(), b.ravel(), k.ravel())
    if feed_x:
        source[0] += 2 * kx[0]
    if feed_y:
        source[:, 0] += 2 * ky[:, 0]
    matrix = coo_matrix((numpy.concatenate(values), (numpy.concatenate(rows), numpy.concatenate(columns)))).tocsr()
    return (matrix + diags((diagonal + source).ravel())).tocsr(), source


def obstacle(matrix, right):
    """Primal-dual active sets for w >= 0, A w >= right."""
    wet = numpy.ones(right.size, bool)
    for _ in range(200):
        w = numpy.zeros(right.size)
        inside = numpy.flatnonzero(wet)
        if inside.size:
            w[inside] = spsolve(matrix[inside][:, inside], right[inside])
        residual = matrix @ w - right
        following = numpy.where(wet, w > 0, residual < -1e-12 * numpy.abs(right).max())
        if (following == wet).all():
            return w
        wet = following
    raise AssertionError("the active sets did not settle")


@pytest.mark.parametrize(("pattern", "x", "y"), [("L", 1.0, 1.0), ("L", 1.0, 1.7), ("U", 1.0, 1.0), ("U", 1.3, 0.8)])
def test_patterns_agree_with_finite_volumes(ask, pattern, x, y):
    (found,) = ask([{"task": "pattern", "pattern": pattern, "across": x, "along": y}])
    half = y if pattern == "L" else y / 2

    def fill(n):
        kx, ky = numpy.full((n, n), (n / x) ** 2), numpy.full((n, n), (n / half) ** 2)
        matrix, source = laplacian(kx, ky, True, True)
        return matrix, source, spsolve(matrix, numpy.ones(n * n)).max()

    coarse, fine = fill(48)[2], fill(96)[2]
    # Cell centres lie half a cell from the corner; the error is of second order.
    assert found["fluidity"] == pytest.approx(fine + (fine - coarse) / 3, rel=3e-4)
    matrix, source, whole = fill(64)
    for time, share in found["progress"][2:-1]:
        w = obstacle(matrix, (source * time * whole - 1.0).ravel())
        assert share == pytest.approx((w > 0).mean(), abs=0.025)


def test_the_lead_of_a_narrow_rim_agrees_with_the_front_in_the_plane(ask):
    width, cells = 1.0, 3
    cases = [(2.0, 1.3, 20.0), (3.0, 1.3, 20.0), (1.5, 1.0, 15.0), (3.0, 1.0, 15.0), (4.0, 1.3, 12.0)]
    tasks = [{"task": "lead", "media": [[k, f, 1.0], [1.0, 1.0, 1.0]], "width": width, "distance": x} for k, f, x in cases]
    for (k, free, x), (lead, bound) in zip(cases, ask(tasks), strict=True):
        nx, ny = int(1.6 * x * cells), int(1.6 * x * cells)
        rim = numpy.arange(ny) < cells * width
        permeability = numpy.broadcast_to(numpy.where(rim, k, 1.0), (nx, ny)) * cells**2
        porosity = numpy.broadcast_to(numpy.where(rim, free, 1.0), (nx, ny))
        matrix, source = laplacian(permeability, permeability, True, False)
        w = obstacle(matrix, (source * x * x / 2 - porosity).ravel()).reshape(nx, ny)

        def front(j):
            i = numpy.flatnonzero(w[:, j] > 0).max() - 2
            return (i + 0.5) / cells + math.sqrt(2 * w[i, j] * (k if rim[j] else 1.0) / porosity[0, j])

        assert lead < bound
        assert lead == pytest.approx(front(0) - front(ny - 1), rel=0.2)


def drag(solid, hexagonal, terms=14, points=80):
    """Stokes flow past an array by least-squares collocation of the stream function on the unit cell."""
    top = math.sqrt(3) / 4 if hexagonal else 0.5
    a = math.sqrt(solid * 2 * top / math.pi)

    def radial(power, r, order):
        if power == "log":
            return [r * numpy.log(r), numpy.log(r) + 1][order]
        return r**power if order == 0 else power * r ** (power - 1.0)

    functions = []
    for n in range(1, 2 * terms, 2):
        first, second, *rest = (1.0, -1.0, 3.0, "log") if n == 1 else (float(n), -float(n), n + 2.0, 2.0 - n)
        for free in rest:
            scale = numpy.array([a**-first, a**-second])
            wall = numpy.array([[radial(q, a, o) for q in (first, second)] for o in (0, 1)]) * scale
            fixed = numpy.linalg.solve(wall, [-radial(free, a, 0), -radial(free, a, 1)]) * scale
            functions.append((n, [(first, fixed[0]), (second, fixed[1]), (free, 1.0)]))

    def value(function, x, y):
        n, parts = function
        r = numpy.hypot(x, y)
        return sum(factor * radial(power, r, 0) for power, factor in parts) * numpy.sin(n * numpy.arctan2(y, x))

    step = 2.5e-3
    stencil = numpy.arange(-5, 6)
    powers = numpy.vander(stencil, 11, increasing=True).T.astype(float)
    weights = [numpy.linalg.solve(powers, math.factorial(o) * numpy.eye(11)[o]) / step**o for o in range(4)]

    def derivative(function, x, y, along_x, order):
        return sum(w * value(function, x + along_x * s * step, y + (not along_x) * s * step) for w, s in zip(weights[order], stencil))

    t = (1 - numpy.cos(math.pi * (numpy.arange(points) + 0.5) / points)) / 2
    side, upper = numpy.full(points, 0.5), numpy.full(points, top)
    blocks = [([derivative(f, side, t * top, True, 1) for f in functions], 0.0), ([0.03 * derivative(f, side, t * top, True, 3) for f in functions], 0.0)]
    if hexagonal:
        x, mirror = t / 4, 0.5 - t / 4
        for order, sign, weight, right in [(0, 1, 1.0, 2 * top), (1, -1, 0.3, 0.0), (2, 1, 0.1, 0.0), (3, -1, 0.03, 0.0)]:
            blocks.append(([weight * (derivative(f, x, upper, False, order) + sign * derivative(f, mirror, upper, False, order)) for f in functions], right))
    else:
        blocks.append(([value(f, t / 2, upper) for f in functions], 0.5))
        blocks.append(([0.1 * derivative(f, t / 2, upper, False, 2) for f in functions], 0.0))
    matrix = numpy.concatenate([numpy.stack(b, 1) for b, _ in blocks])
    right = numpy.concatenate([numpy.full(points, r) for _, r in blocks])
    size = numpy.linalg.norm(matrix, axis=0)
    return 4 * math.pi * abs(numpy.linalg.lstsq(matrix / size, right, rcond=1e-15)[0][1] / size[1])


@pytest.mark.parametrize("hexagonal", [False, True])
def test_drag_of_arrays_agrees_with_collocation(ask, hexagonal):
    shares = [0.03, 0.045, 0.07, 0.12, 0.17, 0.23, 0.28, 0.33, 0.37, 0.42, 0.47, 0.52]
    found = ask([{"task": "drag", "solid": c, "hexagonal": hexagonal} for c in shares])
    # Drummond and Tahir's series below a share of 0.05 keeps 0.1 %.
    assert found == pytest.approx([drag(c, hexagonal) for c in shares], rel=1.5e-3)


def moving_front(rim, distance, width=1.0, cells=3):
    """Lead of a rim by a conservative front on a grid, cell by cell; a meniscus may stand still but never runs back."""
    nx, ny = int(1.7 * distance * cells), int(distance * cells)
    beside = numpy.arange(ny) < width * cells
    k, free, drive = (numpy.broadcast_to(numpy.where(beside, value, 1.0), (nx, ny)) for value in rim)
    fill, full = numpy.zeros((nx, ny)), numpy.zeros((nx, ny), bool)
    while fill[:, -1].sum() < distance * cells:
        number = numpy.full((nx, ny), -1)
        number[full] = numpy.arange(full.sum())
        places, closed, pressure = numpy.argwhere(full).tolist(), set(), numpy.zeros(0)
        while True:
            rows, columns, values, right, faces = [], [], [], numpy.zeros(len(places)), []
            for me, (i, j) in enumerate(places):
                diagonal = 2 * k[i, j] if i == 0 else 0.0
                for u, v in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
                    if not (0 <= u < nx and 0 <= v < ny) or (me, u, v) in closed:
                        continue
                    if full[u, v]:
                        conductance = 2 * k[i, j] * k[u, v] / (k[i, j] + k[u, v])
                        rows.append(me), columns.append(number[u, v]), values.append(-conductance)
                    else:
                        conductance = 1 / (0.5 / k[i, j] + fill[u, v] / k[u, v])
                        right[me] -= conductance * drive[u, v]
                        faces.append((me, u, v, conductance))
                    diagonal += conductance
                rows.append(me), columns.append(me), values.append(diagonal)
            if places:
                pressure = spsolve(coo_matrix((values, (rows, columns))).tocsr(), right).reshape(-1)
            back = [(me, u, v) for me, u, v, _ in faces if pressure[me] + drive[u, v] < -1e-9]
            closed.update(back)
            if not back:
                break
        flow = numpy.zeros((nx, ny))
        flow[0] = numpy.where(full[0], 0.0, drive[0] * k[0] / numpy.maximum(fill[0], 0.02))
        for me, u, v, conductance in faces:
            flow[u, v] += conductance * (pressure[me] + drive[u, v])
        rate = flow / free
        step = ((1 - fill) / numpy.where(rate > 0, rate, numpy.nan))[~full]
        fill = numpy.where(full, 1.0, numpy.minimum(1.0, fill + rate * numpy.nanmin(step)))
        full |= fill >= 1 - 1e-9
    return (fill[:, 0].sum() - fill[:, -1].sum()) / cells


def test_the_lead_of_a_rim_that_draws_more_or_less_agrees_with_a_moving_front(ask):
    distance = 6.0
    rims = [(2.6, 1.34, 0.75), (1.5, 1.1, 0.9), (2.0, 1.2, 1.1)]
    answers = ask([{"task": "lead", "media": [list(r), [1.0, 1.0, 1.0]], "width": 1.0, "distance": distance} for r in rims])
    for rim, (lead, bound) in zip(rims, answers, strict=True):
        seen = moving_front(rim, distance)
        # Within a rim's width, and on the side of air; the bound holds.
        assert seen < bound + 0.1
        assert lead - 1.0 < seen < lead + 0.3
