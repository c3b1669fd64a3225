"""Simulation of the failed motor on its own fan, air and supply voltage, as evidence of the cause.

A sample fails where the winding is above its class temperature, the air above the nameplate's
ambient rating, or the motor does not come up to speed. Correcting the voltage alone (to the nearest
on the nameplate), then the air alone (to the ambient rating), shows what to blame. The share of the
samples in a state is the chance of that state.

Steady running on the design day, at the worse end of the logged voltage. A fan's torque falls with
its speed, so low voltage heats the motor less than the trade expects.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.units import Amount
from airover.model.conditions import completed, site_conditions
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES, SLIP_RUNNING
from airover.physics.operating_point import BREAKAWAY
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.selection.comparison import winding_limit

SLOW = 0.05  # of the samples, from which "did not come up to speed" is worth saying
STARTS = 0.5  # of the samples that start with the right capacitor
NO_CAPACITANCE = 1e-9  # F, for a capacitor that has failed open


class Evidence(NamedTuple):
    """One finding: ``shares`` of its states, which add up to 1, and the sentences ``said`` of it.

    ``seen`` is false for what was simulated.
    """

    finding: str
    shares: np.ndarray
    said: tuple[Message, ...]
    seen: bool


@dataclass(frozen=True)
class OldMotor:
    """The failed motor of ``job`` on its ``load``.

    ``limit`` [degC] is that of its winding's average by its class, None where the class cannot be
    read.
    """

    job: Job
    motor: Motor
    load: Load
    limit: float | None

    @property
    def log(self) -> Amount | None:
        """Supply voltage as it was logged, or measured at the site."""
        return self.job.found.voltage or self.job.site.voltage


def old_motor(job: Job, samples: int = SAMPLES, seed: int = 0) -> OldMotor:
    """Failed motor of ``job``, identified from its nameplate.

    Raises InputError where the job is not covered, or its nameplate says too little or
    contradicts itself.
    """
    check_scope(job)
    asked = site_conditions(job, samples, seed)
    insulating = job.nameplate.insulation_class
    limit = None if insulating is None else winding_limit(insulating)
    motor = Motor.from_nameplate(completed(job), samples, seed)
    return OldMotor(job, motor, Load.of(asked), limit)


def physical_evidence(old: OldMotor) -> tuple[Evidence, ...]:
    """Evidence from simulation: winding temperature at the logged voltage, or the air alone."""
    found = _heat(old) or _air(old)
    return () if found is None else (found,)


def capacitor_effect(old: OldMotor) -> Message | None:
    """Sentence on how the old motor runs with its capacitor as measured, None if unknown."""
    measured, marked = old.job.found.capacitor, old.job.nameplate.capacitor
    if measured is None or marked is None:
        return None
    share = max(measured.mid, NO_CAPACITANCE) / marked.mid
    volts = old.motor.voltage if old.log is None else old.log.mid
    changed = old.motor.with_capacitor(share * old.motor.rated.circuit.capacitance)
    run, right = (one.run(old.load, volts) for one in (changed, old.motor))
    starts, started = (float(_runs(one).mean()) for one in (run, right))
    at = Quantity(volts, "voltage")
    if starts < STARTS * started:
        return Message("failure.said.not_reliably", volts=at)
    hotter = Band.of(run.warm.temp_winding - right.warm.temp_winding).first().mid
    key = "hotter" if hotter > 0 else "cooler"
    return Message(f"failure.said.{key}", volts=at, rise=_degrees(hotter))


def _heat(old: OldMotor) -> Evidence | None:
    """Winding temperature at the worse end of the log, and whether right volts or air would do.

    A sample counts as over where the winding exceeds its class, the air exceeds the nameplate's
    ambient rating, or the motor does not come up to speed. Right volts are the nearest on the
    nameplate, right air is at most at the ambient rating.
    """
    plate, log = old.job.nameplate, old.log
    if None in (old.limit, log, plate.voltage, plate.ambient_rating):
        return None
    logged = np.array([log.low, log.high])
    right = np.clip(logged, plate.voltage.low, plate.voltage.high)
    run = old.motor.run(old.load, np.append(logged, right))
    worse = int(np.argmax(np.median(run.warm.temp_winding[:2], axis=1)))
    put_right = run.part(slice(worse + 2, worse + 3))
    run = run.part(slice(worse, worse + 1))
    cool = np.minimum(old.load.air.temp_air, plate.ambient_rating.mid)
    in_right_air = old.load._replace(air=old.load.air._replace(temp_air=cool))
    shares = _blamed(
        as_it_was=_over(old, run),
        right_volts=_over(old, put_right),
        right_air=_over(old, old.motor.run(in_right_air, run.voltage)),
        low=bool(logged[worse] < right[worse]),
    )
    return Evidence("heat", shares, _heat_said(old, run, put_right), seen=False)


def _over(old: OldMotor, run: Run) -> np.ndarray:
    """Samples of a run at one voltage that exceed what the motor is made for."""
    hot = (run.warm.temp_winding > old.limit) | ~_runs(run)
    return hot[0] | (run.load.air.temp_air > old.job.nameplate.ambient_rating.high)


def _blamed(as_it_was, right_volts, right_air, low: bool) -> np.ndarray:
    """Shares of the states of heat: whether volts alone or air alone would have done."""
    by_volts = as_it_was & ~right_volts & right_air
    by_air = as_it_was & ~right_air & right_volts
    nothing = np.zeros_like(by_volts)
    by_low, by_high = (by_volts, nothing) if low else (nothing, by_volts)
    return _shares(~as_it_was, by_low, by_high, by_air, as_it_was & ~by_volts & ~by_air)


def _runs(run: Run) -> np.ndarray:
    return (run.starting() > BREAKAWAY) & (run.warm.slip < SLIP_RUNNING)


def _degrees(kelvin: float) -> Quantity:
    """A temperature difference without its sign, in whole degrees."""
    return Quantity(abs(kelvin), "temperature_rise", 0)


def _heat_said(old: OldMotor, run: Run, put_right: Run) -> tuple[Message, ...]:
    excess = Band.of(run.warm.temp_winding - old.limit).first()
    key = "over" if excess.mid > 0 else "below"
    values = {
        "volts": Quantity(float(run.voltage[0]), "voltage"),
        "excess": _degrees(excess.mid),
        "limit": Quantity(old.limit, "temperature"),
        "letter": old.job.nameplate.insulation_class,
    }
    if excess.low < 0 < excess.high:  # the side is open, so the range decides
        key += "_range"
        values |= {"low": _degrees(excess.low), "high": _degrees(excess.high)}
    said = [Message(f"failure.said.{key}", **values)]
    if put_right.voltage[0] != run.voltage[0]:
        eased = float(np.median(run.warm.temp_winding - put_right.warm.temp_winding))
        key = "eased_cooler" if eased > 0 else "eased_hotter"
        volts = Quantity(float(put_right.voltage[0]), "voltage")
        said.append(Message(f"failure.said.{key}", eased=_degrees(eased), volts=volts))
    slow = float(1 - _runs(run).mean())
    if slow >= SLOW:
        said.append(Message("failure.said.slow", share=Quantity(slow, "share")))
    return (*said, _air_said(old))


def _air(old: OldMotor) -> Evidence | None:
    rating = old.job.nameplate.ambient_rating
    if rating is None:
        return None
    air = np.asarray(old.load.air.temp_air)
    shares = _shares(air <= rating.mid, air > rating.mid)
    return Evidence("air", shares, (_air_said(old),), seen=False)


def _air_said(old: OldMotor) -> Message:
    air = float(np.median(old.load.air.temp_air))
    rated = old.job.nameplate.ambient_rating.mid
    found, allowed = (Quantity(temp, "air_temperature") for temp in (air, rated))
    return Message("failure.said.air", found=found, rated=allowed)


def _shares(*states: np.ndarray) -> np.ndarray:
    """Shares of the samples; each sample is in one of the ``states``."""
    return np.array([state.mean() for state in states])
