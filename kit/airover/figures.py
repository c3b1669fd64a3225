"""Pictures (matplotlib): direct labels, units on both axes, readable in grey and in print."""

import numpy as np
from matplotlib.figure import Figure

from airover.choose import Candidate
from airover.work import USUAL

INK, SOFT, FAN = "#1f2933", "#8794a1", "#b3541e"
# Line styles carry the meaning together with the labels; colour never alone.
STYLES = ("--", "-", ":")
NAMES = ("low", "usual", "high")


def torque(candidate: Candidate) -> Figure:
    """The motor's torque against the fan's over speed, at the line's three voltages.

    The crossing is where the motor settles. Warm motor, middle of the draws.
    """
    case = candidate.case
    speed, curves, fan = _torque_curves(case)
    figure = Figure(figsize=(7.2, 4.4), layout="constrained")
    axes = figure.subplots()
    for curve, style, name, volts in zip(
        curves, STYLES, NAMES, case.worked.conditions.voltage, strict=True
    ):
        axes.plot(speed, curve, style, color=INK, lw=1.8)
        top = np.argmax(curve)
        axes.annotate(
            f"motor at {volts:.0f} V ({name})",
            (speed[top], curve[top]),
            xytext=(-8, 4),
            textcoords="offset points",
            ha="right",
            va="bottom",
            color=INK,
        )
    axes.plot(speed, fan, color=FAN, lw=2.2)
    axes.annotate(
        "blade", (speed[-1], fan[-1]), xytext=(4, 0), textcoords="offset points", color=FAN
    )
    _mark_crossing(axes, case)
    axes.set(
        xlabel="speed [rpm]",
        ylabel="torque [N m]",
        title=f"{case.motor.name} at {case.shown(case.rating, 'power')}",
        xlim=(0, speed[-1] * 1.08),
        ylim=(0, None),
    )
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(color=SOFT, alpha=0.25, lw=0.6)
    return figure


def _torque_curves(case):
    """Speeds [rpm], the warm motor's median torque [N m] at each voltage, the blade's torque."""
    worked, at = case.worked, case.number
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


def _mark_crossing(axes, case):
    rpm = case.speed_rpm.mid
    newton_metres = np.median(case.worked.solution.torque[USUAL, case.number])
    axes.plot(rpm, newton_metres, "o", color=INK, ms=7)
    axes.annotate(
        f"settles at {rpm:.0f} rpm\n{newton_metres:.2f} N m, {case.current.mid:.2f} A",
        (rpm, newton_metres),
        xytext=(-90, -38),
        textcoords="offset points",
        ha="right",
        arrowprops={"arrowstyle": "-", "color": SOFT},
        color=INK,
    )
