"""A fleet's screening written a second time with NumPy, one unit and one motor at a time.

Motors and units are made up, so that each step decides for some of them.
"""

from typing import NamedTuple

import numpy as np
import pytest

from airover.selection import screening_kernel
from airover.selection.screening import (
    ADAPTED,
    BEST,
    BREAKDOWN,
    CAPACITOR,
    CAPACITOR_VOLTAGE,
    CURRENT,
    INPUT,
    LISTED,
    LOAD,
    NOT_FIT,
    REACH,
    RISE,
    RUNNING_AMPS,
    SLIP,
    STOPS,
    VERTICAL,
    FactTables,
    FailedSurfaces,
    Motors,
    Old,
    ScreenedUnits,
    ScreeningLimits,
    Surfaces,
)

pytestmark = pytest.mark.skipif(screening_kernel.numba is None, reason="there is no numba here")

MOTORS, UNITS, DRAWS, PLATES, VALUES, RULES = 9, 90, 9, 4, 6, 5
SPARE = len(STOPS) + ADAPTED  # bit of the task to install another capacitor size
LIMITS = ScreeningLimits(
    supply_voltage=0.02, question_risk=0.1, rejection_risk=0.5, ambient_excess=10.0, power=1.0,
    torque=0.0, near_flow=0.93, running_amps=0.1, capacitor_voltage=0.1, no_worse=0.05, even=0.5,
    likely=0.5,
)  # fmt: skip
LIGHTEST = 0.1
TERMS = [
    (0, 0, 0, 0),
    (1, 0, 0, 0),
    (0, 1, 0, 0),
    (0, 0, 1, 0),
    (0, 0, 0, 1),
    (1, 1, 0, 0),
    (0, 3, 2, 1),
]
FIRST = 5  # terms that a failed motor has for each draw
SHARES = (0.05, 0.5, 0.95)


def made_up():
    random = np.random.default_rng(11)
    unknown = np.nan

    def drawn(low, high, *shape):
        return random.uniform(low, high, shape)

    def surfaces(count, figures):
        usual = np.zeros((2, count, figures, len(TERMS), DRAWS))
        middles = np.zeros(7)
        middles[[RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN, INPUT]] = [
            np.log(48.0), 0.1, np.log(2.1e-4), np.log(1.8), np.log(340.0), np.log(3.4),
            np.log(330.0),
        ]  # fmt: skip
        usual[:, :, :, 0] = middles[:figures, None]
        spread = drawn(-0.12, 0.12, *usual.shape)
        spread[:, :, SLIP] /= 10
        cubic = np.array([[1], [0.2], [0.05], [0.01]])
        return Surfaces(
            terms=np.array(TERMS),
            coefficients=usual + spread,
            breakdown=drawn(2.2e-4, 3.2e-4, count, 4, DRAWS) * cubic,
            heaviest=drawn(1.8e-4, 3e-4, count, DRAWS),
            works=np.arange(count) != 4,
            voltage=np.array([[190.0, 250.0]] * count),
            air=np.array([10.0, 70.0]),
            log_cooling=np.log([1e-3, 2e-2]),
            lightest=LIGHTEST,
        )

    catalog = surfaces(MOTORS, 7)
    motors = Motors(
        voltage_low=random.choice([187.0, 207.0], MOTORS),
        voltage_high=random.choice([238.0, 253.0], MOTORS),
        synchronous=np.where(np.arange(MOTORS) == 3, 1080.0, 1200.0),
        works=catalog.works,
        ratings=np.array(
            [[186.0, 249.0, unknown], [249.0, 373.0, 560.0], [249.0, unknown, unknown]] * 3
        ),
        currents=drawn(1.3, 2.1, MOTORS, 3),
        ambient=random.choice([48.0, 60.0, unknown], MOTORS),
        winding=random.choice([90.0, 105.0, 125.0, unknown], MOTORS),
        capacitor=random.choice([300.0, 370.0, unknown], MOTORS),
        price=random.choice([80.0, 90.0, np.inf], MOTORS),
        place=random.permutation(MOTORS).astype(float),
    )
    cost = random.choice([0, 0, 0, 0, 1, NOT_FIT], (PLATES, MOTORS))
    old = Old(
        cost=cost,
        unlike=np.round(drawn(0.0, 1.0, PLATES, MOTORS), 1),
        failing=np.where(cost == NOT_FIT, random.integers(1, 2**RULES, cost.shape), 0),
        tasks=np.int64(2) ** (len(STOPS) + np.arange(PLATES * MOTORS) % RULES).reshape(cost.shape),
        rating_number=random.integers(0, 3, (PLATES, MOTORS)) % np.array([2, 3, 1] * 3),
        size_up=random.integers(0, 2, (PLATES, MOTORS)),
        same_size=random.integers(0, 2, (PLATES, MOTORS)),
        estimated=random.choice([0, 0, 0, 1], (PLATES, MOTORS)),
        ambient=np.array([unknown, 40.0, 60.0, 70.0]),
        winding=np.array([unknown, 90.0, 105.0, unknown]),
        trip=np.array([140.0, 165.0, 100.0, 165.0]),
        synchronous=np.array([1200.0, 1200.0, 1190.0, 1210.0]),
    )
    cost = random.choice([0, 0, 0, 0, 1, NOT_FIT], (MOTORS, VALUES))
    facts = FactTables(
        cost=cost,
        unlike=np.round(drawn(0.0, 0.4, MOTORS, VALUES), 1),
        failing=np.where(cost == NOT_FIT, random.integers(1, 2**RULES, cost.shape), 0),
        tasks=np.where(cost == 1, np.int64(2) ** (ADAPTED + len(STOPS)), 0),
        always=random.choice([0.0, 0.1], MOTORS),
    )
    low, high = drawn(185.0, 215.0, UNITS), drawn(220.0, 256.0, UNITS)
    measured = random.integers(0, 3, UNITS)
    low = np.where(measured == 1, high, low)
    units = ScreenedUnits(
        coefficient=drawn(0.9e-4, 2.3e-4, UNITS, 1) * drawn(0.8, 1.2, UNITS, DRAWS),
        speed_rpm=drawn(1040.0, 1110.0, UNITS, DRAWS),
        temp_air=drawn(35.0, 65.0, UNITS, 1) + drawn(-9.0, 9.0, UNITS, DRAWS),
        log_cooling=np.log(drawn(5e-4, 3e-2, UNITS, DRAWS)),
        temp_over=drawn(5.0, 12.0, UNITS, DRAWS),
        voltage=np.stack([0.96 * low, (low + high) / 2, 1.03 * high], axis=1),
        said=np.stack([low, high], axis=1),
        measured=measured,
        weather=random.random(UNITS) < 0.8,
        sideways=random.integers(0, 2, UNITS),
        old=random.integers(0, PLATES, UNITS),
        facts=random.integers(0, VALUES, (UNITS, 2)),
    )
    plates = surfaces(PLATES, 3)
    failed = FailedSurfaces(
        own=plates.coefficients[0, :, :, :FIRST],
        shared=np.concatenate(
            [drawn(0.0, 0.05, PLATES, 3, 1), plates.coefficients[0, :, :, FIRST:, 0]], axis=2
        ),
        **{
            name: getattr(plates, name)
            for name in FailedSurfaces._fields
            if name not in ("own", "shared")
        },
    )
    return catalog, failed, motors, units, old, facts


def coefficients(surfaces, units, m, u, figure, d):
    """One draw's coefficients. Those of a failed motor are partly the same for all draws, and the
    sun on an upright motor adds a constant."""
    if isinstance(surfaces, Surfaces):
        return surfaces.coefficients[units.sideways[u], m, figure, :, d]
    sun, *shared = surfaces.shared[m, figure]
    found = np.array([*surfaces.own[m, figure, :, d], *shared])
    found[0] += sun * (units.sideways[u] == VERTICAL)
    return found


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
        series[tuple(surfaces.terms.T)] = coefficients(surfaces, units, m, u, figure, d)
        for x in (at, load, air, cooling):
            series = np.polynomial.chebyshev.chebval(x, series)
        found.append(series)
    return np.array(found)


class Serves(NamedTuple):
    """A motor that serves a unit: its work, its key without the verdict, its figures, its tasks and
    its input power."""

    work: int
    key: tuple
    figures: list
    tasks: set
    power: float


def of_supply(motors, units, m, u):
    """What the supply costs, and whether it must be measured first."""
    (low, high), takes = units.said[u], (motors.voltage_low[m], motors.voltage_high[m])
    covered, usual = takes[0] <= low and high <= takes[1], (low + high) / 2
    if units.measured[u] == 0:
        apart = high < takes[0] or low > takes[1]
        return (0, False) if covered else (NOT_FIT, False) if apart else (1, True)
    if not 0.98 * takes[0] <= usual <= 1.02 * takes[1]:
        return NOT_FIT, False
    return int(not covered), False


def by_chance(risk, excused):
    """What a chance of 10 to 50 % costs, and one above that."""
    if risk <= 0.1 or (excused and risk <= 0.5):
        return 0
    return 1 if excused or risk <= 0.5 else NOT_FIT


def judged(catalog, failed, motors, units, old, facts, m, u):
    """How far a motor came (0 plain facts fail, 1 air, 2 load, 3 winding, 4 it serves), the rules
    that it fails on, and what it Serves."""
    at, number = units.old[u], old.rating_number[units.old[u], m]
    plain = [old.cost[at, m], *facts.cost[m, units.facts[u]]]
    supply, measure = of_supply(motors, units, m, u)
    bits = [old.failing[at, m], *facts.failing[m, units.facts[u]]]
    failing = [len(STOPS) + r for r in range(RULES) if any(int(b) >> r & 1 for b in bits)]
    failing += [STOPS.index("voltage")] * (supply == NOT_FIT)
    if not motors.works[m]:
        return 0, [LISTED], None
    if NOT_FIT in plain or supply == NOT_FIT:
        return 0, failing, None
    work = sum(map(int, plain)) + supply

    air, limit, like = units.temp_air[u], motors.ambient[m], motors.ambient[m] >= old.ambient[at]
    risk = np.mean(air > limit)
    hot_air = 1 if np.isnan(limit) else by_chance(risk, like)
    if not np.isnan(limit) and risk > 0.5:
        if not units.weather[u]:
            hot_air = 1 - like
        elif like and np.median(air) > limit + 10:
            hot_air = NOT_FIT
    if hot_air == NOT_FIT:
        return 0, [STOPS.index("ambient rating")], None

    speed = units.speed_rpm[u] * 2 * np.pi / 60
    torque = units.coefficient[u] * speed**2
    need = 0 if old.same_size[at, m] else np.mean(torque * speed > motors.ratings[m, number])
    if need > 0.5:
        return 1, [STOPS.index("shaft power")], None
    work += int(hot_air) + int(old.estimated[at, m] or need > 0.1)

    def new(figure, volts):
        return polynomial(catalog, units, m, u, figure, volts)

    def was(figure, volts):
        return polynomial(failed, units, at, u, figure, volts)

    low, usual, _ = units.voltage[u]
    starts, started = (np.mean(units.coefficient[u] < np.exp(f(LOAD, low))) for f in (new, was))
    worst = 1 if measure else NOT_FIT
    starting = 0 if starts >= 0.9 or starts >= started - 0.05 else 1 if starts >= 0.5 else worst
    if starting == NOT_FIT:
        return 1, [STOPS.index("starting on low voltage")], None
    ratio = (1 - new(SLIP, usual)) * motors.synchronous[m]
    flow = np.median(ratio / ((1 - was(SLIP, usual)) * old.synchronous[at]))
    short = 0 if flow >= 0.93 else worst
    if short == NOT_FIT:
        return 1, [STOPS.index("airflow")], None
    winding, before = (air + np.exp(f(RISE, usual)) for f in (new, was))
    limit, own = motors.winding[m], old.winding[at]
    risk, old_risk = np.mean(winding > limit), np.mean(before > (limit if np.isnan(own) else own))
    like = risk <= old_risk + 0.05 and np.mean(before > old.trip[at]) <= 0.5
    hot = 1 if np.isnan(limit) else min(by_chance(risk, like), worst)
    if hot == NOT_FIT:
        return 2, [STOPS.index("winding temperature")], None

    current, volts = np.exp(new(CURRENT, usual)), np.exp(np.median(new(CAPACITOR, usual)))
    over = np.mean(current > 1.1 * motors.currents[m, number]) > 0.5
    work += starting + short + hot + int(over) + int(volts > 1.1 * motors.capacitor[m])
    reserve = np.median(np.exp(new(BREAKDOWN, low)) / torque)
    bands = [*np.quantile(current, SHARES), *np.quantile(winding, SHARES)]
    margin = limit - bands[4]
    cool = np.inf if np.isnan(margin) else -np.rint(margin / 5)
    unlike = facts.always[m] + old.unlike[at, m] + facts.unlike[m, units.facts[u]].sum()
    set_by = {"voltage": supply, "ambient rating": hot_air, "starting on low voltage": starting,
              "airflow": short, "winding temperature": hot,
              "shaft power": old.estimated[at, m] or need > 0.1}  # fmt: skip
    tasks = {STOPS.index(name) for name, cost in set_by.items() if cost}
    tasks |= {RUNNING_AMPS} if over else set()
    tasks |= {CAPACITOR_VOLTAGE + ADAPTED} if volts > 1.1 * motors.capacitor[m] else set()
    plain = [int(old.tasks[at, m]), *map(int, facts.tasks[m, units.facts[u]])]
    tasks |= {bit for bit in range(63) if any(one >> bit & 1 for one in plain)}
    spare = SPARE in tasks
    price = motors.price[m]
    key = (work > 0, old.size_up[at, m], np.isinf(price), work - spare, round(100 * unlike), cool, price,
           motors.place[m])  # fmt: skip
    power = np.mean(np.exp(new(INPUT, usual)))
    return 3, [], Serves(work, key, [*bands, margin, reserve, flow, volts], tasks, power)


def check_nearest(best, u, failing, served, works):
    """Without a motor, the nearest one is known by its rules: one of the load's, or the fewest."""
    if served:
        assert best.nearest[u] == -1 and best.obstacles[u] == 0
        return
    nearest, mask = int(best.nearest[u]), int(best.obstacles[u])
    assert {bit for bit in range(63) if mask >> bit & 1} == set(failing[nearest])
    able = [rules for rules, can in zip(failing, works, strict=True) if can]
    plain = {STOPS.index("voltage"), *range(len(STOPS), len(STOPS) + RULES)}
    if any(not plain & set(rules) for rules in able):
        assert not plain & set(failing[nearest])
    else:
        assert len(failing[nearest]) == min(map(len, able))


def test_each_unit_and_motor_again(road):
    told = made_up()
    catalog, failed, motors, units, old, facts = told
    best, options = screening_kernel.screen(
        catalog, failed, motors, units, old, facts, LIMITS, RULES, SPARE
    )
    came, served, stopped = np.zeros(4, dtype=int), 0, set()
    for u in range(UNITS):
        found = [judged(*told, m, u) for m in range(MOTORS)]
        far = np.array([one[0] for one in found])
        came += np.bincount(far, minlength=4)
        serving = [m for m in range(MOTORS) if found[m][2]]
        work = np.array([found[m][2].work for m in serving])
        counts = np.sum(work == 0), np.sum(work > 0), np.sum(far >= 1), np.sum(far >= 2)
        assert counts == tuple(best.counts[u])

        first = sorted(serving, key=lambda m, found=found: found[m][2].key)[:BEST]
        assert best.motor[u].tolist() == [*first, *[-1] * (BEST - len(first))]
        assert best.work[u, : len(first)].tolist() == [found[m][2].work for m in first]
        numbers = [old.rating_number[units.old[u], m] for m in first]
        assert best.rating_number[u, : len(first)].tolist() == numbers
        served += len(first) > 1
        assert np.flatnonzero(options.work[u] < NOT_FIT).tolist() == serving
        assert options.work[u, serving].tolist() == work.tolist()
        power = [found[m][2].power for m in serving]
        np.testing.assert_allclose(options.power[u, serving], power, rtol=1e-5)
        for place, m in enumerate(first):
            mask = int(best.tasks[u, place])
            assert {bit for bit in range(63) if mask >> bit & 1} == found[m][2].tasks
        rules = [rule for _, failing, _ in found for rule in failing]
        check_nearest(best, u, [one[1] for one in found], bool(first), motors.works)
        stopped |= set(rules)
        expected = np.bincount(rules, minlength=len(STOPS) + RULES) * (not first)
        assert best.failing[u].tolist() == expected.tolist()
        for place, m in enumerate(first):
            figures = found[m][2].figures
            np.testing.assert_allclose(best.figures[u, place], figures, rtol=5e-5, atol=1e-4)
            what, by = "results of the best motors", "each motor by NumPy's quantiles and series"
            ours, theirs = best.figures[u, place, :6], figures[:6]
            road("screening_kernel", what, ours, theirs, by=by, within=5e-5)
    assert np.all(came > 15) and served > 10, came  # each step decided for some
    unset = {STOPS.index("torque")}  # stops a motor only if an engineer sets a margin
    assert stopped == set(range(len(STOPS) + RULES)) - unset
