"""Show the fan law lesson as text, tables and figures, with predictions and correct values.

Lines are labeled, and predictions are marked with a cross and a word, so nothing depends on color
alone.
"""

import re

import numpy as np
import pandas as pd

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import convert, read
from airover.lesson.fan_laws import (
    DIRTS,
    ELEVATIONS,
    FAST_RPM,
    POLES,
    SLOW_RPM,
    SPEEDS,
    FanLesson,
    FittedMotor,
    Swept,
    slip,
    slip_rpm,
)
from airover.model.expected import torques
from airover.reports.drawing import (
    HEAD,
    LINE,
    PLAIN,
    SHADE,
    SMALL,
    THICK,
    THIN,
    Figure,
    MovingPicture,
    frame,
    note,
    title,
)
from airover.reports.palette import FAN, INK, PAPER

STEPS = ("speed", "blocked", "swap", "height")
CHANGES = ("flow", "power", "current", "winding", "condensing")
SWAPS = ("slow_speed", "slow_flow", "slow_amps", "fast_speed", "fast_flow", "fast_amps")
# Predictions in each step. Amounts are typed in; words are selected.
ASKED = {
    "speed": ("flow", "pressure", "power", "current"),
    "blocked": CHANGES,
    "swap": SWAPS,
    "height": ("flow", "power", "current", "winding"),
}
KINDS = {
    "flow": "flow",
    "pressure": "pressure",
    "power": "power",
    "current": "current",
    "winding": "temperature",
    "condensing": "temperature",
}
CHANGE = re.compile(r"([+-]?)\s*([0-9]{1,3}(?:[.,][0-9]+)?)\s*%")
LEAST = -95.0  # percent
DPI = 97
SIZE = (7.2, 5.1)  # inches
DASHES = {6: "-", 8: "--"}  # line style by number of poles
# Fixed margins, because automatic layout takes longer than drawing the rest of the figure.
TWO = {"left": 0.09, "right": 0.985, "top": 0.87, "bottom": 0.1, "wspace": 0.22, "hspace": 0.34}
THREE = TWO | {"top": 0.83, "wspace": 0.4, "hspace": 0.46}
ROOM = 0.14  # fraction of the plotted range, above and below


class FanWriter(Writer):
    """Writer for a lesson in the language and units of the class."""

    def say(self, key: str, **places) -> str:
        return self(f"lesson_fan.{key}", **places)

    def figure(self, name: str, value: float) -> str:
        """Format a value, with power in watts in both unit systems."""
        if name in ("power", "speed"):
            return f"{value:.0f} {'W' if name == 'power' else 'rpm'}"
        return self.amount(float(value), KINDS[name])

    def band(self, name: str, band: Band) -> str:
        """Format the median, followed by the 90 % range if its rounded limits differ."""
        low, mid, high = (self.figure(name, value) for value in band)
        if low == high or band.high - band.low < 0.02 * abs(band.mid):
            return mid
        low, high = (end.split(" ", 1)[0] for end in (low, high))
        return self.say("band", mid=mid, low=low, high=high)

    def change(self, name: str, change: Band) -> str:
        """Format a result of `Swept.change` for display."""
        if name in ("winding", "condensing"):
            return self.kelvin(change.mid)
        return percent(change.mid)

    def kelvin(self, difference: float) -> str:
        """Format a temperature difference with its sign."""
        return _signed(difference) + self.amount(abs(difference), "temperature_rise", 0)

    def height(self, metres: float) -> str:
        """Format an elevation for display.

        Elevations in feet are rounded to the nearest hundred because the steps are round numbers in
        meters.
        """
        if self.system == "SI":
            return f"{metres:.0f} m"
        return f"{round(float(convert(metres, 'elevation', 'ft')), -2):.0f} ft"

    def height_unit(self) -> str:
        return "ft" if self.system == "US" else "m"


def percent(ratio: float) -> str:
    """Format a ratio as a percent change, such as "+33 %" for 1.331."""
    change = 100 * (ratio - 1)
    digits = 1 if abs(change) < 9.95 else 0
    return f"{_signed(round(change, digits))}{abs(change):.{digits}f} %"


def guessed(name: str, text: str, before: float) -> float:
    """Convert a student's ``text`` to a ratio of new to old value.

    Parameters
    ----------
    name : str
        Name of a value in step "speed".
    before : float
        Original value [SI unit].

    Raises
    ------
    InputError
        If an input is invalid.
    """
    found = CHANGE.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    if found is None:
        return read(text, KINDS[name], name).mid / before
    change = float(found[1] + found[2].replace(",", "."))
    if change < LEAST:
        raise InputError(name, f"{change:g} %", Message("lesson.error.change", least=LEAST))
    return 1 + change / 100


def question(lesson: FanLesson, step: str, told: FanWriter, ahead: int) -> str:
    """Return the question for a ``step`` with a speed change of ``ahead`` [%]."""
    if step == "swap":
        return told.say("ask.swap", rating=lesson.found.size.standard.text)
    swept = swept_of(lesson, step)
    start = {
        name: told.figure(name, swept.at_step(name, swept.start).mid) for name in swept.figures
    }
    places = {"rating": lesson.strong[0].text, "change": _per_cent(ahead)}
    return told.say(f"ask.{step}", **start, **places, top=told.height(ELEVATIONS[-1]))


def slider_words(lesson: FanLesson, step: str, told: FanWriter) -> list[str]:
    """Return the label of each slider position in a step."""
    words = {"speed": _per_cent, "blocked": lambda dirt: f"{dirt:g}", "height": told.height}
    return [words[step](place) for place in swept_of(lesson, step).at]


def sentence(lesson: FanLesson, step: str, place: int, told: FanWriter) -> str:
    """Return a one-sentence conclusion for a ``step`` at the slider position ``place``."""
    if step == "swap":
        return _swap_told(lesson, told)
    swept = swept_of(lesson, step)
    changes = {name: told.change(name, swept.change(name, place)) for name in swept.figures}
    amps = swept.change("current", place)
    places = changes | {"low": percent(amps.low), "high": percent(amps.high)}
    if step == "speed":
        rating = lesson.found.size.standard
        load = swept.at_step("power", place).mid / rating.power
        places |= {"change": _per_cent(SPEEDS[place]), "rating": rating.text, "load": _share(load)}
    elif step == "blocked":
        places["dirt"] = f"{DIRTS[place]:g}"
    else:
        places["height"] = told.height(ELEVATIONS[place])
    return told.say(f"told.{step}", **places)


def swept_of(lesson: FanLesson, step: str) -> Swept:
    """Return the values that change with the slider of a ``step``."""
    return getattr(lesson, step)


def figures(lesson: FanLesson, step: str, place: int, told: FanWriter) -> pd.DataFrame:
    """Return a table of the values before and at the slider position ``place``."""
    if step == "swap":
        return _swap_figures(lesson, told)
    swept = swept_of(lesson, step)
    rows = [
        {
            "figure": told.say(f"name.{name}"),
            "start": told.band(name, swept.at_step(name, swept.start)),
            "here": told.band(name, swept.at_step(name, place)),
            "change": told.change(name, swept.change(name, place)),
        }
        for name in swept.figures
    ]
    return _frame(rows, told)


def judged(
    lesson: FanLesson, step: str, guesses: dict, ahead: int, told: FanWriter
) -> pd.DataFrame:
    """Return a table of each prediction, the correct value, and the assumed relationship.

    Parameters
    ----------
    guesses : dict
        Predictions by name: ratios (new over old at ``ahead`` [%]) in step "speed", and selected
        words or rpm in the other steps.
    """
    if step == "speed":
        rows = [_law(lesson.speed, name, guess, ahead, told) for name, guess in guesses.items()]
    elif step == "swap":
        rows = [_swapped(lesson, name, guess, told) for name, guess in guesses.items()]
    else:
        swept = swept_of(lesson, step)
        rows = [_direction(swept, name, guess, told) for name, guess in guesses.items()]
    return _frame(rows, told)


def correct(lesson: FanLesson, step: str, guesses: dict, ahead: int) -> tuple[bool, ...]:
    """Return True for each correct prediction. The arguments are the same as for `judged`."""
    return tuple(_is_right(lesson, step, name, guess, ahead) for name, guess in guesses.items())


def _is_right(lesson: FanLesson, step: str, name: str, guess, ahead: int) -> bool:
    if step == "swap":
        fitted, what = swapped(lesson, name), name.partition("_")[2]
        if what == "speed":
            return slip_rpm(fitted, guess) == "right"
        return guess == getattr(fitted, what)
    swept = swept_of(lesson, step)
    if step == "speed":
        change = swept.change(name, swept.at.index(ahead))
        return slip(name, 1 + ahead / 100, guess, change) == "right"
    return guess == swept.direction(name)


def swapped(lesson: FanLesson, name: str) -> FittedMotor:
    """Return the mismatched motor and fan that a prediction in step "swap" refers to."""
    slow, fast = (FAST_RPM, POLES[1]), (SLOW_RPM, POLES[0])
    return lesson.fitted[slow if name.startswith("slow") else fast]


def axis(name: str, told: FanWriter) -> str:
    """Return the axis label for a value, with its unit."""
    return f"{told.say(f'name.{name}')} [{_unit(name, told)}]"


def on_axis(name: str, values, told: FanWriter) -> np.ndarray:
    """Convert SI ``values`` to the unit of their axis."""
    return np.asarray(convert(np.asarray(values, dtype=float), KINDS[name], _unit(name, told)))


def across(lesson: FanLesson, step: str, told: FanWriter) -> np.ndarray:
    """Return the slider positions in a step in the unit of their axis."""
    places = np.array(swept_of(lesson, step).at, dtype=float)
    if step != "height":
        return places
    return np.asarray(convert(places, "elevation", told.height_unit()))


class SweptPicture(MovingPicture):
    """Plots of values vs. slider position in a ``step``, with predictions and correct values.

    Without predictions, only the initial values are shown. Moving the slider redraws only the
    points and their labels.

    Parameters
    ----------
    guesses : dict
        Predictions by name as in `judged`, at ``ahead`` [%].
    """

    def __init__(self, lesson: FanLesson, step: str, guesses: dict, ahead: int, told: FanWriter):
        super().__init__(SIZE, DPI)
        self.found, self.x, self.told = swept_of(lesson, step), across(lesson, step, told), told
        self.opened = bool(guesses)
        names = list(self.found.figures)
        grid = self.figure.subplots(2, (len(names) + 1) // 2, squeeze=False)
        self.figure.subplots_adjust(**(TWO if len(names) <= 4 else THREE))
        self.figure.supxlabel(
            told.say(f"axis.{step}", unit=told.height_unit()), fontsize=PLAIN, color=INK
        )
        _headed(self.figure, told.say(f"title.{step}"))
        self._points = {}
        for axes, name in zip(grid.flat, names, strict=True):
            _axes_frame(axes, told, name, self.x)
            self._draw_values(axes, name)
            if self.opened:
                self._points[name] = self.line(axes, "o", ms=8), self._figure(axes)
            if name in guesses:
                _guess(axes, self.x, self.found, name, guesses[name], ahead, told)
            if (step, name) == ("speed", "power"):
                _rating(axes, self.x, lesson)

    def set(self, place: int) -> None:
        """Move every point to the slider position ``place``."""
        self.restore()
        for name, (point, words) in self._points.items():
            value = self.found.at_step(name, place).mid
            point.set_data([self.x[place]], [float(on_axis(name, value, self.told))])
            change = self.told.change(name, self.found.change(name, place))
            words.set_text(f"{self.told.figure(name, value)}, {change}")

    def _figure(self, axes):
        return self.words(
            axes, "", (0, 1.03), transform=axes.transAxes, fontsize=PLAIN, bbox=None
        )  # fmt: skip

    def _draw_values(self, axes, name: str) -> None:
        """Plot the initial value and, if there are predictions, the curve with its range."""
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


def swap(lesson: FanLesson, guesses: dict, told: FanWriter) -> Figure:
    """Plot motor and fan torque vs. speed for both fans.

    Without ``guesses``, only the correct motor for each fan is shown.
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
    pair[0].set_ylim(bottom=0)  # for both plots, after all lines have been added
    pair[0].set_ylabel(told.say("axis.torque", unit=told.unit("torque")))
    _headed(figure, told.say("title.swap"))
    return figure


def _unit(name: str, told: FanWriter) -> str:
    return "W" if name == "power" else told.unit(KINDS[name])


def _law(swept: Swept, name: str, guess: float, ahead: int, told: FanWriter) -> dict:
    place = swept.at.index(ahead)
    change, before = swept.change(name, place), swept.at_step(name, swept.start).mid
    word = slip(name, 1 + ahead / 100, guess, change)
    why = told.say(f"slip.{word}", law=told.say(f"law.{name}"))
    return {
        "figure": told.say(f"name.{name}"),
        "guess": f"{told.figure(name, guess * before)}, {percent(guess)}",
        "truth": f"{told.band(name, swept.at_step(name, place))}, {percent(change.mid)}",
        "why": why,
    }


def _direction(swept: Swept, name: str, guess: str, told: FanWriter) -> dict:
    true, change = swept.direction(name), told.change(name, swept.change(name, -1))
    return {
        "figure": told.say(f"name.{name}"),
        "guess": told.say(f"word.{guess}"),
        "truth": f"{told.say(f'word.{true}')}, {change}",
        "why": _right_or(guess == true, told.say(f"word.{true}"), told),
    }


def _swapped(lesson: FanLesson, name: str, guess, told: FanWriter) -> dict:
    fitted, what = swapped(lesson, name), name.partition("_")[2]
    row = {"figure": told.say(f"name.{name}")}
    if what == "speed":
        word = slip_rpm(fitted, guess)
        key = {"little": "slow", "much": "fast"}.get(word, word)
        return row | {
            "guess": told.figure("speed", guess),
            "truth": told.band("speed", fitted.bands["speed"]),
            "why": told.say(f"slip.{key}"),
        }
    table = "air" if what == "flow" else "plate"
    true, share = getattr(fitted, what), _share(fitted.bands[what].mid)
    return row | {
        "guess": told.say(f"{table}.{guess}"),
        "truth": f"{told.say(f'{table}.{true}')}, {share}",
        "why": _right_or(guess == true, told.say(f"{table}.{true}"), told),
    }


def _swap_told(lesson: FanLesson, told: FanWriter) -> str:
    slow, fast = swapped(lesson, "slow"), swapped(lesson, "fast")
    own = lesson.fitted[FAST_RPM, POLES[0]]
    hotter = fast.bands["winding"].mid - own.bands["winding"].mid
    return told.say(
        "told.swap",
        **{f"slow_{name}": text for name, text in _three(slow, told).items()},
        **{f"fast_{name}": text for name, text in _three(fast, told).items()},
        winding=told.band("winding", fast.bands["winding"]),
        load=_share(fast.bands["power"].mid / fast.row.ratings[-1]),
        hotter=told.amount(hotter, "temperature_rise", 0),
    )


def _three(fitted: FittedMotor, told: FanWriter) -> dict[str, str]:
    bands = fitted.bands
    speed = told.figure("speed", bands["speed"].mid)
    return {"speed": speed, "flow": _share(bands["flow"].mid), "amps": _share(bands["amps"].mid)}


def _swap_figures(lesson: FanLesson, told: FanWriter) -> pd.DataFrame:
    """Return a table of both motors with both fans, one row per value."""
    names = ("speed", "power", "current", "winding")
    rows = []
    for name in names:
        row = {"figure": told.say(f"name.{name}")}
        for (rpm, poles), fitted in lesson.fitted.items():
            side = told.say("title.fast_blade" if rpm == FAST_RPM else "title.slow_blade")
            value = told.band(name, fitted.bands[name])
            row[told.say("settles", poles=poles, speed=side)] = value
        rows.append(row)
    return _frame(rows, told)


def _frame(rows: list[dict], told: FanWriter) -> pd.DataFrame:
    names = {one: told.say(f"column.{one}") for one in ("figure", "start", "here", "change")}
    names |= {one: told.say(f"column.{one}") for one in ("guess", "truth", "why")}
    frame = pd.DataFrame([{names.get(k, k): v for k, v in row.items()} for row in rows])
    return frame.set_index(names["figure"])


def _right_or(right: bool, word: str, told: FanWriter) -> str:
    return told.say("slip.right") if right else told.say("slip.wrong", word=word)


def _share(value: float) -> str:
    return f"{100 * value:.0f} %"


def _per_cent(change: int) -> str:
    return f"{_signed(change)}{abs(change)} %"


def _signed(value: float) -> str:
    return "+" if value > 0 else "-" if value < 0 else ""


def _axes_frame(axes, told: FanWriter, name: str, x: np.ndarray) -> None:
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
    """Mark a predicted number with a cross, or write a selected word above the axes."""
    if isinstance(guess, str):
        words = told.say("you_said", word=told.say(f"word.{guess}"))
        axes.text(0, 1.14, words, transform=axes.transAxes, fontsize=PLAIN, color=FAN)
        return
    before = found.at_step(name, found.start).mid
    value, at = float(on_axis(name, guess * before, told)), x[found.at.index(ahead)]
    axes.plot(at, value, "x", color=FAN, ms=9, mew=THICK)
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, value - 0.1 * (high - low)), max(high, value + 0.1 * (high - low)))
    true = float(on_axis(name, found.at_step(name, found.at.index(ahead)).mid, told))
    away, side = ((0, 8), "bottom") if value > true else ((0, -8), "top")
    note(axes, told.say("you"), (at, value), away, FAN, ha="center", va=side)


def _label(axes, x, y, words: str, color: str = INK) -> None:
    """Place a label next to a point, on the side with more space."""
    left = x > sum(axes.get_xlim()) / 2
    away, side = ((-8, -4), "right") if left else ((8, -4), "left")
    note(axes, words, (x, y), away, color, ha=side, va="top")


def _rating(axes, x, lesson: FanLesson) -> None:
    """Draw a line at the motor rating."""
    rating = lesson.found.size.standard
    axes.axhline(rating.power, color=INK, ls=":", lw=THIN)
    note(axes, f"{rating.text}, {rating.power:.0f} W", (x[0], rating.power), va="bottom")


def _torques(axes, fitted: FittedMotor, told: FanWriter, blade: bool = False) -> None:
    """Plot a motor's torque vs. speed, with its operating point.

    Parameters
    ----------
    blade : bool, optional
        If True, also plot the fan torque.
    """
    curves, poles = torques(fitted.run), fitted.row.poles
    low, mid, high = (told.number(ends, "torque") for ends in curves.motor)
    axes.fill_between(curves.speed_rpm, low, high, **SHADE)
    axes.plot(curves.speed_rpm, mid, DASHES[poles], color=INK, lw=LINE)
    if blade:
        rpm = np.linspace(0, 1200, 60)
        newton_meters = np.median(fitted.run.load.coefficient) * (rpm * np.pi / 30) ** 2
        needed = told.number(newton_meters, "torque")
        axes.plot(rpm, needed, color=FAN, lw=THICK)
        note(axes, told.say("title.blade"), (rpm[25], needed[25]), (4, -12), FAN)
    speed = fitted.bands["speed"].mid
    torque = told.number(fitted.bands["power"].mid / (speed * np.pi / 30), "torque")
    axes.plot(speed, torque, "o", color=INK, ms=8)
    slow = poles == 8
    at = int(np.argmax(mid)) + (0 if slow else 3)
    away, side = ((0, 5), "center") if slow else ((6, 2), "left")
    top = curves.speed_rpm[at], mid[at]
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
