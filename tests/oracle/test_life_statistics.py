"""Counting, life statistics, arrays of joints and moisture of the life study against rainflow and scipy on random inputs.

Fits with units that still run are compared with scipy.stats.CensoredData; their likelihood-ratio bounds with a profile
that scipy optimises in two dimensions, one value held; the fits themselves with lifelines too.
"""

import lifelines
import numpy
import pytest
import rainflow
import scipy.constants
import scipy.optimize
import scipy.special
import scipy.stats
from test_published import check


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-life", "statistics_json")


def random_history(random):
    """A walk of temperatures with flat pieces and repeated values among them."""
    values = numpy.cumsum(random.normal(0, 10, random.integers(3, 200)))
    if random.random() < 0.5:
        values = numpy.round(values)
    if random.random() < 0.3:
        values = numpy.repeat(values, random.integers(1, 4, len(values)))
    return [float(v) for v in values]


def test_cycles_agree_with_rainflow(solve):
    random = numpy.random.default_rng(11)
    histories = [h for h in (random_history(random) for _ in range(300)) if max(h) > min(h)]
    answers = solve([{"rainflow": {"points": list(enumerate(h))}} for h in histories])
    for history, answer in zip(histories, answers, strict=True):
        # The library keeps a last point that repeats its forerunner as a turn: flat pieces are taken out before.
        flat_free = [v for i, v in enumerate(history) if i == 0 or v != history[i - 1]]
        expected = sorted((r, m, c) for r, m, c, _, _ in rainflow.extract_cycles(flat_free) if r > 0)
        numpy.testing.assert_allclose(sorted((r, m, c) for r, m, c, _, _ in answer), expected, rtol=0, atol=1e-9)


def test_repeating_cycles_agree_with_rainflow_from_the_maximum(solve):
    random = numpy.random.default_rng(12)
    histories = [h for h in (random_history(random) for _ in range(200)) if max(h) > min(h)]
    answers = solve([{"rainflow": {"points": list(enumerate(h)), "repeating": True}} for h in histories])
    for history, answer in zip(histories, answers, strict=True):
        peak = history.index(max(history))
        around = history[peak:] + history[: peak + 1]
        expected = rainflow.count_cycles([v for i, v in enumerate(around) if i == 0 or v != around[i - 1]], ndigits=6)
        found = {}
        for r, _, c, _, _ in answer:
            found[round(r, 6)] = found.get(round(r, 6), 0) + c
        numpy.testing.assert_allclose(sorted(found.items()), [(r, c) for r, c in expected if r > 0], rtol=0, atol=2e-6)


def random_sample(random):
    """Lives of a Weibull distribution, taken out at random times; at least three failures."""
    while True:
        n = random.integers(5, 60)
        lives = random.weibull(10 ** random.uniform(-0.2, 1.1), n) * 10 ** random.uniform(0, 5)
        ends = numpy.quantile(lives, random.uniform(0.3, 1.0)) * random.uniform(0.7, 1.3, n)
        failed = lives <= ends
        if failed.sum() >= 3:
            return list(lives[failed]), list(ends[~failed])


def log_likelihood(failures, running, shape, scale):
    return scipy.stats.weibull_min.logpdf(failures, shape, scale=scale).sum() + scipy.stats.weibull_min.logsf(running, shape, scale=scale).sum()


def weibull(failures, running):
    """Shape and scale of greatest likelihood by the root of the profile's slope."""
    both = numpy.concatenate([failures, running])
    slope = lambda b: (both**b * numpy.log(both)).sum() / (both**b).sum() - 1 / b - numpy.log(failures).mean()
    shape = scipy.optimize.brentq(slope, 0.01, 50, xtol=1e-14)
    return shape, ((both**shape).sum() / len(failures)) ** (1 / shape)


def held(failures, running, top, start, of):
    """Twice the loss of likelihood of the best distribution whose log shape and log scale are `of(x)`."""
    found = scipy.optimize.minimize_scalar(
        lambda x: -log_likelihood(failures, running, *numpy.exp(of(x))), bounds=(start - 5, start + 5), method="bounded", options={"xatol": 1e-9}
    )
    return 2 * (top + found.fun)


def test_fits_and_bounds_agree_with_scipy(solve):
    random = numpy.random.default_rng(13)
    samples = [random_sample(random) for _ in range(60)]
    confidences, shares = random.uniform(0.5, 0.95, 60), random.uniform(0.01, 0.9, 60)
    tasks = [{"failures": f, "running": r, "confidence": c, "share": p} for (f, r), c, p in zip(samples, confidences, shares, strict=True)]
    for task, answer in zip(tasks, solve([{"fit": t} for t in tasks]), strict=True):
        failures, running = numpy.array(task["failures"]), numpy.array(task["running"])
        shape, scale = answer["shape"], answer["scale"]
        unit = numpy.exp(numpy.mean(numpy.log(failures)))
        data = scipy.stats.CensoredData(uncensored=failures / unit, right=running / unit)
        fitted_shape, _, fitted_scale = scipy.stats.weibull_min.fit(data, floc=0, optimizer=lambda f, x, args, disp: scipy.optimize.fmin(f, x, args, xtol=1e-10, ftol=1e-13, disp=0))
        assert [shape, scale] == pytest.approx([fitted_shape, fitted_scale * unit], rel=2e-6)
        top = log_likelihood(failures, running, shape, scale)
        assert answer["log_likelihood"] == pytest.approx(top, rel=1e-9, abs=1e-9)
        assert [answer["mean"], answer["deviation"]] == pytest.approx(
            [scipy.stats.weibull_min.mean(shape, scale=scale), scipy.stats.weibull_min.std(shape, scale=scale)], rel=1e-6
        )
        allowed = scipy.stats.chi2.ppf(task["confidence"], 1)
        for bound in answer["shape_bounds"]:
            # The best scale for a shape is not far from the mean of order `shape`.
            start = numpy.log((numpy.sum(numpy.concatenate([failures, running]) ** bound) / len(failures)) ** (1 / bound))
            assert held(failures, running, top, start, lambda x, b=bound: (numpy.log(b), x)) == pytest.approx(allowed, rel=1e-6)
        for key, share in [("scale_bounds", 1 - numpy.exp(-1)), ("life_bounds", task["share"])]:
            low, high = answer[key]
            assert low < scale * (-numpy.log1p(-share)) ** (1 / shape) < high
            for bound in (low, high):
                hazard = numpy.log(-numpy.log1p(-share))
                loss = held(failures, running, top, numpy.log(shape), lambda x, b=bound, h=hazard: (x, numpy.log(b) - h * numpy.exp(-x)))
                assert loss == pytest.approx(allowed, rel=1e-5)


def test_fits_agree_with_lifelines(solve):
    random = numpy.random.default_rng(15)
    samples = [random_sample(random) for _ in range(20)]
    answers = solve([{"fit": {"failures": f, "running": r, "confidence": 0.9, "share": 0.1}} for f, r in samples])
    for (failures, running), answer in zip(samples, answers, strict=True):
        # Its optimiser starts at lives near one.
        unit = numpy.exp(numpy.mean(numpy.log(failures)))
        lives = numpy.array(failures + running) / unit
        fitter = lifelines.WeibullFitter().fit(lives, event_observed=[1] * len(failures) + [0] * len(running))
        assert [answer["shape"], answer["scale"] / unit] == pytest.approx([fitter.rho_, fitter.lambda_], rel=1e-4)
        assert answer["log_likelihood"] + len(failures) * numpy.log(unit) == pytest.approx(fitter.log_likelihood_, rel=1e-8, abs=1e-8)


def test_bounds_without_failure_agree_with_scipy(solve):
    random = numpy.random.default_rng(14)
    tasks = []
    for _ in range(100):
        failures, running = random_sample(random)
        if random.random() < 0.5:
            failures, running = [], failures + running
        tasks.append({"failures": failures, "running": running, "with": [random.uniform(0.3, 12), random.uniform(0.05, 0.99)]})
    for task, answer in zip(tasks, solve([{"bound": t} for t in tasks]), strict=True):
        shape, confidence = task["with"]
        lives = numpy.array(task["failures"] + task["running"])
        most = scipy.stats.chi2.ppf(confidence, 2 * len(task["failures"]) + 2) / 2
        expected = numpy.exp((scipy.special.logsumexp(shape * numpy.log(lives)) - numpy.log(most)) / shape)
        assert answer == pytest.approx(expected, rel=1e-9)


def test_median_ranks_agree_with_scipy(solve):
    random = numpy.random.default_rng(15)
    tasks = [dict(zip(("failures", "running"), random_sample(random), strict=True)) for _ in range(60)]
    for task, (orders, ranks) in zip(tasks, solve([{"orders": t} for t in tasks]), strict=True):
        n = len(task["failures"]) + len(task["running"])
        order, expected = 0.0, []
        for life in sorted(task["failures"]):
            left = sum(t >= life for t in task["failures"] + task["running"])
            order += (n + 1 - order) / (1 + left)
            expected.append(order)
        assert orders == pytest.approx(expected, rel=1e-12)
        assert ranks == pytest.approx(scipy.stats.beta.ppf(0.5, expected, n + 1 - numpy.array(expected)), rel=1e-9)


def test_samples_agree_with_scipy(solve):
    random = numpy.random.default_rng(16)
    units = [[float(1 - 10 ** random.uniform(-4, -0.5)), float(random.uniform(0.05, 0.99)), int(random.integers(0, 8))] for _ in range(200)]
    for (reliability, confidence, accepted), found in zip(units, solve([{"units": u} for u in units]), strict=True):
        chance = scipy.stats.binom.cdf(accepted, [found, found - 1], 1 - reliability)
        assert chance[0] <= (1 - confidence) * (1 + 1e-9)
        assert found - 1 <= accepted or chance[1] > (1 - confidence) * (1 - 1e-9)
    proved = []
    for _ in range(200):
        n = int(10 ** random.uniform(0.5, 4))
        proved.append([n, int(min(random.integers(0, 10), n - 1)), float(random.uniform(0.05, 0.99))])
    for (n, failed, confidence), found in zip(proved, solve([{"proved": p} for p in proved]), strict=True):
        assert found == pytest.approx(scipy.stats.beta.ppf(1 - confidence, n - failed, failed + 1), rel=1e-9)
    failures = [[int(random.integers(0, 60)), float(random.uniform(0.001, 0.999))] for _ in range(200)]
    for (failed, confidence), found in zip(failures, solve([{"failures": f} for f in failures]), strict=True):
        assert found == pytest.approx(scipy.stats.chi2.ppf(confidence, 2 * failed + 2) / 2, rel=1e-9)
    lots = [[float(10 ** random.uniform(-4, -0.3)), float(random.uniform(0.3, 0.99)), int(random.integers(0, 8))] for _ in range(50)]
    for (share, confidence, accepted), found in zip(lots, solve([{"lot": x} for x in lots]), strict=True):
        assert found == pytest.approx(scipy.stats.chi2.ppf(confidence, 2 * accepted + 2) / 2 * (1 / share - 0.5) + accepted, rel=1e-9)


def test_arrays_agree_with_scipy(solve):
    random = numpy.random.default_rng(17)
    tasks = []
    for _ in range(100):
        m = random.integers(1, 6)
        parts = numpy.stack([random.uniform(0.5, 12, m), 10 ** random.uniform(1, 6, m), numpy.round(10 ** random.uniform(0, 5, m))], 1)
        tasks.append({"parts": parts.tolist(), "failed": float(10 ** random.uniform(-6, -0.01))})
    for task, life in zip(tasks, solve([{"array": t} for t in tasks]), strict=True):
        shape, scale, count = numpy.array(task["parts"]).T
        survives = (count * scipy.stats.weibull_min.logsf(life, shape, scale=scale)).sum()
        assert survives == pytest.approx(numpy.log1p(-task["failed"]), rel=1e-9)
    tasks = []
    for _ in range(100):
        m = random.integers(1, 6)
        medians = numpy.stack([10 ** random.uniform(2, 10, m), numpy.round(10 ** random.uniform(0, 5, m))], 1)
        tasks.append({"medians": medians.tolist(), "deviation": float(random.uniform(0.1, 1.5)), "failed": float(10 ** random.uniform(-6, -0.01))})
    for task, life in zip(tasks, solve([{"currents": t} for t in tasks]), strict=True):
        median, count = numpy.array(task["medians"]).T

        def over(x, task=task, median=median, count=count):
            return (count * scipy.stats.norm.logsf((x - numpy.log(median)) / task["deviation"])).sum() - numpy.log1p(-task["failed"])

        top = numpy.log(median.min()) + 10 * task["deviation"]
        assert life == pytest.approx(numpy.exp(scipy.optimize.brentq(over, top - 40 * task["deviation"], top, xtol=1e-13)), rel=1e-8)


def ierfc(x):
    return numpy.exp(-x * x) / numpy.sqrt(numpy.pi) - x * scipy.special.erfc(x)


def test_moisture_agrees_with_images_and_long_series(solve):
    times = numpy.concatenate([10 ** numpy.linspace(-5, 1, 200), [0.0099999, 0.01, 0.0100001, 0.001, 0.00100001]])
    n = numpy.arange(200)
    odd, sign = 2.0 * n + 1, (-1.0) ** n
    (answer,) = solve([{"sheet": list(times)}])
    for time, (uptake, middle) in zip(times, answer, strict=True):
        if time < 0.05:
            # Images of both faces, which converge at once where the series does not.
            root = numpy.sqrt(time)
            expected = 4 * root * (1 / numpy.sqrt(numpy.pi) + 2 * (sign * ierfc(n / (2 * root)))[1:].sum())
            inside = 2 * (sign * scipy.special.erfc(odd / (4 * root))).sum()
        else:
            decay = numpy.exp(-((odd * numpy.pi) ** 2) * time)
            expected = 1 - 8 / numpy.pi**2 * (decay / odd**2).sum()
            inside = 1 - 4 / numpy.pi * (sign * decay / odd).sum()
        assert [uptake, middle] == pytest.approx([expected, inside], abs=2e-11)


def test_rows_that_name_a_library_are_recomputed(solve):
    (listed,) = solve([{"rows": None}])
    rows = {row["id"]: row for row in listed}
    turned = [5, -1, 3, -4, 4, -2, 1, -3, 5]
    check(rows, {f"life-rainflow-repeating-{r:.0f}": c for r, c in rainflow.count_cycles(turned)}, "life-rainflow")
    check(rows, {"life-miner-sum": numpy.sum([3650 / 8000, 14600 / 60000, 100 / 900])}, "life-miner")

    failures, running = numpy.array([54.0, 187, 216, 240, 244, 335, 361, 373, 375, 386]), numpy.full(10, 500.0)
    number = {}
    shape, scale = weibull(failures, running)
    top, loss = log_likelihood(failures, running, shape, scale), scipy.stats.chi2.ppf(0.9, 1)
    both = numpy.concatenate([failures, running])

    def best_scale(b):
        return ((both**b).sum() / len(failures)) ** (1 / b)

    def shape_loss(b):
        return 2 * (top - log_likelihood(failures, running, b, best_scale(b))) - loss

    def life_loss(y, hazard):
        """With the shape from the root of the slope, which scipy reaches to the last digits."""

        def slope(b):
            x = numpy.log(both) - y
            return len(failures) / b - len(failures) * y + numpy.log(failures).sum() - hazard * (x * numpy.exp(b * x)).sum()

        b = scipy.optimize.brentq(slope, 0.01, 20, xtol=1e-14)
        return 2 * (top - log_likelihood(failures, running, b, numpy.exp(y) / hazard ** (1 / b))) - loss

    for end, low, high in (("low", shape / 20, shape), ("high", shape, 20 * shape)):
        number[f"life-weibull-90-shape-{end}"] = scipy.optimize.brentq(shape_loss, low, high, xtol=1e-13)
        for name, share in (("scale", 1 - numpy.exp(-1)), ("tenth", 0.1)):
            hazard = -numpy.log1p(-share)
            centre = numpy.log(scale) + numpy.log(hazard) / shape
            low_y, high_y = (centre - 4, centre) if end == "low" else (centre, centre + 4)
            number[f"life-weibull-90-{name}-{end}"] = numpy.exp(scipy.optimize.brentq(life_loss, low_y, high_y, args=(hazard,), xtol=1e-13))
    number["life-weibull-six-shape"], number["life-weibull-six-scale"] = weibull(numpy.array([16.0, 34, 53, 75, 93, 120]), numpy.array([]))
    check(rows, number, "life-weibull")

    boltzmann = scipy.constants.k / scipy.constants.e

    def factor(n, ev, density, cold, hot):
        return density**n * numpy.exp(ev / boltzmann * (1 / (cold + 273.15) - 1 / (hot + 273.15)))

    black = {"life-black-slopes-of-1998": 1000 * factor(1.8, 0.8, 2, 100, 150)}
    black["life-black-factor-1.8"], black["life-black-factor-2"] = factor(1.8, 0.8, 5, 105, 150), factor(2, 0.9, 5, 105, 150)
    check(rows, black, "life-black")
    contacts = {"thin-aluminium": (0.027, 1e-12, 100e-6), "thick-copper": (0.0034, 5e-12, 50e-6)}
    lengths = {name: length / numpy.sqrt(vertical / sheet) for name, (sheet, vertical, length) in contacts.items()}
    check(rows, {f"life-crowding-{name}": x / numpy.tanh(x) for name, x in lengths.items()}, "life-crowding")
    survives = lambda x: 100 * scipy.stats.norm.logsf((x - numpy.log(1000)) / 0.5) + 1e4 * scipy.stats.norm.logsf((x - numpy.log(3000)) / 0.5)
    array = scipy.optimize.brentq(lambda x: survives(x) - numpy.log1p(-1e-3), 2, 9, xtol=1e-14)
    check(rows, {"life-lognormal-array": numpy.exp(array)}, "life-lognormal")
    sheet = {}
    n = numpy.arange(60)
    for time in (0.05, 0.2):
        root = numpy.sqrt(time)
        sheet[f"life-moisture-uptake-{time}"] = 4 * root * (1 / numpy.sqrt(numpy.pi) + 2 * ((-1.0) ** n * ierfc(n / (2 * root)))[1:].sum())
        sheet[f"life-moisture-middle-{time}"] = 2 * ((-1.0) ** n * scipy.special.erfc((2 * n + 1) / (4 * root))).sum()
    check(rows, sheet, "life-moisture")
