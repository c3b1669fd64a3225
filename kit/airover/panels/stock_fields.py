"""What the panel of stock asks: money, room, trucks, which calls and which catalogue."""

import os
from pathlib import Path

from airover.locations import data_folder

# unit, least, most and step of the room on a truck
SPACES = {"US": ("ft3", 1, 36, 1), "SI": ("L", 30, 1000, 10)}
STEPS = 20  # of the money's slider
MOST_TRUCKS, MOST_DAYS = 12, 28
USUAL_MONEY = 5000.0  # where a catalogue has no price: the calls then say why nothing is planned


def sample_calls() -> Path:
    """The invented calls that are shown first."""
    return data_folder() / "calls" / "one-truck.csv"


def stamp(path) -> tuple:
    """What tells whether the file at ``path`` is the one that was read: name, size and time."""
    try:
        about = os.stat(path)
    except OSError:  # reading it will say why
        return str(path), 0, 0
    return str(path), about.st_size, about.st_mtime_ns


def results() -> str:
    """The folder that is written to, beside the worksheets' folder."""
    above = Path("..") if Path.cwd().name == "worksheets" else Path()
    return os.fspath(above / "results" / "stock")
