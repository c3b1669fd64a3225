"""Panels in Spanish: no English stands on them."""

import re
from html import unescape

import ipywidgets as widgets
import pytest

from airover.app.bearing_panel import BearingPanel
from airover.app.fan_panel import FanPanel
from airover.app.heat_panel import HeatPanel
from airover.app.motor_panel import MotorPanel
from airover.app.proposal_panel import ProposalPanel
from airover.app.replacement import ReplacementPanel
from airover.app.stock_panel import StockPanel
from airover.app.verify_panel import VerifyPanel

PANELS = (
    ReplacementPanel, MotorPanel, FanPanel, HeatPanel, BearingPanel, VerifyPanel, ProposalPanel,
    StockPanel,
)  # fmt: skip
ENGLISH = re.compile(
    r"\b(the|and|with|from|not|is|are|its|it|of|by|for|at|to|or|least|most|this|that|your|what|"
    r"which|such|does|fits?|amps|reading|accepted|given|sleeve|ball|speed|power)\b",
    re.IGNORECASE,
)


def every_widget(top) -> list:
    return [top, *(one for child in getattr(top, "children", ()) for one in every_widget(child))]


def words(panel) -> list[str]:
    """All that a panel shows: HTML, labels, hints, choices, tooltips and titles."""
    found = []
    for one in every_widget(panel.view):
        if isinstance(one, widgets.HTML):
            bare = re.sub(
                r"<style>.*?</style>|(?:href|src)=\"[^\"]*\"", " ", one.value, flags=re.DOTALL
            )
            found += re.findall(r'alt="([^"]*)"', bare) + re.split(r"<[^>]*>", bare)
        names = ("description", "placeholder", "tooltip")
        found += [getattr(one, name, "") or "" for name in names]
        if isinstance(one, widgets.Dropdown):
            found += [label for label, _ in one.options]
        found += list(getattr(one, "titles", ()))
    return [unescape(one).strip() for one in found if one.strip()]


@pytest.mark.parametrize("kind", PANELS)
def test_no_english_stands_on_a_spanish_panel(kind, files):
    panel = kind(*(files if kind is StockPanel else ()), language="es", units="SI")
    if isinstance(panel, StockPanel):
        panel.finish()  # its plan is made in slices, which a busy machine has not done by now
    for one in every_widget(panel.view):
        if isinstance(one, widgets.Tab):
            for at in range(len(one.children)):
                one.selected_index = at
    shown = words(panel)
    assert len(shown) > 60
    left = [one for one in shown if ENGLISH.search(one)]
    assert not left
