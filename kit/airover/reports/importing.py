"""Report the matched columns, omitted rows and missing data of an imported table."""

from pathlib import Path

import pandas as pd

from airover.core.files import write_files
from airover.core.texts import Writer
from airover.records.catalog import catalog_of
from airover.records.importing import (
    CATALOG,
    MATCH_ENDING,
    UNITS,
    Imported,
    imported_calls,
    imported_catalog,
    imported_units,
    save_matches,
)
from airover.records.nameplate_text import OPEN, NameplateText
from airover.records.tables import said
from airover.reports import plain, writing

MOST_PROBLEMS = 12  # maximum number of reasons in a report (the file lists all of them)
# Optional data of a catalog motor, by attribute. The texts explain the effect of missing data.
DECIDING = (
    "capacitor", "insulation_class", "ambient_rating", "bearings", "rotation", "frame",
    "shaft_diameter", "shaft_length", "body_length", "mounting", "shaft_positions", "enclosure",
    "protector", "price",
)  # fmt: skip


def match_table(found: Imported, writer: Writer) -> pd.DataFrame:
    """Return each table column with its field, unit, basis of the match and an example."""
    rows = [
        {
            "heading": one.heading,
            "field": one.field or writer("import.not_used"),
            "unit": one.unit,
            "how": writer(f"import.how.{one.how}") if one.how else "",
            "example": next((cell for cell in found.sheet.column(one.at) if cell), ""),
        }
        for one in found.matches
    ]
    return writing.table(rows, "import.column", writer)


def left_out_table(found: Imported, writer: Writer) -> pd.DataFrame:
    """Return the omitted rows of the file with their line numbers and reasons."""
    reasons: dict[int, list[str]] = {}
    for one in found.problems:
        reasons.setdefault(one.line, []).append(said(one.reason, writer).rstrip("."))
    rows = dict(zip(found.sheet.lines, found.sheet.rows))
    frame = pd.DataFrame(
        [rows[line] for line in sorted(found.left_out)], columns=list(found.sheet.headings)
    )
    lines = sorted(found.left_out)
    frame.insert(0, writer("import.column.reason"), ["; ".join(reasons[line]) for line in lines])
    frame.insert(0, writer("import.column.line"), lines)
    return frame


def problem_table(found: Imported, writer: Writer) -> pd.DataFrame:
    """Return the count, consequence, first example and reason for each kind of problem."""
    rows = [
        {
            "count": count,
            "effect": writer("capture.effect.row" if one.stops else "capture.effect.cell"),
            "line": one.line,
            "heading": one.heading,
            "given": one.given[:40],
            "why": said(one.reason, writer),
        }
        for one, count in found.kinds_of_problem()
    ]
    return writing.table(rows, "capture.problem", writer)


def import_text(found: Imported, writer: Writer, good: int, missing: dict[str, int]) -> str:
    """Return the import report as text for a terminal.

    Parameters
    ----------
    good : int
        Number of rows used.
    missing : dict[str, int]
        Number of motors without a value, by field.
    """
    matches = match_table(found, writer).to_string(index=False, justify="left", max_colwidth=34)
    counts = writer("import.counts", good=good, out=len(found.left_out), rows=len(found.sheet.rows))
    kinds = found.kinds_of_problem()
    told = [
        writer(
            f"import.problem.{'row' if one.stops else 'cell'}",
            count=count, line=one.line, heading=one.heading or writer("import.whole_row"),
            given=one.given[:40], why=said(one.reason, writer),
        )
        for one, count in kinds[:MOST_PROBLEMS]
    ]  # fmt: skip
    if len(kinds) > MOST_PROBLEMS:
        told.append(writer("import.more", count=len(kinds) - MOST_PROBLEMS))
    lacks = [
        writer("import.lacks", count=count, costs=writer(f"import.costs.{name}"))
        for name, count in missing.items()
    ]
    return plain.paragraphs(
        (
            matches,
            counts,
            plain.listed(writer("import.problems"), told),
            plain.listed(writer("import.assumptions"), map(writer, found.assumed)),
            plain.listed(writer("import.lacking"), lacks),
        )
    )


def import_dict(found: Imported, writer: Writer, good: int, missing: dict[str, int]) -> dict:
    """Return the import report as a dict for JSON."""
    return {
        "table": found.table,
        "rows": len(found.sheet.rows),
        "used": good,
        "left_out": sorted(found.left_out),
        "columns": {one.heading: {"field": one.field, "unit": one.unit, "by": one.how} for one in found.matches},
        "problems": [
            {"line": one.line, "heading": one.heading, "given": one.given, "reason": said(one.reason, writer),
             "left_out": one.stops}
            for one in found.problems
        ],
        "assumed": [writer(one) for one in found.assumed],
        "missing": missing,
    }  # fmt: skip


def missing_facts(text: str) -> dict[str, int]:
    """Return the number of motors in a catalog file that lack a value, for each field in DECIDING.

    Fields with a value for every motor are omitted.
    """
    motors = catalog_of(text)
    counts = {
        name: sum(getattr(one, name) in (None, "", ()) for one in motors) for name in DECIDING
    }
    return {name: count for name, count in counts.items() if count}


def write_import(
    found: Imported, folder: Path, name: str, content: str, writer: Writer
) -> list[Path]:
    """Write the table in airover's format, the column matches and the omitted rows.

    Return the paths of the files.

    Parameters
    ----------
    name : str
        Name of the table file without its extension.

    Raises
    ------
    InputError
        If the folder cannot be written.
    """
    files = {f"{name}{MATCH_ENDING}": save_matches(found)}
    if content:
        files[f"{name}.{found.table}.csv"] = content
    if found.left_out:
        files[f"{name}.left-out.csv"] = writing.csv(left_out_table(found, writer))
    return write_files(folder, files, "out")


def as_file(found: Imported, maker: str) -> tuple[str, int]:
    """Return the text of a file in airover's format, and its number of rows."""
    if found.table == CATALOG:
        text = imported_catalog(found, maker)
        return text, len(catalog_of(text))
    (imported_units if found.table == UNITS else imported_calls)(found)  # to drop unusable rows
    lines = list(found.facts)
    names = list(dict.fromkeys(name for line in lines for name in found.facts[line]))
    frame = pd.DataFrame([found.facts[line] for line in lines], columns=names).fillna("")
    return writing.csv(frame), len(lines)


def nameplate_read(text: NameplateText, writer: Writer) -> str:
    """Return the values read from a nameplate and the words that were not recognized."""
    told = []
    for one in text.found:
        values = ", ".join((one.value, *one.others))
        certainty = writer(f"nameplate_text.certainty.{one.certainty}", values=values)
        key = "open_field" if one.certainty == OPEN else "field"
        facts = {"value": one.value, "words": one.words, "certainty": certainty}
        name = writer(f"page.nameplate.{one.field}")
        told.append(writer(f"nameplate_text.{key}", field=name, **facts))
    if text.left:
        told.append(writer("nameplate_text.left", words="; ".join(text.left)))
    return plain.listed(writer("nameplate_text.read"), told) + "\n"
