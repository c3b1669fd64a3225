"""Ball and sleeve bearings in the place of one motor, side by side: hours, what moves them, which.

Same motor, blade, air, load and draws for both kinds, so that they differ by what they are.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.bearing_choice.notes import Prices, notes
from airover.bearings.life import CLEANLINESS, Ball, ball
from airover.bearings.place import POSITION, TEMP_HIGH, Met, Stand
from airover.bearings.sleeve import Reference, SleeveLife, bore_of, film, sleeve
from airover.choose.load import HOURS_A_YEAR
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
SHORT = HOURS_A_YEAR  # h of running: one season
RARE = 0.01  # of the cases: not told
_ENDS = {
    "grease": "the grease", "fatigue": "fatigue", "oil": "the oil",
    "bore": "wear of the bore", "thrust washer": "wear of the thrust washer",
}  # fmt: skip


class Asked(NamedTuple):
    """What is to be compared: ``temp_outdoor`` [degC], ``shaft_position``, balance ``grade`` [mm/s]
    of the blade and ``mass_lost`` [kg] at its tip; the air's ``discharge``; for ball bearings
    ``reliability`` and ``cleanliness``; for sleeve bearings the user's ``reference``."""

    temp_outdoor: float
    shaft_position: str = POSITION
    grade: float = GRADE
    mass_lost: float = 0.0
    discharge: str = "up"
    reliability: float = 0.9
    cleanliness: str = CLEANLINESS
    reference: Reference | None = None


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
        return cls(job, motor, stand, outdoor, _size(motor, stand))

    @property
    def usual(self) -> Asked:
        """The job as it is, with a blade after years."""
        return Asked(self.temp_outdoor, self.stand.shaft_position)


def _size(motor: CatalogueMotor, stand: Stand) -> ball_bearing.BearingSize:
    """The catalogue's, else the next of series 02 above the shaft."""
    bores = sorted(ball_bearing.DEEP_GROOVE_02)
    bore = round((motor.bearing_bore or 0) * 1000)
    if bore not in bores:
        shaft = 1000 * stand.shaft_diameter
        bore = next((one for one in bores if one > shaft), bores[-1])
    return ball_bearing.DEEP_GROOVE_02[bore]


class Both(NamedTuple):
    """Hours [h] of both kinds, bands, and what ``met`` them."""

    met: Met
    ball: Band
    sleeve: Band


@dataclass(frozen=True, eq=False)
class Study:
    """Both kinds in ``place`` as ``asked``; two of them are never equal. ``shown`` is "US" or
    "SI", the system of the texts. Hours of ball bearings are those that the asked share of pairs
    reaches; those of sleeve bearings are a screening estimate."""

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
        """Hours [h] of each kind and of what ends it."""
        found = {
            "ball": self.ball.hours, "ball: grease": self.ball.grease,
            "ball: fatigue": self.ball.fatigue, "ball: fatigue, load alone": self.ball.basic,
            "sleeve": self.sleeve.hours, "sleeve: oil": self.sleeve.oil,
            "sleeve: bore": self.sleeve.bore, "sleeve: thrust washer": self.sleeve.washer,
        }  # fmt: skip
        return {name: Band.of(hours) for name, hours in found.items()}

    @cached_property
    def first(self) -> dict[str, float]:
        """In which share of the cases each end of a kind, by its name in ``bands``, comes first."""
        return {
            f"{kind}: {name.removeprefix('wear of the ')}": share
            for kind, found in (("ball", self.ball), ("sleeve", self.sleeve))
            for name, share in found.first.items()
        }

    @property
    def governing(self) -> tuple[str, str]:
        """What ends each kind first in most of the cases, by its name in ``bands``."""
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
        """What balancing the blade buys, in a sentence."""
        now, balanced = (
            self._pair(one)
            for one in (self.asked, self.asked._replace(grade=BALANCED, mass_lost=0.0))
        )
        gains = [
            getattr(balanced, kind).mid / getattr(now, kind).mid - 1 for kind in ("ball", "sleeve")
        ]
        if max(gains) < WORTH:
            return (
                f"Balancing the blade to G {BALANCED:g} buys no bearing hours here; it buys quiet, "
                "and rest for blade, guard and joints."
            )
        told = (f"{100 * gain:.0f} % for {kind}" for kind, gain in zip(("ball", "sleeve"), gains))
        return f"Balancing the blade to G {BALANCED:g} buys hours: {', '.join(told)} bearings."

    @property
    def as_grade(self) -> float:
        """Balance grade [mm/s] that the blade's whole unbalance comes to."""
        stand = self.place.stand
        grade = unbalance.grade_of(self.met.force, stand.blade_mass, stand.speed_rpm)
        return float(np.median(grade))

    @property
    def choice(self) -> str:
        """ "ball", "sleeve", or "same": each kind's middle lies within the other's band."""
        one, other = self.bands["ball"], self.bands["sleeve"]
        if other.low <= one.mid <= other.high and one.low <= other.mid <= one.high:
            return "same"
        return "ball" if one.mid > other.mid else "sleeve"

    @property
    def state(self) -> str:
        """ "clear", "same" or "short": neither lasts a season at this heat."""
        if max(self.bands["ball"].mid, self.bands["sleeve"].mid) < SHORT:
            return "short"
        return "same" if self.choice == "same" else "clear"

    @property
    def verdict(self) -> str:
        """The recommendation in one sentence, with its reason."""
        hours = {kind: hours_text(self.bands[kind]) for kind in ("ball", "sleeve")}
        if self.choice == "same":
            return (
                f"No difference worth the money here: ball bearings {hours['ball']} without pause "
                f"at this heat, sleeve bearings {hours['sleeve']}; what is not known is wider than "
                "what parts them."
            )
        better, worse = self.choice, {"ball": "sleeve", "sleeve": "ball"}[self.choice]
        first = self.governing[worse == "sleeve"].partition(": ")[2]
        return (
            f"Take {better} bearings: {hours[better]} without pause at this heat, against "
            f"{hours[worse]} of {worse} bearings, which the {first} ends first."
        )

    @property
    def facts(self) -> list[str]:
        """Heat, loads, and what governs each kind."""
        blade, far = self.met.loads
        temps = [show(float(np.median(one)), "temperature", self.shown, 0) for one in self.met.temp]
        return [
            f"Bearings at {temps[0]} (blade's end) and {temps[1]}.",
            (
                f"The blade's bearing carries {_newtons(blade.radial)} across and "
                f"{_newtons(blade.axial)} along the shaft, the far one {_newtons(far.radial)} and "
                f"{_newtons(far.axial)}."
            ),
            f"Ball: {self._told_first('ball')}.",
            f"Sleeve (screening estimate, no standard): {self._told_first('sleeve')}.",
        ]

    def _told_first(self, kind: str) -> str:
        """What ends a kind first, and how often; the rare left out."""
        shares = {name: share for name, share in self.first.items() if name.startswith(kind)}
        order = sorted(shares, key=shares.get, reverse=True)
        told = [
            f"{_ENDS[name.partition(': ')[2]]} in {100 * shares[name]:.0f}"
            for name in order if shares[name] >= RARE
        ]  # fmt: skip
        return f"{', '.join(told)} of 100 cases ends it first"

    @property
    def warnings(self) -> list[str]:
        """What stands against one kind or against the estimate."""
        told, motor, position = [], self.place.motor, self.asked.shaft_position
        if motor.shaft_positions and position not in motor.shaft_positions:
            allowed = " or ".join(motor.shaft_positions)
            told.append(f"The catalogue allows this motor shaft {allowed} only.")
        if self.ball.skids:
            told.append(
                f"The blade's ball bearing carries {_newtons(self.ball.load)}, less than the "
                f"{self.ball.load_least:.0f} N that keeps its balls rolling: without a spring "
                "washer behind it they may skid, which no life equation covers."
            )
        if np.median(self.sleeve.pv_washer) > 1 or np.median(self.sleeve.pv_bore) > 1:
            told.append("Pressure times speed is beyond what porous bronze bears.")
        without = float(np.mean(self.sleeve.film_rpm > self.met.speed_rpm))
        if without > 0:
            told.append(
                f"In {100 * without:.0f} of 100 cases the blade's sleeve bearing has no full film "
                "at this speed and wears all the time."
            )
        if np.median(np.maximum(*self.met.temp)) >= TEMP_HIGH:
            hottest = show(TEMP_HIGH, "temperature", self.shown, 0)
            told.append(f"The bearings would be hotter than {hottest}: hours hold for that.")
        return told

    @property
    def notes(self) -> list[str]:
        """What decides beside hours."""
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
        return sleeve(self.place.stand, self._met(asked), asked.reference)

    def _pair(self, asked: Asked) -> Both:
        hours = self._ball(asked).hours, self._sleeve(asked).hours
        return Both(self._met(asked), *map(Band.of, hours))


def lambdas(films: Bounds) -> tuple[Band, Band]:
    """Film thickness over roughness, with oil enough and starved."""
    return tuple(Band.of(one.lambda_ratio) for one in films)


def _blade(grade: float, lost: float) -> str:
    return f"G {grade:g}" + (f", {1000 * lost:.0f} g lost at the tip" if lost else "")


def hours_text(band: Band) -> str:
    """Hours as people say them, two figures: "1,500 to 3,800 h"; no figure above LONGEST."""
    if band.low >= LONGEST:
        return f"beyond {LONGEST:,.0f} h"
    low, high = (float(f"{end:.2g}") for end in (band.low, band.high))
    if band.high >= LONGEST:
        return f"{low:,.0f} h and more"
    return f"{low:,.0f} to {high:,.0f} h" if low < high else f"{low:,.0f} h"


def _newtons(draws) -> str:
    return f"{float(np.median(draws)):.0f} N"
