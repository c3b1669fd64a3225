"""Pictures of the lesson on fan laws: a student's prediction beside what is true.

Lines carry their words, predictions a cross and a word, so nothing hangs on colour.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from airover.exercise.fan_laws import FAST_RPM, SLOW_RPM, FanLesson, FittedMotor, Swept
from airover.figures.drawing import redrawn
from airover.figures.palette import FAN, INK, PAPER
from airover.figures.style import (
    HEAD,
    LINE,
    PLAIN,
    SHADE,
    SMALL,
    THICK,
    THIN,
    frame,
    note,
    title,
)  # fmt: skip
from airover.motor.expected import torques
from airover.tables.fan_laws import FanWriter, across, axis, on_axis, swapped, swept_of

DPI = 97
SIZE = (7.2, 5.1)  # inches
DASHES = {6: "-", 8: "--"}  # of a motor, by its poles
# Margins: a layout that is worked out anew takes longer than the rest of the picture.
TWO = {"left": 0.09, "right": 0.985, "top": 0.87, "bottom": 0.1, "wspace": 0.22, "hspace": 0.34}
THREE = TWO | {"top": 0.83, "wspace": 0.4, "hspace": 0.46}
ROOM = 0.14  # of what is drawn, above and below it


class SweptPicture:
    """Every figure of a ``step`` over its slider, with the predictions beside the truth.

    ``guesses`` by name as in tables_lesson_fan.judged, at ``ahead`` [%]. Without any of them only
    today's figures are shown: nothing was predicted yet. All but the slider's points and their
    figures stands still and is drawn once.
    """

    def __init__(self, lesson: FanLesson, step: str, guesses: dict, ahead: int, told: FanWriter):
        self.found, self.x, self.told = swept_of(lesson, step), across(lesson, step, told), told
        self.opened = bool(guesses)
        self.figure = Figure(figsize=SIZE, dpi=DPI)
        self.canvas = FigureCanvasAgg(self.figure)
        names = list(self.found.figures)
        grid = self.figure.subplots(2, (len(names) + 1) // 2, squeeze=False)
        self.figure.subplots_adjust(**(TWO if len(names) <= 4 else THREE))
        self.figure.supxlabel(
            told.say(f"axis.{step}", unit=told.height_unit()), fontsize=PLAIN, color=INK
        )
        _headed(self.figure, told.say(f"title.{step}"))
        self._moving = {}
        for axes, name in zip(grid.flat, names, strict=True):
            _frame(axes, told, name, self.x)
            self._moving[name] = self._values(axes, name)
            if name in guesses:
                _guess(axes, self.x, self.found, name, guesses[name], ahead, told)
            if (step, name) == ("speed", "power"):
                _rating(axes, self.x, lesson)
        self.canvas.draw()
        self._still = self.canvas.copy_from_bbox(self.figure.bbox)

    def png(self, place: int) -> bytes:
        """The picture with the slider at ``place``, as a PNG file."""
        self.canvas.restore_region(self._still)
        if not self.opened:
            return redrawn(self.canvas, [])
        for name, (point, words) in self._moving.items():
            value = self.found.at_step(name, place).mid
            point.set_data([self.x[place]], [float(on_axis(name, value, self.told))])
            change = self.told.change(name, self.found.change(name, place))
            words.set_text(f"{self.told.figure(name, value)}, {change}")
        return redrawn(self.canvas, [one for pair in self._moving.values() for one in pair])

    def _values(self, axes, name: str) -> tuple:
        """The start, and once predictions are there the line with its band; what will move."""
        x, start = self.x, self.found.start
        low, mid, high = (on_axis(name, ends, self.told) for ends in self.found.band(name))
        spare = ROOM * (high.max() - low.min())
        axes.set_ylim(low.min() - spare, high.max() + 1.6 * spare)
        axes.plot(x[start], mid[start], "o", color=INK, mfc=PAPER, ms=7, mew=LINE)
        if self.opened:
            axes.fill_between(x, low, high, **SHADE)
            axes.plot(x, mid, color=INK, lw=LINE)
        else:
            _label(axes, x[start], mid[start], self.told.say("now"))
        (point,) = axes.plot([], [], "o", color=INK, ms=8, animated=True)
        above = {"transform": axes.transAxes, "fontsize": PLAIN, "color": INK, "animated": True}
        return point, axes.text(0, 1.03, "", **above)


def swap(lesson: FanLesson, guesses: dict, told: FanWriter) -> Figure:
    """Torque of both motors and of the blade over speed, for the fast blade and the slow one.

    Without ``guesses`` only the motor that belongs there is shown.
    """
    figure = Figure(figsize=SIZE, layout="constrained")
    pair = figure.subplots(1, 2, sharey=True)
    wrong = {FAST_RPM: "slow", SLOW_RPM: "fast"}
    for axes, (rpm, which) in zip(pair, wrong.items(), strict=True):
        other = swapped(lesson, which)
        own = next(one for (at, _), one in lesson.fitted.items() if at == rpm and one is not other)
        side = "fast_blade" if rpm == FAST_RPM else "slow_blade"
        shown = [own, other] if guesses else [own]
        lines = [told.say(f"title.{side}"), *(_settles(one, told) for one in shown)]
        title(axes, "\n".join(lines), PLAIN)
        axes.set_xlabel(told.say("axis.rpm"))
        _torques(axes, own, told, blade=True)
        if guesses:
            _torques(axes, other, told)
            _guessed_rpm(axes, guesses.get(f"{which}_speed"), told)
        _clean(axes)
        axes.set_xlim(0, 1240)
    pair[0].set_ylim(bottom=0)  # of both, once all lines are there
    pair[0].set_ylabel(told.say("axis.torque"))
    _headed(figure, told.say("title.swap"))
    return figure


def _frame(axes, told: FanWriter, name: str, x: np.ndarray) -> None:
    axes.set_ylabel(axis(name, told))
    reach = 0.06 * np.ptp(x)
    axes.set_xlim(x[0] - reach, x[-1] + reach)
    _clean(axes)


def _headed(figure: Figure, words: str) -> None:
    figure.suptitle(words, fontsize=HEAD, color=INK, x=0.01, ha="left")


def _clean(axes) -> None:
    frame(axes, plain=SMALL)
    axes.locator_params(axis="y", nbins=5)


def _guess(axes, x, found: Swept, name: str, guess, ahead: int, told: FanWriter) -> None:
    """A number as a cross at its place, a word of a choice as words."""
    if isinstance(guess, str):
        words = told.say("you_said", word=told.say(f"word.{guess}"))
        axes.text(0, 1.14, words, transform=axes.transAxes, fontsize=PLAIN, color=FAN)
        return
    before = found.at_step(name, found.start).mid
    value, at = float(on_axis(name, guess * before, told)), x[found.at.index(ahead)]
    axes.plot(at, value, "x", color=FAN, ms=9, mew=THICK)
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, value - 0.1 * (high - low)), max(high, value + 0.1 * (high - low)))
    _label(axes, at, value, told.say("you"), FAN)


def _label(axes, x, y, words: str, color: str = INK) -> None:
    """Beside a point, on the side where there is room."""
    left = x > sum(axes.get_xlim()) / 2
    away, side = ((-8, -4), "right") if left else ((8, -4), "left")
    note(axes, words, (x, y), away, color, ha=side, va="top")


def _rating(axes, x, lesson: FanLesson) -> None:
    """The motor's rating, where it is in sight."""
    rating = lesson.found.size.standard
    axes.axhline(rating.power, color=INK, ls=":", lw=THIN)
    note(axes, f"{rating.text}, {rating.power:.0f} W", (x[0], rating.power), va="bottom")


def _torques(axes, fitted: FittedMotor, told: FanWriter, blade: bool = False) -> None:
    """A motor's torque over speed and where it settles; the ``blade``'s too."""
    curves, poles = torques(fitted.run), fitted.row.poles
    axes.fill_between(curves.speed_rpm, curves.motor.low, curves.motor.high, **SHADE)
    axes.plot(curves.speed_rpm, curves.motor.mid, DASHES[poles], color=INK, lw=LINE)
    if blade:
        rpm = np.linspace(0, 1200, 60)
        newton_metres = np.median(fitted.run.load.coefficient) * (rpm * np.pi / 30) ** 2
        axes.plot(rpm, newton_metres, color=FAN, lw=THICK)
        note(axes, told.say("title.blade"), (rpm[25], newton_metres[25]), (4, -12), FAN)
    speed = fitted.bands["speed"].mid
    torque = fitted.bands["power"].mid / (speed * np.pi / 30)
    axes.plot(speed, torque, "o", color=INK, ms=8)
    slow = poles == 8
    at = int(np.argmax(curves.motor.mid)) + (0 if slow else 3)
    away, side = ((0, 5), "center") if slow else ((6, 2), "left")
    top = curves.speed_rpm[at], curves.motor.mid[at]
    note(axes, told.say("poles", poles=poles), top, away, ha=side)


def _settles(fitted: FittedMotor, told: FanWriter) -> str:
    speed = told.figure("speed", fitted.bands["speed"].mid)
    return told.say("settles", poles=fitted.row.poles, speed=speed)


def _guessed_rpm(axes, rpm: float | None, told: FanWriter) -> None:
    if rpm is None:
        return
    axes.axvline(rpm, color=FAN, ls="-.", lw=THIN)
    words = f"{told.say('you')}: {told.figure('speed', rpm)}"
    sides = {"xycoords": axes.get_xaxis_transform(), "ha": "right", "va": "top"}
    note(axes, words, (rpm, 0.97), (-4, 0), FAN, **sides)
