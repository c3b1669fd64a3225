"""Numbers as people read them: digits, thousands, and one system of units in every document.

Ordinary jobs go through answer, work order, cause, verification, proposal and counter list, each
written in US customary and in SI units, in English and in Spanish.
"""

import datetime
import html
import re
from functools import cache

import pytest

from airover.core.files import LANGUAGES, data_folder
from airover.core.texts import Texts, Writer
from airover.records.calls import read_calls
from airover.records.catalog import read_catalog
from airover.records.company import Company
from airover.records.job import Job
from airover.records.readings import Measurements
from airover.reports.answer import report
from airover.reports.cause import cause_report
from airover.reports.counter import counter_text
from airover.reports.order import order_text
from airover.reports.proposal import make
from airover.reports.verify import verify_report
from airover.selection.answer import answer, counter_list
from airover.service.cause import cause
from airover.service.order import work_order
from airover.service.verification import verify
from tests.ordinary.jobs import all_jobs, read_rows, sample

DATA = data_folder()
WRITERS = [Writer(language, system) for language in LANGUAGES for system in ("US", "SI")]
MOTORS = read_catalog(DATA / "catalogue.csv")
SOME = MOTORS[::3]
ROOF = DATA / "jobs" / "roof-unit.toml"

EXPONENT = re.compile(r"\d[eE][+-]?\d")
NO_NUMBER = re.compile(r"(?<![A-Za-z])(?:nan|inf|NaN|Infinity)(?![A-Za-z])")
MANY_DIGITS = re.compile(r"(?<![\d.,A-Za-z-])\d[\d,]*(?:\.\d+)?(?![\d.,]*\d)")
US_UNITS = re.compile(
    r"degF|°F|\bhp\b|\d in\b(?! the | place)|\bin\. wg|\bcfm\b|\blbf?\b|\boz-ft|\bin-lb|\d ft\b|ft3|Btu"
)
SI_UNITS = re.compile(r"degC|°C|\d K\b|\d mm\b|m3/s|m³|\d Pa\b|\d kg\b|\d m\b")
ONE = r"(\d[\d,]*(?:\.\d+)?(?: \d+/\d+|/\d+)?)"
SPAN = re.compile(rf"(?<![\w./,-]){ONE}(?:-| to | a ){ONE}(?![\w/-]|\.\d)")
# In both systems of units, each with its reason.
ALLOWED = (
    # A questioned reading is quoted as typed: its unit may be the mistake.
    r"(?:outdoor temperature|temperatura exterior)[^.]* 96 degC",
    # US readers know torque in N m too, and a fan load in watts (kinds with ``beside``).
    r"\([\d.,-]+ N m\)",
)


def jobs() -> dict[str, Job]:
    """Return the demo jobs, and some ordinary jobs of each kind."""
    found = {path.stem: Job.read(path) for path in sorted((DATA / "jobs").glob("*.toml"))}
    rows = read_rows((DATA / "catalogue.csv").read_text(encoding="utf-8"))
    ordinary = sample(all_jobs(rows), 6)[:6]
    return found | {one.title: Job(**one.tables) for one in ordinary}


@cache
def documents() -> dict[tuple[str, str, str], str]:
    """Return each text by its name, language and system, one line for each paragraph."""
    told = {}

    def write(name: str, written) -> None:
        for one in WRITERS:
            text = re.sub(r"\n\s+", " ", written(one))
            told[name, one.language, one.system] = text

    for name, job in jobs().items():
        found = answer(job, SOME)
        whys = [check.why for one in found.candidates for check in one.checks]
        write(f"answer {name}", lambda one, found=found: report(found, one))
        write(f"checks {name}", lambda one, whys=whys: "\n".join(dict.fromkeys(map(one, whys))))
        if any(value is not None for value in dict(job.found).values()):
            why = cause(job)
            write(f"cause {name}", lambda one, why=why: cause_report(why, one))
        if found.fitting:
            order = work_order(found)
            write(f"order {name}", lambda one, order=order: order_text(order, one))
        if name == "half-plate":
            write(f"proposal {name}", lambda one, found=found: proposal(found, one))
    for path in sorted((DATA / "measured").glob("*.toml")):
        verified = verify(Job.read(ROOF), Measurements.read(path), MOTORS)
        write(f"verify {path.stem}", lambda one, verified=verified: verify_report(verified, one))
    needs = read_calls(DATA / "calls" / "one-truck.csv", dated=False).needs[:10]
    entries = counter_list(needs, SOME)
    write("counter", lambda one: counter_text(entries, one))
    return told


def proposal(found, writer: Writer) -> str:
    """Return the text of the proposal's page."""
    day, company = datetime.date(2026, 11, 1), Company(name="Someone")
    page = make(found, company, writer=writer, date=day).html
    page = re.sub(r"(?s)<style.*?</style>|<[^>]+>", " ", page)
    return html.unescape(page).replace("\N{NO-BREAK SPACE}", " ")


def found_in(pattern: re.Pattern, system: str = "", digits: int = 0) -> list[str]:
    """Return each place of ``pattern`` with the words around it and the document's name.

    ``digits``: only numbers of at least that many significant digits.
    """
    places = []
    for (name, language, units), text in documents().items():
        if system in ("", units):
            for allowed in ALLOWED:
                text = re.sub(allowed, "", text)
            places += [
                f"{name}, {language}, {units}: {text[max(at.start() - 40, 0) : at.end() + 20]}"
                for at in pattern.finditer(text)
                if len(re.sub(r"\D", "", at[0]).strip("0")) >= digits
            ]
    return places


@pytest.mark.parametrize("pattern", [EXPONENT, NO_NUMBER])
def test_no_document_has_an_exponent_or_a_figure_that_is_no_number(pattern):
    assert len(documents()) > 60
    assert not found_in(pattern)


def test_no_document_has_more_digits_than_a_figure_means():
    assert found_in(MANY_DIGITS, digits=4)  # 1075 rpm
    assert not found_in(MANY_DIGITS, digits=5)


def test_large_numbers_have_commas():
    assert not found_in(re.compile(r"(?<![\d.,A-Za-z-])\d{5,}"))


def test_ranges_rise_from_their_lower_end():
    """A number, "to" or a hyphen, and a larger number, such as 125 to 130 degF and 1.6-1.8 A."""
    falling, count = [], 0
    for name, text in documents().items():
        for at in SPAN.finditer(re.sub(r"\d{4}-\d\d-\d\d", "", text)):
            count += 1
            if _worth(at[1]) >= _worth(at[2]):
                falling.append((name, text[max(at.start() - 40, 0) : at.end() + 20]))
    assert count > 1000
    assert not falling


def _worth(number: str) -> float:
    """Return a number such as 1,075 or 1 1/4 that is written in a text."""
    *whole, last = number.replace(",", "").split()
    over, _, under = last.partition("/")
    return sum(map(float, whole)) + float(over) / float(under or 1)


@pytest.mark.parametrize(("system", "others"), [("SI", US_UNITS), ("US", SI_UNITS)])
def test_a_document_has_the_units_of_one_system(system, others):
    assert found_in(others, "US" if system == "SI" else "SI")
    assert not found_in(others, system)


def test_texts_have_no_amounts_in_units_that_half_of_the_readers_do_not_use():
    pattern = re.compile(
        r"\d\s?(?:degF|degC|hp|in\.|inches|cfm|ft3?|lbf?|oz|K|mm|m3/s|kg)(?![A-Za-z])"
    )
    allowed = {
        "bearings.column.light", "bearings.column.usual", "bearings.column.heavy",  # motor sizes
        "lesson_fan.question.b.ask",  # an exercise on a nameplate in hp
        "source.insulation_life", "calculation.source.iec_60216",  # the standard's own words
        "error.physics.no_thinner",  # the physics functions take SI only
        *(f"error.curve.{key}" for key in ("efficiency", "hint.flow", "hint.pressure", "hint.power")),
    }  # fmt: skip
    found = {key for key, text in Texts("en").texts.items() if pattern.search(text)}
    assert found <= allowed
