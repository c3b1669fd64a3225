"""Benchmarks: `python tests/bench/run.py` prints ours beside a peer, `--tiny` only tries them.

`--write` puts the table on the benchmark page, and `--guard` names the rows that have become slower
in relation to their peers since. Ends with 1 if there are any, or if ours and a peer do not agree in
what they found. No time is ever asserted: times are the machine's, and other work on it shows.
"""

import argparse
import sys

import page
from fleet import fleet
from kernel import kernel, warmed_up
from plates import identified
from points import PLATE, many_points, one_job
from proposal import proposed
from reading import read
from redraw import edited, redrawn, swept
from roofline import rooflines
from row import HEAD
from sleeve import sleeves
from start import started
from stock import matched, planned


def rows(tiny: bool):
    """All lines; ``tiny`` takes the smallest sizes that still show that both sides agree."""
    sample, repeats = (4, 1) if tiny else (300, 5)
    yield one_job(sample, repeats)
    yield from many_points(20 if tiny else 1000, sample, repeats)
    yield from kernel(20 if tiny else 10000, sample, repeats)
    yield warmed_up(4 if tiny else 60, repeats)
    yield from rooflines(20 if tiny else 10000, 2 if tiny else 20, repeats)
    yield identified(PLATE, 20 if tiny else 300, sample if tiny else 100, repeats)
    yield from sleeves(min(sample, 50), repeats)
    yield fleet(3 if tiny else 1000, 2 if tiny else 20, repeats)
    yield read(repeats)
    yield from redrawn(2 if tiny else 50)
    yield from edited(2 if tiny else 48)
    yield from swept(*((1, 2) if tiny else (100, 100)))
    yield from started(repeats)
    yield proposed(repeats)
    yield matched(20 if tiny else 300, 2 if tiny else 12)
    yield planned(20 if tiny else 30, 60 if tiny else 150)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tiny", action="store_true", help="try everything once, as a test does")
    parser.add_argument("--write", action="store_true", help="put the table on the page")
    parser.add_argument("--guard", action="store_true", help="compare with the table on the page")
    asked = parser.parse_args()
    print(HEAD, flush=True)
    found = []
    for row in rows(asked.tiny):
        print(row.line(), flush=True)
        found.append(row)
    apart = [row for row in found if not row.agrees]
    for row in apart:
        print(f"{row.what}: apart by {row.apart:g}, allowed {row.allowed:g}", file=sys.stderr)
    if asked.write and not apart:
        page.write(found)
    fallen = page.slower(found) if asked.guard else []
    print(*fallen, sep="\n", file=sys.stderr)
    return 1 if apart or fallen else 0


if __name__ == "__main__":
    sys.exit(main())
