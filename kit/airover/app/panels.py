"""Provide the panels of the worksheets. Only this package uses ipywidgets.

A panel is a Python object with its controls as attributes. ``compute()`` reads the controls and
returns numbers, and ``update()`` shows the result. Errors in a panel are raised rather than
collected.
"""

from airover.app.bearing_panel import BearingPanel
from airover.app.checked import (
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
from airover.app.compare_panel import ComparePanel
from airover.app.fan_panel import FanPanel
from airover.app.heat_panel import HeatPanel
from airover.app.import_panel import ImportPanel
from airover.app.lesson_case_panel import LessonCasePanel
from airover.app.lesson_fan_panel import LessonFanPanel
from airover.app.motor_panel import MotorPanel
from airover.app.panel import Picture
from airover.app.proposal_panel import ProposalPanel
from airover.app.replacement import ReplacementPanel
from airover.app.stock_panel import StockPanel
from airover.app.verify_panel import VerifyPanel
from airover.lesson.notes import lesson_notes

__all__ = [
    "BearingPanel",
    "ComparePanel",
    "FanPanel",
    "HeatPanel",
    "ImportPanel",
    "LessonCasePanel",
    "LessonFanPanel",
    "MotorPanel",
    "Picture",
    "ProposalPanel",
    "ReplacementPanel",
    "StockPanel",
    "VerifyPanel",
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
