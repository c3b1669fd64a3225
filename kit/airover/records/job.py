"""Jobs: a failed motor with its fan and site, stored in a TOML file.

The file also contains the customer, the technician's findings, and the dates on which the steps of
the work order were completed (ticks). Adding a completion date does not change the rest of the
file.
"""

import json
import os
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Self

from pydantic import ValidationInfo

from airover.core.errors import InputError, one_of
from airover.core.files import decoded, read_bytes, read_text, write_bytes, write_text
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import Amount, quoted
from airover.records.company import CostBasis
from airover.records.fan import Blade
from airover.records.fields import (
    EXPOSURES,
    Dates,
    Flag,
    ReadWith,
    Record,
    Span,
    Text,
    amount,
    choices,
    phase_field,
    read_by,
    read_day,
    text_field,
)
from airover.records.found import Found
from airover.records.limits import USUAL_LIMITS, Limits
from airover.records.nameplate import Nameplate

# accepted range of the volumetric heat capacity [J/(m3 K)] of air
_LEAST_HEAT_OF_AIR, _MOST_HEAT_OF_AIR = 0.5 * 1004.0, 1.6 * 1030.0


def _hazardous(value, info: ValidationInfo) -> str | bool | None:
    known = value is None or isinstance(value, bool)
    return value if known else text_field(value, info) or None


class Site(Record):
    """Site data in SI units, with temperatures in degC. Unknown fields are None.

    Attributes
    ----------
    outdoor_temperature : Amount or None
        Outdoor temperature [degC].
    outdoor_temperature_min : Amount or None
        Lowest outdoor temperature [degC].
    elevation : Amount or None
        Elevation [m].
    relative_humidity : Amount or None
        Relative humidity.
    voltage : Amount or None
        Measured supply voltage [V], or a range if it varies.
    frequency : Amount or None
        Supply frequency [Hz].
    phase : int or None
        Number of supply phases.
    coil_temperature_rise : Amount or None
        Air temperature rise [K] across the coil. If None, it is calculated from ``heat`` [W] and
        ``airflow`` [m3/s].
    heat : Amount or None
        Heat [W] rejected by the coil.
    airflow : Amount or None
        Airflow [m3/s].
    recirculation : Amount or None
        Temperature rise [K] of the entering air due to recirculation.
    exposure : tuple[str, ...]
        Exposures of the unit, such as salt or dust.
    hazardous : str, bool or None
        Hazardous location classification.
    max_body_length, max_body_diameter : Amount or None
        Space [m] available for the motor.
    """

    outdoor_temperature: amount("air_temperature") = None
    outdoor_temperature_min: amount("air_temperature") = None
    elevation: amount("elevation") = None
    relative_humidity: amount("humidity") = None
    voltage: amount("voltage") = None
    frequency: amount("frequency") = None
    phase: phase_field() = None
    coil_temperature_rise: amount("temperature_rise") = None
    heat: amount("heat") = None
    airflow: amount("flow") = None
    recirculation: amount("temperature_rise") = None
    exposure: choices(EXPOSURES) = ()
    hazardous: Annotated[str | bool | None, ReadWith(_hazardous)] = None
    max_body_length: amount("body_length") = None
    max_body_diameter: amount("body_diameter") = None

    def contradictions(self) -> Iterator[InputError]:
        lowest, design = self.outdoor_temperature_min, self.outdoor_temperature
        if lowest is not None and design is not None and lowest.low > design.high:
            accepted = Message("error.site.coldest", temp=design)
            yield InputError("outdoor temperature min", lowest.text, accepted)
        yield from self._rise_against_heat()

    def _rise_against_heat(self) -> Iterator[InputError]:
        rise, heat, flow = self.coil_temperature_rise, self.heat, self.airflow
        if rise is None or heat is None or flow is None or not flow.low:
            return
        least = heat.low / (_MOST_HEAT_OF_AIR * flow.high)
        most = heat.high / (_LEAST_HEAT_OF_AIR * flow.low)
        if rise.high < least or rise.low > most:
            span = Quantity(Band(least, least, most), "temperature_rise")
            accepted = Message("error.site.rise", range=span, heat=heat, flow=flow)
            yield InputError("coil temperature rise", rise.text, accepted)


Day = read_by(read_day)
FILE = Message("error.job.file")
TABLE = "ticks"
MARK = b"\xef\xbb\xbf"  # byte order mark that some editors write at the start of a UTF-8 file


class Customer(Record):
    """Customer who signs the work order. An empty field is printed as a blank line."""

    name: Text = ""
    address: Text = ""
    contact: Text = ""


class Finding(Record):
    """Failed part and cause of failure. An empty ``why`` means that the cause is unknown."""

    failed: Text = ""
    why: Text = ""


class Ticks(Record):
    """Dates on which the steps in a work order were completed, or None if not completed."""

    isolation: Day = None
    discharge: Day = None
    record: Day = None
    cause: Day = None
    blade_height: Day = None
    blade: Day = None
    hub: Day = None
    shaft: Day = None
    mounting: Day = None
    rotation: Day = None
    drains: Day = None
    slinger: Day = None
    leads: Day = None
    capacitor: Day = None
    guard: Day = None
    first_start: Day = None
    warm: Day = None
    handover: Day = None


class Job(Record):
    """Data for a replacement job.

    Attributes
    ----------
    name, note : str
        Name of the job, and a note.
    invented : bool
        True for fictional demonstration data.
    customer : Customer
        Customer.
    finding : Finding
        Failed part and cause of failure.
    nameplate : Nameplate
        Nameplate of the old motor.
    blade : Blade
        Fan.
    site : Site
        Site data.
    found : Found
        Findings on the old motor.
    dates : Dates
        Important dates for the new motor.
    ticks : Ticks
        Dates on which the steps in the work order were completed.
    cost : CostBasis
        User's times and costs.
    limits : Limits
        Limits for the checks on this job.

    Examples
    --------
    >>> Job.from_toml('[nameplate]\\npower = "1/3 hp"').nameplate.power.text
    '1/3 hp'
    """

    name: Text = ""
    note: Text = ""
    invented: Flag = False
    customer: Customer = Customer()
    finding: Finding = Finding()
    nameplate: Nameplate = Nameplate()
    blade: Blade = Blade()
    site: Site = Site()
    found: Found = Found()
    dates: Dates = Dates()
    ticks: Ticks = Ticks()
    cost: CostBasis = CostBasis()
    limits: Limits = USUAL_LIMITS

    @classmethod
    def from_toml(cls, text: str, currency: str = "") -> Self:
        """Read a job from TOML text. Raises InputError if the text is invalid.

        ``currency`` is the currency of the costs if the job does not have one.
        """
        given = toml_table(text, Message("error.job.job"))
        if isinstance(given.get("cost"), dict):
            given["cost"] = CostBasis.in_currency(given["cost"], currency)
        return cls(**given)

    @classmethod
    def read(cls, path: str | os.PathLike, currency: str = "") -> Self:
        """Read a job from a file. Raises the same InputError as ``from_toml``."""
        return cls.from_toml(read_text(path, FILE, LARGEST_FILE), currency)

    def to_toml(self) -> str:
        """Return the job as TOML, with amounts as typed and without unknown fields."""
        return "\n".join(_lines(self, "")).strip() + "\n"

    def save(self, path: str | os.PathLike) -> None:
        """Write the job to a file. Comments in an existing file are lost.

        Raises
        ------
        InputError
            If the file cannot be written.
        """
        write_text(path, self.to_toml(), FILE)


@dataclass(frozen=True)
class JobFile:
    """Job stored in a file, with the file's content when it was read."""

    path: str | os.PathLike
    content: bytes
    job: Job

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Read a job file. Raises the same InputError as ``Job.read``."""
        content = read_bytes(path, FILE, LARGEST_FILE)
        return cls(path, content, Job.from_toml(decoded(content, path, FILE)))

    def ticked(self, step: str, day: date | None) -> Self:
        """Save the ``day`` a step was completed, or clear the date if ``day`` is None.

        ``step`` is a field of Ticks. Only the table ``[ticks]`` in the file is changed. Returns the
        updated JobFile.

        Raises
        ------
        InputError
            If the step is unknown, or if the file has changed since it was read. In either case,
            the file is not written.
        """
        if step not in Ticks.names():
            raise InputError("step", quoted(step), one_of(Ticks.names()))
        text = decoded(self.content, self.path, FILE)
        changed = with_tick(text, step, day).encode("utf-8")
        if self.content.startswith(MARK):
            changed = MARK + changed
        write_bytes(self.path, changed, FILE, seen=self.content)
        return type(self)(self.path, changed, Job.from_toml(decoded(changed, self.path, FILE)))

    def saved(self, job: Job) -> Self:
        """Replace the job in the file. Comments in the file are lost.

        Raises
        ------
        InputError
            If the file cannot be written or has changed since it was read.
        """
        content = job.to_toml().encode("utf-8")
        write_bytes(self.path, content, FILE, seen=self.content)
        return type(self)(self.path, content, job)


def with_tick(text: str, step: str, day: date | None) -> str:
    """Return TOML text with ``step`` set to ``day``, or without ``step`` if ``day`` is None.

    Raises
    ------
    InputError
        If the format of the ticks in the file does not allow this edit.
    """
    expected = _expected(tomllib.loads(text), step, day)
    changed = _added(text, step, day) if TABLE not in tomllib.loads(text) else _set(text, step, day)
    if tomllib.loads(changed) != expected:
        given, accepted = Message("error.job.fixed_table"), Message("error.job.table", name=TABLE)
        raise InputError(TABLE, given, accepted)
    return changed


def _lines(record: Record, table: str) -> Iterator[str]:
    """Yield the lines for a record: its fields, followed by its nested records."""
    written = dict(zip(record.names(), dict(record).values(), strict=True))
    known = {name: value for name, value in written.items() if value not in (None, "", ())}
    parts = {name: known.pop(name) for name in record.parts() if name in known}
    if table and known:
        yield from ("", f"[{table}]")
    yield from (f"{name} = {_toml(value)}" for name, value in known.items())
    for name, part in parts.items():
        yield from _lines(part, f"{table}.{name}".lstrip("."))


def _toml(value) -> str:
    """Return a value as TOML. Strings, numbers and Booleans are written as in JSON."""
    if isinstance(value, tuple):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, date):
        return value.isoformat()
    typed = isinstance(value, Amount | Span)
    return json.dumps(value.text if typed else value, ensure_ascii=False)


def _expected(given: dict, step: str, day: date | None) -> dict:
    ticks = {name: done for name, done in given.get(TABLE, {}).items() if name != step}
    ticks |= {} if day is None else {step: day}
    had = TABLE in given or day is not None
    return given | ({TABLE: ticks} if had else {})


def _added(text: str, step: str, day: date | None) -> str:
    """Return the text with a new table added at the end."""
    if day is None:
        return text
    line_end = "\r\n" if "\r\n" in text else "\n"
    between = line_end * (2 if text and not text.endswith("\n") else 1 if text else 0)
    return f"{text}{between}[{TABLE}]{line_end}{step} = {day.isoformat()}{line_end}"


def _set(text: str, step: str, day: date | None) -> str:
    """Return the text after adding, removing or changing a line in the existing table."""
    import tomlkit

    document = tomlkit.parse(text)
    ticks = document[TABLE]
    if day is None:
        ticks.pop(step, None)
        return tomlkit.dumps(document)
    new = step not in ticks
    ticks[step] = day
    if new and "\r\n" in text:
        ticks[step].trivia.trail = "\r\n"
    return tomlkit.dumps(document)
