"""Try a fault in a copy of the project, as a reader of the changed file would meet it.

Forks plant faults in code that is loaded. Texts, data and templates are read from files, so a
fault in them is written to a copy of the project, and a process that has loaded only the packages
of others starts the tests there.
"""

import contextlib
import importlib
import os
import re
import resource
import shutil
import sys
import tempfile
import time
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "results")  # compiled code is copied too
# Loading these takes seconds, and no fault is planted in them.
PACKAGES = (
    "numpy", "scipy.stats", "pandas", "numba", "pydantic", "pint", "matplotlib.figure", "jinja2",
    "matplotlib.backends.backend_agg", "ipywidgets", "openpyxl", "pypdf", "typst",
)  # fmt: skip
ARGUMENTS = ["-x", "-q", "--tb=no", "-p", "no:cacheprovider", "-p", "no:nbval", "-o", "addopts="]
PASSED, BROKEN = 0, 9  # exit codes: of pytest if all tests pass; of a fork that could not run it


class Copy:
    """A copy of the project in a temporary folder, to be used with ``with``."""

    def __enter__(self):
        for name in PACKAGES:
            importlib.import_module(name)
        self._folder = tempfile.TemporaryDirectory(prefix="mutants-")
        self.root = Path(self._folder.name) / "project"
        shutil.copytree(PROJECT, self.root, ignore=LEFT_OUT)
        self._later = time.time()
        return self

    def __exit__(self, *_):
        self._folder.cleanup()

    @contextlib.contextmanager
    def planted(self, file: str, text: str):
        """Return a context in which ``file`` of the copy has another text."""
        path = self.root / file
        before, stat = path.read_bytes(), path.stat()
        path.write_text(text, encoding="utf-8")
        self._later += 10  # no compiled code is taken for that of this text
        os.utime(path, (self._later, self._later))
        try:
            yield
        finally:
            path.write_bytes(before)
            os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))

    def failing(self, tests, seconds: int = 600) -> str:
        """Return the first of the ``tests`` that fails, or "" if all of them pass.

        A run that ends in another way (the copy does not load, or uses more than so many
        ``seconds`` of processor time) counts as failing and is named by its exit code.

        Raises
        ------
        LookupError
            If pytest finds no test.
        """
        read, write = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(read)
            try:
                resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
                os._exit(self._run(tests, write))
            finally:  # whatever is raised, the fork leaves the copy to its parent
                os._exit(BROKEN)
        os.close(write)
        with os.fdopen(read, encoding="utf-8") as pipe:
            failed = pipe.read()
        code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
        if code in (pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED):
            raise LookupError(f"no test was found in {tests}")
        return "" if code == PASSED else failed or f"exit code {code}"

    def _run(self, tests, write: int) -> int:
        """In a fork: forget the project's own modules and run the tests of the copy."""
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, 1)
        os.dup2(nothing, 2)
        for name in [one for one in sys.modules if re.match(r"(airover|tests)(\.|$)", one)]:
            del sys.modules[name]
        kit = str(self.root / "kit")
        os.environ["PYTHONPATH"] = kit
        sys.path[:0] = [kit, str(self.root)]
        os.chdir(self.root)
        with os.fdopen(write, "w", encoding="utf-8") as pipe:
            return int(pytest.main([*ARGUMENTS, *tests], plugins=[_Told(pipe)]))


class _Told:
    """Plugin of pytest that writes the name of each failing test."""

    def __init__(self, pipe):
        self.pipe = pipe

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.pipe.write(report.nodeid)

    def pytest_collectreport(self, report):
        if report.failed:
            self.pipe.write(report.nodeid or "collection")
