"""The roof sheet and work order as they are read on paper and on a phone."""

import datetime
import io
import re
import unicodedata

import numpy as np
import pypdf
import pytest

from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.reports.order import order_html
from airover.reports.roof_sheet import roof_content, roof_dict, roof_html, roof_pdf, roof_text
from airover.selection.answer import answer
from airover.service.order import work_order
from airover.service.roof_sheet import STATES, RoofSheet, printed_voltages

MOTORS = read_catalog(data_folder() / "catalogue.csv")
PLATE = {"voltage": "208-230 V", "speed": "1075 rpm", "power": "1/4 hp"}
JOBS = {
    "sample": data_folder() / "jobs" / "roof-unit.toml",
    "half a nameplate": data_folder() / "jobs" / "half-plate.toml",
    "115 V": PLATE | {"voltage": "115 V", "shaft_position": "horizontal"},
    "460 V": PLATE | {"voltage": "460 V", "power": "1/2 hp", "shaft_position": "up"},
    "dual capacitor": PLATE | {"capacitor": "45/5 uF", "mounting": "belly band"},
}


TYPE_EACH = """(readings) => readings.map((reading) => {
  ["volts", "amps", "outdoor"].forEach((name, at) => {
    const field = document.getElementById(name);
    field.value = reading[at];
    field.dispatchEvent(new Event("input"));
  });
  return document.getElementById("told").textContent;
})"""


def sheet_of(name: str) -> RoofSheet:
    given = JOBS[name]
    job = Job(nameplate=given) if isinstance(given, dict) else Job.read(given)
    return RoofSheet(work_order(answer(job, MOTORS)))


@pytest.fixture(scope="module")
def sheets():
    return {name: sheet_of(name) for name in JOBS}


def pdf_pages(data: bytes) -> list[str]:
    """The text of each page, with ligatures written as letters and without spaces."""
    return [solid(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def solid(text: str) -> str:
    """A text as it is compared with a PDF's: one form of each letter (two are a micro), no space."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


@pytest.mark.parametrize("writer", [Writer(), Writer("es", "SI")], ids=["en", "es"])
def test_the_pdf_is_one_page_with_every_line_of_the_sheet(sheets, writer):
    for sheet in sheets.values():
        (text,) = pdf_pages(roof_pdf(sheet, writer, datetime.date(2027, 1, 2)))
        told = roof_content(sheet, writer.for_print)
        wanted = [told["motor"], *(line["text"] for line in told["lines"])]
        wanted += [*told["parts"]["items"], *told["cautions"]["items"], told["label"]["text"]]
        wanted += [cell for row in told["amps"]["rows"] for cell in row]
        assert not [one for one in wanted if solid(one) not in text]


def test_sheet_and_order_give_the_same_numbers(sheets):
    for sheet in sheets.values():
        case, told = sheet.order.case, roof_dict(sheet, Writer())
        assert told["motor"] == case.motor.name
        usual = float(case.conditions.voltage[1])
        found = sheet._simulated(np.array([usual]), None).first()
        assert found == pytest.approx(case.current, rel=2e-3)
        assert told["amps_most"] == pytest.approx(1.1 * case.rated_current, rel=1e-5)


def test_the_sheet_says_what_is_cut_turned_and_taken_along():
    facts = PLATE | {
        "power": "1/3 hp", "current": "1.9 A", "shaft_length": "4 in", "shaft_position": "up",
        "rotation": "clockwise", "rotation_seen_from": "shaft end", "mounting": "belly band",
        "shaft_diameter": "1/2 in", "frame": "48",
    }  # fmt: skip
    found = {"blade": "bent or cracked", "slinger": "missing"}
    job = Job(nameplate=facts, blade={"diameter": "22 in"}, found=found)
    text = roof_text(RoofSheet(work_order(answer(job, MOTORS))), Writer())
    told = " ".join(text.split())
    for words in (
        "Cut 2 in off (6 in as delivered)", "clockwise from the shaft end",
        "Shaft up: remove the plug at the lead end only.", "belly band, shaft up",
        "Replacement fan blade (22 in)", "- Slinger", "Hacksaw",
    ):  # fmt: skip
        assert words in told, words


def test_amps_are_given_at_voltages_that_a_meter_shows():
    assert printed_voltages(208.0, 230.0) == (200.0, 208.0, 220.0, 230.0, 240.0)
    for volts in (115.0, 230.0, 277.0, 460.0):
        shown = printed_voltages(volts, volts)
        assert list(shown) == sorted(set(shown)) and shown[2] == volts
        assert 0.9 * volts <= shown[0] and shown[-1] <= 1.1 * volts


@pytest.mark.parametrize("name", ["sample", "460 V"])
@pytest.mark.parametrize("writer", [Writer(), Writer("es", "SI")], ids=["en", "es"])
def test_the_phone_page_judges_readings_as_the_kit_does(browser, sheets, name, writer):
    sheet = sheets[name]
    page = browser.new_page(viewport={"width": 390, "height": 844})
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_content(roof_html(sheet, writer))
    asked.clear()
    least, mid, most = sheet.order.supply
    rated = sheet.order.case.rated_current
    point = "," if writer.language == "es" else "."
    typed, wanted = [], []
    for volts in (0.8 * least, least + 1, mid, most - 1, 1.1 * most):
        for share in (0.0, 0.5, 0.7, 0.8, 0.9, 0.97, 1.03, 1.08, 1.2):
            for outdoor in (None, 10.0, 41.3):
                read = round(volts, 1), round(share * rated, 2)
                warm = None if outdoor is None else writer.number(outdoor, "air_temperature")
                values = [*read, "" if warm is None else f"{warm:.6f}"]
                typed.append([str(one).replace(".", point) for one in values])
                wanted.append(sheet.judge(*read, outdoor))
    told = page.evaluate(TYPE_EACH, typed)
    assert told == [writer(f"roof.state.{state}") for state in wanted]
    assert len(set(wanted)) >= 6 and set(wanted) <= set(STATES)
    page.fill("#volts", "two")
    assert "two" not in page.inner_text("#told") and page.inner_text("#range") == ""
    assert page.evaluate("document.documentElement.scrollWidth") <= 390 and asked == []
    page.close()


def test_the_page_is_small_enough_to_send_by_message(sheets):
    for sheet in sheets.values():
        page = roof_html(sheet, Writer())
        assert len(page.encode()) < 300_000
        assert not re.search(r"(?:src|href)\s*=|https?:|url\(|fetch\(|import\s", page)


def test_colder_air_needs_more_amps(sheets):
    amps = sheets["sample"].amps
    assert (np.diff(amps.high, axis=0) <= 0.01).all() and amps.high[0, 5] > amps.high[-1, 5]
    wide, narrow = amps.at(230.0), amps.at(230.0, 35.0)
    assert wide[0] <= narrow[0] < narrow[1] <= wide[1]


@pytest.mark.parametrize("writer", [Writer(), Writer("es", "SI")], ids=["en", "es"])
def test_the_work_order_prints_on_two_pages_and_is_ticked_on_a_phone(browser, sheets, writer):
    for name, sheet in sheets.items():
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.set_content(order_html(sheet.order, writer))
        paper = page.pdf(
            format="Letter" if writer.system == "US" else "A4", prefer_css_page_size=True
        )
        text = pdf_pages(paper)
        assert len(text) <= 2, name
        together = "".join(text)
        for step in sheet.order.steps:
            assert solid(writer(step.title)) in together
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.check("#isolation")
        assert page.inner_text("[data-step=isolation]") == datetime.date.today().isoformat()
        page.uncheck("#isolation")
        assert page.inner_text("[data-step=isolation]") == ""
        page.close()
