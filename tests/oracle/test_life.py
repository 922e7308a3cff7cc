"""Solder through temperature cycles, strains of bonded joints and the mission of the life study against numpy and scipy on random inputs."""

import json
import math
import subprocess

import numpy
import pytest
import scipy.integrate
import scipy.sparse.linalg
import skfem
import skfem.helpers


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
    # The joint beside the underfill: its solder, its pillar as a beam held at both ends, its pads as a spring.
    g = u["modulus"][0][1] / (2 * (1 + u["poisson"]))
    h, half = a["gap"], max(p["distance"] for p in a["places"]) + a["edge_margin"]
    solder, height, copper, share = task["solder"], a["solder_height"], a["pillar_modulus"], a["joint_share"]
    area, second = math.pi * a["interface_diameter"] ** 2 / 4, math.pi * a["interface_diameter"] ** 4 / 64
    spring = a["stiffness"] / (1 - math.sqrt(share))
    column = height / (solder * area) + (h - height) / (copper / 2.68 * area) + (h - height) ** 3 / (12 * copper * second)
    # Unit displacement: force = (1 - pads) / column with pads = (force - underfill's) / spring.
    force = (1 + g * area / h / spring) / (column + 1 / spring)
    taken = force / (solder * area)
    mean = (share * force / area + (1 - share) * g / h) * h
    # Forces per width n1 = -n2 build up by the shear of the layer and bend both plates alike.
    unit = half * 1e-3
    thick = [p["thickness"] for p in (a["upper"], a["lower"])]
    own = sum(t * 2 * (1 + p["poisson"]) / (3 * p["modulus"][0][1]) for t, p in zip(thick, (a["upper"], a["lower"]), strict=True))
    # The plates shear over their own thickness, in series with the layer.
    series = 1 / (h / mean + own)
    rigid = sum(k * t**2 / 12 for k, t in zip(stiff, thick, strict=True))

    def right(_, y):
        relative, force = y[0] * unit, y[1] * stiff[0] * 1e-3
        curvature = force * sum(thick) / 2 / rigid
        slope = free[0] - free[1] + force / stiff[0] + force / stiff[1] + curvature * sum(thick) / 2
        return numpy.array([slope * half / unit, series * relative * half / (stiff[0] * 1e-3)])

    x = numpy.linspace(0, 1, 2001)
    done = scipy.integrate.solve_bvp(lambda x, y: right(x, y), lambda l, r: numpy.array([l[0], r[1]]), x, numpy.zeros((2, x.size)), tol=1e-9, max_nodes=200000)
    assert done.success
    moved = done.sol(task["distance"] / half)[0] * unit * series * h / mean
    held = (stiff[0] * free[0] + stiff[1] * free[1]) / (stiff[0] + stiff[1])
    nu, alpha = u["poisson"], u["expansion"][0][1] * swing
    # Hooke's law in three directions with no stress across: solve for the strain across.
    hooke = numpy.array([[1, -nu, -nu], [-nu, 1, -nu], [-nu, -nu, 1]])
    in_plane = numpy.linalg.solve(hooke[:2, :2], [held - alpha, held - alpha])
    across = alpha - nu * in_plane.sum()
    # Columns side by side between plates that move apart: two forces that cancel.
    held_up = u["modulus"][0][1] * numpy.linalg.inv(hooke)[2, 2]
    joint = 1 / ((h - height) / copper + height / (3 * solder))
    own = (a["pillar_expansion"] * (h - height) + a["solder_expansion"] * height) * swing
    pads = (1 - math.sqrt(share)) * area / a["normal_stiffness"]
    # Opening, stress of the joint, stress of the underfill.
    balance = [[0, share, 1 - share], [held_up / h, 0, -1], [1, -1 / joint - pads, pads]]
    _, stress, _ = numpy.linalg.solve(balance, [0, held_up * across, own])
    axial = stress / (3 * solder)
    return moved * taken, axial


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
        one["edge_margin"] = random.uniform(0, 1e-3)
        one["joint_share"] = random.uniform(0.01, 0.6)
        one["stiffness"], one["normal_stiffness"] = 10 ** random.uniform(4, 8), 10 ** random.uniform(4, 8)
        low = random.uniform(230, 300)
        cycle = {"name": "c", "low": low, "high": low + random.uniform(20, 140), "lower_part": None, "count": 1.0, "dwell": None, "ramp": None}
        if i % 2:
            cycle["lower_part"] = [low, low + random.uniform(5, 60)]
        tasks.append({"attachment": one, "cycle": cycle, "distance": random.choice([p["distance"] for p in one["places"]]), "solder": 10 ** random.uniform(8.5, 10.3)})
    for task, answer in zip(tasks, solve([{"paths": t} for t in tasks]), strict=True):
        shear, axial = shear_by_boundary_value(task, task["cycle"])
        _, found_shear, found_axial = answer["points"][-1]
        assert found_shear == pytest.approx(shear, rel=1e-5)
        assert found_axial == pytest.approx(axial, rel=1e-8)
        assert answer["range"] == pytest.approx(math.hypot(shear, math.sqrt(3) * axial), rel=1e-5)


def strained_cell(pitch, radius, pillar, solder, materials, count=10):
    """What shear and what an expansion of the underfill by a thousandth do to a joint: a quarter of a square cell by finite elements.

    Gives displacement of the gap, mean shear of the solder, mean traction, share of the joint; and the mean equivalent strain of the solder.
    Two blocks, one pitch deep, hold the gap between them; their far faces are moved apart along x, or stay plane and free of force along z.
    Neighbours bear alike: in shear no motion along y on planes of y, none along y and z on planes of x; in expansion none across either.
    Materials are (shear modulus, Poisson ratio) of lower and upper block, underfill, pillar, solder; the joint is made of the boxes whose middle
    lies in its circle.
    """
    half, top = pitch / 2, pillar + solder
    x = numpy.linspace(0, half, count + 1)
    steps = numpy.cumsum(1.35 ** numpy.arange(9))
    block = steps / steps[-1] * pitch
    parts = [-block[::-1], numpy.linspace(0, solder, 5), top + block]
    if pillar > 0:
        parts.insert(2, numpy.linspace(solder, top, 7)[1:])
    z = numpy.concatenate(parts)
    mesh = skfem.MeshHex.init_tensor(x, x, z)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHex1()), intorder=2)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    inside = numpy.hypot(middle[0], middle[1]) <= radius
    gap = (middle[2] > 0) & (middle[2] < top)
    lower, upper, underfill, copper, tin = materials
    masks = [(middle[2] < 0, lower), (middle[2] > top, upper), (gap & ~inside, underfill)]
    masks += [(gap & inside & (middle[2] > solder), copper), (gap & inside & (middle[2] < solder), tin)]
    shear, poisson = numpy.select([m for m, _ in masks], [v[0] for _, v in masks]), numpy.select([m for m, _ in masks], [v[1] for _, v in masks])
    points = numpy.ones((1, basis.X.shape[1]))

    @skfem.BilinearForm
    def stiff(u, v, w):
        eu, ev = skfem.helpers.sym_grad(u), skfem.helpers.sym_grad(v)
        return 2 * w["g"] * skfem.helpers.ddot(eu, ev) + w["l"] * skfem.helpers.trace(eu) * skfem.helpers.trace(ev)

    lame = 2 * shear * poisson / (1 - 2 * poisson)
    matrix = stiff.assemble(basis, g=shear[:, None] * points, l=lame[:, None] * points)

    def solved(fixed, tasks):
        """Displacements by load and given displacements, with one factor."""
        free = numpy.setdiff1d(numpy.arange(matrix.shape[0]), fixed)
        factor = scipy.sparse.linalg.splu(matrix.tocsc()[free][:, free], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        found = []
        for load, given in tasks:
            whole = given.copy()
            whole[free] = factor.solve((load - matrix @ given)[free])
            found.append(whole)
        return found

    def on(axis, value, names):
        return basis.get_dofs(lambda p: abs(p[axis] - value) < 1e-6 * pitch).all(names)

    moved = on(2, z[-1], ["u^1"])
    still = [on(2, z[0], ["u^1", "u^2", "u^3"]), on(2, z[-1], ["u^2", "u^3"])]
    still += [on(1, y, ["u^2"]) for y in (0, half)] + [on(0, y, ["u^2", "u^3"]) for y in (0, half)]
    u = basis.zeros()
    u[moved] = 1.0
    u = solved(numpy.unique(numpy.concatenate([moved, *still])), [(0 * u, u)])[0]
    traction = (matrix @ u)[moved].sum() / half**2
    gradient, size = basis.interpolate(u).grad, basis.dx
    tin_boxes = gap & inside & (middle[2] < solder)
    strain = ((gradient[0][2] + gradient[2][0]) * size)[tin_boxes].sum() / size[tin_boxes].sum()
    share = size[tin_boxes].sum() / (solder * half**2)
    sheared = (1.0 - traction * pitch * (1 / lower[0] + 1 / upper[0]), strain, traction, share)

    @skfem.LinearForm
    def swell(v, w):
        return w["s"] * skfem.helpers.div(v)

    force = swell.assemble(basis, s=((gap & ~inside) * 1e-3 * (2 * shear + 3 * lame))[:, None] * points)
    far = on(2, z[-1], ["u^3"])
    fixed = numpy.unique(numpy.concatenate([far, on(2, z[0], ["u^3"])] + [on(axis, side, [f"u^{axis + 1}"]) for axis in (0, 1) for side in (0, half)]))
    pulled, swollen = basis.zeros(), basis.zeros()
    pulled[far] = 1.0
    pulled, swollen = solved(fixed, [(0 * force, pulled), (force, swollen)])
    u = swollen - pulled * (matrix @ swollen - force)[far].sum() / (matrix @ pulled)[far].sum()
    gradient = basis.interpolate(u).grad[:, :, tin_boxes]
    tensor = (gradient + gradient.swapaxes(0, 1)) / 2
    deviator = tensor - numpy.eye(3)[:, :, None, None] * numpy.trace(tensor) / 3
    equivalent = numpy.sqrt(2 / 3 * (deviator**2).sum(axis=(0, 1)))
    return *sheared, (equivalent * size[tin_boxes]).sum() / size[tin_boxes].sum()


def test_joints_in_underfill_agree_with_finite_elements(solve):
    um, copper = 1e-6, (44e9, 0.34)
    pillar, micro, half, bare = (150, 42.5, 43, 12), (55, 12.5, 15, 8), (150, 42.5, 30, 30), (150, 40, 0, 70)
    soft, hot, stiff, silicon = (2.3e9, 3.2e9, 3e9), (2.3e9, 0.04e9, 1e9), (2.3e9, 3.2e9, 18e9), (20e9, 3.2e9, 3e9)
    cases = [(pillar, *soft), (pillar, *hot), (pillar, *stiff), (micro, *silicon), (half, *soft), (bare, *soft)]
    tasks, truth, whole = [], [], []
    for (pitch, radius, copper_height, tin_height), base, fill, tin in cases:
        blocks = [(base, 0.3), (51e9, 0.28)]
        moved, strain, traction, share, swollen = strained_cell(pitch * um, radius * um, copper_height * um, tin_height * um, [*blocks, (fill, 0.33), copper, (tin, 0.36)])
        a = math.sqrt(share / math.pi) * pitch * um
        spring = 1 / sum((2 - nu) / (8 * g * a) for g, nu in blocks)
        press = 1 / sum((1 - nu) / (4 * g * a) for g, nu in blocks)
        cell = [share, copper_height * um, tin_height * um, copper[0] * 2.68, 2 * a, spring, press]
        high = (copper_height + tin_height) * um
        column = 2 * fill * (1 - 0.33) / (1 - 2 * 0.33)
        tasks += [{"cell": {"cell": cell, "sheared": [moved, tin, fill]}}, {"cell": {"cell": cell, "opened": [1e-3 * (1 + 0.66 / 0.67) * high, column, 0.0, 3 * tin]}}]
        truth.append((strain, traction * high / moved, swollen))
        whole.append(moved / (tin_height * um))
    answers = solve(tasks)
    for case, (strain, layer, swollen), (found, found_layer), opened, full in zip(cases, truth, answers[::2], answers[1::2], whole, strict=True):
        assert 0.85 < found / strain < 1.40, case
        assert 0.70 < found_layer / layer < 1.40, case
        # Elastic solder strains too little for what is left out, the push of the underfill from the side, not to show.
        assert (0.40 if case[3] == stiff[2] else 0.65) < opened / swollen < 2.1, case
        # Under a pillar the whole displacement of the gap is far too much.
        assert case[0] == bare or full > 1.2 * strain, case


def layer_shear(upper, lower, layer, half, mismatch):
    """Places and shear strain of a thin layer between two plates in plane strain, by finite elements; (thickness, modulus, Poisson ratio)."""
    steps = numpy.cumsum(1.18 ** numpy.arange(60))
    x = half - numpy.concatenate([[0], steps / steps[-1] * half])[::-1]
    steps = numpy.cumsum(1.35 ** numpy.arange(16)) / numpy.sum(1.35 ** numpy.arange(16))
    h = layer[0]
    z = numpy.concatenate([-steps[::-1] * lower[0], numpy.linspace(0, h, 7), h + steps * upper[0]])
    mesh = skfem.MeshQuad.init_tensor(x, z)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad2()), intorder=4)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    where = [middle[1] > h, middle[1] < 0]
    young, nu = (numpy.select(where, [upper[i], lower[i]], layer[i])[:, None] * numpy.ones((1, basis.X.shape[1])) for i in (1, 2))
    free = numpy.where(where[0], mismatch, 0.0)[:, None] * numpy.ones((1, basis.X.shape[1]))
    g = young / (2 * (1 + nu))
    l = 2 * g * nu / (1 - 2 * nu)
    h_ = skfem.helpers

    @skfem.BilinearForm
    def stiff(u, v, w):
        return 2 * w["g"] * h_.ddot(h_.sym_grad(u), h_.sym_grad(v)) + w["l"] * h_.div(u) * h_.div(v)

    @skfem.LinearForm
    def load(v, w):
        return w["s"] * h_.div(v)

    middle_plane = basis.get_dofs(lambda p: p[0] < 1e-9)
    fixed = numpy.concatenate([middle_plane.all(["u^1"]), middle_plane.all(["u^2"])[:1]])
    u = skfem.solve(*skfem.condense(stiff.assemble(basis, g=g, l=l), load.assemble(basis, s=free * (2 * g + 3 * l)), D=fixed))

    def along(height, name):
        found = basis.get_dofs(lambda p: abs(p[1] - height) < 1e-12).all([name])
        order = numpy.argsort(basis.doflocs[0, found])
        return basis.doflocs[0, found][order], u[found][order]

    places, below = along(0.0, "u^1")
    moved = along(h, "u^1")[1] - below
    up = (along(0.0, "u^2")[1] + along(h, "u^2")[1]) / 2
    return places, moved / h + numpy.gradient(up, places)


def test_bonded_plates_agree_with_finite_elements(solve):
    base = solve([{"specimen": "outdoors", "show": True}])[0]["bumps"]
    half, mismatch = 8e-3, 1e-3
    tasks, truth = [], []
    for upper, lower, young, shear in ((600, 1050, 24e9, 3.2e9), (600, 1050, 24e9, 8e9), (600, 1050, 24e9, 1e9), (300, 600, 24e9, 3.2e9), (700, 110, 120e9, 3.2e9)):
        # In plane strain the free mismatch counts 1 + nu times.
        plane = {"upper": (130e9, 0.28), "lower": (young, 0.25)}
        thick = {"upper": upper * 1e-6, "lower": lower * 1e-6}
        places, strain = layer_shear((thick["upper"], *plane["upper"]), (thick["lower"], *plane["lower"]), (55e-6, 2.66 * shear, 0.33), half, mismatch / 1.28)
        for inside in (1e-4, 2.5e-4, 5e-4):
            one = json.loads(json.dumps(base))
            for part in ("upper", "lower"):
                modulus, nu = plane[part]
                # Alike in both directions with E / (1 - nu^2) for E / (1 - nu), and the same shear modulus.
                own = nu / (2 - nu)
                modulus *= (1 + own) / (1 + nu)
                one[part] |= {"modulus": [[300.0, modulus]], "poisson": own, "thickness": thick[part], "expansion": [[300.0, 0.0]]}
            one["upper"]["expansion"] = [[300.0, mismatch / 100]]
            one["underfill"] |= {"modulus": [[300.0, 2.66 * shear]], "poisson": 0.33, "expansion": [[300.0, 0.0]]}
            one |= {"gap": 55e-6, "solder_height": 55e-6, "joint_share": 0.0, "stiffness": None, "normal_stiffness": None, "edge_margin": inside, "shadow": None}
            one["places"] = [{"name": "edge", "distance": half - inside, "count": 1}]
            cycle = {"name": "c", "low": 280.0, "high": 380.0, "lower_part": None, "count": 1.0, "dwell": None, "ramp": None}
            tasks.append({"paths": {"attachment": one, "cycle": cycle, "distance": half - inside, "solder": shear}})
            truth.append(numpy.interp(half - inside, places, strain))
    for answer, strain in zip(solve(tasks), truth, strict=True):
        assert 0.75 < answer["points"][-1][1] / strain < 1.30


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
