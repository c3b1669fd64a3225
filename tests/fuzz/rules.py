"""What holds of every case: an answer without NaN or one sentence, in time, and nothing beside it.

``judged`` runs one case and says how it ended. What it looks for: any error but InputError, a
sentence that is no sentence, a figure that is not finite, too much processor time, a file that
stays in the case's folder, and a file opened that nobody named.
"""

import math
import os
import signal
import sys
import sysconfig
import tempfile
import time
import traceback
import unicodedata
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.files import data_folder

ACCEPTED, REFUSED = "accepted", "refused"
LONGEST_SENTENCE = 3000  # letters; a list of all headings of the calls has 700
HANG = 30.0  # s of processor time, after which a case is stopped
SECRET = "secret-beside"  # a folder beside the case's own, with files to be found
_CODE = tuple(
    str(Path(one).resolve()) + os.sep
    for one in (data_folder(), Path(__file__).parents[2], sys.prefix, sys.base_prefix, "/dev",
                "/proc", "/sys", "/usr", *sysconfig.get_paths().values())
)  # fmt: skip


class Ending(NamedTuple):
    """How a case ended: ``how`` is ACCEPTED or REFUSED; a ``finding`` is empty where all held."""

    how: str
    seconds: float
    finding: str


class Hang(BaseException):
    """Raised in a case that takes HANG seconds."""


class Wrong(AssertionError):
    """A rule that did not hold."""


class _Watch:
    """What is opened, while it ``looks``."""

    def __init__(self):
        self.looks, self.opened = False, []
        sys.addaudithook(self._noted)  # cannot be taken away again

    def _noted(self, event: str, arguments) -> None:
        if self.looks and event == "open" and isinstance(arguments[0], (str, bytes)):
            self.opened.append(os.fsdecode(arguments[0]))


_watch = _Watch()


def judged(case: Callable[[Path], object], folder: Path, budget: float) -> Ending:
    """Run ``case`` on its ``folder`` and see that all rules hold.

    ``case`` returns its answer or raises InputError; ``budget`` [s] of processor time.
    """
    began = time.process_time()
    try:
        with _stopped_when_it_hangs(), _only_what_was_named(folder):
            how = _ended(case, folder)
        finding = ""
    except Wrong as error:
        how, finding = REFUSED, str(error)
    except (Exception, Hang) as error:  # noqa: BLE001
        how, finding = REFUSED, _where(error)
    seconds = time.process_time() - began
    if seconds > budget and not finding:
        finding = f"{seconds:.1f} s of processor time, where {budget:g} s are allowed"
    return Ending(how, seconds, finding)


def _ended(case, folder: Path) -> str:
    before = files_in(folder)
    try:
        answer = case(folder)
    except InputError as error:
        is_sentence(error)
        if files_in(folder) != before:
            raise Wrong(f"files left: {sorted(files_in(folder) - before)}") from None
        return REFUSED
    is_finite(answer)
    if drafts := [one for one in files_in(folder) if one.endswith(".draft")]:
        raise Wrong(f"a draft left: {drafts}")
    return ACCEPTED


def is_sentence(error: InputError) -> None:
    """Raise Wrong where ``error`` and its notes do not name field, value and what is accepted."""
    for part in ("field", "given", "accepted"):
        if not str(getattr(error, part)).strip():
            raise Wrong(f"a refusal without {part}: {error!s:.300}")
    for line in (str(error), *getattr(error, "__notes__", ())):
        if len(line) > LONGEST_SENTENCE:
            raise Wrong(f"a sentence of {len(line)} letters: {line[:200]!r}")
        if odd := [c for c in line if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp")]:
            raise Wrong(f"a sentence with {odd[0]!r}: {line[:300]!r}")
        if not line.endswith((".", "?")):
            raise Wrong(f"no sentence: {line[-200:]!r}")


def is_finite(value) -> None:
    """Raise Wrong where a figure in the plain data ``value`` is NaN or infinite."""
    if isinstance(value, (float, np.floating)) and not math.isfinite(value):
        raise Wrong(f"{value} in an answer")
    if isinstance(value, np.ndarray) and value.dtype.kind == "f" and not np.all(np.isfinite(value)):
        raise Wrong("an array with NaN or infinity in an answer")
    if isinstance(value, dict):
        value = (*value.keys(), *value.values())
    if isinstance(value, (list, tuple)):
        for one in value:
            is_finite(one)


def files_in(folder: Path) -> set[str]:
    """The names of all files below ``folder``."""
    return {str(one.relative_to(folder)) for one in folder.rglob("*") if not one.is_dir()}


@contextmanager
def _only_what_was_named(folder: Path):
    """Raise Wrong for a file that is opened outside of ``folder``, of the code and of drafts."""
    drafts = (
        str(Path(tempfile.gettempdir()) / "airover-"),
        str(Path(tempfile.gettempdir()) / "tmp"),
    )
    allowed = (str(folder.resolve()) + os.sep, *_CODE, *drafts, str(Path.home()) + os.sep + ".c")
    _watch.opened, _watch.looks = [], True
    try:
        yield
        for path in _watch.opened:
            whole = os.path.realpath(path)
            if not f"{whole}{os.sep}".startswith(allowed) and os.path.exists(whole):
                raise Wrong(f"{path} was opened, which nobody named")
    finally:
        _watch.looks = False


@contextmanager
def _stopped_when_it_hangs():
    if not hasattr(signal, "setitimer"):
        yield
        return

    def stop(*_):
        raise Hang(f"no end within {HANG:g} s of processor time")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, HANG)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def _where(error: BaseException) -> str:
    """The error, and the places in the kit that it came through last."""
    kit = [one for one in traceback.extract_tb(error.__traceback__) if "airover" in one.filename]
    places = " < ".join(f"{Path(p.filename).name}:{p.lineno} {p.name}" for p in kit[:-4:-1])
    return f"{type(error).__name__}: {str(error)[:200]} [{places}]"
