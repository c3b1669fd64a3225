"""A redraw after a slider moved or a field was edited, beside one that builds its figure anew."""

import asyncio
import itertools
from functools import partial

import numpy as np
from row import Row, timed

from airover.app.motor_panel import MotorPanel
from airover.app.replacement import ReplacementPanel
from airover.core.files import data_folder
from airover.model.expected import Expected
from airover.reports import answer_tables
from airover.reports.motor import MotorPicture
from airover.reports.torque import TorquePicture
from airover.selection.answer import Answer, answer

JOB = data_folder() / "jobs" / "roof-unit.toml"
FIELDS = {
    ("nameplate", "current"): ("1.8", "2.1"),
    ("nameplate", "power"): ("1/4", "1/3"),
    ("nameplate", "speed"): ("825", "1075"),
    ("nameplate", "capacitor"): ("5", "7.5"),
    ("site", "voltage"): ("228", "240"),
    ("site", "elevation"): ("0", "4000"),
    ("site", "outdoor_temperature"): ("95", "110"),
    ("blade", "diameter"): ("20", "22"),
}


def redrawn(moves: int) -> list[Row]:
    """From the slider's new value until everything is shown: the middle, and 95 of 100.

    The peer does the same physics and makes no tables; both take turns, so that other work on the
    machine meets both alike.
    """
    panel = MotorPanel()
    ours, peers, apart = [], [], []
    for share in 50 + 5 * (np.arange(1, moves + 1) % 15):
        seconds, _ = timed(lambda at=int(share): setattr(panel.blade, "value", at))
        ours.append(seconds)
        seconds, found = timed(lambda at=int(share): _anew(panel, at / 100))
        peers.append(seconds)
        apart.append(abs(found.current.mid / panel.answer.current.mid - 1))
    name = "the same physics, figure built anew, no tables"
    return _rows("redraw after a slider move", ours, name, peers, apart)


def edited(edits: int) -> list[Row]:
    """From a new entry in a field of worksheet 01 until the new answer is shown.

    The panel runs in an event loop, as in a worksheet, so that collapsed sections follow later. The
    peer calculates the same answer, builds its figure anew and makes the tables of all motors.
    """
    return _rows("field edit in worksheet 01", *asyncio.run(_edited(edits)))


async def _edited(edits: int):
    panel = ReplacementPanel(JOB)
    ours, peers, apart = [], [], []
    fields = itertools.cycle(FIELDS.items())
    for number, ((record, name), entries) in zip(range(edits), fields, strict=False):
        entry = partial(setattr, getattr(getattr(panel, record), name), "value")
        seconds, _ = timed(partial(entry, entries[number // len(FIELDS) % 2]))
        ours.append(seconds)
        await asyncio.sleep(0.5)
        seconds, found = timed(lambda: _answered(panel))
        peers.append(seconds)
        one, other = (at.candidates[0].case.current.mid for at in (found, panel.answer))
        apart.append(abs(one / other - 1))
    return ours, "the same answer, figure built anew, tables of all motors", peers, apart


def _answered(panel: ReplacementPanel) -> Answer:
    found = answer(panel.job(), panel.motors())
    TorquePicture(panel.writer).png(found.candidates[0])
    for table in (answer_tables.candidates, answer_tables.rejected, answer_tables.failures):
        table(found, panel.writer)
    answer_tables.checks(found.candidates[0], panel.writer)
    return found


def _rows(what: str, ours, name: str, peers, apart) -> list[Row]:
    parts = (("the middle", 50), ("95 of 100 are faster", 95))
    return [
        Row(f"{what}, {words}", np.percentile(ours, share),
            name, np.percentile(peers, share), max(apart), 1e-9)
        for words, share in parts
    ]  # fmt: skip


def _anew(panel: MotorPanel, blade: float) -> Expected:
    mounted, voltage = panel.answer.mounted, panel.voltage.value
    sweep, now = mounted.across(voltage, 1.0, blade)
    found = Expected(mounted, voltage, 1.0, blade, now, sweep)
    MotorPicture().png(found)
    return found
