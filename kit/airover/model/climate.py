"""A year of outdoor air, hour by hour.

The year is the kit's invented one, which belongs to no town, or the reader's own file: the kit's
CSV, or the open formats EPW and TMY3, which pvlib reads. The format is recognized by its content.
"""

import csv
import io
import os
from dataclasses import dataclass

import numpy as np

from airover.core.errors import ELEVATION, PRESSURE_AIR, InputError, Range, check, part
from airover.core.files import data_folder, read_text
from airover.core.message import Message
from airover.core.units import quoted
from airover.physics import air

HOURS = 8760  # of a year without 29 February
LARGEST_FILE = 10_000_000  # bytes; an EPW or TMY3 file has less than 2 MB
# 99.9, which means "missing" in EPW, is outside, and so are kelvin and a summer in degF.
TEMP_OUTDOOR = Range(-60.0, 60.0, "degC")
PERCENT = Range(0.0, 110.0, "%")  # files have a little over 100 in fog
PRESSURE_MISSING = (999999.0, -990000.0)  # [Pa] EPW; TMY3, where it is written in mbar

HEADINGS = ["hour", "temp outdoor [degC]", "relative humidity [%]"]
FILE = Message("error.weather.file")
KINDS = Message("error.weather.kinds", own="place", epw="LOCATION")


@dataclass(frozen=True)
class Year:
    """Hourly air at one place; arrays of shape (8760,), the first hour begins on 1 January.

    ``temp_outdoor`` [degC] dry bulb, ``relative_humidity`` 0 to 1, ``pressure`` [Pa] as it is
    there, ``elevation`` [m]. ``place`` and ``kind`` say which file it was.
    """

    place: str
    kind: str
    elevation: float
    temp_outdoor: np.ndarray
    relative_humidity: np.ndarray
    pressure: np.ndarray

    @property
    def density(self) -> np.ndarray:
        """Density [kg/m3] of the moist air, (8760,)."""
        return air.moist_air_density(self.temp_outdoor, self.pressure, self.relative_humidity)

    def exceeded(self, share: float = 0.01) -> float:
        """Temperature [degC] that ``share`` of the year's hours exceed.

        1 % is a usual design temperature for cooling (ASHRAE's annual design conditions).
        """
        return float(np.quantile(self.temp_outdoor, 1 - share))


def example_year() -> Year:
    """The invented year that comes with the kit; no place on earth has it."""
    return read_year(data_folder() / "weather" / "example-year.csv")


def read_year(path: str | os.PathLike) -> Year:
    """The year in the file at ``path``: the kit's CSV, EPW or TMY3.

    Raises InputError for a file of another kind, one that cannot be read, hours that are missing,
    twice or out of order (a leap day as well), figures out of range, and for EPW and TMY3 where
    pvlib is not installed.
    """
    text = read_text(path, FILE, LARGEST_FILE, errors="replace")
    first, _, rest = text.partition("\n")
    try:
        if first.startswith("place,"):
            return _read_own(text)
        if first.startswith("LOCATION,"):
            return _read_epw(text)
        if rest.startswith("Date (MM/DD/YYYY),"):
            return _read_tmy3(text)
    except InputError:
        raise
    except (ValueError, LookupError, TypeError, AttributeError, OverflowError, csv.Error) as error:
        given = Message("error.weather.broken", reason=" ".join(str(error).split()))
        raise InputError(FILE, given, KINDS) from None
    raise InputError(FILE, Message("error.weather.other"), KINDS)


def _read_own(text: str) -> Year:
    rows = csv.reader(io.StringIO(text), strict=True)
    place, elevation, headings = (next(rows, []) for _ in range(3))
    if len(place) != 2 or elevation[:-1] != ["elevation [m]"] or headings != HEADINGS:
        given = " / ".join(quoted(",".join(row)) for row in (place, elevation, headings))
        accepted = ('"place,..."', '"elevation [m],..."', f'"{",".join(HEADINGS)}"')
        raise InputError(Message("error.weather.first_lines"), given, accepted)
    table = [
        _numbers(row, 3, Message("error.weather.line", number=rows.line_num)) for row in rows if row
    ]
    hour, temp, percent = np.reshape(table, (-1, 3)).T
    (height,) = _numbers(elevation[1:], 1, part(FILE, "elevation"))
    return _checked(place[1], "airover", height, hour - 1, temp, percent)


def _numbers(cells: list[str], count: int, field: Message) -> list[float]:
    """The ``cells`` of a line as numbers."""
    try:
        numbers = [float(cell) for cell in cells]
    except ValueError:
        numbers = []
    if len(numbers) != count:
        accepted = Message("error.physics.one_number")
        if count > 1:
            accepted = Message("error.weather.numbers", count=count, names=HEADINGS)
        raise InputError(field, quoted(",".join(cells)), accepted)
    return numbers


def _read_epw(text: str) -> Year:
    data, about = _pvlib().read_epw(io.StringIO(text), coerce_year=2001)
    pressure = data["atmospheric_pressure"].to_numpy(dtype=float)
    return _of_pvlib(data, data.index, pressure, about["city"], "EPW", about["altitude"])


def _read_tmy3(text: str) -> Year:
    data, about = _pvlib().read_tmy3(io.StringIO(text), coerce_year=2001, map_variables=True)
    starts = data.index - np.timedelta64(1, "h")  # TMY3 names an hour by its end
    pressure = data["pressure"].to_numpy(dtype=float) * 100  # from mbar
    return _of_pvlib(data, starts, pressure, about["Name"], "TMY3", about["altitude"])


def _of_pvlib(data, starts, pressure, place, kind, elevation) -> Year:
    """From a table of pvlib, whose hours begin at ``starts``, all put in the year 2001."""
    since = starts.tz_localize(None).to_numpy() - np.datetime64("2001-01-01")
    temp, percent = (data[name].to_numpy(dtype=float) for name in ("temp_air", "relative_humidity"))
    return _checked(place, kind, elevation, since / np.timedelta64(1, "h"), temp, percent, pressure)


def _checked(place, kind, elevation, hour, temp, percent, pressure=None) -> Year:
    """The year, once every hour is there and every figure in its range."""
    if len(hour) != HOURS:
        given = Message("error.weather.hours", count=len(hour))
        raise InputError(FILE, given, Message("error.weather.common_year", count=HOURS))
    strays = np.flatnonzero(hour != np.arange(HOURS))
    if strays.size:
        found, place_of = f"{hour[strays[0]] + 1:g}", int(strays[0]) + 1
        given = Message("error.weather.in_place", found=found, expected=place_of)
        raise InputError(FILE, given, Message("error.weather.in_order", count=HOURS))
    elevation = float(check(part(FILE, "elevation"), elevation, ELEVATION))
    standard = air.standard_pressure(elevation) + np.zeros(HOURS)
    if pressure is None:
        pressure = standard
    pressure = np.where(np.isin(pressure, PRESSURE_MISSING), standard, pressure)
    humidity = _in_range("relative humidity", percent, PERCENT) / 100
    return Year(
        place="".join(c for c in place if c.isprintable()).strip(' "')[:80],
        kind=kind,
        elevation=elevation,
        temp_outdoor=_in_range("temp outdoor", temp, TEMP_OUTDOOR),
        relative_humidity=np.minimum(humidity, 1.0),
        pressure=_in_range("pressure", pressure, PRESSURE_AIR),
    )


def _in_range(name, values, accepted: Range) -> np.ndarray:
    """The ``values``; refuses the first that is not ``accepted``, naming its hour."""
    bad = np.flatnonzero(~((values >= accepted.low) & (values <= accepted.high)))
    if bad.size:
        field = Message("error.weather.hour", number=int(bad[0]) + 1, name=name)
        check(field, values[bad[0]], accepted)
    return values


def _pvlib():
    try:
        from pvlib import iotools
    except ImportError:
        given, accepted = Message("error.weather.no_reader"), Message("error.weather.pvlib")
        raise InputError(Message("error.weather.reader"), given, accepted) from None
    return iotools
