"""Compiled operating points and warming beside array code, SciPy's vectorised finder, and a loop."""

from dataclasses import replace

import numpy as np
from points import PLATE, looped, vectorised
from row import Row, timed

from airover.core.files import data_folder
from airover.model.conditions import site_conditions
from airover.model.cooling import AirStream, warmed
from airover.model.identify import from_nameplate
from airover.model.simulation import identify_motors
from airover.physics import compiled, operating_point
from airover.records.catalog import read_catalog
from airover.records.job import Job

VOLTAGES = np.linspace(220.0, 250.0, 10)


def kernel(draws: int, sample: int, repeats: int) -> list[Row]:
    """Three peers, with the iron straight and saturated; one core for all. Compiled beforehand."""
    return _kernel(draws, sample, repeats, False) + _kernel(draws, sample, repeats, True)


def motor_of(draws: int, saturated: bool):
    """Circuits of one plate, each in a row of its own, and their fans' coefficients."""
    motor = from_nameplate(PLATE, draws)
    circuit = motor.rearranged(lambda value: value[:, None]).circuit
    circuit = circuit if saturated else replace(circuit, saturation=None)
    return circuit, motor.coefficient[:, None]


def _kernel(draws, sample, repeats, saturated):
    circuit, coefficient = motor_of(draws, saturated)
    case = circuit, VOLTAGES, 60.0, coefficient
    compiled.settle(*case)
    ours, points = timed(lambda: compiled.settle(*case), repeats)
    reference, also = timed(lambda: operating_point.settle(*case))
    vector, found = timed(lambda: vectorised(circuit, case[1], case[3], points.slip))
    loop, apart = looped(*case, points, sample)
    what = f"{points.slip.size} points compiled, {'saturated' if saturated else 'straight'}"

    def row(name, seconds, apart):
        return Row(what, ours, name, seconds, float(apart), 1e-6)

    return [
        row("the reference, operating_point.settle", reference, _apart(also.slip, points.slip)),
        row("elementwise.find_root, known bracket", vector, _apart(found, points.slip)),
        row(f"brentq per case; {sample} timed, scaled", loop, apart),
    ]


def _apart(slip, other):
    return np.max(np.abs(slip / other - 1))


def warmed_up(motors: int, repeats: int) -> Row:
    """Catalog motors on the sample job's fan at three voltages, 100 samples each.

    What is compared are the windings' temperatures, of which 999 in 1000 must agree to 0.02 K.
    """
    catalog = read_catalog(data_folder() / "catalogue.csv")
    chosen = [one for one in catalog if (one.voltage_high, one.frequency) == (230, 60)][:motors]
    conditions = site_conditions(Job.read(data_folder() / "jobs" / "roof-unit.toml"), 100)
    volts = conditions.voltage[:, None, None]
    case = *identify_motors(tuple(chosen), 100), AirStream.of(conditions), volts, 60.0
    case = *case, conditions.coefficient
    warmed(*case, compiled.settle)
    ours, quick = timed(lambda: warmed(*case, compiled.settle), repeats)
    peer, slow = timed(lambda: warmed(*case, operating_point.settle))
    apart = np.quantile(np.abs(quick.temp_winding - slow.temp_winding), 0.999)
    what = f"{quick.slip.size} motors on a fan warmed up, compiled"
    return Row(what, ours, "the reference, the same in arrays", peer, float(apart), 0.02)
