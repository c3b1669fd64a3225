"""Solve the questions in the bank and calculate the results of common mistakes."""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from airover.business.counter import newsvendor
from airover.core.units import convert
from airover.model.conditions import voltage_limits
from airover.physics import ball_bearing, circuit, coil, fan, heat, insulation, unbalance
from airover.physics.circuit import CapacitorRun, synchronous_speed
from airover.records.nameplate import LEAD_END, Nameplate, from_shaft_end, poles_at
from airover.selection.comparison import winding_limit
from airover.selection.electrical import CURRENT_STRICT, CURRENT_TOLERANCE
from airover.service.cause import posterior
from airover.service.order import LOW_END

LINE_FREQUENCY, OTHER_FREQUENCY = 60.0, 50.0  # Hz
DEGREES_F_PER_K = 1.8
FREEZING_F = 32.0
PROBE = 0.01, 0.2  # kg and m; the force ratio is the same for any lost mass
WATTS_PER_KW = 1000.0
# A fictional 6-pole motor without saturation, so torque is proportional to the square of voltage.
STRAIGHT = CapacitorRun(
    poles=6, frequency=60.0, R1=20.0, X1=15.5, R2=25.0, X2=15.5, Xm=140.0, turns_ratio=1.3,
    R_aux=42.0, X_aux=26.0, capacitance=7.5e-6, core_conductance=4e-4,
)  # fmt: skip


class Solved(NamedTuple):
    """Answer to a question with one student's numbers, in SI units.

    Attributes
    ----------
    value : float
        Value of the answer.
    slips : Mapping[str, float]
        Results of common mistakes, by the key of the mistake.
    shown : Mapping[str, tuple[float, str]]
        Value and quantity type of the other amounts in the solution, by placeholder name. The type
        is a key in `kinds.KINDS`, or "" for a plain number.
    """

    value: float
    slips: Mapping[str, float] = MappingProxyType({})
    shown: Mapping[str, tuple[float, str]] = MappingProxyType({})


def _scaled(ratio: float, **of) -> fan.FanPoint:
    """Return a fan operating point scaled to a different speed."""
    return fan.scale(of.get("flow", 1.0), of.get("pressure", 1.0), of.get("power", 1.0), ratio)


def flow_at_speed(flow, speed, speed_new) -> Solved:
    """Return the airflow [m3/s] of the same fan at a different speed."""
    ratio = speed_new / speed
    slips = {"square": flow * ratio**2, "inverse": flow / ratio}
    return Solved(float(_scaled(ratio, flow=flow).flow), slips, {"ratio": (ratio, "")})


def pressure_at_speed(pressure, speed, speed_new) -> Solved:
    """Return the static pressure [Pa] of the same fan at a different speed."""
    ratio = speed_new / speed
    slips = {"linear": pressure * ratio, "cube": pressure * ratio**3}
    value = _scaled(ratio, pressure=pressure).pressure
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def power_at_speed(power, speed, speed_new) -> Solved:
    """Return the shaft power [W] of the same fan at a different speed."""
    ratio = speed_new / speed
    slips = {"linear": power * ratio, "square": power * ratio**2, "inverse": power / ratio**3}
    return Solved(float(_scaled(ratio, power=power).power), slips, {"ratio": (ratio, "")})


def power_gain(percent) -> Solved:
    """Return the increase in power, as a fraction, for a speed increase of ``percent``."""
    ratio = 1 + percent / 100
    slips = {"linear": ratio - 1, "square": ratio**2 - 1, "whole": ratio**3}
    return Solved(float(_scaled(ratio).power) - 1, slips, {"ratio": (ratio, "")})


def power_at_diameter(power, diameter, diameter_new) -> Solved:
    """Return the shaft power [W] of a similar fan with a different diameter."""
    ratio = diameter_new / diameter
    value = fan.scale(1.0, 1.0, power, diameter_ratio=ratio).power
    slips = {"cube": power * ratio**3, "linear": power * ratio}
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def efficiency_times_pf(power, voltage, current) -> Solved:
    """Return the shaft power divided by volts times amps, as in the nameplate check."""
    nameplate = Nameplate(
        power=f"{power:.6f} W", voltage=f"{voltage:.6f} V", current=f"{current} A"
    )
    value = nameplate.efficiency_times_pf[0]
    slips = {"inverse": 1 / value, "horsepower": value * convert(1.0, "power", "hp")}
    return Solved(value, slips, {"watts": (power, "")})


def poles_of(speed) -> Solved:
    """Return the number of poles of a motor from its nameplate speed."""
    poles = float(poles_at(speed, LINE_FREQUENCY))
    slips = {"pairs": poles / 2, "fewer": poles - 2}
    return Solved(poles, slips, {"synchronous": (_synchronous(poles), "speed")})


def slip_of(speed, poles) -> Solved:
    """Return the slip at the nameplate speed as a fraction."""
    field = _synchronous(poles)
    slips = {"over_actual": field / speed - 1, "whole": speed / field}
    return Solved(1 - speed / field, slips, {"synchronous": (field, "speed")})


def _synchronous(poles) -> float:
    return float(synchronous_speed(LINE_FREQUENCY, poles)) * 30 / math.pi


def most_amps(current) -> Solved:
    """Return the highest full-load amps allowed for a replacement motor by the usual trade rule."""
    slips = {"strict": (1 + CURRENT_STRICT) * current, "below": (1 - CURRENT_TOLERANCE) * current}
    return Solved((1 + CURRENT_TOLERANCE) * current, slips)


def lowest_voltage(voltage_low, voltage_high) -> Solved:
    """Return the lowest supply voltage [V] that the nameplate allows."""
    slips = {"of_high": voltage_limits(voltage_high, voltage_high)[0], "half": 0.95 * voltage_low}
    return Solved(voltage_limits(voltage_low, voltage_high)[0], slips)


def highest_voltage(voltage_low, voltage_high) -> Solved:
    """Return the highest supply voltage [V] that the nameplate allows."""
    slips = {"of_low": voltage_limits(voltage_low, voltage_low)[1], "marked": voltage_high}
    return Solved(voltage_limits(voltage_low, voltage_high)[1], slips)


def starting_torque(percent) -> Solved:
    """Return the starting torque at ``percent`` of rated voltage as a fraction."""
    share = percent / 100
    sagged, full = (float(STRAIGHT.solve(volts, 60.0, 1.0).torque) for volts in (230 * share, 230))
    slips = {"linear": share, "lost": 1 - share**2}
    return Solved(sagged / full, slips, {"ratio": (share, "")})


def microfarads(current, voltage, line) -> Solved:
    """Return the capacitance [F] from amps and volts measured under load."""
    slips = {
        "line": float(circuit.capacitance(current, line, LINE_FREQUENCY)),
        "fifty": float(circuit.capacitance(current, voltage, OTHER_FREQUENCY)),
    }
    return Solved(float(circuit.capacitance(current, voltage, LINE_FREQUENCY)), slips)


def amps_through(capacitance, voltage, line) -> Solved:
    """Return the current [A] in the capacitor lead."""
    slips = {
        "line": _amps(capacitance, line, LINE_FREQUENCY),
        "fifty": _amps(capacitance, voltage, OTHER_FREQUENCY),
    }
    return Solved(_amps(capacitance, voltage, LINE_FREQUENCY), slips)


def _amps(capacitance, voltage, frequency) -> float:
    return capacitance / float(circuit.capacitance(1.0, voltage, frequency))


def capacitor_limit(voltage) -> Solved:
    """Return the highest voltage [V] that a capacitor's rating allows."""
    slips = {"marked": voltage, "crest": 2**0.5 * voltage}
    return Solved(circuit.OVERVOLTAGE * voltage, slips)


def capacitor_hours(hotter, interval, voltage) -> Solved:
    """Return the life [h] of a class B capacitor ``hotter`` [K] above its rated temperature."""

    def hours(temp_over):
        temp = 70.0 + temp_over
        return float(circuit.life(voltage, temp, voltage, "B", 70.0, halving_interval=interval))

    start, halvings = hours(0.0), hotter / interval
    slips = {
        "longer": hours(-hotter),
        "once": hours(interval),
        "straight": start / (1 + halvings),
    }
    return Solved(hours(hotter), slips, {"start": (start, "hours"), "times": (halvings, "")})


def rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_air) -> Solved:
    """Return the average winding temperature rise [K] from cold and hot resistance."""
    rise = float(heat.rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_air))
    slips = {"over_cold": rise + temp_air - temp_cold, "temperature": rise + temp_air}
    shown = {
        "celsius": (rise + temp_air, ""),
        "cold_celsius": (temp_cold, ""),
        "air_celsius": (temp_air, ""),
        "ratio": (resistance_hot / resistance_cold, ""),
    }
    return Solved(rise, slips, shown)


def ohms_at_limit(resistance_cold, temp_cold, letter) -> Solved:
    """Return the winding resistance [ohm] at the insulation class's maximum average temperature."""
    limit, rise = winding_limit(letter), float(insulation.rise_limit(letter))
    value, of_rise = (
        resistance_cold * float(heat.resistance_factor(temp, temp_cold)) for temp in (limit, rise)
    )
    ratio = value / resistance_cold
    return Solved(value, {"of_rise": of_rise, "cold": resistance_cold}, {
        "limit": (limit, "temperature"), "rise": (rise, "temperature_rise"), "ratio": (ratio, ""),
    })  # fmt: skip


def insulation_hours(letter, cooler, interval) -> Solved:
    """Return the insulation life [h] ``cooler`` [K] below the class temperature."""
    index = float(insulation.temperature_index(letter))

    def hours(below):
        return float(insulation.life(index - below, letter, interval))

    times = cooler / interval
    slips = {"shorter": hours(-cooler), "once": hours(interval), "straight": hours(0) * (1 + times)}
    shown = {
        "start": (hours(0), "hours"),
        "times": (times, ""),
        "spot": (index - cooler, "temperature"),
    }
    return Solved(hours(cooler), slips, shown)


def allowed_rise(rise, temp_air) -> Solved:
    """Return the allowable temperature rise [K] in hotter air.

    Parameters
    ----------
    rise
        Allowable temperature rise of the class in air at 40 degC [K].
    """
    letter = min("ABFH", key=lambda one: abs(float(insulation.rise_limit(one)) - rise))
    value = float(insulation.rise_limit(letter, temp_ambient=temp_air))
    over = temp_air - insulation.RISE_AMBIENT
    return Solved(
        value, {"unchanged": rise, "added": rise + over}, {"over": (over, "temperature_rise")}
    )


def difference(difference) -> Solved:
    """Return a temperature difference [K], which is converted without the offset of 32."""
    shift = FREEZING_F / DEGREES_F_PER_K
    return Solved(difference, {"less": difference - shift, "plus": difference + shift})


def altitude_rise(rise, elevation) -> Solved:
    """Return the allowable temperature rise [K] at an elevation.

    Parameters
    ----------
    rise
        Allowable rise at sea level [K].
    """
    value = rise * float(insulation.altitude_factor(elevation))
    from_sea = rise * (1 - insulation.ALTITUDE_LOSS * elevation)
    above = (elevation - insulation.ALTITUDE_FREE, "elevation")
    return Solved(value, {"from_sea": from_sea, "unchanged": rise}, {"above": above})


def power_in_thin_air(power, density, density_new) -> Solved:
    """Return the shaft power [W] of a fan in air of a different density."""
    ratio = density_new / density
    slips = {"cube": power * ratio**3, "inverse": power / ratio, "unchanged": power}
    value = fan.scale(1.0, 1.0, power, density_ratio=ratio).power
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def coil_air(heat_flow, flow, temp_outdoor) -> Solved:
    """Return the coil leaving air temperature [degC]."""
    leaving = float(coil.leaving_temperature(heat_flow, flow, temp_outdoor))
    rise = leaving - temp_outdoor
    slips = {
        "weather": temp_outdoor,
        "cooler": temp_outdoor - rise,
        "too_many": temp_outdoor + DEGREES_F_PER_K * rise,
        "too_few": temp_outdoor + rise / DEGREES_F_PER_K,
    }
    return Solved(leaving, slips, {"rise": (rise, "temperature_rise")})


def bearing_hours(load_rating, load, speed) -> Solved:
    """Return the fatigue life [h] of a ball bearing from load and speed."""
    ratio = load_rating / load
    value = float(ball_bearing.rating_life(load_rating, load, speed))
    slips = {"linear": value / ratio**2, "square": value / ratio, "minutes": value * 60}
    return Solved(value, slips, {"ratio": (ratio, "")})


def life_left(percent) -> Solved:
    """Return the fraction of life that remains if the load increases by ``percent``."""
    more = 1 + percent / 100
    light, heavy = (float(ball_bearing.rating_life(100.0, load, 1000.0)) for load in (1.0, more))
    slips = {"linear": 1 / more, "square": 1 / more**2, "lost": 1 - heavy / light}
    return Solved(heavy / light, slips, {"ratio": (more, "")})


def shaking(force, speed, speed_new) -> Solved:
    """Return the rotating force [N] due to an unbalance at a different speed."""
    old, new = (float(unbalance.force_of_loss(*PROBE, rpm)) for rpm in (speed, speed_new))
    ratio = speed_new / speed
    slips = {"linear": force * ratio, "cube": force * ratio**3}
    return Solved(force * new / old, slips, {"ratio": (ratio, "")})


class Weeks(NamedTuple):
    """Number of weeks out of 100 with at most 0, 1, 2 and 3 calls for an item.

    Attributes
    ----------
    up_to : ndarray
        Cumulative number of weeks.
    """

    up_to: np.ndarray

    def ppf(self, share: float) -> int:
        """Return the number of calls that is not exceeded in a fraction ``share`` of the weeks."""
        return int(np.searchsorted(self.up_to / self.up_to[-1], share))


def from_the_shaft(rotation) -> str:
    """Return the option key for the rotation as seen from the shaft end.

    Parameters
    ----------
    rotation
        Rotation as seen from the lead end.
    """
    return from_shaft_end(rotation, LEAD_END)


def plug_out(position) -> str:
    """Return the option key for the end where the drain plug is removed."""
    return LOW_END[position]


def cut_off(shaft_old, shaft_new) -> Solved:
    """Return the length [m] to cut off a shaft."""
    return Solved(shaft_new - shaft_old, {"kept": shaft_old, "added": shaft_new + shaft_old})


def cause_chance(common_one, common_two, seen_one, seen_two) -> Solved:
    """Return the probability of the first of two causes if a finding is known."""
    prior, seen = [common_one, common_two], [[seen_one, seen_two]]
    slips = {
        "no_prior": seen_one / (seen_one + seen_two),
        "no_finding": common_one / (common_one + common_two),
        "likelihood": seen_one / 100,
    }
    both = (common_one * seen_one / 100, ""), (common_two * seen_two / 100, "")
    value = float(posterior(prior, seen)[0])
    return Solved(value, slips, {"first": both[0], "second": both[1]})


def energy_money(watts_old, watts_new, hours, price) -> Solved:
    """Return the annual savings from a reduction in motor power at a ``price`` per kWh."""
    spared = (watts_old - watts_new) / WATTS_PER_KW * hours
    slips = {"thousand": spared * price * WATTS_PER_KW, "no_price": spared,
             "whole": watts_new / WATTS_PER_KW * hours * price}  # fmt: skip
    return Solved(spared * price, slips, {"energy": (spared, "")})


def units_to_carry(none, one, two, gain, cost) -> Solved:
    """Return the number of motors to carry on a truck for a week.

    Parameters
    ----------
    gain
        Profit from a call that can be served.
    cost
        Cost of a leftover motor.
    """
    law = Weeks(np.cumsum([none, one, two, 100 - none - one - two]))
    ratio = gain / (gain + cost)
    shown = {"ratio": (100 * ratio, ""), "up_to_one": (none + one, ""),
             "up_to_two": (none + one + two, "")}  # fmt: skip
    return Solved(float(newsvendor(law, gain, cost)), {"none": 0.0, "most": 3.0}, shown)


SOLVED_BY = (
    flow_at_speed, pressure_at_speed, power_at_speed, power_gain, power_at_diameter, efficiency_times_pf, poles_of, slip_of, most_amps, lowest_voltage, highest_voltage, starting_torque, microfarads, amps_through, capacitor_limit, capacitor_hours, rise_by_resistance, ohms_at_limit, insulation_hours, allowed_rise, difference, altitude_rise, power_in_thin_air, coil_air, bearing_hours, life_left, shaking, from_the_shaft, plug_out, cut_off, cause_chance, energy_money, units_to_carry,
)  # fmt: skip
ANSWERS = {one.__name__: one for one in SOLVED_BY}
