"""A fleet's summary as text for people, and the line that shows how far it is."""

import time
from collections.abc import Callable

BAR = 30  # characters
NAMED = 5  # motors
YEARS = (1, 5, 10, 15)
_OTHER = ("year", "all")


def progress(stream) -> Callable | None:
    """What draws one line on ``stream`` anew each time it is called with (rows done, rows); None,
    and so silence, where nobody looks at the stream."""
    if not stream.isatty():
        return None
    start = time.monotonic()

    def tell(done: int, rows: int) -> None:
        share = done / rows if rows else 1.0
        bar = ("#" * round(BAR * share)).ljust(BAR, ".")
        passed = time.monotonic() - start
        end = "\n" if done == rows else ""
        print(
            f"\r[{bar}] {done:,} of {rows:,} units, {passed:.0f} s",
            end=end,
            file=stream,
            flush=True,
        )

    return tell


def summary_text(found: dict, out) -> str:
    """The summary that `fleet` returned, for the terminal."""
    rows, accepted, rejected = (found[name] for name in ("rows", "accepted", "rejected"))
    fits, work, none = (found[name] for name in ("fits", "fits_with_work", "does_not_fit"))
    lines = [
        f"{rows:,} units: {accepted:,} screened, {rejected:,} refused with a reason.",
        f"A motor fits {fits:,} as it is, {work:,} with work; none fits {none:,}.",
        "",
        "Best most often:",
        *(f"  {count:,} {name}" for name, count in list(found["best"].items())[:NAMED]),
        "",
        "Failures expected with the best motor at each unit (low to high, 9 cases of 10):",
        *(_year(found["failures"][year - 1]) for year in YEARS),
        "",
        found["screening"],
        f"Written to {out}: part-*.parquet, rejects-*.parquet, manifest.json, fleet.json",
    ]
    return "\n".join(lines)


def _year(line: dict) -> str:
    ends = line["all"]
    parts = ", ".join(f"{part} {line[part]['mid']:,.0f}" for part in line if part not in _OTHER)
    low, mid, high = (f"{ends[name]:,.0f}" for name in ("low", "mid", "high"))
    return f"  in year {line['year']}: {mid} ({low} to {high}); {parts}"
