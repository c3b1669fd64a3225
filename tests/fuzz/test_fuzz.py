"""A bounded part of the long run: each entrance with some of its cases, within the rules."""

import os
import random
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.records.job import Job, Site
from airover.records.nameplate import Nameplate
from tests.fuzz.__main__ import as_page, main
from tests.fuzz.entrance import run
from tests.fuzz.entrances import table
from tests.fuzz.mutate import KEYS, NUMBERS, UNITS, WORDS, mutated
from tests.fuzz.rules import is_finite, is_sentence, judged

ENTRANCES = {one.name: one for one in table()}
HEAVY = ("panels", "page", "page, restored", "command line", "weather", "banks", "templates")
CASES, FEW = 20, 2
SEED = 1 if os.environ.get("CI") else random.SystemRandom().randrange(10**6)


@pytest.mark.parametrize("name", ENTRANCES)
def test_bad_input_is_answered_or_refused_in_a_sentence(name, tmp_path):
    entrance = ENTRANCES[name]._replace(one_in=40 if name not in HEAVY else 2)
    for number in range(FEW if name in HEAVY else CASES):
        ending, content = run(entrance, SEED, number, tmp_path)
        assert not ending.finding, (SEED, number, ending, content[:2000])


def typed():
    """What somebody could type into a field: a value, a number with a unit, or another type."""
    words = st.sampled_from((*WORDS, *NUMBERS))
    amounts = st.builds("{} {}".format, words, st.sampled_from([u.decode() for u in UNITS]))
    ranges = st.builds("{}-{} {}".format, st.floats(), st.floats(), st.sampled_from(["V", "degC"]))
    numbers = st.integers() | st.floats() | st.booleans() | st.none()
    return st.recursive(words | amounts | ranges | st.text() | numbers,
                        lambda one: st.lists(one, max_size=3), max_leaves=4)  # fmt: skip


def fields(record):
    names = st.sampled_from((*record.names(), *KEYS))
    return st.dictionaries(names, typed(), max_size=5)


@given(st.fixed_dictionaries({}, optional={
    "nameplate": fields(Nameplate), "site": fields(Site), "name": typed(), "cost": typed(),
}))  # fmt: skip
@settings(max_examples=80, deadline=None)
def test_any_fields_make_a_job_that_can_be_written_or_a_sentence(given_fields):
    try:
        job = Job(**given_fields)
    except InputError as error:
        is_sentence(error)
    else:
        assert Job.from_toml(job.to_toml()) == job


@given(st.binary(max_size=400), st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_the_same_seed_makes_the_same_file(content, seed):
    one, other = (mutated(random.Random(seed), content, (b"a = 1\n",)) for _ in range(2))
    assert one == other


def judge(case, tmp_path):
    folder = tmp_path / "case"
    folder.mkdir(exist_ok=True)
    return judged(case, folder, budget=2.0).finding


def test_the_rules_see_what_breaks_them(tmp_path):
    def raising(error):
        def case(folder):
            raise error

        return case

    def leaves(folder):
        (folder / "half").write_text("x")
        raise InputError("job", "x", "y")

    def peeks(folder):
        (tmp_path / "other").write_text("x")
        return (tmp_path / "other").read_text()

    def works(folder):
        until = time.process_time() + 0.6
        while time.process_time() < until:
            pass

    assert judge(raising(InputError("job", '"x"', "a number")), tmp_path) == ""
    assert "KeyError" in judge(raising(KeyError("x")), tmp_path)
    assert "Recursion" in judge(raising(RecursionError()), tmp_path)
    assert "without accepted" in judge(raising(InputError("job", "x", "")), tmp_path)
    assert "nan" in judge(lambda _: {"a": [1.0, float("nan")]}, tmp_path)
    assert "files left" in judge(leaves, tmp_path)
    assert "nobody named" in judge(peeks, tmp_path)
    assert "processor time" in judged(works, tmp_path, budget=0.5).finding
    with pytest.raises(AssertionError):
        is_finite((float("inf"),))


def test_a_run_goes_on_where_it_was_and_writes_its_page(tmp_path, capsys):
    state, page = tmp_path / "state.json", tmp_path / "RESULTS.md"
    line = ["--only", "amounts", "--state", str(state), "--page", str(page)]
    assert main([*line, "--cases", "30"]) == 0
    before = capsys.readouterr().out
    assert main([*line, "--cases", "50"]) == 0
    assert "| amounts | 30 |" in before and "| amounts | 50 |" in page.read_text()
    assert "0 findings" in as_page({"seed": 1, "seconds": 1.0, "entrances": {}}, 0)
