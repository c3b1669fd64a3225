"""Temperature history of a motor: running, cycling, locked rotor and protector trips.

Losses depend on the winding and rotor temperatures of each sample and are interpolated from a table
that is calculated with the warmed-up circuit. While the fan is off, the motor is cooled only by
natural convection on the shell and by radiation. The temperature rise of a locked-rotor winding is
within 3 % of the result from `physics.thermal_transient.follow`, which solves the circuit at every
time step.

- The unit runs in identical cycles, three per hour at half load (common practice), with no wind
  during off periods. `year_of_cycles` adds up the insulation damage over all cycles. For the sample
  motor, the calculated life is twice the life in steady operation (see `aging`).
- A nameplate does not show the temperature at which the protector opens. The protector is assumed
  to open 5 to 30 K below the maximum temperature that the standard allows for the insulation class,
  and to close again when it is 30 to 60 K cooler (common practice; no published source). The
  protector senses a weighted mean of winding and shell temperatures, so with a locked rotor the
  winding gets hotter than the trip temperature.
- `nuisance_trips` evaluates steady operation in each hour of a year. The supply voltage has a
  triangular distribution over its range, with one value per hour. Gusts, a dirty coil and units
  cycling on the high-pressure switch are not modeled.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import TEMP_AIR, InputError, Range, check, either
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.model.aging import LONGEST, STEPS, life_hours, winding_year
from airover.model.climate import Season, run_fraction
from airover.model.conditions import Conditions
from airover.model.cooling import at_temperature
from airover.model.expected import picked
from airover.model.motor import Load, Motor
from airover.physics import insulation
from airover.physics.circuit import Solution
from airover.physics.heat import ZERO_CELSIUS
from airover.physics.thermal_network import Nodes, placed
from airover.physics.thermal_transient import HELD, Protector, ThermalMoment, follow_many

STEP = 20.0  # s
TABLE = np.linspace(-60.0, 340.0, 11)  # degC, winding temperatures for which losses are calculated
# K, rotor temperatures above the windings for which losses are calculated
ROTOR_OVER = np.array([0.0, 120.0])
_LOSSES = ("loss_main", "loss_aux", "loss_rotor", "loss_core", "loss_friction")
SAMPLES, YEAR_SAMPLES = 20, 40
CYCLES_AT_HALF = 3.0  # cycles per hour when the unit runs half of the time; common practice
# range of the run fraction in which the unit cycles
LEAST_SHARE, MOST_SHARE = 0.05, 0.95
SUNRISE, SUNSET = 6.0, 18.0  # h, for a one-day history
HOUR = 3600.0  # s
SETTLING = 3.0 * HOUR  # s, after which cycles are identical
RUN_SHARE = Range(LEAST_SHARE, 1.0, "")


# Common practice; no published source.
TRIP_BELOW_LIMIT = (5.0, 30.0)  # K
RESET_BELOW_TRIP = (30.0, 60.0)  # K
# weight of the winding in the sensed temperature; the rest is the shell
SENSES_WINDING = (0.5, 1.0)
CAUSES = ("blade blocked", "capacitor open")
OPEN_CAPACITOR = 1e-4  # fraction of the correct microfarads
LOCKED_STEP = 1.0  # s; with a locked rotor, the winding warms up by about 1 K per step
VOLTAGES, TEMPS = 9, 5  # numbers of voltages and temperatures at which a year is evaluated
OVERLOAD = 4 * HOUR  # s
DURATION = Range(60.0, 48 * HOUR, "s")


class Powered(NamedTuple):
    """Heat sources and cooling of a motor in one operating state.

    Attributes
    ----------
    table : ndarray or None
        Five losses [W], shape (losses, rotor over winding, winding, samples), or None if there is
        no current.
    convection : ndarray
        Forced convection coefficient [W/m2K].
    temp_air : ndarray
        Air temperature [degC].
    sun : ndarray
        Solar heat [W] on the shell.
    """

    table: np.ndarray | None
    convection: np.ndarray
    temp_air: np.ndarray
    sun: np.ndarray

    def losses(self, temps: Nodes, average):
        """Return the five losses [W] at node temperatures ``temps``, interpolated linearly.

        ``average`` is the average winding temperature [degC].
        """
        if self.table is None:
            return [0.0] * len(_LOSSES)
        place = np.clip((average - TABLE[0]) / (TABLE[1] - TABLE[0]), 0, len(TABLE) - 1.001)
        at, each = place.astype(int), np.arange(place.shape[-1])
        share = place - at
        both = self.table[:, :, at, each] * (1 - share) + self.table[:, :, at + 1, each] * share
        over = np.clip((temps.rotor - average - ROTOR_OVER[0]) / np.ptp(ROTOR_OVER), -0.5, 3.0)
        return both[:, 0] + over * (both[:, 1] - both[:, 0])


def running(motor: Motor, load: Load, voltage) -> Powered:
    """Return the state of a motor that is driving its fan.

    ``load`` and ``voltage`` are the same as in `Motor.run`.
    """
    steady = motor.run(load, voltage)
    speed = load.air.speed * steady.solution.speed_rpm[0] / load.air.speed_rpm
    convection = motor.shell.film(speed, load.air.temp_air)
    circuit = _at_table(motor)
    settled = motor.settle(circuit, float(voltage), motor.frequency, load.coefficient)
    return _powered(motor, load, settled.solution, convection)


def standing(motor: Motor, load: Load, voltage) -> Powered:
    """Return the state of a motor with a locked rotor and ``voltage`` [V] applied."""
    held = _at_table(motor).balance(float(voltage), motor.frequency, 1.0)
    return _powered(motor, load, held, 0.0)


def idle(motor: Motor, load: Load, temp_air=None) -> Powered:
    """Return the state of a motor without voltage.

    The air temperature is ``temp_air`` [degC], or the air temperature of the load if None.
    """
    found = _powered(motor, load, None, 0.0)
    return found if temp_air is None else found._replace(temp_air=np.asarray(temp_air))


@dataclass(frozen=True)
class HeatHistory:
    """Temperature history of a motor.

    Attributes
    ----------
    time : ndarray
        Time [s], shape (times,).
    temps : Nodes
        Node temperatures [degC], shape (times, samples).
    average : ndarray
        Average winding temperature [degC], shape (times, samples).
    closed : ndarray
        True if the protector is closed, shape (times, samples).
    powered : ndarray
        True if the unit called for the fan in the previous step, shape (times,).
    """

    time: np.ndarray
    temps: Nodes
    average: np.ndarray
    closed: np.ndarray
    powered: np.ndarray

    @property
    def hottest(self) -> np.ndarray:
        """Temperature [degC] of the hotter winding, shape (times, samples)."""
        return np.maximum(self.temps.winding_main, self.temps.winding_aux)

    def bands(self) -> dict[str, Band]:
        """Return 90 % ranges of winding and shell temperatures [degC].

        Each range has shape (times,).
        """
        shown = {"winding": self.average, "hottest": self.hottest, "shell": self.temps.shell}
        return {name: Band.of(values) for name, values in shown.items()}


class Stretch(NamedTuple):
    """Motor state ``acting``, which lasts until the time ``end`` [s].

    ``on`` is True if the unit calls for the fan.
    """

    end: float
    on: bool
    acting: Powered


def followed(
    motor: Motor, stretches, temps: Nodes, step=STEP, protector: Protector | None = None, held=HELD
) -> HeatHistory:
    """Simulate the temperatures of a motor in a sequence of states.

    ``temps``, ``step``, ``held`` and ``protector`` are the same as in
    `thermal_transient.follow_many`. The protector's values can be arrays of shape (samples,). May
    raise InputError.
    """
    samples = len(motor.rated.power)
    shell = motor.shell.rearranged(lambda value: np.broadcast_to(value, (1, samples))[0])
    ends = np.array([stretch.end for stretch in stretches])

    def moment(time, temps, closed):
        acting = stretches[min(int(np.searchsorted(ends, time)), len(ends) - 1)].acting
        losses = acting.losses(temps, shell.average(temps))
        current = (np.where(closed, loss, 0.0) for loss in losses)
        convection = np.where(closed, acting.convection, 0.0)  # without current, the fan is stopped
        return ThermalMoment(placed(*current, acting.sun), convection, acting.temp_air)

    start = Nodes(*(np.broadcast_to(np.ravel(t), samples) for t in temps))
    found = follow_many(shell.network, moment, start, ends[-1], step, protector, ends, held)
    asked = [stretches[i].on for i in np.searchsorted(ends, found.time[1:] - 1e-6)]
    average = shell.average(found.temps)
    powered = np.array([asked[0], *asked])
    return HeatHistory(found.time, found.temps, average, found.closed, powered)


def representative(motor: Motor, load: Load, voltage, samples=SAMPLES) -> np.ndarray:
    """Return the indices of representative samples.

    The samples are evenly spaced when sorted by winding temperature. ``load`` and ``voltage`` are
    the same as in `Motor.run`.
    """
    temp = motor.run(load, voltage).warm.temp_winding[0]
    places = (np.arange(samples) + 0.5) * len(temp) / samples
    return np.argsort(temp)[places.astype(int)]


def moved(load: Load, temp_air, sunshine=1.0) -> Load:
    """Return the load at a different air temperature [degC] and solar heat.

    Warmer air is thinner and reduces the fan load. ``sunshine`` is a multiplier for the solar heat.
    Array arguments are broadcast against each other.
    """
    thinner = (load.air.temp_air + ZERO_CELSIUS) / (temp_air + ZERO_CELSIUS)
    air = load.air._replace(temp_air=temp_air, sun=sunshine * load.air.sun)
    return Load(load.coefficient * thinner, air)


def cycle(motor: Motor, load: Load, voltage, run_share, temp_outdoor) -> HeatHistory:
    """Return the temperature history over one cycle of a unit that runs part of the time.

    The result is the last of many identical cycles and begins when the motor is switched on. Cycles
    are shortest, 3 per hour, if the unit runs half of the time. All samples are simulated.

    Parameters
    ----------
    motor : Motor
        Motor.
    load, voltage
        Load and supply voltage [V], as in `Motor.run`.
    run_share
        Fraction of the time that the unit runs, 0.05 to 1.
    temp_outdoor
        Air temperature [degC] between runs, a number or an array of samples.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    share = float(check("run_share", run_share, RUN_SHARE))
    outdoor = check("temp_outdoor", temp_outdoor, TEMP_AIR)
    on, off = running(motor, load, voltage), idle(motor, load, outdoor)
    length = _cycle_length(share)
    # start close to the average temperatures of a cycle
    warm = motor.run(load, voltage).warm.nodes
    start = Nodes(*(outdoor + share * (np.ravel(node) - outdoor) for node in warm))
    before = max(int(np.ceil(SETTLING / length)), 1)
    found = followed(motor, _cycles(before + 1, share, length, on, off), start)
    last = found.time >= before * length - 1e-6
    return HeatHistory(
        found.time[last] - before * length,
        Nodes(*(temps[last] for temps in found.temps)),
        *(values[last] for values in (found.average, found.closed, found.powered)),
    )


def day(
    motor: Motor, conditions: Conditions, temps_outdoor, temp_design, voltage=None, samples=SAMPLES
) -> HeatHistory:
    """Return the temperature history of a day with 24 hourly outdoor temperatures.

    The preceding day is not simulated. In each hour, the unit runs for `climate.run_fraction` of
    the time in identical cycles. Solar heat follows a half sine wave from 6:00 to 18:00.

    Parameters
    ----------
    motor, conditions
        Motor and conditions, with the same number of samples.
    temps_outdoor
        Hourly outdoor temperatures [degC], starting at midnight.
    temp_design
        Temperature [degC] at which the unit runs continuously.
    voltage : optional
        Supply voltage [V], or None for the usual voltage.
    samples : int, optional
        Number of samples.

    Raises
    ------
    InputError
        If there are not 24 temperatures or if a value is out of range.
    """
    outdoor = check("temps_outdoor", temps_outdoor, TEMP_AIR)
    if outdoor.shape != (24,):
        given = Message("error.heat.temperatures", count=outdoor.size)
        raise InputError("temps_outdoor", given, Message("error.heat.one_an_hour", count=24))
    volts = conditions.voltage[1] if voltage is None else float(voltage)
    load = Load.of(conditions)
    chosen = representative(motor, load, volts, samples)
    over = (load.air.temp_air - conditions.temp_outdoor)[chosen]
    motor, load = picked(motor, load, chosen)
    stretches = []
    for hour, temp in enumerate(outdoor):
        there = moved(load, temp + over, _daylight(hour + 0.5))
        share = float(run_fraction(temp, temp_design))
        on = running(motor, there, volts) if share > 0 else None
        stretches += _hour(hour * HOUR, share, on, idle(motor, there, temp))
    return followed(motor, stretches, Nodes.all_at(outdoor[0]), held=2 * HELD)


class CycledYear(NamedTuple):
    """Winding life over a year with on/off cycling.

    Attributes
    ----------
    years : Band or None
        Life [years] with on/off cycling, or None if the class is not known.
    steady : Band or None
        Life [years] with the winding at its steady-state temperature in every running hour, or None
        if the class is not known.
    reached : Band
        Ratio of the temperature rise above outdoor air at the end of a run to the steady-state
        rise, shape (temperatures,).
    temp_outdoor : ndarray
        Outdoor temperatures [degC], shape (temperatures,).
    """

    years: Band | None
    steady: Band | None
    reached: Band
    temp_outdoor: np.ndarray


def year_of_cycles(
    motor: Motor, conditions: Conditions, season: Season, samples=YEAR_SAMPLES, seed=0
) -> CycledYear:
    """Return the winding life over a season with on/off cycling.

    ``motor`` and ``conditions`` must have the same number of samples. Damage while the stopped
    motor cools is included. Life is calculated as in `aging.years_of_life`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    outdoor, volts = season.temp_outdoor, conditions.voltage[1]
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    load = Load.of(conditions)
    chosen = representative(motor, load, volts, samples)
    over = (load.air.temp_air - conditions.temp_outdoor)[chosen]
    motor, load = picked(motor, load, chosen)
    steady, damage, reached = [], [], []
    for temp in grid:
        there = moved(load, temp + over)
        share = max(float(run_fraction(temp, season.temp_design)), LEAST_SHARE)
        steady.append(motor.run(there, volts).warm.temp_winding[0])
        course = cycle(motor, there, volts, share, temp)
        reached.append((course.average.max(axis=0) - temp) / (steady[-1] - temp))
        damage.append(_damage(course, share, motor.insulation_class, seed))
    band = Band.of(np.array(reached))
    if motor.insulation_class is None:
        return CycledYear(None, None, band, grid)
    uses = [np.interp(outdoor, grid, row) for row in np.log(damage).T]
    years = np.minimum(1 / (season.hours @ np.exp(uses).T), LONGEST)
    kept = winding_year(season, grid, np.array(steady), motor.insulation_class, seed)
    return CycledYear(Band.of(years), kept.years, band, grid)


def usual_protector(insulation_class, samples, seed=0) -> Protector:
    """Return samples of typical protectors for an insulation class.

    ``insulation_class`` is A, B, F or H.

    Raises
    ------
    InputError
        If the class is None or not one of these.
    """
    limit = insulation.protector_limit(insulation_class)
    names = ("trip", "reset", "winding")
    z = normal_draws(np.random.default_rng([seed, 8]), names, samples)
    trip = limit - uniform(TRIP_BELOW_LIMIT, z["trip"])
    winding = uniform(SENSES_WINDING, z["winding"])
    senses = Nodes.all_at(0.0)._replace(
        winding_main=winding / 2, winding_aux=winding / 2, shell=1 - winding
    )
    return Protector(trip, trip - uniform(RESET_BELOW_TRIP, z["reset"]), senses)


@dataclass(frozen=True)
class TripCycle:
    """Opening and closing times of a protector, and peak temperatures.

    Ranges include only the samples in which the protector opened (or closed again, or opened
    twice). A range is None if fewer than half of the samples are included. ``first_hour`` and
    ``later`` are the maximum winding temperatures [degC] that the standard allows for the
    insulation class under locked-rotor conditions.
    """

    history: HeatHistory
    first_hour: float
    later: float

    @property
    def share(self) -> float:
        """Fraction of samples in which the protector opens."""
        return float(np.mean(self._openings(1) < np.inf))

    @property
    def time_to_trip(self) -> Band | None:
        """Time [s] from the start to the first opening."""
        return _trips_band(self._openings(1))

    @property
    def time_to_reset(self) -> Band | None:
        """Time [s] from the first opening to the first closing."""
        return _trips_band(_after(self._openings(1), self._switchings(1, 1)))

    @property
    def cycles_per_hour(self) -> Band | None:
        """Openings per hour, calculated from the first two openings."""
        period = _trips_band(self.period)
        return None if period is None else Band(*(HOUR / end for end in reversed(period)))

    @property
    def period(self) -> np.ndarray:
        """Time [s] from the first to the second opening, shape (samples,), inf if there is none."""
        return _after(self._openings(1), self._openings(2))

    @property
    def peak(self) -> Band:
        """Maximum average temperature [degC] of the hotter winding."""
        return Band.of(self.history.hottest.max(axis=0))

    def _openings(self, number):
        return self._switchings(number, -1)

    def _switchings(self, number, way):
        """Return the time [s] of a switching operation in each sample, inf if there is none.

        If the protector is initially open, the opening time is 0 s.

        Parameters
        ----------
        number
            Number of the operation.
        way
            Type of operation: -1 for opening, 1 for closing.
        """
        flips = np.diff(self.history.closed.astype(int), axis=0, prepend=1) == way
        reached = np.cumsum(flips, axis=0) >= number
        at = np.argmax(reached, axis=0)
        return np.where(reached.any(axis=0), self.history.time[at], np.inf)


def locked_rotor(
    motor: Motor,
    load: Load,
    voltage,
    cause="blade blocked",
    duration=1.5 * HOUR,
    samples=SAMPLES,
    seed=0,
) -> TripCycle:
    """Simulate the protector cycling of a motor with a locked rotor.

    The insulation class must be A, B, F or H. May raise InputError.

    Parameters
    ----------
    motor, load, voltage
        Motor, load and supply voltage [V], as in `Motor.run`.
    cause : str, optional
        Cause: "blade blocked" (the motor is warm from running) or "capacitor open" (the motor
        cannot start, so it is initially at air temperature).
    duration : optional
        Simulated time [s].
    samples : int, optional
        Number of samples.
    seed : int, optional
        Random seed.
    """
    if cause not in CAUSES:
        raise InputError("cause", repr(cause), either(CAUSES))
    motor, load, warm = _thinned(motor, load, voltage, samples)
    start = warm
    if cause == CAUSES[1]:
        start = Nodes.all_at(load.air.temp_air)
        motor = motor.with_capacitor(OPEN_CAPACITOR * motor.rated.circuit.capacitance)
    held = standing(motor, load, voltage)
    return _guarded(motor, held, start, duration, LOCKED_STEP, seed)


def overload(motor: Motor, load: Load, voltage, duration=OVERLOAD, samples=SAMPLES, seed=0):
    """Simulate the protector of a running motor that is initially at air temperature.

    Parameters
    ----------
    motor : Motor
        Motor.
    load : Load
        Fan load and air.
    voltage
        Supply voltage [V].
    duration : optional
        Simulated time [s].
    samples : int, optional
        Number of samples.
    seed : int, optional
        Random seed.

    Raises
    ------
    InputError
        If the class has no protector limit or if a value is out of range.
    """
    motor, load, _ = _thinned(motor, load, voltage, samples)
    at_work = running(motor, load, voltage)
    return _guarded(
        motor, at_work, Nodes.all_at(load.air.temp_air), duration, 10 * LOCKED_STEP, seed
    )


class NuisanceTrips(NamedTuple):
    """Nuisance trips of a protector in a year without faults.

    Attributes
    ----------
    hours : Band
        Hours per year in which steady operation would open the protector.
    trips : Band
        Trips per year.
    chance : float
        Fraction of samples with trips.
    room : Band
        Margin [K] between sensed temperature and opening temperature in the warmest hour at the
        worst-case voltage.
    """

    hours: Band
    trips: Band
    chance: float
    room: Band


def nuisance_trips(motor: Motor, conditions: Conditions, season: Season, seed=0) -> NuisanceTrips:
    """Return the nuisance trips per year of a motor without faults.

    ``motor`` and ``conditions`` must have the same number of samples. The supply voltage has a
    triangular distribution over its range with its peak at the usual voltage. Steady operation is
    assumed in each hour, so the result is slightly high if cycles are short. The cycling rate is
    taken from a time-domain simulation of the warmest hour. May raise InputError.
    """
    protector = usual_protector(motor.insulation_class, len(motor.rated.power), seed)
    grid = np.linspace(season.temp_outdoor[0], season.temp_outdoor[-1], TEMPS)
    over = [_over_trip(motor, conditions, protector, grid, volts) for volts in conditions.voltage]
    # shape (3, temperatures, samples)
    table = np.array([_at_hours(season, grid, one) for one in over])
    volts = _triangle(*conditions.voltage)
    between = np.array([_between(conditions.voltage, table, v) for v in volts])
    hours = np.mean(season.hours @ (between >= 0), axis=0)
    warmest = table[:, -1].max(axis=0)
    chance = float(np.mean(hours > 0))
    if chance == 0:
        return NuisanceTrips(Band(0.0, 0.0, 0.0), Band(0.0, 0.0, 0.0), 0.0, Band.of(-warmest))
    worst = conditions.voltage[int(np.argmax(np.median(table[:, -1], axis=-1)))]
    load = moved(
        Load.of(conditions), grid[-1] + Load.of(conditions).air.temp_air - conditions.temp_outdoor
    )
    acting = running(motor, load, worst)
    at = _guarded(motor, acting, Nodes.all_at(load.air.temp_air), OVERLOAD, 20.0, seed)
    trips = hours * HOUR / np.minimum(at.period, OVERLOAD)
    return NuisanceTrips(Band.of(hours), Band.of(trips), chance, Band.of(-warmest))


def _powered(motor: Motor, load: Load, solution: Solution | None, convection) -> Powered:
    table = None
    if solution is not None:
        shape = (len(ROTOR_OVER), len(TABLE), len(motor.rated.power))
        rows = (np.broadcast_to(getattr(solution, name), shape) for name in _LOSSES)
        table = np.stack(list(rows))
    sun = np.ravel(load.air.sun * np.pi / 4 * motor.shell.network.diameter**2)
    return Powered(table, np.ravel(convection), np.ravel(load.air.temp_air), sun)


def _at_table(motor: Motor):
    """Return the circuits at all table temperatures.

    The result has shape (rotor over winding, winding, samples).
    """
    winding = TABLE[:, None] + np.zeros((len(ROTOR_OVER), 1, 1))
    rotor = winding + ROTOR_OVER[:, None, None]
    temps = Nodes.all_at(winding)._replace(rotor=rotor)
    return at_temperature(motor.rated, motor.shell, temps)


def _cycle_length(share) -> float:
    """Return the cycle length [s] that results from the thermostat differential."""
    stopping = max(1 - share, 1 - MOST_SHARE)
    return HOUR / (4 * CYCLES_AT_HALF * share * stopping)


def _cycles(number, share, length, on, off, begin=0.0) -> list[Stretch]:
    """Return the states in a given number of cycles."""
    found = []
    for start in begin + length * np.arange(number):
        found.append(Stretch(start + share * length, True, on))
        if share < 1:
            found.append(Stretch(start + length, False, off))
    return found


def _hour(begin, share, on, off) -> list[Stretch]:
    """Return the states during one hour: whole cycles, continuous running, or off."""
    if share < LEAST_SHARE / 2:
        return [Stretch(begin + HOUR, False, off)]
    if share > MOST_SHARE:
        return [Stretch(begin + HOUR, True, on)]
    number = max(round(HOUR / _cycle_length(share)), 1)
    return _cycles(number, share, HOUR / number, on, off, begin)


def _daylight(hour) -> float:
    """Return the ratio of solar heat at an ``hour`` of the day to solar heat at noon."""
    return max(np.sin(np.pi * (hour - SUNRISE) / (SUNSET - SUNRISE)), 0.0)


def _damage(course: HeatHistory, share, insulation_class, seed):
    """Return the fraction of winding life used up per running hour."""
    if insulation_class is None:
        return np.ones(course.average.shape[-1])
    rate = 1 / life_hours(course.average, insulation_class, seed)
    return np.trapezoid(rate, course.time, axis=0) / (share * np.ptp(course.time))


def _thinned(motor, load, voltage, samples):
    motor, load = picked(motor, load, representative(motor, load, voltage, samples))
    return motor, load, motor.run(load, voltage).warm.nodes


def _guarded(motor: Motor, acting, start, duration, step, seed) -> TripCycle:
    letter = motor.insulation_class
    protector = usual_protector(letter, len(motor.rated.power), seed)
    stretch = Stretch(float(check("duration", duration, DURATION)), True, acting)
    limits = (float(row.by_class[letter]) for row in (insulation.FIRST_HOUR, insulation.LATER_PEAK))
    return TripCycle(followed(motor, [stretch], start, step, protector), *limits)


def _over_trip(motor, conditions, protector, grid, voltage):
    """Return the sensed temperature minus the opening temperature [K].

    The result has shape (temperatures, samples).
    """
    load = Load.of(conditions)
    there = moved(load, grid[:, None] + load.air.temp_air - conditions.temp_outdoor)
    nodes = motor.run(there, np.full(len(grid), voltage)).warm.nodes
    return protector.felt(nodes) - protector.trip


def _at_hours(season, grid, over):
    return np.stack([np.interp(season.temp_outdoor, grid, sample) for sample in over.T], axis=-1)


def _triangle(low, usual, high):
    """Return voltages [V] at equally spaced probabilities of a triangular distribution."""
    if low == high:
        return np.array([usual])
    u = (np.arange(VOLTAGES) + 0.5) / VOLTAGES
    rising = low + np.sqrt(u * (high - low) * (usual - low))
    falling = high - np.sqrt((1 - u) * (high - low) * (high - usual))
    return np.where(u < (usual - low) / (high - low), rising, falling)


def _between(voltages, table, voltage):
    """Interpolate the table linearly between three voltages."""
    hats = [np.interp(voltage, voltages, hat) for hat in np.eye(len(voltages))]
    return np.tensordot(hats, table, axes=1)


def _after(earlier, later):
    """Return the time [s] between two events, or inf if the second event does not occur."""
    return np.subtract(later, earlier, out=np.full_like(later, np.inf), where=np.isfinite(later))


def _trips_band(values) -> Band | None:
    found = values[np.isfinite(values)]
    return Band.of(found) if len(found) >= len(values) / 2 else None
