"""Compiled calculation of operating points and of warmed-up motors.

The functions return the same results as `operating_point.settle` and `model.cooling.warmed`, and
are much faster. The equations are in `kernels`, and `machine_code` compiles and loads them.

Numba is an optional dependency in the extra ``fast``. Without it, `settle` raises an error that
names the missing package.
"""

from functools import cache

import numpy as np

from airover.core.errors import FREQUENCY, TEMP_AIR, VOLTAGE, check
from airover.physics import machine_code, operating_point
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.machine_code import AVAILABLE, Kernel
from airover.physics.operating_point import BREAKAWAY, FAN_COEFFICIENT, NUDGE, SCAN, MotorPoint

RULES = np.array([BREAKAWAY, NUDGE])  # passed as an argument: compiled code has fixed constants
LAST_STEP, RESTART = 39, 12  # iterations of `warm`, and those after which a motor starts again
HASTENED = (3, 5, 7, 9)  # iterations after which temperatures are extrapolated
SLIP_STILL, TEMP_STILL = 1e-7, 0.002  # changes of slip and temperature [K] that end the iterations
FASTEST = 0.7  # ratio of successive changes above which they are not extrapolated
TEMP_NO_WORK = 250.0  # degC, of a motor that does not reach a steady state: any protector trips
UNSOLVED = 1e9  # result of a calculation without a solution
VALUES = ("poles", "frequency", "R1", "X1", "R2", "X2", "Xm", "turns_ratio", "R_aux", "X_aux")
VALUES += ("capacitance", "friction", "skin", "tap")
_SHELL = ("area", "hub", "fin", "diameter", "length", "emissivity", "upright")
_MODULE = "airover.physics.kernels"
_CODE = "physics", "core/errors.py"
_MOTOR = "d" * len(VALUES) + "?ddd"  # types of _values_of
_KERNELS = {
    "settled_one": Kernel("ddddd" + _MOTOR + "dd??", "(n),(m)" + ",()" * 21 + "->(),(),(),()"),
    "warmed_one": Kernel(
        "d" * 27 + _MOTOR + "dd?d",
        "(s),(r),(n),(n),(n),(i),(j)" + ",()" * 38 + "->(),(),(),(n)",
    ),
    "torques_one": Kernel("ddd" + _MOTOR + "d", "(n)" + ",()" * 20 + "->(n)"),
}


def settle(circuit: CapacitorRun, voltage, frequency, coefficient) -> MotorPoint:
    """Return the operating points, calculated with compiled code to within 1e-9 in slip.

    The array arguments are broadcast against the motor's values. The results are the same as those
    of `operating_point.settle`. The code runs on one core. The first call on a machine compiles the
    code, which takes about ten seconds, and saves it in a file.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuits of the motors.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2].

    Raises
    ------
    InputError
        If a value is out of range.
    ModuleNotFoundError
        If numba is not installed.
    ArithmeticError
        If no solution is found (not observed for saturation shares below 1).
    """
    voltage, frequency, coefficient = _checked(voltage, frequency, coefficient)
    voltage = np.broadcast_to(voltage, np.broadcast_shapes(voltage.shape, circuit.shape))
    slip, emf, starts, runs = _kernels()["settled_one"](
        SCAN, RULES, voltage, frequency, coefficient, *_values_of(circuit)
    )
    _check_solved(emf)
    solution = circuit.balance(voltage, frequency, slip, emf)
    solution = Solution(*(np.broadcast_to(x, slip.shape) for x in solution))
    return MotorPoint(slip, starts, runs, solution)


def warm(
    circuit: CapacitorRun, network, over_winding, film, temp_reference, air, voltage, frequency,
    coefficient,
) -> tuple:  # fmt: skip
    """Return the slip, air-gap voltage [V], start flag and node temperatures of warmed-up motors.

    The temperatures [degC] are the last axis. Array arguments are broadcast against each other.
    Raises the same exceptions as `settle`.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuits at the rating.
    network : Network
        Thermal networks.
    over_winding : Nodes
        Node temperatures [K] above the average winding temperature at the rating.
    film : tuple
        Position within the range of the forced convection coefficient, 0 to 1, and its multiplier.
    temp_reference
        Average winding temperature [degC] at the rating.
    air : tuple
        Air temperature [degC], air speed [m/s] at the reference speed, reference speed [rpm], and
        solar heat [W/m2].
    voltage, frequency, coefficient
        Supply and fan, as in `settle`.
    """
    voltage, frequency, coefficient = _checked(voltage, frequency, coefficient)
    temp_air, speed, speed_rpm, sun = air
    temp_air = check("temp_air", temp_air, TEMP_AIR)
    reduced = network.reduced

    def last(array, count):  # the node axes as one axis at the end
        return np.moveaxis(np.reshape(array, (count, *np.shape(array)[2:])), 0, -1)

    over = np.stack(np.broadcast_arrays(*over_winding), axis=-1)
    shell = (getattr(network, name) for name in _SHELL)
    scratch = np.empty((2, over.shape[-1]))  # two work arrays, because kernels cannot allocate them
    warm = _kernels()["warmed_one"](
        SCAN, RULES, *scratch, over, last(reduced.rise, 16), last(reduced.share, 12), *reduced[2:],
        *shell, *film, temp_reference, temp_air, speed / speed_rpm, sun, voltage, frequency,
        coefficient, circuit.core_conductance, *_values_of(circuit),
    )  # fmt: skip
    _check_solved(warm[1])
    return warm


def shaft_torques(circuit: CapacitorRun, voltage, frequency, slips) -> np.ndarray:
    """Return the shaft torque [N m] at each of ``slips``, which are the last axis of the result.

    The other array arguments are broadcast against each other, and ranges are not checked. Raises
    the same exceptions as `settle`.
    """
    torques = _kernels()["torques_one"](slips, voltage, frequency, *_values_of(circuit))
    _check_solved(torques)
    return torques


quickest = settle if AVAILABLE else operating_point.settle  # both return the same results


def load() -> None:
    """Load the compiled code, which is otherwise loaded on first use.

    Raises
    ------
    ModuleNotFoundError
        If numba is not installed.
    """
    _kernels()


@cache
def _kernels() -> dict:
    """Return the kernels as NumPy universal functions, which broadcast without copies."""
    return machine_code.universal_functions(_MODULE, _KERNELS, *_CODE)


def _check_solved(results: np.ndarray) -> None:
    if (results == UNSOLVED).any():
        raise ArithmeticError("a motor's currents, torque or heat have no balance")


def _checked(voltage, frequency, coefficient) -> tuple:
    """Return the supply and the fan coefficient as arrays, or raise an error."""
    return (
        check("voltage", voltage, VOLTAGE),
        check("frequency", frequency, FREQUENCY),
        check("coefficient", coefficient, FAN_COEFFICIENT),
    )


def _values_of(circuit: CapacitorRun) -> tuple:
    """Return the values of the motors in the order of the kernels' arguments."""
    motor = (getattr(circuit, name) for name in VALUES)
    return *motor, np.asarray(circuit.reversed, bool), *(circuit.saturation or (0.0, 1.0, 1.0))
