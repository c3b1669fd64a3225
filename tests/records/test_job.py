"""Jobs: read, contradictions, saved, ticked in their file."""

import os
import string
import tomllib
from datetime import date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.toml import LARGEST_FILE
from airover.records.fan import Blade, Curve
from airover.records.fields import Dates, Span
from airover.records.found import Found
from airover.records.job import Job, JobFile, Site, Ticks, with_tick
from airover.records.nameplate import Nameplate

TOML = """
# a comment
name = "Roof unit 2"
note = '''two
lines'''
invented = true
[nameplate]
voltage = "208-230 V"
power = "1/3 hp"
phase = 1
[blade]
diameter = "22 in"
blades = 4
pitch = "27 deg"
[blade.curve]
flow = ["0 cfm", "1,000 cfm", "2,400 cfm"]
pressure = ["0.5 in. w.g.", "0.3 in. w.g.", "0 Pa"]
power = ["0.3 hp", "0.28 hp", "150 W"]
speed = "1075 rpm"
density = "0.075 lb/ft3"
[site]
outdoor_temperature = "95 degF"
heat = "45,000 Btu/h"
airflow = "2400 cfm"
exposure = ["rain", "salt air", "rain"]
hazardous = false
"""
CURVE = {
    "flow": ["0 cfm", "1000 cfm", "2000 cfm"], "pressure": ["90 Pa", "60 Pa", "0 Pa"],
    "power": ["300 W", "280 W", "200 W"], "speed": "1075 rpm",
}  # fmt: skip


def refusal(call, *arguments, **fields) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **fields)
    return str(caught.value)


def test_a_job_as_people_write_it():
    job = Job.from_toml(TOML)
    assert (job.name, job.note, job.invented) == ("Roof unit 2", "two\nlines", True)
    assert job.nameplate.voltage.high == 230
    assert job.blade.diameter.mid == pytest.approx(0.5588)
    assert job.blade.pitch.mid == pytest.approx(np.radians(27))
    assert job.site.outdoor_temperature.mid == 35
    assert job.site.exposure == ("rain", "salt")
    assert job.site.hazardous is False
    assert job.site.elevation is None


def test_a_curve_gives_arrays_in_si_units():
    flow, pressure, power = Job.from_toml(TOML).blade.curve.arrays()
    np.testing.assert_allclose(flow, [0, 0.4719474, 1.1326739], rtol=1e-6)
    np.testing.assert_allclose(pressure, [124.54445, 74.72667, 0], rtol=1e-6)
    np.testing.assert_allclose(power, [223.70996, 208.79596, 150], rtol=1e-6)
    assert Job.from_toml(TOML).blade.curve.density.mid == pytest.approx(1.2013848)


def test_an_empty_job_knows_nothing():
    job = Job.from_toml("")
    assert job == Job(name="", nameplate={}, blade=Blade(), site=Site())
    assert job.blade.curve is None
    assert job.to_toml() == "invented = false\n"


def test_a_job_written_and_read_again_is_the_same():
    job = Job.from_toml(TOML)
    assert Job.from_toml(job.to_toml()) == job
    assert 'voltage = "208-230 V"' in job.to_toml()


TEXTS = st.text(
    st.characters(exclude_categories=("Cc", "Cs")) | st.sampled_from("\n\t\"\\'#=[]"), max_size=40
)
WHOLES = st.integers(1, 400)


def written(*templates):
    """Texts of an amount: one of the templates with a number in it, or None."""
    texts = st.builds(
        lambda template, number: template.format(number), st.sampled_from(templates), WHOLES
    )
    return st.none() | texts


NAMEPLATES = st.fixed_dictionaries(
    {},
    optional={
        "voltage": written("{} V", "{0}/480 V", "{} volts"),
        "power": written("1/3 hp", "{} W", "½ hp", "1/6, 1/5 hp"),
        "speed": written("1075 rpm", "1,075 rpm"),
        "capacitor": written("7.5 uF", "7.5 µF"),
        "poles": st.sampled_from([None, 4, 6, 8]),
        "phase": st.sampled_from([None, 1, 3, "single"]),
        "rotation": st.sampled_from([None, "CW", "reversible"]),
        "body_length": written('5 5/8"', "143 mm", "143 to 145 mm"),
        "service": TEXTS,
        "frame": TEXTS,
    },
)
SITES = st.fixed_dictionaries(
    {},
    optional={
        "outdoor_temperature": written("95 °F", "35 degC", "20 to 35 degC"),
        "elevation": written("{} m", "1,{0:03d} ft"),
        "exposure": st.lists(st.sampled_from(["rain", "salt", "dust"])),
        "hazardous": st.none() | st.booleans() | TEXTS,
        "relative_humidity": st.sampled_from([None, "50 %"]),
    },
)
BLADES = st.fixed_dictionaries(
    {},
    optional={
        "blades": st.integers(2, 24),
        "curve": st.sampled_from([None, CURVE]),
        "material": TEXTS,
    },
)


@given(TEXTS, TEXTS, st.booleans(), NAMEPLATES, BLADES, SITES)
def test_any_job_written_and_read_again_is_the_same(name, note, invented, plate, blade, site):
    job = Job(name=name, note=note, invented=invented, nameplate=plate, blade=blade, site=site)
    assert Job.from_toml(job.to_toml()) == job


@given(st.text(max_size=60))
def test_any_text_is_a_job_or_an_input_error(text):
    _job_or_refusal(text)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=5,
)


@given(st.sampled_from([Job, Nameplate, Blade, Site, Curve]), st.data())
@settings(max_examples=100)
def test_any_value_of_any_field_is_read_or_an_input_error(record, data):
    name = data.draw(st.sampled_from(record.names()))
    try:
        record(**{name: data.draw(VALUES)})
    except InputError as error:
        assert "\n" not in str(error)


def _job_or_refusal(text):
    try:
        Job.from_toml(text)
    except InputError as error:
        assert "\n" not in str(error)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[namplate]", 'Unknown field "namplate". Did you mean "nameplate"?'),
        ("nameplate = 3", "nameplate: 3 is not accepted. Enter a table of fields."),
        ("invented = 1", "invented: 1 is not accepted. Enter true or false."),
        ("name = 3.5", "name: 3.5 is not accepted. Enter plain text, up to 2000 characters."),
        ("[nameplate]\npower = 0.25", 'nameplate power: 0.25 has no unit. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ("[nameplate]\nvoltag = 230", 'Unknown nameplate field "voltag". Did you mean "voltage"?'),
        ("[nameplate]\nvoltage = 2020-01-01", 'nameplate voltage: 2020-01-01 is not text. Enter a voltage with its unit (V), such as "208-230 V".'),
        ('[site]\nexposure = "rain"', 'site exposure: "rain" is not accepted. Enter a list of "rain", "salt" or "dust".'),
        ('[site]\nexposure = ["snow"]', 'site exposure: "snow" is not accepted. Enter "rain", "salt" or "dust".'),
        ('[blade.curve]\nflw = ["1 cfm"]', 'Unknown blade curve field "flw". Did you mean "flow"?'),
        ('[blade.curve]\nflow = "1 cfm"', 'blade curve flow: "1 cfm" is not accepted. Enter a list of values, each with its unit.'),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_named_with_its_table(text, sentence):
    assert refusal(Job.from_toml, text) == sentence


def test_an_error_in_the_toml_names_its_line():
    assert "line 2" in refusal(Job.from_toml, 'name = "x"\nnote = = 3')


@pytest.mark.parametrize("text", ["x = " + "[" * 5000, "x = " + "1" * 5000, "a = 1\na = 2", "\x00"])
def test_hostile_toml_is_an_input_error(text):
    assert refusal(Job.from_toml, text).startswith("job: not valid TOML (")


@pytest.mark.parametrize(
    ("record", "fields", "sentence"),
    [
        (Blade, {"bore": "1/2 in", "hub_diameter": "10 mm"}, "bore: 1/2 in is not accepted. Enter less than the hub diameter, 0.394 in."),
        (Blade, {"hub_diameter": "24 in", "diameter": "22 in"}, "hub diameter: 24 in is not accepted. Enter less than the fan diameter, 22 in."),
        (Blade, {"blades": 1}, "blades: 1 is not accepted. Enter a whole number from 2 to 24."),
        (Blade, {"curve": CURVE | {"power": []}}, "curve points: 3 airflows, 3 pressures and 0 powers. Needed: the same number of each, 3 or more."),
        (Blade, {"curve": CURVE | {"flow": ["0 cfm", "9 cfm", "9 cfm"]}}, 'curve flow: "0 cfm, 9 cfm, 9 cfm" is not accepted. Enter airflows in ascending order.'),
        (Blade, {"curve": CURVE | {"speed": None}}, 'curve speed is missing. Enter the speed of the curve, such as "1075 rpm".'),
        (Site, {"outdoor_temperature": "95 degF", "outdoor_temperature_min": "100 degF"}, "outdoor temperature min: 100 degF is not accepted. Enter a value no higher than the outdoor temperature, 95 degF."),
        (Site, {"heat": "45000 Btu/h", "airflow": "2400 cfm", "coil_temperature_rise": "60 K"}, "coil temperature rise: 60 K is not accepted. Enter a value from 13 to 42 degF, the air temperature rise for 45,000 Btu/h and 2,400 cfm."),
        (Site, {"hazardous": 3.5}, "hazardous: 3.5 is not accepted. Enter plain text, up to 2000 characters."),
        (Site, {"relative_humidity": 0.5}, 'relative humidity: 0.5 has no unit. Enter a relative humidity with its unit (%), such as "50 %".'),
    ],
)  # fmt: skip
def test_contradictions_and_refusals_of_blade_and_site(record, fields, sentence):
    assert refusal(record, **fields) == sentence


def test_the_usual_coil_rise_agrees_with_its_heat_and_airflow():
    """dT [degF] = Btu/h / (1.08 cfm): 45000 at 2400 cfm is 17.4 degF; from memory, recomputed."""
    Site(heat="45000 Btu/h", airflow="2400 cfm", coil_temperature_rise="17.4 degF")


def test_a_blade_seen_from_the_lead_end_turns_the_other_way_from_the_shaft_end():
    assert (
        Blade(rotation="CW", rotation_seen_from="lead end").rotation_shaft_end == "counterclockwise"
    )


def test_a_job_is_saved_whole_and_read_again(tmp_path):
    path = tmp_path / "job.toml"
    job = Job.from_toml(TOML)
    job.save(path)
    job.save(path)
    assert Job.read(path) == job
    assert [file.name for file in tmp_path.iterdir()] == ["job.toml"]


def test_a_save_that_fails_leaves_the_old_file_and_no_draft(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    Job(name="old").save(path)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    sentence = refusal(Job(name="new").save, path)
    assert "No space left on device" in sentence
    assert Job.read(path).name == "old"
    assert [file.name for file in tmp_path.iterdir()] == ["job.toml"]


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions and links")
def test_saving_keeps_permissions_and_follows_links(tmp_path):
    path, link = tmp_path / "job.toml", tmp_path / "link.toml"
    path.write_text("")
    path.chmod(0o640)
    link.symlink_to(path)
    Job(name="new").save(link)
    assert link.is_symlink() and path.stat().st_mode & 0o777 == 0o640
    assert Job.read(path).name == "new"


def test_files_that_cannot_be_read_or_written(tmp_path):
    latin, huge = tmp_path / "latin.toml", tmp_path / "huge.toml"
    latin.write_bytes(b'name = "\xb5"')
    huge.write_bytes(b"#" * (LARGEST_FILE + 1))
    missing = tmp_path / "nowhere" / "job.toml"
    assert "is not UTF-8 text" in refusal(Job.read, latin)
    assert "Use a file of at most 1 MB" in refusal(Job.read, huge)
    assert "not a plain file" in refusal(Job.read, tmp_path)
    assert "cannot be opened. Check the name" in refusal(Job.read, missing)
    assert "cannot be opened. Check the name" in refusal(Job.read, "a\0b")
    assert "cannot be saved. Choose another" in refusal(Job().save, missing)


def test_a_byte_order_mark_and_dos_line_ends_are_read(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TOML.replace("\n", "\r\n").encode())
    assert Job.read(path) == Job.from_toml(TOML)


@given(name=st.text(string.ascii_letters, max_size=12))
def test_an_unknown_field_never_passes(name):
    if name not in Site.names():
        assert "Unknown field" in refusal(Site, **{name or "x": "1 V"})


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


def refusal_of_file(call, *arguments, **fields) -> str:
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
    assert "was changed by someone else" in refusal_of_file(file.ticked, "hub", DAY)
    assert path.read_text() == TEXT + "# somebody else\n"
    assert JobFile.read(path).ticked("hub", DAY).job.ticks.hub == DAY


def test_a_write_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    path.write_text(TEXT)
    file = JobFile.read(path)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    assert "No space left on device" in refusal_of_file(file.ticked, "hub", DAY)
    assert path.read_text() == TEXT and [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_an_unknown_step_and_a_form_that_cannot_be_changed_are_refused(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(TEXT)
    sentence = refusal_of_file(JobFile.read(path).ticked, "hubb", DAY)
    assert sentence.startswith('step: "hubb" is not accepted. Enter "isolation", ')
    dotted = "ticks.hub = 2026-01-02\nname = 'x'\n"
    assert "can't be changed" in refusal_of_file(with_tick, dotted, "hub", None)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[ticks]\nblad = 2026-01-01", 'Unknown ticks field "blad". Did you mean "blade"?'),
        ("[ticks]\nblade = true", "ticks blade: True is not accepted. Enter a date from 1950 to 2149, such as 2026-03-15."),
        ("[ticks]\nblade = 2026-01-01T10:00:00", "ticks blade: 2026-01-01 10:00:00 is not accepted. Enter a date from 1950 to 2149, such as 2026-03-15."),
        ("[dates]\ninstalled = '2026-02-30'", 'dates installed: "2026-02-30" is not accepted. Enter a date from 1950 to 2149, such as 2026-03-15, or a month, such as 2026-03.'),
        ("[dates]\ninstalled = '3/4/2026'", 'dates installed: "3/4/2026" could mean two different dates. Enter 2026-03-04 or 2026-04-03.'),
        ("[dates]\ninstalled = 0026-01-01", "dates installed: 0026-01-01 is not accepted. Enter a date from 1950 to 2149, such as 2026-03-15, or a month, such as 2026-03."),
        ("[dates]\ninstalled = 2026-01-01\nmanufactured = '2026-02'", "dates installed: 2026-01-01 is not accepted. Enter the manufacturing date, 2026-02, or a later date."),
        ("[dates]\nwarranty_ends = 'soon'", 'dates warranty ends: "soon" is not accepted. Enter "first" or "last".'),
        ("[found]\nwinding = 'molten'", 'found winding: "molten" is not accepted. Enter "good", "open winding", "shorted turns" or "grounded".'),
        ("[found]\ncapacitor = '-1 uF'", 'found capacitor: "-1 uF" is not accepted. Enter a value from 0 to 1,000 uF.'),
        ("[found]\ncapacitor = '5 uF'\ncapacitor_fault = 'open'", "found capacitor fault: both a fault (open) and a reading (5 uF) are given. Needed: either a capacitor reading or a fault."),
    ],
)  # fmt: skip
def test_what_cannot_be_read_gets_one_sentence(text, sentence):
    assert refusal_of_file(Job.from_toml, text) == sentence


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
    assert "a date from" in refusal_of_file(Ticks, hub=datetime(2026, 1, 1, 10))
