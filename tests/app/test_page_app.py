"""The page without code, driven as a Python object: no browser, no server."""

import asyncio
import base64
import datetime
import io
import json
import re
from collections import Counter
from html import unescape

import ipywidgets as widgets
import pytest
from PIL import Image

from airover.app import calculators, uploads
from airover.app import page as app
from airover.app.motor_panel import JOBS_BLADE, OF_THE_PLATE
from airover.app.page import App
from airover.app.unsaved import Unsaved
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.records.nameplate import Nameplate
from airover.records.scope import check_scope
from airover.reports import drawing
from airover.reports.answer import answer_dict
from airover.selection.answer import answer

JOBS = sorted((data_folder() / "jobs").glob("*.toml"))
SAMPLE = data_folder() / "jobs" / "roof-unit.toml"
CATALOG = read_catalog(data_folder() / "catalogue.csv")
MEASURED = data_folder() / "measured" / "roof-unit-weak-capacitor.toml"
# Words of English that no Spanish sentence has; what people typed is taken out before.
ENGLISH = re.compile(
    r"\b(the|and|with|from|not|is|are|its|it|of|by|for|at|to|or|least|most|motor's|this|that|"
    r"your|what|which|such|does|fits?|amps|reading|accepted|given)\b",
    re.IGNORECASE,
)
FINDINGS = {"capacitor": "0.1 uF", "voltage": "196-229 V", "current": "2.2 A", "age": "9 years",
            "earlier_failures": "2"}  # fmt: skip


def pixel() -> bytes:
    out = io.BytesIO()
    Image.new("L", (1, 1)).save(out, "PNG")
    return out.getvalue()


@pytest.fixture(scope="module")
def shared():
    return App()


@pytest.fixture
def page(shared, monkeypatch):
    """One page for the module, brought back to the sample job, in English.

    Its pictures are one pixel. They are drawn on the Spanish page, for each sample job.
    """
    monkeypatch.setattr(drawing, "png", lambda figure: pixel())
    shared.form.own_motors = None
    shared.language.value, shared.units.value = "en", "US"
    shared.steps.selected_index = 0
    shared.restore({})
    shared.open_job(SAMPLE.name, SAMPLE.read_bytes())
    assert "Up to date" in shared.status.value
    return shared


NAMES = [kind.step for kind in app.STEPS]


def step(page, at: int | str):
    """The panel of a step, by its number or name, looked at."""
    page.steps.selected_index = NAMES.index(at) if isinstance(at, str) else at
    return page.shown


def every_widget(top) -> list:
    return [top, *(one for child in getattr(top, "children", ()) for one in every_widget(child))]


def words_of(html: str) -> str:
    """The words of HTML, those of a picture among them, without style, marks and links' data."""
    bare = re.sub(r"<style>.*?</style>|href=\"[^\"]*\"|src=\"[^\"]*\"", " ", html, flags=re.DOTALL)
    alternatives = " ".join(re.findall(r'alt="([^"]*)"', bare))
    words = unescape(re.sub(r"<[^>]*>", " ", bare) + " " + alternatives)
    return words.replace("\N{NO-BREAK SPACE}", " ")


def all_words(page) -> str:
    """All that the page shows: HTML, labels, choices, tooltips and titles."""
    found = []
    for one in every_widget(page.view):
        if isinstance(one, widgets.HTML):
            found.append(words_of(one.value))
        found += [
            getattr(one, name, "") or "" for name in ("description", "placeholder", "tooltip")
        ]
        if isinstance(one, widgets.Dropdown):
            found += [label for label, _ in one.options]
        found += list(getattr(one, "titles", ()))
    return "\n".join(found)


def test_an_empty_page_asks_for_what_is_needed_and_shows_no_answer():
    page = App()
    assert page.answer is None and "enough to start" in page.status.value
    assert "data-aloud" in page.status.value
    page.form.nameplate.controls["voltage"].value = "208-230 V"
    assert page.answer is None
    with page.filling():
        page.form.nameplate.controls["speed"].value = "1075 rpm"
        page.form.nameplate.controls["power"].value = "1/3 hp"
    page.update()
    assert page.answer.fitting and "Up to date" in page.status.value


def test_the_sample_job_has_its_verdict_and_the_three_best(page):
    first = page.answer.candidates[0].case.motor.name
    panel = page.shown
    assert first in panel.verdict.value and first in page.status.value
    assert "Load compared with the limits" in panel.load.value and first in panel.load.value
    best, second = (page.answer.candidates[at].case.motor.name for at in (0, 1))
    assert best in panel.candidates.value and second in panel.candidates.value
    counts = Counter(one.verdict for one in page.answer.candidates)
    said = (
        f"Motors checked: {len(CATALOG)}. Fit as is: {counts['fits']}. "
        f"Fit with work: {counts['fits with work']}."
    )
    assert said in panel.verdict.value and counts["fits"] >= 1
    for fold, least in zip(panel.folds, (20, len(CATALOG) / 2, 10), strict=True):
        button, section = fold.parts
        assert section.value == "" and not button.value
        button.value = True
        assert section.value.count("<tr>") > least
        button.value = False
    assert "Fictional job" in panel.verdict.value


def test_an_opened_job_goes_into_its_file_again(page):
    told = Job.from_toml(page.form.job().to_toml())
    assert told == Job.read(SAMPLE)
    assert 'download="roof-unit-customer-1.toml"' in page.link.value


def test_every_refused_field_is_told_beside_it_and_the_old_answer_stays(page):
    before = page.answer
    plate = page.form.nameplate
    with page.filling():
        plate.controls["voltage"].value = "12 x"
        plate.controls["current"].value = "nineteen"
    page.update()
    told = plate.problems["voltage"].value.replace("\N{NO-BREAK SPACE}", " ")
    assert "such as &quot;208-230 V&quot;" in told
    assert "nineteen" in plate.problems["current"].value
    assert "data-aloud" in plate.problems["current"].value
    assert "Volts, Amps" in page.status.value and page.answer is before
    assert "ao-earlier" in page.body._dom_classes


def test_a_job_that_is_not_covered_is_told_at_its_field(page):
    page.form.nameplate.controls["phase"].value = "3"
    told = page.form.nameplate.problems["phase"].value
    assert "“3” is outside the scope of this method, which covers single-phase motors" in told
    assert "Phases" in page.status.value
    page.language.value = "es"
    told = page.form.nameplate.problems["phase"].value
    assert "«3» queda fuera de este método, que cubre motores monofásicos" in told


def test_units_and_language_apply_to_everything_that_is_shown(page):
    for at in range(len(page.panels)):
        step(page, at)
    page.units.value = "SI"
    for at in range(len(page.panels)):
        step(page, at)
    shown = all_words(page).replace("inches, °F", "")
    assert "°F" not in shown and "degF" not in shown and " hp" not in shown.replace("1/3 hp", "")
    page.language.value = "es"
    assert page.steps.titles[0] == "Reemplazo" and page.undo.back.description == "Deshacer"
    assert "sirve" in step(page, "replacement").verdict.value
    assert "236" in step(page, "amps").verdict.value


def test_another_language_keeps_what_is_typed_opened_and_chosen(page):
    name = page.answer.fitting[1].case.motor.name
    step(page, "amps").motor.value = name
    page.shown.readings[0].voltage.value = "236 V"
    step(page, "measured").reading.current.value = "1.80 A"
    step(page, "proposal").contractor.name.value = "Ours"
    before = page.typed()
    page.language.value = "es"
    assert page.typed() == before
    assert step(page, "proposal").contractor.name.value == "Ours"
    assert step(page, "measured").reading.current.value == "1.80 A"
    assert step(page, "amps").motor.value == name and page.typed() == before
    assert page.shown.readings[0].voltage.value == "236 V"
    page.form.nameplate.power.value = "1/2 hp"
    assert page.shown.motor.value != name and not page.shown.readings[0].given()


@pytest.fixture(scope="module")
def spanish():
    return App("es")


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_no_english_stands_on_the_spanish_page(spanish, path):
    page = spanish
    page.open_job(path.name, path.read_bytes())
    step(page, "measured").upload(MEASURED.name, MEASURED.read_bytes())
    for at in range(len(page.panels)):
        found = step(page, at).answer is not None
        assert found or NAMES[at] == "cause" or not page.answer.fitting  # nothing to show
        assert not page.shown.stale, page.status.value
    told = all_words(page)
    for typed in (page.form.name.value, path.name, MEASURED.name):
        told = told.replace(typed, "")
    left = {match[0] for match in ENGLISH.finditer(told)} - {"Motor"}
    assert not left, [line for line in told.splitlines() if ENGLISH.search(line)]


def test_every_control_has_a_label_in_both_languages(page):
    for language in ("es", "en"):
        page.language.value = language
        for at in range(len(page.panels)):
            page.steps.selected_index = at
        inputs = (widgets.Text, widgets.Dropdown, widgets.IntSlider, widgets.Button)
        controls = [one for one in every_widget(page.view) if isinstance(one, inputs)]
        labels = [one.description for one in controls]
        assert len(controls) > 60 and all(labels)
        assert len(set(labels)) == len(labels), sorted({x for x in labels if labels.count(x) > 1})


def test_pictures_have_words_and_every_step_its_cautions(page):
    for at in range(len(page.panels)):
        panel = step(page, at)
        assert panel.writer("page.measured_only") in unescape(panel.caution.value)
        assert panel.caution.value.count("<li>") >= 4
    assert 'alt="Amps vs. voltage' in step(page, "amps").picture_shown.value


def test_the_calculation_is_on_the_page_while_its_fold_is_open(page):
    shown = page.panels[0]
    assert not shown._steps.value  # it takes a while and is written when asked for
    shown._steps_button.value = True
    assert "Fan torque coefficient" in shown._steps.value and "<svg" not in shown._steps.value
    assert "data:image/svg+xml" in shown._steps.value
    shown.export.buttons["html"].click()
    assert 'download="replacement-demo-a-005.html"' in shown.export.told.value
    shown._steps_button.value = False
    assert not shown._steps.value


def test_the_slider_moves_the_amps_and_is_quick(page):
    view = step(page, "amps")
    view.voltage.value = 208
    low = view.answer.current.mid
    view.voltage.value = 253
    assert view.answer.current.mid > 1.05 * low
    assert "253 V" in view.verdict.value.replace("\u00a0", " ")
    svg = view.picture.svg
    assert b"<svg" in svg[:300] and len(svg) < 20_000


def test_another_motor_is_put_on_the_jobs_blade(page):
    view, other = step(page, "amps"), page.answer.fitting[1].case
    before = view.answer.mounted.current
    view.motor.value = other.motor.name
    assert view.answer.mounted.current == other.rated_current != before
    assert view.rating.value == other.rating and view.fan.value == JOBS_BLADE
    view.motor.value = OF_THE_PLATE
    assert view.answer.mounted.current == page.answer.job.nameplate.current.mid


def test_readings_are_judged_and_a_likely_fault_named(page):
    view = step(page, "measured")
    assert "at least one reading" in view.verdict.value
    view.upload(MEASURED.name, MEASURED.read_bytes())
    assert "weak capacitor (too few microfarads)" in view.verdict.value
    assert "not OK" in view.shown("comparisons")
    assert view.reading.current.value == "1.98 A"
    view.reading.current.value = "much"
    assert "ao-wrong" in view.reading.problems["current"].value
    assert "Amps on one line lead" in page.status.value and "ao-problem" in page.status.value


def test_a_motor_that_agrees_is_not_called_safe(page):
    view = step(page, "measured")
    with view.filling():
        for name, text in {
            "voltage": "236 V", "current": "1.70 A", "power": "362 W",
            "capacitor_voltage": "375 V", "capacitor_current": "1.06 A",  # 7.5 uF
        }.items():  # fmt: skip
            view.reading.controls[name].value = text
    view.update()
    assert view.answer.state == "agrees"
    assert "do not prove that a unit is safe" in view.caution.value


def test_a_proposal_is_made_and_marked_once_something_changes(page):
    view = step(page, "proposal")
    view.write()
    assert view.made.pdf.startswith(b"%PDF") and "</html>" in view.made.html
    assert view.links.value.count("download=") == 2 and "data:application/pdf" in view.links.value
    assert "data:image/png" in view.preview.value and not view.preview_told.value
    view.money.visit_price.value = "85 USD"
    assert "ake the proposal again" in view.made_told.value
    assert page.form.job().cost.visit_price.text == "85 USD"
    view.money.visit_price.value = "95"
    assert page.form.job().cost.visit_price.text == "95 USD"  # the currency of the catalog
    view.money.visit_price.value = "85 dollars"
    assert "an amount with its currency" in view.money.problems["visit_price"].value
    assert not page.link.value  # a job that is refused in part is not offered as a file


def test_a_customer_stands_on_the_proposal_and_in_the_jobs_file(page):
    view = step(page, "proposal")
    view.customer.name.value = "Somebody"
    view.write()
    assert "Somebody" in view.made.html and page.form.job().customer.name == "Somebody"
    assert page.answer.job.customer.name == ""  # which changes no answer


def test_no_control_of_the_page_names_a_file(page, tmp_path, monkeypatch):
    """Nor one that is not shown: whoever has the page could write into it."""
    monkeypatch.chdir(tmp_path)
    named = ("path", "company", "template", "out", "jobs", "measured_path", "save_button")
    for at in range(len(page.panels)):
        assert not any(hasattr(step(page, at), name) for name in (*named, "catalog"))
    step(page, "proposal").write()
    assert page.shown.made is not None and not list(tmp_path.iterdir())


def test_a_step_does_not_hide_that_the_job_is_refused(page):
    view = step(page, "amps")
    page.form.nameplate.current.value = "nineteen"
    view.voltage.value = 240
    assert "Please check: Amps" in page.status.value and "240" in view.verdict.value
    assert "ao-earlier" in page.body._dom_classes


def test_a_companys_logo_is_never_looked_for(page):
    view = step(page, "proposal")
    view.upload("ours.toml", b'name = "Ours"\nlogo = "/etc/passwd"\ncurrency = "USD"\n')
    assert "not used here" in view.file_told.value and view.contractor.name.value == "Ours"
    view.write()
    assert view.made.content["logo"] == "" and "Ours" in view.made.html


UNREADABLE = (
    ("job.txt", b"", "ends in .toml"),
    ("job.toml", b"x" * (uploads.LARGEST + 1), "at most 1 MB"),
    ("job.toml", b"\xff\xfe", "UTF-8"),
    ("job.toml", b"[nameplate]\nvolts = 'x'", "voltage"),
    ("job.toml", b"not toml", "TOML"),
)


def test_a_file_that_cannot_be_read_is_told_and_changes_nothing(page):
    before = page.typed()
    for name, content, said in UNREADABLE:
        page.open_job(name, content)
        told = page.file_told.value.replace("\N{NO-BREAK SPACE}", " ")
        assert said in told and "data-aloud" in told
        assert page.typed() == before
    page.language.value = "es"
    for name, content, _ in UNREADABLE:
        page.open_job(name, content)
        told = re.sub("«[^»]*»", "", words_of(page.file_told.value))  # what the file has
        assert told and not ENGLISH.search(told.replace(name, ""))


def few_motors() -> bytes:
    """The first 30 motors of the catalog, as a file."""
    text = (data_folder() / "catalogue.csv").read_text(encoding="utf-8")
    return "\n".join(text.splitlines()[:31]).encode()


def test_another_catalog_is_taken_and_given_back(page):
    page.open_catalog("mine.csv", few_motors())
    assert len(page.answer.candidates) == 30
    page.open_catalog("bad.csv", b"maker,model\nx,y\n")
    assert "Could not open" in page.file_told.value and len(page.answer.candidates) == 30
    page.back.click()
    assert len(page.answer.candidates) == len(CATALOG)


def test_undo_steps_back_what_was_typed(page):
    control = page.form.nameplate.controls["power"]
    control.value = "1/4 hp"
    control.value = "1/4 h"
    assert not page.undo.back.disabled
    page.undo.back.click()
    assert control.value == "1/4 hp"
    page.undo.back.click()
    assert control.value == "1/3 hp" and "Up to date" in page.status.value
    page.undo.forth.click()
    assert control.value == "1/4 hp" and "Up to date" in page.status.value


def test_what_was_typed_outlives_the_page(tmp_path):
    path = tmp_path / "unsaved.json"
    first = App("es", "SI", unsaved=path)
    first.form.name.value = "Techo"
    first.form.nameplate.controls["voltage"].value = "208-230 x"  # not accepted, and kept
    kept = json.loads(path.read_text(encoding="utf-8"))
    assert kept["typed"]["nameplate"] == {"voltage": "208-230 x"}
    second = App(unsaved=path)
    assert second.writer.language == "es" and second.units.value == "SI"
    assert second.form.name.value == "Techo"
    assert second.form.nameplate.controls["voltage"].value == "208-230 x"
    assert "Se recuperaron los datos" in second.kept_told.value
    second.anew.click()
    assert not second.form.name.value and not second.form.nameplate.typed()
    assert list(tmp_path.iterdir()) == []  # nothing typed, nothing kept, no draft left


def test_a_page_that_is_only_looked_at_keeps_nothing_and_offers_the_last_work(tmp_path):
    path, other = tmp_path / "unsaved.json", tmp_path / "other.json"
    first = App(unsaved=path)
    first.language.value = "es"
    assert list(tmp_path.iterdir()) == []
    first.form.name.value = "Techo"
    second = App()
    second.keep_in(other, path)
    assert "Techo" in second.before_told.value and second.offered.layout.display is None
    second.go_on.click()
    assert second.form.name.value == "Techo" and second.offered.layout.display == "none"
    assert json.loads(other.read_text(encoding="utf-8"))["typed"]["job"] == {"name": "Techo"}


def test_what_is_typed_is_not_offered_away(tmp_path):
    path = tmp_path / "unsaved.json"
    App(unsaved=path).form.name.value = "Old"
    page = App()
    page.keep_in(None, path)
    page.form.name.value = "New"
    assert page.offered.layout.display == "none" and page.form.name.value == "New"
    path.write_text("{")
    page = App()
    page.keep_in(None, path)
    assert page.offered.layout.display == "none"


def test_the_sample_is_worked_before_anybody_asks_for_it():
    app.get_ready()
    worked = app._answered.cache_info().misses
    page = App()
    assert page.answer is None and not any(page.typed().values())
    page.sample.click()
    assert page.answer is not None and app._answered.cache_info().misses == worked


def test_an_opened_jobs_other_tables_outlive_the_page_too(page, tmp_path):
    restored = App(unsaved=tmp_path / "kept.json")
    restored.restore(page.typed())
    assert restored.form.job() == page.form.job()


@pytest.fixture(scope="module")
def blank():
    """A page on which nothing was typed."""
    return App()


@pytest.mark.parametrize("text", ["{", "[]", '{"saved": 1, "typed": {}}', '{"saved": "x"}',
                                  '{"saved": "x", "typed": {"job": {"kept": "= broken"}}}',
                                  '{"saved": "x", "typed": {"page": {"language": "xx"}}}'])  # fmt: skip
def test_damaged_unsaved_work_is_told_and_not_raised(blank, tmp_path, text):
    path = tmp_path / "unsaved.json"
    path.write_text(text, encoding="utf-8")
    blank.keep_in(None)
    assert not blank.kept_told.value
    blank.keep_in(path)
    assert "could not be restored" in blank.kept_told.value
    assert not blank.form.nameplate.typed()


def test_work_that_cannot_be_kept_is_told(tmp_path):
    page = App(unsaved=tmp_path / "no folder" / "unsaved.json")
    page.form.name.value = "Roof"
    assert "be saved on this computer" in page.kept_told.value
    with pytest.raises(InputError):
        Unsaved(tmp_path).load()


def test_typed_text_is_shown_as_text(page):
    page.form.name.value = "<img src=x onerror=alert(1)>"
    page.form.nameplate.controls["current"].value = "<script>x</script>"
    shown = "".join(one.value for one in every_widget(page.view) if isinstance(one, widgets.HTML))
    assert "<script>" not in shown and "<img src=x" not in shown


def refusals_of(form) -> set[str]:
    """What the fields of a form say is accepted, for every kind of bad input."""
    bad = ("x", "12", "7,5 uF", "5 hours", "1e9 V", "1e9 A", "1e9 hp", "1e9 rpm", "1e9 Hz", "1e9 uF",
           "1e9 in", "1e9 degF", "1e9 ft", "1e9 lb", "1e9 %", "1e9 cfm", "1e9 Btu/h", "1e9 deg",
           "1e9 h", "1e9 USD", "1e9 USD/h", "1e9 USD/kWh", "-5", "3.5", "\x07", "y" * 3000)  # fmt: skip
    found = set()
    for name in form.asked:
        for text in bad:
            try:
                form._kind(**{name: text})
            except InputError as error:
                found.add(error.accepted)
    return found


TOGETHER = (
    {"speed": "4000 rpm", "frequency": "60 Hz"},
    {"capacitor": "45/5 V"},
    {"voltage": "230 V", "capacitor_voltage": "100 V"},
    {"body_diameter": "2 in", "shaft_diameter": "2.2 in"},
)


def test_all_that_fields_accept_is_said_in_spanish(page):
    write, known = Writer("es", "US"), set()
    forms = [*page.form.forms, *step(page, "measured").records(), *step(page, "proposal").records()]
    for form in forms:
        known |= refusals_of(form)
    for given in TOGETHER:
        with pytest.raises(InputError) as refused:
            page.form.nameplate._kind(**given)
        known.add(refused.value.accepted)
    assert len(known) > 60
    for accepted in known:
        told = write.value(accepted)
        assert not ENGLISH.search(re.sub('"[^"]*"', "", told)), accepted


def test_a_job_outside_the_method_is_said_in_spanish():
    sites = ({"elevation": "12000 ft"}, {"outdoor_temperature": "150 degF"},
             {"outdoor_temperature_min": "-60 degF"}, {"frequency": "70 Hz"},
             {"hazardous": True})  # fmt: skip
    for site in sites:
        with pytest.raises(InputError) as refused:
            check_scope(Job(site=site))
        assert not ENGLISH.search(Writer("es", "SI").error(refused.value))


def test_doubts_about_a_nameplate_are_said_in_spanish():
    plate = {"voltage": "230 V", "frequency": "60 Hz"}
    odd = [{"speed": "1300 rpm"}, {"speed": "1075 rpm", "poles": 8}, {"rotation": "clockwise"},
           {"current": "5 A", "power": "1/4 hp"}, {"current": "2 A", "capacitor": "45 uF"}]  # fmt: skip
    for one in odd:
        (doubt,) = Nameplate(**plate, **one).warnings()
        assert not ENGLISH.search(Writer("es", "US")(doubt))


@pytest.mark.parametrize("text, said", [
    ("[nameplate]\nvolts = 'x'", 'nameplate, campo "volts": este nombre no existe. ¿Quiso deci'),
    ("[nameplate]\npower = 12", "Potencia: 12 no tiene unidad. Escriba una potencia con su unida"),
    ("[blade]\ndiameter = '22 V'", 'Diámetro del ventilador: "22 V" no es un número con una unidad de '),
    ("[found]\nwinding = 'x'", 'scriba "good", "open winding", "shorted turns" o "grounded".'),
    ("name = ", "trabajo: no es TOML válido"),
])  # fmt: skip
def test_what_is_wrong_with_a_file_is_said_in_spanish(text, said):
    with pytest.raises(InputError) as refused:
        uploads.job("job.toml", text.encode())
    assert said in Writer("es", "SI").error(refused.value)


# From the roof sheet to the last step


def test_the_card_of_a_motor_names_capacitor_rotation_and_drain_plug(page):
    shown = words_of(step(page, "replacement").load.value)
    assert "7.5 µF, 370 V or higher" in shown and "Clockwise from the shaft end" in shown
    assert "remove the plug at the shaft end only" in shown
    page.shown.motor.value = len(page.answer.candidates) - 1  # one that does not fit
    assert "Drain plug" not in words_of(page.shown.load.value)


def test_the_roof_sheet_is_of_the_motor_chosen_and_its_files_agree(page):
    view, other = step(page, "roof"), page.answer.fitting[1].case.motor.name
    best = page.answer.fitting[0].case.motor.name
    assert best in view.verdict.value and "Shut off if" in view.lines.value
    assert "FLA" in words_of(view.below.value)
    view.motor.value = other
    assert other in view.verdict.value
    for name, kind in (
        ("phone", "text/html"),
        ("paper", "application/pdf"),
        ("order", "text/html"),
    ):
        view.make(name)
        assert f"data:{kind}" in view.links.value
        content = base64.b64decode(re.search(r"base64,([^\"]+)", view.links.value)[1])
        assert content.startswith(b"%PDF") if name == "paper" else other.encode() in content
    assert other in step(page, "install").verdict.value
    assert step(page, "measured").motor.value == other
    view = step(page, "roof")
    assert view.links.value  # looked at again, nothing has changed
    page.form.nameplate.current.value = "2.0 A"
    assert not view.links.value, "a file of an earlier input is not offered"


def test_a_step_is_ticked_kept_with_the_job_and_undone(page):
    view = step(page, "install")
    count = len(view.ticks)
    assert f"0 of {count} steps done" in view.verdict.value
    assert view.ticks["isolation"].description.startswith("1. ")
    before = page.answer
    view.ticks["isolation"].value = True
    today = datetime.date.today()
    assert page.form.job().ticks.isolation == today and f"1 of {count}" in view.verdict.value
    assert "Done on" in view.details["isolation"].value and page.answer is before
    link = base64.b64decode(re.search(r"base64,([^\"]+)", page.link.value)[1]).decode()
    assert Job.from_toml(link).ticks.isolation == today
    page.undo.back.click()
    assert page.form.job().ticks.isolation is None and not view.ticks["isolation"].value
    page.undo.forth.click()
    assert view.ticks["isolation"].value
    for tick in view.ticks.values():
        tick.value = True
    assert f"all {count} steps are done" in view.verdict.value
    assert words_of(step(page, "roof").below.value).count(str(today.year)) == 1, "on the label"


def test_two_readings_are_judged_as_on_the_roof_sheet(page):
    view = step(page, "measured")
    view.reading.voltage.value, view.reading.current.value = "236 V", "1.70 A"
    sheet = page.sheet()
    assert sheet.judge(236.0, 1.70) == "expected"
    assert "As expected. Take the readings again when the motor is warm." in view.verdict.value
    view.reading.current.value = f"{sheet.order.most_amps + 0.1:.2f} A"
    assert "Shut the motor off: the amps are too high" in view.verdict.value
    view.motor.value = OF_THE_PLATE
    assert "Shut the motor off" not in view.verdict.value


def test_findings_are_chosen_and_the_cause_is_named(page):
    view = step(page, "cause")
    assert (
        "bearings worn out" in view.verdict.value and "Correct these problems" in view.result.value
    )
    for control in page.form.found.controls.values():
        control.value = ""
    assert "at least one finding" in view.verdict.value and not view.result.value
    page.form.found.capacitor_fault.value = "open"
    assert "capacitor" in view.verdict.value
    assert page.form.job().found.capacitor_fault == "open"
    page.form.found.blade.value = "bent or cracked"
    assert "Replacement fan blade" in step(page, "roof").below.value


@pytest.mark.parametrize("trips", ["", "at any time", "in the heat"])
def test_findings_lead_to_the_answer_of_the_whole_job(page, trips):
    """The page selects the motor again only if trips in the heat are entered or removed."""
    with page.filling():
        for name, control in page.form.found.controls.items():
            control.value = FINDINGS.get(name) or next(filter(None, control._options_values))
        page.form.found.trips.value = trips
    page.update()
    job = page.form.job()
    own = answer(job.model_copy(update=app.ASIDE), page.form.motors)
    assert all(value is not None or name == "trips" for name, value in job.found)
    assert answer_dict(page.answer, Writer()) == answer_dict(own, Writer())
    assert page.answer.job == own.job


def test_a_job_that_no_motor_fits_has_no_sheet_to_take_along(page):
    page.form.site.max_body_length.value = "2 in"
    assert not page.answer.fitting
    for name in ("roof", "install"):
        assert "nothing to install" in step(page, name).verdict.value
    assert step(page, "roof").motor.layout.display == "none"
    page.form.site.max_body_length.value = ""
    assert "Shut off if" in step(page, "roof").lines.value


def test_a_nameplate_in_part_is_told_what_it_lacks():
    page = App()
    page.form.nameplate.voltage.value = "208-230"
    assert "Still needed: Horsepower or Amps, Rpm or Poles." in page.status.value
    page.form.nameplate.power.value = "1/3"
    assert "Still needed: Rpm or Poles." in page.status.value


def test_the_line_in_sight_has_the_answer_what_to_find_out_and_the_load(page):
    told = words_of(page.status.value)
    assert words_of(page.writer(page.answer.verdict)).strip() in told and "Winding" in told
    page.form.nameplate.mounting.value = ""
    asked = page.answer.fitting[0].having("missing")
    assert asked and "Next, find out: " in words_of(page.status.value)
    before = words_of(page.writer(page.answer.verdict)).strip()
    page.form.nameplate.current.value = "nineteen"
    told = words_of(page.status.value)
    assert f"Previous entry: {before}" in told and "Up to date" not in told


def another(form, name: str) -> str:
    """A value for a field that differs from its present one: another word, or a larger number."""
    accepted, now = form.asked[name], form.controls[name].value
    if isinstance(accepted, str):
        return re.sub(r"\d+", lambda number: str(int(number[0]) + 1), now or accepted, count=1)
    return next((word for word in accepted if word != now), "")


def test_a_change_of_any_field_recalculates_the_step_in_sight_and_marks_the_others(page):
    """Each field of the job is changed, with one step after another in sight."""
    page.open_catalog("few.csv", few_motors())
    for at in range(len(NAMES)):
        step(page, at)
    asked = [(form, name) for form in page.form.forms[:4] for name in form.asked]
    recalculated = 0
    for number, (form, name) in enumerate(asked):
        at = number % len(NAMES)
        view, control, old = step(page, at), form.controls[name], page.answer
        was, control.value = control.value, another(form, name)
        if "ao-problem" in page.status.value:  # refused, for example outside the method
            assert "Up to date" not in page.status.value and page.answer is old, name
            control.value = was
        elif page.answer is not old:
            recalculated += 1
            assert not view.stale and "Up to date" in page.status.value, name
            assert all(one.stale for one in page.panels if one is not view), name
    assert recalculated > len(asked) / 2


@pytest.mark.parametrize("entries", [["1.8 A"], ["1.8 A", "1.7 A"]])
def test_an_answer_that_is_overtaken_is_calculated_after_the_messages_that_wait(
    page, monkeypatch, entries
):
    """They may change other inputs, so that only the last answer is calculated, or none."""
    asked = []

    def answered(job, motors, ahead):
        asked.append(job.nameplate.current.text)
        if len(asked) == 1:
            raise calculators.Overtaken
        return answer(job, motors), None

    async def edited():
        for entry in entries:
            page.form.nameplate.current.value = entry
        while "Up to date" not in page.status.value:
            assert page.answer.job.nameplate.current.text != entries[-1]
            await asyncio.sleep(0.01)

    monkeypatch.setattr(app, "_answered", answered)
    asyncio.run(edited())
    assert asked == ["1.8 A", entries[-1]]
    assert page.answer.job.nameplate.current.text == entries[-1]
