"""Export the results of a worksheet as a PDF report, a workbook and a figure.

An `Export` collects the inputs with their sources, the results, checks, calculation, cautions and
figure for one answer from worksheets 01 to 05. The report is typeset by typst (`reports.typeset`)
and ends with signature lines for the preparer and the reviewer. Equations are included as vector
images.
"""

import datetime
import io
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

import airover
from airover.core.files import write_files
from airover.core.formula import printed, symbol_parts
from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.core.texts import ENGLISH, Writer
from airover.model.conditions import Input, site_conditions
from airover.model.expected import Expected
from airover.model.fan_at_site import Sized
from airover.model.heat_answer import HeatAnswer
from airover.model.simulation import SAMPLES
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.reports import answer_tables, bearings, fan, heat, motor, numbers
from airover.reports.answer import assumed
from airover.reports.calculation import (
    Calculation,
    calculation_of,
    equation_size,
    equation_svg,
    grouped,
)
from airover.reports.drawing import svg
from airover.reports.html import TEMPLATES, html_page
from airover.reports.plain import changed_limits
from airover.reports.proposal import PAPERS
from airover.reports.torque import TorquePicture
from airover.reports.typeset import everywhere, plain, typeset
from airover.reports.workbook import workbook
from airover.selection.answer import CAUTIONS, Answer
from airover.selection.bearing_choice import BearingStudy
from airover.selection.rules import Candidate

WIDE = 7.0  # in., width of a printed figure
DOTS = 300  # per inch
EQUATION = 9.0  # pt, text size of printed equations
WIDEST = 500.0  # pt, width of the text on a page
TEMPLATE = TEMPLATES / "calculation.typ"
_NAME = "calculation"
_KINDS = {
    Answer: "replacement", Expected: "motor", Sized: "fan", HeatAnswer: "heat",
    BearingStudy: "bearings",
}  # fmt: skip
_SUBJECTS = {Expected: motor, Sized: fan, HeatAnswer: heat, BearingStudy: bearings}


@dataclass(frozen=True)
class Export:
    """Exportable content of one answer.

    Attributes
    ----------
    found : object
        Answer, Expected, Sized, HeatAnswer or BearingStudy.
    job : Job
        Job that the answer is for.
    candidate : Candidate or None
        Motor to report on if ``found`` is an Answer, by default the first motor.
    prepared : str
        Name of the person preparing the report.
    more : dict
        Additional arguments, as in `calculation_of`.
    """

    found: object
    job: Job
    writer: Writer = ENGLISH
    candidate: Candidate | None = None
    prepared: str = ""
    date: datetime.date | None = None
    more: dict = field(default_factory=dict)

    @property
    def shown(self):
        """Return the selected motor if the answer is an Answer, or else the answer itself."""
        if isinstance(self.found, Answer):
            return self.candidate or self.found.candidates[0]
        return self.found

    @cached_property
    def calculation(self) -> Calculation:
        """Step-by-step calculation."""
        return calculation_of(self.shown, self.writer, **self.more)

    @cached_property
    def inputs(self) -> tuple:
        """Inputs of the job, followed by the inputs of the motor, with their sources."""
        match self.shown:
            case Candidate(case=case):
                return (*self.found.inputs, *_of_catalog(case.motor))
            case Sized(conditions=conditions):
                return conditions.inputs
            case HeatAnswer(place=place):
                return (*place.conditions.inputs, *_of_catalog(place.row))
            case BearingStudy(place=place):
                return (*site_conditions(self.job, SAMPLES).inputs, *_of_catalog(place.motor))
        return _of_expected(self.found, self.job)

    @property
    def kind(self) -> str:
        """Return one English word for the subject of the worksheet, used in file names."""
        return _KINDS[type(self.found)]

    @property
    def motor(self) -> str:
        """Return the name of the motor, or an empty string for a fan or an unnamed motor."""
        match self.shown:
            case Candidate(case=case):
                return case.motor.name
            case Expected(mounted=mounted):
                return mounted.motor.name if mounted.motor.of_catalog else ""
            case HeatAnswer(place=place):
                return place.row.name
            case BearingStudy(place=place):
                return place.motor.name
        return ""

    @property
    def subject(self) -> str:
        """Return the motor or fan that the report is about."""
        return self.motor or self._say("the_fan" if self.kind == "fan" else "the_motor")

    @property
    def sentences(self) -> list[str]:
        """Return the verdict followed by the warnings and other sentences."""
        found, writer = self.found, self.writer
        match found:
            case Answer():
                limits = changed_limits(self.job.limits, writer)
                return [writer(found.verdict), *map(writer, self.shown.reasons), *limits]
            case Expected():
                told = (found.verdict, *found.warnings, *found.facts)
                return [writer(one) for one in told]
        reports = _SUBJECTS[type(found)]
        return [reports.verdict(found, writer), *reports.details(found, writer)]

    @property
    def results(self) -> pd.DataFrame:
        """Return a table of the results as numbers."""
        return numbers.results(self.shown, self.writer)

    @property
    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the sheets of the workbook by name."""
        found, writer = self.found, self.writer
        tables = {
            "inputs": answer_tables.input_table(self.inputs, writer),
            "results": self.results,
        }
        if isinstance(found, Answer):
            tables["checks"] = numbers.checks(self.shown, writer)
            tables["motors"] = numbers.candidates(found, writer)
        if isinstance(found, Expected):
            tables["voltages"] = numbers.voltages(found, writer)
        if isinstance(found, HeatAnswer):
            tables["temperatures"] = numbers.temperatures(found, writer)
        if isinstance(found, BearingStudy):
            tables["lives"] = numbers.bearing_lives(found, writer)
        if self.calculation.sections:
            tables["calculation"] = self.calculation.table()
            tables["symbols"] = self.calculation.inputs()
        return {writer(f"calculation.sheet.{name}"): table for name, table in tables.items()}

    def workbook(self) -> bytes:
        """Return the workbook with inputs, results, checks, motors and calculation."""
        return workbook(self.tables, self.day)

    def figure(self) -> Figure:
        """Return the worksheet's plot as a matplotlib figure 7 in. wide."""
        found = self.found
        match found:
            case Answer():
                figure = _moved(TorquePicture(self.writer), self.shown)
            case Expected():
                figure = _moved(motor.MotorPicture(self.writer), found)
            case Sized():
                figure = _moved(fan.FanPicture(self.writer), found)
            case HeatAnswer():
                figure = _moved(heat.HeatPicture(self.writer), found)
            case BearingStudy():
                figure = _moved(bearings.LifePicture(self.writer), found)
        width, height = figure.get_size_inches()
        figure.set_size_inches(WIDE, WIDE * height / width)
        return figure

    def svg(self) -> bytes:
        """Return the figure as SVG, 7 in. wide."""
        return svg(self.figure())

    def png(self) -> bytes:
        """Return the figure as PNG, 7 in. wide at 300 dots per inch."""
        content = io.BytesIO()
        self.figure().savefig(content, format="png", dpi=DOTS, metadata={"Software": None})
        return content.getvalue()

    def pdf(self) -> bytes:
        """Return the calculation report as one PDF file."""
        return typeset(*self._typeset())

    def html(self) -> bytes:
        """Return the results and the calculation as one HTML file, with every step expanded."""
        written, say = self._written(), self._say
        page = html_page(
            "calculation", writer=self.writer, title=written["head"]["title"],
            subject=written["head"]["subject"], sentences=written["verdict"]["items"],
            results=written["results"], heading=say("calculation"), foot=say("foot"),
            steps=self.calculation.html().replace("<details>", "<details open>"),
        )  # fmt: skip
        return page.encode()

    def pages(self, ppi: int = 100) -> list[bytes]:
        """Return the pages of the report as PNG images."""
        found = typeset(*self._typeset(), "png", ppi=ppi)
        return found if isinstance(found, list) else [found]

    @property
    def day(self) -> datetime.date:
        return self.date or datetime.date.today()

    def content(self) -> dict:
        """Return the report as plain data, with its text and the file names of its images."""
        writer = self.writer.for_print
        of_print = Export(
            self.found, self.job, writer, self.candidate, self.prepared, self.date, self.more
        )
        return everywhere(plain, of_print._written())

    def _written(self) -> dict:
        writer, say = self.writer, self._say
        lines = [self.writer.value(one) for one in CAUTIONS]
        guessed = [one for one in self.inputs if one.origin == "assumed"]
        return {
            "language": writer.language,
            "paper": PAPERS[writer.system],
            "head": self._head(),
            "verdict": {"title": say("verdict"), "items": self.sentences},
            "inputs": _table(say("inputs"), self._input_rows()),
            "assumptions": {
                "title": say("assumptions"),
                "items": assumed(guessed, writer) or [say("no_assumptions")],
            },
            "results": _table(say("results"), self._result_rows()),
            "checks": self._checks(),
            "picture": {"title": say("figure"), "file": "picture.svg", "words": self.sentences[0]},
            "calculation": self._calculation(),
            "caution": {"title": say("cautions"), "items": lines},
            "sign": self._sign(),
        }

    def _say(self, key: str, **values) -> str:
        return self.writer(f"calculation.report.{key}", **values)

    def _head(self) -> dict:
        say = self._say
        name = self.job.name or say("unnamed")
        rows = [
            [say("job"), name],
            [say("date"), self.writer.value(self.day)],
            [say("version"), airover.__version__],
        ]
        return {
            "title": say("title"),
            "subject": say("subject", motor=self.subject, job=name),
            "rows": rows,
            "invented": say("invented") if self.job.invented else "",
            "foot": say("foot"),
            "page": say("of_pages", page="{page}", pages="{pages}"),
        }

    def _sign(self) -> dict:
        say = self._say
        lines = [say("name"), say("signature"), say("sign_date")]
        who = [[say("prepared"), self.prepared], [say("reviewed"), ""]]
        return {"title": say("sign"), "sentence": say("sign_sentence"), "who": who, "lines": lines}

    def _input_rows(self) -> list[list[str]]:
        head = [self.writer(f"answer.table.{name}") for name in ("input", "value", "origin")]
        rows = []
        for one in self.inputs:
            name, value, _ = self.writer.input(one)
            rows.append([name, value, self.writer(f"answer.origin.{one.origin}")])
        return [head, *rows]

    def _result_rows(self) -> list[list[str]]:
        table = self.results
        rows = [
            [row[0], *map(_digits, row[2:]), self.writer.set(row[1])]
            for row in table.itertuples(index=False)
        ]
        head = list(table.columns)
        return [[head[0], *head[2:], head[1]], *rows]

    def _checks(self) -> dict:
        if not isinstance(self.found, Answer):
            return {}
        writer, rows = self.writer, []
        for check in self.shown.checks:
            name, why, state = writer.check(check)
            found, limit = (_value_of(check, part, writer) for part in ("found", "limit"))
            rows.append([name, state, found, limit, why, writer(f"source.{check.source}")])
        names = ("check", "state", "found", "limit", "why", "source")
        head = [writer(f"answer.table.{name}") for name in names]
        return _table(self._say("checks"), [head, *rows])

    def _calculation(self) -> dict:
        groups, at = [], 0
        for section, group in zip(self.calculation.sections, self.calculation.groups, strict=True):
            steps = []
            for line in group.lines:
                files = []
                for equation in line.equations:
                    files.append(_placed(f"equation-{at}.svg", equation))
                    at += 1
                steps.append(
                    {
                        "name": line.name,
                        "span": line.span,
                        "source": self.writer("calculation.from_source", source=line.source),
                        "lines": files,
                    }
                )
            groups.append(
                {
                    "title": group.title,
                    "intro": group.intro,
                    "symbols": _symbols(section, group, self.writer),
                    "steps": steps,
                }
            )
        say = self.writer
        head = [
            say(f"calculation.column.{one}") for one in ("symbol", "meaning", "value", "origin")
        ]
        return {
            "title": self._say("calculation"),
            "intro": " ".join(self.calculation.intro),
            "head": head,
            "groups": groups,
        }

    def _typeset(self) -> tuple:
        content = self.content()
        files = {"picture.svg": self.svg()}
        equations = [
            equation
            for group in self.calculation.groups
            for line in group.lines
            for equation in line.equations
        ]
        files |= {f"equation-{at}.svg": equation_svg(e, EQUATION) for at, e in enumerate(equations)}
        return _NAME, content, files, self.day, TEMPLATE.read_text(encoding="utf-8")


def write_job(found: Answer, folder: Path, writer: Writer) -> list[Path]:
    """Write the report and workbook of a job to ``folder`` and return their paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    made = Export(found, found.job, writer)
    return write_files(folder, {"calculation.pdf": made.pdf(), "job.xlsx": made.workbook()}, "out")


def _of_catalog(row: CatalogMotor) -> tuple[Input, ...]:
    """Return the catalog data that the calculation uses for a motor, as inputs."""
    volts = Band(row.voltage_low, (row.voltage_low + row.voltage_high) / 2, row.voltage_high)
    facts = {
        "voltage": Quantity(volts, "voltage"),
        "power": Quantity(row.ratings[-1], "power"),
        "current": Quantity(row.currents[-1], "current"),
        "speed": Quantity(row.speed_rpm, "speed"),
        "capacitor": Quantity(row.capacitor, "capacitance"),
        "insulation_class": row.insulation_class,
        "ambient_rating": Quantity(row.ambient_rating, "temperature"),
        "bearings": row.bearings and Word(row.bearings),
    }
    return _facts(facts, "catalog", row.name)


def _of_expected(found: Expected, job: Job) -> tuple[Input, ...]:
    """Return the voltage, the motor data and, if the job's fan is used, the job's inputs."""
    mounted, known = found.mounted, found.mounted.motor
    volts = Input("line voltage", Quantity(found.voltage, "voltage"), "given")
    capacitance = known.rated.circuit.capacitance
    marked = np.ptp(capacitance) == 0  # otherwise it is identified like the rest of the circuit
    facts = {
        "power": Quantity(known.power, "power"),
        "current": Quantity(mounted.current, "current"),
        "poles": Quantity(known.poles, "count"),
        "frequency": Quantity(known.frequency, "frequency"),
        "capacitor": Quantity(float(np.median(capacitance)), "capacitance") if marked else None,
        "insulation_class": known.insulation_class,
    }
    own = _facts(facts, "catalog" if known.of_catalog else "nameplate")
    if not mounted.on_job:
        return volts, *own
    others = site_conditions(job, SAMPLES).inputs
    return volts, *own, *(one for one in others if "line voltage" not in one.name)


def _facts(facts: dict, origin: str, motor_name: str = "") -> tuple[Input, ...]:
    """Return the known ``facts``, keyed by nameplate field, as inputs."""
    return tuple(
        Input(Message(f"page.nameplate.{name}"), value, origin, motor=motor_name)
        for name, value in facts.items()
        if value is not None and not (isinstance(value, Quantity) and value.value is None)
    )


def _moved(picture, found) -> Figure:
    """Return the figure of a MovingPicture after updating it to show ``found``."""
    picture.set(found)
    return picture.figure


def _placed(file: str, equation: str) -> dict[str, str]:
    """Return an equation's image file and its size [pt], scaled down to fit the page width."""
    width, _, depth = equation_size(equation, EQUATION)
    shrink = min(1.0, WIDEST / width)
    size = {"width": f"{width * shrink:.1f}", "depth": f"{depth * shrink:.1f}"}
    return {"file": file, "words": equation, **size}


def _table(title: str, rows: list[list[str]]) -> dict:
    return {"title": title, "head": rows[0], "rows": rows[1:]}


def _value_of(check, part: str, writer: Writer) -> str:
    """Return the value or limit of a check with its unit, or an empty string if it has none."""
    values = check.values
    if f"{part}_low" in values:
        return writer("to", low=values[f"{part}_low"], high=values[f"{part}_high"])
    value = values[part]
    empty = value is None or (isinstance(value, Quantity) and value.value is None)
    return "" if empty else writer.value(value)


def _digits(value: float) -> str:
    """Format a number with three significant digits, or four from 1000 to 10,000."""
    return grouped(printed(float(f"{value:.{4 if 1e3 <= abs(value) < 1e4 else 3}g}"), 3))


def _symbols(section, group, writer: Writer) -> list[list[str]]:
    """Return the input symbols of a section, each listed once."""
    calculated = writer("calculation.origin.calculated")
    own = {step.symbol for step in section.steps}
    found = {}
    for line in group.lines:
        for one in line.inputs:
            if one.origin != calculated or one.symbol not in own:
                found.setdefault(one.symbol, [*symbol_parts(one.symbol), *one[1:]])
    return list(found.values())
