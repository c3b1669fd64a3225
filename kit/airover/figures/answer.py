"""The picture of an answer's candidate: its torque and the blade's over speed."""

import numpy as np
from matplotlib.figure import Figure

from airover.choose import Candidate
from airover.figures.palette import FAN, INK
from airover.figures.style import (
    BEHIND,
    DASHES,
    LEADER,
    LINE,
    SMALL,
    THICK,
    frame,
    note,
    title,
)
from airover.motor.work import USUAL
from airover.texts import Writer

NAMES = ("low", "usual", "high")


def torque(candidate: Candidate, writer: Writer | None = None) -> Figure:
    """The motor's torque against the fan's over speed, at the line's three voltages.

    The crossing is where the motor settles. Warm motor, middle of the draws. A motor that was
    not simulated gives words instead.
    """
    case, writer = candidate.case, writer or Writer()
    name = case.motor.name
    figure = Figure(figsize=(5.8, 3.7), layout="constrained")
    if case.row is None:
        figure.text(0.5, 0.5, writer("answer.torque_figure.not_simulated", motor=name), ha="center")
        return figure
    speed, curves, fan = _torque_curves(case)
    axes = figure.subplots()
    for curve, style in zip(curves, DASHES, strict=True):
        axes.plot(speed, curve, style, color=INK, lw=LINE)
    axes.plot(speed, fan, color=FAN, lw=THICK)
    note(axes, writer("answer.torque_figure.fan"), (speed[-1], fan[-1]), (4, 0), FAN, va="center")
    axes.set(
        xlabel=writer("answer.torque_figure.speed"),
        ylabel=writer("answer.torque_figure.torque"),
        xlim=(0, speed[-1] * 1.08),
        ylim=(0, 1.06 * np.max(curves)),
    )
    rating = writer.amount(case.rating, "power")
    title(axes, writer("answer.torque_figure.title", motor=name, rating=rating))
    frame(axes)
    _label_voltages(axes, case, speed, curves, writer)
    _mark_crossing(axes, case, speed[-1], writer)
    return figure


def _label_voltages(axes, case, speed, curves, writer):
    """Each curve's voltage just under its top, and no two on each other."""
    highest = curves[-1]
    end = np.flatnonzero(highest > 0.8 * np.max(highest))[-1]
    note(axes, writer("answer.torque_figure.motor"), (speed[end], highest[end]), (7, 0))
    line, lowest_yet = 0.07 * axes.get_ylim()[1], np.inf
    volts = case.conditions.voltage
    for curve, name, voltage in reversed(list(zip(curves, NAMES, volts, strict=True))):
        top = np.argmax(curve)
        lowest_yet = min(curve[top] - 0.45 * line, lowest_yet - line)
        axes.text(
            speed[top],
            lowest_yet,
            writer(f"answer.torque_figure.{name}", volts=f"{voltage:.0f} V"),
            ha="center",
            va="top",
            color=INK,
            fontsize=SMALL,
            bbox=BEHIND,
        )


def _torque_curves(case):
    """Speeds [rpm], the warm motor's median torque [N m] at each voltage, the blade's torque."""
    worked, at = case.worked, case.row
    synchronous = 120 * worked.conditions.frequency / case.motor.poles
    speed = np.linspace(0, synchronous, 121)
    slip = 1 - speed[:, None] / synchronous
    warm = worked.warm_circuit(USUAL, at)
    curves = [
        np.median(warm.balance(volts, worked.conditions.frequency, slip).torque, axis=1)
        for volts in worked.conditions.voltage
    ]
    load = np.median(worked.conditions.coefficient) * (speed * np.pi / 30) ** 2
    return speed, curves, load


def _mark_crossing(axes, case, synchronous, writer):
    """A point with its figures, on the side where there is room for them."""
    rpm = case.speed_rpm.mid
    newton_metres = np.median(case.worked.solution.torque[USUAL, case.row])
    fast = rpm > synchronous / 2
    axes.plot(rpm, newton_metres, "o", color=INK, ms=7)
    torque, amps = f"{newton_metres:.2f} N m", f"{case.current.mid:.2f} A"
    settles = writer("answer.torque_figure.settles", speed=f"{rpm:.0f} rpm")
    told = f"{settles}\n{writer('answer.torque_figure.there', torque=torque, amps=amps)}"
    away, side = ((-75, 0), "right") if fast else ((40, -20), "left")
    note(axes, told, (rpm, newton_metres), away, ha=side, va="center", arrowprops=LEADER)
