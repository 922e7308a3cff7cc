"""Ladders, spectra, traces and layered walls of the transient heat paths against mpmath and scipy."""

import mpmath
import numpy
import pytest
import scipy.integrate


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-field", "transient_json")


@pytest.fixture(scope="session")
def heat(answering):
    return answering("facedown-heat", "heat_json")


def continued_fraction(gains, constants, digits):
    """The ladder by dividing polynomials, as in the textbooks, with very many digits."""
    with mpmath.workdps(digits):
        one = mpmath.mpf(1)
        numerator, denominator = [mpmath.mpf(0)], [one]
        for gain, constant in zip(gains, constants, strict=True):
            gain, constant = mpmath.mpf(gain), mpmath.mpf(constant)
            # n/d + g/(1 + c s) = (n (1 + c s) + g d) / (d (1 + c s)); coefficients from the lowest power up.
            stretched = numerator + [mpmath.mpf(0)]
            for k, value in enumerate(numerator):
                stretched[k + 1] += constant * value
            grown = denominator + [mpmath.mpf(0)]
            for k, value in enumerate(denominator):
                grown[k + 1] += constant * value
            for k, value in enumerate(denominator):
                stretched[k] += gain * value
            numerator, denominator = stretched[: len(grown) - 1], grown
        rungs = []
        while len(denominator) > 1:
            capacity = denominator[-1] / numerator[-1]
            denominator = [d - (capacity * numerator[k - 1] if k else 0) for k, d in enumerate(denominator)][:-1]
            resistance = numerator[-1] / denominator[-1]
            numerator = [n - resistance * d for n, d in zip(numerator, denominator, strict=True)][:-1]
            rungs.append((capacity, resistance))
        return [(float(c), float(r)) for c, r in rungs]


@pytest.mark.parametrize("count", [3, 12, 40, 120])
def test_ladders_agree_with_continued_fractions_of_many_digits(solve, count):
    random = numpy.random.default_rng(count)
    # A smooth spectrum over eleven decades with weights over six, as a deconvolution gives it.
    constants = numpy.sort(10 ** random.uniform(-7, 4, count))
    gains = 10 ** random.uniform(-6, 0, count)
    (rungs,) = solve([{"ladder": {"gains": list(gains), "time_constants": list(constants)}}])
    expected = continued_fraction(gains, constants, 40 + 12 * count)
    assert len(rungs) == count
    numpy.testing.assert_allclose(numpy.array(rungs), numpy.array(expected), rtol=1e-12)


def foster(capacities, resistances):
    """Gains and time constants of a ladder, from quick to slow."""
    conductance = numpy.diag(1 / resistances) + numpy.diag(numpy.r_[0, 1 / resistances[:-1]])
    conductance -= numpy.diag(1 / resistances[:-1], 1) + numpy.diag(1 / resistances[:-1], -1)
    scale = 1 / numpy.sqrt(capacities)
    rates, vectors = numpy.linalg.eigh(scale[:, None] * conductance * scale)
    order = numpy.argsort(-rates)
    return (vectors[0] ** 2 / (capacities[0] * rates))[order], (1 / rates)[order]


def test_a_known_ladder_comes_back_from_its_eigenvalues(solve):
    resistances, capacities = numpy.array([0.05, 0.12, 0.25, 0.5, 1.0]), numpy.array([2e-3, 2e-2, 0.15, 1.5, 20.0])
    gains, constants = foster(capacities, resistances)
    (rungs,) = solve([{"ladder": {"gains": list(gains), "time_constants": list(constants)}}])
    numpy.testing.assert_allclose(numpy.array(rungs)[:, 0], capacities, rtol=1e-10)
    numpy.testing.assert_allclose(numpy.array(rungs)[:, 1], resistances, rtol=1e-10)


def test_spectra_keep_what_the_response_says(solve):
    random = numpy.random.default_rng(3)
    times = 10 ** numpy.arange(-6, 3.001, 0.02)
    tasks, given = [], []
    for _ in range(4):
        constants, gains = 10 ** random.uniform(-4, 1, 5), random.uniform(0.1, 1, 5)
        values = (gains * -numpy.expm1(-times[:, None] / constants)).sum(axis=1)
        tasks.append({"spectrum": {"times": list(times), "values": list(values)}})
        given.append((constants, gains))
    for (constants, gains), answer in zip(given, solve(tasks), strict=True):
        parts = numpy.array(answer["parts"])
        assert parts[:, 0].sum() == pytest.approx(gains.sum(), rel=1e-3)
        # Between the samples as well, to the misfit of a multiplicative iteration that stops after 5000 rounds.
        between = 10 ** random.uniform(-5, 2.5, 50)
        fit = (parts[:, 0] * -numpy.expm1(-between[:, None] / parts[:, 1])).sum(axis=1)
        exact = (gains * -numpy.expm1(-between[:, None] / constants)).sum(axis=1)
        assert numpy.abs(fit - exact).max() < 3e-3 * gains.sum()
        # The mean logarithm of the time constants is the least sharp moment that the response fixes.
        assert parts[:, 0] @ numpy.log(parts[:, 1]) / parts[:, 0].sum() == pytest.approx(gains @ numpy.log(constants) / gains.sum(), abs=0.01)


def test_traces_agree_with_integrated_rate_equations(solve):
    random = numpy.random.default_rng(4)
    for _ in range(4):
        constants, gains = 10 ** random.uniform(-3, 0, 4), random.uniform(-0.3, 1, 4)
        durations, inputs = random.uniform(0.01, 0.5, 6), random.uniform(0, 5, 6)
        ((high, low, mean),) = solve(
            [{"trace": {"gains": list(gains), "time_constants": list(constants), "durations": list(durations), "inputs": list(inputs)}}]
        )
        state, span = numpy.zeros(4), durations.sum()
        rounds = int(numpy.ceil(40 * constants.max() / span))
        for turn in range(rounds + 1):
            seen, area, offset = [], 0.0, 0.0
            for duration, value in zip(durations, inputs, strict=True):
                done = scipy.integrate.solve_ivp(
                    lambda t, x, v: (gains * v - x) / constants, (0, duration), state, args=(value,), method="Radau", rtol=1e-9, atol=1e-12, dense_output=True
                )
                if turn == rounds:
                    grid = numpy.r_[0, numpy.geomspace(1e-6, duration, 4000)]
                    answers = done.sol(grid).sum(axis=0)
                    seen.append(answers)
                    area += scipy.integrate.trapezoid(answers, grid)
                state = done.y[:, -1]
                offset += duration
        seen = numpy.concatenate(seen)
        assert high == pytest.approx(seen.max(), rel=1e-5)
        assert low == pytest.approx(seen.min(), rel=1e-5, abs=1e-6)
        assert mean == pytest.approx(area / span, rel=1e-4)


def wall(layers, film, time):
    """Rise of the heated face of layers under 1 W/m2; without a film the far face is held."""

    def impedance(s):
        z = 1 / mpmath.mpf(film) if film else mpmath.mpf(0)
        for thickness, conductivity, capacity, contact in reversed(layers):
            z += contact
            y, tau = mpmath.sqrt(s * capacity * conductivity), mpmath.tanh(thickness * mpmath.sqrt(s * capacity / conductivity))
            z = (z + tau / y) / (1 + z * y * tau)
        return z / s

    with mpmath.workdps(30):
        return float(mpmath.invertlaplace(impedance, time, method="talbot", degree=30))


def test_layered_walls_agree_with_thirty_digits(heat):
    random = numpy.random.default_rng(5)
    tasks = []
    for k in range(6):
        layers = [
            [10 ** random.uniform(-5, -2.5), 10 ** random.uniform(-0.5, 2.6), 10 ** random.uniform(6, 6.6), random.choice([0.0, 10 ** random.uniform(-6, -4)])]
            for _ in range(random.integers(1, 6))
        ]
        task = {"layers": layers, "times": list(10 ** random.uniform(-7, 3, 6))}
        tasks.append({"stack": task if k % 3 == 0 else task | {"film": 10 ** random.uniform(1, 4.5)}})
    for task, answer in zip(tasks, heat(tasks), strict=True):
        task = task["stack"]
        expected = [wall(task["layers"], task.get("film"), t) for t in task["times"]]
        numpy.testing.assert_allclose(answer, expected, rtol=1e-9)


def rectangle(sides, conductivity, capacity, time):
    """Rise over the centre of a rectangle that takes 1 W."""
    diffusivity = conductivity / capacity

    def grown(root):
        scale = 4 * mpmath.sqrt(diffusivity) * root
        return 2 * mpmath.erf(sides[0] / scale) * mpmath.erf(sides[1] / scale)

    integral = mpmath.quad(grown, [0, *(time**0.5 * numpy.geomspace(1e-3, 1, 7))])
    return float(integral * mpmath.sqrt(diffusivity / mpmath.pi) / (conductivity * sides[0] * sides[1]))


def test_heated_rectangles_agree_with_mpmath(heat):
    material, sides, times = [120.0, 1.66e6], [0.7e-3, 2e-3], [1e-6, 3e-4, 0.02, 5.0]
    (answer,) = heat([{"stack": {"sides": sides, "material": material, "times": times}}])
    for time, rise in zip(times, answer, strict=True):
        assert rise == pytest.approx(rectangle(sides, *material, time), rel=1e-8)


def published_rows():
    """The rows of the published table that rest on mpmath and numpy, with what a printed digit does not decide."""
    number, allowed = {}, {}
    for name, time in (("10us", 1e-5), ("100us", 1e-4), ("1ms", 1e-3), ("10ms", 1e-2), ("100ms", 0.1)):
        number[f"heat-heater-{name}"] = rectangle([1e-3, 1e-3], 148.0, 2330.0 * 712.0, time)
    odd = numpy.arange(1, 2001, 2)
    for name, time in (("0.01", 0.01), ("0.1", 0.1), ("0.2", 0.2), ("0.5", 0.5), ("1", 1.0), ("2", 2.0)):
        number[f"heat-slab-{name}"] = 1 - (8 / (odd * numpy.pi) ** 2 * numpy.exp(-((odd * numpy.pi) ** 2) * time / 4)).sum()
    stack = [[0.5e-3, 148.0, 2330.0 * 712.0, 0.0], [0.05e-3, 3.0, 2500.0 * 800.0, 0.0], [2e-3, 390.0, 8960.0 * 385.0, 0.0]]
    for name, time in (("10us", 1e-5), ("100us", 1e-4), ("1ms", 1e-3), ("10ms", 1e-2), ("100ms", 0.1), ("1s", 1.0), ("10s", 10.0)):
        number[f"heat-stack-{name}"] = wall(stack, 5000.0, time)
    for name, capacities, resistances in (
        ("three", [0.01, 0.1, 5.0], [0.1, 0.3, 0.6]),
        ("five", [2e-3, 2e-2, 0.15, 1.5, 20.0], [0.05, 0.12, 0.25, 0.5, 1.0]),
    ):
        gains, constants = foster(numpy.array(capacities), numpy.array(resistances))
        for k, (capacity, resistance) in enumerate(continued_fraction(gains, constants, 80)):
            number[f"heat-ladder-{name}-capacity-{k}"], number[f"heat-ladder-{name}-resistance-{k}"] = capacity, resistance
            allowed[f"heat-ladder-{name}-capacity-{k}"] = 1e-10 * capacity
            allowed[f"heat-ladder-{name}-resistance-{k}"] = 1e-10 * resistance
        number[f"heat-ladder-{name}-total"] = gains.sum()
        if name == "three":
            for k, (gain, constant) in enumerate(zip(gains, constants, strict=True)):
                number[f"heat-peak-{k}-resistance"], number[f"heat-peak-{k}-time"] = gain, constant
    return number, allowed
