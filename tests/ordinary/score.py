"""Judges of an answer, one for each expectation, and the score of many jobs."""

import contextlib
import io
import json
import re
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from airover.app import cli
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.reports.answer import answer_dict
from airover.selection.answer import answer

from .jobs import CatalogMotor, Expect, OrdinaryJob, read_rows, same_size

QUESTIONS = ("missing", "question")
OPEN = (*QUESTIONS, "adapt")
REFUSED = "does not fit"
FITS, NOTHING_FITS = 0, 3  # exit codes
CRASHES = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, Warning)


@dataclass(frozen=True)
class Outcome:
    """An answer as its JSON (``found``), or the ``error`` that came instead."""

    found: dict
    error: str = ""

    @property
    def candidates(self) -> list[dict]:
        return self.found.get("candidates", [])

    @cached_property
    def accepted(self) -> list[dict]:
        return [one for one in self.candidates if one["verdict"] != REFUSED]

    def of_motor(self, name: str, horsepower: float | None = None) -> dict | None:
        """The candidate of that name, at that rating where it is listed at several."""
        named = [one for one in self.candidates if one["motor"] == name]
        right = [one for one in named if horsepower and same_size(one["rating_hp"], horsepower)]
        return next(iter(right or named), None)

    @property
    def first_line(self) -> str:
        """The first choice in one line."""
        if not self.accepted:
            return f"nothing accepted; {described(next(iter(self.candidates), None))}"
        return described(self.accepted[0])


class Bench:
    """The catalog, and the answers so far: each job is answered once."""

    def __init__(self, catalog: Path | None = None):
        path = catalog or data_folder() / "catalogue.csv"
        self.motors = read_catalog(path)
        self.rows = read_rows(path.read_text(encoding="utf-8"))
        self.row_of = by_name(self.rows)
        self._outcomes: dict[str, Outcome] = {}
        self._documents: dict[str, dict[str, str]] = {}

    def outcome(self, tables: dict, seed: int = 0) -> Outcome:
        """The answer to a job's ``tables``."""
        key = json.dumps([tables, seed])
        if key not in self._outcomes:
            self._outcomes[key] = self._answered(tables, seed)
        return self._outcomes[key]

    def _answered(self, tables: dict, seed: int) -> Outcome:
        try:
            found = answer_dict(answer(Job(**tables), self.motors, seed=seed), Writer())
        except InputError as error:
            return Outcome({}, f"bad input: {error}")
        except CRASHES as error:  # a miss of this job, no reason to lose the others
            return Outcome({}, f"{type(error).__name__}: {error}")
        for one in found["candidates"]:
            one["motor"] = self.row_of[one["motor"]].name
        return Outcome(found)

    def documents(self, tables: dict) -> dict[str, str]:
        """The motor that each document of a job names, or what its command said instead."""
        key = json.dumps(tables)
        if key not in self._documents:
            self._documents[key] = _documents(tables)
        return self._documents[key]


def by_name(rows: list[CatalogMotor]) -> dict[str, CatalogMotor]:
    """The motors by maker and model and, where an answer calls them so, by model."""
    return {name: row for row in rows for name in (row.cells["model"], row.name)}


def described(candidate: dict | None) -> str:
    """A candidate in one line: motor, rating, verdict, and the checks that decided."""
    if candidate is None:
        return "not among the candidates"
    states = ("fail",) if candidate["verdict"] == REFUSED else OPEN
    open_ = [check for check in candidate["checks"] if check["state"] in states]
    why = "; ".join(f"[{check['name']}] {check['why']}" for check in open_)
    return f"{candidate['motor']} at {candidate['rating_hp']:.3g} hp {candidate['verdict']}: {why}"


# Judges: (what to compare with, outcome, job, bench) to None where the expectation is met, SKIP
# where it does not apply, else to what came instead.

SKIP = object()


def answers(value, outcome: Outcome, job, bench) -> str | None:
    """An answer with exit 0 or 3, and no error."""
    return outcome.error or None


def accepts(value, outcome: Outcome, job, bench) -> str | None:
    """The motor ``value`` (name, hp) is accepted at that rating."""
    name, horsepower = value
    one = outcome.of_motor(name, horsepower)
    fine = one and one["verdict"] != REFUSED and same_size(one["rating_hp"], horsepower)
    return None if fine else outcome.error or described(one)


def first_three(value, outcome: Outcome, job, bench) -> str | None:
    """It is accepted and in one of the first three places."""
    return _in_place(value, outcome, job, bench, lambda one, other: False)


def first_three_ties_aside(value, outcome: Outcome, job, bench) -> str | None:
    """The same, where motors of equal horsepower within 2 % of its amps take no place."""
    amps_of = {row.name: row.amps_at for row in bench.rows}

    def tie(one, other) -> bool:
        amps, others = (amps_of[c["motor"]](c["rating_hp"]) for c in (one, other))
        equal = same_size(one["rating_hp"], other["rating_hp"])
        return equal and None not in (amps, others) and abs(others / amps - 1) <= 0.02

    return _in_place(value, outcome, job, bench, tie)


def _in_place(value, outcome, job, bench, tie: Callable[[dict, dict], bool]) -> str | None:
    if missed := accepts(value, outcome, job, bench):
        return missed
    one = outcome.of_motor(*value)
    ahead = outcome.candidates[: outcome.candidates.index(one)]
    place = 1 + sum(not tie(one, other) for other in ahead)
    return None if place <= 3 else f"place {place}, first is {outcome.first_line}"


def accepts_something(value, outcome: Outcome, job, bench) -> str | None:
    """At least one motor is accepted."""
    return None if outcome.accepted else outcome.error or outcome.first_line


SIZE_CHECK = re.compile(r"^(shaft )?power$|horsepower|^(motor )?size$|^rating$")
SIZE_SAID = re.compile(r"\bsizes?\b|larger|smaller|oversize|undersize", re.IGNORECASE)


def _says_why_not(check: dict) -> bool:
    """True for an open check of the size, and for one of the amps that speaks of the size."""
    amps = re.search(r"amps|load", check["name"]) and SIZE_SAID.search(check["why"])
    return check["state"] in OPEN and bool(SIZE_CHECK.search(check["name"]) or amps)


def first_size(value, outcome: Outcome, job, bench) -> str | None:
    """The first choice has one of the horsepowers ``value``, or a check says why not."""
    if not outcome.accepted:
        return SKIP
    first = outcome.accepted[0]
    right = any(same_size(first["rating_hp"], one) for one in value)
    if right or any(map(_says_why_not, first["checks"])):
        return None
    return f"{first['rating_hp']:.3g} hp, without saying why: {described(first)}"


def right_circuit(value, outcome: Outcome, job, bench) -> str | None:
    """No accepted motor is for other volts, hertz, poles or phases than ``value``."""
    volts, supply, hertz, poles = value
    for one in outcome.accepted:
        row = bench.row_of[one["motor"]]
        low, high = row.limits
        if not row.suits_circuit(volts, hertz, poles) or (supply and not low <= supply <= high):
            rated = f"{row.cells['voltage [V]']} V, {row.hertz:g} Hz, {row.poles} poles"
            return f"{one['motor']} ({rated}) is accepted"
    return None


def few_questions(value: int, outcome: Outcome, job, bench) -> str | None:
    """Each of the first three accepted motors leaves at most ``value`` questions."""
    if not outcome.accepted:
        return SKIP
    for one in outcome.accepted[:3]:
        names = [check["name"] for check in one["checks"] if check["state"] in QUESTIONS]
        if len(names) > value:
            return f"{one['motor']}: {len(names)} questions ({', '.join(names)})"
    return None


def _asked(outcome: Outcome) -> str:
    """All that the answer asks or warns of, as one text in lower case."""
    found = [outcome.found.get(name, []) for name in ("asked", "questions", "warnings")]
    checks = [
        [check["name"], check["why"]]
        for one in outcome.candidates[:3]
        for check in one["checks"]
        if check["state"] in QUESTIONS
    ]
    return json.dumps([found, checks]).lower()


def asks(value: tuple[str, ...], outcome: Outcome, job, bench) -> str | None:
    """A question or a warning has one of the words ``value``."""
    asked = _asked(outcome)
    if any(re.search(rf"\b{word}", asked) for word in value):
        return None
    return outcome.error or f"asked: {asked}"


def mentions(value: tuple[str, ...], outcome: Outcome, job, bench) -> str | None:
    """The same, or it is among what was assumed."""
    assumed = json.dumps(outcome.found.get("assumed", [])).lower()
    said = any(re.search(rf"\b{word}", assumed) for word in value)
    return None if said else asks(value, outcome, job, bench)


SUPPLY = r"^(?!.*(capacitor|winding|start)).*(voltage|supply)"
CHECK_OF = {
    "voltage": re.compile(SUPPLY),
    "voltage or poles": re.compile(rf"{SUPPLY}|^speed$|poles"),
}


def stops_for(value: str, outcome: Outcome, job, bench) -> str | None:
    """Nothing is accepted, and the first candidate fails the check of ``value``."""
    if outcome.error or outcome.accepted or not outcome.candidates:
        return outcome.error or outcome.first_line
    checks = outcome.candidates[0]["checks"]
    failed = (check["name"] for check in checks if check["state"] == "fail")
    return None if any(map(CHECK_OF[value].search, failed)) else outcome.first_line


NEAR = re.compile(r"\b(near|close|limit|edge|margin)", re.IGNORECASE)


def says_it_is_near(value: str, outcome: Outcome, job, bench) -> str | None:
    """The best motor's check of ``value`` is open or a note, or says that a limit is near."""
    if not outcome.candidates:
        return outcome.error or "no candidate"
    best = (outcome.accepted or outcome.candidates)[0]
    checks = [check for check in best["checks"] if CHECK_OF[value].search(check["name"])]
    if any(check["state"] in (*OPEN, "note") or NEAR.search(check["why"]) for check in checks):
        return None
    return "; ".join(f"[{check['name']}, {check['state']}] {check['why']}" for check in checks)


def nothing_without_a_question(value, outcome: Outcome, job, bench) -> str | None:
    """Every accepted motor has an open question."""
    if outcome.error:
        return outcome.error
    for one in outcome.accepted:
        if not any(check["state"] in QUESTIONS for check in one["checks"]):
            return described(one)
    return None


def ambient_rating_at_least(value: float, outcome: Outcome, job, bench) -> str | None:
    """No accepted motor has an ambient rating below ``value`` [degC]."""
    for one in outcome.accepted:
        rated = bench.row_of[one["motor"]].ambient
        if rated is not None and rated < value:
            return f"{described(one)} (rated for {rated:g} degC)"
    return outcome.error or None


def stays(value, outcome: Outcome, job: OrdinaryJob, bench: Bench) -> str | None:
    """Where the first choice fits, it is refused in no neighboring job."""
    if outcome.error or not outcome.accepted:
        return SKIP
    first = outcome.accepted[0]
    if first["verdict"] != "fits":
        return SKIP
    for words, tables, seed in job.neighbors:
        beside = bench.outcome(tables, seed)
        one = beside.of_motor(first["motor"], first["rating_hp"])
        if one is None or one["verdict"] == REFUSED:
            return f"with {words}: {beside.error or described(one)}"
    return None


def near_is_said(value, outcome: Outcome, job: OrdinaryJob, bench: Bench) -> str | None:
    """A check that refuses an accepted first choice in a neighboring job is no plain pass here."""
    if outcome.error or not outcome.accepted:
        return SKIP
    first = outcome.accepted[0]
    states = {check["name"]: check["state"] for check in first["checks"]}
    for words, tables, seed in job.neighbors:
        beside = bench.outcome(tables, seed)
        one = beside.of_motor(first["motor"], first["rating_hp"])
        fails = () if one is None else (c for c in one["checks"] if c["state"] == "fail")
        if one is None or any(states.get(check["name"]) == "pass" for check in fails):
            return f"with {words}: {beside.error or described(one)}"
    return None


# Refusals: the number that decided, the limit, and both in the sentence.

AT_LEAST = re.compile(r"torque|start|airflow|shaft power|shaft length|reserve")
AT_MOST = re.compile(
    r"horsepower|ambient|air temperature|winding|running|load|body|capacitor voltage"
)
MADE_OF = {"one": "1", "two": "2", "three": "3"}


def _numbers(value) -> list[float]:
    """The numbers of a figure, the deciding one (the middle of a range) first."""
    if isinstance(value, dict):
        return [value["mid"], value["low"], value["high"]]
    if isinstance(value, str):
        return [float(text) for text in re.findall(r"\d+(?:\.\d+)?", value)]
    return [] if value is None else [float(value)]


def _figures(outcome: Outcome) -> Iterable[tuple[dict, dict]]:
    """Every failed check that has a number and a limit, with its candidate."""
    for one in outcome.candidates:
        for check in one["checks"]:
            figures = not isinstance(check["found"], str) and check["found"] is not None
            if check["state"] == "fail" and figures and _numbers(check["limit"]):
                yield one, check


def refusal_is_true(value, outcome: Outcome, job, bench) -> str | None:
    """The number that a refusal prints, or else the middle, misses the limit."""
    for one, check in _figures(outcome):
        if not _misses(check):
            shown = f"found {check['found']}, limit {check['limit']}"
            return f"{one['motor']} [{check['name']}] {check['why']} ({shown})"
    return None


def _misses(check: dict) -> bool:
    """True where the number that the sentence prints is on the wrong side of the limit.

    Of a range that number is the middle, unless the sentence prints one of its ends alone.
    """
    found, limits = _numbers(check["found"]), _numbers(check["limit"])
    printed = [number for number in found if _is_printed(number, check)]
    number, name = (printed if len(printed) == 1 else found)[0], check["name"].lower()
    if len(limits) > 1 and (isinstance(check["limit"], str) or "amps" in name):
        return min(found) < min(limits) or max(found) > max(limits)
    if AT_LEAST.search(name):
        return number < limits[0]
    if AT_MOST.search(name):
        return number > limits[0]
    return number != limits[0]


def refusal_in_words(value, outcome: Outcome, job, bench) -> str | None:
    """The sentence of a refusal prints the number and the limit, in whatever unit."""
    for one, check in _figures(outcome):
        for side in ("found", "limit"):
            if not any(_is_printed(number, check) for number in _numbers(check[side])):
                return f"{one['motor']} [{check['name']}] {check['why']} ({side} {check[side]})"
    return None


def _is_printed(number: float, check: dict) -> bool:
    """True where the check's sentence has ``number``, in its unit or in that of the trade."""
    shown = {
        "degC": [number * 1.8 + 32],
        "K": [number * 1.8],
        "W": [number / 745.7],
        "m": [number / 0.0254, number * 1000],
        "m3/s": [number * 2118.88],
        "": [number * 100],
    }
    wanted = [number, *shown.get(check["unit"], [])]
    return any(
        abs(printed - one) <= max(0.51 * step, 0.005 * abs(one))
        for printed, step in _printed(check["why"])
        for one in wanted
    )


def _printed(sentence: str) -> Iterable[tuple[float, float]]:
    """The numbers of a sentence, each with the worth of its last digit."""
    for word, figure in MADE_OF.items():
        sentence = re.sub(rf"\b{word}\b", figure, sentence)
    for whole, over, under in re.findall(r"(?:(\d+) )?(\d+)/(\d+)", sentence):
        yield float(whole or 0) + float(over) / float(under), 0.0
    for text in re.findall(r"\d[\d,]*(?:\.\d+)?", sentence):
        decimals = len(text.partition(".")[2])
        yield float(text.replace(",", "")), 10.0**-decimals


# Documents, by the command line.


def one_motor(value, outcome, job: OrdinaryJob, bench: Bench) -> str | None:
    """`work`, `order` and `proposal` name the same motor, or all say that nothing fits."""
    named = bench.documents(job.tables)
    fine = len(set(named.values())) == 1 and not any("exit 2" in motor for motor in named.values())
    return None if fine else _listed(named)


def work_names_a_motor(value, outcome, job: OrdinaryJob, bench: Bench) -> str | None:
    """`work` exits with 0 and names a motor of the catalog."""
    named = bench.documents(job.tables)
    return None if named["work"] in bench.row_of else _listed(named)


def _listed(named: dict[str, str]) -> str:
    return "; ".join(f"{verb}: {motor}" for verb, motor in named.items())


def _documents(tables: dict) -> dict[str, str]:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "job.toml"
        try:
            Job(**tables).save(file)
        except InputError as error:
            return {"work": f"exit 2: {error}"}
        return {verb: _motor_of(verb, file) for verb in ("work", "order", "proposal")}


def _motor_of(verb: str, file: Path) -> str:
    """The motor at the top of the JSON of one command."""
    printed, said = io.StringIO(), io.StringIO()
    out = ["--out", str(file.parent)] if verb == "proposal" else []
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(said):
        code = cli.main([verb, str(file), "--json", *out])
    if code == NOTHING_FITS:
        return "nothing fits"
    if code != FITS:
        return f"exit {code}: {said.getvalue().strip()}"
    found = json.loads(printed.getvalue())
    found = found["candidates"][0] if verb == "work" else found
    return found.get("motor", "names no motor")


class Judge(NamedTuple):
    """The function that judges, and the share of jobs that has to meet it; None is told only."""

    judge: Callable
    share: float | None


JUDGES = {
    "answers": Judge(answers, 1.0),
    "accepts": Judge(accepts, 0.98),
    "first three": Judge(first_three, 0.95),
    "first three, ties aside": Judge(first_three_ties_aside, None),
    "accepts something": Judge(accepts_something, 0.98),
    "first size": Judge(first_size, 1.0),
    "right circuit": Judge(right_circuit, 1.0),
    "few questions": Judge(few_questions, 0.95),
    "asks": Judge(asks, 1.0),
    "mentions": Judge(mentions, 1.0),
    "stops for": Judge(stops_for, 1.0),
    "says it is near": Judge(says_it_is_near, 1.0),
    "nothing without a question": Judge(nothing_without_a_question, 1.0),
    "ambient rating at least": Judge(ambient_rating_at_least, 1.0),
    "stays": Judge(stays, 1.0),
    "near is said": Judge(near_is_said, 0.95),
    "refusal is true": Judge(refusal_is_true, 1.0),
    "refusal in words": Judge(refusal_in_words, 0.98),
    "one motor in all documents": Judge(one_motor, 1.0),
    "work names a motor": Judge(work_names_a_motor, 0.95),
}
SHARES = {("several", "accepts"): 0.95}  # where a kind has a share of its own


class Result(NamedTuple):
    """One expectation of one job: ``came`` is empty where it is met."""

    job: OrdinaryJob
    expect: Expect
    came: str


def score(jobs: Iterable[OrdinaryJob], bench: Bench, told=lambda job: None) -> list[Result]:
    """Return the results of ``jobs``; ``told`` is called with each job once it is judged."""
    results = []
    for job in jobs:
        by_command = job.kind == "documents"  # answered by the commands themselves
        outcome = Outcome({}) if by_command else bench.outcome(job.tables)
        for expect in job.expect:
            came = JUDGES[expect.what].judge(expect.value, outcome, job, bench)
            if came is not SKIP:
                results.append(Result(job, expect, came or ""))
        told(job)
    return results


class Line(NamedTuple):
    """The score of one expectation in one kind of jobs."""

    kind: str
    what: str
    met: int
    of: int
    share: float | None

    @property
    def enough(self) -> bool:
        """True where the share is met; a small sample may miss by less than one job."""
        return self.share is None or self.of - self.met <= int((1 - self.share) * self.of + 0.999)


def lines(results: Iterable[Result]) -> list[Line]:
    """Return the score by kind and expectation, in the order of the jobs."""
    counts: dict[tuple[str, str], list[bool]] = {}
    for job, expect, came in results:
        counts.setdefault((job.kind, expect.what), []).append(not came)
    return [
        Line(*key, sum(met), len(met), SHARES.get(key, JUDGES[key[1]].share))
        for key, met in counts.items()
    ]


def table(results: list[Result]) -> str:
    """Return the score as a table to print."""
    rows = [f"{'kind':10} {'expected':27} {'met':>4} {'of':>4} {'share':>6} {'asked':>6}"]
    for line in lines(results):
        asked = "" if line.share is None else f"{line.share:.0%}"
        mark = "" if line.enough else "  short"
        share = f"{line.met / line.of:.0%}"
        rows.append(
            f"{line.kind:10} {line.what:27} {line.met:4} {line.of:4} {share:>6} {asked:>6}{mark}"
        )
    return "\n".join(rows)


def misses(results: list[Result], most: int = 3) -> str:
    """Return up to ``most`` misses of each line, those first whose job missed most."""
    missed = [result for result in results if result.came]
    count = {id(result.job): 0 for result in missed}
    for result in missed:
        count[id(result.job)] += 1
    said = []
    for line in lines(results):
        here = [r for r in missed if (r.job.kind, r.expect.what) == (line.kind, line.what)]
        for result in sorted(here, key=lambda r: -count[id(r.job)])[:most]:
            said.append(
                f"{line.kind}: {result.job.title}\n"
                f"  expected: {line.what}{_value(result.expect.value)}. {result.expect.reason}\n"
                f"  came: {result.came[:400]}"
            )
    return "\n".join(said)


def _value(value) -> str:
    if value is None:
        return ""
    parts = value if isinstance(value, tuple) else (value,)
    return f" ({', '.join(f'{p:.4g}' if isinstance(p, float) else str(p) for p in parts)})"
