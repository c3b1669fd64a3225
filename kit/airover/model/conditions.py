"""Conditions of a job: fan load, air conditions and supply voltage, with uncertainty.

Each input is recorded with its origin: measured, nameplate, catalog or assumed.

- If the fan curve and the airflow are known, the load is read from the curve. If the airflow is not
  known, it is determined from the nameplate power, provided that power varies monotonically with
  flow. Otherwise, the airflow is assumed to be 60 to 90 % of the maximum flow.
- Without a curve, the load is assumed to be 70 to 115 % of the rated power of the failed motor and
  to follow a cube law. This assumption about the load is the weakest in the model. It fails if the
  wrong motor or fan was installed in an earlier repair.
- If neither a curve nor an airflow is known, the airflow is calculated from power, diameter and
  density with a correlation for condenser fans, and the static pressure is calculated from a static
  efficiency of 0.15 to 0.35.
- The air temperature at the motor is the outdoor temperature, plus the effect of recirculated
  discharge air, plus the air temperature rise across the coil. The air is assumed to be well mixed.
  The air temperature rise across the coil is assumed to be the same on all days.
- At noon under a clear sky, sun on the upper end of a vertical motor under the guard adds about 1
  to 2 K (typical ranges; no published source). A horizontal motor is in the shade.

The conditions do not include dirt on the coil; `sizing.dirty_coil` calculates its effect.
`voltage_limits` returns the supply voltage range for which a motor is rated.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import (
    Band,
    log_normal,
    median,
    normal,
    normal_draws,
    normal_within,
    uniform,
)
from airover.core.message import Estimate, Message, Money, Quantity, Word
from airover.model import identify
from airover.model.cooling import rated_rises
from airover.physics import air, coil, fan
from airover.physics.heat import sun_absorbed
from airover.physics.operating_point import fan_coefficient
from airover.records.job import Job
from airover.records.nameplate import Nameplate

VOLTAGE_TOLERANCE = 0.10


# Running hours per year: 500 in a cool climate to 3000 in a hot climate. Common practice.
HOURS_A_YEAR = 1500.0
DENSITY_STANDARD = 1.2014  # kg/m3 (0.075 lb/ft3), the assumed air density for nameplate power

# 90 % ranges, used if the job has no data. US patent 7,249,931 and US patent 7,568,885 (Parker,
# Sherwin, Hibbs) report measurements on 3-ton condensing units; tests/published/test_fan_airflow.py
# compares the measurements with these ranges.
# Ratio of fan load to nameplate power. Common practice. ASHRAE 90.1 uses 90 % for a fan motor (as
# quoted in NREL openstudio-standards). A 1/8 hp motor drew 144 W with one fan and 194 W with
# another (US 7,568,885).
FAN_LOAD = (0.70, 1.15)
# Power / (density x (rev/s)^3 x diameter^5): common practice. The result is a diameter of 20 to 28
# in. for a 1/4 hp, 1075 rpm fan.
POWER_COEFFICIENT = (0.15, 0.75)
# Airflow / (power x diameter^4 / density)^(1/3): 0.41 to 0.52 for the fans in the two patents.
AIRFLOW_COEFFICIENT = (0.35, 0.63)
# Air temperature rise [K] across the coil in standard air: 1200 to 600 cfm per ton of cooling (Wang
# and Lavan, "Air-Conditioning and Refrigeration", in Kreith, Mechanical Engineering Handbook, CRC
# 1999; optimum about 900), with heat rejection of 1.28 times the cooling capacity (common
# practice).
COIL_RISE = (6.6, 13.2)
TON = 3516.85  # W
TON_FLOW = (0.28317, 0.42475, 0.56634)  # m3/s: 600, 900 and 1200 cfm

# Maximum airflow / (rev/s x diameter^3) of a propeller fan: common practice; no published source.
LARGEST_FLOW_COEFFICIENT = (0.35, 0.52)

# Possible power coefficients of a propeller fan: engineering judgment. The fans in the two patents
# have values of 0.06 to 0.10.
POSSIBLE_POWER_COEFFICIENT = (0.03, 1.5)
# Assumptions if a job has no data, as (low, high). Common practice, unless a source is given.
STATIC_EFFICIENCY = (0.15, 0.35)  # stamped fan blades, about 0.25: US patent 7,249,931
OUTDOOR_TEMPERATURE = (35.0, 46.0)  # degC, a design day
RECIRCULATION = (0.0, 3.0)  # K
AIR_SPEED_AT_MOTOR = (0.8, 1.4)  # divided by the mean speed through the fan area
RISE = "air temperature rise across the coil"  # name of this input
FASTEST_AIR = 15.0  # m/s through the fan area; 4 to 8 is typical
IRRADIANCE = (700.0, 1000.0)  # W/m2 on a horizontal surface at noon under a clear sky
ABSORPTIVITY = (0.4, 0.9)  # motor paint, light gray to black
UNSHADED = (0.3, 0.8)  # fraction of the motor's upper end not shaded by guard and fan
BLADE_MASS = (1.0, 2.2)  # kg
SERVICE_VOLTAGE = 0.05  # fraction above and below nominal


# used if neither the speed nor the number of poles is readable: 1075 rpm at 60 Hz, common practice
USUAL_POLES = 6


class Input(NamedTuple):
    """Input with its value, its origin and the reason for an assumption.

    Attributes
    ----------
    name : str or Message
        Key of the name, under ``input`` in the text files.
    value : Quantity or Message
        Value of the input.
    origin : str
        Origin: measured, nameplate, catalog, given or assumed.
    why : Message or None
        Reason for an assumption.
    motor : str
        Motor that the input describes, if any.
    """

    name: str | Message
    value: Quantity | Estimate | Money | Message | Word | str
    origin: str
    why: Message | None = None
    motor: str = ""


@dataclass(frozen=True)
class Conditions:
    """Conditions of a job in SI units and degC, as arrays of shape (samples,).

    Attributes
    ----------
    coefficient : ndarray
        Fan coefficient [N m s^2] in the air at the site.
    shaft_power : ndarray
        Shaft power [W] at the reference speed.
    speed_rpm : ndarray
        Reference speed [rpm].
    flow : ndarray
        Airflow [m3/s] at the reference speed.
    pressure : ndarray
        Static pressure [Pa] at the reference speed.
    air_speed : ndarray
        Air speed [m/s] at the motor at the reference speed.
    temp_outdoor : ndarray
        Outdoor air temperature [degC].
    temp_entering : ndarray
        Air temperature entering the coil [degC].
    temp_air : ndarray
        Air temperature at the motor [degC].
    density : ndarray
        Air density [kg/m3] at the motor.
    sun : ndarray
        Solar heat [W/m2] absorbed by the upper end of the motor.
    blade_diameter : ndarray
        Fan diameter [m].
    blade_mass : ndarray
        Mass [kg] of the fan.
    voltage : ndarray
        Lowest, usual and highest supply voltage [V], shape (3,).
    frequency : float
        Supply frequency [Hz].
    inputs : tuple[Input, ...]
        Inputs with their origins.
    """

    coefficient: np.ndarray
    shaft_power: np.ndarray
    speed_rpm: np.ndarray
    flow: np.ndarray
    pressure: np.ndarray
    air_speed: np.ndarray
    temp_outdoor: np.ndarray
    temp_entering: np.ndarray
    temp_air: np.ndarray
    density: np.ndarray
    sun: np.ndarray
    blade_diameter: np.ndarray
    blade_mass: np.ndarray
    voltage: np.ndarray
    frequency: float
    inputs: tuple[Input, ...]

    @property
    def samples(self) -> int:
        return len(self.coefficient)

    @property
    def torque(self):
        """Shaft torque [N m] at the reference speed."""
        return self.coefficient * (self.speed_rpm * np.pi / 30) ** 2

    @property
    def cooling_speed(self):
        """Speed [m/s] of dry air at 1 atm that would have the same cooling effect.

        The Reynolds number, and therefore the convection coefficient, depends on density times
        speed, so thinner air cools less.
        """
        at_sea_level = air.moist_air_density(self.temp_air, air.PRESSURE_SEA_LEVEL)
        return self.air_speed * self.density / at_sea_level


def site_conditions(
    job: Job, samples: int, seed: int = 0, failed: "Failed | None" = None
) -> Conditions:
    """Return the conditions of a job as equally likely samples.

    Parameters
    ----------
    failed : optional
        Failed motor, if it has already been identified.

    Raises
    ------
    InputError
        If the nameplate does not have enough information to estimate the fan load.
    """
    read = _Reader(job, samples, seed, failed)
    voltage, frequency = _line(read)
    load = _load(read, voltage)
    temp_outdoor, temp_entering, temp_air, density = _air(read, load)
    ratio = density / DENSITY_STANDARD
    mean_speed = _mean_speed(load.flow, load.diameter)
    return Conditions(
        coefficient=fan_coefficient(load.power * ratio, load.speed_rpm),
        shaft_power=load.power * ratio,
        speed_rpm=load.speed_rpm,
        flow=load.flow,
        pressure=load.pressure * ratio,
        air_speed=mean_speed * read.uniform("air speed at the motor", AIR_SPEED_AT_MOTOR),
        temp_outdoor=temp_outdoor,
        temp_entering=temp_entering,
        temp_air=temp_air,
        density=density,
        sun=_sun(read),
        blade_diameter=load.diameter,
        blade_mass=read.amount("blade mass", job.blade.mass, BLADE_MASS, "mass"),
        voltage=voltage,
        frequency=frequency,
        inputs=tuple(read.inputs),
    )


def voltage_limits(voltage_low, voltage_high) -> tuple[float, float]:
    """Return the supply voltage limits [V] for a nameplate voltage range.

    A motor rated 208-230 V may be operated from 10 % below 208 V to 10 % above 230 V.

    >>> low, high = voltage_limits(208.0, 230.0)
    >>> round(low), round(high)
    (187, 253)
    """
    return (1 - VOLTAGE_TOLERANCE) * voltage_low, (1 + VOLTAGE_TOLERANCE) * voltage_high


def fan_load(power, speed_rpm, synchronous_rpm, deviates):
    """Return the shaft power [W] and speed [rpm] of a fan in standard air.

    The load is estimated from a nameplate. Slip is proportional to load, so a lightly loaded motor
    runs faster. For the source, see ``FAN_LOAD``.

    Parameters
    ----------
    power
        Nameplate power [W].
    speed_rpm
        Nameplate speed [rpm].
    synchronous_rpm
        Synchronous speed [rpm].
    deviates
        Standard normal deviates.
    """
    share = normal(FAN_LOAD, deviates)
    return power * share, synchronous_rpm - (synchronous_rpm - speed_rpm) * share


def usual_diameter(power, speed_rpm, deviates):
    """Return the typical diameter [m] of a fan from its power in standard air.

    Power is proportional to density x speed^3 x diameter^5 (fan laws). For the source, see
    ``POWER_COEFFICIENT``.

    Parameters
    ----------
    power
        Shaft power [W].
    speed_rpm
        Speed [rpm].
    deviates
        Standard normal deviates.
    """
    coefficient = log_normal(POWER_COEFFICIENT, deviates)
    return (power / (DENSITY_STANDARD * coefficient * (speed_rpm / 60) ** 3)) ** 0.2


def usual_airflow(power, speed_rpm, diameter, deviates):
    """Return the typical airflow [m3/s] of a condenser fan.

    The pressure is assumed to be proportional to the dynamic pressure, so airflow is proportional
    to (power x diameter^4 / density)^(1/3). The relationship agrees with the fan laws, in which
    flow is proportional to speed x diameter^3. For the source, see ``AIRFLOW_COEFFICIENT``. The
    flow is limited by ``LARGEST_FLOW_COEFFICIENT``.

    Parameters
    ----------
    power
        Shaft power [W] in standard air.
    speed_rpm
        Speed [rpm].
    diameter
        Fan diameter [m].
    deviates
        Standard normal deviates.
    """
    coefficient = log_normal(AIRFLOW_COEFFICIENT, deviates)
    flow = coefficient * np.cbrt(power * diameter**4 / DENSITY_STANDARD)
    largest = log_normal(LARGEST_FLOW_COEFFICIENT, deviates)
    return np.minimum(flow, largest * speed_rpm / 60 * diameter**3)


def usual_rise(density, deviates):
    """Return the typical air temperature rise [K] across the coil.

    The same heat causes a larger temperature rise in thinner air. For the source, see
    ``COIL_RISE``.

    Parameters
    ----------
    density
        Density of the entering air [kg/m3].
    deviates
        Standard normal deviates.
    """
    return log_normal(COIL_RISE, deviates) * DENSITY_STANDARD / density


class Failed(NamedTuple):
    """Failed motor, as described by its nameplate.

    Attributes
    ----------
    rated : identify.Ensemble
        Equivalent circuits at the rating, shape (samples,).
    nameplate : Nameplate
        Nameplate that is consistent with the circuits.
    doubtful : bool
        True if the nameplate amps were ignored, because they are inconsistent with the power.
    """

    rated: identify.Ensemble
    nameplate: Nameplate
    doubtful: bool


def failed_motor(job: Job, samples: int, seed: int = 0) -> Failed:
    """Return the equivalent circuits of the failed motor.

    If the nameplate amps and power are inconsistent, the amps are ignored, because replacement
    motors are sorted by power.

    Raises
    ------
    InputError
        If the nameplate has neither amps nor power.
    """
    return as_printed(completed(job), samples, seed)


@lru_cache(maxsize=256)
def as_printed(nameplate: Nameplate, samples: int, seed: int) -> Failed:
    """Return the circuits for a nameplate without its doubtful entries."""
    found, (used,), (doubtful,) = all_as_printed([nameplate], samples, seed)
    return Failed(found.rearranged(lambda value: value[0]), used, bool(doubtful))


def all_as_printed(nameplates, samples: int, seed: int):
    """Return the circuits for several nameplates without their doubtful entries.

    Returns the circuits as an Ensemble of shape (nameplates, samples), the nameplates that were
    used, and True for each nameplate whose amps and power are inconsistent.
    """
    used = [
        one.model_copy(update={"capacitor": None})
        if any(doubt.code == "capacitor" for doubt in one.doubts())
        else one
        for one in nameplates
    ]
    found = identify.ensemble(identify.ratings_of(*used), samples, seed)
    doubtful = ~found.met.all(axis=1)
    for at in np.flatnonzero(doubtful).tolist():
        if used[at].power is not None:
            used[at] = used[at].model_copy(update={"current": None})
            again = identify.ensemble(identify.ratings_of(used[at]), samples, seed)
            found = found.replaced(at, again)
    return found, used, doubtful


def completed(job: Job) -> Nameplate:
    """Return the nameplate with missing values filled in.

    A missing voltage or frequency is copied from the site or set to a typical value. If neither the
    number of poles nor the speed is readable, a typical number of poles is assumed. A doubtful speed is
    ignored.
    """
    voltage = job.nameplate.voltage or job.site.voltage
    return _completed(job.nameplate, voltage, job.nameplate.frequency or job.site.frequency)


@lru_cache(maxsize=1024)  # each rule and each document asks for it
def _completed(nameplate: Nameplate, voltage, frequency) -> Nameplate:
    facts = dict(nameplate) | {"voltage": voltage, "frequency": frequency or "60 Hz"}
    if nameplate.poles is None and nameplate.speed_rpm is None:
        facts["poles"] = USUAL_POLES
    if facts != dict(nameplate):
        nameplate = Nameplate(**facts)
    if any(doubt.code == "speed" for doubt in nameplate.doubts()):
        nameplate = nameplate.model_copy(update={"speed_rpm": None, "poles": nameplate.pole_count})
    return nameplate


def curve_of(written, smooth=False) -> fan.FanCurve:
    """Return the FanCurve for a `records.Curve`.

    The points are interpolated. If ``smooth`` is True, they are treated as scattered measurements
    (`FanCurve.from_measured`). A missing density is assumed to be 0.075 lb/ft3.

    Raises
    ------
    InputError
        If the points are not a valid fan curve.
    """
    density = DENSITY_STANDARD if written.density is None else written.density.mid
    make = fan.FanCurve.from_measured if smooth else fan.FanCurve
    return make(*written.arrays(), written.speed_rpm.mid, density)


@dataclass
class _Reader:
    """Sampler that converts amounts in a job to samples and records their origins."""

    job: Job
    samples: int
    seed: int
    failed: Failed | None
    inputs: list = field(default_factory=list)

    def deviates(self, name):
        """Return random deviates for ``name`` that do not depend on the other inputs."""
        rng = np.random.default_rng([self.seed, *name.encode()])
        return normal_draws(rng, [name], self.samples)[name]

    def uniform(self, name, ends):
        return uniform(ends, self.deviates(name))

    def note(self, name, value, origin):
        self.inputs.append(Input(name, value, origin))

    def assume(self, name, value, why, **values):
        """Record an assumed input. ``why`` is a key under ``answer.assumed`` in the text files."""
        self.inputs.append(
            Input(name, value, "assumed", Message(f"answer.assumed.{why}", **values))
        )

    def amount(self, name, amount, assumed, kind, origin="measured"):
        """Return samples of the entered value, or of the typical range if no value was entered."""
        if amount is None:
            low, high = assumed
            self.assume(name, Quantity(Band(low, (low + high) / 2, high), kind), "usual")
        else:
            low, high = amount.low, amount.high
            self.note(name, Quantity(amount, kind), origin)
        return self.uniform(name, (low, high))


class _Load(NamedTuple):
    """Samples of the fan load in standard air.

    Attributes
    ----------
    power : ndarray
        Shaft power [W].
    speed_rpm : ndarray
        Speed [rpm] to which the load applies.
    diameter : ndarray
        Fan diameter [m].
    flow : ndarray
        Airflow [m3/s].
    usual_flow : ndarray
        Typical airflow [m3/s] for this power and diameter.
    pressure : ndarray
        Static pressure [Pa].
    """

    power: np.ndarray
    speed_rpm: np.ndarray
    diameter: np.ndarray
    flow: np.ndarray
    usual_flow: np.ndarray
    pressure: np.ndarray


def _mean_speed(flow, diameter):
    """Return the mean air speed [m/s] through the fan area.

    Raises
    ------
    InputError
        If the speed is higher than a fan of this type can produce.
    """
    speed = flow / (np.pi / 4 * diameter**2)
    if median(speed) > FASTEST_AIR:
        most = FASTEST_AIR * np.pi / 4 * median(diameter) ** 2
        fan = Quantity(median(diameter), "blade_diameter")
        given = Message("answer.refused.airflow", flow=Quantity(median(flow), "flow"), diameter=fan)
        raise InputError("airflow", given, Message("limit.most", value=Quantity(most, "flow")))
    return speed


def _line(read: _Reader):
    """Return the lowest, usual and highest supply voltage, and the frequency."""
    nameplate, site = read.job.nameplate, read.job.site
    if site.voltage is not None:
        read.note("line voltage", Quantity(site.voltage, "voltage"), "measured")
        low, usual, high = site.voltage.low, site.voltage.mid, site.voltage.high
        if not site.voltage.is_range:
            low, high = low * (1 - SERVICE_VOLTAGE), high * (1 + SERVICE_VOLTAGE)
            span = Quantity(Band(low, usual, high), "voltage")
            read.assume("range of the line voltage", span, "one_reading")
    elif nameplate.voltage is not None:
        usual = nameplate.voltage.high
        low, high = nameplate.voltage.low * (1 - SERVICE_VOLTAGE), usual * (1 + SERVICE_VOLTAGE)
        read.assume("line voltage", Quantity(Band(low, usual, high), "voltage"), "plate_voltage")
    else:
        accepted = Message("error.plate.voltage", example="230 V")
        raise InputError("voltage", Message("error.plate.no_voltage"), accepted)
    return np.array([low, usual, high]), _frequency(read)


def _frequency(read: _Reader) -> float:
    for amount, origin in (
        (read.job.site.frequency, "measured"),
        (read.job.nameplate.frequency, "nameplate"),
    ):
        if amount is not None:
            read.note("frequency", Quantity(amount, "frequency"), origin)
            return amount.mid
    read.assume("frequency", Quantity(60.0, "frequency"), "not_given")
    return 60.0


def _load(read: _Reader, voltage) -> _Load:
    """Return the fan load from the fan curve or from the nameplate of the failed motor."""
    power, speed_rpm = _plate_load(read, voltage)
    given = read.job.site.airflow
    flow = None if given is None else read.amount("airflow", given, None, "flow")
    curve = read.job.blade.curve
    if curve is not None:
        return _from_curve(read, curve, power, speed_rpm, flow)
    if power is None:
        given, accepted = Message("error.plate.neither"), Message("error.plate.load")
        raise InputError("nameplate", given, accepted)
    synchronous_rpm = completed(read.job).synchronous_rpm
    power, speed_rpm = fan_load(power, speed_rpm, synchronous_rpm, read.deviates("fan load"))
    standard = Quantity(DENSITY_STANDARD, "density")
    read.assume("fan load", Estimate(Band.of(power), "power"), "fan_load", density=standard)
    diameter = _diameter(read, power, speed_rpm)
    usual_flow = usual_airflow(power, speed_rpm, diameter, read.deviates("airflow"))
    if flow is None:
        flow = usual_flow
        needed = power / (DENSITY_STANDARD * (speed_rpm / 60) ** 3 * diameter**5)
        low, high = POSSIBLE_POWER_COEFFICIENT
        why = "airflow" if low < median(needed) < high else "airflow_doubtful"
        read.assume("airflow", Estimate(Band.of(flow), "flow"), why)
    low, high = STATIC_EFFICIENCY
    efficiency = read.uniform("fan static efficiency", STATIC_EFFICIENCY)
    shown = Quantity(Band(low, (low + high) / 2, high), "times")
    read.assume("fan static efficiency", shown, "static_efficiency")
    return _Load(power, speed_rpm, diameter, flow, usual_flow, efficiency * power / flow)


def _diameter(read: _Reader, power, speed_rpm):
    """Return the fan diameter [m] as entered, or a typical diameter for the power and speed."""
    if read.job.blade.diameter is not None:
        return read.amount("fan diameter", read.job.blade.diameter, None, "blade_diameter")
    diameter = usual_diameter(power, speed_rpm, read.deviates("fan diameter"))
    read.assume("fan diameter", Estimate(Band.of(diameter), "blade_diameter"), "fan_diameter")
    return diameter


def _plate_load(read: _Reader, voltage):
    """Return samples of the rated power (or None) and speed of the failed motor."""
    nameplate = completed(read.job)
    if nameplate.power is not None:
        read.note("rated power", Quantity(nameplate.power, "power"), "nameplate")
    if nameplate.speed_rpm is not None:
        read.note("rated speed", Quantity(nameplate.speed_rpm, "speed"), "nameplate")
    if read.job.nameplate.poles is None and nameplate.speed_rpm is None:
        read.assume("number of poles", Quantity(nameplate.poles, "count"), "poles")
    if nameplate.power is None and nameplate.current is None:
        slip = 1 - identify.SLIP_RATED.at(read.deviates("rated speed"))
        rated = (
            slip * nameplate.synchronous_rpm
            if nameplate.speed_rpm is None
            else nameplate.speed_rpm.mid
        )
        return None, np.broadcast_to(rated, read.samples)
    failed = (read.failed or failed_motor(read.job, read.samples, read.seed)).rated
    if nameplate.power is None:
        read.assume("rated power", Quantity(Band.of(failed.power), "power"), "rated_power")
    if nameplate.speed_rpm is None:
        read.assume("rated speed", Quantity(Band.of(failed.speed_rpm), "speed"), "rated_speed")
    ambient = nameplate.ambient_rating and nameplate.ambient_rating.mid
    if None in (nameplate.insulation_class, ambient):
        low, high = rated_rises(nameplate.insulation_class, ambient)
        rises = Quantity(Band(low, (low + high) / 2, high), "temperature_rise")
        read.assume("winding temperature rise", rises, "rated_rise")
    return failed.power, failed.speed_rpm


def _from_curve(read: _Reader, curve, power, speed_rpm, flow) -> _Load:
    read.note("blade's curve", Message("answer.given.points", count=len(curve.flow)), "measured")
    points = curve_of(curve)
    if flow is None:
        flow, why = _flow_on_curve(read, points, power, speed_rpm)
        shown = Message("about", value=Quantity(median(flow), "flow"))
        read.assume("airflow", shown, why)
    else:
        points.at(flow, median(speed_rpm), DENSITY_STANDARD)  # rejects flows beyond the curve
        # Speed varies within its tolerance, so flows past the end of the curve are clipped to it.
        flow = np.clip(flow, *(points.flow[[0, -1], None] * speed_rpm / points.speed_rpm))
    at = points.at(flow, speed_rpm, DENSITY_STANDARD)
    diameter = _diameter(read, at.power, speed_rpm)
    return _Load(at.power, speed_rpm, diameter, flow, flow, at.pressure)


def _flow_on_curve(read: _Reader, points: fan.FanCurve, power, speed_rpm):
    """Return the estimated airflow, and the message key for the reason.

    If the nameplate power determines the flow on the curve, that flow is used. Otherwise, the flow
    is assumed to be in the typical part of the curve.
    """
    ends = points.working_powers(speed_rpm, DENSITY_STANDARD)
    if power is not None and ends is not None and _inside(power * np.mean(FAN_LOAD), ends):
        # Only loads within the range of the curve are possible.
        limits = [end / power for end in ends]
        power = power * normal_within(FAN_LOAD, limits, read.deviates("fan load"))
        flow = points.flow_at_power(np.clip(power, *ends), speed_rpm, DENSITY_STANDARD)
        return flow, "airflow_by_power"
    share = read.uniform("share of the curve", (0.6, 0.9))
    return share * points.flow[-1] * speed_rpm / points.speed_rpm, "airflow_by_curve"


def _inside(samples, ends) -> bool:
    """Return True if the median of ``samples`` lies between the medians of the ``ends``."""
    low, high = map(np.median, ends)
    return bool(low < median(samples) < high)


def _air(read: _Reader, load: _Load):
    """Return the air temperatures [degC], and the air density [kg/m3] at the motor.

    The temperatures apply to the outdoor air, the coil entering air and the air at the motor. The
    motor is in the coil leaving air, not in outdoor air.
    """
    site = read.job.site
    outdoor = read.amount(
        "outdoor temperature", site.outdoor_temperature, OUTDOOR_TEMPERATURE, "air_temperature"
    )
    recirculation = read.amount(
        "recirculation", site.recirculation, RECIRCULATION, "temperature_rise"
    )
    elevation = read.amount("elevation", site.elevation, (0.0, 0.0), "elevation")
    humidity = read.amount("relative humidity", site.relative_humidity, (0.2, 0.4), "humidity")
    pressure = air.standard_pressure(elevation)
    entering = outdoor + recirculation
    density = air.moist_air_density(entering, pressure, humidity)
    if site.coil_temperature_rise is not None:
        leaving = entering + read.amount(RISE, site.coil_temperature_rise, None, "temperature_rise")
    elif site.heat is not None:
        heat = read.amount("heat of the coil", site.heat, None, "heat")
        leaving = coil.leaving_temperature(heat, load.flow, entering, density)
    else:
        # An unusual measured airflow is attributed half to a different unit size and half to a coil
        # with more or less airflow than intended (engineering judgment; no published source).
        rise = usual_rise(density, read.deviates(RISE)) * np.sqrt(load.usual_flow / load.flow)
        flow, cooling = Quantity(Band(*TON_FLOW), "flow"), Quantity(TON, "heat")
        rise_shown = Estimate(Band.of(rise), "temperature_rise")
        read.assume(RISE, rise_shown, "coil_rise", flow=flow, cooling=cooling)
        leaving = entering + rise
    # The coil adds heat but no water, so the vapor pressure is the same as outdoors.
    vapour = humidity * air.saturation_pressure(outdoor)
    leaving_humidity = np.minimum(vapour / air.saturation_pressure(leaving), 1.0)
    density = air.moist_air_density(leaving, pressure, leaving_humidity)
    return outdoor, entering, leaving, density


def _sun(read: _Reader):
    """Return the solar heat [W/m2] on the upper end of a vertical motor, or 0 if it is horizontal.

    In a unit with horizontal discharge, the motor is under a top panel.
    """
    if read.job.nameplate.shaft_position == "horizontal":
        return np.zeros(read.samples)
    parts = {"irradiance": IRRADIANCE, "absorptivity": ABSORPTIVITY, "unshaded": UNSHADED}
    taken_up = sun_absorbed(**{name: read.uniform(name, ends) for name, ends in parts.items()})
    read.assume("sun on the motor", Quantity(Band.of(taken_up), "irradiance"), "sun")
    return taken_up
