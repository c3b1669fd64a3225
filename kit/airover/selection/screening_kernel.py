"""Screen a fleet in compiled code by evaluating motor polynomials for many units.

For each motor and sample, polynomials represent the values that were simulated with a cube-law fan
(`business.fleet_response`). The polynomials are evaluated at each unit's voltage, load, air
temperature and cooling, and the results are compared with the limits. The outer loop runs over the
motors, so that the polynomials of one motor stay in the cache. For the same reason, coefficients
and terms have single precision, which is much more accurate than the polynomials. The code uses one
core.

The rules for voltage, load and heat are implemented here a second time in a faster form. Tests
compare them with `selection.rules`.
"""

import math
from typing import NamedTuple

import numpy as np

from airover.physics.air import ZERO_CELSIUS
from airover.physics.machine_code import compiling
from airover.selection.screening import (
    ADAPTED,
    AIRFLOW,
    AMBIENT,
    BEST,
    BREAKDOWN,
    CAPACITOR,
    CAPACITOR_VOLTAGE,
    CURRENT,
    HORIZONTAL,
    INPUT,
    LISTED,
    LOAD,
    MEASURE,
    NOT_FIT,
    REACH,
    RISE,
    RUNNING_AMPS,
    SHAFT_POWER,
    SLIP,
    STARTING,
    STOPS,
    TORQUE,
    VERTICAL,
    VOLTAGE,
    WINDING,
    Best,
    FactTables,
    FailedSurfaces,
    Motors,
    Old,
    Options,
    ScreenedUnits,
    ScreeningLimits,
    Surfaces,
)

try:
    import numba
except ModuleNotFoundError:
    numba = None

# constants in single precision, because compiled code would calculate with others in double precision
ONE, TWO = np.float32(1), np.float32(2)
LOG2_E, LN_2, MOST_LOG = np.float32(1 / math.log(2)), np.float32(math.log(2)), np.float32(80)
E2, E3, E4, E5, E6 = (np.float32(1 / math.factorial(n)) for n in range(2, 7))
SHARES = (0.05, 0.5, 0.95)  # of the percentiles
STEP_MARGIN = 5.0  # K, as in `selection.rules.ranking`
SLACK = np.float32(1e-5)  # covers the rounding of sums in single precision
ROUNDING = np.float32(1.5 * 2**23)  # a number to which this is added has no fraction left
_FLAGS = {"error_model": "numpy", "fastmath": {"contract"}, "cache": True}


def _jit(function):
    return numba.njit(**_FLAGS)(function) if numba else function


def _jit_sums(function):
    """Compile a function that adds in any order, which is faster."""
    flags = _FLAGS | {"fastmath": {"contract", "reassoc"}}
    return numba.njit(**flags)(function) if numba else function


@_jit
def _compared(values, limit):
    """Return 1, 0 or -1 if the median of ``values`` is above, at or below ``limit``.

    The median is calculated only if counting the values is not sufficient.
    """
    above, below, limit = 0, 0, np.float32(limit)
    for value in values:
        above += value > limit
        below += value < limit
    low = (len(values) - 1) // 2
    if above >= len(values) - low:
        return 1
    if below >= low + 2:
        return -1
    median = np.median(values)
    return int(median > limit) - int(median < limit)


@_jit
def _near(x):
    return min(max(x, -ONE), ONE)


@_jit
def _load_scale(ratio):
    """Return the ratio of slip to breakdown slip at a fraction of breakdown torque (Kloss)."""
    return (ONE - math.sqrt(ONE - ratio * ratio)) / ratio


class _Scratch(NamedTuple):
    """Arrays in which polynomials are evaluated, in single precision.

    Attributes
    ----------
    run : ndarray
        Number of the run of terms to which each term belongs. The terms of a run differ only in the
        degree of the voltage.
    starts : ndarray
        First term of each run.
    early : int
        Number of the first terms, which depend on the voltage and the load alone.
    beyond : ndarray
        Largest contribution of the other terms to a figure, or for LOAD of all terms except the
        constant, shape (figures, samples).
    cold : ndarray
        Breakdown polynomials of the motor over its maximum load, shape (4, samples).
    inverse : ndarray
        Inverse of the maximum load, shape (samples,).
    voltages, loads, airs, coolings : ndarray
        Chebyshev polynomials, shape (degrees,) for the voltage, else (degrees, samples).
    sides : ndarray
        Products for air and cooling, shape (air degrees, cooling degrees, samples).
    factors : ndarray
        Factor of the voltage in each term.
    basis : ndarray
        The other factors of each run, shape (runs, samples).
    values : ndarray
        Results, shape (figures, samples).
    whole, powers : ndarray
        The same memory as integers and as numbers, for `_exponentials`.
    """

    run: np.ndarray
    starts: np.ndarray
    early: int
    beyond: np.ndarray
    cold: np.ndarray
    inverse: np.ndarray
    voltages: np.ndarray
    loads: np.ndarray
    airs: np.ndarray
    coolings: np.ndarray
    sides: np.ndarray
    factors: np.ndarray
    basis: np.ndarray
    values: np.ndarray
    whole: np.ndarray
    powers: np.ndarray


@_jit
def _scratch_of(terms, samples):
    run = np.zeros(len(terms), np.int64)
    for t in range(1, len(terms)):
        run[t] = run[t - 1] + np.any(terms[t, 1:] != terms[t - 1, 1:])
    starts = np.flatnonzero(np.append(True, run[1:] != run[:-1]))
    early = 0
    while early < len(terms) and terms[early, 2] == 0 and terms[early, 3] == 0:
        early += 1
    degrees = [max(terms[:, place].max(), 1) + 1 for place in range(4)]
    whole = np.empty(samples, np.int32)
    return _Scratch(
        run,
        starts,
        early,
        np.empty((INPUT + 1, samples), np.float32),
        np.empty((4, samples), np.float32),
        np.empty(samples, np.float32),
        np.empty(degrees[0], np.float32),
        np.empty((degrees[1], samples), np.float32),
        np.empty((degrees[2], samples), np.float32),
        np.empty((degrees[3], samples), np.float32),
        np.empty((degrees[2], degrees[3], samples), np.float32),
        np.empty(len(terms), np.float32),
        np.empty((run[-1] + 1, samples), np.float32),
        np.empty((INPUT + 1, samples), np.float32),
        whole,
        whole.view(np.float32),
    )


@_jit
def _scaled(value, ends, out):
    """Map ``value`` from the range ``ends`` to [-1, 1] and write it to ``out``."""
    start, slope = np.float32(ends[0]), np.float32(2 / (ends[1] - ends[0]))
    for d in range(len(out)):
        out[d] = _near((np.float32(value[d]) - start) * slope - ONE)


@_jit
def _sides(air, cooling, scratch):
    """Calculate the factors of the polynomial terms that depend on air and cooling alone.

    Parameters
    ----------
    air, cooling
        Air temperature and log cooling, mapped to [-1, 1] by `_scaled`.
    """
    _chebyshev(air, scratch.airs)
    _chebyshev(cooling, scratch.coolings)
    for k in range(scratch.sides.shape[0]):
        for m in range(scratch.sides.shape[1]):
            out, airs, coolings = scratch.sides[k, m], scratch.airs[k], scratch.coolings[m]
            for d in range(len(out)):
                out[d] = airs[d] * coolings[d]


@_jit
def _chebyshev(x, table):
    """Calculate the Chebyshev polynomials of ``x``, shape (degrees, samples)."""
    table[0] = ONE
    table[1] = x
    for n in range(2, len(table)):
        before, last, out = table[n - 2], table[n - 1], table[n]
        for d in range(len(out)):
            out[d] = TWO * x[d] * last[d] - before[d]


@_jit
def _motor(surfaces, motor, scratch):
    """Read the maximum loads of one motor."""
    cold, heaviest, inverse = surfaces.breakdown[motor], surfaces.heaviest[motor], scratch.inverse
    for d in range(len(inverse)):
        inverse[d] = 1 / heaviest[d]
    for t in range(4):
        for d in range(len(inverse)):
            scratch.cold[t, d] = REACH * cold[t, d] / heaviest[d]


@_jit
def _basis(surfaces, motor, voltage, coefficient, scratch):
    """Calculate the polynomial terms of one motor, after `_motor` and `_sides`.

    Parameters
    ----------
    coefficient
        Fan coefficient [N m s^2] in single precision.
    """
    low, high = surfaces.voltage[motor]
    x = np.float32(min(max(2 * (voltage - low) / (high - low) - 1, -1.0), 1.0))
    voltages, loads, cold, inverse = scratch.voltages, scratch.loads, scratch.cold, scratch.inverse
    voltages[0], voltages[1] = ONE, x
    for n in range(2, len(voltages)):
        voltages[n] = TWO * x * voltages[n - 1] - voltages[n - 2]
    reach, lightest = np.float32(REACH), np.float32(surfaces.lightest)
    least, most = _load_scale(reach * lightest), _load_scale(reach)
    slope = TWO / (most - least)
    c0, c1, c2, c3, load = cold[0], cold[1], cold[2], cold[3], loads[1]
    for d in range(len(load)):
        q = ONE / (c0[d] + x * (c1[d] + x * (c2[d] + x * c3[d])))
        q *= q
        q *= q
        root = math.sqrt(math.sqrt(math.sqrt(ONE + q * q)))
        share = min(max(coefficient[d] * inverse[d] * root, lightest), ONE)
        load[d] = _near((_load_scale(reach * share) - least) * slope - ONE)
    _chebyshev(load, loads)
    terms, basis, sides = surfaces.terms, scratch.basis, scratch.sides
    for t in range(len(terms)):
        scratch.factors[t] = voltages[terms[t, 0]]
    for run in range(len(basis)):
        t = scratch.starts[run]
        j, k, n = terms[t, 1], terms[t, 2], terms[t, 3]
        for d in range(basis.shape[1]):
            basis[run, d] = loads[j, d] * sides[k, n, d]


@_jit
def _evaluate(weights, scratch, out):
    """Calculate one quantity of one motor from its polynomial, shape (samples,)."""
    out[:] = np.float32(0)
    _add(weights, 0, len(scratch.run), scratch, out)


@_jit
def _add(weights, start, end, scratch, out):
    """Add the polynomial terms from ``start`` to ``end`` to ``out``, shape (samples,)."""
    run, factors, basis = scratch.run, scratch.factors, scratch.basis
    whole = end - (end - start) % 4  # four terms at a time, which saves memory access
    for t in range(start, whole, 4):
        w0, w1, w2, w3 = weights[t], weights[t + 1], weights[t + 2], weights[t + 3]
        f0, f1, f2, f3 = factors[t], factors[t + 1], factors[t + 2], factors[t + 3]
        b0, b1 = basis[run[t]], basis[run[t + 1]]
        b2, b3 = basis[run[t + 2]], basis[run[t + 3]]
        for d in range(len(out)):
            one = f0 * w0[d] * b0[d] + f1 * w1[d] * b1[d]
            out[d] += one + (f2 * w2[d] * b2[d] + f3 * w3[d] * b3[d])
    for t in range(whole, end):
        term, factor, others = weights[t], factors[t], basis[run[t]]
        for d in range(len(out)):
            out[d] += factor * term[d] * others[d]


@_jit
def _bounds(table, scratch):
    """Calculate the largest contributions of the late terms, as in _Scratch.

    A Chebyshev polynomial is between -1 and 1, and so is a term without its coefficient.
    """
    for figure in (LOAD, SLIP, CURRENT, CAPACITOR):
        weights, out = table[figure], scratch.beyond[figure]
        out[:] = SLACK
        for t in range(1 if figure == LOAD else scratch.early, len(weights)):
            for d in range(len(out)):
                out[d] += abs(weights[t, d])


@_jit
def _counts_above(values, beyond, limit):
    """Return the smallest and the largest number of values above ``limit``.

    A value is at most ``beyond`` from the exact one.
    """
    least, most, limit = 0, 0, np.float32(limit)
    for d in range(len(values)):
        least += values[d] - beyond[d] > limit
        most += values[d] + beyond[d] > limit
    return least, most


@_jit
def _decided(least, most, count):
    """Return 1 if the median of ``count`` values is above a limit, -1 if not, 0 if not known.

    The number of values above the limit is between ``least`` and ``most``.
    """
    low = (count - 1) // 2
    return int(least >= count - low) - int(most <= count - low - 2)


@_jit
def _overloaded(table, limit, likely, scratch):
    """Return True if the current is likely to be above ``limit``, its logarithm."""
    values, beyond = scratch.values[CURRENT], scratch.beyond[CURRENT]
    values[:] = np.float32(0)
    _add(table[CURRENT], 0, scratch.early, scratch, values)
    least, most = _counts_above(values, beyond, limit)
    if least / len(values) > likely or most / len(values) <= likely:
        return least / len(values) > likely
    _add(table[CURRENT], scratch.early, len(scratch.run), scratch, values)
    return _share_above(values, limit) > likely


@_jit
def _overvoltage(table, limit, scratch):
    """Return True if the median capacitor voltage is above ``limit``, its logarithm."""
    values, beyond = scratch.values[CAPACITOR], scratch.beyond[CAPACITOR]
    values[:] = np.float32(0)
    _add(table[CAPACITOR], 0, scratch.early, scratch, values)
    decided = _decided(*_counts_above(values, beyond, limit), len(values))
    if decided != 0:
        return decided > 0
    _add(table[CAPACITOR], scratch.early, len(scratch.run), scratch, values)
    return _compared(values, limit) > 0


@_jit
def _short(table, synchronous, per_speed, limit, scratch):
    """Return True if the median airflow fraction is below ``limit``."""
    slips, beyond = scratch.values[SLIP], scratch.beyond[SLIP]
    slips[:] = np.float32(0)
    _add(table[SLIP], 0, scratch.early, scratch, slips)
    least, most, near = 0, 0, np.float32(limit / synchronous)
    for d in range(len(slips)):
        least += (ONE - (slips[d] - beyond[d])) * per_speed[d] < near
        most += (ONE - (slips[d] + beyond[d])) * per_speed[d] < near
    decided = _decided(least, most, len(slips))
    if decided != 0:
        return decided > 0
    _add(table[SLIP], scratch.early, len(scratch.run), scratch, slips)
    _flows(slips, synchronous, per_speed)
    return _compared(slips, limit) < 0


@_jit
def _flows(slips, synchronous, per_speed):
    """Replace the slips by the airflow fractions."""
    for d in range(len(slips)):
        slips[d] = (1 - slips[d]) * synchronous * per_speed[d]


@_jit
def _evaluate_failed(own, shared, sunny, scratch, out):
    """Calculate one quantity of one failed motor from its polynomial, shape (samples,)."""
    out[:] = np.float32(shared[0] if sunny else 0.0)
    for t in range(len(scratch.run)):
        factor, others = scratch.factors[t], scratch.basis[scratch.run[t]]
        if t < len(own):
            weights = own[t]
            for d in range(len(out)):
                out[d] += factor * weights[d] * others[d]
        else:
            weight = np.float32(shared[t - len(own) + 1]) * factor
            for d in range(len(out)):
                out[d] += weight * others[d]


@_jit
def _exponentials(values, scratch, out):
    """Write the exponentials of ``values`` from -80 to 80 to ``out``, to within 1e-6.

    Unlike `math.exp`, this code is vectorized: the power of 2 is split into a whole exponent and a
    polynomial for the rest.
    """
    whole, powers = scratch.whole, scratch.powers
    for d in range(len(out)):
        x = min(max(values[d], -MOST_LOG), MOST_LOG) * LOG2_E
        near = (x + ROUNDING) - ROUNDING
        rest = LN_2 * (x - near)
        whole[d] = (np.int32(near) + 127) << 23
        sum = E4 + rest * (E5 + rest * E6)
        out[d] = ONE + rest * (ONE + rest * (E2 + rest * (E3 + rest * sum)))
    for d in range(len(out)):
        out[d] *= powers[d]


@_jit
def _supply(takes_low, takes_high, low, high, measured, near):
    """Return the cost of the supply voltage rule (0, 1, MEASURE or NOT_FIT)."""
    covered = takes_low <= low and high <= takes_high
    if not measured:
        if covered:
            return 0
        return NOT_FIT if high < takes_low or low > takes_high else MEASURE
    usual = (low + high) / 2
    if (1 + near) * takes_low <= low and high <= (1 - near) * takes_high:
        return 0
    if usual < (1 - near) * takes_low or usual > (1 + near) * takes_high:
        return NOT_FIT
    return 0 if covered else 1


@_jit
def _share_above(values, limit):
    count, limit = 0, np.float32(limit)
    for value in values:
        count += value > limit
    return count / len(values)


@_jit
def _weakness(rating, need, same_size, estimated, limits):
    """Return the cost of the shaft power rule for ``need`` [W], shape (samples,)."""
    risk = 0.0 if same_size else _share_above(need, rating / limits.power)
    if risk > limits.rejection_risk:
        return NOT_FIT
    return 1 if estimated or risk > limits.question_risk else 0


@_jit
def _ambient(limit, old_limit, air, weather, limits):
    """Return the ambient rule cost for ``air`` temperatures [degC], shape (samples,)."""
    if math.isnan(limit):
        return 1
    risk = _share_above(air, limit)
    if risk <= limits.question_risk:
        return 0
    like_old = limit >= old_limit  # False if the old limit is unknown
    if risk <= limits.rejection_risk or not weather:
        return 0 if like_old else 1
    if not like_old or _compared(air, limit + limits.ambient_excess) > 0:
        return NOT_FIT
    return 1


@_jit
def _winding(limit, temps, old, u, limits):
    """Return the cost of the winding temperature rule, given the result for the failed motor.

    The temperatures ``temps`` [degC] have shape (samples,).
    """
    if math.isnan(limit):
        return 1
    risk = _share_above(temps, limit)
    if risk <= limits.question_risk:
        return 0
    own = old.limits[u, 0]
    old_risk = _share_above(old.temps[u], limit if math.isnan(own) else own)
    trips = _share_above(old.temps[u], old.limits[u, 1])
    like_old = risk <= old_risk + limits.no_worse and trips <= limits.even
    if like_old:
        return 0 if risk <= limits.rejection_risk else 1
    return 1 if risk <= limits.rejection_risk else NOT_FIT


@_jit
def _starting(share, old_share, limits):
    """Return the cost of the starting rule if a fraction ``share`` of the samples starts."""
    if share >= 1 - limits.question_risk or share >= old_share - limits.no_worse:
        return 0
    return 1 if share >= 1 - limits.rejection_risk else NOT_FIT


@_jit
def _before(one, other, places):
    """Return True if one key ranks ahead of another by its first ``places``.

    The order is that of `selection.rules.ranking`.
    """
    for place in range(places):
        if one[place] != other[place]:
            return one[place] < other[place]
    return False


@_jit
def _kept(best, keys, u, m, work, rating, tasks, key):
    """Insert a motor in rank order among the best motors for unit ``u``, in place of the last."""
    at = BEST - 1
    while at > 0 and (best.motor[u, at - 1] < 0 or _before(key, keys[u, at - 1], len(key))):
        at -= 1
    for down in range(BEST - 1, at, -1):
        best.motor[u, down] = best.motor[u, down - 1]
        best.work[u, down] = best.work[u, down - 1]
        best.tasks[u, down] = best.tasks[u, down - 1]
        best.rating_number[u, down] = best.rating_number[u, down - 1]
        keys[u, down] = keys[u, down - 1]
    best.motor[u, at], best.work[u, at], best.rating_number[u, at] = m, work, rating
    keys[u, at], best.tasks[u, at] = key, tasks


class _Site(NamedTuple):
    """Data of the units in single precision, shape (units, samples).

    Attributes
    ----------
    coefficient, log_coefficient : ndarray
        Fan coefficient [N m s^2] and its natural logarithm.
    log_torque : ndarray
        Natural logarithm of the required torque [N m].
    need : ndarray
        Required power [W].
    temp_air : ndarray
        Air temperature [degC].
    air, cooling : ndarray
        Air temperature and log cooling, mapped to [-1, 1].
    """

    coefficient: np.ndarray
    log_coefficient: np.ndarray
    log_torque: np.ndarray
    need: np.ndarray
    temp_air: np.ndarray
    air: np.ndarray
    cooling: np.ndarray


@_jit
def _site(surfaces, units, site):
    """Calculate the values of a _Site."""
    for u in range(len(site.need)):
        for d in range(site.need.shape[1]):
            speed = units.speed_rpm[u, d] * math.pi / 30
            torque = units.coefficient[u, d] * speed * speed
            site.log_torque[u, d] = math.log(torque)
            site.log_coefficient[u, d] = math.log(units.coefficient[u, d])
            site.coefficient[u, d] = units.coefficient[u, d]
            site.temp_air[u, d] = units.temp_air[u, d]
            site.need[u, d] = torque * speed
        _scaled(units.temp_air[u], surfaces.air, site.air[u])
        _scaled(units.log_cooling[u], surfaces.log_cooling, site.cooling[u])


class _Failed(NamedTuple):
    """Simulated values of the failed motor of each unit.

    Attributes
    ----------
    temps : ndarray
        Winding temperature [degC], shape (units, samples). The array ``per_speed`` [1/rpm] has the
        inverse of the speed and the same shape.
    starts : ndarray
        Fraction of the samples in which the motor starts and comes up to speed at the lowest
        voltage, shape (units,).
    limits : ndarray
        Temperature limits of the class and the protector [degC], or NaN, shape (units, 2).
    """

    per_speed: np.ndarray
    temps: np.ndarray
    starts: np.ndarray
    limits: np.ndarray


@_jit
def _work_failed(failed, old, units, site, out):
    """Fill a _Failed object with values from the polynomials of the failed motors."""
    scratch = _scratch_of(failed.terms, site.need.shape[1])
    values = scratch.values[0]
    for u in range(len(units.old)):
        m, coefficient = units.old[u], site.coefficient[u]
        own, shared, sunny = failed.own[m], failed.shared[m], units.sideways[u] == VERTICAL
        _motor(failed, m, scratch)
        _sides(site.air[u], site.cooling[u], scratch)
        _basis(failed, m, units.voltage[u, 0], coefficient, scratch)
        _evaluate_failed(own[LOAD], shared[LOAD], sunny, scratch, values)
        out.starts[u] = _share_running(site.log_coefficient[u], values)
        _basis(failed, m, units.voltage[u, 1], coefficient, scratch)
        _evaluate_failed(own[SLIP], shared[SLIP], sunny, scratch, values)
        for d in range(len(values)):
            out.per_speed[u, d] = 1 / ((1 - values[d]) * old.synchronous[m])
        _evaluate_failed(own[RISE], shared[RISE], sunny, scratch, values)
        _exponentials(values, scratch, values)
        for d in range(len(values)):
            out.temps[u, d] = site.temp_air[u, d] + values[d]
        out.limits[u, 0], out.limits[u, 1] = old.winding[m], old.trip[m]


@_jit
def _share_running(log_coefficient, log_load):
    """Return the fraction of samples in which the motor comes up to speed under its fan load."""
    count = 0
    for d in range(len(log_load)):
        count += log_coefficient[d] < log_load[d]
    return count / len(log_load)


@_jit
def _plain(motors, m, units, old, facts, near, work, unlike, measure, supply):
    """Calculate the costs of the supply rule and the plain rules for one motor and all units.

    Evaluating all units together is faster than evaluating them one at a time. The results are
    stored in ``work`` (cost), ``unlike`` (dissimilarity), ``measure`` (True if the supply must be
    measured first) and ``supply`` (cost of the supply voltage alone).
    """
    takes_low, takes_high = motors.voltage_low[m], motors.voltage_high[m]
    costs, apart = facts.cost[m], facts.unlike[m]
    for u in range(len(work)):
        low, high = units.said[u, 0], units.said[u, 1]
        cost = _supply(takes_low, takes_high, low, high, units.measured[u], near)
        measure[u] = cost == MEASURE
        cost = 1 if cost == MEASURE else cost
        supply[u] = cost
        cost += old.cost[units.old[u], m]
        likeness = facts.always[m] + old.unlike[units.old[u], m]
        for c in range(units.facts.shape[1]):
            if cost >= NOT_FIT:
                break
            cost += costs[units.facts[u, c]]
            likeness += apart[units.facts[u, c]]
        work[u], unlike[u] = cost, likeness


@_jit
def _blocked(best, u, m, rule):
    """Count a motor that passes the plain rules but fails ``rule``, and record it as nearest."""
    best.failing[u, rule] += 1
    if best.nearest[u] < 0:
        best.nearest[u], best.obstacles[u] = m, np.int64(1) << rule


@_jit_sums
def _mean(values):
    total = 0.0
    for value in values:
        total += value
    return total / len(values)


@_jit
def _steps(limit, temps):
    """Return the median margin of ``temps`` below ``limit`` in whole steps of STEP_MARGIN.

    The steps are first calculated from the mean. The median is calculated only if counting shows
    that it may round to another number.
    """
    steps = np.rint((limit - _mean(temps)) / STEP_MARGIN)
    middle, half = limit - STEP_MARGIN * steps, STEP_MARGIN / 2
    if _compared(temps, middle - half) > 0 and _compared(temps, middle + half) < 0:
        return steps
    return np.rint((limit - np.median(temps)) / STEP_MARGIN)


@_jit
def _bit(yes, place):
    return (np.int64(1) << place) if yes else np.int64(0)


@_jit
def _plain_tasks(units, old, facts, u, m):
    """Return the tasks that the plain rules require, as a bit mask."""
    tasks = old.tasks[units.old[u], m]
    for c in range(units.facts.shape[1]):
        tasks |= facts.tasks[m, units.facts[u, c]]
    return tasks


@_jit
def _screen(
    surfaces, failed, motors, units, old, facts, limits, site, was, best, options, capacitor
):
    count, samples = units.coefficient.shape
    _site(surfaces, units, site)
    _work_failed(failed, old, units, site, was)
    keys, key = np.empty((count, BEST, 8)), np.empty(8)
    scratch = _scratch_of(surfaces.terms, samples)
    values = scratch.values
    plain, supply = np.empty((2, count), dtype=np.int64)
    unlike, measure = np.empty(count), np.empty(count, dtype=np.bool_)
    for m in range(len(motors.works)):
        if not motors.works[m]:
            best.failing[:, LISTED] += 1
            continue
        near, synchronous = limits.supply_voltage, motors.synchronous[m]
        _plain(motors, m, units, old, facts, near, plain, unlike, measure, supply)
        _motor(surfaces, m, scratch)
        for side in (VERTICAL, HORIZONTAL):
            # the polynomials of one side fit in the cache
            chosen = np.flatnonzero((plain < NOT_FIT) & (units.sideways == side))
            table = surfaces.coefficients[side, m]
            if len(chosen):
                _bounds(table, scratch)
            for u in chosen:
                at = units.old[u]
                number = old.rating_number[at, m]
                rating, temp_air = motors.ratings[m, number], site.temp_air[u]
                rated = motors.ambient[m], old.ambient[at]
                ambient = _ambient(*rated, temp_air, units.weather[u], limits)
                if ambient >= NOT_FIT:
                    _blocked(best, u, m, AMBIENT)
                    continue
                best.counts[u, 2] += 1
                alike = old.same_size[at, m], old.estimated[at, m]
                weak = _weakness(rating, site.need[u], *alike, limits)
                if weak >= NOT_FIT:
                    _blocked(best, u, m, SHAFT_POWER)
                    continue
                work = plain[u] + ambient + weak
                # limits the cost for a simulated value if the supply must be measured first
                most = 1 if measure[u] else NOT_FIT
                _sides(site.air[u], site.cooling[u], scratch)
                starting, slow = 0, False
                surely = _surely_starts(table[LOAD], site.log_coefficient[u], scratch, limits)
                if limits.torque > 0 or not surely:
                    _basis(surfaces, m, units.voltage[u, 0], site.coefficient[u], scratch)
                if not surely:
                    _evaluate(table[LOAD], scratch, values[LOAD])
                    share = _share_running(site.log_coefficient[u], values[LOAD])
                    starting = min(_starting(share, was.starts[u], limits), most)
                if starting >= NOT_FIT:
                    _blocked(best, u, m, STARTING)
                    continue
                if limits.torque > 0:
                    _evaluate(table[BREAKDOWN], scratch, values[BREAKDOWN])
                    values[BREAKDOWN] -= site.log_torque[u]
                    _exponentials(values[BREAKDOWN], scratch, values[BREAKDOWN])
                    slow = _compared(values[BREAKDOWN], limits.torque) < 0
                if slow and not measure[u]:
                    _blocked(best, u, m, TORQUE)
                    continue
                _basis(surfaces, m, units.voltage[u, 1], site.coefficient[u], scratch)
                airless = _short(table, synchronous, was.per_speed[u], limits.near_flow, scratch)
                short = most if airless else 0
                if short >= NOT_FIT:
                    _blocked(best, u, m, AIRFLOW)
                    continue
                best.counts[u, 3] += 1
                _evaluate(table[RISE], scratch, values[RISE])
                _exponentials(values[RISE], scratch, values[RISE])
                values[RISE] += temp_air
                hot = min(_winding(motors.winding[m], values[RISE], was, u, limits), most)
                if hot >= NOT_FIT:
                    _blocked(best, u, m, WINDING)
                    continue
                most_current = (1 + limits.running_amps) * motors.currents[m, number]
                over = _overloaded(table, math.log(most_current), limits.likely, scratch)
                most_voltage = motors.capacitor[m] * (1 + limits.capacitor_voltage)
                volts = _overvoltage(table, math.log(most_voltage), scratch)
                work += starting + short + hot + slow + over + volts
                tasks = _plain_tasks(units, old, facts, u, m)
                tasks |= _bit(supply[u] > 0, VOLTAGE) | _bit(ambient > 0, AMBIENT)
                tasks |= _bit(weak > 0, SHAFT_POWER) | _bit(starting > 0, STARTING)
                tasks |= _bit(short > 0, AIRFLOW) | _bit(hot > 0, WINDING) | _bit(slow, TORQUE)
                tasks |= _bit(over, RUNNING_AMPS) | _bit(volts, CAPACITOR_VOLTAGE + ADAPTED)
                _evaluate(table[INPUT], scratch, values[INPUT])
                _exponentials(values[INPUT], scratch, values[INPUT])
                options.work[u, m], options.power[u, m] = work, _mean(values[INPUT])
                best.counts[u, min(work, 1)] += 1
                full, price = best.motor[u, BEST - 1] >= 0, motors.price[m]
                key[0], key[1], key[2] = min(work, 1), old.size_up[at, m], math.isinf(price)
                key[3], key[4] = work - (tasks >> capacitor & 1), np.rint(100 * unlike[u])
                if full and _before(keys[u, BEST - 1], key, 5):
                    continue
                steps = _steps(motors.winding[m], values[RISE])
                key[5] = math.inf if math.isnan(steps) else -steps
                key[6], key[7] = price, motors.place[m]
                if not full or _before(key, keys[u, BEST - 1], len(key)):
                    _kept(best, keys, u, m, work, number, tasks, key)


@_jit
def _surely_starts(weights, log_coefficient, scratch, limits):
    """Return True if enough samples start at the lowest value that the polynomial can have."""
    count, beyond = 0, scratch.beyond[LOAD]
    for d in range(len(beyond)):
        count += log_coefficient[d] < weights[0, d] - beyond[d]
    return count / len(beyond) >= 1 - limits.question_risk


@_jit
def _simulate(surfaces, motors, units, site, was, unit, motor, out):
    """Calculate the figures of motors on units, shape (pairs, figures, samples).

    The figures are the airflow fraction, the winding temperature [degC], the current [A], the
    torque reserve, and the natural logarithm of the capacitor voltage [V], at the places SLIP,
    RISE, CURRENT, BREAKDOWN and CAPACITOR.
    """
    scratch, last = _scratch_of(surfaces.terms, units.coefficient.shape[1]), -1
    for pair in range(len(unit)):
        u, m, values = unit[pair], motor[pair], out[pair]
        if m != last:
            _motor(surfaces, m, scratch)
            last = m
        table = surfaces.coefficients[units.sideways[u], m]
        _sides(site.air[u], site.cooling[u], scratch)
        _basis(surfaces, m, units.voltage[u, 0], site.coefficient[u], scratch)
        _evaluate(table[BREAKDOWN], scratch, values[BREAKDOWN])
        values[BREAKDOWN] -= site.log_torque[u]
        _basis(surfaces, m, units.voltage[u, 1], site.coefficient[u], scratch)
        for figure in (SLIP, RISE, CURRENT, CAPACITOR):
            _evaluate(table[figure], scratch, values[figure])
        _flows(values[SLIP], motors.synchronous[m], was.per_speed[u])
        for figure in (RISE, CURRENT, BREAKDOWN):
            _exponentials(values[figure], scratch, values[figure])
        values[RISE] += site.temp_air[u]


@_jit
def _count_plain_failures(motors, units, old, facts, near, best):
    """Count the motors that fail each plain rule, for units without a fitting motor.

    If no motor passes the plain rules, the nearest motor is the one that fails the fewest of them.
    """
    for u in range(len(best.motor)):
        if best.motor[u, 0] >= 0:
            best.failing[u], best.nearest[u], best.obstacles[u] = 0, -1, 0
            continue
        passed, fewest = best.nearest[u] >= 0, NOT_FIT
        for m in range(len(motors.works)):
            if not motors.works[m]:
                continue
            low, high = units.said[u, 0], units.said[u, 1]
            takes = motors.voltage_low[m], motors.voltage_high[m]
            other_volts = _supply(*takes, low, high, units.measured[u], near) >= NOT_FIT
            if other_volts:
                best.failing[u, VOLTAGE] += 1
            bits = old.failing[units.old[u], m]
            for c in range(units.facts.shape[1]):
                bits |= facts.failing[m, units.facts[u, c]]
            count = 1 if other_volts else 0
            for rule in range(best.failing.shape[1] - len(STOPS)):
                best.failing[u, len(STOPS) + rule] += (bits >> rule) & 1
                count += (bits >> rule) & 1
            if not passed and count < fewest:
                fewest, best.nearest[u] = count, m
                best.obstacles[u] = (bits << len(STOPS)) | _bit(other_volts, VOLTAGE)


@_jit
def _warm(surfaces, units, best, order, temps_outdoor, out):
    samples = units.coefficient.shape[1]
    scratch = _scratch_of(surfaces.terms, samples)
    values = scratch.values[RISE]
    temp = np.empty(samples)
    coefficient, air, cooling = np.empty((3, samples), np.float32)
    for u in order:
        m = best[u]
        if m < 0:
            continue
        _motor(surfaces, m, scratch)
        _scaled(units.log_cooling[u], surfaces.log_cooling, cooling)
        for t in range(len(temps_outdoor)):
            for d in range(samples):
                temp[d] = temps_outdoor[t] + units.temp_over[u, d]
                thinner = (units.temp_air[u, d] + ZERO_CELSIUS) / (temp[d] + ZERO_CELSIUS)
                coefficient[d] = units.coefficient[u, d] * thinner
            _scaled(temp, surfaces.air, air)
            _sides(air, cooling, scratch)
            _basis(surfaces, m, units.voltage[u, 1], coefficient, scratch)
            _evaluate(surfaces.coefficients[units.sideways[u], m, RISE], scratch, values)
            _exponentials(values, scratch, values)
            for d in range(samples):
                out[u, t, d] = temp[d] + values[d]


def _needed():
    if numba is None:
        raise ModuleNotFoundError("screening a fleet needs numba: install airover[fast]")


def screen(
    surfaces: Surfaces,
    failed: FailedSurfaces,
    motors: Motors,
    units: ScreenedUnits,
    old: Old,
    facts: FactTables,
    limits: ScreeningLimits,
    rules: int,
    capacitor: int,
) -> tuple[Best, Options]:
    """Return the best motors for each unit, and the motors that fit it.

    The first call on a machine takes several seconds, because the code is compiled.

    Parameters
    ----------
    surfaces : Surfaces
        Polynomials of the catalog ``motors``.
    failed : FailedSurfaces
        Polynomials of the failed motors ``old``.
    rules : int
        Number of plain rules that have a bit in ``facts``.
    capacitor : int
        Bit of the task to install another capacitor size, which does not lower a motor's rank.

    Raises
    ------
    ModuleNotFoundError
        If numba is not installed.
    """
    _needed()
    if not _screen.signatures:
        with compiling():  # without units, so that other processes wait only for the compiler
            none = ScreenedUnits(*(value[:0] for value in units))
            _screened(surfaces, failed, motors, none, old, facts, limits, rules, capacitor)
            winding_temperatures(surfaces, none, np.zeros(0, int), np.zeros(0))
    return _screened(surfaces, failed, motors, units, old, facts, limits, rules, capacitor)


def _screened(surfaces, failed, motors, units, old, facts, limits, rules, capacitor):
    best = Best.none(len(units.coefficient), len(STOPS) + rules)
    shape = units.coefficient.shape
    site = _Site(*np.empty((len(_Site._fields), *shape), np.float32))
    was = _Failed(*np.empty((2, *shape), np.float32), np.empty(shape[0]), np.empty((shape[0], 2)))
    options = Options.none(len(units.coefficient), len(motors.works))
    given = limits, site, was, best, options, capacitor
    _screen(surfaces, failed, motors, units, old, facts, *given)
    _describe(surfaces, motors, units, site, was, best)
    _count_plain_failures(motors, units, old, facts, limits.supply_voltage, best)
    return best, options


def _describe(surfaces, motors, units, site, was, best) -> None:
    """Calculate the figures of the best motors."""
    unit, rank = np.nonzero(best.motor >= 0)
    motor = best.motor[unit, rank]
    order = np.lexsort((units.sideways[unit], motor))
    unit, rank, motor = unit[order], rank[order], motor[order]
    values = np.empty((len(unit), INPUT + 1, units.coefficient.shape[1]), np.float32)
    _simulate(surfaces, motors, units, site, was, unit, motor, values)
    winding = percentiles(values[:, RISE])
    best.figures[unit, rank, 0:3] = percentiles(values[:, CURRENT])
    best.figures[unit, rank, 3:6] = winding
    best.figures[unit, rank, 6] = motors.winding[motor] - winding[:, 1]
    for place, figure in ((7, BREAKDOWN), (8, SLIP), (9, CAPACITOR)):
        best.figures[unit, rank, place] = percentiles(values[:, figure])[:, 1]
    best.figures[unit, rank, 9] = np.exp(best.figures[unit, rank, 9])


def percentiles(values) -> np.ndarray:
    """Return the 5th, 50th and 95th percentiles of ``values``, shape (units, samples).

    The result has shape (units, 3). NumPy sorts short rows faster than it finds quantiles in them.
    """
    ordered = np.sort(values, axis=1)
    last = ordered.shape[1] - 1
    at = np.array(SHARES) * last
    low = at.astype(int)
    one, other = ordered[:, low].astype(float), ordered[:, np.minimum(low + 1, last)]
    return one + (at - low) * (other - one)


def winding_temperatures(surfaces: Surfaces, units: ScreenedUnits, motor, temps_outdoor):
    """Return the winding temperature [degC] of each unit's ``motor`` at other outdoor temperatures.

    The calculation uses the usual supply voltage and the humidity ratio of the design day. Air
    density changes with temperature. The result has shape (units, temperatures, samples).

    Parameters
    ----------
    motor
        Motor number, or -1 if there is no motor. The result is then NaN.
    temps_outdoor
        Outdoor temperatures [degC].

    Raises
    ------
    ModuleNotFoundError
        If numba is not installed.
    """
    _needed()
    shape = (len(motor), len(temps_outdoor), units.coefficient.shape[1])
    out, motor = np.full(shape, np.nan, np.float32), np.asarray(motor)
    order = np.lexsort((units.sideways, motor))  # the polynomials of a motor stay in the cache
    _warm(surfaces, units, motor, order, np.asarray(temps_outdoor, dtype=float), out)
    return out
