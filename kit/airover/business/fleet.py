"""Screen a fleet in parts with local processes or a Dask cluster, and write result files.

Workers return the contents of a part as bytes, and only the main process writes files. Only a few
parts are processed at a time, so memory use does not depend on the table size. A part has at most
10,000 rows, and its result depends only on those rows, the catalog and the code. The output is
therefore the same regardless of the number of workers and the order of the parts.
worksheets/guide/fleet.md states how closely a fleet result agrees with the results for single jobs.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import numpy as np

from airover.business import fleet_lives, fleet_plan
from airover.business.fleet_files import (
    PART,
    Table,
    fitting_bytes,
    found_bytes,
    is_ours,
    names_of,
    rejects_bytes,
    release_memory,
    rows_of,
    units_file,
    versions,
)
from airover.business.fleet_processes import begin, worker_count
from airover.business.fleet_screen import Screener, needed_motors
from airover.business.fleet_workers import UNITS_DONE, Crew, crew_of
from airover.core.errors import InputError
from airover.core.files import make_folder, read_text, write_bytes, write_files, write_text
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import quoted
from airover.physics import compiled
from airover.records.importing import UNITS, open_catalog, open_table
from airover.records.limits import USUAL_LIMITS, Limits
from airover.records.tables import left_out_of

AHEAD = 2  # parts in progress per worker
SUMMARY = "fleet.json"
NAME, LARGEST = "manifest.json", 500_000_000  # bytes
FEW_NAMEPLATES = 300  # up to this number, the motors that cannot fit are found first
COUNTS = ("rows", "accepted", "rejected", "fits", "fits_with_work")


def fleet(
    units,
    out,
    catalog,
    scheduler=None,
    progress=None,
    workers=None,
    part: int | None = None,
    limits: Limits = USUAL_LIMITS,
) -> dict:
    """Screen the file ``units`` against the ``catalog`` and write the results to ``out``.

    Parts finished in an earlier run with the same inputs are kept, except those with a damaged
    file, which are calculated again. Returns the summary stored in `fleet.json`, with its sentence
    as a Message and the names of the ``damaged`` files.

    Parameters
    ----------
    units : str or os.PathLike
        Parquet file with the columns defined in `fleet_units`, or any other table of units, which
        is first converted to these columns and saved in the folder ``out``/table.
    scheduler : optional
        Address of a Dask cluster, or None for local processes.
    progress : optional
        Function called with (done, total, stage). The stage is MOTORS_DONE while the motors are
        prepared, NAMEPLATES_DONE while the nameplates are read, then UNITS_DONE.
    workers : optional
        Number of local processes, or None to use all cores.
    part : int, optional
        Number of rows in a part, or None for a number that suits the size of the table.
    limits : Limits, optional
        Limits for the checks on all units.

    Raises
    ------
    InputError
        If an input cannot be used or the folder belongs to another run.
    """
    if not compiled.AVAILABLE:
        given = Message("fleet.given.without", package="numba")
        raise InputError("fleet", given, Message("fleet.accepts.numba"))
    begin()
    lost = None
    if not is_ours(units):
        imported = open_table(UNITS, units)
        files = {"units.parquet": units_file(imported)}
        (units,), lost = write_files(Path(out) / "table", files, "out"), imported.lost
    table = Table(units, part)
    motors = open_catalog(catalog)
    inputs = {"units": fingerprint(units), "catalog": fingerprint(catalog), "code": code()}
    inputs["rows in a part"] = table.part
    inputs |= {f"limit {one.name}": one.value.mid for one in limits.changed()}
    manifest = Manifest(Path(out), inputs | versions(), len(motors))
    tell = progress or (lambda done, total, stage: None)
    if any(not manifest.done(number) for number in range(table.count)):
        nameplates = table.nameplates()
        needed = _needed(table, nameplates, motors, limits)
        plan = motors, needed, nameplates, limits, worked
        with crew_of(*plan, scheduler, worker_count(workers), manifest.out, tell) as crew:
            _work(table, manifest, crew, tell)
    summary = _summary(manifest, motors) | {"limits": limits}
    summary["left_out"] = (*(() if lost is None else (lost,)), *left_out_of(motors))
    text = json.dumps(summary_dict(summary, Writer("en")), indent=1) + "\n"
    write_text(manifest.out / SUMMARY, text, "out")
    return summary | {"damaged": manifest.damaged}


def _needed(table: Table, nameplates, motors, limits: Limits) -> np.ndarray:
    """Return True for each motor that must be simulated, shape (motors,).

    A large table has units of nearly every kind, so all motors are simulated.
    """
    too_many = bool(table.rows) and not nameplates
    if table.rows > PART or too_many or len(nameplates) > FEW_NAMEPLATES:
        return np.ones(len(motors), dtype=bool)
    return needed_motors(motors, limits, rows_of(table.start()))


def _work(table: Table, manifest: "Manifest", crew: Crew, tell) -> None:
    """Keep every worker busy until all parts are done."""
    waiting = _waiting(table, manifest)
    done = sum(part["rows"] for number, part in manifest.parts.items() if manifest.done(number))
    under_way = {crew.submit(*one) for one in islice(waiting, AHEAD * crew.workers)}
    tell(done, table.rows, UNITS_DONE)
    while under_way:
        ended, under_way = crew.first(under_way)
        for future in ended:
            number, files, facts = future.result()
            manifest.add(number, files, facts)
            done += facts["rows"]
            tell(done, table.rows, UNITS_DONE)
        release_memory()
        under_way |= {crew.submit(*one) for one in islice(waiting, len(ended))}


def _waiting(table: Table, manifest: "Manifest") -> Iterator[tuple]:
    """Yield the number, first row and table of each part that is not done."""
    start = 0
    for number, part in enumerate(table.parts()):
        if not manifest.done(number):
            yield number, start, part
        start += len(part)


def worked(screener: Screener, number: int, start: int, table):
    """Return the number, the files by name, and the manifest entry of one part."""
    rows = rows_of(table)
    screened = screener.screened(rows)
    contents = (
        found_bytes(table, screened, screener.motors),
        rejects_bytes(table, screened.reasons, start),
        _json(fleet_lives.failures(screened.counted).tolist()),
        fitting_bytes(screened),
        _json(fleet_plan.counted(screened, rows.age, screener.motors)),
    )
    files = dict(zip(_files(number), contents, strict=True))
    first, work = screened.best.motor[:, 0], screened.best.work[:, 0]
    chosen = np.bincount(first[first >= 0], minlength=len(screener.motors))
    facts = {
        "rows": len(table),
        "accepted": len(screened.taken),
        "rejected": len(screened.reasons),
        "fits": int(np.sum((first >= 0) & (work == 0))),
        "fits_with_work": int(np.sum((first >= 0) & (work > 0))),
        "chosen": {str(at): int(chosen[at]) for at in np.flatnonzero(chosen)},
    }
    return number, files, facts


def _json(value) -> bytes:
    return json.dumps(value).encode()


def _files(number: int) -> tuple[str, ...]:
    """Return the names of a part's files.

    The failures and the counts for the plan are not in the manifest, which is rewritten for every
    part and must stay small.
    """
    return (
        f"part-{number:05d}.parquet",
        f"rejects-{number:05d}.parquet",
        _failures_file(number),
        fleet_plan.fitting_file(number),
        f"plan-{number:05d}.json",
    )


def _failures_file(number: int) -> str:
    return f"failures-{number:05d}.json"


def _summary(manifest: "Manifest", motors) -> dict:
    """Return the fleet summary.

    The summary contains the counts, the number of units for which each motor is the best fit, and
    the failures by year.
    """
    parts = [manifest.parts[number] for number in sorted(manifest.parts)]
    counts = {name: sum(part[name] for part in parts) for name in COUNTS}
    counts["does_not_fit"] = counts["accepted"] - counts["fits"] - counts["fits_with_work"]
    chosen = np.zeros(len(motors), dtype=int)
    for part in parts:
        for at, count in part["chosen"].items():
            chosen[int(at)] += count
    order = sorted(np.flatnonzero(chosen), key=lambda at: (-chosen[at], motors[at].name))
    failures = sum(
        np.array(json.loads((manifest.out / _failures_file(number)).read_bytes()))
        for number in sorted(manifest.parts)
    )
    plans = [json.loads((manifest.out / _files(at)[-1]).read_bytes()) for at in manifest.parts]
    return counts | {
        "screening": Message("fleet.screening"),
        "best": {motors[at].name: int(chosen[at]) for at in order},
        "failures": fleet_lives.by_year(failures),
        "no_motor_because": _by_rule(plans, "obstacles"),
        "to_adapt": _by_rule(plans, "adapt"),
        "to_find_out": _by_rule(plans, "find out"),
        "standard": fleet_plan.standard(manifest.out, sorted(manifest.parts), motors),
        "budget": fleet_plan.budget(plans, motors),
    }


def _by_rule(plans, name: str) -> dict[str, int]:
    """Return the number of units for each rule, most frequent rule first."""
    counts = Counter()
    for plan in plans:
        for mask, count in plan[name].items():
            counts.update(dict.fromkeys(names_of(int(mask)), count))
    return dict(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def fingerprint(path) -> str:
    """Return the SHA-256 hash of a file.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        given = f"{quoted(str(path))} ({error.strerror})"
        raise InputError("units", given, Message("fleet.accepts.readable")) from None


def code() -> str:
    """Return the SHA-256 hash of the kit's source code."""
    folder = Path(__file__).resolve().parents[1]
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*.py")):
        whole.update(path.relative_to(folder).as_posix().encode() + path.read_bytes())
    return whole.hexdigest()


class Manifest:
    """Manifest of the folder ``out`` for a run with the given ``inputs`` and number of motors.

    Attributes
    ----------
    parts
        Entries of the finished parts by number.
    damaged
        Names of files of an earlier run that are missing or changed. Their parts are calculated
        again.
    """

    def __init__(self, out: Path, inputs: dict, motors: int):
        make_folder(out, "out")
        self.out, self.inputs, self.motors = Path(out), inputs, motors
        self.parts, self.damaged = {}, []
        self._resume()

    def _resume(self) -> None:
        """Resume the run and skip the parts that are already finished.

        A folder that belongs to another run or contains other files is rejected.
        """
        if not (self.out / NAME).exists():
            if any(path.suffix == ".parquet" for path in self.out.iterdir()):
                given = Message("fleet.given.no_manifest", folder=quoted(str(self.out)))
                raise InputError("out", given, Message("fleet.accepts.empty"))
            return self._write()
        held, parts = self._read()
        for name, value in self.inputs.items():
            if held.get(name) != value:
                given = Message("fleet.given.other", folder=quoted(str(self.out)), name=name)
                raise InputError("out", given, Message("fleet.accepts.same"))
        found = {number: self._damaged(number, part) for number, part in parts.items()}
        self.damaged = [name for names in found.values() for name in names]
        self.parts = {number: part for number, part in parts.items() if not found[number]}
        for draft in self.out.glob(".*.draft"):  # left by a run that was killed
            draft.unlink()

    def _read(self) -> tuple[dict, dict]:
        """Return the inputs and the parts in the manifest.

        Raises
        ------
        InputError
            If the manifest is damaged.
        """
        text = read_text(self.out / NAME, "manifest", LARGEST)
        try:
            held = json.loads(text)
            parts = {int(number): part for number, part in held["parts"].items()}
            for part in parts.values():
                self._check(part)
            return dict(held["inputs"]), parts
        except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
            given = Message("fleet.given.cut", folder=quoted(str(self.out)), name=NAME)
            raise InputError("out", given, Message("fleet.accepts.empty_again")) from None

    def _check(self, part: dict) -> None:
        """Raise an error if a part lacks an entry or contains an impossible number."""
        counts = [*(part[name] for name in COUNTS), *part["chosen"].values()]
        counts += [int(motor) for motor in part["chosen"]]
        if not all(type(one) is int and one >= 0 for one in counts):
            raise ValueError("a count is not a whole number")
        if any(int(motor) >= self.motors for motor in part["chosen"]):
            raise ValueError("a motor is not in the catalog")
        dict(part["files"])

    def _damaged(self, number: int, part: dict) -> list[str]:
        """Return the files of a part that do not have the SHA-256 hashes in the manifest."""

        def is_whole(name: str) -> bool:
            try:
                content = (self.out / name).read_bytes()
            except OSError:
                return False
            return hashlib.sha256(content).hexdigest() == part["files"].get(name)

        return [name for name in _files(number) if not is_whole(name)]

    def done(self, number: int) -> bool:
        """Return True if a part is listed in the manifest, which no longer lists damaged parts."""
        return number in self.parts

    def add(self, number: int, files: dict[str, bytes], facts: dict) -> None:
        """Write the ``files`` of a part, then list the part in the manifest."""
        for name, content in files.items():
            write_bytes(self.out / name, content, "out")
        sums = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
        self.parts[number] = facts | {"files": sums}
        self._write()

    def _write(self) -> None:
        parts = {str(number): self.parts[number] for number in sorted(self.parts)}
        rows, accepted, rejected = (
            sum(part[name] for part in parts.values()) for name in COUNTS[:3]
        )
        told = {"inputs": self.inputs, "rows_done": rows}
        told |= {"accepted": accepted, "rejected": rejected, "parts": parts}
        write_text(self.out / NAME, json.dumps(told, indent=1) + "\n", "manifest")


def summary_dict(found: dict, writer: Writer) -> dict:
    """Return the summary from `fleet` as a dict that can be stored as JSON."""
    told = {
        "screening": writer(found["screening"]),
        "limits": found["limits"].to_dict(writer),
        "left_out": [one.as_dict(writer) for one in found["left_out"]],
    }
    return found | told
