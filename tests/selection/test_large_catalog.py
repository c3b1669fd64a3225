"""A catalog of thousands of motors: only the nearest are calculated, and the best is among them.

At length, with every sample job: ``AIROVER_MOTORS=20000 python -m pytest tests/selection/test_large_catalog.py``
"""

import dataclasses
import json
import os

import numpy as np
import pytest

from airover.app.cli import main
from airover.app.page import sample_job
from airover.core.files import data_folder
from airover.core.texts import ENGLISH, Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.reports.answer import answer_dict, report
from airover.selection import large_catalog
from airover.selection.answer import answer
from airover.selection.large_catalog import Screened
from airover.selection.rules import apply_rules, nearness

MOTORS = read_catalog(data_folder() / "catalogue.csv")
LENGTH = int(os.environ.get("AIROVER_MOTORS", "0"))
JOBS = sorted((data_folder() / "jobs").glob("*.toml"))


def copies(count: int) -> tuple:
    """The demo motors, then copies of them with other ratings, amps and prices."""
    draws = np.random.default_rng(count)
    motors = list(MOTORS)
    while len(motors) < count:
        one = MOTORS[len(motors) % len(MOTORS)]
        power, amps, price = draws.uniform((0.93, 0.97, 0.8), (1.07, 1.06, 1.2))
        motors.append(dataclasses.replace(
            one, model=f"{one.model}-{len(motors)}",
            ratings=tuple(power * rating for rating in one.ratings),
            currents=tuple(power * amps * current for current in one.currents),
            price=one.price and round(price * one.price),
        ))  # fmt: skip
    return tuple(motors[:count])


def best(found) -> tuple:
    one = found.candidates[0]
    return one.case.motor.name, one.verdict


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_recommended_motor_is_the_same_as_without_screening(path, monkeypatch):
    job, motors = Job.read(path), copies(240)
    monkeypatch.setattr(large_catalog, "FIRST", 5)
    in_full = answer(job, motors)
    monkeypatch.setattr(large_catalog, "LARGE", 100)
    screened = answer(job, motors)
    assert in_full.screened is None and len(in_full.candidates) == 240
    assert len(screened.candidates) == screened.screened.calculated < 240
    assert best(screened) == best(in_full) and screened.screened.is_best


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_further_rules_never_move_a_motor_up(path):
    found = answer(Job.read(path), MOTORS[:60]).candidates[0].judged
    early = nearness(apply_rules(found.at, large_catalog.WITHOUT_SIMULATION))
    assert (nearness(found) >= early).all()


def test_an_answer_from_a_large_catalog_says_how_many_motors_were_calculated(monkeypatch):
    monkeypatch.setattr(large_catalog, "LARGE", 100)
    monkeypatch.setattr(large_catalog, "FIRST", 60)
    found = answer(sample_job(), MOTORS)
    told = " ".join(report(found, ENGLISH).split())
    assert f"The catalog has {len(MOTORS)} motors, and " in told
    assert "The 60 nearest motors were calculated." in told
    assert answer_dict(found, Writer("es"))["screened"]["calculated"] == 60


def test_a_named_motor_of_a_large_catalog_gets_its_order(tmp_path, monkeypatch, capsys):
    """The nearest motors alone do not include it."""
    monkeypatch.setattr(large_catalog, "LARGE", 100)
    fitting = answer(sample_job(), MOTORS, thorough=True).fitting
    monkeypatch.setattr(large_catalog, "FIRST", 5)
    screened = [one.case.motor.name for one in answer(sample_job(), MOTORS).candidates]
    name = next(name for one in fitting if (name := one.case.motor.name) not in screened)
    job = str(data_folder() / "jobs" / "roof-unit.toml")
    for command in ("order", "roof"):
        assert main([command, job, "--motor", name.upper(), "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["motor"] == name
    assert main(["proposal", job, "--motor", name, "--json", "--out", str(tmp_path)]) == 0
    assert json.loads(capsys.readouterr().out)["motor"] == name
    assert main(["order", job, "--motor", "no such motor"]) == 2
    assert "no such motor" in capsys.readouterr().err


def test_a_motor_that_was_not_confirmed_as_the_best_is_told():
    told = ENGLISH(Screened(20_000, 3600, 600, is_best=False).told)
    assert "3600 of them have the speed" in told
    assert told.endswith("split the catalog by manufacturer or by horsepower.")


@pytest.mark.skipif(not LENGTH, reason="only at length")
@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_catalog_at_its_full_length(path):
    found = answer(Job.read(path), copies(LENGTH))
    assert found.screened.is_best and found.screened.calculated <= large_catalog.MOST
