"""Motors put in and read: truths by the recipe of `tests.recipe`, faults and meters with errors.

Neither circuits nor heat share anything with the priors of the kit: a winding's rise goes here
with its losses, by one factor for each motor. Every meter's error is evenly likely within its
accuracy. What a circuit gives is worked by the kit's equations, which tests/published checks.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.model import identify
from airover.model.conditions import site_conditions
from airover.physics import compiled, heat
from airover.physics.operating_point import fan_coefficient, settle
from airover.records.job import Job
from airover.records.readings import Measurements
from airover.service.inference import MeterReading
from airover.service.readings import simulated
from airover.service.verification import Expectation, subject_of

from .recipe import FREQUENCY, VOLTAGE, Truths

DENSITY = 1.113  # kg/m3 of dry air of 44 degC at sea level, where the motor stands
TEMP_AIR, TEMP_PLATE = 44.0, 85.0
RISE = (39.0, 75.0)  # K at rated losses: 60 to 115 % of what class B allows at 60 degC
LOAD = (0.70, 1.15)  # of the fan that takes the rated power, in standard air
# Limits of the meters' errors: shares, rpm, K.
LIMITS = {
    "voltage": 0.015, "current": 0.03, "power": 0.035, "speed_rpm": 5.0,
    "capacitor_voltage": 0.015, "capacitor_current": 0.04, "winding_temperature": 5.0,
}  # fmt: skip
_PLAIN = ("speed_rpm", "winding_temperature")
QUICK = compiled.settle if compiled.AVAILABLE else settle


class Fault(NamedTuple):
    """What is wrong in truth: shares of the right load and capacitor, shorted turns' watts over
    the rated power, a share of the rise, the line [V]."""

    load: float = 1.0
    capacitor: float = 1.0
    shorted: float = 0.0
    rise: float = 1.0
    voltage: float = VOLTAGE


HEALTHY = Fault()
FAULTS = {
    "heavy load": Fault(load=1.25),
    "weak capacitor": Fault(capacitor=0.7),
    "shorted turns": Fault(shorted=0.4),
    "poor cooling": Fault(rise=1.6),
    "low line": Fault(voltage=196.0),
}


def misprinted(truths: Truths, seed: int) -> Truths:
    """The same motors, their nameplates' amps and rpm off by the adopted tolerances."""
    rng = np.random.default_rng(seed)
    amps = identify.AMPS_PRINTED.at(rng.normal(size=len(truths.power)))
    synchronous = 120 * FREQUENCY / truths.circuit.poles
    slip = (1 - truths.speed_rpm / synchronous) / identify.SLIP_PRINTED.at(
        rng.normal(size=len(amps))
    )
    current = np.round(truths.plate_current * amps, 2)
    return replace(
        truths, plate_current=current, plate_rpm=np.round((1 - slip) * synchronous / 5) * 5
    )


def job_of(truths: Truths, place: int) -> Job:
    """The job whose failed motor had the same plate; weather and coil as in the truth."""
    circuit = truths.circuit
    plate = {
        "voltage": f"{VOLTAGE:g} V",
        "frequency": f"{FREQUENCY:g} Hz",
        "power": f"{truths.power[place]:.2f} W",
        "current": f"{truths.plate_current[place]:g} A",
        "speed": f"{truths.plate_rpm[place]:g} rpm",
        "poles": int(circuit.poles[place]),
        "capacitor": f"{circuit.capacitance[place] * 1e6:g} uF",
        "insulation_class": "B",
        "ambient_rating": "60 degC",
        "body_diameter": "140 mm",
        "body_length": f"{80 + 0.2 * truths.power[place]:.0f} mm",  # small motors are short
    }
    air = {"outdoor_temperature": "34 degC", "coil_temperature_rise": "10 K"}
    air |= {"recirculation": "0 K", "elevation": "0 m", "relative_humidity": "0 %"}
    return Job(nameplate=plate, blade={"diameter": "22 in"}, site=air)


def expectation(truths: Truths, place: int, voltage: float, draws: int) -> Expectation:
    """What the kit expects of that motor on a line of about ``voltage``."""
    job, measured = job_of(truths, place), Measurements()
    subject = subject_of(job, measured, (), draws, 0)
    subject = subject._replace(motor=replace(subject.motor, settle=QUICK))
    asked = site_conditions(job, draws)
    before = simulated(subject.motor, [asked], [(voltage, 0.012 * voltage)])
    return Expectation(job, measured, subject, before, (), asked.inputs)


@dataclass
class Truth:
    """What meters without error would show, and what nobody reads."""

    shown: dict
    shaft: float
    speed_rpm: float
    winding: float


def truth(truths: Truths, place: int, fault: Fault, rng) -> Truth:
    """One motor at work: its own load, capacitor, rise, and a line near the fault's."""
    circuit = truths.circuit.rearranged(lambda value: value[place])
    load = fault.load * rng.uniform(*LOAD) * DENSITY / 1.2014
    fan = load * fan_coefficient(truths.power[place], truths.speed_rpm[place])
    made = rng.uniform(0.95, 1.05) if fault.capacitor == 1 else fault.capacitor
    rise, volts = fault.rise * rng.uniform(*RISE), fault.voltage * rng.uniform(0.985, 1.015)
    slip = 1 - truths.speed_rpm[place] * circuit.poles / (120 * FREQUENCY)
    rated_loss = float(circuit.balance(VOLTAGE, FREQUENCY, slip).loss)
    extra = fault.shorted * truths.power[place] / VOLTAGE**2
    changed = replace(
        circuit,
        capacitance=made * circuit.capacitance,
        core_conductance=circuit.core_conductance + extra,
    )
    winding = TEMP_PLATE
    for _ in range(5):
        copper = heat.resistance_factor(winding, TEMP_PLATE)
        cage = heat.resistance_factor(winding, TEMP_PLATE, "aluminum")
        hot = replace(changed, R1=circuit.R1 * copper, R_aux=circuit.R_aux * copper)
        at = QUICK(replace(hot, R2=circuit.R2 * cage), volts, FREQUENCY, fan).solution
        winding = TEMP_AIR + rise * float(at.loss) / rated_loss
    shown = {
        "voltage": volts,
        "current": float(np.abs(at.current)),
        "power": float(at.power_in),
        "speed_rpm": float(at.speed_rpm),
        "capacitor_voltage": float(np.abs(at.voltage_capacitor)),
        "capacitor_current": float(np.abs(at.current_aux)),
        "winding_temperature": winding,
    }
    return Truth(shown, float(at.power_out), float(at.speed_rpm), winding)


def read(shown: dict, names, rng=None) -> tuple[MeterReading, ...]:
    """The figures of ``names``; with ``rng`` each with an error of its meter."""
    found = []
    for name in names:
        limit = LIMITS[name] * (1.0 if name in _PLAIN else shown[name])
        error = 0.0 if rng is None else limit * rng.uniform(-1, 1)
        found.append(
            MeterReading(0, name, shown[name] + error, limit, f"{shown[name] + error:.4g}")
        )
    return tuple(found)


def can_be_told(expected: Expectation, names, exact: dict) -> bool:
    """Whether a figure lies outside the plate's volts, or outside what 99 of 100 such motors
    would show, by more than its meter may be wrong: the meter's error is not in that band."""
    for one in read(exact, names):
        draws = expected.before.readings[one.name][0, 0]
        if one.name == "voltage":
            low, high = 0.9 * VOLTAGE, 1.1 * VOLTAGE
        else:
            low, high = np.quantile(draws, (0.005, 0.995))
        if one.value + one.limit < low or one.value - one.limit > high:
            return True
    return False
