"""Questions on the run capacitor, worked by `physics.capacitor`, and the values of usual slips."""

from airover.lesson.worked import Worked
from airover.physics import capacitor

LINE_FREQUENCY, OTHER_FREQUENCY = 60.0, 50.0  # Hz


def microfarads(current, voltage, line) -> Worked:
    """Capacitance [F] from amps and volts read under load."""
    slips = {
        "line": float(capacitor.capacitance(current, line, LINE_FREQUENCY)),
        "fifty": float(capacitor.capacitance(current, voltage, OTHER_FREQUENCY)),
    }
    return Worked(float(capacitor.capacitance(current, voltage, LINE_FREQUENCY)), slips)


def amps_through(capacitance, voltage, line) -> Worked:
    """Amps in the capacitor's lead: its farads over those that carry one ampere."""
    slips = {
        "line": _amps(capacitance, line, LINE_FREQUENCY),
        "fifty": _amps(capacitance, voltage, OTHER_FREQUENCY),
    }
    return Worked(_amps(capacitance, voltage, LINE_FREQUENCY), slips)


def _amps(capacitance, voltage, frequency) -> float:
    return capacitance / float(capacitor.capacitance(1.0, voltage, frequency))


def capacitor_limit(voltage) -> Worked:
    """Volts that a capacitor may carry by its marking."""
    slips = {"marked": voltage, "crest": 2**0.5 * voltage}
    return Worked(capacitor.OVERVOLTAGE * voltage, slips)


def capacitor_hours(hotter, interval, voltage) -> Worked:
    """Hours of class B at its marked volts, ``hotter`` [K] than it is rated for."""

    def hours(temp_over):
        temp = 70.0 + temp_over
        return float(capacitor.life(voltage, temp, voltage, "B", 70.0, halving_interval=interval))

    start, halvings = hours(0.0), hotter / interval
    slips = {
        "longer": hours(-hotter),
        "once": hours(interval),
        "straight": start / (1 + halvings),
    }
    return Worked(hours(hotter), slips, {"start": (start, "hours"), "times": (halvings, "")})


ANSWERS = (microfarads, amps_through, capacitor_limit, capacitor_hours)
