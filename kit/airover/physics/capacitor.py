"""A run capacitor: its capacitance under load and what its standard allows.

A capacitor stays charged after the power is off: lock the power out and discharge it before
touching it. Measuring under load is live work: leave it to a person qualified for it.
"""

import numpy as np

from airover.errors import InputError
from airover.limits import FREQUENCY, TEMP_AIR, VOLTAGE, Range, check

CURRENT = Range(0.001, 100.0, "A")
TEMP_CAPACITOR = Range(TEMP_AIR.low, 130.0, "degC")
VOLTAGE_EXPONENT = Range(1.0, 20.0, "")
HALVING_INTERVAL = Range(5.0, 20.0, "K")

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


def life(
    voltage, temp_capacitor, voltage_rated, life_class="B", temp_rated=70.0, exponent=8.0,
    halving_interval=10.0,
):  # fmt: skip
    """Hours [h] that a metallised-film run capacitor of an IEC 60252-1 ``life_class`` lasts.

    Its class hours at ``voltage_rated`` [V] and ``temp_rated`` [degC]; they go with the inverse
    ``exponent``-th power of the ``voltage`` [V] across it (7 to 10 for such films) and halve for
    every ``halving_interval`` [K] that ``temp_capacitor`` [degC] is higher. Both laws are common
    practice, no source: they compare, they do not promise. Arrays broadcast. Raises InputError
    for another class and out of range.

    >>> float(life(370.0, 70.0, 370.0)), round(float(life(407.0, 70.0, 370.0)))
    (10000.0, 4665)
    """
    if life_class not in LIFE_CLASSES:
        raise InputError("life_class", repr(life_class), ", ".join(LIFE_CLASSES))
    voltage = check("voltage", voltage, VOLTAGE)
    voltage_rated = check("voltage_rated", voltage_rated, VOLTAGE)
    temp = check("temp_capacitor", temp_capacitor, TEMP_CAPACITOR)
    temp_rated = check("temp_rated", temp_rated, TEMP_CAPACITOR)
    exponent = check("exponent", exponent, VOLTAGE_EXPONENT)
    interval = check("halving_interval", halving_interval, HALVING_INTERVAL)
    by_voltage = (voltage_rated / voltage) ** exponent
    return LIFE_CLASSES[life_class] * by_voltage * 2 ** ((temp_rated - temp) / interval)
