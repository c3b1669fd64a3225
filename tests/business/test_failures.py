"""Failures as competing risks: what is counted, and to whose account."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.business.costs import PARTS, repairs, weibull_scale
from airover.core.errors import InputError

DRAWS = 500
SHAPES = [3.0, 2.3, 2.0]
NEVER = 1e5


def scales(*years, samples=DRAWS):
    """One motor whose parts have these scales."""
    return np.repeat(np.array(years, dtype=float)[None, :, None], samples, axis=2)


def test_the_same_seed_gives_the_same_failures():
    one, again = (repairs(scales(8, 6, 5), SHAPES, 15, [1.0], seed=3) for _ in range(2))
    other = repairs(scales(8, 6, 5), SHAPES, 15, [1.0], seed=4)
    assert all(np.array_equal(a, b) for a, b in zip(one, again, strict=True))
    assert not np.array_equal(one.paid, other.paid)


def test_alike_motors_have_alike_failures():
    found = repairs(np.repeat(scales(8, 6, 5), 2, axis=0), SHAPES, 15, [1.0, 1.0])
    for counts in (found.paid, found.covered, found.capacitors):
        assert np.array_equal(counts[0], counts[1])


def test_parts_that_never_fail_cost_nothing():
    found = repairs(scales(NEVER, NEVER, NEVER), SHAPES, 15, [1.0])
    assert found.none.all() and found.causes.sum() == 0


def test_each_part_is_counted_where_it_belongs():
    only = np.full(3, NEVER)
    for at, part in enumerate(PARTS):
        years = only.copy()
        years[at] = 4.0
        found = repairs(scales(*years), SHAPES, 15, [0.0])
        motors = found.paid.sum() + found.covered.sum()
        assert (motors > 0) == (part != "capacitor")
        assert (found.capacitors.sum() > 0) == (part == "capacitor")
        assert np.flatnonzero(found.causes[0]).tolist() == [at]
        assert found.causes.sum() * DRAWS == pytest.approx(motors + found.capacitors.sum())


def test_a_new_motor_brings_a_new_capacitor():
    # A capacitor that lasts two thirds of a motor's time would fail in it; one that lasts a little
    # longer than the motor never does, if a new motor brings a new one. Steep laws: hardly scatter.
    steep = [20.0, 20.0, 20.0]
    found = repairs(scales(NEVER, 3.0, 5.0), steep, 15, [0.0])
    assert found.capacitors.sum() == 0 and found.paid.sum() > 3 * DRAWS


def test_warranty_covers_to_its_end_and_not_beyond():
    steep = [20.0, 20.0, 20.0]  # fails after 2 years, by a tenth or so
    all_covered = repairs(scales(NEVER, 2.0, NEVER), steep, 15, [50.0])
    assert all_covered.paid.sum() == 0 and all_covered.covered.sum() > 0
    none = repairs(scales(NEVER, 2.0, NEVER), steep, 15, [1.0])
    assert none.covered.sum() == 0 and none.paid.sum() == all_covered.covered.sum()
    # three years: the first is free, its substitute fails near the fourth and is paid for
    found = repairs(scales(NEVER, 2.0, NEVER), steep, 5, [3.0])
    assert found.covered.sum() == pytest.approx(DRAWS, rel=0.01)
    assert found.paid[:, 2:].sum() == found.paid.sum() == pytest.approx(DRAWS, rel=0.01)


def test_failures_of_parts_that_hardly_scatter_fall_in_their_years():
    found = repairs(scales(NEVER, 2.5, NEVER), [20.0] * 3, 6, [0.0])
    years = found.paid[0].sum(axis=1) / DRAWS
    assert years[2] + years[1] > 0.95 and years[0] < 0.05 and years[4] + years[5] > 0.9


@settings(max_examples=25)
@given(
    st.lists(st.floats(0.5, 60), min_size=3, max_size=3),
    st.lists(st.floats(0.5, 6), min_size=3, max_size=3),
    st.floats(1.0, 4.0),
    st.integers(1, 25),
)
def test_longer_lives_never_bring_more_failures_in_any_draw(years, shape, factor, horizon):
    # with the same deviates, lives longer by one factor are a shorter time of looking
    now, later = (
        repairs(scales(*years, samples=60) * f, shape, horizon, [0.0]) for f in (1, factor)
    )
    for before, after in ((now.paid, later.paid), (now.capacitors, later.capacitors)):
        assert np.all(after.cumsum(axis=1) <= before.cumsum(axis=1))


def test_a_share_of_survivors_reaches_its_life():
    scale = weibull_scale(7.0, 0.9, np.array(2.3))
    lives = scale * np.random.default_rng(0).weibull(2.3, 200_000)
    assert np.mean(lives > 7.0) == pytest.approx(0.9, abs=0.003)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: weibull_scale(-1.0, 0.9, 2.0), "life: -1 years"),
        (lambda: weibull_scale(9.0, 1.0, 2.0), "survivors: 1 is not accepted"),
        (lambda: weibull_scale(9.0, 0.9, 0.0), "shape: 0 is not accepted"),
        (lambda: repairs(scales(1, 1, np.nan), SHAPES, 5, [0.0]), "scale: nan years"),
        (lambda: repairs(scales(1, 1, 1), SHAPES, 5, [120.0]), "warranty: 120 years"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
