"""Circuits behind a plate: they meet it, they say the same twice, and odd plates are named."""

import dataclasses

import numpy as np
import pytest

from airover import identify
from airover.errors import InputError
from airover.records import Nameplate

PLATE = {
    "voltage": "208-230 V",
    "frequency": "60 Hz",
    "power": "1/3 hp",
    "current": "2.0 A",
    "speed": "1075 rpm",
    "capacitor": "7.5 uF",
}


@pytest.fixture(scope="module")
def ensemble():
    return identify.from_nameplate(Nameplate(**PLATE))


def plate_without(*fields):
    return Nameplate(**{name: text for name, text in PLATE.items() if name not in fields})


def width(amps):
    low, high = np.quantile(amps, (0.05, 0.95))
    return high - low


def test_every_circuit_meets_the_plate(ensemble):
    at = ensemble.at_rating()
    np.testing.assert_allclose(at.power_out, 745.6999 / 3, rtol=1e-6)
    amps = np.abs(at.current)
    assert np.median(amps) == pytest.approx(2.0, abs=0.05)  # what the plate's digits say
    assert np.quantile(amps, 0.95) < 2.0 * 1.08  # rounding and making, not more
    assert np.median(at.speed_rpm) == pytest.approx(1075, abs=2)


def test_powers_of_every_circuit_balance(ensemble):
    at = ensemble.settle([180.0, 208.0, 230.0, 253.0, 260.0]).solution
    np.testing.assert_allclose(at.power_in, at.power_out + at.loss, rtol=1e-9)


def test_efficiency_times_power_factor_is_what_the_plate_fixes(ensemble):
    """Volts x amps x efficiency x power factor is the shaft power: 0.540 for this plate."""
    at = ensemble.at_rating()
    product = at.power_out / (230.0 * np.abs(at.current))
    assert np.median(product) == pytest.approx(0.540, rel=0.025)  # the plate's rounding


def test_amps_at_high_line_lie_where_saturation_puts_them(ensemble):
    """Linear 1.96-2.06 A at 260 V; plausible saturation 2.24 to 2.40 A (own computation)."""
    low, mid, high = np.quantile(ensemble.amps([260.0]), (0.05, 0.5, 0.95))
    assert low < 2.24 < high and low < 2.40 < high
    assert mid > 2.06


def test_amps_are_draws_by_voltages(ensemble):
    assert ensemble.amps([208.0, 230.0, 253.0]).shape == (300, 3)
    assert identify.from_nameplate(PLATE, draws=50).amps(230.0).shape == (50, 1)


def test_the_same_seed_gives_the_same_draws(ensemble):
    again = identify.from_nameplate(Nameplate(**PLATE))
    np.testing.assert_array_equal(again.amps([230.0]), ensemble.amps([230.0]))
    other = identify.from_nameplate(Nameplate(**PLATE), seed=1)
    assert not np.array_equal(other.amps([230.0]), ensemble.amps([230.0]))


def test_a_motor_alone_is_the_motor_among_others():
    small = {**PLATE, "power": "1/4 hp", "current": "1.6 A", "capacitor": "5 uF"}
    plates = [identify.plate_of(Nameplate(**facts)) for facts in (PLATE, small)]
    both = identify.Plate(
        **{
            field.name: np.concatenate([getattr(plate, field.name) for plate in plates])
            for field in dataclasses.fields(identify.Plate)
        }
    )
    together = identify.ensemble(both, 40)
    alone = identify.ensemble(plates[1], 40)
    np.testing.assert_allclose(together.circuit.R2[1], alone.circuit.R2[0], rtol=1e-9)


@pytest.mark.parametrize("missing", ["capacitor", "speed", "power", "current"])
def test_a_missing_fact_widens_the_band(ensemble, missing):
    plate = plate_without(missing)
    if missing == "speed":
        plate = Nameplate(**dict(plate) | {"poles": 6})
    band = identify.from_nameplate(plate).amps([208.0])
    assert np.all(np.isfinite(band))
    assert width(band) > 0.95 * width(ensemble.amps([208.0]))


def test_power_from_volts_and_amps_has_the_band_of_such_motors():
    power = identify.from_nameplate(plate_without("power")).power
    low, high = np.quantile(power, (0.05, 0.95))
    assert low < 745.7 / 3 < high
    assert 0.35 * 460 < low and high < 0.75 * 460


@pytest.mark.parametrize(
    "missing, named",
    [(("voltage",), "voltage"), (("power", "current"), "power"), (("speed",), "poles")],
)
def test_too_little_on_the_plate_is_said(missing, named):
    with pytest.raises(InputError, match=named):
        identify.from_nameplate(plate_without(*missing))


def test_a_plate_that_no_such_motor_can_have_is_said():
    with pytest.raises(InputError, match="nameplate"):
        identify.from_nameplate({**PLATE, "current": "1.1 A", "capacitor": "60 uF"})
