"""A run capacitor: its capacitance under load and what its standard allows.

A capacitor stays charged after the power is off: lock the power out and discharge it before
touching it. Measuring under load is live work: leave it to a person qualified for it.
"""

import numpy as np

from airover.limits import FREQUENCY, VOLTAGE, Range, check

CURRENT = Range(0.001, 100.0, "A")

# IEC 60252-1, from memory, not verified: the marking on the capacitor decides.
TOLERANCES = (0.05, 0.10, 0.15)
OVERVOLTAGE = 1.1  # of the marked voltage, at most
LIFE_CLASSES = {"A": 30000.0, "B": 10000.0, "C": 3000.0, "D": 1000.0}  # [h] at marked voltage
STANDARD_SOURCE = "IEC 60252-1, from memory, not verified"


def capacitance(current, voltage, frequency):
    """Capacitance [F] of a capacitor that carries ``current`` [A] at ``voltage`` [V].

    I / (2 pi f V); ``voltage`` is across the capacitor's own terminals, which in a running
    motor is above the line's; ``frequency`` [Hz]. At 60 Hz it is the trade's uF = 2652 I/V.
    Arrays broadcast. Raises InputError out of range.

    >>> round(float(capacitance(1.054, 372.8, 60.0)) * 1e6, 2)
    7.5
    """
    current = check("current", current, CURRENT)
    voltage = check("voltage", voltage, VOLTAGE)
    return current / (2 * np.pi * check("frequency", frequency, FREQUENCY) * voltage)
