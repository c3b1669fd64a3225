"""Cases of a replacement: the best choice, what a wrong one would have done, readings, words."""

import math
import re

import numpy as np
import pytest

from airover.app.lesson_case_panel import ASKED, LessonCasePanel
from airover.business.life_cost import life_cost
from airover.core.errors import InputError
from airover.core.files import LANGUAGES as ALL
from airover.core.files import data_folder
from airover.core.texts import Texts
from airover.lesson.case import (
    BEFORE,
    HOT,
    LEFT,
    NOT_THERE,
    OPEN,
    PAPER,
    RATED,
    RIGHT,
    START,
    UNDONE,
    UNREADABLE,
    WELL,
    WHEN,
    WORK,
    Lesson,
    graded,
)
from airover.lesson.case_shown import Told, lesson_notes
from airover.model.motor import Load, Motor
from airover.model.simulation import USUAL
from airover.records.catalog import read_catalog
from airover.records.lesson import case_of, read_case, read_cases
from airover.selection.answer import answer
from airover.selection.check import FAIL
from airover.selection.rules import DOES_NOT_FIT, RULES

FOLDER = data_folder() / "lesson" / "cases"
CASES = read_cases(FOLDER)
KEYS = [case.key for case in CASES]
EXPECTED = {
    "1-side-yard": {"Demo C-020"},
    "2-weathered-plate": {"Demo A-016"},
    "3-high-roof": {"Demo B-009"},
}


@pytest.fixture(scope="module")
def catalog():
    return read_catalog(data_folder() / "catalogue.csv")


@pytest.fixture(scope="module")
def lessons(catalog):
    return {case.key: Lesson.of(case, catalog) for case in CASES}


@pytest.fixture(scope="module")
def panel():
    return LessonCasePanel()


def test_three_cases_of_rising_difficulty_in_all_languages():
    assert [case.level for case in CASES] == [1, 2, 3]
    assert all(case.job.invented for case in CASES)
    for case in CASES:
        assert set(case.stories) == set(ALL)
        stories = [case.stories[language] for language in ALL]
        assert len({one.story for one in stories}) == len(stories)
        assert len({(len(one.hints), len(one.watch)) for one in stories}) == 1


@pytest.mark.parametrize("case", CASES, ids=KEYS)
def test_what_a_plate_says_stands_on_it_or_in_the_story(case):
    """A reading that is graded as right can be found; amounts by their number."""
    for language in ALL:
        told = " ".join([*case.plate, case.stories[language].story])
        for known in case.readable.values():
            if hasattr(known, "text"):
                assert known.text.split(" ")[0] in told, known
    assert any(known is None for known in case.readable.values()) == (case.level > 1)


@pytest.mark.parametrize("key", KEYS)
def test_the_kit_itself_judges_which_choice_is_best(lessons, key):
    lesson = lessons[key]
    best = {candidate.case.motor.name for candidate in lesson.best}
    assert best == EXPECTED[key] < set(lesson.case.motors)
    others = [c for c in lesson.answer.candidates if c not in lesson.best]
    assert all(
        c.verdict == DOES_NOT_FIT or len(c.reasons) > len(lesson.best[0].reasons) for c in others
    )
    assert sum(c.verdict == DOES_NOT_FIT for c in others) >= 4


@pytest.mark.parametrize("key", KEYS)
def test_each_wrong_choice_has_a_told_consequence_in_each_language(lessons, key):
    lesson = lessons[key]
    tongues = [Told(language, "SI") for language in ALL]
    for outcome in map(lesson.choose, lesson.case.motors):
        for told in tongues:
            found = told.of(outcome)
            assert found.verdict and found.decides
            sentences = [one for _, many in found.happened for one in many]
            assert len(sentences) == len(found.outcome.candidate.having(FAIL))
            everything = (*sentences, *found.figures, *found.works, *found.open, *found.compared)
            for one in everything:
                assert one[-1] == "." and "None" not in one and not re.search(r"\bnan\b", one)
            assert any(re.search(r"\d", one) for one in found.figures)


@pytest.mark.parametrize("key", KEYS)
def test_figures_are_those_of_a_job_answered_with_that_motor_alone(lessons, key):
    lesson = lessons[key]
    for motor in lesson.motors[:3]:  # warming stops within 0.01 K, of one motor or of eight
        (alone,) = answer(lesson.case.job, [motor], thorough=True).candidates
        outcome = lesson.choose(motor.name)
        assert np.allclose(outcome.case.current, alone.case.current, rtol=1e-5)
        assert np.allclose(outcome.ladder["winding"], alone.case.winding, atol=0.01)
        assert [c.state for c in outcome.candidate.checks] == [c.state for c in alone.checks]


def test_money_is_that_of_the_life_cost(lessons):
    lesson = lessons["1-side-yard"]
    for cost in life_cost(lesson.answer).costs:
        outcome = lesson.choose(cost.name)
        assert math.isclose(outcome.cost.mean, cost.mean)
        assert np.allclose(outcome.lives["bearing"], cost.yearly.lives["bearing"], rtol=1e-4)


def test_an_old_capacitor_is_worked_as_the_motor_panel_works_it(lessons):
    outcome = lessons["1-side-yard"].choose("Demo C-003")
    simulation, kept = outcome.case.simulation, outcome.kept
    motor = Motor.from_catalog(outcome.case.motor, simulation.samples).with_capacitor(7.5e-6)
    run = motor.run(Load.of(simulation.conditions), simulation.conditions.voltage[USUAL])
    assert kept.winding == run.first_bands()["temp_winding_c"]
    assert abs(kept.winding.mid - outcome.case.winding.mid) > 1  # another capacitor, another heat
    assert lessons["1-side-yard"].choose("Demo C-020").kept is None


def test_moments_cover_every_check_that_can_fail_once(lessons):
    names = [name for many in WHEN.values() for name in many]
    assert len(names) == len(set(names))
    assert set(names) == {rule.name for rule in RULES if FAIL in rule.states.values()}
    english = Texts("en").texts
    happens = {key.rpartition("happens.")[2] for key in english if ".happens." in key}
    assert set(names) == happens
    for lesson in lessons.values():
        for candidate in lesson.answer.candidates:
            failed = lesson.choose(candidate.case.motor.name).failed
            assert len(failed) == len(candidate.having(FAIL))


@pytest.mark.parametrize("key", KEYS)
def test_each_case_shows_a_motor_that_fails_at_each_kind_of_moment(lessons, key):
    """In the hand, at the first start, on the hottest days, and on paper alone."""
    outcomes = map(lessons[key].choose, lessons[key].case.motors)
    moments = {when for outcome in outcomes for when, _ in outcome.failed}
    assert {BEFORE, START, HOT} < moments and moments & {RATED, PAPER}


@pytest.mark.parametrize("name, check", [("C-022", "rotation"), ("C-032", "voltage")])
def test_what_is_found_out_at_the_first_start(lessons, name, check):
    outcome = lessons["1-side-yard"].choose(f"Demo {name}")
    assert outcome.when == START and outcome.failed[0][1].name == check
    assert not outcome.is_best and outcome.candidate.verdict == DOES_NOT_FIT


@pytest.mark.parametrize("key", KEYS)
def test_the_earliest_moment_decides(lessons, key):
    moments = list(WHEN)
    for outcome in map(lessons[key].choose, lessons[key].case.motors):
        found = [moments.index(when) for when, _ in outcome.failed]
        assert found == sorted(found)
        assert (outcome.candidate.verdict == DOES_NOT_FIT) == bool(found)
        if found:
            assert outcome.when == moments[found[0]]


def test_a_motor_of_far_more_power_is_against_the_rule_only(lessons):
    """1/2 hp in place of 1/4 hp runs well: what is wrong stands on paper."""
    failed = [
        (when, check.name) for when, check in lessons["1-side-yard"].choose("Demo C-022").failed
    ]
    assert (PAPER, "horsepower") in failed


def test_the_right_motor_with_its_work_is_well_and_without_undone(lessons):
    lesson = lessons["1-side-yard"]
    name = "Demo C-020"
    assert lesson.choose(name).when == UNDONE
    needed = lesson.choose(name).needed
    whole = lesson.choose(name, needed)
    assert whole.when == WELL and whole.is_best and not whole.unneeded
    assert set(lesson.choose(name, WORK).unneeded) == set(WORK) - set(needed) != set()


def test_a_motor_that_may_not_come_up_to_speed_has_no_years(lessons):
    outcome = lessons["1-side-yard"].choose("Demo C-043")
    assert outcome.stalls > 0.5 and outcome.lives == {} and outcome.hours_above is None


def test_a_motor_for_460_volts_crawls_on_230_and_has_no_years(lessons):
    """At half the volts a motor has a quarter of its torque."""
    outcome = lessons["1-side-yard"].choose("Demo C-032")
    assert outcome.case.speed_rpm.mid < 850 and outcome.case.current.mid < 0.75
    assert outcome.stalls > 0.5 and not outcome.runs_up and outcome.lives == {}
    (_, (said,)) = Told("en").of(outcome).happened[0]
    assert "414" in said and "torque falls with the square of the voltage" in said


def test_readings_are_graded_in_any_unit_and_empty_ones_too():
    case = next(case for case in CASES if case.level == 2)
    typed = {"voltage": "208-230 V", "current": "1400 mA", "power": "1/4 hp", "speed": "fast"}
    typed |= {"shaft_length": "76.2 mm", "frequency": "50 Hz"}
    states = {one.field: one.state for one in graded(case, typed)}
    assert states["voltage"] == states["shaft_length"] == RIGHT
    assert states["power"] == NOT_THERE and states["speed"] == UNREADABLE
    assert states["frequency"] == "another" and states["mounting"] == OPEN
    assert states["rotation_seen_from"] == LEFT and list(states) == list(case.fields)
    with pytest.raises(InputError, match='field: "amps" is not accepted. Enter "voltage"'):
        graded(case, {"amps": "1 A"})


def test_unknown_motors_and_works_are_refused(lessons, catalog):
    lesson = lessons["1-side-yard"]
    with pytest.raises(InputError, match='motor: "A motor" is not accepted. Enter "Demo'):
        lesson.choose("A motor")
    with pytest.raises(InputError, match='work: "pray" is not accepted. Enter "capacitor"'):
        lesson.choose(lesson.motors[0].name, ["pray"])
    with pytest.raises(InputError, match="motors: .* Enter motor names in the catalog"):
        Lesson.of(lesson.case, catalog[:3])


@pytest.mark.parametrize(
    "change, sentence",
    [
        (("level = 1", "level = 9"), "level: 9 is not accepted. Enter 1, 2 or 3"),
        (("level = 1", "grade = 1"), 'unknown name "grade". Choose from "level"'),
        (('"Demo C-025",', ""), None),
        (('"voltage", "frequency"', '"volts", "frequency"'), 'fields: "volts" is not accepted'),
        (("[en]", "[de]"), 'unknown name "de"'),
        (('outdoor_temperature = "98 degF"', 'outdoor_temperature = "98"'), "has no unit"),
        (("hints = [", "tips = ["), 'en: unknown name "tips"'),
        (("plate = [", "plate = 7\nold = ["), 'unknown name "old"'),
    ],
)
def test_a_case_that_cannot_be_read_is_refused_in_one_sentence(change, sentence):
    text = (FOLDER / "1-side-yard.toml").read_text(encoding="utf-8")
    assert change[0] in text
    changed = text.replace(*change, 1)
    if sentence is None:
        assert len(case_of(changed).motors) == len(case_of(text).motors) - 1
        return
    with pytest.raises(InputError) as refused:
        case_of(changed)
    assert sentence in str(refused.value) and "\n" not in str(refused.value)


def test_a_folder_without_cases_and_a_lost_file_are_refused(tmp_path):
    with pytest.raises(InputError, match="folder of cases"):
        read_cases(tmp_path)
    with pytest.raises(InputError, match="case file"):
        read_case(tmp_path / "none.toml")


@pytest.mark.parametrize("language", ALL)
def test_every_asked_field_and_every_work_has_its_words(language):
    texts = Texts(language)
    for case in CASES:
        assert all(name in ASKED and texts.has(f"lesson_case.field.{name}") for name in case.fields)
    for work in WORK:
        assert all(texts.has(f"lesson_case.{table}.{work}") for table in ("do", "done", "forgot"))
    for when in (*WHEN, UNDONE, "unread", WELL):
        tables = ("verdict", "word", "moment")
        assert all(texts.has(f"lesson_case.{table}.{when}") for table in tables)


def test_notes_for_the_instructor_are_markdown_in_both_languages():
    english, spanish = (lesson_notes("lesson_case", one)._repr_markdown_() for one in ALL)
    assert english.count("**") == spanish.count("**") == 8
    assert english.count("\n- ") == spanish.count("\n- ") and "50" in english
    minutes = re.findall(r"- (\d+) min", english)
    assert sum(map(int, minutes)) == 50 and minutes == re.findall(r"- (\d+) min", spanish)
    with pytest.raises(InputError, match="language"):
        lesson_notes("lesson_case", "fr")


def test_a_student_goes_through_the_panel_and_the_next_one_finds_it_empty(panel):
    panel.install()
    assert panel.tries == [] and "select a motor" in panel.asked_for.value
    panel.readings["voltage"].value = "208-230 V"
    panel.motor.value = "Demo C-022"
    panel.who.value = "<b>table 3</b>"
    panel.install()
    assert panel.outcome.when == START and panel.graded[0].state == RIGHT
    assert "&lt;b&gt;table 3" in panel.tried.value and "<b>table" not in panel.tried.value
    assert "best motor" in panel.tried.value and panel.pictured.png[:4] == b"\x89PNG"
    panel.best_too.value = False
    assert "best motor" not in panel.tried.value and "C-020" not in panel.happened.value
    panel.reset()
    assert panel.tries == [] and not any(panel.given.values()) and panel.motor.value == ""
    assert panel.pictured is None and panel.picture.value == ""
    panel.best_too.value = True


def test_another_language_and_system_say_the_same_try_anew(panel):
    panel.motor.value = "Demo C-032"
    panel.install()
    panel.readings["power"].value = "1/4 hp"
    before = panel.outcome.case.current
    panel.language.value, panel.units.value = "es", "SI"
    assert panel.readings["power"].value == "1/4 hp" and panel.outcome.case.current == before
    assert "primer arranque" in panel.verdict.value and "°F" not in panel.happened.value
    shown = f"{panel.happened.value} {panel.tried.value} {panel.story.value}"
    assert not re.search(r"\b(the|and|with|not|would|its)\b", re.sub("<[^>]*>", " ", shown))
    panel.chosen_case.value = "2-weathered-plate"
    assert panel.tries == [] and panel.answer.case.level == 2
    assert [name for _, name in panel.motor.options[1:]] == list(panel.answer.case.motors)
    panel.language.value, panel.units.value = "en", "US"
    panel.chosen_case.value = "1-side-yard"
