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

from airover.selection.screening import (
    ADAPTED,
    AIRFLOW,
    AMBIENT,
    BEST,
    BREAKDOWN,
    CAPACITOR,
    CAPACITOR_VOLTAGE,
    CURRENT,
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

_FLAGS = {"error_model": "numpy", "fastmath": {"contract"}, "cache": True}


def _jit(function):
    return numba.njit(**_FLAGS)(function) if numba else function


@_jit
def _select(values, place, start, end):
    """Move the value of rank ``place`` to its place, with smaller values before it (Hoare)."""
    low, high = start, end - 1
    while low < high:
        pivot = values[place]
        i, j = low, high
        while i <= j:
            while values[i] < pivot:
                i += 1
            while pivot < values[j]:
                j -= 1
            if i <= j:
                values[i], values[j] = values[j], values[i]
                i += 1
                j -= 1
        if j < place:
            low = i
        if place < i:
            high = j


@_jit
def _around(values, share, start, end):
    """Return the two ordered values around a quantile, and the weight of the second one.

    The values of these ranks must be between the indices ``start`` and ``end``.
    """
    at = share * (len(values) - 1)
    low = min(int(at), len(values) - 2)
    _select(values, low, start, end)
    following = values[low + 1]
    for place in range(low + 2, end):
        following = min(following, values[place])
    return values[low], following, at - low


@_jit
def _quantile(values, share, start, end):
    """Return a quantile by linear interpolation, as in NumPy. The values are reordered."""
    one, other, weight = _around(values, share, start, end)
    return one + weight * (other - one)


@_jit
def _median(values):
    return _quantile(values, 0.5, 0, len(values))


@_jit
def _chebyshev(x, table):
    table[0], table[1] = 1.0, x
    for n in range(2, len(table)):
        table[n] = 2 * x * table[n - 1] - table[n - 2]


@_jit
def _near(x):
    return min(max(x, -1.0), 1.0)


@_jit
def _load_scale(ratio):
    """Return the ratio of slip to breakdown slip at a fraction of breakdown torque (Kloss)."""
    return (1 - math.sqrt(1 - ratio * ratio)) / ratio


@_jit
def _scratch_of(terms, samples):
    """Allocate the arrays in which polynomials are evaluated."""
    powers = np.empty(terms.max() + 1)
    sides = np.empty((terms[:, 2].max() + 1, terms[:, 3].max() + 1, samples), np.float32)
    tables = np.empty((3, len(powers), samples), np.float32)
    basis = np.empty((len(terms), samples), np.float32)
    return powers, tables, sides, basis, np.zeros(samples), np.empty(samples, np.float32)


@_jit
def _sides(surfaces, temp_air, log_cooling, shift, scratch):
    """Calculate the factors of the polynomial terms that depend on air and cooling alone.

    Parameters
    ----------
    shift
        Increase in air temperature [K].
    """
    air, cooling = surfaces.air, surfaces.log_cooling
    _, tables, sides, _, _, _ = scratch
    for d in range(sides.shape[2]):
        tables[1, 0, d] = tables[2, 0, d] = 1.0
        tables[1, 1, d] = _near(2 * (temp_air[d] + shift[d] - air[0]) / (air[1] - air[0]) - 1)
        span = cooling[1] - cooling[0]
        tables[2, 1, d] = _near(2 * (log_cooling[d] - cooling[0]) / span - 1)
    _continue(tables[1])
    _continue(tables[2])
    for k in range(sides.shape[0]):
        for m in range(sides.shape[1]):
            out, airs, coolings = sides[k, m], tables[1, k], tables[2, m]
            for d in range(len(out)):
                out[d] = airs[d] * coolings[d]


@_jit
def _continue(table):
    """Calculate the Chebyshev polynomials from the second degree on, shape (degrees, samples)."""
    for n in range(2, len(table)):
        first, before, last, out = table[1], table[n - 2], table[n - 1], table[n]
        for d in range(len(out)):
            out[d] = np.float32(2) * first[d] * last[d] - before[d]


@_jit
def _basis(surfaces, motor, voltage, coefficient, temp_air, shift, scratch):
    """Calculate the polynomial terms of one motor, shape (terms, samples), after `_sides`.

    Parameters
    ----------
    shift
        Increase in air temperature [K].
    """
    low, high = surfaces.voltage[motor]
    x = _near(2 * (voltage - low) / (high - low) - 1)
    powers, tables, sides, basis, _, _ = scratch
    _chebyshev(x, powers)
    least, most = _load_scale(REACH * surfaces.lightest), _load_scale(REACH)
    cubic = surfaces.breakdown[motor]
    for d in range(basis.shape[1]):
        breakdown = cubic[0, d] + x * (cubic[1, d] + x * (cubic[2, d] + x * cubic[3, d]))
        a, b = 1 / (REACH * breakdown), 1 / surfaces.heaviest[motor, d]
        a, b = a * a, b * b
        a, b = a * a, b * b
        thinner = (temp_air[d] + 273.15) / (temp_air[d] + shift[d] + 273.15)
        share = coefficient[d] * thinner * math.sqrt(math.sqrt(math.sqrt(a * a + b * b)))
        share = min(max(share, surfaces.lightest), 1.0)
        tables[0, 0, d] = 1.0
        tables[0, 1, d] = _near(2 * (_load_scale(REACH * share) - least) / (most - least) - 1)
    _continue(tables[0])
    for t in range(basis.shape[0]):
        i, j, k, m = surfaces.terms[t]
        factor, out, loads, others = np.float32(powers[i]), basis[t], tables[0, j], sides[k, m]
        for d in range(len(out)):
            out[d] = factor * loads[d] * others[d]


@_jit
def _evaluate(coefficients, basis, out):
    """Calculate one quantity of one motor from its polynomial, shape (samples,)."""
    out[:] = 0.0
    whole = len(basis) - len(basis) % 4  # four terms at a time, which saves memory access
    for t in range(0, whole, 4):
        w0, w1, w2, w3 = (
            coefficients[t],
            coefficients[t + 1],
            coefficients[t + 2],
            coefficients[t + 3],
        )
        b0, b1, b2, b3 = basis[t], basis[t + 1], basis[t + 2], basis[t + 3]
        for d in range(len(out)):
            out[d] += (w0[d] * b0[d] + w1[d] * b1[d]) + (w2[d] * b2[d] + w3[d] * b3[d])
    for t in range(whole, len(basis)):
        weights, term = coefficients[t], basis[t]
        for d in range(len(out)):
            out[d] += weights[d] * term[d]


@_jit
def _evaluate_failed(own, shared, sunny, basis, out):
    """Calculate one quantity of one failed motor from its polynomial, shape (samples,)."""
    out[:] = shared[0] if sunny else 0.0
    for t in range(basis.shape[0]):
        term = basis[t]
        if t < len(own):
            weights = own[t]
            for d in range(len(out)):
                out[d] += weights[d] * term[d]
        else:
            weight = shared[t - len(own) + 1]
            for d in range(len(out)):
                out[d] += weight * term[d]


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
    count = 0
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
    """Return the ambient rule cost for ``air`` temperatures [degC], shape (samples,).

    The temperatures are reordered.
    """
    if math.isnan(limit):
        return 1
    risk = _share_above(air, limit)
    if risk <= limits.question_risk:
        return 0
    like_old = limit >= old_limit  # False if the old limit is unknown
    if risk <= limits.rejection_risk or not weather:
        return 0 if like_old else 1
    return 1 if like_old and _median(air) <= limit + limits.ambient_excess else NOT_FIT


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
def _before(one, other):
    """Return True if one key ranks ahead of another, in the order of `selection.rules.ranking`."""
    for place in range(len(one)):
        if one[place] != other[place]:
            return one[place] < other[place]
    return False


@_jit
def _kept(best, keys, u, m, work, rating, tasks, key, figures):
    """Insert a motor in rank order among the best motors for unit ``u``."""
    at = BEST
    while at > 0 and (best.motor[u, at - 1] < 0 or _before(key, keys[u, at - 1])):
        at -= 1
    if at == BEST:
        return
    for down in range(BEST - 1, at, -1):
        best.motor[u, down] = best.motor[u, down - 1]
        best.work[u, down] = best.work[u, down - 1]
        best.tasks[u, down] = best.tasks[u, down - 1]
        best.rating_number[u, down] = best.rating_number[u, down - 1]
        best.figures[u, down] = best.figures[u, down - 1]
        keys[u, down] = keys[u, down - 1]
    best.motor[u, at], best.work[u, at], best.rating_number[u, at] = m, work, rating
    best.figures[u, at], keys[u, at], best.tasks[u, at] = figures, key, tasks


@_jit
def _middle(values, out):
    """Write the 5th, 50th and 95th percentiles of ``values`` to ``out`` and reorder the values."""
    count = len(values)
    half = (count - 1) // 2
    out[1] = _median(values)
    out[0] = _quantile(values, 0.05, 0, half + 1)
    out[2] = _quantile(values, 0.95, half, count)


@_jit
def _needed_power(units, need, air, log_torque):
    """Calculate the required power, air temperatures and log torque for all units.

    The arrays have shape (units, samples).
    """
    for u in range(len(need)):
        for d in range(need.shape[1]):
            speed = units.speed_rpm[u, d] * math.pi / 30
            torque = units.coefficient[u, d] * speed * speed
            log_torque[u, d] = math.log(torque)
            need[u, d] = torque * speed
        air[u] = units.temp_air[u]


class _Failed(NamedTuple):
    """Simulated values of the failed motor of each unit.

    Attributes
    ----------
    temps : ndarray
        Winding temperature [degC], shape (units, samples). The array ``speeds`` [rpm] has the same
        shape.
    starts : ndarray
        Fraction of the samples in which the motor starts and comes up to speed at the lowest
        voltage, shape (units,).
    limits : ndarray
        Temperature limits of the class and the protector [degC], or NaN, shape (units, 2).
    """

    speeds: np.ndarray
    temps: np.ndarray
    starts: np.ndarray
    limits: np.ndarray


@_jit
def _work_failed(failed, old, units, out):
    """Fill a _Failed object with values from the polynomials of the failed motors."""
    samples = units.coefficient.shape[1]
    scratch = _scratch_of(failed.terms, samples)
    _, _, _, basis, still, values = scratch
    for u in range(len(units.old)):
        m, coefficient = units.old[u], units.coefficient[u]
        own, shared, sunny = failed.own[m], failed.shared[m], units.sideways[u] == VERTICAL
        given = coefficient, units.temp_air[u]
        _sides(failed, units.temp_air[u], units.log_cooling[u], still, scratch)
        _basis(failed, m, units.voltage[u, 0], *given, still, scratch)
        _evaluate_failed(own[LOAD], shared[LOAD], sunny, basis, values)
        out.starts[u] = _share_running(coefficient, values)
        _basis(failed, m, units.voltage[u, 1], *given, still, scratch)
        _evaluate_failed(own[SLIP], shared[SLIP], sunny, basis, values)
        for d in range(samples):
            out.speeds[u, d] = (1 - values[d]) * old.synchronous[m]
        _evaluate_failed(own[RISE], shared[RISE], sunny, basis, values)
        for d in range(samples):
            out.temps[u, d] = units.temp_air[u, d] + math.exp(values[d])
        out.limits[u, 0], out.limits[u, 1] = old.winding[m], old.trip[m]


@_jit
def _share_running(coefficient, log_load):
    """Return the fraction of samples in which the motor comes up to speed under its fan load."""
    count = 0
    for d in range(len(log_load)):
        count += coefficient[d] < math.exp(log_load[d])
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
def _starts(surfaces, m, units, u, log_torque, scratch, figures):
    """Return the fraction of samples in which a motor starts at its lowest voltage.

    After the call, ``scratch`` contains the basis at the usual voltage.
    """
    _, _, _, basis, still, values = scratch
    table = surfaces.coefficients[units.sideways[u], m]
    given = units.coefficient[u], units.temp_air[u]
    _sides(surfaces, units.temp_air[u], units.log_cooling[u], still, scratch)
    _basis(surfaces, m, units.voltage[u, 0], *given, still, scratch)
    _evaluate(table[BREAKDOWN], basis, values)
    for d in range(len(values)):
        values[d] -= log_torque[d]
    one, other, weight = _around(values, 0.5, 0, len(values))
    one, other = math.exp(one), math.exp(other)
    figures[7] = one + weight * (other - one)
    _evaluate(table[LOAD], basis, values)
    share = _share_running(units.coefficient[u], values)
    _basis(surfaces, m, units.voltage[u, 1], *given, still, scratch)
    return share


@_jit
def _flow_share(table, synchronous, old_speeds, scratch):
    """Return the median ratio of the airflow to the airflow with the failed motor."""
    _, _, _, basis, _, values = scratch
    _evaluate(table[SLIP], basis, values)
    for d in range(len(values)):
        values[d] = (1 - values[d]) * synchronous / old_speeds[d]
    return _median(values)


@_jit
def _over_amps(table, most_current, likely, scratch, figures):
    """Return the cost of the amps rule: 1 if the amps are likely to exceed ``most_current``."""
    _, _, _, basis, _, values = scratch
    _evaluate(table[CURRENT], basis, values)
    for d in range(len(values)):
        values[d] = math.exp(values[d])
    _middle(values, figures[0:3])
    return 1 if _share_above(values, most_current) > likely else 0


@_jit
def _warm_winding(table, temp_air, limit, scratch, figures):
    """Calculate winding temperatures [degC] and store them in the last array of ``scratch``."""
    _, _, _, basis, _, values = scratch
    _evaluate(table[RISE], basis, values)
    for d in range(len(values)):
        values[d] = temp_air[d] + math.exp(values[d])
    _middle(values, figures[3:6])
    figures[6] = limit - figures[4]


@_jit
def _capacitor(table, limit, scratch, figures):
    """Return the cost of the capacitor voltage rule. ``limit`` [V] includes the allowance."""
    _, _, _, basis, _, values = scratch
    _evaluate(table[CAPACITOR], basis, values)
    figures[9] = math.exp(_median(values))
    return 1 if figures[9] > limit else 0


@_jit
def _blocked(best, u, m, rule):
    """Count a motor that passes the plain rules but fails ``rule``, and record it as nearest."""
    best.failing[u, rule] += 1
    if best.nearest[u] < 0:
        best.nearest[u], best.obstacles[u] = m, np.int64(1) << rule


@_jit
def _mean_power(table, scratch):
    """Return the mean input power [W] at the usual voltage."""
    _, _, _, basis, _, values = scratch
    _evaluate(table[INPUT], basis, values)
    total = 0.0
    for value in values:
        total += math.exp(value)
    return total / len(values)


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
def _screen(surfaces, failed, motors, units, old, facts, limits, was, best, options, capacitor):
    count, samples = units.coefficient.shape
    _work_failed(failed, old, units, was)
    keys, figures = np.empty((count, BEST, 8)), np.empty(10)
    need, air, log_torque = np.empty((3, count, samples))
    _needed_power(units, need, air, log_torque)
    scratch = _scratch_of(surfaces.terms, samples)
    _, _, _, _, _, values = scratch
    key, plain = np.empty(8), np.empty(count, dtype=np.int64)
    unlike, measure = np.empty(count), np.empty(count, dtype=np.bool_)
    supply = np.empty(count, dtype=np.int64)
    for m in range(len(motors.works)):
        if not motors.works[m]:
            best.failing[:, LISTED] += 1
            continue
        near = limits.supply_voltage
        _plain(motors, m, units, old, facts, near, plain, unlike, measure, supply)
        for u in np.flatnonzero(plain < NOT_FIT):
            at = units.old[u]
            number = old.rating_number[at, m]
            rating, weather = motors.ratings[m, number], units.weather[u]
            ambient = _ambient(motors.ambient[m], old.ambient[at], air[u], weather, limits)
            if ambient >= NOT_FIT:
                _blocked(best, u, m, AMBIENT)
                continue
            best.counts[u, 2] += 1
            alike = old.same_size[at, m], old.estimated[at, m]
            weak = _weakness(rating, need[u], *alike, limits)
            if weak >= NOT_FIT:
                _blocked(best, u, m, SHAFT_POWER)
                continue
            work = plain[u] + ambient + weak
            # limits the cost for a simulated value if the supply must be measured first
            most = 1 if measure[u] else NOT_FIT
            share = _starts(surfaces, m, units, u, log_torque[u], scratch, figures)
            starting = min(_starting(share, was.starts[u], limits), most)
            if starting >= NOT_FIT:
                _blocked(best, u, m, STARTING)
                continue
            if figures[7] < limits.torque and not measure[u]:
                _blocked(best, u, m, TORQUE)
                continue
            table = surfaces.coefficients[units.sideways[u], m]
            figures[8] = _flow_share(table, motors.synchronous[m], was.speeds[u], scratch)
            short = 0 if figures[8] >= limits.near_flow else most
            if short >= NOT_FIT:
                _blocked(best, u, m, AIRFLOW)
                continue
            best.counts[u, 3] += 1
            _warm_winding(table, units.temp_air[u], motors.winding[m], scratch, figures)
            hot = min(_winding(motors.winding[m], values, was, u, limits), most)
            if hot >= NOT_FIT:
                _blocked(best, u, m, WINDING)
                continue
            most_current = (1 + limits.running_amps) * motors.currents[m, number]
            slow = figures[7] < limits.torque
            over = _over_amps(table, most_current, limits.likely, scratch, figures)
            volts = _capacitor(
                table, motors.capacitor[m] * (1 + limits.capacitor_voltage), scratch, figures
            )
            work += starting + short + hot + slow + over + volts
            tasks = _plain_tasks(units, old, facts, u, m)
            tasks |= _bit(supply[u] > 0, VOLTAGE) | _bit(ambient > 0, AMBIENT)
            tasks |= _bit(weak > 0, SHAFT_POWER) | _bit(starting > 0, STARTING)
            tasks |= _bit(short > 0, AIRFLOW) | _bit(hot > 0, WINDING) | _bit(slow, TORQUE)
            tasks |= _bit(over > 0, RUNNING_AMPS) | _bit(volts > 0, CAPACITOR_VOLTAGE + ADAPTED)
            options.work[u, m], options.power[u, m] = work, _mean_power(table, scratch)
            best.counts[u, min(work, 1)] += 1
            price = motors.price[m]
            key[0], key[1], key[2] = min(work, 1), old.size_up[at, m], math.isinf(price)
            key[3], key[4] = work - (tasks >> capacitor & 1), np.rint(100 * unlike[u])
            key[5] = math.inf if math.isnan(figures[6]) else -np.rint(figures[6] / 5)
            key[6], key[7] = price, motors.place[m]
            _kept(best, keys, u, m, work, number, tasks, key, figures)


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
def _warm(surfaces, units, best, temps_outdoor, out):
    samples = units.coefficient.shape[1]
    scratch = _scratch_of(surfaces.terms, samples)
    _, _, _, basis, shift, values = scratch
    for u in range(len(best)):
        m = best[u]
        if m < 0:
            continue
        for t in range(len(temps_outdoor)):
            for d in range(samples):
                shift[d] = temps_outdoor[t] + units.temp_over[u, d] - units.temp_air[u, d]
            _sides(surfaces, units.temp_air[u], units.log_cooling[u], shift, scratch)
            given = units.coefficient[u], units.temp_air[u]
            _basis(surfaces, m, units.voltage[u, 1], *given, shift, scratch)
            _evaluate(surfaces.coefficients[units.sideways[u], m, RISE], basis, values)
            for d in range(samples):
                out[u, t, d] = temps_outdoor[t] + units.temp_over[u, d] + math.exp(values[d])


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
    best = Best.none(len(units.coefficient), len(STOPS) + rules)
    shape = units.coefficient.shape
    was = _Failed(*(np.empty(size) for size in (shape, shape, shape[0], (shape[0], 2))))
    options = Options.none(len(units.coefficient), len(motors.works))
    _screen(surfaces, failed, motors, units, old, facts, limits, was, best, options, capacitor)
    _count_plain_failures(motors, units, old, facts, limits.supply_voltage, best)
    return best, options


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
    out = np.full(shape, np.nan)
    _warm(surfaces, units, np.asarray(motor), np.asarray(temps_outdoor, dtype=float), out)
    return out
