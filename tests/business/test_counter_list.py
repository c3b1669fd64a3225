"""The counter's lists: one line for each nameplate, the fewest motors, the card, and the printing."""

import io
import itertools
import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pypdf import PdfReader

from airover.app.cli import main
from airover.business.counter import _smallest_cover, card, fewest
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.calls import calls_of
from airover.records.importing import open_calls, open_catalog
from airover.reports import printed
from airover.reports.counter import (
    card_blocks,
    counter_blocks,
    counter_dict,
    counter_lines,
    counter_page,
    counter_text,
)
from airover.selection.answer import counter_list
from tests.jobs import HORSEPOWER, job, motor

MOTORS = data_folder() / "start" / "motors.csv"
ODD = "Customer PO,Volts,Horsepower,Amps,RPM,Cap,Rotation,Frame\n"
KINDS = ("208-230,1/3,1.9,1075,7.5,CCWLE,48", "208-230,1/4,1.5,1075,5,CWLE,48",
         "208-230,5,30,1075,50,CWLE,48", "460,1/3,1,1075,7.5,,48")  # fmt: skip


def written(folder, count=50):
    path = Path(folder) / "list.csv"
    rows = [f"PO-{700 + n},{KINDS[n % len(KINDS)]}" for n in range(count)]
    path.write_text(ODD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def given(tmp_path_factory):
    calls = open_calls(written(tmp_path_factory.mktemp("list")), dated=False)
    return calls, counter_list(calls.needs, tuple(open_catalog(MOTORS)))


def test_each_nameplate_is_one_line_with_the_customers_reference(given):
    calls, entries = given
    rows = counter_lines(entries, Writer(), calls)
    assert len(rows) == 50 and [row["reference"] for row in rows[:2]] == ["PO-700", "PO-701"]
    first, again, large = rows[0], rows[4], rows[2]
    assert first["best"].startswith("Demo ") and "1/3 hp" in first["best"]
    assert "USD" in first["price"] and first["second"] != first["best"]
    assert {**first, "number": "", "reference": ""} == {**again, "number": "", "reference": ""}
    assert large["price"] == "" and large["best"].startswith("No motor in this catalog fits.")
    assert "hub bore" in first["ask"]


def test_columns_that_are_not_read_are_named(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("Order #,HP,Volts,Amps,RPM,Cyc,Bin\nS-1,1/3,208-230,1.9,1075,60,2\n")
    calls = open_calls(path, dated=False)
    assert calls.unused == ("Bin",) and calls.references == ("S-1",)
    assert calls.needs[0].nameplate.frequency.mid == 60
    entries = counter_list(calls.needs, (motor(),))
    said = "Columns of the list that were not used: Bin."
    assert said in counter_text(entries, Writer(), (), calls)
    assert counter_blocks(entries, Writer(), (), calls)[-2]["text"] == said


def wanted(folder, heading, cells, rows=(0, 1, 2)):
    path = Path(folder) / "wanted.csv"
    lines = [f"PO-{n},{cell},{KINDS[n]}" for n, cell in zip(rows, cells, strict=True)]
    path.write_text(ODD.replace("PO,", f"PO,{heading},") + "\n".join(lines) + "\n")
    return open_calls(path, dated=False)


@pytest.mark.parametrize("heading", ["Qty", "Quantity", "Order qty", "pcs", "Cant.", "cantidad"])
def test_a_list_says_how_many_are_wanted(tmp_path, heading):
    calls = wanted(tmp_path, heading, ["4", "", "2 ea"])
    assert calls.quantities == (4, 1, 2) and calls.unused == () and calls.left_out is None
    assert calls.references == ("PO-0", "PO-1", "PO-2")


def test_motors_on_hand_are_not_wanted(tmp_path):
    calls = wanted(tmp_path, "Qty on hand", ["4", "1", "2"])
    assert calls.quantities == () and calls.unused == ("Qty on hand",)


@pytest.mark.parametrize("cell", ["two", "0", "1.5", "-3"])
def test_an_unreadable_quantity_counts_as_one_and_is_reported(tmp_path, cell):
    calls = wanted(tmp_path, "Qty", [cell, "3", ""])
    assert calls.quantities == (1, 3, 1)
    ((line, heading, reason),) = calls.left_out.cells
    said = Writer().error(reason)
    assert (line, heading) == (2, "Qty") and "whole number from 1" in said and cell in said


def test_a_quantity_under_our_own_headings_names_its_line(tmp_path):
    path = tmp_path / "own.csv"
    head = "voltage [V],power [hp],current [A],speed [rpm],Qty\n"
    path.write_text(head + "208-230,1/3,1.9,1075,5\n208-230,1/4,1.5,1075,\n", encoding="utf-8")
    assert open_calls(path, dated=False).quantities == (5, 1)
    with pytest.raises(InputError, match=r"line 2.*quantity"):
        calls_of(path, (head + "208-230,1/3,1.9,1075,many\n").encode(), dated=False)


def test_quantities_count_in_the_fewest_motors_and_in_the_prices(tmp_path):
    """The nameplate wanted more often decides between two sets of the same size."""
    a, b, c, d = (motor(model=name, price=price) for name, price in
                  (("a", 100.0), ("b", 50.0), ("c", 50.0), ("d", 100.0)))  # fmt: skip
    entries = [SimpleNamespace(fitting=[
        SimpleNamespace(candidate=SimpleNamespace(case=SimpleNamespace(motor=one))) for one in some
    ]) for some in ((a, c), (a, d), (b, d))]  # fmt: skip
    first = fewest(entries, [0, 1, 2], (9, 1, 1))
    last = fewest(entries, [0, 1, 2], (1, 1, 9))
    assert set(first.covers) == {c, d} and set(last.covers) == {a, b}
    assert list(first.covers) == [c, d] and list(last.covers) == [b, a]  # most units first
    assert first.count(first.covers[c]) == 9 and last.count(last.covers[a]) == 2


@pytest.mark.parametrize("language", ["en", "es"])
def test_quantities_and_totals_are_on_every_list(tmp_path, language):
    calls = wanted(tmp_path, "Qty", ["4", "3", "2"])
    entries, writer = counter_list(calls.needs, tuple(open_catalog(MOTORS))), Writer(language)
    prices = [one.fitting[0].candidate.case.motor.price if one.fitting else 0 for one in entries]
    totals = [f"{count * price:,.0f} USD" for count, price in zip((4, 3), prices, strict=False)]
    every = f"{4 * prices[0] + 3 * prices[1]:,.0f} USD"
    qty, of = {"en": ("qty", "7 of 9 motors"), "es": ("cant.", "7 de 9 motores")}[language]
    text = " ".join(counter_text(entries, writer, (), calls).split())
    assert f"PO-0, {qty} 4:" in text and of in text and every in text
    assert all(one in text for one in totals)
    paper = writer.for_print
    blocks = counter_blocks(entries, paper, (), calls)
    reader = PdfReader(io.BytesIO(printed.pdf("List", blocks, paper, wide=True, small=True)))
    pdf = " ".join(" ".join(one.extract_text() for one in reader.pages).split())
    page = " ".join(re.sub(r"<[^>]+>", " ", counter_page(entries, writer, (), calls)).split())
    for shown in (pdf, page):
        shown = shown.replace("\u00a0", " ")
        assert of in shown and every in shown and all(one in shown for one in totals)
    table = next(one for one in blocks if one["kind"] == "table")
    at = table["headings"].index(qty)
    assert [row[at] for row in table["rows"]] == ["4", "3", "2"]
    told = counter_dict(entries, writer.in_english, (), calls)
    assert [one["quantity"] for one in told["nameplates"]] == [4, 3, 2]
    assert sum(one["quantity"] for one in told["fewest"]) == 7


def test_fifty_nameplates_print_on_two_pages(given):
    calls, entries = given
    for writer in (Writer().for_print, Writer("es", "SI").for_print):
        blocks = counter_blocks(entries, writer, (), calls)
        pdf = printed.pdf("List", blocks, writer, wide=True, small=True)
        reader = PdfReader(io.BytesIO(pdf))
        assert len(reader.pages) <= 2
        text = " ".join(" ".join(one.extract_text() for one in reader.pages).split())
        page = counter_page(entries, writer, (), calls)
        for row in counter_lines(entries, writer, calls):
            for cell in (row["reference"], row["best"]):
                assert " ".join(cell.split()) in text and cell in page


def test_words_are_never_broken_letter_by_letter(given):
    assert "overflow-wrap: anywhere" not in counter_page(given[1], Writer(), (), given[0])


def test_a_question_for_most_nameplates_is_asked_once(given):
    calls, entries = given
    blocks = counter_blocks(entries, Writer(), (), calls)
    assert blocks[0]["text"].startswith("Ask about these items for every nameplate: ")
    table = next(one for one in blocks if one["kind"] == "table")
    assert not any("hub bore" in cell for row in table["rows"] for cell in row)


@pytest.mark.parametrize("seed", range(6))
def test_the_smallest_cover_is_the_best_of_all_sets(seed):
    rng = np.random.default_rng(seed)
    fits = rng.random((9, 7)) < 0.35
    fits[:, 0] |= ~fits.any(axis=1)
    prices = [float(one) for one in rng.integers(50, 200, 7)]
    best = min(
        (len(some), sum(prices[at] for at in some))
        for size in range(1, 8)
        for some in itertools.combinations(range(7), size)
        if fits[:, list(some)].any(axis=1).all()
    )
    found = _smallest_cover(fits.astype(float), prices)
    assert fits[:, found].any(axis=1).all()
    assert (len(found), sum(prices[at] for at in found)) == best


def test_the_fewest_motors_cover_every_line_that_has_a_motor(given):
    calls, entries = given
    found = fewest(entries, calls.need)
    lines = sorted(line for some in found.covers.values() for line in some)
    assert sorted(lines + found.open) == list(range(50))
    for one, some in found.covers.items():
        for line in some:
            fitting = [fit.candidate.case.motor for fit in entries[calls.need[line]].fitting]
            assert one in fitting
    assert all(not entries[calls.need[line]].fitting for line in found.open)


def test_of_equal_numbers_the_cheapest_motor_is_named():
    cheap, dear = motor(model="cheap", price=50.0), motor(model="dear", price=70.0)
    fits = [SimpleNamespace(candidate=SimpleNamespace(case=SimpleNamespace(motor=one)))
            for one in (dear, cheap)]  # fmt: skip
    found = fewest([SimpleNamespace(fitting=fits), SimpleNamespace(fitting=())], [0, 1, 0])
    assert list(found.covers) == [cheap] and found.covers[cheap] == [0, 2] and found.open == [1]


def test_the_card_names_a_motor_and_setting_for_each_combination():
    third, quarter = HORSEPOWER / 3, HORSEPOWER / 4
    both = motor(model="both", ratings=(quarter, third), currents=(1.5, 1.9), price=95.0)
    single = motor(model="single", ratings=(third,), currents=(1.8,), price=60.0)
    slow = motor(model="slow", poles=8, speed_rpm=825.0, ratings=(third,), currents=(2.1,))
    lines = card((single, both, slow))
    assert [(one.motor.model, one.rating, one.current) for one in lines] == [
        ("slow", third, 2.1), ("both", quarter, 1.5), ("both", third, 1.9)
    ]  # fmt: skip
    writer = Writer().for_print
    pdf = printed.pdf("Card", card_blocks((single, both, slow), writer), writer)
    text = " ".join(PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split())
    assert "208-230 1075 1/4 hp Example Motors T both 1.5 A" in text and "single" not in text


def test_the_card_of_a_whole_catalog_covers_every_rating_on_one_page():
    motors = tuple(open_catalog(data_folder() / "catalogue.csv"))
    lines = card(motors)
    wanted = {(one.poles, one.frequency, one.voltage_high, round(rating))
              for one in motors for rating in one.ratings}  # fmt: skip
    made = {(one.motor.poles, one.motor.frequency, one.motor.voltage_high, round(one.rating))
            for one in lines}  # fmt: skip
    assert made <= wanted and {(p, r) for p, _, _, r in made} == {(p, r) for p, _, _, r in wanted}
    writer = Writer().for_print
    pdf = printed.pdf("Card", card_blocks(motors, writer), writer, small=True)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1


def test_the_command_writes_the_lists_for_stocked_motors_only(tmp_path, capsys):
    stock = tmp_path / "shelf.csv"
    stock.write_text("Item,On hand\nA-005,3\nA-012,0\nA-009,1\n", encoding="utf-8")
    given = ["counter", str(written(tmp_path, 4)), "--catalog", str(MOTORS)]
    assert main([*given, "--stocked", str(stock), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "PO-700" in said and "A-005" in said and "A-012" not in said
    names = {one.name for one in (tmp_path / "out").iterdir()}
    assert names == {"counter.csv", "counter-lines.csv", "counter.html", "counter.pdf",
                     "counter-card.html", "counter-card.pdf"}  # fmt: skip
    card_page = (tmp_path / "out" / "counter-card.html").read_text(encoding="utf-8")
    assert "A-009" in card_page and "C-0" not in card_page


def test_a_nameplate_without_a_motor_names_the_closest_and_its_failed_checks():
    needs = [job(nameplate__frame="56"), job(nameplate__voltage="460 V", site__voltage=None)]
    entries = counter_list(needs, (motor(model="near"), motor(model="far", frame="42")))
    frame, volts = (row["best"] for row in counter_lines(entries, Writer()))
    assert (
        frame == "No motor in this catalog fits. Closest: Example Motors T near, except for frame."
    )
    assert "except for supply voltage" in volts and not any(entry.fitting for entry in entries)


def test_json_has_the_references_and_the_fewest_motors(given):
    calls, entries = given
    told = counter_dict(entries, Writer(), (), calls)
    lines = told["nameplates"]
    assert [one["number"] for one in lines] == list(range(1, 51))
    assert lines[3]["reference"] == "PO-703" and lines[0]["motors"][0]["motor"].startswith("Demo")
    assert lines[0]["no_motor"] == "" and lines[2]["motors"] == [] and lines[2]["no_motor"]
    covered = [line for one in told["fewest"] for line in one["nameplates"]]
    assert sorted(covered + told["without_a_motor"]) == list(range(1, 51))
    for one in told["fewest"]:
        for line in one["nameplates"]:
            assert one["motor"] in [fit["motor"] for fit in lines[line - 1]["motors"]]
