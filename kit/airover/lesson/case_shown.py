"""A student's choice in sentences and as a picture, and the instructor's notes.

The picture has amps across voltage, temperatures from outdoor air up, and years of life. Sentences
are in the reader's language and units; notes have objectives, timing, talk and questions.
"""

from functools import cached_property
from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from airover.core.intervals import Band
from airover.core.texts import NO_BREAK, Texts, Writer
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
from airover.reports.drawing import LINE, SHADE, THIN, WIDE, frame, note, title, unframed
from airover.reports.palette import INK, PALE
from airover.selection.check import ADAPT, MISSING, Check
from airover.selection.rules import Candidate

SIZE = (WIDE, 5.9)  # inches
MOST_YEARS = 40.0  # end of the axis of years
LONGEST_YEARS = 40  # beyond, "more than" says enough
TRIPS = 1.0  # h a year: less is not told
_KINDS = {
    "voltage": "voltage", "frequency": "frequency", "power": "power", "current": "current",
    "speed": "speed", "capacitor": "capacitance", "ambient_rating": "air_temperature",
    "shaft_length": "shaft_length",
}  # fmt: skip


class Sweep(NamedTuple):
    """``current`` [A], a Band over ``voltage`` [V]; ``line`` low, usual and high [V]; the
    ``plate``'s amps [A]."""

    voltage: np.ndarray
    current: Band
    line: tuple[float, float, float]
    plate: float


class Rung(NamedTuple):
    """A temperature of the ladder: its ``name``, its ``band``, and a ``limit`` with its ``word``
    (None and "" where there is none), all in the unit shown."""

    name: str
    band: Band
    limit: float | None = None
    word: str = ""


class LifeBar(NamedTuple):
    """Years of one part: its ``name`` and ``band``, None where a ``word`` says why."""

    name: str
    band: Band | None
    word: str = ""


def choice(sweep: Sweep, ladder: list[Rung], years: list[LifeBar], words: dict[str, str]) -> Figure:
    """Amps against voltage, the ladder of temperatures with its limits, years as bands.

    ``words``: amps, volts_axis, amps_axis, plate, line, ladder, temp_axis, years, years_axis.
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
    """What is said of lessons and outcomes; ``language`` "en" or "es", ``system`` "US" or "SI"."""

    def __init__(self, language: str = "en", system: str = "US"):
        self.said = Writer(language, system, signs=True)
        self.texts = self.said.texts

    def __call__(self, key: str, **values) -> str:
        """A text of the lesson by its key."""
        return self.texts(f"lesson_case.{key}", **values)

    def story(self, lesson: Lesson) -> Story:
        return lesson.case.story(self.texts.language)

    def offered(self, motor: CatalogMotor) -> str:
        """A motor of the short list, in one line."""
        price = self("no_price")
        if motor.price is not None:
            price = f"{motor.price:,.0f}{NO_BREAK}{motor.currency}"
        volts = " - ".join(f"{v:g}" for v in sorted({motor.voltage_low, motor.voltage_high}))
        rating = self.said.amount(motor.ratings[-1], "power")
        return self(
            "offered", motor=motor.model, rating=rating, poles=motor.poles, volts=volts, price=price
        )

    def known(self, one: Graded) -> str:
        """What can be read of a field: as it is written, and in the reader's unit if another."""
        if not isinstance(one.known, Amount):
            return self.texts.word(str(one.known))
        kind = _KINDS[one.field]
        written = self.said.set(one.known.text)
        shown = self.said.range(one.known.low, one.known.high, kind)
        return (
            written if written.split()[-1] in shown else self.texts("of", one=written, more=shown)
        )

    def grade(self, one: Graded) -> str:
        """A student's reading, judged in one sentence."""
        known = "" if one.known is None else self.known(one)
        return self(f"grade.{one.state}", known=known)

    def years(self, band: Band | None) -> str:
        """Years from and to: whole ones, and none longer than anybody can promise."""
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
    """One ``outcome`` told: a verdict, what happens and when, figures, work, comparison."""

    def __init__(self, told: Told, outcome: Outcome):
        self.told, self.outcome = told, outcome

    @cached_property
    def values(self) -> dict[str, str]:
        """Every figure that a sentence may name, said in the reader's language and units."""
        return {**self._loads(), **self._heat(), **self._motor()}

    def _amount(self, value, kind: str) -> str:
        """A number or a band; of a motor that was not simulated there is none."""
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
        """The verdict in two or three words, for a table."""
        return self.told(f"word.{self.outcome.when}")

    @property
    def moment(self) -> str:
        return self.told(f"moment.{self.outcome.when}")

    @property
    def decides(self) -> str:
        """The sentence that stands behind the verdict."""
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
        """For each moment at which something is found out: its name, and what happens."""
        return [
            (self.told(f"moment.{when}"), sentences)
            for when in WHEN
            if (sentences := [self.happens(c) for at, c in self.outcome.failed if at == when])
        ]

    def happens(self, check: Check) -> str:
        """What a check that fails would have meant."""
        of_check = {name: self.told.said.value(value) for name, value in check.values.items()}
        return self.told(f"happens.{check.name}", **self.values | of_check)

    @property
    def figures(self) -> list[str]:
        """Amps, heat, trips, years and money, a sentence each."""
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
        """Over the years for a motor that fits; what is lost with one that comes out again."""
        cost, motor, when = self.outcome.cost, self.outcome.case.motor, self.outcome.when
        if cost is not None:
            money = self.told.said.money(cost.band, cost.currency, 2)
            return [self.told("fact.money", money=money, years=len(cost.flows) - 1)]
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
        """What was rightly done, what was left undone, and what nobody asked for."""
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
        """What comes of a work that was left undone."""
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
        """What is still to be found out."""
        return [self.told.said(one.why) for one in self.outcome.candidate.having(MISSING)]

    @property
    def checks(self) -> list[tuple[str, str, str]]:
        """Every check: its name, its sentence, its result."""
        return [self.told.said.check(check) for check in self.outcome.candidate.checks]

    @property
    def compared(self) -> list[str]:
        """The best choices, beside this one."""
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


class LessonNotes:
    """Markdown that a worksheet renders, and plain text elsewhere."""

    def __init__(self, markdown: str):
        self.markdown = markdown

    def __repr__(self) -> str:
        return self.markdown

    def _repr_markdown_(self) -> str:
        return self.markdown


def lesson_notes(lesson: str, language: str = "en") -> LessonNotes:
    """The notes of a ``lesson``, the name of its table of texts, in a ``language``, "en" or "es".

    Below ``LESSON.notes`` each section is a table: its ``title``, then a line for each other key.
    Raises InputError for another language.
    """
    texts = Texts(language)
    above = f"{lesson}.notes."
    keys = [key.removeprefix(above) for key in texts.texts if key.startswith(above)]
    sections = dict.fromkeys(key.partition(".")[0] for key in keys)
    return LessonNotes("\n\n".join(_section(texts, f"{above}{name}") for name in sections))


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
    end = int(np.argmax(np.abs(mid[[0, -1]] - sweep.plate)))  # where the line is far from it
    at = sweep.voltage[-end], ("left", "right")[end], (4, -4)[end]
    _label(axes, words["plate"], (at[0], sweep.plate), at[1], (at[2], 2))
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
    """A bar from the low to the high end with a dot in the middle; a thin one still shows."""
    low, mid, high = band
    axes.barh(place, high - low, left=low, height=0.5, **SHADE | (fill or {}))
    axes.plot(mid, place, "o", color=INK, ms=4.5)


def _named(axes, places, names) -> None:
    axes.set(ylim=(-0.7, len(names) - 0.3), yticks=places)
    axes.set_yticklabels(names)


def _label(axes, word, place, side, away) -> None:
    note(axes, word, place, away, ha=side, va="bottom")


def _section(texts: Texts, table: str) -> str:
    title, *lines = texts.below(table)
    return "\n".join([f"**{title}**", "", *(f"- {line}" for line in lines)])
