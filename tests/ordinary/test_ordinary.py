"""The main job on ordinary jobs: a fixed sample meets the shares that the whole bench has to meet.

``python -m tests.ordinary`` scores them all and lists what was missed.
"""

import random

import pytest

from .jobs import KINDS, SEED, all_jobs
from .score import Bench, lines, misses, score

SAMPLE = {
    "twins": 10,
    "several": 5,
    "ordinary": 10,
    "doubtful": 6,
    "hard": 5,
    "neighbors": 1,
    "documents": 1,
}


QUICK_SAMPLE = {"twins": 4, "several": 2, "ordinary": 6, "doubtful": 2, "hard": 4}


@pytest.fixture(scope="module")
def bench():
    return Bench()


@pytest.mark.parametrize("kind", KINDS)
def test_ordinary_jobs_are_answered_as_people_of_the_trade_expect(kind, bench, request):
    count = (QUICK_SAMPLE if request.config.getoption("--quick") else SAMPLE).get(kind, 0)
    if not count:
        pytest.skip("not in the quick part")
    jobs = random.Random(SEED).sample(all_jobs(bench.rows, [kind]), count)
    results = score(jobs, bench)
    short = [line for line in lines(results) if not line.enough]
    assert not short, "\n".join([*map(str, short), misses(results)])
