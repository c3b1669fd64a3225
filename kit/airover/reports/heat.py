"""Describe the temperatures of a motor in sentences, tables (pandas) and figures.

The functions require a Writer for the reader's language and units. The main figure, which is
updated when a slider moves, shows the temperature steps from outdoor air to the hottest spot of the
winding, and the margin and life against outdoor temperature. The other figures show a day, a locked
rotor and the effects of elevation, and are created on demand.
"""

import numpy as np
import pandas as pd
from matplotlib.ticker import FuncFormatter

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.model.aging import LONGEST_HOURS, hot_spot
from airover.model.heat_answer import BETTER_CLASS, USUAL_CLASS, HeatAnswer
from airover.model.heat_study import LONGEST_YEARS
from airover.model.temperature_history import usual_protector
from airover.reports.drawing import (
    LINE,
    SHADE,
    SMALL,
    THICK,
    THIN,
    Figure,
    MovingPicture,
    frame,
    note,
    outline,
    png,
    title,
)
from airover.reports.palette import EDGE, FAN, INK, STACK
from airover.reports.writing import table

SIZE = (6.8, 5.8)  # inches
TRACE_SIZE = (6.8, 3.4)
TRACE_DOTS = 119  # dots per inch, for 809 pixels
# Steps from bottom to top, in the order of their colors in STACK.
PARTS = (
    "outdoor air", "air drawn in again", "coil", "sun on the shell", "shell over air",
    "winding over shell", "hottest spot over average",
)  # fmt: skip
HOTTEST = (200.0, 260.0, 320.0)  # degC, possible upper limits of the temperature axis
ROOM = 80.0  # K, increment of the limits of the margin axis
HALF = 0.31  # fraction of the axis width reserved on each side for the slider label
HEAD = 0.89  # fraction of the axis height where the lines end, below the slider label
SPAN = (20.0, 55.0)  # degC outdoors, limits of the weather axes
LIVES = (1e2, 1e7)  # h, limits of the life axis (beyond LONGEST_HOURS, there are only labels)
# Vertical positions of the labels beside the steps, and beside the hottest spot and its limit, as
# fractions of the axis height. Only the numbers and leader lines move.
RISE = 0.28  # position of the rise bar in its axes, below its label
ROWS = (0.10, 0.175, 0.235, 0.295, 0.38, 0.49, 0.565)
ENDS = (0.655, 0.735)
BAR, WORDS, FIGURES = (
    (0.0, 0.95),
    1.4,
    4.35,
)  # horizontal positions of the bar, labels and numbers on an axis that ends at 5


def verdict(answer: HeatAnswer, writer: Writer) -> str:
    """Return the margin of the hottest spot and the probability of an overload trip."""
    margin, spot = answer.study.margin, degrees(answer.hot_spot, writer)
    if margin is None:
        return writer("heat.class_missing", spot=spot)
    return writer(
        f"heat.margin_{'below' if margin.mid >= 0 else 'above'}",
        spot=spot,
        room=kelvin(abs(margin.mid)),
        limit=degree(answer.study.class_temperature),
        letter=answer.place.motor.insulation_class,
        trip=_trip(answer.trips),
    )


def details(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Return the warnings and other sentences to display below the verdict."""
    return [*warnings(answer, writer), *facts(answer, writer)]


def facts(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Return the life, the margin to the overload trip, and the temperature rise by resistance."""
    told, study = [], answer.study
    if study.hours is not None:
        hours, years = _hours(study.hours), years_text(answer.years, writer)
        told.append(writer("heat.life", hours=hours, years=years))
    if answer.room is not None:
        told.append(writer("heat.protector", room=kelvins(Band.of(answer.room), writer)))
    rise, allowed = kelvins(study.rise, writer), answer.rise_allowed
    if allowed is None:
        return [*told, writer("heat.rise", rise=rise)]
    return [*told, writer("heat.rise_allowed", rise=rise, allowed=kelvin(allowed))]


def warnings(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Return warnings about the motor or the estimate, and the effect of any readings."""
    told, rated, read = [], answer.place.motor.ambient, answer.place.read
    if not answer.starts:
        told.append(writer("heat.warning.crawls"))
    air = Band.of(answer.conditions.temp_air)
    if rated is not None and air.mid > rated:
        shown = degrees(air, writer)
        told.append(writer("heat.warning.ambient", air=shown, rated=degree(rated)))
    if read:
        before, after = (Quantity(band, "temperature", 0) for band in (read.before, read.after))
        told.append(writer("heat.warning.read", before=before, after=after))
        told += [writer("heat.warning.strained")] * bool(read.strained)
    return told


def day_text(answer: HeatAnswer, writer: Writer) -> str:
    """Return a day's peak winding temperature, its time, and the probability of a trip."""
    history = answer.day.history
    peaks = history.average.max(axis=0)
    hour = float(np.median(history.time[np.argmax(history.average, axis=0)])) / 3600
    told = writer(
        "heat.day.told",
        average=degrees(Band.of(peaks), writer),
        hour=round(hour),
        spot=degrees(Band.of(hot_spot(peaks)), writer),
    )
    if answer.room is None:
        return told
    cases = history.closed.shape[1]
    protector = usual_protector(answer.place.motor.insulation_class, cases)
    opens = np.any(protector.felt(history.temps) > protector.trip, axis=0).sum()
    return f"{told} {writer('heat.day.opens', opens=int(opens), cases=cases)}"


def locked(answer: HeatAnswer, writer: Writer) -> str:
    """Return the locked-rotor results: trip and reset times and the peak winding temperature."""
    found = answer.locked
    if found.time_to_trip is None:
        return writer("heat.locked.never")
    values, key = {"trip": _time(found.time_to_trip)}, "once"
    if found.time_to_reset is not None:
        values["reset"], key = _time(found.time_to_reset), "closes"
        if found.cycles_per_hour is not None:
            low, _, high = found.cycles_per_hour
            values |= {"low": f"{low:.1f}", "high": f"{high:.1f}"}
            key = "cycles"
    peak = writer(
        "heat.locked.peak",
        peak=degrees(found.peak, writer),
        first=degree(found.first_hour),
        later=degree(found.later),
    )
    return f"{writer(f'heat.locked.{key}', **values)} {peak}"


def trips(answer: HeatAnswer, writer: Writer) -> str:
    """Return the number of nuisance trips per year."""
    found = answer.year.trips
    if found is None:
        return writer("heat.trips.unknown")
    if found.chance == 0:
        return writer("heat.trips.none", room=kelvins(found.room, writer))
    low, mid, high = map(round, found.trips)
    key, share = ("rare", 0.01) if found.chance < 0.01 else ("some", found.chance)
    shown = Quantity(share, "share", 0)
    return writer(f"heat.trips.{key}", low=low, mid=mid, high=high, share=shown)


def classes_text(answer: HeatAnswer, writer: Writer) -> str:
    """Return the margin and life gained with class F at 70 degC instead of class B at 60 degC."""
    found = answer.place.classes
    low, mid, high = (f"{times:.1f}" for times in found.times)
    room = kelvins(found.more_margin, writer)
    return writer("heat.classes.told", room=room, times=mid, low=low, high=high)


def height_text(answer: HeatAnswer, writer: Writer) -> str:
    """Return the separate effects of elevation on the winding at the middle value of HEIGHTS."""
    one = answer.place.heights[len(answer.place.heights) // 2]
    return writer(
        "heat.height.told",
        elevation=Quantity(one.elevation, "elevation", 0),
        together=kelvins(one.together, writer),
        **{name: kelvin(getattr(one, name).mid) for name in ("load", "cooling", "coil")},
    )


def years_text(years: Band, writer: Writer) -> str:
    """Format a range of ``years`` with two significant digits, limited to LONGEST_YEARS."""
    if years.low >= LONGEST_YEARS:
        return writer("heat.years.beyond", longest=LONGEST_YEARS)
    low, high = (float(f"{end:.2g}") for end in (years.low, years.high))
    key = "and_more" if years.high >= LONGEST_YEARS else "range"
    return writer(f"heat.years.{key}", low=low, high=high)


def degree(temp) -> Quantity:
    """Return a temperature [degC] as a Quantity without decimals."""
    return Quantity(float(temp), "temperature", 0)


def kelvin(rise) -> Quantity:
    """Return a temperature difference [K] as a Quantity without decimals."""
    return Quantity(float(rise), "temperature_rise", 0)


def degrees(band: Band, writer: Writer) -> str:
    """Return the median and the 90 % range of temperatures [degC] as text."""
    return writer.estimate(band, "temperature", 0)


def kelvins(band: Band, writer: Writer) -> str:
    """Return the median and the 90 % range of temperature differences [K] as text."""
    return writer.estimate(band, "temperature_rise", 0)


def steps(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """Return one row for each temperature step from outdoor air to the hottest spot."""
    first, *others = answer.study.budget
    rows = [(first, ""), *((part, kelvins(part.kelvin, writer)) for part in others)]
    told = [
        (writer(f"heat.step.{part.name}"), adds, degrees(part.upto, writer)) for part, adds in rows
    ]
    return table(told, "heat.column", writer, ("step", "adds", "after"))


def limits(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """Return a table of four temperature limits and the temperatures they apply to."""
    study, motor = answer.study, answer.place.motor
    air, felt = Band.of(answer.conditions.temp_air), answer.room
    spot_limit, rise_limit = study.class_temperature, answer.rise_allowed
    felt_limit = Message("heat.limit.felt_limit")
    left = None if motor.ambient is None else Band(*(motor.ambient - end for end in air[::-1]))
    rows = [
        ("spot", degrees(answer.hot_spot, writer), spot_limit and degree(spot_limit), study.margin),
        ("rise", kelvins(study.rise, writer), rise_limit and kelvin(rise_limit), study.rise_margin),
        (
            "felt", Message("heat.limit.felt_found"), felt_limit,
            None if felt is None else Band.of(felt),
        ),
        ("air", degrees(air, writer), motor.ambient and degree(motor.ambient), left),
    ]  # fmt: skip
    letter, missing = motor.insulation_class, Message("heat.missing")
    told = [
        (
            writer(f"heat.limit.{name}"),
            writer.value(found),
            writer.value(missing if limit is None or room is None else limit),
            writer.value(missing if room is None else kelvins(room, writer)),
            writer(f"heat.limit.{name}_source", letter=letter),
        )
        for name, found, limit, room in rows
    ]
    return table(told, "heat.column", writer, ("kind", "found", "limit", "room", "source"))


def classes_table(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """Compare a class B, 60 degC rating and a class F, 70 degC rating of the motor on this job."""
    found = answer.place.classes
    names = [
        writer("heat.classes.motor", letter=letter, ambient=degree(at))
        for letter, at in (USUAL_CLASS, BETTER_CLASS)
    ]
    each = zip(names, found.margins, found.ambient_margins, found.years, strict=True)
    rows = [
        (name, kelvins(margin, writer), kelvins(air, writer), years_text(years, writer))
        for name, margin, air, years in each
    ]
    low, mid, high = (f"{times:.1f}" for times in found.times)
    rows.append(
        (
            writer("heat.classes.second"),
            kelvins(found.more_margin, writer),
            writer.value(kelvin(BETTER_CLASS[1] - USUAL_CLASS[1])),
            writer("heat.classes.times", low=low, mid=mid, high=high),
        )
    )
    return table(rows, "heat.column", writer, ("motor", "spot", "air", "years"))


def heights(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """Return the separate effects of elevation on the winding, and the factor in the standard."""
    rows = []
    for one in answer.place.heights:
        effects = (writer.value(kelvin(each.mid)) for each in (one.load, one.cooling, one.coil))
        key, loss = "factor", None
        if one.standard_loss is not None:
            key, loss = "factor_of_rise", kelvin(one.standard_loss)
        factor = writer(f"heat.height.{key}", factor=f"{one.factor:.2f}", loss=loss)
        elevation = writer.amount(one.elevation, "elevation", 0)
        rows.append((elevation, *effects, kelvins(one.together, writer), factor))
    names = ("elevation", "load", "cooling", "coil", "together", "factor")
    return table(rows, "heat.column", writer, names)


def year(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """Return the winding life by two methods and the temperature rise at the end of a run.

    The rise is a fraction of the steady-state temperature rise, for each type of day.
    """
    found = answer.year.cycled
    rows = [
        (writer(f"heat.year.{name}"), _years(years, writer))
        for name, years in (("cycled", found.years), ("steady", found.steady))
    ]
    for temp, *reached in zip(found.temp_outdoor, *found.reached, strict=True):
        run = writer("heat.year.run", temp=degree(temp))
        share = writer.estimate(Band(*reached), "share", 0)
        rows.append((run, writer("heat.year.reached", share=share)))
    return table(rows, "heat.column", writer, ("what", "found"))


class HeatPicture(MovingPicture):
    """Plot of temperature steps, insulation limit, temperature rise by resistance, margin and life.

    The margin and life are plotted against outdoor temperature.
    """

    def __init__(self, writer: Writer):
        super().__init__(SIZE)
        self.writer = writer
        self.degrees, self.kelvins = (
            writer.unit(one) for one in ("temperature", "temperature_rise")
        )
        self.stack = self.figure.add_axes([0.088, 0.225, 0.517, 0.73])
        self.rise = self.figure.add_axes([0.088, 0.075, 0.517, 0.06])
        self.room = self.figure.add_axes([0.72, 0.565, 0.27, 0.39])
        self.life = self.figure.add_axes([0.72, 0.075, 0.27, 0.37])
        self._draw_still()
        self._make_stack()
        self._make_rise()
        self._room_parts, self._life_parts = map(self._make_weather, (self.room, self.life))

    def set(self, answer: HeatAnswer) -> None:
        self._fit_axes(answer)
        self._set_stack(answer)
        self._set_rise(answer)
        self._set_weather(answer)

    def temp(self, values):
        """Convert temperatures [degC] to the display unit."""
        return self.writer.number(values, "temperature")

    def over(self, values):
        """Convert temperature differences [K] to the display unit."""
        return self.writer.number(values, "temperature_rise")

    def _words(self, name: str, **values) -> str:
        return self.writer(f"heat.picture.{name}", **values)

    def _draw_still(self) -> None:
        words = self._words
        stack, rise, room, life = self.stack, self.rise, self.room, self.life
        stack.set(ylabel=words("temperature", unit=self.degrees), xlim=(-0.25, 5), xticks=[])
        title(stack, words("stack"))
        for name, row in zip(PARTS, ROWS, strict=True):
            told = self.writer(f"heat.step.{name}")
            stack.text(
                WORDS, row, told, transform=stack.get_xaxis_transform(), va="center", color=INK,
                fontsize=SMALL,
            )  # fmt: skip
        stack.text(
            FIGURES, 0.612, words("adds", unit=self.kelvins), transform=stack.get_xaxis_transform(),
            ha="right", va="center", color=INK, fontsize=SMALL,
        )  # fmt: skip
        rise.set(xlabel=words("rise", unit=self.kelvins), yticks=[], ylim=(0, 1))
        rise.set(xlim=(0, self.over(160.0)))
        title(rise, words("apart"), SMALL)
        span = [float(self.temp(temp)) for temp in SPAN]
        room.set(ylabel=words("room", unit=self.kelvins), xlim=span)
        title(room, words("room_title"))
        life.set(ylabel=words("hours"), xlim=span, yscale="log", ylim=LIVES)
        title(life, words("life_title"))
        life.set_yticks(10.0 ** np.arange(2, 7))
        life.yaxis.set_major_formatter(FuncFormatter(lambda hours, _: f"{hours:,.0f}"))
        room.axhline(0, color=INK, ls="--", lw=1.3)
        self._zero_word = room.text(
            0.03, 0.03, "", transform=room.transAxes, color=INK, fontsize=SMALL
        )
        for axes in (room, life):
            axes.set_xlabel(words("outdoor", unit=self.degrees))
            axes.locator_params(axis="x", nbins=4)
        for axes, grid in ((stack, ""), (rise, ""), (room, "both"), (life, "both")):
            axes.minorticks_off()
            frame(axes, grid)
        stack.spines["bottom"].set_visible(False)

    def _make_stack(self) -> None:
        stack = self.stack
        self._parts = [self.band(stack, facecolor=fill, edgecolor=INK, lw=0.7) for fill in STACK]
        self._leaders = self.line(stack, "-", EDGE, lw=0.7)
        self._limit = self.line(stack, "--", lw=1.6)
        self._whisker = self.line(stack, "_-", lw=2.2, ms=13, mew=2.2)
        look = {"va": "center", "bbox": None, "transform": stack.get_xaxis_transform()}
        self._steps = [self.words(stack, "", (FIGURES, row), ha="right", **look) for row in ROWS]
        self._ends = [
            self.words(stack, "", (WORDS, row), fontweight="bold", **look) for row in ENDS
        ]

    def _make_rise(self) -> None:
        self._rise_band = self.line(self.rise, "-", EDGE, lw=9, solid_capstyle="butt")
        self._rise_mid = self.line(self.rise, "|", ms=12, mew=2)
        self._rise_limit = self.line(self.rise, "--", FAN, lw=1.8)
        self._rise_word = self.words(self.rise, "", (0, 0.85), va="center", bbox=None)

    def _make_weather(self, axes) -> tuple:
        look = {"va": "top", "ha": "center", "transform": axes.get_xaxis_transform()}
        return (
            self.band(axes),
            self.line(axes, lw=LINE),
            self.upright(axes, top=HEAD),
            self.words(axes, "", (0, 0.98), **look),
        )

    def _fit_axes(self, answer: HeatAnswer) -> None:
        """Fit the axes to the data and restore their pixels."""
        highest = max(answer.hot_spot.high, answer.study.class_temperature or 0.0) + 8.0
        top = next((end for end in HOTTEST if end >= highest), HOTTEST[-1])
        room, low, high = answer.across.margin, -ROOM, ROOM
        if room is not None:
            low = -ROOM * np.ceil(max(-room.low.min(), 1.0) / ROOM)
            high = ROOM * np.ceil(max(room.high.max() / HEAD, 1.0) / ROOM)
        letter = answer.place.motor.insulation_class
        told = "" if letter is None else self._words("below_zero", letter=letter)
        wanted = (float(self.temp(0.0)), float(self.temp(top)), low, high, told)
        self.stack.set_ylim(wanted[:2])
        self.room.set_ylim(self.over(low), self.over(high))
        self._zero_word.set_text(told)
        self.restore(wanted)

    def _set_stack(self, answer: HeatAnswer) -> None:
        parts, below, (left, right) = answer.study.budget, self.stack.get_ylim()[0], BAR
        levels = []
        for patch, part, word in zip(self._parts, parts, self._steps, strict=True):
            upto = float(self.temp(part.upto.mid))
            patch.set_xy([(left, below), (right, below), (right, upto), (left, upto)])
            step = self.temp(part.upto.mid) if part is parts[0] else self.over(part.kelvin.mid)
            word.set_text(f"{step:.0f}" if part is parts[0] else f"{step:+.0f}")
            levels.append((below + upto) / 2)
            below = upto
        low, mid, high = self.temp(np.array(answer.hot_spot))
        self._whisker.set_data([(left + right) / 2] * 2, [low, high])
        ends = [(mid, self._words("spot", temp=degrees(answer.hot_spot, self.writer)))]
        limit = answer.study.class_temperature
        self._limit.set_visible(limit is not None)
        if limit is not None:
            at = float(self.temp(limit))
            self._limit.set_data([-0.25, right + 0.1], [at, at])
            letter = answer.place.motor.insulation_class
            ends.append((at, self._words("class", letter=letter, temp=degree(limit))))
        self._set_ends(sorted(ends), levels)

    def _set_ends(self, ends, levels) -> None:
        """Update the labels of the hottest spot and its limit, with leader lines.

        The higher temperature gets the upper label.
        """
        for word in self._ends:
            word.set_text("")
        for word, (_, told) in zip(self._ends, ends, strict=False):
            word.set_text(told)
        bottom, top = self.stack.get_ylim()
        levels = np.array([*levels, *(level for level, _ in ends)])
        rows = bottom + np.array([*ROWS, *ENDS])[: len(levels)] * (top - bottom)
        x = np.tile([BAR[1], BAR[1] + 0.1, WORDS - 0.06, np.nan], len(levels))
        y = np.stack([levels, levels, rows, np.full_like(levels, np.nan)], axis=1)
        self._leaders.set_data(x, y.ravel())

    def _set_rise(self, answer: HeatAnswer) -> None:
        low, mid, high = self.over(np.array(answer.study.rise))
        self._rise_band.set_data([low, high], [RISE, RISE])
        self._rise_mid.set_data([mid], [RISE])
        allowed = answer.rise_allowed
        told = self.writer.value(kelvin(answer.study.rise.mid))
        self._rise_limit.set_visible(allowed is not None)
        if allowed is not None:
            at = float(self.over(allowed))
            self._rise_limit.set_data([at, at], [0, 2 * RISE])
            told = self._words("allowed", rise=told, allowed=kelvin(allowed))
        self._rise_word.set(text=told, x=0.01 * self.rise.get_xlim()[1])

    def _set_weather(self, answer: HeatAnswer) -> None:
        found, now = answer.across, float(self.temp(answer.asked.temp_outdoor))
        lives, ends = found.hours, (LIVES[0], LONGEST_HOURS)
        if lives is not None:
            lives = Band(*(np.clip(hours, *ends) for hours in lives))
        room = None if found.margin is None else Band(*map(self.over, found.margin))
        words = [self._words("unknown")] * 2
        if room is not None:
            low, mid, high = self.over(np.array(answer.study.margin))
            first, _, last = (f"{float(f'{x:.2g}'):,.0f}" for x in answer.study.hours)
            ends = {name: round(end) for name, end in zip(("low", "mid", "high"), (low, mid, high))}
            words = [
                self._words("median", **ends),
                self.writer("heat.hours.range", low=first, high=last),
            ]
        x = self.temp(found.temps_outdoor)
        for parts, band, told in (
            (self._room_parts, room, words[0]),
            (self._life_parts, lives, words[1]),
        ):
            _set_band(parts, x, band)
            self._set_now(parts, now, told)

    def _set_now(self, parts, now, told) -> None:
        """Update the line at the slider temperature and the label above it."""
        line, word = parts[2:]
        line.set_xdata([now, now])
        start, end = line.axes.get_xlim()
        room = HALF * (end - start)
        word.set(text=told, x=min(max(now, start + room), end - room))


def day_figure(answer: HeatAnswer, writer: Writer) -> bytes:
    """Plot the outdoor, shell and average winding temperatures of a day as a PNG file."""
    figure, axes, temp = _trace(writer, "time", "day")
    found = answer.day.history
    hours, bands = found.time / 3600, found.bands()
    band = Band(*map(temp, bands["winding"]))
    axes.fill_between(hours, band.low, band.high, **SHADE)
    axes.plot(hours, band.mid, color=INK, lw=LINE)
    axes.plot(hours, temp(bands["shell"].mid), color=FAN, lw=THIN, ls="--")
    axes.step(np.arange(25), temp(np.r_[answer.day.outdoor, answer.day.outdoor[-1]]),
              where="post", color=EDGE, lw=LINE)  # fmt: skip
    axes.set(xlim=(0, 24), xticks=range(0, 25, 3))
    top = np.argmax(band.mid)
    words = writer("heat.picture.winding")
    note(axes, words, (hours[top], band.high[top]), (0, 5), ha="center")
    for curve, word, color in (
        (temp(bands["shell"].mid), "shell", FAN),
        (temp(np.interp(hours, np.arange(24) + 0.5, answer.day.outdoor)), "outdoors", INK),
    ):
        at = np.searchsorted(hours, 13.5)
        note(
            axes,
            writer(f"heat.picture.{word}"),
            (13.5, curve[at]),
            color=color,
            ha="center",
            va="center",
        )
    axes.margins(y=0.12)
    return png(figure, TRACE_DOTS)


def trip(answer: HeatAnswer, writer: Writer) -> bytes:
    """Plot the hotter winding's temperature with a locked rotor as a PNG file.

    The plot shows three samples and the limits given in the standard.
    """
    figure, axes, temp = _trace(writer, "since", "trip")
    found, minutes = answer.locked, answer.locked.history.time / 60
    order = _by_first_opening(found.history)
    traces = [
        (temp(found.history.hottest[:, order[int(place * len(order))]]), style, word)
        for place, style, word in (
            (0.05, ":", "soonest"),
            (0.5, "-", "middle"),
            (0.95, "--", "latest"),
        )
    ]
    peaks = [_peaks(minutes, trace) for trace, _, _ in traces]
    for at, (trace, style, word) in enumerate(traces):
        axes.plot(minutes, trace, style, color=INK, lw=LINE if style == "-" else THIN)
        others = np.concatenate([*peaks[:at], *peaks[at + 1 :]])
        apart = np.abs(peaks[at][:, None] - others).min(axis=1)
        place = peaks[at][np.argmax(apart)]  # far from the peaks of the other samples
        words = writer(f"heat.picture.{word}")
        top = trace[np.searchsorted(minutes, place)]
        note(axes, words, (place, top), (0, 4), ha="center", annotation_clip=False)
    for limit, (start, end) in ((found.first_hour, (0, 60)), (found.later, (60, minutes[-1]))):
        axes.plot([start, end], [temp(limit)] * 2, color=FAN, lw=LINE)
        place = (start + end) / 2, temp(limit)
        words = writer("heat.picture.limit", temp=degree(limit))
        note(axes, words, place, (0, 4), FAN, ha="center")
    bottom, _ = axes.get_ylim()
    axes.set(xlim=(0, minutes[-1]), ylim=(bottom, temp(found.first_hour + 20)))
    return png(figure, TRACE_DOTS)


def height_figure(answer: HeatAnswer, writer: Writer) -> bytes:
    """Plot the separate effects of elevation as a PNG file."""
    figure, axes, _ = _trace(writer, "elevation", "height", unit=writer.unit("elevation"))
    axes.set_ylabel(writer("heat.picture.change", unit=writer.unit("temperature_rise")))
    effects = answer.place.heights
    x = np.r_[0, writer.number(np.array([one.elevation for one in effects]), "elevation")]

    def over(changes):
        return np.r_[0, writer.number(np.array(changes), "temperature_rise")]

    for name, style in zip(("load", "cooling", "coil"), ("--", "-.", ":"), strict=True):
        y = over([getattr(one, name).mid for one in effects])
        axes.plot(x, y, style, color=FAN, lw=LINE)
        beside = {"va": "center", "annotation_clip": False}
        note(axes, writer(f"heat.column.{name}"), (x[-1], y[-1]), (5, 0), FAN, **beside)
    band = Band(*(over([one.together[at] for one in effects]) for at in range(3)))
    axes.fill_between(x, band.low, band.high, **SHADE)
    axes.plot(x, band.mid, color=INK, lw=THICK)
    note(axes, writer("heat.column.together"), (x[-1], band.mid[-1]), (5, 0), **beside)
    axes.axhline(0, color=EDGE, lw=0.8)
    axes.set_xlim(0, x[-1])
    return png(figure, TRACE_DOTS)


def _trip(share: float | None) -> Message:
    if share is None:
        return Message("heat.trip.unknown")
    if share == 0:
        return Message("heat.trip.never")
    shown = Quantity(max(share, 0.01), "share", 0)
    return Message(f"heat.trip.{'some' if share < 0.5 else 'most'}", share=shown)


def _hours(hours: Band) -> Message:
    low, mid, high = (f"{float(f'{end:.2g}'):,.0f}" for end in hours)
    key = "beyond" if hours.low >= LONGEST_HOURS else "median"
    return Message(f"heat.hours.{key}", low=low, mid=mid, high=high)


def _time(seconds: Band) -> Message:
    """Format a range of seconds, or of minutes if the upper limit is at least two minutes."""
    key, over = ("minutes", 60) if seconds.high >= 120 else ("seconds", 1)
    low, high = (float(f"{end / over:.2g}") for end in (seconds.low, seconds.high))
    return Message(f"heat.locked.{key}", low=low, high=high)


def _years(years: Band | None, writer: Writer) -> str:
    return writer("heat.years.class_missing") if years is None else years_text(years, writer)


def _set_band(parts, x, band: Band | None) -> None:
    patch, line = parts[:2]
    for one in (patch, line):
        one.set_visible(band is not None)
    if band is not None:
        patch.set_xy(outline(x, band))
        line.set_data(x, band.mid)


def _trace(writer: Writer, across: str, titled: str, **values):
    """Return a figure with temperature axes and a function that converts to display units."""
    figure = Figure(figsize=TRACE_SIZE, layout="constrained")
    axes = figure.subplots()
    unit = writer.unit("temperature")
    axes.set(
        xlabel=writer(f"heat.picture.{across}", **values),
        ylabel=writer("heat.picture.temperature", unit=unit),
    )
    title(axes, writer(f"heat.picture.{titled}"))
    frame(axes)
    return figure, axes, lambda temps: writer.number(temps, "temperature")


def _peaks(minutes, trace) -> np.ndarray:
    """Return the times [min] of the peaks in a ``trace``, or of its maximum if it has no peaks."""
    found = np.flatnonzero((trace[1:-1] >= trace[:-2]) & (trace[1:-1] > trace[2:])) + 1
    high = found[trace[found] > 0.9 * trace.max()]
    return minutes[high if len(high) else [np.argmax(trace)]]


def _by_first_opening(history) -> np.ndarray:
    """Return the sample indices, sorted by the time when the protector first opens."""
    opened = ~history.closed
    first = np.where(opened.any(axis=0), history.time[np.argmax(opened, axis=0)], np.inf)
    return np.argsort(first)
