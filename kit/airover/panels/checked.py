"""Figures that a worksheet ends in, as plain text that nbval compares."""

from airover.answer import Answer


def checked(figures: dict[str, float]) -> str:
    """One line for each of ``figures`` (name with unit: value), three digits, then their count.

    Three digits because another platform may differ in the tenth.
    """
    width = max(map(len, figures))
    lines = [f"{name:{width}}  {_three_digits(value)}" for name, value in figures.items()]
    return "\n".join([*lines, f"{len(lines)} figures"])


def figures_of(answer: Answer, best: int = 3) -> dict[str, float]:
    """What blade and site ask, how many motors fit, and what the ``best`` would do there."""
    power, speed, torque, temp = (band.mid for band in answer.needed.values())
    figures = {
        "motors that fit": len(answer.fitting),
        "motors judged": len(answer.candidates),
        "shaft power [W]": power,
        "speed [rpm]": speed,
        "torque [N m]": torque,
        "air at the motor [degC]": temp,
    }
    for candidate in answer.candidates[:best]:
        case = candidate.case
        figures[f"{case.motor.name}, current [A]"] = case.current.mid
        figures[f"{case.motor.name}, speed [rpm]"] = case.speed_rpm.mid
        figures[f"{case.motor.name}, input [W]"] = case.band("power_in_w").mid
        figures[f"{case.motor.name}, winding [degC]"] = case.winding.mid
    return figures


def _three_digits(value: float) -> str:
    return f"{float(f'{value:.3g}'):g}"
