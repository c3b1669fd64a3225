"""Motors by polynomials of their own, judged for thousands of units: the compiled inner loops.

Each motor and draw has polynomials of what it does on a cube-law fan (see `fleet.response`). They
are evaluated at each unit's voltage, load, air and cooling, and compared with the limits. Motors
are the outer loop, so that the polynomials of one motor stay close at hand. One core.
"""

import math

import numpy as np

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
    Best,
    Limits,
    Motors,
    Surfaces,
    Units,
)

try:
    import numba
except ModuleNotFoundError:
    numba = None

_FLAGS = {"error_model": "numpy", "fastmath": {"contract"}, "cache": True}


def _jit(function):
    return numba.njit(**_FLAGS)(function) if numba else function


@_jit
def _order(values):
    """Sort in place by insertion: of a few dozen draws in half the time."""
    for i in range(1, len(values)):
        value, at = values[i], i
        while at > 0 and values[at - 1] > value:
            values[at] = values[at - 1]
            at -= 1
        values[at] = value


@_jit
def _quantile(ordered, share):
    """Straight between neighbours, as NumPy has it."""
    at = share * (len(ordered) - 1)
    low = min(int(at), len(ordered) - 2)
    return ordered[low] + (at - low) * (ordered[low + 1] - ordered[low])


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
    """Slip over that of breakdown at a share of its torque, by Kloss's rule."""
    return (1 - math.sqrt(1 - ratio * ratio)) / ratio


@_jit
def _basis(surfaces, motor, voltage, coefficient, temp_air, log_cooling, shift, scratch):
    """Terms of the polynomials, (terms, draws), for one motor; ``shift`` [K] warms the air."""
    (low, high), air, cooling = surfaces.voltage[motor], surfaces.air, surfaces.log_cooling
    x = _near(2 * (voltage - low) / (high - low) - 1)
    powers, tables, basis, _, _ = scratch
    _chebyshev(x, powers)
    least, most = _load_scale(REACH * LIGHTEST), _load_scale(REACH)
    cubic = surfaces.breakdown[motor]
    for d in range(basis.shape[1]):
        breakdown = cubic[0, d] + x * (cubic[1, d] + x * (cubic[2, d] + x * cubic[3, d]))
        a, b = 1 / (REACH * breakdown), 1 / surfaces.heaviest[motor, d]
        a, b = a * a, b * b
        a, b = a * a, b * b
        thinner = (temp_air[d] + 273.15) / (temp_air[d] + shift[d] + 273.15)
        share = coefficient[d] * thinner * math.sqrt(math.sqrt(math.sqrt(a * a + b * b)))
        share = min(max(share, LIGHTEST), 1.0)
        load = _near(2 * (_load_scale(REACH * share) - least) / (most - least) - 1)
        warm = _near(2 * (temp_air[d] + shift[d] - air[0]) / (air[1] - air[0]) - 1)
        swept = _near(2 * (log_cooling[d] - cooling[0]) / (cooling[1] - cooling[0]) - 1)
        tables[0, 0, d] = tables[1, 0, d] = tables[2, 0, d] = 1.0
        tables[0, 1, d], tables[1, 1, d], tables[2, 1, d] = load, warm, swept
    for n in range(2, len(powers)):
        for place in range(3):
            for d in range(basis.shape[1]):
                one = tables[place, 1, d]
                tables[place, n, d] = 2 * one * tables[place, n - 1, d] - tables[place, n - 2, d]
    for t in range(basis.shape[0]):
        i, j, k, m = surfaces.terms[t]
        factor, out = powers[i], basis[t]
        loads, airs, coolings = tables[0, j], tables[1, k], tables[2, m]
        for d in range(len(out)):
            out[d] = factor * loads[d] * airs[d] * coolings[d]


@_jit
def _evaluate(coefficients, basis, out):
    """The sum of terms, (draws,), of one figure of one motor."""
    out[:] = 0.0
    for t in range(basis.shape[0]):
        weights, term = coefficients[t], basis[t]
        for d in range(len(out)):
            out[d] += weights[d] * term[d]


@_jit
def _supply(takes_low, takes_high, low, usual, high, measured):
    """What the line's voltage costs: nothing, one fact to find out, or NOT_FIT."""
    if not takes_low <= usual <= takes_high:
        return NOT_FIT
    if measured and low >= takes_low and high <= takes_high:
        return 0
    return NOT_FIT if measured == 2 else 1


@_jit
def _runs_up(surfaces, motor, voltage, coefficient):
    """Share of the draws that start and run up."""
    (low, high), table = surfaces.voltage[motor], surfaces.run_up[motor]
    at = min(max((voltage - low) / (high - low), 0.0), 1.0) * (len(table) - 1)
    place = min(int(at), len(table) - 2)
    part, count = at - place, 0
    for d in range(len(coefficient)):
        most = table[place, d] + part * (table[place + 1, d] - table[place, d])
        count += coefficient[d] < most
    return count / len(coefficient)


@_jit
def _rating(motors, m, wanted, same):
    """Number of the smallest rating that covers ``wanted`` [W], else of the largest."""
    last = 0
    for number in range(motors.ratings.shape[1]):
        if not math.isnan(motors.ratings[m, number]):
            last = number
            if motors.ratings[m, number] >= same * wanted:
                return number
    return last


@_jit
def _weakness(rating, need, inferred):
    """What the need for shaft power [W], as a band, costs."""
    if rating < need[0] or (rating < need[1] and not inferred):
        return NOT_FIT
    return 1 if inferred and rating < need[2] else 0


@_jit
def _ambient(limit, air):
    """What the heat of the air [degC], as a band, costs."""
    if air[1] > limit:
        return NOT_FIT
    return 0 if air[2] <= limit else 1  # an unknown limit has to be found out


@_jit
def _before(one, other):
    """Whether a key comes first: work, then coolness in steps, price, place."""
    for place in range(len(one)):
        if one[place] != other[place]:
            return one[place] < other[place]
    return False


@_jit
def _kept(best, keys, u, m, rating, key, figures):
    """Put a motor into its place among the best of unit ``u``."""
    at = BEST
    while at > 0 and (best.motor[u, at - 1] < 0 or _before(key, keys[u, at - 1])):
        at -= 1
    if at == BEST:
        return
    for down in range(BEST - 1, at, -1):
        best.motor[u, down] = best.motor[u, down - 1]
        best.work[u, down] = best.work[u, down - 1]
        best.rating_number[u, down] = best.rating_number[u, down - 1]
        best.figures[u, down] = best.figures[u, down - 1]
        keys[u, down] = keys[u, down - 1]
    best.motor[u, at], best.work[u, at], best.rating_number[u, at] = m, int(key[0]), rating
    best.figures[u, at], keys[u, at] = figures, key


@_jit
def _middle(values, out):
    """Put the 5, 50 and 95 per cent points of ``values`` into ``out``; orders the values."""
    _order(values)
    for place, share in enumerate((0.05, 0.5, 0.95)):
        out[place] = _quantile(values, share)


@_jit
def _asked(units, need, air, log_torque):
    """Bands of each unit's shaft power [W] and air [degC], and ln of its torques [N m]."""
    values = np.empty(units.coefficient.shape[1])
    for u in range(len(need)):
        for d in range(len(values)):
            speed = units.speed_rpm[u, d] * math.pi / 30
            torque = units.coefficient[u, d] * speed * speed
            log_torque[u, d] = math.log(torque)
            values[d] = torque * speed
        _middle(values, need[u])
        values[:] = units.temp_air[u]
        _middle(values, air[u])


@_jit
def _plain(motors, m, units, facts, work):
    """What line and plain facts cost with one motor, for all units at once (faster than one by
    one), into ``work``."""
    takes_low, takes_high = motors.voltage_low[m], motors.voltage_high[m]
    poles, frequency, voltage = motors.poles[m], motors.frequency[m], units.voltage
    costs = facts[m]
    for u in range(len(work)):
        work[u] = NOT_FIT
        if units.poles[u] != poles or abs(units.frequency[u] - frequency) >= 0.5:
            continue
        line = voltage[u, 0], voltage[u, 1], voltage[u, 2]
        cost = _supply(takes_low, takes_high, *line, units.measured[u])
        for c in range(units.facts.shape[1]):
            if cost >= NOT_FIT:
                break
            cost += costs[units.facts[u, c]]
        work[u] = cost


@_jit
def _carries(surfaces, m, units, u, log_torque, least_reserve, scratch, figures):
    """Whether the motor has torque enough at the low voltage.

    Then leaves basis and slips at the usual voltage in ``scratch``.
    """
    _, _, basis, still, values = scratch
    table = surfaces.coefficients[units.sideways[u], m]
    given = units.coefficient[u], units.temp_air[u], units.log_cooling[u]
    _basis(surfaces, m, units.voltage[u, 0], *given, still, scratch)
    _evaluate(table[BREAKDOWN], basis, values)
    for d in range(len(values)):
        values[d] = math.exp(values[d] - log_torque[d])
    _order(values)
    figures[7] = _quantile(values, 0.05)
    if figures[7] < least_reserve:
        return False
    _basis(surfaces, m, units.voltage[u, 1], *given, still, scratch)
    _evaluate(table[SLIP], basis, values)
    return True


@_jit
def _flow_share(synchronous, speed_rpm, slip):
    """The middle of the airflow over the old one; orders ``slip``."""
    for d in range(len(slip)):
        slip[d] = (1 - slip[d]) * synchronous / speed_rpm[d]
    _order(slip)
    return _quantile(slip, 0.5)


@_jit
def _stays_cool(table, temp_air, winding, most_current, scratch, figures):
    """Whether amps and winding keep within their limits."""
    _, _, basis, _, values = scratch
    _evaluate(table[CURRENT], basis, values)
    for d in range(len(values)):
        values[d] = math.exp(values[d])
    _middle(values, figures[0:3])
    if figures[1] > most_current:
        return False
    _evaluate(table[RISE], basis, values)
    for d in range(len(values)):
        values[d] = temp_air[d] + math.exp(values[d])
    _middle(values, figures[3:6])
    figures[6] = winding - figures[4]
    return not figures[6] < 0


@_jit
def _capacitor(table, limit, scratch, figures):
    """What the volts across the capacitor cost; ``limit`` [V] with what a standard adds."""
    _, _, basis, _, values = scratch
    _evaluate(table[CAPACITOR], basis, values)
    _order(values)
    figures[9] = math.exp(_quantile(values, 0.5))
    return 0 if figures[9] <= limit else 1  # an unknown limit has to be found out


@_jit
def _screen(surfaces, motors, units, facts, amps, limits, best):
    count, draws = units.coefficient.shape
    keys, figures = np.empty((count, BEST, 4)), np.empty(10)
    need, air, log_torque = np.empty((count, 3)), np.empty((count, 3)), np.empty((count, draws))
    _asked(units, need, air, log_torque)
    powers = np.empty(surfaces.terms.max() + 1)
    tables, basis = np.empty((3, len(powers), draws)), np.empty((len(surfaces.terms), draws))
    values, key, plain = np.empty(draws), np.empty(4), np.empty(count, dtype=np.int64)
    scratch = powers, tables, basis, np.zeros(draws), values
    for m in range(len(motors.poles)):
        if not motors.works[m]:
            continue
        _plain(motors, m, units, facts, plain)
        for u in np.flatnonzero(plain < NOT_FIT):
            work = plain[u]
            inferred = math.isnan(units.power[u])
            wanted = need[u, 1] if inferred else units.power[u]
            number = _rating(motors, m, wanted, limits.same_rating)
            work += amps[units.amps[u], m, number] + _ambient(motors.ambient[m], air[u])
            if work >= NOT_FIT:
                continue
            best.counts[u, 2] += 1
            work += _weakness(motors.ratings[m, number], need[u], inferred)
            low, coefficient = units.voltage[u, 0], units.coefficient[u]
            if work >= NOT_FIT or _runs_up(surfaces, m, low, coefficient) < limits.least_starting:
                continue
            least = limits.least_reserve
            if not _carries(surfaces, m, units, u, log_torque[u], least, scratch, figures):
                continue
            figures[8] = _flow_share(motors.synchronous[m], units.speed_rpm[u], values)
            if figures[8] < limits.least_flow:
                continue
            best.counts[u, 3] += 1
            table = surfaces.coefficients[units.sideways[u], m]
            most = motors.currents[m, number] * (1 + limits.current_over)
            if not _stays_cool(table, units.temp_air[u], motors.winding[m], most, scratch, figures):
                continue
            work += _capacitor(table, motors.capacitor[m] * limits.overvoltage, scratch, figures)
            work += 1 if math.isnan(motors.winding[m]) else 0
            best.counts[u, 0 if work == 0 else 1] += 1
            cool = math.inf if math.isnan(figures[6]) else -np.rint(figures[6] / 5)
            key[0], key[1], key[2], key[3] = work, cool, motors.price[m], motors.place[m]
            _kept(best, keys, u, m, number, key, figures)


@_jit
def _warm(surfaces, units, best, temps_outdoor, out):
    draws = units.coefficient.shape[1]
    powers = np.empty(surfaces.terms.max() + 1)
    tables = np.empty((3, len(powers), draws))
    basis = np.empty((len(surfaces.terms), draws))
    shift, values = np.empty(draws), np.empty(draws)
    scratch = powers, tables, basis, shift, values
    for u in range(len(best)):
        m = best[u]
        if m < 0:
            continue
        for t in range(len(temps_outdoor)):
            for d in range(draws):
                shift[d] = temps_outdoor[t] + units.temp_over[u, d] - units.temp_air[u, d]
            given = units.coefficient[u], units.temp_air[u], units.log_cooling[u]
            _basis(surfaces, m, units.voltage[u, 1], *given, shift, scratch)
            _evaluate(surfaces.coefficients[units.sideways[u], m, RISE], basis, values)
            for d in range(draws):
                out[u, t, d] = temps_outdoor[t] + units.temp_over[u, d] + math.exp(values[d])


def _needed():
    if numba is None:
        raise ModuleNotFoundError("screening a fleet needs numba: install airover[fast]")


def screen(surfaces: Surfaces, motors: Motors, units: Units, facts, amps, limits: Limits) -> Best:
    """The best motors of each of ``units``.

    ``facts`` (motors, values) and ``amps`` (values, motors, ratings) say what a plain fact costs:
    0, 1 for something to adapt or to find out, NOT_FIT. A first call on a machine compiles for
    some seconds. Raises ModuleNotFoundError without numba.
    """
    _needed()
    best = Best.none(len(units.coefficient))
    _screen(surfaces, motors, units, facts, amps, limits, best)
    return best


def winding_temperatures(surfaces: Surfaces, units: Units, motor, temps_outdoor):
    """Winding [degC] of each unit's ``motor`` (a number, -1 for none, then NaN) at its usual
    voltage on days of ``temps_outdoor`` [degC]; shape (units, temperatures, draws).

    The air's density follows the temperature, its moisture is left as it is on the design day.
    Raises ModuleNotFoundError without numba.
    """
    _needed()
    shape = (len(motor), len(temps_outdoor), units.coefficient.shape[1])
    out = np.full(shape, np.nan)
    _warm(surfaces, units, np.asarray(motor), np.asarray(temps_outdoor, dtype=float), out)
    return out
