"""Find the smallest set of motor models that covers a fleet, and budget replacements by year.

The smallest set of models is found by solving a set-covering problem with HiGHS, after removing the
rows that cannot change the result. HiGHS stops after a fixed number of nodes, not after a fixed
time, so that every computer finds the same plan. The shorter of its list and that of a greedy
search is used, and compared with the proven minimum number of models. From a short list, each unit
is assigned the motor that requires the least work or, if several require the same work, the one
with the lowest energy use.

The budget assumes that a motor is replaced when it fails, and that its life has the same Weibull
distribution as the observed life of similar motors (`business.costs`). If the table lists the age
of a unit, its motor is assumed to have been replaced at each failure, so the motor may be newer
than the unit. The average failure rate is assumed for a unit of unknown age.
"""

from collections import Counter
from math import ceil, gamma
from typing import NamedTuple

import numpy as np
import scipy  # loads scipy.optimize and scipy.sparse on first use, which takes 0.5 s

from airover.business import fleet_lives
from airover.business.costs import SHAPES, SURVIVORS, completed, life_at, weibull_scale
from airover.business.fleet_files import part_table, places_of, rows_in
from airover.core.errors import InputError
from airover.core.intervals import Band, normal_draws, uniform
from airover.model.simulation import SAMPLES
from airover.records.company import CostBasis
from airover.selection.screening import ADAPTED

YEARS = 10
OLDEST = 40  # years; older motors are counted with these
UNKNOWN = "unknown"  # age
MOST_UNITS = 1_000_000  # for the list of standard motors, to limit memory use
MOST_SETS = 20_000  # distinct sets of motors for the exact solution
MOST_ROWS = 1000  # remaining sets for the exact solution, which then takes at most about 10 s
NODES = 25  # branch-and-bound nodes after which HiGHS stops
SHAPE = SHAPES["bearing"]
EACH = ("labour_rate", "labour_hours", "visit_price", "second_visits", "capacitor_price")


def fitting_file(number: int) -> str:
    """Return the name of the file with every motor that fits each unit of a part."""
    return f"options-{number:05d}.parquet"


def counted(screened, age, motors) -> dict:
    """Return the counts for one part, which are summed over a fleet.

    The result contains the number of units for each bit mask of the rules. For each age, it
    contains the number of units with a motor, how many of these have a price, the sum of the
    prices, the number with a capacitor, and the number of units without a motor.
    """
    best = screened.best
    none = best.motor[:, 0] < 0
    tasks = best.tasks[~none, 0]
    masks = {
        "obstacles": best.obstacles[none],
        "adapt": tasks >> ADAPTED,
        "find out": tasks & ((1 << ADAPTED) - 1),
    }
    found = {
        name: {str(mask): count for mask, count in sorted(Counter(values.tolist()).items()) if mask}
        for name, values in masks.items()
    }
    price = np.array([np.nan if one.price is None else one.price for one in motors])
    run = np.array([one.capacitor is not None for one in motors])
    number, ages = best.motor[:, 0], _ages(age[screened.taken])
    found["ages"] = {}
    for one in np.unique(ages).tolist():
        motor = number[(ages == one) & ~none]
        cost = price[motor]
        found["ages"][UNKNOWN if one < 0 else str(one)] = [
            len(motor),
            int(np.isfinite(cost).sum()),
            float(np.nansum(cost)),
            int(run[motor].sum()),
            int(((ages == one) & none).sum()),
        ]
    return found


def _ages(age) -> np.ndarray:
    """Return the age in whole years, or -1 if the age is unknown or impossible."""
    known = (age >= 0) & (age < 100)
    return np.where(known, np.minimum(np.where(known, age, 0), OLDEST), -1).astype(int)


def renewals_from(age: float | None, scale) -> np.ndarray:
    """Return the expected number of motor failures in one unit by the end of each year.

    Parameters
    ----------
    age : float or None
        Age of the unit [years], or None if it is not known. The failure rate is then the average.
    scale : ndarray
        Weibull scale [years], shape (samples,).

    Returns
    -------
    ndarray
        Shape (YEARS + 1, samples).
    """
    time = np.arange(YEARS + 1)[:, None]
    if age is None:
        return time / (scale * gamma(1 + 1 / SHAPE))
    before = fleet_lives.renewals(age / scale, SHAPE)
    return fleet_lives.renewals((age + time) / scale, SHAPE) - before


def budget(plans: list[dict], motors) -> dict:
    """Return, as bands, the number of motors to replace in each year and their cost.

    Parameters
    ----------
    plans : list[dict]
        Results of `counted`.
    """
    total = {}
    for plan in plans:
        for age, values in plan["ages"].items():
            total[age] = np.add(total.get(age, np.zeros(5)), values)
    currency = next((one.currency for one in motors if one.price is not None), "")
    try:
        basis = completed(CostBasis(), currency or "USD")
    except InputError:
        basis = None  # the default prices of labor are in another currency
    z = normal_draws(np.random.default_rng([0, 23]), ("life", *EACH), SAMPLES)
    scale = weibull_scale(life_at(fleet_lives.SERVICE, z["life"]), SURVIVORS["ball"], SHAPE)
    work, capacitor = np.zeros(SAMPLES), np.zeros(SAMPLES)
    if basis is not None:
        each = {
            name: uniform((getattr(basis, name).low, getattr(basis, name).high), z[name])
            for name in EACH
        }
        work = each["labour_rate"] * each["labour_hours"]
        work += each["visit_price"] * (1 + each["second_visits"])
        capacitor = each["capacitor_price"]
    failures, cost, uncovered = np.zeros((3, YEARS, SAMPLES))
    for age, (units, priced, prices, with_capacitor, without) in sorted(total.items()):
        yearly = np.diff(renewals_from(None if age == UNKNOWN else int(age) + 0.5, scale), axis=0)
        failures += yearly * units
        uncovered += yearly * without
        motor = units * prices / priced if priced else 0.0
        cost += yearly * (motor + units * work + with_capacitor * capacitor)
    units = sum(int(one[0]) for one in total.values())
    unknown = total.get(UNKNOWN, np.zeros(5))
    return {
        "currency": currency,
        "with_labor": basis is not None,
        "units": units,
        "units_without_age": int(unknown[0]),
        "units_without_price": units - sum(int(one[1]) for one in total.values()),
        "years": [
            {
                "year": year + 1,
                "replacements": _band(failures[year]),
                "cost": _band(cost[year]),
                "failures_without_motor": _band(uncovered[year]),
            }
            for year in range(YEARS)
        ],
        "all_years": {"replacements": _band(failures.sum(0)), "cost": _band(cost.sum(0))},
    }


def _band(samples) -> dict[str, float]:
    ends = zip(Band._fields, Band.of(samples), strict=True)
    return {name: float(f"{end:.6g}") for name, end in ends}


class Pairs(NamedTuple):
    """Motors that fit each unit, shape (pairs,), and its first-ranked motor, shape (units,).

    The pairs are in the order of the units, and the motors of a unit in the order of the catalog.
    """

    unit: np.ndarray
    motor: np.ndarray
    work: np.ndarray
    energy: np.ndarray
    first: np.ndarray

    def table(self, motors: int, kept=slice(None)):
        """Return a sparse array of units by motors with 1 for each pair that is ``kept``."""
        unit, motor = self.unit[kept], self.motor[kept].astype(np.int32)
        ends = np.cumsum(np.bincount(unit, minlength=len(self.first)), dtype=np.int32)
        ones, starts = np.ones(len(unit), np.int32), np.append(np.int32(0), ends)
        return scipy.sparse.csr_array((ones, motor, starts), (len(self.first), motors))


def standard(folder, numbers, motors) -> dict:
    """Return the smallest set of motors that covers the units, and data about shorter lists.

    Parameters
    ----------
    folder
        Folder of the run.
    numbers
        Numbers of the parts.

    Raises
    ------
    InputError
        If a file of a part cannot be read.
    """
    pairs = _pairs(folder, numbers, motors)
    if not len(pairs.first):
        return {"units": 0, "first_choices": 0, "fewest": 0, "proven": True, "lists": []}
    order = _greedy(pairs, np.arange(len(motors)), motors)
    fewest, least = _fewest(pairs, motors)
    if fewest and len(fewest) < len(order):
        order = _greedy(pairs, fewest, motors)
    return {
        "units": len(pairs.first),
        "first_choices": len(np.unique(pairs.first)),
        "fewest": len(order),
        "proven": len(order) <= least,
        "lists": _lists(pairs, order, motors),
    }


def _pairs(folder, numbers, motors) -> Pairs:
    """Return the motors that fit each unit (if any), for up to about MOST_UNITS units."""
    names = [one.name for one in motors]
    firsts, counts, start = [], [], 0
    for number in numbers:
        if start >= MOST_UNITS:
            break
        first = part_table(folder / f"part-{number:05d}.parquet", ["motor_1"])["motor_1"]
        firsts.append(places_of(first, names).astype(np.int16))
        counts.append(rows_in(folder / fitting_file(number)))
        start += int((firsts[-1] >= 0).sum())
    ends = np.cumsum([0, *counts])
    found = [np.empty(ends[-1], kind) for kind in (np.int32, np.int16, np.int8, np.float32)]
    start = 0
    for number, first, low, high in zip(numbers, firsts, ends[:-1], ends[1:], strict=False):
        pairs = part_table(folder / fitting_file(number))
        place = np.cumsum(first >= 0, dtype=np.int32) - 1 + start  # units without one are left out
        found[0][low:high] = place[pairs["row"].to_numpy()]
        for whole, name in zip(found[1:], ("motor", "work", "kwh_per_year"), strict=True):
            whole[low:high] = pairs[name].to_numpy()
        start += int((first >= 0).sum())
    first = np.concatenate(firsts)
    return Pairs(*found, first[first >= 0])


def _greedy(pairs: Pairs, allowed, motors) -> list[int]:
    """Return motors that cover all units, always adding the motor that covers the most new units.

    Ties are broken by the number of units that a motor fits as is.
    """
    fits, as_is = pairs.table(len(motors)), pairs.table(len(motors), pairs.work == 0)
    left, order = np.ones(len(pairs.first), np.int32), []
    able = np.isin(np.arange(len(motors)), allowed)
    while True:
        gain = np.where(able, fits.T @ left, 0)
        if not gain.any():
            return order
        equal = np.flatnonzero(gain == gain.max())
        if len(equal) > 1:
            equal = equal[np.argsort((as_is.T @ left)[equal], kind="stable")]
        order.append(int(equal[-1]))
        left[pairs.unit[pairs.motor == equal[-1]]] = 0


def _fewest(pairs: Pairs, motors) -> tuple[list[int], int]:
    """Return the smallest set of motors found that covers all units, and the proven minimum number.

    The set is empty if the problem is too large or if HiGHS finds none.
    """
    rows = pairs.table(len(motors))
    met = set()
    for at in range(0, rows.shape[0], 50_000):
        packed = np.packbits(rows[at : at + 50_000].toarray() > 0, axis=1)
        met.update(packed.view(f"V{packed.shape[1]}").ravel().tolist())
    if len(met) > MOST_SETS:
        return [], 1
    packed = np.frombuffer(b"".join(sorted(met)), np.uint8).reshape(len(met), -1)
    sets = np.unpackbits(packed, axis=1, count=len(motors)).astype(bool)
    kept = np.empty((0, len(motors)), bool)
    for one in sets[np.argsort(sets.sum(axis=1), kind="stable")]:
        if not (kept <= one).all(axis=1).any():  # a smaller set is already covered
            kept = np.vstack([kept, one])
    if len(kept) > MOST_ROWS:
        return [], 1
    as_is = np.bincount(pairs.motor[pairs.work == 0], minlength=len(motors))
    cost = 1 - as_is / (as_is.sum() + 1) / 2  # among equally short lists, the one with less work
    found = scipy.optimize.milp(
        cost,
        integrality=np.ones(len(motors)),
        bounds=(0, 1),
        constraints=scipy.optimize.LinearConstraint(
            scipy.sparse.csr_array(kept.astype(float)), lb=1
        ),
        options={"node_limit": NODES, "mip_rel_gap": 0.0},
    )
    # All reductions in cost together are less than one motor, so the bound rounds up to a count.
    least = ceil(found.mip_dual_bound - 1e-6)
    return [] if found.x is None else np.flatnonzero(found.x > 0.5).tolist(), least


def _of_first(pairs: Pairs):
    """Return the work and the energy [kWh/year] for each unit with its first-ranked motor."""
    work, energy = np.zeros((2, len(pairs.first)))
    at = pairs.motor == pairs.first[pairs.unit]
    work[pairs.unit[at]], energy[pairs.unit[at]] = pairs.work[at], pairs.energy[at]
    return work, energy


def _lists(pairs: Pairs, order: list[int], motors) -> list[dict]:
    """Return the coverage and the cost of the lists of the first, the first two, ... motors.

    Each motor on a list takes over the units for which it requires less work or, with the same
    work, less energy.
    """
    before = _of_first(pairs)
    price = np.array([np.nan if one.price is None else one.price for one in motors])
    best = np.full(len(pairs.first), -1, np.int32)  # pair of each unit
    work = np.full(len(best), np.inf, np.float32)
    energy = np.full(len(best), np.inf, pairs.energy.dtype)
    lists = []
    for at, motor in enumerate(order, 1):
        own = np.flatnonzero(pairs.motor == motor)
        unit = pairs.unit[own]
        same_work = pairs.work[own] == work[unit]
        better = (pairs.work[own] < work[unit]) | (same_work & (pairs.energy[own] < energy[unit]))
        better |= same_work & (pairs.energy[own] == energy[unit]) & (own < best[unit])
        own, unit = own[better], unit[better]
        best[unit], work[unit], energy[unit] = own, pairs.work[own], pairs.energy[own]
        lists.append(_list(pairs, best, order[:at], before, motors, price))
    return lists


def _list(pairs: Pairs, best, chosen: list[int], before, motors, price) -> dict:
    """Return the coverage and the cost of a list of motors with the ``best`` pair of each unit."""
    unit = np.flatnonzero(best >= 0)
    best = best[unit]
    work, energy = (one[unit] for one in before)
    served = np.bincount(pairs.motor[best], minlength=len(motors))
    more = np.nansum(price[pairs.motor[best]]) - np.nansum(price[pairs.first[unit]])
    return {
        "motors": len(chosen),
        "added": motors[chosen[-1]].name,
        "units": len(unit),
        "share": float(f"{len(unit) / len(pairs.first):.6g}"),
        "fits": int((pairs.work[best] == 0).sum()),
        "more_with_work": int(((pairs.work[best] > 0) & (work == 0)).sum()),
        "kwh_more_per_year": float(f"{float(np.sum(pairs.energy[best] - energy)):.6g}"),
        "price_more": float(f"{float(more):.6g}"),
        "units_by_motor": {motors[one].name: int(served[one]) for one in chosen},
    }
