"""Ball and sleeve bearings side by side in one motor's place: hours, their drivers, which to take.

Both kinds get the same motor, fan, air, load, samples and reliability. A band of hours is the 90 %
range of the life at that reliability: what is not known about this motor. How single motors of one
make differ is in the reliability, not in the range.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.bearing_choice.advice import EITHER, NEITHER, WARM_START, Advice, Use, advise
from airover.bearing_choice.notes import Prices, notes
from airover.bearings.life import CLEANLINESS, Ball, ball, size_of
from airover.bearings.place import POSITION, TEMP_HIGH, Met, Stand
from airover.bearings.reliability import L10, MEDIAN
from airover.bearings.sleeve import Reference, SleeveLife, bore_of, film, sleeve
from airover.bearings.suits import HOURS_A_YEAR, SEASON_OVER_DESIGN, Suits, judged
from airover.motor.lifetime import LONGEST
from airover.motor.work import work
from airover.physics import ball_bearing, unbalance
from airover.physics.bearing_loads import POSITIONS
from airover.physics.sleeve_bearing import PressureField, pressure_field
from airover.physics.sleeve_running import Bounds
from airover.records import CatalogueMotor, Job
from airover.units import show

DRAWS = 100
TEMPS = (20.0, 55.0)  # degC outdoors, what a picture looks over
STEPS = 8
GRADE = 16.0  # mm/s, a blade after years
BALANCED = 6.3  # mm/s, a blade as it leaves the works
DENTS = (0.005, 0.02)  # kg, what a lost clip, or a bent corner, comes to
WORTH = 0.05  # of the hours: less is no gain
SHORT = 1.0  # year: one season
RARE = 0.01  # of the samples: not shown
_ENDS = {
    "grease": "aged grease", "fatigue": "fatigue", "oil": "aged oil",
    "bore": "wear of the bore", "thrust washer": "wear of the thrust washer",
}  # fmt: skip


class Asked(NamedTuple):
    """The place and the use: ``temp_outdoor`` [degC] on the design day, ``shaft_position``, balance
    ``grade`` [mm/s] of the blade and ``mass_lost`` [kg] at its tip; the air's ``discharge``;
    ``reliability`` 0.5 (median) to 0.9995 of both kinds; ``cleanliness`` inside ball bearings; the
    user's ``reference`` for sleeve bearings; ``quiet`` where noise matters; ``exposure`` as in a
    job's site; ``temp_start`` [degC] of the coldest start; ``hours_a_year`` [h] of running."""

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


class Place(NamedTuple):
    """A motor of a job: its ``stand``, the ``temp_outdoor`` [degC] at which it was worked, and the
    ``size`` of ball bearing that it has or would have."""

    job: Job
    motor: CatalogueMotor
    stand: Stand
    temp_outdoor: float
    size: ball_bearing.BearingSize

    @classmethod
    def of(cls, job: Job, motor: CatalogueMotor) -> "Place":
        """``motor`` worked on ``job`` at its usual voltage. Raises InputError as work does."""
        worked = work(job, (motor,), DRAWS)
        stand = Stand.of(worked, 0)
        outdoor = float(np.median(worked.conditions.temp_outdoor))
        return cls(job, motor, stand, outdoor, size_of(motor, stand.shaft_diameter))

    @property
    def usual(self) -> Asked:
        """The job as it is, with a blade after years."""
        exposure = self.job.site.exposure
        return Asked(self.temp_outdoor, self.stand.shaft_position, exposure=exposure)


class Both(NamedTuple):
    """Hours [h] of both kinds, bands, and what ``met`` them."""

    met: Met
    ball: Band
    sleeve: Band


@dataclass(frozen=True, eq=False)
class Study:
    """Both kinds in ``place`` as ``asked``; two of them are never equal. ``shown`` is "US" or
    "SI", the system of the texts. Hours of both kinds are those at the asked reliability; those of
    sleeve bearings are a screening estimate."""

    place: Place
    asked: Asked
    prices: Prices
    shown: str = "US"

    @cached_property
    def met(self) -> Met:
        return self._met(self.asked)

    @cached_property
    def ball(self) -> Ball:
        return self._ball(self.asked)

    @cached_property
    def sleeve(self) -> SleeveLife:
        return self._sleeve(self.asked)

    @cached_property
    def bands(self) -> dict[str, Band]:
        """Hours [h] of each kind and of each of its ends, 90 % ranges."""
        found = {
            "ball": self.ball.hours, "ball: grease": self.ball.grease,
            "ball: fatigue": self.ball.fatigue, "ball: fatigue, load alone": self.ball.basic,
            "sleeve": self.sleeve.hours, "sleeve: oil": self.sleeve.oil,
            "sleeve: bore": self.sleeve.bore, "sleeve: thrust washer": self.sleeve.washer,
        }  # fmt: skip
        return {name: Band.of(hours) for name, hours in found.items()}

    @cached_property
    def first(self) -> dict[str, float]:
        """Share of the samples in which each end of a kind, by its name in ``bands``, is first."""
        return {
            f"{kind}: {name.removeprefix('wear of the ')}": share
            for kind, found in (("ball", self.ball), ("sleeve", self.sleeve))
            for name, share in found.first.items()
        }

    @property
    def governing(self) -> tuple[str, str]:
        """The first end of each kind in most of the samples, by its name in ``bands``."""
        ends = self.ball.governed_by, self.sleeve.governed_by.removeprefix("wear of the ")
        return f"ball: {ends[0]}", f"sleeve: {ends[1]}"

    @cached_property
    def across(self) -> tuple[np.ndarray, Band, Band]:
        """Outdoor temperatures [degC] and there the hours of ball and of sleeve bearings."""
        temps = np.linspace(*TEMPS, STEPS)
        asked = self.asked._replace(temp_outdoor=temps[:, None])
        return temps, Band.of(self._ball(asked).hours), Band.of(self._sleeve(asked).hours)

    @cached_property
    def film(self) -> Bounds:
        """The oil film in the blade's sleeve bearing, flooded and starved, draws."""
        return film(self.place.stand, self.met)

    @property
    def field(self) -> PressureField:
        """Pressure in the middle one of these films, with oil enough; over the mean pressure."""
        eccentricity = float(np.median(self.film.flooded.eccentricity_ratio))
        length = float(np.median(bore_of(self.place.stand).length_to_diameter))
        return pressure_field(eccentricity, length)

    @property
    def positions(self) -> dict[str, Both]:
        """The same with the shaft down, up and horizontal."""
        order = sorted(POSITIONS)  # down, horizontal, up
        return {name: self._pair(self.asked._replace(shaft_position=name)) for name in order}

    @property
    def balancing(self) -> dict[str, Both]:
        """The blade as asked, balanced, and with a dent."""
        asked = self.asked
        states = [(asked.grade, asked.mass_lost), (GRADE, 0.0), (BALANCED, 0.0)]
        states += [(BALANCED, lost) for lost in DENTS]
        return {
            _blade(*state): self._pair(asked._replace(grade=state[0], mass_lost=state[1]))
            for state in dict.fromkeys(states)
        }

    @property
    def bought(self) -> str:
        """Gain from balancing the blade, a sentence."""
        now, balanced = (
            self._pair(one)
            for one in (self.asked, self.asked._replace(grade=BALANCED, mass_lost=0.0))
        )
        gains = [
            getattr(balanced, kind).mid / getattr(now, kind).mid - 1 for kind in ("ball", "sleeve")
        ]
        if max(gains) < WORTH:
            return (
                f"Balancing the blade to G {BALANCED:g} adds no bearing hours here; it makes the "
                "unit quieter and spares blade, guard and joints."
            )
        told = (f"{100 * gain:.0f} % for {kind}" for kind, gain in zip(("ball", "sleeve"), gains))
        return f"Balancing the blade to G {BALANCED:g} adds hours: {', '.join(told)} bearings."

    @property
    def as_grade(self) -> float:
        """Balance grade [mm/s] that the blade's whole unbalance comes to."""
        stand = self.place.stand
        grade = unbalance.grade_of(self.met.force, stand.blade_mass, stand.speed_rpm)
        return float(np.median(grade))

    @cached_property
    def suits(self) -> dict[str, Suits]:
        """Verdict on each kind in this place, whatever reliability is asked for the hours."""
        asked, allowed = self.asked, self.place.motor.shaft_positions
        found = {}
        for kind, life in (("ball", self._ball), ("sleeve", self._sleeve)):
            lives = (life(asked._replace(reliability=share)) for share in (MEDIAN, L10))
            found[kind] = judged(kind, self.met, *lives, allowed, asked.hours_a_year)
        return found

    @cached_property
    def advice(self) -> Advice:
        """The kind to take, and why."""
        asked, (blade, far) = self.asked, self.met.loads
        use = Use(asked.quiet, asked.exposure, asked.temp_start, asked.hours_a_year)
        return advise(
            self.place.stand, blade.axial + far.axial, *self.suits.values(), use,
            asked.shaft_position, self.shown,
        )  # fmt: skip

    @cached_property
    def ratio(self) -> Band:
        """Hours of ball bearings over those of sleeve bearings in the same sample."""
        return Band.of(self.ball.hours / self.sleeve.hours)

    @property
    def state(self) -> str:
        """ "clear", "same", or "short": no kind suits, or neither lasts a season at this heat."""
        lasts = max(one.years.mid for one in self.suits.values())
        if self.advice.kind == NEITHER or lasts < SHORT:
            return "short"
        return "same" if self.advice.kind == EITHER else "clear"

    @property
    def verdict(self) -> str:
        """The recommendation with its reason."""
        advice = self.advice
        take = "" if advice.kind in (EITHER, NEITHER) else f"Take {advice.kind} bearings. "
        return f"{take}{advice.reason}"

    @property
    def compared(self) -> str:
        """Hours of both kinds and their ratio, a sentence."""
        ball, sleeve = (middle_text(self.bands[kind]) for kind in ("ball", "sleeve"))
        low, mid, high = (f"{end:.1g}" if end < 0.95 else f"{end:.2g}" for end in self.ratio)
        return (
            f"{share_text(self.asked.reliability)} reach {ball} with ball bearings and {sleeve} "
            "with sleeve bearings, running without pause at this heat: ball bearings last "
            f"{mid} times as long ({low}-{high})."
        )

    @property
    def facts(self) -> list[str]:
        """Hours, heat, loads, and what governs each kind."""
        blade, far = self.met.loads
        temps = [show(float(np.median(one)), "temperature", self.shown, 0) for one in self.met.temp]
        return [
            self.compared,
            f"Bearings at {temps[0]} (blade's end) and {temps[1]}.",
            (
                f"The blade's bearing carries {_newtons(blade.radial)} across and "
                f"{_newtons(blade.axial)} along the shaft, the far one {_newtons(far.radial)} and "
                f"{_newtons(far.axial)}."
            ),
            *(one.sentence for one in self.suits.values()),
            f"Ball bearings end by {self._told_first('ball')}.",
            f"Sleeve bearings (screening estimate) end by {self._told_first('sleeve')}.",
        ]

    def _told_first(self, kind: str) -> str:
        """First ends of a kind with their shares of the samples; the rare left out."""
        shares = {name: share for name, share in self.first.items() if name.startswith(kind)}
        order = sorted(shares, key=shares.get, reverse=True)
        return " or ".join(
            f"{_ENDS[name.partition(': ')[2]]} ({100 * shares[name]:.0f} %)"
            for name in order if shares[name] >= RARE
        )  # fmt: skip

    @property
    def warnings(self) -> list[str]:
        """Facts against one kind or against the estimate."""
        told, motor, position = [], self.place.motor, self.asked.shaft_position
        if motor.shaft_positions and position not in motor.shaft_positions:
            allowed = " or ".join(motor.shaft_positions)
            told.append(f"The catalog allows this motor shaft {allowed} only.")
        if self.ball.skids:
            told.append(
                f"The blade's ball bearing carries {_newtons(self.ball.load)}, less than the "
                f"{self.ball.load_least:.0f} N that keeps its balls rolling: without a spring "
                "washer behind it they may skid, which no life equation covers."
            )
        if np.median(self.sleeve.pv_washer) > 1 or np.median(self.sleeve.pv_bore) > 1:
            told.append("Pressure times speed is beyond what porous bronze can carry.")
        without = float(np.mean(self.sleeve.film_rpm > self.met.speed_rpm))
        if without > 0:
            told.append(
                f"In {100 * without:.0f} % of the samples the blade's sleeve bearing has no full "
                "film at this speed and wears all the time."
            )
        if np.median(np.maximum(*self.met.temp)) >= TEMP_HIGH:
            hottest = show(TEMP_HIGH, "temperature", self.shown, 0)
            told.append(f"The bearings would be hotter than {hottest}: hours hold for that.")
        return told

    @property
    def notes(self) -> list[str]:
        """Facts beside hours that decide."""
        return notes(self.ball.safety, self.prices)

    def _met(self, asked: Asked) -> Met:
        warmer = asked.temp_outdoor - self.place.temp_outdoor
        return self.place.stand.met(
            asked.shaft_position, asked.grade, asked.mass_lost, warmer, asked.discharge
        )

    def _ball(self, asked: Asked) -> Ball:
        place = self.place
        met = self._met(asked)
        return ball(place.stand, met, place.size, asked.reliability, asked.cleanliness)

    def _sleeve(self, asked: Asked) -> SleeveLife:
        met = self._met(asked)
        return sleeve(self.place.stand, met, asked.reference, asked.reliability)

    def _pair(self, asked: Asked) -> Both:
        hours = self._ball(asked).hours, self._sleeve(asked).hours
        return Both(self._met(asked), *map(Band.of, hours))


def lambdas(films: Bounds) -> tuple[Band, Band]:
    """Film thickness over roughness, with oil enough and starved."""
    return tuple(Band.of(one.lambda_ratio) for one in films)


def _blade(grade: float, lost: float) -> str:
    return f"G {grade:g}" + (f", {1000 * lost:.0f} g lost at the tip" if lost else "")


def share_text(reliability: float) -> str:
    """The share of motors that reach a life: "Half of such motors"."""
    if reliability == MEDIAN:
        return "Half of such motors"
    return f"{100 * reliability:g} of 100 such motors"


def years_of(hours: Band, hours_a_year: float) -> Band:
    """Years of service for ``hours`` [h] at the design heat without pause."""
    return hours.scaled(1 / (SEASON_OVER_DESIGN * hours_a_year))


def hours_text(band: Band) -> str:
    """A 90 % range of hours, two figures: "1,500-3,800 h"; no figure above LONGEST."""
    if band.low >= LONGEST:
        return f"over {LONGEST:,.0f} h"
    low, high = _two_figures(band.low), _two_figures(band.high)
    if band.high >= LONGEST:
        return f"{low} h and more"
    return f"{low}-{high} h" if low != high else f"{low} h"


def middle_text(band: Band) -> str:
    """The median with its 90 % range: "2,000 h (1,500-3,800)"."""
    if band.mid >= LONGEST:
        return hours_text(band)
    high = "more" if band.high >= LONGEST else _two_figures(band.high)
    return f"{_two_figures(band.mid)} h ({_two_figures(band.low)}-{high})"


def _two_figures(hours: float) -> str:
    return f"{float(f'{hours:.2g}'):,.0f}"


def _newtons(draws) -> str:
    return f"{float(np.median(draws)):.0f} N"
