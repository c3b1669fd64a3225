"""The picture of one motor across voltage, drawn anew while a slider moves.

What stands still (axes, ticks, the nameplate's limits, readings) is drawn once for each pair of axes
and kept as pixels; a redraw puts only the band, the line's voltage and the torques on top.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from airover.bands import Band
from airover.figures.drawing import redrawn
from airover.figures.palette import EDGE, FAN, INK, PAPER
from airover.figures.style import (
    BEHIND,
    DOTS,
    LINE,
    PLAIN,
    SHADE,
    SMALL,
    THIN,
    WIDE,
    frame,
    note,
    title,
)  # fmt: skip
from airover.message import Quantity
from airover.motor.expected import Expected, Mounted, Torques, torques
from airover.texts import Writer

SIZE = (WIDE, 5.4)  # inches
FOOT = 0.13  # of the axes: room for the words at their foot, under the line's voltage
SPARE = 0.3  # of what is shown first: room on an axis
GROWTH = 3.0  # of that room, from one pair of ends to the next


class MotorPicture:
    """Amps across voltage, and under them torque over speed, of one ``mounted`` motor.

    ``write`` is for its words, English by default.
    """

    def __init__(self, mounted: Mounted, write: Writer | None = None):
        self.mounted, self.write = mounted, write or Writer("en")
        self.figure = Figure(figsize=SIZE, dpi=DOTS)
        self.canvas = FigureCanvasAgg(self.figure)
        self.amps, self.torque = self.figure.subplots(2, height_ratios=(3, 2))
        self.figure.subplots_adjust(left=0.1, right=0.97, top=0.95, bottom=0.09, hspace=0.42)
        self._first, self._stills = {}, {}
        self._draw_still()
        self._moving = [*self._amps_artists(), *self._torque_artists()]

    def png(self, expected: Expected) -> bytes:
        """The picture of ``expected`` as a PNG file."""
        self.set(expected)
        return redrawn(self.canvas, self._moving)

    def set(self, expected: Expected) -> None:
        """Put every line, band and label where ``expected`` has it."""
        current, curves = expected.across["current_a"], torques(expected.now)
        self._fit_axes(expected, current, curves)
        self._set_amps(expected, current)
        self._set_torques(expected, curves)

    def _draw_still(self) -> None:
        amps, torque = self.amps, self.torque
        amps.set(xlabel=self._word("across"), ylabel=self._word("up"), xlim=self.mounted.span)
        title(amps, self._word("amps"))
        torque.set(xlabel=self._word("speed"), ylabel=self._word("torque"))
        title(torque, self._word("torques"))
        for axes in (amps, torque):
            frame(axes)
            axes.locator_params(axis="y", nbins=5)  # every tick costs a millisecond
        self._draw_limits()
        for point in self.mounted.measured:
            if point.current is not None:
                amps.plot(point.voltage, point.current, "D", color=FAN, ms=7, mfc=PAPER, mew=1.8)
                note(amps, self._word("read"), (point.voltage, point.current), (8, -12), FAN)

    def _draw_limits(self) -> None:
        """The nameplate's amps, and the volts that the motor is made for."""
        at_foot = self.amps.get_xaxis_transform()
        low, high = self.mounted.limits
        sides = ((low, "left", 3, "lowest"), (high, "right", -3, "highest"))
        for volts, side, away, word in sides:
            self.amps.axvline(volts, color=EDGE, ls=":", lw=1.4)
            told = self._word(word, volts=Quantity(volts, "voltage"))
            note(self.amps, told, (volts, 0.02), (away, 0), xycoords=at_foot, ha=side)
        if (rated := self.mounted.current) is not None:
            self.amps.axhline(rated, color=INK, ls="--", lw=THIN)
            told = self._word("rated", amps=Quantity(rated, "current"))
            note(self.amps, told, (self.mounted.span[0], rated), (3, 3))

    def _word(self, name: str, **values) -> str:
        return self.write(f"expected.picture.{name}", **values)

    def _amps_artists(self) -> list:
        (self._amps_band,) = self.amps.fill([], [], animated=True, **SHADE)
        (self._amps_mid,) = self.amps.plot([], [], color=INK, lw=LINE, animated=True)
        self._line = self.amps.axvline(0, FOOT, color=EDGE, lw=THIN, animated=True)
        (self._range,) = self.amps.plot(
            [], [], "_-", color=INK, lw=2.6, ms=12, mew=2, animated=True
        )
        words = {"animated": True, "fontsize": PLAIN, "bbox": BEHIND}
        self._amps_label = self.amps.text(0, 0, "", color=INK, **words)
        return [self._amps_band, self._amps_mid, self._line, self._range, self._amps_label]

    def _torque_artists(self) -> list:
        (self._motor_band,) = self.torque.fill([], [], animated=True, **SHADE)
        (self._motor_mid,) = self.torque.plot([], [], color=INK, lw=LINE, animated=True)
        (self._fan,) = self.torque.plot([], [], color=FAN, lw=LINE, animated=True)
        (self._meet,) = self.torque.plot([], [], "o", color=INK, ms=7, animated=True)
        words = {"animated": True, "fontsize": SMALL, "bbox": BEHIND}
        self._motor_label = self.torque.text(0, 0, self._word("motor"), color=INK, **words)
        self._fan_label = self.torque.text(0, 0, self._word("fan"), color=FAN, ha="center", **words)
        self._meet_label = self.torque.text(0, 0, "", color=INK, ha="right", **words)
        labels = [self._motor_label, self._fan_label, self._meet_label]
        return [self._motor_band, self._motor_mid, self._fan, self._meet, *labels]

    def _fit_axes(self, expected: Expected, current: Band, curves: Torques) -> None:
        """Axes that hold everything; the pixels of axes seen before are there already."""
        read = [point.current for point in self.mounted.measured if point.current is not None]
        rated = [] if self.mounted.current is None else [self.mounted.current]
        amps = np.concatenate([current.low, current.high, expected.current, read, rated])
        highest = max(curves.motor.high.max(), curves.fan[-1])
        wanted = (
            self._ends(self.amps, amps.min(), amps.max()),
            self._ends(self.torque, 0.0, highest),
        )
        if wanted not in self._stills:
            self.amps.set_ylim(wanted[0])
            self.torque.set(xlim=(0, 1.03 * curves.speed_rpm[-1]), ylim=wanted[1])
            self.canvas.draw()
            self._stills[wanted] = self.canvas.copy_from_bbox(self.figure.bbox)
        self.amps.set_ylim(wanted[0])
        self.torque.set_ylim(wanted[1])
        self.canvas.restore_region(self._stills[wanted])

    def _ends(self, axes, low: float, high: float) -> tuple[float, float]:
        """The narrowest of a few pairs of ends that hold ``low`` to ``high``; what is shown first
        fills the narrowest well."""
        first_low, first_high = self._first.setdefault(axes, (low, high))
        spare = SPARE * (first_high - first_low)
        while low < max(first_low - spare, 0.0) or high > first_high + spare:
            spare *= GROWTH
        return max(first_low - spare, 0.0), first_high + spare

    def _set_amps(self, expected: Expected, current: Band) -> None:
        volts, (low, _, high) = expected.voltage, expected.current
        self._amps_band.set_xy(_outline(expected.sweep.voltage, current))
        self._amps_mid.set_data(expected.sweep.voltage, current.mid)
        self._line.set_xdata([volts, volts])
        self._range.set_data([volts, volts], [low, high])
        bottom, top = self.amps.get_ylim()
        right = volts < sum(self.mounted.span) / 2
        here = {
            "volts": Quantity(volts, "voltage"),
            "amps": Quantity(expected.current, "current"),
        }
        self._amps_label.set(
            position=(volts + (1 if right else -1), bottom + 0.93 * (top - bottom)),
            text=self._word("here", **here),
            ha="left" if right else "right",
            va="top",
        )

    def _set_torques(self, expected: Expected, curves: Torques) -> None:
        speed, mid = curves.speed_rpm, curves.motor.mid
        self._motor_band.set_xy(_outline(speed, curves.motor))
        self._motor_mid.set_data(speed, mid)
        self._fan.set_data(speed, curves.fan)
        rpm, newton_metres = (expected.bands[name].mid for name in ("speed_rpm", "torque_nm"))
        self._meet.set_data([rpm], [newton_metres])
        at = len(speed) // 3
        self._motor_label.set(position=(speed[at], mid[at]), ha="center", va="center")
        self._fan_label.set(position=(speed[at], curves.fan[at]), va="center")
        rpm_shown, torque = Quantity(rpm, "speed"), f"{newton_metres:.2f} N m"
        words = self._word("meet", rpm=rpm_shown, torque=torque)
        self._meet_label.set(position=(0.98 * rpm, 0.3 * newton_metres), text=words)


def _outline(across, band: Band) -> np.ndarray:
    """The corners of a band, (points, 2)."""
    return np.column_stack([np.r_[across, across[::-1]], np.r_[band.low, band.high[::-1]]])
