"""One motor beside one job, with chosen figures in place of the simulated ones.

So a rule is evaluated right at its limit. The ordinary job is simulated once, and its arrays are
replaced. The motor is the second of two; the first was not simulated, and its figures must not
reach the second's.
"""

from dataclasses import replace

import numpy as np

from airover.core.texts import Writer
from airover.model.conditions import site_conditions
from airover.model.simulation import identify_motors, simulate_identified
from airover.selection.check import Check, check_of
from airover.selection.comparison import Comparison
from airover.selection.rules import RULES, Candidate, choose

from .jobs import MOTOR, job, motor

POINTS = 21  # so that 5, 50 and 95 % are samples themselves
ORDINARY = job()  # read once
ASKED = site_conditions(ORDINARY, POINTS)
WORKED = simulate_identified(ORDINARY, (MOTOR,), identify_motors((MOTOR,), POINTS), ASKED)
OLD = {"temp": 100.0, "ratio": 1.0, "power_in": 400.0, "runs": POINTS}  # the failed motor


def comparison(
    a_job=None, a_motor=None, *, line=(220.0, 232.0, 244.0), needed=(200.0, 213.0, 230.0),
    air=(50.0, 52.0, 54.0), reserve=(1.5, 2.0, 2.5), met=True, runs=POINTS, speed_low=1070.0,
    temp=(100.0, 110.0, 120.0), current=(1.6, 1.7, 1.8), ratio=1.0, power_in=400.0,
    capacitor_v=340.0, old=(),
) -> Comparison:  # fmt: skip
    """The ordinary motor on the ordinary job (see ``jobs``) with changed facts and figures.

    Figures are one value, a band of three, or three of these at low, usual and high voltage;
    ``needed`` and ``power_in`` in W, ``air`` and ``temp`` (the winding) in degC, ``ratio`` the
    speed over that of the fan's load. ``runs`` is the number of samples of POINTS that run up at
    the lowest voltage; ``old`` changes figures of the failed motor, None leaves it out.
    """
    a_job = job(**a_job) if a_job else ORDINARY
    motors = motor(model="first"), motor(**(a_motor or {}))
    asked = replace(
        ASKED, voltage=np.array(line), shaft_power=_samples(needed), temp_air=_samples(air)
    )
    figures = {"temp": temp, "ratio": ratio, "power_in": power_in, "runs": runs}
    failed = None
    if old is not None:
        failed = _worked(WORKED.failed, a_job, (), asked, **OLD | dict(old))
    simulation = _worked(WORKED, a_job, motors[1:], asked, **figures)
    solution = simulation.solution._replace(
        current=_all(current) + 0j, voltage_capacitor=_all(capacitor_v) + 0j
    )
    simulation = replace(
        simulation,
        solution=solution,
        reserve=_samples(reserve)[None],
        speed_low=np.full((1, POINTS), speed_low),
        rated=replace(WORKED.rated, met=np.full((1, POINTS), met)),
        failed=failed,
    )
    return Comparison(a_job, motors, asked, simulation, np.array([-1, 0]))


def check(name, a_job=None, a_motor=None, **figures) -> Check:
    """What one rule says of the motor: its state is the rule's own, however many questions."""
    rule = next(rule for rule in RULES if rule.name == name)
    at = comparison(a_job, a_motor, **figures)
    found = rule.evaluate(at)
    state = rule.states[found.outcome[1]]
    return check_of(rule, found, found.row(1), state, at.job.limits.changed(rule.limits))


def candidate(a_job=None, a_motor=None, **figures) -> Candidate:
    """The same motor judged by all rules."""
    found = choose(comparison(a_job, a_motor, **figures))
    return next(one for one in found if one.case.number == 1)


def why(check: Check, system="US") -> str:
    """The sentence of a check in English."""
    return Writer("en", system)(check.why)


def _worked(simulation, a_job, motors, asked, temp, ratio, power_in, runs):
    speed_rpm = _all(ratio) * ASKED.speed_rpm
    solution = simulation.solution._replace(speed_rpm=speed_rpm, power_in=_all(power_in))
    return replace(
        simulation,
        job=a_job,
        motors=motors,
        conditions=asked,
        solution=solution,
        temp_winding=_all(temp),
        runs_low=(np.arange(POINTS) < runs)[None],
    )


def _samples(band):
    """Samples whose 5, 50 and 95 % are ``band``, or all equal to one value."""
    if np.isscalar(band):
        return np.full(POINTS, float(band))
    return np.interp(np.linspace(0, 1, POINTS), (0.05, 0.5, 0.95), band)


def _all(told):
    """(voltages, 1, samples)."""
    each = told if not np.isscalar(told) and not np.isscalar(told[0]) else (told,) * 3
    return np.stack([_samples(band) for band in each])[:, None]
