"""The entrances of files: what good ones are, what reads them, and what works what was read."""

import datetime
import json
from functools import cache, partial
from pathlib import Path
from random import Random

from airover.app import uploads
from airover.app.unsaved import Unsaved
from airover.business.fleet import Manifest
from airover.business.fleet_files import Table, rows_of
from airover.core.kinds import KINDS
from airover.core.texts import Writer
from airover.core.units import read, show
from airover.lesson.bank import read_bank
from airover.lesson.case import Lesson, graded
from airover.lesson.marks import class_papers, mark_class, read_answers
from airover.model.climate import read_year
from airover.records.calls import read_calls
from airover.records.catalog import read_catalog
from airover.records.causes import read_causes
from airover.records.company import Company
from airover.records.fan import read_curve, read_points, written
from airover.records.job import Job, JobFile, Ticks
from airover.records.lesson import SchoolClass, read_case
from airover.records.readings import Measurements
from airover.reports import proposal
from airover.reports.answer import answer_dict, report
from airover.reports.cause import cause_dict, cause_report
from airover.reports.counter import counter_rows
from airover.reports.order import order_dict, order_html, order_text
from airover.reports.proposal import make
from airover.reports.verify import verified_dict, verify_report
from airover.selection.answer import answer, counter_list
from airover.service.cause import cause
from airover.service.order import work_order
from airover.service.verification import verify
from tests.fuzz import samples
from tests.fuzz.entrance import Entrance
from tests.fuzz.mutate import hostile_text
from tests.fuzz.rules import Wrong
from tests.fuzz.tables import tables
from tests.fuzz.touched import entrances

DATA = samples.DATA
DAY = datetime.date(2026, 5, 4)


def answered(job: Job, folder: Path):
    """The job among few motors, said in both systems, written and read again."""
    again = Job.from_toml(job.to_toml())
    if again != job:
        raise Wrong("a job that is another one when it is read again")
    found = answer(job, samples.motors())
    writer = Writer("es", "SI") if len(job.name) % 2 else Writer()
    report(found, writer)
    return answer_dict(found, writer)


def ordered(file: JobFile, folder: Path):
    """A tick is written; then the work order and the cause of a job that is answered."""
    ticked = file.ticked(Ticks.names()[len(file.content) % len(Ticks.names())], DAY)
    found = answer(ticked.job, samples.motors())
    why = cause(ticked.job)
    cause_report(why, Writer())
    if not found.fitting:
        return cause_dict(why, Writer("en"))
    order = work_order(found)
    order_text(order, Writer("es", "SI")), order_html(order, Writer())
    return [order_dict(order, Writer()), cause_dict(why, Writer("en"))]


def ticked(file: JobFile, folder: Path):
    for day in (DAY, None):
        file = file.ticked(Ticks.names()[len(file.content) % len(Ticks.names())], day)


def offered(job: Job, folder: Path):
    """The proposal of a job, without its PDF."""
    found = answer(job, samples.motors())
    if not found.fitting:
        return None
    made = make(found, company(), date=DAY)
    return [json.loads(made.to_json()), made.html]


@cache
def company() -> Company:
    return Company.read(DATA / "company.toml")


@cache
def good_answer():
    return answer(samples.job(), samples.motors())


@cache
def good_proposal():
    return make(good_answer(), company(), date=DAY)


def proposed_by(one: Company, folder: Path):
    """A proposal by this company, as PDF and HTML."""
    made = make(good_answer(), one, date=DAY)
    return [json.loads(made.to_json()), made.html, len(made.pdf)]


def set_by(template: str, folder: Path):
    """The sample proposal, set by this template."""
    good = good_proposal()
    return len(proposal.pdf(good.content, good.files, DAY, template))


def chosen_among(motors, folder: Path):
    found = answer(samples.job(), motors[:40])
    report(found)
    return answer_dict(found, Writer())


def on_a_curve(curve, folder: Path):
    """The sample job with this blade."""
    if read_points(written(curve), "1000 rpm").flow != curve.flow:
        raise Wrong("a curve that is another one when it is read again")
    job = samples.job()
    blade = job.blade.model_copy(update={"curve": curve})
    job = job.model_copy(update={"blade": blade})
    return answer_dict(answer(job, samples.motors()), Writer())


def verified(measured: Measurements, folder: Path):
    found = verify(samples.job(), measured, samples.motors())
    verify_report(found, Writer("es"))
    return verified_dict(found, Writer())


def crossed(calls, folder: Path):
    """The motors for the first two needs."""
    entries = counter_list(calls.needs[:2], samples.motors())
    return counter_rows(entries, Writer())


def units_read(path: Path):
    table = Table(path)
    return [rows_of(part) for part in table.parts()]


def run_resumed(path: Path):
    """The manifest of a fleet's run, in the folder of the run."""
    return sorted(Manifest(path.parent, samples.RUN, 4).parts)


def caused_by(causes, folder: Path):
    why = cause(samples.job(), causes)
    cause_report(why, Writer())
    return cause_dict(why, Writer("en"))


def papers(bank, folder: Path):
    """Papers of two students, in one language each."""
    rooms = (SchoolClass(name="x", students=["A", "B"], language=one, system=two, count=1)
             for one, two in (("en", "US"), ("es", "SI")))  # fmt: skip
    return [q.text for room in rooms for one in class_papers(bank, room) for q in one.questions]


@cache
def good_bank():
    return read_bank()


@cache
def good_class() -> SchoolClass:
    return SchoolClass.read(DATA / "lesson" / "class.toml")


def marked(answers, folder: Path):
    return mark_class(good_bank(), good_class(), answers).to_dict()


def drawn(room: SchoolClass, folder: Path):
    return [q.text for one in class_papers(good_bank(), room) for q in one.questions]


def lesson(case, folder: Path):
    """What the first motor would have done, and the readings of students graded."""
    typed = {name: hostile_text(Random(name)) for name in case.fields}
    graded(case, typed)
    found = Lesson.of(case, whole_catalog())
    return answer_dict(found.answer, Writer())


@cache
def whole_catalog():
    return read_catalog(DATA / "catalogue.csv")


def weathered(year, folder: Path):
    return [year.exceeded(), year.density, year.pressure, year.relative_humidity, year.elevation]


def uploaded(take, name: str, path: Path):
    """The bytes as an upload; the page knows a name and no path."""
    return take(name, path.read_bytes())


def amount(path: Path):
    """Every line an amount of the kind before its first colon."""
    for line in path.read_text("utf-8", "replace").split("\n"):
        kind, _, text = line.partition(":")
        if kind in KINDS:
            found = read(text, kind, kind)
            return [found.low, found.high, show(found.mid, kind), show(found.mid, kind, "SI")]
    return None


def amount_drawn(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A good amount of one kind, or a hostile text, with letters changed."""
    kind = rng.choice(list(KINDS))
    text = KINDS[rng.choice((kind, rng.choice(list(KINDS))))].example
    text = rng.choice((text, hostile_text(rng)))
    for _ in range(rng.randrange(4)):
        at = rng.randrange(len(text) + 1)
        text = text[:at] + rng.choice("0123456789.,-/ e+'\"%\u00bd\u2013\u0660\ufdfa;&") + text[at:]
    return f"{kind}:{text}".encode("utf-8", "replace")


def company_read(path: Path) -> Company:
    found = Company.read(path)
    found.logo_bytes()
    return found


def with_logo(path: Path) -> Company:
    """A company whose logo is the file at ``path``."""
    return company_read(path.with_name("company.toml"))


def unsaved(path: Path):
    return Unsaved(path).load()


def bank_read(path: Path):
    return read_bank(path.parent)


def logos() -> tuple[bytes, ...]:
    return samples.png(12, 9), samples.png(300, 2), samples.jpeg(40, 30)


def companies() -> tuple[bytes, ...]:
    own = samples.files("company.toml")
    paths = ("../secret-beside/logo.png", "/etc/passwd", "logo.png", "../../x.png", "x.txt")
    return (*own, *(b'name = "E"\nlogo = "%s"\n' % one.encode() for one in paths))


def table() -> tuple[Entrance, ...]:
    """All entrances of files; the cheap ones get most of the cases."""
    jobs = samples.files("jobs/*.toml")
    measured = samples.files("measured/*.toml")
    calls = (samples.head(DATA / "calls" / "calls.csv", samples.CALLS),
             samples.head(DATA / "calls" / "one-truck.csv", samples.CALLS))  # fmt: skip
    catalog = (samples.small_catalog(),)
    cases = samples.files("lesson/cases/*.toml")
    return (
        *entrances(),
        *tables(),
        Entrance("amounts", "amount.txt", (b"",), amount, share=20, make=amount_drawn),
        Entrance("jobs, answered", "job.toml", jobs, Job.read, answered, 150, 12),
        Entrance("jobs, ordered", "job.toml", jobs, JobFile.read, ordered, 150, 2),
        Entrance("jobs, ticked", "job.toml", jobs, JobFile.read, ticked, 3, 4),
        Entrance("jobs, offered", "job.toml", jobs, Job.read, offered, 400, 2),
        Entrance("catalogs", "motors.csv", catalog, read_catalog, chosen_among, 100, 8),
        Entrance("curves", "curve.csv", samples.files("curves/*.csv"), read_curve, on_a_curve,
                 100, 8),
        Entrance("points typed", "points.txt", samples.curves_typed(),
                 lambda path: read_points(path.read_text("utf-8", "replace"), "1100 rpm"),
                 on_a_curve, 100, 4),
        Entrance("measured", "measured.toml", measured, Measurements.read, verified, 150, 8),
        Entrance("calls", "calls.csv", calls, read_calls, crossed, 200, 8),
        Entrance("plates", "plates.csv", calls, partial(read_calls, dated=False), crossed, 200, 2),
        Entrance("calls, Parquet", "calls.parquet", samples.parquet_calls(), read_calls, crossed,
                 200, 2, samples.parquet_changed),
        Entrance("fleet", "units.parquet", samples.parquet_fleet(), units_read, share=2,
                 make=samples.parquet_changed),
        Entrance("fleet, resumed", "manifest.json", samples.manifests(), run_resumed),
        Entrance("causes", "causes.toml", samples.files("causes.toml"), read_causes, caused_by,
                 100, 3),
        Entrance("companies", "company.toml", companies(), company_read, proposed_by, 400, 4),
        Entrance("logos", "logo.png", logos(), with_logo, proposed_by, 200, 2,
                 beside=(("company.toml", b'name = "Example"\nlogo = "logo.png"\n'),)),
        Entrance("templates", "mine.typ", samples.files("../kit/airover/reports/templates/proposal.typ"),
                 proposal.read_template, set_by, 50, 1),
        Entrance("banks", "plate.toml", samples.files("questions/*.toml"), bank_read, papers, 20,
                 0.5),
        Entrance("classes", "class.toml", samples.files("lesson/class.toml"), SchoolClass.read,
                 drawn, 300, 3),
        Entrance("answer sheets", "answers.csv", samples.files("lesson/answers.csv"),
                 lambda path: read_answers(path, good_class(), good_class().count), marked, 100, 3),
        Entrance("lesson cases", "case.toml", cases, read_case, lesson, 200, 3),
        Entrance("weather", "year.csv", samples.weather(), read_year, weathered, 1, 0.1),
        Entrance("unsaved work", "work.json", samples.unsaved(), unsaved, share=6),
        Entrance("uploads, jobs", "job.toml", jobs, partial(uploaded, uploads.job, "job.toml"),
                 share=2),
        Entrance("uploads, measured", "measured.toml", measured,
                 partial(uploaded, uploads.measurements, "measured.toml")),
        Entrance("uploads, catalogs", "motors.csv", catalog,
                 partial(uploaded, uploads.catalog, "motors.csv")),
        Entrance("uploads, companies", "company.toml", companies(),
                 partial(uploaded, uploads.company, "company.toml")),
    )  # fmt: skip
