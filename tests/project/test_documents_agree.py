"""Answer, work order and proposal of one job recommend the same motor.

Whoever quotes, orders and installs must read one name: on ordinary jobs of every kind, and also
where another motor would cost less over the years.
"""

import datetime
import io
import json
import re
from functools import cache

import pytest
from pypdf import PdfReader

from airover.app.cli import main
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.company import Company
from airover.records.job import Job
from airover.reports.answer import answer_dict
from airover.reports.order import order_dict
from airover.reports.proposal import make
from airover.selection.answer import answer
from airover.service.order import work_order
from tests.jobs import job, motor

MOTORS = read_catalog(data_folder() / "catalogue.csv")
SOME = MOTORS[::6]  # enough of every kind
DAY, COMPANY = datetime.date(2027, 3, 1), Company(name="Someone")
FIRM = Company(
    name="Someone", flat_rate="295 USD", capacitor_price="18 USD", belly_band_price="20 USD",
    markup="40 %", tax="8.25 %",
)  # fmt: skip

USUAL = {"voltage": "208-230 V", "speed": "1075 rpm"}
JOBS = {
    "half a nameplate": data_folder() / "jobs" / "half-plate.toml",
    "roof unit": data_folder() / "jobs" / "roof-unit.toml",
    "few facts": USUAL | {"power": "1/3 hp"},
    "amps but no power": USUAL | {"current": "1.4 A", "capacitor": "5 uF"},
    "460 V": USUAL | {"voltage": "460 V", "power": "1/2 hp", "current": "1.5 A"},
    "115 V": USUAL | {"voltage": "115 V", "power": "1/4 hp", "current": "4 A"},
    "825 rpm": USUAL | {"speed": "825 rpm", "power": "1/4 hp", "current": "1.7 A"},
    "1/6 hp, where motors of several ratings serve": USUAL | {"power": "1/6 hp"},
    "1/2 hp": USUAL | {"power": "1/2 hp", "current": "3 A", "capacitor": "10 uF"},
    "odd amps": USUAL | {"power": "1/6 hp", "current": "10 A"},
    "speed not known": {"voltage": "230 V", "power": "1/5 hp", "current": "1.3 A"},
    "belly band": USUAL | {"power": "1/4 hp", "mounting": "belly band", "frame": "48"},
    "high voltage": USUAL | {"power": "1/3 hp", "current": "2.1 A"},
}
SITES = {
    "high voltage": {"voltage": "249 V", "outdoor_temperature": "110 degF"},
    "1/2 hp": {"voltage": "205 V", "elevation": "5000 ft"},
}


def read(name) -> Job:
    told = JOBS[name]
    return (
        Job(nameplate=told, site=SITES.get(name, {})) if isinstance(told, dict) else Job.read(told)
    )


@cache
def answered(name):
    return answer(read(name), SOME)


@pytest.mark.parametrize("name", JOBS)
def test_all_documents_of_a_job_name_one_motor(name):
    found = answered(name)
    first = answer_dict(found, Writer())["candidates"][0]["motor"]
    assert found.fitting, found.verdict
    assert order_dict(work_order(found), Writer())["motor"] == first
    proposal = make(found, COMPANY, date=DAY).content
    assert proposal["motor"] == first
    assert proposal["offer"]["headline"].startswith(first)
    assert proposal["sign"]["choices"][0].endswith(first)


@pytest.mark.parametrize("company", [COMPANY, FIRM], ids=["estimate", "firm"])
@pytest.mark.parametrize("name", ["115 V", "460 V", "half a nameplate", "belly band"])
def test_a_total_is_the_sum_of_its_lines_on_the_paper_too(name, company):
    """The total is read back from the PDF and the page, next to its own words."""
    made = make(answered(name), company, date=DAY)
    price = made.content["price"]
    words, total = price["total"]
    amounts = [_amount(text) for _, text in price["rows"]]
    assert sum(amounts) == pytest.approx(_amount(total), abs=0.005)
    if company is not FIRM:
        assert words == "Total, not to exceed"
        assert all(text.startswith(("about ", "up to ")) for _, text in price["rows"][1:])
    line = f"{words} {total}".replace("\N{NO-BREAK SPACE}", " ")
    texts = [page.extract_text() for page in PdfReader(io.BytesIO(made.pdf)).pages]
    texts.append(re.sub("<[^>]+>", " ", made.html))
    assert all(line in " ".join(text.split()) for text in texts)
    assert made.content["options"]["rows"][0][-1].endswith(total)


def _amount(text: str) -> float:
    """The one amount of money in ``text``."""
    (found,) = re.findall(r"\d[\d,.]*", text)
    return float(found.replace(",", ""))


def test_a_motor_that_the_user_names_is_that_of_the_document():
    found = answer(job(), [motor(), motor(model="other", price=95.0)])
    wanted = found.fitting[1].case.motor.name
    assert make(found, COMPANY, date=DAY, motor=wanted).content["motor"] == wanted
    assert order_dict(work_order(found, wanted), Writer())["motor"] == wanted


def test_without_any_price_the_proposal_says_so_and_names_the_same_motor():
    found = answer(job(), [motor(price=None), motor(model="other", price=None)])
    content = make(found, COMPANY, date=DAY).content
    assert content["motor"] == found.candidates[0].case.motor.name
    assert content["price"]["items"] == ["We will send you the price before you order."]


def test_the_commands_say_the_same(tmp_path, capsys):
    path = tmp_path / "job.toml"
    path.write_text('[nameplate]\npower = "1/4 hp"\nspeed = "1075 rpm"\nvoltage = "115 V"\n')
    names = []
    for verb, more in (("work", []), ("order", []), ("proposal", ["--out", str(tmp_path)])):
        assert main([verb, str(path), "--json", *more]) == 0
        told = json.loads(capsys.readouterr().out)
        names.append(told["candidates"][0]["motor"] if verb == "work" else told["motor"])
    assert len(set(names)) == 1
