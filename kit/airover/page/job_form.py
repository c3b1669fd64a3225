"""The job on the page: its name, three records of fields, and what an opened file knows besides."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.page import asked
from airover.panels.fields import Fields, english
from airover.panels.parts import text
from airover.panels.reader import Reader
from airover.records import Blade, Job, Nameplate, Site

_LEAST = (("voltage",), ("power", "current"), ("speed", "poles"))  # of the plate, to begin


class JobForm:
    """The fields of a job. Tables and fields of an opened file that have no field here are kept,
    and go into the job and its file again."""

    record = "job"

    def __init__(self):
        self.name = text("")
        self.name.continuous_update = True
        self.nameplate = Fields("nameplate", asked.NAMEPLATE, Nameplate)
        self.blade = Fields("blade", asked.BLADE, Blade)
        self.site = Fields("site", asked.SITE, Site)
        self.forms = (self.nameplate, self.blade, self.site)
        self._kept = Job()

    @property
    def invented(self) -> bool:
        return self._kept.invented

    def controls(self) -> list[widgets.Widget]:
        return [self.name, *(one for form in self.forms for one in form.controls.values())]

    def job(self) -> Job:
        """The job that is typed; raises InputError."""
        kept = {name: getattr(self._kept, name) for name in asked.KEPT}
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
    kept = {name: getattr(job, name) for name in asked.KEPT}
    records = {form.record: _without(getattr(job, form.record), form.asked) for form in forms}
    return Job(**kept, **records)
