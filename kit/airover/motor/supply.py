"""What line voltage a motor is made for."""

VOLTAGE_TOLERANCE = 0.10
VOLTAGE_SOURCE = "NEMA MG 1, 12.44, from memory, not verified"


def voltage_limits(voltage_low, voltage_high) -> tuple[float, float]:
    """Lowest and highest line voltage [V] of a plate that says ``voltage_low`` to ``voltage_high``.

    A plate of 208-230 V [V] runs from 10 % below the one to 10 % above the other.

    >>> low, high = voltage_limits(208.0, 230.0)
    >>> round(low), round(high)
    (187, 253)
    """
    return (1 - VOLTAGE_TOLERANCE) * voltage_low, (1 + VOLTAGE_TOLERANCE) * voltage_high
