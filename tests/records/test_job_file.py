"""Ticks written into a job's file: one line changes, every other byte stays."""

import os
import tomllib
from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.records.fields import Dates, Span
from airover.records.found import Found
from airover.records.job import Job, JobFile, Ticks, with_tick

DAY = date(2026, 3, 1)
STEPS = Ticks.names()
TEXT = """\
# a comment, with "odd"   spacing
name   =  'Roof'
note = '''
[ticks]
blade = 1999-01-01
'''

[nameplate]
voltage = "208-230 V"   # read twice
"""


def refusal(call, *arguments, **fields) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **fields)
    return str(caught.value)


def test_a_tick_is_a_line_in_a_table_of_its_own():
    changed = with_tick(TEXT, "blade", DAY)
    assert changed == TEXT + "\n[ticks]\nblade = 2026-03-01\n"
    assert Job.from_toml(changed).ticks == Ticks(blade=DAY)
    assert with_tick(TEXT, "blade", None) == TEXT


SHAPES = {
    "in the middle": "[ticks]\nhub = 2026-01-02 # good\n\n# the site\n[site]\nvoltage = '230 V'\n",
    "no line end": "name = 'x'\n[ticks]\nhub = 2026-01-02",
    "inline": "ticks = { hub = 2026-01-02 }\n[site]\nvoltage = '230 V'\n",
    "dotted": "ticks.hub = 2026-01-02\nname = 'x'\n",
    "written as text": "[ticks]\nhub = '2026-01-02'\n",
    "empty": "[ticks]\n[site]\nvoltage = '230 V'\n",
    "windows": TEXT.replace("\n", "\r\n") + "[ticks]\r\nhub = 2026-01-02\r\n",
}


@pytest.mark.parametrize("text", SHAPES.values(), ids=SHAPES)
def test_a_tick_added_and_taken_away_again_leaves_the_file_as_it_was(text):
    added = with_tick(text, "blade", DAY)
    assert tomllib.loads(added)["ticks"]["blade"] == DAY
    back = with_tick(added, "blade", None)
    assert back.split() == text.replace(" }", "}").split()  # in braces tomlkit drops a space
    assert added.count("\r\n") == (added.count("\n") if "\r\n" in text else 0)


@pytest.mark.parametrize("text", SHAPES.values(), ids=SHAPES)
def test_a_tick_set_anew_changes_its_date_and_nothing_else(text):
    if "2026-01-02" in text:
        bare = text.replace("'2026-01-02'", "2026-01-02")
        bare = bare.replace(" }", "}")  # in braces tomlkit drops a space
        assert with_tick(text, "hub", DAY) == bare.replace("2026-01-02", "2026-03-01")


LINES = st.lists(
    st.sampled_from(
        ["# [ticks]", "", "name = 'a [ticks] b'", "  note = 'x'  # y", "invented = true", "\t"]
    ),
    max_size=6,
    unique=True,
)
TABLES = st.lists(
    st.sampled_from(
        ["[site]\n# a\nvoltage = '1 V'\n\n", "[ticks]\nhub = 2020-02-29\n# b\n", "[blade]\n"]
    ),
    max_size=3,
    unique=True,
)


@given(LINES, TABLES, st.sampled_from(STEPS), st.dates(date(1950, 1, 1), date(2149, 1, 1)))
def test_no_line_is_lost_or_moved(lines, tables, step, day):
    text = "\n".join([*lines, *tables])
    changed = with_tick(text, step, day)
    assert tomllib.loads(changed)["ticks"][step] == day
    others = [line for line in changed.splitlines() if not line.startswith(f"{step} = ")]
    before = [line for line in text.splitlines() if not line.startswith(f"{step} = ")]
    added = [] if "[ticks]\n" in "".join(tables) else ["[ticks]"]
    assert [line for line in others if line.strip()] == [x for x in before if x.strip()] + added


def test_the_sample_job_keeps_every_byte_but_the_ticks(tmp_path):
    content = (data_folder() / "jobs" / "roof-unit.toml").read_bytes()
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    file = JobFile.read(path)
    for step in STEPS:
        file = file.ticked(step, DAY)
    assert path.read_bytes() == file.content
    assert file.content.startswith(content.rstrip(b"\n"))
    assert all(done == DAY for _, done in Job.read(path).ticks)
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_a_byte_order_mark_stays(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    assert JobFile.read(path).ticked("hub", DAY).content.startswith(b"\xef\xbb\xbf# a comment")
    assert Job.read(path).ticks.hub == DAY


def test_a_file_that_changed_meanwhile_is_left_alone(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(TEXT)
    file = JobFile.read(path)
    path.write_text(TEXT + "# somebody else\n")
    assert "which another one changed since it was read" in refusal(file.ticked, "hub", DAY)
    assert path.read_text() == TEXT + "# somebody else\n"
    assert JobFile.read(path).ticked("hub", DAY).job.ticks.hub == DAY


def test_a_write_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    path.write_text(TEXT)
    file = JobFile.read(path)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    assert "No space left on device" in refusal(file.ticked, "hub", DAY)
    assert path.read_text() == TEXT and [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_an_unknown_step_and_a_form_that_cannot_be_changed_are_refused(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(TEXT)
    sentence = refusal(JobFile.read(path).ticked, "hubb", DAY)
    assert sentence.startswith('step: "hubb" was given; accepted is "isolation", ')
    dotted = "ticks.hub = 2026-01-02\nname = 'x'\n"
    assert "cannot be changed" in refusal(with_tick, dotted, "hub", None)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[ticks]\nblad = 2026-01-01", 'ticks field "blad": an unknown name was given; accepted is "blade".'),
        ("[ticks]\nblade = true", "ticks blade: True was given; accepted is a day from 1950 to 2149, such as 2026-03-15."),
        ("[ticks]\nblade = 2026-01-01T10:00:00", "ticks blade: 2026-01-01 10:00:00 was given; accepted is a day from 1950 to 2149, such as 2026-03-15."),
        ("[dates]\ninstalled = '2026-02-30'", 'dates installed: "2026-02-30" was given; accepted is a day from 1950 to 2149, such as 2026-03-15, or a month, such as 2026-03.'),
        ("[dates]\ninstalled = '3/4/2026'", 'dates installed: "3/4/2026" was given; accepted is a day from 1950 to 2149, such as 2026-03-15, or a month, such as 2026-03.'),
        ("[dates]\ninstalled = 0026-01-01", "dates installed: 0026-01-01 was given; accepted is a day from 1950 to 2149, such as 2026-03-15, or a month, such as 2026-03."),
        ("[dates]\ninstalled = 2026-01-01\nmanufactured = '2026-02'", "dates installed: 2026-01-01 was given; accepted is the day of manufacture, 2026-02, or a later one."),
        ("[dates]\nwarranty_ends = 'soon'", 'dates warranty ends: "soon" was given; accepted is "first" or "last".'),
        ("[found]\nwinding = 'molten'", 'found winding: "molten" was given; accepted is "good", "open winding", "shorted turns" or "grounded".'),
        ("[found]\ncapacitor = '-1 uF'", 'found capacitor: "-1 uF" was given; accepted is 0 to 0.001 F (0 to 1000 uF).'),
        ("[found]\ncapacitor = '5 uF'\ncapacitor_fault = 'open'", "found capacitor fault: open beside 5 uF was given; accepted is a measured capacitor or a fault, not both."),
    ],
)  # fmt: skip
def test_what_cannot_be_read_gets_one_sentence(text, sentence):
    assert refusal(Job.from_toml, text) == sentence


def test_days_and_findings_are_read_and_written_again():
    job = Job(
        found=Found(winding="Burnt", bearings="locked", capacitor="5 uF", age="6 years"),
        dates=Dates(manufactured="2026-02", installed=DAY, warranty_ends="whichever ends last"),
        ticks=Ticks(hub=DAY, blade="2026-03-02"),
    )
    assert (job.found.winding, job.found.bearings) == ("shorted turns", "seized")
    assert job.dates.manufactured == Span(date(2026, 2, 1), date(2026, 2, 28), "2026-02")
    assert job.dates.installed.text == "2026-03-01" and job.dates.warranty_ends == "last"
    assert Job.from_toml(job.to_toml()) == job


def test_a_day_with_an_hour_is_no_day():
    assert "a day from" in refusal(Ticks, hub=datetime(2026, 1, 1, 10))
