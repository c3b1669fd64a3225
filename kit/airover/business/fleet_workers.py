"""Calculate the parts of a fleet with local processes or a Dask cluster.

The motors and the different nameplates of a fleet are prepared first, once for all workers. The
local workers map the prepared arrays from one file, so that they are in memory only once.
"""

import mmap
import pickle
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, wait
from contextlib import contextmanager
from functools import lru_cache, partial
from pathlib import Path
from typing import NamedTuple

from airover.business import fleet_response
from airover.business.fleet_files import release_memory
from airover.business.fleet_processes import worker_pool
from airover.business.fleet_screen import Screener
from airover.business.fleet_units import Known, RuleTables, joined_known, read_nameplates
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.units import quoted
from airover.records.limits import Limits

HELD = ".screener.draft"  # prepared motors and nameplates, in the folder of the run
RULES = ".rules.draft"  # rule tables for reading nameplates, in the folder of the run
ALIGNED = 64  # bytes
AT_A_TIME = 48  # nameplates that a worker reads at a time
PATIENCE = "10s"  # timeout for a scheduler that does not respond

# stages of a run
MOTORS_DONE, NAMEPLATES_DONE, UNITS_DONE = "motors", "nameplates", "units"


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


@contextmanager
def crew_of(
    motors, needed, nameplates, limits: Limits, work: Callable, scheduler, workers: int,
    folder: Path, tell,
) -> Iterator[Crew]:  # fmt: skip
    """Yield the workers as a Crew.

    The motors and nameplates are prepared here so that every cluster uses the same data.

    Parameters
    ----------
    needed
        True for each motor that may fit a unit, shape (motors,). The others are not simulated.
    nameplates : list[tuple]
        Nameplates to read first, as the values of the columns in NAMEPLATE.
    work : Callable
        Function of (screener, number, start, table) that calculates a part.
    folder : Path
        Folder for the files of prepared data, which are deleted at the end.
    tell : Callable
        Function called with (motors or nameplates done, all of them, stage).
    """
    held, rules = Path(folder) / HELD, Path(folder) / RULES
    try:
        with worker_pool(workers) as pool:
            surfaces = _surfaces(pool, motors, needed, lambda *done: tell(*done, MOTORS_DONE))
            keep_arrays(rules, RuleTables(motors, limits))
            known = _known(pool, rules, nameplates, lambda *done: tell(*done, NAMEPLATES_DONE))
            screener = Screener(motors, surfaces, limits, known)
            if scheduler is not None:
                pool.shutdown()
                with _cluster(scheduler, screener, work) as crew:
                    yield crew
                return
            keep_arrays(held, screener)
            del surfaces, known, screener
            release_memory()
            yield Crew(partial(pool.submit, _worked_here, held, work), _first, workers)
    finally:
        for path in (held, rules):
            path.unlink(missing_ok=True)


def _known(pool, rules: Path, nameplates: list[tuple], tell) -> Known:
    """Return the nameplates, read by all workers."""
    groups = [nameplates[at : at + AT_A_TIME] for at in range(0, len(nameplates), AT_A_TIME)]
    parts = []
    for done, part in enumerate(pool.map(partial(_read, rules), groups), 1):
        parts.append(part)
        tell(min(done * AT_A_TIME, len(nameplates)), len(nameplates))
    return joined_known(parts)


def _read(rules: Path, nameplates: list[tuple]) -> Known:
    return read_nameplates(_kept(rules), nameplates)


def keep_arrays(path: Path, value) -> None:
    """Write ``value`` to a file with its arrays unchanged, to be mapped by `kept_arrays`."""
    arrays = []
    told = pickle.dumps(value, protocol=5, buffer_callback=arrays.append)
    arrays = [array.raw() for array in arrays]
    with open(path, "wb") as file:
        pickle.dump((told, [array.nbytes for array in arrays]), file)
        for array in arrays:
            file.write(bytes(-file.tell() % ALIGNED))
            file.write(array)


def kept_arrays(path: Path):
    """Return the value from a file written by `keep_arrays`.

    All processes share the memory of its arrays.
    """
    with open(path, "rb") as file:
        told, sizes = pickle.load(file)
        start = file.tell()
        whole = memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_COPY))
    arrays = []
    for size in sizes:
        start += -start % ALIGNED
        arrays.append(whole[start : start + size])
        start += size
    return pickle.loads(told, buffers=arrays)


def _surfaces(pool, motors, needed, tell):
    """Return the Surfaces of all motors, which are empty for motors that are not ``needed``."""
    able = [motor for motor, one in zip(motors, needed, strict=True) if one] or motors[:1]
    groups = fleet_response.groups(able)
    parts = {at: fleet_response.kept_surfaces(group) for at, group in enumerate(groups)}
    new = [at for at, part in parts.items() if part is None]
    calculated = pool.map(fleet_response.surfaces, [groups[at] for at in new])
    for done, (at, part) in enumerate(zip(new, calculated, strict=True), len(groups) - len(new)):
        parts[at] = part
        fleet_response.keep_surfaces(groups[at], part)
        tell(done + 1, len(groups))
    places = [number for number, one in enumerate(needed) if one] or [0]
    whole = [parts.pop(at) for at in range(len(groups))]
    return fleet_response.spread(fleet_response.joined(whole), places, len(motors))


@lru_cache(2)
def _kept(path: Path):
    return kept_arrays(path)


def _worked_here(path: Path, work: Callable, *part):
    try:
        return work(_kept(path), *part)
    finally:
        release_memory()


def _first(futures):
    done, others = wait(futures, return_when=FIRST_COMPLETED)
    return done, others


@contextmanager
def _cluster(address: str, screener: Screener, work: Callable) -> Iterator[Crew]:
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
        submit = partial(client.submit, work, held, pure=False)

        def first(futures):
            ended = distributed.wait(futures, return_when="FIRST_COMPLETED")
            return ended.done, set(ended.not_done)

        yield Crew(submit, first, count)
