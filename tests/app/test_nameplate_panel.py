"""The nameplate box: what is printed fills the form, and nothing typed is replaced unasked."""

import random

import pytest

from airover.app import nameplate_panel
from airover.app.page import App
from airover.app.replacement import ReplacementPanel
from airover.records import nameplate_photo

PRINTED = "HP 1/3 V 208-230 A 1.9 RPM 1075 CAP 7.5/370 CL B AMB 60C CCWLE ZZTOP MODEL QX1075-230"


@pytest.fixture
def page(monkeypatch, tmp_path):
    monkeypatch.setenv("AIROVER_UNSAVED", str(tmp_path))
    return App()


@pytest.fixture
def with_reader(monkeypatch):
    """A reader of photos that finds three lines, one of them hard to read."""

    class Reader:
        def __call__(self, picture):
            lines = (("HP 1/3 V 208-230", 0.99), ("A 1.9 RPM 1075", 0.99), ("CAP 7.5/370", 0.5))
            boxes = [[[9, 9 + 40 * n], [300, 9 + 40 * n], [300, 40 + 40 * n], [9, 40 + 40 * n]]
                     for n in range(3)]  # fmt: skip
            return [(box, *line) for box, line in zip(boxes, lines)], None

    monkeypatch.setattr(nameplate_panel, "can_read", lambda: True)
    monkeypatch.setattr(nameplate_photo, "_reader", Reader)


def typed(panel) -> dict:
    return panel.form.nameplate.typed()


def test_a_pasted_nameplate_fills_the_form_and_is_evaluated(page):
    box = page.form.printed
    box.text.value = PRINTED
    assert typed(page)["power"] == "1/3 hp" and typed(page)["rotation"] == "counterclockwise"
    assert len(typed(page)) == len(box.found) == 10
    assert all(control.value for control in box.confirm.values())
    assert "10 of 10" in box.told.value and "ZZTOP" in box.left.value
    assert "&quot;HP 1/3&quot;" in box._remarks["power"].value  # the words it came from
    assert "Demo" in page.status.value


def test_undo_takes_back_the_text_and_all_of_its_fields(page):
    box = page.form.printed
    box.text.value = PRINTED
    page.undo.step(-1)
    assert typed(page) == {} and box.text.value == "" and not box.rows.children
    page.undo.step(1)
    assert len(typed(page)) == 10 and box.text.value == PRINTED and len(box.rows.children) == 10


def test_a_value_typed_by_the_user_is_kept_until_it_is_confirmed(page):
    box = page.form.printed
    page.form.nameplate.power.value = "1/4 hp"
    box.text.value = PRINTED
    assert typed(page)["power"] == "1/4 hp" and typed(page)["current"] == "1.9 A"
    assert not box.confirm["power"].value and "1/4 hp" in box._remarks["power"].value
    assert box._more.layout.display is None
    box.confirm["power"].value = True
    assert typed(page)["power"] == "1/3 hp"
    box.confirm["power"].value = False
    assert "power" not in typed(page)


def test_a_correction_in_the_box_replaces_what_the_box_filled_in(page):
    box = page.form.printed
    box.text.value = "HP 1/3 V 230 A 1.9 RPM 1075"
    box.text.value = "HP 1/4 V 230 A 1.5 RPM 1075"
    assert typed(page)["power"] == "1/4 hp" and typed(page)["current"] == "1.5 A"


def test_the_same_value_written_otherwise_is_no_other_value(page):
    page.form.nameplate.voltage.value = "208-230V"
    page.form.printed.text.value = PRINTED
    assert page.form.printed.confirm["voltage"].value and typed(page)["voltage"] == "208-230V"


def test_two_readings_are_a_choice_and_none_is_taken(page):
    box = page.form.printed
    box.text.value = "HP 1/3 HP 1/4 V 230 A 1.9 RPM 1075"
    assert "power" not in typed(page)
    box.confirm["power"].value = "1/4 hp"
    assert typed(page)["power"] == "1/4 hp"


def test_a_text_without_a_fact_is_refused_in_a_sentence_and_changes_nothing(page):
    page.form.nameplate.power.value = "1/4 hp"
    page.form.printed.text.value = "hello"
    assert "no nameplate data could be read" in page.form.printed.told.value
    assert typed(page) == {"power": "1/4 hp"}


def test_the_box_speaks_spanish():
    page = App("es")
    page.form.printed.text.value = PRINTED
    assert "10 de 10 datos" in page.form.printed.told.value
    assert "leído" in page.form.printed._remarks["power"].value


def test_in_the_worksheet_a_new_job_leaves_nothing_of_the_sample():
    panel = ReplacementPanel()
    box = panel.form.printed
    box.text.value = PRINTED.replace("1/3", "1/4")
    assert typed(panel)["power"] == "1/3 hp"  # the sample's
    box.begin_anew()
    assert typed(panel)["power"] == "1/4 hp" and panel.form.blade.typed() == {}
    assert panel.form.site.typed() == {} and not panel.invented.value
    panel.undo.step(-1)
    assert typed(panel)["power"] == "1/3 hp" and panel.form.blade.typed()


def test_of_a_photo_only_what_was_read_without_doubt_is_filled_in(page, with_reader):
    from tests.photos import photo

    box = page.form.printed
    box.open_photo("plate.png", photo("1/3 HP", "none", random.Random(1)))
    assert "capacitor" not in typed(page) and typed(page)["power"] == "1/3 hp"
    assert not box.confirm["capacitor"].value and "check it" in box._remarks["capacitor"].value
    assert (
        "<img" in box.picture.value and box.confirm["power"].description.startswith("1. ") is False
    )
    box.confirm["capacitor"].value = True
    assert typed(page)["capacitor"] == "7.5 uF"
    box.text.value = "HP 1/4"
    assert box.picture.value == ""


@pytest.mark.parametrize("content", [b"", b"no picture", b"x" * 5_000_000])
def test_a_file_that_is_no_photo_is_refused_in_a_sentence(page, with_reader, content):
    page.form.printed.open_photo("plate.png", content)
    assert "ao-problem" in page.form.printed.told.value and typed(page) == {}


def test_without_the_extra_the_box_says_how_to_install_it(monkeypatch):
    monkeypatch.setattr(nameplate_panel, "can_read", lambda: False)
    box = App().form.printed
    assert box.photo is None
    assert any("airover[photo]" in getattr(one, "value", "") for one in box.view.children)
