"""Define the selection rules, the verdicts and the order of the candidates.

A motor that fails a rule does not fit. A motor that needs a modification, or for which missing
information could change the verdict, "fits with work". Only the two most decisive questions are
asked about a motor. All other questions become remarks.

The remarks about winding and bearing life do not result from a rule and do not change the verdict.
"""

import copyreg
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import LONGEST_YEARS
from airover.model.aging import Life, winding_life
from airover.model.bearing_life import MOST_YEARS, SEASON_OVER_DESIGN
from airover.model.conditions import HOURS_A_YEAR, Conditions
from airover.model.simulation import USUAL, MotorOnFan, identify_motors, simulate_identified
from airover.model.torque_curves import TorqueCurves, torque_curves
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.records.limits import ChangedLimit
from airover.selection import electrical, load, mechanical
from airover.selection.check import (
    ADAPT,
    FAIL,
    MISSING,
    MODEL,
    MOST_QUESTIONS,
    NOTE,
    STATES,
    TRADE,
    UNJUDGED,
    Check,
    Rule,
    RuleResult,
    check_of,
    remark,
)
from airover.selection.comparison import SAME_AMPS, Comparison

FEW = 20  # motors whose checks a page shows at first
NOTHING = Life(None, governed_by="not simulated")
BEARING_SOURCES = {"ball": "ball_life", "sleeve": "sleeve_life"}


@dataclass(frozen=True, eq=False)
class Case:
    """Motor in a comparison, with its catalog index ``number``.

    For a motor that was not simulated because its supply, speed or size is different, the 90 %
    ranges are None.
    """

    at: Comparison
    number: int

    @property
    def simulation(self) -> MotorOnFan:
        return self.at.simulation

    @property
    def conditions(self) -> Conditions:
        return self.at.conditions

    @property
    def row(self) -> int | None:
        """Row of the motor in the simulation, or None if it was not simulated."""
        row = int(self.at.rows[self.number])
        return None if row < 0 else row

    @property
    def job(self) -> Job:
        return self.at.job

    @property
    def motor(self) -> CatalogMotor:
        return self.at.motors[self.number]

    @property
    def rating_number(self) -> int:
        """Index of the rating to use among the motor's ratings."""
        return int(self.at.rating_number[self.number])

    @property
    def rating(self) -> float:
        """Rated power [W] to use."""
        return self.motor.ratings[self.rating_number]

    @property
    def rated_current(self) -> float:
        """Full-load current [A] at the rating to use."""
        return self.motor.currents[self.rating_number]

    @cached_property
    def needed_power(self) -> Band:
        return Band.of(self.conditions.shaft_power)

    def band(self, figure: str, voltage=USUAL) -> Band | None:
        """Return the 90 % range of a simulated motor value at one of the three voltages."""
        if self.row is None:
            return None
        return Band(*(float(ends[voltage, self.row]) for ends in self.simulation.bands[figure]))

    @cached_property
    def winding_life(self) -> Life:
        return NOTHING if self.row is None else winding_life(self.simulation, self.row)

    @cached_property
    def bearing_life(self) -> Life:
        if self.row is None:
            return NOTHING._replace(kind=self.motor.bearings or "unknown")
        return self.at.bearing_lives[self.row]

    @cached_property
    def torque_curves(self) -> TorqueCurves | None:
        """Torque of the warm motor and the fan against speed."""
        return None if self.row is None else torque_curves(self.simulation, self.row)

    @property
    def current(self) -> Band | None:
        return self.band("current_a")

    @property
    def speed_rpm(self) -> Band | None:
        return self.band("speed_rpm")

    @property
    def winding(self) -> Band | None:
        """Average winding temperature [degC] at the usual voltage."""
        return self.band("temp_c")


def winding_check(case: Case) -> Check:
    """Return a remark about the insulation life [h] at the design temperature."""
    hours = case.winding_life.hours
    facts = _years(hours)
    outcome = "unlisted" if hours is None else "hours"
    if hours is not None and facts["years"][0].low > LONGEST_YEARS:
        outcome = "long"
    return remark("winding life", outcome, "insulation_life", hours, "h", "two_digits", facts)


def rating_check(case: Case, found: Band | None) -> Check:
    """Return a remark about the winding temperature ``found`` without using the rating."""
    facts = {"with": (case.winding, "temperature")}
    name = "winding without the rating"
    return remark(name, "found", MODEL, found, "degC", "temperature", facts)


def bearing_check(case: Case) -> Check:
    """Return a remark about the bearing life [h] and the governing failure mode."""
    life = case.bearing_life
    source = BEARING_SOURCES.get(life.kind, TRADE)
    outcome = "unlisted" if life.hours is None else "hours"
    facts = {"kind": (life.kind, ""), "governs": (life.governed_by, "")}
    if life.hours is not None:
        service = life.hours.scaled(1 / (SEASON_OVER_DESIGN * HOURS_A_YEAR))
        years = Band(*(min(end, MOST_YEARS) for end in service))
        facts |= {"years": (years, "years"), "a_year": (HOURS_A_YEAR, "two_digits")}
    return remark("bearing life", outcome, source, life.hours, "h", "two_digits", facts)


def _years(hours: Band | None) -> dict:
    if hours is None:
        return {}
    years = hours.scaled(1 / HOURS_A_YEAR)
    return {"years": (years, "years"), "a_year": (HOURS_A_YEAR, "two_digits")}


FITS, FITS_WITH_WORK, DOES_NOT_FIT = "fits", "fits with work", "does not fit"
VERDICTS = (FITS, FITS_WITH_WORK, DOES_NOT_FIT)
RULES: tuple[Rule, ...] = (*load.RULES, *electrical.RULES, *mechanical.RULES)
PLAIN = tuple(rule for rule in RULES if rule.needs is not None)
# Rules contain functions that cannot be pickled, so another process finds them by name.
copyreg.pickle(Rule, lambda rule: (_rule_named, (rule.name,)))
# Rules that do not require simulation. A motor that fails one of them is not simulated.
NEVER_SIMULATED = ("number of phases",)
BEFORE_SIMULATION = (
    *NEVER_SIMULATED, "frequency", "voltage", "speed", "horsepower", "shaft power",
)  # fmt: skip
OTHER_SIZE = ("smaller", "one_size_up", "too_large")  # outcomes of the horsepower rule
ORDER = Message("answer.order", step=Quantity(5.0, "temperature_rise"))


def _rule_named(name: str) -> Rule:
    return next(rule for rule in RULES if rule.name == name)


@dataclass(frozen=True, eq=False)
class Judged:
    """Results of every rule for every motor in a comparison.

    Attributes
    ----------
    ranks : ndarray
        Indices of the states in STATES, shape (rules, motors). Questions beyond MOST_QUESTIONS are
        changed to remarks.
    work : ndarray
        Number of modifications and missing facts, including all questions, shape (motors,).
    """

    at: Comparison
    rules: tuple[Rule, ...]
    found: tuple[RuleResult, ...]
    ranks: np.ndarray
    work: np.ndarray

    @cached_property
    def verdict(self) -> np.ndarray:
        """Indices of the verdicts in VERDICTS, shape (motors,)."""
        worst = self.ranks.max(axis=0)
        open_ = worst >= STATES.index(ADAPT)
        return np.where(worst == STATES.index(FAIL), VERDICTS.index(DOES_NOT_FIT), 1 * open_)

    @property
    def fails(self) -> np.ndarray:
        """Number of rules that each motor fails, shape (motors,)."""
        return (self.ranks == STATES.index(FAIL)).sum(axis=0)

    @property
    def changes(self) -> np.ndarray:
        """The ``work`` without another capacitor size, because every new motor gets a new one."""
        ranks = dict(zip((rule.name for rule in self.rules), self.ranks, strict=True))
        return self.work - (ranks.get("capacitor", 0) == STATES.index(ADAPT))

    def outcome(self, name: str) -> np.ndarray:
        """Return the outcomes of one rule, shape (motors,)."""
        return self.of(name).outcome

    def of(self, name: str) -> RuleResult:
        """Return the result of the rule with this ``name``."""
        return next(
            found for rule, found in zip(self.rules, self.found, strict=True) if rule.name == name
        )

    @cached_property
    def passes(self) -> np.ndarray:
        """True for each sample in which a motor passes all rules, shape (motors, samples)."""
        arrays = [found.passes for found in self.found if found.passes is not None]
        return np.logical_and.reduce(arrays) & self.at.simulated[:, None]

    def checks(self, number: int, states=STATES) -> tuple[Check, ...]:
        """Return the checks of one motor that have one of the ``states``."""
        own = [STATES[rank] for rank in self.ranks[:, number].tolist()]
        places = [place for place, state in enumerate(own) if state in states]
        self._asked.add(number)
        return tuple([self._check(place, own[place], number) for place in places])

    def _check(self, place: int, state: str, number: int) -> Check:
        """Return the check of one motor by the rule at ``place``, which motors can share."""
        found = self.found[place]
        alone = len(self._asked) <= FEW and "rows" not in vars(found)
        row = found.row(number) if alone else found.rows[number]
        key = place, state, row
        check = self._checks.get(key)
        if check is None:
            rule, changed = self.rules[place], self._changed[place]
            check = self._checks[key] = check_of(rule, found, row, state, changed)
        return check

    @cached_property
    def _asked(self) -> set[int]:
        """Motors whose checks were asked for."""
        return set()

    @cached_property
    def _checks(self) -> dict[tuple, Check]:
        """Checks that `_check` has made."""
        return {}

    def winding_without_rating(self, number: int) -> Band | None:
        """Return a motor's average winding temperature [degC] without its rating as evidence.

        Rejected motors and motors that were not simulated have none. The first motor asked for is
        calculated alone, because a page shows only the best. The others follow together.
        """
        known = self._without_rating
        rows = np.where(self.verdict == VERDICTS.index(DOES_NOT_FIT), -1, self.at.rows)
        if rows[number] >= 0 and number not in known:
            numbers = [at for at in np.flatnonzero(rows >= 0).tolist() if at not in known]
            numbers = numbers if known else [number]
            bands = Band.of(self.at.simulation.winding_without_rating(rows[numbers]))
            ends = zip(*(end.tolist() for end in bands), strict=True)
            known.update((at, Band(*one)) for at, one in zip(numbers, ends, strict=True))
        return known.get(number)

    @cached_property
    def _without_rating(self) -> dict[int, Band]:
        """Temperatures that `winding_without_rating` has calculated."""
        return {}

    @cached_property
    def _changed(self) -> tuple[tuple[ChangedLimit, ...], ...]:
        """Limits of each rule that are changed in the job."""
        return tuple(self.at.job.limits.changed(rule.limits) for rule in self.rules)


def apply_rules(at: Comparison, rules=RULES) -> Judged:
    """Apply ``rules`` to all motors in ``at``."""
    found = tuple(
        RuleResult(at.all(UNJUDGED))
        if rule.simulated and at.simulation is None
        else rule.evaluate(at)
        for rule in rules
    )
    ranks = np.stack([rule.rank(one) for rule, one in zip(rules, found, strict=True)])
    ranks = _unmeasured(ranks, rules, found)
    work = np.isin(ranks, (STATES.index(ADAPT), STATES.index(MISSING))).sum(axis=0)
    return Judged(at, tuple(rules), found, _fewest_questions(ranks, rules), work)


def _unmeasured(ranks: np.ndarray, rules, found) -> np.ndarray:
    """Change the failures of simulated rules to questions if the supply must first be measured."""
    names = [rule.name for rule in rules]
    if "voltage" not in names:
        return ranks
    to_measure = found[names.index("voltage")].outcome == "measure"
    simulated = np.array([rule.simulated for rule in rules])
    stops = simulated[:, None] & to_measure & (ranks == STATES.index(FAIL))
    return np.where(stops, STATES.index(MISSING), ranks)


def _fewest_questions(ranks: np.ndarray, rules) -> np.ndarray:
    """Keep the most decisive questions for each motor and change the others to remarks."""
    order = np.argsort([rule.priority for rule in rules], kind="stable")
    questions = ranks[order] == STATES.index(MISSING)
    beyond = np.empty_like(questions)
    beyond[order] = questions & (np.cumsum(questions, axis=0) > MOST_QUESTIONS)
    return np.where(beyond, STATES.index(NOTE), ranks)


def compared(
    job: Job, motors, conditions: Conditions, samples: int, seed: int, thorough: bool = False
) -> Comparison:
    """Compare ``job`` with all ``motors``.

    Motors with a different supply, speed or size are not simulated. If ``thorough`` is True, all
    single-phase motors are simulated.
    """
    motors = tuple(motors)
    names = NEVER_SIMULATED if thorough else BEFORE_SIMULATION
    rules = [rule for rule in RULES if rule.name in names]
    able = can_be_simulated(apply_rules(Comparison(job, motors, conditions), rules))
    some = tuple(motor for motor, can in zip(motors, able, strict=True) if can)
    if not some:
        return Comparison(job, motors, conditions, None, np.full(len(motors), -1))
    simulation = simulate_identified(
        job, some, identify_motors(some, samples, seed), conditions, seed
    )
    return Comparison(job, motors, conditions, simulation, np.where(able, np.cumsum(able) - 1, -1))


def can_be_simulated(judged: Judged) -> np.ndarray:
    """Return True for motors that fail none of the rules in BEFORE_SIMULATION, shape (motors,)."""
    names = [rule.name in BEFORE_SIMULATION for rule in judged.rules]
    return judged.ranks[names].max(axis=0) < STATES.index(FAIL)


@dataclass(frozen=True, eq=False)
class Candidate:
    """Motor with its case and its checks."""

    case: Case
    judged: Judged

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Checks of the motor, including the remarks about heat and life."""
        case = self.case
        found = self.judged.checks(case.number)
        doubted = ()
        if self.verdict != DOES_NOT_FIT:
            doubted = (rating_check(case, self.winding_without_rating),)
        return (*found, *doubted, winding_check(case), bearing_check(case))

    @property
    def verdict(self) -> str:
        return VERDICTS[self.judged.verdict[self.case.number]]

    @property
    def winding_without_rating(self) -> Band | None:
        """Average winding temperature [degC] if the rating is not used as evidence."""
        return self.judged.winding_without_rating(self.case.number)

    def having(self, *states) -> tuple[Check, ...]:
        """Return the checks that result from rules and have one of the given ``states``."""
        return self.judged.checks(self.case.number, states)

    def check(self, name: str) -> Check:
        """Return the check with the given ``name``, without the remarks unless it is one of them."""
        at = [rule.name for rule in self.judged.rules]
        found = self.having(*STATES) if name in at else self.checks
        return next(check for check in found if check.name == name)

    @cached_property
    def decisive(self) -> tuple[Check, ...]:
        """Checks that determine the verdict."""
        return self.having(*((FAIL,) if self.verdict == DOES_NOT_FIT else (ADAPT, MISSING)))

    @property
    def reasons(self) -> tuple[Message, ...]:
        """Messages that give the reasons for the verdict."""
        return tuple(check.why for check in self.decisive)

    @property
    def one_size_up(self) -> bool:
        """True for the next larger horsepower, which is the usual fallback."""
        return self.judged.outcome("horsepower")[self.case.number] == "one_size_up"


def choose(at: Comparison) -> tuple[Candidate, ...]:
    """Evaluate every motor in ``at`` and return the candidates, best first."""
    judged = apply_rules(at)
    order = ranking(judged)
    return tuple(Candidate(Case(at, int(number)), judged) for number in order)


def ranking(judged: Judged) -> np.ndarray:
    """Return the motor numbers, best first, in the order given by ORDER."""
    at = judged.at
    price = at.columns.price
    margin = judged.of("winding temperature").margin
    margin = np.full(len(price), np.nan) if margin is None else margin
    cool = np.where(np.isnan(margin), np.inf, -np.round(margin / 5))
    names = np.argsort(np.argsort([motor.name for motor in at.motors]))
    keys = (*nearness(judged), cool, np.nan_to_num(price, nan=np.inf), names)
    return np.lexsort(keys[::-1])


def nearness(judged: Judged) -> np.ndarray:
    """Return the first ranking keys of each motor, the most important first, shape (keys, motors).

    Applying further rules increases these keys or leaves them unchanged, but never decreases them.
    """
    return np.array([
        judged.verdict,
        judged.fails,
        np.isin(judged.outcome("horsepower"), OTHER_SIZE),
        np.isnan(judged.at.columns.price),
        judged.changes,
        np.round(unlikeness(judged.at), 2),
    ])  # fmt: skip


def unlikeness(at: Comparison) -> np.ndarray:
    """Return the dissimilarity of each motor to the failed motor, shape (motors,).

    Technicians prefer the closest match. The dissimilarity is 0 for identical motors. A 10 %
    difference in amps adds 1. Other differences, such as the capacitor, bearings, enclosure or
    dimensions, add a weighted amount (engineering judgment).
    """
    nameplate, columns = at.nameplate, at.columns
    total = np.zeros(len(at.motors))
    if at.old_current is not None:
        total += np.abs(at.rated_current / at.old_current - 1) / SAME_AMPS
    for known_, values, weight in (
        (nameplate.capacitor, columns.capacitor, 0.5),
        (nameplate.capacitor_voltage, columns.capacitor_voltage, 0.1),
        (nameplate.speed_rpm, columns.speed_rpm, 2.0),
        (nameplate.shaft_length, columns.shaft_length, 0.5),
        (nameplate.body_length, columns.body_length, 0.5),
    ):
        if known_ is not None:
            apart = np.abs(np.nan_to_num(values, nan=1.5 * known_.mid) / known_.mid - 1)
            total += weight * np.minimum(apart / 0.25, 1)
    for known_, values in (
        (nameplate.bearings, columns.bearings),
        (nameplate.enclosure, columns.enclosure),
        (nameplate.drain_plugs, columns.drain_plugs),
        (at.rotation, columns.rotation),
    ):
        if known_ is not None:
            total += 0.2 * np.array([value != known_ for value in values])
    for known_, values in (
        (nameplate.mounting, columns.mounting),
        (nameplate.shaft_position, columns.shaft_positions),
    ):
        if known_ is not None:
            total += 0.2 * np.array([known_ not in value for value in values])
    several = np.sum(~np.isnan(columns.ratings), axis=1) > 1
    return total + 0.1 * several
