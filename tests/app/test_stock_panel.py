"""The panel of worksheet 08: what to carry on the truck, driven as a Python object."""

import asyncio
import base64
import re
import threading
import time
from dataclasses import replace

import numpy as np
import pytest

from airover.app import stock_panel
from airover.app.checked import figures_of_stock
from airover.app.live import checked
from airover.app.progress import InSlices
from airover.app.stock_panel import StockPanel, stamp
from airover.business.stock import Ground, Live, split, usual_money
from airover.business.truck import GAP, Terms, served
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.steps import Progress, finished
from airover.core.texts import Writer
from airover.records.calls import read_calls
from airover.records.catalog import read_catalog
from airover.reports.stock import load_page

from .conftest import rows

LOAD, DECISION, COUNTER, REPLAY = (
    Writer()(f"panel.stock.page.{key}") for key in ("load", "decision", "counter", "replay")
)
SOLVER = 1e-6  # HiGHS holds rows to 1e-7


@pytest.fixture(scope="module")
def shared(files):
    return StockPanel(*files)


@pytest.fixture
def panel(shared, files, tmp_path):
    """One panel for the module, brought back to where it began; it writes where tests may."""
    with shared.filling():
        shared.units.value, shared.calls.value = "US", str(files[0])
        shared.budget.value, shared.trucks.value, shared.days.value = 2500, 1, 7
        shared.space.show(Terms.space, "US")
    shared.update()
    shared.out.value, shared.tables.selected_index = str(tmp_path / "results"), 0
    assert not shared.status.value
    return shared


def column(html: str, place: int) -> list[str]:
    return [re.findall(r"<td>(.*?)</td>", row)[place] for row in rows(html)]


def test_the_verdict_is_the_forecast_beside_the_replay(panel):
    found = panel.answer
    low, mid, high = (f"{100 * end:.0f}" for end in found.confirmed.forecast)
    assert f"completes {mid} % ({low}-{high}) of calls on the first visit" in panel.verdict.value
    assert f"{found.plan.money:,.0f} USD" in panel.verdict.value
    assert "last year of calls" in panel.verdict.value and "fictional" not in panel.verdict.value


def test_the_plan_keeps_to_money_and_room_and_its_bound_is_proven(panel):
    found = panel.answer
    assert found.plan.money <= panel.budget.value + SOLVER
    assert found.plan.space <= panel.space.amount + SOLVER
    assert panel.space.amount == pytest.approx(12 * 0.3048**3)  # ft3 of the slider
    assert found.plan.gap <= GAP * found.plan.fixed + SOLVER
    again = served(found.plan.units, found.loads, found.goods)
    assert again == pytest.approx(found.plan.fixed, abs=0.5 * GAP)


def test_more_money_fixes_more_and_the_curve_is_not_worked_again(panel, monkeypatch):
    before = panel.answer
    steps = []
    monkeypatch.setattr(panel, "_told_step", steps.append)
    monkeypatch.setattr(panel._slices, "_told", steps.append)
    panel.budget.value = 1000
    after = panel.answer
    assert after.plan.money <= 1000 < before.plan.money
    assert after.confirmed.forecast.mid < before.confirmed.forecast.mid
    assert after.plans == before.plans and after.single == before.single
    assert not [step for step in steps if step.words == Message("stock.step.curve")]
    panel.budget.value = 2500
    np.testing.assert_array_equal(panel.answer.plan.units, before.plan.units)


def test_less_room_carries_less(panel):
    before = panel.answer.plan
    panel.space.value = 5
    assert panel.answer.plan.space <= 5 * 0.3048**3 + SOLVER
    assert panel.answer.plan.units.sum() < before.units.sum()


def test_motors_of_one_rating_are_planned_alone_and_never_better(panel):
    found = panel.answer
    for one, two in zip(found.single, found.plans, strict=True):
        carried = found.goods.motor[one.units[: found.goods.motors] > 0]
        assert all(len(found.matched.motors[at].ratings) == 1 for at in carried)
        assert one.fixed <= two.bound + SOLVER


def test_units_change_words_and_not_the_truck(panel):
    before = panel.answer.plan
    panel.units.value = "SI"
    assert "[L]" in panel.space.description and panel.space.value == 340
    assert " L" in panel.pages[LOAD].value and "ft3" not in panel.pages[LOAD].value
    assert panel.answer.plan.money == before.money


def test_the_pages_say_what_the_study_says(panel):
    found = panel.answer
    carried = [line for line in found.load_list() if line["truck"]]
    shown = panel.pages[LOAD].value
    assert [int(count) for count in column(shown, 0)] == [line["truck"] for line in carried]
    for at, title in enumerate(panel.pages):
        panel.tables.selected_index = at
        assert "<table" in panel.pages[title].value or not found.next
    kept = sum(line["counter"] > 0 for line in found.load_list())
    assert len(column(panel.pages[COUNTER].value, 0)) == kept
    ends = column(panel.pages[REPLAY].value, 1)
    assert sum(map(float, ends)) == pytest.approx(100, abs=0.3)


def test_the_list_is_saved_from_the_page_itself_and_asks_for_nothing_outside(panel):
    (link,) = re.findall(r'href="([^"]*)"', panel.pages[LOAD].value)
    kind, data = link.split(";base64,")
    page = base64.b64decode(data).decode()
    assert kind.startswith("data:text/html") and page == load_page(panel.answer)
    assert "http" not in page and f"Total value: {panel.answer.plan.money:,.0f} USD" in page


def test_a_click_writes_the_list_with_its_tables(panel, tmp_path):
    panel.button.click()
    names = {path.name for path in (tmp_path / "results").iterdir()}
    assert {"load-list.html", "load-list.csv", "curve.png", "stock.json"} <= names
    assert "load-list.html" in panel.written.value and "replacing" not in panel.written.value
    panel.write()
    assert "replacing earlier files" in panel.written.value
    panel.out.value = ""
    panel.write()
    assert "Not saved" in panel.written.value and Writer()("panel.results") in panel.written.value


def test_todays_truck_is_the_baseline_of_the_decision(panel, tmp_path):
    carried = np.flatnonzero(panel.answer.plan.carried)[:2]
    names = [panel.answer.names[at] for at in carried]
    path = tmp_path / "truck.csv"
    rows = "".join(f"{name},{count}\n" for name, count in zip(names, (1, 2), strict=True))
    path.write_text(f"Part,On the van\n{rows}", encoding="utf-8")
    panel.today.value = str(path)
    panel.tables.selected_index = list(panel.pages).index(DECISION)
    page = panel.pages[DECISION].value
    assert "today&#x27;s truck" in page or "today's truck" in page
    assert panel.decision.baseline.motors == 3 and panel.decision.recommended.motors > 3
    panel.today.value = str(tmp_path / "missing.csv")
    panel.tables.selected_index = 0
    panel.tables.selected_index = list(panel.pages).index(DECISION)
    assert "cannot be opened" in panel.pages[DECISION].value
    panel.today.value = ""


def test_calls_that_cannot_be_read_are_told_and_the_answer_stays(panel, tmp_path):
    before = panel.verdict.value
    short = tmp_path / "short.csv"
    short.write_text("date,power [hp]\n2025-01-01,1/3\n2025-01-10,1/4\n", encoding="utf-8")
    for path, told in ((tmp_path / "none.csv", "calls file"), (short, "at least 28 days")):
        panel.calls.value = str(path)
        assert told in panel.status.value and Writer()("panel.earlier") in panel.status.value
        assert panel.verdict.value == before and "ao-earlier" in panel.view._dom_classes
    with pytest.raises(InputError, match="calls file"):
        StockPanel(tmp_path / "none.csv")


def test_a_file_that_has_changed_is_another_one(tmp_path):
    path = tmp_path / "calls.csv"
    path.write_text("date\n2025-01-01\n", encoding="utf-8")
    before = stamp(path)
    assert stamp(path) == before
    path.write_text("date\n2025-01-01\n2025-01-02\n", encoding="utf-8")
    assert stamp(path) != before and stamp(path)[0] == before[0]


def test_on_an_event_loop_a_move_is_told_at_once_and_can_be_stopped(panel):
    async def moved():
        before = panel.answer
        panel.trucks.value = 2
        assert panel.answer is before and "ao-earlier" in panel.view._dom_classes
        panel._rest.hurry()
        assert panel.stopper.description == "Stop" and not panel.stopper.disabled
        assert panel.button.disabled
        panel.stopper.click()
        await asyncio.sleep(0.1)
        assert panel.answer is before and "Stopped" in panel.status.value
        assert panel.stopper.description == "Continue"
        panel.stopper.click()
        assert panel.finish().terms.trucks == 2
        assert panel.stopper.disabled and not panel.button.disabled and not panel.status.value

    asyncio.run(moved())


def test_a_broken_step_leaves_no_answer_that_looks_new(panel, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(Live, "_plan", explode)
    with pytest.raises(ZeroDivisionError):
        panel.days.value = 9
    assert Writer("en")("panel.broken") in panel.status.value
    assert "ao-earlier" in panel.view._dom_classes


def test_figures_are_those_of_the_study(panel):
    figures = figures_of_stock(panel.answer)
    assert figures["calls"] == len(panel.answer.calls)
    low = round(100 * float(panel.answer.confirmed.forecast.low))
    assert figures["fixed, forecast, low [%]"] == low
    assert checked(figures).endswith(f"{len(figures)} figures")


@pytest.mark.parametrize(("share", "told"), [(1.0, False), (0.01, True)])
def test_a_replay_beside_the_forecast_is_said(panel, share, told):
    confirmed = panel.answer.confirmed
    beside = confirmed._replace(replayed=confirmed.forecast.scaled(share))
    other = replace(panel.answer, confirmed=beside)
    assert ("plan with caution" in " ".join(stock_panel.facts(other, Writer()))) is told


def test_money_is_looked_at_as_far_as_a_catalog_asks(files):
    motors = read_catalog(files[1])
    prices = [motor.price for motor in motors if motor.price]
    assert 30 * np.median(prices) < usual_money(motors) < 80 * np.median(prices)
    assert usual_money([]) == 0


def test_another_panel_on_the_same_calls_finds_the_same(panel, files):
    calls = read_calls(files[0])
    found = finished(Live(Ground(calls, *split(calls), panel.answer.matched)).planning(panel.terms))
    np.testing.assert_array_equal(found.plan.units, panel.answer.plan.units)


def counting(upto: int, rest: float = 0.0):
    for at in range(upto):
        yield Progress(Message("stock.step.plan"), at, upto)
        time.sleep(rest)
    return upto


def test_work_in_slices_lets_others_in_and_ends_once():
    async def worked():
        ended, told, others = [], [], 0
        slices = InSlices(told.append, pytest.fail, pytest.fail)
        slices.start(counting(9, 0.06), ended.append)
        while slices.under_way:
            others += 1
            await asyncio.sleep(0.01)
        return ended, told, others

    ended, told, others = asyncio.run(worked())
    assert ended == [9] and told[0] == (Message("stock.step.plan"), 0, 9) and others > 3


def test_a_stop_from_another_thread_is_heard_between_two_steps():
    """JupyterLab may hear a button in another thread than the one that works."""
    ended = []
    slices = InSlices(lambda _: None, pytest.fail, pytest.fail)
    threading.Timer(0.1, slices.stop).start()
    slices.start(counting(200, 0.01), ended.append)  # no loop here: at once, but for the stop
    assert slices.stopped and not ended
    slices.finish()
    assert ended == [200]


def test_what_was_forgotten_does_not_end():
    ended = []
    slices = InSlices(lambda _: slices.forget(), pytest.fail, pytest.fail)
    slices.start(counting(3), ended.append)
    assert not slices.under_way and not ended
