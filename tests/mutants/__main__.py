"""Mutation testing of some modules; the package says how it is used.

    python -m tests.mutants airover.physics.air --results air.jsonl
    python -m tests.mutants airover.physics.air --tests tests/physics/test_air.py --go-on --results air.jsonl
    python -m tests.mutants --page tests/mutants/RESULTS.md --results air.jsonl
    python -m tests.mutants --files texts --sample 20 --results texts.jsonl
    python -m tests.mutants --planted

The second tries only what the first has left alive. The first three need mutmut, which is not
among the pins. The last two plant random faults in texts and data (see `tests.mutants.files`) and
the faults of planted.toml (see `tests.mutants.planted`).
"""

import argparse
import sys
from pathlib import Path

import pytest

from tests.mutants.files import KINDS, run_files
from tests.mutants.planted import run_planted

BY_HAND = "\n## Samples by room"  # kept when the table above it is written again


def main(argv=None) -> int:
    asked = _parser().parse_args(argv)
    if asked.planted is not None:
        return min(run_planted(asked.planted), 1)
    if asked.results is None:
        _parser().error("--results or --planted is needed")
    if asked.files:
        run_files(asked.files, asked.sample, asked.seed, asked.results)
        return 0
    from tests.mutants.results import as_page, caught, name_of, read, survivors  # need mutmut
    from tests.mutants.session import Session
    from tests.mutants.uncompiled import run_uncompiled

    if asked.uncompiled:
        run_uncompiled()
    if asked.modules:
        tried = read(asked.results)
        leave_out = caught(tried) if asked.go_on or asked.again else set()
        only = {name_of(row) for row in tried} if asked.again else None
        told = ["-q", "--tb=no", "-p", "no:cacheprovider", "-p", "no:nbval", "-o", "addopts="]
        if code := pytest.main([*told, *asked.tests], plugins=[Session(asked, leave_out, only)]):
            return int(code)
    rows = read(asked.results)
    print("\n".join(survivors(rows, asked.modules)))
    if asked.page:
        before = asked.page.read_text(encoding="utf-8") if asked.page.exists() else ""
        by_hand = before[before.find(BY_HAND) :] if BY_HAND in before else ""
        asked.page.write_text(as_page(rows) + by_hand, encoding="utf-8")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutants", description="Plant small faults; see whether a test fails."
    )
    parser.add_argument("modules", nargs="*", help="such as airover.physics.air")
    parser.add_argument("--tests", nargs="+", default=["tests/published"], help="for pytest")
    parser.add_argument("--numeric", action="store_true", help="numbers and arithmetic only")
    parser.add_argument("--uncompiled", action="store_true", help="numba's code run by Python")
    parser.add_argument("--go-on", action="store_true", help="leave out what was found before")
    parser.add_argument("--again", action="store_true", help="only what is alive in the results")
    parser.add_argument("--files", choices=KINDS, help="faults in texts or data")
    parser.add_argument("--sample", type=int, default=0, help="so many mutants, drawn by --seed")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--results", type=Path, help="JSON lines, added to")
    words = "words in the names of faults; none for all"
    parser.add_argument("--planted", nargs="*", metavar="WORDS", help=words)
    parser.add_argument("--page", type=Path, help="where a table of all results goes")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=4.0, help="of tests for one mutant")
    return parser


if __name__ == "__main__":
    sys.exit(main())
