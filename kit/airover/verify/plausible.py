"""Readings that cannot be what they are said to be: questioned, and left out.

A reading is questioned where neither the motor as expected nor any of the faults would give it, or
where it contradicts another. Usual slips of the hand are tried on it, and named where one fits.
"""

from typing import NamedTuple

import numpy as np

from airover.verify.inferred import SCALED, Taken, worked_value
from airover.verify.readings import FEWEST_RUNNING, READINGS, Simulated

FAR = 4.0  # deviations of band and meter, beyond which a reading is not the motor's doing
NEAR = 3.0  # within so many a slip of the hand explains it
USUAL_OUTDOOR = (-40.0, 60.0)  # degC
ONE_LEG = (100.0, 140.0)  # V to ground of a line of 208 to 240 V
FAR_VOLTAGE = (0.65, 1.35)  # of the plate's lowest and highest volts


class Questioned(NamedTuple):
    """A reading that is left out: at which ``moment``, its ``name``, its ``text`` and ``why``."""

    moment: int
    name: str
    text: str
    why: str

    @property
    def sentence(self) -> str:
        words = READINGS[self.name].words if self.name in READINGS else "outdoor temperature"
        return f"Reading {self.moment + 1}, {words}: {self.text} was given; {self.why}. Left out."


# What a reading is multiplied by to undo a slip of the hand, and how that is told.
_SLIPS = {
    "current": (
        (1 / 10, "it may be ten turns of the lead around the clamp, or a decimal too far"),
        (1 / 2, "it may be two turns of the lead around the clamp"),
        (10.0, "it may be a decimal short"),
        (1 / 5, "it may be five turns of the lead around the clamp"),
        (1 / 1000, "it may be milliamps"),
    ),
    "power": (
        (1000.0, "it may be kilowatts, written as watts"),
        (1 / 1000, "it may be watts, written as kilowatts"),
        (745.7, "it may be horsepower, written as watts"),
        (1 / 745.7, "it may be watts, written as horsepower"),
        (10.0, "it may be a decimal short"),
        (1 / 10, "it may be a decimal too far"),
    ),
    "speed_rpm": (
        (2.0, "a strobe at half the speed shows the same standing picture"),
        (1 / 2, "a strobe at double the speed shows the blade standing, with twice its blades"),
        (1 / 3, "a strobe at three times the speed, or a count of three blades as one"),
        (1 / 4, "a count of four blades as one"),
    ),
    "capacitor_voltage": (
        (10.0, "it may be a decimal short"),
        (1 / 10, "it may be a decimal too far"),
    ),
    "capacitor_current": (
        (1 / 10, "it may be ten turns of the lead around the clamp, or a decimal too far"),
        (1 / 2, "it may be two turns of the lead around the clamp"),
        (1 / 1000, "it may be milliamps"),
    ),
}
BOTH_LEADS = "a clamp around both leads reads nothing: put it around one lead alone"
NOT_ON = "a meter that is off, or leads that do not touch, show that"


def question_line(
    moment: int, amount, voltage_low: float, voltage_high: float
) -> Questioned | None:
    """A line voltage (an Amount) at which no motor for ``voltage_low`` to ``voltage_high`` [V]
    runs."""
    least, most = FAR_VOLTAGE[0] * voltage_low, FAR_VOLTAGE[1] * voltage_high
    if amount is None or least <= amount.mid <= most:
        return None
    plate = f"{voltage_low:g} to {voltage_high:g} V"
    why = f"the motor is made for {plate}, and no usual slip explains it"
    if amount.mid == 0:
        why = NOT_ON
    elif ONE_LEG[0] <= amount.mid <= ONE_LEG[1] and voltage_low > 180:
        why = "it may be one leg to ground: measure between the two line leads"
    return Questioned(moment, "voltage", amount.text, why)


def question_outdoor(moment: int, amount) -> Questioned | None:
    """An outdoor temperature (an Amount) of no weather."""
    if amount is None or USUAL_OUTDOOR[0] <= amount.mid <= USUAL_OUTDOOR[1]:
        return None
    why = _degrees(amount.mid, lambda temp: USUAL_OUTDOOR[0] <= temp <= USUAL_OUTDOOR[1])
    return Questioned(moment, "outdoor_temperature", amount.text, why or "no weather is like that")


def question(before: Simulated, taken) -> tuple[tuple[Taken, ...], tuple[Questioned, ...]]:
    """Those ``taken`` that may stand, and those that are questioned."""
    doubted = dict(_doubted(before, taken))
    kept = tuple(one for one in taken if one not in doubted)
    asked = (Questioned(one.moment, one.name, one.text, why) for one, why in doubted.items())
    return kept, tuple(asked)


def _doubted(before: Simulated, taken):
    """Pairs of a reading and why it is doubted; one of more watts than volt-amps comes last."""
    doubted = {}
    for one in taken:
        why = _copied(before, one, taken) or _alone(before, one)
        if why and one.name != "voltage":
            doubted[one] = why
    for moment in {one.moment for one in taken}:
        at = {one.name: one for one in taken if one.moment == moment and one not in doubted}
        doubted |= dict(_more_than_volt_amps(before, at))
    return doubted.items()


def away(before: Simulated, one: Taken, value=None, places=None) -> float:
    """Deviations between a reading (or another ``value`` [SI] of it) and the nearest cell."""
    value = one.value if value is None else value
    if one.name in SCALED and value <= 0:
        return np.inf
    share = value / one.value if one.name in SCALED else 1.0
    at, deviation = worked_value(one._replace(value=value, limit=one.limit * share))
    shown = before.readings[one.name][one.moment]
    distances = []
    for place in range(len(before.cells)) if places is None else places:
        runs = before.runs[place]
        if runs.sum() >= FEWEST_RUNNING:
            draws = shown[place, runs]
            draws = np.log(draws) if one.name in SCALED else draws
            distances.append(abs(at - draws.mean()) / np.hypot(draws.std(), deviation))
    return min(distances, default=np.inf)


def _alone(before: Simulated, one: Taken) -> str:
    """Why a reading cannot be, whatever the others say; empty where it can."""
    if away(before, one) <= FAR:
        return ""
    if one.value <= one.limit and one.name in ("current", "capacitor_current"):
        return BOTH_LEADS
    if one.value == 0:
        return NOT_ON
    if one.name in _SLIPS:
        if words := _slip(before, one):
            return words
    elif words := _degrees(one.value, lambda temp: away(before, one, temp) < NEAR):
        return words
    return "this motor on this fan cannot give it, as expected or with any fault looked for"


def _slip(before: Simulated, one: Taken) -> str:
    """The slip of the hand that brings ``one`` nearest to what was expected, if any explains it."""
    undone = {words: one.value * factor for factor, words in _SLIPS[one.name]}
    fitting = [words for words, value in undone.items() if away(before, one, value) < NEAR]
    return min(fitting, key=lambda words: away(before, one, undone[words], [0]), default="")


def _degrees(temp: float, fits) -> str:
    """The unit that ``temp`` [degC] may have been mistaken for, if it ``fits`` then."""
    if fits((temp - 32) / 1.8):
        return "it may be degrees Fahrenheit, written as Celsius"
    if fits(temp * 1.8 + 32):
        return "it may be degrees Celsius, written as Fahrenheit"
    return ""


_LINES = {"capacitor_voltage": "voltage", "capacitor_current": "current"}


def _copied(before: Simulated, one: Taken, taken) -> str:
    """Whether a capacitor's figure is the line's, where this motor's are not alike."""
    line = next(
        (two for two in taken if two.moment == one.moment and two.name == _LINES.get(one.name)),
        None,
    )
    if line is None or abs(one.value - line.value) > 0.3 * (one.limit + line.limit):
        return ""
    alike = before.readings[line.name][one.moment, 0] / before.readings[one.name][one.moment, 0]
    far = abs(np.log(alike).mean()) > NEAR * np.hypot(np.log(alike).std(), 0.01)
    if not far or away(before, one, places=[0]) < NEAR:
        return ""
    if one.name == "capacitor_current":
        return "that is the line's amps: clamp a lead of the capacitor itself"
    return "that is the line's volts: measure across the capacitor's own terminals"


def _more_than_volt_amps(before: Simulated, at: dict):
    """The less likely of amps and watts, where watts are more than volts times amps."""
    if not {"voltage", "current", "power"} <= at.keys():
        return
    volts, amps, watts = at["voltage"], at["current"], at["power"]
    most = (volts.value + volts.limit) * (amps.value + amps.limit)
    if watts.value - watts.limit > most:
        worse = max((amps, watts), key=lambda one: away(before, one, places=[0]))
        why = (
            f"{watts.text} is more than {volts.text} times {amps.text}, so one of them is wrong, "
            f"most likely the {READINGS[worse.name].words}"
        )
        yield worse, why
