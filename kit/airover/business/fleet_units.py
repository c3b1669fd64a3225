"""Define the columns of a fleet table, convert rows to jobs, and evaluate the simple rules.

A table has many rows but few distinct values. Each of these rules (`selection.rules`) is therefore
evaluated once per distinct value, and each nameplate is read only once, in the same way as for a
single job. Polynomials are fitted for each failed motor, so that, as for a single job, a new motor
is not rejected for a weakness that the old motor also had.
"""

from operator import attrgetter
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from airover.business.fleet_response import ends_of, fitted_failed
from airover.core.errors import NOTHING, InputError
from airover.core.message import Message
from airover.model.conditions import all_as_printed, completed
from airover.model.simulation import SAMPLES, Identified, lowest_voltage_of, with_networks
from airover.physics import insulation
from airover.records.job import Job
from airover.records.limits import USUAL_LIMITS, Limits
from airover.records.nameplate import Nameplate
from airover.records.scope import check_scope
from airover.selection import screening
from airover.selection.check import ADAPT, FAIL, MISSING, STATES, Rule, RuleResult
from airover.selection.comparison import Comparison, winding_limit
from airover.selection.electrical import full_load_amps
from airover.selection.load import horsepower
from airover.selection.rules import OTHER_SIZE, RULES, unlikeness
from airover.selection.screening import (
    ADAPTED,
    CAPACITOR_VOLTAGE,
    EACH_FAILED,
    NOT_FIT,
    RUNNING_AMPS,
    STOPS,
    FailedSurfaces,
    Old,
)

WORDS = (
    "rotation", "rotation_seen_from", "frame", "mounting", "shaft_position", "enclosure",
    "insulation_class",
)  # fmt: skip
WHOLE = ("phase", "poles")
NAMEPLATE_VOLTAGE = ("plate_voltage_low_v", "plate_voltage_high_v")
# Site data, with up to one distinct value per row.
LINE_VOLTAGE = ("line_voltage_low_v", "line_voltage_high_v")


class NumberColumn(NamedTuple):
    """Numeric column of a fleet table.

    Attributes
    ----------
    part, field : str
        Record and field of the job that the column fills.
    unit : str
        Unit of the numbers.
    kind : str
        Quantity type.
    scale : float
        Value of one unit in SI units.
    """

    part: str
    field: str
    unit: str
    kind: str
    scale: float = 1.0


# Nameplate data, with few distinct values in many rows.
NAMEPLATE_NUMBERS = {
    "frequency_hz": NumberColumn("nameplate", "frequency", "Hz", "frequency"),
    "power_w": NumberColumn("nameplate", "power", "W", "power"),
    "current_a": NumberColumn("nameplate", "current", "A", "current"),
    "speed_rpm": NumberColumn("nameplate", "speed", "rpm", "speed"),
    "capacitor_uf": NumberColumn("nameplate", "capacitor", "uF", "capacitance", 1e-6),
    "shaft_diameter_mm": NumberColumn("nameplate", "shaft_diameter", "mm", "shaft_diameter", 1e-3),
    "shaft_length_mm": NumberColumn("nameplate", "shaft_length", "mm", "shaft_length", 1e-3),
    "body_length_mm": NumberColumn("nameplate", "body_length", "mm", "body_length", 1e-3),
    "ambient_rating_c": NumberColumn("nameplate", "ambient_rating", "degC", "air_temperature"),
}
SITE_NUMBERS = {
    "outdoor_temperature_c": NumberColumn("site", "outdoor_temperature", "degC", "air_temperature"),
    "elevation_m": NumberColumn("site", "elevation", "m", "elevation"),
    "humidity_percent": NumberColumn("site", "relative_humidity", "%", "humidity", 0.01),
    "coil_rise_k": NumberColumn("site", "coil_temperature_rise", "K", "temperature_rise"),
    "recirculation_k": NumberColumn("site", "recirculation", "K", "temperature_rise"),
    "airflow_m3h": NumberColumn("site", "airflow", "m3/h", "flow", 1 / 3600),
    "blade_diameter_mm": NumberColumn("blade", "diameter", "mm", "blade_diameter", 1e-3),
}
NUMBERS = NAMEPLATE_NUMBERS | SITE_NUMBERS
# Columns that together determine how the failed motor is simulated; the other nameplate columns are
# independent of each other.
BODY = ("body_length_mm", "insulation_class", "ambient_rating_c")
LENGTHS = ("shaft_diameter_mm", "shaft_length_mm")
ELECTRICAL = (
    *NAMEPLATE_VOLTAGE,
    *(name for name in NAMEPLATE_NUMBERS if name not in (*LENGTHS, *BODY)),
    *WHOLE,
)
NAMEPLATE = (*ELECTRICAL, *BODY)
AGE = "age_years"  # age of the unit, for the budget
FLOATS = (*NAMEPLATE_VOLTAGE, *LINE_VOLTAGE, *NUMBERS, *WHOLE, AGE)
KNOWN = (
    "unit",
    *NAMEPLATE_VOLTAGE,
    *NAMEPLATE_NUMBERS,
    *WHOLE,
    *WORDS,
    *LINE_VOLTAGE,
    *SITE_NUMBERS,
    AGE,
)
REQUIRED = (
    "unit", "plate_voltage_high_v", "power_w", "current_a", "speed_rpm", "outdoor_temperature_c",
)  # fmt: skip


MOST_VALUES = 20_000  # facts cached
MOST_NAMEPLATES = 20_000  # nameplates cached, about 25 kB each
TOGETHER = 12  # nameplates calculated together, so that the arrays fit in the processor's cache
# Data of a completed nameplate that determine how its motor is simulated.
_MOTOR = attrgetter(
    "voltage", "frequency", "power", "current", "speed_rpm", "pole_count", "capacitor",
    "capacitor_voltage", "body_diameter", "body_length", "insulation_class", "ambient_rating",
)  # fmt: skip
BY_AMPS = ("same", "within", "higher_allowed")  # outcomes when matching by full-load amps
STRONGEST = 4000.0  # W, high enough to accept loads with a higher sampled value
# Rules grouped by the columns they use. Each unit has its own supply voltage, so the voltage rule
# is evaluated in the screening itself.
GROUPS = (
    (("rotation", "rotation_seen_from"), ("rotation",)),
    (("frame",), ("frame",)),
    (("shaft_diameter_mm",), ("shaft diameter",)),
    (("shaft_length_mm",), ("shaft length",)),
    (("mounting",), ("mounting",)),
    (("shaft_position",), ("shaft position", "drain plugs")),
    (("enclosure",), ("enclosure",)),
    ((), ("thermal protector", "bearing kind")),
)
OF_NAMEPLATE = (
    "nameplate",
    "number of phases",
    "frequency",
    "speed",
    "horsepower",
    "full-load amps",
    "capacitor",
    "body length",
)
PLAIN = (
    *OF_NAMEPLATE,
    *(name for _, names in GROUPS for name in names),
)  # in the order of their bits
REASONS = (*STOPS, *PLAIN)
# Names of the tasks by bit.
TASKS = dict(enumerate(REASONS)) | {
    RUNNING_AMPS: "running amps",
    CAPACITOR_VOLTAGE: "capacitor voltage",
}


def job_of(row: dict) -> Job:
    """Convert a ``row`` to a job, with units added to the amounts.

    >>> job_of({"unit": "1", "power_w": 250.0, "current_a": 1.9}).nameplate.power.text
    '250.0 W'
    """
    parts = {"nameplate": {}, "site": {}, "blade": {}}
    for name, column in NUMBERS.items():
        if row.get(name) is not None:
            parts[column.part][column.field] = f"{float(row[name])!r} {column.unit}"
    for part, ends in (("nameplate", NAMEPLATE_VOLTAGE), ("site", LINE_VOLTAGE)):
        if volts := _volts(*(row.get(name) for name in ends)):
            parts[part]["voltage"] = volts
    for name in WHOLE:
        if row.get(name) is not None:
            parts["nameplate"][name] = int(row[name]) if row[name] == int(row[name]) else row[name]
    words = {name: row[name] for name in WORDS if row.get(name)}
    return Job(nameplate=parts["nameplate"] | words, site=parts["site"], blade=parts["blade"])


class RuleCosts(NamedTuple):
    """Costs of several rules for one set of values, shape (motors,), as in `FactTables`."""

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    tasks: np.ndarray


class RuleTables:
    """Tables of rule costs for the ``motors`` in a catalog, with one column per value.

    Parameters
    ----------
    limits : Limits, optional
        Limits for the checks.
    """

    def __init__(self, motors, limits: Limits = USUAL_LIMITS):
        self.motors, self.limits = tuple(motors), limits
        self.always = unlikeness(Comparison(Job(), self.motors))
        self._rows, self._places, self._tables = [], {}, None
        self._ranks = {}  # by rule and the data that it needs

    def forget(self) -> None:
        """Clear the tables if they contain too many distinct values, to limit memory use."""
        if len(self._rows) > MOST_VALUES:
            self._rows, self._places, self._tables = [], {}, None
            self._ranks.clear()

    @property
    def tables(self) -> screening.FactTables:
        """Tables of rule costs, shape (motors, values), contiguous in memory for each motor."""
        if self._tables is None or self._tables.cost.shape[1] != len(self._rows):
            columns = (np.stack(one, axis=1) for one in zip(*self._rows, strict=True))
            self._tables = screening.FactTables(*columns, self.always)
        return self._tables

    def place(self, number: int, values: tuple) -> int:
        """Return the column index of ``values`` in ``tables`` for the rules of group ``number``.

        Raises
        ------
        InputError
            If a value is rejected.
        """
        key = number, *values
        if key not in self._places:
            columns, names = GROUPS[number]
            row = dict(zip(columns, values, strict=True))
            judged = self.judged(self.compared(job_of(row)), names)
            self._places[key] = len(self._rows)
            self._rows.append(judged)
        return self._places[key]

    def costs(self, number: int, values: tuple) -> np.ndarray:
        """Return the costs of ``values`` for the rules of group ``number``, shape (motors,)."""
        return self._rows[self.place(number, values)].cost

    def nameplate_costs(self, values: tuple) -> np.ndarray:
        """Return the costs for the values of the columns in NAMEPLATE, shape (motors,)."""
        job = job_of(dict(zip(NAMEPLATE, values, strict=True)))
        _checked(job)
        return self.of_nameplate(self.compared(job)).cost

    def compared(self, job: Job, likely_power: float | None = None) -> Comparison:
        """Return the Comparison of a ``job`` with the motors, using the limits of these tables."""
        job = job.model_copy(update={"limits": self.limits})
        return Comparison(job, self.motors, likely_power=likely_power)

    def of_nameplate(self, at: Comparison, known=MappingProxyType({})) -> RuleCosts:
        """Evaluate the rules for the nameplate data and dimensions of the failed motor.

        The results of rules that were evaluated before are ``known`` by name.
        """
        return self.judged(at, OF_NAMEPLATE, known)

    def judged(self, at: Comparison, names, known=MappingProxyType({})) -> RuleCosts:
        """Evaluate the rules with the given ``names``."""
        cost = np.zeros(len(self.motors), dtype=int)
        failing, tasks = np.zeros((2, len(self.motors)), dtype=np.int64)
        for rule in RULES:
            if rule.name in names:
                ranks = self._ranked(rule, at, known.get(rule.name))
                failed = ranks == STATES.index(FAIL)
                place = len(STOPS) + PLAIN.index(rule.name)
                for state, shift in ((ADAPT, ADAPTED), (MISSING, 0)):
                    found = ranks == STATES.index(state)
                    cost += found
                    tasks |= found.astype(np.int64) << (place + shift)
                cost[failed] = NOT_FIT
                failing |= failed.astype(np.int64) << PLAIN.index(rule.name)
        cost = np.minimum(cost, NOT_FIT).astype(np.int8)
        return RuleCosts(cost, (unlikeness(at) - self.always).astype(np.float64), failing, tasks)

    def _ranked(self, rule: Rule, at: Comparison, known: RuleResult | None) -> np.ndarray:
        """Return the index in STATES of each motor's state, calculated once for the same data."""
        if rule.needs is None:
            return rule.rank(known or rule.evaluate(at))
        key = rule.name, rule.needs(at.job)
        if key not in self._ranks:
            self._ranks[key] = rule.rank(rule.evaluate(at))
        return self._ranks[key]


class Failed(NamedTuple):
    """Failed motors of several nameplates, shape (nameplates, ...).

    Attributes
    ----------
    power, speed_rpm : ndarray
        Nameplate power [W] and speed [rpm], shape (nameplates, samples).
    voltage : ndarray
        Lowest and highest nameplate voltage [V], shape (nameplates, 2).
    surfaces : FailedSurfaces
        Polynomials of the failed motors.
    old : Old
        Comparison of the catalog motors with the failed motors.
    """

    power: np.ndarray
    speed_rpm: np.ndarray
    voltage: np.ndarray
    surfaces: FailedSurfaces
    old: Old


def joined_failed(parts: list[Failed]) -> Failed:
    """Combine the failed motors of several lists of nameplates into one."""

    def of(values):
        return (np.concatenate(one) for one in zip(*values, strict=True))

    surfaces = [part.surfaces for part in parts]
    columns = of([getattr(one, name) for name in EACH_FAILED] for one in surfaces)
    return Failed(
        *of(part[:3] for part in parts),
        surfaces[0]._replace(**dict(zip(EACH_FAILED, columns, strict=True))),
        Old(*of(part.old for part in parts)),
    )


class Known(NamedTuple):
    """Nameplates that were read: the row or the error of each, and the failed motors by row.

    The keys are the values of the columns in NAMEPLATE. If every nameplate was rejected, there are
    no failed motors.
    """

    rows: dict[tuple, int | InputError]
    failed: Failed | None


def joined_known(parts: list[Known]) -> Known:
    """Combine several lists of nameplates into one."""
    rows, start = {}, 0
    for part in parts:
        for values, row in part.rows.items():
            rows[values] = row if isinstance(row, InputError) else start + row
        start += 0 if part.failed is None else len(part.failed.power)
    failed = [part.failed for part in parts if part.failed is not None]
    return Known(rows, joined_failed(failed) if failed else None)


NONE_KNOWN = Known({}, None)


class Nameplates:
    """Nameplates of a fleet that were read, and those that are read when they are first met."""

    def __init__(self, facts: RuleTables, known: Known = NONE_KNOWN):
        self.facts, self.known = facts, known

    def of(self, nameplates: list[tuple]) -> tuple[list, np.ndarray, Failed | None]:
        """Return the error and the failed motor of each of ``nameplates``.

        The errors are None, and the motors are row numbers in the failed motors of all nameplates,
        which are the third result, or -1 for a rejected nameplate. If every nameplate was rejected,
        there are no failed motors, and the third result is None.
        """
        new = [values for values in nameplates if values not in self.known.rows]
        if new:
            if len(self.known.rows) + len(new) > MOST_NAMEPLATES:
                self.known, new = NONE_KNOWN, nameplates  # limits memory use
            self.known = joined_known([self.known, read_nameplates(self.facts, new)])
        found = [self.known.rows[values] for values in nameplates]
        errors = [one if isinstance(one, InputError) else None for one in found]
        numbers = [-1 if isinstance(one, InputError) else one for one in found]
        return errors, np.array(numbers, dtype=int), self.known.failed


def read_nameplates(facts: RuleTables, nameplates: list[tuple]) -> Known:
    """Read ``nameplates`` and identify the failed motors, or reject them with an error.

    Nameplates that describe the same motor, for example with and without the number of poles, are
    identified once. The motors are calculated in groups of equal size, so that the result of one
    depends on no other.
    """
    rows, alike = {}, {}
    for values in nameplates:
        try:
            job = job_of(dict(zip(NAMEPLATE, values, strict=True)))
            nameplate = _checked(job)
            alike.setdefault(_MOTOR(nameplate), []).append((values, job, nameplate))
        except InputError as error:
            rows[values] = error.alone()
    motors, parts, count = list(alike.values()), [], 0
    for at in range(0, len(motors), TOGETHER):
        group = motors[at : at + TOGETHER]
        known = _identified(_filled([same[0][2] for same in group]))
        met, power = known.rated.met.all(axis=1), known.rated.power.max(axis=1)
        errors = [
            _impossible(same[0][2], *one)
            for same, one in zip(group, zip(met, power, strict=True), strict=False)
        ]
        good = [place for place, error in enumerate(errors) if error is None]
        for same, error in zip(group, errors, strict=True):
            for values, _, _ in same:
                rows[values] = error or count
                count += error is None
        if good:
            able = [group[place] for place in good]
            parts.append(_failed(facts, known.picked(_filled(good)), able))
    return Known(rows, joined_failed(parts) if parts else None)


def _filled(values: list) -> list:
    """Repeat the last of ``values`` to fill a group."""
    return values + values[-1:] * (TOGETHER - len(values))


def _identified(nameplates: list[Nameplate]) -> Identified:
    """Return the motors with the ``nameplates``, as `model.simulation.identify_failed` does."""
    rated, used, _ = all_as_printed(nameplates, SAMPLES, 0)
    return with_networks(rated, used)


def _impossible(nameplate: Nameplate, met: bool, power: float) -> InputError | None:
    """Return the reason for rejecting a nameplate, or None.

    Parameters
    ----------
    met
        True if the nameplate data are consistent.
    power
        Highest sampled power [W].
    """
    if not met:
        given = Message("fleet.given.disagree")
        return InputError("nameplate", given, Message("fleet.accepts.possible"))
    if not power <= STRONGEST:
        accepted = Message("fleet.accepts.most", most=STRONGEST)
        return InputError("current_a", nameplate.current.text, accepted)
    return None


def _failed(facts: RuleTables, known: Identified, group: list[list[tuple]]) -> Failed:
    """Return the failed motors of a ``group``, in which each motor has one or more nameplates."""
    firsts = _filled([same[0][2] for same in group])
    volts = np.array([(one.voltage.low, one.voltage.high) for one in firsts])
    surfaces = fitted_failed(
        known,
        np.array([ends_of(*one) for one in volts.tolist()]),
        np.array([[lowest_voltage_of(job)] for _, job, _ in _filled([same[0] for same in group])]),
        np.array([[one.frequency.mid] for one in firsts]),
    )
    likely = np.median(known.rated.power, axis=1).tolist()
    each = [(place, *one[1:]) for place, same in enumerate(group) for one in same]
    old = [_compared(facts, job, nameplate, likely[place]) for place, job, nameplate in each]
    of = [place for place, _, _ in each]
    picked = {name: getattr(surfaces, name)[of] for name in EACH_FAILED}
    return Failed(
        power=known.rated.power[of],
        speed_rpm=known.rated.speed_rpm[of],
        voltage=volts[of],
        surfaces=surfaces._replace(**picked),
        old=Old(*(np.stack(one) for one in zip(*old, strict=True))),
    )


def _compared(facts: RuleTables, job: Job, nameplate: Nameplate, likely_power: float) -> Old:
    """Return the comparison of the catalog motors with one failed motor."""
    at = facts.compared(job, likely_power)
    letter, ambient = nameplate.insulation_class, nameplate.ambient_rating
    limit = winding_limit(letter)
    known = {"full-load amps": full_load_amps(at), "horsepower": horsepower(at)}
    amps, size = (found.outcome.tolist() for found in known.values())
    by_amps = np.array([one in BY_AMPS for one in amps])
    return Old(
        *facts.of_nameplate(at, known),
        rating_number=at.rating_number.astype(np.int8),
        size_up=np.array([one in OTHER_SIZE for one in size], dtype=np.int8),
        same_size=at.same_size.astype(np.int8),
        estimated=((nameplate.power is None) & ~by_amps).astype(np.int8),
        ambient=np.nan if ambient is None else ambient.mid,
        winding=np.nan if limit is None else limit - at.limits.winding_margin,
        trip=float(insulation.protector_limit(letter or "B")),
        synchronous=nameplate.synchronous_rpm,
    )


def _volts(low, high) -> str:
    """Return a single reading or a range as text; the two values can be in either order."""
    given = sorted({float(volts) for volts in (low, high) if volts is not None})
    return "-".join(map(repr, given)) + " V" if given else ""


def _checked(job: Job) -> Nameplate:
    """Return the nameplate of a ``job`` after checking that a fan load can be calculated."""
    check_scope(job)
    nameplate = completed(job)
    if nameplate.voltage is None:
        raise InputError("plate_voltage_high_v", NOTHING, Message("fleet.accepts.voltage"))
    if nameplate.power is None and nameplate.current is None:
        raise InputError("power_w", Message("fleet.given.neither"), Message("fleet.accepts.either"))
    if nameplate.power is not None and nameplate.power.high > STRONGEST:
        given, accepted = f"{nameplate.power.high:g}", Message("fleet.accepts.most", most=STRONGEST)
        raise InputError("power_w", given, accepted, "W")
    return nameplate
