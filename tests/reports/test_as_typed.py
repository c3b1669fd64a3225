"""What a user typed stands in every file and on every screen as it was typed.

Each text of the job, the company and the motors holds the signs that begin markup somewhere: in
Markdown, HTML, TeX, typst, a spreadsheet or a terminal.
"""

import csv
import datetime
import html
import io
import json
import re
from dataclasses import replace
from functools import cache

import pytest
from markdown_it import MarkdownIt
from matplotlib.text import Text
from openpyxl import load_workbook
from pypdf import PdfReader

from airover.app.live import _as_text
from airover.business.compare import compare
from airover.business.life_cost import life_cost
from airover.core.texts import Writer
from airover.records.company import Company
from airover.records.job import Job
from airover.reports import compare as compare_report
from airover.reports import cost, writing
from airover.reports.answer import answer_dict, report
from airover.reports.answer_tables import candidates, write_all
from airover.reports.calculation import calculation_of
from airover.reports.export import Export
from airover.reports.order import order_dict, order_html, order_text
from airover.reports.proposal import make
from airover.reports.roof_sheet import roof_html, roof_pdf, roof_text
from airover.reports.torque import TorquePicture
from airover.selection.answer import answer
from airover.service.order import work_order
from airover.service.roof_sheet import RoofSheet
from tests import jobs

SIGNS = (
    r"""$a$ $$b$$ \(c\) \[d\] \alpha _e_ __f__ *g* **h** `i` ~~j~~ <b>k</b> &amp; &#36; [l](m) ![n](o) """
    r"""#p #q[r] @s {t} {{ u }} {% v %} "w" 'x' | y ^z^ %1 -- ... 1/2 :+1: \n \$ https://a.example/?b=c&d=e"""
)
SHORT = r"=$5_*<b>`@#[x](y)\z$ &lt;"  # of a model, which stands in narrow columns
WRITER = Writer()
DAY = datetime.date(2026, 5, 4)


@cache
def found():
    facts = jobs.FACTS | {"name": f"=unit {SIGNS}", "note": f"@note {SIGNS}"}
    facts |= {"customer": {one: f"-{one} {SIGNS}" for one in ("name", "address", "contact")}}
    facts |= {"finding": {"failed": f"+failed {SIGNS}", "why": f"why {SIGNS}"}}
    motors = [jobs.motor(maker=f"=maker{n}", model=f"{SHORT}{n}", price=90.0 + n) for n in range(3)]
    return answer(Job.from_toml(Job.model_validate(facts).to_toml()), motors)


@cache
def proposal():
    own = {one: f"={one} {SIGNS}" for one in ("name", "address", "contact", "licence")}
    return make(
        found(), Company(**own, labour_rate="90 USD/h"), writer=WRITER, date=DAY, details=True
    )


@cache
def order():
    return work_order(found())


def motor() -> str:
    return found().candidates[0].case.motor.name


def close(text: str) -> str:
    """The text without spaces and without the invisible signs that keep a number together."""
    return re.sub(r"[\s\u2060\u2068\u2069]+", "", text)


def of_pdf(content: bytes) -> str:
    return close("".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages))


def of_html(text: str) -> str:
    text = re.sub(r"(?s)<(style|script|svg).*?</\1>", "", text)
    return close(html.unescape(re.sub(r"<[^<>]*>", "", text)))


def assert_typed(shown: str, *typed: str) -> None:
    for one in typed:
        assert close(one) in shown, one


CUSTOMER = [f"-{one} {SIGNS}" for one in ("name", "address", "contact")]


def test_the_words_of_the_terminal():
    assert_typed(close(report(found(), WRITER)), motor(), f"=unit {SIGNS}")
    assert_typed(close(order_text(order(), WRITER)), motor(), f"=unit {SIGNS}")
    assert_typed(close(roof_text(RoofSheet(order()), WRITER)), motor())


def test_json():
    told = json.loads(json.dumps(answer_dict(found(), WRITER)))
    assert told["job"]["name"] == f"=unit {SIGNS}"
    assert told["candidates"][0]["motor"] == motor()
    assert order_dict(order(), WRITER)["motor"] == motor()


def test_pages():
    for page in (order_html(order(), WRITER), roof_html(RoofSheet(order()), WRITER)):
        assert_typed(of_html(page), motor())
    assert_typed(of_html(order_html(order(), WRITER)), *CUSTOMER[:2])
    own = [f"={one} {SIGNS}" for one in ("name", "address", "contact", "licence")]
    assert_typed(of_html(proposal().html), motor(), *CUSTOMER, *own)
    assert_typed(of_html(Export(found(), found().job, WRITER).html().decode()), motor())


def test_papers():
    own = [f"={one} {SIGNS}" for one in ("name", "address", "contact", "licence")]
    assert_typed(of_pdf(proposal().pdf), motor(), *CUSTOMER, *own)
    assert_typed(of_pdf(roof_pdf(RoofSheet(order()), WRITER, DAY)), motor())
    signed = Export(found(), found().job, WRITER, prepared=f"by {SIGNS}")
    assert_typed(of_pdf(signed.pdf()), motor(), f"=unit {SIGNS}", f"by {SIGNS}")


def test_spreadsheets(tmp_path):
    book = load_workbook(io.BytesIO(Export(found(), found().job, WRITER).workbook()))
    cells = [cell for sheet in book for row in sheet for cell in row if isinstance(cell.value, str)]
    assert {cell.data_type for cell in cells} == {"s"}
    assert any(motor() in cell.value for cell in cells)
    write_all(found(), tmp_path, WRITER)
    text = (tmp_path / "candidates.csv").read_text(encoding="utf-8")
    assert f"'{motor()}" in [cell for row in csv.reader(io.StringIO(text)) for cell in row]


@cache
def figures() -> dict:
    compared = compare(found().job, [one.case.motor for one in found().candidates])
    costs = life_cost(found())
    torque = TorquePicture(WRITER)
    torque.png(found().candidates[0])
    return {
        "comparison": compare_report.picture(compared, WRITER),
        "cost": cost.life_cost(costs, writer=WRITER),
        "torque": torque.figure,
        "export": Export(found(), found().job, WRITER).figure(),
    }


@pytest.mark.parametrize("name", ["comparison", "cost", "torque", "export"])
def test_figures(name):
    figure = figures()[name]
    figure.savefig(io.BytesIO())
    texts = [one for one in figure.findobj(Text) if one.get_text()]
    assert texts
    for one in texts:
        assert one._preprocess_math(one.get_text()) == (one.get_text(), False)


def test_a_table_of_a_worksheet():
    frame = candidates(found(), WRITER)
    with _as_text(frame):
        shown = frame._repr_html_()
    assert "mathjax_ignore" in shown
    assert_typed(of_html(shown), motor())
    assert_typed(of_html(writing.html(frame)), motor())


def test_a_calculation_in_markdown():
    """JupyterLab takes equations out of Markdown, renders it and typesets what looks like one."""
    odd = replace(found().candidates[0].case.motor, model=SHORT + SIGNS, poles=4, speed_rpm=1625.0)
    left_out = answer(found().job, [odd])
    source = calculation_of(left_out, WRITER).markdown()
    assert not re.search(r"\$|\\[(\[]", source), "no equation is taken out"
    shown = MarkdownIt("gfm-like", {"linkify": False}).render(source)
    assert_typed(of_html(shown), f"{odd.maker} {SHORT}{SIGNS}")
    assert not re.search(r"\$[^<]*\$|\\[(\[]", re.sub(r"<[^>]*>", "<>", html.unescape(shown)))
