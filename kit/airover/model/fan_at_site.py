"""Fan at a site: duty, motor rating, effects of changes, and recommended measurements.

The input is a fan curve, a system and a site (speed, elevation, weather, dirt on the coil). The
results are 90 % ranges and messages. Motors and the compressor are simulated only when needed.
Measurements are recommended in order of their first-order contribution to the variance of the shaft
power, followed by other measurements in a fixed order.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import Range, check
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message, Quantity
from airover.core.units import Amount
from airover.model import sizing
from airover.model.climate import Season, Unit, example_year, running, shortfall
from airover.model.conditions import (
    DENSITY_STANDARD,
    RECIRCULATION,
    Conditions,
    site_conditions,
    usual_rise,
)
from airover.model.motor import Motor
from airover.model.simulation import SAMPLES
from airover.physics import air, coil, compressor
from airover.physics.air_path import System, system_resistance
from airover.physics.fan import FanCrossing, FanCurve
from airover.records.catalog import CatalogMotor
from airover.records.fan import Curve
from airover.records.job import Job

HUMIDITY = 0.3  # used if a job does not give the humidity, which has little effect on density
SPEEDS_RPM = (1075.0, 825.0)
TEMP_CONDENSING = 50.0  # degC, used to split coil heat into cooling and compressor power
POLES = (4, 6, 8)
SLIP = 0.10  # usual running slip
SHARE = Range(0.0, 1.0, "")
LEAST_FLOW = 0.3  # fraction of the clean coil's flow, below which the compressor is not simulated
SMALL_SHARE = 0.02  # fraction of the variance below which a fact is not mentioned
SMALL_BAND = 0.01  # standard deviation divided by power, below which no measurement is worthwhile
FEW_POINTS = 8
FAR = 0.15  # fraction of the flow range between the duty and the next measured point
# Assumed inputs of a job that are worth measuring, usually most important first.
ASSUMED = (
    "fan load", "airflow", "rated power", "rated speed", "line voltage",
    "range of the line voltage", "elevation", "outdoor temperature",
    "air temperature rise across the coil", "recirculation", "fan diameter",
    "fan static efficiency",
)  # fmt: skip


class FanSite(NamedTuple):
    """Operating conditions of a fan.

    Attributes
    ----------
    speed_rpm : float
        Fan speed [rpm].
    elevation : float
        Elevation [m].
    temp_outdoor : float
        Outdoor temperature [degC].
    dirt : float
        Multiplier for the clean-coil resistance.
    resistance : float
        Multiplier for the resistance of the whole system.
    """

    speed_rpm: float
    elevation: float
    temp_outdoor: float
    dirt: float = 1.0
    resistance: float = 1.0


def measured_system(flow, pressure, coil_share, density=DENSITY_STANDARD) -> System:
    """Return the system that requires a given static pressure at a given flow.

    Parameters
    ----------
    flow
        Airflow [m3/s].
    pressure
        Static pressure [Pa].
    coil_share
        Fraction of the pressure loss that occurs in the coil, 0 to 1.
    density : optional
        Air density [kg/m3].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    whole = system_resistance(flow, pressure)
    share = check("coil_share", coil_share, SHARE)
    return System(whole * share, (whole * (1 - share),), float(density))


def conditions_with(curve: Curve, job: Job, flow=None) -> Conditions:
    """Return the conditions of a job, but with a different fan curve.

    ``flow`` is an airflow [m3/s] (a number or an array of samples) that replaces the airflow of the
    job, or None to keep the airflow of the job. Raises the same errors as `site_conditions`.
    """
    blade = job.blade.model_copy(update={"curve": curve})
    site = job.site
    if flow is not None:
        value = float(np.median(flow))
        site = site.model_copy(update={"airflow": Amount(value, value, "m3/s", f"{value:g} m3/s")})
    return site_conditions(job.model_copy(update={"blade": blade, "site": site}), SAMPLES)


def assumed_system(curve: Curve, job: Job, coil_share) -> System:
    """Estimate samples of the system from the airflow or the nameplate of a job.

    If the airflow is not known, the power of the failed motor determines the flow on ``curve``, and
    the flow determines the resistance. ``coil_share`` is the same as in `measured_system`. Raises
    the same errors as `site_conditions`.
    """
    conditions = conditions_with(curve, job)
    pressure = np.maximum(conditions.pressure * DENSITY_STANDARD / conditions.density, 0.0)
    return measured_system(conditions.flow, pressure, coil_share)


@dataclass(frozen=True, eq=False)
class Sized:
    """Fan at a site, with its duty and motor size. Objects are compared by identity.

    Attributes
    ----------
    points : FanCurve
        Fan curve.
    system : System
        Flow resistances.
    place : FanSite
        Operating conditions at the site.
    heat : float or None
        Heat [W] rejected by the coil, or None if not known.
    conditions : Conditions
        Conditions of the job (supply, fan diameter, assumptions).
    temp_air : ndarray
        Air temperature samples [degC] at the motor.
    vapour : ndarray
        Vapor pressure samples [Pa].
    duty, size, overload
        Results: duty, motor size and overload.
    """

    points: FanCurve
    system: System
    place: FanSite
    heat: float | None
    conditions: Conditions
    temp_air: np.ndarray
    vapour: np.ndarray
    duty: sizing.Duty
    size: sizing.Size
    overload: sizing.Overload

    @classmethod
    def of(cls, points, system, place, job, conditions) -> "Sized":
        """Evaluate a FanCurve in a system at a site. May raise InputError."""
        heat = None if job.site.heat is None else job.site.heat.mid
        system = replace(
            system,
            coil=system.coil * place.resistance,
            others=tuple(part * place.resistance for part in system.others),
        )
        temp_air, density, vapour = _air(points, system, place, job, heat)
        resistance = system.resistance(density, place.dirt)
        drawn = np.broadcast_to(resistance, (SAMPLES,)), np.broadcast_to(density, (SAMPLES,))
        duty = sizing.duty(points, drawn[0], place.speed_rpm, drawn[1], SAMPLES, extrapolate=True)
        size = sizing.size(duty)
        whole = sizing.overload(
            points, place.speed_rpm, float(np.median(density)), size.standard.power
        )
        air = np.broadcast_arrays(temp_air, vapour, drawn[0])[:2]
        return cls(points, system, place, heat, conditions, *air, duty, size, whole)

    @cached_property
    def bands(self) -> dict[str, Band]:
        return self.duty.bands()

    @property
    def density(self) -> float:
        """Median air density [kg/m3] at the fan."""
        return float(self.bands["density_kgm3"].mid)

    @property
    def resistance(self) -> float:
        """Median system resistance [Pa s2/m6], including dirt, at the air density at the fan."""
        return float(np.median(self.system.resistance(self.density, self.place.dirt)))

    @property
    def spare(self) -> float:
        """Ratio of rated power to duty power, minus 1."""
        return self.size.standard.power / float(self.bands["power_shaft_w"].mid) - 1

    @cached_property
    def crossings(self) -> tuple[FanCrossing, ...]:
        """Possible operating points of the fan, in order of increasing flow."""
        return self.points.operating_points(
            self.resistance, self.place.speed_rpm, self.density, extrapolate=True
        )

    @property
    def state(self) -> str:
        """State of the motor rating: "carried", "close" or "doubtful".

        The state is "close" if the motor is overloaded at some flow or if the required rating is
        uncertain, and "doubtful" if the operating point is extrapolated or ambiguous.
        """
        if self.duty.extrapolated or self.duty.several:
            return "doubtful"
        sure = self.size.sure is self.size.standard and not self.overload.over
        return "carried" if sure else "close"

    @property
    def worst(self) -> str:
        """Flow at which the shaft power is highest.

        The value is "nowhere" (the power is highest at the duty), "blocked" (blocked coil),
        "least" (lowest measured flow) or "freest" (highest measured flow).
        """
        worst = self.overload
        if worst.largest.mid <= 1.005 * self.bands["power_shaft_w"].mid:
            return "nowhere"
        if worst.flow < self.bands["flow_m3s"].mid:
            return "blocked" if worst.to_stall else "least"
        return "freest"

    @property
    def asks(self) -> tuple["Ask", ...]:
        """Recommended measurements, most important first."""
        return to_measure(self.duty, self.points, self.conditions)

    @property
    def speeds(self) -> tuple[sizing.SpeedStep, ...]:
        """Same fan at six-pole and eight-pole speeds."""
        resistance = np.broadcast_to(
            self.system.resistance(self.density, self.place.dirt), (SAMPLES,)
        )
        return sizing.at_speeds(self.points, resistance, self.density, SPEEDS_RPM, SAMPLES)

    @property
    def poles(self) -> int:
        """Number of poles for a motor that runs at this speed."""
        at = 120 * self.conditions.frequency * (1 - SLIP) / self.place.speed_rpm
        return min(POLES, key=lambda poles: abs(poles - at))

    def motors(self, catalog) -> tuple[sizing.Tried, ...]:
        """Return the catalog motors with the next lower, the correct and the next higher rating."""
        return sizing.tried(
            self.duty, catalog, float(np.median(self.temp_air)), self._diameter,
            self._voltage, self.poles, self.size.standard,
        )  # fmt: skip

    def motor(self, catalog) -> CatalogMotor | None:
        """Return the motor in ``catalog`` that has the correct rating."""
        rating = self.size.standard.power
        return sizing.at_rating(catalog, rating, self.poles, self._voltage)

    def dirty(self, row: CatalogMotor) -> sizing.DirtSweep:
        """Return the flow, power, amps and winding temperature as the coil gets dirty."""
        middle = replace(
            self.system,
            coil=float(np.median(self.system.coil)),
            others=tuple(float(np.median(part)) for part in self.system.others),
        )
        entering = self.place.temp_outdoor + sum(RECIRCULATION) / 2
        stream = sizing.Air(entering, self.heat or 0.0, self._diameter)
        return sizing.dirty_coil(
            self.points, middle, _known(row), stream, self.density, self._voltage,
            self.place.speed_rpm,
        )  # fmt: skip

    @property
    def _diameter(self) -> float:
        return float(np.median(self.conditions.blade_diameter))

    @property
    def _voltage(self) -> float:
        return float(self.conditions.voltage[1])


class Ask(NamedTuple):
    """Recommended measurement.

    Attributes
    ----------
    fact : str
        Name of the quantity to measure.
    share : float
        Fraction of the shaft power variance that is due to this quantity. The share is 0 if the
        quantity affects a different result or if the fraction is not known.
    advice : Message
        Recommendation for the measurement.
    """

    fact: str
    share: float
    advice: Message


def to_measure(duty, curve=None, conditions=None) -> tuple[Ask, ...]:
    """Return the measurements that reduce the uncertainty most, as a tuple of `Ask`.

    The tuple is in order of decreasing share. Shares are first-order: each is the fraction of the
    variance that is due to one quantity by itself.

    Parameters
    ----------
    duty
        Duty of the fan.
    curve : optional
        Fan curve that was used for the duty, if any.
    conditions : optional
        Conditions of the job, if any.
    """
    found = [*_from_variances(duty), *_from_conditions(conditions)]
    if curve is None:
        found.append(_ask("curve"))
    else:
        found += _from_curve(duty, curve)
    return tuple(sorted(found, key=lambda ask: -ask.share))


class CompressorPrice(NamedTuple):
    """Effect of reduced airflow on the compressor.

    Attributes
    ----------
    condensing : Band
        Condensing temperature [degC] in this weather.
    extra : Band
        Extra compressor energy [kWh/year] compared with a clean coil.
    switches_off : bool
        True if the condensing temperature would be too high for the unit to run.
    """

    condensing: Band
    extra: Band
    switches_off: bool


def prices(found: Sized, sweep: sizing.DirtSweep) -> tuple[CompressorPrice | None, ...]:
    """Return a CompressorPrice, or None if unknown, for each step of ``sweep``.

    The result is None if the heat or the flow is not known. ``found`` is the fan at its site. The
    weather is the fictional year included with the package. The unit is a typical unit that rejects
    the same heat through the coil and delivers the same cooling.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    if found.heat is None:
        return (None,) * len(sweep.steps)
    clean = sweep.steps[0].bands["flow_m3s"].mid
    unit = unit_behind(found.heat, clean)
    flows = [step.bands["flow_m3s"].mid / clean for step in sweep.steps]
    return tuple(_price(found, unit, float(share)) for share in flows)


def unit_behind(heat, flow) -> Unit:
    """Return a typical unit with a given coil heat [W] and airflow [m3/s]."""
    ratio = float(compressor.cooling_ratio(TEMP_CONDENSING))
    return Unit.usual(heat * ratio / (1 + ratio), flow, SAMPLES)


def _ask(fact: str, key: str = "", **values) -> Ask:
    """Return the recommendation to measure a quantity whose share is not known."""
    return Ask(fact, 0.0, Message(f"fan.ask.{key or fact}", **values))


def _from_variances(duty: sizing.Duty):
    whole = sum(duty.variances.values())
    if np.sqrt(whole) <= SMALL_BAND * np.median(duty.power):
        return
    for fact, variance in duty.variances.items():
        share = variance / whole
        if share >= SMALL_SHARE:
            ask, shown = Message(f"fan.ask.{fact}"), Quantity(share, "share", 0)
            yield Ask(fact, share, Message("fan.ask.share", ask=ask, share=shown))


def _from_conditions(conditions: Conditions | None):
    if conditions is None:
        yield _ask("line voltage", "line voltage unknown")
        return
    assumed = {one.name for one in conditions.inputs if one.origin == "assumed"}
    yield from (_ask(name) for name in ASSUMED if name in assumed)


def _from_curve(duty: sizing.Duty, curve: FanCurve):
    own_flow = float(np.median(duty.flow / duty.speed_rpm)) * curve.speed_rpm
    gap = np.min(np.abs(curve.flow - own_flow)) / np.ptp(curve.flow)
    if duty.several > 0:
        yield _ask("stall")
    if duty.extrapolated > 0:
        yield _ask("reach")
    if gap > FAR or curve.flow.size < FEW_POINTS:
        yield _ask("points", points=curve.flow.size, gap=Quantity(float(gap), "share", 0))
    if curve.left_out:
        yield _ask("strays", numbers=[number + 1 for number in curve.left_out])
    if curve.pressure[-1] > sizing.NO_PRESSURE * curve.pressure.max():
        yield _ask("free delivery")
    if curve.flow[0] > 0 and curve.stall_flow is None:
        yield _ask("blocked")


def _price(found: Sized, unit: Unit, share: float) -> CompressorPrice | None:
    if share < LEAST_FLOW:
        return None
    outdoor = found.place.temp_outdoor
    now = running(unit, outdoor, _density(outdoor, found.place, HUMIDITY), share)
    paid = shortfall(_season(), unit, share)
    return CompressorPrice(
        Band.of(now.temp_condensing), paid.extra, bool(np.median(now.beyond) > 0.5)
    )


@lru_cache(maxsize=1)
def _season() -> Season:
    return Season.of(example_year())


@lru_cache(maxsize=8)
def _known(row: CatalogMotor) -> Motor:
    return Motor.from_catalog(row, samples=SAMPLES)


def _air(points: FanCurve, system: System, place: FanSite, job: Job, heat):
    """Return temperature, density and vapor pressure of the coil leaving air in SI units.

    The fan runs in this air. The units are degC, kg/m3 and Pa.

    Flow does not depend on density, because density has the same effect on the system and on the
    fan curve.
    """
    site = job.site
    humidity = HUMIDITY if site.relative_humidity is None else site.relative_humidity.mid
    entering = place.temp_outdoor + _drawn("recirculation", site.recirculation, RECIRCULATION)
    density = _density(entering, place, humidity)
    if site.coil_temperature_rise is not None:
        leaving = entering + _drawn("rise", site.coil_temperature_rise, None)
    elif heat is None:
        leaving = entering + usual_rise(density, _deviates("rise"))
    else:
        whole = system.resistance(points.density, place.dirt)
        flow = points.operating_point(whole, place.speed_rpm, points.density, True).flow
        leaving = coil.leaving_temperature(heat, flow, entering, density)
    vapour = humidity * air.saturation_pressure(place.temp_outdoor)
    saturated = air.saturation_pressure(leaving)
    wet = np.minimum(vapour / saturated, 1.0)
    return leaving, _density(leaving, place, wet), wet * saturated


def _density(temp, place: FanSite, humidity):
    return air.moist_air_density(temp, air.standard_pressure(place.elevation), humidity)


def _drawn(name: str, amount: Amount | None, usual):
    """Return samples of the entered value, or of the typical range if no value was entered."""
    return uniform(usual if amount is None else (amount.low, amount.high), _deviates(name))


def _deviates(name: str):
    return normal_draws(np.random.default_rng([*name.encode()]), [name], SAMPLES)[name]
