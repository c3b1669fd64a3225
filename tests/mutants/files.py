"""Random faults in files that are read: texts and data.

A fault changes a number, exchanges the values of two neighboring entries, exchanges two places of a
text, or changes a unit. Each is tried in a copy of the project with the tests of its kind of file.

    python -m tests.mutants --files texts --sample 20 --results texts.jsonl
"""

import json
import random
import re
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from tests.mutants.copy import PROJECT, Copy

ENTRY = re.compile(r'^(?P<head>(?:"[^"]+"|[\w.-]+) = )(?P<value>.+)$')
PLACE = re.compile(r"\{[a-z_]+\}")
NUMBER = re.compile(r"(?<![\w.{-])\d+(?:\.\d+)?(?![\w}]*[}\w])")
# Each unit with one that a reader would take it for.
UNITS = {
    "V": "A", "A": "V", "W": "hp", "hp": "W", "h": "years", "years": "h", "rpm": "Hz", "uF": "V",
    "degF": "degC", "degC": "degF", "K": "degC", "cfm": "m3/s", "%": "K",
}  # fmt: skip
UNIT = re.compile(rf"(?<=[\d}}\]\[ ])(?:{'|'.join(map(re.escape, UNITS))})(?=[\s.,;)\]\"]|$)")
# For each kind, files with the tests that are meant to find a fault in them.
KINDS = {
    "texts": [
        (["kit/airover/texts/*/*.toml"],
         ["tests/core/test_translations.py", "tests/core/test_texts.py",
          "tests/reports/test_wording.py", "tests/project/test_numbers.py",
          "tests/service/test_work_order.py", "tests/reports/test_papers.py"]),
    ],
    "data": [
        (["data/causes.toml"], ["tests/reports/test_wording.py", "tests/service/test_cause.py"]),
        (["data/questions/*.toml"],
         ["tests/lesson/test_lesson_texts.py", "tests/lesson/test_lesson_bank.py"]),
        (["data/lesson/cases/*.toml"],
         ["tests/lesson/test_lesson_texts.py", "tests/lesson/test_lesson_case.py"]),
        (["data/catalogue.csv"], ["tests/records/test_catalog_data.py"]),
    ],
}  # fmt: skip


class FileFault(NamedTuple):
    """A changed file: its name, the line, the kind of fault, and the lines before and after."""

    file: str
    line: int
    kind: str
    before: str
    after: str


def file_faults(file: str) -> list[FileFault]:
    """Return the faults of a file, named from the project's folder."""
    lines = (PROJECT / file).read_text(encoding="utf-8").splitlines()
    found = []
    for at, line in enumerate(lines):
        if line.lstrip().startswith("#") or not line.strip() or line.startswith("["):
            continue
        entry = ENTRY.match(line)
        head, value = (entry["head"], entry["value"]) if entry else ("", line)
        changed = [("number", one, _larger(one[0])) for one in NUMBER.finditer(value)]
        if "texts" in file:
            changed += [("unit", one, UNITS[one[0]]) for one in UNIT.finditer(value)]
        for kind, one, new in changed:
            after = head + value[: one.start()] + new + value[one.end() :]
            found.append(FileFault(file, at, kind, line, after))
        for first, second in pairwise(PLACE.finditer(value)):
            if first[0] != second[0]:
                after = value[: first.start()] + second[0] + value[first.end() : second.start()]
                after += first[0] + value[second.end() :]
                found.append(FileFault(file, at, "places", line, head + after))
        following = ENTRY.match(lines[at + 1]) if entry and at + 1 < len(lines) else None
        if following and following["value"] != value:
            after = f"{head}{following['value']}\n{following['head']}{value}"
            found.append(FileFault(file, at, "exchange", f"{line}\n{lines[at + 1]}", after))
    return found


def _larger(number: str) -> str:
    """Return a number that is larger by one in its last digit."""
    decimals = len(number.partition(".")[2])
    return f"{float(number) + 10**-decimals:.{decimals}f}"


def planted(fault: FileFault) -> str:
    """Return the text of the file with the fault."""
    lines = (PROJECT / fault.file).read_text(encoding="utf-8").splitlines()
    lines[fault.line : fault.line + fault.before.count("\n") + 1] = [fault.after]
    return "\n".join(lines) + "\n"


def run_files(kind: str, sample: int, seed: int, results: Path) -> None:
    """Try a ``sample`` of the faults in the files of a ``kind``, each kind of fault as often."""
    tests = {path.relative_to(PROJECT).as_posix(): tests for patterns, tests in KINDS[kind]
             for one in patterns for path in sorted(PROJECT.glob(one))}  # fmt: skip
    every = [one for file in tests for one in file_faults(file)]
    by_kind = {name: [one for one in every if one.kind == name]
               for name in ("number", "exchange", "places", "unit")}  # fmt: skip
    drawn, rng = [], random.Random(seed)
    kinds = [name for name, faults in by_kind.items() if faults]
    for number in range(sample):
        drawn.append(rng.choice(by_kind[kinds[number % len(kinds)]]))
    found = 0
    with Copy() as copy, results.open("a", encoding="utf-8") as rows:
        for one in drawn:
            with copy.planted(one.file, planted(one)):
                tried = (copy.failing([test]) for test in tests[one.file])  # quick ones first
                by = next(filter(None, tried), "")
            found += bool(by)
            row = {"room": kind, **one._asdict(), "ended": "killed" if by else "lives", "by": by}
            print(json.dumps(row, ensure_ascii=False), file=rows, flush=True)
    print(f"{found} of {len(drawn)} found")
