"""Questions on nameplate, line voltage and the motor's torque, and the values of usual slips."""

import math

from airover.choose.electrical import CURRENT_STRICT, CURRENT_TOLERANCE
from airover.lesson.worked import Worked
from airover.motor.supply import voltage_limits
from airover.physics.circuit import CapacitorRun, synchronous_speed
from airover.records.nameplate import Nameplate, poles_at
from airover.units import convert

LINE_FREQUENCY = 60.0  # Hz
# An invented 6-pole motor with straight iron: torque goes with the square of the volts in any such.
STRAIGHT = CapacitorRun(
    poles=6, frequency=60.0, R1=20.0, X1=15.5, R2=25.0, X2=15.5, Xm=140.0, turns_ratio=1.3,
    R_aux=42.0, X_aux=26.0, capacitance=7.5e-6, core_conductance=4e-4,
)  # fmt: skip


def efficiency_times_pf(power, voltage, current) -> Worked:
    """Shaft power over volts x amps, as the plate's own check has it."""
    plate = Nameplate(power=f"{power:.6f} W", voltage=f"{voltage:.6f} V", current=f"{current} A")
    value = plate.efficiency_times_pf[0]
    slips = {"inverse": 1 / value, "horsepower": value * convert(1.0, "power", "hp")}
    return Worked(value, slips, {"watts": (power, "")})


def poles_of(speed) -> Worked:
    """Poles of a motor by the speed on its plate."""
    poles = float(poles_at(speed, LINE_FREQUENCY))
    slips = {"pairs": poles / 2, "fewer": poles - 2}
    return Worked(poles, slips, {"synchronous": (_synchronous(poles), "speed")})


def slip_of(speed, poles) -> Worked:
    """Slip at the speed on the plate, as a share."""
    field = _synchronous(poles)
    slips = {"over_actual": field / speed - 1, "whole": speed / field}
    return Worked(1 - speed / field, slips, {"synchronous": (field, "speed")})


def _synchronous(poles) -> float:
    return float(synchronous_speed(LINE_FREQUENCY, poles)) * 30 / math.pi


def most_amps(current) -> Worked:
    """The highest full-load amps of a replacement by the trade's first look."""
    slips = {"strict": (1 + CURRENT_STRICT) * current, "below": (1 - CURRENT_TOLERANCE) * current}
    return Worked((1 + CURRENT_TOLERANCE) * current, slips)


def lowest_voltage(voltage_low, voltage_high) -> Worked:
    """The lowest line voltage [V] that a plate allows."""
    slips = {"of_high": voltage_limits(voltage_high, voltage_high)[0], "half": 0.95 * voltage_low}
    return Worked(voltage_limits(voltage_low, voltage_high)[0], slips)


def highest_voltage(voltage_low, voltage_high) -> Worked:
    """The highest line voltage [V] that a plate allows."""
    slips = {"of_low": voltage_limits(voltage_low, voltage_low)[1], "marked": voltage_high}
    return Worked(voltage_limits(voltage_low, voltage_high)[1], slips)


def starting_torque(percent) -> Worked:
    """Torque at standstill at ``percent`` of the rated volts, as a share of that at all of them."""
    share = percent / 100
    sagged, full = (float(STRAIGHT.solve(volts, 60.0, 1.0).torque) for volts in (230 * share, 230))
    slips = {"linear": share, "lost": 1 - share**2}
    return Worked(sagged / full, slips, {"ratio": (share, "")})


ANSWERS = (
    efficiency_times_pf, poles_of, slip_of, most_amps, lowest_voltage, highest_voltage,
    starting_torque,
)  # fmt: skip
