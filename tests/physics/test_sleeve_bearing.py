"""The film of a sleeve bearing: the solver and the table of its solutions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import sleeve_bearing as sb
from airover.physics import sleeve_bearing as table
from airover.physics.sleeve_bearing import Film, film
from airover.physics.sleeve_running import STARVED

eccentricities = st.floats(0.01, 0.98)
lengths = st.floats(0.1, 3.0)
starts = st.floats(0.0, 2.8)


@settings(max_examples=50, deadline=None)
@given(eccentricities, lengths, starts)
def test_oil_that_enters_leaves_at_the_ends_or_is_carried_on(eccentricity, length, start):
    found = sb.film(eccentricity, length, start)
    assert 0 < found.side_flow_ratio < 1
    out = found.flow * found.side_flow_ratio + found.carried_flow
    assert out == pytest.approx(found.flow, rel=1e-9)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.01, 0.95), lengths, starts)
def test_more_eccentric_carries_more_under_a_smaller_angle(eccentricity, length, start):
    some, more = (sb.film(e, length, start) for e in (eccentricity, eccentricity + 0.03))
    assert more.sommerfeld < some.sommerfeld
    assert more.friction < some.friction
    assert more.pressure_ratio < some.pressure_ratio * 1.03  # flat, or rising a little, when light
    if start == 0:
        assert more.attitude_deg < some.attitude_deg


@settings(max_examples=30, deadline=None)
@given(eccentricities, lengths)
def test_friction_is_never_below_that_of_a_centred_shaft(eccentricity, length):
    found = sb.film(eccentricity, length)
    petroff = 2 * np.pi**2 * found.sommerfeld
    assert found.friction > petroff
    if eccentricity < 0.05:
        assert found.friction == pytest.approx(petroff, rel=5e-3)


@settings(max_examples=30, deadline=None)
@given(eccentricities, lengths, st.floats(0.0, 1.0))
def test_less_oil_or_less_length_carries_less(eccentricity, length, less):
    whole = sb.film(eccentricity, length).sommerfeld
    assert sb.film(eccentricity, length * (0.9 - less / 2)).sommerfeld > whole
    # A film that begins a little late has lost pressure that pushed the wrong way, too.
    assert sb.film(eccentricity, length, 2.8 * less).sommerfeld > 0.98 * whole
    assert sb.film(eccentricity, length, 2.2 + 0.6 * less).sommerfeld > whole


@pytest.mark.parametrize("eccentricity", [0.1, 0.573, 0.9])
def test_the_error_falls_with_the_square_of_the_volumes(eccentricity):
    # The film's edge falls on a volume or between two, which sways single halvings: so two of them.
    # The attitude is left out: at 60 x 4 it is within 0.1 % already, and only sways.
    grids = [(60, 4), (120, 8), (240, 16), (480, 32)]
    found = np.array([
        (f.sommerfeld, f.flow, f.side_flow_ratio)
        for f in (sb.film(eccentricity, 1.0, 0.0, *grid) for grid in grids)
    ])  # fmt: skip
    first, last = np.abs(found[0] - found[-1]), np.abs(found[2] - found[-1])
    order = np.log2(first / last) / 2
    assert np.all(order > 1.7), order


@pytest.mark.parametrize("length", [0.2, 1.0, 2.0])
@pytest.mark.parametrize("eccentricity", [0.01, 0.5, 0.98])
def test_the_usual_volumes_are_fine_enough(eccentricity, length):
    usual, fine = sb.film(eccentricity, length), sb.film(eccentricity, length, 0.0, 720, 64)
    for ours, limit in zip(usual, fine, strict=True):
        assert ours == pytest.approx(limit, rel=3e-3)


def test_the_pressure_field_is_that_of_the_numbers():
    field, numbers = sb.pressure_field(0.7, 0.8), sb.film(0.7, 0.8)
    assert field.pressure.shape == (181, 17) == (field.angles.size, field.positions.size)
    assert field.pressure.max() == pytest.approx(1 / numbers.pressure_ratio)
    assert field.angles[[0, -1]] == pytest.approx([0, 2 * np.pi])
    assert field.positions[[0, -1]].tolist() == [0, 1]
    # its own sum of pressures carries the mean load pressure, at the film's attitude
    along = np.trapezoid(field.pressure, field.positions, axis=1)
    across = np.trapezoid(along * np.sin(field.angles), field.angles) / 2
    towards = np.trapezoid(-along * np.cos(field.angles), field.angles) / 2
    assert np.hypot(towards, across) == pytest.approx(1, rel=5e-3)
    assert np.degrees(np.arctan2(across, towards)) == pytest.approx(numbers.attitude_deg, rel=2e-3)


@pytest.mark.parametrize("start", [0.0, 2.2])
def test_pressure_is_nowhere_negative_and_the_film_tears_behind_the_narrowest_gap(start):
    field = sb.pressure_field(0.6, 1.0, start)
    assert np.all(field.pressure >= 0)
    edges = field.pressure[0], field.pressure[-1], field.pressure[:, -1]
    assert not any(np.any(edge) for edge in edges)
    assert field.angles[0] == pytest.approx(start)
    middle = field.pressure[:, 0]
    last = np.flatnonzero(middle)[-1]
    assert np.pi < field.angles[last] < 1.4 * np.pi
    # Reynolds' rupture: pressure comes to 0 with no slope
    steepest = np.abs(np.diff(middle) / np.diff(field.angles)).max()
    assert middle[last] / (field.angles[last + 1] - field.angles[last]) < 0.05 * steepest


def test_arrays_broadcast_and_equal_scalars():
    found = sb.film([[0.2], [0.6]], [0.5, 1.0, 2.0])
    assert all(part.shape == (2, 3) for part in (*found, found.friction))
    assert found.sommerfeld[1, 1] == sb.film(0.6, 1.0).sommerfeld
    assert all(isinstance(part, float) for part in sb.film(0.6, 1.0))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: sb.film(0.0, 1.0),
            "eccentricity_ratio: 0 is not accepted. Enter a value from 0.01 to 0.98",
        ),
        (lambda: sb.film([0.5, 0.99], 1.0), "eccentricity_ratio: 0.99"),
        (lambda: sb.film(0.5, 25.4), "length_to_diameter: 25.4 .* 0.02 to 20"),
        (lambda: sb.film(0.5, 1.0, 126.0), "start: 126 rad"),
        (lambda: sb.film(0.5, 1.0, 0.0, 181), "around: 181 is not accepted. Enter an even"),
        (lambda: sb.film(0.5, 1.0, 0.0, 180, 2), "along: 2"),
        (lambda: sb.film(np.nan, 1.0), "eccentricity_ratio: nan"),
        (lambda: sb.pressure_field([0.5, 0.6], 1.0), "one bearing at a time"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize(("field", "counts"), [("around", (181, 4)), ("along", (180, 5))])
def test_the_whole_sentence(field, counts):
    with pytest.raises(InputError) as refused:
        sb.film(0.5, 1.0, 0.0, *counts)
    assert str(refused.value).startswith(f"{field}: ")
    assert str(refused.value).endswith("Enter an even number, 4 or higher.")
    with pytest.raises(InputError) as refused:
        sb.pressure_field([0.5, 0.6], 1.0)
    told = "eccentricity_ratio: an array of shape (2,). Needed: one bearing at a time."
    assert str(refused.value) == told


@pytest.mark.parametrize("counts", [(180.0, 4), (180, 4.0), (2, 4), (180, 2), (180, 7), (7, 4)])
def test_volumes_are_even_numbers_from_4(counts):
    with pytest.raises(InputError, match="an even number, 4 or higher"):
        sb.film(0.5, 1.0, 0.0, *counts)


def test_four_volumes_each_way_are_a_film():
    assert 0.05 < sb.film(0.6, 1.0, 0.0, 4, 4).sommerfeld < 0.5


@pytest.mark.parametrize("eccentricity", [0.1, 0.6, 0.95])
def test_a_coarse_film_tells_where_the_fine_one_tears(monkeypatch, eccentricity):
    balanced, sizes = sb._balanced, []

    def counted(network, wet):
        sizes.append(wet.shape)
        return balanced(network, wet)

    monkeypatch.setattr(sb, "_balanced", counted)
    sb.film(eccentricity, 1.0)
    # 180 volumes around, halved while they are more than 40 and by 4 to divide
    assert sorted(set(sizes)) == [(89, 8), (179, 16)]
    # two corrections, and that there is nothing left to correct
    assert sizes.count((179, 16)) == 3


def test_a_cavitated_film_that_is_not_found_is_no_number(monkeypatch):
    monkeypatch.setattr(sb, "MOST_CORRECTIONS", 1)
    with pytest.raises(ArithmeticError) as lost:
        sb.film(0.6, 1.0)
    assert str(lost.value) == "the edge of the cavitated film was not found"


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
        (lambda: table.film_read(0.5, 3.0), "length_to_diameter: 3 is not accepted.* 0.2 to 2"),
        (lambda: table.film_under_load(-1.0, 1.0), "sommerfeld: -1"),
        (lambda: table.film_under_load(np.nan, 1.0), "sommerfeld: nan"),
        (lambda: table.film_under_load(0.1, 1.0, 4.0), "start: 4 rad"),
    ],
)
def test_bad_input_of_the_table_is_refused_in_one_sentence(call, words):
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
