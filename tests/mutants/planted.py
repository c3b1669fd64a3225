"""Faults planted by hand: what a customer, a technician or a grader would read wrong.

`planted.toml` lists them, each with the test that is meant to find it. Stored outputs of the
worksheets do not count.

    python -m tests.mutants --planted                 all of them, some seconds each
    python -m tests.mutants --planted "pdf total"     those with these words in their names
"""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from tests.mutants.copy import PROJECT, Copy


@dataclass(frozen=True)
class Fault:
    """A fault with its name, its file, the text before and after, and the test that finds it."""

    name: str
    file: str
    before: str
    after: str
    test: str

    def text(self) -> str:
        """Return the file's text with the fault.

        Raises
        ------
        LookupError
            If the text before is not in the file exactly once.
        """
        text = (PROJECT / self.file).read_text(encoding="utf-8")
        if text.count(self.before) != 1:
            raise LookupError(f"{self.name}: {text.count(self.before)} times in {self.file}")
        return text.replace(self.before, self.after)


def faults() -> list[Fault]:
    """Return the faults in the order of their file."""
    path = Path(__file__).with_suffix(".toml")
    return [Fault(**one) for one in tomllib.loads(path.read_text(encoding="utf-8"))["fault"]]


def run_planted(words: list[str]) -> int:
    """Plant each fault, print whether its test fails, and return the number of faults not found.

    Raises
    ------
    LookupError
        If a test is not found, or fails without any fault.
    """
    chosen = [one for one in faults() if not words or any(word in one.name for word in words)]
    missed = 0
    with Copy() as copy:
        if failing := copy.failing(sorted({one.test for one in chosen})):
            raise LookupError(f"{failing} fails without any fault")
        for one in chosen:
            with copy.planted(one.file, one.text()):
                found = copy.failing([one.test])
            missed += not found
            print(f"{'found ' if found else 'MISSED'}  {one.name}  ({one.test})", flush=True)
    print(f"{len(chosen) - missed} of {len(chosen)} found")
    return missed
