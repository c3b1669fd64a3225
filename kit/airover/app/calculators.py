"""Calculate the answers of a shared page in separate processes, with limits on time and memory.

The server of a page with many visitors only exchanges messages and draws. Each of its answers is
calculated, and each uploaded table or photo is read, by the next free process. A calculation that
exceeds a limit ends with its process, which is replaced, so that others are not affected. A page for
one computer calculates in its own process and reads uploaded files in another. In a worksheet, the
same functions run in the same process.
"""

import copyreg
import io
import os
import pickle
import sys
import threading
import time
from collections import ChainMap, deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import replace
from functools import lru_cache
from multiprocessing import get_all_start_methods, get_context, parent_process

from airover.app.ahead import whole
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.message import Message
from airover.model.simulation import MotorOnFan
from airover.records.catalog import CatalogMotor, read_catalog
from airover.records.found import IN_HEAT, Found
from airover.records.job import Job
from airover.selection.answer import Answer, answer
from airover.selection.check import RuleResult
from airover.selection.comparison import Comparison

LONGEST = 60.0  # s for an answer, and for the wait for a free process
ASKED_EVERY = 0.2  # s between two questions whether a result is still wanted
LARGEST = 2_000_000_000  # bytes of memory in a process, where the operating system limits it
MOST = 4  # processes, each with about 300 MB
FIELD = Message("calculator.field")
Ahead = tuple  # function of an answer, and its other arguments


class Calculators:
    """Processes that calculate, each for one visitor at a time.

    Parameters
    ----------
    count : int
        Number of processes.
    longest : float, optional
        Maximum time [s] for a calculation.
    largest : int, optional
        Maximum memory [bytes] for a process.
    """

    def __init__(self, count: int, longest: float = LONGEST, largest: int = LARGEST):
        self._longest, self._largest = longest, largest
        # A server of processes starts each of them with the packages already loaded.
        kind = "forkserver" if "forkserver" in get_all_start_methods() else "spawn"
        self._context = get_context(kind)
        if kind == "forkserver":
            self._context.set_forkserver_preload([__name__])
        self._all = [_Calculator(self._context, largest) for _ in range(count)]
        self._idle = _Idle(self._all)

    def run(self, function: Callable, *args):
        """Return ``function(*args)``, calculated by the next free process.

        Raises
        ------
        InputError
            If the calculation takes too long or needs too much memory.
        Overtaken
            If the result is no longer wanted (see `unless`) before the calculation begins.
        """
        task = pickle.dumps((function, args), pickle.HIGHEST_PROTOCOL)
        try:
            one = self._idle.get(self._longest)
        except TimeoutError:
            raise _exceeded("busy", self._longest) from None
        try:
            is_done, result = one.run(task, self._longest)
        except TimeoutError:
            one = self._replaced(one)
            raise _exceeded("slow", self._longest) from None
        except (EOFError, OSError):  # ended by the operating system
            one = self._replaced(one)
            raise _exceeded("large", self._longest) from None
        finally:
            self._idle.put(one)
        if not is_done:
            raise _exceeded("large", self._longest) if isinstance(result, MemoryError) else result
        return result

    def end(self) -> None:
        """End all processes."""
        for one in self._all:
            one.end()

    def _replaced(self, one: "_Calculator") -> "_Calculator":
        one.end()
        self._all.remove(one)
        self._all.append(_Calculator(self._context, self._largest))
        return self._all[-1]


class Overtaken(Exception):
    """Result that is no longer wanted."""


_is_overtaken: ContextVar[Callable[[], bool]] = ContextVar("_is_overtaken", default=lambda: False)


@contextmanager
def unless(is_overtaken: Callable[[], bool]) -> Iterator[None]:
    """Return a context in which a calculation does not begin once ``is_overtaken`` is True."""
    token = _is_overtaken.set(is_overtaken)
    try:
        yield
    finally:
        _is_overtaken.reset(token)


class _Idle:
    """Processes without a task, given to threads in the order in which they ask."""

    def __init__(self, free: "list[_Calculator]"):
        self._free, self._waiting, self._changed = list(free), deque(), threading.Condition()

    def put(self, one: "_Calculator") -> None:
        with self._changed:
            self._free.append(one)
            self._changed.notify_all()

    def get(self, longest: float) -> "_Calculator":
        """Return the process that became free last, which may know the caller's answer.

        Raises
        ------
        TimeoutError
            If none becomes free within ``longest`` [s].
        Overtaken
            If the result is no longer wanted.
        """
        ticket, until, is_overtaken = object(), time.monotonic() + longest, _is_overtaken.get()
        with self._changed:
            self._waiting.append(ticket)
            try:
                while not is_overtaken():
                    if self._free and self._waiting[0] is ticket:
                        return self._free.pop()
                    left = until - time.monotonic()
                    if left <= 0:
                        raise TimeoutError
                    self._changed.wait(min(left, ASKED_EVERY))
                raise Overtaken
            finally:
                self._waiting.remove(ticket)
                self._changed.notify_all()


class _Calculator:
    """Process that calculates one function at a time."""

    def __init__(self, context, largest: int):
        self._line, there = context.Pipe()
        self._process = context.Process(target=_calculate, args=(there, largest), daemon=True)
        self._process.start()
        there.close()

    def run(self, task: bytes, longest: float):
        """Return True and the result of ``task``, or False and its exception."""
        self._line.send_bytes(task)
        if not self._line.poll(longest):
            raise TimeoutError
        return pickle.loads(self._line.recv_bytes())

    def end(self) -> None:
        self._process.kill()
        self._process.join()
        self._line.close()


def _calculate(line, largest: int) -> None:
    """Calculate whatever arrives over ``line`` until the parent process ends."""
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _limit_memory(largest)
    with suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            function, args = pickle.loads(line.recv_bytes())
            try:
                found = True, function(*args)
            except (InputError, ArithmeticError, MemoryError) as error:
                found = False, error.with_traceback(None)
            except Exception as error:  # noqa: BLE001 (it is raised again in the main process)
                found = False, RuntimeError(f"{type(error).__name__}: {error}")
            line.send_bytes(pickle.dumps(found, pickle.HIGHEST_PROTOCOL))
            del found


def _end_with_parent() -> None:
    parent_process().join()
    os._exit(1)


def _limit_memory(largest: int) -> None:
    """Limit the memory of this process on Linux; elsewhere, such a limit has no effect."""
    if sys.platform == "linux":
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_DATA)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_DATA, (largest, hard))


def _exceeded(outcome: str, longest: float) -> InputError:
    given = Message(f"calculator.{outcome}", seconds=f"{longest:g}")
    return InputError(FIELD, given, Message("calculator.less"))


_calculators: Calculators | None = None
_reader: Calculators | None = None
_reads_apart, _starting = False, threading.Lock()


def start(count: int | None = None) -> None:
    """Calculate answers in ``count`` processes from now on, by default one per processor."""
    global _calculators
    count = count or min(os.cpu_count() or 1, MOST)
    _calculators = Calculators(count)
    for _ in range(count):
        threading.Thread(target=_calculators.run, args=[_get_ready], daemon=True).start()


def end() -> None:
    """Calculate answers and read files in this process again."""
    global _calculators, _reader, _reads_apart
    for one in (_calculators, _reader):
        if one is not None:
            one.end()
    _calculators, _reader, _reads_apart = None, None, False


def read_apart() -> None:
    """Read uploaded files in a separate process from now on, even if answers are calculated here.

    The process is started for the first file.
    """
    global _reads_apart
    _reads_apart = True


def calculates_here() -> bool:
    """Return True if answers are calculated in this process."""
    return _calculators is None


def calculated(function: Callable, *args):
    """Return ``function(*args)``, calculated in a separate process if any was started.

    Raises the same errors as ``function``, and an InputError if a limit is exceeded.
    """
    return function(*args) if calculates_here() else _calculators.run(function, *args)


def read(function: Callable, *args):
    """Return ``function(*args)`` for an uploaded file, read in a separate process of a page.

    Raises the same errors as ``function``, and an InputError if a limit is exceeded.
    """
    global _reader
    if not calculates_here() or not _reads_apart:
        return calculated(function, *args)
    with _starting:
        _reader = _reader or Calculators(1)
    return _reader.run(function, *args)


def answered(job: Job, motors, ahead: Ahead | None = None) -> tuple[Answer, object]:
    """Return the answer for a job, and the result of ``ahead``, if it is given.

    They are calculated in a separate process if any was started. The process calculates what a page
    shows of the answer, and keeps the simulation until it is used.

    Parameters
    ----------
    ahead : tuple or None, optional
        Function and its arguments after the answer.

    Raises
    ------
    InputError
        For the same reasons as in `answer`, or if a limit is exceeded.
    """
    if calculates_here():
        found = answer(job, motors)
        return found, None if ahead is None else ahead[0](found, *ahead[1:])
    return pickle.loads(
        calculated(_answered, job, None if motors is motors_of_the_kit() else motors, ahead)
    )


@lru_cache
def motors_of_the_kit() -> tuple[CatalogMotor, ...]:
    return read_catalog(data_folder() / "catalogue.csv")


class Fetched:
    """Simulation that is fetched from a process as soon as more than its 90 % ranges is used.

    Its arrays are most of an answer, and most steps of the page do not use them.
    """

    def __init__(self, job: Job, motors, known: dict):
        self._asked = job, motors
        vars(self).update(known)

    def __getattr__(self, name: str):
        if name.startswith("__"):
            raise AttributeError(name)
        if "_whole" not in vars(self):
            self._whole = pickle.loads(calculated(_answered, *self._asked, (whole,)))[1]
        return getattr(self._whole, name)


def _get_ready() -> None:
    """Evaluate the sample job, so that the first answer appears quickly."""
    selected(Job.read(data_folder() / "jobs" / "roof-unit.toml"), None)


def _answered(job: Job, motors, ahead: Ahead | None) -> bytes:
    """Return the answer and the result of ``ahead``, pickled without what `Fetched` can fetch."""
    found = selected(job, motors)
    more = None if ahead is None else ahead[0](found, *ahead[1:])
    file = io.BytesIO()
    pickler = pickle.Pickler(file, pickle.HIGHEST_PROTOCOL)
    pickler.dispatch_table = ChainMap(_shortened(found, job, motors, more), copyreg.dispatch_table)
    pickler.dump((found, more))
    return file.getvalue()


def selected(job: Job, motors) -> Answer:
    """Return the answer, calculated here. ``motors`` may be None for those of the kit.

    The last answers are kept for jobs that differ only in what the selection does not read.
    """
    # The selection reads no finding except overload trips in the heat.
    trips = IN_HEAT if job.found.trips == IN_HEAT else None
    read = job.model_copy(update={"found": Found(trips=trips)})
    return replace(_selected(read, motors), job=job)


@lru_cache(maxsize=4)
def _selected(job: Job, motors) -> Answer:
    return answer(job, motors_of_the_kit() if motors is None else motors)


def _shortened(found: Answer, job: Job, motors, more) -> dict[type, Callable]:
    """Return the functions that pickle parts of an answer in a shorter form, by type."""
    simulation = whole(found)

    def simulated(one: MotorOnFan):
        if one is not simulation or more is simulation:
            return object.__reduce_ex__(one, pickle.HIGHEST_PROTOCOL)
        known = {name: getattr(one, name) for name in ("conditions", "bands", "failed")}
        return Fetched, (job, motors, known)

    def motor(one: CatalogMotor):
        number = _numbers().get(id(one))
        if number is None:
            return object.__reduce_ex__(one, pickle.HIGHEST_PROTOCOL)
        return _motor_of_the_kit, (number,)

    def without_columns(one):
        # They are made again where they are used: those of the catalog, or the rows of a rule.
        name = "columns" if isinstance(one, Comparison) else "rows"
        state = {known: value for known, value in vars(one).items() if known != name}
        if state.get("motors") is motors_of_the_kit():
            state["motors"] = None
        return _rebuilt, (type(one), state)

    return {
        MotorOnFan: simulated,
        CatalogMotor: motor,
        Comparison: without_columns,
        RuleResult: without_columns,
    }


@lru_cache
def _numbers() -> dict[int, int]:
    return {id(one): at for at, one in enumerate(motors_of_the_kit())}


def _motor_of_the_kit(number: int) -> CatalogMotor:
    return motors_of_the_kit()[number]


def _rebuilt(kind: type, state: dict):
    found = object.__new__(kind)
    if state.get("motors", ()) is None:
        state["motors"] = motors_of_the_kit()
    vars(found).update(state)
    return found
