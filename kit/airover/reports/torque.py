"""Plot motor torque and fan torque against speed at the three supply voltages."""

import numpy as np

from airover.core.texts import ENGLISH, Writer
from airover.reports.drawing import (
    DASHES,
    FINE,
    LEADER,
    LINE,
    SMALL,
    THICK,
    MovingPicture,
    axis_end,
    frame,
    title,
)
from airover.reports.palette import FAN, INK
from airover.selection.rules import Candidate, Case

SIZE = (5.8, 3.7)  # inches
NAMES = ("low", "usual", "high")
NAMED = 0.45  # fraction of synchronous speed that the names of the curves cover
FAN_NAMED = 36  # point of the fan curve with its name


class TorquePicture(MovingPicture):
    """Plot of candidate torque and fan torque against speed.

    The curves cross at the operating point. They are medians of the samples for the warm motor. For
    a motor that was not simulated, a message is shown instead of the curves.

    Parameters
    ----------
    writer : Writer, optional
        Writer of the labels, English by default.
    """

    def __init__(self, writer: Writer = ENGLISH):
        super().__init__(SIZE, FINE)
        self._writer = writer
        self.axes = self.figure.subplots()
        self.figure.subplots_adjust(left=0.1, right=0.975, bottom=0.135, top=0.915)
        torque = self._word("torque", unit=writer.unit("torque"))
        self.axes.set(xlabel=self._word("speed"), ylabel=torque)
        frame(self.axes)
        self._make_moving()

    def set(self, candidate: Candidate) -> None:
        case = candidate.case
        is_simulated = case.row is not None
        self.axes.set_visible(is_simulated)
        for artist in self.moving:
            artist.set_visible(is_simulated is not (artist is self._missing))
        if not is_simulated:
            missing = self._word("not_simulated", motor=case.motor.name)
            self._missing.set_text(missing)
            self.restore()
            return
        speed, *torques, settled = case.torque_curves
        curves, fan = (self._writer.number(one, "torque") for one in torques)
        self._fit_axes(case, speed, curves)
        for line, curve in zip(self._motor, curves, strict=True):
            line.set_data(speed, curve)
        self._fan.set_data(speed, fan)
        self._of_fan.xy = speed[FAN_NAMED], fan[FAN_NAMED]
        rating = self._writer.amount(case.rating, "power")
        self._title.set_text(self._word("title", motor=case.motor.name, rating=rating))
        self._mark_crossing(case, settled, speed[-1])

    def _word(self, name: str, **values) -> str:
        return self._writer(f"answer.torque_figure.{name}", **values)

    def _make_moving(self) -> None:
        axes = self.axes
        self._motor = [self.line(axes, style, lw=LINE, label="-") for style in DASHES]
        self._legend = axes.legend(
            title=self._word("motor"), loc="upper left", reverse=True, frameon=False,
            handlelength=2.6, fontsize=SMALL, title_fontsize=SMALL, alignment="left",
            labelcolor=INK,
        )  # fmt: skip
        self._fan = self.line(axes, "-", FAN, lw=THICK)
        of_fan = self._word("fan")
        self._of_fan = self.note(axes, of_fan, (4, -4), color=FAN, va="top")
        self._dot = self.line(axes, "o", ms=7)
        self._of_dot = self.note(axes, "", va="center", arrowprops=LEADER)
        self._title = self._moved(title(axes, "", y=1.0, animated=True))
        middle = {"transform": self.figure.transFigure, "ha": "center"}
        self._missing = self.words(axes, "", (0.5, 0.5), bbox=None, fontsize=10, **middle)

    def _fit_axes(self, case: Case, speed, curves) -> None:
        """Fit the axes, label the voltages and restore the pixels."""
        names = [
            self._word(name, volts=f"{volts:.0f} V")
            for name, volts in zip(NAMES, case.conditions.voltage, strict=True)
        ]
        for text, name in zip(self._legend.get_texts(), reversed(names), strict=True):
            text.set_text(name)
        beside_names = curves[-1][speed < NAMED * speed[-1]]
        top = axis_end(max(1.06 * np.max(curves), 1.3 * np.max(beside_names)))
        self.axes.set(xlim=(0, speed[-1] * 1.08), ylim=(0, top))
        self.restore((speed[-1], top, *names))

    def _mark_crossing(self, case: Case, newton_meters: float, synchronous: float) -> None:
        """Draw the operating point with its values on the side with more space."""
        rpm = case.speed_rpm.mid
        place = rpm, self._writer.number(newton_meters, "torque")
        self._dot.set_data(*([value] for value in place))
        torque, amps = self._writer.amount(newton_meters, "torque"), f"{case.current.mid:.2f} A"
        settles = self._word("settles", speed=f"{rpm:.0f} rpm")
        told = f"{settles}\n{self._word('there', torque=torque, amps=amps)}"
        away, side = ((-75, 0), "right") if rpm > synchronous / 2 else ((40, -20), "left")
        self._of_dot.xy = place
        self._of_dot.set(text=told, position=away, ha=side)
