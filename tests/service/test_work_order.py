"""Work orders: every step with this job's numbers, what is unknown as a line, page and command."""

import html
import json
import re
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from airover.app.cli import BAD_INPUT, FITS, NOTHING_FITS, main
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import LANGUAGES, Writer
from airover.records.catalog import read_catalog
from airover.records.fields import Dates
from airover.records.job import Job, Ticks
from airover.reports.order import order_dict, order_html, order_text, write_order
from airover.selection.answer import answer
from airover.selection.check import ADAPT, MISSING
from airover.service.order import work_order
from tests.jobs import job, motor

JOBS = data_folder() / "jobs"
MOTORS = read_catalog(data_folder() / "catalogue.csv")


SAY = Writer()


def order_of(asked=None, one=None):
    """The order for one motor that fits the ordinary job."""
    return work_order(answer(asked or job(), (one or motor(),)))


def step(order, key):
    return next(one for one in order.steps if one.key == key)


def said(order, key, say=SAY) -> str:
    """All that a step says."""
    one = step(order, key)
    lines = [
        f"{say(blank.what)} {blank.expected and say.value(blank.expected)}" for blank in one.write
    ]
    return " ".join([say(one.title), say(one.why), *map(say.value, one.do), *lines])


def lines(order, key) -> set[str]:
    """What is to be written down at a step."""
    return {SAY(blank.what) for blank in step(order, key).write}


@pytest.fixture(scope="module")
def roof():
    return work_order(answer(Job.read(JOBS / "roof-unit.toml"), MOTORS))


@pytest.fixture(scope="module")
def half():
    return work_order(answer(Job.read(JOBS / "half-plate.toml"), MOTORS))


def test_the_steps_are_those_that_can_be_ticked_in_their_order(roof):
    assert [one.key for one in roof.steps] == Ticks.names()
    keys = [one.key for one in roof.steps]
    in_order = (
        "isolation", "discharge", "blade_height", "hub", "mounting", "guard", "first_start", "warm",
    )  # fmt: skip
    places = [keys.index(key) for key in in_order]
    assert all(earlier < later for earlier, later in pairwise(places))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_step_has_a_reason_and_something_to_do(roof, half, language):
    say = Writer(language)
    for one in (*order_dict(roof, say)["steps"], *order_dict(half, say)["steps"]):
        assert one["title"] and one["why"].endswith(".") and one["do"]
        assert all(sentence.endswith(".") for sentence in one["do"]), one["key"]
        assert len({blank["what"] for blank in one["write"]}) == len(one["write"])


def test_the_roof_units_own_numbers(roof):
    case = roof.candidate.case
    low, _, high = case.current
    assert "2 1/4 in" in said(roof, "blade_height")
    assert "22 in, 3 blades" in said(roof, "blade")
    assert f"{low:.2f} to {high:.2f} A at 236 V" in said(roof, "first_start")
    assert "187 to 253 V" in said(roof, "first_start")
    assert f"{1.1 * case.rated_current:.2f} A" in said(roof, "first_start")
    # counterclockwise seen from the lead end is clockwise from the shaft end
    assert "clockwise viewed from the shaft end (counterclockwise" in said(roof, "rotation")
    assert "7.5 uF" in said(roof, "capacitor") and "370 V" in said(roof, "capacitor")
    watts = case.band("power_in_w")
    assert f"{watts.low:.0f} to {watts.high:.0f}" in said(roof, "warm")
    assert all(f"exposed to {one}" in said(roof, "slinger") for one in ("rain", "dust"))


def test_the_unbalance_is_that_of_iso_21940(roof):
    # m e w^2 at 1103 rpm with 3.5 lb: 1.5876 kg x 6.3 mm/s x 115.5 rad/s = 1.155 N, G 16: 2.93 N
    assert roof.candidate.case.speed_rpm.mid == pytest.approx(1103, abs=3)
    text = said(roof, "blade", Writer("en", "SI"))
    assert (
        "1.2 N load on the bearing if the fan is well balanced (G 6.3) and a 2.9 N load at G 16"
        in text
    )


def test_the_capacitors_amps_and_the_ohms_are_those_of_their_formulas(roof):
    # 2652 I/V at 60 Hz gives the microfarads back, common practice; k + t of copper, IEC 60034-1
    expected = {blank.what.key: blank.expected for blank in step(roof, "warm").write}
    volts, amps = (expected[f"order.warm.{name}"].value for name in ("across", "carried"))
    for v, a in zip(volts, amps, strict=True):
        assert 2652 * a / v == pytest.approx(7.5, rel=0.001)
    assert f"{(235 + 125) / (235 + 25):.2f}" in said(roof, "warm")  # class B at 125 degC, 257 degF


@pytest.mark.parametrize(
    ("position", "out", "stays"),
    [("up", "lead end", "shaft end"), ("down", "shaft end", "lead end")],
)
def test_the_plug_at_the_low_end_comes_out(position, out, stays):
    order = order_of(job(nameplate__shaft_position=position))
    text = said(order, "drains")
    assert f"Remove the plug at the {out}." in text
    assert f"Leave the plug at the {stays} in, because that end is on top." in text
    assert f"emove the plug at the {stays}" not in text


def test_level_and_unknown_shafts_and_their_plugs():
    level = said(order_of(job(nameplate__shaft_position="horizontal")), "drains")
    assert "straight down" in level and "Leave all other plugs in" in level
    unknown = order_of(job(nameplate__shaft_position=None))
    assert "Shaft direction (up, down or horizontal)" in lines(unknown, "drains")
    assert "Shaft up:" in said(unknown, "slinger") and "Shaft down:" in said(unknown, "slinger")


def test_a_long_shaft_is_cut_by_the_difference():
    order = order_of(one=motor(shaft_length=0.1524))  # 6 in against 5 in
    assert "Cut about 1 in off the shaft" in said(order, "shaft")
    assert "not need to be cut" in said(order_of(), "shaft")
    short = order_of(job(nameplate__shaft_length=None))
    assert lines(short, "shaft") == {
        "Old shaft, from the face of the shell",
        "New shaft, from the face of the shell",
    }


def test_rotation_that_is_fixed_reversible_or_unknown():
    fixed = motor(rotation="clockwise", rotation_seen_from="shaft end")
    assert "no reversing plug" in said(order_of(one=fixed), "rotation")
    assert "unplug the reversing plug" in said(order_of(), "rotation")
    unknown = order_of(job(nameplate__rotation_seen_from=None))
    assert "not the end it is viewed from" in said(unknown, "rotation")
    assert "Rotation" in lines(unknown, "rotation")


@pytest.mark.parametrize(
    ("held", "words"),
    [
        ("shell holes", "longer than the old ones"),
        ("through-bolts", "Never loosen the nuts"),
        ("belly band", "drain holes"),
    ],
)
def test_each_way_of_mounting_has_its_care(held, words):
    one = motor(mounting=("shell holes", "through-bolts", "belly band"))
    text = said(order_of(job(nameplate__mounting=held), one), "mounting")
    assert words in text and held in text


def test_only_the_band_of_an_open_motor_keeps_clear_of_ventilation_openings():
    for enclosure, vents in (("open air over", True), ("totally enclosed air over", False)):
        one = motor(mounting=("belly band",), enclosure=enclosure)
        old = job(nameplate__mounting="belly band", nameplate__enclosure=enclosure)
        text = said(order_of(old, one), "mounting")
        assert "Clamp the belly band" in text and ("ventilation openings" in text) is vents


def test_a_belly_band_where_the_old_way_is_not_offered():
    one = motor(mounting=("belly band",))
    text = said(order_of(job(nameplate__mounting="through-bolts"), one), "mounting")
    assert "Mount the motor: belly band" in text and "does not have through-bolts" in text


def test_a_size_that_is_not_listed_is_measured():
    assert lines(order_of(), "hub") == lines(order_of(), "mounting") == set()
    assert lines(order_of(one=motor(shaft_diameter=None)), "hub") == {"New shaft diameter"}
    assert lines(order_of(job(nameplate__shaft_diameter=None)), "hub") == {"Hub bore"}


def test_an_unknown_mounting_is_noted_and_every_way_is_explained():
    order = order_of(job(nameplate__mounting=None))
    assert lines(order, "mounting") == {"Mounting of the old motor"}
    assert SAY(step(order, "mounting").title) == "Mount the motor the same way as the old one"
    text = said(order, "mounting")
    assert "holes in its shell" in text and "Never loosen the nuts" in text
    unlisted = order_of(one=motor(mounting=()))
    assert "does not list the mounting" in said(unlisted, "mounting")


def test_the_warm_readings_are_expected_on_the_design_day(roof):
    (air,) = (one for one in step(roof, "warm").write if SAY(one.what) == "Air at the motor")
    found = SAY.amount(roof.answer.needed["temp_at_motor_c"], "air_temperature")
    assert SAY.value(air.expected) == f"{found} on the design day" and not air.unit


def test_nothing_to_adapt_or_to_find_out_is_lost():
    """Every open check of every motor that may fit is in its order, in words or as a line."""
    for name in ("roof-unit", "half-plate"):
        found = answer(Job.read(JOBS / f"{name}.toml"), MOTORS)
        for one in found.fitting:
            order = work_order(found, one.case.motor.name)
            text = " ".join(said(order, key) for key in Ticks.names())
            for check in one.having(MISSING):
                assert SAY.value(check.why) in text
            adapted = {check.name for check in one.having(ADAPT)}
            if "capacitor" in adapted:
                assert SAY.amount(one.case.motor.capacitor, "capacitance") in text
            if "shaft length" in adapted:
                assert "off the shaft" in text
            for check in one.having(ADAPT):
                if check.name in ("frame", "mounting", "body length"):
                    assert SAY.value(check.why) in text


def test_what_is_unknown_becomes_a_line(half):
    everything = set().union(*(lines(half, one.key) for one in half.steps))
    assert {"Mounting", "Shaft length", "Blade depth in the shroud", "Rotation"} <= everything
    assert "No findings on the old motor" in said(half, "cause")
    assert "ost likely cause" not in said(half, "cause")


def test_what_was_found_is_corrected_first(roof):
    assert "Most likely cause: bearings worn out" in said(roof, "cause")
    assert "drain plug" in said(roof, "cause")


def test_a_capacitor_whose_volts_do_not_do_is_asked_for_higher():
    """A fan of 1/4 hp on 253 V lets the motor run fast: more volts than 370 and 10 % across it."""
    order = order_of(job(nameplate__power="1/4 hp", site__voltage="253 V"))
    assert order.candidate.case.band("capacitor_v").mid > 1.1 * 370
    assert "7.5 uF, 440 V or higher" in SAY(step(order, "capacitor").title)


@pytest.mark.parametrize(
    ("marked", "words"),
    [
        (
            "45/7.5 uF",
            "Replace it with a new dual capacitor with the same two values, 45 uF and 7.5 uF",
        ),
        (
            "45+5",
            "This motor needs 7.5 uF, not the 5 uF of the FAN section. Install a separate run",
        ),
    ],
)
def test_a_dual_capacitor_stays_with_the_compressor(marked, words):
    """The smaller section is the fan motor's, the larger the compressor's: common practice."""
    order = order_of(job(nameplate__capacitor=marked))
    text = said(order, "capacitor")
    assert words in text
    assert f"The old capacitor is a dual capacitor marked {marked}" in text
    assert "leave the compressor's wires on HERM and C (45 uF)" in text
    assert "Never remove or discard a dual capacitor" in text and "in parallel" in text
    assert "reuse" not in text
    both = {"Old capacitor, FAN to C", "Old capacitor, HERM to C"}
    assert lines(order, "discharge") == both
    assert "C to FAN, C to HERM and FAN to HERM" in said(order, "discharge")
    assert any(
        "Never remove or discard a dual" in one for one in order_dict(order, SAY)["cautions"]
    )


@pytest.mark.parametrize("marked", ["7.5 uF", None])
def test_an_old_capacitor_of_one_value_may_still_be_a_dual_one(marked):
    """A motor's nameplate names its own microfarads, whatever can they come from."""
    text = said(order_of(job(nameplate__capacitor=marked)), "capacitor")
    assert "If the old motor used the FAN section of a dual capacitor" in text
    assert "do not remove or discard the dual capacitor" in text


def test_leads_go_by_the_diagram_and_not_by_color():
    text = said(order_of(), "leads")
    assert "new motor's wiring diagram" in text and "colors are not standard" in text
    assert "Four leads:" in text and "Three leads:" in text
    assert not re.search(
        r"\b(black|brown|white|yellow|purple|orange|red|blue|green)\b", text, re.IGNORECASE
    )


def test_warranty_stands_in_the_last_step():
    one = motor(warranty_from_installation=12.0, warranty_from_manufacture=18.0)
    dates = Dates(manufactured="2025-10-31", installed="2026-02-28")
    asked = job().model_copy(update={"dates": dates})
    order = order_of(asked, one)
    text = "Covered through February 28, 2027."
    assert text in said(order, "handover")
    assert order_dict(order, SAY)["warranty"]["last"] == {
        "first": "2027-02-28",
        "last": "2027-02-28",
    }


def test_a_motor_by_name_or_model_in_any_letters():
    found = answer(Job.read(JOBS / "roof-unit.toml"), MOTORS)
    second = found.fitting[1].case.motor
    for name in (second.name, second.name.upper(), f" {second.model} "):
        assert work_order(found, name).candidate.case.motor == second
    with pytest.raises(InputError, match='"demo-X" is not accepted. Enter "Demo A-005", '):
        work_order(found, "demo-X")
    wrong = next(c for c in found.candidates if c.verdict == "does not fit").case.motor
    with pytest.raises(InputError, match="does not fit"):
        work_order(found, wrong.name)


def test_no_order_where_nothing_fits():
    found = answer(Job.read(JOBS / "hot-court.toml"), MOTORS[:20])
    with pytest.raises(InputError, match="no motor that fits"):
        work_order(found)


# On paper


class Page(HTMLParser):
    """Collects what a page asks from elsewhere, and whether its tags close."""

    def __init__(self):
        super().__init__()
        self.asked, self.open, self.tags = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.asked += [
            value for name, value in attrs if name in ("src", "href", "srcset", "action")
        ]
        if tag not in ("meta", "input"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_page_is_whole_escaped_and_asks_nothing_from_outside():
    hostile = '</style><script>alert("x")</script>&<b>'
    asked = job().model_copy(
        update={"name": hostile, "customer": job().customer.model_copy(update={"name": hostile})}
    )
    text = order_html(order_of(asked, motor(model="<i>1</i>")), SAY)
    page = Page()
    page.feed(text)
    assert page.open == [] and page.asked == []
    assert not {"i", "link", "img", "iframe"} & set(page.tags)
    assert page.tags.count("script") == 1  # the page's own, which keeps the ticks
    assert not re.search(r"https?:|url\(|@import|fetch\(", text)
    assert "&lt;script&gt;" in text and "@page" in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_text_page_and_json_tell_the_same_steps(roof, tmp_path, language):
    say = Writer(language)
    text, page = order_text(roof, say), html.unescape(order_html(roof, say))
    told = json.loads(json.dumps(order_dict(roof, say), allow_nan=False))
    flat, page = " ".join(text.split()), " ".join(page.split())
    for one in told["steps"]:
        for sentence in (one["title"], one["why"], *one["do"]):
            assert sentence in flat and sentence in page
        for blank in one["write"]:
            assert blank["what"] in flat and blank["what"] in page
            assert blank["expected"] in flat and blank["expected"] in page
    assert max(map(len, text.splitlines())) <= 100
    for word in ("fict", f'lang="{language}"'):
        assert word in page
    paths = write_order(roof, tmp_path / "a" / "b", say)
    assert [path.suffix for path in paths] == [".html", ".txt", ".json"]
    assert paths[1].read_text(encoding="utf-8") == text


def test_an_order_in_spanish(roof, half):
    say = Writer("es", "SI")
    assert "Quite el tapón del lado de la flecha." in said(roof, "drains", say)
    assert "Debe girar en sentido horario" in said(roof, "rotation", say)
    text = order_text(roof, say) + order_text(half, say)
    assert not re.findall(r"\b(?:the|and|with|from|not|is|are|it|of|by)\b", text)


def test_both_systems_of_units():
    us, si = (order_text(order_of(), Writer("en", system)) for system in ("US", "SI"))
    assert "degF" in us
    typed = "105 degF"
    assert "degF" not in si.replace(typed, "")


def test_ticks_are_shown():
    ticks = Ticks(isolation=date(2026, 3, 1))
    order = order_of(job().model_copy(update={"ticks": ticks}))
    assert order.done == 1
    assert "1. [x] 2026-03-01 Shut off" in order_text(order, SAY)
    assert "2. [ ] Discharge" in order_text(order, SAY)
    assert "2026-03-01" in order_html(order, SAY)
    assert order_dict(order, SAY)["steps"][0]["done"] == "2026-03-01"


# The commands


def test_the_command_writes_ticks_and_a_page(tmp_path, capsys):
    path = tmp_path / "job.toml"
    content = (JOBS / "roof-unit.toml").read_bytes()
    path.write_bytes(content)
    out = tmp_path / "out"
    tick = ["--tick", "isolation", "--date", "2026-03-01", "--out", str(out)]
    assert main(["order", str(path), *tick]) == FITS
    assert "1. [x] 2026-03-01" in capsys.readouterr().out
    assert path.read_bytes() == content + b"\n[ticks]\nisolation = 2026-03-01\n"
    assert "2026-03-01" in (out / "work-order.html").read_text(encoding="utf-8")
    assert main(["order", str(path), "--json", "--motor", "demo c-016"]) == FITS
    told = json.loads(capsys.readouterr().out)
    assert told["motor"] == "Demo C-016" and told["steps"][0]["done"] == "2026-03-01"
    assert main(["order", str(path), "--language", "es"]) == FITS
    assert "Orden de trabajo: Roof unit" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["order", "hot-court"], NOTHING_FITS, "None of the 213 motors fits"),
        (["order", "roof-unit", "--motor", "demo-A00"], BAD_INPUT, "motor:"),
        (["order", "roof-unit", "--tick", "isolate"], BAD_INPUT, "step:"),
        (["order", "roof-unit", "--tick", "hub", "--date", "yesterday"], BAD_INPUT, "date:"),
        (["cause", "half-plate"], BAD_INPUT, "found is missing"),
    ],
)
def test_what_the_commands_refuse(arguments, code, words, capsys, tmp_path):
    verb, name, *others = arguments
    path = tmp_path / "job.toml"
    path.write_bytes((JOBS / f"{name}.toml").read_bytes())
    assert main([verb, str(path), *others]) == code
    printed = capsys.readouterr()
    assert printed.out == "" and words in printed.err and "Traceback" not in printed.err
    assert path.read_bytes() == (JOBS / f"{name}.toml").read_bytes()


def test_the_command_for_causes(capsys, tmp_path):
    path = str(JOBS / "hot-court.toml")
    assert main(["cause", path]) == FITS
    assert "Most likely cause: air at the motor too hot" in capsys.readouterr().out
    own = tmp_path / "mine.toml"
    own.write_text((data_folder() / "causes.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["cause", path, "--json", "--causes", str(own)]) == FITS
    assert json.loads(capsys.readouterr().out)["causes"][0]["key"] == "hot_air"
