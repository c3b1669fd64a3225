"""Calculate the life of ball and sleeve bearings in an installed motor and recommend a type.

Both bearing types are evaluated with the same motor, fan, air, load, samples and reliability. Hours
are given as the 90 % range of the life at this reliability. The range reflects the unknown
properties of the motor. Variation between motors of the same model is covered by the reliability,
not by the range. At other outdoor temperatures, the bearing temperature is assumed to change by the
same amount [K], and the losses are not recalculated.

If one type lasts clearly longer within the life of the unit, it is recommended. Otherwise, dirt,
frost and noise are considered first, and then the price.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.model.bearing_duty import MOTOR_MASS, POSITION, BearingDuty, Stand
from airover.model.bearing_life import (
    CLEANLINESS,
    L10,
    MEDIAN,
    NOT_HERE,
    SEASON_OVER_DESIGN,
    SUITS,
    Ball,
    Reference,
    SleeveLife,
    Suits,
    ball,
    bore_of,
    film,
    judged,
    size_of,
    sleeve,
    suits,
    thick_when_cold,
)
from airover.model.conditions import HOURS_A_YEAR
from airover.model.simulation import SAMPLES, simulate
from airover.physics import ball_bearing, unbalance
from airover.physics.bearing_loads import POSITIONS
from airover.physics.sleeve_bearing import PressureField, pressure_field
from airover.physics.sleeve_running import Bounds
from airover.records.catalog import CatalogMotor
from airover.records.job import Job

BALL, SLEEVE, EITHER, NEITHER = "ball", "sleeve", "either", "neither"

# Ratio of lives at which the other type is worth its price. Ball bearings add about 10 % to the
# installed price of a motor, and later costs are discounted (engineering judgment).
WORTH = 1.2
# A bearing need not outlast the unit. The life is from the ASHRAE Handbook, HVAC Applications,
# service life of small split and packaged air conditioners (from memory, not verified).
UNIT_LIFE = 15.0  # years
GRIT = {"dust", "salt"}
WARM_START = 10.0  # degC, default for the coldest start


TEMPS = (20.0, 55.0)  # degC, plotted range of outdoor temperatures
STEPS = 8
GRADE = 16.0  # mm/s, fan after years of service
BALANCED = 6.3  # mm/s, new fan
DENTS = (0.005, 0.02)  # kg, unbalance equivalent to a lost clip and a bent corner
WORTH_HOURS = 0.05  # fraction of the hours, minimum that counts as a gain
SHORT = 1.0  # years, one season
RARE = 0.01  # fraction of the samples below which a failure mode is not shown


class Advice(NamedTuple):
    """Recommendation for a bearing type.

    Attributes
    ----------
    kind : str
        Recommended type: BALL, SLEEVE, EITHER or NEITHER.
    code : str
        Reason code.
    reason : Message
        Reason as a message.
    """

    kind: str
    code: str
    reason: Message


class Use(NamedTuple):
    """Conditions of use other than heat and load.

    Attributes
    ----------
    quiet : bool
        True if low noise is important.
    exposure : tuple[str, ...]
        Exposures at the site ("rain", "dust", "salt").
    temp_start : float
        Temperature at the coldest start [degC].
    hours_a_year : float
        Running hours per year.
    """

    quiet: bool = False
    exposure: tuple[str, ...] = ()
    temp_start: float = WARM_START
    hours_a_year: float = HOURS_A_YEAR


ORDINARY = Use()


def advise(stand: Stand, axial, ball: Suits, sleeve: Suits, use: Use, position=None):
    """Recommend a bearing type for an installed motor, based on the verdicts on both types.

    Parameters
    ----------
    stand : Stand
        Motor as installed.
    axial
        Samples of the axial load [N] due to weight and air thrust.
    use : Use
        Other conditions of use.
    position : optional
        Shaft position, by default the position in ``stand``.
    """
    position = position or stand.shaft_position
    thick = thick_when_cold(stand, use.temp_start)
    kind, code = _decided(ball, sleeve, position, thick, use)
    other = ball if ball.code == NOT_HERE and sleeve.code != NOT_HERE else sleeve
    reason = other.reason if code == "position" else Message(
        f"bearings.advice.{code}",
        other=other.reason,
        cold=Quantity(use.temp_start, "air_temperature", 0),
        grit=[Message(f"bearings.grit.{one}") for one in sorted(GRIT & set(use.exposure))],
        shaft=Message(f"bearings.shaft.{position}"),
        axial=Quantity(float(np.median(axial)), "force"),
    )  # fmt: skip
    return Advice(kind, code, reason)


class Advised(NamedTuple):
    """Verdicts on ``ball`` and ``sleeve`` bearings in an installation, and the ``advice``."""

    ball: Suits
    sleeve: Suits
    advice: Advice


def advise_for(
    shaft_position: str, temp_air, blade_mass: float, thrust: float, speed_rpm: float,
    use: Use = ORDINARY, motor_mass: float = MOTOR_MASS, seed: int = 0,
) -> Advised:  # fmt: skip
    """Return verdicts and advice for a typical motor with a half-inch shaft, from basic data.

    Parameters
    ----------
    shaft_position : str
        Shaft position, "up", "down" or "horizontal".
    temp_air
        Lower and upper limits of the air temperature [degC] at the motor on the design day.
    blade_mass, motor_mass : float
        Masses of the fan and the motor [kg].
    thrust : float
        Axial thrust from the air [N].
    speed_rpm : float
        Speed [rpm].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    facts = shaft_position, temp_air, blade_mass, thrust, speed_rpm
    stand = Stand.at(*facts, motor_mass=motor_mass, seed=seed)
    size = ball_bearing.DEEP_GROOVE_02[15]
    ball, sleeve = (
        suits(kind, stand, size, hours_a_year=use.hours_a_year) for kind in (BALL, SLEEVE)
    )
    blade, far = stand.met().loads
    return Advised(ball, sleeve, advise(stand, blade.axial + far.axial, ball, sleeve, use))


class BearingUse(NamedTuple):
    """Installation and use of the bearings.

    Attributes
    ----------
    temp_outdoor : float
        Outdoor temperature on the design day [degC].
    shaft_position : str
        Shaft position, as in a job.
    grade : float
        Balance grade of the fan [mm/s].
    mass_lost : float
        Mass missing at the blade tip [kg].
    discharge : str
        Air discharge direction.
    reliability : float
        Reliability for both bearing types, from 0.5 (median) to 0.9995.
    cleanliness : str
        Cleanliness class of the ball bearing interior.
    reference : Reference or None
        Reference life for sleeve bearings, entered by the user.
    quiet : bool
        True if low noise is important.
    exposure : tuple[str, ...]
        Exposures, as in a job's site data.
    temp_start : float
        Temperature at the coldest start [degC].
    hours_a_year : float
        Running hours per year.
    """

    temp_outdoor: float
    shaft_position: str = POSITION
    grade: float = GRADE
    mass_lost: float = 0.0
    discharge: str = "up"
    reliability: float = MEDIAN
    cleanliness: str = CLEANLINESS
    reference: Reference | None = None
    quiet: bool = False
    exposure: tuple[str, ...] = ()
    temp_start: float = WARM_START
    hours_a_year: float = HOURS_A_YEAR


class BearingPlace(NamedTuple):
    """Motor as installed on a job.

    Attributes
    ----------
    stand : Stand
        Motor as installed.
    temp_outdoor : float
        Outdoor temperature [degC] of the simulation.
    size : ball_bearing.BearingSize
        Size of the ball bearings that are, or could be, installed in the motor.
    """

    job: Job
    motor: CatalogMotor
    stand: Stand
    temp_outdoor: float
    size: ball_bearing.BearingSize

    @classmethod
    def of(cls, job: Job, motor: CatalogMotor) -> "BearingPlace":
        """Create a BearingPlace for ``motor``, simulated on ``job`` at the usual voltage.

        Raises
        ------
        InputError
            For the same reasons as in `simulate`.
        """
        simulation = simulate(job, (motor,), SAMPLES)
        stand = Stand.of(simulation, 0)
        outdoor = float(np.median(simulation.conditions.temp_outdoor))
        return cls(job, motor, stand, outdoor, size_of(motor, stand.shaft_diameter))

    @property
    def usual(self) -> BearingUse:
        """Bearing use under the job's conditions, with a fan that has been in service for years."""
        exposure = self.job.site.exposure
        return BearingUse(self.temp_outdoor, self.stand.shaft_position, exposure=exposure)


class Prices(NamedTuple):
    """Typical price of similar motors with each bearing type, or None if there are none."""

    ball: float | None
    sleeve: float | None
    currency: str


def prices(motor: CatalogMotor, catalog) -> Prices:
    """Return median catalog prices of motors with the same rating, poles and volts as ``motor``."""
    alike = [
        one for one in catalog
        if one.price is not None and one.currency == motor.currency and one.phase == motor.phase
        and one.poles == motor.poles and one.ratings[-1] == motor.ratings[-1]
        and one.voltage_high == motor.voltage_high
    ]  # fmt: skip
    found = {
        kind: [one.price for one in alike if one.bearings == kind] for kind in ("ball", "sleeve")
    }
    return Prices(
        *(float(np.median(each)) if each else None for each in found.values()), motor.currency
    )


class BothKinds(NamedTuple):
    """Life of both bearing types as 90 % ranges [h], and the bearing duty ``met``."""

    met: BearingDuty
    ball: Band
    sleeve: Band


@dataclass(frozen=True, eq=False)
class BearingStudy:
    """Comparison of both bearing types at ``place`` for the use ``asked``.

    Lives apply to the reliability in ``asked``. For sleeve bearings, they are only screening
    estimates.
    """

    place: BearingPlace
    asked: BearingUse
    prices: Prices

    @cached_property
    def met(self) -> BearingDuty:
        return self._met(self.asked)

    @cached_property
    def ball(self) -> Ball:
        return self._ball(self.asked)

    @cached_property
    def sleeve(self) -> SleeveLife:
        return self._sleeve(self.asked)

    @cached_property
    def bands(self) -> dict[str, Band]:
        """90 % ranges of the life of each bearing type and each failure mode [h]."""
        found = {
            "ball": self.ball.hours, "ball: grease": self.ball.grease,
            "ball: fatigue": self.ball.fatigue, "ball: fatigue, load alone": self.ball.basic,
            "sleeve": self.sleeve.hours, "sleeve: oil": self.sleeve.oil,
            "sleeve: wear of the bore": self.sleeve.bore,
            "sleeve: wear of the thrust washer": self.sleeve.washer,
        }  # fmt: skip
        return {name: Band.of(hours) for name, hours in found.items()}

    @cached_property
    def first(self) -> dict[str, float]:
        """Fraction of the samples in which each failure mode occurs first, by name in ``bands``."""
        return {
            f"{kind}: {name}": share
            for kind, found in (("ball", self.ball), ("sleeve", self.sleeve))
            for name, share in found.first.items()
        }

    @property
    def governing(self) -> tuple[str, str]:
        """Most common first failure mode of each bearing type, by name in ``bands``."""
        return f"ball: {self.ball.governed_by}", f"sleeve: {self.sleeve.governed_by}"

    @cached_property
    def across(self) -> tuple[np.ndarray, Band, Band]:
        """Outdoor temperatures [degC], and the life of ball and sleeve bearings at each."""
        temps = np.linspace(*TEMPS, STEPS)
        asked = self.asked._replace(temp_outdoor=temps[:, None])
        return temps, Band.of(self._ball(asked).hours), Band.of(self._sleeve(asked).hours)

    @cached_property
    def film(self) -> Bounds:
        """Oil film samples for the fan-end sleeve bearing, both with sufficient oil and starved."""
        return film(self.place.stand, self.met)

    @property
    def field(self) -> PressureField:
        """Ratio of pressure to mean pressure in the median oil film with sufficient oil."""
        eccentricity = float(np.median(self.film.flooded.eccentricity_ratio))
        length = float(np.median(bore_of(self.place.stand).length_to_diameter))
        return pressure_field(eccentricity, length)

    @property
    def positions(self) -> dict[str, BothKinds]:
        """Life of both bearing types with the shaft down, up and horizontal."""
        order = sorted(POSITIONS)  # down, horizontal, up
        return {name: self._pair(self.asked._replace(shaft_position=name)) for name in order}

    @property
    def balancing(self) -> dict[tuple[float, float], BothKinds]:
        """Life with the fan as entered, after years of service, balanced, and dented.

        The keys are the balance grade [mm/s] and the mass lost at the blade tip [kg].
        """
        asked = self.asked
        states = [(asked.grade, asked.mass_lost), (GRADE, 0.0), (BALANCED, 0.0)]
        states += [(BALANCED, lost) for lost in DENTS]
        return {
            state: self._pair(asked._replace(grade=state[0], mass_lost=state[1]))
            for state in dict.fromkeys(states)
        }

    @property
    def gains(self) -> dict[str, float]:
        """Fractional gain in life of each bearing type if the fan is balanced."""
        now, balanced = (
            self._pair(one)
            for one in (self.asked, self.asked._replace(grade=BALANCED, mass_lost=0.0))
        )
        return {
            kind: getattr(balanced, kind).mid / getattr(now, kind).mid - 1
            for kind in ("ball", "sleeve")
        }

    @property
    def as_grade(self) -> float:
        """Balance grade [mm/s] equivalent to the fan's total unbalance."""
        stand = self.place.stand
        grade = unbalance.grade_of(self.met.force, stand.blade_mass, stand.speed_rpm)
        return float(np.median(grade))

    @cached_property
    def suits(self) -> dict[str, Suits]:
        """Verdict on each bearing type, regardless of the reliability setting."""
        asked, allowed = self.asked, self.place.motor.shaft_positions
        found = {}
        for kind, life in (("ball", self._ball), ("sleeve", self._sleeve)):
            lives = (life(asked._replace(reliability=share)) for share in (MEDIAN, L10))
            found[kind] = judged(kind, self.met, *lives, allowed, asked.hours_a_year)
        return found

    @cached_property
    def advice(self) -> Advice:
        """Recommended bearing type and the reason."""
        asked, (blade, far) = self.asked, self.met.loads
        use = Use(asked.quiet, asked.exposure, asked.temp_start, asked.hours_a_year)
        return advise(
            self.place.stand, blade.axial + far.axial, *self.suits.values(), use,
            asked.shaft_position,
        )  # fmt: skip

    @cached_property
    def ratio(self) -> Band:
        """Ratio of ball bearing life to sleeve bearing life, calculated in each sample."""
        return Band.of(self.ball.hours / self.sleeve.hours)

    @property
    def state(self) -> str:
        """State of the comparison: "clear", "same" or "short".

        "short" means that neither bearing type is suitable, or that neither lasts a season at this
        temperature.
        """
        lasts = max(one.years.mid for one in self.suits.values())
        if self.advice.kind == NEITHER or lasts < SHORT:
            return "short"
        return "same" if self.advice.kind == EITHER else "clear"

    @property
    def forbidden(self) -> bool:
        """True if the catalog does not allow this shaft orientation."""
        allowed = self.place.motor.shaft_positions
        return bool(allowed) and self.asked.shaft_position not in allowed

    @property
    def without_film(self) -> float:
        """Fraction of the samples in which the fan-end sleeve bearing has no full oil film."""
        return float(np.mean(self.sleeve.film_rpm > self.met.speed_rpm))

    @property
    def overloaded(self) -> bool:
        """True if pressure times speed exceeds the limit of porous bronze."""
        return bool(np.median(self.sleeve.pv_washer) > 1 or np.median(self.sleeve.pv_bore) > 1)

    def _met(self, asked: BearingUse) -> BearingDuty:
        warmer = asked.temp_outdoor - self.place.temp_outdoor
        return self.place.stand.met(
            asked.shaft_position, asked.grade, asked.mass_lost, warmer, asked.discharge
        )

    def _ball(self, asked: BearingUse) -> Ball:
        place = self.place
        met = self._met(asked)
        return ball(place.stand, met, place.size, asked.reliability, asked.cleanliness)

    def _sleeve(self, asked: BearingUse) -> SleeveLife:
        met = self._met(asked)
        return sleeve(self.place.stand, met, asked.reference, asked.reliability)

    def _pair(self, asked: BearingUse) -> BothKinds:
        hours = self._ball(asked).hours, self._sleeve(asked).hours
        return BothKinds(self._met(asked), *map(Band.of, hours))


def years_of(hours: Band, hours_a_year: float) -> Band:
    """Convert ``hours`` [h] of continuous operation on the design day to years of service."""
    return hours.scaled(1 / (SEASON_OVER_DESIGN * hours_a_year))


def _decided(ball: Suits, sleeve: Suits, position, thick_oil, use: Use) -> tuple[str, str]:
    """Return the bearing type and the reason code from the first rule that applies."""
    barred = ball.code == NOT_HERE, sleeve.code == NOT_HERE
    if all(barred):
        return NEITHER, "neither"
    if any(barred):
        return (SLEEVE if barred[0] else BALL), "position"
    if thick_oil:
        return BALL, "cold"
    if GRIT & set(use.exposure):
        return BALL, "grit"
    if use.quiet and sleeve.code == SUITS:
        return SLEEVE, "quiet"
    enough = UNIT_LIFE * SEASON_OVER_DESIGN * use.hours_a_year
    useful = [min(one.median.mid, enough) for one in (ball, sleeve)]
    if useful[0] >= WORTH * useful[1]:
        return BALL, sleeve.governed_by
    if useful[1] >= WORTH * useful[0]:
        return SLEEVE, ball.governed_by
    if use.quiet:
        return SLEEVE, "quieter"
    if "rain" in use.exposure and position == "up":
        return BALL, "water"
    return (SLEEVE, "enough") if WORTH * min(useful) >= enough else (EITHER, "same")
