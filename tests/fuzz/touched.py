"""The entrances that people touch: the command line, the panels of the worksheets, the page."""

import contextlib
import io
import json
import os
from functools import cache
from pathlib import Path
from random import Random

import ipywidgets as widgets

from airover.app import panels
from airover.app.cli import main
from airover.app.page import App
from airover.core.texts import Writer
from airover.reports.answer import answer_dict
from airover.selection.answer import Answer
from tests.fuzz import samples
from tests.fuzz.entrance import WORKING, Entrance
from tests.fuzz.mutate import hostile_text
from tests.fuzz.rules import Wrong, files_in, is_finite

MOTORS = ("--catalog", "motors.csv")
COMMANDS = (
    ("work", "job.toml", *MOTORS, "--units", "SI", "--json"),
    ("work", "job.toml", *MOTORS, "--out", "out"),
    ("order", "job.toml", *MOTORS, "--motor", "A-005", "--tick", "blade", "--date",
    "2026-05-04"),
    ("cause", "job.toml", "--causes", "causes.toml", "--json"),
    ("verify", "job.toml", "measured.toml", *MOTORS, "--json"),
    ("proposal", "job.toml", *MOTORS, "--date", "2026-05-04", "--language", "es", "--out", "out",
     "--template", "motors.csv"),
    ("counter", "plates.csv", *MOTORS, "--out", "out"),
    ("stock", "plates.csv", *MOTORS, "--budget", "0", "--trucks", "1", "--days", "7", "--space",
    "1"),
    ("fleet", "job.toml", *MOTORS, "--out", "out"),
    ("lesson", "mark", "class.toml", "plates.csv", "--language", "es"),
)  # fmt: skip
PANELS = {
    "replacement": panels.ReplacementPanel, "motor": panels.MotorPanel, "fan": panels.FanPanel,
    "heat": panels.HeatPanel, "bearing": panels.BearingPanel, "verify": panels.VerifyPanel,
    "proposal": panels.ProposalPanel, "lesson fan": panels.LessonFanPanel,
    "lesson case": panels.LessonCasePanel,
}  # fmt: skip
MOST_STEPS = 3
_TYPED = (widgets.Text, widgets.Textarea, widgets.Combobox)
_PICKED = (widgets.Dropdown, widgets.RadioButtons, widgets.ToggleButtons, widgets.Select)
_SLID = (widgets.IntSlider, widgets.FloatSlider, widgets.BoundedFloatText, widgets.BoundedIntText)


def line_drawn(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A command with one word or two in the place of others, or left out."""
    words = list(rng.choice(COMMANDS))
    for _ in range(rng.choice((1, 1, 2))):
        at, new = rng.randrange(1, len(words)), _harmless(rng)
        way = rng.randrange(5)
        words[at : at + (way > 0)] = [] if way == 1 else [new if way < 4 else rng.choice(words)]
    return json.dumps(words).encode()


def _harmless(rng: Random) -> str:
    """A hostile word that names no file outside of the case's folder."""
    text = hostile_text(rng) if rng.random() < 0.8 else rng.choice(
        (".", "job.toml", "loop", "pipe", "locked", "motors.csv", "job.toml/x",
        "n" * 300))  # fmt: skip
    return "x" if text.startswith(("/", "~")) or ".." in text else text


def command(path: Path) -> int:
    """Run the command in the case's folder and look at its code, its words and its files."""
    words, told, here = json.loads(path.read_text()), io.StringIO(), Path.cwd()
    (path.parent / "loop").symlink_to("loop")
    os.mkfifo(path.parent / "pipe")
    os.chdir(path.parent)
    before = files_in(path.parent)
    try:
        with contextlib.redirect_stderr(told), contextlib.redirect_stdout(io.StringIO()):
            code = main(words)
    except SystemExit as stopped:  # argparse says how to use it
        return int(stopped.code)
    finally:
        os.chdir(here)
    left = files_in(path.parent) - before
    _look(words, code, told.getvalue(), left)
    return code


def _look(words, code: int, told: str, left: set[str]) -> None:
    if code not in (0, 2, 3):
        raise Wrong(f"exit code {code} of {words}")
    if code == 2 and (not told.endswith((".\n", "?\n")) or "Traceback" in told):
        raise Wrong(f"standard error of {words}: {told[:300]!r}")
    if code == 2 and left:
        raise Wrong(f"{words} was refused and left {sorted(left)}")


def steps_drawn(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A panel, and what is done to which of its controls."""
    steps = [(rng.random(), hostile_text(rng)) for _ in range(rng.randrange(1, MOST_STEPS + 1))]
    name = rng.choice(seeds).decode()
    return json.dumps([name, steps], ensure_ascii=False).encode("utf-8", "replace")


@cache
def opened(name: str):
    """A panel with all its controls, made once."""
    panel = PANELS[name]() if name in PANELS else App()
    if name not in PANELS:
        panel.open_job("job.toml", samples.SAMPLE.read_bytes())
    known = (*_TYPED, *_PICKED, *_SLID, widgets.Checkbox)
    return panel, [one for one in _below(panel.view) if isinstance(one, known)]


def _below(widget) -> list:
    return [widget, *(one for child in getattr(widget, "children", ()) for one in _below(child))]


def drive(path: Path):
    """Do the steps, look at the answer, and put everything back."""
    name, steps = json.loads(path.read_text("utf-8"))
    panel, controls = opened(name)
    before = [(control, control.value) for control in controls]
    try:
        for place, text in steps:
            _turn(controls[int(place * len(controls))], place, text)
        if isinstance(panel.answer, Answer):
            is_finite(answer_dict(panel.answer, Writer()))
    finally:
        with panel.filling():
            for control, value in before:
                if control.value != value and not isinstance(control, _PICKED):
                    control.value = value


def _turn(control, place: float, text: str) -> None:
    """``text`` into what is typed; an option, a place of the slider or a tick elsewhere."""
    if isinstance(control, _TYPED):
        control.value = text if not text.startswith(("/", "~")) and ".." not in text else "x"
    elif isinstance(control, _PICKED):
        if control.options:
            control.index = int(place * 7919) % len(control.options)
    elif isinstance(control, _SLID):
        control.value = type(control.value)(control.min + (control.max - control.min) * (
            place * 7919 % 1))  # fmt: skip
    else:
        control.value = not control.value


def restored(path: Path):
    """A page that begins with what was typed before it was loaded again."""
    from airover.app.unsaved import Unsaved

    page, _ = opened("page")
    found = Unsaved(path).load()
    if found is not None:
        page.restore(found[1])
        page.update()


def entrances() -> tuple[Entrance, ...]:
    """The command line, the panels and the page: few cases, each of which works a job."""
    files = (
        ("job.toml", samples.SAMPLE.read_bytes()), ("motors.csv", samples.small_catalog()),
        ("causes.toml", samples.files("causes.toml")[0]),
        ("measured.toml", samples.files("measured/*.toml")[0]),
        ("plates.csv", samples.head(samples.DATA / "calls" / "calls.csv", 4)),
        ("class.toml", samples.files("lesson/class.toml")[0]),
    )  # fmt: skip
    names = tuple(name.encode() for name in PANELS)
    return (
        Entrance("command line", "argv.json", (b"",), command, share=0.2, make=line_drawn,
                 beside=files, budget=WORKING),
        Entrance("panels", "steps.json", names, drive, share=0.1, make=steps_drawn, budget=WORKING),
        Entrance("page", "steps.json", (b"page",), drive, share=0.05, make=steps_drawn,
                 budget=WORKING),
        Entrance("page, restored", "work.json", samples.unsaved(), restored,
                 share=0.05, budget=WORKING),
    )  # fmt: skip
