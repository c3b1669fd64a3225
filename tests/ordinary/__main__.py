"""Score the ordinary jobs: ``python -m tests.ordinary [--sample N] [--kind twins]``."""

import argparse
import sys
import time

from .jobs import KINDS, all_jobs, sample
from .score import Bench, lines, misses, score, table


def main() -> int:
    """Print the score by kind and the worst misses; returns 1 where a share falls short."""
    parser = argparse.ArgumentParser(prog="python -m tests.ordinary", description=__doc__)
    parser.add_argument("--sample", type=int, metavar="N", help="about N jobs, some of each kind")
    parser.add_argument("--kind", action="append", choices=KINDS, help="this kind only; repeatable")
    parser.add_argument("--thorough", action="store_true", help="every twin at every voltage")
    parser.add_argument("--misses", type=int, default=3, metavar="N", help="listed per line")
    wanted = parser.parse_args()
    bench = Bench()
    jobs = all_jobs(bench.rows, wanted.kind or KINDS, wanted.thorough)
    jobs = jobs if wanted.sample is None else sample(jobs, wanted.sample)
    began, done = time.monotonic(), 0

    def told(job) -> None:
        nonlocal done
        done += 1
        if done % 50 == 0:
            print(f"{done} of {len(jobs)} jobs", file=sys.stderr)

    results = score(jobs, bench, told)
    print(table(results))
    print(f"{len(jobs)} jobs in {time.monotonic() - began:.0f} s", misses(results, wanted.misses),
          sep="\n\n")  # fmt: skip
    return 0 if all(line.enough for line in lines(results)) else 1


if __name__ == "__main__":
    sys.exit(main())
