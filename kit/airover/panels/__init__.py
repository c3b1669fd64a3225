"""Panels of the worksheets: the only place of ipywidgets.

A panel is a Python object: its controls are attributes, ``compute()`` reads them and returns
numbers, ``update()`` draws. Errors in a panel are raised, never collected.
"""

from airover.panels.checked import checked, figures_of
from airover.panels.parts import Picture
from airover.panels.replacement import ReplacementPanel

__all__ = ["Picture", "ReplacementPanel", "checked", "figures_of"]
