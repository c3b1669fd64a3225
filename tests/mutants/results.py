"""What became of the mutants: rows as they were written, and a table of them."""

import json
from collections import defaultdict
from pathlib import Path

FOUND = ("killed", "broken", "never ends")  # "broken": the module does not even load
PUBLISHED = "tests/published/"


def read(path: Path) -> list[dict]:
    """The rows of a file; of a mutant that was tried more than once, what found it first."""
    latest = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        key = name_of(row)
        if latest.get(key, {}).get("ended") not in FOUND:
            latest[key] = row
    return list(latest.values())


def name_of(row) -> tuple:
    """What a mutant is known by, whatever changes elsewhere in its file."""
    return tuple(row[part] for part in ("module", "where", "before", "after", "nth"))


def caught(rows) -> set[tuple]:
    """The names of the mutants that were found."""
    return {name_of(row) for row in rows if row["ended"] in FOUND}


def survivors(rows, modules) -> list[str]:
    """A line for each mutant of ``modules`` that no test found."""
    return [
        f"{row['module']}:{row['line']} {row['where']}: {row['before']} -> {row['after']}"
        for row in rows
        if row["module"] in modules and row["ended"] not in FOUND
    ]


def as_page(rows) -> str:
    """A table with a line for each module and one for all."""
    lines = [
        "# Mutants: figures of the long run",
        "",
        "Written by `python -m tests.mutants --page tests/mutants/RESULTS.md`; DEVELOPERS.md says",
        "what a mutant is and what the survivors are. The last two columns are those of faults in",
        "numbers and arithmetic, and how many of these a check against a published value found.",
        "",
        "| module | mutants | found | share | in numbers | by a published check |",
        "| --- | ---: | ---: | ---: | ---: | ---: |",
    ]
    by_module = defaultdict(list)
    for row in rows:
        by_module[row["module"].removeprefix("airover.")].append(row)
    lines += [_line(f"`{name}`", by_module[name]) for name in sorted(by_module)]
    return "\n".join([*lines, _line("all", rows), ""])


def _line(name: str, rows) -> str:
    found = sum(row["ended"] in FOUND for row in rows)
    numeric = [row for row in rows if row["numeric"]]
    published = sum(_by_published(row) for row in numeric)
    share = f"{found / len(rows):.1%}"
    return f"| {name} | {len(rows)} | {found} | {share} | {len(numeric)} | {published} |"


def _by_published(row) -> bool:
    return row["ended"] == "killed" and row["by"].startswith(PUBLISHED)
