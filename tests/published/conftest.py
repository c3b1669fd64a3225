"""Published values beside ours: each check is one row of CHECKS.md."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

PAGE = Path(__file__).with_name("CHECKS.md")
HEAD = """# Published values beside ours

Written by `python -m pytest tests/published --write-checks`; a test holds this page to
what the code gives. "From memory" says how sure we are of the published number: *recomputed*
where the recalled number follows from its formula, *not verified* where it was only recalled.

| subject | item | published | ours | difference | allowed | source |
| --- | --- | ---: | ---: | ---: | ---: | --- |
"""
ROWS = {}


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
    """Compares one published value with ours and keeps the row for the page."""

    def __init__(self, subject: str):
        self.subject = subject

    def agrees(self, item, ours, published, *, within, source):
        """Assert that ``ours`` lies within the relative tolerance ``within`` of ``published``."""
        row = Row(self.subject, item, float(published), float(ours), within, source)
        ROWS[self.subject, item] = row
        np.testing.assert_allclose(row.ours, row.published, rtol=within, err_msg=item)


def pytest_addoption(parser):
    parser.addoption("--write-checks", action="store_true", help="rewrite tests/published/CHECKS.md")


@pytest.fixture
def book(request):
    """The checks page; the subject is the test module's name without ``test_``."""
    return Book(request.module.__name__.rpartition(".")[2].removeprefix("test_").replace("_", " "))


def page() -> str:
    return HEAD + "\n".join(ROWS[key].line() for key in sorted(ROWS)) + "\n"
