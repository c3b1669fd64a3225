"""Motor nameplate, including the rotation and the run capacitor.

A dual run capacitor has two sections in one can with three terminals: C (common), FAN and HERM. The
section with the smaller capacitance is for the fan motor, and the larger section is for the
compressor (common practice; no published source). Entries such as "45/5 uF" and "45+5 MFD 440 V"
can be read, and the text is kept as typed. Rotations are compared as viewed from the shaft end.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from pydantic import Field, model_validator

from airover.core.errors import InputError, Range
from airover.core.message import Message, Word
from airover.core.patterns import Pattern
from airover.core.units import LONGEST_TEXT, Amount, quoted, read, show
from airover.records.fields import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    MOUNTINGS,
    SHAFT_POSITIONS,
    Record,
    Text,
    amount,
    choice,
    is_unknown,
    phase_field,
    read_by,
    whole,
)

CLOCKWISE = "clockwise"
COUNTERCLOCKWISE = "counterclockwise"
REVERSIBLE = "reversible"
SHAFT_END = "shaft end"
LEAD_END = "lead end"

SENSES = {
    CLOCKWISE: ("cw", "clockwise rotation"),
    COUNTERCLOCKWISE: ("ccw", "anticlockwise", "counter clockwise", "counterclockwise rotation"),
    REVERSIBLE: ("rev", "either"),
}
ENDS = {SHAFT_END: ("shaft", "se", "pse"), LEAD_END: ("lead", "le", "opposite shaft end")}
_OPPOSITE = {CLOCKWISE: COUNTERCLOCKWISE, COUNTERCLOCKWISE: CLOCKWISE}

_VOLTS = Pattern(
    r"[\s,x@]*\b(?P<volts>[0-9]{3}(?:\s*[/-]\s*[0-9]{3})?\s*V(?:AC)?)\.?\s*$", re.IGNORECASE
)
_TOLERANCE = Pattern(r"\s*,?\s*(?:\+/-|\+-|\u00b1)\s*[0-9.,]+\s*%")
_NUMBER, _UNIT = r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+", r"[a-z\u00b5\u03bc]*"

_DUAL = Pattern(
    rf"\s*(?P<one>{_NUMBER})\s*(?P<unit>{_UNIT})\s*(?:[/+&]|\band\b)\s*(?P<other>{_NUMBER})\s*"
    rf"(?P<last>{_UNIT})\.?\s*",
    re.IGNORECASE,
)
_ZERO = Pattern(r"0+(?:\.0*)?|\.0+")
GREATEST_SLIP = 0.25
USUAL_SLIP = (0.02, 0.15)  # fan motors at full load, common practice; no published source
MOST_POLES = 16

# Supply voltage [V] at or above which the auxiliary winding may be fed from a tap on the main
# winding, so that an ordinary 370 V or 440 V run capacitor can be used (common practice).
TAPPED_FROM = 400.0

# common practice for small run-capacitor motors; no published source
USUAL_EFFICIENCY_TIMES_PF = (0.30, 0.80)

# Reactive power of a run capacitor / (volts x amps), common practice; no published source. The
# capacitor voltage is not printed. It is at most the rated voltage of the capacitor and, because the
# turns ratio is usually chosen for the common 370 V or 440 V capacitors, at least 0.7 times 370 V and
# 1.2 times the voltage across auxiliary winding and capacitor.
USUAL_CAPACITOR_POWER = (0.25, 1.2)
LEAST_CAPACITOR_VOLTAGE, GREATEST_CAPACITOR_VOLTAGE = 0.7 * 370.0, 440.0  # V
CAPACITOR_OVER_SUPPLY = 1.2


def poles_at(speed_rpm: float, frequency: float) -> int | None:
    """Return the number of poles of an induction motor from its speed and frequency.

    The number of poles corresponds to the next higher synchronous speed, 120 f / poles. Returns
    None if the slip is not less than GREATEST_SLIP. ``speed_rpm`` is in rpm and ``frequency`` is in
    Hz.

    >>> poles_at(1075, 60), poles_at(1200, 60)
    (6, None)
    """
    above = [poles for poles in range(2, MOST_POLES + 1, 2) if 120 * frequency / poles > speed_rpm]
    slip = 1 - speed_rpm * above[-1] / (120 * frequency) if above else 1.0
    return above[-1] if slip < GREATEST_SLIP else None


def nearest_poles(speed_rpm: float, frequency: float) -> int:
    """Return the number of poles for which the slip at ``speed_rpm`` is most typical.

    ``frequency`` is the supply frequency [Hz].

    >>> nearest_poles(1300, 60), nearest_poles(1200, 60)
    (6, 6)
    """
    low, high = USUAL_SLIP

    def distance(poles: int) -> float:
        slip = 1 - speed_rpm * poles / (120 * frequency)
        return max(low - slip, slip - high)

    return min(range(2, MOST_POLES + 1, 2), key=distance)


def from_shaft_end(rotation: str | None, seen_from: str | None) -> str | None:
    """Return the rotation viewed from the shaft end, or None if it cannot be determined.

    Viewed from the opposite end, the direction is reversed. A reversible motor remains reversible.

    >>> from_shaft_end("clockwise", "lead end")
    'counterclockwise'
    """
    if rotation == REVERSIBLE:
        return rotation
    if rotation is None or seen_from is None:
        return None
    return rotation if seen_from == SHAFT_END else _OPPOSITE[rotation]


@dataclass(frozen=True)
class RunCapacitor(Amount):
    """Capacitance [F] of a run capacitor for the fan motor, with the text as typed.

    ``compressor`` is the capacitance [F] of the compressor section, or None for a single capacitor.
    """

    compressor: float | None = None

    @property
    def is_dual(self) -> bool:
        """Return True for a dual capacitor, which also serves the compressor."""
        return self.compressor is not None

    @property
    def fan_text(self) -> str:
        """Capacitance of the fan motor section as text."""
        return show(self.mid, "capacitance") if self.is_dual else self.text

    @property
    def compressor_text(self) -> str:
        """Capacitance of the compressor section as text, or "" for a single capacitor."""
        return show(self.compressor, "capacitance") if self.is_dual else ""


def read_capacitor(text: object, field: str, kind: str = "capacitance") -> RunCapacitor:
    """Read the marking or a meter reading of a run capacitor.

    ``kind`` is "capacitance" or "meter_capacitance". A number without a unit is in microfarads. Two
    values are read as a dual capacitor. A rated voltage or a tolerance can follow the value (see
    `marked_voltage`).

    Raises
    ------
    InputError
        If the text cannot be read. The error names ``field``.

    Examples
    --------
    >>> dual = read_capacitor("45/5 MFD 440V", "capacitor")
    >>> dual.fan_text, dual.compressor_text
    ('5 uF', '45 uF')
    """
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        return _single(read(text, kind, field, "uF"))
    bare = _TOLERANCE.sub("", _VOLTS.sub("", text))
    dual = _DUAL.fullmatch(bare)
    if dual is None:
        found = read(bare or text, kind, field, "uF")
        kept = (
            text if found.text == bare.strip() else found.text
        )  # with the unit, if none was typed
        return _single(replace(found, text=kept.strip()))
    last = dual["last"] or dual["unit"] or "uF"
    unit = dual["unit"] or last
    try:
        fan, compressor = sorted(
            read(f"{number} {word}", kind, field).mid
            for number, word in ((dual["one"], unit), (dual["other"], last))
        )
    except InputError as error:
        accepted = Message("error.amount.dual", accepted=error.accepted, example="45/5 uF")
        raise InputError(field, quoted(text), accepted) from None
    kept = text.strip() if dual["last"] or dual["unit"] else f"{bare.strip()} uF"
    return RunCapacitor(fan, fan, "F", kept, kind, compressor)


def marked_voltage(text: object) -> str | None:
    """Return the rated voltage that follows a capacitance, such as "440V", or None.

    If two voltages are marked, as in "370/440 V", the higher voltage is the rating.
    """
    text = text.text if isinstance(text, Amount) else text
    found = _VOLTS.search(text) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
    if found is None or found.start() == 0:
        return None
    return f"{max(re.findall('[0-9]{3}', found['volts']))} V"


def capacitor_field():
    """Return the type of an optional field for the marking of a run capacitor."""
    return read_by(lambda value, field: read_capacitor(_typed(value), field), "capacitance")


def _rated_voltage(value: object, field: str) -> Amount:
    """Read the rated voltage of a capacitor, or the higher of two voltages ("370/440")."""
    found = read(_typed(value), "voltage", field, "V")
    if not found.is_range:
        return found
    return replace(found, low=found.high, text=show(found.high, "voltage"))


def capacitor_reading():
    """Return the type of an optional field for a meter reading on a run capacitor.

    Zero, with or without a unit, is a valid reading, which indicates an open capacitor.
    """

    def validate(value, field: str) -> RunCapacitor:
        typed = _typed(value)
        zero = type(typed) in (int, float) and typed == 0
        if zero or (isinstance(typed, str) and _ZERO.fullmatch(typed.strip())):
            return RunCapacitor(0.0, 0.0, "F", "0 uF", "meter_capacitance")
        return read_capacitor(typed, field, "meter_capacitance")

    return read_by(validate)


def _single(amount: Amount) -> RunCapacitor:
    return RunCapacitor(amount.low, amount.high, amount.unit, amount.text, amount.kind)


def _typed(value):
    return value.text if isinstance(value, Amount) else value


class Doubt(NamedTuple):
    """Contradictory nameplate fields, at least one of which was probably misread.

    Attributes
    ----------
    code : str
        Type of contradiction: "power factor" (the ratio of power to volts x amps is implausible),
        "speed" (the speed does not match any number of poles), "poles" (the typed number of poles
        does not match the speed) or "capacitor" (the capacitance is implausible).
    fields : tuple[str, ...]
        Fields to be read again.
    found : float
        Implausible value: power factor, speed [rpm], number of poles or capacitance [uF].
    low, high : float
        Limits of the plausible range.
    """

    code: str
    fields: tuple[str, ...]
    found: float
    low: float
    high: float


class Nameplate(Record):
    """Nameplate data, or measurements on the motor. Unknown fields are None or "".

    Amounts are ranges in SI units, with speed in rpm and temperatures in degC. If the capacitor is
    a dual capacitor, ``capacitor`` is its fan motor section. A voltage that follows the capacitance
    is the capacitor's rated voltage.

    Raises
    ------
    InputError
        If a field cannot be read or if a value is impossible. Contradictory fields do not raise an
        error and are returned by `doubts`.
    """

    voltage: amount("voltage") = None
    frequency: amount("frequency") = None
    phase: phase_field() = None
    power: amount("power", "hp") = None
    current: amount("current") = None
    speed_rpm: amount("speed") = Field(None, alias="speed")
    poles: whole(2, MOST_POLES, even=True, unit="p|poles?|polos?") = None
    capacitor: capacitor_field() = None
    capacitor_voltage: read_by(_rated_voltage, "voltage") = None
    rotation: choice(SENSES) = None
    rotation_seen_from: choice(ENDS) = None
    frame: Text = ""
    shaft_diameter: amount("shaft_diameter") = None
    shaft_length: amount("shaft_length") = None
    body_diameter: amount("body_diameter") = None
    body_length: amount("body_length") = None
    mounting: choice(MOUNTINGS) = None
    shaft_position: choice(SHAFT_POSITIONS) = None
    enclosure: choice(ENCLOSURES) = None
    insulation_class: choice(CLASSES) = None
    ambient_rating: amount("air_temperature", "degC") = None
    bearings: choice(BEARINGS) = None
    drain_plugs: choice(DRAIN_PLUGS) = None
    service: Text = ""
    kind: Text = ""
    drive: Text = ""

    @property
    def rotation_shaft_end(self) -> str | None:
        """Rotation viewed from the shaft end, or None if it cannot be determined."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    @model_validator(mode="before")
    @classmethod
    def _divided(cls, given):
        if not isinstance(given, dict):
            return given
        given = cls.divided(cls.divided(given, "voltage"), "rotation")
        volts = marked_voltage(given.get("capacitor"))  # "7.5 uF 370 V" is kept as typed
        if volts is None:
            return cls.divided(given, "capacitor")
        if is_unknown(given.get("capacitor_voltage")):
            return given | {"capacitor_voltage": volts}
        return given

    @property
    def pole_count(self) -> int | None:
        """Most plausible number of poles, or None.

        A typed number of poles is used unless it contradicts the speed, because most nameplates
        give the speed but not the number of poles. If no number of poles matches the speed, the
        typed number is used, or if there is none, the number with the most typical slip.
        """
        if self.speed_rpm is None or self.frequency is None:
            return self.poles
        by_speed = self._poles_by_speed()
        if self.poles is not None:
            return by_speed if by_speed and self._contradicts(self.poles) else self.poles
        return by_speed or nearest_poles(self.speed_rpm.high, self.frequency.high)

    def _poles_by_speed(self) -> int | None:
        """Return the number of poles that matches the speed and frequency, or None."""
        pairs = [
            (rpm, hertz)
            for hertz in (self.frequency.high, self.frequency.low)
            for rpm in (self.speed_rpm.high, self.speed_rpm.low)
        ]
        return next((poles for pair in pairs if (poles := poles_at(*pair))), None)

    def _contradicts(self, poles: int) -> bool:
        """Return True if the speed range does not overlap the slip range for ``poles``."""
        least, most = self._speeds_of(poles)
        return self.speed_rpm.low >= most or self.speed_rpm.high <= least

    def _speeds_of(self, poles: int) -> tuple[float, float]:
        """Return the lowest and highest (synchronous) speed [rpm] for ``poles``."""
        ends = self.frequency.low, self.frequency.high
        return 120 * (1 - GREATEST_SLIP) * ends[0] / poles, 120 * ends[1] / poles

    @property
    def synchronous_rpm(self) -> float | None:
        """Synchronous speed [rpm] at the highest nameplate frequency, or None."""
        if self.frequency is None or self.pole_count is None:
            return None
        return 120 * self.frequency.high / self.pole_count

    @property
    def efficiency_times_pf(self) -> tuple[float, float] | None:
        """Minimum and maximum efficiency times power factor implied by the nameplate, or None.

        The shaft power is volts x amps x efficiency x power factor.
        """
        if self.power is None or self.voltage is None or self.current is None:
            return None
        lines = math.sqrt(3) if self.phase == 3 else 1.0
        least = self.power.low / (lines * self.voltage.high * self.current.high)
        return least, self.power.high / (lines * self.voltage.low * self.current.low)

    def contradictions(self) -> Iterator[InputError]:
        yield from self._no_motors_speed()
        if _less(self.capacitor_voltage, self.voltage) and self.voltage.high < TAPPED_FROM:
            accepted = Message("error.nameplate.line_voltage", voltage=self.voltage.text)
            yield InputError("capacitor voltage", self.capacitor_voltage.text, accepted)
        if _less(self.body_diameter, self.shaft_diameter):
            accepted = Message("error.size.below_body", diameter=self.body_diameter.text)
            yield InputError("shaft diameter", self.shaft_diameter.text, accepted)

    def _no_motors_speed(self) -> Iterator[InputError]:
        """Yield an error for a speed that is impossible for any number of poles."""
        if self.speed_rpm is None or self.frequency is None:
            return
        least, most = self._speeds_of(MOST_POLES)[0], self._speeds_of(2)[1]
        if self.speed_rpm.low > most or self.speed_rpm.high < least:
            typed = {"speed": self.speed_rpm.text, "frequency": self.frequency.text}
            given = Message("error.nameplate.speed_at", **typed)
            span = Range(round(least), round(most), "rpm")
            accepted = Message("error.nameplate.speeds", range=span, example="1075 rpm")
            yield InputError("speed", given, accepted)

    def doubts(self) -> tuple[Doubt, ...]:
        """Return the contradictions between fields, or an empty tuple."""
        return (*self._odd_power(), *self._odd_speed(), *self._odd_capacitor())

    def _odd_power(self) -> Iterator[Doubt]:
        products, (low, high) = self.efficiency_times_pf, USUAL_EFFICIENCY_TIMES_PF
        if products and (products[1] < low or products[0] > high):
            found = products[1] if products[1] < low else products[0]
            yield Doubt("power factor", ("power", "voltage", "current"), found, low, high)

    def _odd_speed(self) -> Iterator[Doubt]:
        if self.speed_rpm is None or self.frequency is None:
            return
        taken = self.pole_count
        if self._contradicts(taken):  # neither the speed nor the typed poles match
            yield Doubt("speed", ("speed", "poles")[: 1 + bool(self.poles)],
                        self.speed_rpm.mid, *self._speeds_of(taken))  # fmt: skip
        elif self.poles not in (None, taken):
            yield Doubt("poles", ("speed", "poles"), self.poles, taken, taken)

    def _odd_capacitor(self) -> Iterator[Doubt]:
        """Yield a warning about a run capacitor with an implausible reactive power."""
        if None in (self.capacitor, self.voltage, self.current, self.frequency):
            return
        supply, marked = self.voltage.high, self.capacitor_voltage
        greatest = GREATEST_CAPACITOR_VOLTAGE if marked is None else marked.high
        across = supply / 2 if supply >= TAPPED_FROM else supply
        usual = max(LEAST_CAPACITOR_VOLTAGE, CAPACITOR_OVER_SUPPLY * across)
        volts = greatest, min(usual, greatest)
        farads, volt_amps = self.capacitor.mid, supply * self.current.mid
        least, most = (
            1e6 * share * volt_amps / (2 * math.pi * self.frequency.mid * volt**2)
            for share, volt in zip(USUAL_CAPACITOR_POWER, volts, strict=True)
        )
        if not least <= 1e6 * farads <= most and not any(self._odd_power()):
            yield Doubt("capacitor", ("capacitor",), 1e6 * farads, least, most)

    def warnings(self) -> list[Message]:
        """Return warnings about doubtful or ambiguous values."""
        return [*map(self._told, self.doubts()), *self._open_rotation()]

    def _told(self, doubt: Doubt) -> Message:
        typed = {"speed": self.speed_rpm, "frequency": self.frequency, "power": self.power,
                 "current": self.current, "voltage": self.voltage, "capacitor": self.capacitor}  # fmt: skip
        values = {name: one and one.text for name, one in typed.items()}
        values |= {"poles": self.poles, "taken": self.pole_count}
        digits = 2 if doubt.code == "power factor" else 0
        figures = {"found": doubt.found, "low": doubt.low, "high": doubt.high}
        values |= {name: f"{value:.{digits}f}" for name, value in figures.items()}
        return Message(f"nameplate.doubt.{doubt.code}", **values)

    def _open_rotation(self) -> Iterator[Message]:
        if self.rotation not in (None, REVERSIBLE) and self.rotation_seen_from is None:
            yield Message("nameplate.open_rotation", rotation=Word(self.rotation))


def _less(one, other) -> bool:
    """Return True if both amounts are known and ``one`` is less than ``other``."""
    return one is not None and other is not None and one.high < other.low
