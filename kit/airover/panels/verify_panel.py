"""The panel of worksheet 06: is the motor that was put in as it should be?"""

import ipywidgets as widgets

from airover.errors import InputError
from airover.locations import data_folder
from airover.panels import fields, verify_shown
from airover.panels.fields import Fields, choice, hint, text
from airover.panels.motor_panel import QUICKEST, with_capacitor
from airover.panels.parts import Panel, read_job, read_motors
from airover.panels.verify_fields import METERS, READING, SEEN, WINDING
from airover.records import Job, Measurements, Moment
from airover.texts import Writer
from airover.verify.verified import Verified, verify

OF_THE_PLATE = ""
_SECTIONS = ("comparisons", "remarks", "inferred", "faults", "next_readings", "cautions")


class VerifyPanel(Panel):
    """Readings at the left, each on its expected band at the right, the verdict on top.

    ``job_path``, ``measured_path`` and ``catalogue`` are files, by default the sample job, its
    sample measurements and the catalogue that come with the kit; ``units`` is "US" or "SI".
    Controls: ``motor`` (a name in the catalogue, or "" for the job's plate), ``rating``, and
    ``reading``, ``winding``, ``seen``, ``meters`` with their fields as attributes; ``units``,
    ``path``, ``measured_path``. Of a file with several readings the first stands in the fields
    and the others count too. ``picture`` is the last one drawn. Raises InputError when the files
    cannot be read or worked.
    """

    def __init__(self, job_path=None, measured_path=None, catalogue=None, units="US"):
        super().__init__()
        self._motors = with_capacitor(read_motors(catalogue))
        self._others = ()
        self._make_controls(units)
        self._places = {name: widgets.HTML() for name in ("verdict", "picture", *_SECTIONS)}
        for place in self._places.values():
            place.add_class("ao-answer")
        self.fill(read_job(job_path))
        sample = data_folder() / "measured" / "roof-unit-first-start.toml"
        self.fill_measured(Measurements.read(measured_path or sample))
        self.begin()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: its plate, blade and site; nothing is worked."""
        self.job = job

    def fill_measured(self, measured: Measurements) -> None:
        """Write ``measured`` into the controls; nothing is worked."""
        names = {row.name.lower(): row.name for row in self._motors}
        if measured.motor and measured.motor.lower() not in names:
            raise InputError("motor", f'"{measured.motor}"', "a motor of the catalogue")
        first, *self._others = measured.reading or (Moment(),)
        with self.filling():
            self._measured = measured
            self.motor.value = names.get(measured.motor.lower(), OF_THE_PLATE)
            self.rating.value = "" if measured.rating is None else measured.rating.text
            self.reading.fill(first)
            self.winding.fill(measured.winding)
            self.seen.fill(measured)
            for name, control in self.meters.controls.items():
                stated = name in measured.meters.model_fields_set
                control.value = getattr(measured.meters, name).text if stated else ""

    def open_measured(self, path) -> None:
        """Read the measurements at ``path`` and work them; what is wrong with them is told."""
        self.open_with(Measurements.read, path, self.fill_measured)

    @property
    def measured(self) -> Measurements:
        """What stands in the controls. Raises InputError."""
        return Measurements(
            name=self._measured.name,
            invented=self._measured.invented,
            motor=self.motor.value,
            rating=self.rating.value.strip() or None,
            winding=self.winding.given(),
            meters=self.meters.given(),
            reading=[self.reading.given(), *self._others],
            **self.seen.given(),
        )

    def compute(self) -> Verified:
        return verify(self.job, self.measured, self._motors, settle=QUICKEST)

    def draw(self) -> None:
        found, write = self.answer, Writer("en", self.units.value)
        self.picture = verify_shown.picture(found, write)
        self._places["verdict"].value = verify_shown.verdict(found, write)
        self._places["picture"].value = self.picture.html()
        for name in _SECTIONS:
            self._places[name].value = getattr(verify_shown, name)(found, write)

    def refused(self, error: InputError | None) -> None:
        for record in self._records():
            record.show_problem(error)

    @property
    def verdict(self) -> widgets.HTML:
        return self._places["verdict"]

    def shown(self, name: str) -> str:
        """The HTML of a part: "comparisons", "remarks", "inferred", "faults", "next_readings"."""
        return self._places[name].value

    def _records(self) -> tuple[Fields, ...]:
        return self.reading, self.winding, self.seen, self.meters

    def _observe(self) -> None:
        typed = [one for record in self._records() for one in record.controls.values()]
        asked = [*typed, self.motor, self.rating, self.units]
        self.watch(asked)
        self.follow_path(self.path, self.open)
        self.follow_path(self.measured_path, self.open_measured)
        self.keep_steps(asked)

    def _make_controls(self, units: str) -> None:
        self.reading = Fields("reading 1", {"Reading": READING})
        self.winding = Fields("winding", {"Ohms": WINDING})
        self.seen = Fields("seen", {"Seen": SEEN})
        self.meters = Fields("meters", {"Meters": METERS})
        names = [(row.name, row.name) for row in self._motors]
        self.motor = choice("Motor", [("the one on the job's plate", OF_THE_PLATE), *names])
        self.rating = text("Rating", "1/3 hp")
        self.units = fields.units_shown(units)
        self.path = text("Job file", "my-job.toml")
        self.measured_path = text("Measurements file", "measured.toml")

    def _arrange(self) -> None:
        right = [self._places["picture"], self._places["remarks"]]
        below = ("comparisons", "inferred", "next_readings", "faults", "cautions")
        left = [self.motor, self.rating, self._tab()]
        self.arrange([self.verdict], left, right, [self._places[name] for name in below])

    def _tab(self) -> widgets.Tab:
        pages = {
            "Reading": [hint(verify_shown.HOW_TO_READ), self.reading.pages["Reading"]],
            "Ohms": [hint(verify_shown.OHMS), self.winding.pages["Ohms"]],
            "Seen": [self.seen.pages["Seen"]],
            "Meters": [hint(verify_shown.ACCURACY), self.meters.pages["Meters"]],
            "Files": [self.path, self.measured_path, self.units],
        }
        return fields.tab(pages)
