"""What was measured on a motor that runs, in a TOML file as people write it."""

import os
from typing import Annotated, Self

from pydantic import Field, PlainValidator

from airover.errors import InputError
from airover.message import Message
from airover.records.fields import Flag, Record, Text, amount, amounts, choice
from airover.records.found import STARTS
from airover.records.meters import Meters
from airover.records.reading import Reading
from airover.records.rotation import CLOCKWISE, COUNTERCLOCKWISE, ENDS, SENSES, from_shaft_end
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_text
from airover.units import quoted

MOST_READINGS = 6
_TURNS = {sense: SENSES[sense] for sense in (CLOCKWISE, COUNTERCLOCKWISE)}


class Moment(Reading):
    """A reading with all that was read at one moment; what was not read is None.

    Beside those of a Reading: ``capacitor_current`` [A], air temperatures [degC] outdoors, into
    the coil, at the motor and out of the coil, and that of the motor's shell. Wider than a Reading
    and without contradictions: what cannot be is questioned later, not refused here. Raises
    InputError for a field that cannot be read.
    """

    voltage: amount("meter_voltage") = None
    current: amount("meter_current") = None
    power: amount("meter_power") = None
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
    """Resistance [ohm] between the same two leads, cold and hot.

    ``cold_temperature`` [degC] of the winding at the cold reading: that of the air, once it has
    stood for hours. ``hot_resistance`` was read at the times ``time_off`` [s] since the motor was
    switched off after the last reading; one value without a time counts as at that moment.
    Raises InputError for a list of one length beside one of another.
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


def _moments(value) -> tuple[Moment, ...]:
    """One table of readings, or a list of them."""
    tables = [value] if isinstance(value, (dict, Moment)) else value
    if not isinstance(tables, (list, tuple)) or len(tables) > MOST_READINGS:
        accepted = Message("error.measured.readings", count=MOST_READINGS)
        raise InputError("reading", quoted(value), accepted)
    return tuple(_moment(number, given) for number, given in enumerate(tables, 1))


def _moment(number: int, given) -> Moment:
    if isinstance(given, Moment):
        return given
    place = Message("error.measured.reading", number=number)
    if not isinstance(given, dict):
        raise InputError(place, quoted(given), Message("error.field.table"))
    try:
        return Moment(**given)
    except InputError as error:
        raise error.within(place, "error.field.inside") from None


class Measurements(Record):
    """Readings on the running motor, and how exact the meters are.

    ``motor`` names one of the catalogue, as in an answer, and ``rating`` [W] its rating; without
    it the motor is the one on the job's nameplate. ``rotation`` and ``start`` are what was seen,
    ``capacitor_tolerance`` [share] is marked on the capacitor. Raises InputError that names the
    reading and the field.

    >>> Measurements.from_toml('[[reading]]\\ncurrent = "1.85 A"').reading[0].current.mid
    1.85
    """

    name: Text = ""
    note: Text = ""
    invented: Flag = False
    motor: Text = ""
    rating: amount("power") = None
    start: choice(STARTS) = None
    rotation: choice(_TURNS) = None
    rotation_seen_from: choice(ENDS) = None
    capacitor_tolerance: amount("share") = None
    winding: WindingOhms = WindingOhms()
    meters: Meters = Meters()
    reading: Annotated[tuple, PlainValidator(_moments)] = ()

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """The measurements that TOML ``text`` tells; raises InputError that says what is wrong."""
        return cls(**toml_table(text, Message("error.measured.measurements")))

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Those in the file at ``path``; raises InputError as ``from_toml`` does."""
        return cls.from_toml(read_text(path, Message("error.measured.file"), LARGEST_FILE))

    @property
    def rotation_shaft_end(self) -> str | None:
        """The rotation as seen from the shaft end; None when that cannot be known."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)
