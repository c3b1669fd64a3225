"""Calls: what is read, refused and shared; needs matched as single jobs are."""

import subprocess
import sys

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.model.conditions import site_conditions
from airover.model.simulation import SAMPLES
from airover.records.calls import read_calls
from airover.records.catalog import read_catalog
from airover.reports.counter import counter_page, counter_rows, write_counter_list
from airover.selection.answer import counter_list
from airover.selection.batches import ready
from airover.selection.cover import match
from airover.selection.rules import DOES_NOT_FIT, RULES, apply_rules, compared
from tests.jobs import MOTOR, job, motor
from tests.markdown import ROOT

ENGLISH = Writer("en")

SAMPLE = data_folder() / "calls" / "calls.csv"
HEAD = "date,voltage [V],frequency [Hz],power [hp],current [A],speed [rpm]\n"
ROW = "2024-07-01,208-230,60,1/3,1.9,1075\n"


@pytest.fixture(scope="module")
def calls():
    return read_calls(SAMPLE)


@pytest.fixture(scope="module")
def catalog():
    return read_catalog(data_folder() / "catalogue.csv")


def written(folder, text):
    path = folder / "calls.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_sample_is_what_its_script_makes(tmp_path):
    script = tmp_path / "make_calls.py"
    script.write_bytes((ROOT / "data" / "calls" / "make_calls.py").read_bytes())
    subprocess.run([sys.executable, script], check=True)
    for name in ("calls.csv", "one-truck.csv"):
        assert (tmp_path / name).read_bytes() == SAMPLE.with_name(name).read_bytes()


def test_the_sample_has_gaps_and_equal_needs(calls):
    assert len(calls) == 5000
    assert 1000 < len(calls.needs) < 2500
    assert calls.counts.sum() == 5000
    incomplete = [need.nameplate.power is None for need in calls.needs]
    assert 0.02 < np.mean(incomplete) < 0.3
    assert SAMPLE.stat().st_size < 600_000


def test_amounts_are_read_as_in_a_job(tmp_path):
    found = read_calls(written(tmp_path, HEAD + ROW + ROW))
    plate = found.needs[0].nameplate
    assert plate.voltage.low == 208 and plate.voltage.high == 230
    assert plate.power.mid == pytest.approx(745.7 / 3, rel=1e-4)
    assert len(found) == 2 and len(found.needs) == 1
    assert str(found.days[0]) == "2024-07-01"


def test_a_cell_may_tell_its_own_unit(tmp_path):
    found = read_calls(written(tmp_path, "date,power,Line Voltage\n2024-07-01,250 W,236 V\n"))
    assert found.needs[0].nameplate.power.mid == 250
    assert found.needs[0].site.voltage.mid == 236


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("day,power [hp]\n2024-07-01,1/3\n", "calls heading"),
        ("power [hp]\n1/3\n", "calls heading"),
        ("date,power [hp],Power [W]\n2024-07-01,1/3,250\n", "calls heading"),
        (HEAD, "calls file"),
        (HEAD + "2024-13-01,208-230,60,1/3,1.9,1075\n", "calls line 2, date"),
        (HEAD + ROW + "2024-07-01,208-230,60,1/3,1.9,9000\n", "calls line 3, speed"),
        (HEAD + "2024-07-01,230\n", "calls line 2"),
    ],
)
def test_what_cannot_be_read_is_told_by_line_and_field(tmp_path, text, field):
    with pytest.raises(InputError) as error:
        read_calls(written(tmp_path, text))
    assert str(error.value).startswith(f"{field}: ")


def test_a_list_of_plates_needs_no_dates(tmp_path):
    path = written(tmp_path, "power [hp],speed [rpm]\n1/3,1075\n")
    assert np.isnat(read_calls(path, dated=False).days).all()
    with pytest.raises(InputError):
        read_calls(path)


def test_parquet_tells_the_same_as_csv(tmp_path, calls):
    arrow = pytest.importorskip("pyarrow.csv")
    parquet = pytest.importorskip("pyarrow.parquet")
    parquet.write_table(arrow.read_csv(SAMPLE), tmp_path / "calls.parquet")
    found = read_calls(tmp_path / "calls.parquet")
    assert (found.days == calls.days).all() and (found.need == calls.need).all()
    (tmp_path / "bad.parquet").write_bytes(b"PAR1 and no more")
    with pytest.raises(InputError):
        read_calls(tmp_path / "bad.parquet")


def test_a_rule_looks_at_plain_facts_or_at_samples():
    """Matching fills plain facts and counts samples: a rule of neither kind would be left out."""
    at = compared(job(), (MOTOR,), site_conditions(job(), 20), 20, 0)
    judged = apply_rules(at)
    for rule in RULES:
        stops = "fail" in rule.states.values()
        if stops and rule.needs is None and rule.name not in ("horsepower", "catalog's plate"):
            samples = judged.of(rule.name).passes
            assert samples is not None and samples.shape == (1, 20), rule.name


def single(need, motors):
    """Verdicts of one job compared alone, and the samples in which each motor would do."""
    judged = apply_rules(compared(need, motors, site_conditions(need, SAMPLES), SAMPLES, 0))
    return judged.verdict, judged.passes


def test_many_jobs_are_matched_as_single_ones_are(calls, catalog):
    """Six random needs among others: the same verdict for each motor, the same samples."""
    rng = np.random.default_rng(5)
    numbers = rng.choice(len(calls.needs), 20, replace=False)
    needs, motors = [calls.needs[at] for at in numbers], catalog[::3]
    matched = match(needs, motors)
    looked_at = [at for at in range(len(needs)) if at not in matched.refused][:6]
    batches = {number: (left, at) for number, left, at in ready(needs, motors).simulated()}
    fitting = 0
    for number in looked_at:
        verdict, passes = single(needs[number], motors)
        np.testing.assert_array_equal(matched.verdict[number], verdict)
        fitting += np.sum(verdict < 2)
        if number in batches:
            left, at = batches[number]
            fits = verdict[left] < 2
            np.testing.assert_array_equal(apply_rules(at).passes[fits], passes[left][fits])
    assert fitting > 10


def test_a_motor_that_does_not_fit_does_in_no_draw():
    motors = (MOTOR, motor(model="weak", ratings=(100.0,), currents=(1.9,)))
    matched = match([job()], motors)
    assert matched.chance[0, 0] > 0.8 and matched.chance[0, 1] == 0
    assert matched.verdict.tolist() == [[0, 2]]


def test_a_limit_that_the_catalog_does_not_tell_is_no_pass():
    matched = match([job()], (motor(insulation_class=None),))
    assert matched.verdict[0, 0] == 1 and matched.chance[0, 0] == 0


def test_gaps_are_filled_from_calls_alike():
    """Three in four calls have short shafts: so does a call that does not tell its own."""
    short, long = job(), job(nameplate__shaft_length="9 in")
    unknown = job(nameplate__shaft_length=None)
    matched = match([short, long, unknown], (MOTOR,), counts=[30, 10, 1], samples=200)
    assert matched.chance[1, 0] == 0
    assert 0.62 * matched.chance[0, 0] < matched.chance[2, 0] < 0.88 * matched.chance[0, 0]


def test_what_is_outside_the_method_is_refused_and_the_rest_goes_on():
    matched = match([job(nameplate__phase=3), job()], (MOTOR,))
    assert list(matched.refused) == [0] and "phase" in str(matched.refused[0])
    assert not matched.passes[0].any() and matched.passes[1].any()


def test_a_cross_reference_tells_what_to_adapt_and_what_to_find_out(tmp_path):
    needs = [job(nameplate__capacitor="5 uF"), job(nameplate__shaft_length=None),
             job(nameplate__frame="56")]  # fmt: skip
    entries = counter_list(needs, (MOTOR,))
    first, second, third = (entry.fitting for entry in entries)
    assert first and second and third == ()
    capacitor, shaft, none = (counter_rows([entry], Writer())[0] for entry in entries)
    assert "7.5 uF" in capacitor["adapt"] and "shaft" in shaft["find out"]
    assert none["verdict"] == DOES_NOT_FIT
    (spanish,) = counter_rows(entries[:1], Writer("es", "SI"))
    assert spanish["verdict"] == "sirve con adaptaciones" and " W" in spanish["rating"]
    with pytest.raises(InputError):
        counter_list([], (MOTOR,))


def test_no_typed_text_is_worked_by_a_spreadsheet_or_a_browser(tmp_path):
    sly = job(nameplate__kind="<script>1</script>", nameplate__frame="48")
    entries = counter_list([sly], (motor(maker="=1+1", model="x"),))
    write_counter_list(entries, tmp_path, Writer())
    assert "<script>" not in counter_page(entries, Writer())
    assert ",'=1+1 x," in (tmp_path / "counter.csv").read_text(encoding="utf-8")


def test_a_printed_page_asks_nothing_from_outside(tmp_path):
    page = counter_page(counter_list([job()], (MOTOR,)), Writer())
    assert "@page" in page and "http" not in page and "src=" not in page
