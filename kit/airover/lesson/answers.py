"""Functions that solve the bank's questions, and the values to which usual slips lead."""

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
PROBE = 0.01, 0.2  # kg at m: any lost mass gives the same ratio of forces
WATTS_PER_KW = 1000.0
# An invented 6-pole motor with straight iron: torque goes with the square of the volts in any such.
STRAIGHT = CapacitorRun(
    poles=6, frequency=60.0, R1=20.0, X1=15.5, R2=25.0, X2=15.5, Xm=140.0, turns_ratio=1.3,
    R_aux=42.0, X_aux=26.0, capacitance=7.5e-6, core_conductance=4e-4,
)  # fmt: skip


class Solved(NamedTuple):
    """Answer to a question with one student's numbers, in SI units.

    ``value`` is the answer; ``slips`` are the values that usual slips lead to, by the slip's key;
    ``shown`` are further amounts that the solution tells: value and kind (a key of
    `kinds.KINDS`, "" for a plain number), by their place in the text.
    """

    value: float
    slips: Mapping[str, float] = MappingProxyType({})
    shown: Mapping[str, tuple[float, str]] = MappingProxyType({})


def _scaled(ratio: float, **of) -> fan.FanPoint:
    """A fan point of 1 m3/s, 1 Pa and 1 W, or ``of`` others, at another speed."""
    return fan.scale(of.get("flow", 1.0), of.get("pressure", 1.0), of.get("power", 1.0), ratio)


def flow_at_speed(flow, speed, speed_new) -> Solved:
    """Airflow [m3/s] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"square": flow * ratio**2, "inverse": flow / ratio}
    return Solved(float(_scaled(ratio, flow=flow).flow), slips, {"ratio": (ratio, "")})


def pressure_at_speed(pressure, speed, speed_new) -> Solved:
    """Static pressure [Pa] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"linear": pressure * ratio, "cube": pressure * ratio**3}
    value = _scaled(ratio, pressure=pressure).pressure
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def power_at_speed(power, speed, speed_new) -> Solved:
    """Shaft power [W] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"linear": power * ratio, "square": power * ratio**2, "inverse": power / ratio**3}
    return Solved(float(_scaled(ratio, power=power).power), slips, {"ratio": (ratio, "")})


def power_gain(percent) -> Solved:
    """Share by which power grows where speed grows by ``percent``."""
    ratio = 1 + percent / 100
    slips = {"linear": ratio - 1, "square": ratio**2 - 1, "whole": ratio**3}
    return Solved(float(_scaled(ratio).power) - 1, slips, {"ratio": (ratio, "")})


def power_at_diameter(power, diameter, diameter_new) -> Solved:
    """Shaft power [W] of a similar blade of another diameter."""
    ratio = diameter_new / diameter
    value = fan.scale(1.0, 1.0, power, diameter_ratio=ratio).power
    slips = {"cube": power * ratio**3, "linear": power * ratio}
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def efficiency_times_pf(power, voltage, current) -> Solved:
    """Shaft power over volts x amps, as the nameplate's own check has it."""
    nameplate = Nameplate(
        power=f"{power:.6f} W", voltage=f"{voltage:.6f} V", current=f"{current} A"
    )
    value = nameplate.efficiency_times_pf[0]
    slips = {"inverse": 1 / value, "horsepower": value * convert(1.0, "power", "hp")}
    return Solved(value, slips, {"watts": (power, "")})


def poles_of(speed) -> Solved:
    """Poles of a motor by the speed on its nameplate."""
    poles = float(poles_at(speed, LINE_FREQUENCY))
    slips = {"pairs": poles / 2, "fewer": poles - 2}
    return Solved(poles, slips, {"synchronous": (_synchronous(poles), "speed")})


def slip_of(speed, poles) -> Solved:
    """Slip at the speed on the nameplate, as a share."""
    field = _synchronous(poles)
    slips = {"over_actual": field / speed - 1, "whole": speed / field}
    return Solved(1 - speed / field, slips, {"synchronous": (field, "speed")})


def _synchronous(poles) -> float:
    return float(synchronous_speed(LINE_FREQUENCY, poles)) * 30 / math.pi


def most_amps(current) -> Solved:
    """The highest full-load amps of a replacement by the trade's first look."""
    slips = {"strict": (1 + CURRENT_STRICT) * current, "below": (1 - CURRENT_TOLERANCE) * current}
    return Solved((1 + CURRENT_TOLERANCE) * current, slips)


def lowest_voltage(voltage_low, voltage_high) -> Solved:
    """The lowest line voltage [V] that a nameplate allows."""
    slips = {"of_high": voltage_limits(voltage_high, voltage_high)[0], "half": 0.95 * voltage_low}
    return Solved(voltage_limits(voltage_low, voltage_high)[0], slips)


def highest_voltage(voltage_low, voltage_high) -> Solved:
    """The highest line voltage [V] that a nameplate allows."""
    slips = {"of_low": voltage_limits(voltage_low, voltage_low)[1], "marked": voltage_high}
    return Solved(voltage_limits(voltage_low, voltage_high)[1], slips)


def starting_torque(percent) -> Solved:
    """Torque at standstill at ``percent`` of the rated volts, as a share of that at all of them."""
    share = percent / 100
    sagged, full = (float(STRAIGHT.solve(volts, 60.0, 1.0).torque) for volts in (230 * share, 230))
    slips = {"linear": share, "lost": 1 - share**2}
    return Solved(sagged / full, slips, {"ratio": (share, "")})


def microfarads(current, voltage, line) -> Solved:
    """Capacitance [F] from amps and volts read under load."""
    slips = {
        "line": float(circuit.capacitance(current, line, LINE_FREQUENCY)),
        "fifty": float(circuit.capacitance(current, voltage, OTHER_FREQUENCY)),
    }
    return Solved(float(circuit.capacitance(current, voltage, LINE_FREQUENCY)), slips)


def amps_through(capacitance, voltage, line) -> Solved:
    """Amps in the capacitor's lead: its farads over those that carry one ampere."""
    slips = {
        "line": _amps(capacitance, line, LINE_FREQUENCY),
        "fifty": _amps(capacitance, voltage, OTHER_FREQUENCY),
    }
    return Solved(_amps(capacitance, voltage, LINE_FREQUENCY), slips)


def _amps(capacitance, voltage, frequency) -> float:
    return capacitance / float(circuit.capacitance(1.0, voltage, frequency))


def capacitor_limit(voltage) -> Solved:
    """Volts that a capacitor may carry by its marking."""
    slips = {"marked": voltage, "crest": 2**0.5 * voltage}
    return Solved(circuit.OVERVOLTAGE * voltage, slips)


def capacitor_hours(hotter, interval, voltage) -> Solved:
    """Hours of class B at its marked volts, ``hotter`` [K] than it is rated for."""

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
    """Average rise [K] of a winding over its air, from ohms cold and hot."""
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
    """Ohms at the highest average winding temperature of a class."""
    limit, rise = winding_limit(letter), float(insulation.rise_limit(letter))
    value, of_rise = (
        resistance_cold * float(heat.resistance_factor(temp, temp_cold)) for temp in (limit, rise)
    )
    ratio = value / resistance_cold
    return Solved(value, {"of_rise": of_rise, "cold": resistance_cold}, {
        "limit": (limit, "temperature"), "rise": (rise, "temperature_rise"), "ratio": (ratio, ""),
    })  # fmt: skip


def insulation_hours(letter, cooler, interval) -> Solved:
    """Hours of a class whose hottest spot stays ``cooler`` [K] than the class temperature."""
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
    """The rise that is left in hotter air, of the class that has ``rise`` [K] in air of 40 degC."""
    letter = min("ABFH", key=lambda one: abs(float(insulation.rise_limit(one)) - rise))
    value = float(insulation.rise_limit(letter, temp_ambient=temp_air))
    over = temp_air - insulation.RISE_AMBIENT
    return Solved(
        value, {"unchanged": rise, "added": rise + over}, {"over": (over, "temperature_rise")}
    )


def difference(difference) -> Solved:
    """A difference of temperatures in the other unit, where 32 has no place."""
    shift = FREEZING_F / DEGREES_F_PER_K
    return Solved(difference, {"less": difference - shift, "plus": difference + shift})


def altitude_rise(rise, elevation) -> Solved:
    """The rise [K] that is allowed at a height, of the one allowed at sea level."""
    value = rise * float(insulation.altitude_factor(elevation))
    from_sea = rise * (1 - insulation.ALTITUDE_LOSS * elevation)
    above = (elevation - insulation.ALTITUDE_FREE, "elevation")
    return Solved(value, {"from_sea": from_sea, "unchanged": rise}, {"above": above})


def power_in_thin_air(power, density, density_new) -> Solved:
    """Shaft power [W] of a blade in air of another density."""
    ratio = density_new / density
    slips = {"cube": power * ratio**3, "inverse": power / ratio, "unchanged": power}
    value = fan.scale(1.0, 1.0, power, density_ratio=ratio).power
    return Solved(float(value), slips, {"ratio": (ratio, "")})


def coil_air(heat_flow, flow, temp_outdoor) -> Solved:
    """Temperature [degC] of the air that leaves the coil."""
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
    """Fatigue life [h] of a ball bearing by load and speed."""
    ratio = load_rating / load
    value = float(ball_bearing.rating_life(load_rating, load, speed))
    slips = {"linear": value / ratio**2, "square": value / ratio, "minutes": value * 60}
    return Solved(value, slips, {"ratio": (ratio, "")})


def life_left(percent) -> Solved:
    """Life that is left, as a share, where the load grows by ``percent``."""
    more = 1 + percent / 100
    light, heavy = (float(ball_bearing.rating_life(100.0, load, 1000.0)) for load in (1.0, more))
    slips = {"linear": 1 / more, "square": 1 / more**2, "lost": 1 - heavy / light}
    return Solved(heavy / light, slips, {"ratio": (more, "")})


def shaking(force, speed, speed_new) -> Solved:
    """Turning force [N] of the same unbalance at another speed."""
    old, new = (float(unbalance.force_of_loss(*PROBE, rpm)) for rpm in (speed, speed_new))
    ratio = speed_new / speed
    slips = {"linear": force * ratio, "cube": force * ratio**3}
    return Solved(force * new / old, slips, {"ratio": (ratio, "")})


class Weeks(NamedTuple):
    """In how many of 100 weeks 0, 1, 2, 3 calls ask for a thing, added up from 0 on."""

    up_to: np.ndarray

    def ppf(self, share: float) -> int:
        """The smallest number of calls not exceeded in that share of the weeks."""
        return int(np.searchsorted(self.up_to / self.up_to[-1], share))


def from_the_shaft(rotation) -> str:
    """Key of the option: the rotation as seen from the shaft end, read from the lead end."""
    return from_shaft_end(rotation, LEAD_END)


def plug_out(position) -> str:
    """Key of the option: the end whose drain plug comes out."""
    return LOW_END[position]


def cut_off(shaft_old, shaft_new) -> Solved:
    """Length [m] to cut off a shaft."""
    return Solved(shaft_new - shaft_old, {"kept": shaft_old, "added": shaft_new + shaft_old})


def cause_chance(common_one, common_two, seen_one, seen_two) -> Solved:
    """Chance of the first of two causes after a finding."""
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
    """Money a year for the watts that a motor takes less, at ``price`` for a kWh."""
    spared = (watts_old - watts_new) / WATTS_PER_KW * hours
    slips = {"thousand": spared * price * WATTS_PER_KW, "no_price": spared,
             "whole": watts_new / WATTS_PER_KW * hours * price}  # fmt: skip
    return Solved(spared * price, slips, {"energy": (spared, "")})


def units_to_carry(none, one, two, gain, cost) -> Solved:
    """Motors on a truck for a week where a call served gains and one left over costs."""
    law = Weeks(np.cumsum([none, one, two, 100 - none - one - two]))
    ratio = gain / (gain + cost)
    shown = {"ratio": (100 * ratio, ""), "up_to_one": (none + one, ""),
             "up_to_two": (none + one + two, "")}  # fmt: skip
    return Solved(float(newsvendor(law, gain, cost)), {"none": 0.0, "most": 3.0}, shown)


SOLVED_BY = (
    flow_at_speed, pressure_at_speed, power_at_speed, power_gain, power_at_diameter, efficiency_times_pf, poles_of, slip_of, most_amps, lowest_voltage, highest_voltage, starting_torque, microfarads, amps_through, capacitor_limit, capacitor_hours, rise_by_resistance, ohms_at_limit, insulation_hours, allowed_rise, difference, altitude_rise, power_in_thin_air, coil_air, bearing_hours, life_left, shaking, from_the_shaft, plug_out, cut_off, cause_chance, energy_money, units_to_carry,
)  # fmt: skip
ANSWERS = {one.__name__: one for one in SOLVED_BY}
