"""Plates, fins, films and whole packages of the heat study against numpy and scipy on random inputs."""

import json

import numpy
import pytest
import scipy.linalg
import scipy.sparse
import scipy.sparse.linalg
import scipy.special


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-heat", "heat_json")


def impedance(layers, film, face_film, beta):
    """Temperature over flux of the face by the matrix exponential of each layer, from the film upward; and the share of it that reaches the far face."""
    state = numpy.array([1.0, film])
    for thickness, in_plane, through, contact in reversed(layers):
        state = numpy.array([state[0] + contact * state[1], state[1]])
        state = scipy.linalg.expm(numpy.array([[0.0, 1.0 / through], [in_plane * beta**2, 0.0]]) * thickness) @ state
    return 1.0 / (state[1] / state[0] + face_film), 1.0 / state[0]


def random_plate(random, terms):
    size = random.uniform(0.01, 0.1, 2)
    layers = [
        [10 ** random.uniform(-4.5, -2.7), 10 ** random.uniform(-1, 2.6), 10 ** random.uniform(-0.5, 2.6), random.choice([0.0, 10 ** random.uniform(-6, -4)])]
        for _ in range(random.integers(1, 5))
    ]
    rectangles = []
    for _ in range(2):
        a, b = random.uniform(0.15, 0.5, 2) * size
        x, y = random.uniform(0, 1, 2) * (size - [a, b])
        rectangles.append([x, x + a, y, y + b])
    film, face_film = 10 ** random.uniform(0.5, 4.5), random.choice([0.0, 12.0])
    return {"size": list(size), "layers": layers, "film": film, "face_film": face_film, "rectangles": rectangles, "terms": terms}


def test_plates_agree_with_matrix_exponentials(solve):
    random = numpy.random.default_rng(1)
    tasks = [random_plate(random, 12) for _ in range(12)]
    for task, answer in zip(tasks, solve([{"plate": t} for t in tasks]), strict=True):
        terms, (width, height) = task["terms"], task["size"]
        m = numpy.arange(terms + 1)

        def mean(length, low, high):
            k = m * numpy.pi / length
            with numpy.errstate(invalid="ignore", divide="ignore"):
                s = (numpy.sin(k * high) - numpy.sin(k * low)) / (k * (high - low))
            s[0] = 1.0
            return s

        pairs = [[impedance(task["layers"], task["film"], task["face_film"], numpy.hypot(i * numpy.pi / width, j * numpy.pi / height)) for j in m] for i in m]
        z = numpy.array([[p[0] for p in row] for row in pairs])
        far = numpy.array([[p[0] * p[1] for p in row] for row in pairs])
        weight = numpy.where(m == 0, 1.0, 2.0)
        means = [(mean(width, x0, x1), mean(height, y0, y1)) for x0, x1, y0, y1 in task["rectangles"]]
        for i, (xi, yi) in enumerate(means):
            for j, (xj, yj) in enumerate(means):
                expected = (weight * xi * xj) @ z @ (weight * yi * yj) / (width * height)
                assert answer["means"][i][j] == pytest.approx(expected, rel=1e-9)
        x0, x1, y0, y1 = task["rectangles"][0]
        cx, cy = numpy.cos(m * numpy.pi * (x0 + x1) / 2 / width), numpy.cos(m * numpy.pi * (y0 + y1) / 2 / height)
        for name, surface in (("centre", z), ("far", far)):
            expected = (weight * means[0][0] * cx) @ surface @ (weight * means[0][1] * cy) / (width * height)
            assert answer[name] == pytest.approx(expected, rel=1e-8)


def finite_volumes(size, layers, film, source, cells, fixed_rim=False):
    """Mean and middle rise of a centred source by cell-centred volumes on a quarter of the plate."""
    n = cells
    hx, hy = size[0] / 2 / n, size[1] / 2 / n
    dz, kxy, kz = [], [], []
    for thickness, in_plane, through, _ in layers:
        count = 8
        dz += [thickness / count] * count
        kxy += [in_plane] * count
        kz += [through] * count
    dz, kxy, kz = map(numpy.array, (dz, kxy, kz))
    levels = len(dz)
    index = numpy.arange(n * n * levels).reshape(n, n, levels)
    rows, columns, values = [], [], []
    diagonal = numpy.zeros(index.size)

    def join(a, b, g):
        g = numpy.broadcast_to(g, a.shape).ravel()
        a, b = a.ravel(), b.ravel()
        rows.extend([a, b])
        columns.extend([b, a])
        values.extend([-g, -g])
        numpy.add.at(diagonal, a, g)
        numpy.add.at(diagonal, b, g)

    join(index[:-1], index[1:], kxy * dz * hy / hx)
    join(index[:, :-1], index[:, 1:], kxy * dz * hx / hy)
    join(index[..., :-1], index[..., 1:], hx * hy / (dz[:-1] / 2 / kz[:-1] + dz[1:] / 2 / kz[1:]))
    if film > 0:
        numpy.add.at(diagonal, index[..., -1].ravel(), hx * hy / (dz[-1] / 2 / kz[-1] + 1 / film))
    if fixed_rim:
        numpy.add.at(diagonal, index[-1].ravel(), numpy.broadcast_to(2 * kxy * dz * hy / hx, (n, levels)).ravel())
        numpy.add.at(diagonal, index[:, -1].ravel(), numpy.broadcast_to(2 * kxy * dz * hx / hy, (n, levels)).ravel())
    every = numpy.arange(index.size)
    matrix = scipy.sparse.csc_matrix(
        (numpy.concatenate([*values, diagonal]), (numpy.concatenate([*rows, every]), numpy.concatenate([*columns, every])))
    )
    a, b = round(source[0] / 2 / hx), round(source[1] / 2 / hy)
    heat = numpy.zeros(index.shape)
    heat[:a, :b, 0] = 0.25 / (a * b)
    rise = scipy.sparse.linalg.spsolve(matrix, heat.ravel()).reshape(index.shape)
    # From the centre of the first volumes to the face.
    face = rise[:a, :b, 0] + 0.25 / (a * b) / (hx * hy) * dz[0] / 2 / kz[0]
    return face.mean(), face[0, 0]


def test_plates_agree_with_finite_volumes(solve):
    random = numpy.random.default_rng(2)
    tasks, expected = [], []
    for _ in range(3):
        size = random.uniform(0.02, 0.06, 2)
        source = size * numpy.array([8, 10]) / 24
        # Layers that are not thin against the cells, so that uniform volumes resolve them.
        layers = [[random.uniform(1e-3, 3e-3), *(10 ** random.uniform(0, 2, 2)), 0.0] for _ in range(2)]
        film = 10 ** random.uniform(2, 3.5)
        middle = size / 2
        rectangle = [middle[0] - source[0] / 2, middle[0] + source[0] / 2, middle[1] - source[1] / 2, middle[1] + source[1] / 2]
        tasks.append({"plate": {"size": list(size), "layers": layers, "film": film, "rectangles": [rectangle], "terms": 400}})
        expected.append(finite_volumes(size, layers, film, source, 24))
    for answer, (mean, _) in zip(solve(tasks), expected, strict=True):
        assert answer["means"][0][0] == pytest.approx(mean, rel=0.01)


def test_held_rims_agree_with_finite_volumes(solve):
    random = numpy.random.default_rng(3)
    tasks, expected = [], []
    for _ in range(3):
        size = random.uniform(0.02, 0.04, 2)
        source = size * numpy.array([12, 16]) / 24
        layers = [[random.uniform(0.5e-3, 1e-3), *(10 ** random.uniform(0, 2, 2)), 0.0] for _ in range(2)]
        tasks.append({"held_rim": {"size": list(size), "source": list(source), "layers": layers, "point": [0.0, 0.0]}})
        expected.append(finite_volumes(size, layers, 0.0, source, 24, fixed_rim=True))
    for answer, (mean, middle) in zip(solve(tasks), expected, strict=True):
        assert answer[0] == pytest.approx(mean, rel=0.015)
        assert answer[1] == pytest.approx(middle, rel=0.02)


def test_round_fins_agree_with_scipy_bessel_functions(solve):
    random = numpy.random.default_rng(4)
    tasks = [[a := 10 ** random.uniform(-4, -2), a * random.uniform(1.5, 60), 10 ** random.uniform(-3, 0), 10 ** random.uniform(0.3, 3)] for _ in range(30)]
    for (footprint, board, conductance, films), answer in zip(tasks, solve([{"round_fin": t} for t in tasks]), strict=True):
        m = numpy.sqrt(films / conductance)
        r1, r2 = numpy.sqrt(footprint / numpy.pi), numpy.sqrt(board / numpy.pi)
        i, k = scipy.special.iv, scipy.special.kv
        flow = (k(1, m * r1) * i(1, m * r2) - i(1, m * r1) * k(1, m * r2)) / (i(0, m * r1) * k(1, m * r2) + k(0, m * r1) * i(1, m * r2))
        assert answer == pytest.approx(1 / (2 * numpy.pi * r1 * conductance * m * flow), rel=1e-9)


AIR = numpy.array(
    [
        [200, 7.59, 18.1, 10.3, 0.737],
        [250, 11.44, 22.3, 15.9, 0.720],
        [300, 15.89, 26.3, 22.5, 0.707],
        [350, 20.92, 30.0, 29.9, 0.700],
        [400, 26.41, 33.8, 38.3, 0.690],
        [450, 32.39, 37.3, 47.2, 0.686],
        [500, 38.79, 40.7, 56.7, 0.684],
        [550, 45.57, 43.9, 66.7, 0.683],
        [600, 52.69, 46.9, 76.9, 0.685],
    ]
)


def films(hot, air, length, flow, speed):
    """Textbook up and down, thin layer up and down, upright; each mixed with the flow along the face."""
    mean = (hot + air) / 2
    nu, k, alpha, pr = (numpy.interp(mean, AIR[:, 0], AIR[:, c]) for c in range(1, 5))
    nu, k, alpha = nu * 1e-6, k * 1e-3, alpha * 1e-6
    ra = 9.80665 * (hot - air) * length**3 / (mean * nu * alpha)
    c = 0.503 * 4 / 3 / (1 + (0.492 / pr) ** (9 / 16)) ** (4 / 9)
    laminar = 1.4 / numpy.log(1 + 1.4 / (0.835 * c * ra**0.25))
    turbulent = 0.14 * (1 + 0.0107 * pr) / (1 + 0.01 * pr) * ra ** (1 / 3)
    natural = [
        0.15 * ra ** (1 / 3) if ra > 1e7 else 0.54 * ra**0.25,
        0.27 * ra**0.25,
        (laminar**10 + turbulent**10) ** 0.1,
        2.5 / numpy.log(1 + 2.5 / (0.527 * ra**0.2 / (1 + (1.9 / pr) ** 0.9) ** (2 / 9))),
        (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / pr) ** (9 / 16)) ** (8 / 27)) ** 2,
    ]
    forced = 0.664 * numpy.sqrt(speed * flow / nu) * pr ** (1 / 3) * k / flow
    exponents = [3.5, 3.5, 3.5, 3.5, 3.0]
    return [((n * k / length) ** e + forced**e) ** (1 / e) for n, e in zip(natural, exponents, strict=True)]


def test_films_agree_with_numpy(solve):
    random = numpy.random.default_rng(5)
    tasks = []
    for _ in range(40):
        air = random.uniform(230, 340)
        tasks.append([air + random.uniform(1, 120), air, random.uniform(0.005, 0.05), random.uniform(0.02, 0.2), random.choice([0.0, random.uniform(0.2, 4)]), random.uniform(0, 1)])
    for task, answer in zip(tasks, solve([{"films": t} for t in tasks]), strict=True):
        hot, air, length, flow, speed, emissivity = task
        assert answer[:5] == pytest.approx(films(hot, air, length, flow, speed), rel=1e-9)
        assert answer[5] == pytest.approx(emissivity * 5.670374419e-8 * (hot**4 - air**4) / (hot - air), rel=1e-9)


def test_settled_films_carry_the_whole_power(solve):
    random = numpy.random.default_rng(6)
    problem = solve([{"specimen": "bare", "show": True}])[0]
    tasks = []
    for _ in range(6):
        changed = json.loads(json.dumps(problem))
        changed["dies"][0]["power_w"] = random.uniform(0.2, 4.0)
        changed["service"]["ambient_k"] = random.uniform(260, 340)
        tasks.append({"problem": changed})
    for task, answer in zip(tasks, solve(tasks), strict=True):
        ambient, board = task["problem"]["service"]["ambient_k"], task["problem"]["board"]
        power = task["problem"]["dies"][0]["power_w"]
        width, height = board["width_m"], board["height_m"]
        length = width * height / 2 / (width + height)
        emissivities = task["problem"]["emissivity"]
        heat = 0.0
        for face in answer["films"]:
            down = face["face"].endswith("lower face")
            convection = films(face["temperature_k"], ambient, length, max(width, height), 0.0)[3 if down else 2]
            emissivity = emissivities["board" if face["face"].startswith("board") else "substrate" if face["face"].startswith("substrate") else "top"]
            radiation = emissivity * 5.670374419e-8 * (face["temperature_k"] ** 4 - ambient**4) / (face["temperature_k"] - ambient)
            assert face["convection"] == pytest.approx(convection, rel=1e-7)
            assert face["radiation"] == pytest.approx(radiation, rel=1e-7)
            heat += (convection + radiation) * face["area_m2"] * (face["temperature_k"] - ambient)
        assert heat == pytest.approx(power, rel=1e-6)
        figures = {figure["name"]: figure["value"] for figure in answer["figures"]}
        assert figures["theta_ja"] == pytest.approx((figures["junction_max"] + 273.15 - ambient) / power, rel=1e-7)
