"""The table of published checks: every row that names a reference library is computed here again, by that library.

A row with that basis and without its number here fails the test, so that the word stays true.
"""

import json
import math
import re
import subprocess

import numpy
import pytest
import rainflow
import scipy.constants
import scipy.special
import scipy.stats
import skrf
from conftest import build
from scipy.integrate import dblquad, quad, solve_bvp, solve_ivp
from scipy.optimize import brentq, minimize_scalar
from scipy.special import iv, kv
from test_electrical import neumann
from test_fillet import rows as fillet_rows
from test_heat_solid import plain_package
from test_joints import Surface, free_height
from test_life import anand_rates
from test_readings import profile as drop_profile
from test_stokes import share_between_plates
from test_transient import published_rows
from test_underfill import drag

STUDIES = {"joints", "electrical", "heat", "underfill", "life"}


@pytest.fixture(scope="session")
def rows():
    done = subprocess.run([build("-p", "facedown"), "verify", "--json"], stdout=subprocess.PIPE, text=True, check=True)
    return {row["id"]: row for row in json.loads(done.stdout)}


def check(rows, numbers, prefix, allowed={}):
    """Compares numbers with the rows, to the last digit that a row prints; no row of the prefix may be left over."""
    named = {i for i, row in rows.items() if i.startswith(prefix) and row["basis"] == "reference library"}
    assert named == set(numbers), (named - set(numbers), set(numbers) - named)
    for name, value in numbers.items():
        expected = rows[name]["expected"]
        digits, exponent = re.fullmatch(r"-?\d+\.?(\d*)(?:e(-?\d+))?", repr(expected)).groups()
        last = 10.0 ** (int(exponent or 0) - len(digits))
        assert value == pytest.approx(expected, rel=1e-10, abs=max(0.52 * last, allowed.get(name, 0))), name


def test_every_reference_row_of_these_studies_is_recomputed_here(rows):
    of_library = {row["study"] for row in rows.values() if row["basis"] == "reference library"}
    assert STUDIES <= of_library
    for row in rows.values():
        # Nothing else may claim a library in its words.
        if row["study"] in STUDIES and row["basis"] != "reference library":
            assert "reference library" not in row["source"], row["id"]


# Joints: lengths over a pad's radius of 40 um, forces over tension and that radius.
PAD, TENSION, BUMP = 40e-6, 0.55, 469_144.503e-18


def bump(share=1.0, upper=1.0, **how):
    volume = share * BUMP / PAD**3
    return Surface(upper, volume, **(how or {"force": 0.0}), start=Surface(upper, volume, height=free_height(upper, volume)).start)


def gap_of(parts, load):
    """Height at which joints of several volumes (over that of a bump, and their numbers) carry a load, N."""
    starts = [bump(share).start for share, _ in parts]

    def forces(height):
        return [Surface(1.0, share * BUMP / PAD**3, height=height, start=start).force * TENSION * PAD for (share, _), start in zip(parts, starts)]

    height = brentq(lambda h: sum(n * f for (_, n), f in zip(parts, forces(h))) - load, 1.5, 1.75, xtol=1e-12)
    return height, forces(height)


def test_rows_of_the_joints(rows):
    um, un = PAD * 1e6, TENSION * PAD * 1e6
    number = {}
    number["joints-cylinder-force"] = Surface(1.0, math.pi, height=1.0).force
    catenoid = Surface(1.0, 2.541_534_346, height=1.0)
    number["joints-catenoid-force"], number["joints-catenoid-neck"], number["joints-catenoid-area"] = catenoid.force, catenoid.narrowest, catenoid.area
    ball = Surface(1.0, 10 * math.pi / 3, height=2.0)
    number["joints-sphere-force"], number["joints-sphere-area"] = round(ball.force, 8), ball.area
    for name, upper, load in [("a", 1, 0), ("b", 1, 1.77), ("c", 1, 10), ("d", 1, 20), ("e", 1, 50), ("wide-a", 1.25, 0), ("wide-b", 1.25, 20)]:
        s = bump(upper=upper, force=load / un)
        number[f"joints-bump-{name}-height"] = s.height * um
        number[f"joints-bump-{name}-radius"] = s.widest * um
        number[f"joints-bump-{name}-angle"] = math.degrees(s.last)
    volume = math.pi / 6 * 0.6**3 / 0.25**3
    s = Surface(1.0, volume, force=400e-6 / TENSION / 250e-6, start=Surface(1.0, volume, height=free_height(1, volume)).start)
    number["joints-ball-height"], number["joints-ball-pressure"] = s.height * 250, s.pressure * TENSION / 250e-6
    chain = bump(height=free_height(1, BUMP / PAD**3))
    stretched = []
    for height in numpy.arange(68, 131, 2):
        chain = Surface(1.0, BUMP / PAD**3, height=height / um, start=chain.start)
        stretched.append(chain)
        if height in (80, 110, 130):
            number[f"joints-stretched-{height}-force"], number[f"joints-stretched-{height}-neck"] = chain.force * un, chain.narrowest * um
    near = stretched[16]
    s = Surface(1.0, BUMP / PAD**3, height=95 / um, start=stretched[14].start)
    number["joints-stretched-95-force"], number["joints-stretched-95-neck"] = s.force * un, s.narrowest * um
    pull = minimize_scalar(lambda h: Surface(1.0, BUMP / PAD**3, height=h, start=near.start).force, bounds=(96 / um, 106 / um), method="bounded", options={"xatol": 1e-6})
    number["joints-hardest-pull"], number["joints-hardest-pull-height"] = -pull.fun * un, pull.x * um
    free = free_height(1, BUMP / PAD**3)
    f = [bump(height=free + k * 5e-3).force for k in (-2, -1, 1, 2)]
    number["joints-vertical-stiffness"] = number["joints-vertical-stiffness-sphere"] = -(f[0] - 8 * f[1] + 8 * f[2] - f[3]) / 0.06 * TENSION
    unit = 10 * math.pi / 3
    number["joints-lateral-free"] = ball.lateral()
    number["joints-lateral-pressed"] = Surface(1.0, unit, height=1.8, start=ball.start).lateral()
    number["joints-lateral-stretched"] = Surface(1.0, unit, height=2.4, start=ball.start).lateral()
    height = free_height(0.8, unit)
    number["joints-lateral-unequal"] = Surface(0.8, unit, height=0.93 * height, start=Surface(0.8, unit, height=height).start).lateral()
    for name, parts in [("large", [(1.0, 90), (1.2, 10)]), ("small", [(1.0, 90), (0.8, 10)]), ("both", [(1.0, 80), (1.1, 10), (0.9, 10)]), ("few", [(1.0, 98), (0.8, 2)])]:
        number[f"joints-array-{name}-free"] = gap_of(parts, 0.0)[0] * um
        height, forces = gap_of(parts, 177e-6)
        number[f"joints-array-{name}-loaded"] = height * um
        if name == "large":
            number["joints-array-normal-pulls"], number["joints-array-large-pushes"] = (x * 1e6 for x in forces)
    for pitch, pad in [(150, 80), (130, 70), (100, 50), (50, 25)]:
        half = math.sqrt(pitch**2 - pad**2) / 2
        number[f"joints-bridging-{pitch}-{pad}"] = quad(lambda z: math.pi * (pitch**2 / 4 - z * z), -half, half)[0]
    touch = bump(height=57.987 / um)
    number["joints-touch-width"] = 2 * touch.widest * um
    # The height is printed to 1 nm, which leaves 7 nN of force.
    number["joints-touch-force"] = touch.force * un
    for pad in (80, 70, 100):
        a = pad / 2
        radius = (a * a + pad * pad) / (2 * pad)
        volume = quad(lambda z: math.pi * (radius**2 - (z - radius) ** 2), 0, pad)[0]
        number[f"joints-cap-volume-{pad}"], number[f"joints-cap-joined-{pad}"] = volume, free_height(1, volume / a**3) * a
    number["joints-growth-ratio"] = numpy.exp(171_800 / scipy.constants.R * (1 / 398.15 - 1 / 423.15))
    # The height is printed to 1 nm: 0.5 nm of it are 0.5 nm of width and 7 nN of force.
    check(rows, number, "joints-", {"joints-touch-width": 1e-3, "joints-touch-force": 8e-3})


MU, EPS = 2e-7, 8.854_187_8128e-12


def corner(s):
    """Squares of an L of arms with the widths 1 and s beyond the arms, by the half plane; ends at 0 and infinity, rim corners at -1 and s^2."""
    far = quad(lambda x: 2 * x * (math.sqrt((1 + x * x + s * s) / (x * x)) - 1) / (1 + x * x), 0, numpy.inf, epsabs=1e-13, epsrel=1e-12, limit=500)[0]
    near = quad(lambda x: 2 * x * (math.sqrt(1 - x * x + s * s) / (s * x) - 1) / (1 - x * x), 0, 1, epsabs=1e-13, epsrel=1e-12, limit=500)[0]
    return s + 1 / s - (far + near) / math.pi


def step(g):
    """Excess squares of a one-sided step in width from g to 1, by the half plane."""
    far = quad(lambda x: 2 * x * (math.sqrt(1 + x * x - g * g) / x - 1) / (1 + x * x), 0, numpy.inf, epsabs=1e-13, epsrel=1e-12, limit=500)[0]
    near = quad(lambda t: (math.sqrt((g * g - t) / (1 - t)) / g - 1) / t, 0, g * g, epsabs=1e-13, epsrel=1e-12, limit=500)[0]
    return -(far + near + math.log(g * g)) / math.pi


def drop(ratio, terms=24, points=400):
    """Corner and mean of -laplace u = 1 around a round contact in a square cell with mirror edges, by least squares."""
    y = (numpy.arange(points) + 0.5) / points / 2
    r, phi = numpy.hypot(0.5, y), numpy.arctan2(y, 0.5)
    rows = []
    for n in range(4, 4 * terms, 4):
        grow, fall = (r / 0.7) ** n, (ratio / 0.7) ** n * (ratio / r) ** n
        # Change with x of (r^n - a^2n r^-n) cos n phi, scaled.
        rows.append(n / r * (grow * numpy.cos((n - 1) * phi) + fall * numpy.cos((n + 1) * phi)))
    flow = (1 - math.pi * ratio**2) / (2 * math.pi)
    # u = -(r^2 - a^2)/4 + A ln(r/a) + sum; what flows out is the heat of the whole cell.
    inner = flow + ratio**2 / 2
    right = 0.5 / 2 - inner * numpy.cos(phi) / r
    b = numpy.linalg.lstsq(numpy.array(rows).T, right, rcond=None)[0]

    def u(r, phi):
        total = -(r * r - ratio**2) / 4 + inner * numpy.log(r / ratio)
        for k, n in zip(b, range(4, 4 * terms, 4)):
            total += k * ((r / 0.7) ** n - (ratio / 0.7) ** n * (ratio / r) ** n) * numpy.cos(n * phi)
        return total

    def ray(phi):
        x, w = numpy.polynomial.legendre.leggauss(40)
        rim = 0.5 / math.cos(phi)
        r = ratio + (rim - ratio) * (x + 1) / 2
        return ((rim - ratio) / 2 * w * u(r, phi) * r).sum()

    return u(math.sqrt(0.5), math.pi / 4), 8 * quad(ray, 0, math.pi / 4, epsrel=1e-10)[0]


def edge_fed(aspect):
    n = numpy.arange(1, 60, 2)
    return (1 / 8 - (4 / math.pi**3 * (-1.0) ** ((n - 1) // 2) / (n**3 * numpy.cosh(n * math.pi * aspect / 2))).sum()) / aspect


def bar(length, radius):
    def weighed(s):
        return neumann(length / radius, s) * 4 * s / math.pi * (math.acos(s / 2) - s / 2 * math.sqrt(1 - s * s / 4))

    return MU * radius * quad(weighed, 0, 2, epsabs=0, epsrel=1e-11, limit=400)[0]


def bars(length, radius, distance):
    x, w = numpy.polynomial.legendre.leggauss(24)
    angle = (numpy.arange(48) + 0.25) * 2 * math.pi / 48
    ring = numpy.sqrt((x + 1) / 2)
    px, py = (ring[:, None] * numpy.cos(angle)).ravel(), (ring[:, None] * numpy.sin(angle)).ravel()
    weight = numpy.repeat(w / 2 / 48, 48)
    s = numpy.hypot(distance / radius + px[:, None] - px, py[:, None] - py)
    return MU * radius * (weight @ neumann(length / radius, s) @ weight)


def rosa(l, r):
    return MU * (l * math.asinh(l / r) - math.hypot(l, r) + r + l / 4)


def flat_strip(width, er, terms=24, points=96, images=4000):
    """Capacitance, F/m, of a flat strip at height 1 over a grounded slab: image charges, Chebyshev charges, Galerkin's method."""
    half = width / 2
    t = (numpy.arange(points) + 0.5) * math.pi / points
    square = (half * numpy.cos(t[:, None]) - half * numpy.cos(t)) ** 2
    k = (er - 1) / (er + 1)
    smooth = numpy.zeros_like(square)
    for i in range(1, images if er > 1 else 2):
        weight = (1 + k) * (-k) ** (i - 1)
        if abs(weight) < 1e-16:
            break
        smooth += weight * 0.5 * numpy.log(square + (2 * i) ** 2)
    scale = 1 / (math.pi * EPS * (1 + er))
    # -ln|x - y| in Chebyshev polynomials: ln 2 - ln(half) + sum 2/m T_m T_m.
    m = 2 * numpy.arange(terms)
    shapes = numpy.cos(m[:, None] * t)
    own = numpy.diag(numpy.where(m == 0, math.pi**2 * (math.log(2) - math.log(half)), math.pi**2 / 2 / numpy.maximum(m, 1)))
    matrix = scale * (own + shapes @ smooth @ shapes.T * (math.pi / points) ** 2)
    right = numpy.where(m == 0, math.pi, 0.0)
    return right @ numpy.linalg.solve(matrix, right)


def thick_strip(width, thickness, height, count):
    """Capacitance, F/m, of a rectangular bar over a plane in vacuum: constant charges on graded panels."""
    grade = (1 - numpy.cos(numpy.linspace(0, math.pi, count + 1))) / 2
    corners = [(-width / 2, height), (width / 2, height), (width / 2, height + thickness), (-width / 2, height + thickness)]
    starts, ends = [], []
    for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1]):
        nodes = numpy.stack([x0 + (x1 - x0) * grade, y0 + (y1 - y0) * grade], 1)
        starts.append(nodes[:-1]), ends.append(nodes[1:])
    starts, ends = numpy.concatenate(starts), numpy.concatenate(ends)
    middle, along = (starts + ends) / 2, ends - starts
    size = numpy.hypot(*along.T)
    along = along / size[:, None]

    def potential(a, b, size, direction):
        """Integral of -ln(distance) over each panel, at every middle."""
        rel = middle[:, None] - a
        u = (rel * direction).sum(2)
        v = rel[..., 0] * direction[:, 1] - rel[..., 1] * direction[:, 0]
        w = u - size

        def part(x):
            r2 = x * x + v * v
            return x * numpy.log(numpy.maximum(r2, 1e-300)) / 2 - x + numpy.abs(v) * numpy.arctan2(x, numpy.abs(v))

        return -(part(u) - part(w))

    mirror = numpy.array([1.0, -1.0])
    matrix = potential(starts, ends, size, along) - potential(starts * mirror, ends * mirror, size, along * mirror)
    return 2 * math.pi * EPS * size @ numpy.linalg.solve(matrix, numpy.ones(size.size))


def test_rows_of_the_electrical_study(rows):
    number = {}
    for r in (1, 2, 4, 10):
        number[f"electrical-corner-{r}"] = corner(float(r))
    number["electrical-step-2"], number["electrical-step-4"] = step(0.5), step(0.25)
    transfer = math.sqrt(1e-13 / 0.02)
    number["electrical-landing"] = 0.02 * transfer / 10e-6 / math.tanh(5e-6 / transfer)
    half = math.sqrt(120e-6**2 - 90e-6**2) / 2
    number["electrical-sphere"] = 1.3e-7 * quad(lambda z: 1 / (math.pi * (60e-6**2 - z * z)), -half, half, epsabs=0)[0]
    for name, ratio in (("200", 0.25), ("250", 0.2)):
        number[f"electrical-array-{name}-corner"], number[f"electrical-array-{name}-mean"] = drop(ratio)
    for aspect in (1, 1.5, 2, 3):
        number[f"electrical-edge-fed-{aspect}"] = edge_fed(aspect)
    ladder = numpy.eye(5) + numpy.diag([1, 2, 2, 2, 1]) - numpy.eye(5, k=1) - numpy.eye(5, k=-1)
    for k, share in enumerate(numpy.linalg.solve(ladder, numpy.eye(5)[0])):
        number[f"electrical-ladder-{k + 1}"] = share
    pico = 1e12
    number["electrical-wire-1"], number["electrical-wire-2"] = bar(1e-3, 12.7e-6) * pico, bar(2e-3, 12.7e-6) * pico
    number["electrical-bump"] = bar(80e-6, 50e-6) * pico
    number["electrical-wire-rosa"], number["electrical-bump-rosa"] = rosa(1e-3, 12.7e-6) * pico, rosa(80e-6, 50e-6) * pico
    number["electrical-filaments-long"] = MU * neumann(1e-3, 100e-6) * pico
    number["electrical-filaments-short"] = MU * neumann(80e-6, 150e-6) * pico
    mutual = bars(80e-6, 50e-6, 150e-6) * pico
    number["electrical-bump-mutual"], number["electrical-bump-pair"] = mutual, 2 * (number["electrical-bump"] - mutual)
    h, r = 100e-6, 25e-6
    number["electrical-via-inductance"] = MU * (h * math.asinh(h / r) + 1.5 * (r - math.hypot(r, h))) * pico
    number["electrical-wire-over-plane"] = MU * math.acosh(150 / 12.7)
    number["electrical-wire-capacitance"] = 2 * math.pi * EPS / math.acosh(2.0)
    frequency = skrf.Frequency(1, 1, 1, unit="MHz")
    light = scipy.constants.c
    for name, u, er in [("1-air", 1, 1), ("2-air", 2, 1), ("1-9.6", 1, 9.6), ("2-4.2", 2, 4.2), ("rdl", 4 / 3, 3.3)]:
        # Its loss divides by the permittivity less one, so that air is nearly one.
        line = skrf.media.MLine(frequency, w=u, h=1.0, t=None, ep_r=max(er, 1 + 1e-9), rho=None, tand=0, disp="none", diel="frequencyinvariant")
        number[f"electrical-line-{name}"] = float(numpy.real(numpy.ravel(line.z0_characteristic)[0]))
        air, filled = flat_strip(u, 1.0), flat_strip(u, er)
        number[f"electrical-line-{name}-exact"] = 1 / (light * math.sqrt(air * filled))
        if er > 1:
            number[f"electrical-line-{name}-effective"] = filled / air
    coarse, fine = thick_strip(20e-6, 5e-6, 15e-6, 40), thick_strip(20e-6, 5e-6, 15e-6, 80)
    air = fine + (fine - coarse) / 3
    number["electrical-line-thick"], number["electrical-line-thick-filled"] = 1 / (light * air), 3.3 * air
    # Panels leave 1e-5.
    check(rows, number, "electrical-", {"electrical-line-thick": 1e-3, "electrical-line-thick-filled": 1.2e-15})


def perrins(share, contrast, terms=16, points=300):
    """Conductivity of a square array of discs across them, by least squares over multipoles of a quarter cell."""
    a = math.sqrt(share / math.pi)
    beta = (contrast - 1) / (contrast + 1)
    y = (numpy.arange(points) + 0.5) / points / 2
    n = numpy.arange(1, 2 * terms, 2)[:, None]

    def at(x, y):
        r, phi = numpy.hypot(x, y), numpy.arctan2(y, x)
        grow, fall = (r / 0.7) ** n, beta * (a / 0.7) ** n * (a / r) ** n
        value = (grow - fall) * numpy.cos(n * phi)
        by_x = n / r * (grow * numpy.cos((n - 1) * phi) + fall * numpy.cos((n + 1) * phi))
        by_y = n / r * (-grow * numpy.sin((n - 1) * phi) + fall * numpy.sin((n + 1) * phi))
        return value, by_x, by_y

    half = numpy.full(points, 0.5)
    value, by_x, _ = at(half, y)
    _, _, by_y = at(y, half)
    rows = numpy.concatenate([value.T, by_y.T])
    right = numpy.concatenate([half, 0 * half])
    b = numpy.linalg.lstsq(rows, right, rcond=None)[0]
    return 2 * (b @ by_x).mean() / 2


def plate(size, layers, film, sources, modes, face=0.0):
    """Mean rises of sources by sources, and middles by sources, K/W: the double cosine series summed directly.

    Layers are (thickness, in plane, through) from the heated face; sources (x0, x1, y0, y1), all inside; a film may cool
    the heated face, too.
    """
    m, n = numpy.arange(modes)[:, None], numpy.arange(modes)
    beta = numpy.hypot(m * math.pi / size[0], n * math.pi / size[1])
    admittance = numpy.full_like(beta, film)
    for thickness, plane, through in reversed(layers):
        stretch = math.sqrt(plane / through)
        own = through * stretch * beta
        with numpy.errstate(invalid="ignore", divide="ignore"):
            tanh = numpy.tanh(stretch * beta * thickness)
            slab = own * (admittance + own * tanh) / (own + admittance * tanh)
        slab[0, 0] = 1 / (1 / admittance[0, 0] + thickness / through)
        admittance = slab
    weight = numpy.where(m == 0, 1, 2) * numpy.where(n == 0, 1, 2) / (admittance + face) / (size[0] * size[1])

    def mean(length, low, high):
        k = numpy.arange(1, modes) * math.pi / length
        return numpy.concatenate([[1.0], (numpy.sin(k * high) - numpy.sin(k * low)) / (k * (high - low))])

    def middle(length, low, high):
        return numpy.cos(numpy.arange(modes) * math.pi / length * (low + high) / 2)

    means = [(mean(size[0], a, b), mean(size[1], c, d)) for a, b, c, d in sources]
    middles = [(middle(size[0], a, b), middle(size[1], c, d)) for a, b, c, d in sources]
    return [[[(x * u) @ weight @ (y * v) for u, v in means] for x, y in kind] for kind in (means, middles)]


# Air at 1 atm, F. P. Incropera and D. P. DeWitt 2007, table A.4, as the crate recalls it: viscosity and diffusivity in
# 1e-6 m2/s, conductivity in 1e-3 W/(m K), Prandtl number.
AIR = {300: (15.89, 22.5, 26.3, 0.707), 350: (20.92, 29.9, 30.0, 0.700)}


def air(kelvin):
    return [numpy.interp(kelvin, list(AIR), [row[i] for row in AIR.values()]) for i in range(4)]


def rayleigh(kelvin, rise, length):
    viscosity, diffusivity, _, _ = air(kelvin)
    return 9.80665 * rise * length**3 / kelvin / (viscosity * diffusivity * 1e-12)


def held_rim(half, source, layers, modes):
    """Mean rise of a square source for 1 W on a square plate whose rim is held, insulated above and below, K/W."""
    k = (numpy.arange(modes) + 0.5) * math.pi / half
    beta = numpy.hypot(k[:, None], k)
    admittance = numpy.zeros_like(beta)
    for thickness, plane, through in reversed(layers):
        stretch = math.sqrt(plane / through)
        own, tanh = through * stretch * beta, numpy.tanh(stretch * beta * thickness)
        admittance = own * (admittance + own * tanh) / (own + admittance * tanh)
    mean = numpy.sin(k * source) / (k * source)
    # A quarter of the plate takes a quarter of the watt.
    return (mean**2 @ (1 / admittance) @ mean**2) / half**2


# Conductivity of the air in a void, as the crate takes it, W/(m K).
AIR_IN_VOID = 0.0263


def voided_fin(flux, sheet, conductances, radius):
    """Middle of a wide sheet that is heated evenly and loses heat to one conductance within a radius, to another beyond."""
    inner, outer = (math.sqrt(c / sheet) for c in conductances)
    far = [flux / c for c in conductances]
    matrix = [[iv(0, inner * radius), -kv(0, outer * radius)], [inner * iv(1, inner * radius), outer * kv(1, outer * radius)]]
    share, _ = numpy.linalg.solve(matrix, [far[1] - far[0], 0.0])
    return far[0] + share


def nafems_t4():
    """The plate of test T4, 0.6 x 1 m: low and middle of the insulated side and the middle of the cooled one."""
    ratio = 750.0 / 52.0
    series = numpy.array([brentq(lambda v: v * math.sin(0.6 * v) - ratio * math.cos(0.6 * v), n * math.pi / 0.6, (n + 0.5) * math.pi / 0.6) for n in range(200)])
    share = 100 * numpy.sin(0.6 * series) / series / (0.3 + numpy.sin(1.2 * series) / 4 / series)

    def at(x, y):
        # Hyperbolic functions over e^v, so that none grows without bound.
        part = lambda rest, back: 0.5 * (series * (1 + back) + ratio * (1 - back)) * numpy.exp(series * (rest - 1.0))
        up, whole = part(1.0 - y, numpy.exp(-2 * series * (1.0 - y))), part(1.0, numpy.exp(-2 * series))
        return float((share * numpy.cos(series * x) * up / whole).sum())

    return at(0.0, 0.2), at(0.0, 0.5), at(0.6, 0.5)


def solid_rows(number):
    """Rows of the solver in space, some by the numbers of plates that are known already, and what is left open in them."""
    out, allowed = {}, {}
    for name in ("lid", "three-layers", "oblong", "board", "small-source"):
        for reading in ("mean", "centre"):
            out[f"heat-solid-plate-{name}-{reading}"] = number[f"heat-plate-{name}-{reading}"]
            allowed[f"heat-solid-plate-{name}-{reading}"] = 4e-5 * number[f"heat-plate-{name}-{reading}"]
    own, other, mutual = (number[f"heat-two-dies-{name}"] for name in ("own-mean", "other-mean", "mutual"))
    out["heat-solid-two-dies-mean-a"], out["heat-solid-two-dies-mean-b"] = 20 * own + 10 * mutual, 10 * other + 20 * mutual
    for name in "ab":
        out[f"heat-solid-two-dies-centre-{name}"] = number[f"heat-two-dies-centre-{name}"]
        allowed[f"heat-solid-two-dies-centre-{name}"] = 1e-5 * number[f"heat-two-dies-centre-{name}"]
        # Made of three numbers that the row prints to six digits.
        allowed[f"heat-solid-two-dies-mean-{name}"] = 3e-5
    for name, value in zip(("low", "middle", "right"), nafems_t4(), strict=True):
        out[f"heat-solid-nafems-t4-{name}"] = value
    odd = numpy.arange(1, 4001, 2)
    sign = numpy.where(odd % 4 == 1, 1.0, -1.0)
    flat = sign[:, None] * sign * 16 / math.pi**4 / (odd[:, None] * odd)
    beta = math.pi * numpy.hypot(odd[:, None], odd)
    square = float((flat * math.pi**2 / beta**2).sum())
    # The cold lids of the cube by the closed form across it; hyperbolic cosines as decaying exponentials.
    lids = numpy.exp(-beta / 2) * 2 / (1 + numpy.exp(-beta))
    cube = float((flat * math.pi**2 / beta**2 * (1 - lids)).sum())
    for name, value in (("square", square), ("cube", cube)):
        out[f"heat-solid-poisson-{name}"] = out[f"heat-solid-poisson-{name}-limit"] = value
    for name, k in (("copper", 398.0), ("aluminium", 180.0), ("steel", 14.0)):
        out[f"heat-solid-fin-{name}-theory"] = 75 * math.sqrt(100 * math.pi * 5e-3 * k * math.pi / 4 * 5e-3**2)
    metal = (70e-6, *[0.2 * 390 + 0.8 * 0.35] * 2)
    resin = lambda height: (height, 0.35, 0.35)
    inner = (35e-6, 390.0, 390.0)
    planes = [metal, resin(0.4e-3), inner, resin(0.59e-3), inner, resin(0.4e-3), metal]
    middle = [0.1015 / 2 - 0.0175, 0.1015 / 2 + 0.0175, 0.1145 / 2 - 0.0175, 0.1145 / 2 + 0.0175]
    for name, layers in (("no-planes", [metal, resin(1.46e-3), metal]), ("two-planes", planes)):
        mean, _ = plate((0.1015, 0.1145), layers, 9.0, [middle], 800, 12.0)
        out[f"heat-solid-board-{name}"] = mean[0][0]
        # The row takes the first 160 modes of its own series.
        allowed[f"heat-solid-board-{name}"] = 2e-4 * mean[0][0]
    out["heat-solid-board-ring"] = held_rim(0.0225, 0.0175, planes, 800)
    allowed["heat-solid-board-ring"] = 2e-4 * out["heat-solid-board-ring"]
    for name, lid in (("bare", False), ("lidded", True)):
        coarse, fine = (numpy.array(plain_package(lid, fineness)) for fineness in (0.5, 0.75))
        # The error falls a little faster than the spacing, by what is singular at the rims of the die.
        limit = fine + (fine - coarse) / (1.5**1.3 - 1)
        for reading, value in zip(("mean", "largest"), limit, strict=True):
            out[f"heat-solid-package-{name}-{reading}"] = value
            # What the row gives for its own error.
            allowed[f"heat-solid-package-{name}-{reading}"] = 0.03
    return out, allowed


def test_rows_of_the_heat_study(rows):
    number, allowed = {}, {}
    a, b = 0.035 / math.sqrt(math.pi), 0.1015 / math.sqrt(math.pi)
    m = math.sqrt(20.0 / (24 * 1.6e-3))
    top = kv(0, m * a) * iv(1, m * b) + iv(0, m * a) * kv(1, m * b)
    number["heat-board-fin"] = top / (kv(1, m * a) * iv(1, m * b) - iv(1, m * a) * kv(1, m * b)) / (2 * math.pi * a * 24 * 1.6e-3 * m)
    for r in (1, 2, 4):
        x, y = math.sqrt(r), 1 / math.sqrt(r)

        def polar(f, x, y):
            """Integral of f over r within a rectangle, in polar coordinates from its corner."""
            inner = lambda p, end: quad(lambda q: f(q * math.cos(p), q * math.sin(p)), 0, end, epsrel=1e-12)[0]
            turn = math.atan2(y, x)
            return quad(lambda p: inner(p, x / math.cos(p)), 0, turn, epsrel=1e-11)[0] + quad(lambda p: inner(p, y / math.sin(p)), turn, math.pi / 2, epsrel=1e-11)[0]

        number[f"heat-half-space-centre-{r}"] = 4 * polar(lambda u, v: 1.0, x / 2, y / 2) / (2 * math.pi)
        number[f"heat-half-space-mean-{r}"] = 4 * polar(lambda u, v: (x - u) * (y - v), x, y) / (2 * math.pi)
    r1, r2 = 15e-3 / math.sqrt(math.pi), 40e-3 / math.sqrt(math.pi)
    e, t, biot = r1 / r2, 2e-3 / r2, 2000 * r2 / 390
    l = math.pi + 1 / (math.sqrt(math.pi) * e)
    phi = (math.tanh(l * t) + l / biot) / (1 + l / biot * math.tanh(l * t))
    number["heat-quick-mean"] = (1 - e) ** 1.5 * phi / 2 / (math.sqrt(math.pi) * 390 * r1)
    number["heat-quick-largest"] = (1 - e) * phi / math.sqrt(math.pi) / (math.sqrt(math.pi) * 390 * r1)
    for name, flux in (("1", 1e6), ("5", 5e6)):
        number[f"heat-silicon-{name}"] = brentq(lambda hot: quad(lambda t: 148 * (t / 300) ** -1.3, 350, hot)[0] - flux * 0.7e-3, 350, 450, xtol=1e-10)
    for name, size, source, layers, film in [
        ("lid", (40, 40), (15, 15), [(2, 390, 390)], 2000),
        ("three-layers", (40, 40), (15, 15), [(2, 390, 390), (0.1, 3, 3), (5, 180, 180)], 1500),
        ("oblong", (60, 40), (20, 10), [(3, 200, 200)], 500),
        ("board", (100, 100), (20, 20), [(1.6, 18, 0.35)], 20),
        ("small-source", (10, 10), (1, 1), [(0.5, 148, 148)], 1e9),
    ]:
        centred = [f * 1e-3 for s, w in zip(size, source) for f in ((s - w) / 2, (s + w) / 2)]
        mean, middle = plate([s * 1e-3 for s in size], [(z * 1e-3, p, q) for z, p, q in layers], film, [centred], 1600)
        number[f"heat-plate-{name}-mean"], number[f"heat-plate-{name}-centre"] = mean[0][0], middle[0][0]
        # What 1600 modes leave out.
        allowed[f"heat-plate-{name}-mean"] = 1e-5 * mean[0][0]
        allowed[f"heat-plate-{name}-centre"] = 1e-5 * middle[0][0] if name != "small-source" else 4e-5 * middle[0][0]
    # The same board as one isotropic layer, k = sqrt(18 x 0.35), its thickness stretched by sqrt(18 / 0.35).
    whole = [(1.6e-3 * math.sqrt(18 / 0.35), math.sqrt(18 * 0.35), math.sqrt(18 * 0.35))]
    mean, middle = plate((0.1, 0.1), whole, 20, [(0.04, 0.06, 0.04, 0.06)], 1600)
    number["heat-plate-stretched-mean"], number["heat-plate-stretched-centre"] = mean[0][0], middle[0][0]
    allowed["heat-plate-stretched-mean"] = allowed["heat-plate-stretched-centre"] = 1e-5 * middle[0][0]
    layers = [(0.7e-3, 140, 140), (0.05e-3, 4, 4), (3e-3, 390, 390)]
    mean, middle = plate((0.03, 0.03), layers, 4000, [(5e-3, 11e-3, 5e-3, 11e-3), (18e-3, 22e-3, 13e-3, 23e-3)], 1600)
    number["heat-two-dies-own-mean"], number["heat-two-dies-other-mean"], number["heat-two-dies-mutual"] = mean[0][0], mean[1][1], mean[0][1]
    for i, name in enumerate("ab"):
        number[f"heat-two-dies-centre-{name}"] = 20 * middle[i][0] + 10 * middle[i][1]
        allowed[f"heat-two-dies-centre-{name}"] = 1e-5 * number[f"heat-two-dies-centre-{name}"]
    number["heat-columns-3"], number["heat-columns-5"] = perrins(0.3, 50.0), perrins(0.5, 50.0)
    number["heat-columns-holes"] = perrins(0.3, 1e-9)
    for name, diameter, pitch, fill in (("bumps", 80, 150, 0.5), ("wide-bumps", 100, 180, 0.4)):
        share = math.pi / 4 * (diameter / pitch) ** 2
        number[f"heat-{name}-through"] = share * 57 + (1 - share) * fill
        number[f"heat-{name}-in-plane"] = perrins(share, 57 / fill) * fill
    number["heat-cut-sphere"] = quad(lambda z: 1 / (58 * math.pi * (0.25e-3**2 - z * z)), -0.175e-3, 0.175e-3)[0]
    metal = 0.2 * 390 + 0.8 * 0.35
    board = [(70, metal), (1390, 0.35), (35, 390), (35, 390), (70, metal)]
    whole = sum(t for t, _ in board)
    number["heat-board-in-plane"] = sum(t * k for t, k in board) / whole
    number["heat-board-through"] = whole / sum(t / k for t, k in board)
    number["heat-filled-dilute"] = 0.2 * (30 + 0.4 + 0.6 * (30 - 0.2)) / (30 + 0.4 - 0.3 * (30 - 0.2))
    for name, share in (("30", 0.3), ("60", 0.6)):
        number[f"heat-filled-dense-{name}"] = brentq(lambda k: (30 - k) / (30 - 0.2) * numpy.cbrt(0.2 / k) - (1 - share), 0.2, 30, xtol=1e-13)
    length = 0.1015 * 0.1145 / 2 / (0.1015 + 0.1145)
    number["heat-board-up"] = 0.54 * rayleigh(313.15, 40, length) ** 0.25 * air(313.15)[2] * 1e-3 / length
    number["heat-board-down"] = 0.27 * rayleigh(313.15, 40, length) ** 0.25 * air(313.15)[2] * 1e-3 / length
    number["heat-board-up-20"] = 0.54 * rayleigh(308.15, 20, length) ** 0.25 * air(308.15)[2] * 1e-3 / length
    viscosity, _, k, prandtl = air(313.15)
    for speed in (1, 2, 3):
        number[f"heat-board-flow-{speed}"] = 0.664 * math.sqrt(speed * 0.1145 / viscosity * 1e6) * prandtl ** (1 / 3) * k * 1e-3 / 0.1145
    number["heat-upright"] = (0.68 + 0.67 * rayleigh(313.15, 40, 0.1145) ** 0.25 / (1 + (0.492 / prandtl) ** (9 / 16)) ** (4 / 9)) * k * 1e-3 / 0.1145
    number["heat-mixed-assisting"] = numpy.cbrt(6.289**3 + 5.790**3)
    number["heat-mixed-opposing"] = numpy.cbrt(6.289**3 - 5.790**3)
    black = scipy.constants.sigma * (333.15 + 293.15) * (333.15**2 + 293.15**2)
    number["heat-radiation-black"], number["heat-radiation-mask"] = black, 0.9 * black
    number["heat-void-none"] = 1e4 * 50e-6
    number["heat-void-middle"] = voided_fin(1e4, 400.0 * 50e-6, [AIR_IN_VOID / 50e-6, 1.0 / 50e-6], 1e-3)
    solids, of_solids = solid_rows(number)
    number |= solids
    allowed |= of_solids
    transients, open_digits = published_rows()
    check(rows, number | transients, "heat-", allowed | open_digits)


def cap_angle(volume, diameter):
    a = diameter / 2
    h = brentq(lambda h: math.pi * h / 6 * (3 * a * a + h * h) - volume, 0, 10 * a, xtol=1e-15)
    return math.degrees(2 * math.atan(h / a))


def torsion(x, y):
    """Largest of -laplace u = 2 on a rectangle x by y, by its series."""
    n = numpy.arange(1, 80, 2)
    return x * x / 4 * (1 - 32 / math.pi**3 * ((-1.0) ** ((n - 1) // 2) / (n**3 * numpy.cosh(n * math.pi * y / 2 / x))).sum())


def drop_to(beta, slope):
    """Half width, height and volume of a drop at rest over its apex radius, down to a slope."""
    y = drop_profile(beta, slope).y_events[0][0]
    return y[0], y[1], y[3]


def test_rows_of_the_underfill_study(rows):
    number = {}
    number["underfill-wenzel"] = math.degrees(math.acos(1.5 * math.cos(math.radians(60))))
    for name, volume, diameter in (("2", 2e-9, 3e-3), ("1", 1e-9, 2e-3), ("5", 5e-9, 3e-3)):
        number[f"underfill-cap-{name}ul"] = cap_angle(volume, diameter)
    for seconds in (25, 150):
        number[f"underfill-dose-{seconds}s"] = 80 * math.exp(-seconds * 1e21 / 5e22)
    number["underfill-ageing-hours"] = brentq(lambda t: 60 - 45 * math.exp(-t / 30) - 30, 0, 100, xtol=1e-10)
    number["underfill-residue-mosaic"] = math.degrees(math.acos(0.7 * math.cos(math.radians(20)) + 0.3 * math.cos(math.radians(75))))
    for name, hours in (("day", 24), ("weeks", 504)):
        number[f"underfill-ageing-{name}"] = sum(share * scipy.stats.expon.sf(hours, scale=life) for share, life in ((0.16, 17), (0.81, 3140)))
    h, tension, viscosity, length = 50e-6, 0.03, 0.1, 1e-2
    cosine = math.cos(math.radians(20))
    pressure = 2 * tension * cosine / h
    speed = h * h / 12 * pressure / viscosity
    number["underfill-plates-pressure"] = pressure
    number["underfill-plates"] = quad(lambda x: x / speed, 0, length)[0]
    mixed = h * h / 12 * tension * (cosine + 0.5) / h / viscosity
    number["underfill-plates-one-60"] = quad(lambda x: x / mixed, 0, length)[0]
    for name, m, n in (("thinning", 0.2, 0.8), ("thickening", 0.08, 1.1)):
        def slit(x):
            """Mean speed between plates by integrating the profile of the shear rate."""
            return quad(lambda y: (pressure / x * y / m) ** (1 / n) * y, 0, h / 2, epsabs=0)[0] * 2 / h

        number[f"underfill-shear-{name}"] = quad(lambda x: 1 / slit(x), 0, length, epsrel=1e-10)[0]
    square = solve_ivp(lambda t, y: [2 * speed * (1 - 0.6 * math.exp(-0.1 * t))], (0, 26.875), [0.0], rtol=1e-11, atol=1e-18).y[0, -1]
    number["underfill-slow-wetting-mm"] = round(math.sqrt(square) * 1e3, 3)
    reach = quad(lambda t: 2 * speed * math.exp(-t / 120), 0, numpy.inf, epsabs=0)[0]
    number["underfill-growing-reach-mm"] = math.sqrt(reach) * 1e3
    number["underfill-growing-time"] = brentq(lambda end: quad(lambda t: 2 * speed * math.exp(-t / 120), 0, end)[0] - length**2, 1, 100)
    melt = lambda t: 0.1 * math.exp(50e3 / scipy.constants.R * (1 / min(298.15 + t, 363.15) - 1 / 363.15))
    number["underfill-cold-viscosity"] = melt(0)
    fluidity = quad(lambda x: x / (speed * viscosity), 0, length)[0]
    number["underfill-ramp"] = brentq(lambda end: quad(lambda t: 1 / melt(t), 0, end, points=[65], limit=200)[0] - fluidity, 10, 200)
    number["underfill-pattern-l"], number["underfill-pattern-u"] = torsion(2.0, 2.0) / 2, torsion(1.0, 2.0) / 2
    number["underfill-radial"] = quad(lambda r: r * math.log(r / 0.5e-3) / speed, 0.5e-3, 5e-3)[0]
    for name, ambient in (("air", 101_325.0), ("10-torr", 1333.0), ("1-torr", 133.0)):
        number[f"underfill-void-{name}"] = brentq(lambda v: ambient - (ambient + 1127.631) * v, 0, 1)
    time, resistance = 0.0, 0.0
    for name, k, free, drive, part in [("first", 9.067e-11, 0.80365, 1494.97, 2e-3), ("second", 2.5e-9 / 12, 1.0, 1127.631, 6e-3), ("third", 9.067e-11, 0.80365, 1494.97, 2e-3)]:
        time += quad(lambda x: 0.1 * free / drive * (resistance + x / k), 0, part)[0]
        resistance += part / k
        number[f"underfill-series-{name}"] = time
    for share in (0.1, 0.3, 0.5):
        number[f"underfill-drag-hexagonal-{share * 100:.0f}"] = number[f"underfill-stokes-hexagonal-{share * 100:.0f}"] = drag(share, True)
    number["underfill-stokes-cell"] = number["underfill-cells-50-033"] = share_between_plates(0.5, 1 / 3)
    post = math.pi * 75e-6 / (150e-6**2 - math.pi * 75e-6**2 / 4)
    number["underfill-cell-pressure"] = pressure + tension * cosine * post
    number["underfill-volume-pillars-mm3"] = 2000 * math.pi / 4 * 0.09**2 * 0.06
    number["underfill-volume-spheres-mm3"] = 2000 * quad(lambda z: math.pi * (0.045**2 - z * z), -0.03, 0.03)[0]
    wedge = quad(lambda z: 0.4 * (1 - z / 0.75), 0, 0.75)[0] * 40
    number["underfill-volume-fillet-mm3"] = wedge + quad(lambda z: math.pi * (0.4 * (1 - z / 0.75)) ** 2, 0, 0.75)[0]
    number["underfill-front-line"] = number["underfill-plates"]
    number["underfill-front-l"], number["underfill-front-u"] = number["underfill-pattern-l"], number["underfill-pattern-u"]
    for name, ambient in (("air", 101_325.0), ("100-torr", 13_332.0), ("10-torr", 1333.0), ("1-torr", 133.0)):
        number[f"underfill-front-void-{name}"] = brentq(lambda v: ambient - (ambient + 1127.631) * v, 0, 1)
    for beta in (0.1, 1, 5, 50):
        for degrees in (90, 135):
            for name, value in zip(("x", "z", "volume"), drop_to(beta, math.radians(degrees)), strict=True):
                number[f"underfill-profile-{beta}-{degrees}-{name}"] = value
    water = math.sqrt(0.0728 / (998.2 * 9.80665))
    number["underfill-capillary-length-water"] = water * 1e3
    for degrees in (10, 30, 60, 90, 120):
        slope = math.radians(degrees)
        apex = brentq(lambda b: drop_to((b / water) ** 2, slope)[2] * b**3 - 2e-9, 1e-4, 0.2, xtol=1e-12)
        x, z, _ = drop_to((apex / water) ** 2, slope)
        row = f"underfill-water-drop-{degrees}"
        number[f"{row}-base-mm"], number[f"{row}-height-mm"] = 2e3 * x * apex, 1e3 * z * apex
        number[f"{row}-angle"], number[f"{row}-cap"] = degrees, cap_angle(2e-9, 2 * x * apex)
    settling = 1040 * 9.80665 * 5e-6**2 / (18 * 0.1)
    number["underfill-settling-um-s"], number["underfill-settling-crowded-nm-s"] = settling * 1e6, settling * 0.55**4.65 * 1e9
    number |= fillet_rows()
    check(rows, number, "underfill-")


# Laws of solder with the constants that the crate recalls: of Anand in the order of `anand_rates`, of creep as rates of stress (Pa) and temperature.
ANAND = {
    "snpb": (12.41e6, 9400.0, 4.0e6, 1.5, 0.303, 1378.95e6, 13.79e6, 0.07, 1.3),
    "mysore": (2.15e6, 9970.0, 17.994, 0.35, 0.153, 1525.98e6, 2.536e6, 0.028, 1.69),
    "motalab": (32.2e6, 9320.0, 2800.0, 4.0, 0.29, 186_000.0e6, 44.67e6, 0.012, 1.72),
}


def schubert(stress, kelvin):
    return numpy.sign(stress) * 277_984.0 * numpy.sinh(0.024_47e-6 * abs(stress)) ** 6.41 * math.exp(-6500.0 / kelvin)


def wiese(stress, kelvin):
    mpa = abs(stress) / 1e6
    return numpy.sign(stress) * (4e-7 * mpa**3 * math.exp(-3223.0 / kelvin) + 1e-12 * mpa**12 * math.exp(-7348.0 / kelvin))


def through_cycles(rates, young, low, high, count, start):
    """One element strained by 5e-5 a kelvin, ramps and dwells of 900 s: stress (MPa) after each leg of the last cycle, strain and work (MPa) in it.

    State: stress in MPa, resistance in MPa, strain sum, work. The crate marches the inelastic strain; here the stress is the unknown.
    """
    y = numpy.array([0.0, start / 1e6, 0.0, 0.0])
    legs = [(low, high), (high, high), (high, low), (low, low)]
    for _ in range(count):
        y[2:], ends = 0.0, []
        for a, b in legs:
            slope = (b - a) / 900.0

            def right(t, y, a=a, slope=slope):
                kelvin = a + slope * t
                flow, hardening = rates(y[0] * 1e6, y[1] * 1e6, kelvin)
                e, fall = young(kelvin), (young(kelvin + 0.5) - young(kelvin - 0.5)) * slope
                # d(E e)/dt = E de/dt + e dE/dt.
                stress = e * (5e-5 * slope - flow) + y[0] * 1e6 / e * fall
                return [stress / 1e6, hardening / 1e6, abs(flow), flow * y[0]]

            done = solve_ivp(right, (0, 900.0), y, method="BDF", rtol=1e-9, atol=[1e-8, 1e-8, 1e-12, 1e-12])
            assert done.success
            y = done.y[:, -1].copy()
            ends.append(y[0])
    return ends, y[2], y[3]


def bonded(plates, mismatch, half, bends, shears):
    """Edge shear, Pa, of two plates (E, nu, t) on a layer 0.08 mm thick with G of 3007.52 MPa: displacement and force by a boundary value problem."""
    membranes = [e * t / (1 - nu) for e, nu, t in plates]
    soft = sum(1 / m for m in membranes)
    if bends:
        soft += sum(t for *_, t in plates) ** 2 / 4 / sum(m * t * t / 12 for m, (_, _, t) in zip(membranes, plates, strict=True))
    give = 0.08e-3 / 3007.52e6 + (sum(t * 2 * (1 + nu) / 3 / e for e, nu, t in plates) if shears else 0.0)
    # In microns and N/mm: slip over the layer, force in the upper plate.
    right = lambda x, y: numpy.array([half * (mismatch + soft * y[1] * 1e3) * 1e6, half * y[0] * 1e-6 / give * 1e-3])  # noqa: E731
    x = 1 - numpy.geomspace(1e-4, 1, 800)[::-1]
    done = solve_bvp(right, lambda l, r: numpy.array([l[0], r[1]]), numpy.append(x, 1.0), numpy.zeros((2, x.size + 1)), tol=1e-10, max_nodes=100_000)
    assert done.success
    return done.sol(1.0)[0] * 1e-6 / give


def fitted(failures, running):
    """Weibull by scipy's censored maximum likelihood, polished: shape, scale and the log-likelihood as a function of both."""
    likelihood = lambda b, s: scipy.stats.weibull_min.logpdf(failures, b, scale=s).sum() + scipy.stats.weibull_min.logsf(running, b, scale=s).sum()  # noqa: E731
    lives = numpy.concatenate([failures, running])
    best = lambda b: (sum(lives**b) / len(failures)) ** (1 / b)  # noqa: E731
    slope = lambda b: (likelihood(b * (1 + 1e-5), best(b * (1 + 1e-5))) - likelihood(b * (1 - 1e-5), best(b * (1 - 1e-5)))) / (2e-5 * b)  # noqa: E731
    rough = scipy.stats.weibull_min.fit(scipy.stats.CensoredData(uncensored=failures, right=running), floc=0)[0]
    # The slope of the profile in closed form, since differences leave too few digits.
    exact = lambda b: (lives**b * numpy.log(lives)).sum() / (lives**b).sum() - 1 / b - numpy.log(failures).mean()  # noqa: E731
    shape = brentq(exact, 0.8 * rough, 1.25 * rough, xtol=1e-14)
    assert abs(slope(shape)) < 1e-5
    return shape, best(shape), likelihood


def bounds_by_ratio(failures, running, of, inverse):
    """Likelihood-ratio bounds at 90 % of a property `of(shape, scale)`; `inverse(shape, value)` is the scale that gives it."""
    shape, scale, likelihood = fitted(failures, running)
    allowed = scipy.stats.chi2.ppf(0.9, 1) / 2

    def profile(value):
        if inverse is None:
            best = (sum(numpy.concatenate([failures, running]) ** value) / len(failures)) ** (1 / value)
            return likelihood(value, best)
        found = minimize_scalar(lambda b: -likelihood(b, inverse(b, value)), bounds=(0.2 * shape, 5 * shape), method="bounded", options={"xatol": 1e-9})
        return -found.fun

    top, centre = likelihood(shape, scale), of(shape, scale)
    over = lambda x: top - profile(centre * math.exp(x)) - allowed  # noqa: E731
    return [centre * math.exp(brentq(over, *ends, xtol=1e-13)) for ends in ((-2.5, 0.0), (0.0, 2.5))]


def sheet(time, places):
    """Concentration in a sheet of thickness 1 whose faces are wet from time 0, by images of both faces."""
    spread = 2 * math.sqrt(time)
    n = numpy.arange(40)[:, None]
    images = scipy.special.erfc((n + places) / spread) + scipy.special.erfc((n + 1 - places) / spread)
    return ((-1.0) ** n * images).sum(axis=0)


def test_rows_of_the_life_study(rows):
    number, allowed = {}, {}
    for name, law, young, rate, kelvin, strain in [
        ("snpb", "snpb", 30e9, 1e-3, 298.15, 0.02),
        ("mysore", "mysore", 45e9, 1e-3, 298.15, 0.01),
        ("mysore-hot", "mysore", 45e9, 1e-4, 398.15, 0.1),
        ("motalab", "motalab", 45e9, 1e-3, 298.15, 0.01),
    ]:
        constants = ANAND[law]

        def right(_, y, c=constants, e=young, rate=rate, k=kelvin):
            flow, hardening = anand_rates(c, y[0] * 1e6, y[1] * 1e6, k)
            return [e * (rate - flow) / 1e6, hardening / 1e6]

        done = solve_ivp(right, (0, strain / rate), [0.0, constants[0] / 1e6], method="LSODA", rtol=1e-10, atol=1e-10)
        assert done.success
        number[f"life-anand-pull-{name}"] = done.y[0, -1]

    line = lambda at_zero, fall: lambda kelvin: at_zero - fall * kelvin  # noqa: E731
    creeps = lambda law: lambda stress, _, kelvin: (law(stress, kelvin), 0.0)  # noqa: E731
    flows = lambda c: lambda stress, s, kelvin: anand_rates(c, stress, s, kelvin)  # noqa: E731
    for name, rates, young, low, high, count, start in [
        ("schubert", creeps(schubert), line(61_251e6, 58.5e6), 273.15, 373.15, 3, 1e6),
        ("schubert-deep", creeps(schubert), line(61_251e6, 58.5e6), 233.15, 398.15, 3, 1e6),
        ("wiese", creeps(wiese), line(59_533e6, 66.667e6), 273.15, 373.15, 3, 1e6),
        ("mysore", flows(ANAND["mysore"]), line(45e9, 0.0), 273.15, 373.15, 4, ANAND["mysore"][0]),
        ("darveaux", flows(ANAND["snpb"]), line(30e9, 0.0), 273.15, 373.15, 4, ANAND["snpb"][0]),
    ]:
        ends, strain, work = through_cycles(rates, young, low, high, count, start)
        number[f"life-cycle-{name}-strain"], number[f"life-cycle-{name}-work"] = strain, work
        for leg, stress in zip(("ramp-up", "hot", "ramp-down", "cold"), ends, strict=True):
            number[f"life-cycle-{name}-{leg}"] = stress
        if name == "schubert":
            number["life-cycle-syed-strain"], number["life-cycle-syed-work"] = 1 / (0.0513 * strain), 1 / (0.0019 * work)
            # Printed as whole cycles.
            allowed["life-cycle-syed-strain"] = allowed["life-cycle-syed-work"] = 0.5
    # 1e-14 (s / 1 MPa)^5 a second from 40 MPa over 1000 s at a fixed strain, 45 GPa.
    held = solve_ivp(lambda t, s: [-45e3 * 1e-14 * s[0] ** 5], (0, 1000), [40.0], method="DOP853", rtol=1e-12, atol=1e-12)
    number["life-relaxation"] = held.y[0, -1]

    plates, mismatch = [(130e9, 0.28, 0.75e-3), (26e9, 0.30, 1.0e-3)], 14.4e-6 * 140.0
    soft = sum((1 - nu) / (e * t) for e, nu, t in plates)
    number["life-bonded-decay"] = math.sqrt(soft * 3007.52e6 / 0.08e-3)
    number["life-bonded-edge"] = bonded(plates, mismatch, 7.5e-3, False, False) / 1e6
    number["life-bent-edge"] = bonded(plates, mismatch, 7.5e-3, True, False) / 1e6
    number["life-thick-edge"] = bonded(plates, mismatch, 7.5e-3, True, True) / 1e6

    def across(free, held, nu):
        """Hooke's law in three directions: strains x and y held, no stress across."""
        compliance = numpy.array([[1, -nu, -nu], [-nu, 1, -nu], [-nu, -nu, 1]])
        stress = numpy.linalg.solve(compliance[:2, :2], [held - free] * 2)
        return free + compliance[2, :2] @ stress

    number["life-thin-layer"], number["life-thin-layer-soft"] = across(30e-6, 10e-6, 0.33), across(25e-6, 9.8e-6, 0.30)
    number["life-bare-shear"] = 5e-3 * 14e-6 * 165.0 / 75e-6
    number["life-filled-axial"] = (across(30e-6, 10e-6, 0.33) - 21e-6) * 165.0

    series = numpy.array([-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0])
    turned = numpy.concatenate([series[3:-1], series[:3], [series[3]]])
    counted = dict(rainflow.count_cycles(turned))
    for span in (3, 4, 7, 9):
        number[f"life-rainflow-repeating-{span}"] = counted[span]

    failures, running = numpy.array([54.0, 187, 216, 240, 244, 335, 361, 373, 375, 386]), numpy.full(10, 500.0)
    tenth = (-math.log(0.9)) ** -1.0
    for name, of, inverse in [
        ("shape", lambda b, s: b, None),
        ("scale", lambda b, s: s, lambda b, value: value),
        ("tenth", lambda b, s: s * tenth ** (-1 / b), lambda b, value: value * tenth ** (1 / b)),
    ]:
        number[f"life-weibull-90-{name}-low"], number[f"life-weibull-90-{name}-high"] = bounds_by_ratio(failures, running, of, inverse)
    shape, scale, _ = fitted(numpy.array([16.0, 34, 53, 75, 93, 120]), numpy.array([]))
    number["life-weibull-six-shape"], number["life-weibull-six-scale"] = shape, scale
    number["life-miner-sum"] = float((numpy.array([3650, 14_600, 100]) / numpy.array([8000, 60_000, 900])).sum())

    boltzmann = scipy.constants.k / scipy.constants.e
    black = lambda n, ev, j, celsius, at: (j / at[0]) ** -n * math.exp(ev / boltzmann * (1 / (celsius + 273.15) - 1 / (at[1] + 273.15)))  # noqa: E731
    number["life-black-slopes-of-1998"] = 1000 * black(1.8, 0.8, 5e3, 100.0, (1e4, 150.0))
    number["life-black-factor-1.8"], number["life-black-factor-2"] = black(1.8, 0.8, 3e3, 105.0, (1.5e4, 150.0)), black(2.0, 0.9, 3e3, 105.0, (1.5e4, 150.0))
    for name, sheet_resistance, vertical, length in (("thin-aluminium", 0.027, 1e-12, 100e-6), ("thick-copper", 0.0034, 5e-12, 50e-6)):
        ratio = length * math.sqrt(sheet_resistance / vertical)
        # Potential along the contact: v'' = ratio^2 v, no current out of the far end; current density over its mean at the near one.
        done = solve_bvp(lambda x, y, r=ratio: numpy.array([y[1], r * r * y[0]]), lambda l, r: numpy.array([l[0] - 1, r[1]]), numpy.append(0, numpy.geomspace(1e-5, 1, 400)), numpy.zeros((2, 401)), tol=1e-9, max_nodes=100_000)
        number[f"life-crowding-{name}"] = 1 / quad(lambda x, s=done.sol: s(x)[0], 0, 1, points=[0.01, 0.1], limit=200)[0]
    lives = lambda t: 100 * scipy.stats.norm.logsf(math.log(t / 1000) / 0.5) + 1e4 * scipy.stats.norm.logsf(math.log(t / 3000) / 0.5) - math.log1p(-1e-3)  # noqa: E731
    number["life-lognormal-array"] = brentq(lives, 10, 1000, xtol=1e-10)
    for time in (0.05, 0.2):
        number[f"life-moisture-uptake-{time}"] = 2 * quad(lambda x, t=time: sheet(t, numpy.array([x]))[0], 0, 0.5, epsabs=1e-12, epsrel=1e-12)[0]
        number[f"life-moisture-middle-{time}"] = sheet(time, numpy.array([0.5]))[0]
    check(rows, number, "life-", allowed)
