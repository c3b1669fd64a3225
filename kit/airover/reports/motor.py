"""Show a motor's values at other voltages, capacitors and ratings in tables (pandas) and figures.

`MotorPicture` is for worksheets, and `AmpsPicture` is for phones. The caller supplies the labels of
`AmpsPicture`. Both figures are updated when a slider moves.
"""

import textwrap

import numpy as np
import pandas as pd

from airover.core.intervals import Band
from airover.core.message import Quantity
from airover.core.texts import ENGLISH, Writer
from airover.model.expected import Expected, Loaded, Mounted, Start, Torques, torques
from airover.model.motor import Beside, CapacitorStep, RatingStep
from airover.reports.drawing import (
    LINE,
    PLAIN,
    THIN,
    WIDE,
    MovingPicture,
    beside,
    frame,
    note,
    outline,
    title,
)
from airover.reports.palette import EDGE, FAN, INK, PAPER
from airover.reports.writing import bare, between, percent, table

_ENDS = {1: "runs", 0: "stands", -1: "backward"}
SIZE = (WIDE, 5.4)  # inches
FOOT = 0.13  # fraction of the axis height at the bottom, for labels below the voltage line
SPARE = 0.3  # clearance on an axis, as a fraction of the first range shown
GROWTH = 3.0  # factor by which that clearance grows from one pair of limits to the next
DPI = 170
PAGE_SIZE = (4.3, 3.5)  # inches; 10-point text is legible on a phone 390 pixels wide
PAGE_FOOT = 0.14  # fraction of the axis height at the bottom, for labels below the voltage line
ROOM = 0.25  # clearance above and below, as a fraction of the amps range


def voltages(expected: Expected, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the expected values at the nameplate voltages and at their limits."""
    run = expected.sweep
    places = np.flatnonzero(np.isin(run.voltage, expected.mounted.steps))
    chance, room = run.chance_of_start(), run.room_to_trip()
    rows = []
    for at in places:
        bands = {name: _at(band, at) for name, band in expected.across.items()}
        rows.append(
            {
                "volts": f"{run.voltage[at]:.0f}",
                "amps": between(bands["current_a"], 2, writer),
                "watts": between(bands["power_in_w"], 0, writer),
                "rpm": between(bands["speed_rpm"], 0, writer),
                "winding": bare(bands["temp_winding_c"].mid, "temperature", writer),
                "room": _rise(room and _at(room, at), writer),
                "starts": percent(chance[at]),
            }
        )
    return _table(rows, writer)


def capacitors(steps: tuple[CapacitorStep, ...], writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the amps, temperature, capacitor voltage and starting torque for each capacitor."""
    rows = [
        {
            "share": percent(step.share),
            "capacitance": f"{1e6 * step.capacitance:.3g}",
            "amps": between(step.current, 2, writer),
            "watts": between(step.power_in, 0, writer),
            "winding": bare(step.temp_winding.mid, "temperature", writer),
            "capacitor_volts": between(step.voltage_capacitor, 0, writer),
            "starting": f"{step.starting.mid:.2f}",
            "starts": percent(step.chance_of_start),
        }
        for step in steps
    ]
    return _table(rows, writer)


def starts(found: tuple[Start, ...], writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of the starts from the time-domain simulation."""
    rows = [
        {
            "start": writer.texts.texts.get(f"expected.start.{one.case.name}", one.case.name),
            "volts": f"{one.case.voltage:.0f}",
            "end": writer(f"expected.end.{_ENDS[one.run_up.direction]}"),
            "after": f"{one.run_up.time:.1f}",
            "rpm": f"{one.run_up.speed_rpm:.0f}",
            "crest_amps": f"{one.run_up.current_peak:.1f}",
            "crest_volts": f"{one.run_up.voltage_capacitor_peak:.0f}",
        }
        for one in found
    ]
    return _table(rows, writer)


def loads(steps: tuple[Loaded, ...], writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return one row per fan load, with amps and watts relative to the full fan load."""
    (whole,) = [one.bands for one in steps if one.share == 1]

    def of_whole(bands: dict, name: str) -> str:
        return percent(bands[name].mid / whole[name].mid)

    rows = [
        {
            "fan": percent(share),
            "shaft_watts": f"{bands['power_shaft_w'].mid:.0f}",
            "shaft_power": of_whole(bands, "power_shaft_w"),
            "amps": f"{bands['current_a'].mid:.2f}",
            "current": of_whole(bands, "current_a"),
            "watts_in": f"{bands['power_in_w'].mid:.0f}",
            "power_in": of_whole(bands, "power_in_w"),
            "rpm": f"{bands['speed_rpm'].mid:.0f}",
        }
        for share, bands in steps
    ]
    return _table(rows, writer)


def ratings(
    found: tuple[Beside, ...], hours: float, price: float, writer: Writer = ENGLISH
) -> pd.DataFrame:
    """Return a table of a motor's ratings with the annual energy costs."""
    return _table([_rating(one.step, hours, price, writer) for one in found], writer)


def dedicated(
    found: tuple[Beside, ...], hours: float, price: float, writer: Writer = ENGLISH
) -> pd.DataFrame:
    """Return a single-rating motor for each rating in ``found``, with its annual savings."""
    rows = []
    for one in found:
        if one.other_step is None:
            fan, none = writer.amount(one.power, "power"), writer("expected.table.no_motor")
            rows.append({"fan": fan, "motor": none})
            continue
        more = one.step.energy.mid - one.other_step.energy.mid
        row = _rating(one.other_step, hours, price, writer)
        saved = {"saves": f"{hours * more * price:.2f}"}
        rows.append({"fan": row.pop("fan"), "motor": one.other.name, **row, **saved})
    return _table(rows, writer)


class MotorPicture(MovingPicture):
    """Plots of amps against voltage and torque against speed for one motor.

    Parameters
    ----------
    writer : Writer, optional
        Writer for the labels, English by default.
    """

    def __init__(self, writer: Writer = ENGLISH):
        super().__init__(SIZE)
        self._writer = writer
        self.amps, self.torque = self.figure.subplots(2, height_ratios=(3, 2))
        self.figure.subplots_adjust(left=0.1, right=0.87, top=0.95, bottom=0.09, hspace=0.42)
        self._draw_axes()
        self.mounted, self._of_motor = None, []
        self._make_amps()
        self._make_torques()

    def set(self, expected: Expected) -> None:
        if expected.mounted is not self.mounted:
            self._draw_motor(expected.mounted)
        current, curves = expected.across["current_a"], torques(expected.now)
        self._fit_axes(expected, current, curves)
        self._set_amps(expected, current)
        self._set_torques(expected, curves)

    def _draw_axes(self) -> None:
        amps, torque = self.amps, self.torque
        amps.set(xlabel=self._word("across"), ylabel=self._word("up"))
        title(amps, self._word("amps"))
        torque.set(
            xlabel=self._word("speed"),
            ylabel=self._word("torque", unit=self._writer.unit("torque")),
        )
        title(torque, self._word("torques"))
        for axes in (amps, torque):
            frame(axes)
            axes.locator_params(axis="y", nbins=5)  # every tick takes a millisecond

    def _draw_motor(self, mounted: Mounted) -> None:
        """Plot the voltage limits, nameplate amps and readings of another motor."""
        for artist in self._of_motor:
            artist.remove()
        self.mounted, self._of_motor, self._first = mounted, [], {}
        self.forget()
        amps, drawn = self.amps, self._of_motor
        amps.set_xlim(mounted.span)
        at_foot = amps.get_xaxis_transform()
        low, high = mounted.limits
        sides = ((low, "left", 3, "lowest"), (high, "right", -3, "highest"))
        for volts, side, away, word in sides:
            told = self._word(word, volts=Quantity(volts, "voltage"))
            drawn.append(amps.axvline(volts, color=EDGE, ls=":", lw=1.4))
            drawn.append(note(amps, told, (volts, 0.02), (away, 0), xycoords=at_foot, ha=side))
        if (rated := mounted.current) is not None:
            told = self._word("rated", amps=Quantity(rated, "current"))
            drawn.append(amps.axhline(rated, color=INK, ls="--", lw=THIN))
            drawn.append(beside(amps, told, rated))
        for point in mounted.measured:
            if point.current is not None:
                place = point.voltage, point.current
                drawn += amps.plot(*place, "D", color=FAN, ms=7, mfc=PAPER, mew=1.8)
                drawn.append(note(amps, self._word("read"), place, (8, -12), FAN))

    def _word(self, name: str, **values) -> str:
        return self._writer(f"expected.picture.{name}", **values)

    def _make_amps(self) -> None:
        self._amps_band = self.band(self.amps)
        self._amps_mid = self.line(self.amps, lw=LINE)
        self._line = self.upright(self.amps, FOOT)
        self._range = self.line(self.amps, "_-", lw=2.6, ms=12, mew=2)
        self._amps_label = self.words(self.amps, fontsize=PLAIN, va="top")

    def _make_torques(self) -> None:
        self._motor_band = self.band(self.torque)
        self._motor_mid = self.line(self.torque, lw=LINE)
        self._fan = self.line(self.torque, "-", FAN, lw=LINE)
        self._meet = self.line(self.torque, "o", ms=7)
        above = {"ha": "right", "va": "bottom"}
        self._motor_label = self.words(self.torque, self._word("motor"), **above)
        self._fan_label = self.words(self.torque, self._word("fan"), color=FAN, **above)
        right = self.torque.get_yaxis_transform()
        self._meet_label = self.words(self.torque, va="center", transform=right)

    def _fit_axes(self, expected: Expected, current: Band, curves: Torques) -> None:
        """Fit the axes to the data and restore their pixels."""
        read = [point.current for point in self.mounted.measured if point.current is not None]
        rated = [] if self.mounted.current is None else [self.mounted.current]
        amps = np.concatenate([current.low, current.high, expected.current, read, rated])
        highest = self._torque(max(curves.motor.high.max(), curves.fan[-1]))
        wanted = (
            self._ends(self.amps, amps.min(), amps.max()),
            self._ends(self.torque, 0.0, highest),
        )
        self.amps.set_ylim(wanted[0])
        self.torque.set(xlim=(0, 1.03 * curves.speed_rpm[-1]), ylim=wanted[1])
        self.restore(wanted)

    def _ends(self, axes, low: float, high: float) -> tuple[float, float]:
        """Return the narrowest of several pairs of axis limits that include ``low`` and ``high``.

        The first range plotted nearly fills the axis. If a later range does not fit, the limits are
        widened in steps.
        """
        first_low, first_high = self._first.setdefault(axes, (low, high))
        spare = SPARE * (first_high - first_low)
        while low < max(first_low - spare, 0.0) or high > first_high + spare:
            spare *= GROWTH
        return max(first_low - spare, 0.0), first_high + spare

    def _set_amps(self, expected: Expected, current: Band) -> None:
        volts, (low, _, high) = expected.voltage, expected.current
        self._amps_band.set_xy(outline(expected.sweep.voltage, current))
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
        )

    def _set_torques(self, expected: Expected, curves: Torques) -> None:
        speed, motor = curves.speed_rpm, Band(*map(self._torque, curves.motor))
        fan = self._torque(curves.fan)
        self._motor_band.set_xy(outline(speed, motor))
        self._motor_mid.set_data(speed, motor.mid)
        self._fan.set_data(speed, fan)
        rpm, newton_meters = (expected.bands[name].mid for name in ("speed_rpm", "torque_nm"))
        torque = float(self._torque(newton_meters))
        self._meet.set_data([rpm], [torque])
        at, over = len(speed) // 3, 0.02 * self.torque.get_ylim()[1]
        self._motor_label.set_position((speed[at], motor.high[at] + over))
        self._fan_label.set_position((speed[at], fan[at] + over))
        figures = {"rpm": Quantity(rpm, "speed"), "torque": Quantity(newton_meters, "torque")}
        told = textwrap.fill(self._word("meet", **figures), 10, break_long_words=False)
        self._meet_label.set(position=(1.012, torque), text=told)

    def _torque(self, newton_meters):
        """Convert torques [N m] to the unit of the axis."""
        return self._writer.number(newton_meters, "torque")


class AmpsPicture(MovingPicture):
    """Plot of amps against voltage for one motor with its fan, for a phone."""

    def __init__(self):
        super().__init__(PAGE_SIZE, DPI)
        self.axes = axes = self.figure.subplots()
        self.figure.subplots_adjust(left=0.14, right=0.955, bottom=0.15, top=0.97)
        frame(axes, small=PLAIN)
        axes.locator_params(nbins=5)
        self._band, self._mid = self.band(axes), self.line(axes, lw=LINE)
        self._limits = [self.upright(axes, ls=":") for _ in range(2)]
        self._plate = self.line(axes, "--", lw=THIN)
        self._line = self.upright(axes, PAGE_FOOT)
        self._range = self.line(axes, "_-", lw=2.6, ms=12, mew=2)
        self._dot = self.line(axes, "o", ms=6)
        places = {"band": ((0, -3), "center", "top"), "low": ((3, 4), "left", "bottom"),
                  "high": ((-3, 4), "right", "bottom"), "plate": ((3, 3), "left", "bottom")}  # fmt: skip
        self._names = {
            name: self.note(axes, "", away, fontsize=PLAIN, ha=side, va=height)
            for name, (away, side, height) in places.items()
        }
        self._label = self.words(axes, fontsize=PLAIN, va="top")

    def set(self, expected: Expected, words: dict[str, str], label: str) -> None:
        """Show a motor and mark its ``voltage`` with the ``label``.

        Parameters
        ----------
        expected : Expected
            Expected values with the voltage sweep and the nameplate.
        words : dict[str, str]
            Labels with the keys across, up, plate, band, low and high.
        """
        top = self._fit_axes(expected, words)
        volts, band = expected.sweep.voltage, expected.across["current_a"]
        self._band.set_xy(outline(volts, band))
        self._mid.set_data(volts, band.mid)
        self._name_lines(expected, words)
        at, (low, mid, high) = expected.voltage, expected.current
        right = at < sum(self.axes.get_xlim()) / 2
        self._line.set_xdata([at, at])
        self._range.set_data([at, at], [low, high])
        self._dot.set_data([at], [mid])
        self._label.set(
            position=(at + (1.5 if right else -1.5), top), text=label,
            ha="left" if right else "right",
        )  # fmt: skip

    def _fit_axes(self, expected: Expected, words: dict[str, str]) -> float:
        """Fit the axes to the data, restore their pixels and return the level of the label."""
        plate, band = expected.mounted.current, expected.across["current_a"]
        ends = [band.low.min(), band.high.max(), *([] if plate is None else [plate])]
        room = ROOM * (max(ends) - min(ends))
        span, amps = expected.mounted.span, (max(min(ends) - room, 0.0), max(ends) + room)
        self.axes.set(xlim=span, ylim=amps, xlabel=words["across"], ylabel=words["up"])
        self.restore((span, amps, words["across"], words["up"]))
        return max(ends) + 0.8 * room

    def _name_lines(self, expected: Expected, words: dict[str, str]) -> None:
        volts, band = expected.sweep.voltage, expected.across["current_a"]
        span, plate, foot = expected.mounted.span, expected.mounted.current, self.axes.get_ylim()[0]
        self._names["band"].xy = volts[len(volts) // 2], band.low.min()
        for line, end, name in zip(
            self._limits, expected.mounted.limits, ("low", "high"), strict=True
        ):
            line.set_xdata([end, end])
            self._names[name].xy = end, foot
        for one in (self._plate, self._names["plate"]):
            one.set_visible(plate is not None)
        if plate is not None:
            self._plate.set_data(span, [plate, plate])
            self._names["plate"].xy = span[0], plate
        for name, told in self._names.items():
            told.set_text(words[name])


def _rating(step: RatingStep, hours: float, price: float, writer: Writer) -> dict:
    bands, energy = step.bands, step.energy.scaled(hours)
    return {
        "fan": writer.amount(step.power, "power"),
        "rpm": f"{bands['speed_rpm'].mid:.0f}",
        "amps": between(bands["current_a"], 2, writer),
        "rated_amps": f"{step.plate_current:g}",
        "watts": between(bands["power_in_w"], 0, writer),
        "efficiency": f"{bands['efficiency'].mid:.2f}",
        "power_factor": f"{bands['power_factor'].mid:.2f}",
        "winding": bare(bands["temp_winding_c"].mid, "temperature", writer),
        "energy": f"{energy.mid:.0f}",
        "cost": f"{energy.mid * price:.2f}",
    }


def _table(rows, writer: Writer) -> pd.DataFrame:
    kinds = {"winding": "temperature", "room": "temperature_rise"}
    return table(rows, "expected.table", writer, kinds=kinds)


def _at(band: Band, place: int) -> Band:
    return Band(*(float(ends[place]) for ends in band))


def _rise(room: Band | None, writer: Writer) -> str:
    """Format the median margin to the trip temperature, or say that there is no margin."""
    if room is None:
        return writer("expected.table.no_class")
    if room.mid < 0:
        return writer("expected.table.no_room")
    return bare(room.mid, "temperature_rise", writer, 0)
