"""The picture of amps across voltage for a phone, drawn anew while a slider moves.

Its words come from the caller, who knows the reader's language. What stands still is drawn once
and kept as pixels; a redraw puts the line's voltage on top.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from airover.bands import Band
from airover.figures.drawing import redrawn
from airover.figures.palette import EDGE, INK
from airover.figures.style import BEHIND, LINE, PLAIN, SHADE, THIN, frame, note
from airover.motor.expected import Expected

DPI = 170
SIZE = (4.3, 3.5)  # inches: letters of 10 points are legible on a phone 390 pixels wide
FOOT = 0.14  # of the axes: room for words at their foot, under the line's voltage
ROOM = 0.25  # of the amps' range, above and below


class AmpsPicture:
    """Amps across voltage of one motor on its fan: ``expected`` has the sweep, and the plate.

    ``words``: across, up, plate, band, low, high.
    """

    def __init__(self, expected: Expected, words: dict[str, str]):
        self.figure = Figure(figsize=SIZE, dpi=DPI, layout="constrained")
        self.canvas = FigureCanvasAgg(self.figure)
        self.axes = self.figure.subplots()
        self._draw_axes(expected, words)
        self._draw_amps(expected, words)
        self._moving = self._markers()
        self.canvas.draw()
        self._still = self.canvas.copy_from_bbox(self.figure.bbox)

    def png(self, voltage: float, current: Band, label: str) -> bytes:
        """With a mark at the line's ``voltage`` [V] and the ``current`` [A] there."""
        self.canvas.restore_region(self._still)
        low, mid, high = current
        right = voltage < sum(self.axes.get_xlim()) / 2
        self._line.set_xdata([voltage, voltage])
        self._range.set_data([voltage, voltage], [low, high])
        self._dot.set_data([voltage], [mid])
        self._label.set(
            position=(voltage + (1.5 if right else -1.5), self._top), text=label,
            ha="left" if right else "right",
        )  # fmt: skip
        return redrawn(self.canvas, self._moving)

    def _draw_axes(self, expected: Expected, words: dict[str, str]) -> None:
        plate, band = expected.mounted.current, expected.across["current_a"]
        ends = [band.low.min(), band.high.max(), *([] if plate is None else [plate])]
        room = ROOM * (max(ends) - min(ends))
        self._top = max(ends) + 0.8 * room
        self.axes.set(
            xlim=expected.mounted.span, ylim=(max(min(ends) - room, 0.0), max(ends) + room),
            xlabel=words["across"], ylabel=words["up"],
        )  # fmt: skip
        frame(self.axes, small=PLAIN)
        self.axes.locator_params(nbins=5)

    def _draw_amps(self, expected: Expected, words: dict[str, str]) -> None:
        volts, band = expected.sweep.voltage, expected.across["current_a"]
        self.axes.fill_between(volts, band.low, band.high, **SHADE)
        self.axes.plot(volts, band.mid, color=INK, lw=LINE)
        at = len(volts) // 2
        self._write(words["band"], (volts[at], band.low.min()), (0, -3), "center", "top")
        for end, side, away, key in zip(
            expected.mounted.limits, ("left", "right"), (3, -3), ("low", "high"), strict=True
        ):
            self.axes.axvline(end, color=EDGE, ls=":", lw=THIN)
            foot = (end, self.axes.get_ylim()[0])
            self._write(words[key], foot, (away, 4), side, "bottom")
        if (plate := expected.mounted.current) is not None:
            self.axes.axhline(plate, color=INK, ls="--", lw=THIN)
            place = (expected.mounted.span[0], plate)
            self._write(words["plate"], place, (3, 3), "left", "bottom")

    def _write(self, word: str, place, away, side: str, height: str) -> None:
        note(self.axes, word, place, away, size=PLAIN, ha=side, va=height)

    def _markers(self) -> list:
        axes = self.axes
        self._line = axes.axvline(np.nan, FOOT, color=EDGE, lw=THIN, animated=True)
        (self._range,) = axes.plot([], [], "_-", color=INK, lw=2.6, ms=12, mew=2, animated=True)
        (self._dot,) = axes.plot([], [], "o", color=INK, ms=6, animated=True)
        words = {"fontsize": PLAIN, "bbox": BEHIND, "animated": True}
        self._label = axes.text(0, 0, "", color=INK, va="top", **words)
        return [self._line, self._range, self._dot, self._label]
