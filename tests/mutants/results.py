"""What became of the mutants: rows as they were written, and a table of them."""

import json
from importlib.util import find_spec
from pathlib import Path

from tests.mutants.make import Source

FOUND = ("killed", "broken", "never ends")  # "broken": the module does not even load
PUBLISHED = "tests/published/"


def read(path: Path) -> list[dict]:
    """The rows of a file, none where there is no file yet."""
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def name_of(row) -> tuple:
    """What a mutant is known by, whatever changes elsewhere in its file."""
    return tuple(row[part] for part in ("module", "where", "before", "after", "nth"))


def source_of(module: str) -> Source:
    return Source(Path(find_spec(module).origin).read_text(encoding="utf-8"))


def caught(rows) -> set[tuple]:
    """The names of the mutants that were found."""
    return {name_of(row) for row in rows if row["ended"] in FOUND}


def survivors(rows, modules) -> list[str]:
    """A line for each mutant of ``modules``, as they are now, that no test found."""
    found = caught(rows)
    return [
        f"{module}:{one.line} {one.where}: {one.before} -> {one.after}"
        for module in modules
        for one in source_of(module).mutants
        if name_of({"module": module, **vars(one)}) not in found
    ]


HEAD = """# Mutants: figures of the long run

Written by `python -m tests.mutants --page tests/mutants/RESULTS.md`; tests/mutants/__init__.py says what a mutant
is, and what those are that no test found. The last two columns are faults in numbers and arithmetic,
and how many of these a check against a published value or by an independent method found.
Modules have the names of that run.

| module | mutants | found | share | in numbers | by a published check |
| --- | ---: | ---: | ---: | ---: | ---: |
"""


def as_page(rows) -> str:
    """A table with a line for each module that has rows, as it is now, and one for all."""
    found = caught(rows)
    published = {
        name_of(row) for row in rows if row["ended"] == "killed" and row["by"].startswith(PUBLISHED)
    }
    lines, whole = [], [0] * 4
    for module in sorted({row["module"] for row in rows}):
        mutants = source_of(module).mutants
        names = [name_of({"module": module, **vars(one)}) for one in mutants]
        numeric = [name for name, one in zip(names, mutants, strict=True) if one.numeric]
        counts = len(names), len(found & set(names)), len(numeric), len(published & set(numeric))
        whole = [one + more for one, more in zip(whole, counts, strict=True)]
        lines.append(_line(f"`{module.removeprefix('airover.')}`", *counts))
    return HEAD + "\n".join([*lines, _line("all", *whole), ""])


def _line(name: str, mutants: int, found: int, numeric: int, published: int) -> str:
    return f"| {name} | {mutants} | {found} | {found / mutants:.1%} | {numeric} | {published} |"
