"""Meter readings on a running motor, and meter accuracy.

Readings are stored in a TOML file. Accuracy is entered in the format used in meter data sheets,
such as "2 % + 2 digits".
"""

import os
import unicodedata
from collections.abc import Iterator
from typing import Annotated, NamedTuple, Self

from pydantic import Field, ValidationInfo, model_validator

from airover.core.errors import InputError, one_of
from airover.core.files import read_text
from airover.core.kinds import KINDS
from airover.core.message import Message, Quantity
from airover.core.patterns import Pattern
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import Amount, decimals_typed, parse_number, quoted, read
from airover.records.fields import (
    Flag,
    ReadWith,
    Record,
    Text,
    amount,
    amounts,
    choice,
    in_words,
)
from airover.records.found import STARTS
from airover.records.nameplate import CLOCKWISE, COUNTERCLOCKWISE, ENDS, SENSES, from_shaft_end

LARGEST_SHARE = 0.25
_SHARE = Pattern(r"([0-9.]+)\s*%")
_DIGITS = Pattern(r"([0-9]+)\s*(?:digits?|counts?)")
_NUMBER = Pattern(r"[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+")
MOST_READINGS = 6
_TURNS = {sense: SENSES[sense] for sense in (CLOCKWISE, COUNTERCLOCKWISE)}


class Reading(Record):
    """Set of readings. A quantity that was not read is None.

    Attributes
    ----------
    voltage : Amount or None
        Supply voltage [V].
    current : Amount or None
        Line current [A].
    power : Amount or None
        Input power [W].
    speed_rpm : Amount or None
        Speed [rpm].
    capacitor_voltage : Amount or None
        Voltage [V] across the capacitor terminals.

    Raises
    ------
    InputError
        If a field cannot be read, or if the power exceeds volts x amps.
    """

    voltage: amount("voltage") = None
    current: amount("current") = None
    power: amount("power", "W") = None
    speed_rpm: amount("speed") = Field(None, alias="speed")
    capacitor_voltage: amount("voltage") = None

    @property
    def is_complete(self) -> bool:
        """Return True if the voltage and at least one other quantity were read."""
        others = (self.current, self.power, self.speed_rpm, self.capacitor_voltage)
        return self.voltage is not None and any(one is not None for one in others)

    def contradictions(self) -> Iterator[InputError]:
        if None in (self.voltage, self.current, self.power):
            return
        most = self.voltage.high * self.current.high
        if self.power.low > most:
            accepted = Message("error.measured.volt_amps", most=f"{most:.0f} W")
            yield InputError("power", self.power.text, accepted)


class ReadingMoment(Reading):
    """Readings taken at the same time. A quantity that was not read is None.

    The accepted ranges are wider than in Reading, and contradictions are accepted. Impossible
    values are questioned later and are not rejected here.

    Attributes
    ----------
    voltage, current, power, speed_rpm, capacitor_voltage : Amount or None
        Readings as in Reading.
    capacitor_current : Amount or None
        Capacitor current [A].
    outdoor_temperature : Amount or None
        Outdoor air temperature [degC].
    entering_temperature : Amount or None
        Temperature [degC] of the coil entering air.
    motor_air_temperature : Amount or None
        Temperature [degC] of the air at the motor.
    leaving_temperature : Amount or None
        Temperature [degC] of the coil leaving air.
    shell_temperature : Amount or None
        Temperature [degC] of the motor shell.

    Raises
    ------
    InputError
        If a field cannot be read.
    """

    voltage: amount("meter_voltage") = None
    current: amount("meter_current") = None
    power: amount("meter_power", "W") = None
    speed_rpm: amount("meter_speed") = Field(None, alias="speed")
    capacitor_voltage: amount("meter_voltage") = None
    capacitor_current: amount("meter_current") = None
    outdoor_temperature: amount("temperature") = None
    entering_temperature: amount("temperature") = None
    motor_air_temperature: amount("temperature") = None
    leaving_temperature: amount("temperature") = None
    shell_temperature: amount("temperature") = None

    def contradictions(self):
        return iter(())


class WindingOhms(Record):
    """Cold and hot resistance [ohm] between the same two leads.

    Attributes
    ----------
    cold_resistance : Amount or None
        Cold resistance [ohm].
    cold_temperature : Amount or None
        Winding temperature [degC] at the cold reading. If the motor has been off for several hours,
        it is equal to the air temperature.
    hot_resistance : tuple[Amount, ...]
        Resistances [ohm] read after the motor was switched off.
    time_off : tuple[Amount, ...]
        Time [s] from shutdown to each hot reading. A single hot reading without a time is assumed
        to be the value at shutdown.

    Raises
    ------
    InputError
        If the two lists have different lengths.
    """

    cold_resistance: amount("resistance") = None
    cold_temperature: amount("temperature") = None
    hot_resistance: amounts("resistance") = ()
    time_off: amounts("seconds") = ()

    @property
    def is_complete(self) -> bool:
        cold = self.cold_resistance is not None and self.cold_temperature is not None
        return cold and bool(self.hot_resistance)

    def contradictions(self):
        counts = len(self.hot_resistance), len(self.time_off)
        if counts not in ((0, 0), (1, 0)) and counts[0] != counts[1]:
            given = Message("error.measured.counts", times=counts[1], resistances=counts[0])
            yield InputError("time off", given, Message("error.measured.time_each"))


class Accuracy(NamedTuple):
    """Maximum error of a meter.

    Attributes
    ----------
    share : float
        Fraction of the reading.
    digits : float
        Number of counts in the last displayed digit.
    least : float
        Fixed part of the error [SI unit].
    text : str
        Accuracy as typed.
    """

    share: float
    digits: float
    least: float
    text: str

    @property
    def shown(self) -> Message | Quantity:
        """Accuracy as a message for the reader."""
        if not self.share:
            return Quantity(self.least, "temperature_rise")
        key = "digit" if self.digits == 1 else "digits"
        share, count = Quantity(self.share, "share", 1), round(self.digits)
        return Message(f"verify.input.accuracy_{key}", share=share, count=count)

    def limit(self, amount: Amount) -> float:
        """Return the maximum error [SI unit] of a reading.

        If the reading was entered as a range, half the width of the range is added.
        """
        wide = (amount.high - amount.low) / 2
        return self.share * abs(amount.mid) + self.digits * last_place(amount) + self.least + wide


def accuracy(text: str, kind: str, field: str) -> Accuracy:
    """Read an accuracy, such as "2 % + 3 digits".

    Raises
    ------
    InputError
        If the text cannot be read. The error names ``field``.

    Examples
    --------
    >>> accuracy("2 % + 3 digits", "current", "amps")[:3]
    (0.02, 3.0, 0.0)
    """
    examples = one_of(("2 % + 2 digits", KINDS[kind].example))
    accepted = Message("error.measured.accuracy", examples=examples, most="25 %")
    if not isinstance(text, str):
        raise InputError(field, quoted(text), accepted)
    found = [0.0, 0.0, 0.0]
    for part in text.split("+"):
        place, value = _part(part.strip(), kind, field, accepted)
        found[place] += value
    if not 0 < found[0] + found[1] + found[2] or found[0] > LARGEST_SHARE:
        raise InputError(field, quoted(text), accepted)
    return Accuracy(*found, text.strip())


def last_place(amount: Amount) -> float:
    """Return the value [SI unit] of one count in the last digit.

    >>> last_place(read("1.85 A", "current", "amps"))
    0.01
    """
    digits = unicodedata.normalize("NFKC", amount.text)  # for example, \u2153
    number = parse_number(_NUMBER.search(digits)[0])
    factor = amount.low / number if number else 1.0
    return float(f"{factor * 10.0 ** -decimals_typed(amount.text):.12g}")


def stated(kind: str, usual: str):
    """Return the type of a field for meter accuracy, and its default value."""

    def validate(value, info: ValidationInfo):
        text = value.text if isinstance(value, Accuracy) else value
        return accuracy(text, kind, in_words(info))

    return Annotated[Accuracy, ReadWith(validate)], accuracy(usual, kind, "usual")


def _part(part: str, kind: str, field: str, accepted: Message) -> tuple[int, float]:
    """Return the type (0 for a fraction, 1 for digits, 2 for a fixed error) and value of a part."""
    for place, pattern, unit in ((0, _SHARE, 0.01), (1, _DIGITS, 1.0)):
        match = pattern.fullmatch(part)
        number = parse_number(match[1]) if match else None
        if number is not None:
            return place, round(unit * number, 12)
    try:
        return 2, read(part, kind, field).mid
    except InputError as error:
        raise InputError(field, error.given, accepted) from None


_FIELDS = {  # common practice; no published source: typical meter classes in the trade
    "voltage": ("meter_voltage", "1 % + 2 digits"),
    "current": ("meter_current", "2 % + 2 digits"),
    "power": ("meter_power", "3 % + 2 digits"),
    "speed": ("meter_speed", "0.3 % + 2 digits"),
    "temperature": ("temperature_rise", "1.5 K"),
    "shell": ("temperature_rise", "5 K"),
    "resistance": ("resistance", "1 % + 1 digit"),
}


_TYPES = {name: stated(*facts) for name, facts in _FIELDS.items()}


class Meters(Record):
    """Accuracy of the meters. By default, typical accuracy classes are assumed.

    Attributes
    ----------
    voltage, current, power, speed : Accuracy
        Accuracy of the voltage, current, power and speed meters.
    temperature : Accuracy
        Accuracy of the air thermometer.
    shell : Accuracy
        Accuracy of the thermometer for the motor shell.
    resistance : Accuracy
        Accuracy of the ohmmeter.

    Raises
    ------
    InputError
        If an accuracy does not have the format "2 % + 2 digits".
    """

    voltage: _TYPES["voltage"][0] = _TYPES["voltage"][1]
    current: _TYPES["current"][0] = _TYPES["current"][1]
    power: _TYPES["power"][0] = _TYPES["power"][1]
    speed: _TYPES["speed"][0] = _TYPES["speed"][1]
    temperature: _TYPES["temperature"][0] = _TYPES["temperature"][1]
    shell: _TYPES["shell"][0] = _TYPES["shell"][1]
    resistance: _TYPES["resistance"][0] = _TYPES["resistance"][1]

    @property
    def assumed(self) -> list[str]:
        """Names of the meters for which the default accuracy is assumed."""
        return [name for name in type(self).model_fields if name not in self.model_fields_set]


def _moments(value, info: ValidationInfo) -> tuple[ReadingMoment, ...]:
    """Read a table of readings or a list of tables."""
    tables = [value] if isinstance(value, (dict, ReadingMoment)) else value
    if not isinstance(tables, (list, tuple)) or len(tables) > MOST_READINGS:
        accepted = Message("error.measured.readings", count=MOST_READINGS)
        raise InputError("reading", quoted(value), accepted)
    return tuple(_moment(number, given) for number, given in enumerate(tables, 1))


class Measurements(Record):
    """Readings on a running motor, and the accuracy of the meters.

    Raises InputError, which names the reading and the field, if a value is invalid.

    Attributes
    ----------
    name, note : str
        Name of the set of measurements, and a note.
    invented : bool
        True for fictional demonstration data.
    motor : str
        Name of a catalog motor, or "" for the motor on the job's nameplate.
    rating : Amount or None
        Rated power [W] of the motor.
    rotation, start : str or None
        Observed rotation and starting behavior.
    rotation_seen_from : str or None
        End of the motor from which the rotation was viewed.
    capacitor_tolerance : Amount or None
        Tolerance marked on the capacitor, as a fraction.
    winding : WindingOhms
        Winding resistances.
    meters : Meters
        Accuracy of the meters.
    reading : tuple[ReadingMoment, ...]
        Readings.

    Examples
    --------
    >>> Measurements.from_toml('[[reading]]\\ncurrent = "1.85 A"').reading[0].current.mid
    1.85
    """

    name: Text = ""
    note: Text = ""
    invented: Flag = False
    motor: Text = ""
    rating: amount("power", "hp") = None
    start: choice(STARTS) = None
    rotation: choice(_TURNS) = None
    rotation_seen_from: choice(ENDS) = None
    capacitor_tolerance: amount("share") = None
    winding: WindingOhms = WindingOhms()
    meters: Meters = Meters()
    reading: Annotated[tuple, ReadWith(_moments)] = ()

    @model_validator(mode="before")
    @classmethod
    def _divided(cls, given):
        return cls.divided(given, "rotation")

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """Read measurements from TOML text. Raises InputError if the text is invalid."""
        return cls(**toml_table(text, Message("error.measured.measurements")))

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Read measurements from a file. Raises the same InputError as ``from_toml``."""
        return cls.from_toml(read_text(path, Message("error.measured.file"), LARGEST_FILE))

    @property
    def rotation_shaft_end(self) -> str | None:
        """Rotation viewed from the shaft end, or None if it cannot be determined."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)


def _moment(number: int, given) -> ReadingMoment:
    if isinstance(given, ReadingMoment):
        return given
    place = Message("error.measured.reading", number=number)
    if not isinstance(given, dict):
        raise InputError(place, quoted(given), Message("error.field.table"))
    try:
        return ReadingMoment(**given)
    except InputError as error:
        raise error.within(place, "error.field.inside") from None
