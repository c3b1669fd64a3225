"""Write the fleet summary and a progress line as text."""

import time
from collections.abc import Callable

from airover.core.texts import Writer
from airover.reports.plain import changed_limits

BAR = 30  # characters
NAMED = 5  # motors
YEARS = (1, 5, 10, 15)


def progress(stream, writer: Writer) -> Callable | None:
    """Return a function of (rows done, rows) that updates a progress line on ``stream``.

    Returns None if ``stream`` is not a terminal.
    """
    if not stream.isatty():
        return None
    start = time.monotonic()

    def tell(done: int, rows: int) -> None:
        share = done / rows if rows else 1.0
        bar = ("#" * round(BAR * share)).ljust(BAR, ".")
        counts = {"done": f"{done:,}", "rows": f"{rows:,}"}
        line = writer("fleet.progress", seconds=round(time.monotonic() - start), **counts)
        print(f"\r[{bar}] {line}", end="\n" if done == rows else "", file=stream, flush=True)

    return tell


def summary_text(found: dict, out, writer: Writer) -> str:
    """Return the summary from `fleet` as text for a terminal."""
    counts = {name: f"{value:,}" for name, value in found.items() if isinstance(value, int)}
    left_out = [writer(one.told) for one in found["left_out"]]
    written = writer("fleet.written", folder=str(out))
    if not found["accepted"]:
        none = writer("left_out.all_units" if found["rows"] else "left_out.no_units")
        return "\n".join([writer("fleet.units", **counts), none, *left_out, written])
    lines = [
        writer("fleet.units", **counts),
        writer("fleet.verdicts", **counts),
        "",
        writer("fleet.best"),
        *(f"  {count:,} {name}" for name, count in list(found["best"].items())[:NAMED]),
        "",
        writer("fleet.failures"),
        *(f"  {_year(found['failures'][year - 1], writer)}" for year in YEARS),
        "",
        *left_out,
        writer(found["screening"]),
        *changed_limits(found["limits"], writer),
        written,
    ]
    return "\n".join(lines)


def _year(line: dict, writer: Writer) -> str:
    ends = {name: f"{end:,.0f}" for name, end in line["all"].items()}
    parts = {name: f"{line[name]['mid']:,.0f}" for name in ("winding", "capacitor", "bearing")}
    return writer("fleet.year", year=line["year"], **ends, **parts)
