"""Run capacitors against the trade's rule and the standard's classes."""

import pytest

from airover.physics import circuit

COPIED = 0  # figures of a table, copied
STANDARD = "IEC 60252-1, from memory, not verified"


def test_the_trade_rule(book):
    ours = circuit.capacitance(1.0, 1.0, 60.0) * 1e6
    source = "uF = 2652 I/V at 60 Hz, common practice, recomputed"
    # 2652.58 is printed as 2652
    book.agrees("uF per A/V at 60 Hz", ours, 2652.0, within=3e-4, source=source)


@pytest.mark.parametrize(
    ("letter", "hours"), [("A", 30000), ("B", 10000), ("C", 3000), ("D", 1000)]
)
def test_life_class(book, letter, hours):
    ours = circuit.life(370.0, 70.0, 370.0, letter)
    book.agrees(f"life, class {letter}, h", ours, hours, within=COPIED, source=STANDARD)


@pytest.mark.parametrize(("place", "tolerance"), [(0, 5), (1, 10), (2, 15)])
def test_tolerance(book, place, tolerance):
    ours = 100 * circuit.TOLERANCES[place]
    book.agrees(f"tolerance {tolerance} %", ours, tolerance, within=COPIED, source=STANDARD)
    # 10 uF at 400 V and 50 Hz pass 2 pi 50 x 10e-6 x 400 = 1.25664 A.
    amps = 1.25664 * (1 - circuit.TOLERANCES[place])
    ours, least = circuit.capacitance(amps, 400.0, 50.0) * 1e6, 10 * (1 - tolerance / 100)
    item = f"10 uF less {tolerance} %, by amps at 400 V, 50 Hz, uF"
    book.agrees(item, ours, least, within=1e-5, source=f"by hand; tolerance {STANDARD}")


def test_overvoltage(book):
    ours = circuit.OVERVOLTAGE
    book.agrees("maximum voltage over marked voltage", ours, 1.1, within=COPIED, source=STANDARD)
    ours = circuit.life(370.0 * circuit.OVERVOLTAGE, 70.0, 370.0, "A")
    item = "life of class A at the highest voltage, 8th power, h"
    book.agrees(item, ours, 13995, within=1e-4, source=f"30000 / 1.1^8 by hand; {STANDARD}")
