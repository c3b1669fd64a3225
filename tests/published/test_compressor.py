"""The compressor's closed form beside cycles worked with a property library."""

import numpy as np
import pytest

from airover.physics import compressor

EVAPORATING = 280.372 - 273.15  # [degC] 45 degF
CYCLE = "R410A cycle, 5 K superheat, 5 K subcooling, 65 %, from memory, recomputed"
LIBRARY = "CoolProp cycle, run in this test"


def degf(temp):
    return (temp - 32) / 1.8


@pytest.mark.parametrize(("temp", "ratio"), [(121.71, 3.1966), (126.8, 2.9114)])
def test_published_cycles(book, temp, ratio):
    ours = compressor.cooling_ratio(degf(temp), EVAPORATING)
    # the closed form is a fit within 0.5 %
    book.agrees(f"R410A COP at {temp} degF, closed form", ours, ratio, within=5e-3, source=CYCLE)
    ours = compressor.cycle_cooling_ratio(degf(temp), EVAPORATING)
    # five printed figures; the mixture's equation of state may move in the fifth
    book.agrees(f"R410A COP at {temp} degF, CoolProp", ours, ratio, within=2e-4, source=CYCLE)


def test_the_usual_evaporation(book):
    """Comfort cooling is stated at 45 degF; so is our cycle where nothing else is said."""
    ours = compressor.cooling_ratio(degf(121.71))
    source = "45 degF, common practice; R410A cycle from memory, recomputed"
    book.agrees(
        "R410A COP at 121.71 degF, default evaporating temperature",
        ours,
        3.1966,
        within=5e-3,
        source=source,
    )
    ours = compressor.TEMP_EVAPORATING * 1.8 + 32
    book.agrees(
        "usual evaporating temperature, degF", ours, 45.0, within=2e-4, source="common practice"
    )


@pytest.mark.parametrize("temp", [31.3, 46.3, 63.7])  # off the grid of the fit
@pytest.mark.parametrize("name", compressor.FITS)
def test_closed_form(book, name, temp):
    for evaporating in (1.2, 11.2):
        book.agrees(
            f"{name} COP from {evaporating} to {temp} degC",
            compressor.cooling_ratio(temp, evaporating, name),
            compressor.cycle_cooling_ratio(temp, evaporating, name),
            within=compressor.FITS[name].within,  # what the module promises
            source=LIBRARY,
            road=("compressor", f"cooling over power of {name}"),
        )


PURE = [name for name in compressor.FITS if name != "R454B"]  # a mixture takes long to fit


@pytest.mark.parametrize("name", PURE)
def test_the_coefficients_are_those_of_the_fit(name):
    ours, again = compressor.FITS[name], compressor.fitted(name)
    temps = np.linspace(30, 66, 7)
    np.testing.assert_allclose(
        compressor.cooling_ratio(temps, 7.22, ours),
        compressor.cooling_ratio(temps, 7.22, again),
        rtol=1e-4,  # coefficients are kept to five figures
    )
    assert again.within <= ours.within < again.within + 1e-3


def test_a_fifth_less_air_costs_about_a_tenth_more_power():
    full, short = compressor.compressor_power(10e3, degf(np.array([121.71, 126.79])), EVAPORATING)
    assert 1.08 < short / full < 1.12
