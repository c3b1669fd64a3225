"""The job on the page: its name, three records of fields, and what an opened file knows besides.

What the page asks of a job: its sections, and each field with an example or its words.

A choice among the motors that fit, or among the nearest where none does.

Files that were handed to the page: text of a known kind and size, and nothing beside it.

Only the bytes that came with the upload are read. A job, readings and a catalog name no other
file; of a company's details the logo would, and is left out.
"""

import re

import ipywidgets as widgets

from airover.app import replacement
from airover.app.fields import Fields, english, text
from airover.app.reader import Reader
from airover.core.errors import InputError
from airover.core.files import decoded
from airover.core.message import Message
from airover.core.toml import toml_table
from airover.core.units import quoted
from airover.records.catalog import CatalogMotor, catalog_of
from airover.records.company import FILE, Company
from airover.records.fan import Blade
from airover.records.job import Job, Site
from airover.records.nameplate import Nameplate
from airover.records.readings import Measurements
from airover.selection.answer import Answer
from airover.selection.rules import Candidate

KINDS = ("permanent split capacitor", "shaded pole", "electronically commutated", "two speeds")
_PLATE, _OLD = replacement.NAMEPLATE["Nameplate"], replacement.NAMEPLATE["Old motor"]
_LEFT_OUT = ("service", "drive", "kind")  # free words, which no one types on a roof


def _words(names) -> dict[str, tuple]:
    return dict.fromkeys(names, ())


NAMEPLATE = {
    "plate": {name: asked for name, asked in _PLATE.items() if name not in _LEFT_OUT}
    | {"kind": _words(KINDS)},
    "body": _OLD,
}
_BLADE = ("diameter", "blades", "rotation", "rotation_seen_from", "pitch", "mass", "bore",
          "height_in_orifice")  # fmt: skip
BLADE = {"blade": {name: replacement.BLADE["Blade"][name] for name in _BLADE}}
_SITE = ("voltage", "outdoor_temperature", "elevation", "airflow", "heat", "coil_temperature_rise",
         "recirculation", "relative_humidity", "max_body_length", "max_body_diameter")  # fmt: skip
SITE = {
    "site": {name: replacement.SITE["Site"][name] for name in _SITE}
    | {"hazardous": _words(("no", "yes"))}
}
# tables and fields of a job file without a field on the page, kept as they are
KEPT = ("note", "invented", "finding", "found", "dates", "ticks")


NEAREST = 3
MOST = 12


class MotorChoice:
    """``control`` offers motors by name; ``chosen`` is the candidate, or None for ``other``.
    ``wanted`` is the name that was chosen, also while it is not offered; None before.

    ``other`` says in a key of the page's texts what else may be chosen, ``first`` in the list or
    last. What comes first is chosen until somebody chooses.
    """

    def __init__(self, other: str = "", first: bool = False):
        self._other, self._first, self._among = other, first, {}
        self.wanted: str | None = None
        self.control = widgets.Dropdown(options=[])
        self.control.observe(self._chosen, "value")

    def offer(self, found: Answer, reader: Reader) -> None:
        """Offer the motors of ``found``; one that was chosen before stays, if it is still there."""
        among = found.fitting[:MOST] or found.candidates[:NEAREST]
        self._among = {one.case.motor.name: one for one in among}
        shown = [(_named(one, reader), name) for name, one in self._among.items()]
        others = [(reader(self._other), "")] if self._other else []
        options = [*others, *shown] if self._first else [*shown, *others]
        wanted, names = self.wanted, [name for _, name in options]
        self.control.options = options
        self.control.value = wanted if wanted in names else names[0]
        self.wanted = wanted

    def want(self, name: str | None) -> None:
        """Choose the motor of that ``name`` ("" is the other one) once it is offered."""
        if name in [value for _, value in self.control.options]:
            self.control.value = name
        self.wanted = name

    def _chosen(self, change) -> None:
        self.wanted = self.control.value

    @property
    def chosen(self) -> Candidate | None:
        return self._among.get(self.control.value)


def _named(one: Candidate, reader: Reader) -> str:
    rating = reader.said.amount(one.case.rating, "power")
    return f"{one.case.motor.name}, {rating}: {reader(f'fit.{one.verdict}')}"


LARGEST = 1_000_000  # bytes
_FILE = Message("error.file.file")


def text_of(name: str, content: bytes, suffix: str) -> str:
    """The text of an uploaded file; raises InputError for another ``suffix``, one that is too
    large and one that is not UTF-8."""
    if not name.lower().endswith(suffix):
        raise InputError(_FILE, quoted(name), Message("error.file.suffix", suffix=suffix))
    if len(content) > LARGEST:
        accepted = Message("error.file.most", size=f"{LARGEST / 1e6:g} MB")
        raise InputError(_FILE, f"{len(content) / 1e6:.1f} MB", accepted)
    return decoded(content, name, _FILE)


def job(name: str, content: bytes) -> Job:
    """Raises InputError as `text_of` and `records.Job.from_toml` do."""
    return Job.from_toml(text_of(name, content, ".toml"))


def measurements(name: str, content: bytes) -> Measurements:
    """Raises InputError as `text_of` and `records.Measurements.from_toml` do."""
    return Measurements.from_toml(text_of(name, content, ".toml"))


def catalog(name: str, content: bytes) -> tuple[CatalogMotor, ...]:
    """Raises InputError as `text_of` and `records.catalog.catalog_of` do."""
    return catalog_of(text_of(name, content, ".csv"))


def company(name: str, content: bytes) -> tuple[Company, bool]:
    """The company, and whether a logo was left out; raises InputError."""
    told = toml_table(text_of(name, content, ".toml"), FILE)
    logo = told.pop("logo", None)
    return Company(**told), logo is not None


def file_name(title: str) -> str:
    """``title`` as the name of a file, without its ending.

    >>> file_name("Roof unit, Customer 1")
    'roof-unit-customer-1'
    """
    return "-".join(re.findall(r"[a-z0-9]+", title.lower()))[:60] or "job"


_LEAST = (("voltage",), ("power", "current"), ("speed", "poles"))  # of the plate, to begin


class JobForm:
    """The fields of a job. Tables and fields of an opened file that have no field here are kept,
    and go into the job and its file again."""

    record = "job"

    def __init__(self):
        self.name = text("")
        self.name.continuous_update = True
        self.nameplate = Fields("nameplate", NAMEPLATE, Nameplate)
        self.blade = Fields("blade", BLADE, Blade)
        self.site = Fields("site", SITE, Site)
        self.forms = (self.nameplate, self.blade, self.site)
        self._kept = Job()

    @property
    def invented(self) -> bool:
        return self._kept.invented

    def controls(self) -> list[widgets.Widget]:
        return [self.name, *(one for form in self.forms for one in form.controls.values())]

    def job(self) -> Job:
        """The job that is typed; raises InputError."""
        kept = {name: getattr(self._kept, name) for name in KEPT}
        records = {
            form.record: {**_without(getattr(self._kept, form.record), form.asked), **form.given()}
            for form in self.forms
        }
        return Job(name=self.name.value, **kept, **records)

    def fill(self, job: Job | None) -> None:
        """Take ``job``; None empties all."""
        self._kept = _with_nothing_asked(job or Job(), self.forms)
        self.name.value = "" if job is None else job.name
        for form in self.forms:
            form.fill(None if job is None else getattr(job, form.record))

    def typed(self) -> dict[str, str]:
        """The name, and as TOML what an opened file knows besides the fields."""
        kept = "" if self._kept == Job() else self._kept.to_toml().strip()
        return {k: v for k, v in {"name": self.name.value, "kept": kept}.items() if v}

    def restore(self, typed: dict[str, str]) -> None:
        """Put back what `typed` told; raises InputError for a damaged one."""
        self._kept = Job.from_toml(typed.get("kept", ""))
        self.name.value = typed.get("name", "")

    def enough(self) -> bool:
        """Whether so much is typed that motors can be worked."""
        plate, line = self.nameplate.given(), self.site.given()
        known = {**plate, "voltage": plate.get("voltage") or line.get("voltage")}
        return all(any(known.get(name) for name in names) for names in _LEAST)

    def problems(self) -> dict[str, dict[str, InputError]]:
        """What is refused, by record and field; empty where nothing is."""
        found = {form.record: form.found() for form in self.forms}
        return {record: problems for record, problems in found.items() if problems}

    def tell(self, problems: dict[str, dict[str, InputError]], reader: Reader) -> None:
        for form in self.forms:
            form.tell(problems.get(form.record, {}), reader)

    def field_of(self, error: InputError) -> tuple[str, str] | None:
        """Record and field that a refusal of the whole job names, if it is one on the page."""
        for form in self.forms:
            for name in form.asked:
                if english(error) == f"{form.record} {name.replace('_', ' ')}":
                    return form.record, name
        return None

    def say(self, reader: Reader) -> None:
        self.name.description = reader("job.name")
        self.name.placeholder = ""
        for form in self.forms:
            form.say(reader)


def _without(record, names) -> dict:
    """The fields of ``record`` that are not among ``names``, as a job file has them."""
    values = dict(zip(record.names(), dict(record).values(), strict=True))
    return {name: value for name, value in values.items() if name not in names}


def _with_nothing_asked(job: Job, forms) -> Job:
    """``job`` without all that the ``forms`` ask."""
    kept = {name: getattr(job, name) for name in KEPT}
    records = {form.record: _without(getattr(job, form.record), form.asked) for form in forms}
    return Job(**kept, **records)
