"""Papers as they are read: what a PDF or a page shows beside each name is what its content says.

The texts are read back from the files. Lines of a PDF break anywhere, so spaces do not count.
"""

import datetime
import html
import io
import re
from functools import cache

import numpy as np
import pytest
from pypdf import PdfReader

from airover.business.life_cost import life_cost
from airover.core.files import LANGUAGES, data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.company import Company
from airover.records.job import Job
from airover.reports.order import order_dict, order_html, order_text
from airover.reports.proposal import make
from airover.reports.roof_sheet import (
    judge_table,
    roof_content,
    roof_html,
    roof_pdf,
    roof_text,
)
from airover.selection.answer import answer
from airover.service.order import work_order
from airover.service.roof_sheet import RoofSheet

DAY = datetime.date(2026, 5, 4)
COMPANY = Company(
    name="Firm", labour_rate="110 USD/h", labour_hours="2 h", visit_price="85 USD", markup="40 %",
    capacitor_price="18 USD", tax="8.25 %", permit="40 USD", labour_warranty="1 year",
)  # fmt: skip


@cache
def found():
    motors = read_catalog(data_folder() / "catalogue.csv")
    return answer(Job.read(data_folder() / "jobs" / "roof-unit.toml"), motors[:16])


@cache
def costs():
    return life_cost(found())


@cache
def proposal(company: Company = COMPANY, language: str = "en"):
    told = {"writer": Writer(language), "date": DAY, "details": True}
    return make(found(), company, costs(), **told)


def close(text: str) -> str:
    """The text without spaces, and with each letter in one form."""
    return re.sub(r"[\s\u2060]+", "", text.replace("\N{MICRO SIGN}", "\N{GREEK SMALL LETTER MU}"))


def of_pdf(pdf: bytes) -> str:
    return close("".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def of_page(page: str) -> str:
    page = re.sub(r"(?s)<(style|script).*?</\1>", "", page)
    return close(html.unescape(re.sub(r"<[^>]*>", " ", page)))


def assert_rows(shown: str, rows) -> None:
    """The cells of each row stand one after the other, and the rows in their order."""
    place = 0
    for row in rows:
        cells = close("".join(row))
        assert cells in shown, row
        place = shown.find(cells, place)
        assert place >= 0, f"{row} is not after the row above it"


def rows_of(content: dict) -> list[list[list[str]]]:
    """The tables of a proposal, with the line of the total after the prices."""
    price = content["price"]
    return [
        [row for row in content["head"]["rows"] if row[1]],
        [row for row in content["customer"]["rows"] if row[1]],
        content["unit"]["rows"],
        [*price["rows"], price["total"]],
        [row for row in content["warranty"]["rows"] if row[1]],
        [content["options"]["head"], *content["options"]["rows"]],
        [row for row in content["details"]["rows"] if all(row)],
        *(group["rows"] for group in content["known"]["groups"]),
    ]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("company", [COMPANY, Company()], ids=["firm", "estimate"])
def test_a_proposal_shows_each_value_beside_its_name(company, language):
    paper = proposal(company, language)
    shown = of_pdf(paper.pdf), of_page(paper.html)
    for text in shown:
        for rows in rows_of(paper.content):
            assert rows
            assert_rows(text, rows)
        for section in ("finding", "offer", "includes", "options", "caution", "life", "work"):
            for item in paper.content[section]["items"]:
                assert close(item) in text, (section, item)


def test_the_prices_on_paper_add_up():
    """The lines of the printed price are added by hand and are the printed total."""
    text = of_pdf(proposal().pdf)
    titles = [name for name, _ in proposal().content["price"]["rows"]]
    amounts = [
        float(re.search(re.escape(close(name)) + r"([\d,]+\.\d\d)USD", text)[1].replace(",", ""))
        for name in (*titles, "Total")
    ]
    assert len(amounts) == 7 and len(set(amounts)) == 7
    assert sum(amounts[:-1]) == pytest.approx(amounts[-1], abs=0.005)


def test_an_estimate_covers_the_upper_ends_of_its_lines():
    """The total that is not exceeded is the dearest installation, not the expected one."""
    price = proposal(Company()).content["price"]
    expected = [
        float(re.search(r"[\d,]+", text)[0].replace(",", "")) for _, text in price["rows"][:-1]
    ]
    most = float(re.search(r"[\d,]+", price["total"][1])[0].replace(",", ""))
    usual = {"labor": 2.5 * 135, "trip": 120.0, "capacitor": 30.0}  # the upper ends by hand
    motor = found().fitting[0].case.motor.price
    assert most >= motor + sum(usual.values()) > sum(expected) * 1.05


@cache
def sheet():
    return RoofSheet(work_order(found()))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("system", ["US", "SI"])
def test_a_roof_sheet_shows_each_value_beside_its_name(language, system):
    writer = Writer(language, system)
    papers = (
        (of_pdf(roof_pdf(sheet(), writer, DAY)), roof_content(sheet(), writer.for_print)),
        (of_page(roof_html(sheet(), writer)), roof_content(sheet(), writer.for_print)),
        (close(roof_text(sheet(), writer).replace("\n- ", "")), roof_content(sheet(), writer)),
    )
    for text, content in papers:
        colon = ":" if text is papers[-1][0] else ""
        assert_rows(text, [(one["name"] + colon, one["text"]) for one in content["lines"]])
        amps = [(volts + colon, amps) for volts, amps in content["amps"]["rows"]]
        if text is papers[0][0]:  # the voltages in one row and the amps in the next
            amps = zip(*amps, strict=True)
        assert_rows(text, amps)
        for name in ("parts", "questions", "cautions"):
            assert_rows(text, [[item] for item in content[name]["items"]])
        assert close(content["label"]["text"]) in text and close(content["foot"]) in text


def test_the_roof_sheets_amps_rise_with_voltage_and_are_the_answers():
    case = found().fitting[0].case
    rows = [(volts, band) for volts, band in sheet().printed_amps]
    assert [volts for volts, _ in rows] == sorted(volts for volts, _ in rows)
    for _, band in rows:
        assert band.low < band.mid < band.high
    usual = min(rows, key=lambda row: abs(row[0] - case.conditions.voltage[1]))[1]
    assert usual.mid == pytest.approx(case.current.mid, rel=0.05)


def test_the_phone_page_judges_by_the_amps_of_the_sheet():
    table, amps = judge_table(sheet(), Writer("en", "SI")), sheet().amps
    np.testing.assert_allclose(table["low"], amps.low, atol=0.006)
    np.testing.assert_allclose(table["high"], amps.high, atol=0.006)
    assert table["volts"] == pytest.approx(list(amps.voltage))
    assert table["outdoor"] == pytest.approx(list(amps.outdoor))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_work_order_says_the_same_on_its_page_and_in_its_text(language):
    writer = Writer(language)
    order = work_order(found())
    steps = order_dict(order, writer)["steps"]
    text = close(re.sub(r"\n +[->] ", " ", order_text(order, writer)))
    page_steps = order_dict(order, writer.for_print)["steps"]
    page = of_page(order_html(order, writer.for_print))
    for shown, told in ((text, steps), (page, page_steps)):
        for name in ("title", "why"):
            assert_rows(shown, [[one[name]] for one in told])
        for one in told:
            assert_rows(shown, [[sentence] for sentence in one["do"]])
            for blank in one["write"]:
                assert close(blank["what"]) in shown
                assert not blank["expected"] or close(blank["expected"]) in shown
