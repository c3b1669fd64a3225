"""Panels of the worksheets: the only place of ipywidgets.

A panel is a Python object: its controls are attributes, ``compute()`` reads them and returns
numbers, ``update()`` draws. Errors in a panel are raised, never collected.
"""

from airover.panels.bearing_panel import BearingPanel
from airover.panels.checked import (
    checked,
    figures_of,
    figures_of_bearings,
    figures_of_choices,
    figures_of_cost,
    figures_of_fan,
    figures_of_heat,
    figures_of_lesson_fan,
    figures_of_motor,
    figures_of_stock,
    figures_of_verified,
)
from airover.panels.fan_panel import FanPanel
from airover.panels.heat_panel import HeatPanel
from airover.panels.lesson_case_panel import LessonCasePanel
from airover.panels.lesson_fan_panel import LessonFanPanel
from airover.panels.lesson_fan_shown import lesson_notes
from airover.panels.motor_panel import MotorPanel
from airover.panels.parts import Picture
from airover.panels.proposal_panel import ProposalPanel
from airover.panels.replacement import ReplacementPanel
from airover.panels.stock_panel import StockPanel
from airover.panels.verify_panel import VerifyPanel

__all__ = [
    "BearingPanel",
    "FanPanel",
    "HeatPanel",
    "LessonCasePanel",
    "LessonFanPanel",
    "MotorPanel",
    "Picture",
    "ProposalPanel",
    "ReplacementPanel",
    "StockPanel",
    "VerifyPanel",
    "checked",
    "figures_of",
    "figures_of_bearings",
    "figures_of_choices",
    "figures_of_cost",
    "figures_of_fan",
    "figures_of_heat",
    "figures_of_lesson_fan",
    "figures_of_motor",
    "figures_of_stock",
    "figures_of_verified",
    "lesson_notes",
]
