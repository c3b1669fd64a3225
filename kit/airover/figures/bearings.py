"""Pictures of bearings: hours of both kinds side by side and against the weather; film pressure.

Axes stand still, so they are drawn once and kept as pixels; a redraw puts only bars, bands, lines
and words on top.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from airover.bands import Band
from airover.bearing_choice.study import RARE, TEMPS, BearingStudy
from airover.figures.drawing import redrawn
from airover.figures.palette import EDGE, FAN, INK, RULE
from airover.figures.style import (
    BEHIND,
    DOTS,
    SHADE,
    SMALL,
    THICK,
    THIN,
    WIDE,
    frame,
    title,
    unframed,
)  # fmt: skip
from airover.message import Message, Quantity
from airover.motor.lifetime import LONGEST
from airover.reports.bearings import hours_text
from airover.texts import Writer

SIZE = (WIDE, 5.9)  # inches
FILM_SIZE = (WIDE, 4.8)
ROWS = (
    "ball: grease", "ball: fatigue", "sleeve: oil", "sleeve: wear of the bore",
    "sleeve: wear of the thrust washer",
)  # fmt: skip
LEAST = 100.0  # h, where the axes of hours begin
MOST = 4e9  # h, where the axis of bars ends: beyond LONGEST there are only words
ROUND = 360.0  # degrees
NARROWEST = 282.0  # degrees, where its word begins: right of the pressure, under the gap
FINE = 49  # rows of the picture of pressure


class LifePicture:
    """Hours until each thing ends a bearing, and hours of both kinds against the weather."""

    def __init__(self, writer: Writer):
        self.writer = writer
        self.figure = Figure(figsize=SIZE, dpi=DOTS)
        self.canvas = FigureCanvasAgg(self.figure)
        self.ends, self.weather = self.figure.subplots(2, height_ratios=(1, 1))
        self.figure.subplots_adjust(left=0.26, right=0.97, top=0.95, bottom=0.085, hspace=0.42)
        self._draw_still()
        self._make_moving()
        self.canvas.draw()
        self._still = self.canvas.copy_from_bbox(self.figure.bbox)

    def png(self, study: BearingStudy) -> bytes:
        """The picture of ``study`` as a PNG file."""
        self.set(study)
        return redrawn(self.canvas, self._moving)

    def set(self, study: BearingStudy) -> None:
        """Put every bar, band and word where ``study`` has it."""
        self.canvas.restore_region(self._still)
        for at, name in enumerate(ROWS):
            self._set_row(at, study.bands[name], name in study.governing, study.first[name])
        mids = [np.clip(study.bands[name].mid, LEAST, LONGEST) for name in ROWS]
        self._mids.set_data(mids, range(len(ROWS)))
        self._set_weather(study)

    def _words(self, name: str, **values) -> str:
        return self.writer(f"bearings.picture.{name}", **values)

    def _temp(self, temps):
        """Temperatures [degC] in the unit of the axis."""
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
        weather.set(yscale="log", xlim=span, ylim=(LEAST, LONGEST / 10))
        title(weather, words("weather"))
        plain = FuncFormatter(lambda hours, _: f"{hours:,.0f}")
        ends.xaxis.set_major_formatter(plain)
        weather.yaxis.set_major_formatter(plain)
        for axes, grid in ((ends, "x"), (weather, "both")):
            frame(axes, grid)
            axes.minorticks_off()
        unframed(ends, "y")

    def _make_moving(self) -> None:
        words = {"animated": True, "fontsize": SMALL, "bbox": BEHIND, "color": INK}
        self._bars = [
            self.ends.plot([], [], color=INK, solid_capstyle="butt", animated=True)[0] for _ in ROWS
        ]
        (self._mids,) = self.ends.plot([], [], "|", color=FAN, ms=13, mew=2, animated=True)
        plain = {**words, "bbox": None}  # a box costs a millisecond
        self._labels = [self.ends.text(1, at, "", va="center", **plain) for at in range(len(ROWS))]
        (self._of_ball,) = self.weather.fill([], [], animated=True, **SHADE)
        (self._of_sleeve,) = self.weather.fill(
            [], [], facecolor="none", edgecolor=FAN, hatch="//", lw=THIN, animated=True
        )
        (self._mid_ball,) = self.weather.plot([], [], color=EDGE, lw=THICK, animated=True)
        (self._mid_sleeve,) = self.weather.plot([], [], "--", color=FAN, lw=THICK, animated=True)
        self._line = self.weather.axvline(0, color=EDGE, lw=THIN, animated=True)
        self._ball_word = self.weather.text(
            0, 1, self.writer("bearings.kind.ball"), ha="center", va="center", **words
        )
        self._sleeve_word = self.weather.text(
            0, 1, self.writer("bearings.kind.sleeve"), ha="center", va="center",
            **{**words, "color": FAN},
        )  # fmt: skip
        self._now = self.weather.text(0, 1, "", va="top", **words)
        lines = [*self._bars, self._mids, self._of_ball, self._of_sleeve, self._mid_ball]
        lines += [self._mid_sleeve, self._line]
        self._moving = [*lines, *self._labels, self._ball_word, self._sleeve_word, self._now]

    def _set_row(self, at: int, band: Band, governs: bool, first: float) -> None:
        """A bar, thick and black where it governs, its hours, and how often it comes first."""
        low, _, high = np.clip(band, LEAST, LONGEST)
        beyond = band.low >= LONGEST
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
            patch.set_xy(np.column_stack([np.r_[x, x[::-1]], np.r_[low, high[::-1]]]))
        for line, band in ((self._mid_ball, of_ball), (self._mid_sleeve, of_sleeve)):
            line.set_data(x, np.clip(band.mid, bottom, top))
        now = float(self._temp(study.asked.temp_outdoor))
        self._line.set_xdata([now, now])
        right = now < sum(self.weather.get_xlim()) / 2
        self._set_kinds(x, of_ball, of_sleeve, (-2, -3) if right else (2, 1))
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

    def _set_kinds(self, x, of_ball: Band, of_sleeve: Band, places) -> None:
        """The kinds' names side by side, away from the line; the sleeve's where it is alone."""
        at, beside = places
        self._ball_word.set_position((x[at], np.sqrt(of_ball.low[at] * of_ball.high[at])))
        above = of_sleeve.high[beside] / of_ball.high[beside]
        below = of_ball.low[beside] / max(of_sleeve.low[beside], LEAST)
        end, other = (of_sleeve.high, of_ball.high) if above > below else (
            np.maximum(of_sleeve.low, LEAST), of_ball.low)  # fmt: skip
        self._sleeve_word.set_position((x[beside], np.sqrt(end[beside] * other[beside])))


class FilmPicture:
    """Pressure of the oil film around the shaft, and along the bearing as shades."""

    def __init__(self, diameter: float, length: float, writer: Writer):
        self.writer = writer
        self.figure = Figure(figsize=FILM_SIZE, dpi=DOTS)
        self.canvas = FigureCanvasAgg(self.figure)
        self.line, self.map = self.figure.subplots(2, sharex=True, height_ratios=(3, 2))
        self.figure.subplots_adjust(left=0.11, right=0.97, top=0.94, bottom=0.11, hspace=0.3)
        self.ends = (-500 * length, 500 * length)
        self._draw_still(diameter)
        self._make_moving()
        self.canvas.draw()
        self._still = self.canvas.copy_from_bbox(self.figure.bbox)

    def png(self, study: BearingStudy) -> bytes:
        """The picture of the middle film of ``study`` as a PNG file."""
        self.set(study)
        return redrawn(self.canvas, self._moving)

    def set(self, study: BearingStudy) -> None:
        """Put pressure, gap and words where ``study`` has them."""
        self.canvas.restore_region(self._still)
        field, running = study.field, study.film.flooded
        degrees = np.degrees(field.angles)
        share = field.pressure / field.pressure.max()
        self._pressure.set_data(degrees, share[:, 0])
        eccentricity = float(np.median(running.eccentricity_ratio))
        gap = (1 + eccentricity * np.cos(field.angles)) / (1 + eccentricity)
        self._gap.set_data(degrees, gap)
        self._shades.set_data(_even(field.angles, field.positions, share))
        top, last = degrees[np.argmax(share[:, 0])], degrees[np.flatnonzero(share[:, 0] > 0)[-1]]
        highest = float(np.median(running.pressure_highest)) / 1000
        self._highest.set(
            position=(top, 1.09), text=self._words("highest", pressure=round(highest))
        )
        self._torn.set_position((np.clip(last + 8, 232, 270), 0.08))
        thinnest = 1e6 * float(np.median(running.film_thickness))
        place = NARROWEST, np.interp(NARROWEST, degrees, gap) - 0.03
        self._thin.set(text=self._words("gap", gap=round(thinnest)), position=place)

    def _words(self, name: str, **values) -> str:
        return self.writer(f"bearings.picture.{name}", **values)

    def _draw_still(self, diameter: float) -> None:
        line, shades, words = self.line, self.map, self._words
        title(line, words("film", diameter=f"{1000 * diameter:.1f}"))
        line.set(ylabel=words("pressure"), ylim=(0, 1.2), xlim=(0, ROUND))
        shades.set(xlabel=words("angle"))
        shades.set(ylabel=words("along"), ylim=self.ends, xticks=range(0, 361, 45))
        line.tick_params(labelbottom=True)
        for axes, grid in ((line, "both"), (shades, "")):
            frame(axes, grid)

    def _make_moving(self) -> None:
        words = {"animated": True, "fontsize": SMALL, "bbox": BEHIND}
        (self._pressure,) = self.line.plot([], [], color=INK, lw=THICK, animated=True)
        (self._gap,) = self.line.plot([], [], "--", color=FAN, lw=THIN, animated=True)
        self._shades = self.map.imshow(
            np.zeros((FINE, 2)), extent=(0, ROUND, *self.ends), aspect="auto", cmap="Greys",
            vmin=0, vmax=1, animated=True,
        )  # fmt: skip
        self._highest = self.line.text(0, 0, "", color=INK, ha="center", va="center", **words)
        self._torn = self.line.text(0, 0, self._words("cavitated"), color=INK, **words)
        self._thin = self.line.text(0, 0, "", color=FAN, va="top", **words)
        self._dark = self.map.text(
            8, self.ends[1] * 0.8, self._words("dark"), color=INK, va="top", **words
        )
        texts = [self._highest, self._torn, self._thin, self._dark]
        self._moving = [self._shades, self._pressure, self._gap, *texts]


def _even(angles, positions, share):
    """Shades on even angles and from end to end, from a half with nodes where they are needed."""
    across = np.linspace(0, 2 * np.pi, 2 * len(angles))
    half = np.abs(np.linspace(-1, 1, FINE))
    around = np.stack([np.interp(across, angles, ring) for ring in share.T])
    return np.stack([np.interp(half, positions, column) for column in around.T], axis=-1)
