"""Insulation against the standards' tables."""

import numpy as np
import pytest
from scipy import constants

from airover.physics import insulation

# Tables are copied, so they agree exactly: any tolerance would hide a slip.
EXACT = 0
CLASSES = {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180, "N": 200, "R": 220}
RISES = {
    "open": {"A": 60, "B": 80, "F": 105, "H": 125},
    "totally enclosed": {"A": 65, "B": 85, "F": 110, "H": 130},
}


@pytest.mark.parametrize("letter", CLASSES)
def test_class_temperature(book, letter):
    book.agrees(
        f"class {letter}, degC",
        insulation.temperature_index(letter),
        CLASSES[letter],
        within=EXACT,
        source="IEC 60085, thermal classes, from memory, recomputed",
    )


@pytest.mark.parametrize(("temp", "hours"), [(115, 56568.5), (140, 10000.0)])
def test_life_by_the_halving_rule(book, temp, hours):
    book.agrees(
        f"life at {temp} degC, index 130, 10 K, h",
        insulation.life(temp, 130),  # 10 K is what the function takes by itself
        hours,
        within=2e-6,  # six printed figures
        source="IEC 60216, halving interval, from memory, recomputed",
    )


# Transformer paper, index 110 degC, slope 15 000 K: another field's use of the same equation.
PAPER_SLOPE = 15000.0


@pytest.mark.parametrize(
    ("temp", "factor"), [(100, 0.3499), (120, 2.7089), (130, 6.9842), (140, 17.1995)]
)
def test_aging_by_arrhenius(book, temp, factor):
    index = 110.0 + 273.15
    interval = np.log(2) * index**2 / (PAPER_SLOPE - np.log(2) * index)
    line = insulation.arrhenius(110.0, interval)
    book.agrees(
        f"aging factor at {temp} degC, index 110",
        line.life(110.0) / line.life(float(temp)),
        factor,
        within=3e-3,  # the guide writes 273 for 273.15
        source="IEEE C57.91, aging acceleration factor, from memory, recomputed",
    )


def test_activation_energy_of_class_b(book):
    boltzmann = constants.Boltzmann / constants.electron_volt
    book.agrees(
        "activation energy, index 130, 10 K, eV",
        insulation.arrhenius("B").slope * boltzmann,
        1.0,
        within=0.02,  # a round figure
        source="usual 1 eV of insulation, common practice, constant from SciPy run in this test",
    )


@pytest.mark.parametrize("enclosure", ["open", "totally enclosed"])
@pytest.mark.parametrize(
    ("letter", "rise"), [("A", 65), ("E", 75), ("B", 85), ("F", 110), ("H", 130)]
)
def test_rise_by_resistance_of_the_iec(book, enclosure, letter, rise):
    source = "IEC 60034-1, table of rises, item 1 d (below 600 W), from memory, not verified"
    ours = insulation.rise_limit(letter, enclosure, standard="IEC 60034-1")
    book.agrees(f"rise, IEC, {enclosure}, {letter}, K", ours, rise, within=EXACT, source=source)


@pytest.mark.parametrize("enclosure", RISES)
@pytest.mark.parametrize("letter", "ABFH")
def test_rise_by_resistance(book, enclosure, letter):
    source = "NEMA MG 1, 12.43, from memory, not verified"
    if enclosure == "open":
        source = "NEMA MG 1, rises at service factor 1.0, in a table on a public web page; quoted"
    if (enclosure, letter) == ("totally enclosed", "H"):
        source += " (remembered as 130 or 135; the lower value is used)"
    ours, table = insulation.rise_limit(letter, enclosure), RISES[enclosure][letter]
    book.agrees(f"rise, {enclosure}, {letter}, K", ours, table, within=EXACT, source=source)


def test_ambient_above_40_is_subtracted(book):
    source = "NEMA MG 1, 12.43, note on ambient, from memory, recomputed"
    ours = insulation.rise_limit("F", "totally enclosed", 70.0)
    book.agrees("rise, F, 70 degC ambient, K", ours, 80.0, within=EXACT, source=source)


@pytest.mark.parametrize(("letter", "limit"), [("A", 140), ("B", 165), ("F", 190), ("H", 215)])
def test_protector(book, letter, limit):
    source = "UL 1004-3, running overload, from memory, not verified"
    ours = insulation.protector_limit(letter)
    book.agrees(f"protector, {letter}, degC", ours, limit, within=EXACT, source=source)


LOCKED = {
    "first hour": ("FIRST_HOUR", (200, 225, 250, 275)),
    "later peaks": ("LATER_PEAK", (175, 200, 225, 250)),
    "later average": ("LATER_AVERAGE", (150, 175, 200, 225)),
}


@pytest.mark.parametrize("when", LOCKED)
@pytest.mark.parametrize("place", range(4))
def test_locked_rotor(book, when, place):
    name, table = LOCKED[when]
    row = getattr(insulation, name)
    letter = "ABFH"[place]
    source = "UL 1004-3, locked rotor, automatic protector, from memory, not verified"
    assert row.source == f"UL 1004-3, locked rotor, automatic, {when}, from memory, not verified"
    item = f"locked rotor, {when}, {letter}, degC"
    book.agrees(item, row.by_class[letter], table[place], within=EXACT, source=source)


@pytest.mark.parametrize(("elevation", "factor"), [(1000, 1.0), (1500, 0.95), (3000, 0.8)])
def test_altitude(book, elevation, factor):
    source = "IEC 60034-1, 1 % per 100 m above 1000 m, from memory, recomputed"
    ours = insulation.altitude_factor(elevation)
    book.agrees(f"altitude factor at {elevation} m", ours, factor, within=EXACT, source=source)
