"""The page of measured evidence says what the kit calculates today, and explains its misses."""

import numpy as np
import pytest

from . import evidence

GRIDLABD = "GridLAB-D, powerflow/motor.cpp, SPIMSteadyState; read"


def test_the_page_is_what_the_kit_calculates():
    written = evidence.PAGE.read_text(encoding="utf-8")
    assert written == evidence.page(), "run python -m tests.published.evidence"


def test_there_is_enough_evidence_and_each_miss_is_explained():
    rows = evidence.rows()
    assert len({row.source for row in rows}) >= 8
    assert sum(row.counted for row in rows) >= 60
    assert all(evidence.lesson(row) for row in rows if not row.inside)


@pytest.mark.parametrize("slip", evidence.data()["gridlabd"]["slips"])
def test_the_circuit_agrees_with_an_open_program(book, slip):
    """Without saturation, in per unit of 240 V and 3500 W."""
    current, torque, capacitor, *_ = evidence.gridlabd(1.0, slip, saturated=False)
    motor = evidence.gridlabd_circuit(slip).changed(share=0.0)
    g = evidence.data()["gridlabd"]
    linear = motor.changed(Xm=g["Xm"] * g["voltage"] ** 2 / g["power"])
    at = linear.rearranged(lambda x: np.ravel(x)[0]).balance(g["voltage"], 60.0, slip)
    for item, theirs, ours in (
        ("line current", current, abs(at.current) * g["voltage"] / g["power"]),
        ("torque", torque, at.torque * 120 * np.pi / g["power"]),
        ("capacitor voltage", capacitor, abs(at.voltage_capacitor) / g["voltage"]),
    ):
        item = f"capacitor-run motor, slip {slip:g}: {item}, per unit"
        book.agrees(item, ours, theirs, within=1e-4, source=GRIDLABD)
