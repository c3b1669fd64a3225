"""The proposal: its sentences, prices and pages, the same bytes, and typed text as text."""

import dataclasses
import datetime
import html.parser
import io
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import zlib
from functools import lru_cache
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.image import imread
from pypdf import PdfReader

from airover.app.cli import BAD_INPUT, FITS, NOTHING_FITS, main
from airover.app.replacement import ReplacementPanel
from airover.business import proposal as offer
from airover.business.cost_options import choices
from airover.business.life_cost import LifeCosts, life_cost
from airover.business.price import price
from airover.business.proposal import LONGEST_YEARS, options
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.company import Company, CostBasis
from airover.records.fields import Dates
from airover.records.job import Job
from airover.reports import proposal as pdf
from airover.reports.answer_tables import amps_by_voltage
from airover.reports.proposal import Proposal, make
from airover.reports.typeset import plain
from airover.selection.answer import answer
from tests.jobs import job, motor

DAY = datetime.date(2026, 5, 4)
COMPANY = Company(name="Example Air Service", invented=True)
SAMPLES = ("roof-unit", "half-plate")
HOSTILE = (
    '#panic("worked") #eval("1") $x^2$ \\ [a](b) *b* _i_ `c` <l> @r // /* "',
    "]#panic() $ ``` #{",
    "<script>alert(1)</script><img src=x onerror=alert(2)>",
    "</style></title></svg><b onclick='x()'>",
    "{{7*7}} {% raw %} ${x} %s {name} {page} {0}",
)


@lru_cache
def found(name: str):
    sample = Job.read(data_folder() / "jobs" / f"{name}.toml")
    return answer(sample, read_catalog(data_folder() / "catalogue.csv"))


@lru_cache
def costs(name: str) -> LifeCosts:
    return life_cost(found(name))


@lru_cache
def made(name: str, system: str = "US", language: str = "en", details: bool = True) -> Proposal:
    write = Writer(language, system)
    return make(found(name), COMPANY, costs(name), writer=write, date=DAY, details=details)


@lru_cache
def one_motor():
    return answer(job(), [motor()])


@pytest.fixture(scope="module", autouse=True)
def costed_once():
    """An answer is costed once for all proposals on the same basis."""
    kept = {}

    def once(answered, basis):
        key = id(answered), basis
        if key not in kept:
            kept[key] = life_cost(answered, basis), answered  # which stays, and so its id
        return kept[key][0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "life_cost", once)
        yield


def with_people(sample: Job, **texts) -> Job:
    """A job with other texts: name; customer_name and the like."""
    changes = {"name": texts.pop("name", sample.name)}
    for table in ("customer", "finding"):
        own = {k.removeprefix(f"{table}_"): v for k, v in texts.items() if k.startswith(table)}
        changes[table] = {**dict(getattr(sample, table)), **own}
    return Job(**{**dict(sample), **changes})


def texts_of(value) -> list[str]:
    """Every text in plain data."""
    if isinstance(value, str):
        return [value]
    inside = value.values() if isinstance(value, dict) else value
    return [text for one in inside for text in texts_of(one)]


def page_count(proposal: Proposal) -> int:
    return len(proposal.pages(ppi=20))


class Seen(html.parser.HTMLParser):
    """The tags of a page with their attributes, and its text."""

    def __init__(self, page: str):
        super().__init__()
        self.tags, self.text = [], ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


def refusal(call, *arguments, **named) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **named)
    return str(caught.value)


PRICES = {
    "labour_rate": "110 USD/h", "labour_hours": "2 h", "visit_price": "85 USD",
    "capacitor_price": "18 USD", "belly_band_price": "20 USD", "markup": "40 %", "tax": "8.25 %",
    "labour_warranty": "1 year",
}  # fmt: skip
FIRM = Company(name="Firm", address="1 Street", contact="000", licence="LIC 1", **PRICES)


def read_back(proposal: Proposal) -> list[str]:
    """The text of each page of the PDF, with plain spaces."""
    pages = PdfReader(io.BytesIO(proposal.pdf)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def words_of(proposal: Proposal) -> str:
    """The text of the HTML page, with plain spaces."""
    return " ".join(Seen(proposal.html.partition("</style>")[2]).text.split())


def on_paper(text: str) -> str:
    return " ".join(text.replace("\u2060", "").split())


FIRST_PAGE = ("head", "customer", "unit", "finding", "offer", "includes", "before", "price",
              "options", "caution", "sign")  # fmt: skip


@pytest.mark.parametrize("company", [COMPANY, FIRM], ids=["estimate", "firm"])
@pytest.mark.parametrize(("language", "system"), [("en", "US"), ("es", "SI")])
@pytest.mark.parametrize("name", SAMPLES)
def test_a_proposal_takes_one_page_and_a_second_with_the_details(name, system, language, company):
    told = {"writer": Writer(language, system), "date": DAY}
    plain = make(found(name), company, costs(name), **told)
    assert page_count(plain) == 1
    assert page_count(make(found(name), company, costs(name), details=True, **told)) == 2
    assert plain.pdf.startswith(b"%PDF-")
    assert len(plain.pdf) < 400_000 and len(plain.html) < 300_000


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("company", [FIRM, Company()], ids=["firm", "estimate"])
def test_the_papers_show_all_of_the_first_page(company, language):
    proposal = make(found("half-plate"), company, writer=Writer(language), date=DAY)
    (page,) = read_back(proposal)
    content, shown = proposal.content, words_of(proposal)
    # the title of the file; the verdict, a color; names of the options for templates of users
    unseen = {content["head"]["document"], content["offer"]["verdict"], *content["sign"]["choices"]}
    for section in FIRST_PAGE:
        for text in texts_of(content[section]):
            if text in unseen or "{" in text:  # pages are counted in the PDF only
                continue
            assert on_paper(text) in shown, text
            # lines of a PDF break anywhere in a cell, so compare words
            assert all(word in page for word in on_paper(text).split()), text
    for row in content["warranty"]["rows"]:
        assert all(on_paper(text) in shown for text in row)
    assert on_paper(content["price"]["total"][1]) in page


def test_it_says_all_that_a_customer_asks():
    content = make(found("roof-unit"), FIRM, costs("roof-unit"), date=DAY).content
    assert content["customer"]["rows"][0] == ["Name", "Customer 1"]
    assert content["offer"]["headline"] == content["options"]["rows"][0][1]
    assert 2 <= len(content["options"]["rows"]) == len(content["sign"]["choices"]) <= 3
    assert content["head"]["rows"][1] == ["Price valid until", "June 3, 2026"]
    assert content["price"]["items"] == ["This is a firm price, valid until June 3, 2026."]
    assert content["finding"]["items"] == [
        "The outdoor fan motor has failed. Its bearings are seized. There is rust inside the motor.",
        "Most likely cause: bearings worn out.",
    ]
    assert dict(content["warranty"]["rows"])["Our labor"] == "12 months from installation"
    assert "cleaning the coil, which is dirty" in content["price"]["excluded"]["items"]
    assert "sales tax, if it applies" not in content["price"]["excluded"]["items"]
    assert content["details"] == {} and content["pictures"] == []


def test_the_details_are_a_second_page():
    content = made("roof-unit").content
    assert len(content["pictures"]) == 2 and content["details"]["items"]
    assert content["details"]["found"].startswith("It hums but won't start.")
    for section in ("life", "warranty", "work"):
        assert content[section]["items"], section
    titles = [group["title"] for group in content["known"]["groups"]]
    assert titles[0] == "Measured" and titles[-1].startswith("Assumed")
    first, second = read_back(made("roof-unit"))
    assert "Technical details" in second and "winding" in second
    assert second.count("Cost over 15 years") == 2  # the table and the picture
    assert "winding" not in first and "°F" not in first and "years" not in first


STATISTICS = re.compile(r"\d+ of \d|\d+ de cada \d|90 %|9 in 10|\bsamples?\b|\bmuestras\b|\bmedian")
RANGE = re.compile(r"\d (?:to|a) \d")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", SAMPLES)
def test_a_customer_reads_no_statistics_and_no_range(name, language):
    content = dict(made(name, language=language).content)
    assert not [text for text in texts_of(content) if STATISTICS.search(text)]
    first = [text for section in FIRST_PAGE for text in texts_of(content[section])]
    assert not [text for text in first if RANGE.search(text)]
    for section in ("work", "known"):  # measured or entered
        content.pop(section)
    assert not [text for text in texts_of(content) if RANGE.search(text)]


def test_what_is_invented_says_so_and_what_is_not_does_not():
    everything = made("roof-unit").content["head"]["invented"]
    assert everything.startswith(
        "SAMPLE ONLY. Fictional data: customer, unit and readings, company, manufacturers"
    )
    real = make(one_motor(), Company(name="Someone"), date=DAY)
    assert real.content["head"]["invented"] == ""
    assert "SAMPLE" not in real.html
    kits = make(one_motor(), Company(name="Someone"), date=DAY, invented_motors=True)
    assert "Fictional data: manufacturers, motors and prices." in kits.content["head"]["invented"]


@pytest.mark.parametrize("language, said", [("en", "Your company"), ("es", "Su empresa")])
def test_without_a_company_the_paper_invents_none(language, said):
    proposal = make(one_motor(), Company(), writer=Writer(language), date=DAY)
    head = proposal.content["head"]
    assert (head["company"], head["company_lines"], head["invented"]) == (said, [], "")
    assert read_back(proposal)[0].startswith(said) and "Example Air" not in proposal.html
    mine = make(one_motor(), Company(name="Mine", licence="LIC 1"), date=DAY).content["head"]
    assert (mine["company"], mine["company_lines"]) == ("Mine", ["LIC 1"])


def test_an_invented_company_is_marked():
    head = make(one_motor(), COMPANY, date=DAY).content["head"]
    assert head["company"] == "Example Air Service"
    assert "Fictional data: company." in head["invented"]


def test_a_company_only_for_the_demo():
    assert Company.usual(invented=True).invented
    assert Company.usual(invented=False) == Company()


def test_open_facts_and_things_to_adapt_are_listed():
    content, first = made("half-plate").content, found("half-plate").fitting[0]
    open_ = first.having("adapt", "missing")
    assert len(content["work"]["items"]) == len(open_) > 0
    assert content["offer"]["verdict"] == "fits with work"
    longer = answer(job(nameplate__mounting=None), [motor(shaft_length=0.2, capacitor=9e-6)])
    content = make(longer, COMPANY, date=DAY).content
    assert "cutting the new shaft to length" in content["includes"]["items"]
    assert content["before"].startswith(
        "Before we order the motor, we will confirm: motor mounting."
    )
    assert "The price includes the work needed to make it fit." in content["offer"]["items"][0]
    items = content["work"]["items"]
    assert any("new 9\N{NO-BREAK SPACE}µF run capacitor" in item for item in items)
    assert any("cut the new shaft" in item for item in items)
    assert (
        "Check how the old motor is mounted" in items[-1]
    )  # questions after what is to be adapted


def test_nothing_of_another_language_or_system_is_left():
    english = re.compile(r"\b(the|and|with|from|not|is|are|its|it|of|by|for|at most|to)\b")
    for name in SAMPLES:
        content = dict(made(name, "SI", "es").content)
        head = content["head"]
        typed = [*texts_of(content.pop("customer")), head["rows"][2][1]]
        typed += [head["company"], *head["company_lines"]]
        said = [text for text in texts_of(content) if text not in typed]
        assert not [text for text in said if english.search(text.replace("fits with work", ""))]
        assert not [text for text in said if "°F" in text or "cfm" in text or "degC" in text]


def test_customary_units_where_they_are_asked_for():
    said = " ".join(texts_of(made("roof-unit").content))
    assert "°F" in said and "1/3\u00a0hp" in said and "°C" not in said


def test_the_first_is_the_one_that_the_life_cost_recommends():
    best = choices(costs("roof-unit")).recommended.cost.name
    assert options(found("roof-unit"), costs("roof-unit"))[0].motor.name == best


def test_a_motor_by_name_comes_first():
    wished = found("roof-unit").fitting[4].case.motor.name
    offered = options(found("roof-unit"), costs("roof-unit"), wished.upper())
    assert offered[0].motor.name == wished
    assert len({one.motor.name for one in offered}) == len(offered) == 3


def test_a_motor_that_does_not_fit_or_is_unknown_is_refused():
    unfit = found("roof-unit").candidates[-1].case.motor.name
    assert "does not fit. " in refusal(options, found("roof-unit"), None, unfit)
    assert 'motor: "nobody" is not accepted' in refusal(options, found("roof-unit"), None, "nobody")


def test_without_a_price_the_page_says_so_and_works():
    unpriced = answer(job(), [motor(price=None), motor(model="test-2", price=None)])
    content = make(unpriced, COMPANY, date=DAY).content
    assert content["price"]["rows"] == content["price"]["total"] == []
    assert content["price"]["items"] == ["We will send you the price before you order."]
    assert {row[-1] for row in content["options"]["rows"]} == {"we will quote it"}
    assert any("hours at the temperature" in item for item in content["life"]["items"])


def english(messages) -> list[str]:
    said = Writer("en", "US", signs=True)
    return [said(one) for one in messages]


def with_lives(option, years: float):
    """The same option with parts that all last so many years."""
    lives = dict.fromkeys(option.cost.yearly.lives, Band(0.5 * years, years, 2 * years))
    cost = dataclasses.replace(option.cost, yearly=option.cost.yearly._replace(lives=lives))
    return dataclasses.replace(option, cost=cost)


def test_lives_are_round_and_say_how_many_repairs_follow():
    """A life of few years beside a horizon of fifteen has to be explained."""
    first = options(found("roof-unit"), costs("roof-unit"))[0]
    items = english(offer.life(first, costs("roof-unit")))
    count = round(sum(first.cost.failures.values()))
    assert count > 1
    assert f"Over 15 years, expect about {count} repairs, most of them to the bearings." in items
    told = {
        0.3: "less than 1 year", 1.2: "about 1 year", 8.4: "about 8 years",
        13.1: "about 15 years", LONGEST_YEARS + 9: "more than 20 years",
    }  # fmt: skip
    for years, words in told.items():
        (parts, *_) = english(offer.life(with_lives(first, years), costs("roof-unit")))
        assert (
            parts == f"In your climate: bearings {words}, run capacitor {words}, winding {words}."
        )


@pytest.mark.parametrize(
    "failures, said",
    [
        (0.3, "No repair is expected"),
        (1.2, "about one repair, most likely"),
        (3.4, "about 3 repairs"),
    ],
)
def test_repairs_are_counted_in_whole_numbers(failures, said):
    first = options(found("roof-unit"), costs("roof-unit"))[0]
    cost = dataclasses.replace(first.cost, failures={"winding": 0.0, "bearing": failures})
    items = english(offer.life(dataclasses.replace(first, cost=cost), costs("roof-unit")))
    assert any(said in item for item in items)


CENTS = 0.005
# The motor of the tests costs 90. Company fields, the job's [cost], lines and total by hand.
BY_HAND = [
    ({}, {"labour_rate": "100 USD/h", "labour_hours": "2 h", "visit_price": "80 USD",
          "capacitor_price": "20 USD"},
     {"motor": 90, "materials": 20, "labour": 200, "visit": 80}, 390),
    ({"labour_rate": "100 USD/h", "labour_hours": "1.5 h", "visit_price": "80 USD",
      "capacitor_price": "20 USD", "markup": "50 %", "tax": "10 %"}, {},
     {"motor": 135, "materials": 30, "labour": 150, "visit": 80, "tax": 16.5}, 411.5),
    ({"labour_rate": "100 USD/h", "labour_hours": "1.5 h", "visit_price": "80 USD",
      "capacitor_price": "20 USD", "tax": "10 %", "tax_on": "everything", "permit": "40 USD"}, {},
     {"motor": 90, "materials": 20, "labour": 150, "visit": 80, "permit": 40, "tax": 38}, 418),
    ({"flat_rate": "295 USD", "capacitor_price": "20 USD", "markup": "150 %", "tax": "8.25 %"}, {},
     {"motor": 225, "materials": 50, "flat": 295, "tax": 22.69}, 592.69),
    # the job's own hours go before a flat rate, and the job's prices before the company's
    ({"flat_rate": "295 USD", "labour_rate": "100 USD/h", "visit_price": "80 USD",
      "capacitor_price": "20 USD"}, {"labour_hours": "3 h", "visit_price": "60 USD"},
     {"motor": 90, "materials": 20, "labour": 300, "visit": 60}, 470),
]  # fmt: skip


@pytest.mark.parametrize("company, cost, lines, total", BY_HAND)
def test_prices_by_hand(company, cost, lines, total):
    firm = answer(job_with(cost), [motor()])
    found = price(firm.fitting[0], firm.job.cost, Company(**company))
    assert {name: band.high for name, band in found.lines.items()} == pytest.approx(lines)
    assert found.is_firm and found.total == pytest.approx(total, abs=CENTS)
    section = make(firm, Company(name="A", **company), date=DAY).content["price"]
    amounts = [money(text) for _, text in section["rows"]]
    assert section["total"][0] == "Total" and money(section["total"][1]) == pytest.approx(total)
    assert sum(amounts) == pytest.approx(total, abs=CENTS)
    assert not any("about" in text for text in texts_of(section["rows"]))


def job_with(cost: dict, **changes) -> Job:
    return Job(**{**dict(job(**changes)), "cost": cost})


def money(text: str) -> float:
    """The one amount of money in ``text``."""
    (found,) = re.findall(r"\d[\d,.]*", text)
    return float(found.replace(",", ""))


def test_hours_that_someone_typed_are_the_hours_charged():
    """Only assumed hours get extra time for fitting work: 0.25 h to cut the shaft."""
    long_shaft = [motor(shaft_length=0.2)]
    for cost, company in (
        ({"labour_hours": "1.5 h"}, {}), ({}, {"labour_hours": "1.5 h"}),
    ):  # fmt: skip
        cut = answer(job_with(cost), long_shaft)
        assert set(price(cut.fitting[0], cut.job.cost, Company(**company)).hours) == {1.5}
    assumed = answer(job_with({}), long_shaft)
    hours = price(assumed.fitting[0], assumed.job.cost, Company()).hours
    assert tuple(hours) == (1.75, 2.25, 2.75)


def test_an_estimate_has_a_total_that_is_not_exceeded():
    """Usual values: capacitor 12-30, labor 1.5-2.5 h at 85-135 USD/h, trip 60-120."""
    proposal = make(one_motor(), Company(name="A", tax="10 %"), date=DAY)
    section = proposal.content["price"]
    rows = dict(section["rows"])
    assert rows["Motor"] == "90\u00a0USD"
    allowance = rows.pop("Allowance for extra time or parts, if needed")
    assert all(text.startswith("about ") for name, text in rows.items() if name != "Motor")
    # 90 + 30 + 337.5 + 120 + 12 = 589.5, rounded up to a multiple of 5
    assert section["total"] == ["Total, not to exceed", "590\u00a0USD"]
    assert proposal.content["options"]["rows"][0][-1] == "not to exceed 590\u00a0USD"
    assert "never more than the total" in section["items"][0]
    assert allowance.startswith("up to ")
    assert sum(map(money, rows.values())) + money(allowance) == 590  # a customer adds them up


def test_a_belly_band_is_charged_where_it_is_needed():
    banded = answer(job(), [motor(mounting=("belly band",))])
    content = make(banded, FIRM, date=DAY).content
    rows = dict(content["price"]["rows"])
    assert rows["Run capacitor and belly band"] == "53.20\u00a0USD"  # 1.4 x (18 + 20)
    assert any("belly band" in item for item in content["includes"]["items"])


@pytest.mark.parametrize("company", [FIRM, Company(), Company(flat_rate="295 USD", tax="8 %")])
@pytest.mark.parametrize("name", SAMPLES)
def test_every_option_has_its_own_total(name, company):
    content = make(found(name), company, costs(name), date=DAY).content
    offered = options(found(name), costs(name), company=company)
    for option, row in zip(offered, content["options"]["rows"], strict=True):
        worth = price(option.candidate, found(name).job.cost, company)
        assert money(row[-1]) == pytest.approx(worth.total, abs=CENTS)
        assert row[-1].startswith("not to exceed") != worth.is_firm
        assert worth.sum.high <= worth.total < worth.sum.high + 5
    assert money(content["price"]["total"][1]) == money(content["options"]["rows"][0][-1])


def test_only_the_lowest_total_is_called_the_lowest_price():
    for name in SAMPLES:
        for company in (FIRM, Company()):
            offered = options(found(name), costs(name), company=company)
            totals = [one.price.total for one in offered]
            lowest = [totals.count(one) == 1 and one == min(totals) for one in totals]
            assert ["today" in one.why for one in offered] == lowest


def test_the_cost_over_the_years_starts_with_the_total():
    for company in (FIRM, Company(), Company(markup="100 %", permit="80 USD")):
        for one in options(found("roof-unit"), costs("roof-unit"), company=company):
            parts = one.cost.parts
            energy = parts["energy of the motor"] + parts["compressor's extra energy"]
            ratio = one.price.sum.mid / one.cost.today.mean()
            rest = energy.mean() + ratio * parts["repairs"].mean()
            assert one.over_years == pytest.approx(one.price.total + rest)


def test_the_life_cost_has_the_prices_of_the_company():
    cost = CostBasis(labour_hours="3 h", energy_price="0.2 USD/kWh")
    merged = FIRM.cost_basis(cost)
    assert merged.labour_hours.mid == 3 and merged.labour_rate.mid == 110
    assert merged.energy_price.mid == 0.2 and merged.visit_price.mid == 85
    euros = CostBasis(visit_price="90 EUR")
    assert FIRM.cost_basis(euros) == euros


def test_a_motor_that_costs_clearly_less_over_the_years_is_named():
    thrifty = motor(model="thrifty", currents=(1.55,), capacitor=9e-6, bearings="ball",
                    bearing_bore=0.012, price=95.0)  # fmt: skip
    dear = answer(job(), [motor(price=1200.0), thrifty])
    content = make(dear, COMPANY, date=DAY, details=True).content
    assert "Option B costs less over the years" in content["offer"]["items"][1]
    assert re.match(
        r"about [\d,]+.USD less than option A over 15", content["options"]["rows"][1][2]
    )
    assert "so you may prefer it" in content["details"]["items"][-1]


def test_an_option_that_costs_less_later_is_recommended_with_its_letter():
    fits = SimpleNamespace(having=lambda *_: (), verdict="fits")
    price = SimpleNamespace(currency="USD")

    def option(letter, why, years):
        return SimpleNamespace(
            letter=letter, why=why, over_years=years, price=price, candidate=fits
        )

    first, other = option("A", (offer.BEST,), 2000.0), option("B", (offer.LEAST,), 1400.0)
    said = english(offer.recommendation(SimpleNamespace(first=first, options=(first, other))))
    assert "Option B costs less over the years" in said[1]
    (less,) = english(offer.advantages(other, [first, other], 15))
    assert less.replace("\N{NO-BREAK SPACE}", " ").startswith("about 600 USD less than option A")
    alone = option("A", (offer.BEST, offer.LEAST), 1400.0)
    said = english(offer.recommendation(SimpleNamespace(first=alone, options=(alone, first))))
    assert said[1] == "Of the motors that fit, it is the closest match to your old motor."
    assert english(offer.advantages(alone, [alone, first], 15)) == [
        "closest match to your old motor",
        "lowest cost over 15 years",
    ]


@pytest.mark.parametrize("price", [None, 120.0])
def test_a_winding_of_unknown_class_has_no_life(price):
    only = answer(job(), [motor(insulation_class=None, price=price)])
    content = make(only, COMPANY, price and life_cost(only), date=DAY, details=True).content
    said = " ".join(content["life"]["items"])
    assert "not known until we have the insulation class" in said
    assert "winding more than" not in said and "winding about" not in said


def test_words_for_each_way_that_two_costs_can_lie():
    first, other = options(found("roof-unit"), costs("roof-unit"), company=FIRM)[:2]

    def said(total: float, spread: float = 1.0) -> str:
        """The reason where the first costs ``total`` over the years and the other 2000."""
        return english([offer.reason([lies(first, total, spread), lies(other, 2000.0, 0.0)], 15)])[
            0
        ]

    def lies(option, total: float, spread: float):
        rest = total - option.price.total
        wave = spread * np.resize([-1.0, 1.0], 1000)
        parts = {"energy of the motor": rest + wave, "compressor's extra energy": 0 * wave,
                 "repairs": 0 * wave}  # fmt: skip
        cost = dataclasses.replace(option.cost, parts=parts)
        return dataclasses.replace(option, cost=cost)

    assert "about 1,600\N{NO-BREAK SPACE}USD over 15 years" in said(1600.0)
    assert "about 400\N{NO-BREAK SPACE}USD less than option B" in said(1600.0)
    assert "Option B costs about 400\N{NO-BREAK SPACE}USD less" in said(2400.0)
    assert "within the uncertainty" in said(1950.0, spread=500.0)
    assert english([offer.reason([first], 15)])[0].startswith("It costs about")


def test_a_single_motor_is_said_to_be_the_only_one():
    content = make(one_motor(), COMPANY, date=DAY).content
    assert content["options"]["items"] == ["No other motor in our catalog fits."]
    assert len(content["sign"]["choices"]) == len(content["options"]["rows"]) == 1


def test_another_currency_than_the_catalogs_is_refused():
    said = refusal(make, one_motor(), Company(name="A", currency="EUR"), date=DAY)
    assert 'company currency: "EUR" is not accepted. Enter USD' in said


def test_nobody_is_refused_for_the_currency_of_a_company():
    pesos = answer(job(), [motor(currency="MXN")])
    assert offer.in_catalog_currency(pesos, Company()).currency == "MXN"
    assert "Enter MXN" in refusal(offer.in_catalog_currency, pesos, Company(name="A"))
    assert Company(currency="MXN", flat_rate=900, labour_rate="$400").flat_rate.unit == "MXN"
    assert "the company's currency" in refusal(Company, permit="4 EUR")


def test_amps_against_voltage_are_those_of_the_answer():
    case = found("roof-unit").fitting[0].case
    line = tuple(case.conditions.voltage)
    voltage, current = amps_by_voltage(case, line)
    at = np.interp(line[1], voltage, current.mid)
    assert at == pytest.approx(case.current.mid, rel=0.01)
    assert voltage[0] < line[0] and voltage[-1] > line[-1]


def test_a_winding_that_may_pass_its_limit_is_not_hidden():
    hot = next(c for c in found("roof-unit").fitting if _may_pass(c))
    told = {"motor": hot.case.motor.name, "date": DAY, "details": True}
    content = make(found("roof-unit"), COMPANY, costs("roof-unit"), **told).content
    assert "may run hotter at times" in " ".join(content["details"]["items"])


def _may_pass(candidate) -> bool:
    check = next(one for one in candidate.checks if one.name == "winding temperature")
    return check.state == "note"


def warranty(dates: Dates, language="en", **terms) -> list[str]:
    said = Writer(language, "US", signs=True)
    return [said(one) for one in offer.warranty(motor(**terms), dates, DAY)]


def test_warranty_if_installed_today():
    items = warranty(Dates())
    assert items[0] == (
        "The manufacturer covers the motor for 12 months from installation and 18 months from manufacture."
    )
    assert "If installed on May 4, 2026, coverage ends no later than May 4, 2027." in items
    assert any("if the motor was made on November 4, 2025 or later" in item for item in items)


def test_warranty_of_known_days():
    dates = Dates(installed="2028-02-29", manufactured="2027-12-01", warranty_ends="last")
    items = warranty(dates)
    assert "Installed on February 29, 2028, coverage ends on June 1, 2029." in items
    assert "The warranty period that ends last applies." in items


def test_warranty_with_one_term_or_none():
    alone = warranty(Dates(), warranty_from_manufacture=None)
    assert alone[1] == "If installed on May 4, 2026, coverage ends on May 4, 2027."
    none = {"warranty_from_manufacture": None, "warranty_from_installation": None}
    assert "We do not know the manufacturer's warranty" in warranty(Dates(), **none)[0]
    made_only = warranty(Dates(), "es", warranty_from_installation=None)
    assert made_only[0].endswith("18 meses desde su fabricación.")


def test_a_new_motor_is_not_installed_before_it_was_made():
    items = warranty(Dates(manufactured="2026-07"))
    assert any(item.startswith("If installed on July 1, 2026") for item in items)


def test_the_finding_tells_the_typed_cause_or_the_likely_one_or_that_it_is_not_known():
    def items(sample):
        return make(answer(sample, [motor()]), COMPANY, date=DAY).content["finding"]["items"]

    assert items(job())[1].startswith("We will look for the cause")
    typed = with_people(job(), finding_failed="It hums.", finding_why="Worn out.")
    assert items(typed)[:2] == ["It hums.", "Cause: Worn out."]
    seen = Job(**{**dict(job()), "found": {"bearings": "seized", "inside": "rust"}})
    assert "Its bearings are seized. There is rust inside the motor." in items(seen)[0]
    assert items(seen)[1].startswith("Most likely cause: ")


@pytest.mark.parametrize("text", HOSTILE)
def test_what_was_typed_is_shown_as_text_and_never_worked(text):
    typed = with_people(
        job(), name=text, customer_name=text, customer_address=text, customer_contact=text,
        finding_failed=text, finding_why=text,
    )  # fmt: skip
    company = Company(name=text, address=text, contact=text, licence=text)
    evil = motor(maker=text[:40], model=text)
    proposal = make(answer(typed, [evil]), company, date=DAY, details=True)
    assert page_count(proposal) >= 2  # a panic that was worked would end it
    seen = Seen(proposal.html)
    assert {tag for tag, _ in seen.tags} <= TAGS
    assert not [name for _, attrs in seen.tags for name in attrs if name.startswith("on")]
    assert seen.text.count(text) >= 10
    assert json.loads(proposal.to_json())["customer"]["rows"][0][1] == text


TAGS = {
    "html", "head", "meta", "title", "style", "body", "main", "header", "footer", "section",
    "div", "span", "strong", "bdi", "br", "h1", "h2", "h3", "p", "ul", "li", "table", "thead",
    "tbody", "tfoot", "tr", "th", "td", "img",
}  # fmt: skip


def test_a_template_that_works_typed_text_is_what_this_test_would_find():
    bad = '#let it = json("proposal.json")\n#eval(it.customer.rows.at(0).at(1), mode: "markup")'
    typed = with_people(job(), customer_name=HOSTILE[0])
    content = make(answer(typed, [motor()]), COMPANY, date=DAY).content
    assert "panic" in refusal(pdf.pdf, content, {}, DAY, bad)


def test_the_page_asks_for_nothing_from_outside():
    seen = Seen(made("roof-unit").html)
    asked = [attrs[name] for _, attrs in seen.tags for name in ("src", "href") if name in attrs]
    assert len(asked) == 2 and all(one.startswith("data:image/svg+xml;base64,") for one in asked)
    (policy,) = [a["content"] for _, a in seen.tags if a.get("http-equiv")]
    assert policy.startswith("default-src 'none'") and "script" not in policy
    assert "url(" not in made("roof-unit").html and "@import" not in made("roof-unit").html
    assert all(attrs["alt"] for tag, attrs in seen.tags if tag == "img")


def test_pictures_hold_no_date_link_or_font():
    for name, content in made("roof-unit").files.items():
        text = content.decode()
        assert name.endswith(".svg") and "<text" not in text and "<dc:date>" not in text
        links = set(re.findall(r'(?:xlink:)?href="([^"#][^"]*)"', text))
        assert not links


@pytest.mark.parametrize("language", ["en", "es"])
def test_long_names_still_take_one_page(language):
    typed = with_people(
        found("half-plate").job,
        name="A service job with quite a long name of its own",
        customer_name="María de los Ángeles Fernández de Córdoba y Álvarez de Toledo, viuda de X",
        customer_address="Avenida del Libertador General José de San Martín 12345, piso 27, B",
        finding_failed="The motor hums, does not turn and trips its protector. " * 2,
    )
    answered = answer(typed, [c.case.motor for c in found("half-plate").fitting])
    assert page_count(make(answered, FIRM, writer=Writer(language), date=DAY)) == 1


def test_a_word_without_end_breaks_and_stays_on_the_page():
    typed = with_people(job(), customer_name="W" * 300, customer_address="x" * 1900)
    proposal = make(answer(typed, [motor()]), COMPANY, date=DAY)
    for page in proposal.pages(ppi=40):
        assert right_margin(page) > 17 / 25.4 * 40 - 3  # the template's 17 mm, and a pixel's blur


def right_margin(png: bytes) -> int:
    """White columns at the right of a page."""
    pixels = imread(io.BytesIO(png))[..., :3]
    inked = np.flatnonzero((pixels < 0.8).any(axis=(0, 2)))
    return pixels.shape[1] - 1 - int(inked[-1])


def test_names_from_right_to_left_stay_apart():
    arabic = "محمد الأمين"
    assert plain(arabic) == f"\u2068{arabic}\u2069"
    assert plain("רחוב הרצל 12") == "\u2068רחוב הרצל 12\u2069"
    assert plain("Señora Ñandú ☃ 😀") == "Señora Ñandú ☃ 😀"


def test_letters_that_turn_or_end_a_text_are_left_out():
    assert plain("abc\u202edef\u202c\u2066\u2069") == "abcdef"
    assert plain("a\x00b\x1b[31m\ud800") == "a\ufffdb\ufffd[31m\ufffd"
    assert plain("one\ntwo\tthree") == "one two three"


def test_a_long_address_is_copied_as_it_was_typed():
    address = "office.of.the.contractor@very-long-name.example.com"
    company = Company(name="Someone", contact=address)
    page = PdfReader(io.BytesIO(make(one_motor(), company, date=DAY).pdf)).pages[0].extract_text()
    assert address in page and "\u200b" not in page


def test_a_job_with_a_control_character_is_refused_before_all_this():
    assert "plain text" in refusal(with_people, job(), customer_name="a\x00b")


@pytest.fixture(scope="module")
def few(tmp_path_factory) -> str:
    """A catalog of ten motors, of which some fit."""
    lines = (data_folder() / "catalogue.csv").read_text(encoding="utf-8").splitlines()
    names = [one.case.motor.model for one in found("roof-unit").candidates[:10]]
    kept = [line for line in lines if line.split(",")[1] in ("model", *names)]
    path = tmp_path_factory.mktemp("few") / "few.csv"
    path.write_text("\n".join(kept), encoding="utf-8")
    return str(path)


def command(out, few: str, *more: str) -> list[str]:
    sample = str(data_folder() / "jobs" / "roof-unit.toml")
    day = ["--date", "2026-05-04"]
    return ["proposal", sample, *day, "--catalog", few, "--out", str(out), *more]


def test_the_same_job_has_the_same_bytes_in_another_process(tmp_path, few):
    one, other = tmp_path / "one", tmp_path / "other"
    for folder, seed in ((one, "1"), (other, "2")):
        asked = [sys.executable, "-m", "airover", *command(folder, few, "--language", "es")]
        env = os.environ | {"PYTHONHASHSEED": seed, "TZ": f"UTC-{seed}"}
        subprocess.run(asked, check=True, capture_output=True, env=env)
    names = sorted(path.name for path in one.iterdir())
    assert names == ["proposal.html", "proposal.json", "proposal.pdf"]
    for name in names:
        assert (one / name).read_bytes() == (other / name).read_bytes(), name


def test_the_command_writes_and_tells(tmp_path, few, capsys):
    assert main(command(tmp_path, few, "--json", "--units", "SI")) == FITS
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads((tmp_path / "proposal.json").read_text(encoding="utf-8"))
    assert told["paper"] == "a4"


def test_the_command_invents_a_company_only_for_the_demo(tmp_path, few, capsys):
    text = (data_folder() / "jobs" / "roof-unit.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace("invented = true", "invented = false"), encoding="utf-8")
    named = {"demo": command(tmp_path / "demo", few), "mine": command(tmp_path / "out", few)}
    named["mine"][1] = str(mine)
    told = {}
    for name, words in named.items():
        assert main([*words, "--json", "--details"]) == FITS
        told[name] = json.loads(capsys.readouterr().out)
    assert told["demo"]["head"]["company"] == "Example Air Service"
    assert told["demo"]["price"]["total"][0] == "Total" and told["demo"]["details"]
    assert (
        told["mine"]["head"]["company"] == "Your company" and not told["mine"]["head"]["invented"]
    )
    assert len(PdfReader(tmp_path / "demo" / "proposal.pdf").pages) == 2


def test_where_nothing_fits_nothing_is_offered(tmp_path, capsys):
    hot = str(data_folder() / "jobs" / "hot-court.toml")
    assert main(["proposal", hot, "--out", str(tmp_path / "out")]) == NOTHING_FITS
    assert "motors fits this job" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
    assert "none of the 213 motors fits this job. Needed" in refusal(
        make, found("hot-court"), COMPANY
    )


@pytest.mark.parametrize(
    "more, said",
    [
        (["--date", "tomorrow"], "date"),
        (["--company", "nowhere.toml"], "company file"),
        (["--template", "nowhere.typ"], "template"),
        (["--motor", "nobody"], "motor"),
    ],
)
def test_bad_input_is_one_sentence(more, said, tmp_path, few, capsys):
    assert main(command(tmp_path, few, *more)) == BAD_INPUT
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"{said}: ") and line.endswith(".")


def set_with(template: str) -> bytes:
    return pdf.pdf(made("roof-unit").content, made("roof-unit").files, DAY, template)


def test_a_changed_template_changes_the_pdf(tmp_path):
    mine = tmp_path / "mine.typ"
    shutil.copy(pdf.TEMPLATE, mine)
    text = mine.read_text(encoding="utf-8")
    mine.write_text(text.replace('rgb("#1f2933")', 'rgb("#00305a")'), encoding="utf-8")
    changed = make(one_motor(), COMPANY, date=DAY, template=mine)
    usual = make(one_motor(), COMPANY, date=DAY)
    assert changed.pdf != usual.pdf and changed.html == usual.html
    assert page_count(changed) == page_count(usual)


@pytest.mark.parametrize("path", ["{whole}", "../{name}", "../../{name}", "/../{name}"])
def test_a_template_reads_no_file_of_this_machine(path, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("secret", encoding="utf-8")
    path = path.format(whole=secret.as_posix(), name=secret.name)
    said = refusal(set_with, f"#read({json.dumps(path)})")
    assert said.startswith("template: ") and "secret.txt" in said


def test_a_template_with_a_fault_or_a_package_is_refused(tmp_path):
    assert refusal(set_with, "#let x = ").startswith("template: typst cannot typeset")
    packaged = tmp_path / "packaged.typ"
    for code in (
        '#import "@preview/some:0.1.0": x',
        '#import "\\u{40}preview/some:0.1.0": x',
        '#let it = {\n  import "\\u{40}preview/some:0.1.0": x\n}',
        '#let name = "x"\n#{\n  include name\n}',
        '#eval("#im" + "port x", mode: "markup")',
        "#let f = eval",
    ):
        packaged.write_text(code, encoding="utf-8")
        assert "imports, includes or evaluates" in refusal(pdf.read_template, packaged), code
    packaged.write_text("Prices include tax; parts are imported.", encoding="utf-8")
    assert pdf.read_template(packaged)


def company_file(folder, **fields):
    lines = [f"{name} = {json.dumps(value)}" for name, value in fields.items()]
    path = folder / "company.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_a_company_with_a_logo(tmp_path):
    (tmp_path / "logo.png").write_bytes(pixel())
    company = Company.read(company_file(tmp_path, name="A", logo="logo.png", validity_days=10))
    proposal = make(one_motor(), company, date=DAY)
    assert proposal.content["logo"] == "logo.png" and page_count(proposal) == 1
    assert "data:image/png;base64," in proposal.html
    assert proposal.content["head"]["rows"][1][1] == "May 14, 2026"


def pixel() -> bytes:
    """A PNG file of one white pixel."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\x00\xff\xff\xff")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def test_a_company_file_that_cannot_be_used(tmp_path):
    assert "company name is missing" in refusal(Company.read, company_file(tmp_path, address="x"))
    assert "currency" in refusal(Company, name="A", currency="dollars")
    assert "validity days" in refusal(Company, name="A", validity_days=0)
    assert 'Did you mean "licence"' in refusal(Company, name="A", license="x")
    (tmp_path / "logo.png").write_bytes(b"<svg onload=alert(1)>")
    spoilt = Company.read(company_file(tmp_path, name="A", logo="logo.png"))
    assert "Enter a PNG or JPEG file" in refusal(spoilt.logo_bytes)


def test_a_spoilt_logo_is_refused_as_such(tmp_path):
    (tmp_path / "logo.png").write_bytes(pixel()[:40])
    company = Company.read(company_file(tmp_path, name="A", logo="logo.png"))
    proposal = make(one_motor(), company, date=DAY)
    assert refusal(lambda: proposal.pdf).startswith("logo: typst cannot typeset")
    (tmp_path / "logo.png").write_bytes(pixel()[:20])
    assert "0 x 0 pixels" in refusal(company.logo_bytes)


def test_the_panel_keeps_customer_and_finding_of_a_job(tmp_path):
    mine = with_people(job(), customer_name="Somebody", finding_why="Because.")
    mine.save(tmp_path / "job.toml")
    panel = ReplacementPanel(tmp_path / "job.toml")
    assert panel.job().customer.name == "Somebody" and panel.job().finding.why == "Because."


def test_said_amounts():
    us, si = Writer("en", "US", signs=True), Writer("es", "SI", signs=True)
    assert us.amount(Band(50.0, 52.0, 55.0), "air_temperature") == "122 to 131\u00a0°F"
    assert si.amount(Band(50.0, 52.0, 55.0), "air_temperature") == "50 a 55\u00a0°C"
    assert us.amount(0.142875, "body_length") == "5\u00a05/8\u00a0in"
    assert us.range(230.0, 230.0, "voltage") == "230\u00a0V"
    assert si.value(Message("about", value=Quantity(1.1, "flow"))) == "aprox. 1.1\u00a0m³/\u2060s"
    assert us.price(1086.0, "USD") == "1,086\u00a0USD"
    assert us.price(89.5, "USD") == us.price(89.5, "USD", cents=True) == "89.50\u00a0USD"
    assert us.price(89.0, "USD", cents=True) == "89.00\u00a0USD"
