"""A table of units: its columns, the job of a row, and plain rules for each different value.

A table has many rows and few different facts: each plain rule of `selection.rules` is applied once
for each different value, and each nameplate is read once, as a job reads it. The failed motor
behind it gets polynomials of its own, so that every unit knows what its old motor did and a fleet
excuses what a single job excuses. They are coarser than those of the catalog, since there may be
thousands of nameplates.
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
from airover.records.nameplate import Nameplate
from airover.records.scope import check_scope
from airover.selection import screening
from airover.selection.check import ADAPT, FAIL, MISSING, STATES
from airover.selection.comparison import SAME_RATING, Comparison, winding_limit
from airover.selection.electrical import full_load_amps
from airover.selection.load import horsepower
from airover.selection.rules import OTHER_SIZE, RULES, unlikeness
from airover.selection.screening import NOT_FIT, STOPS, Old, Surfaces

WORDS = (
    "rotation", "rotation_seen_from", "frame", "mounting", "shaft_position", "enclosure",
    "insulation_class",
)  # fmt: skip
WHOLE = ("phase", "poles")
NAMEPLATE_VOLTAGE = ("plate_voltage_low_v", "plate_voltage_high_v")
# What a site tells: as many values as rows.
LINE_VOLTAGE = ("line_voltage_low_v", "line_voltage_high_v")


class NumberColumn(NamedTuple):
    """A column of numbers: the job's ``part`` and ``field``, the ``unit`` of the numbers, the
    ``kind`` of quantity and what one of them is in SI."""

    part: str
    field: str
    unit: str
    kind: str
    scale: float = 1.0


# What a nameplate tells: few distinct values in many rows.
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
# These together are the failed motor as it is simulated; each other column of the nameplate stands
# for itself.
BODY = ("body_length_mm", "insulation_class", "ambient_rating_c")
LENGTHS = ("shaft_diameter_mm", "shaft_length_mm")
ELECTRICAL = (
    *NAMEPLATE_VOLTAGE,
    *(name for name in NAMEPLATE_NUMBERS if name not in (*LENGTHS, *BODY)),
    *WHOLE,
)
NAMEPLATE = (*ELECTRICAL, *BODY)
FLOATS = (*NAMEPLATE_VOLTAGE, *LINE_VOLTAGE, *NUMBERS, *WHOLE)
KNOWN = (
    "unit",
    *NAMEPLATE_VOLTAGE,
    *NAMEPLATE_NUMBERS,
    *WHOLE,
    *WORDS,
    *LINE_VOLTAGE,
    *SITE_NUMBERS,
)
REQUIRED = (
    "unit", "plate_voltage_high_v", "power_w", "current_a", "speed_rpm", "outdoor_temperature_c",
)  # fmt: skip


MOST_VALUES = 20_000  # remembered
MOST_NAMEPLATES = 2_000  # remembered, of about 80 kB each
STRONGEST = 4000.0  # W, so that a load that is sampled higher is still one
# Rules by the columns that they look at. The supply of each unit is another one, so the rule on
# voltage stands in the screening itself.
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


def job_of(row: dict) -> Job:
    """The job that a ``row`` is: the same facts, amounts with their units. Raises InputError.

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
    """Some rules on some values, (motors,) each: as in screening.FactTables."""

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray


class RuleTables:
    """Tables of what facts cost with the ``motors`` of a catalog, growing as facts are met."""

    def __init__(self, motors):
        self.motors = tuple(motors)
        self.always = unlikeness(Comparison(Job(), self.motors))
        self._rows, self._places, self._tables = [], {}, None

    def forget(self) -> None:
        """Start anew when very many different values were met: memory stays what it is."""
        if len(self._rows) > MOST_VALUES:
            self._rows, self._places, self._tables = [], {}, None

    @property
    def tables(self) -> screening.FactTables:
        """The tables, (motors, values), so that one motor's costs lie together."""
        if self._tables is None or self._tables.cost.shape[1] != len(self._rows):
            columns = (np.stack(one, axis=1) for one in zip(*self._rows, strict=True))
            self._tables = screening.FactTables(*columns, self.always)
        return self._tables

    def place(self, number: int, values: tuple) -> int:
        """The column of ``tables`` for a group, by its ``number``, on the ``values`` of its
        columns. Raises InputError for a value that is refused."""
        key = number, *values
        if key not in self._places:
            columns, names = GROUPS[number]
            row = dict(zip(columns, values, strict=True))
            judged = self.judged(Comparison(job_of(row), self.motors), names)
            self._places[key] = len(self._rows)
            self._rows.append(judged)
        return self._places[key]

    def of_nameplate(self, at: Comparison) -> RuleCosts:
        """The rules that look at the electrical side and the body of the failed motor."""
        return self.judged(at, OF_NAMEPLATE)

    def judged(self, at: Comparison, names) -> RuleCosts:
        """The rules of these ``names``."""
        cost = np.zeros(len(self.motors), dtype=int)
        failing = np.zeros(len(self.motors), dtype=np.int64)
        for rule in RULES:
            if rule.name in names:
                ranks = rule.rank(rule.evaluate(at))
                failed = ranks == STATES.index(FAIL)
                cost += np.isin(ranks, (STATES.index(ADAPT), STATES.index(MISSING)))
                cost[failed] = NOT_FIT
                failing |= failed.astype(np.int64) << PLAIN.index(rule.name)
        cost = np.minimum(cost, NOT_FIT).astype(np.int8)
        return RuleCosts(cost, (unlikeness(at) - self.always).astype(np.float64), failing)


class NameplateRead(NamedTuple):
    """A nameplate's ``power`` [W] and ``speed_rpm`` (samples,), ``voltage`` low and high [V]; the
    polynomials of the ``failed`` motor, and how the catalog's motors compare with it, as ``old``:
    (motors,) or one number."""

    power: np.ndarray
    speed_rpm: np.ndarray
    voltage: tuple[float, float]
    failed: Surfaces
    old: Old


class Nameplates:
    """The nameplates that were met: as they were read, or the error for which they are refused, by
    the values of the columns NAMEPLATE."""

    def __init__(self, facts: RuleTables):
        self.facts = facts
        self._known = {}

    def read(self, nameplates: list[tuple]) -> list[NameplateRead | InputError]:
        """Each of ``nameplates``; an error is the reason for refusing it."""
        if len(self._known) > MOST_NAMEPLATES:
            self._known.clear()  # memory does not grow with the table
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
        at = Comparison(job, self.facts.motors)
        letter, ambient = nameplate.insulation_class, nameplate.ambient_rating
        limit = winding_limit(letter)
        by_amps = np.isin(full_load_amps(at).outcome, ("same", "within"))
        return Old(
            *self.facts.of_nameplate(at),
            rating_number=at.rating_number.astype(np.int8),
            size_up=np.isin(horsepower(at).outcome, OTHER_SIZE).astype(np.int8),
            same_size=(at.size >= SAME_RATING).astype(np.int8),
            estimated=((nameplate.power is None) & ~by_amps).astype(np.int8),
            ambient=np.nan if ambient is None else ambient.mid,
            winding=np.nan if limit is None else limit,
            trip=float(insulation.protector_limit(letter or "B")),
            synchronous=nameplate.synchronous_rpm,
        )


def together(nameplates: list[NameplateRead]) -> tuple[Surfaces, Old]:
    """The failed motors of some ``nameplates``, one after the other."""
    parts = [one.failed for one in nameplates]
    old = Old(*(np.stack(one) for one in zip(*(one.old for one in nameplates), strict=True)))
    return joined(parts), old


def _volts(low, high) -> str:
    """One reading, or a range; the two columns may stand in either order."""
    given = sorted({float(volts) for volts in (low, high) if volts is not None})
    return "-".join(map(repr, given)) + " V" if given else ""


def _checked(job: Job) -> Nameplate:
    """The nameplate of a ``job``, which says enough to know a load; raises InputError."""
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
