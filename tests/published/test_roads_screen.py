"""A fleet's screening written a second time with NumPy, one unit and one motor after the other.

Motors and units are made up, so that each step decides for some of them.
"""

import numpy as np
import pytest

from airover.physics import screen_compiled
from airover.physics.screening import (
    BEST,
    BREAKDOWN,
    CAPACITOR,
    CURRENT,
    LIGHTEST,
    NOT_FIT,
    REACH,
    RISE,
    SLIP,
    Limits,
    Motors,
    Surfaces,
    Units,
)

pytestmark = pytest.mark.skipif(screen_compiled.numba is None, reason="there is no numba here")

MOTORS, UNITS, DRAWS = 9, 70, 5
LIMITS = Limits(0.97, 0.1, 1.1, 1.25, 0.95, 0.8)
TERMS = [
    (0, 0, 0, 0),
    (1, 0, 0, 0),
    (0, 1, 0, 0),
    (0, 0, 1, 0),
    (0, 0, 0, 1),
    (1, 1, 0, 0),
    (0, 3, 2, 1),
]
SHARES = (0.05, 0.5, 0.95)


def made_up():
    random = np.random.default_rng(11)

    def drawn(low, high, *shape):
        return random.uniform(low, high, shape)

    usual = np.zeros((2, MOTORS, 5, len(TERMS), DRAWS))
    usual[:, :, [RISE, CURRENT, CAPACITOR, SLIP, BREAKDOWN], 0] = np.array(
        [np.log(48.0), np.log(1.8), np.log(340.0), 0.1, np.log(3.4)]
    )[:, None]
    spread = drawn(-0.12, 0.12, *usual.shape)
    spread[:, :, SLIP] /= 10
    surfaces = Surfaces(
        terms=np.array(TERMS),
        coefficients=usual + spread,
        breakdown=drawn(2.2e-4, 3.2e-4, MOTORS, 4, DRAWS) * np.array([[1], [0.2], [0.05], [0.01]]),
        heaviest=drawn(1.8e-4, 3e-4, MOTORS, DRAWS),
        run_up=drawn(1.4e-4, 3e-4, MOTORS, 4, DRAWS),
        works=np.arange(MOTORS) != 4,
        voltage=np.array([[190.0, 250.0]] * MOTORS),
        air=np.array([10.0, 70.0]),
        log_cooling=np.log([1e-3, 2e-2]),
    )
    unknown = np.nan
    motors = Motors(
        voltage_low=random.choice([187.0, 207.0], MOTORS),
        voltage_high=random.choice([238.0, 253.0], MOTORS),
        frequency=np.where(np.arange(MOTORS) == 2, 50.0, 60.0),
        poles=np.where(np.arange(MOTORS) == 3, 8, 6),
        synchronous=np.full(MOTORS, 1200.0),
        works=surfaces.works,
        ratings=np.array(
            [[186.0, 249.0, unknown], [249.0, 373.0, 560.0], [249.0, unknown, unknown]] * 3
        ),
        currents=drawn(1.5, 2.1, MOTORS, 3),
        ambient=random.choice([48.0, 60.0, unknown], MOTORS),
        winding=random.choice([100.0, 120.0, unknown], MOTORS),
        capacitor=random.choice([300.0, 370.0, unknown], MOTORS),
        price=random.choice([80.0, 90.0], MOTORS),
        place=random.permutation(MOTORS).astype(float),
    )
    usual_volts = drawn(205.0, 242.0, UNITS)
    units = Units(
        coefficient=drawn(0.9e-4, 2.1e-4, UNITS, 1) * drawn(0.9, 1.1, UNITS, DRAWS),
        speed_rpm=drawn(1040.0, 1110.0, UNITS, DRAWS),
        temp_air=drawn(35.0, 60.0, UNITS, 1) + drawn(-3.0, 3.0, UNITS, DRAWS),
        log_cooling=np.log(drawn(5e-4, 3e-2, UNITS, DRAWS)),
        temp_over=drawn(5.0, 12.0, UNITS, DRAWS),
        voltage=usual_volts[:, None] * np.array([0.96, 1.0, 1.03]),
        frequency=np.where(np.arange(UNITS) % 12 == 5, 50.0, 60.3),
        poles=np.where(np.arange(UNITS) % 15 == 7, 8, 6),
        sideways=random.integers(0, 2, UNITS),
        power=random.choice([unknown, 186.0, 249.0, 400.0], UNITS),
        measured=random.integers(0, 3, UNITS),
        facts=random.integers(0, 6, (UNITS, 2)),
        amps=random.integers(0, 3, UNITS),
    )
    facts = random.choice([0, 0, 0, 0, 1, NOT_FIT], (MOTORS, 6))
    amps = random.choice([0, 0, 0, 1, NOT_FIT], (3, MOTORS, 3))
    return surfaces, motors, units, facts, amps


def polynomial(surfaces, units, m, u, figure, volts):
    """A figure's draws by NumPy's Chebyshev series in four dimensions."""

    def on(value, ends):
        return np.clip(2 * (value - ends[0]) / (ends[1] - ends[0]) - 1, -1, 1)

    def kloss(share):  # slip over that of breakdown: the tangent of half the angle
        return np.tan(np.arcsin(REACH * share) / 2)

    found, at = [], on(volts, surfaces.voltage[m])
    for d in range(DRAWS):
        breakdown = np.polyval(surfaces.breakdown[m, ::-1, d], at)
        heaviest = np.sum(np.array([REACH * breakdown, surfaces.heaviest[m, d]]) ** -8.0) ** (
            -1 / 8
        )
        share = np.clip(units.coefficient[u, d] / heaviest, LIGHTEST, 1)
        load = on(kloss(share), (kloss(LIGHTEST), kloss(1.0)))
        air = on(units.temp_air[u, d], surfaces.air)
        cooling = on(units.log_cooling[u, d], surfaces.log_cooling)
        series = np.zeros(surfaces.terms.max(axis=0) + 1)
        series[tuple(surfaces.terms.T)] = surfaces.coefficients[units.sideways[u], m, figure, :, d]
        for x in (at, load, air, cooling):
            series = np.polynomial.chebyshev.chebval(x, series)
        found.append(series)
    return np.array(found)


def judged(surfaces, motors, units, facts, amps, m, u):
    """(how far it came, work, rating, figures): 0 plain facts fail, 1 load, 2 heat, 3 it serves."""
    low, usual, high = units.voltage[u]
    takes = motors.voltage_low[m], motors.voltage_high[m]
    plain = motors.works[m] and motors.poles[m] == units.poles[u]
    plain = plain and abs(motors.frequency[m] - units.frequency[u]) < 0.5
    if not plain or not takes[0] <= usual <= takes[1]:
        return 0, 0, 0, None
    inside = takes[0] <= low and high <= takes[1]
    if units.measured[u] == 2 and not inside:
        return 0, 0, 0, None
    work = 0 if units.measured[u] and inside else 1
    speed = units.speed_rpm[u] * 2 * np.pi / 60
    torque = units.coefficient[u] * speed**2
    need, air = (np.quantile(draws, SHARES) for draws in (torque * speed, units.temp_air[u]))
    told = not np.isnan(units.power[u])
    wanted = units.power[u] if told else need[1]
    covering = np.flatnonzero(motors.ratings[m] >= LIMITS.same_rating * wanted)
    number = covering[0] if covering.size else np.flatnonzero(~np.isnan(motors.ratings[m]))[-1]
    costs = [*facts[m, units.facts[u]], amps[units.amps[u], m, number]]
    if NOT_FIT in costs or air[1] > motors.ambient[m]:
        return 0, 0, 0, None
    work += sum(costs) + (not air[2] <= motors.ambient[m])
    rating = motors.ratings[m, number]
    starting = [
        np.interp(low, np.linspace(*surfaces.voltage[m], 4), surfaces.run_up[m, :, d])
        for d in range(DRAWS)
    ]
    reserve = np.exp(polynomial(surfaces, units, m, u, BREAKDOWN, low)) / torque
    slip = polynomial(surfaces, units, m, u, SLIP, usual)
    flow = np.median((1 - slip) * motors.synchronous[m] / units.speed_rpm[u])
    if (
        rating < need[0] or (told and rating < need[1])
        or np.mean(units.coefficient[u] < starting) < LIMITS.least_starting
        or np.quantile(reserve, 0.05) < LIMITS.least_reserve or flow < LIMITS.least_flow
    ):  # fmt: skip
        return 1, 0, 0, None
    work += not told and rating < need[2]
    current = np.quantile(np.exp(polynomial(surfaces, units, m, u, CURRENT, usual)), SHARES)
    rise = np.exp(polynomial(surfaces, units, m, u, RISE, usual))
    winding = np.quantile(units.temp_air[u] + rise, SHARES)
    margin = motors.winding[m] - winding[1]
    if current[1] > 1.1 * motors.currents[m, number] or margin < 0:
        return 2, 0, 0, None
    volts = np.exp(np.median(polynomial(surfaces, units, m, u, CAPACITOR, usual)))
    work += int(not volts <= motors.capacitor[m] * LIMITS.overvoltage) + int(np.isnan(margin))
    figures = [*current, *winding, margin, np.quantile(reserve, 0.05), flow, volts]
    return 3, work, number, figures


def order(one, motors, m):
    """By work, then by coolness in steps of 5 K, then by price and place; unknown comes last."""
    margin = one[3][6]
    cool = np.inf if np.isnan(margin) else -np.rint(margin / 5)
    return one[1], cool, motors.price[m], motors.place[m]


def test_each_unit_and_motor_again(road):
    surfaces, motors, units, facts, amps = told = made_up()
    best = screen_compiled.screen(surfaces, motors, units, facts, amps, LIMITS)
    came, served = np.zeros(4, dtype=int), 0
    for u in range(UNITS):
        found = [judged(*told, m, u) for m in range(MOTORS)]
        far = np.array([one[0] for one in found])
        came += np.bincount(far, minlength=4)
        serving = np.flatnonzero(far == 3)
        work = np.array([one[1] for one in found])
        counts = sum(work[serving] == 0), sum(work[serving] > 0), sum(far >= 1), sum(far >= 2)

        first = sorted(serving, key=lambda m, found=found: order(found[m], motors, m))[:BEST]
        nobody = [-1] * (BEST - len(first))
        assert best.motor[u].tolist() == [*first, *nobody]
        assert best.work[u, : len(first)].tolist() == [found[m][1] for m in first]
        assert best.rating_number[u, : len(first)].tolist() == [found[m][2] for m in first]
        served += len(first) > 1
        for place, m in enumerate(first):
            np.testing.assert_allclose(best.figures[u, place], found[m][3], rtol=1e-9)
            what, by = "figures of the best motors", "each motor by NumPy's quantiles and series"
            road(
                "screen_compiled",
                what,
                best.figures[u, place, :6],
                found[m][3][:6],
                by=by,
                within=1e-9,
            )
        assert counts == (*best.counts[u, :2], *best.counts[u, 2:])
    assert np.all(came > 15) and served > 10, came  # each step decided for some
