"""Compare readings with expected ranges and nameplate limits, and detect typical mistakes.

A reading agrees if it is inside the 90 % range and differs if it is outside the 99 % range. Both
ranges include the meter error. A reading is questioned and excluded if it is implausible both for
the expected motor and for every fault, or if it contradicts another reading. Each questioned
reading is checked for typical mistakes, and a mistake that would explain it is reported.
"""

from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.model.conditions import voltage_limits
from airover.model.expected import OVER_PLATE
from airover.service.inference import SCALED, MeterReading, worked_value
from airover.service.readings import FEWEST_RUNNING, READINGS, Simulated, reading_name

FAR = 4.0  # standard deviations; a reading farther off cannot be from the motor
NEAR = 3.0  # standard deviations within which a mistake explains the reading
USUAL_OUTDOOR = (-40.0, 60.0)  # degC
ONE_LEG = (100.0, 140.0)  # V to ground on a 208 to 240 V supply
FAR_VOLTAGE = (0.65, 1.35)  # fractions of the lowest and highest nameplate voltage


# Factor that corrects each mistake, by name.
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


_LINES = {"capacitor_voltage": "voltage", "capacitor_current": "current"}


AGREES, DIFFERS, OPEN = "agrees", "differs", "cannot tell yet"
BAND_90, BAND_99 = 1.6449, 2.5758  # standard deviations on each side


class Questioned(NamedTuple):
    """Excluded reading with its ``moment``, ``name`` and ``text``, and the reason (``why``)."""

    moment: int
    name: str
    text: str
    why: Message

    @property
    def sentence(self) -> Message:
        number, name = self.moment + 1, reading_name(self.name)
        return Message("verify.questioned", number=number, name=name, text=self.text, why=self.why)


def question_line(
    moment: int, amount, voltage_low: float, voltage_high: float
) -> Questioned | None:
    """Question a supply voltage at which no motor with this nameplate voltage can run.

    Returns None if the reading is plausible.

    Parameters
    ----------
    amount
        Reading, as an Amount or None.
    voltage_low, voltage_high : float
        Nameplate voltage range [V].
    """
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
    """Question an outdoor temperature (an Amount or None) that no weather could produce."""
    if amount is None or USUAL_OUTDOOR[0] <= amount.mid <= USUAL_OUTDOOR[1]:
        return None
    why = _degrees(amount.mid, lambda temp: USUAL_OUTDOOR[0] <= temp <= USUAL_OUTDOOR[1])
    return Questioned(moment, "outdoor_temperature", amount.text, why or _doubt("no_weather"))


def question(before: Simulated, taken) -> tuple[tuple[MeterReading, ...], tuple[Questioned, ...]]:
    """Return the accepted and the questioned readings in ``taken``."""
    doubted = dict(_doubted(before, taken))
    kept = tuple(one for one in taken if one not in doubted)
    asked = (  # as typed, because the unit may be wrong
        Questioned(one.moment, one.name, getattr(one.text, "text", one.text), why)
        for one, why in doubted.items()
    )
    return kept, tuple(asked)


def away(before: Simulated, one: MeterReading, value=None, places=None) -> float:
    """Return the distance of a reading from the nearest cell in standard deviations.

    Parameters
    ----------
    value : optional
        Value [SI unit] to use instead of the reading.
    places : optional
        Indices of the cells to consider, or None for all cells.
    """
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


class JudgedReading(NamedTuple):
    """Comparison of a reading with a range.

    Attributes
    ----------
    name, moment
        Name of the reading and index of its moment.
    text : str
        Reading as typed.
    value, limit : float
        Value of the reading and maximum meter error [SI unit].
    against : str
        Reference of the comparison, "expected" or "plate".
    low, high : float or None
        Limits of the range in which the reading agrees [SI unit of ``kind``].
    state : str
        Result, AGREES, DIFFERS or OPEN.
    why : Message
        Message that explains the state.
    """

    name: str
    moment: int
    text: str
    value: float
    limit: float
    against: str
    low: float | None
    high: float | None
    kind: str
    state: str
    why: Message


class Remark(NamedTuple):
    """Observation or derived result, with its ``topic``, ``state`` and ``sentence``."""

    topic: str
    state: str
    sentence: Message


def expected_band(before: Simulated, one: MeterReading, deviations=BAND_90) -> Band:
    """Return the expected range of a reading (90 % by default), including the meter error."""
    samples = before.readings[one.name][one.moment, 0, before.runs[0]]
    samples = np.log(samples) if one.name in SCALED else samples
    centre, wide = samples.mean(), np.hypot(samples.std(), worked_value(one)[1])
    ends = (centre - deviations * wide, centre, centre + deviations * wide)
    return Band(*map(float, np.exp(ends) if one.name in SCALED else ends))


def against_expected(before: Simulated, one: MeterReading) -> JudgedReading:
    """Compare a reading with its expected range.

    The result is AGREES inside the 90 % range, DIFFERS outside the 99 % range, and OPEN in between.
    """
    band, wide = expected_band(before, one), expected_band(before, one, BAND_99)
    state = AGREES if band.low <= one.value <= band.high else OPEN
    if not wide.low <= one.value <= wide.high:
        state = DIFFERS
    outcome = "above" if one.value > band.high else "below"
    outcome = {AGREES: AGREES, OPEN: f"{outcome}_little", DIFFERS: outcome}[state]
    kind = READINGS[one.name].kind
    name, span = Message(f"verify.begun.{one.name}"), Quantity(band, kind)
    why = Message(f"verify.expected.{outcome}", name=name, text=one.text, span=span)
    return _judged(one, "expected", band.low, band.high, state, why)


def within(value: float, limit: float, low, high) -> str:
    """Return AGREES or DIFFERS if the meter error cannot change the result, otherwise OPEN."""
    low = -np.inf if low is None else low
    high = np.inf if high is None else high
    if low <= value - limit and value + limit <= high:
        return AGREES
    return DIFFERS if value + limit < low or value - limit > high else OPEN


def volts(one: MeterReading, voltage_low: float, voltage_high: float) -> JudgedReading:
    """Compare the supply voltage with the nameplate voltage +/-10 %."""
    low, high = voltage_limits(voltage_low, voltage_high)
    state = within(one.value, one.limit, low, high)
    span = Quantity(Band(low, (low + high) / 2, high), "voltage")
    why = _plate_message("volts", one, state, low, text=one.text, span=span)
    return _judged(one, "plate", low, high, state, why)


def amps(one: MeterReading, current: float) -> JudgedReading:
    """Compare measured amps with the nameplate.

    Amps at or below the nameplate value agree. Above the nameplate value, the usual 10 % allowance
    includes the meter error.
    """
    high, rated = OVER_PLATE * current, Quantity(current, "current")
    if one.value <= current:
        why = Message("verify.plate_amps.within", text=one.text, rated=rated)
        return _judged(one, "plate", None, high, AGREES, why)
    state = within(one.value, one.limit, None, high)
    most = Quantity(high, "current")
    why = _plate_message("amps", one, state, text=one.text, rated=rated, high=most)
    return _judged(one, "plate", None, high, state, why)


def air(one: MeterReading, temp_ambient: float) -> JudgedReading:
    """Compare the air temperature at the motor with the motor's ambient rating [degC]."""
    state = within(one.value, one.limit, None, temp_ambient)
    limit = Quantity(temp_ambient, "temperature")
    why = _plate_message("air", one, state, text=one.text, limit=limit)
    return _judged(one, "plate", None, temp_ambient, state, why)


def winding(one: MeterReading, limit: float) -> JudgedReading:
    """Compare the average main winding temperature with the class limit at rated ambient [degC]."""
    state = within(one.value, one.limit, None, limit)
    found, allowed = Quantity(one.value, "temperature"), Quantity(limit, "temperature")
    why = _plate_message("winding", one, state, found=found, limit=allowed)
    return _judged(one, "plate", None, limit, state, why)


def overload(power_out: Band, power) -> list[Remark]:
    """Return a remark that compares the inferred ``power_out`` [W] with the nameplate power."""
    if power is None:
        return []
    most = OVER_PLATE * power
    state = DIFFERS if power_out.low > most else OPEN if power_out.mid > most else AGREES
    key = "shaft_over" if state == DIFFERS else "shaft_more" if power_out.mid > power else "shaft"
    sentence = Message(
        f"verify.seen.{key}",
        span=Quantity(power_out, "shaft_power"),
        named=Quantity(power, "power"),
    )
    return [Remark("shaft power", state, sentence)]


def _doubted(before: Simulated, taken):
    """Return pairs of a doubtful reading and the reason for the doubt.

    A reading in which the watts exceed volts x amps is listed last.
    """
    doubted = {}
    for one in taken:
        why = _copied(before, one, taken) or _alone(before, one)
        if why and one.name != "voltage":
            doubted[one] = why
    for moment in {one.moment for one in taken}:
        at = {one.name: one for one in taken if one.moment == moment and one not in doubted}
        doubted |= dict(_more_than_volt_amps(before, at))
    return doubted.items()


def _doubt(key: str, **values) -> Message:
    return Message(f"verify.doubt.{key}", **values)


def _alone(before: Simulated, one: MeterReading) -> Message | None:
    """Return the reason a reading is impossible on its own, or None if it is possible."""
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
    """Return the typical mistake that best explains the reading ``one``, or None."""
    undone = {name: one.value * factor for name, factor in _SLIPS[one.name].items()}
    fitting = [name for name, value in undone.items() if away(before, one, value) < NEAR]
    if not fitting:
        return None
    return _doubt(min(fitting, key=lambda name: away(before, one, undone[name], [0])))


def _degrees(temp: float, fits) -> Message | None:
    """Question the unit of ``temp`` [degC] if a different unit satisfies ``fits``."""
    if fits((temp - 32) / 1.8):
        return _doubt("fahrenheit")
    return _doubt("celsius") if fits(temp * 1.8 + 32) else None


def _copied(before: Simulated, one: MeterReading, taken) -> Message | None:
    """Question a capacitor reading that equals the supply reading if the expected values differ."""
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
    """Yield the less likely of the amps and watts readings if the watts exceed volts times amps."""
    if not {"voltage", "current", "power"} <= at.keys():
        return
    volts, amps, watts = at["voltage"], at["current"], at["power"]
    most = (volts.value + volts.limit) * (amps.value + amps.limit)
    if watts.value - watts.limit > most:
        worse = max((amps, watts), key=lambda one: away(before, one, places=[0]))
        texts = {"watts": watts.text, "volts": volts.text, "amps": amps.text}
        yield worse, _doubt("volt_amps", worse=reading_name(worse.name), **texts)


def _judged(one: MeterReading, against: str, low, high, state: str, why: Message) -> JudgedReading:
    kind = READINGS[one.name].kind
    return JudgedReading(
        one.name, one.moment, one.text, one.value, one.limit, against, low, high, kind, state, why
    )


def _plate_message(what: str, one: MeterReading, state: str, least=None, **values) -> Message:
    outcome = {AGREES: "agrees", OPEN: "open", DIFFERS: "above"}[state]
    if state == DIFFERS and least is not None and one.value < least:
        outcome = "below"
    return Message(f"verify.plate_{what}.{outcome}", **values)
