"""Screen one part of a fleet to find the best motors and the rejected rows.

The result of a part depends only on its rows and the catalog, so it is identical on any worker.
"""

from contextlib import suppress
from typing import NamedTuple

import numpy as np

from airover.business import fleet_lives
from airover.business.fleet_response import AIR, COOLING
from airover.business.fleet_units import (
    LINE_VOLTAGE,
    NAMEPLATE,
    NAMEPLATE_VOLTAGE,
    NONE_KNOWN,
    PLAIN,
    REASONS,
    SITE_NUMBERS,
    Failed,
    Known,
    Nameplates,
    RuleTables,
)
from airover.core.errors import NOTHING, InputError, Range
from airover.core.intervals import normal_draws, uniform
from airover.core.kinds import KINDS
from airover.core.message import Message
from airover.model import conditions as usual
from airover.model.climate import example_year
from airover.model.conditions import FASTEST_AIR
from airover.model.simulation import SAMPLES
from airover.physics import air
from airover.physics.operating_point import fan_coefficient
from airover.records.limits import USUAL_LIMITS, Limits
from airover.records.scope import HIGHEST_SITE, HIGHEST_VOLTAGE, HOTTEST_OUTDOOR
from airover.selection.comparison import columns
from airover.selection.electrical import LIKELY
from airover.selection.load import EVEN, NO_WORSE, near_flow
from airover.selection.screening import (
    ADAPTED,
    HORIZONTAL,
    NOT_FIT,
    VERTICAL,
    Best,
    Motors,
    ScreenedUnits,
    ScreeningLimits,
    Surfaces,
)
from airover.selection.screening_kernel import percentiles, screen

BLOCK = 1024  # units at a time, so that their samples fit in the processor's cache
HIGHEST = {"outdoor_temperature_c": HOTTEST_OUTDOOR, "elevation_m": HIGHEST_SITE}
HIGHEST |= dict.fromkeys(LINE_VOLTAGE, HIGHEST_VOLTAGE)


class Grouped(NamedTuple):
    """Distinct values of several columns.

    Attributes
    ----------
    values : list[tuple]
        Distinct combinations of values, as tuples.
    place : ndarray
        Index of each row's combination in ``values``, shape (rows,).
    """

    values: list[tuple]
    place: np.ndarray


class Rows(NamedTuple):
    """Rows of a table.

    Attributes
    ----------
    site : dict[str, ndarray]
        Site columns as SI arrays, shape (rows,), or NaN if empty.
    nameplates : Grouped
        Distinct values of the columns in NAMEPLATE.
    facts : tuple[Grouped, ...]
        Distinct values of the columns used by each group of rules.
    lying : ndarray
        True if the motor's shaft is horizontal.
    named : ndarray
        True if the row has a unit name.
    age : ndarray
        Age of the unit [years], or NaN.
    """

    site: dict[str, np.ndarray]
    nameplates: Grouped
    facts: tuple[Grouped, ...]
    lying: np.ndarray
    named: np.ndarray
    age: np.ndarray


class Fitting(NamedTuple):
    """Every motor that fits a unit, as arrays of shape (pairs,) in the order of the units.

    Attributes
    ----------
    unit, motor : ndarray
        Row number of the unit, and motor number.
    work : ndarray
        Number of modifications and missing facts.
    energy : ndarray
        Electrical energy [kWh/year].
    """

    unit: np.ndarray
    motor: np.ndarray
    work: np.ndarray
    energy: np.ndarray


class Screened(NamedTuple):
    """Screening results of one part.

    Attributes
    ----------
    taken : ndarray
        Row numbers of the accepted rows in ascending order.
    best : Best
        Best motors for the accepted rows.
    failures : ndarray
        Expected failures of the best motors within fleet_lives.HORIZON years, as 5th, 50th and
        95th percentiles, shape (units, 3).
    reasons : dict[int, InputError]
        Reason that each of the other rows was rejected, by row number.
    counted : ndarray
        Input for `fleet_lives.failures`.
    fitting : Fitting
        Every motor that fits each accepted row.
    """

    taken: np.ndarray
    best: Best
    failures: np.ndarray
    reasons: dict[int, InputError]
    counted: np.ndarray
    fitting: Fitting


class Screener:
    """Catalog prepared for screening, with caches of the evaluated nameplates and facts.

    Parameters
    ----------
    limits : Limits, optional
        Limits for the checks on all units.
    known : Known, optional
        Nameplates that were read before.
    """

    def __init__(
        self, motors, surfaces: Surfaces, limits: Limits = USUAL_LIMITS, known: Known = NONE_KNOWN
    ):
        self.motors, self.surfaces, self.limits = tuple(motors), surfaces, limits
        self.facts = RuleTables(self.motors, limits)
        self.nameplates = Nameplates(self.facts, known)
        self.columns = columns_of(self.motors, surfaces.works, limits)
        self.weather = fleet_lives.Weather.of(example_year())

    def __reduce__(self):
        return type(self), (self.motors, self.surfaces, self.limits, self.nameplates.known)

    def screened(self, rows: Rows) -> Screened:
        """Screen every row or reject it with a reason."""
        self.facts.forget()
        reasons = {}
        facts = np.stack([self._places(at, one, reasons) for at, one in enumerate(rows.facts)])
        reasons |= dict(_refused(rows))
        able = np.setdiff1d(np.arange(len(rows.named)), np.fromiter(reasons, int))
        starts = range(0, max(len(able), 1), BLOCK)
        blocks = [self._block(rows, able[at : at + BLOCK], facts, reasons) for at in starts]
        taken, best, failures, counted, fitting = zip(*blocks, strict=True)
        return Screened(
            taken=np.concatenate(taken),
            best=Best(*map(np.concatenate, zip(*best, strict=True))),
            failures=np.concatenate(failures),
            reasons=reasons,
            counted=sum(counted),
            fitting=Fitting(*map(np.concatenate, zip(*fitting, strict=True))),
        )

    def _places(self, number: int, told: Grouped, reasons):
        """Return the index of each row in the fact table for one check, shape (rows,).

        Rejected values are added to ``reasons``.
        """
        found = np.zeros(len(told.values), dtype=int)
        for at, values in enumerate(told.values):
            try:
                found[at] = self.facts.place(number, values)
            except InputError as error:
                refused = np.flatnonzero(told.place == at).tolist()
                reasons |= dict.fromkeys(refused, error.alone())
        return found[told.place]

    def _block(self, rows: Rows, block, facts, reasons):
        """Screen one block of rows and add rows that cannot be evaluated to ``reasons``."""
        which, place = np.unique(rows.nameplates.place[block], return_inverse=True)
        errors, numbers, failed = self.nameplates.of([rows.nameplates.values[at] for at in which])
        bad = numbers < 0
        reasons |= {int(at): errors[of] for at, of in zip(block, place, strict=True) if bad[of]}
        kept = ~bad[place]
        block, place = block[kept], numbers[place[kept]]
        if not len(block):
            return self._nothing(block)
        units, refused = self._units(rows, block, failed, place, facts)
        reasons |= refused
        kept = ~np.isin(block, np.fromiter(refused, int))
        units, taken = ScreenedUnits(*(value[kept] for value in units)), block[kept]
        tables = self.facts.tables
        limits = screening_limits(self.limits)
        best, options = screen(
            self.surfaces,
            failed.surfaces,
            self.columns,
            units,
            failed.old,
            tables,
            limits,
            len(PLAIN),
            REASONS.index("capacitor") + ADAPTED,
        )
        design = rows.site["outdoor_temperature_c"][taken]
        first, volts = best.motor[:, 0], best.figures[:, 0, 9]
        ages = fleet_lives.ages(
            self.surfaces, units, self.motors, first, volts, design, self.weather
        )
        unit, motor = np.nonzero(options.work < NOT_FIT)
        hours = self.weather.hours_of(design).sum(axis=1)
        fitting = Fitting(
            unit=taken[unit].astype(np.int32),
            motor=motor.astype(np.int16),
            work=options.work[unit, motor],
            energy=(options.power[unit, motor] * hours[unit] / 1000).astype(np.float32),
        )
        failures = percentiles(ages.within(fleet_lives.HORIZON))
        return taken, best, failures, ages.counted(), fitting

    def _nothing(self, block):
        """Return the result for a block without a readable nameplate."""
        ages = fleet_lives.Ages(np.full((0, len(fleet_lives.PARTS), SAMPLES), np.nan))
        best = Best.none(0, len(REASONS))
        none = Fitting(*(np.empty(0, kind) for kind in (np.int32, np.int16, np.int8, np.float32)))
        return block, best, np.empty((0, 3)), ages.counted(), none

    def _units(self, rows: Rows, block, failed: Failed, place, facts):
        """Return the rows of a ``block`` as ScreenedUnits, and the reasons for rejecting rows.

        Parameters
        ----------
        place
            Number of each row's motor in ``failed``.
        """
        site = {name: value[block] for name, value in rows.site.items()}
        power, speed_rpm = failed.power[place], failed.speed_rpm[place]
        air = site_air(site, power, speed_rpm, failed.old.synchronous[place])
        voltage, said, measured = supply_voltages(site, *failed.voltage[place].T)
        cooling = np.maximum(air.cooling_speed, 1e-9) / air.speed_rpm
        units = ScreenedUnits(
            coefficient=air.coefficient,
            speed_rpm=air.speed_rpm,
            temp_air=air.temp_air,
            log_cooling=np.log(cooling),
            temp_over=air.temp_over,
            voltage=voltage,
            said=said,
            measured=measured,
            weather=~np.isnan(site["outdoor_temperature_c"]),
            sideways=np.where(rows.lying[block], HORIZONTAL, VERTICAL),
            old=place,
            facts=facts.T[block],
        )
        return units, dict(_beyond(block, air, cooling))


def needed_motors(motors, limits: Limits, rows: Rows) -> np.ndarray:
    """Return True for each motor that passes the rules without simulation for at least one row.

    The result has shape (motors,). The motor's voltage range, extended by the limit, only has to
    overlap the measured or nameplate voltage range.
    """
    rules, catalog = RuleTables(motors, limits), columns(tuple(motors))
    costs = np.zeros((len(rows.named), len(motors)), dtype=np.int16)
    for number, told in enumerate(rows.facts):
        costs += _costs(told, lambda values, n=number: rules.costs(n, values), len(motors))
    costs += _costs(rows.nameplates, rules.nameplate_costs, len(motors))
    near = limits.values.supply_voltage
    low, high = (_volts(rows, at) for at in (0, 1))
    apart = high[:, None] < (1 - near) * catalog.voltage_low
    apart |= low[:, None] > (1 + near) * catalog.voltage_high
    return ((costs < NOT_FIT) & ~apart).any(axis=0)


def _costs(told: Grouped, cost, motors: int) -> np.ndarray:
    """Return the costs of the rows for each motor, with NOT_FIT for rejected values."""
    found = np.full((len(told.values), motors), NOT_FIT, dtype=np.int16)
    for number, values in enumerate(told.values):
        with suppress(InputError):
            found[number] = cost(values)
    return found[told.place]


def _volts(rows: Rows, end: int) -> np.ndarray:
    """Return the lowest or highest voltage of each row, measured or from the nameplate [V]."""
    places = [NAMEPLATE.index(name) for name in NAMEPLATE_VOLTAGE]
    pairs = [[values[at] for at in places] for values in rows.nameplates.values]
    plate = np.array(pairs, dtype=float).reshape(-1, 2)[rows.nameplates.place]
    measured = np.stack([rows.site[name] for name in LINE_VOLTAGE], axis=1)
    least = (np.fmin, np.fmax)[end]
    measured, plate = (least(*pair.T) for pair in (measured, plate))
    return np.where(np.isnan(measured), plate, measured)


def screening_limits(limits: Limits) -> ScreeningLimits:
    """Return the ``limits`` of the checks as plain numbers for the compiled rules."""
    values = limits.values
    same = ScreeningLimits._fields
    return ScreeningLimits(
        **{name: value for name, value in values._asdict().items() if name in same},
        power=1 + values.power_margin,
        torque=1 + values.torque_margin if values.torque_margin else 0.0,
        near_flow=near_flow(values.airflow),
        no_worse=NO_WORSE,
        even=EVEN,
        likely=LIKELY,
    )


def columns_of(motors, works, limits: Limits) -> Motors:
    """Return the data of catalog ``motors`` as arrays, with ``works`` as in `Surfaces`."""
    facts = columns(tuple(motors))
    order = sorted(range(len(motors)), key=lambda at: motors[at].name)
    return Motors(
        voltage_low=facts.voltage_low,
        voltage_high=facts.voltage_high,
        synchronous=120 * facts.frequency / facts.poles,
        works=works,
        ratings=facts.ratings,
        currents=facts.currents,
        ambient=facts.ambient,
        winding=facts.winding_limit - limits.values.winding_margin,
        capacitor=facts.capacitor_voltage,
        price=np.nan_to_num(facts.price, nan=np.inf),
        place=np.argsort(order),
    )


def _refused(rows: Rows):
    """Yield the number and the reason of each row that is rejected without a calculation."""
    for number in np.flatnonzero(~rows.named).tolist():
        yield (
            number,
            InputError("unit", NOTHING, Message("fleet.accepts.name")),
        )
    kinds = {name: (one.kind, one.scale) for name, one in SITE_NUMBERS.items()}
    for name, (kind, scale) in (kinds | dict.fromkeys(LINE_VOLTAGE, ("voltage", 1.0))).items():
        accepted = KINDS[kind].accepted
        low, high = accepted.low, min(accepted.high, HIGHEST.get(name, np.inf))
        value = rows.site[name]
        for number in np.flatnonzero((value < low) | (value > high)).tolist():
            given, ends = value[number] / scale, Range(low / scale, high / scale, "")
            yield number, InputError(name, f"{given:g}", ends)


def _beyond(block, air, cooling):
    """Yield units outside the range of the tables or with impossible airflow, with the reason.

    If several reasons are given for a unit, the last one is the clearest.
    """
    looked_at = (
        ("air", percentiles(air.temp_air)[:, 1], *AIR, "degC"),
        ("cooling", 1075 * percentiles(cooling)[:, 1],
         *(1075 * end for end in COOLING), "m/s"),
        ("airflow", air.fan_air_speed, 0.0, FASTEST_AIR, "m/s"),
    )  # fmt: skip
    for name, value, low, high, unit in looked_at:
        for at in np.flatnonzero(~((value >= low) & (value <= high))).tolist():
            accepted = Range(float(f"{low:.3g}"), float(f"{high:.3g}"), unit)
            field = Message(f"fleet.field.{name}")
            yield int(block[at]), InputError(field, f"{value[at]:.3g}", accepted, unit)


class SiteAir(NamedTuple):
    """Fan load and air conditions, as arrays of shape (units, samples) unless stated otherwise.

    Attributes
    ----------
    coefficient, speed_rpm : ndarray
        Fan coefficient [N m s^2] and speed [rpm] with the failed motor.
    temp_air : ndarray
        Air temperature at the motor [degC].
    temp_over : ndarray
        Air temperature at the motor minus outdoor temperature [K].
    cooling_speed : ndarray
        Speed [m/s] of dry air at sea-level density that would have the same cooling effect.
    fan_air_speed : ndarray
        Median air speed through the fan circle [m/s], shape (units,).
    """

    coefficient: np.ndarray
    speed_rpm: np.ndarray
    temp_air: np.ndarray
    temp_over: np.ndarray
    cooling_speed: np.ndarray
    fan_air_speed: np.ndarray


class _Samples:
    """Samples of the entered values, or of the typical range if a value is missing."""

    def __init__(self, columns, samples, seed):
        self.columns, self.samples, self.seed = columns, samples, seed

    def deviates(self, name):
        return normal_draws(
            np.random.default_rng([self.seed, *name.encode()]), [name], self.samples
        )[name]

    def uniform(self, name, ends):
        return uniform(ends, self.deviates(name))

    def known(self, column, name, ends):
        """Return samples of shape (units, samples), or (units, 1) if every unit has a value."""
        value = self.columns[column][:, None]
        missing = np.isnan(value)
        return np.where(missing, self.uniform(name, ends), value) if missing.any() else value


def site_air(columns: dict, power, speed_rpm, synchronous_rpm, seed: int = 0) -> SiteAir:
    """Return the fan load and the air conditions of units.

    Parameters
    ----------
    columns : dict
        SI arrays by table column name, shape (units,).
    power, speed_rpm : ndarray
        Nameplate power [W] and speed [rpm], shape (units, samples).
    synchronous_rpm
        Synchronous speed of the failed motors [rpm], shape (units,).

    Raises
    ------
    InputError
        If an input is out of range.
    """
    read = _Samples(columns, power.shape[1], seed)
    deviates = read.deviates("fan load")
    load, speed_rpm = usual.fan_load(power, speed_rpm, synchronous_rpm[:, None], deviates)
    diameter = columns["blade_diameter_mm"][:, None]
    if np.isnan(diameter).any():
        expected = usual.usual_diameter(load, speed_rpm, read.deviates("fan diameter"))
        diameter = np.where(np.isnan(diameter), expected, diameter)
    expected = usual.usual_airflow(load, speed_rpm, diameter, read.deviates("airflow"))
    flow = columns["airflow_m3h"][:, None]
    flow = np.where(np.isnan(flow), expected, flow)
    outdoor = read.known("outdoor_temperature_c", "outdoor temperature", usual.OUTDOOR_TEMPERATURE)
    over = read.known("recirculation_k", "recirculation", usual.RECIRCULATION)
    humidity = read.known("humidity_percent", "relative humidity", (0.2, 0.4))
    pressure = air.standard_pressure(np.nan_to_num(columns["elevation_m"])[:, None])
    # The coil adds heat but no water, so density varies as 1/T at constant vapor pressure.
    weather = air.moist_air_density(outdoor, pressure, humidity)
    entering = air.moist_air_density(outdoor + over, pressure, humidity)
    rise = usual.usual_rise(entering, read.deviates(usual.RISE)) * np.sqrt(expected / flow)
    given = columns["coil_rise_k"][:, None]
    over = over + np.where(np.isnan(given), rise, given)
    temp_air = outdoor + over
    density = weather * (outdoor + air.ZERO_CELSIUS) / (temp_air + air.ZERO_CELSIUS)
    mean_speed = flow / (np.pi / 4 * diameter**2)
    at_motor = mean_speed * read.uniform("air speed at the motor", usual.AIR_SPEED_AT_MOTOR)
    thin = weather / air.moist_air_density(outdoor, air.PRESSURE_SEA_LEVEL)
    whole = np.broadcast_to
    return SiteAir(
        coefficient=fan_coefficient(load * density / usual.DENSITY_STANDARD, speed_rpm),
        speed_rpm=whole(speed_rpm, power.shape),
        temp_air=whole(temp_air, power.shape),
        temp_over=whole(over, power.shape),
        cooling_speed=whole(at_motor * thin, power.shape),
        fan_air_speed=percentiles(mean_speed)[:, 1],
    )


def supply_voltages(columns: dict, plate_low, plate_high):
    """Return the supply voltages of units and their source as three arrays.

    The first array has the low, usual and high supply voltage [V], shape (units, 3). The second
    array has the lowest and highest voltage [V] that was measured or is on the nameplate, shape
    (units, 2). The third array has the source, which is 0 for the nameplate, 1 for a single
    reading, and 2 for a measured range.
    """
    low, high = (columns[name] for name in ("line_voltage_low_v", "line_voltage_high_v"))
    low, high = np.fmin(low, high), np.fmax(low, high)
    seen = ~np.isnan(low)
    measured = np.where(seen, np.where(high > low, 2, 1), 0)
    spread = usual.SERVICE_VOLTAGE
    read = np.stack([low * (1 - spread), low, low * (1 + spread)], axis=1)
    logged = np.stack([low, (low + high) / 2, high], axis=1)
    nameplate = np.stack([plate_low * (1 - spread), plate_high, plate_high * (1 + spread)], axis=1)
    said = np.where(seen[:, None], np.stack([low, high], 1), np.stack([plate_low, plate_high], 1))
    return np.choose(measured[:, None], [nameplate, read, logged]), said, measured
