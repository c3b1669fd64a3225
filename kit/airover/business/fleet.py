"""Screen a fleet in parts with local processes or a Dask cluster, and write result files.

Workers return the contents of a part as bytes, and only the main process writes files. Only a few
parts are in progress at a time, so memory use is independent of the table size. Each part has
50,000 rows, and its result depends only on those rows, the catalog and the code. The output is
therefore the same regardless of the number of workers and the order of the parts.
worksheets/guide/fleet.md states how closely a fleet result agrees with single jobs.
"""

import hashlib
import json
import os
import pickle
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from contextlib import contextmanager
from functools import lru_cache, partial
from itertools import chain, islice
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.business import fleet_lives, fleet_response
from airover.business.fleet_files import (
    PART,
    Table,
    found_bytes,
    is_ours,
    rejects_bytes,
    rows_of,
    units_file,
    versions,
)
from airover.business.fleet_screen import Screener
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
NAME, LARGEST = "manifest.json", 50_000_000
PATIENCE = "10s"  # timeout for a scheduler that does not respond
MOST_ON_WINDOWS = 61  # maximum number of processes Windows can wait for
# One thread per worker, because two would not be faster and could change the rounding of sums.
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


class Crew(NamedTuple):
    """Group of workers that calculate the parts.

    Attributes
    ----------
    submit : Callable
        Function of (number, start, table) that submits a part and returns a future.
    first : Callable
        Function that waits until at least one future is done and splits the futures into (done,
        others).
    workers : int
        Number of workers.
    """

    submit: Callable
    first: Callable
    workers: int


def fleet(
    units,
    out,
    catalog,
    scheduler=None,
    progress=None,
    workers=None,
    part: int = PART,
    limits: Limits = USUAL_LIMITS,
) -> dict:
    """Screen the file ``units`` against the ``catalog`` and write the results to ``out``.

    Parts finished in an earlier run with the same inputs are kept. Returns the summary stored in
    `fleet.json`, with its sentence as a Message.

    Parameters
    ----------
    units : str or os.PathLike
        Parquet file with the columns defined in `fleet_units`, or any other table of units, which
        is first converted to these columns and saved in the folder ``out``/table.
    scheduler : optional
        Address of a Dask cluster, or None for local processes.
    progress : optional
        Function called with (rows done, rows).
    workers : optional
        Number of local processes, or None to use all cores.
    part : int, optional
        Number of rows in a part.
    limits : Limits, optional
        Limits for the checks on all units.

    Raises
    ------
    InputError
        If an input cannot be used or the folder belongs to another run.
    """
    if compiled.numba is None:
        given = Message("fleet.given.without", package="numba")
        raise InputError("fleet", given, Message("fleet.accepts.numba"))
    lost = None
    if not is_ours(units):
        imported = open_table(UNITS, units)
        files = {"units.parquet": units_file(imported)}
        (units,), lost = write_files(Path(out) / "table", files, "out"), imported.lost
    table = Table(units, part)
    motors = open_catalog(catalog)
    inputs = {"units": fingerprint(units), "catalog": fingerprint(catalog), "code": code()}
    inputs["rows in a part"] = part
    inputs |= {f"limit {one.name}": one.value.mid for one in limits.changed()}
    manifest = Manifest(Path(out), inputs | versions())
    tell = progress or (lambda done, rows: None)
    if any(not manifest.done(number) for number in range(table.count)):
        with _crew(motors, limits, scheduler, _count(workers)) as crew:
            _work(table, manifest, crew, tell)
    summary = _summary(manifest, motors) | {"limits": limits}
    summary["left_out"] = (*(() if lost is None else (lost,)), *left_out_of(motors))
    text = json.dumps(summary_dict(summary, Writer("en")), indent=1) + "\n"
    write_text(manifest.out / SUMMARY, text, "out")
    return summary


def _count(workers: int | None, windows: bool = os.name == "nt") -> int:
    """Return the number of processes to use, which is limited on Windows."""
    workers = workers or os.cpu_count() or 1
    return min(workers, MOST_ON_WINDOWS) if windows else workers


def _work(table: Table, manifest: "Manifest", crew: Crew, tell) -> None:
    """Keep every worker busy until all parts are done."""
    waiting = _waiting(table, manifest)
    first = next(waiting, None)
    if first is None:
        return
    if crew.workers > 1 and table.count > 1:  # one worker compiles; the others load the result
        number, start, part = first
        crew.submit(number, start, part.slice(0, 1)).result()
    waiting = chain([first], waiting)
    done = sum(part["rows"] for number, part in manifest.parts.items() if manifest.done(number))
    under_way = {crew.submit(*one) for one in islice(waiting, AHEAD * crew.workers)}
    tell(done, table.rows)
    while under_way:
        ended, under_way = crew.first(under_way)
        for future in ended:
            number, files, facts = future.result()
            manifest.add(number, files, facts)
            done += facts["rows"]
            tell(done, table.rows)
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
    screened = screener.screened(rows_of(table))
    files = {
        f"part-{number:05d}.parquet": found_bytes(table, screened, screener.motors),
        f"rejects-{number:05d}.parquet": rejects_bytes(table, screened.reasons, start),
        _failures_file(number): json.dumps(
            fleet_lives.failures(screened.counted).tolist()
        ).encode(),
    }
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


def _failures_file(number: int) -> str:
    """Return the name of the failures file of a part.

    The failures are not in the manifest, which is rewritten for every part and must stay small.
    """
    return f"failures-{number:05d}.json"


@contextmanager
def _crew(motors, limits: Limits, scheduler, workers: int) -> Iterator[Crew]:
    """Yield the workers as a Crew.

    The motor tables are calculated here so that every cluster uses the same tables.
    """
    with tempfile.TemporaryDirectory() as folder, _one_thread():
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
        try:
            parts = list(pool.map(fleet_response.surfaces, fleet_response.groups(motors)))
            screener = Screener(motors, fleet_response.joined(parts), limits)
            if scheduler is not None:
                pool.shutdown()
                with _cluster(scheduler, screener) as crew:
                    yield crew
                return
            path = Path(folder) / "screener"
            path.write_bytes(pickle.dumps(screener))
            yield Crew(partial(pool.submit, _worked_here, path), _first, workers)
        finally:
            pool.shutdown(cancel_futures=True)


@contextmanager
def _one_thread() -> Iterator[None]:
    """Limit the processes started in this context to one thread for linear algebra."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in before.items():
            os.environ.pop(name) if value is None else os.environ.update({name: value})


@lru_cache(1)
def _screener(path: Path) -> Screener:
    return pickle.loads(path.read_bytes())


def _worked_here(path: Path, *part):
    return worked(_screener(path), *part)


def _first(futures):
    done, others = wait(futures, return_when=FIRST_COMPLETED)
    return done, others


@contextmanager
def _cluster(address: str, screener: Screener) -> Iterator[Crew]:
    """Yield a Dask cluster as a Crew in which each worker keeps one copy of the motor tables."""
    try:
        from dask import distributed
    except ModuleNotFoundError:
        given = Message("fleet.given.without", package="dask.distributed")
        raise InputError("scheduler", given, Message("fleet.accepts.extra")) from None
    try:
        client = distributed.Client(address, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        given = f"{quoted(address)} ({str(error).splitlines()[0][:80]})"
        raise InputError("scheduler", given, Message("fleet.accepts.scheduler")) from None
    with client:
        count = len(client.scheduler_info()["workers"])
        if not count:
            given = Message("fleet.given.no_workers", address=quoted(address))
            raise InputError("scheduler", given, Message("fleet.accepts.workers"))
        held = client.scatter(screener, broadcast=True)
        submit = partial(client.submit, worked, held, pure=False)

        def first(futures):
            ended = distributed.wait(futures, return_when="FIRST_COMPLETED")
            return ended.done, set(ended.not_done)

        yield Crew(submit, first, count)


def _summary(manifest: "Manifest", motors) -> dict:
    """Return the fleet summary.

    The summary contains the counts, the number of units for which each motor is the best fit, and
    the failures by year.
    """
    parts = [manifest.parts[number] for number in sorted(manifest.parts)]
    names = ("rows", "accepted", "rejected", "fits", "fits_with_work")
    counts = {name: sum(part[name] for part in parts) for name in names}
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
    return counts | {
        "screening": Message("fleet.screening"),
        "best": {motors[at].name: int(chosen[at]) for at in order},
        "failures": fleet_lives.by_year(failures),
    }


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
    """Manifest of the folder ``out`` for a run with the given ``inputs``."""

    def __init__(self, out: Path, inputs: dict):
        make_folder(out, "out")
        self.out, self.inputs = Path(out), inputs
        self.parts = {}
        self._resume()

    def _resume(self) -> None:
        """Resume the run after the finished parts.

        A folder that belongs to another run or contains other files is rejected.
        """
        if not (self.out / NAME).exists():
            if any(path.suffix == ".parquet" for path in self.out.iterdir()):
                given = Message("fleet.given.no_manifest", folder=quoted(str(self.out)))
                raise InputError("out", given, Message("fleet.accepts.empty"))
            return self._write()
        held = json.loads(read_text(self.out / NAME, "manifest", LARGEST))
        for name, value in self.inputs.items():
            if held["inputs"].get(name) != value:
                given = Message("fleet.given.other", folder=quoted(str(self.out)), name=name)
                raise InputError("out", given, Message("fleet.accepts.same"))
        self.parts = {int(number): part for number, part in held["parts"].items()}
        for draft in self.out.glob(".*.draft"):  # left by a run that was killed
            draft.unlink()

    def done(self, number: int) -> bool:
        """Return True if a part is listed in the manifest and its files exist."""
        part = self.parts.get(number)
        return part is not None and all((self.out / name).exists() for name in part["files"])

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
            sum(part[name] for part in parts.values()) for name in ("rows", "accepted", "rejected")
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
