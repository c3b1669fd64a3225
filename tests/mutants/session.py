"""A plugin of pytest: the tests are gathered once; each mutant is tried by a fork of that process.

A fork plants the mutant, runs the tests that reach its function, and ends at the first that
fails. So a mutant costs as much as its tests do, and no more.
"""

import builtins
import contextlib
import importlib
import json
import os
import random
import resource
import sys
import time
from collections import Counter, defaultdict
from itertools import pairwise
from pathlib import Path

import pytest

from tests.mutants.plant import plant, with_hits
from tests.mutants.results import name_of, source_of

LIVES, KILLED, BROKEN = 0, 1, 3


class Session:
    """What a run is told, and the hooks of pytest that do it."""

    def __init__(self, asked, leave_out: set, only: set | None = None):
        self.asked = asked
        self.leave_out = leave_out  # names of mutants
        self.only = only  # names of mutants, None for all
        self.failed = None
        self.hits = set()  # functions that the current test has reached
        self.built = {}  # fixture that several tests share: its seconds, functions that it reaches
        self.killers = defaultdict(Counter)  # function: which tests found its mutants

    def pytest_configure(self, config):
        from hypothesis import Phase, settings  # pytest warns of plugins that come before it

        # A loaded machine is no fault, the same cases come each time, and a first failure will do.
        settings.register_profile(
            "mutants",
            derandomize=True,
            deadline=None,
            database=None,
            phases=(Phase.explicit, Phase.generate),
        )
        settings.load_profile("mutants")
        os.environ["AIROVER_CACHE"] = ""  # results from the disk would hide a mutant in memory

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.failed = report.nodeid

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef):
        before, began = set(self.hits), time.perf_counter()
        self.hits.clear()
        try:
            return (yield)
        finally:
            if fixturedef.scope != "function":
                seconds = time.perf_counter() - began
                self.built[_name(fixturedef)] = seconds, sorted(self.hits)
            self.hits |= before

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        if session.testsfailed:
            raise session.Interrupted("the tests could not be gathered")
        self.items = {item.nodeid: item for item in session.items}
        self.modules = {name: importlib.import_module(name) for name in self.asked.modules}
        self.reached = self._reached()
        jobs = list(self._jobs())
        if self.asked.sample and self.asked.sample < len(jobs):
            jobs = random.Random(self.asked.seed).sample(jobs, self.asked.sample)
        with open(self.asked.results, "a", encoding="utf-8") as self.results:
            self._try_all(jobs)
        return True

    # Which test reaches which function

    def _reached(self) -> dict:
        """Of each test: its seconds, and the functions that it and its fixtures reach."""
        read, write = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(read)
            _be_silent()
            with os.fdopen(write, "w", encoding="utf-8") as pipe:
                json.dump(self._look(), pipe)
            os._exit(0)
        os.close(write)
        with os.fdopen(read, encoding="utf-8") as pipe:
            found = json.load(pipe)
        os.waitpid(pid, 0)
        _load(found.pop("loaded"))
        self.built = found.pop("built")
        bad = [name for name, one in found.items() if one["failed"]]
        if bad:
            raise SystemExit(f"these tests fail without any mutant: {bad}")
        return found

    def _look(self) -> dict:
        """In a fork: run every test once."""
        builtins.__hit__ = self.hits.add
        for name, module in self.modules.items():
            text = Path(module.__file__).read_text(encoding="utf-8")
            plant(module, with_hits(text, name), constants=False)
        found, before = {}, set(sys.modules)
        for item, following in pairwise((*self.items.values(), None)):
            self.hits.clear()
            known, began = set(self.built), time.perf_counter()
            failed = self._fails(item, following)
            seconds = time.perf_counter() - began
            seconds -= sum(self.built[name][0] for name in set(self.built) - known)
            shared = [name for name in _fixtures(item) if name in self.built]
            hits = self.hits.union(*(self.built[name][1] for name in shared))
            found[item.nodeid] = {"seconds": seconds, "hits": sorted(hits), "failed": failed}
        found["loaded"], found["built"] = sorted(set(sys.modules) - before), self.built
        return found

    def _fails(self, item, following) -> bool:
        """Run a test. Fixtures stay for the ``following`` one, if it is in the same file."""
        self.failed = None
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        return self.failed is not None

    # The mutants

    def _jobs(self):
        """(module, its source, a mutant), those of one function one after the other."""
        for name in self.modules:
            source = source_of(name)
            for mutant in source.mutants:
                known = name_of({"module": name, **vars(mutant)})
                if known in self.leave_out or self.only is not None and known not in self.only:
                    continue
                if mutant.numeric or not self.asked.numeric:
                    yield name, source, mutant

    def _tests(self, name: str, where: str) -> list[str]:
        """The tests of a function: those that found its mutants before, then the quick ones."""
        at = f"{name}:{where}"  # of a module's own statement: whatever it holds
        tests = [
            one
            for one, seen in self.reached.items()
            if any(hit == at or (not where and hit.startswith(at)) for hit in seen["hits"])
        ]
        killers = self.killers[at]
        own = name.rpartition(".")[2]
        tests.sort(key=lambda one: (-killers[one], f"test_{own}.py" not in one, self._seconds(one)))
        kept = []
        for one in tests:
            if kept and self._needed([*kept, one]) > self.asked.seconds:
                break
            kept.append(one)
        return kept

    def _needed(self, tests) -> float:
        """Seconds of some tests and of the fixtures that they share."""
        shared = set().union(*(_fixtures(self.items[one]) for one in tests)) & set(self.built)
        return sum(self.built[name][0] for name in shared) + sum(map(self._seconds, tests))

    def _seconds(self, nodeid: str) -> float:
        return self.reached[nodeid]["seconds"]

    def _try_all(self, jobs) -> None:
        running = {}
        began, done = time.monotonic(), 0
        for name, source, mutant in jobs:
            while len(running) >= self.asked.processes:
                done += self._wait(running)
            tests = self._tests(name, mutant.where)
            read, write = os.pipe()
            pid = os.fork()
            if pid == 0:
                os.close(read)
                self._try(name, source, mutant, tests, write)
            os.close(write)
            running[pid] = (name, mutant, len(tests), read)
            if done % 200 == 0:
                left = (time.monotonic() - began) / max(done, 1) * (len(jobs) - done)
                print(f"{done} of {len(jobs)} tried, {left:.0f} s left", flush=True)
        while running:
            done += self._wait(running)

    def _try(self, name, source, mutant, tests, write) -> None:
        """In a fork: plant, test, end."""
        _be_silent()
        allowed = 10 + 5 * self._needed(tests)
        resource.setrlimit(resource.RLIMIT_CPU, (int(allowed), int(allowed) + 5))
        try:
            plant(self.modules[name], source.planted(mutant.number), constants=not mutant.where)
        except BaseException as error:  # noqa: BLE001 - whatever a mutant raises, it is found
            os.write(write, type(error).__name__.encode())
            os._exit(BROKEN)
        files = list(dict.fromkeys(one.partition("::")[0] for one in tests))
        tests = sorted(tests, key=lambda one: files.index(one.partition("::")[0]))
        for one, following in pairwise((*tests, None)):
            if self._fails(self.items[one], self.items.get(following)):
                os.write(write, one.encode())
                os._exit(KILLED)
        os._exit(LIVES)

    def _wait(self, running) -> int:
        pid, status = os.wait()
        name, mutant, tests, read = running.pop(pid)
        with os.fdopen(read, "rb") as pipe:
            said = pipe.read().decode()
        code = os.waitstatus_to_exitcode(status)
        ended = {LIVES: "lives", KILLED: "killed", BROKEN: "broken"}.get(code, "never ends")
        if ended == "lives" and not tests:
            ended = "untested"
        if ended == "killed":
            self.killers[f"{name}:{mutant.where}"][said] += 1
        row = {"module": name, **vars(mutant), "ended": ended, "by": said, "tests": tests}
        print(json.dumps(row), file=self.results, flush=True)
        return 1


def _name(fixture) -> str:
    return f"{fixture.baseid}::{fixture.argname}"


def _fixtures(item) -> set[str]:
    """Names of all fixtures that a test needs."""
    return {_name(known[-1]) for known in item._fixtureinfo.name2fixturedefs.values()}


def _load(names) -> None:
    """What the tests load by and by, so that no fork has to; CoolProp also reads its tables."""
    for name in names:
        if not name.startswith(("airover", "tests", "_")):
            with contextlib.suppress(ImportError):  # some are made by others, not files
                importlib.import_module(name)
    if "CoolProp" in sys.modules:
        sys.modules["CoolProp.CoolProp"].PropsSI("D", "T", 300.0, "P", 1e5, "R410A")
        sys.modules["CoolProp.CoolProp"].HAPropsSI("W", "T", 300.0, "P", 1e5, "R", 0.5)


def _be_silent() -> None:
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
