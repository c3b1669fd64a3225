"""The panel of worksheet 07: from a job file to a proposal, driven as Python objects."""

import datetime
import re
from html import escape

import numpy as np
import pytest

from airover.app import proposal_panel
from airover.app.checked import figures_of_cost
from airover.app.live import checked
from airover.app.proposal_panel import (
    MONEY,
    MORE,
    PAGES,
    PREVIEW,
    ProposalPanel,
    placeholder,
    results_for,
)
from airover.business import life_cost as cost
from airover.business.life_cost import life_cost
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.company import Company, CostBasis
from airover.records.job import Job
from airover.reports import cost as tables_cost
from airover.reports.proposal import make
from airover.selection.answer import CAUTIONS

from .conftest import rows

JOBS = data_folder() / "jobs"
COMPANY = Company.read(data_folder() / "company.toml")
ROOF, HOT, HALF = (str(JOBS / f"{name}.toml") for name in ("roof-unit", "hot-court", "half-plate"))
US = Writer()
TITLES = [US(f"panel.proposal.page.{key}") for key in PAGES]
FEW = {"A-005", "A-009", "A-019", "B-013", "C-015", "C-018", "C-031"}  # models


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """A catalog of a few of the invented motors, so that a job is worked quickly."""
    header, *lines = (data_folder() / "catalogue.csv").read_text(encoding="utf-8").splitlines()
    kept = [header, *(line for line in lines if line.split(",")[1] in FEW)]
    assert len(kept) == 1 + len(FEW)
    path = tmp_path_factory.mktemp("few") / "few.csv"
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def shared(few):
    return ProposalPanel(catalog=few)


@pytest.fixture
def panel(shared, few, tmp_path):
    """One panel for the module, brought back to the sample job; it writes where tests may."""
    with shared.filling():
        shared.units.value, shared.language.value, shared.date.value = "US", "en", "2026-05-04"
        shared.catalog.value, shared.company.value, shared.template.value = str(few), "", ""
        shared.tables.selected_index, shared.details.value = 0, False
        shared.contractor.fill(None)
    shared.open(ROOF)
    shared.out.value = str(tmp_path / "results" / "roof")
    assert not shared.status.value
    return shared


def told(panel) -> str:
    return panel.made_told.value


def test_the_default_is_the_sample_job_with_its_recommendation_on_top(panel):
    answer = panel.answer
    assert Writer()(answer.choices.reason) == answer.verdict
    assert "Choose the Demo A-005" in panel.verdict.value
    assert "Fictional job" in panel.verdict.value and "Roof unit" in panel.verdict.value
    assert panel.motor.options[0] == ("as recommended", "")
    assert "D124" not in str(panel.motor.options)  # it does not fit


def test_two_clicks_make_the_proposal(panel, tmp_path):
    """The first chooses a job file, the second presses the button."""
    panel.open(HALF)
    panel.out.value = str(tmp_path / "half")  # not beside the worksheets in a test
    panel.button.click()
    names = sorted(path.name for path in (tmp_path / "half").iterdir())
    assert names == ["proposal.html", "proposal.json", "proposal.pdf"]
    assert all(name in told(panel) for name in names) and str(tmp_path / "half") in told(panel)
    assert (tmp_path / "half" / "proposal.pdf").read_bytes() == panel.made.pdf
    assert "Garden wall" in panel.made.html
    assert panel.tables.selected_index == PREVIEW and panel.preview.value.count("<img") == 1


def test_the_preview_is_the_pdf_and_asks_for_nothing_outside(panel):
    panel.details.value = True
    panel.write()
    sources = re.findall(r'(?:src|href)="([^"]*)"', panel.preview.value)
    assert len(sources) == 2 and all(one.startswith("data:image/png;base64,") for one in sources)
    pages = proposal_panel.pages(panel.made, panel.writer)
    assert [page.png[:4] for page in pages] == [b"\x89PNG"] * 2 and "page 2" in pages[1].words
    assert panel.first_page.png == pages[0].png


def test_it_is_the_proposal_that_the_engine_makes(panel):
    panel.money.labour_rate.value = "110 USD/h"
    panel.write()
    found = panel.answer.found
    basis = CostBasis(labour_rate="110 USD/h")
    costs = life_cost(found, COMPANY.cost_basis(basis))
    same = make(found, COMPANY, costs, date=datetime.date(2026, 5, 4))
    assert panel.made.to_json() == same.to_json() and panel.made.pdf == same.pdf


def test_made_again_it_takes_the_place_of_the_earlier_one_and_says_so(panel):
    panel.write()
    assert "replacing" not in told(panel)
    panel.write()
    assert "replacing earlier files" in told(panel)


def test_language_units_and_date_are_those_of_the_paper(panel):
    panel.language.value, panel.units.value = "es", "SI"
    panel.write()
    assert panel.made.content["language"] == "es" and panel.made.content["paper"] == "a4"
    assert "4 de mayo de 2026" in panel.made.html and "°F" not in panel.made.html
    panel.date.value = ""
    assert panel.proposal().date == datetime.date.today()


def test_a_change_marks_the_proposal_that_was_made(panel):
    panel.write()
    assert not panel.preview_told.value
    panel.language.value = "es"
    assert "Make the proposal again" in panel.preview_told.value
    panel.write()
    assert not panel.preview_told.value
    panel.money.energy_price.value = "0.2 USD/kWh"
    assert "Make the proposal again" in panel.preview_told.value
    panel.open(HALF)  # the pages of another customer must not stay
    assert panel.made is None and "<img" not in panel.preview.value and not told(panel)


def test_a_change_of_the_company_marks_the_proposal(panel, tmp_path):
    """Its prices, its file, its logo, the second page: each leaves the proposal out of date."""

    def is_current() -> bool:
        return not panel.preview_told.value

    for field, typed in (
        ("name", "Ours"), ("tax", "10 %"), ("flat_rate", "300 USD"), ("licence", "LIC 2"),
    ):  # fmt: skip
        panel.write()
        assert is_current()
        panel.contractor.controls[field].value = typed
        assert not is_current(), field
    panel.contractor.fill(None)
    panel.update()
    panel.write()
    path = tmp_path / "mine.toml"
    path.write_text('name = "Mine"\nlabour_hours = "1 h"\n', encoding="utf-8")
    panel.company.value = str(path)
    assert not is_current()
    panel.write()
    assert "Mine" in panel.made.html and "Labor, 1\N{NO-BREAK SPACE}h" in panel.made.html
    panel.upload_logo("logo.png", (data_folder() / "start" / "logo.png").read_bytes())
    assert not is_current() and "logo.png" in panel.logo_told.value
    panel.write()
    assert panel.made.content["logo"] == "logo.png" and is_current()
    panel.upload_logo("logo.gif", b"GIF89a")
    assert "PNG or JPEG" in panel.logo_told.value and panel.made.content["logo"] == "logo.png"
    panel.details.value = True
    assert not is_current()
    with panel.filling():
        panel._logo = None


def test_the_prices_of_the_company_are_those_of_the_paper(panel):
    panel.contractor.name.value, panel.contractor.flat_rate.value = "Ours", "300 USD"
    panel.contractor.capacitor_price.value, panel.contractor.tax.value = "20 USD", "10"
    assert panel.contractor.tax.value == "10 %" and not panel.status.value
    rows = dict(panel.proposal().content["price"]["rows"])
    assert rows["Labor and travel, flat rate"].startswith("300")
    assert list(rows)[-1].startswith("Tax on parts, 10")
    panel.contractor.tax_on.value = "everything"
    assert list(dict(panel.proposal().content["price"]["rows"]))[-1].startswith("Tax, 10")
    assert panel.answer.costs.basis.capacitor_price.mid == 20
    panel.contractor.tax.value = "ten"
    assert panel.contractor.problems["tax"].value


def test_a_job_that_is_not_invented_has_no_invented_company(panel, tmp_path):
    mine = tmp_path / "mine.toml"
    text = (JOBS / "roof-unit.toml").read_text(encoding="utf-8")
    mine.write_text(text.replace("invented = true", "invented = false"), "utf-8")
    panel.open(mine)
    head = panel.proposal().content["head"]
    assert (head["company"], head["company_lines"]) == ("Your company", [])


def test_money_is_counted_again_and_the_motors_are_not_worked_again(panel, monkeypatch):
    def explode(*_):
        raise AssertionError("worked anew")

    found = panel.answer.found
    monkeypatch.setattr(cost, "yearly", explode)
    panel.money.energy_price.value, panel.money.horizon.value = "0.3 USD/kWh", "8 years"
    assert panel.answer.found.candidates is found.candidates
    monkeypatch.undo()
    basis = CostBasis(energy_price="0.3 USD/kWh", horizon="8 years")
    anew = life_cost(found, COMPANY.cost_basis(basis))
    assert [one.name for one in panel.answer.costs.costs] == [one.name for one in anew.costs]
    np.testing.assert_array_equal(panel.answer.costs.costs[0].total, anew.costs[0].total)
    assert "over 8 years" in panel.verdict.value and "8 years" in panel.pages[TITLES[0]].value


@pytest.mark.parametrize(
    ("field", "typed", "accepted"),
    [
        ("energy_price", "thirty cents", "0.16 USD/kWh"),
        ("horizon", "2-4 years", "from 1 to 40"),
        ("discount_rate", "3 USD", "%"),
        ("visit_price", "90 USD/h", "85 USD"),
    ],
)
def test_bad_money_is_told_above_and_beside_its_field(panel, field, typed, accepted):
    before = panel.answer
    panel.money.controls[field].value = typed
    assert f"cost {field.replace('_', ' ')}: " in panel.status.value
    assert accepted in panel.money.problems[field].value
    assert panel.answer is before and "ao-earlier" in panel.view._dom_classes
    panel.write()
    assert "No proposal was made." in told(panel) and panel.made is None
    panel.money.controls[field].value = ""
    assert not panel.status.value and not panel.money.problems[field].value


def test_money_in_two_currencies_is_told(panel):
    panel.money.visit_price.value = "90 EUR"
    assert "this job are in EUR" in panel.status.value and "USD" in panel.status.value


@pytest.mark.parametrize(
    ("control", "typed", "said"),
    [
        ("company", "nowhere.toml", "company file"),
        ("template", "nowhere.typ", "template"),
        ("date", "tomorrow", "date"),
        ("out", "", "results folder"),
        ("out", ROOF, "is a file"),
    ],
)
def test_what_the_paper_lacks_is_told_beside_the_button(panel, control, typed, said, tmp_path):
    with panel.filling():
        getattr(panel, control).value = typed
    panel.button.click()
    assert "No proposal was made." in told(panel) and said in told(panel)
    assert panel.made is None and not (tmp_path / "results").exists()
    with panel.filling():
        panel.company.value = panel.template.value = ""
        panel.out.value = str(tmp_path)
    panel.date.value = "2026-05-04"
    panel.write()
    assert "Saved " in told(panel)


def test_where_nothing_fits_that_is_said_and_nothing_is_written(panel, tmp_path):
    panel.open(HOT)
    assert "motors fits this job" in panel.verdict.value and not panel.status.value
    assert "<img" not in panel.picture_shown.value and panel.deciding is None
    for at in range(PREVIEW):
        panel.tables.selected_index = at
        assert panel.pages[panel.page_shown].value
    panel.out.value = str(tmp_path / "hot")
    panel.write()
    assert "none of the" in told(panel) and not (tmp_path / "hot").exists()


def test_a_motor_chosen_by_hand_goes_first_and_its_standing_is_told(panel):
    name = next(name for _, name in panel.motor.options if "C-018" in name)
    panel.motor.value = name
    best = panel.answer.choices.recommended.cost
    first = panel.answer.offered[0]
    assert first.name == name != best.name and panel.motor.value == name
    share = f"{100 * cost.cheaper(first, best):.0f} %"
    assert f"You selected the {name}" in panel.answer.verdict and share in panel.answer.verdict
    assert panel.proposal().content["offer"]["headline"].startswith(name)
    assert panel.answer.drivers.first == name
    panel.open(HALF)
    assert panel.motor.value == "" and Writer()(panel.answer.choices.reason) == panel.answer.verdict


def test_motors_without_a_price_still_make_a_proposal(panel, few, tmp_path):
    lines = few.read_text(encoding="utf-8").splitlines()
    at = lines[0].split(",").index("price [USD]")
    cells = [line.split(",") for line in lines[1:]]
    bare = [",".join([*row[:at], "", *row[at + 1 :]]) for row in cells]
    path = tmp_path / "bare.csv"
    path.write_text("\n".join([lines[0], *bare]) + "\n", encoding="utf-8")
    panel.catalog.value = str(path)
    assert not panel.status.value and panel.answer.costs is None
    assert "does not include a life-cycle cost" in panel.verdict.value
    panel.write()
    assert "Saved " in told(panel) and "send you the price" in panel.made.html


def test_the_tables_tell_the_offered_motors_and_the_origin_of_money(panel):
    answer = panel.answer
    table = tables_cost.options(answer.offered, "USD", 15)
    assert list(table[US("cost.table.motor")]) == [one.name for one in answer.offered]
    assert table.iloc[0, 4] == "" and table.iloc[1, 4].endswith(" %")
    assert len(rows(panel.pages[TITLES[0]].value)) == len(answer.offered)
    panel.money.visit_price.value = "90 USD"
    panel.tables.selected_index = 2
    given = [row for row in rows(panel.pages[TITLES[2]].value) if "<td>entered" in row]
    assert len(given) == len(COMPANY.prices)  # the job's visit price goes before the company's
    assert any("90 USD" in row for row in given) and not any("85 USD" in row for row in given)
    left_out = {one.name for one in panel.answer.costs.costs} - set(table.iloc[:, 0])
    assert left_out and not any(name in panel.pages[TITLES[2]].value for name in left_out)


def test_what_decides_is_worked_when_it_is_looked_at(panel, monkeypatch):
    asked = []
    real = proposal_panel.drivers

    def counting(*given):
        asked.append(given)
        return real(*given)

    monkeypatch.setattr(proposal_panel, "drivers", counting)
    panel.money.energy_price.value = "0.21 USD/kWh"
    assert not asked
    panel.tables.selected_index = 1
    assert len(asked) == 1 and "<img" in panel.pages[TITLES[1]].value
    first = panel.answer.drivers
    assert first.base == pytest.approx(panel.answer.pair[0].mean - panel.answer.pair[1].mean)
    assert panel.deciding.words.startswith("Bar chart of the cost difference")


def test_facts_beside_the_picture_are_those_of_the_draws(panel):
    first, other = panel.answer.pair
    shown = panel.facts.value
    share = f"{100 * cost.cheaper(first, other):.0f} %"
    assert f"probability that it costs less than the {other.name} is {share}" in shown
    energy = sum(np.mean(v) for name, v in first.parts.items() if "energy" in name)
    assert f"Energy is {100 * energy / first.mean:.0f} % of its cost" in shown
    total = panel.proposal().content["price"]["total"][1].replace("\N{NO-BREAK SPACE}", " ")
    assert f"the total today is {total}" in shown


def test_the_jobs_own_money_fills_the_fields(panel, tmp_path):
    text = (JOBS / "roof-unit.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text + '\n[cost]\nvisit_price = "75 USD"\nhorizon = "10 years"\n', "utf-8")
    panel.open(mine)
    assert panel.money.visit_price.value == "75 USD" and panel.answer.costs.horizon == 10
    assert panel.out.value.endswith("mine")
    assert panel.basis == Job.read(mine).cost
    panel.open(tmp_path / "absent.toml")
    assert "job file" in panel.bar.told.value and panel.answer.costs.horizon == 10


def test_what_was_typed_is_shown_as_text(panel, tmp_path):
    text = (JOBS / "roof-unit.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace("Roof unit, Customer 1", "<b onclick='x()'>x</b>"), "utf-8")
    panel.open(mine)
    assert "&lt;b onclick" in panel.verdict.value and "<b onclick" not in panel.verdict.value


def test_an_unexpected_error_is_raised_and_no_old_answer_stands_as_new(panel, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(proposal_panel, "recounted", explode)
    with pytest.raises(ZeroDivisionError):
        panel.money.energy_price.value = "0.19 USD/kWh"
    assert "Calculating" in panel.status.value and "ao-earlier" in panel.view._dom_classes


def test_a_panel_on_a_bad_file_does_not_start(tmp_path):
    with pytest.raises(InputError, match="job file"):
        ProposalPanel(tmp_path / "absent.toml")


def test_every_field_of_money_has_its_place_and_says_what_is_assumed():
    assert sorted((*MONEY, *MORE)) == sorted(CostBasis.names())
    assert placeholder("horizon", Writer()) == "assumed: 15 years"
    assert placeholder("lost_cooling", Writer()) == "not included"


def test_documents_go_to_a_folder_beside_the_worksheets(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert results_for("roof-unit").endswith("roof-unit")
    assert not results_for("roof-unit").startswith("..")
    (tmp_path / "worksheets").mkdir()
    monkeypatch.chdir(tmp_path / "worksheets")
    assert results_for("roof-unit").startswith("..")


def test_checked_figures_do_not_sit_on_a_rounding_edge(panel):
    found = figures_of_cost(panel.answer.costs, panel.answer.drivers)
    assert len(found) >= 20
    for factor in (1 - 1e-6, 1 + 1e-6):
        assert checked({name: factor * value for name, value in found.items()}) == checked(found)


def test_cautions_are_shown(panel):
    def html(view):
        inside = getattr(view, "children", ())
        return str(getattr(view, "value", "")) if not inside else "".join(map(html, inside))

    shown = html(panel.view)
    assert all(escape(US.value(one)) in shown for one in CAUTIONS)
