"""Resistance of a system: losses in series, density, dirt, bad input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics.air_path import (
    System,
    fitting_resistance,
    resistance_at_density,
    system_resistance,
)
from airover.physics.fan import FanCurve

factors = st.floats(0.0, 50.0)
losses = st.floats(0.5, 60.0)
flows = st.floats(0.1, 5.0)
densities = st.floats(0.8, 1.3)


@given(st.lists(factors, min_size=1, max_size=5), st.floats(0.05, 2.0), densities)
def test_loss_factors_on_one_area_add(several, area, density):
    parts = [fitting_resistance(factor, area, density) for factor in several]
    at_once = fitting_resistance(sum(several), area, density)
    assert System(parts[0], tuple(parts[1:]), density).resistance(density) == pytest.approx(at_once)


@given(losses, losses, flows, densities)
def test_losses_at_one_flow_add(coil, guard, flow, density):
    system = System(system_resistance(flow, coil), (system_resistance(flow, guard),), density)
    assert system.resistance(density) * flow**2 == pytest.approx(coil + guard)


@given(losses, losses, densities, densities)
def test_resistance_goes_with_density(coil, guard, there, here):
    system = System(coil, (guard,), there)
    whole = resistance_at_density(coil + guard, there, here / there)
    assert system.resistance(here) == pytest.approx(float(whole))


@given(st.floats(1.0, 30.0), st.floats(0.0, 20.0), st.floats(1.0, 4.0), st.floats(0.01, 2.0))
def test_dirt_lowers_the_flow_and_touches_the_coil_only(coil, other, dirt, more):
    fan = FanCurve([0, 0.5, 0.9, 1.2, 1.5], [80, 62, 50, 31, 0], [150, 160, 165, 160, 140], 1075, 1.2)  # fmt: skip
    system = System(coil, (other,), 1.2)
    clean, dirty = (system.resistance(1.2, dirt=one) for one in (dirt, dirt + more))
    assert dirty - clean == pytest.approx(coil * more)
    point = fan.operating_point([clean, dirty], 1075, 1.2)
    assert point.flow[1] < point.flow[0]


def test_a_clean_coil_alone_in_usual_air_unless_said():
    assert System(12.0) == System(coil=12.0, others=(), density=1.2)
    assert System(12.0, (3.0,)).resistance(1.2) == 15.0


def test_draws_of_parts_broadcast():
    system = System(np.array([10.0, 12.0]), (np.array([[1.0], [2.0], [3.0]]),), 1.2)
    assert system.resistance(1.1, dirt=1.5).shape == (3, 2)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: system_resistance(0.0, 30.0), "flow: 0 m3/s"),
        (lambda: system_resistance(2400.0, 30.0), "flow: 2,400 m3/s"),
        (lambda: system_resistance(1.0, -3.0), "pressure: -3 Pa"),
        (lambda: fitting_resistance(-1.0, 0.5, 1.2), "loss_factor: -1"),
        (lambda: fitting_resistance(1.0, 500.0, 1.2), "face_area: 500 m2"),
        (
            lambda: System(-1.0),
            "^coil: -1 Pa s2/m6 .* 0 to 1,000,000,000 Pa s2/m6.$",
        ),
        (
            lambda: System(10.0, (2.0, np.nan)),
            "^others: nan Pa s2/m6 .* 0 to 1,000,000,000",
        ),
        (lambda: System(10.0, density=0.075), "density: 0.075 kg/m3"),
        (lambda: System(10.0).resistance(1.2, dirt=0.5), "dirt: 0.5 .* 1 to 100"),
        (lambda: resistance_at_density(10.0, 1.2, 8.0), "density: 9.6 kg/m3"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
