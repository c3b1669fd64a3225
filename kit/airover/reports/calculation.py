"""Display the calculation of an answer step by step in a worksheet, page, report or workbook.

JupyterLab displays a `Calculation` with typeset equations. The page and the printed report cannot
typeset LaTeX, so they show the equations as vector images (`equation_svg`).
"""

import base64
import html
import re
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.textpath import TextPath

from airover.core.formula import (
    RESULT_DIGITS,
    fewest_digits,
    latex,
    number_latex,
    printed,
    symbol_latex,
    symbol_parts,
    unit_latex,
)
from airover.core.texts import ENGLISH, Writer
from airover.model.calculation import Section, Step, Value
from airover.model.calculation_bearings import bearings
from airover.model.calculation_fan import fan_at_site
from airover.model.calculation_heat import motor_heat
from airover.model.calculation_motor import motor_expected, motor_of_job
from airover.model.expected import Expected
from airover.model.fan_at_site import Sized
from airover.model.heat_answer import HeatAnswer
from airover.reports.writing import in_markdown
from airover.selection.answer import Answer
from airover.selection.bearing_choice import BearingStudy
from airover.selection.rules import Candidate

RANGE_DIGITS = 3
_RAISED = str.maketrans("23456", "\u00b2\u00b3\u2074\u2075\u2076")  # exponents in units
SIZE = 12.0  # pt, text size of equations shown as images
UNITS = 100  # units of an equation image per text size


class InputLine(NamedTuple):
    """Name, meaning, value and source of an equation symbol, as strings."""

    symbol: str
    meaning: str
    value: str
    origin: str


class Line(NamedTuple):
    """Calculation step, as strings.

    Attributes
    ----------
    name : str
        Meaning of the result.
    value : str
        Result in SI units, and in US units as well if they differ. Its 90 % range is in ``span``,
        which is empty for an exact result.
    equations : tuple[str, str, str]
        LaTeX source for the equation, the equation with numbers, and the result.
    inputs : tuple[InputLine, ...]
        Symbols in the equation.
    source : str
        Source of the equation.
    """

    name: str
    value: str
    span: str
    equations: tuple[str, str, str]
    inputs: tuple[InputLine, ...]
    source: str


class Group(NamedTuple):
    """Calculation steps under a ``title`` with an introductory sentence."""

    title: str
    intro: str
    lines: tuple[Line, ...]


class Calculation:
    """Calculation with all equations, displayed in a worksheet.

    Parameters
    ----------
    sections
        Steps from `sections_of`.
    writer : Writer, optional
        Writer in the reader's language and units.
    missing : str, optional
        Message shown if there are no steps.
    """

    def __init__(self, sections, writer: Writer = ENGLISH, missing: str = ""):
        self.sections: tuple[Section, ...] = tuple(sections)
        self.writer, self.missing = writer, missing

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """Groups of calculation steps, as strings."""
        return tuple(_group(section, self.writer) for section in self.sections)

    @property
    def intro(self) -> list[str]:
        """Return the sentences above the first step."""
        if not self.sections:
            return [self.missing]
        return [self.writer("calculation.sample"), self.writer("calculation.rounding")]

    def markdown(self) -> str:
        """Return the calculation as Markdown with LaTeX and collapsible steps."""
        parts = [" ".join(self.intro) if self.sections else in_markdown(self.missing)]
        for group in self.groups:
            parts += [f"#### {group.title}", group.intro]
            parts += [_folded_markdown(line, self.writer) for line in group.lines]
        return "\n\n".join(parts)

    def html(self) -> str:
        """Return the calculation as HTML with equations as images and collapsible steps."""
        parts = [f"<p>{html.escape(' '.join(self.intro))}</p>"]
        for group in self.groups:
            parts.append(f"<h4>{html.escape(group.title)}</h4><p>{html.escape(group.intro)}</p>")
            parts += [_folded_html(line, self.writer) for line in group.lines]
        return f'<div class="ao-calculation">{"".join(parts)}</div>'

    def table(self) -> pd.DataFrame:
        """Return a table with one row for each step and numbers in SI units."""
        rows = [
            _row(section, step, self.writer) for section in self.sections for step in section.steps
        ]
        names = [
            "section", "step", "symbol", "equation", "numbers", "value", "unit", "low", "median",
            "high", "source",
        ]  # fmt: skip
        headings = [self.writer(f"calculation.column.{name}") for name in names]
        return pd.DataFrame(rows, columns=headings)

    def inputs(self) -> pd.DataFrame:
        """Return a table of the input symbols, which no step calculates, with their sources."""
        rows = []
        for section in self.sections:
            for step in section.steps:
                for name, value in step.values.items():
                    rows.append(_input_row(section, name, value, self.writer))
        names = ["symbol", "meaning", "value", "unit", "origin"]
        headings = [self.writer(f"calculation.column.{name}") for name in names]
        found = pd.DataFrame(rows, columns=headings)
        calculated = self.writer("calculation.origin.calculated")
        kept = found[found[headings[-1]] != calculated]
        return kept.drop_duplicates(ignore_index=True)

    def __repr__(self) -> str:
        lines = [line for group in self.groups for line in group.lines]
        return "\n".join(_summary(line, self.writer) for line in lines) or self.missing

    def _repr_markdown_(self) -> str:
        return self.markdown()


def calculation_of(found, writer: Writer = ENGLISH, **more) -> Calculation:
    """Return the calculation behind an answer from worksheets 01 to 05.

    Parameters
    ----------
    found
        An Answer or one of its Candidates, an Expected, a Sized, a HeatAnswer or a BearingStudy.
    more
        Keyword argument ``ohms``, the resistance readings for a HeatAnswer.
    """
    if isinstance(found, Answer):
        found = found.candidates[0]
    missing = ""
    if isinstance(found, Candidate) and found.case.row is None:
        missing = writer("calculation.motor_not_simulated", motor=found.case.motor.name)
    return Calculation(sections_of(found, **more), writer, missing)


def sections_of(found, **more) -> tuple[Section, ...]:
    """Return the steps of one answer. The arguments are the same as for `calculation_of`."""
    match found:
        case Candidate(case=case):
            return () if case.row is None else motor_of_job(case.simulation, case.row)
        case Expected():
            return motor_expected(found)
        case Sized():
            return fan_at_site(found)
        case HeatAnswer():
            return motor_heat(found, **more)
        case BearingStudy(place=place, met=met, asked=asked):
            return bearings(
                place.stand, met, place.size, asked.grade, asked.mass_lost, asked.discharge,
                asked.cleanliness, asked.reliability,
            )  # fmt: skip
    raise TypeError(f"no calculation for {type(found).__name__}")


def _group(section: Section, writer: Writer) -> Group:
    lines = tuple(_line(section, step, writer) for step in section.steps)
    title, intro = (writer(f"calculation.{one}.{section.key}") for one in ("title", "intro"))
    return Group(title, intro, lines)


def _line(section: Section, step: Step, writer: Writer) -> Line:
    numbers = {name: one.number for name, one in step.values.items()}
    digits = fewest_digits(step.expression, numbers, step.result.number)
    shown = {name: number_latex(one.number, digits, one.unit) for name, one in step.values.items()}
    symbol, result = symbol_latex(step.symbol), step.result
    value = number_latex(result.number, RESULT_DIGITS, result.unit)
    if isinstance(result.number, complex):
        value += rf" = {_polar(result)}"
    equations = (
        f"{symbol} = {latex(step.expression)}",
        f"= {latex(step.expression, shown)}",
        f"= {value}",
    )
    inputs = tuple(
        InputLine(
            name,
            name_of(section, name, writer),
            value_text(one, digits, writer),
            writer(f"calculation.origin.{one.origin}"),
        )
        for name, one in step.values.items()
    )
    return Line(
        name_of(section, step.symbol, writer),
        value_text(result, RESULT_DIGITS, writer),
        _span(step, writer),
        equations,
        inputs,
        writer(f"calculation.source.{step.source}"),
    )


def name_of(section: Section, symbol: str, writer: Writer) -> str:
    """Return the meaning of a symbol."""
    return writer(f"calculation.{section.subject}.{symbol}")


def value_text(value: Value, digits: int, writer: Writer) -> str:
    """Return a value in its SI unit and, if different, in the reader's unit."""
    if isinstance(value.number, complex):
        size, angle = abs(value.number), np.degrees(np.angle(value.number))
        text = f"{printed(size, digits)} {value.unit} \N{ANGLE} {angle:.1f}\N{DEGREE SIGN}"
        return writer.set(text)
    unit = value.unit.translate(_RAISED) if writer.signs else value.unit
    text = f"{grouped(printed(value.number, digits))} {unit}".strip()
    own = writer.unit(value.kind) if value.kind else value.unit
    if own != value.unit:
        number = float(writer.number(value.number, value.kind))
        text += f" ({grouped(printed(number, RANGE_DIGITS))} {own})"
    return writer.set(text)


def grouped(number: str) -> str:
    """Add thousands separators to a formatted number of five or more digits.

    >>> grouped("198000"), grouped("1075"), grouped("9.37e-5")
    ('198,000', '1075', '9.37e-5')
    """
    whole, point, rest = number.partition(".")
    return f"{int(whole):,}{point}{rest}" if len(whole.lstrip("-")) > 4 else number


def _polar(value: Value) -> str:
    size, angle = abs(value.number), np.degrees(np.angle(value.number))
    return rf"{printed(size, RESULT_DIGITS)}{unit_latex(value.unit)}\;\angle\,{angle:.1f}^{{\circ}}"


def _span(step: Step, writer: Writer) -> str:
    if step.band is None:
        return ""
    ends = (step.band.low, step.band.high)
    low, high = (grouped(printed(end, RANGE_DIGITS)) for end in ends)
    unit = step.result.unit.translate(_RAISED) if writer.signs else step.result.unit
    return writer.set(writer("calculation.range", low=low, high=high, unit=unit).strip())


def _summary(line: Line, writer: Writer) -> str:
    if line.span:
        return writer("calculation.with_range", name=line.name, value=line.value, range=line.span)
    return writer("calculation.is", name=line.name, value=line.value)


def _folded_markdown(line: Line, writer: Writer) -> str:
    """Return a collapsible step, with blank lines so that Markdown works inside the HTML."""
    head = [writer(f"calculation.column.{name}") for name in InputLine._fields]
    rows = [f"| {' | '.join(head)} |", "| --- | --- | --- | --- |"]
    rows += [f"| ${symbol_latex(one.symbol)}$ | {' | '.join(one[1:])} |" for one in line.inputs]
    return "\n".join(
        [
            f"<details><summary>{html.escape(_summary(line, writer))}</summary>\n",
            *(f"$${one}$$\n" for one in line.equations),
            *rows,
            f"\n{writer('calculation.from_source', source=line.source)}\n",
            "</details>",
        ]
    )


def _folded_html(line: Line, writer: Writer) -> str:
    head = "".join(
        f"<th>{html.escape(writer(f'calculation.column.{name}'))}</th>"
        for name in InputLine._fields
    )
    rows = "".join(
        f"<tr><td>{_symbol_html(one.symbol)}</td>"
        + "".join(f"<td>{html.escape(text)}</td>" for text in one[1:4])
        + "</tr>"
        for one in line.inputs
    )
    equations = "".join(f'<div class="ao-equation">{_picture(one)}</div>' for one in line.equations)
    source = html.escape(writer("calculation.from_source", source=line.source))
    return (
        f"<details><summary>{html.escape(_summary(line, writer))}</summary>{equations}"
        f'<div class="ao-scroll" tabindex="0"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div><p>{source}</p></details>"
    )


def _symbol_html(name: str) -> str:
    letter, below = symbol_parts(name)
    return f"<i>{letter}</i>" + (f"<sub>{html.escape(below)}</sub>" if below else "")


def _picture(equation: str) -> str:
    data = base64.b64encode(equation_svg(equation)).decode()
    alt = html.escape(equation, quote=True)
    return f'<img style="max-width:100%" src="data:image/svg+xml;base64,{data}" alt="{alt}">'


def equation_svg(equation: str, size: float = SIZE) -> bytes:
    """Return an equation in mathtext LaTeX as an SVG image with text of ``size`` [pt]."""
    drawn, (left, bottom, right, top) = _curves(equation)
    width, height, _ = equation_size(equation, size)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}pt" height="{height:.1f}pt" '
        f'viewBox="{left:.0f} {-top:.0f} {right - left:.0f} {top - bottom:.0f}">'
        f'<path transform="scale(1,-1)" d="{drawn}"/></svg>'
    ).encode()


def equation_size(equation: str, size: float = SIZE) -> tuple[float, float, float]:
    """Return the width, height and depth below the baseline [pt] of an equation image."""
    _, (left, bottom, right, top) = _curves(equation)
    return tuple(one * size / UNITS for one in (right - left, top - bottom, -bottom))


@lru_cache(maxsize=2048)
def _curves(equation: str) -> tuple[str, tuple[float, float, float, float]]:
    """Return an equation's SVG path commands and bounds, scaled to a text size of UNITS."""
    font = FontProperties(math_fontfamily="stix")
    path = TextPath((0, 0), f"${equation}$", prop=font, size=UNITS)
    drawn = "".join(_command(code, points) for points, code in path.iter_segments())
    # The control points of a letter lie close to its outline and are much faster to find.
    points = path.vertices[path.codes != Path.CLOSEPOLY]
    low, high = points.min(axis=0) - UNITS / 10, points.max(axis=0) + UNITS / 10
    return drawn, (*low.tolist(), *high.tolist())


_LETTERS = {Path.MOVETO: "M", Path.LINETO: "L", Path.CURVE3: "Q", Path.CURVE4: "C"}


def _command(code, points) -> str:
    """Return a path segment as an SVG command."""
    if code == Path.CLOSEPOLY:
        return "Z"
    return _LETTERS[code] + " ".join(f"{one:.0f}" for one in points)


def _row(section: Section, step: Step, writer: Writer) -> tuple:
    numbers = {name: one.number for name, one in step.values.items()}
    digits = fewest_digits(step.expression, numbers, step.result.number)
    result = step.result.number
    size = abs(result) if isinstance(result, complex) else result
    low, median, high = (None,) * 3 if step.band is None else step.band
    return (
        writer(f"calculation.title.{section.key}"),
        name_of(section, step.symbol, writer),
        step.symbol,
        f"{step.symbol} = {step.expression}",
        _with_numbers(step, digits),
        size,
        step.result.unit,
        low,
        median,
        high,
        writer(f"calculation.source.{step.source}"),
    )


def _with_numbers(step: Step, digits: int) -> str:
    """Return the expression as plain text with its symbols replaced by numbers."""

    def number(match) -> str:
        value = step.values.get(match[0])
        if value is None:
            return match[0]
        if isinstance(value.number, complex):
            real, imaginary = (printed(x, digits) for x in (value.number.real, value.number.imag))
            return f"({real} + j * {imaginary})"
        text = printed(value.number, digits)
        return f"({text})" if text.startswith("-") else text

    return re.sub(r"[A-Za-z]\w*", number, step.expression)


def _input_row(section: Section, name: str, value: Value, writer: Writer) -> tuple:
    number = value.number
    size = abs(number) if isinstance(number, complex) else number
    origin = writer(f"calculation.origin.{value.origin}")
    return name, name_of(section, name, writer), size, value.unit, origin
