"""The two pictures of a proposal and their words: amps across voltage, heat and its limit."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.figures import proposal as figures
from airover.motor.work import LOW, USUAL, work
from airover.proposal.offered import Option
from airover.records import Job
from airover.texts import Writer
from airover.units import Amount

SPAN = (0.85, 1.15)  # of the line's usual voltage
STEPS = 9  # voltages; a multiple of the three that are worked at once


class Picture(NamedTuple):
    """An SVG file under a ``name``, its ``title``, and its ``words`` for who cannot see it."""

    name: str
    title: str
    words: str
    svg: bytes


def pictures(job: Job, options: list[Option], writer: Writer) -> list[Picture]:
    """The proposal's two pictures: amps over volts, and heat of the ``options``."""
    return [_amps(job, options[0], writer), _heat(options, writer)]


def _amps(job: Job, option: Option, writer: Writer) -> Picture:
    case = option.case
    line = tuple(float(volts) for volts in case.conditions.voltage)
    voltage, current = across(job, option, line)
    plate = case.rated_current
    words = {name: writer(f"picture.amps.{name}") for name in ("across", "up", "line", "band")}
    words["plate"] = writer("picture.amps.plate", amps=f"{plate:g}")
    figure = figures.amps(figures.Amps(voltage, current, line, plate), words)
    told = writer(
        "picture.amps.words", low=f"{voltage[0]:.0f}", high=f"{voltage[-1]:.0f}",
        amps=writer.amount(case.current, "current"), volts=f"{line[USUAL]:.0f}", plate=f"{plate:g}",
    )  # fmt: skip
    return Picture("amps", writer("picture.amps.title"), told, figures.svg(figure))


def across(job: Job, option: Option, line) -> tuple[np.ndarray, Band]:
    """Voltages [V] and the current [A] at each, worked as the answer was: the same draws."""
    low, high = SPAN[0] * min(line[LOW], line[USUAL]), SPAN[1] * line[USUAL]
    voltage = np.linspace(min(low, 0.98 * line[LOW]), max(high, 1.02 * line[-1]), STEPS)
    draws = option.case.conditions.draws
    each = []
    for three in voltage.reshape(-1, 3):
        volts = Amount(three[0], three[-1], "V", "")
        site = job.site.model_copy(update={"voltage": volts})
        at = work(job.model_copy(update={"site": site}), [option.motor], draws)
        each.append(at.figures["current_a"][:, 0])
    return voltage, Band.of(np.concatenate(each))


def _heat(options: list[Option], writer: Writer) -> Picture:
    unit = writer.unit("temperature")
    bars, told = [], []
    for option in options:
        band = Band(*(writer.number(end, "temperature") for end in option.case.winding))
        limit = None if option.limit is None else writer.number(option.limit, "temperature")
        word = "" if limit is None else writer.amount(option.limit, "temperature")
        name = writer("picture.heat.option", letter=option.letter)
        bars.append(
            figures.Bar(name, band, limit, writer("picture.heat.limit", limit=word) if word else "")
        )
        temp = writer.amount(option.case.winding, "temperature")
        key = "picture.heat.each" if word else "picture.heat.each_unknown"
        values = {"limit": word} if word else {}
        told.append(writer(key, letter=option.letter, temp=temp, **values))
    figure = figures.against_limit(bars, writer("picture.heat.across", unit=writer.set(unit)))
    words = writer("picture.heat.words", each=" ".join(told))
    return Picture("heat", writer("picture.heat.title"), words, figures.svg(figure))
