"""Form for the current job, with the opened file and the motors to evaluate.

Each field shows an example or a list of accepted words.
"""

from datetime import date

import ipywidgets as widgets

from airover.app.calculators import motors_of_the_kit
from airover.app.fields import Fields, Lines, text
from airover.app.nameplate_panel import NameplateBox
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.core.units import show
from airover.records.catalog import CatalogMotor
from airover.records.fan import Blade
from airover.records.fields import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    EXPOSURES,
    MOUNTINGS,
    SHAFT_POSITIONS,
)
from airover.records.job import Customer, Job, Site, Ticks
from airover.records.limits import LIMITS, Limits
from airover.records.nameplate import ENDS, SENSES, Nameplate

PHASES = {"1": (), "3": ()}
KINDS = dict.fromkeys(
    ("permanent split capacitor", "shaded pole", "electronically commutated", "two speeds"), ()
)

NAMEPLATE = {
    "Nameplate": {
        "voltage": "208-230 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "power": "1/3 hp",
        "current": "1.9 A",
        "speed": "1075 rpm",
        "poles": "6",
        "capacitor": "7.5 uF",
        "capacitor_voltage": "370 V",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "frame": "48",
        "enclosure": ENCLOSURES,
        "insulation_class": CLASSES,
        "ambient_rating": "60 degC",
        "bearings": BEARINGS,
        "service": "continuous",
        "kind": KINDS,
        "drive": "direct",
    },
    "Old motor": {
        "shaft_diameter": "1/2 in",
        "shaft_length": "6 in",
        "body_diameter": "5 5/8 in",
        "body_length": "5 1/4 in",
        "mounting": MOUNTINGS,
        "shaft_position": SHAFT_POSITIONS,
        "drain_plugs": DRAIN_PLUGS,
    },
}

BLADE = {
    "Blade": {
        "diameter": "22 in",
        "blades": "3",
        "pitch": "27 deg",
        "mass": "3.5 lb",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "bore": "1/2 in",
        "hub_diameter": "2 1/2 in",
        "height_in_orifice": "2 1/4 in",
        "material": "aluminum",
    },
}

SITE = {
    "Site": {
        "outdoor_temperature": "105 degF",
        "outdoor_temperature_min": "20 degF",
        "elevation": "1100 ft",
        "relative_humidity": "30 %",
        "recirculation": "5 degF",
        "coil_temperature_rise": "17 degF",
        "heat": "45000 Btu/h",
        "airflow": "2400 cfm",
        "voltage": "236 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "exposure": tuple(EXPOSURES),
        "hazardous": {"no": (), "yes": ()},
        "max_body_length": "7 in",
        "max_body_diameter": "6 in",
    },
}

CUSTOMER = {"Customer": dict.fromkeys(Customer.names(), "")}
# the example for a limit is its default value
USUAL = {"Limits": {name: show(one.usual, one.kind) for name, one in LIMITS.items()}}
FORM = {
    "nameplate": (NAMEPLATE, Nameplate),
    "blade": (BLADE, Blade),
    "site": (SITE, Site),
    "limits": (USUAL, Limits),
}
_LEAST = (("voltage",), ("power", "current"), ("speed", "poles"))  # minimum nameplate data


class CurrentJob:
    """Current job of a worksheet panel or of all steps of the page.

    The attributes ``name``, ``note`` and ``invented`` are controls, ``printed`` is the nameplate
    box, and ``forms`` contains the Fields for each record. Tables and fields in an opened file that
    have no control here are kept and are saved with the job. The attribute ``own_motors`` contains
    the motors from an opened catalog, or None for the catalog supplied with airover.
    """

    record = "job"

    def __init__(self, write: Writer, hints: bool = False, forms=FORM):
        self.name = text(write("page.job.name"), write("panel.answer.name_example"), write)
        self.name.continuous_update = True
        label = "description" if hints else "placeholder"
        self.note = Lines(**{label: write("panel.answer.notes")}, rows=6)
        self.note.layout.width = "auto"
        self.invented = widgets.Checkbox(description=write("panel.answer.invented"), indent=False)
        self.forms = tuple(
            Fields(record, asked, kind, write, hints) for record, (asked, kind) in forms.items()
        )
        vars(self).update({form.record: form for form in self.forms})
        self.printed = NameplateBox(self.nameplate, write, hints)
        self.own_motors: tuple[CatalogMotor, ...] | None = None
        self._kept = Job()
        self._made: tuple[dict | None, Job] = None, self._kept  # the last job and its parts

    @property
    def motors(self) -> tuple[CatalogMotor, ...]:
        return motors_of_the_kit() if self.own_motors is None else self.own_motors

    @property
    def ticks(self) -> Ticks:
        """Dates on which the steps of the work order were completed."""
        return self._kept.ticks

    def tick(self, step: str, day: date | None) -> None:
        """Record the ``day`` on which a step was completed, or clear it if ``day`` is None."""
        ticks = self._kept.ticks.model_copy(update={step: day})
        self._kept = self._kept.model_copy(update={"ticks": ticks})

    def controls(self) -> list[widgets.Widget]:
        """Return the controls that affect the result."""
        fields = [one for form in self.forms for one in form.controls.values()]
        return [*fields, self.name, self.invented]

    def job(self) -> Job:
        """Return the job that the form defines.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        kept = dict(self._kept)
        own = {
            form.record: {**form.others(kept[form.record]), **form.given()} for form in self.forms
        }
        texts = {name: getattr(self, name).value for name in ("name", "note", "invented")}
        parts = kept | own | texts
        if parts != self._made[0]:
            self._made = parts, Job(**parts)
        return self._made[1]

    def fill(self, job: Job | None) -> None:
        """Fill in the form from ``job``, or clear every field if it is None."""
        for form in self.forms:
            form.fill(None if job is None else getattr(job, form.record))
        self.printed.restore("")
        self._take(job or Job())

    def typed(self) -> dict[str, dict[str, str]]:
        """Return all entries as text, by form and field, with other content as TOML."""
        kept = "" if self._kept == Job() else self._kept.to_toml().strip()
        own = {"name": self.name.value, "note": self.note.value, "kept": kept,
               "printed": self.printed.text.value,
               "invented": "yes" if self.invented.value else ""}  # fmt: skip
        own = {name: value for name, value in own.items() if value}
        return {self.record: own} | {form.record: form.typed() for form in self.forms}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        """Restore the state returned by `typed`.

        Raises
        ------
        InputError
            If the state is damaged.
        """
        own = state.get(self.record, {})
        kept = Job.from_toml(own.get("kept", ""))
        self._take(kept.model_copy(update={
            "name": own.get("name", ""), "note": own.get("note", ""),
            "invented": bool(own.get("invented")),
        }))  # fmt: skip
        for form in self.forms:
            form.restore(state.get(form.record, {}))
        self.printed.restore(own.get("printed", ""))

    def enough(self) -> bool:
        """Return True if there are enough entries to evaluate motors."""
        return not self.needed()

    def needed(self) -> list[tuple[str, ...]]:
        """Return the missing entries, each as a tuple of fields, one of which is required."""
        return _needed(self.nameplate.given(), self.site.given())

    def _take(self, job: Job) -> None:
        self.name.value, self.note.value, self.invented.value = job.name, job.note, job.invented
        kept = {form.record: form.others(getattr(job, form.record)) for form in self.forms}
        self._kept = Job(**dict(job) | kept | {"name": "", "note": "", "invented": False})


def enough(job: Job) -> bool:
    """Return True if there is enough data in ``job`` to evaluate motors."""
    nameplate = {**dict(job.nameplate), "speed": job.nameplate.speed_rpm}
    return not _needed(nameplate, dict(job.site))


def _needed(nameplate: dict, site: dict) -> list[tuple[str, ...]]:
    known = {**nameplate, "voltage": nameplate.get("voltage") or site.get("voltage")}
    return [names for names in _LEAST if not any(known.get(name) for name in names)]


def sample_job() -> Job:
    """Return the fictional sample job supplied with airover."""
    return Job.read(data_folder() / "jobs" / "roof-unit.toml")
