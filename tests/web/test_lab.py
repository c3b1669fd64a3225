"""A job in JupyterLab by clicks and keys: plate in, verdict, save, reload, workbook."""

import re

import pytest
from openpyxl import load_workbook

from airover.records.job import Job

from ..lab import SLOW, run, run_all, serving

sync_api = pytest.importorskip("playwright.sync_api")
expect = sync_api.expect
expect.set_options(timeout=60_000)  # ms; a busy machine is no fault of the page
WORKSHEETS = ("01-replacement", "02-motor")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Where the worksheets lie, as a user has them."""
    return tmp_path_factory.mktemp("lab")


@pytest.fixture(scope="module")
def address(folder, tmp_path_factory):
    with serving(folder, tmp_path_factory.mktemp("settings"), WORKSHEETS) as found:
        yield found


@pytest.fixture(scope="module")
def page(browser, address):
    """A tab in which worksheet 01 was run."""
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    page.set_default_timeout(SLOW)
    run(page, address, "01-replacement")
    yield page
    page.close()


def verdict(page):
    return page.locator(".airover .ao-verdict strong").first


def field(page, label: str):
    """The control with this label, which may end in a unit in brackets."""
    named = re.compile(rf"^{re.escape(label)}( \[[^\]]*\])?$")
    return page.locator(".airover").get_by_label(named).locator("visible=true")


def tab(page, title: str) -> None:
    page.locator(".airover .lm-TabBar-tab", has_text=re.compile(f"^{title}$")).click()


def typed(page, label: str, words: str) -> None:
    """By keys, as people do; the field is left with the tab key."""
    field(page, label).click()
    page.keyboard.press("Control+a")
    page.keyboard.type(words)
    page.keyboard.press("Tab")


def test_a_plate_its_verdict_bad_input_another_voltage_saved_and_opened(page, folder):
    expect(verdict(page)).to_contain_text("it fits as is")
    first = verdict(page).text_content()

    typed(page, "Amps [A]", "plenty")
    problem = page.locator(".airover .ao-problem", has_text="Enter a current").locator(
        "visible=true"
    )
    expect(problem.first).to_be_visible()
    assert verdict(page).text_content() == first  # of the earlier input, and said so
    expect(page.locator(".airover.ao-earlier")).to_have_count(1)
    typed(page, "Amps [A]", "1.9 A")
    expect(problem).to_have_count(0)

    tab(page, "Site")
    typed(page, "Supply voltage at the unit", "262 V")
    expect(verdict(page)).to_contain_text("all fail the “Supply voltage” check")

    typed(page, "Job file", "mine.toml")
    page.get_by_role("button", name="Save as", exact=True).click()
    expect(page.get_by_text("Saved mine.toml")).to_be_visible()
    assert Job.read(folder / "mine.toml").site.voltage.text == "262 V"
    other = verdict(page).text_content()

    page.reload()
    run_all(page)
    expect(verdict(page)).to_have_text(other)  # Run All keeps what was entered


def test_a_blank_job_goes_through_two_worksheets_a_slider_and_out_as_a_workbook(
    page, address, folder
):
    page.get_by_role("button", name="New", exact=True).click()
    expect(verdict(page)).to_contain_text("Enter the nameplate first")
    plate = (
        ("Volts [V]", "208-230"),
        ("Horsepower [hp]", "1/4"),
        ("Amps [A]", "1.5"),
        ("Rpm", "1075"),
    )
    for label, words in plate:
        typed(page, label, words)
    expect(verdict(page)).to_contain_text("1/4 hp")
    table = page.locator(".jp-OutputArea-output table", has_text="shaft power")
    expect(table.first).not_to_contain_text("1088")  # the cells below follow
    tab(page, "Site")
    typed(page, "Hottest outdoor air", "101")
    typed(page, "Elevation", "600")
    typed(page, "Job file", "quarter.toml")
    page.get_by_role("button", name="Save as", exact=True).click()
    expect(page.get_by_text("Saved quarter.toml")).to_be_visible()
    saved = Job.read(folder / "quarter.toml")  # with what was typed just before the click
    assert saved.site.outdoor_temperature.text == "101 degF"
    assert saved.site.elevation.text == "600 ft"

    run(page, address, "02-motor")
    expect(verdict(page)).to_contain_text("the nameplate says 1.5 A")
    tab(page, "Export")
    typed(page, "Folder", "carried")
    page.get_by_role("button", name="Workbook (Excel)", exact=True).click()
    expect(page.get_by_text("Saved motor.xlsx in the folder")).to_be_visible()
    book = load_workbook(folder / "carried" / "motor.xlsx")
    amps = {row[0].value: row[3].value for row in book["results"].iter_rows(min_row=2)}
    assert 1.0 < amps["Supply current (line amps)"] < 1.6
    page.locator(".ao-job-bar select").select_option(label="Fictional sample")
    expect(verdict(page)).to_contain_text("the nameplate says 1.9 A")

    picture = page.locator(".airover img").first
    before = picture.get_attribute("src")
    slider = page.locator(".airover .widget-slider", has_text="Supply voltage")
    slider.locator(".noUi-handle").focus()
    page.keyboard.press("ArrowLeft")
    expect(picture).not_to_have_attribute("src", before)
    expect(verdict(page)).to_contain_text("235 V")
