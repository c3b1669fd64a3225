"""Insulation against the standards' tables."""

import pytest

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
        insulation.life(temp, 130, 10.0),
        hours,
        within=2e-6,  # six printed figures
        source="IEC 60216, halving interval, from memory, recomputed",
    )


@pytest.mark.parametrize("enclosure", RISES)
@pytest.mark.parametrize("letter", "ABFH")
def test_rise_by_resistance(book, enclosure, letter):
    source = "NEMA MG 1, 12.43, from memory, not verified"
    if (enclosure, letter) == ("totally enclosed", "H"):
        source += " (130 or 135 in memory: the lower is used)"
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


@pytest.mark.parametrize(("elevation", "factor"), [(1000, 1.0), (1500, 0.95), (3000, 0.8)])
def test_altitude(book, elevation, factor):
    source = "IEC 60034-1, 1 % per 100 m above 1000 m, from memory, recomputed"
    ours = insulation.altitude_factor(elevation)
    book.agrees(f"altitude factor at {elevation} m", ours, factor, within=EXACT, source=source)
