"""Define the columns of a fleet table, convert rows to jobs, and evaluate the simple rules.

A table has many rows but few distinct values. Each of these rules (`selection.rules`) is therefore
evaluated once per distinct value, and each nameplate is read only once, in the same way as for a
single job. Polynomials are fitted for each failed motor, so that, as for a single job, a new motor
is not rejected for a weakness that the old motor also had. These polynomials have lower degrees
than those of the catalog motors, because there may be thousands of nameplates.
"""

from typing import NamedTuple

import numpy as np

from airover.business.fleet_response import FAILED, ends_of, fitted, joined
from airover.core.errors import NOTHING, InputError
from airover.core.message import Message
from airover.model.conditions import completed
from airover.model.simulation import SAMPLES, identify_failed, lowest_voltage_of
from airover.physics import insulation
from airover.records.job import Job
from airover.records.limits import USUAL_LIMITS, Limits
from airover.records.nameplate import Nameplate
from airover.records.scope import check_scope
from airover.selection import screening
from airover.selection.check import ADAPT, FAIL, MISSING, STATES
from airover.selection.comparison import Comparison, winding_limit
from airover.selection.electrical import full_load_amps
from airover.selection.load import horsepower
from airover.selection.rules import OTHER_SIZE, RULES, unlikeness
from airover.selection.screening import (
    ADAPTED,
    CAPACITOR_VOLTAGE,
    NOT_FIT,
    RUNNING_AMPS,
    STOPS,
    Old,
    Surfaces,
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
MOST_NAMEPLATES = 2_000  # nameplates cached, about 80 kB each
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

    def forget(self) -> None:
        """Clear the tables if they contain too many distinct values, to limit memory use."""
        if len(self._rows) > MOST_VALUES:
            self._rows, self._places, self._tables = [], {}, None

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

    def compared(self, job: Job) -> Comparison:
        """Return the Comparison of a ``job`` with the motors, using the limits of these tables."""
        return Comparison(job.model_copy(update={"limits": self.limits}), self.motors)

    def of_nameplate(self, at: Comparison) -> RuleCosts:
        """Evaluate the rules for the nameplate data and dimensions of the failed motor."""
        return self.judged(at, OF_NAMEPLATE)

    def judged(self, at: Comparison, names) -> RuleCosts:
        """Evaluate the rules with the given ``names``."""
        cost = np.zeros(len(self.motors), dtype=int)
        failing, tasks = np.zeros((2, len(self.motors)), dtype=np.int64)
        for rule in RULES:
            if rule.name in names:
                ranks = rule.rank(rule.evaluate(at))
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


class NameplateRead(NamedTuple):
    """Data read from a nameplate.

    Attributes
    ----------
    power, speed_rpm : ndarray
        Nameplate power [W] and speed [rpm], shape (samples,).
    voltage : tuple[float, float]
        Lowest and highest nameplate voltage [V].
    failed : Surfaces
        Polynomials of the failed motor.
    old : Old
        Comparison of the catalog motors with the failed motor, shape (motors,) or a single number.
    """

    power: np.ndarray
    speed_rpm: np.ndarray
    voltage: tuple[float, float]
    failed: Surfaces
    old: Old


class Nameplates:
    """Cache of nameplate data or errors, by the values of the columns in NAMEPLATE."""

    def __init__(self, facts: RuleTables):
        self.facts = facts
        self._known = {}

    def read(self, nameplates: list[tuple]) -> list[NameplateRead | InputError]:
        """Return the data for each of the ``nameplates``, or the error for a rejected nameplate."""
        if len(self._known) > MOST_NAMEPLATES:
            self._known.clear()  # keeps memory independent of the table size
        for values in nameplates:
            if values not in self._known:
                self._known[values] = self._met(dict(zip(NAMEPLATE, values, strict=True)))
        return [self._known[values] for values in nameplates]

    def _met(self, row: dict) -> NameplateRead | InputError:
        try:
            job = job_of(row)
            nameplate = _checked(job)
            return self._read(job, nameplate)
        except InputError as error:
            return error.with_traceback(None)

    def _read(self, job: Job, nameplate: Nameplate) -> NameplateRead:
        known = identify_failed(job, SAMPLES)
        if not known.rated.met.all():
            raise InputError(
                "nameplate", Message("fleet.given.disagree"), Message("fleet.accepts.possible")
            )
        power, speed_rpm = known.rated.power[0], known.rated.speed_rpm[0]
        if not power.max() <= STRONGEST:
            raise InputError(
                "current_a", nameplate.current.text, Message("fleet.accepts.most", most=STRONGEST)
            )
        volts = nameplate.voltage.low, nameplate.voltage.high
        frequency = np.array([[nameplate.frequency.mid]])
        lowest = np.array([[lowest_voltage_of(job)]])
        ends = np.array([ends_of(*volts)])
        return NameplateRead(
            power=power,
            speed_rpm=speed_rpm,
            voltage=volts,
            failed=fitted(known, ends, lowest, frequency, FAILED),
            old=self._compared(job, nameplate),
        )

    def _compared(self, job: Job, nameplate: Nameplate) -> Old:
        at = self.facts.compared(job)
        letter, ambient = nameplate.insulation_class, nameplate.ambient_rating
        limit = winding_limit(letter)
        by_amps = np.isin(full_load_amps(at).outcome, BY_AMPS)
        return Old(
            *self.facts.of_nameplate(at),
            rating_number=at.rating_number.astype(np.int8),
            size_up=np.isin(horsepower(at).outcome, OTHER_SIZE).astype(np.int8),
            same_size=at.same_size.astype(np.int8),
            estimated=((nameplate.power is None) & ~by_amps).astype(np.int8),
            ambient=np.nan if ambient is None else ambient.mid,
            winding=np.nan if limit is None else limit - at.limits.winding_margin,
            trip=float(insulation.protector_limit(letter or "B")),
            synchronous=nameplate.synchronous_rpm,
        )


def together(nameplates: list[NameplateRead]) -> tuple[Surfaces, Old]:
    """Return the concatenated polynomials of the failed motors on several ``nameplates``."""
    parts = [one.failed for one in nameplates]
    old = Old(*(np.stack(one) for one in zip(*(one.old for one in nameplates), strict=True)))
    return joined(parts), old


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
