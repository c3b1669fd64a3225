"""What all panels have in common: text as it is typed, steps back, what is kept over a reload."""

import asyncio
import datetime
import json

import pytest

from airover.app import live
from airover.app import panel as parts
from airover.app.fields import AmountSlider, Fields, Line, slider
from airover.app.panel import PagedPanel, Undo
from airover.app.unsaved import Unsaved
from airover.core.errors import InputError
from airover.records.job import Job
from airover.records.nameplate import Nameplate

SPANS = {"US": ("degF", 68, 131, 1), "SI": ("degC", 20, 55, 1)}
REST = 0.03


class Volts(PagedPanel):
    """A panel without physics: the plate's volts, counted."""

    def __init__(self):
        super().__init__()
        self.plate = Fields(
            "nameplate", {"Plate": {"voltage": "230 V", "phase": {"1": (), "3": ()}}}, Nameplate
        )
        self.share = slider("Share [%]", 50, 150, 100)
        self.note = Line()
        self.worked, self.noted = [], 0
        self.places("verdict")
        self.make_pages(["Now", "Twice"])
        self.plate.voltage.value = "230 V"
        self.begin()
        self.watch(self.plate.controls.values())
        self.follow_sliders([self.share])
        self.follow([self.note], self.count_note)
        self.keep_steps([*self.plate.controls.values(), self.share])
        self.arrange([self.verdict], [self.plate.pages["Plate"], self.share], [self.tables], [])

    def count_note(self) -> None:
        self.noted += 1

    def compute(self) -> float:
        plate = Job(nameplate=self.plate.given()).nameplate
        return plate.voltage.mid * self.share.value / 100

    def draw(self) -> None:
        self.worked.append(self.answer)
        self.verdict.value = f"{self.answer:g} V"
        self.draw_page()

    def page(self, title: str) -> str:
        return f"{title}: {self.answer * (2 if title == 'Twice' else 1):g}"

    def refused(self, error) -> None:
        self.plate.show_problem(error)


@pytest.fixture
def panel(monkeypatch):
    monkeypatch.setattr(parts, "TYPING", REST)
    monkeypatch.setattr(parts, "SETTLED", REST)
    monkeypatch.setattr(parts, "LIVE", REST)
    return Volts()


async def until(done) -> None:
    """Wait for what comes after a rest; a busy machine may take its time."""
    for _ in range(500):
        await asyncio.sleep(0.01)
        if done():
            return
    pytest.fail("it never came")


def test_a_field_is_read_when_it_is_left_and_gets_its_unit(panel):
    """A browser sends a field's text on Enter and when the field is left, not while it is typed."""
    assert not panel.plate.voltage.continuous_update
    panel.plate.voltage.set_state({"value": "208"})
    assert panel.worked == [230.0, 208.0] and panel.plate.voltage.value == "208 V"
    panel.plate.voltage.set_state({"value": "208 apples"})
    assert "208 apples" in panel.status.value and panel.answer == 208.0
    assert "Enter a voltage" in panel.plate.problems["voltage"].value
    panel.plate.voltage.set_state({"value": "208 V"})
    assert panel.answer == 208.0 and not panel.status.value


class Output:
    """Output of a cell, as IPython gives it to code that writes it again."""

    def __init__(self, shown):
        self.shown = [shown]

    def update(self, shown, raw=False):
        self.shown.append(shown)


def test_cells_below_look_old_until_they_follow(panel, monkeypatch):
    outputs = []
    monkeypatch.setattr(
        live, "display", lambda shown, **_: outputs.append(Output(shown)) or outputs[-1]
    )

    async def changing():
        panel.live(lambda answer, writer: f"{answer:g} V")
        panel.check(lambda answer: {"voltage [V]": answer})
        cell, checked = (output.shown for output in outputs)
        assert repr(cell[0]) == "230 V" and repr(checked[0]) == "voltage [V]  230\n1 figures"
        panel.share.value = 50
        assert "previous entry" in cell[1]["text/html"] and "230 V" in cell[1]["text/html"]
        assert "Run this cell" in checked[1]["text/html"]
        await until(lambda: len(cell) == 3)
        assert repr(cell[2]) == "115 V" and len(checked) == 2
        panel.plate.voltage.value = "apples"
        assert "previous entry" in cell[3]["text/html"] and "115 V" in cell[3]["text/html"]

    asyncio.run(changing())


def test_what_python_writes_is_taken_at_once_also_where_a_loop_runs(panel):
    async def writing():
        panel.plate.voltage.value = "208 V"
        assert panel.answer == 208.0

    asyncio.run(writing())


def test_messages_take_no_room_and_keep_their_place(panel):
    """Their height is set by the style; none of them is hidden or shown."""
    panel.plate.voltage.value = "apples"
    assert panel.status.layout.display is None
    panel.plate.voltage.value = "208 V"
    assert panel.status.layout.display is None and not panel.status.value
    assert all("ao-help" in place._dom_classes for place in panel.plate.problems.values())
    style = panel.view.children[0].value
    assert ".ao-help { height: 0;" in style and "height: 44px" in style


def test_undo_and_redo_step_through_changes(panel):
    assert panel.undo.back.disabled and panel.undo.forth.disabled
    panel.plate.voltage.value = "208 V"
    panel.share.value = 50
    assert panel.answer == 104.0
    panel.undo.back.click()
    assert panel.share.value == 100 and panel.answer == 208.0
    panel.undo.back.click()
    assert panel.answer == 230.0 and panel.undo.back.disabled
    panel.undo.forth.click()
    assert panel.answer == 208.0 and not panel.undo.forth.disabled
    panel.plate.voltage.value = "240 V"
    assert panel.undo.forth.disabled  # another way was taken
    panel.undo.step(-1)
    assert panel.plate.voltage.value == "208 V"


def test_undo_takes_back_what_was_refused(panel):
    panel.plate.voltage.value = "apples"
    assert panel.status.value
    panel.undo.step(-1)
    assert not panel.status.value and panel.plate.voltage.value == "230 V"


def test_a_slide_is_one_step(panel):
    async def sliding():
        for share in range(99, 60, -3):
            panel.share.set_state({"value": share})
        await until(lambda: not panel.undo.back.disabled)
        panel.undo.step(-1)
        assert panel.share.value == 100 and panel.undo.back.disabled

    asyncio.run(sliding())


def test_opening_begins_anew(panel):
    panel.share.value = 50
    panel.open_with(
        lambda _: "240 V", "", lambda volts: setattr(panel.plate.voltage, "value", volts)
    )
    assert panel.answer == 120.0 and panel.undo.back.disabled


def test_steps_are_limited():
    control = Line()
    undo = Undo(lambda: control.value, lambda value: setattr(control, "value", value))
    for at in range(300):
        control.value = str(at)
        undo.note()
    for _ in range(400):
        undo.step(-1)
    assert control.value == "100" and undo.back.disabled


def test_only_the_page_that_is_looked_at_is_worked(panel):
    assert panel.pages["Now"].value == "Now: 230" and not panel.pages["Twice"].value
    panel.tables.selected_index = 1
    assert panel.pages["Twice"].value == "Twice: 460"
    panel.share.value = 50
    assert panel.pages["Twice"].value == "Twice: 230" and panel.pages["Now"].value == "Now: 230"


def test_an_amount_keeps_its_value_through_the_units():
    control = AmountSlider("Outdoor air", "air_temperature", SPANS)
    control.show(35.0, "US")
    assert (control.value, control.description) == (95, "Outdoor air [degF]")
    control.show(control.amount, "SI")
    assert (control.min, control.value, control.max) == (20, 35, 55)
    control.show(80.0, "US")
    assert control.value == 131


def test_unsaved_texts_are_written_whole_and_forgotten(tmp_path):
    unsaved = Unsaved(tmp_path / "kept.json")
    assert unsaved.load() is None
    state = {"job": {"name": "A 'half' typed"}, "nameplate": {"voltage": "23 app"}}
    unsaved.save(state)
    when, typed = Unsaved(tmp_path / "kept.json").load()
    assert typed == state and datetime.datetime.fromisoformat(when) <= datetime.datetime.now()
    unsaved.forget()
    assert list(tmp_path.iterdir()) == [] and Unsaved(None).load() is None


@pytest.mark.parametrize("left", ["{", '"x"', json.dumps({"typed": {}}), '{"saved": "x"}'])
def test_a_damaged_file_is_refused_in_a_sentence(tmp_path, left):
    (tmp_path / "job.json").write_text(left, encoding="utf-8")
    with pytest.raises(InputError, match="unsaved work"):
        Unsaved(tmp_path / "job.json").load()
