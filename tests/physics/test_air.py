"""Air: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import air
from tests.refusals import assert_refused

temps = st.floats(-60, 90)
pressures = st.floats(80e3, 110e3)
humidities = st.floats(0, 1)


@given(st.floats(-500, 5990))
def test_pressure_falls_with_elevation(elevation):
    assert air.standard_pressure(elevation + 10) < air.standard_pressure(elevation)


@given(temps, pressures, humidities)
def test_vapour_makes_air_lighter_and_never_by_more_than_its_share(temp, pressure, humidity):
    dry = air.moist_air_density(temp, pressure)
    moist = air.moist_air_density(temp, pressure, humidity)
    assert dry * air.VAPOUR_TO_AIR < moist <= dry


@given(temps, pressures)
def test_dry_air_is_an_ideal_gas(temp, pressure):
    density = air.moist_air_density(temp, pressure)
    assert density * 287.042 * (temp + 273.15) == pytest.approx(pressure, rel=1e-12)


@given(st.floats(-60, 89))
def test_saturation_pressure_rises_with_temperature(temp):
    assert air.saturation_pressure(temp + 1) > air.saturation_pressure(temp)


def test_the_two_saturation_formulae_meet_at_the_triple_point():
    below, above = air.saturation_pressure([0.0099, 0.0101])
    assert above / below == pytest.approx(1.0, abs=1e-4)


def test_arrays_broadcast_and_equal_scalars():
    temps, pressures = np.array([[-10.0], [20.0], [50.0]]), np.array([85e3, 101325.0])
    density = air.moist_air_density(temps, pressures, 0.3)
    assert density.shape == (3, 2)
    assert density[1, 0] == air.moist_air_density(20.0, 85e3, 0.3)
    many = air.properties(temps)
    assert many.prandtl.shape == (3, 1)
    assert many.conductivity[2, 0] == pytest.approx(air.properties(50.0).conductivity, rel=1e-14)


def test_scalars_give_plain_numbers():
    assert isinstance(air.standard_pressure(0), float)
    assert isinstance(air.moist_air_density(20, 101325), float)
    assert isinstance(air.properties(20).kinematic_viscosity, float)


def test_air_of_vapour_alone_is_refused():
    """Boiling water; of many states the first is named."""
    boiling = air.saturation_pressure(85.0)
    with pytest.raises(InputError) as refused:
        air.moist_air_density([20.0, 85.0, 88.0], [101325.0, boiling, 60e3], 1.0)
    assert_refused(refused.value, "relative_humidity", round(boiling), round(boiling), "vapor")
    assert refused.value.unit == "Pa"
    with pytest.raises(InputError):
        air.moist_air_density(85.0, boiling, 1.0)
    assert air.moist_air_density(85.0, boiling * 1.001, 1.0) > 0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: air.moist_air_density(293.15, 101325.0), "temp_air: 293.15 degC"),
        (lambda: air.moist_air_density(20.0, 1013.25), "pressure: 1,013.25 Pa"),
        (lambda: air.moist_air_density(20.0, 14.7), "pressure: 14.7 Pa"),
        (lambda: air.moist_air_density(20.0, 101325.0, 50.0), "relative_humidity: 50"),
        (lambda: air.moist_air_density([20.0, np.nan], 101325.0), "temp_air: nan"),
        (lambda: air.moist_air_density("warm", 101325.0), "temp_air: 'warm'"),
        (lambda: air.moist_air_density(90.0, [101325.0, 60e3], 1.0), "less than the air pressure"),
        (lambda: air.standard_pressure(20e3), "elevation: 20,000 m"),
        (lambda: air.properties(323.15), "temp_air: 323.15 degC"),
    ],
)
def test_wrong_units_and_contradictions_are_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()
