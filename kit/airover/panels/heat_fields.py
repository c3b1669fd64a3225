"""What the panel of heat asks: sliders' ends, and readings of ohms and of the shell."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.heat.measured import HeatReading, shell_by_thermocouple, winding_by_resistance
from airover.panels import style
from airover.panels.fields import accepted, below, english, text
from airover.physics.cooling_curve import at_switch_off
from airover.texts import Writer
from airover.units import parse_number, quoted, read

VOLTS = (0.85, 1.12)  # over the line's usual ones
# Label and example of each.
_COLD, _HOT = ("cold_ohms", "temp_cold"), ("times", "hot_ohms")
FIELDS = {
    "voltage": ("Line [V]", "236 V"),
    "temp_air": ("Air at the motor", "127 degF"),
    "cold_ohms": ("Cold winding [ohm]", "10.42"),
    "temp_cold": ("when it has", "77 degF"),
    "times": ("Off since [s]", "10, 20, 30, 40"),
    "hot_ohms": ("then [ohm]", "13.3, 13.2, 13.1"),
    "shell": ("Shell, running", "204 degF"),
}


class HeatReadings:
    """Lines for what was read, each an attribute of its name in FIELDS; ``view`` has them all."""

    def __init__(self, write: Writer):
        self._write = write
        self.controls = {
            name: text(write(f"panel.heat.field.{name}"), example, write)
            for name, (_, example) in FIELDS.items()
        }
        vars(self).update(self.controls)
        self.problems = {name: below() for name in FIELDS}
        self.missing = widgets.HTML(layout={"min_height": "44px"})  # so that it moves nothing
        rows = [one for name in FIELDS for one in (self.controls[name], self.problems[name])]
        self.view = widgets.VBox(
            [widgets.HTML(style.quiet(write("panel.heat.how_to_read"))), *rows, self.missing]
        )

    def fill(self, typed: dict[str, str]) -> None:
        """Write what was ``typed``, by field; all others become empty."""
        for name, control in self.controls.items():
            control.value = typed.get(name, "")

    def given(self) -> tuple[tuple[str, str], ...]:
        """What was typed, by field; empty ones left out. It can be a key of a cache."""
        typed = ((name, control.value.strip()) for name, control in self.controls.items())
        return tuple((name, value) for name, value in typed if value)

    def show_problem(self, error: InputError | None) -> None:
        """Say at the field that ``error`` names what it accepts; clear all others."""
        field = english(error)
        for name, place in self.problems.items():
            at_fault = field == _field(name)
            place.value = style.wrong(accepted(error, self._write)) if at_fault else ""

    def tell(self) -> None:
        """Say below the lines what a reading still lacks."""
        lacking = lacks(dict(self.given()))
        names = [self._write(f"panel.heat.missing.{name}") for name in lacking]
        told = style.quiet(self._write("panel.heat.not_used", names=names))
        self.missing.value = told if lacking else ""


def lacks(given: dict[str, str]) -> list[str]:
    """Fields that what was ``given`` needs beside it."""
    ohms = any(name in given for name in (*_COLD, *_HOT))
    needed = ["voltage", "temp_air"] if given else []
    if ohms or (given and "shell" not in given):
        needed += [*_COLD, *_HOT]
    return [name for name in needed if name not in given]


def readings(given: dict[str, str]) -> list[HeatReading]:
    """The reading that was ``given``, or none as long as it lacks something. Raises InputError."""
    if not given or lacks(given):
        return []
    volts = read(given["voltage"], "voltage", _field("voltage")).mid
    air = _temp(given, "temp_air")
    winding = shell = None
    if "hot_ohms" in given:
        off = at_switch_off(_numbers(given, "times"), _numbers(given, "hot_ohms"))
        (cold,) = _numbers(given, "cold_ohms", 1)
        winding = winding_by_resistance(cold, _temp(given, "temp_cold"), off)
    if "shell" in given:
        shell = shell_by_thermocouple(_temp(given, "shell"), air)
    return [HeatReading(volts, air, winding, shell)]


def _temp(given, name) -> float:
    kind = "temperature" if name == "shell" else "air_temperature"
    return read(given[name], kind, _field(name)).mid


def _field(name: str) -> str:
    return f"reading, {FIELDS[name][0].split(' [')[0].lower()}"


def _numbers(given, name, count=None) -> list[float]:
    numbers = [parse_number(part) for part in given[name].replace(";", ",").split(",")]
    if None in numbers or (count is not None and len(numbers) != count):
        accepted = "one number" if count == 1 else "numbers with commas between them"
        raise InputError(
            _field(name), quoted(given[name]), f"{accepted}, such as {FIELDS[name][1]}"
        )
    return numbers
