"""Life cost against a financial library, closed forms and the renewal equation solved otherwise."""

from types import SimpleNamespace

import numpy as np
import numpy_financial
import pytest
from scipy.stats import norm

from airover.business.costs import PARTS, repairs, weighed
from airover.business.life_cost import SAMPLES, cheaper, life_cost, lives
from airover.core.intervals import Band
from airover.records.company import CostBasis
from airover.selection.answer import answer

from ..jobs import job, motor

NEVER = 1e5
MANY = 40_000
LIBRARY = "numpy-financial, run in this test"
COX = "D. R. Cox, Renewal Theory (1962), from memory, recomputed"
EQUATION = "renewal equation, solved by trapezoids in this test"
NORMAL = "difference of two normals, SciPy's norm.cdf, run in this test"
ROUND = 1e-9  # the same sum in another order


def failures(scale, shape, horizon):
    """Mean count of failures by part of one motor, whose scales are single numbers."""
    years = np.repeat(np.array(scale, dtype=float)[None, :, None], MANY, axis=2)
    return repairs(years, shape, horizon, [0.0]).causes[0]


@pytest.fixture(scope="module")
def cost():
    basis = CostBasis(discount_rate="1-6 %", horizon="12 years")
    return life_cost(answer(job(), [motor()]), basis, samples=300)


def test_present_value_of_the_flows(book, cost):
    rates, one = cost.plan.inputs["discount_rate"], cost.costs[0]
    theirs = [numpy_financial.npv(r, f) for r, f in zip(rates, cost.flows(0).T, strict=True)]
    np.testing.assert_allclose(one.total, theirs, rtol=ROUND)
    at = int(np.argmax(one.total))
    item = "present value of 12 years with repairs, the most expensive sample"
    book.agrees(item, one.total[at], theirs[at], within=ROUND, source=LIBRARY)


def test_present_value_of_the_energy(book, cost):
    rate, price = (cost.plan.inputs[name][0] for name in ("discount_rate", "energy_price"))
    ours = cost.costs[0].parts["energy of the motor"][0]
    theirs = -numpy_financial.pv(rate, 12, cost.plan.energy[0, 0] * price)
    book.agrees("energy of 12 years as an annuity", ours, theirs, within=ROUND, source=LIBRARY)


def test_exponential_lives_are_a_poisson_process(book):
    # the mean of 40 000 counts of mean 3 is known to 0.3 %
    ours = failures([NEVER, 5.0, NEVER], [1.0] * 3, 15)[1]
    book.agrees("failures in 15 years, mean life 5", ours, 15 / 5, within=0.012, source=COX)


@pytest.mark.parametrize("part", [0, 1])
def test_rates_of_competing_exponential_lives_add(book, part):
    scale = (4.0, 10.0)
    ours = failures([*scale, NEVER], [1.0] * 3, 15)
    source = "competing exponential risks: rates add, from memory, recomputed"
    item = f"failures by cause, mean life {scale[part]:g}"
    book.agrees(item, ours[part], 15 / scale[part], within=0.025, source=source)


def test_a_capacitor_of_exponential_life_is_not_touched_by_new_motors(book):
    ours = failures([NEVER, 3.0, 6.0], [2.0, 2.0, 1.0], 15)[2]
    source = "exponential life: replacement has no effect, from memory, recomputed"
    book.agrees("capacitors alone in 15 years, mean 6", ours, 15 / 6, within=0.015, source=source)


def renewal(cdf, horizon, steps=3000):
    """M(t) = F(t) + integral of M(t - x) dF(x), by trapezoids, F in steps of the same width."""
    time = np.linspace(0, horizon, steps + 1)
    jumps = np.diff(cdf(time))
    found = np.zeros(steps + 1)
    for n in range(1, steps + 1):
        back = found[n::-1]
        # the two middle terms hold M(t_n) itself, with half of the first jump
        known = np.sum(jumps[1:n] * (back[1:n] + back[2 : n + 1]) / 2) + jumps[0] * found[n - 1] / 2
        found[n] = (cdf(time[n]) + known) / (1 - jumps[0] / 2)
    return found[-1]


@pytest.mark.parametrize(("shape", "horizon"), [(1.0, 10), (2.0, 10), (2.3, 15), (3.0, 8)])
def test_weibull_renewals(book, shape, horizon):
    theirs = renewal(lambda t: -np.expm1(-((t / 4.0) ** shape)), horizon)
    if shape == 1.0:  # the road itself against its closed form
        assert theirs == pytest.approx(horizon / 4.0, rel=1e-5)
    ours = failures([NEVER, 4.0, NEVER], [shape] * 3, horizon)[1]
    item = f"renewals in {horizon} years, Weibull shape {shape:g}, scale 4"
    book.agrees(item, ours, theirs, within=0.01, source=EQUATION)


def test_competing_weibull_lives_of_one_shape(book):
    # the first of both is Weibull again, with scale (sum s^-k)^(-1/k)
    together = (5.0**-2.0 + 7.0**-2.0) ** -0.5
    theirs = renewal(lambda t: -np.expm1(-((t / together) ** 2.0)), 12)
    ours = failures([5.0, 7.0, NEVER], [2.0] * 3, 12).sum()
    book.agrees("two Weibull risks of shape 2", ours, theirs, within=0.01, source=EQUATION)


def test_long_horizons_reach_the_renewal_theorem(book):
    # t/mean + (variance/mean^2 - 1)/2; Rayleigh: mean s sqrt(pi)/2, variance s^2 (1 - pi/4)
    mean, variance = 2 * np.sqrt(np.pi) / 2, 4 * (1 - np.pi / 4)
    theirs = 40 / mean + (variance / mean**2 - 1) / 2
    ours = failures([2.0, NEVER, NEVER], [2.0] * 3, 40)[0]
    book.agrees("renewals in 40 years, Weibull shape 2", ours, theirs, within=0.004, source=COX)


@pytest.mark.parametrize("apart", [0.0, 50.0, 150.0])
def test_probability_that_one_costs_less(book, apart):
    rng = np.random.default_rng(1)
    one, other = rng.normal(1000.0, 90.0, SAMPLES), rng.normal(1000.0 + apart, 120.0, SAMPLES)
    ours = cheaper(SimpleNamespace(total=one), SimpleNamespace(total=other))
    theirs = norm.cdf(apart / np.hypot(90.0, 120.0))
    # 10 000 draws: a standard error of at most 0.005
    item = f"probability, normals {apart:g} apart"
    book.agrees(item, ours, theirs, within=0.03, source=NORMAL)


@pytest.mark.parametrize("end", [0, 1, 2])
def test_two_estimates_of_one_life(book, end):
    # log10 of 4 and of 10 years, each a decade from end to end: the middle is their geometric
    # mean, the spread a decade over the root of two
    ours = weighed(Band(4 / 10**0.5, 4.0, 4 * 10**0.5), Band(10**0.5, 10.0, 10**1.5))[end]
    reach = 10 ** (0.5 / 2**0.5)
    theirs = 40**0.5 * (1 / reach, 1.0, reach)[end]
    source = "precision-weighted mean of two normals (Bayes), from memory, recomputed"
    book.agrees(f"two ranges combined, end {end}", ours, theirs, within=ROUND, source=source)


@pytest.mark.parametrize(("end", "share"), [(0, 0.05), (1, 0.5), (2, 0.95)])
def test_drawn_lives_keep_their_band(book, end, share):
    band = (3.0, 10.0, 60.0)
    z = norm.ppf((np.arange(SAMPLES) + 0.5) / SAMPLES)
    drawn = lives([dict.fromkeys(PARTS, band)], [dict.fromkeys(PARTS, z)])[0, 0]
    source = "log-normal on both sides of its median, quantiles by NumPy in this test"
    ours = np.quantile(drawn, share)
    book.agrees(f"{share:.0%} point of the life", ours, band[end], within=2e-3, source=source)
