"""The table of films beside the solver it was made from, and back from load to eccentricity."""

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.physics import sleeve_bearing as table
from airover.physics.sleeve_bearing import Film, film
from airover.physics.sleeve_running import STARVED


def anywhere(cases: int):
    """Random bearings of the table's range, half of them near its ends of eccentricity."""
    rng = np.random.default_rng(7)
    inside = rng.uniform(0.01, 0.98, cases // 2)
    ends = np.concatenate([rng.uniform(0.01, 0.05, cases // 4), rng.uniform(0.9, 0.98, cases // 4)])
    lengths = np.exp(rng.uniform(*np.log([0.2, 2.0]), cases // 4 * 2 + cases // 2))
    return np.concatenate([inside, ends]), lengths


@pytest.mark.parametrize("start", [0.0, 1.0, STARVED])
def test_the_table_is_within_1_per_cent_of_the_solver_everywhere(start):
    eccentricity, length = anywhere(200)
    solved, read = film(eccentricity, length, start), table.film_read(eccentricity, length, start)
    back = table.film_under_load(solved.sommerfeld, length, start)
    for name in (*Film._fields, "friction"):
        exact = getattr(solved, name)
        np.testing.assert_allclose(getattr(read, name), exact, rtol=0.01, err_msg=name)
        np.testing.assert_allclose(getattr(back, name), exact, rtol=0.01, err_msg=name)
    # what is left of the gap counts most of all
    np.testing.assert_allclose(1 - back.eccentricity_ratio, 1 - eccentricity, rtol=0.01)


def test_the_way_back_is_exact():
    eccentricity, length = anywhere(1000)
    there = table.film_read(eccentricity, length)
    back = table.film_under_load(there.sommerfeld, length)
    assert back.eccentricity_ratio == pytest.approx(eccentricity, rel=1e-9)


def test_a_load_beyond_the_table_gets_the_film_at_its_end():
    found = table.film_under_load([0.0, 1e-6, 1e6, np.inf], 1.0)
    assert found.eccentricity_ratio == pytest.approx([0.98, 0.98, 0.01, 0.01])
    assert found.sommerfeld[0] == pytest.approx(table.film_read(0.98, 1.0).sommerfeld)


def test_arrays_broadcast_and_scalars_stay_scalars():
    found = table.film_under_load([[0.05], [0.5]], [0.5, 1.0, 2.0])
    assert all(part.shape == (2, 3) for part in found)
    one = table.film_under_load(0.5, 1.0)
    assert one.eccentricity_ratio == pytest.approx(found.eccentricity_ratio[1, 1], rel=1e-12)
    assert np.ndim(one.friction) == 0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: table.film_read(0.99, 1.0), "eccentricity_ratio: 0.99"),
        (lambda: table.film_read(0.5, 3.0), "length_to_diameter: 3 was given; .* 0.2 to 2"),
        (lambda: table.film_under_load(-1.0, 1.0), "sommerfeld: -1"),
        (lambda: table.film_under_load(np.nan, 1.0), "sommerfeld: nan"),
        (lambda: table.film_under_load(0.1, 1.0, 4.0), "start: 4 rad"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_a_search_that_does_not_end_is_no_number(monkeypatch):
    monkeypatch.setattr(table, "STEPS", 1)
    with pytest.raises(ArithmeticError) as lost:
        table.film_under_load(0.1, 1.0)
    assert str(lost.value) == "no eccentricity was found for a Sommerfeld number"


def test_no_load_and_no_viscosity_warn_of_nothing():
    with np.errstate(all="raise"):
        found = table.film_under_load([0.0, np.inf], 1.0)
    assert np.all(np.isfinite(found.friction))
