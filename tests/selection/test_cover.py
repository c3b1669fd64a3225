"""Matches of calls with motors that are kept for the next run."""

import numpy as np
import pytest

from airover.core.cache import FOLDER
from airover.selection import cover
from airover.selection.cover import match
from tests.jobs import MOTOR, job, motor

NEEDS = (
    job(),
    job(nameplate__phase=3),
    job(nameplate__frame="56", nameplate__body_length=None),
    job(nameplate__shaft_length=None),
)
MOTORS = (MOTOR, motor(model="large", frame="56"))


@pytest.fixture
def kept(tmp_path, monkeypatch):
    monkeypatch.setenv(FOLDER, str(tmp_path))
    return match(NEEDS, MOTORS, (4, 1, 2, 3), samples=40)


def test_calls_that_are_matched_again_are_not_simulated(kept, monkeypatch):
    monkeypatch.setattr(cover, "readying", None)
    again = match(NEEDS, MOTORS, (4, 1, 2, 3), samples=40)
    for name in ("passes", "verdict", "banded"):
        assert np.array_equal(getattr(again, name), getattr(kept, name)), name
    assert again.passes.dtype == bool and again.passes.any() and not again.passes.all()
    assert again.filled == kept.filled and again.filled
    assert {at: str(one) for at, one in again.refused.items()} == {
        at: str(one) for at, one in kept.refused.items()
    }
    assert list(again.refused) == [1] and again.needs == NEEDS and again.motors == MOTORS


@pytest.mark.parametrize("other", [
    {"needs": NEEDS[::-1]}, {"motors": (MOTOR, motor(model="large", frame="48"))},
    {"counts": (4, 1, 2, 9)}, {"samples": 41}, {"seed": 1},
])  # fmt: skip
def test_other_calls_or_motors_are_matched_anew(kept, other, monkeypatch):
    given = {"needs": NEEDS, "motors": MOTORS, "counts": (4, 1, 2, 3), "samples": 40} | other
    monkeypatch.setattr(cover, "readying", None)
    with pytest.raises(TypeError):
        match(**given)
