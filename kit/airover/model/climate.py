"""Hourly outdoor air conditions over a year, and running hours of a unit.

The weather year is either the fictional year included with the package, which does not represent a
real place, or a file supplied by the user. The file can be in the package's CSV format or in EPW or
TMY3 format, which are read with pvlib. The format is detected from the file contents.

The fraction of each hour that the unit runs increases linearly from zero at the balance temperature
to one at the design temperature (common practice for a first estimate; no published source). Sun,
occupants, thermostat setback and heat-pump heating are not modeled.

A unit with too little airflow is assumed to deliver the same cooling capacity. A real unit delivers
less, so its coil load is slightly lower and its running time is longer. Above a condensing
temperature of 66 degC, the compressor power is held constant, and the hours above this limit are
counted.
"""

import csv
import io
import os
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import ELEVATION, PRESSURE_AIR, InputError, Range, check, part
from airover.core.files import data_folder, read_text
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.core.units import quoted
from airover.physics import air, coil, compressor

HOURS = 8760  # hours in a year without February 29
LARGEST_FILE = 10_000_000  # bytes; an EPW or TMY3 file is smaller than 2 MB
# EPW uses 99.9 for "missing". The range also excludes values in kelvins and summer values in degF.
TEMP_OUTDOOR = Range(-60.0, 60.0, "degC")
PERCENT = Range(0.0, 110.0, "%")  # files contain values slightly above 100 in fog
PRESSURE_MISSING = (999999.0, -990000.0)  # Pa; EPW, and TMY3 (converted from mbar)

HEADINGS = ["hour", "temp outdoor [degC]", "relative humidity [%]"]
FILE = Message("error.weather.file")
KINDS = Message("error.weather.kinds", own="place", epw="LOCATION")


@dataclass(frozen=True)
class Year:
    """Hourly outdoor air conditions at a location, as arrays of shape (8760,) from January 1.

    Attributes
    ----------
    place, kind : str
        Location, and file type.
    elevation : float
        Elevation [m].
    temp_outdoor : ndarray
        Dry-bulb temperature [degC].
    relative_humidity : ndarray
        Relative humidity, 0 to 1.
    pressure : ndarray
        Station pressure [Pa].
    """

    place: str
    kind: str
    elevation: float
    temp_outdoor: np.ndarray
    relative_humidity: np.ndarray
    pressure: np.ndarray

    @property
    def density(self) -> np.ndarray:
        """Density [kg/m3] of the moist air, shape (8760,)."""
        return air.moist_air_density(self.temp_outdoor, self.pressure, self.relative_humidity)

    def exceeded(self, share: float = 0.01) -> float:
        """Return the temperature [degC] exceeded during a fraction ``share`` of the hours.

        A fraction of 1 % is a common cooling design condition (ASHRAE annual design conditions).
        """
        return float(np.quantile(self.temp_outdoor, 1 - share))


@lru_cache
def example_year() -> Year:
    """Return the fictional weather year, which does not represent a real place."""
    return read_year(data_folder() / "weather" / "example-year.csv")


def read_year(path: str | os.PathLike) -> Year:
    """Read a weather year from a file in CSV, EPW or TMY3 format.

    Raises
    ------
    InputError
        If the format is not recognized, the file cannot be read, hours are missing, duplicated or
        out of order (including a leap day), values are out of range, or pvlib is required but not
        installed.
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
    """Return the ``cells`` of a line as numbers."""
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
    starts = data.index - np.timedelta64(1, "h")  # TMY3 labels each hour by its end time
    pressure = data["pressure"].to_numpy(dtype=float) * 100  # from mbar
    return _of_pvlib(data, starts, pressure, about["Name"], "TMY3", about["altitude"])


def _of_pvlib(data, starts, pressure, place, kind, elevation) -> Year:
    """Create a Year from a pvlib table whose hours begin at ``starts``."""
    since = starts.tz_localize(None).to_numpy() - np.datetime64("2001-01-01")
    temp, percent = (data[name].to_numpy(dtype=float) for name in ("temp_air", "relative_humidity"))
    return _checked(place, kind, elevation, since / np.timedelta64(1, "h"), temp, percent, pressure)


def _checked(place, kind, elevation, hour, temp, percent, pressure=None) -> Year:
    """Check that every hour is present and every value is in range. Return the Year."""
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
    """Return ``values``, or raise InputError for the first value that is out of range."""
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


# Common practice; no published source.
TEMP_BALANCE = 18.0  # degC (65 degF); no cooling is needed below this temperature
EFFECTIVENESS_RATED = (0.55, 0.75)
EXPONENT = (0.5, 0.6)
EFFICIENCY = (0.6, 0.7)  # isentropic efficiency, including all losses
RECIRCULATED = (0.0, 0.1)

DESIGN_OVER_BALANCE = Range(1.0, 60.0, "K")
FLOW_RATIO = Range(0.3, 2.0, "")


def run_fraction(temp_outdoor, temp_design, temp_balance=TEMP_BALANCE):
    """Return the fraction of an hour (0 to 1) that the unit runs at an outdoor temperature.

    The fraction is 0 at or below ``temp_balance`` [degC], 1 at or above ``temp_design`` [degC], and
    linear in ``temp_outdoor`` [degC] in between. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range, or if the design temperature is not above the balance
        temperature.

    Examples
    --------
    >>> run_fraction([10.0, 18.0, 28.0, 45.0], temp_design=38.0).tolist()
    [0.0, 0.0, 0.5, 1.0]
    """
    outdoor = check("temp_outdoor", temp_outdoor, TEMP_OUTDOOR)
    balance = check("temp_balance", temp_balance, TEMP_OUTDOOR)
    over = check("temp_design", temp_design, TEMP_OUTDOOR) - balance
    check("temp_design over temp_balance", over, DESIGN_OVER_BALANCE)
    return np.clip((outdoor - balance) / over, 0.0, 1.0)


@dataclass(frozen=True)
class Season:
    """Running hours per year by outdoor temperature, as arrays of shape (temperatures,).

    Attributes
    ----------
    temp_outdoor : ndarray
        Outdoor temperatures [degC] in ascending order.
    hours : ndarray
        Running hours per year at each temperature.
    density : ndarray
        Density of the outdoor air [kg/m3].
    temp_design : float
        Design temperature [degC], at and above which the unit runs continuously.
    """

    temp_outdoor: np.ndarray
    hours: np.ndarray
    density: np.ndarray
    temp_design: float

    @classmethod
    def of(cls, year: Year, temp_design=None, temp_balance=TEMP_BALANCE) -> "Season":
        """Create a Season from a weather year.

        The default design temperature is the temperature exceeded during 1 % of the hours. Raises
        the same errors as `run_fraction`, and InputError if the year has no cooling hours.
        """
        design = year.exceeded() if temp_design is None else float(temp_design)
        share = run_fraction(year.temp_outdoor, design, temp_balance)
        if not np.any(share > 0):
            given = f"{year.temp_outdoor.max():g}"
            accepted = Message("error.weather.warmer", temp=f"{temp_balance:g} degC")
            raise InputError(Message("error.weather.warmest"), given, accepted, "degC")
        running = share > 0
        temps, place = np.unique(year.temp_outdoor[running], return_inverse=True)
        density = np.bincount(place, year.density[running]) / np.bincount(place)
        return cls(temps, np.bincount(place, share[running]), density, design)

    @property
    def total(self) -> float:
        """Total running hours per year."""
        return float(self.hours.sum())


@dataclass(frozen=True)
class Unit:
    """Refrigerant side of a unit, as arrays of shape (samples,) or single values.

    Attributes
    ----------
    cooling : float or ndarray
        Indoor cooling capacity [W] while running.
    flow : float or ndarray
        Full airflow [m3/s].
    effectiveness_rated : float or ndarray
        Coil effectiveness at full airflow.
    exponent : float or ndarray
        Air-side exponent.
    recirculated : float or ndarray
        Fraction of the discharge air that is recirculated.
    efficiency : float or ndarray
        Compressor efficiency.
    refrigerant : str or compressor.CompressorFit
        Refrigerant, as in `compressor.cooling_ratio`.
    temp_evaporating : float
        Evaporating temperature [degC].
    """

    cooling: float | np.ndarray
    flow: float | np.ndarray
    effectiveness_rated: float | np.ndarray = 0.65
    exponent: float | np.ndarray = 0.6
    recirculated: float | np.ndarray = 0.0
    efficiency: float | np.ndarray = compressor.EFFICIENCY
    refrigerant: str | compressor.CompressorFit = "R410A"
    temp_evaporating: float = compressor.TEMP_EVAPORATING

    @classmethod
    def usual(cls, cooling, flow, samples: int, seed: int = 0, refrigerant="R410A") -> "Unit":
        """Create a typical unit with a given cooling capacity and airflow.

        The other parameters are sampled.
        """
        ends = {
            "effectiveness_rated": EFFECTIVENESS_RATED,
            "exponent": EXPONENT,
            "recirculated": RECIRCULATED,
            "efficiency": EFFICIENCY,
        }
        z = normal_draws(np.random.default_rng([seed, 4]), ends, samples)
        drawn = {name: uniform(ends[name], z[name]) for name in ends}
        return cls(cooling, flow, refrigerant=refrigerant, **drawn)


class UnitRunning(NamedTuple):
    """Operating state of a running unit.

    Above a condensing temperature of 66 degC, the fit is not valid, and a high-pressure switch
    would soon open (common practice). The power is therefore held constant, and all three values
    are lower bounds.

    Attributes
    ----------
    temp_condensing : ndarray
        Condensing temperature [degC].
    temp_motor : ndarray
        Coil leaving air temperature [degC].
    power : ndarray
        Compressor power [W].
    beyond : ndarray
        True if the condensing temperature would be above 66 degC.
    """

    temp_condensing: np.ndarray
    temp_motor: np.ndarray
    power: np.ndarray
    beyond: np.ndarray


def running(unit: Unit, temp_outdoor, density, flow_ratio=1.0) -> UnitRunning:
    """Return the operating state of a unit at given outdoor conditions.

    The coil rejects the sum of cooling capacity and compressor power. Power increases with
    condensing temperature, so the two are solved together for a constant cooling capacity. Array
    arguments are broadcast against each other.

    Parameters
    ----------
    unit : Unit
        Refrigerant side of the unit.
    temp_outdoor : array_like
        Outdoor temperature [degC].
    density : array_like
        Density of the outdoor air [kg/m3].
    flow_ratio : array_like, optional
        Ratio of airflow to full airflow, 0.3 to 2.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    ratio = check("flow_ratio", flow_ratio, FLOW_RATIO)
    flow = unit.flow * ratio
    share = coil.effectiveness(unit.effectiveness_rated, ratio, unit.exponent)
    lowest = unit.temp_evaporating + compressor.LEAST_LIFT + 0.01
    hottest = compressor.RANGE_CONDENSING.high
    temp = lowest
    # The iteration starts below the solution. Each step is smaller than the previous step, or ends
    # at the limit.
    for _ in range(100):
        power = _power(unit, temp)
        heat = unit.cooling + power
        entering = coil.entering_temperature(heat, flow, temp_outdoor, unit.recirculated, density)
        found = coil.condensing_temperature(heat, flow, entering, share, density)
        last, temp = temp, np.clip(found, lowest, hottest)
        if np.max(np.abs(temp - last)) < 1e-6:
            leaving = coil.leaving_temperature(heat, flow, entering, density)
            return UnitRunning(np.maximum(found, lowest), leaving, power, found > hottest)
    raise ArithmeticError("the condensing temperature found no balance")


def _power(unit: Unit, temp_condensing):
    return compressor.compressor_power(
        unit.cooling, temp_condensing, unit.temp_evaporating, unit.refrigerant, unit.efficiency
    )


class Shortfall(NamedTuple):
    """Annual effects of running at less or more than full airflow, as 90 % ranges.

    Attributes
    ----------
    energy : Band
        Compressor energy [kWh/year] at full airflow.
    extra : Band
        Extra compressor energy [kWh/year].
    share : Band
        Ratio of extra energy to energy at full airflow.
    condensing : Band
        Increase [K] in condensing temperature at the design temperature.
    motor : Band
        Increase [K] in the temperature of the air at the motor, at the design temperature.
    beyond : Band
        Hours per year during which the condensing temperature is too high for the unit to run. The
        extra energy during hours with too high a condensing temperature is a lower bound.
    """

    energy: Band
    extra: Band
    share: Band
    condensing: Band
    motor: Band
    beyond: Band


def shortfall(season: Season, unit: Unit, flow_ratio) -> Shortfall:
    """Return the annual effects of a changed airflow on the compressor.

    ``flow_ratio`` is the ratio of the airflow with the new motor to the full airflow, 0.3 to 2. It
    is a number or an array of samples. The unit is assumed to deliver the same cooling. A hot
    condenser actually reduces the capacity, but the resulting longer running time is not included.
    Fan energy is not included.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    unit = _in_samples(unit)
    outdoor, density = season.temp_outdoor[:, None], season.density[:, None]
    full, short = (running(unit, outdoor, density, ratio) for ratio in (1.0, flow_ratio))
    energy, less = (season.hours @ np.atleast_2d(one.power) / 1000 for one in (full, short))
    at_design = [
        running(unit, season.temp_design, season.density[-1], ratio) for ratio in (1.0, flow_ratio)
    ]
    return Shortfall(
        energy=_band(energy),
        extra=_band(less - energy),
        share=_band(less / energy - 1),
        condensing=_band(at_design[1].temp_condensing - at_design[0].temp_condensing),
        motor=_band(at_design[1].temp_motor - at_design[0].temp_motor),
        beyond=_band(season.hours @ short.beyond),
    )


def _in_samples(unit: Unit) -> Unit:
    """Return the unit with each number as an array of shape (samples,) or (1,)."""
    numbers = (field.name for field in fields(unit) if field.name != "refrigerant")
    return replace(unit, **{name: np.atleast_1d(getattr(unit, name)) for name in numbers})


def _band(samples) -> Band:
    return Band.of(np.ravel(samples))
