"""Compare ball and sleeve bearings in sentences, tables (pandas) and figures.

The functions require a Writer for the reader's language and units. The figures are updated when a
slider moves.
"""

import numpy as np
import pandas as pd
from matplotlib.ticker import FuncFormatter

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.model.aging import LONGEST_HOURS
from airover.model.bearing_duty import TEMP_HIGH
from airover.model.bearing_life import (
    MEDIAN,
    MOST_YEARS,
    OIL_HALVING,
    TRANSPORT_SHOCK,
    Suits,
    median_years,
)
from airover.physics import unbalance
from airover.reports.drawing import (
    THICK,
    THIN,
    WIDE,
    MovingPicture,
    frame,
    outline,
    title,
    unframed,
)
from airover.reports.palette import EDGE, FAN, INK, RULE
from airover.reports.writing import bare, percent, table
from airover.selection.bearing_choice import (
    BALANCED,
    EITHER,
    NEITHER,
    ORDINARY,
    RARE,
    TEMPS,
    WORTH_HOURS,
    BearingStudy,
    BothKinds,
    Prices,
    Use,
    advise_for,
    years_of,
)

ENDS = (
    "ball: grease", "ball: fatigue", "ball: fatigue, load alone", "sleeve: oil",
    "sleeve: wear of the bore", "sleeve: wear of the thrust washer",
)  # fmt: skip
# Fans on typical 6-pole motors: name, fan mass [kg], motor mass [kg], axial air thrust [N].
FANS = (("light", 0.8, 5.0, 8.0), ("usual", 1.6, 7.0, 16.0), ("heavy", 4.0, 9.0, 30.0))
FAN_RPM = 1075.0
AIR_AT_MOTOR = (35.0, 45.0, 55.0, 70.0)  # degC, design day, +/- 2 K
SIZE = (WIDE, 5.9)  # inches
FILM_SIZE = (WIDE, 4.8)
ROWS = (
    "ball: grease", "ball: fatigue", "sleeve: oil", "sleeve: wear of the bore",
    "sleeve: wear of the thrust washer",
)  # fmt: skip
LEAST = 100.0  # h, lower limit of the hour axes
MOST = 4e9  # h, upper limit of the bar axis (beyond LONGEST_HOURS, there are only labels)
APART = 2.5  # minimum ratio between the positions of two labels beside the hour axis
ROUND = 360.0  # degrees
NARROWEST = 282.0  # degrees, approximate left edge of the label below the gap curve
FINE = 49  # rows in the pressure plot


def verdict(study: BearingStudy, writer: Writer) -> str:
    """Return the recommendation with its reason."""
    advice = study.advice
    if advice.kind in (EITHER, NEITHER):
        return writer(advice.reason)
    kind = Message(f"bearings.kinds.{advice.kind}")
    return writer("bearings.take", kind=kind, reason=advice.reason)


def details(study: BearingStudy, writer: Writer) -> list[str]:
    """Return the warnings and other sentences to display below the verdict."""
    return [*warnings(study, writer), *facts(study, writer)]


def facts(study: BearingStudy, writer: Writer) -> list[str]:
    """Return the hours, temperature, loads and governing failure mode of each bearing type."""
    blade, far = study.met.loads
    temps = (Quantity(float(np.median(one)), "temperature", 0) for one in study.met.temp)
    loads = (_force(load) for load in (blade.radial, blade.axial, far.radial, far.axial))
    names = "across", "along", "far_across", "far_along"
    return [
        compared(study, writer),
        writer("bearings.heat", **dict(zip(("blade", "far"), temps, strict=True))),
        writer("bearings.loads", **dict(zip(names, loads, strict=True))),
        *(writer(one.sentence) for one in study.suits.values()),
        *(writer(f"bearings.first.{kind}", ends=_ends(study, kind)) for kind in study.suits),
    ]


def compared(study: BearingStudy, writer: Writer) -> str:
    """Return the hours of both bearing types and their ratio."""
    ball, sleeve = (middle_text(study.bands[kind], writer) for kind in ("ball", "sleeve"))
    low, mid, high = (f"{float(f'{end:.2g}'):g}" for end in study.ratio)
    who = share_text(study.asked.reliability, writer)
    return writer(
        "bearings.compared", who=who, ball=ball, sleeve=sleeve, times=mid, low=low, high=high
    )


def warnings(study: BearingStudy, writer: Writer) -> list[str]:
    """Return the disadvantages of a bearing type and the limitations of the estimate."""
    told = []
    if study.forbidden:
        allowed = [Message(f"bearings.shaft.{one}") for one in study.place.motor.shaft_positions]
        told.append(Message("bearings.warning.position", allowed=allowed))
    if study.ball.skids:
        load, least = _force(study.ball.load), _force(study.ball.load_least)
        told.append(Message("bearings.warning.skids", load=load, least=least))
    if study.overloaded:
        told.append(Message("bearings.warning.bronze"))
    if study.without_film > 0:
        told.append(Message("bearings.warning.film", share=_share(study.without_film)))
    if np.median(np.maximum(*study.met.temp)) >= TEMP_HIGH:
        hottest = Quantity(TEMP_HIGH, "temperature", 0)
        told.append(Message("bearings.warning.hot", hottest=hottest))
    return [writer(one) for one in told]


def balancing_text(study: BearingStudy, writer: Writer) -> str:
    """Return the hours gained by balancing the fan."""
    gains, grade = study.gains, f"{BALANCED:g}"
    if max(gains.values()) < WORTH_HOURS:
        return writer("bearings.balanced", grade=grade)
    gained = [
        Message("bearings.gained", share=_share(gain), kind=Message(f"bearings.kinds.{kind}"))
        for kind, gain in gains.items()
        if gain >= WORTH_HOURS
    ]
    return writer("bearings.unbalanced", grade=grade, gains=gained)


def notes(study: BearingStudy, writer: Writer) -> list[str]:
    """Return points other than hours that affect the decision."""
    return [
        writer("bearings.note.noise"),
        _price(study.prices, writer),
        writer("bearings.note.oil"),
        writer(
            "bearings.note.transport",
            shock=round(TRANSPORT_SHOCK),
            safety=f"{study.ball.safety:.1f}",
        ),
        writer("bearings.note.standstill"),
        writer("bearings.note.electricity"),
    ]


def share_text(reliability: float, writer: Writer) -> str:
    """Return, in words, the fraction of motors that reach a life ("Half of these motors")."""
    if reliability == MEDIAN:
        return writer("bearings.half")
    return writer("bearings.share", share=100 * reliability)


def fan_state(grade: float, lost: float, writer: Writer) -> str:
    """Return a description of a fan's balance.

    Parameters
    ----------
    grade : float
        Balance grade [mm/s].
    lost : float
        Mass lost at a blade tip [kg].
    """
    key = "bearings.fan_lost" if lost else "bearings.fan_state"
    return writer(key, grade=float(grade), grams=round(1000 * lost))


def hours_text(band: Band, writer: Writer) -> str:
    """Format a 90 % range of hours with two significant digits, such as "1,500-3,800 h"."""
    if band.low >= LONGEST_HOURS:
        return writer("bearings.hours.over", hours=f"{LONGEST_HOURS:,.0f}")
    low, high = _two_figures(band.low), _two_figures(band.high)
    if band.high >= LONGEST_HOURS:
        return writer("bearings.hours.and_more", low=low)
    if low == high:
        return writer("bearings.hours.alike", hours=low)
    return writer("bearings.hours.range", low=low, high=high)


def middle_text(band: Band, writer: Writer) -> str:
    """Format the median with its 90 % range, such as "2,000 h (1,500-3,800)"."""
    if band.mid >= LONGEST_HOURS:
        return hours_text(band, writer)
    low, mid, high = map(_two_figures, band)
    key = "median_and_more" if band.high >= LONGEST_HOURS else "median"
    return writer(f"bearings.hours.{key}", low=low, mid=mid, high=high)


def side_by_side(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """Return the life for each failure mode and the fraction of samples in which it occurs first.

    The hours and years are 90 % ranges.
    """
    share = study.asked.reliability
    hours = "hours_half" if share == MEDIAN else "hours_share"
    halving = writer.range(*OIL_HALVING, "temperature_rise", 0)
    rows = [
        {
            "end": writer(f"bearings.row.{name}"),
            hours: hours_text(study.bands[name], writer),
            "years": _years(study, name, writer),
            "first": _first(study.first.get(name, 0.0)),
            "rule": writer(f"bearings.rule.{name}", halving=halving),
        }
        for name in ENDS
    ]
    return _table(rows, writer, share=100 * share)


def positions(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """Return one row for each shaft position."""
    rows = [
        {"shaft": writer.texts.word(name), **_row(pair, writer)}
        for name, pair in study.positions.items()
    ]
    return _table(rows, writer)


def balancing_table(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """Return the force, loads and hours for each balance condition of the fan."""
    rows = []
    stand = study.place.stand
    for (of_fan, lost), pair in study.balancing.items():
        force = pair.met.force
        grade = unbalance.grade_of(force, stand.blade_mass, stand.speed_rpm)
        rows.append(
            {
                "fan": fan_state(of_fan, lost, writer),
                "force": f"{np.median(writer.number(force, 'force')):.1f}",
                "grade": f"{np.median(grade):.0f}",
                **_row(pair, writer),
            }
        )
    return _table(rows, writer)


def places(writer: Writer, use: Use = ORDINARY) -> pd.DataFrame:
    """Return one row for each combination of shaft position and air temperature.

    The columns are the recommended bearing type for each fan and the median lives of ball and
    sleeve bearings [years].
    """
    rows = []
    for position in ("up", "horizontal"):
        for temp in AIR_AT_MOTOR:
            row = {
                writer("bearings.column.shaft"): writer.texts.word(position),
                writer("bearings.column.air"): writer.amount(temp, "air_temperature", 0),
            }
            for name, mass, motor, thrust in FANS:
                air = temp - 2.0, temp + 2.0
                found = advise_for(position, air, mass, thrust, FAN_RPM, use, motor)
                ball, sleeve = (f"{one.years.mid:.0f}" for one in (found.ball, found.sleeve))
                kind = writer(f"bearings.kind.{found.advice.kind}")
                heading = writer(f"bearings.column.{name}", mass=Quantity(mass, "mass", 1))
                row[heading] = writer("bearings.in_years", kind=kind, ball=ball, sleeve=sleeve)
            rows.append(row)
    return pd.DataFrame(rows)


def motors(found: list[tuple[str, Suits | None]], writer: Writer) -> pd.DataFrame:
    """Return a table of how well each motor's bearings suit a job, with the reason."""
    names = ("motor", "bearings", "verdict", "lasts", "why")
    rows = [(name, *_suits(one, writer)) for name, one in found]
    return table(rows, "bearings.column", writer, names)


class LifePicture(MovingPicture):
    """Plots of the hours to each failure mode, and of hours against outdoor temperature."""

    def __init__(self, writer: Writer):
        super().__init__(SIZE)
        self.writer = writer
        self.ends, self.weather = self.figure.subplots(2)
        self.figure.subplots_adjust(left=0.26, right=0.9, top=0.95, bottom=0.085, hspace=0.42)
        self._draw_still()
        self._make_moving()

    def set(self, study: BearingStudy) -> None:
        self.restore()
        for at, name in enumerate(ROWS):
            self._set_row(at, study.bands[name], name in study.governing, study.first[name])
        mids = [np.clip(study.bands[name].mid, LEAST, LONGEST_HOURS) for name in ROWS]
        self._mids.set_data(mids, range(len(ROWS)))
        self._set_weather(study)

    def _words(self, name: str, **values) -> str:
        return self.writer(f"bearings.picture.{name}", **values)

    def _temp(self, temps):
        """Convert temperatures [degC] to the unit of the axis."""
        return self.writer.number(temps, "air_temperature")

    def _draw_still(self) -> None:
        ends, weather = self.ends, self.weather
        words = self._words
        ends.set(xlabel=words("hours"), xscale="log", xlim=(LEAST, MOST))
        ends.set_xticks(10.0 ** np.arange(2, 7, 2))
        ends.set(ylim=(len(ROWS) - 0.4, -0.6), yticks=range(len(ROWS)))
        ends.set(yticklabels=[self.writer(f"bearings.row.{name}") for name in ROWS])
        ends.axhline(1.5, color=RULE, lw=0.8)
        title(ends, words("ends"))
        span = [float(self._temp(temp)) for temp in TEMPS]
        unit = self.writer.unit("air_temperature")
        weather.set(xlabel=words("outdoor", unit=unit), ylabel=words("hours"))
        weather.set(yscale="log", xlim=span, ylim=(LEAST, LONGEST_HOURS))
        title(weather, words("weather"))
        plain = FuncFormatter(lambda hours, _: f"{hours:,.0f}")
        ends.xaxis.set_major_formatter(plain)
        weather.yaxis.set_major_formatter(plain)
        for axes, grid in ((ends, "x"), (weather, "both")):
            frame(axes, grid)
            axes.minorticks_off()
        unframed(ends, "y")

    def _make_moving(self) -> None:
        ends, weather = self.ends, self.weather
        self._bars = [self.line(ends, solid_capstyle="butt") for _ in ROWS]
        self._mids = self.line(ends, "|", FAN, ms=13, mew=2)
        self._of_ball = self.band(weather)
        sleeve = {"facecolor": "none", "edgecolor": FAN, "hatch": "//", "lw": THIN}
        self._of_sleeve = self.band(weather, **sleeve)
        self._mid_ball = self.line(weather, "-", EDGE, lw=THICK)
        self._mid_sleeve = self.line(weather, "--", FAN, lw=THICK)
        self._line = self.upright(weather)
        plain = {"va": "center", "bbox": None}  # a text box takes a millisecond
        self._labels = [self.words(ends, place=(1, at), **plain) for at in range(len(ROWS))]
        beside = {"va": "center", "transform": weather.get_yaxis_transform()}
        self._kinds = [
            self.words(weather, self.writer(f"bearings.kind.{kind}"), color=color, **beside)
            for kind, color in (("ball", INK), ("sleeve", FAN))
        ]
        self._now = self.words(weather, va="top")

    def _set_row(self, at: int, band: Band, governs: bool, first: float) -> None:
        """Update a bar with its hours and with how often this failure mode occurs first.

        The bar is thick and black if the failure mode governs the life.
        """
        low, _, high = np.clip(band, LEAST, LONGEST_HOURS)
        beyond = band.low >= LONGEST_HOURS
        bar, label = self._bars[at], self._labels[at]
        bar.set_data([0.8 * low if beyond else low, high], [at, at])
        bar.set(lw=15 if governs else 8, color=INK if governs else EDGE)
        told = hours_text(band, self.writer)
        if first >= RARE:
            told = self._words("first", hours=told, share=Quantity(first, "share", 0))
        label.set(text=told, x=high * 1.2)

    def _set_weather(self, study: BearingStudy) -> None:
        temps, of_ball, of_sleeve = study.across
        x = self._temp(temps)
        bottom, top = self.weather.get_ylim()
        for patch, band in ((self._of_ball, of_ball), (self._of_sleeve, of_sleeve)):
            low, high = (np.clip(end, bottom, top) for end in (band.low, band.high))
            patch.set_xy(outline(x, Band(low, band.mid, high)))
        for line, band in ((self._mid_ball, of_ball), (self._mid_sleeve, of_sleeve)):
            line.set_data(x, np.clip(band.mid, bottom, top))
        now = float(self._temp(study.asked.temp_outdoor))
        self._line.set_xdata([now, now])
        right = now < sum(self.weather.get_xlim()) / 2
        ends = [np.clip(band.mid[-1], bottom, top) for band in (of_ball, of_sleeve)]
        for word, hours in zip(self._kinds, _apart(*ends), strict=True):
            word.set_position((1.015, hours))
        temp = Quantity(study.asked.temp_outdoor, "air_temperature", 0)
        words = [self._words("now", temp=temp)]
        for kind in ("ball", "sleeve"):
            hours = hours_text(study.bands[kind], self.writer)
            words.append(
                self._words("kind_hours", kind=Message(f"bearings.kind.{kind}"), hours=hours)
            )
        self._now.set(
            position=(now + (0.6 if right else -0.6), 0.93 * top),
            text="\n".join(words),
            ha="left" if right else "right",
        )


class FilmPicture(MovingPicture):
    """Plot of the oil film pressure around the shaft and along the bearing.

    Parameters
    ----------
    diameter, length : float
        Bearing dimensions [m].
    """

    def __init__(self, diameter: float, length: float, writer: Writer):
        super().__init__(FILM_SIZE)
        self.writer = writer
        self.around, self.map = self.figure.subplots(2, sharex=True, height_ratios=(3, 2))
        self.figure.subplots_adjust(left=0.11, right=0.97, top=0.94, bottom=0.11, hspace=0.3)
        half = float(writer.number(length, "length")) / 2
        self.ends = (-half, half)
        self._draw_still(diameter)
        self._make_moving()

    def set(self, study: BearingStudy) -> None:
        self.restore()
        field, running = study.field, study.film.flooded
        degrees = np.degrees(field.angles)
        share = field.pressure / field.pressure.max()
        self._pressure.set_data(degrees, share[:, 0])
        eccentricity = float(np.median(running.eccentricity_ratio))
        gap = (1 + eccentricity * np.cos(field.angles)) / (1 + eccentricity)
        self._gap.set_data(degrees, gap)
        self._shades.set_data(_even(field.angles, field.positions, share))
        top, last = degrees[np.argmax(share[:, 0])], degrees[np.flatnonzero(share[:, 0] > 0)[-1]]
        highest = Quantity(float(np.median(running.pressure_highest)), "film_pressure")
        self._highest.set(position=(top, 1.09), text=self._words("highest", pressure=highest))
        self._torn.set_position((np.clip(last + 8, 232, 270), 0.08))
        thinnest = Quantity(float(np.median(running.film_thickness)), "film_thickness")
        place = ROUND, np.interp(NARROWEST, degrees, gap) - 0.03
        self._thin.set(text=self._words("gap", gap=thinnest), position=place)

    def _words(self, name: str, **values) -> str:
        return self.writer(f"bearings.picture.{name}", **values)

    def _draw_still(self, diameter: float) -> None:
        around, shades, words = self.around, self.map, self._words
        title(around, words("film", diameter=Quantity(diameter, "shaft_diameter")))
        around.set(ylabel=words("pressure"), ylim=(0, 1.2), xlim=(0, ROUND))
        shades.set(xlabel=words("angle"))
        shades.set(
            ylabel=words("along", unit=self.writer.unit("length")),
            ylim=self.ends,
            xticks=range(0, 361, 45),
        )
        around.tick_params(labelbottom=True)
        for axes, grid in ((around, "both"), (shades, "")):
            frame(axes, grid)

    def _make_moving(self) -> None:
        around = self.around
        self._shades = self._moved(
            self.map.imshow(
                np.zeros((FINE, 2)), extent=(0, ROUND, *self.ends), aspect="auto", cmap="Greys",
                vmin=0, vmax=1, animated=True,
            )
        )  # fmt: skip
        self._pressure = self.line(around, lw=THICK)
        self._gap = self.line(around, "--", FAN, lw=THIN)
        self._highest = self.words(around, ha="center", va="center")
        self._torn = self.words(around, self._words("cavitated"))
        self._thin = self.words(around, color=FAN, ha="right", va="top")
        self.words(self.map, self._words("dark"), (8, self.ends[1] * 0.8), va="top")


def _apart(one: float, other: float) -> tuple[float, float]:
    """Return positions for two labels beside an axis, separated by at least the ratio APART."""
    middle, times = np.sqrt(one * other), max(one / other, other / one, APART)
    up, down = middle * np.sqrt(times), middle / np.sqrt(times)
    return (up, down) if one >= other else (down, up)


def _two_figures(hours: float) -> str:
    return f"{float(f'{hours:.2g}'):,.0f}"


def _price(price: Prices, writer: Writer) -> str:
    if price.ball is None or price.sleeve is None:
        return writer("bearings.note.price_unknown")
    more = price.ball - price.sleeve
    return writer(
        f"bearings.note.price_{'more' if more >= 0 else 'less'}",
        ball=round(price.ball), sleeve=round(price.sleeve), more=round(abs(more)),
        currency=price.currency,
    )  # fmt: skip


def _ends(study: BearingStudy, kind: str) -> list[Message]:
    """Return the failure modes that most often occur first in a bearing type, with fractions."""
    found = {"ball": study.ball, "sleeve": study.sleeve}[kind].first
    return [
        Message("bearings.first.share", end=Message(f"bearings.end.{end}"), share=_share(share))
        for end, share in sorted(found.items(), key=lambda one: -one[1])
        if share >= RARE
    ]


def _force(samples) -> Quantity:
    return Quantity(float(np.median(samples)), "force")


def _share(share: float) -> Quantity:
    return Quantity(share, "share", 0)


def _table(rows, writer: Writer, **values) -> pd.DataFrame:
    kinds = dict.fromkeys(("force", "across", "along"), "force")
    return table(rows, "bearings.column", writer, kinds=kinds, **values)


def _row(pair: BothKinds, writer: Writer) -> dict:
    blade, far = pair.met.loads
    return {
        "across": _forces(writer, blade.radial, far.radial),
        "along": _forces(writer, blade.axial, far.axial),
        "ball": hours_text(pair.ball, writer),
        "sleeve": hours_text(pair.sleeve, writer),
    }


def _forces(writer: Writer, *samples) -> str:
    return " / ".join(bare(np.median(one), "force", writer) for one in samples)


def _first(share: float) -> str:
    return percent(share) if share >= RARE else ""


def _years(study: BearingStudy, name: str, writer: Writer) -> str:
    years = years_of(study.bands[name], study.asked.hours_a_year)
    under = writer("bearings.years.under_one")
    low, high = (f"{end:.0f}" if end >= 1 else under for end in (years.low, years.high))
    if years.low > MOST_YEARS:
        return writer("bearings.years.over", most=MOST_YEARS)
    if years.high > MOST_YEARS:
        return writer("bearings.years.and_more", low=low)
    return writer("bearings.years.range", low=low, high=high) if low != high else low


def _suits(one: Suits | None, writer: Writer) -> tuple[str, str, str, str]:
    if one is None:
        return writer("bearings.kind.unknown"), "", "", writer("bearings.table.label")
    kind, code = writer(f"bearings.kind.{one.kind}"), writer(f"bearings.code.{one.code}")
    return kind, code, writer(median_years(one.years)), writer(one.reason)


def _even(angles, positions, share):
    """Interpolate the pressure on half of the bearing to a regular grid of the whole bearing."""
    across = np.linspace(0, 2 * np.pi, 2 * len(angles))
    half = np.abs(np.linspace(-1, 1, FINE))
    around = np.stack([np.interp(across, angles, ring) for ring in share.T])
    return np.stack([np.interp(half, positions, column) for column in around.T], axis=-1)
