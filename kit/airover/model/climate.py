"""A year of outdoor air, hour by hour, and the refrigerant cycle with real properties.

The year is the kit's invented one, which belongs to no town, or the reader's own file: the kit's
CSV, or the open formats EPW and TMY3, which pvlib reads. The format is recognized by its content.

The standard refrigerant cycle needs CoolProp. `physics.compressor` fits the same cycle with NumPy
only; `fitted` makes such fits, also for other superheats and subcoolings.
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
from airover.physics import air, compressor
from airover.physics.compressor import (
    EFFICIENCY,
    SUBCOOLING,
    SUPERHEAT,
    TEMP_EVAPORATING,
    CompressorFit,
)

# Names in CoolProp. R454B is 68.9 % R32 and 31.1 % R1234yf by mass; here the moles.
FLUIDS = {
    "R410A": "R410A",
    "R32": "R32",
    "R22": "R22",
    "R134a": "R134a",
    "R454B": "R32[0.8292]&R1234yf[0.1708]",
}
KELVINS = Range(0.0, 30.0, "K")
# Below the critical temperature of each of them: R410A has the lowest, 71.3 degC.
RANGE_CONDENSING = Range(20.0, 70.0, "degC")


def cooling_ratio(
    temp_condensing,
    temp_evaporating=TEMP_EVAPORATING,
    refrigerant="R410A",
    efficiency=EFFICIENCY,
    superheat=SUPERHEAT,
    subcooling=SUBCOOLING,
):
    """Heat taken up indoors over the compressor's power (COP) of the cycle, by CoolProp.

    ``temp_condensing`` [degC] is that of boiling liquid, ``temp_evaporating`` [degC] that of dry
    vapour; ``efficiency`` isentropic; ``superheat`` [K] of the gas drawn in and ``subcooling``
    [K] of the liquid; ``refrigerant`` a key of FLUIDS. No losses of pressure. Arrays broadcast.
    Raises InputError out of range or without CoolProp, ArithmeticError where CoolProp finds no
    state (a mixture near its critical temperature).
    """
    if refrigerant not in FLUIDS:
        raise InputError("refrigerant", repr(refrigerant), ", ".join(FLUIDS))
    states = np.broadcast_arrays(
        check("temp_condensing", temp_condensing, RANGE_CONDENSING),
        check("temp_evaporating", temp_evaporating, compressor.RANGE_EVAPORATING),
        check("superheat", superheat, KELVINS),
        check("subcooling", subcooling, KELVINS),
    )
    efficiency = check("efficiency", efficiency, compressor.RANGE_EFFICIENCY)
    properties, fluid = _properties(), FLUIDS[refrigerant]
    rows = zip(*(state.flat for state in states), strict=True)
    ratios = [_ideal_ratio(properties, fluid, *row) for row in rows]
    return efficiency * np.reshape(ratios, states[0].shape)[()]


def fitted(refrigerant, highest=66.0, superheat=SUPERHEAT, subcooling=SUBCOOLING) -> CompressorFit:
    """The closed form of ``physics.compressor``, fitted to cycles of a ``refrigerant``.

    Least squares of the relative difference on a grid of 2.5 K, from -5 to 15 degC evaporating
    and 25 to ``highest`` [degC] condensing, at 15 K of lift or more; ``superheat`` [K] and
    ``subcooling`` [K]. Raises as cooling_ratio does, InputError or ArithmeticError.
    """
    highest = float(check("highest", highest, Range(40.0, 70.0, "degC")))
    grid = np.meshgrid(np.append(np.arange(25.0, highest, 2.5), highest), np.arange(-5, 15.1, 2.5))
    wide = grid[0] - grid[1] >= compressor.LEAST_LIFT
    hot, cold = (temps[wide] for temps in grid)
    ratio = cooling_ratio(hot, cold, refrigerant, 0.5, superheat, subcooling) / 0.5
    share = ratio * (hot - cold) / (cold + compressor.ZERO_CELSIUS)
    terms = np.stack([np.ones_like(hot), cold, -hot, -(hot**2)], axis=-1)
    found = np.linalg.lstsq(terms / share[:, None], np.ones_like(hot))[0]
    within = float(np.max(np.abs(terms @ found / share - 1)))
    return CompressorFit(*(float(x) for x in found), within, highest)


def _ideal_ratio(properties, fluid, condensing, evaporating, superheat, subcooling) -> float:
    """The ratio of one cycle whose compression keeps the entropy."""
    try:
        hot, cold = condensing + compressor.ZERO_CELSIUS, evaporating + compressor.ZERO_CELSIUS
        low = properties("P", "T", cold, "Q", 1, fluid)
        high = properties("P", "T", hot, "Q", 0, fluid)
        gas = _gas(properties, fluid, low, cold, superheat)
        after = properties("H", "S", gas["S"], "P", high, fluid)
        liquid = ("T", hot - subcooling, *(("P", high) if subcooling else ("Q", 0)), fluid)
        return (gas["H"] - properties("H", *liquid)) / (after - gas["H"])
    except ValueError as error:
        said = f"CoolProp found no state of {fluid} from {evaporating:g} to {condensing:g} degC"
        raise ArithmeticError(said) from error


def _gas(properties, fluid, pressure, temp, superheat) -> dict[str, float]:
    """Enthalpy and entropy of the gas that the compressor draws in."""
    state = ("P", pressure) if superheat else ("Q", 1)
    return {name: properties(name, "T", temp + superheat, *state, fluid) for name in "HS"}


def _properties():
    try:
        from CoolProp.CoolProp import PropsSI
    except ImportError:
        given, accepted = Message("error.weather.no_reader"), Message("error.refrigerant.coolprop")
        raise InputError(Message("error.refrigerant.library"), given, accepted) from None
    return PropsSI


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
