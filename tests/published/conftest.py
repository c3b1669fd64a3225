"""Comparison with published values and independent methods; each check is a row of CHECKS.md."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

PAGE = Path(__file__).with_name("CHECKS.md")
HEAD = """# Comparison with published values

This page compares results of airover with published values. The command
`python -m pytest tests/published --write-checks` writes the page, and a test compares it with the
code. Values "from memory" were not looked up in the source. They are marked *recomputed* if the
value was confirmed with its equation, and *not verified* if it was not.

| subject | item | published | ours | difference | allowed | source |
| --- | --- | ---: | ---: | ---: | ---: | --- |
"""
SECOND = "Independent methods"
SECOND_HEAD = f"""
## {SECOND}

The same results are calculated with an independent method, such as a general-purpose library, a
closed-form equation, numerical integration, a brute-force search or a conservation law. The table
shows the largest relative difference, unless the item names another reference. Differences below
1e-4 are shown only as an order of magnitude, because they depend on the computer and the SciPy
version. If there is only one equation, the other method integrates its differential equation.

| module | result | independent method | cases | largest difference | allowed | test |
| --- | --- | --- | ---: | ---: | ---: | --- |
"""
SMALL = (1e-8, 1e-6, 1e-4)  # smaller differences depend on the computer and SciPy version
ROWS, ROADS = {}, {}


class Row(NamedTuple):
    subject: str
    item: str
    published: float
    ours: float
    allowed: float
    source: str

    def line(self) -> str:
        difference = 100 * (self.ours / self.published - 1) if self.published else 0.0
        shown = f"{difference:.2f}".replace("-0.00", "0.00")
        return (
            f"| {self.subject} | {self.item} | {self.published:.5g} | {self.ours:.5g} "
            f"| {shown} % | {100 * self.allowed:g} % | {self.source} |"
        )


class Book:
    """Compares published values with our results and keeps the rows for the page."""

    def __init__(self, subject: str, road: "Road"):
        self.subject, self.road = subject, road

    def agrees(self, item, ours, published, *, within, source, road=()):
        """Assert that ``ours`` lies within the relative tolerance ``within`` of ``published``.

        ``road`` (module, result) also adds the value to the table of independent methods. Use it if
        the value is from a library or a solver that runs in the test.
        """
        row = Row(self.subject, item, float(published), float(ours), within, source)
        ROWS[self.subject, item] = row
        if road:
            self.road(*road, ours, published, by=source, within=within)
        np.testing.assert_allclose(row.ours, row.published, rtol=within, err_msg=item)


class Road:
    """Compares results of a module with an independent method and keeps the largest difference."""

    def __init__(self, test: str):
        self.test = test

    def __call__(self, module, what, ours, theirs, *, by, within, over=None):
        """Assert that ``ours`` and ``theirs``, with the same shape, differ by at most ``within``.

        The difference is divided by ``over``, which is |theirs| by default.
        """
        ours, theirs = (1 * one for one in np.broadcast_arrays(ours, theirs))  # truths as numbers
        size = np.abs(theirs) if over is None else np.asarray(over)
        apart = np.max(np.abs(ours - theirs) / size)
        cases, largest, allowed = ROADS.get((module, what, by, self.test), (0, 0.0, 0.0))
        found = cases + ours.size, max(largest, apart), max(allowed, within)
        ROADS[module, what, by, self.test] = found
        assert apart <= within, f"{module}, {what}: {apart:.3g} apart, allowed {within:g}"


def pytest_addoption(parser):
    what = "rewrite tests/published/CHECKS.md"
    parser.addoption("--write-checks", action="store_true", help=what)


@pytest.fixture
def road(request):
    """Table of independent methods on the page; each test is listed by its module and function."""
    module = request.module.__name__.rpartition(".")[2]
    return Road(f"`{module}::{request.node.originalname}`")


@pytest.fixture
def book(request, road):
    """Page of published values; the subject is the test module's name without ``test_``."""
    name = request.module.__name__.rpartition(".")[2].removeprefix("test_").replace("_", " ")
    return Book(name, road)


def page() -> str:
    published = "\n".join(ROWS[key].line() for key in sorted(ROWS))
    second = "\n".join(_road_line(key) for key in sorted(ROADS))
    return f"{HEAD}{published}\n{SECOND_HEAD}{second}\n"


def _road_line(key) -> str:
    (module, what, by, test), (cases, largest, allowed) = key, ROADS[key]
    seen = next((f"below {order:.0e}" for order in SMALL if largest < order), f"{largest:.1e}")
    seen = seen if allowed else "0"
    return f"| `{module}` | {what} | {by} | {cases} | {seen} | {allowed:g} | {test} |"
