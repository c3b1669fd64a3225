"""Compare two to four motors on one job side by side, including the failed motor if possible.

All motors are simulated with the same samples of fan load, air temperature and supply voltage as in
the answer. Motors with a different speed or size, which the answer would reject without
simulating them, are included. The failed motor is represented by a `CatalogMotor` with the data on its nameplate.
It has no checks, price or life-cycle cost.
"""

import difflib
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from airover.business.life_cost import LifeCost, LifeCosts, life_cost
from airover.core.errors import InputError, one_of
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.units import Amount, quoted
from airover.model.aging import Life, winding_life
from airover.model.bearing_life import SEASON_OVER_DESIGN, bearing_life
from airover.model.conditions import HOURS_A_YEAR, completed
from airover.model.simulation import SAMPLES, USUAL, MotorOnFan, simulate
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.selection.answer import NAMED, Answer, answer
from airover.selection.check import Check
from airover.selection.comparison import winding_limit
from airover.selection.rules import Candidate

FEWEST, MOST = 2, 4  # motors side by side, including the failed motor
SPAN = (0.85, 1.15)  # fraction of the usual supply voltage
STEPS = 9  # number of voltages, a multiple of the three that are simulated at once
SPEEDS = 121  # points on a torque curve


@dataclass(frozen=True, eq=False)
class ComparedMotor:
    """Motor in a comparison.

    Attributes
    ----------
    rating, rated_current : float or None
        Power [W] and current [A] of the rating to use, or None if unknown.
    amps : Band or None
        Current at each voltage in the comparison [A], shape (voltages,).
    candidate : Candidate or None
        Motor with its checks, or None for the failed motor.
    cost : LifeCost or None
        Life-cycle cost, or None if the motor has no price or does not fit.
    """

    motor: CatalogMotor
    simulation: MotorOnFan | None
    row: int | None
    rating: float | None
    rated_current: float | None
    amps: Band | None
    candidate: Candidate | None = None
    cost: LifeCost | None = None

    @property
    def is_old(self) -> bool:
        """Return True for the failed motor."""
        return self.candidate is None

    def band(self, figure: str) -> Band | None:
        """Return the 90 % range of a simulated quantity at the usual voltage."""
        if self.row is None:
            return None
        return Band(*(float(end[USUAL, self.row]) for end in self.simulation.bands[figure]))

    @property
    def reserve(self) -> Band | None:
        """Breakdown torque divided by fan torque at the motor's lowest rated voltage."""
        return None if self.row is None else Band.of(self.simulation.reserve[self.row])

    @property
    def winding_limit(self) -> float | None:
        """Maximum average winding temperature allowed by the insulation class [degC]."""
        return winding_limit(self.motor.insulation_class)

    @cached_property
    def winding_years(self) -> Band | None:
        """Winding life [years] at the design temperature for HOURS_A_YEAR of operation per year."""
        return self._years(winding_life, HOURS_A_YEAR)

    @cached_property
    def bearing_years(self) -> Band | None:
        """Median bearing life [years] for HOURS_A_YEAR of operation per year."""
        return self._years(bearing_life, SEASON_OVER_DESIGN * HOURS_A_YEAR)

    def torque(self, speed_rpm) -> np.ndarray:
        """Return the median torque [N m] of the warm motor at the given speeds."""
        conditions = self.simulation.conditions
        slip = 1 - speed_rpm[:, None] / self.motor.synchronous_rpm
        warm = self.simulation.warm_circuit(USUAL, self.row)
        found = warm.balance(conditions.voltage[USUAL], conditions.frequency, slip)
        return np.median(found.torque, axis=1)

    @property
    def running_torque(self) -> float:
        """Median torque at the operating point [N m]."""
        return float(np.median(self.simulation.solution.torque[USUAL, self.row]))

    def _years(self, life_of, hours_a_year: float) -> Band | None:
        if self.row is None:
            return None
        life: Life = life_of(self.simulation, self.row)
        return None if life.hours is None else life.hours.scaled(1 / hours_a_year)


@dataclass(frozen=True, eq=False)
class Compared:
    """Comparison of motors, with the failed motor first.

    Attributes
    ----------
    answer : Answer
        Answer for the job, with only the compared catalog motors.
    voltage : ndarray
        Supply voltages [V] at which the amps are calculated.
    costs : LifeCosts or None
        Life-cycle costs, or None if no motor with a price fits.
    old_missing : bool
        True if the failed motor was requested but cannot be simulated.
    """

    answer: Answer
    motors: tuple[ComparedMotor, ...]
    voltage: np.ndarray
    costs: LifeCosts | None
    old_missing: bool = False

    @property
    def job(self) -> Job:
        return self.answer.job

    @property
    def conditions(self):
        return self.answer.candidates[0].case.conditions

    @property
    def offered(self) -> tuple[ComparedMotor, ...]:
        """Catalog motors in the requested order."""
        return tuple(one for one in self.motors if not one.is_old)

    @cached_property
    def fan_torque(self) -> tuple[np.ndarray, np.ndarray]:
        """Speeds [rpm] up to the highest synchronous speed, and the median fan torque [N m]."""
        highest = max(one.motor.synchronous_rpm for one in self.motors)
        speed = np.linspace(0, highest, SPEEDS)
        return speed, np.median(self.conditions.coefficient) * (speed * np.pi / 30) ** 2

    @cached_property
    def differing(self) -> tuple[tuple[Check, ...], ...]:
        """Checks whose results differ between motors, with one Check per catalog motor."""
        each = zip(*(one.candidate.checks[: self._rules] for one in self.offered), strict=True)
        return tuple(
            checks for checks in each if len({(one.state, one.outcome) for one in checks}) > 1
        )

    def with_costs(self) -> "Compared":
        """Return the comparison with life-cycle costs, which take longer than all of the rest."""
        try:
            costs = life_cost(self.answer)
        except InputError:  # no motor with a price fits; the table shows this
            return self
        cost_of = {one.candidate.case.motor: one for one in costs.costs}
        motors = tuple(replace(one, cost=cost_of.get(one.motor)) for one in self.motors)
        return replace(self, motors=motors, costs=costs)

    @property
    def _rules(self) -> int:
        """Number of checks based on rules, not including remarks."""
        return len(self.offered[0].candidate.judged.rules)


def compare(
    job: Job, motors, old: bool = True, samples: int = SAMPLES, seed: int = 0, costs: bool = True
) -> Compared:
    """Compare the catalog ``motors`` on a ``job``.

    Parameters
    ----------
    old : bool, optional
        If True, include the failed motor if its nameplate gives power or amps.
    costs : bool, optional
        If False, omit the life-cycle costs.

    Raises
    ------
    InputError
        If the number of different motors is not FEWEST to MOST, or for the same reasons as in
        `answer`.
    """
    motors = tuple(dict.fromkeys(motors))
    if not motors:
        raise _refused(0, "compare.accepts")
    found = answer(job, motors, samples=samples, seed=seed, thorough=True)
    simulation = found.candidates[0].case.simulation
    failed = simulation.failed if old and simulation is not None else None
    count, missing = len(motors) + (failed is not None), old and failed is None
    if not FEWEST <= count <= MOST:
        raise _refused(count, "compare.accepts_others" if missing else "compare.accepts")
    by_name = {one.case.motor: one for one in found.candidates}
    able = tuple(one for one in motors if by_name[one].case.row is not None)
    voltage = voltages(found.candidates[0].case.conditions.voltage)
    amps, amps_old = _swept(job, able, voltage, samples, seed)
    shown = [] if failed is None else [_old(job, failed, amps_old)]
    for motor in motors:
        case = by_name[motor].case
        shown.append(
            ComparedMotor(
                motor, case.simulation, case.row, case.rating, case.rated_current,
                amps[able.index(motor)] if motor in able else None, by_name[motor],
            )
        )  # fmt: skip
    compared = Compared(found, tuple(shown), voltage, None, missing)
    return compared.with_costs() if costs else compared


def motor_named(motors, name: str) -> CatalogMotor:
    """Return the catalog motor with this ``name`` or model, ignoring case.

    Raises
    ------
    InputError
        If the catalog has no motor with this name or model.
    """
    for one in motors:
        if one.is_named(name):
            return one
    near = difflib.get_close_matches(name, [one.name for one in motors], n=NAMED, cutoff=0)
    raise InputError("motor", quoted(name), one_of(near))


def voltages(line) -> np.ndarray:
    """Return voltages [V] that cover the range of the supply ``line`` with a margin."""
    low, usual, high = line
    ends = min(SPAN[0] * usual, 0.98 * low), max(SPAN[1] * usual, 1.02 * high)
    return np.linspace(*ends, STEPS)


def _refused(count: int, accepted: str) -> InputError:
    """Return the error for too few or too many motors."""
    accepts = Message(accepted, fewest=FEWEST, most=MOST)
    return InputError(Message("compare.motors"), str(count), accepts)


def _swept(job: Job, motors, voltage, samples: int, seed: int):
    """Return the current [A] of each motor and of the failed motor at each ``voltage``."""
    if not motors:
        return [], None
    each, old = [], []
    for three in voltage.reshape(-1, 3):
        line = Amount(float(three[0]), float(three[-1]), "V", "")
        site = job.site.model_copy(update={"voltage": line})
        at = simulate(job.model_copy(update={"site": site}), motors, samples, seed)
        each.append(at.figures["current_a"])
        failed = at.failed
        missing = np.full((len(three), samples), np.nan)
        old.append(missing if failed is None else failed.figures["current_a"][:, 0])
    amps = np.concatenate(each)
    return [Band.of(amps[:, at]) for at in range(len(motors))], Band.of(np.concatenate(old))


def _old(job: Job, failed: MotorOnFan, amps: Band) -> ComparedMotor:
    """Return the failed motor with the data on its nameplate."""
    plate = completed(job)

    def mid(name: str) -> float | None:
        amount = getattr(job.nameplate, name)
        return None if amount is None else amount.mid

    current, power = mid("current"), mid("power")
    words = ("insulation_class", "bearings", "rotation", "rotation_seen_from", "drain_plugs",
             "enclosure")  # fmt: skip
    sizes = ("capacitor", "capacitor_voltage", "ambient_rating", "shaft_diameter", "shaft_length",
             "body_diameter", "body_length")  # fmt: skip
    motor = CatalogMotor(
        maker="",
        model="",
        kind="",
        voltage_low=plate.voltage.low,
        voltage_high=plate.voltage.high,
        frequency=plate.frequency.mid,
        phase=1,
        poles=plate.pole_count,
        speed_rpm=mid("speed_rpm") or float("nan"),
        ratings=() if power is None else (power,),
        currents=() if current is None else (current,),
        bearing_bore=None,
        frame=job.nameplate.frame,
        mass=None,
        mounting=(job.nameplate.mounting,) if job.nameplate.mounting else (),
        shaft_positions=(),
        protector=None,
        price=None,
        currency="",
        warranty_from_installation=None,
        warranty_from_manufacture=None,
        **{name: getattr(job.nameplate, name) for name in words},
        **{name: mid(name) for name in sizes},
    )
    return ComparedMotor(motor, replace(failed, motors=(motor,)), 0, power, current, amps)
