"""Comparison with published values and independent methods; each check is a row of CHECKS.md."""

import re
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

PAGE = Path(__file__).with_name("CHECKS.md")
HEAD = """# Comparison with published values

This page compares results of airover with published values, with libraries and with our own second
calculations. The three are kept apart, because only the first is evidence from outside. The command
`python -m pytest tests/published --write-checks` writes the page, and a test compares it with the
code. Published measurements are on [another page](../../worksheets/guide/evidence.md).

"""
TABLE = """| subject | item | {} | ours | difference | allowed | source |
| --- | --- | ---: | ---: | ---: | ---: | --- |
"""
KINDS = {
    "Published values": """Values marked *read* were read in the source. Values marked *quoted* were read where another page
quotes the source. Values *from memory* were not looked up: they are marked *recomputed* if the value
was confirmed with its equation, and *not verified* if it was not.""",
    "Motor with one winding": """These textbook examples test `physics.circuit.single_winding`. The product does not use this function,
because every motor that it covers has a run capacitor.""",
    "Libraries": "A general-purpose library calculates the same value in the test.",
    "Own calculations": """Values from closed forms, balances, separate programs of ours and common practice. They show that the
code does what it should, not that the model is right.""",
}
PUBLISHED = tuple(KINDS)[:2]
LIBRARY = re.compile(
    r"(^(library )?(CoolProp|PsychroLib|OR-Tools|SciPy|fluids|ht|numpy-financial|scipy)\b"
    r"|, (SciPy|NumPy)\b).*\brun in th"
)
PUBLICATION = re.compile(
    r"\b(ASHRAE|ASTM|Booser|CIPM|Cachon|Chapman|Cox|Erlang B|Fitzgerald|GUM|GridLAB-D|Gelman"
    r"|Gigerenzer|IEC|IEEE|ISO|Incropera|Kothari|Lavan|Lemmon|Mitchell|NEMA|Nahmias|Raimondi|Sherbrooke"
    r"|Shigley|Tversky|UL|US patent|EnergyPlus|chi-squared)\b"
)
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

    @property
    def kind(self) -> str:
        """Heading of the row's table."""
        if "single_winding" in self.source:
            return "Motor with one winding"
        if LIBRARY.search(self.source):
            return "Libraries"
        looked_up = self.source.endswith(("; read", "; quoted")) or "from memory" in self.source
        own = self.source.startswith("by hand") or "in this test" in self.source
        if looked_up and PUBLICATION.search(self.source) and not own:
            return "Published values"
        return "Own calculations"

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

        ``source`` ends with "; read" if the value was read in the source, with "; quoted" if it was
        read where another page quotes it, or it says "from memory, recomputed" or "from memory, not
        verified". A source without these words counts as our own calculation.

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
    parts = [HEAD, _counts()]
    for kind, text in KINDS.items():
        lines = [ROWS[key].line() for key in sorted(ROWS) if ROWS[key].kind == kind]
        table = TABLE.format("published" if kind in PUBLISHED else "other value")
        parts.append(f"\n## {kind}\n\n{text}\n\n{table}" + "\n".join(lines) + "\n")
    second = "\n".join(_road_line(key) for key in sorted(ROADS))
    return f"{''.join(parts)}{SECOND_HEAD}{second}\n"


def _counts() -> str:
    """Return the table that says how many rows there are of each kind, and their status."""
    lines = ["| kind | values | read | quoted | recomputed | not verified |"]
    lines.append("| --- | ---: | ---: | ---: | ---: | ---: |")
    for kind in KINDS:
        sources = [row.source for row in ROWS.values() if row.kind == kind]
        found = [
            sum(word in one for one in sources) for word in ("; read", "; quoted", "not verified")
        ]
        read, quoted, unsure = found
        status = (read, quoted, len(sources) - sum(found), unsure)
        shown = status if kind in PUBLISHED else ("-",) * 4
        lines.append(f"| {kind} | {len(sources)} | {' | '.join(map(str, shown))} |")
    return "\n".join(lines) + "\n"


def _road_line(key) -> str:
    (module, what, by, test), (cases, largest, allowed) = key, ROADS[key]
    seen = next((f"below {order:.0e}" for order in SMALL if largest < order), f"{largest:.1e}")
    seen = seen if allowed else "0"
    return f"| `{module}` | {what} | {by} | {cases} | {seen} | {allowed:g} | {test} |"
