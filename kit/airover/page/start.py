"""What the served notebook runs: everything slow first, then the page of whoever asks for it."""

import os

import ipywidgets as widgets
from voila.utils import get_query_string

from airover.page.app import App
from airover.page.keys import key_of, unsaved_file, unsaved_folder
from airover.page.spoken import LANGUAGE, UNITS


def begin() -> widgets.Widget:
    """The widget of the page whose request this kernel answers; waits for the request.

    Raises InputError where the request has no key.
    """
    spoken = os.environ.get(LANGUAGE, "en"), os.environ.get(UNITS, "US")
    key = key_of(get_query_string() or "")
    return App(*spoken, unsaved=unsaved_file(unsaved_folder(), key)).view
