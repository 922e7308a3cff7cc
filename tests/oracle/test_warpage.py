"""Sections, round plates and rectangular plates of the warpage study against numpy and scipy on random inputs."""

import numpy
import pytest
import scipy.integrate
import scipy.sparse
import scipy.sparse.linalg


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-warpage", "warpage_json")


def random_plies(random, bottom=None, count=None):
    z = random.uniform(-1e-3, 0) if bottom is None else bottom
    plies = []
    for _ in range(count or random.integers(1, 7)):
        thickness = 10 ** random.uniform(-5, -3)
        plies.append([z, z + thickness, 10 ** random.uniform(8, 11.5), random.uniform(0, 0.45), random.uniform(-3e-3, 3e-3)])
        z += thickness
    return plies


def resultants(plies):
    """A, B, D and thermal resultants of a balanced load, by quadrature over the thickness."""
    nodes, weights = numpy.polynomial.legendre.leggauss(3)
    stiffness, load = numpy.zeros((6, 6)), numpy.zeros(6)
    for bottom, top, modulus, poisson, strain in plies:
        q = modulus / (1 - poisson**2) * numpy.array([[1, poisson, 0], [poisson, 1, 0], [0, 0, (1 - poisson) / 2]])
        for node, weight in zip(nodes, weights, strict=True):
            z = (bottom + top) / 2 + (top - bottom) / 2 * node
            through = numpy.hstack([numpy.eye(3), z * numpy.eye(3)])
            stiffness += through.T @ q @ through * weight * (top - bottom) / 2
            load += through.T @ q @ [strain, strain, 0] * weight * (top - bottom) / 2
    return stiffness, load


def test_sections_agree_with_numpy(solve):
    random = numpy.random.default_rng(1)
    tasks = [random_plies(random) for _ in range(60)]
    for plies, answer in zip(tasks, solve([{"section": t} for t in tasks]), strict=True):
        stiffness, load = resultants(plies)
        scale = numpy.diag([1, 1, 1, 1e3, 1e3, 1e3])
        state = scale @ numpy.linalg.solve(scale @ stiffness @ scale, scale @ load)
        size = max(abs(ply[4]) for ply in plies)
        assert answer["strain"] == pytest.approx(state[:2], rel=1e-7, abs=1e-9 * size)
        height = plies[-1][1] - plies[0][0]
        assert answer["curvature"] == pytest.approx(state[3:5], rel=1e-7, abs=1e-9 * size / height)
        for (_, top, modulus, poisson, strain), stress in zip(plies, answer["stress"], strict=True):
            expected = modulus / (1 - poisson) * (state[0] + top * state[3] - strain)
            assert stress == pytest.approx([expected] * 2, rel=1e-6, abs=1e-7 * modulus * size)


def boundary_value(outer, plies, at):
    """The round plate as a boundary-value problem over all rings at once, each ring mapped to 0..1."""
    sections = [resultants(p) for p in plies]
    rings = len(outer)
    unit = outer[-1]
    radii = numpy.array([1e-3, *[r / unit for r in outer]])
    parts = []
    for stiffness, load in sections:
        a, b, d = stiffness[:2, :2], stiffness[:2, 3:5], stiffness[3:5, 3:5]
        parts.append((a, b / unit, d / unit**2, load[:2], load[3:5] / unit))
    force_scale = max(p[0][0, 0] for p in parts)

    # Unknowns of a ring: displacement, slope, radial force and radial moment, over the radius in units of the rim.
    def of_ring(k, r, y):
        a, b, d, force, moment = parts[k]
        u, f, n, m = y
        n, m = n * force_scale, m * force_scale
        # Radial strain and curvature from force and moment.
        left = numpy.array([[a[0, 0], b[0, 0]], [b[0, 0], d[0, 0]]])
        right = numpy.array([n + force[0] - a[0, 1] * u / r - b[0, 1] * f / r, m + moment[0] - b[0, 1] * u / r - d[0, 1] * f / r])
        strain, curvature = numpy.linalg.solve(left, right)
        around_n = a[0, 1] * strain + a[1, 1] * u / r + b[0, 1] * curvature + b[1, 1] * f / r - force[1]
        around_m = b[0, 1] * strain + b[1, 1] * u / r + d[0, 1] * curvature + d[1, 1] * f / r - moment[1]
        return numpy.array([strain, curvature, (around_n - n) / r / force_scale, (around_m - m) / r / force_scale])

    def rates(t, y):
        out = []
        for k in range(rings):
            low, high = radii[k], radii[k + 1]
            out.append(of_ring(k, low + t * (high - low), y[4 * k : 4 * k + 4]) * (high - low))
        return numpy.vstack(out)

    def ends(start, end):
        # In the middle displacement and slope are proportional to the radius.
        stiffness = of_ring(0, numpy.array([radii[0]]), start[:4, None])[:2, 0]
        conditions = [start[0] - stiffness[0] * radii[0], start[1] - stiffness[1] * radii[0]]
        for k in range(rings - 1):
            conditions += list(end[4 * k : 4 * k + 4] - start[4 * k + 4 : 4 * k + 8])
        return numpy.array(conditions + list(end[-2:]))

    grid = numpy.linspace(0, 1, 60) ** 2
    solution = scipy.integrate.solve_bvp(rates, ends, grid, numpy.zeros((4 * rings, grid.size)), tol=1e-8, max_nodes=200000)
    assert solution.success, solution.message
    # Height: the slope integrated from the middle outward.
    heights, places = [0.0], [0.0]
    for k in range(rings):
        t = numpy.linspace(0, 1, 4001)
        r = radii[k] + t * (radii[k + 1] - radii[k])
        slope = solution.sol(t)[4 * k + 1]
        if k == 0:
            heights.append(-slope[0] * r[0] / 2 * unit)
            places.append(r[0] * unit)
        more = -scipy.integrate.cumulative_simpson(slope, x=r * unit, initial=0) + heights[-1]
        heights.extend(more[1:])
        places.extend(r[1:] * unit)
    return numpy.interp(at, places, heights)


def test_round_plates_agree_with_a_boundary_value_solver(solve):
    random = numpy.random.default_rng(2)
    tasks = []
    for _ in range(12):
        rings = random.integers(1, 4)
        outer = numpy.cumsum(random.uniform(2e-3, 10e-3, rings))
        # A base runs through all rings, as a substrate does; what stands on it differs.
        base = random_plies(random, -1e-3, 2)
        plies = [base + random_plies(random, base[-1][1], random.integers(1, 3)) for _ in range(rings)]
        tasks.append({"outer": list(outer), "plies": plies, "at": list(numpy.linspace(0, outer[-1], 9))})
    for task, answer in zip(tasks, solve([{"annular": t} for t in tasks]), strict=True):
        expected = boundary_value(task["outer"], task["plies"], task["at"])
        assert answer == pytest.approx(list(expected), rel=1e-4, abs=2e-5 * numpy.abs(expected).max())


def cubic(t, h, order):
    powers = numpy.polynomial.Polynomial
    shapes = [powers([1, 0, -3, 2]), h * powers([0, 1, -2, 1]), powers([0, 0, 3, -2]), h * powers([0, 0, -1, 1])]
    return numpy.array([s.deriv(order)(t) if order else s(t) for s in shapes]) / h**order


def quadratic(t, h, order):
    powers = numpy.polynomial.Polynomial
    shapes = [powers([1, -3, 2]), powers([0, 4, -4]), powers([0, -1, 2])]
    return numpy.array([s.deriv(order)(t) if order else s(t) for s in shapes]) / h**order


def rectangles(size, parts, fine):
    """Deflection of the four corners over the middle, on the whole body with a mesh of its own."""
    lines = []
    for axis in range(2):
        breaks = sorted({0.0, *[round(e, 12) for p in parts for e in p["area"][2 * axis : 2 * axis + 2]]})
        pieces = [numpy.linspace(a, b, max(1, round((b - a) / size[axis] * fine)) + 1)[1:] for a, b in zip(breaks[:-1], breaks[1:], strict=True)]
        lines.append(numpy.concatenate([[breaks[0]], *pieces]))
    xs, ys = lines
    nx, ny = len(xs) - 1, len(ys) - 1
    deflections = 4 * (nx + 1) * (ny + 1)
    plane = (2 * nx + 1) * (2 * ny + 1)
    nodes, weights = numpy.polynomial.legendre.leggauss(4)
    nodes, weights = (nodes + 1) / 2, weights / 2
    rows, columns, entries, load = [], [], [], numpy.zeros(deflections + 2 * plane)
    for i in range(nx):
        for j in range(ny):
            hx, hy = xs[i + 1] - xs[i], ys[j + 1] - ys[j]
            cx, cy = xs[i] + hx / 2, ys[j] + hy / 2
            plies = [ply for p in parts if p["area"][0] < cx < p["area"][1] and p["area"][2] < cy < p["area"][3] for ply in p["plies"]]
            stiffness, pull = resultants(plies)
            w = [4 * ((i + a // 2) * (ny + 1) + j + b // 2) + 2 * (a % 2) + b % 2 for a in range(4) for b in range(4)]
            u = [deflections + (2 * i + a) * (2 * ny + 1) + 2 * j + b for a in range(3) for b in range(3)]
            unknowns = numpy.array(u + [k + plane for k in u] + w)
            matrix, right = numpy.zeros((34, 34)), numpy.zeros(34)
            for s, ws in zip(nodes, weights, strict=True):
                for t, wt in zip(nodes, weights, strict=True):
                    strains = numpy.zeros((6, 34))
                    dx = numpy.outer(quadratic(s, hx, 1), quadratic(t, hy, 0)).ravel()
                    dy = numpy.outer(quadratic(s, hx, 0), quadratic(t, hy, 1)).ravel()
                    strains[0, :9] = strains[2, 9:18] = dx
                    strains[2, :9] = strains[1, 9:18] = dy
                    for row, (a, b, factor) in enumerate([(2, 0, -1), (0, 2, -1), (1, 1, -2)]):
                        strains[3 + row, 18:] = factor * numpy.outer(cubic(s, hx, a), cubic(t, hy, b)).ravel()
                    area = ws * wt * hx * hy
                    matrix += strains.T @ stiffness @ strains * area
                    right += strains.T @ pull * area
            load[unknowns] += right
            rows.append(numpy.repeat(unknowns, 34))
            columns.append(numpy.tile(unknowns, 34))
            entries.append(matrix.ravel())
    total = deflections + 2 * plane
    matrix = scipy.sparse.csc_matrix((numpy.concatenate(entries), (numpy.concatenate(rows), numpy.concatenate(columns))), (total, total))
    # Held at one corner of the mesh: three of the deflection, three in the plane.
    held = {0, 1, 2, deflections, deflections + plane, deflections + plane + (2 * nx) * (2 * ny + 1)}
    free = numpy.array([k for k in range(total) if k not in held])
    x = numpy.zeros(total)
    x[free] = scipy.sparse.linalg.spsolve(matrix[free][:, free], load[free])
    w = x[:deflections:4].reshape(nx + 1, ny + 1)
    tilt = w - w[int(numpy.argmin(abs(xs))), int(numpy.argmin(abs(ys)))]
    corners = numpy.array([tilt[0, 0], tilt[-1, 0], tilt[0, -1], tilt[-1, -1]])
    # Rigid tilt apart.
    lean = numpy.array([[-1, -1], [1, -1], [-1, 1], [1, 1]])
    middle = corners.mean()
    return corners - middle - lean @ (lean.T @ (corners - middle)) / 4, middle


def test_rectangular_plates_agree_with_scipy(solve):
    random = numpy.random.default_rng(3)
    tasks = []
    for k in range(4):
        size = random.uniform(15e-3, 40e-3, 2)
        base = [[-0.5e-3, 0.5e-3, random.uniform(10e9, 30e9), 0.2, random.uniform(-3e-3, -1e-3)]]
        parts = [{"area": [-size[0] / 2, size[0] / 2, -size[1] / 2, size[1] / 2], "plies": base}]
        width = random.uniform(0.2, 0.4, 2) * size
        at = random.uniform(-0.2, 0.2, 2) * size if k % 2 else numpy.zeros(2)
        area = [at[0] - width[0] / 2, at[0] + width[0] / 2, at[1] - width[1] / 2, at[1] + width[1] / 2]
        parts.append({"area": list(area), "plies": [[0.5e-3, 0.5e-3 + random.uniform(0.1e-3, 0.8e-3), 131e9, 0.28, -4e-4]]})
        corners = [[x * size[0] / 2, y * size[1] / 2] for y in (-1, 1) for x in (-1, 1)]
        tasks.append({"size": list(size), "parts": parts, "at": corners})
    for task, answer in zip(tasks, solve([{"plates": t} for t in tasks]), strict=True):
        corners = numpy.array([-1, -1, 1, -1, -1, 1, 1, 1]).reshape(4, 2)
        own = numpy.array(answer["heights"])
        middle = own.mean()
        own = own - middle - corners @ (corners.T @ (own - middle)) / 4
        twist, expected = rectangles(task["size"], task["parts"], 12)
        assert middle == pytest.approx(expected, rel=0.01)
        assert own == pytest.approx(twist, abs=0.01 * abs(expected))


def test_whole_packages_are_linear_in_their_expansions(solve):
    problem = solve([{"specimen": "ringed", "show": True}])[0]

    def doubled(item):
        if isinstance(item, dict):
            return {k: [[t, 2 * v] for t, v in i] if k == "expansion" else 2 * i if k == "shrinkage_after_gel" else doubled(i) for k, i in item.items()}
        return [doubled(i) for i in item] if isinstance(item, list) else item

    one, two = solve([{"problem": problem}, {"problem": doubled(problem)}])
    for a, b in zip(one["curve"], two["curve"], strict=True):
        assert b["warpage_m"] == pytest.approx(2 * a["warpage_m"], rel=1e-9)
    assert two["dies"][0]["tension_max_pa"] == pytest.approx(2 * one["dies"][0]["tension_max_pa"], rel=1e-9)
