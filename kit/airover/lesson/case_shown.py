"""Show the outcome of a student's choice as text and a figure.

The figure shows amps vs. voltage, temperatures with their limits, and service lives in years. The
text is in the reader's language and units.
"""

from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.core.texts import NO_BREAK, Writer
from airover.core.units import Amount
from airover.lesson.case import (
    BEFORE,
    HOT,
    START,
    UNDONE,
    UNREAD,
    WHEN,
    WORK,
    Graded,
    Lesson,
    Outcome,
)
from airover.model.simulation import LOW, USUAL
from airover.records.catalog import CatalogMotor
from airover.records.lesson import Story
from airover.reports.drawing import (
    LINE,
    SHADE,
    THIN,
    WIDE,
    Figure,
    beside,
    frame,
    note,
    title,
    unframed,
)
from airover.reports.palette import INK, PALE
from airover.selection.check import ADAPT, MISSING, Check
from airover.selection.rules import Candidate

SIZE = (WIDE, 5.9)  # inches
MOST_YEARS = 40.0  # years, end of the axis
LONGEST_YEARS = 40  # years; longer lives are displayed as "more than"
TRIPS = 1.0  # h per year; fewer hours are not mentioned
_KINDS = {
    "voltage": "voltage", "frequency": "frequency", "power": "power", "current": "current",
    "speed": "speed", "capacitor": "capacitance", "ambient_rating": "air_temperature",
    "shaft_length": "shaft_length",
}  # fmt: skip


class Sweep(NamedTuple):
    """Current vs. voltage.

    Attributes
    ----------
    voltage : ndarray
        Supply voltages [V].
    current : Band
        Current at each voltage [A].
    line : tuple[float, float, float]
        Low, usual and high supply voltage [V].
    plate : float
        Nameplate amps [A].
    """

    voltage: np.ndarray
    current: Band
    line: tuple[float, float, float]
    plate: float


class Rung(NamedTuple):
    """Temperature in the ladder plot, in the display unit.

    Attributes
    ----------
    name : str
        Display name.
    band : Band
        90 % range.
    limit : float or None
        Temperature limit, or None if there is none.
    word : str
        Label of the limit, or "" if there is none.
    """

    name: str
    band: Band
    limit: float | None = None
    word: str = ""


class LifeBar(NamedTuple):
    """Life of one part [years].

    Attributes
    ----------
    name : str
        Display name.
    band : Band or None
        90 % range, or None if unknown.
    word : str
        Reason to display if the life is unknown.
    """

    name: str
    band: Band | None
    word: str = ""


def choice(sweep: Sweep, ladder: list[Rung], years: list[LifeBar], words: dict[str, str]) -> Figure:
    """Plot amps vs. voltage, the temperatures with their limits, and the service lives.

    Parameters
    ----------
    words : dict[str, str]
        Labels with the keys amps, volts_axis, amps_axis, plate, line, ladder, temp_axis, years and
        years_axis.
    """
    figure = Figure(figsize=SIZE, layout="constrained")
    amps, temps, lives = figure.subplots(3, 1, height_ratios=(1.35, 1.1, 0.75))
    _amps(amps, sweep, words)
    _ladder(temps, ladder, words)
    _years(lives, years, words)
    for axes in (amps, temps, lives):
        frame(axes, "both" if axes is amps else "x")
    unframed(temps, "y")
    unframed(lives, "y")
    return figure


class Told:
    """Text about lessons and outcomes.

    Parameters
    ----------
    language : str, optional
        Language, "en" or "es".
    system : str, optional
        Unit system, "US" or "SI".
    """

    def __init__(self, language: str = "en", system: str = "US"):
        self.said = Writer(language, system, signs=True)
        self.texts = self.said.texts

    def __call__(self, key: str, **values) -> str:
        """Return the lesson message for a given key."""
        return self.texts(f"lesson_case.{key}", **values)

    def story(self, lesson: Lesson) -> Story:
        return lesson.case.story(self.texts.language)

    def offered(self, motor: CatalogMotor) -> str:
        """Return a one-line description of a motor on the short list."""
        price = self("no_price")
        if motor.price is not None:
            price = f"{motor.price:,.0f}{NO_BREAK}{motor.currency}"
        volts = " - ".join(f"{v:g}" for v in sorted({motor.voltage_low, motor.voltage_high}))
        rating = self.said.amount(motor.ratings[-1], "power")
        return self(
            "offered", motor=motor.model, rating=rating, poles=motor.poles, volts=volts, price=price
        )

    def known(self, one: Graded) -> str:
        """Return the legible value of a field, as marked and in the reader's unit."""
        if not isinstance(one.known, Amount):
            return self.texts.word(str(one.known))
        kind = _KINDS[one.field]
        written = self.said.set(one.known.text)
        shown = self.said.range(one.known.low, one.known.high, kind)
        return (
            written if written.split()[-1] in shown else self.texts("of", one=written, more=shown)
        )

    def grade(self, one: Graded) -> str:
        """Return the grade for a student's entry as one sentence."""
        known = "" if one.known is None else self.known(one)
        return self(f"grade.{one.state}", known=known)

    def years(self, band: Band | None) -> str:
        """Format a range of whole years, up to LONGEST_YEARS."""
        if band is None:
            return self("none")
        low, high = map(self._year, (band.low, band.high))
        return low if low == high else self.texts("to", low=low, high=high)

    def _year(self, end: float) -> str:
        if end > LONGEST_YEARS:
            return self("fact.more", years=LONGEST_YEARS)
        return self("fact.less") if end < 1 else f"{end:.0f}"

    def percent(self, band: Band) -> str:
        ends = [f"{100 * end:.0f}{NO_BREAK}%" for end in (band.low, band.high)]
        return ends[0] if ends[0] == ends[1] else self.texts("to", low=ends[0], high=ends[1])

    def of(self, outcome: Outcome) -> "ToldOutcome":
        return ToldOutcome(self, outcome)


class ToldOutcome:
    """Text about one ``outcome``."""

    def __init__(self, told: Told, outcome: Outcome):
        self.told, self.outcome = told, outcome

    @cached_property
    def values(self) -> dict[str, str]:
        """Values for the messages, in the reader's language and units."""
        return {**self._loads(), **self._heat(), **self._motor()}

    def _amount(self, value, kind: str) -> str:
        """Format a number or band as text, with a note for a motor that was not simulated."""
        return self.told("none") if value is None else self.told.said.amount(value, kind)

    def _loads(self) -> dict[str, str]:
        case, said, asked = self.outcome.case, self.told.said, self.outcome.case.conditions
        plate, speed_ratio = case.job.nameplate.current, case.band("speed_ratio")
        low = case.band("current_a", LOW)
        return {
            "amps": self._amount(case.current if self.outcome.runs_up else low, "current"),
            "plate": said.amount(case.rated_current, "current"),
            "old_amps": self._amount(plate and plate.mid, "current"),
            "volts": said.amount(float(asked.voltage[USUAL]), "voltage"),
            "rpm": self._amount(case.speed_rpm, "speed"),
            "low_rpm": self._amount(case.band("speed_rpm", LOW), "speed"),
            "old_rpm": said.amount(Band.of(asked.speed_rpm), "speed"),
            "stalls": f"{100 * self.outcome.stalls:.0f}",
            "flow": self.told("none") if speed_ratio is None else self.told.percent(speed_ratio),
            "needed": said.amount(case.needed_power, "watts"),
            "watts": said.amount(case.rating, "watts"),
        }

    def _heat(self) -> dict[str, str]:
        outcome, ladder = self.outcome, self.outcome.ladder
        temps = {name: ladder[name] for name in ("outdoor", "air", "winding")}
        limits = {
            "allowed": outcome.allowed,
            "trip": outcome.trip,
            "found_limit": outcome.case.motor.ambient_rating,
        }
        return {name: self._amount(temp, "temperature") for name, temp in (temps | limits).items()}

    def _motor(self) -> dict[str, str]:
        motor = self.outcome.case.motor
        sizes = {
            "shaft": (motor.shaft_length, "shaft_length"),
            "body": (motor.body_length, "body_length"),
            "capacitor": (motor.capacitor, "capacitance"),
        }
        shown = {name: self._amount(value, kind) for name, (value, kind) in sizes.items()}
        letter = motor.insulation_class or self.told("none")
        return shown | {"letter": letter, "motor": motor.model}

    @property
    def verdict(self) -> str:
        return self.told(f"verdict.{self.outcome.when}")

    @property
    def word(self) -> str:
        """Verdict in two or three words for a table."""
        return self.told(f"word.{self.outcome.when}")

    @property
    def moment(self) -> str:
        return self.told(f"moment.{self.outcome.when}")

    @property
    def decides(self) -> str:
        """Sentence about the check that determines the verdict."""
        outcome = self.outcome
        if outcome.failed:
            return self.happens(outcome.failed[0][1])
        if outcome.when == UNDONE:
            return self.forgot(outcome.forgotten[0])
        if outcome.when == UNREAD:
            return self.open[0]
        return self.amps

    @property
    def happened(self) -> list[tuple[str, list[str]]]:
        """Return the name of each point at which failures are discovered, with its events."""
        return [
            (self.told(f"moment.{when}"), sentences)
            for when in WHEN
            if (sentences := [self.happens(c) for at, c in self.outcome.failed if at == when])
        ]

    def happens(self, check: Check) -> str:
        """Return the consequence of a failed check."""
        of_check = {name: self.told.said.value(value) for name, value in check.values.items()}
        return self.told(f"happens.{check.name}", **self.values | of_check)

    @property
    def figures(self) -> list[str]:
        """Return sentences about amps, heat, trips, service life and cost."""
        return [self.amps, self.heat, *self._trips(), *self._years(), *self._money()]

    @property
    def amps(self) -> str:
        case = self.outcome.case
        if not self.outcome.runs_up:
            return self.told("fact.amps_stuck", **self.values | {"rpm": self.values["low_rpm"]})
        over = case.current.high > case.rated_current
        return self.told("fact.amps_over" if over else "fact.amps", **self.values)

    @property
    def heat(self) -> str:
        key = "heat" if self.outcome.runs_up else "heat_stuck"
        unknown = "_unknown" if self.outcome.allowed is None else ""
        return self.told(f"fact.{key}{unknown}", **self.values)

    def _trips(self) -> list[str]:
        hours = self.outcome.hours_above
        if hours is None or hours.high < TRIPS:
            return []
        ends = [self.told.said.amount(x, "two_digits") for x in (hours.low, hours.high)]
        return [self.told("fact.trips", hours=self.told.texts("to", low=ends[0], high=ends[1]))]

    def _years(self) -> list[str]:
        if not self.outcome.runs_up:
            return [self.told("fact.no_years")]
        kind = self.told.texts.word(self.outcome.case.motor.bearings or "unknown")
        return [
            self.told(f"fact.{part}", years=self.told.years(band), kind=kind)
            for part, band in self.outcome.lives.items()
        ]

    def _money(self) -> list[str]:
        """Return a sentence about the life-cycle cost, or the loss if the motor is removed."""
        cost, motor, when = self.outcome.cost, self.outcome.case.motor, self.outcome.when
        if cost is not None:
            money = self.told.said.money(cost.band, cost.currency, 2)
            return [self.told("fact.money", money=money, years=cost.horizon)]
        if when == BEFORE:
            return [self.told("fact.back")]
        if when not in (START, HOT):
            return []
        if motor.price is None:
            return [self.told("fact.lost_unknown")]
        price = f"{motor.price:,.0f}{NO_BREAK}{motor.currency}"
        return [self.told("fact.lost", price=price)]

    @property
    def works(self) -> list[str]:
        """Return sentences about forgotten, correct and unnecessary tasks."""
        outcome = self.outcome
        if outcome.when == BEFORE:
            return []
        done = [work for work in outcome.needed if work in outcome.done]
        return [
            *(self.forgot(work) for work in outcome.forgotten),
            *(self.told(f"done.{work}", **self.values) for work in done),
            *(self.told(f"unneeded.{work}") for work in outcome.unneeded),
        ]

    def forgot(self, work: str) -> str:
        """Return the consequence of a forgotten task."""
        kept = self.outcome.kept
        if work != "capacitor" or kept is None:
            return self.told(f"forgot.{work}", **self.values)
        said = self.told.said
        return self.told(
            "forgot.capacitor_other",
            old=said.amount(kept.old, "capacitance"),
            capacitor=self.values["capacitor"],
            kept_amps=said.amount(kept.current, "current"),
            kept_winding=said.amount(kept.winding, "temperature"),
            kept_starts=f"{100 * kept.starts:.0f}",
        )

    @property
    def open(self) -> list[str]:
        """Return the open questions."""
        return [self.told.said(one.why) for one in self.outcome.candidate.having(MISSING)]

    @property
    def checks(self) -> list[tuple[str, str, str]]:
        """Return the name, explanation and result of every check."""
        return [self.told.said.check(check) for check in self.outcome.candidate.checks]

    @property
    def compared(self) -> list[str]:
        """Return sentences that compare this motor with the best choices."""
        best = self.outcome.lesson.best
        if not best:
            return [self.told("compared.nothing")]
        if self.outcome.is_best:
            others = [c.case.motor.model for c in best if c is not self.outcome.candidate]
            also = [self.told("compared.several", motors=", ".join(others))] if others else []
            return [self.told("compared.is_best"), *also]
        return [self._best(candidate) for candidate in best]

    def _best(self, candidate: Candidate) -> str:
        best = self.outcome.lesson.choose(candidate.case.motor.name, WORK)
        values = self.told.of(best).values
        return self.told(
            "compared.best",
            motor=values["motor"],
            amps=values["amps"],
            winding=values["winding"],
            bearing=self.told.years(best.lives.get("bearing")),
            adapt=len(candidate.having(ADAPT)),
            missing=len(candidate.having(MISSING)),
        )


def _amps(axes, sweep: Sweep, words) -> None:
    low, mid, high = sweep.current
    axes.fill_between(sweep.voltage, low, high, **SHADE)
    axes.plot(sweep.voltage, mid, color=INK, lw=LINE)
    axes.axhline(sweep.plate, color=INK, ls="--", lw=THIN)
    bottom, top = min(low.min(), sweep.plate), max(high.max(), sweep.plate)
    room = max(top - bottom, 0.1 * top)
    axes.set(ylim=(bottom - 0.35 * room, top + 0.2 * room), ylabel=words["amps_axis"])
    axes.set(xlim=(sweep.voltage[0], sweep.voltage[-1]), xlabel=words["volts_axis"])
    title(axes, words["amps"])
    beside(axes, words["plate"], sweep.plate)
    at_foot = axes.get_xaxis_transform()
    axes.plot(sweep.line[::2], [0.06, 0.06], "|-", color=INK, lw=THIN, ms=8, transform=at_foot)
    axes.plot(sweep.line[1], 0.06, "o", color=INK, ms=4, transform=at_foot)
    sides = {"ha": "right", "va": "center", "xycoords": at_foot}
    note(axes, words["line"], (sweep.line[0], 0.06), (-6, 0), **sides)


def _ladder(axes, ladder: list[Rung], words) -> None:
    places = np.arange(len(ladder))[::-1]
    for place, rung in zip(places, ladder, strict=True):
        _band(axes, place, rung.band)
        if rung.limit is not None:
            axes.plot([rung.limit] * 2, [place - 0.4, place + 0.4], color=INK, lw=2.2)
            beyond = max(rung.limit, rung.band.high)
            _label(axes, rung.word, (beyond, place), "left", (5, -5))
    ends = [end for rung in ladder for end in (*rung.band, rung.limit) if end is not None]
    room = max(ends) - min(ends)
    axes.set(xlim=(min(ends) - 0.06 * room, max(ends) + 0.24 * room), xlabel=words["temp_axis"])
    _named(axes, places, [rung.name for rung in ladder])
    title(axes, words["ladder"])


def _years(axes, years: list[LifeBar], words) -> None:
    places = np.arange(len(years))[::-1]
    for place, span in zip(places, years, strict=True):
        if span.band is None:
            _label(axes, span.word, (0.6, place), "left", (0, -3))
            continue
        ends = np.minimum(span.band, MOST_YEARS)
        _band(axes, place, Band(*ends), {"facecolor": PALE} if span.band.low > MOST_YEARS else {})
        if span.band.high > MOST_YEARS:
            axes.plot(MOST_YEARS, place, ">", color=INK, ms=7, clip_on=False)
    axes.set(xlim=(0, MOST_YEARS), xlabel=words["years_axis"])
    _named(axes, places, [span.name for span in years])
    title(axes, words["years"])


def _band(axes, place, band: Band, fill=None) -> None:
    """Draw a bar from the low to the high limit with a dot at the median."""
    low, mid, high = band
    axes.barh(place, high - low, left=low, height=0.5, **SHADE | (fill or {}))
    axes.plot(mid, place, "o", color=INK, ms=4.5)


def _named(axes, places, names) -> None:
    axes.set(ylim=(-0.7, len(names) - 0.3), yticks=places)
    axes.set_yticklabels(names)


def _label(axes, word, place, side, away) -> None:
    note(axes, word, place, away, ha=side, va="bottom")
