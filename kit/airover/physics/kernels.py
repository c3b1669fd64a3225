"""Kernels that are compiled: operating points, warmed-up motors and shaft torques of single motors.

`compiled` calls them for arrays. It imports this module, and with it Numba, only to compile it.

`circuit` solves the equations of both windings for two rotor impedances. This module uses explicit
expressions without fractions for the currents of the two revolving fields. In these expressions, a
is the turns ratio, main and aux are the winding impedances (aux includes the capacitor), 1/y is the
magnetizing reactance, and s is the slip. For the forward field, r = R2 + s w with w = j X2 + skin
R2, and d = j s + y r. For the backward field, in which the slip is 2 - s, the same quantities are
r' and d'.

    shared = main aux d d' + (aux + a^2 main) j (r d' + r' d) / 2 - a^2 r r'
    ahead  = (aux - j a main) d' + (a + j a^2) r'    forward current  = V d ahead / shared
    behind = (aux + j a main) d - (a - j a^2) r      backward current = V d' behind / shared

``shared`` is linear in s (2 - s), ``ahead`` is linear in 2 - s, and ``behind`` is linear in s. The
coefficients of these expressions are polynomials in y. Calculating the torque therefore takes about
forty multiplications, and its derivatives with respect to slip and y take only a few more. Newton's
method solves for slip and saturation.

`warmed_one` repeats the correlations of `air` and `heat` and the network of `thermal_network` for a
single motor. A test compares the results.

The machine code is loaded without Numba, so kernels raise no exceptions and allocate no arrays.
"""

import math
from typing import NamedTuple

import numba

from airover.core.errors import AIR_SPEED
from airover.physics.air import (
    COLLISION,
    GAS_CONSTANT_DRY_AIR,
    GRAVITY,
    HEAT_CAPACITY,
    PRESSURE_SEA_LEVEL,
    TEMP_FILM,
    ZERO_CELSIUS,
)
from airover.physics.compiled import (
    FASTEST,
    HASTENED,
    LAST_STEP,
    RESTART,
    SLIP_STILL,
    TEMP_NO_WORK,
    TEMP_STILL,
    UNSOLVED,
)
from airover.physics.heat import INTERCEPT, STEFAN_BOLTZMANN
from airover.physics.thermal_network import AT_BEARINGS

SLIP_TOLERANCE = 1e-9  # after a smaller Newton step, the error is on the order of its square
IRON_TOLERANCE = 1e-7  # the same for the air-gap voltage level
ALLOWANCE, NONE = 100.0, 1e99  # see _near
LEAST = 1e-99  # positive number with a finite logarithm
COPPER, ALUMINUM = INTERCEPT["copper"], INTERCEPT["aluminum"]
SLOWEST_AIR, FASTEST_AIR, HOTTEST_AIR = AIR_SPEED.low, AIR_SPEED.high, TEMP_FILM.high

# Products of finite numbers may be fused, or dropped if zero, but not reordered.
_jit = numba.njit(error_model="numpy", fastmath={"nnan", "ninf", "nsz", "contract"})


class _Line(NamedTuple):
    """Complex-valued linear function."""

    start: complex
    slope: complex


class _Motor(NamedTuple):
    """Constants for one motor with its fan.

    The digit in the name of a linear function is the power of y by which the function is
    multiplied. The torque scale is described in _case.
    """

    shared_0: _Line
    shared_1: _Line
    shared_2: _Line
    ahead_0: _Line
    ahead_1: _Line
    behind_0: _Line
    behind_1: _Line
    resistance: float
    along: complex  # w
    skin: float
    y: float  # without saturation
    share: float
    exponent: float
    emf_scale: float  # (V / 2 emf_rated)^2
    friction: float
    fan: float


class _State(NamedTuple):
    """Currents of both fields, their squares, the torque and the slip derivatives.

    ``over`` is 1 / abs(shared)^2. ``shared_by_slip`` is the slip derivative of abs(shared)^2 times
    ``over``.
    """

    shared: complex
    ahead: complex
    behind: complex
    over: float
    forward: float
    backward: float
    shared_by_slip: float
    forward_by_slip: float
    backward_by_slip: float
    torque: float
    torque_by_slip: float


class _Iron(NamedTuple):
    """Torque and saturation mismatch, with their derivatives with respect to slip and level."""

    torque: float
    by_slip: float
    by_level: float
    mismatch: float
    mismatch_by_slip: float
    mismatch_by_level: float


class _Balance(NamedTuple):
    """Net torque and shaft torque at the converged saturation ``level``."""

    surplus: float
    surplus_by_slip: float
    shaft: float
    shaft_by_slip: float
    level: float
    level_by_slip: float


@_jit
def _case(
    voltage, frequency, coefficient, poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio, R_aux,
    X_aux, capacitance, friction, skin, tap, reversed, share, exponent, emf_rated,
):  # fmt: skip
    """Return the constants of a motor that do not depend on slip.

    Torques are divided by V^2 R2 / (2 w_synchronous).
    """
    scale = frequency / rated_frequency
    skin = skin * scale
    w = complex(skin * R2, X2 * scale)
    a = (-turns_ratio if reversed else turns_ratio) / tap
    main = complex(R1, X1 * scale)
    aux = complex(R_aux, X_aux * scale - 1 / (2 * math.pi * frequency * capacitance))
    aux = _ratio(aux, tap**2) + R1 * (1 - tap) / tap
    both, product = aux + a * a * main, main * aux
    fore, aft = aux - 1j * a * main, aux + 1j * a * main
    plus, minus = complex(a, a * a), complex(-a, a * a)
    rotor = R2 * R2 + 2 * R2 * w  # r r' except for its term in s (2 - s)
    synchronous = 4 * math.pi * frequency / poles
    unit = 0.5 * voltage * voltage * R2 / synchronous
    emf_scale = (0.5 * voltage / (emf_rated * scale)) ** 2  # saturation depends on volts per hertz
    load = (friction * synchronous / unit, coefficient * synchronous**2 / unit)
    return _Motor(
        _Line(-(both * R2 + a * a * rotor), -(a * a * w * w + product + both * w)),
        _Line(1j * (2 * R2 * product + both * rotor), 1j * (2 * product + both * w) * w),
        _Line(product * rotor, product * w * w),
        _Line(plus * R2, 1j * fore + plus * w),
        _Line(fore * R2, fore * w),
        _Line(minus * R2, 1j * aft + minus * w),
        _Line(aft * R2, aft * w),
        R2, w, skin, 1 / (Xm * scale), share, exponent, emf_scale, *load,
    )  # fmt: skip


@_jit
def _ratio(z, number):
    """Return z divided by a real number. Numba's division of complex numbers raises exceptions."""
    return complex(z.real / number, z.imag / number)


@_jit
def _squared(z):
    return z.real * z.real + z.imag * z.imag


@_jit
def _squared_slope(z, slope):
    """Return the derivative of the squared magnitude of z, given the derivative of z."""
    return 2 * (z.real * slope.real + z.imag * slope.imag)


@_jit
def _on(line, x):
    return line.start + x * line.slope


@_jit
def _plus(line, y, other):
    return _Line(line.start + y * other.start, line.slope + y * other.slope)


@_jit
def _lines(motor, y):
    """Return the linear functions ``shared``, ``ahead`` and ``behind`` for a value of y."""
    shared = _plus(motor.shared_0, y, _plus(motor.shared_1, y, motor.shared_2))
    ahead = _plus(motor.ahead_0, y, motor.ahead_1)
    return shared, ahead, _plus(motor.behind_0, y, motor.behind_1)


@_jit
def _state(motor, lines, slip):
    """Return the squared currents and the torque for a value of y.

    The torque of each field is the squared current divided by the squared magnitude of ``shared``,
    multiplied by the slip with respect to the field and by the relative increase in rotor
    resistance at this slip.
    """
    back = 2 - slip
    front, rear = slip * (1 + motor.skin * slip), back * (1 + motor.skin * back)
    along_shared, along_ahead, along_behind = lines
    shared = _on(along_shared, slip * back)
    ahead, behind = _on(along_ahead, back), _on(along_behind, slip)
    over = 1 / _squared(shared)
    forward, backward = _squared(ahead), _squared(behind)
    shared_by_slip = 2 * (1 - slip) * _squared_slope(shared, along_shared.slope) * over
    forward_by_slip = -_squared_slope(ahead, along_ahead.slope)
    backward_by_slip = _squared_slope(behind, along_behind.slope)
    torque = (front * forward - rear * backward) * over
    bent = (1 + 2 * motor.skin * slip) * forward + (1 + 2 * motor.skin * back) * backward
    bent += front * forward_by_slip - rear * backward_by_slip
    return _State(
        shared, ahead, behind, over, forward, backward, shared_by_slip, forward_by_slip,
        backward_by_slip, torque, bent * over - torque * shared_by_slip,
    )  # fmt: skip


@_jit
def _iron(motor, slip, level):
    """Return the torque and the mismatch at an air-gap voltage ``level``."""
    grown = motor.share * math.exp(motor.exponent * level)
    y = motor.y * (1 - motor.share + grown)
    y_by_level = motor.y * motor.exponent * grown
    at, back = _state(motor, _lines(motor, y), slip), 2 - slip

    turn = slip * back
    shared_y = _on(motor.shared_1, turn) + 2 * y * _on(motor.shared_2, turn)
    shared_by_y = _squared_slope(at.shared, shared_y) * at.over
    forward_by_y = _squared_slope(at.ahead, _on(motor.ahead_1, back))
    backward_by_y = _squared_slope(at.behind, _on(motor.behind_1, slip))
    front, rear = slip * (1 + motor.skin * slip), back * (1 + motor.skin * back)
    torque_by_y = (front * forward_by_y - rear * backward_by_y) * at.over - at.torque * shared_by_y

    ahead, behind = motor.resistance + slip * motor.along, motor.resistance + back * motor.along
    rotor_forward, rotor_backward = _squared(ahead), _squared(behind)
    emf = rotor_forward * at.forward + rotor_backward * at.backward
    emf_by_y = rotor_forward * forward_by_y + rotor_backward * backward_by_y
    emf_by_slip = _squared_slope(ahead, motor.along) * at.forward
    emf_by_slip -= _squared_slope(behind, motor.along) * at.backward
    emf_by_slip += rotor_forward * at.forward_by_slip + rotor_backward * at.backward_by_slip
    ratio = emf * at.over * motor.emf_scale * math.exp(-2 * level)
    by_slip = 0.5 * (emf_by_slip / emf - at.shared_by_slip)
    by_level = 0.5 * (emf_by_y / emf - shared_by_y) * y_by_level - 1
    torque_by_level = torque_by_y * y_by_level
    mismatch = _half_logarithm(ratio)
    return _Iron(at.torque, at.torque_by_slip, torque_by_level, mismatch, by_slip, by_level)


@_jit
def _half_logarithm(ratio):
    """Return ln(ratio) / 2, calculated with a faster series if the ratio is near 1."""
    if ratio < 0.8 or ratio > 1.25:
        return 0.5 * math.log(ratio)
    q = (ratio - 1) / (ratio + 1)
    return q * (1 + q * q * (1 / 3 + q * q * (1 / 5 + q * q / 7)))


@_jit
def _balance(motor, straight, slip, level, allowance):
    """Return the net torque at ``slip``, after solving for the saturation level.

    The level is found with Newton's method. As in `circuit`, the root is bracketed. Every eighth
    step, and any step that leaves the bracket, is replaced by bisection. ``straight`` is the result
    of `_lines` without saturation. If no level is found, the level and the shaft torque of this
    result, and of all that start from it, are UNSOLVED.
    """
    if level == UNSOLVED:
        return _Balance(-1.0, 1.0, UNSOLVED, 0.0, UNSOLVED, 0.0)
    if motor.share == 0:
        at = _state(motor, straight, slip)
        return _found(motor, slip, at.torque, at.torque_by_slip, level, 0.0)
    low, high = level - 8.0, level + 3.0
    for count in range(1, 200):
        iron = _iron(motor, slip, level)
        step = -iron.mismatch / iron.mismatch_by_level
        torque = iron.torque + iron.by_level * step
        if _near(step, torque, torque - _load(motor, slip), allowance):
            by_slip = -iron.mismatch_by_slip / iron.mismatch_by_level
            torque_by_slip = iron.by_slip + iron.by_level * by_slip
            return _found(motor, slip, torque, torque_by_slip, level + step, by_slip)
        if iron.mismatch > 0:
            low = level
        else:
            high = level
        level += step
        if not low < level < high or count % 8 == 0 or iron.mismatch_by_level > 0:
            level = 0.5 * (low + high)
    return _Balance(-1.0, 1.0, UNSOLVED, 0.0, UNSOLVED, 0.0)


@_jit
def _load(motor, slip):
    """Return the sum of friction torque and fan torque."""
    return (1 - slip) * (motor.friction + motor.fan * (1 - slip))


@_jit
def _found(motor, slip, torque, torque_by_slip, level, level_by_slip):
    shaft = torque - motor.friction * (1 - slip)
    shaft_by_slip = torque_by_slip + motor.friction
    surplus = torque - _load(motor, slip)
    by_slip = shaft_by_slip + 2 * motor.fan * (1 - slip)
    return _Balance(surplus, by_slip, shaft, shaft_by_slip, level, level_by_slip)


@_jit
def _near(step, torque, surplus, allowance):
    """Return True if the remaining error in level cannot change the sign of the net torque.

    The torque error is on the order of the square of the step. ``allowance`` is a safety factor.
    """
    small = abs(step) < 0.1 and allowance * step * step * abs(torque) < abs(surplus)
    return small or abs(step) < IRON_TOLERANCE


@_jit
def _settled(motor, scan, rules):
    """Return the slip, the level and the flags for starting and running."""
    breakaway, nudge = rules[0], rules[1]
    straight = _lines(motor, motor.y)
    here = _balance(motor, straight, scan[0], 0.0, ALLOWANCE)
    if here.surplus <= breakaway * motor.fan:
        here = _balance(motor, straight, scan[0], here.level, NONE)
        return scan[0], here.level, False, False
    before = here
    for place in range(1, len(scan)):
        before, here = here, _carried(motor, straight, scan[place], scan[place - 1], here)
        if here.surplus <= 0:
            break
    low, high = scan[place], scan[place - 1]
    guess = low + (high - low) * here.surplus / (here.surplus - before.surplus)
    slip, level = _root(motor, straight, low, high, guess, here)
    here = _balance(motor, straight, slip, level, NONE)
    runs = here.shaft_by_slip > 0 and _weaker_above(motor, straight, scan, slip, nudge, here)
    return slip, here.level, True, runs


@_jit
def _carried(motor, straight, slip, before, there):
    """Return the torque balance at ``slip``, starting from an extrapolated level."""
    level = there.level + there.level_by_slip * (slip - before)
    return _balance(motor, straight, slip, level, ALLOWANCE)


@_jit
def _root(motor, straight, low, high, slip, there):
    """Find the slip at which the net torque is zero, searching from ``low`` to ``high``.

    The function returns this slip and its saturation level. ``there`` is the torque balance at slip
    ``low``. Newton's method starts at ``slip`` and is safeguarded by a bracket. Every eighth step,
    and any step that leaves the bracket, is replaced by bisection.
    """
    before = low
    for count in range(1, 200):
        here = _carried(motor, straight, slip, before, there)
        step = -here.surplus / here.surplus_by_slip
        if abs(step) < SLIP_TOLERANCE or high - low < 1e-12:
            return slip + step, here.level + here.level_by_slip * step
        if here.surplus > 0:
            high = slip
        else:
            low = slip
        before, there = slip, here
        slip += step
        if not low <= slip <= high or count % 8 == 0:
            slip = 0.5 * (low + high)
    return slip, UNSOLVED


@_jit
def _weaker_above(motor, straight, scan, slip, nudge, here):
    """Return True if no lower slip in the scan has a higher shaft torque than ``here``."""
    near, there = slip, here
    for faster in scan:
        if faster < slip - nudge:
            near, there = faster, _carried(motor, straight, faster, near, there)
            if there.shaft > here.shaft:
                return False
    return True


def settled_one(
    scan, rules, voltage, frequency, coefficient, poles, rated_frequency, R1, X1, R2, X2, Xm,
    turns_ratio, R_aux, X_aux, capacitance, friction, skin, tap, reversed, share, exponent, emf_rated,
    slip, emf, starts, runs,
):  # fmt: skip
    """Write the slip, air-gap voltage and both flags of `compiled.settle` for one motor."""
    motor = _case(
        voltage, frequency, coefficient, poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio,
        R_aux, X_aux, capacitance, friction, skin, tap, reversed, share, exponent, emf_rated,
    )  # fmt: skip
    slip[0], level, starts[0], runs[0] = _settled(motor, scan, rules)
    emf[0] = _emf(emf_rated * frequency / rated_frequency, level)


@_jit
def _emf(rated, level):
    return UNSOLVED if level == UNSOLVED else rated * math.exp(level)


class _Losses(NamedTuple):
    """Losses of a motor [W]."""

    main: float
    aux: float
    rotor: float
    core: float
    friction: float


@_jit
def _losses(motor, slip, level, voltage, synchronous, R1, R_aux, turns_ratio, tap, core, friction):
    """Return the losses at ``slip`` and a saturation ``level``, as `CapacitorRun.balance` does.

    ``turns_ratio`` is referred to the supply voltage and negative for a reversed winding.
    """
    y = motor.y * (1 - motor.share + motor.share * math.exp(motor.exponent * level))
    at, back = _state(motor, _lines(motor, y), slip), 2 - slip
    ahead, behind = motor.resistance + slip * motor.along, motor.resistance + back * motor.along
    per_shared = voltage * at.over * at.shared.conjugate()
    forward = (1j * slip + y * ahead) * at.ahead * per_shared
    backward = (1j * back + y * behind) * at.behind * per_shared
    from_line = _squared(_ratio(backward - forward, 2 * turns_ratio))
    gap = 0.5 * voltage * voltage * motor.resistance * at.over
    front, rear = slip * (1 + motor.skin * slip), back * (1 + motor.skin * back)
    speed = (1 - slip) * synchronous
    return _Losses(
        _squared(0.5 * (forward + backward)) * R1 + from_line * R1 * (1 - tap) / tap,
        from_line * R_aux / (tap * tap),
        gap * (slip * front * at.forward + back * rear * at.backward),
        core * voltage * voltage,
        friction * speed * speed,
    )


@_jit
def _air(temp):
    """Return the kinematic viscosity, Prandtl number and conductivity, as `air.properties` does."""
    kelvin = temp + ZERO_CELSIUS
    x = math.log(kelvin / 103.3)
    fit = COLLISION[2] + x * (COLLISION[3] + x * COLLISION[4])
    collision = math.exp(COLLISION[0] + x * (COLLISION[1] + x * fit))
    viscosity = 0.0266958 * math.sqrt(28.9586 * kelvin) / (0.360**2 * collision)
    log = x + math.log(103.3 / 132.6312)
    conductivity = 1.308 * viscosity + 1.405 * math.exp(1.1 * log) - 1.036 * math.exp(0.3 * log)
    conductivity *= 1e-3
    density = PRESSURE_SEA_LEVEL / (GAS_CONSTANT_DRY_AIR * kelvin)
    return viscosity * 1e-6 / density, viscosity * 1e-6 * HEAT_CAPACITY / conductivity, conductivity


class _Film(NamedTuple):
    """Data of the forced convection coefficient that do not depend on the air speed.

    The factors are those of the Prandtl number in both correlations.
    """

    per_speed: float  # Reynolds number divided by air speed [s/m]
    one: float
    other: float
    scale: float  # conductivity divided by diameter, times the multiplier
    place: float


@_jit
def _film_of(diameter, viscosity, prandtl, conductivity, place, factor):
    damping = math.sqrt(math.sqrt(1 + (0.4 / prandtl) ** (2 / 3)))
    one, other = 0.62 * prandtl ** (1 / 3) / damping, prandtl**0.37
    return _Film(diameter / viscosity, one, other, factor * conductivity / diameter, place)


@_jit
def _forced_film(film, speed):
    """Return the forced convection coefficient from both correlations of `heat.film_coefficient`."""
    reynolds = film.per_speed * min(max(speed, SLOWEST_AIR), FASTEST_AIR)
    log, root = math.log(reynolds), math.sqrt(reynolds)
    bracket = math.exp(0.8 * math.log(1 + math.exp(0.625 * (log - math.log(282000)))))
    one = 0.3 + film.one * root * bracket
    other = max(0.51 * root, 0.26 * math.exp(0.6 * log), 0.076 * math.exp(0.7 * log))
    other *= film.other
    low, high = min(one, other), max(one, other)
    return (low + film.place * (high - low)) * film.scale


@_jit
def _free_film(diameter, length, upright, rise, temp_air):
    """Return the natural convection coefficient, as `Network.still_film` does."""
    mean = temp_air + 0.5 * abs(rise)
    viscosity, prandtl, conductivity = _air(min(mean, HOTTEST_AIR))
    driving = GRAVITY * abs(rise) / (mean + ZERO_CELSIUS) * prandtl / (viscosity * viscosity)
    log = math.log(prandtl)
    around = 1 + math.exp(9 / 16 * (math.log(0.559) - log))
    along = 1 + math.exp(9 / 16 * (math.log(0.492) - log))
    around, along = math.exp(-8 / 27 * math.log(around)), math.exp(-8 / 27 * math.log(along))
    root = math.exp(math.log(max(driving, LEAST)) / 6)
    horizontal = 0.60 + 0.387 * root * math.sqrt(diameter) * around
    vertical = 0.825 + 0.387 * root * math.sqrt(length) * along
    horizontal *= horizontal * conductivity / diameter
    vertical *= vertical * conductivity / length
    return horizontal + upright * (vertical - horizontal)


@_jit
def _shell_rise(loss, area, film, base, radiant):
    """Return the temperature rise of the shell, as `heat.shell_rise` does, or UNSOLVED."""
    rise = loss / (area * (film + 4 * radiant * base**3))
    for _ in range(50):
        hot = base + rise
        excess = area * (film * rise + radiant * (hot**4 - base**4)) - loss
        step = excess / (area * (film + 4 * radiant * hot**3))
        rise -= step
        if abs(step) <= 1e-9 * max(rise, 1.0):
            return rise
    return UNSOLVED


@_jit
def _four(weights, start, one, two, three, four):
    """Return the sum of four values with the weights from the index ``start`` on."""
    sum = weights[start] * one + weights[start + 1] * two
    return sum + weights[start + 2] * three + weights[start + 3] * four


@_jit
def _temperatures(
    losses, sun, film, temp_air, rises, shares, shell_blade, shell_far, blade_far, area, hub, fin,
    emissivity, out,
):  # fmt: skip
    """Write the node temperatures to ``out``, as `Network.approach` calculates them.

    ``film`` is the combined convection coefficient and ``sun`` the solar heat [W]. The function
    returns the temperature rise of the shell, which is UNSOLVED if there is no solution.
    """
    bearing = 0.5 * AT_BEARINGS * losses.friction
    main, aux, core = losses.main, losses.aux, losses.core
    rotor = losses.rotor + (1 - AT_BEARINGS) * losses.friction
    shell = sun + _four(shares, 0, main, aux, rotor, core)
    blade = bearing + _four(shares, 4, main, aux, rotor, core)
    far = bearing + _four(shares, 8, main, aux, rotor, core)
    base, radiant = temp_air + ZERO_CELSIUS, emissivity * STEFAN_BOLTZMANN
    far_air = hub * (film + 4 * radiant * base**3)
    of_blade, of_far = shell_blade + blade_far + far_air + fin, shell_far + blade_far + far_air
    both = of_blade * of_far - blade_far * blade_far
    blade_at = (of_far * blade + blade_far * far) / both
    far_at = (of_blade * far + blade_far * blade) / both
    blade_slope = (of_far * shell_blade + blade_far * shell_far) / both
    far_slope = (of_blade * shell_far + blade_far * shell_blade) / both
    lost = shell_blade * (1 - blade_slope) + shell_far * (1 - far_slope)
    gained = shell + shell_blade * blade_at + shell_far * far_at
    rise = _shell_rise(gained, area, film + lost / area, base, radiant)
    blade, far = blade_at + blade_slope * rise, far_at + far_slope * rise
    for node in range(4):
        inner = _four(rises, 4 * node, main, aux, rotor, core) + shares[node] * rise
        out[node] = temp_air + inner + shares[4 + node] * blade + shares[8 + node] * far
    out[4], out[5], out[6] = temp_air + rise, temp_air + blade, temp_air + far
    return rise


@_jit
def _newton(motor, straight, slip, level, moves):
    """Return slip and level after one Newton step, as `operating_point.step` does.

    The level is extrapolated to the new slip. Its error is on the order of the square of the step,
    and the next step begins with the exact level.
    """
    here = _balance(motor, straight, slip, level, NONE)
    if not moves:
        return slip, here.level
    change = -here.surplus / (here.surplus_by_slip if here.surplus_by_slip != 0 else 1.0)
    moved = min(max(slip + min(max(change, -0.05), 0.05), 0.0), 1.0)
    return moved, here.level + here.level_by_slip * (moved - slip)


@_jit
def _factors(temps, temp_reference, over):
    """Return the ratio of the resistance of each winding and the cage to that at the rating.

    The resistances do not increase beyond TEMP_NO_WORK.
    """
    most = TEMP_NO_WORK
    return (
        (COPPER + min(temps[0], most)) / (COPPER + min(temp_reference + over[0], most)),
        (COPPER + min(temps[1], most)) / (COPPER + min(temp_reference + over[1], most)),
        (ALUMINUM + min(temps[2], most)) / (ALUMINUM + min(temp_reference + over[2], most)),
    )


@_jit
def _hot_case(supply, motor, factors):
    """Return the constants of a ``motor`` with its resistances multiplied by ``factors``."""
    poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio, R_aux = motor[:9]
    main, aux, rotor = factors
    return _case(
        *supply, poles, rated_frequency, R1 * main, X1, R2 * rotor, X2, Xm, turns_ratio,
        R_aux * aux, *motor[9:],
    )  # fmt: skip


def warmed_one(
    scan, rules, following, last, over, rises, shares, shell_blade, shell_far, blade_far, area, hub,
    fin, diameter, length, emissivity, upright, film_place, film_factor, temp_reference, temp_air,
    speed_per_rpm, sun, voltage, frequency, coefficient, core_conductance, poles, rated_frequency,
    R1, X1, R2, X2, Xm, turns_ratio, R_aux, X_aux, capacitance, friction, skin, tap, reversed, share,
    exponent, emf_rated, slip_found, emf, starts, temps,
):  # fmt: skip
    """Write the results of `compiled.warm` for one motor."""
    most = TEMP_NO_WORK
    forced = _film_of(diameter, *_air(temp_air), film_place, film_factor)
    a = (-turns_ratio if reversed else turns_ratio) / tap
    synchronous = 4 * math.pi * frequency / poles
    heat_of_sun = sun * math.pi / 4 * diameter * diameter
    for node in range(len(temps)):
        temps[node] = temp_reference
    supply, factors = (voltage, frequency, coefficient), (1.0, 1.0, 1.0)
    rated = (
        poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio, R_aux, X_aux, capacitance, friction,
        skin, tap, reversed, share, exponent, emf_rated,
    )  # fmt: skip
    slip, level, warmed, done = 1.0, 0.0, 0.0, False
    for number in range(LAST_STEP + 1):
        motor = _hot_case(supply, rated, factors)
        if number == 0:
            slip, level, starts[0], _ = _settled(motor, scan, rules)
        else:
            before = slip if starts[0] else 1.0
            slip, level = _newton(motor, _lines(motor, motor.y), before, level, starts[0])
            done = abs(slip - before) < SLIP_STILL and warmed < TEMP_STILL
        if done:
            break
        if number % RESTART == RESTART - 1:  # after a pull-out, find the crawling speed
            slip, level, _, _ = _settled(motor, scan, rules)
        if level == UNSOLVED:
            break
        main, aux, _ = factors
        losses = _losses(
            motor, slip, level, voltage, synchronous, R1 * main, R_aux * aux, a, tap,
            core_conductance, friction,
        )  # fmt: skip
        speed = speed_per_rpm * (1 - slip) * synchronous * 30 / math.pi
        film = _forced_film(forced, speed)
        free = _free_film(diameter, length, upright, temps[4] - temp_air, temp_air)
        film = math.exp(math.log(film**3 + free**3) / 3)
        rise = _temperatures(
            losses, heat_of_sun, film, temp_air, rises, shares, shell_blade, shell_far, blade_far,
            area, hub, fin, emissivity, following,
        )  # fmt: skip
        if rise == UNSOLVED:
            level = UNSOLVED
            break
        warmed, hasten = 0.0, number + 1 in HASTENED
        for node in range(len(temps)):
            change = following[node] - temps[node]
            if node < 3:
                warmed = max(warmed, abs(min(following[node], most) - min(temps[node], most)))
            ratio = change / last[node] if hasten and last[node] != 0 else 0.0
            if not 0 < ratio < FASTEST:
                ratio = 0.0
            temps[node], last[node] = following[node] + ratio / (1 - ratio) * change, change
        factors = _factors(temps, temp_reference, over)
    if not done and level != UNSOLVED:
        for node in range(len(temps)):
            temps[node] = most
        motor = _hot_case(supply, rated, _factors(temps, temp_reference, over))
        slip, level, _, _ = _settled(motor, scan, rules)
    slip_found[0], emf[0] = slip, _emf(emf_rated * frequency / rated_frequency, level)


def torques_one(
    slips, voltage, frequency, poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio, R_aux, X_aux,
    capacitance, friction, skin, tap, reversed, share, exponent, emf_rated, torques,
):  # fmt: skip
    """Write the results of `compiled.shaft_torques` for one motor."""
    motor = _case(
        voltage, frequency, 1e-9, poles, rated_frequency, R1, X1, R2, X2, Xm, turns_ratio, R_aux,
        X_aux, capacitance, friction, skin, tap, reversed, share, exponent, emf_rated,
    )  # fmt: skip
    unit = voltage * voltage * R2 * poles / (8 * math.pi * frequency)
    straight, level = _lines(motor, motor.y), 0.0
    for place in range(len(slips)):
        here = _balance(motor, straight, slips[place], level, NONE)
        torques[place] = UNSOLVED if here.level == UNSOLVED else here.shaft * unit
        level = here.level
