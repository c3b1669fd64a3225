"""Readings that cannot be what they are said to be: questioned, and left out.

A reading is questioned where neither the motor as expected nor any of the faults would give it, or
where it contradicts another. Usual slips of the hand are tried on it, and named where one fits.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.message import Message, Quantity
from airover.verify.inferred import SCALED, MeterReading, worked_value
from airover.verify.readings import FEWEST_RUNNING, Simulated, reading_name

FAR = 4.0  # deviations of band and meter, beyond which a reading is not the motor's doing
NEAR = 3.0  # within so many a slip of the hand explains it
USUAL_OUTDOOR = (-40.0, 60.0)  # degC
ONE_LEG = (100.0, 140.0)  # V to ground of a line of 208 to 240 V
FAR_VOLTAGE = (0.65, 1.35)  # of the nameplate's lowest and highest volts


class Questioned(NamedTuple):
    """A reading that is left out: at which ``moment``, its ``name``, its ``text`` and ``why``."""

    moment: int
    name: str
    text: str
    why: Message

    @property
    def sentence(self) -> Message:
        number, name = self.moment + 1, reading_name(self.name)
        return Message("verify.questioned", number=number, name=name, text=self.text, why=self.why)


# What a reading is multiplied by to undo a slip of the hand, and the name of that slip.
_SLIPS = {
    "current": {
        "ten_turns": 1 / 10,
        "two_turns": 1 / 2,
        "decimal_short": 10.0,
        "five_turns": 1 / 5,
        "milliamps": 1 / 1000,
    },
    "power": {
        "kilowatts": 1000.0,
        "from_kilowatts": 1 / 1000,
        "horsepower": 745.7,
        "from_horsepower": 1 / 745.7,
        "decimal_short": 10.0,
        "decimal_far": 1 / 10,
    },
    "speed_rpm": {
        "strobe_half": 2.0,
        "strobe_double": 1 / 2,
        "strobe_three": 1 / 3,
        "four_blades": 1 / 4,
    },
    "capacitor_voltage": {
        "decimal_short": 10.0,
        "decimal_far": 1 / 10,
    },
    "capacitor_current": {
        "ten_turns": 1 / 10,
        "two_turns": 1 / 2,
        "milliamps": 1 / 1000,
    },
}


def question_line(
    moment: int, amount, voltage_low: float, voltage_high: float
) -> Questioned | None:
    """A line voltage (an Amount) at which no motor for ``voltage_low`` to ``voltage_high`` [V]
    runs."""
    least, most = FAR_VOLTAGE[0] * voltage_low, FAR_VOLTAGE[1] * voltage_high
    if amount is None or least <= amount.mid <= most:
        return None
    if amount.mid == 0:
        why = _doubt("not_on")
    elif ONE_LEG[0] <= amount.mid <= ONE_LEG[1] and voltage_low > 180:
        why = _doubt("one_leg")
    else:
        made_for = Band(voltage_low, (voltage_low + voltage_high) / 2, voltage_high)
        why = _doubt("volts", span=Quantity(made_for, "voltage"))
    return Questioned(moment, "voltage", amount.text, why)


def question_outdoor(moment: int, amount) -> Questioned | None:
    """An outdoor temperature (an Amount) of no weather."""
    if amount is None or USUAL_OUTDOOR[0] <= amount.mid <= USUAL_OUTDOOR[1]:
        return None
    why = _degrees(amount.mid, lambda temp: USUAL_OUTDOOR[0] <= temp <= USUAL_OUTDOOR[1])
    return Questioned(moment, "outdoor_temperature", amount.text, why or _doubt("no_weather"))


def question(before: Simulated, taken) -> tuple[tuple[MeterReading, ...], tuple[Questioned, ...]]:
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


def away(before: Simulated, one: MeterReading, value=None, places=None) -> float:
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
            samples = shown[place, runs]
            samples = np.log(samples) if one.name in SCALED else samples
            distances.append(abs(at - samples.mean()) / np.hypot(samples.std(), deviation))
    return min(distances, default=np.inf)


def _doubt(key: str, **values) -> Message:
    return Message(f"verify.doubt.{key}", **values)


def _alone(before: Simulated, one: MeterReading) -> Message | None:
    """Why a reading cannot be, whatever the others say; None where it can."""
    if away(before, one) <= FAR:
        return None
    if one.value <= one.limit and one.name in ("current", "capacitor_current"):
        return _doubt("both_leads")
    if one.value == 0:
        return _doubt("not_on")
    if one.name in _SLIPS:
        why = _slip(before, one)
    else:
        why = _degrees(one.value, lambda temp: away(before, one, temp) < NEAR)
    return why or _doubt("impossible")


def _slip(before: Simulated, one: MeterReading) -> Message | None:
    """The slip of the hand that brings ``one`` nearest to what was expected, if any explains it."""
    undone = {name: one.value * factor for name, factor in _SLIPS[one.name].items()}
    fitting = [name for name, value in undone.items() if away(before, one, value) < NEAR]
    if not fitting:
        return None
    return _doubt(min(fitting, key=lambda name: away(before, one, undone[name], [0])))


def _degrees(temp: float, fits) -> Message | None:
    """The unit that ``temp`` [degC] may have been mistaken for, if it ``fits`` then."""
    if fits((temp - 32) / 1.8):
        return _doubt("fahrenheit")
    return _doubt("celsius") if fits(temp * 1.8 + 32) else None


_LINES = {"capacitor_voltage": "voltage", "capacitor_current": "current"}


def _copied(before: Simulated, one: MeterReading, taken) -> Message | None:
    """Doubt about a capacitor's figure that is the line's, where this motor's are not alike."""
    line = next(
        (two for two in taken if two.moment == one.moment and two.name == _LINES.get(one.name)),
        None,
    )
    if line is None or abs(one.value - line.value) > 0.3 * (one.limit + line.limit):
        return None
    alike = before.readings[line.name][one.moment, 0] / before.readings[one.name][one.moment, 0]
    far = abs(np.log(alike).mean()) > NEAR * np.hypot(np.log(alike).std(), 0.01)
    if not far or away(before, one, places=[0]) < NEAR:
        return None
    return _doubt("line_amps" if one.name == "capacitor_current" else "line_volts")


def _more_than_volt_amps(before: Simulated, at: dict):
    """The less likely of amps and watts, where watts are more than volts times amps."""
    if not {"voltage", "current", "power"} <= at.keys():
        return
    volts, amps, watts = at["voltage"], at["current"], at["power"]
    most = (volts.value + volts.limit) * (amps.value + amps.limit)
    if watts.value - watts.limit > most:
        worse = max((amps, watts), key=lambda one: away(before, one, places=[0]))
        texts = {"watts": watts.text, "volts": volts.text, "amps": amps.text}
        yield worse, _doubt("volt_amps", worse=reading_name(worse.name), **texts)
