"""The columns of a catalogue: their headings, and how the cells of each are read."""

import re
from collections.abc import Callable
from itertools import islice
from typing import NamedTuple

import numpy as np

from airover.errors import InputError, either, is_plain, one_of, part
from airover.kinds import KINDS
from airover.limits import Range
from airover.message import Message
from airover.records.fields import spelled
from airover.records.rotation import ENDS, SENSES
from airover.records.rows import line_of
from airover.records.words import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    MOUNTINGS,
    PROTECTORS,
    SHAFT_POSITIONS,
)
from airover.units import coherent, convert, parse_number, quoted

CATALOGUE = "catalogue"  # texts about the file
HEADING = Message("error.catalogue.heading")
HIGHEST_PRICE = 1e6
LONGEST_CELL = 500
_LIST = re.compile(r";")
_RANGE = re.compile(r"[-/\u2013]|\bto\b")


def of_column(line: int, heading: str) -> Message:
    """The name of a cell."""
    return part(line_of(CATALOGUE, line), Message("error.catalogue.column", heading=heading))


class Cells(NamedTuple):
    """The texts of one column, each with its line, and the unit of its heading."""

    name: str
    unit: str
    required: bool
    texts: list[tuple[int, str]]

    @property
    def heading(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name

    def refusal(self, line: int, text: str, accepted) -> InputError:
        given = quoted(text) if text else Message("error.catalogue.empty_cell")
        return InputError(of_column(line, self.heading), given, accepted)

    def each(self, read: Callable[[str], object], accepted, empty) -> list:
        """``read`` of every text, once for equal ones; what it reads as None is refused.

        An empty cell gives ``empty`` unless the column is required.
        """
        known = {} if self.required else {"": empty}
        for line, text in self.texts:
            if text not in known:
                known[text] = read(text)
                if known[text] is None:
                    raise self.refusal(line, text, accepted)
        return [known[text] for _, text in self.texts]


class Column(NamedTuple):
    """A column: its heading's name and usual unit, and what reads its cells by attribute."""

    name: str
    unit: str
    required: bool
    read: Callable[[Cells], dict[str, list]]

    @property
    def heading(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def _text(attribute: str, required: bool = False) -> Column:
    def plain(text: str) -> str | None:
        return text if text and len(text) <= LONGEST_CELL and is_plain(text) else None

    def read(cells: Cells) -> dict[str, list]:
        accepted = Message("error.field.plain", count=LONGEST_CELL)
        return {attribute: cells.each(plain, accepted, "")}

    return Column(attribute, "", required, read)


def _word(name: str, words: dict) -> Column:
    """One of ``words``; the attribute is the name with underscores."""

    def read(cells: Cells) -> dict[str, list]:
        found = cells.each(lambda text: spelled(text, words), one_of(words), None)
        return {name.replace(" ", "_"): found}

    return Column(name, "", False, read)


def _words(name: str, words: dict) -> Column:
    """Some of ``words``, divided by semicolons."""

    def several(text: str) -> tuple[str, ...] | None:
        found = tuple(spelled(part, words) for part in text.split(";"))
        return None if None in found else found

    def read(cells: Cells) -> dict[str, list]:
        accepted = Message("error.catalogue.several", words=one_of(words))
        return {name.replace(" ", "_"): cells.each(several, accepted, ())}

    return Column(name, "", False, read)


def _whole(name: str, low: int, high: int, step: int) -> Column:
    def whole(text: str) -> int | None:
        number = int(text) if re.fullmatch("[0-9]{1,3}", text) else -1
        return number if number in range(low, high + 1, step) else None

    def read(cells: Cells) -> dict[str, list]:
        accepted = either(range(low, high + 1, step))
        return {name: cells.each(whole, accepted, None)}

    return Column(name, "", True, read)


def _amount(name: str, kind: str, unit: str, *, attribute: str = "", required=False) -> Column:
    """One number of ``kind``, or None."""

    def read(cells: Cells) -> dict[str, list]:
        found = _amounts(cells, kind, None)
        return {
            attribute or name.replace(" ", "_"): [values[0] if values else None for values in found]
        }

    return Column(name, unit, required, read)


def _ascending(name: str, kind: str, unit: str) -> Column:
    """Numbers of ``kind`` divided by semicolons."""
    return Column(name, unit, True, lambda cells: {name: _amounts(cells, kind, _LIST)})


def _range(name: str, kind: str, unit: str) -> Column:
    """One number of ``kind`` or a range: the attributes name_low and name_high."""

    def read(cells: Cells) -> dict[str, list]:
        found = _amounts(cells, kind, _RANGE)
        return {f"{name}_low": [min(values) for values in found],
                f"{name}_high": [max(values) for values in found]}  # fmt: skip

    return Column(name, unit, True, read)


def _price() -> Column:
    """A price; its currency, three capital letters, stands where others have a unit."""

    def price(text: str) -> float | None:
        number = parse_number(text)
        return number if number is not None and number <= HIGHEST_PRICE else None

    def read(cells: Cells) -> dict[str, list]:
        if not re.fullmatch("[A-Z]{3}", cells.unit):
            given = Message("error.money.as_currency", given=quoted(cells.unit))
            accepted = Message("error.money.capitals", example="price [USD]")
            raise InputError(HEADING, given, accepted)
        accepted = Message("error.catalogue.price", most=f"{HIGHEST_PRICE:.0f}")
        prices = cells.each(price, accepted, None)
        return {"price": prices, "currency": [cells.unit] * len(prices)}

    return Column("price", "USD", False, read)


def _amounts(cells: Cells, kind: str, divider: re.Pattern | None) -> list[tuple[float, ...]]:
    """The numbers of every cell in the SI unit of ``kind``, converted all at once."""

    def numbers(text: str) -> tuple[float, ...] | None:
        parts = divider.split(text) if divider else [text]
        found = tuple(parse_number(part, KINDS[kind].fractions) for part in parts)
        return None if None in found else found

    accepted = _accepted(cells, kind, divider)
    typed = cells.each(numbers, accepted, ())
    flat = np.array([number for group in typed for number in group])
    with np.errstate(over="ignore"):  # what becomes infinite is out of range below
        amounts = coherent(flat, kind, cells.unit, _named(cells))
    values = iter(amounts.tolist())
    found = [tuple(float(f"{x:.12g}") for x in islice(values, len(group))) for group in typed]
    low, high, _ = KINDS[kind].accepted
    for (line, text), group in zip(cells.texts, found):
        if not all(low <= value <= high for value in group):
            raise cells.refusal(line, text, accepted)
    return found


def _accepted(cells: Cells, kind: str, divider: re.Pattern | None) -> Message:
    """What a cell of numbers may be, in the unit of its heading."""
    coherent(1.0, kind, cells.unit, _named(cells))
    low, high = (float(f"{convert(end, kind, cells.unit):.4g}") for end in KINDS[kind].accepted[:2])
    many = {_LIST: "numbers", _RANGE: "range"}.get(divider, "number")
    return Message(f"error.catalogue.{many}", span=Range(low, high, cells.unit))


def _named(cells: Cells) -> Message:
    """The name of a column's heading."""
    return Message("error.catalogue.this_heading", heading=cells.heading)


COLUMNS = (
    _text("maker", required=True),
    _text("model", required=True),
    _text("kind"),
    _range("voltage", "voltage", "V"),
    _amount("frequency", "frequency", "Hz", required=True),
    _whole("phase", 1, 3, 2),
    _whole("poles", 2, 16, 2),
    _amount("speed", "speed", "rpm", attribute="speed_rpm", required=True),
    _ascending("ratings", "power", "hp"),
    _ascending("currents", "current", "A"),
    _amount("capacitor", "capacitance", "uF"),
    _amount("capacitor voltage", "voltage", "V"),
    _word("insulation class", CLASSES),
    _amount("ambient rating", "air_temperature", "degC"),
    _word("bearings", BEARINGS),
    _amount("bearing bore", "shaft_diameter", "mm"),
    _word("rotation", SENSES),
    _word("rotation seen from", ENDS),
    _text("frame"),
    _amount("shaft diameter", "shaft_diameter", "in"),
    _amount("shaft length", "shaft_length", "in"),
    _amount("body diameter", "body_diameter", "in"),
    _amount("body length", "body_length", "in"),
    _amount("mass", "mass", "lb"),
    _words("mounting", MOUNTINGS),
    _words("shaft positions", SHAFT_POSITIONS),
    _word("drain plugs", DRAIN_PLUGS),
    _word("enclosure", ENCLOSURES),
    _word("protector", PROTECTORS),
    _price(),
    _amount("warranty from installation", "duration", "months"),
    _amount("warranty from manufacture", "duration", "months"),
)
