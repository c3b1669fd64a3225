"""A fleet's plan against brute force and simulation, and its report."""

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import linprog

from airover.business import fleet_plan, fleet_units
from airover.business.fleet_plan import Pairs
from airover.core.texts import Writer
from airover.selection import rules
from airover.selection.check import ADAPT, FAIL, MISSING
from airover.selection.screening import CAPACITOR_VOLTAGE, RUNNING_AMPS

pa = pytest.importorskip("pyarrow")


def invented(rng, units: int, motors: int) -> Pairs:
    """Random fitting motors, at least one for each unit."""
    fits = rng.random((units, motors)) < 0.25
    fits[np.arange(units), rng.integers(motors, size=units)] = True
    unit, motor = np.nonzero(fits)
    first = np.array([rng.choice(np.flatnonzero(row)) for row in fits])
    return Pairs(
        unit, motor, rng.integers(0, 3, len(unit)), rng.uniform(500, 900, len(unit)), first
    )


def catalog(count: int):
    return [SimpleNamespace(name=f"M{number}", price=100.0 + number) for number in range(count)]


@pytest.mark.parametrize("seed", range(8))
def test_the_fewest_motors_by_brute_force(seed):
    pairs, motors = invented(np.random.default_rng(seed), 30, 9), catalog(9)
    fits = pairs.table(9).toarray() > 0
    least = next(
        count
        for count in range(1, 10)
        if any(
            fits[:, list(some)].any(axis=1).all()
            for some in itertools.combinations(range(9), count)
        )
    )
    found, proven = fleet_plan._fewest(pairs, motors)
    assert len(found) == least == proven and fits[:, found].any(axis=1).all()
    greedy = fleet_plan._greedy(pairs, np.arange(9), motors)
    assert fits[:, greedy].any(axis=1).all() and len(greedy) >= least


def test_a_hard_list_is_repeatable_and_not_shorter_than_proven():
    """HiGHS does not finish such a list; it stops at a node, not at a time."""
    pairs, motors = invented(np.random.default_rng(2), 150, 40), catalog(40)
    found, least = fleet_plan._fewest(pairs, motors)
    fits = pairs.table(40).toarray() > 0
    assert fits[:, found].any(axis=1).all()
    relaxed = linprog(np.ones(40), -fits.astype(float), -np.ones(150), bounds=(0, 1)).fun
    assert relaxed - 1 < least <= len(found)
    assert fleet_plan._fewest(pairs, motors) == (found, least)
    greedy = fleet_plan._greedy(pairs, np.arange(40), motors)
    assert len(found) <= len(greedy)


def test_a_short_list_by_hand():
    """Unit 0 takes M0 as is or M1 with work; unit 1 only M1."""
    pairs = Pairs(
        unit=np.array([0, 0, 1]), motor=np.array([0, 1, 1]), work=np.array([0, 2, 1]),
        energy=np.array([700.0, 650.0, 800.0]), first=np.array([0, 1]),
    )  # fmt: skip
    motors = catalog(2)
    one, both = fleet_plan._lists(pairs, [1, 0], motors)
    assert (one["units"], one["share"], one["fits"], one["more_with_work"]) == (2, 1.0, 0, 1)
    assert one["kwh_more_per_year"] == -50.0 and one["price_more"] == 1.0
    assert (both["fits"], both["more_with_work"], both["kwh_more_per_year"]) == (1, 0, 0.0)


@pytest.mark.parametrize("seed", range(3))
def test_each_list_gives_every_unit_its_easiest_motor(seed):
    """Some pairs need equal work and equal energy: the first motor in the catalog is taken."""
    rng = np.random.default_rng(seed)
    pairs, motors = invented(rng, 60, 9), catalog(9)
    pairs = pairs._replace(energy=np.round(pairs.energy, -2))
    order = fleet_plan._greedy(pairs, np.arange(9), motors)
    for at, found in enumerate(fleet_plan._lists(pairs, order, motors), 1):
        taken, work, energy = [], [], []
        for unit in range(60):
            able = [pair for pair in np.flatnonzero(pairs.unit == unit)
                    if pairs.motor[pair] in order[:at]]  # fmt: skip
            if able:
                best = min(able, key=lambda p: (pairs.work[p], pairs.energy[p], pairs.motor[p]))
                first = (pairs.unit == unit) & (pairs.motor == pairs.first[unit])
                taken.append(motors[pairs.motor[best]].name)
                work.append((pairs.work[best] > 0) & (pairs.work[first][0] == 0))
                energy.append(pairs.energy[best] - pairs.energy[first][0])
        wanted = {motors[one].name: taken.count(motors[one].name) for one in order[:at]}
        assert found["units_by_motor"] == wanted and found["units"] == len(taken)
        assert found["more_with_work"] == sum(work)
        assert found["kwh_more_per_year"] == pytest.approx(sum(energy), rel=1e-5)


@pytest.mark.parametrize("age", [0.0, 6.0, 25.0])
def test_renewals_from_an_age_against_a_simulation(age):
    rng = np.random.default_rng(3)
    scale, shape = 12.0, fleet_plan.SHAPE
    ends = np.cumsum(scale * rng.weibull(shape, (40_000, 14)), axis=1)
    years = range(fleet_plan.YEARS + 1)
    wanted = [((ends > age) & (ends <= age + year)).sum(axis=1).mean() for year in years]
    found = fleet_plan.renewals_from(age, np.array([scale]))[:, 0]
    assert found == pytest.approx(wanted, abs=0.012)


def plan(ages: dict) -> dict:
    return {"ages": ages}


def test_old_motors_cost_more_in_the_first_years():
    motors = [SimpleNamespace(price=200.0, currency="USD")]
    old = fleet_plan.budget([plan({"18": [100, 100, 20_000.0, 100, 4]})], motors)
    new = fleet_plan.budget([plan({"1": [100, 100, 20_000.0, 100, 0]})], motors)
    first = [one["years"][0]["cost"]["mid"] for one in (old, new)]
    assert first[0] > 3 * first[1]
    assert old["years"][0]["failures_without_motor"]["mid"] > 0
    split = [plan({"18": [60, 60, 12_000.0, 60, 4]}), plan({"18": [40, 40, 8_000.0, 40, 0]})]
    assert fleet_plan.budget(split, motors) == old
    # Each replacement costs the motor, a capacitor, labor and visits, as in the stated ranges.
    each = old["all_years"]["cost"]["mid"] / old["all_years"]["replacements"]["mid"]
    assert 200 + 12 + 85 * 1.5 + 60 * 1.15 < each < 200 + 30 + 135 * 2.5 + 120 * 1.45


def test_a_catalog_in_another_currency_has_no_labor():
    motors = [SimpleNamespace(price=200.0, currency="MXN")]
    found = fleet_plan.budget([plan({"unknown": [10, 5, 1000.0, 10, 0]})], motors)
    assert not found["with_labor"] and found["currency"] == "MXN"
    assert (found["units_without_age"], found["units_without_price"]) == (10, 5)
    each = found["all_years"]["cost"]["mid"] / found["all_years"]["replacements"]["mid"]
    assert each == pytest.approx(200.0, rel=1e-5)


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_obstacle_and_every_task_has_words(language):
    writer = Writer(language)
    for rule in rules.RULES:
        states = set(rule.states.values())
        for state, table in ((FAIL, "obstacle"), (ADAPT, "adapt"), (MISSING, "find_out")):
            if state in states:
                assert writer(f"fleet.{table}.{rule.name}")
                assert rule.name in fleet_units.TASKS.values()
    assert min(RUNNING_AMPS, CAPACITOR_VOLTAGE) >= len(fleet_units.REASONS)
