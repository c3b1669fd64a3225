"""Describe a fan at its site in sentences, tables (pandas) and a plot.

The functions require a Writer for the reader's language and units. The plot is updated when a
slider moves.
"""

import numpy as np
import pandas as pd

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.model.fan_at_site import CompressorPrice, Sized
from airover.model.sizing import DirtSweep, Tried
from airover.physics.fan import EXTRAPOLATION
from airover.reports.drawing import LINE, THICK, THIN, WIDE, MovingPicture, axis_end, frame, title
from airover.reports.palette import EDGE, FAN, PAPER
from airover.reports.writing import bare, between, percent, table

SIZE = (WIDE, 5.7)  # inches
ROOM = 1.12  # ratio of the axis limit to the largest value
TIGHT = 0.01  # relative half width; a narrower range is written as one number


def verdict(found: Sized, writer: Writer) -> str:
    """Return the shaft power, the required rating, and the highest power on the curve."""
    worst = round(found.overload.largest.mid)
    return writer(
        "fan.verdict",
        power=_watts_text(found.bands["power_shaft_w"]),
        rpm=round(found.place.speed_rpm),
        rating=Quantity(found.size.standard.power, "power"),
        spare=Quantity(found.spare, "share", 0),
        worst=Message(f"fan.worst.{found.worst}", power=worst),
    )


def details(found: Sized, writer: Writer) -> list[str]:
    """Return the warnings and other sentences to display below the verdict."""
    return [*warnings(found, writer), *facts(found, writer)]


def facts(found: Sized, writer: Writer) -> list[str]:
    """Return sentences about the duty point and the air."""
    duty = writer(
        "fan.duty",
        flow=Quantity(found.bands["flow_m3s"].mid, "flow"),
        pressure=Quantity(found.bands["pressure_pa"].mid, "pressure"),
        torque=Quantity(found.bands["torque_nm"].mid, "torque"),
        temp=Quantity(float(np.median(found.temp_air)), "air_temperature"),
        density=Quantity(found.density, "density"),
    )
    return [duty, writer("fan.needed", power=round(found.size.needed.mid))]


def warnings(found: Sized, writer: Writer) -> list[str]:
    """Return warnings about the rating."""
    told, worst = [], found.overload
    if worst.over:
        low, high = (Quantity(end, "flow") for end in worst.over)
        share = Quantity(worst.load - 1, "share", 0)
        told.append(Message("fan.warning.over", low=low, high=high, share=share))
    if found.size.sure is not found.size.standard:
        told.append(Message("fan.warning.unsure", rating=found.size.sure.text))
    if found.duty.several:
        told.append(Message("fan.warning.several"))
    if found.duty.extrapolated:
        told.append(Message("fan.warning.extrapolated"))
    return [writer(one) for one in told]


def sizing(found: Sized, writer: Writer) -> pd.DataFrame:
    """Return the recommended rating and the adjacent ratings with their loads."""
    size, worst = found.size, found.overload
    needed, duty = float(size.needed.mid), float(found.bands["power_shaft_w"].mid)
    rows = [
        (
            writer.amount(rating.power, "power"),
            f"{rating.power:.0f}",
            percent(duty / rating.power),
            percent(needed / rating.power),
            percent(worst.largest.mid / rating.power),
            writer(f"fan.rating.{_result(rating, found)}"),
        )
        for rating in filter(None, (size.smaller, size.standard, size.larger))
    ]
    names = ("motor", "rating_w", "duty", "margin", "whole", "result")
    return table(rows, "fan.column", writer, names)


def speeds(found: Sized, writer: Writer) -> pd.DataFrame:
    """Return the duty points on the same system at six-pole and eight-pole motor speeds."""
    rows = []
    for step in found.speeds:
        bands = step.bands
        sound = f"{step.sound:+.0f}" if step.sound else writer("fan.speed.same")
        row = {
            "rpm": f"{step.speed_rpm:.0f}",
            "flow": writer.amount(bands["flow_m3s"].mid, "flow"),
            "pressure": writer.amount(bands["pressure_pa"].mid, "pressure"),
            "watts": f"{bands['power_shaft_w'].mid:.0f}",
            "torque": bare(bands["torque_nm"].mid, "torque", writer),
            "motor": step.standard.text,
            "sound": sound if rows else writer("fan.speed.first"),
        }
        rows.append(row)
    return table(rows, "fan.column", writer, kinds={"torque": "torque"})


def motors(tried: tuple[Tried, ...], writer: Writer) -> pd.DataFrame:
    """Return the performance of the catalog motor for each rating at this duty point."""
    rows = []
    for one in tried:
        row = {"rating": one.rating.text, "motor": writer("fan.motor.none")}
        if one.motor is not None:
            row |= {
                "motor": one.motor.name,
                "amps": between(one.bands["current_a"], 2, writer),
                "rated_amps": f"{one.motor.currents[-1]:g}",
                "watts_in": between(one.bands["power_in_w"], 0, writer),
                "rpm": between(one.bands["speed_rpm"], 0, writer),
                "load": percent(one.load.mid),
                "winding": _temp(one.bands["temp_winding_c"], writer),
                "starts": percent(one.chance_of_start),
            }
        rows.append(row)
    return table(rows, "fan.column", writer, kinds={"winding": "temperature"})


def dirt(
    sweep: DirtSweep, prices: tuple[CompressorPrice | None, ...], writer: Writer
) -> pd.DataFrame:
    """Return a table of coil conditions, with compressor data if the heat load is known."""
    rows = []
    for step, price in zip(sweep.steps, prices, strict=True):
        bands, key = step.bands, "given" if step.dirt == 1 else "times"
        row = {
            "resistance": writer(f"fan.dirt.{key}", times=step.dirt),
            "airflow": bare(bands["flow_m3s"].mid, "flow", writer),
            "watts": f"{bands['power_shaft_w'].mid:.0f}",
            "amps": between(bands["current_a"], 2, writer),
            "air": _temp(bands["temp_air_c"], writer),
            "winding": _temp(bands["temp_winding_c"], writer),
        }
        if price is not None:
            row["condensing"] = _temp(price.condensing, writer)
            row["extra"] = _more(price, writer)
        rows.append(row)
    kinds = {"airflow": "flow"} | dict.fromkeys(("air", "winding", "condensing"), "temperature")
    return table(rows, "fan.column", writer, kinds=kinds)


def asks(found: Sized, writer: Writer) -> pd.DataFrame:
    """Return the quantities that should be measured, most important first."""
    rows = [(writer(ask.advice), writer(_purpose(ask.share))) for ask in found.asks]
    found = table(rows, "fan.column", writer, ("measure", "purpose"))
    return found.set_index(pd.RangeIndex(1, len(rows) + 1))


class FanPicture(MovingPicture):
    """Plot of static pressure and the system curve against airflow, with shaft power below."""

    def __init__(self, writer: Writer):
        super().__init__(SIZE)
        self.writer = writer
        self.pressure, self.power = self.figure.subplots(2, height_ratios=(3, 2))
        self.figure.subplots_adjust(left=0.11, right=0.97, top=0.95, bottom=0.09, hspace=0.42)
        self._draw_still()
        self._make_moving()

    def set(self, found: Sized) -> None:
        inside, beyond = self._curve(found)
        duty = [found.bands[name].mid for name in ("flow_m3s", "pressure_pa", "power_shaft_w")]
        self._fit_axes(found, inside)
        self._set_pressure(found, inside, beyond, self._shown(*duty))
        self._set_power(found, inside, beyond, self._shown(*duty))

    def _shown(self, flow, pressure, power):
        """Convert flow, pressure and power to the units of the axes."""
        return (
            self.writer.number(np.asarray(flow), "flow"),
            self.writer.number(np.asarray(pressure), "pressure"),
            self.writer.number(np.asarray(power), "power"),
        )

    def _curve(self, found: Sized):
        """Return the measured and extrapolated curves at this speed and density.

        Each curve is a tuple (flow, pressure, power). In the extrapolated curve, NaN separates the
        extrapolations at the two ends.
        """
        points, place = found.points, found.place
        ratio = place.speed_rpm / points.speed_rpm
        ends = points.flow[[0, -1]] * ratio
        flow = np.union1d(np.linspace(*ends, 81), points.flow * ratio)
        at = points.at(np.clip(flow, *ends), place.speed_rpm, found.density)
        reach = EXTRAPOLATION * np.ptp(ends)
        low = max(ends[0] - reach, ends[0] / 2)
        over = np.array([low, ends[0], np.nan, ends[1], ends[1] + reach])
        slopes = [[(v[1] - v[0]) / (flow[1] - flow[0]), (v[-1] - v[-2]) / (flow[-1] - flow[-2])]
                  for v in (at.pressure, at.power)]  # fmt: skip
        drawn = [
            np.array([v[0] + a * (low - ends[0]), v[0], np.nan, v[-1], v[-1] + b * reach])
            for v, (a, b) in zip((at.pressure, at.power), slopes, strict=True)
        ]
        return self._shown(*at), self._shown(over, *drawn)

    def _words(self, name: str, **values) -> str:
        return self.writer(f"fan.picture.{name}", **values)

    def _draw_still(self) -> None:
        words, unit = self._words, self.writer.unit
        flow = words("flow", unit=unit("flow"))
        self.pressure.set(xlabel=flow, ylabel=words("pressure", unit=unit("pressure")))
        title(self.pressure, words("title"))
        self.power.set(xlabel=flow, ylabel=words("power", unit=unit("power")))
        title(self.power, words("power_title"))
        for axes in (self.pressure, self.power):
            frame(axes)
            axes.locator_params(axis="y", nbins=5)  # every tick takes a millisecond

    def _make_moving(self) -> None:
        pressure, power = both = self.pressure, self.power
        self._system = self.line(pressure, lw=LINE)
        self._rating = self.line(power, ":", lw=LINE)
        self._beyond = [self.line(axes, "--", FAN, lw=THIN) for axes in both]
        self._curves = [self.line(axes, "-", FAN, lw=THICK) for axes in both]
        self._measured = [self.line(axes, "o", FAN, ms=4) for axes in both]
        self._of_curve = self.words(pressure, self._words("fan"), color=FAN, va="bottom")
        self._of_system = self.words(pressure, self._words("system"), ha="right")
        self._of_other = self.words(pressure, ha="right", va="top")
        self._of_rating = self.words(power, ha="right", va="bottom")
        self._leader = self.line(pressure, "-", EDGE, lw=0.8)
        self._others = self.line(pressure, "D", EDGE, ms=8, mfc=PAPER, mew=1.8)
        self._duties = [self.line(axes, "o", ms=8) for axes in both]
        self._of_duty = self.words(pressure, va="top")
        self._of_power = self.words(power, ha="center", va="top")

    def _fit_axes(self, found: Sized, inside) -> None:
        """Fit the axes to the data and restore their pixels."""
        flow, pressure, power = (float(np.max(one)) for one in inside)
        rating = self._shown(0, 0, found.size.standard.power)[2]
        highest = flow * 1.1, ROOM * pressure, ROOM * max(power, rating)
        ends = tuple(map(axis_end, highest))
        self.pressure.set(xlim=(0, ends[0]), ylim=(0, ends[1]))
        self.power.set(xlim=(0, ends[0]), ylim=(0, ends[2]))
        self.restore(ends)

    def _set_pressure(self, found: Sized, inside, beyond, duty) -> None:
        right, top = self.pressure.get_xlim()[1], self.pressure.get_ylim()[1]
        self._curves[0].set_data(inside[0], inside[1])
        self._beyond[0].set_data(beyond[0], beyond[1])
        self._measured[0].set_data(*self._given(found)[:2])
        flow = np.linspace(0, right, 80)
        system = float(duty[1]) * (flow / float(duty[0])) ** 2
        self._system.set_data(flow[system <= top], system[system <= top])
        self._duties[0].set_data([duty[0]], [duty[1]])
        apart = 1e-3 * _flow(found)
        others = [one for one in found.crossings if abs(one.flow - _flow(found)) > apart]
        at = self._shown([one.flow for one in others], [one.pressure for one in others], [])
        self._others.set_data(at[0], at[1])
        if others:
            words = self._words("may_stay" if others[0].stable else "cannot_stay")
            self._of_other.set(position=(at[0][0], at[1][0] - 0.04 * top), text=words)
        else:
            self._of_other.set_text("")
        start = len(inside[0]) // 8
        self._of_curve.set_position((inside[0][start], inside[1][start] + 0.02 * top))
        self._of_system.set_position((0.62 * float(duty[0]), 0.385 * float(duty[1]) + 0.03 * top))
        duty_shown = (_flow(found), "flow"), (_pressure(found), "pressure")
        shown = "\n".join(self.writer.amount(*one) for one in duty_shown)
        self._set_duty(*map(float, duty[:2]), shown)

    def _set_duty(self, flow: float, pressure: float, shown: str) -> None:
        """Label the duty point above both curves, with a vertical line to the point."""
        right, top = self.pressure.get_xlim()[1], self.pressure.get_ylim()[1]
        at, side = flow, "right"
        if flow < 0.3 * right:  # no space on the left, so label it beyond the system curve
            at, side = flow * np.sqrt(top / pressure) + 0.03 * right, "left"
        self._leader.set_data([flow, flow], [pressure, 0.98 * top])
        aside = {"right": -0.012, "left": 0.0}[side] * right
        self._of_duty.set(position=(at + aside, 0.985 * top), text=shown, ha=side)

    def _set_power(self, found: Sized, inside, beyond, duty) -> None:
        right, top = self.power.get_xlim()[1], self.power.get_ylim()[1]
        self._curves[1].set_data(inside[0], inside[2])
        self._beyond[1].set_data(beyond[0], beyond[2])
        flow, _, power = self._given(found)
        self._measured[1].set_data(flow, power)
        rating = found.size.standard
        limit = float(self._shown(0, 0, rating.power)[2])
        self._rating.set_data([0, right], [limit, limit])
        words = self._words("rating", rating=rating.text, power=round(rating.power))
        self._of_rating.set(position=(0.985 * right, limit + 0.01 * top), text=words)
        self._duties[1].set_data([duty[0]], [duty[2]])
        watts = float(found.bands["power_shaft_w"].mid)
        shown = self.writer.amount(watts, "shaft_power")
        self._of_power.set(position=(float(duty[0]), float(duty[2]) - 0.12 * top), text=shown)

    def _given(self, found: Sized):
        """Return the points as entered, scaled to this speed and air density."""
        points = found.points
        flow = points.flow * found.place.speed_rpm / points.speed_rpm
        ends = flow[[0, -1]]
        return self._shown(*points.at(np.clip(flow, *ends), found.place.speed_rpm, found.density))


def _result(rating, found: Sized) -> str:
    if rating is found.size.smaller:
        return "small"
    if rating.power < found.overload.largest.mid:
        return "overloaded"
    return "next" if rating is found.size.standard else "whole"


def _purpose(share: float) -> Message:
    if not share:
        return Message("fan.measure.other")
    return Message("fan.measure.share", share=Quantity(share, "share", 0))


def _more(price: CompressorPrice, writer: Writer) -> str:
    more = "0" if not price.extra.high else between(price.extra, 0, writer)
    return writer("fan.dirt.more", more=more) if price.switches_off else more


def _temp(band: Band, writer: Writer) -> str:
    return bare(band.mid, "temperature", writer)


def _flow(found: Sized) -> float:
    return float(found.bands["flow_m3s"].mid)


def _pressure(found: Sized) -> float:
    return float(found.bands["pressure_pa"].mid)


def _watts_text(band: Band) -> Message:
    """Format a power in watts, followed by its range in parentheses unless the range is narrow."""
    low, mid, high = map(float, band)
    key = "watts_range" if high - low > 2 * TIGHT * mid else "watts"
    return Message(f"fan.{key}", low=round(low), mid=round(mid), high=round(high))
