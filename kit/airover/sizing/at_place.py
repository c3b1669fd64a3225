"""What one blade asks of a motor at its place: the duty, the rating for it, and what moves it.

A curve, a system and a place (speed, elevation, weather, dirt on the coil) go in; sentences and
bands come out. Motors and the compressor are worked only when somebody looks at them.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.climate.season import Season, Unit, running, shortfall
from airover.climate.year import example_year
from airover.limits import Range, check
from airover.motor.conditions import (
    DENSITY_STANDARD,
    RECIRCULATION,
    Conditions,
    conditions,
    usual_rise,
)
from airover.motor.one import Motor
from airover.physics import air, coil, compressor
from airover.physics.fan import FanCrossing, FanCurve
from airover.physics.system import System, system_resistance
from airover.records import CatalogueMotor, Curve, Job
from airover.sizing import duty as sizing
from airover.sizing import motors as sizing_motor
from airover.sizing import to_measure
from airover.units import Amount, show

DRAWS = 100
HUMIDITY = 0.3  # where a job does not say; it hardly moves the density
SPEEDS_RPM = (1075.0, 825.0)
TEMP_CONDENSING = 50.0  # degC, at which a coil's heat is parted into cooling and compressor
TIGHT = 0.01  # a band narrower than this is told as one number
POLES = (4, 6, 8)
SLIP = 0.10  # of a usual motor at work
SHARE = Range(0.0, 1.0, "")
LEAST_FLOW = 0.3  # of the clean coil's: below it the compressor is not worked


class Place(NamedTuple):
    """``speed_rpm`` of the blade, ``elevation`` [m], ``temp_outdoor`` [degC]; ``dirt`` times the
    coil's clean resistance; ``resistance``: that of the whole system over what was given."""

    speed_rpm: float
    elevation: float
    temp_outdoor: float
    dirt: float = 1.0
    resistance: float = 1.0


def measured_system(flow, pressure, coil_share, density=DENSITY_STANDARD) -> System:
    """The system that takes static ``pressure`` [Pa] at ``flow`` [m3/s] in air of ``density``
    [kg/m3]; ``coil_share`` (0 to 1) of it is the coil's. Raises InputError out of range."""
    whole = system_resistance(flow, pressure)
    share = check("coil_share", coil_share, SHARE)
    return System(whole * share, (whole * (1 - share),), float(density))


def asked_with(curve: Curve, job: Job, flow=None) -> Conditions:
    """What ``job`` asks for with this ``curve`` of its blade.

    ``flow`` [m3/s] is the airflow, if the job's own does not hold: a number, or draws for one that
    is not known. None leaves what the job says. Raises InputError as conditions does.
    """
    blade = job.blade.model_copy(update={"curve": curve})
    site = job.site
    if flow is not None:
        value = float(np.median(flow))
        site = site.model_copy(update={"airflow": Amount(value, value, "m3/s", f"{value:g} m3/s")})
    return conditions(job.model_copy(update={"blade": blade, "site": site}), DRAWS)


def assumed_system(curve: Curve, job: Job, coil_share) -> System:
    """The system where none was measured, as draws: from the job's airflow, else from its plate.

    The failed motor's power tells the flow on ``curve``, and that the resistance; ``coil_share``
    as in measured_system. Raises InputError as conditions does.
    """
    asked = asked_with(curve, job)
    pressure = np.maximum(asked.pressure * DENSITY_STANDARD / asked.density, 0.0)
    return measured_system(asked.flow, pressure, coil_share)


@dataclass(frozen=True, eq=False)
class Sized:
    """A blade at a place; two of them are never equal. ``heat`` [W] of the coil is
    None where it is not known.

    ``points`` is the curve; ``asked`` the conditions of the job (line, blade's size, what is
    assumed); ``temp_air`` [degC] at the motor, draws; ``system`` the resistances. ``shown`` is
    "US" or "SI".
    """

    points: FanCurve
    system: System
    place: Place
    heat: float | None
    asked: Conditions
    temp_air: np.ndarray
    duty: sizing.Duty
    size: sizing.Size
    overload: sizing.Overload
    shown: str

    @classmethod
    def of(cls, points, system, place, job, asked, shown="US") -> "Sized":
        """Work ``points`` (a FanCurve) on ``system`` at ``place``. Raises InputError."""
        heat = None if job.site.heat is None else job.site.heat.mid
        system = replace(
            system,
            coil=system.coil * place.resistance,
            others=tuple(part * place.resistance for part in system.others),
        )
        temp_air, density = _air(points, system, place, job, heat)
        resistance = system.resistance(density, place.dirt)
        drawn = np.broadcast_to(resistance, (DRAWS,)), np.broadcast_to(density, (DRAWS,))
        duty = sizing.duty(points, drawn[0], place.speed_rpm, drawn[1], DRAWS, extrapolate=True)
        size = sizing.size(duty)
        whole = sizing.overload(
            points, place.speed_rpm, float(np.median(density)), size.standard.power
        )
        return cls(points, system, place, heat, asked, temp_air, duty, size, whole, shown)

    @cached_property
    def bands(self) -> dict[str, Band]:
        return self.duty.bands()

    @property
    def density(self) -> float:
        """The middle one [kg/m3] of the air at the fan."""
        return float(self.bands["density_kgm3"].mid)

    @property
    def resistance(self) -> float:
        """The middle one [Pa s2/m6], with its dirt, in the air at the fan."""
        return float(np.median(self.system.resistance(self.density, self.place.dirt)))

    @property
    def spare(self) -> float:
        """The rating's power over the duty's, less 1."""
        return self.size.standard.power / float(self.bands["power_shaft_w"].mid) - 1

    @cached_property
    def crossings(self) -> tuple[FanCrossing, ...]:
        """Every point that the fan may settle at, from the smallest flow."""
        return self.points.operating_points(
            self.resistance, self.place.speed_rpm, self.density, extrapolate=True
        )

    @property
    def state(self) -> str:
        """ "carried", "close" (overloaded somewhere, or not known well enough) or "doubtful"."""
        if self.duty.extrapolated or self.duty.several:
            return "doubtful"
        sure = self.size.sure is self.size.standard and not self.overload.over
        return "carried" if sure else "close"

    @property
    def verdict(self) -> str:
        """The one sentence on top."""
        return (
            f"This blade takes {_watts(self.bands['power_shaft_w'])} at "
            f"{self.place.speed_rpm:.0f} rpm here: a {self.size.standard.text} motor carries it "
            f"with {100 * self.spare:.0f} % to spare; {self._worst()}."
        )

    def _worst(self) -> str:
        worst = self.overload
        most = f"{worst.largest.mid:.0f} W"
        if worst.largest.mid <= 1.005 * self.bands["power_shaft_w"].mid:
            return "nowhere on its curve does it take more"
        if worst.flow < self.bands["flow_m3s"].mid:
            where = "a blocked coil" if worst.to_stall else "the least flow that was measured"
        else:
            where = "the freest flow that was measured"
        return f"{where} would take {most}"

    @property
    def warnings(self) -> list[str]:
        """What stands against the rating, in sentences."""
        told, worst = [], self.overload
        if worst.over:
            low, high = (self.show(end, "flow") for end in worst.over)
            told.append(
                f"Held at this speed it would overload that motor from {low} to {high}, by "
                f"{100 * (worst.load - 1):.0f} % at most."
            )
        if self.size.sure is not self.size.standard:
            told.append(
                f"What is not known may make it {self.size.sure.text}: measure before ordering."
            )
        if self.duty.several:
            told.append("The system meets the curve more than once: the fan may stay in its stall.")
        if self.duty.extrapolated:
            told.append("The duty lies beyond the measured flows: its figures are drawn on.")
        return told

    @property
    def facts(self) -> list[str]:
        """The duty, and the air that it holds in."""
        flow, pressure = self.bands["flow_m3s"].mid, self.bands["pressure_pa"].mid
        temp = float(np.median(self.temp_air))
        moved = (
            f"It moves {self.show(flow, 'flow')} against {self.show(pressure, 'pressure')} and "
            f"asks for {self.bands['torque_nm'].mid:.2f} N m, in air of "
            f"{self.show(temp, 'air_temperature')} and {self.show(self.density, 'density')} at "
            "the fan."
        )
        return [moved, f"With 10 % in hand that is {self.size.needed.mid:.0f} W."]

    @property
    def asks(self) -> tuple[to_measure.Ask, ...]:
        """What else to measure, the most important first."""
        return to_measure.to_measure(self.duty, self.points, self.asked)

    def show(self, value, kind: str) -> str:
        return show(float(value), kind, self.shown)

    @property
    def speeds(self) -> tuple[sizing.SpeedStep, ...]:
        """The same blade at the speeds of six and eight poles."""
        resistance = np.broadcast_to(
            self.system.resistance(self.density, self.place.dirt), (DRAWS,)
        )
        return sizing.at_speeds(self.points, resistance, self.density, SPEEDS_RPM, DRAWS)

    @property
    def poles(self) -> int:
        """Of a motor for this speed."""
        at = 120 * self.asked.frequency * (1 - SLIP) / self.place.speed_rpm
        return min(POLES, key=lambda poles: abs(poles - at))

    def motors(self, catalogue) -> tuple[sizing_motor.Tried, ...]:
        """The rating below, the right one and the one above, of ``catalogue``, on this duty."""
        return sizing_motor.tried(
            self.duty, catalogue, float(np.median(self.temp_air)), self._diameter,
            self._voltage, self.poles, self.size.standard,
        )  # fmt: skip

    def motor(self, catalogue) -> CatalogueMotor | None:
        """The motor of ``catalogue`` with the right rating."""
        rating = self.size.standard.power
        return sizing_motor.at_rating(catalogue, rating, self.poles, self._voltage)

    def dirty(self, row: CatalogueMotor) -> sizing_motor.DirtSweep:
        """How a coil that gets dirty moves flow, power, amps and winding of the motor ``row``."""
        middle = replace(
            self.system,
            coil=float(np.median(self.system.coil)),
            others=tuple(float(np.median(part)) for part in self.system.others),
        )
        entering = self.place.temp_outdoor + sum(RECIRCULATION) / 2
        stream = sizing_motor.Air(entering, self.heat or 0.0, self._diameter)
        return sizing_motor.dirty_coil(
            self.points, middle, _known(row), stream, self.density, self._voltage,
            self.place.speed_rpm,
        )  # fmt: skip

    @property
    def _diameter(self) -> float:
        return float(np.median(self.asked.blade_diameter))

    @property
    def _voltage(self) -> float:
        return float(self.asked.voltage[1])


class Price(NamedTuple):
    """What less air costs: ``condensing`` [degC] in this weather, and ``extra`` [kWh a year] of the
    compressor beside the clean coil's; ``switches_off`` where it would condense too hot to run."""

    condensing: Band
    extra: Band
    switches_off: bool


def prices(found: Sized, sweep: sizing_motor.DirtSweep) -> tuple[Price | None, ...]:
    """One ``Price`` for each step of ``sweep``; None where heat or flow tell nothing.

    ``found`` is the blade. The year is the invented one of the kit, the unit a usual one whose coil
    gives off the heat; the same cooling is asked of it. Raises InputError out of range.
    """
    if found.heat is None:
        return (None,) * len(sweep.steps)
    clean = sweep.steps[0].bands["flow_m3s"].mid
    unit = unit_behind(found.heat, clean)
    flows = [step.bands["flow_m3s"].mid / clean for step in sweep.steps]
    return tuple(_price(found, unit, float(share)) for share in flows)


def unit_behind(heat, flow) -> Unit:
    """A usual unit whose coil gives off ``heat`` [W] into a ``flow`` [m3/s] of air."""
    ratio = float(compressor.cooling_ratio(TEMP_CONDENSING))
    return Unit.usual(heat * ratio / (1 + ratio), flow, DRAWS)


def _price(found: Sized, unit: Unit, share: float) -> Price | None:
    if share < LEAST_FLOW:
        return None
    outdoor = found.place.temp_outdoor
    now = running(unit, outdoor, _density(outdoor, found.place, HUMIDITY), share)
    paid = shortfall(_season(), unit, share)
    return Price(Band.of(now.temp_condensing), paid.extra, bool(np.median(now.beyond) > 0.5))


@lru_cache(maxsize=1)
def _season() -> Season:
    return Season.of(example_year())


@lru_cache(maxsize=8)
def _known(row: CatalogueMotor) -> Motor:
    return Motor.from_catalogue(row, draws=DRAWS)


def _air(points: FanCurve, system: System, place: Place, job: Job, heat):
    """Temperature [degC] and density [kg/m3] of the air that leaves the coil, where the fan is.

    System and curve change alike with density, so the flow is the same in any air.
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
    wet = np.minimum(vapour / air.saturation_pressure(leaving), 1.0)
    return leaving, _density(leaving, place, wet)


def _density(temp, place: Place, humidity):
    return air.moist_air_density(temp, air.standard_pressure(place.elevation), humidity)


def _drawn(name: str, amount: Amount | None, usual):
    """Draws of what was written, or of the usual range where nothing was."""
    return uniform(usual if amount is None else (amount.low, amount.high), _deviates(name))


def _deviates(name: str):
    return normal_draws(np.random.default_rng([*name.encode()]), [name], DRAWS)[name]


def _watts(band: Band) -> str:
    """A power, with its ends in brackets where they differ."""
    low, mid, high = map(float, band)
    ends = f" ({low:.0f} to {high:.0f})" if high - low > 2 * TIGHT * mid else ""
    return f"{mid:.0f} W{ends}"
