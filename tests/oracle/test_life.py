"""Solder through temperature cycles, strains of bonded joints and the mission of the life study against numpy and scipy on random inputs."""

import json
import math
import subprocess

import numpy
import pytest
import scipy.integrate


@pytest.fixture(scope="session")
def solve(example):
    """Solves many tasks in one run of the example program."""
    program = example("facedown-life", "life_json")

    def run(tasks):
        text = "".join(json.dumps(task) + "\n" for task in tasks)
        done = subprocess.run([program], input=text, stdout=subprocess.PIPE, text=True, check=True)
        answers = [json.loads(line) for line in done.stdout.splitlines()]
        assert len(answers) == len(tasks)
        return answers

    return run


def anand_rates(constants, stress, s, temperature):
    """Flow and hardening as the papers print them, in Pa and 1/s."""
    _, activation, rate, xi, m, h0, s_hat, n, a = constants
    flow = rate * numpy.exp(-activation / temperature) * numpy.sinh(xi * abs(stress) / s) ** (1 / m)
    if flow == 0.0:
        return 0.0, 0.0
    star = s_hat * (flow / rate * numpy.exp(activation / temperature)) ** n
    hardening = h0 * abs(1 - s / star) ** a * numpy.sign(1 - s / star) * flow
    return numpy.sign(stress) * flow, hardening


def random_anand(random):
    """Constants around those of published sets: a smooth, strong solder."""
    return [
        random.uniform(5e6, 40e6),
        random.uniform(8500, 10500),
        10 ** random.uniform(2, 5),
        random.uniform(2, 8),
        random.uniform(0.18, 0.32),
        10 ** random.uniform(9, 10.5),
        random.uniform(30e6, 70e6),
        random.uniform(0.01, 0.04),
        random.uniform(1.2, 1.9),
    ]


def cycles_by_scipy(rates, stiffness, task, start):
    """The last cycle: ends, accumulated strain, work (MPa). State: inelastic strain, resistance, strain sum, work, in MPa."""
    path = numpy.array(task["path"])
    low, high = path[0, 0], path[-1, 0]
    up = [(task["ramp"] * (b[0] - a[0]) / (high - low), a, b) for a, b in zip(path[:-1], path[1:], strict=True)]
    down = [(t, b, a) for t, a, b in reversed(up)]
    legs = [up, [(task["hot_dwell"], path[-1], path[-1])], down, [(task["cold_dwell"], path[0], path[0])]]
    y = numpy.array([0.0, start / 1e6, 0.0, 0.0])
    for _ in range(task["cycles"]):
        y[2:] = 0.0
        ends = []
        for leg in legs:
            for duration, a, b in leg:

                def right(t, y, duration=duration, a=a, b=b):
                    temperature, strain = a + (b - a) * t / duration
                    sigma = stiffness(temperature) * (strain - y[0])
                    flow, hardening = rates(sigma, y[1] * 1e6, temperature)
                    return [flow, hardening / 1e6, abs(flow), flow * sigma / 1e6]

                if duration > 0:
                    done = scipy.integrate.solve_ivp(right, (0, duration), y, method="Radau", rtol=1e-8, atol=[1e-11, 1e-7, 1e-10, 1e-9])
                    assert done.success
                    y = done.y[:, -1].copy()
            ends.append(stiffness(b[0]) * (b[1] - y[0]))
        last = ends
    return last, y[2], y[3] * 1e6, y[1] * 1e6


def random_course(random):
    low = random.uniform(233, 300)
    high = low + random.uniform(40, 130)
    bend = random.choice([False, True])
    slope = random.uniform(2e-5, 1.2e-4)
    path = [[low, 0.0], [high, slope * (high - low)]]
    if bend:
        path.insert(1, [0.4 * low + 0.6 * high, slope * 0.3 * (high - low)])
    return {
        "path": path,
        "ramp": random.uniform(120, 1800),
        "hot_dwell": random.choice([0.0, random.uniform(300, 20000)]),
        "cold_dwell": random.uniform(300, 7200),
        "cycles": 2,
        "elastic": [random.uniform(45e9, 76e9), random.uniform(40e6, 80e6), random.uniform(0.3, 0.4)],
    }


def compare(answer, expected):
    ends, strain, work, resistance = expected
    scale = max(abs(e) for e in ends)
    assert answer["ends"] == pytest.approx(ends, abs=1e-4 * scale)
    assert answer["inelastic"] == pytest.approx(strain, rel=1e-4)
    assert answer["work"] == pytest.approx(work, rel=1e-4)
    return resistance


def test_anand_joints_agree_with_scipy_radau(solve):
    random = numpy.random.default_rng(1)
    tasks = [{**random_course(random), "anand": random_anand(random)} for _ in range(10)]
    for i, task in enumerate(tasks):
        if i % 2:
            task["compliance"] = 10 ** random.uniform(-11, -9.5)
    for task, answer in zip(tasks, solve([{"cycle": t} for t in tasks]), strict=True):
        at_zero, fall, poisson = task["elastic"]

        def stiffness(temperature, task=task, at_zero=at_zero, fall=fall, poisson=poisson):
            young = at_zero - fall * temperature
            if "compliance" not in task:
                return young
            return 3 / (2 * (1 + poisson) / young + task["compliance"])

        constants = task["anand"]
        expected = cycles_by_scipy(lambda s, r, t, c=constants: anand_rates(c, s, r, t), stiffness, task, constants[0])
        resistance = compare(answer, expected)
        assert answer["resistance"] == pytest.approx(resistance, rel=1e-4)


def test_creeping_joints_agree_with_scipy_radau(solve):
    random = numpy.random.default_rng(2)
    tasks = []
    for _ in range(8):
        sine = [10 ** random.uniform(4.5, 5.8), random.uniform(0.01e-6, 0.04e-6), random.uniform(3.5, 7), random.uniform(5400, 7500)]
        tasks.append({**random_course(random), "sine": sine})
    for task, answer in zip(tasks, solve([{"cycle": t} for t in tasks]), strict=True):
        a, alpha, n, q = task["sine"]
        at_zero, fall, _ = task["elastic"]
        rates = lambda s, _, t, a=a, alpha=alpha, n=n, q=q: (numpy.sign(s) * a * numpy.sinh(alpha * abs(s)) ** n * math.exp(-q / t), 0.0)  # noqa: E731
        compare(answer, cycles_by_scipy(rates, lambda t, z=at_zero, f=fall: z - f * t, task, 1e6))


def test_pulled_bars_agree_with_scipy_bdf(solve):
    random = numpy.random.default_rng(3)
    tasks = []
    for _ in range(15):
        bar = [random.uniform(20e9, 55e9), 10 ** random.uniform(-5, -2), random.uniform(233, 420), 10 ** random.uniform(-2.7, -0.5)]
        tasks.append({"anand": random_anand(random), "elastic": [bar[0], 0.0, 0.35], "bar": bar})
    for task, answer in zip(tasks, solve([{"pull": t} for t in tasks]), strict=True):
        modulus, rate, temperature, strain = task["bar"]
        constants = task["anand"]

        def right(_, y, c=constants, e=modulus, rate=rate, k=temperature):
            flow, hardening = anand_rates(c, y[0] * 1e6, y[1] * 1e6, k)
            return [e * (rate - flow) / 1e6, hardening / 1e6]

        done = scipy.integrate.solve_ivp(right, (0, strain / rate), [0.0, constants[0] / 1e6], method="BDF", rtol=1e-9, atol=1e-9)
        assert done.success
        assert answer == pytest.approx(done.y[0, -1] * 1e6, rel=2e-6)


def shear_by_boundary_value(task, cycle):
    """Shear and axial strain at the hot end: the two bonded plates as a boundary value problem, with constant properties."""
    a = task["attachment"]
    swing_up = cycle["high"] - cycle["low"]
    swing_low = cycle["lower_part"][1] - cycle["lower_part"][0] if cycle["lower_part"] else swing_up
    swing = (swing_up + swing_low) / 2
    u = a["underfill"]
    stiff = [p["modulus"][0][1] * p["thickness"] / (1 - p["poisson"]) for p in (a["upper"], a["lower"])]
    free = [a["upper"]["expansion"][0][1] * swing_up, a["lower"]["expansion"][0][1] * swing_low]
    g = u["modulus"][0][1] / (2 * (1 + u["poisson"]))
    h, half = a["gap"], max(p["distance"] for p in a["places"])
    # Forces per width n1 = -n2 build up by the shear of the layer and bend both plates alike.
    unit = half * 1e-3
    thick = [p["thickness"] for p in (a["upper"], a["lower"])]
    rigid = sum(k * t**2 / 12 for k, t in zip(stiff, thick, strict=True))

    def right(_, y):
        relative, force = y[0] * unit, y[1] * stiff[0] * 1e-3
        curvature = force * sum(thick) / 2 / rigid
        slope = free[0] - free[1] + force / stiff[0] + force / stiff[1] + curvature * sum(thick) / 2
        return numpy.array([slope * half / unit, g * relative / h * half / (stiff[0] * 1e-3)])

    x = numpy.linspace(0, 1, 2001)
    done = scipy.integrate.solve_bvp(lambda x, y: right(x, y), lambda l, r: numpy.array([l[0], r[1]]), x, numpy.zeros((2, x.size)), tol=1e-9, max_nodes=200000)
    assert done.success
    layer = done.sol(task["distance"] / half)[0] * unit / h
    held = (stiff[0] * free[0] + stiff[1] * free[1]) / (stiff[0] + stiff[1])
    nu, alpha = u["poisson"], u["expansion"][0][1] * swing
    # Hooke's law in three directions with no stress across: solve for the strain across.
    hooke = numpy.array([[1, -nu, -nu], [-nu, 1, -nu], [-nu, -nu, 1]])
    in_plane = numpy.linalg.solve(hooke[:2, :2], [held - alpha, held - alpha])
    across = alpha - nu * in_plane.sum()
    height = a["solder_height"]
    axial = (across * h - a["pillar_expansion"] * swing * (h - height)) / height - a["solder_expansion"] * swing
    return layer * h / height, axial


def test_bonded_joints_agree_with_a_boundary_value_problem(solve):
    random = numpy.random.default_rng(4)
    attachment = solve([{"specimen": "outdoors", "show": True}])[0]["bumps"]
    tasks = []
    for i in range(8):
        one = json.loads(json.dumps(attachment))
        for part, low, high in (("upper", 60e9, 170e9), ("lower", 10e9, 30e9)):
            one[part]["modulus"] = [[300.0, random.uniform(low, high)]]
            one[part]["thickness"] = random.uniform(0.2e-3, 1.2e-3)
            one[part]["expansion"] = [[300.0, random.uniform(2e-6, 18e-6)]]
            one[part]["poisson"] = random.uniform(0.1, 0.35)
        one["underfill"]["modulus"] = [[300.0, 10 ** random.uniform(8, 10)]]
        one["underfill"]["expansion"] = [[300.0, random.uniform(18e-6, 60e-6)]]
        one["underfill"]["poisson"] = random.uniform(0.25, 0.42)
        one["gap"] = random.uniform(40e-6, 100e-6)
        one["solder_height"] = one["gap"] * random.uniform(0.3, 1.0)
        low = random.uniform(230, 300)
        cycle = {"name": "c", "low": low, "high": low + random.uniform(20, 140), "lower_part": None, "count": 1.0, "dwell": None, "ramp": None}
        if i % 2:
            cycle["lower_part"] = [low, low + random.uniform(5, 60)]
        tasks.append({"attachment": one, "cycle": cycle, "distance": random.choice([p["distance"] for p in one["places"]])})
    for task, answer in zip(tasks, solve([{"paths": t} for t in tasks]), strict=True):
        shear, axial = shear_by_boundary_value(task, task["cycle"])
        _, found_shear, found_axial = answer["points"][-1]
        assert found_shear == pytest.approx(shear, rel=1e-5)
        assert found_axial == pytest.approx(axial, rel=1e-9)
        assert answer["range"] == pytest.approx(math.hypot(shear, math.sqrt(3) * axial), rel=1e-5)


def engelmaier(strain, celsius, minutes):
    exponent = -0.480 - 9.3e-4 * celsius + 1.92e-2 * math.log(1 + 500 / minutes)
    return 0.5 * (strain / (2 * 0.425)) ** (1 / exponent)


def test_bare_arrays_agree_with_a_plain_reckoning(solve):
    random = numpy.random.default_rng(5)
    base = solve([{"specimen": "outdoors", "show": True}])[0]
    base["bumps"] = None
    tasks = []
    for _ in range(10):
        one = json.loads(json.dumps(base))
        balls = one["balls"]
        balls["upper"]["expansion"] = [[300.0, random.uniform(8e-6, 14e-6)]]
        balls["shadow"]["expansion"] = [[300.0, random.uniform(5e-6, 12e-6)]]
        balls["shadow"]["reach"] = random.uniform(0, 12e-3)
        balls["solder_height"] = balls["gap"] = random.uniform(200e-6, 600e-6)
        balls["strain_factor"] = random.uniform(0.6, 1.4)
        balls["weibull_shape"] = random.uniform(2, 10)
        one["mission"]["failed"] = 10 ** random.uniform(-3, -0.5)
        for c in one["mission"]["cycles"]:
            c["count"] = 10 ** random.uniform(1, 4)
            c["dwell"] = random.uniform(300, 40000)
        tasks.append(one)
    for task, answer in zip(tasks, solve([{"problem": t} for t in tasks]), strict=True):
        b, mission = task["balls"], task["mission"]
        alpha, under, board = b["upper"]["expansion"][0][1], b["shadow"]["expansion"][0][1], b["lower"]["expansion"][0][1]
        total, damages = 0.0, []
        for place in b["places"]:
            damage = 0.0
            for c in mission["cycles"]:
                low, high = c["lower_part"] or (c["low"], c["high"])
                r, reach = place["distance"], b["shadow"]["reach"]
                moved = (under * min(r, reach) + alpha * max(r - reach, 0)) * (c["high"] - c["low"]) - board * r * (high - low)
                strain = b["strain_factor"] * abs(moved) / b["solder_height"]
                mean = (c["low"] + c["high"] + low + high) / 4 - 273.15
                damage += c["count"] / engelmaier(strain, mean, c["dwell"] / 60)
            damages.append(damage)
            scale = mission["life"] / damage / math.log(2) ** (1 / b["weibull_shape"])
            total += place["count"] * scale ** -b["weibull_shape"]
        figures = {f["name"]: f["value"] for f in answer["figures"]}
        scale = total ** (-1 / b["weibull_shape"])
        assert figures["mission_damage"] == pytest.approx(max(damages), rel=1e-9)
        assert answer["balls"]["characteristic_life_s"] == pytest.approx(scale, rel=1e-9)
        life = scale * (-math.log(1 - mission["failed"])) ** (1 / b["weibull_shape"])
        assert figures["life_balls"] == pytest.approx(life / 31557600, rel=1e-9)
        assert figures["failed_share_at_life"] == pytest.approx(1 - math.exp(-((mission["life"] / scale) ** b["weibull_shape"])), rel=1e-7)
