"""The two pictures of a proposal and their words: amps across voltage, heat and its limit."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.figures import proposal as figures
from airover.kinds import KINDS
from airover.motor.work import LOW, USUAL, work
from airover.proposal.offered import Option
from airover.proposal.said import Said
from airover.records import Job
from airover.units import Amount, convert

SPAN = (0.85, 1.15)  # of the line's usual voltage
STEPS = 9  # voltages; a multiple of the three that are worked at once


class Picture(NamedTuple):
    """An SVG file under a ``name``, its ``title``, and its ``words`` for who cannot see it."""

    name: str
    title: str
    words: str
    svg: bytes


def pictures(job: Job, options: list[Option], said: Said) -> list[Picture]:
    """The proposal's two pictures: amps over volts, and heat of the ``options``."""
    return [_amps(job, options[0], said), _heat(options, said)]


def _amps(job: Job, option: Option, said: Said) -> Picture:
    texts, case = said.texts, option.case
    line = tuple(float(volts) for volts in case.conditions.voltage)
    voltage, current = across(job, option, line)
    plate = case.rated_current
    words = {name: texts(f"picture.amps.{name}") for name in ("across", "up", "line", "band")}
    words["plate"] = texts("picture.amps.plate", amps=f"{plate:g}")
    figure = figures.amps(figures.Amps(voltage, current, line, plate), words)
    told = texts(
        "picture.amps.words", low=f"{voltage[0]:.0f}", high=f"{voltage[-1]:.0f}",
        amps=said.amount(case.current, "current"), volts=f"{line[USUAL]:.0f}", plate=f"{plate:g}",
    )  # fmt: skip
    return Picture("amps", texts("picture.amps.title"), told, figures.svg(figure))


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


def _heat(options: list[Option], said: Said) -> Picture:
    texts = said.texts
    unit = (KINDS["temperature"].us if said.system == "US" else KINDS["temperature"].si)[0]
    bars, told = [], []
    for option in options:
        band = Band(*(convert(end, "temperature", unit) for end in option.case.winding))
        limit = None if option.limit is None else convert(option.limit, "temperature", unit)
        word = "" if limit is None else said.amount(option.limit, "temperature")
        name = texts("picture.heat.option", letter=option.letter)
        bars.append(
            figures.Bar(name, band, limit, texts("picture.heat.limit", limit=word) if word else "")
        )
        temp = said.amount(option.case.winding, "temperature")
        key = "picture.heat.each" if word else "picture.heat.each_unknown"
        values = {"limit": word} if word else {}
        told.append(texts(key, letter=option.letter, temp=temp, **values))
    figure = figures.against_limit(bars, texts("picture.heat.across", unit=said.typed(unit)))
    words = texts("picture.heat.words", each=" ".join(told))
    return Picture("heat", texts("picture.heat.title"), words, figures.svg(figure))
