"""The coil against the trade's 1.08 rule and an effectiveness line."""

import ht
import numpy as np
import pytest

from airover.physics import coil, compressor

HEAT = 45000 * 1055.05585262 / 3600  # [W] 45 000 Btu/h
FLOW = 2400 * 0.3048**3 / 60  # [m3/s] 2400 cfm
TEMP_IN = (95 - 32) / 1.8  # [degC] 95 degF
EVAPORATING = 280.372 - 273.15  # [degC] 45 degF
RULE = "1.08 = 60 x 0.075 x 0.24, common practice, recomputed"
LINE = "effectiveness of a condensing coil, NTU ~ V^(0.6 - 1), from memory, recomputed"


def test_air_rise(book):
    rise = (coil.leaving_temperature(HEAT, FLOW, TEMP_IN) - TEMP_IN) * 1.8
    # five printed figures
    book.agrees("air rise, 45000 Btu/h, 2400 cfm, degF", rise, 17.361, within=3e-5, source=RULE)


@pytest.mark.parametrize("again", [0.0, 0.15, 0.4, 0.8])
def test_air_drawn_in_again(book, again):
    """Two balances solved together: mixing before the coil, heat in the coil; 1.08 of the trade."""
    rise = 45000 / (1.08 * 2400)  # degF
    entering, leaving = np.linalg.solve([[1, -again], [-1, 1]], [(1 - again) * 95, rise])
    ours = coil.entering_temperature(HEAT, FLOW, TEMP_IN, again)
    item, source = (
        f"with {again:g} of the air recirculated",
        "mixing and heat balances, NumPy solve",
    )
    road = "coil", "temperatures with recirculated air"
    # 1.08 has all its figures; the rest is units
    within = {"within": 1e-6, "source": source, "road": road}
    book.agrees(f"entering {item}, degF", ours * 1.8 + 32, entering, **within)
    ours = coil.leaving_temperature(HEAT, FLOW, ours)
    book.agrees(f"leaving {item}, degF", ours * 1.8 + 32, leaving, **within)


def test_nothing_drawn_in_again_unless_said():
    """The weather itself, by definition."""
    assert coil.entering_temperature(HEAT, FLOW, TEMP_IN) == TEMP_IN


LINES = [(1.0, 0.65, 121.71), (0.8, 0.68268, 126.79), (0.5, 0.74974, 141.31)]


@pytest.mark.parametrize(("ratio", "share", "temp"), LINES)
def test_less_airflow(book, ratio, share, temp):
    ours = coil.effectiveness(0.65, ratio, 0.6)
    book.agrees(f"effectiveness at flow x {ratio}", ours, share, within=1e-5, source=LINE)
    condensing = coil.condensing_temperature(HEAT, FLOW * ratio, TEMP_IN, ours) * 1.8 + 32
    item = f"condensing temperature at flow x {ratio}, degF"
    # printed to 0.01 degF
    book.agrees(item, condensing, temp, within=5e-5, source=LINE)


@pytest.mark.parametrize("ratio", [0.3, 0.5, 1.5])
def test_effectiveness_is_that_of_ht(book, ratio):
    units = ht.NTU_from_effectiveness(0.65, Cr=0, subtype="boiler") * ratio ** (0.5 - 1)
    book.agrees(
        f"effectiveness at flow x {ratio}, m 0.5",
        coil.effectiveness(0.65, ratio, 0.5),
        ht.effectiveness_from_NTU(units, Cr=0, subtype="boiler"),
        within=1e-12,  # the same formula
        source="ht effectiveness_from_NTU, run in this test",
        road=("coil", "effectiveness at less airflow"),
    )


@pytest.mark.parametrize(("conductance", "flow"), [(600.0, 0.9), (1434.0, 1.1327), (3000.0, 1.5)])
def test_a_coil_of_known_conductance(book, conductance, flow):
    capacity = coil.DENSITY_STANDARD * coil.HEAT_CAPACITY * flow
    theirs = ht.effectiveness_NTU_method(
        mh=1e9, mc=flow * coil.DENSITY_STANDARD, Cph=4000.0, Cpc=coil.HEAT_CAPACITY,
        Thi=50.0, Tci=35.0, UA=conductance, subtype="crossflow, mixed Cmin",
    )["Q"]  # fmt: skip
    ours = coil.effectiveness_of(coil.transfer_units(conductance, flow)) * capacity * 15.0
    book.agrees(
        f"heat of a coil of {conductance:g} W/K in {flow:g} m3/s, 15 K, W",
        ours,
        theirs,
        within=1e-6,  # a condensing stream stood in for by an almost endless one
        source="ht effectiveness_NTU_method, run in this test",
        road=("coil", "heat of a coil of known conductance"),
    )


def test_a_fifth_less_air_costs_about_a_tenth_more_compressor_power(book):
    cops = []
    for ratio, published in ((1.0, 3.1966), (0.8, 2.9114)):
        share = coil.effectiveness(0.65, ratio)
        condensing = coil.condensing_temperature(HEAT, FLOW * ratio, TEMP_IN, share)
        cops.append(compressor.cycle_cooling_ratio(condensing, EVAPORATING))
        book.agrees(
            f"R410A COP at our condensing temperature, flow x {ratio}",
            cops[-1],
            published,
            within=1e-3,  # the published 126.8 degF is rounded by 0.01, the mixture model may move
            source="CoolProp cycle, run in this test; published from memory, recomputed",
        )
    assert 1.08 < cops[0] / cops[1] < 1.12
