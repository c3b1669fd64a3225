"""A redraw after a control is changed, beside one that builds its figure or its panel anew."""

import asyncio
import itertools
import re
from functools import partial

import ipywidgets as widgets
import numpy as np
from row import HEAD, Row, timed

from airover.app.bearing_panel import BearingPanel
from airover.app.fan_panel import FanPanel
from airover.app.heat_panel import HeatPanel
from airover.app.lesson_case_panel import LessonCasePanel
from airover.app.lesson_fan_panel import LessonFanPanel
from airover.app.motor_panel import MotorPanel
from airover.app.page import STEPS, App
from airover.app.proposal_panel import ProposalPanel
from airover.app.replacement import ReplacementPanel
from airover.app.verify_panel import VerifyPanel
from airover.core.files import data_folder
from airover.model.expected import Expected
from airover.reports import answer_tables
from airover.reports.motor import MotorPicture
from airover.reports.torque import TorquePicture
from airover.selection.answer import Answer, answer

JOB = data_folder() / "jobs" / "roof-unit.toml"
CURVE = data_folder() / "curves" / "example-blade.csv"
READINGS = data_folder() / "measured" / "roof-unit-first-start.toml"
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
PANELS = {
    "worksheet 02": partial(MotorPanel, JOB),
    "worksheet 03": partial(FanPanel, CURVE, JOB),
    "worksheet 04": partial(HeatPanel, JOB),
    "worksheet 05": partial(BearingPanel, JOB),
    "worksheet 06": partial(VerifyPanel, JOB, READINGS),
    "worksheet 07": partial(ProposalPanel, JOB),
    "worksheet 09": LessonFanPanel,
    "worksheet 10": LessonCasePanel,
}
SETTLED = 0.25  # s after which collapsed and dimmed parts have followed
_FILE = re.compile(r"\.(toml|csv|typ|pdf)\b")


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


def swept(most: int, panels: int) -> list[Row]:
    """The slowest control of all worksheets but 01 and 08, and the slowest of the page's steps.

    The file run as a command prints the slowest control of each panel and step. ``most`` and
    ``panels`` limit how many controls and panels are tried.
    """
    rows = (each(most, panels) for each in (of_worksheets, of_steps))
    return [max(found, key=lambda row: row.ours) for found in rows]


def of_worksheets(most: int, panels: int) -> list[Row]:
    """The slowest control of each panel.

    Every control is set to another value and back. The peer makes the panel anew and then changes
    the same control. Both must say the same if all their entries are the same: a list that
    belongs to another motor does not come back.
    """
    asked = itertools.islice(PANELS.items(), panels)
    return [asyncio.run(_slowest(name, make, most)) for name, make in asked]


def of_steps(most: int, panels: int) -> list[Row]:
    """The slowest control of each step of the page, measured as in `of_worksheets`."""
    asked = itertools.islice(enumerate(STEPS), panels)
    return [
        asyncio.run(_slowest(f"page, {step.step}", partial(_step, at), most)) for at, step in asked
    ]


def _step(at: int):
    page = App()
    page.sample.click()
    page.steps.selected_index = at
    return page.shown


async def _slowest(name: str, make, most: int) -> Row:
    panel, times = make(), {}
    await asyncio.sleep(SETTLED)
    asked = [(at, one) for at, one in enumerate(_controls(panel.view)) if _other(one) is not None]
    for at, control in asked[:most]:
        for entry in (_other(control), control.value):
            seconds, _ = timed(partial(setattr, control, "value", entry))
            times[seconds] = at, control, entry
            await asyncio.sleep(SETTLED)
    slowest = max(times)
    at, control, entry = times[slowest]

    def anew():
        other = make()
        list(_controls(other.view))[at].value = entry
        return other

    seconds, other = timed(anew)
    control.value = entry
    same = [[one.value for one in _controls(each.view)] for each in (panel, other)]
    apart = float(same[0] == same[1] and repr(other) != repr(panel))
    what = f"{name}, slowest control: {control.description or type(control).__name__}"
    return Row(what, slowest, "the panel made anew with this entry", seconds, apart, 0.0)


def _controls(view):
    """All controls below ``view`` for entries, without those that open a job or a section."""
    if {"ao-job", "ao-fold"} & set(getattr(view, "_dom_classes", ())):
        return
    if hasattr(view, "value") and not isinstance(view, widgets.HTML | widgets.FileUpload):
        yield view
    for child in getattr(view, "children", ()):
        yield from _controls(child)


def _other(control):
    """Another value that ``control`` accepts, or None."""
    value = control.value
    if getattr(control, "disabled", False):
        return None
    if hasattr(control, "options"):
        names = [one for one in control._options_values if one not in ("", value)]
        return names[0] if names else None
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        step = 2 * (getattr(control, "step", None) or 1)
        return value + step if value + step <= control.max else value - step
    number = re.search(r"\d+", value)
    if number is None or _FILE.search(value):
        return None
    return f"{value[: number.start()]}{int(number[0]) + 1}{value[number.end() :]}"


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


if __name__ == "__main__":
    print(HEAD)
    for each in (of_worksheets, of_steps):
        for row in each(100, 100):
            print(row.line(), flush=True)
