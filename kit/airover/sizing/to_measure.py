"""What else to measure: the facts that would narrow a sizing most, the strongest first."""

from typing import NamedTuple

import numpy as np

from airover.motor.conditions import Conditions
from airover.physics.fan import FanCurve
from airover.sizing.duty import NO_PRESSURE, Duty

SMALL_SHARE = 0.02  # of the variance: not worth a sentence
SMALL_BAND = 0.01  # deviation over the power, below which nothing is worth measuring
FEW_POINTS = 8
FAR = 0.15  # of the range of flows between the duty and the next measured point


class Ask(NamedTuple):
    """A fact to measure: its name, the ``share`` of the shaft power's variance that it explains
    (0 where it matters to something else, or cannot be told) and a sentence for people."""

    fact: str
    share: float
    sentence: str


_UNKNOWN = {
    "resistance": "Measure the airflow, or the static pressure across coil and guard: the system "
    "is known only within a range.",
    "density": "Read the air temperature at the fan and the elevation: shaft power goes with the "
    "air's density.",
    "pressure": "Measure pressure again near the duty, with a finer manometer or more often: the "
    "points of the curve scatter.",
    "power": "Measure power again near the duty, with a wattmeter on a motor of known efficiency: "
    "the points of the curve scatter.",
}

# By the name of a job's assumed input; the order is that of what usually matters most.
ASSUMED = {
    "fan load": "Get the fan curve, or read amps, volts and watts of the running fan: the fan load "
    "is known only as 70-115 % of the nameplate power.",
    "airflow": "Measure the airflow, or the static pressure across the coil: it is only estimated.",
    "rated power": "Find the rated power of the failed motor, from its maker's list or a twin "
    "unit: the plate does not show it.",
    "rated speed": "Read the failed motor's rated speed or count its poles.",
    "line voltage": "Log the line voltage over a hot afternoon: the lowest one decides torque and "
    "heat, and it is only assumed.",
    "range of the line voltage": "Log the line voltage over a hot afternoon: one reading says "
    "nothing of the lowest one.",
    "elevation": "State the elevation: shaft power goes with the air's density.",
    "outdoor temperature": "State the design outdoor temperature: it moves density and winding "
    "temperature.",
    "air temperature rise across the coil": "Measure the air temperature before and after the "
    "coil: the motor runs in the air that leaves it.",
    "recirculation": "Measure the air's temperature at the coil's face beside the weather's: warm "
    "air that comes back heats the motor.",
    "fan diameter": "Measure the fan diameter.",
    "fan static efficiency": "Measure the static pressure across the coil.",
}

_STALL = (
    "Watch the fan start and measure its pressure: the system meets the curve more than once, and "
    "the fan may stay in its stall."
)
_REACH = (
    "Measure the curve at the duty itself: it lies beyond the measured flows, and the figures "
    "there are drawn on."
)
_FREE_DELIVERY = (
    "Measure the curve to free delivery: power may be higher there than anywhere that was seen."
)
_BLOCKED = (
    "Measure the curve down to its stall or to no flow: a blocked coil may take more power than "
    "was seen."
)
_CURVE = (
    "Get points of the blade's curve: without them neither overload nor a dirty coil can be worked."
)
_VOLTAGE = (
    "Log the line voltage over a hot afternoon: nothing is known of it, and the lowest one decides "
    "torque and heat."
)


def to_measure(duty, curve=None, asked=None) -> tuple[Ask, ...]:
    """What would narrow the answer most: ``Ask``s, the greatest share first.

    ``duty`` a ``duty.Duty``; ``curve`` the ``fan.FanCurve`` it came from, if any; ``asked`` the
    ``Conditions`` of its job, if any. Shares are first-order: what each fact alone explains.
    """
    found = [*_from_variances(duty), *_from_conditions(asked)]
    if curve is None:
        found.append(Ask("curve", 0.0, _CURVE))
    else:
        found += _from_curve(duty, curve)
    return tuple(sorted(found, key=lambda ask: -ask.share))


def _from_variances(duty: Duty):
    whole = sum(duty.variances.values())
    if np.sqrt(whole) <= SMALL_BAND * np.median(duty.power):
        return
    for fact, variance in duty.variances.items():
        share = variance / whole
        if share >= SMALL_SHARE:
            told = f" It makes {share:.0%} of what is uncertain in the shaft power."
            yield Ask(fact, share, _UNKNOWN[fact] + told)


def _from_conditions(asked: Conditions | None):
    if asked is None:
        yield Ask("line voltage", 0.0, _VOLTAGE)
        return
    assumed = {one.name for one in asked.inputs if one.origin == "assumed"}
    for name, sentence in ASSUMED.items():
        if name in assumed:
            yield Ask(name, 0.0, sentence)


def _from_curve(duty: Duty, curve: FanCurve):
    own_flow = float(np.median(duty.flow / duty.speed_rpm)) * curve.speed_rpm
    gap = np.min(np.abs(curve.flow - own_flow)) / np.ptp(curve.flow)
    if duty.several > 0:
        yield Ask("stall", 0.0, _STALL)
    if duty.extrapolated > 0:
        yield Ask("reach", 0.0, _REACH)
    if gap > FAR or curve.flow.size < FEW_POINTS:
        told = f"there are {curve.flow.size}, and the next one is {gap:.0%} of the range away."
        yield Ask("points", 0.0, f"Measure more points near the duty: {told}")
    if curve.left_out:
        named = ", ".join(str(number + 1) for number in curve.left_out)
        told = f"Measure again what was left out as strays: of the points given, number {named}."
        yield Ask("strays", 0.0, told)
    if curve.pressure[-1] > NO_PRESSURE * curve.pressure.max():
        yield Ask("free delivery", 0.0, _FREE_DELIVERY)
    if curve.flow[0] > 0 and curve.stall_flow is None:
        yield Ask("blocked", 0.0, _BLOCKED)
