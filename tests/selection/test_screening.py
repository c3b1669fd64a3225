"""The figures that the screening of a fleet keeps for each motor."""

from airover.selection.screening import (
    BREAKDOWN,
    CAPACITOR,
    CURRENT,
    INPUT,
    LOAD,
    RISE,
    SLIP,
    STOPS,
)


def test_each_figure_has_its_polynomial():
    """Those of a failed motor, which has few, come first."""
    assert sorted([RISE, SLIP, LOAD]) == list(range(3))
    assert sorted([RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN, INPUT]) == list(range(7))
    assert len(STOPS) == len(set(STOPS)) == 8
