"""The failed motor put to work again on its own blade, air and line: what that says of its failure.

Physics become evidence by one rule: every draw of what is uncertain falls into one state of a
finding, and the share of the draws in a state is the chance that it was so.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.choose.load import winding_limit
from airover.motor.conditions import completed, conditions
from airover.motor.one import SLIP_RUNNING, Load, Motor, Run
from airover.physics.operating_point import BREAKAWAY
from airover.records import Job
from airover.records.causes import STATES
from airover.scope import check_scope
from airover.units import Amount, show

DRAWS = 200
# of the marked microfarads, either side: common practice, no source; the marking decides
CAPACITOR_TOLERANCE = 0.10


class Evidence(NamedTuple):
    """What is known of one finding: ``shares`` of its states, which add up to 1, and how it is
    ``said`` to people. ``seen`` is false for what was worked out."""

    finding: str
    shares: np.ndarray
    said: str
    seen: bool


@dataclass(frozen=True)
class OldMotor:
    """The failed motor of ``job`` on its ``load``; ``limit`` [degC] of its winding's average by its
    class, None where the class cannot be read. ``system`` "US" or "SI" is for texts."""

    job: Job
    motor: Motor
    load: Load
    limit: float | None
    system: str

    @property
    def log(self) -> Amount | None:
        """The line's voltage as it was logged before the failure, or measured since."""
        return self.job.found.voltage or self.job.site.voltage

    def shown(self, kelvin: float) -> str:
        return show(abs(kelvin), "temperature_rise", self.system, 0)


def old_motor(job: Job, system: str = "US", draws: int = DRAWS, seed: int = 0) -> OldMotor:
    """The failed motor of ``job`` as its plate lets it be known; ``system`` is for texts.

    Raises InputError where the job is not covered or its plate says too little.
    """
    check_scope(job)
    asked = conditions(job, draws, seed, system)
    insulating = job.nameplate.insulation_class
    limit = None if insulating is None else winding_limit(insulating)
    motor = Motor.from_nameplate(completed(job), draws, seed)
    return OldMotor(job, motor, Load.of(asked), limit, system)


def physical_evidence(old: OldMotor) -> tuple[Evidence, ...]:
    """What the models say: heat at the logged voltage, air at the motor, the capacitor."""
    found = (_heat(old) or _air(old), _capacitor(old))
    return tuple(one for one in found if one is not None)


def _heat(old: OldMotor) -> Evidence | None:
    """The winding at the worse end of the log, and whether volts or air put right would do.

    A draw counts as over where the winding would stand above its class, the air above the plate's
    ambient rating, or the motor not come up to speed. Right volts are the nearest on the plate,
    right air is at most at the ambient rating.
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
    return Evidence(
        "heat", shares, _heat_said(old, run, put_right) + _counted("heat", shares), False
    )


def _over(old: OldMotor, run: Run) -> np.ndarray:
    """Which draws of a run at one voltage are beyond what the motor is made for."""
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


def _heat_said(old: OldMotor, run: Run, put_right: Run) -> str:
    excess = Band.of(run.warm.temp_winding - old.limit).first()
    low, high = sorted((excess.low, excess.high), key=abs)
    band = f"{old.shown(low)} to {old.shown(high)}"
    if excess.low < 0 < excess.high:
        band = f"{old.shown(excess.low)} below to {old.shown(excess.high)} over"
    limit = show(old.limit, "temperature", old.system)
    said = (
        f"At the logged {run.voltage[0]:.0f} V on the design day the old winding would have stood "
        f"{old.shown(excess.mid)} ({band}) {'over' if excess.mid > 0 else 'below'} the {limit} on "
        f"average that class {old.job.nameplate.insulation_class} allows"
    )
    if put_right.voltage[0] != run.voltage[0]:
        eased = float(np.median(run.warm.temp_winding - put_right.warm.temp_winding))
        than = "cooler" if eased > 0 else "hotter"
        said += f", and {old.shown(eased)} {than} at the nearest voltage of its plate"
    slow = 100 * (1 - _runs(run).mean())
    if slow >= 1:
        said += f", and not come up to speed in {slow:.0f} of 100 cases worked"
    return f"{said}; {_air_said(old)}"


def _air(old: OldMotor) -> Evidence | None:
    rating = old.job.nameplate.ambient_rating
    if rating is None:
        return None
    air = np.asarray(old.load.air.temp_air)
    shares = _shares(air <= rating.mid, air > rating.mid)
    return Evidence("air", shares, _air_said(old) + _counted("air", shares), seen=False)


def _air_said(old: OldMotor) -> str:
    air = float(np.median(old.load.air.temp_air)), old.job.nameplate.ambient_rating.mid
    stands, rated = (show(temp, "air_temperature", old.system) for temp in air)
    return f"the motor stood in air of {stands}, its plate allows {rated}"


def _capacitor(old: OldMotor) -> Evidence | None:
    """What the capacitor as it was measured does to the motor."""
    measured, marked = old.job.found.capacitor, old.job.nameplate.capacitor
    if old.job.found.capacitor_fault is not None:
        shares = np.array([0.0, 0.0, 0.0, 1.0])
        return Evidence("capacitor", shares, f"Capacitor: {old.job.found.capacitor_fault}", True)
    if measured is None or marked is None:
        return None
    share = measured.mid / marked.mid
    said = f"The old capacitor has {measured.text}, {100 * share:.0f} % of its {marked.text}"
    if abs(share - 1) <= CAPACITOR_TOLERANCE:
        return Evidence("capacitor", np.array([1.0, 0.0, 0.0, 0.0]), said, True)
    volts = old.motor.voltage if old.log is None else old.log.mid
    changed = old.motor.with_capacitor(share * old.motor.rated.circuit.capacitance)
    run, right = (one.run(old.load, volts) for one in (changed, old.motor))
    stands = ~_runs(run)[0]
    limit = np.inf if old.limit is None else old.limit
    hot = (run.warm.temp_winding > limit) & (right.warm.temp_winding <= limit)
    shares = _shares(np.zeros_like(stands), ~hot[0] & ~stands, hot[0] & ~stands, stands)
    hotter = Band.of(run.warm.temp_winding - right.warm.temp_winding).first().mid
    than = "hotter" if hotter > 0 else "cooler"
    said += f"; at {volts:.0f} V the winding would stand {old.shown(hotter)} {than} with it"
    return Evidence("capacitor", shares, said + _counted("capacitor", shares), seen=False)


def _shares(*states: np.ndarray) -> np.ndarray:
    """Shares of the draws; each draw is in one of the ``states``."""
    return np.array([state.mean() for state in states])


def _counted(finding: str, shares: np.ndarray) -> str:
    pairs = zip(STATES[finding], shares, strict=True)
    told = [f"{state} in {100 * share:.0f}" for state, share in pairs if share >= 0.01]
    return f" (of 100 cases worked: {', '.join(told)})"
