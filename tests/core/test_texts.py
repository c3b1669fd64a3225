"""The catalogs of texts: the same in every language, nothing missing, nothing untranslated."""

import datetime
import re
import tomllib

import pytest

from airover.business.cost_options import BEST, LASTING, LEAST, NEXT, TODAY
from airover.business.proposal import AFTER_START, COOLEST, COVERED, FITTING, OTHER
from airover.core.errors import InputError, Range
from airover.core.files import LANGUAGES, TEXTS, data_folder
from airover.core.kinds import KINDS
from airover.core.texts import PLACE, Texts, Writer
from airover.model import conditions
from airover.records import fields, found, nameplate
from airover.records.catalog import read_catalog
from airover.records.company import CostBasis
from airover.records.found import Found
from airover.records.job import Job
from airover.records.limits import LIMITS
from airover.selection.answer import answer
from airover.selection.check import ADAPT, FAIL, MISSING, NOTE, PASS
from airover.selection.rules import BEARING_SOURCES, RULES
from tests.markdown import ROOT

ENGLISH = Texts("en").texts
# The same word in both languages, or nothing but a place.
SAME = {
    "line.motor", "options.motor", "word.reversible", "word.horizontal", "word.base",
    "answer.table.motor", "answer.torque_figure.motor", "answer.torque_figure.usual",
    "cost.table.motor", "cost.figure.motor", "finding.failed", "finding.likely", "unit.blade_value", "limit.range",
    "panel.motor", "panel.system.SI", "panel.motors.capacitor", "panel.bearings.position.horizontal",
    "page.word.no", "roof.line.rating", "roof.line.capacitor",
    "compare.number.motor", "compare.panel.first", "compare.panel.second", "compare.panel.third",
    "compare.panel.fourth", "panel.bearings.grade.plain", "panel.bearings.reliability.l10", "panel.bearings.named", "bearings.column.along",
}  # fmt: skip


def table(name: str) -> set[str]:
    """The names of the texts right below a table."""
    return {key.removeprefix(f"{name}.") for key in ENGLISH if key.startswith(f"{name}.")}


def test_the_same_files_for_each_language_and_no_other():
    assert {path.name for path in TEXTS.iterdir()} == set(LANGUAGES)
    files = [{path.name for path in (TEXTS / one).iterdir()} for one in LANGUAGES]
    assert files[0] and all(found == files[0] for found in files)


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_table_stands_in_two_files(language):
    tables = [
        name
        for path in (TEXTS / language).glob("*.toml")
        for name in tomllib.loads(path.read_text(encoding="utf-8"))
    ]
    assert len(tables) == len(set(tables))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_the_same_keys_and_places(language):
    texts = Texts(language).texts
    assert texts.keys() == ENGLISH.keys()
    for key, text in texts.items():
        assert sorted(PLACE.findall(text)) == sorted(PLACE.findall(ENGLISH[key])), key
        assert text.strip() == text and text, key
        assert not set(PLACE.sub("", text)) & set("{}<>#$\\"), key


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_no_text_was_left_in_english(language):
    texts = Texts(language).texts
    left = {
        k
        for k in texts
        if texts[k] == ENGLISH[k] and re.search("[A-Za-z]", PLACE.sub("", texts[k]))
    }
    assert left <= SAME
    common = re.compile(r"\b(the|and|with|from|not|is|are|its|it|of|by|for|at most|least)\b")
    assert not [text for text in texts.values() if common.search(PLACE.sub("", text))]


@pytest.mark.parametrize("language", LANGUAGES)
def test_sentences_end_and_begin_as_they_should(language):
    for key, text in Texts(language).texts.items():
        assert "  " not in text and text.count("(") == text.count(")"), key
        if key.startswith(("caution.", "life.note", "warranty.terms", "why.")):
            assert key == "caution.title" or text.endswith("."), key


def test_every_key_that_the_code_writes_out_exists():
    used = set()
    for path in (ROOT / "kit" / "airover").glob("*/*proposal*.py"):
        source = path.read_text(encoding="utf-8")
        used |= set(re.findall(r'writer\(\s*"([a-z_.]+)"', source))
        used |= set(re.findall(r'\["((?:customer|head)\.[a-z]+)"', source))
    assert len(used) > 50
    assert used <= ENGLISH.keys()


def test_every_input_of_a_job_has_a_name():
    with open(conditions.__file__, encoding="utf-8") as file:
        named = re.findall(r'\.(?:note|assume|amount)\(\s*"([^"]+)"', file.read())
    assert len(set(named)) >= 12
    costs = {name.replace("_", " ") for name in CostBasis.names()}
    assert set(named) | costs <= table("input")


def test_every_check_and_state_has_a_name():
    job = Job.read(data_folder() / "jobs" / "half-plate.toml")
    motors = read_catalog(data_folder() / "catalogue.csv")
    candidates = answer(job, motors[:20]).candidates
    assert {check.name for one in candidates for check in one.checks} == table("check")
    assert table("state") == {PASS, ADAPT, FAIL, MISSING, NOTE}
    assert {rule.name for rule in RULES} <= table("check")
    sources = {rule.source for rule in RULES} | {"insulation_life", *BEARING_SOURCES.values()}
    assert sources == table("source")


def test_every_outcome_of_every_rule_has_a_sentence():
    outcomes = {f"{rule.name}.{outcome}" for rule in RULES for outcome in rule.states}
    said = table("why") - {"unjudged"} | table("limits.why")
    assert outcomes == {one for one in said if not one.startswith(LIVES)}


def test_every_limit_has_a_name_and_a_sentence():
    assert set(LIMITS) == table("page.limits") == table("limits.changed")


LIVES = ("winding life.", "bearing life.", "winding without the rating.")  # remarks, no rules


def test_every_word_of_a_choice_has_a_word():
    groups = (
        fields.MOUNTINGS, fields.SHAFT_POSITIONS, fields.ENCLOSURES, fields.BEARINGS,
        fields.DRAIN_PLUGS, fields.PROTECTORS, nameplate.SENSES, nameplate.ENDS,
    )  # fmt: skip
    assert {word for group in groups for word in group} <= table("word")


def test_every_reason_for_an_option_has_its_words():
    assert table("best_at") == {BEST, LASTING, LEAST, NEXT, TODAY}
    known = {BEST, LASTING, LEAST, TODAY, COOLEST, COVERED, OTHER}
    assert table("advantage") == known | {"less"}


def test_every_fact_to_confirm_and_fitting_work_has_its_words():
    missing = {rule.name for rule in RULES if MISSING in rule.states.values()}
    assert missing - set(AFTER_START) <= table("confirm")
    assert set(FITTING) == table("includes.fitting")


def test_every_cause_of_the_kit_has_a_name():
    with open(data_folder() / "causes.toml", "rb") as file:
        assert tomllib.load(file)["causes"].keys() == table("cause")


def test_what_was_seen_is_told_by_words_that_a_job_can_have():
    choices = {
        "winding": found.WINDINGS, "bearings": found.BEARINGS, "inside": found.INSIDE,
        "drain_plugs": found.PLUGS, "slinger": found.SLINGERS, "start": found.STARTS,
        "trips": found.TRIPS, "blade": found.BLADES, "coil": found.COILS,
        "capacitor_fault": found.CAPACITORS, "leads": found.LEADS, "supply": found.SUPPLY,
        "rotation": found.TURNS,
    }  # fmt: skip
    for key in table("found"):
        field, word = key.split(".", 1)
        assert field in Found.model_fields and word in choices[field]


def test_a_text_is_filled_once_and_a_brace_in_a_value_stays():
    assert Texts("en")("limit.least", value="{value} {name}") == "at least {value} {name}"
    with pytest.raises(KeyError):
        Texts("en")("limit.least")


@pytest.mark.parametrize(
    "language, said", [("en", "February 29, 2028"), ("es", "29 de febrero de 2028")]
)
def test_dates(language, said):
    assert Texts(language).date(datetime.date(2028, 2, 29)) == said


def test_every_kind_of_quantity_has_a_name():
    assert {one.name for one in KINDS.values()} == table("kind")


def test_an_error_is_told_in_the_readers_language():
    with pytest.raises(InputError) as refused:
        Job(nameplate={"voltage": "9000 V", "volts": "230 V"})
    told = [Writer("es").error(one) for one in (refused.value, *refused.value.others)]
    assert told == [
        'Voltaje: no se acepta "9000 V". Escriba un valor de 1 a 1,000 V.',
        'nameplate, campo "volts": este nombre no existe. ¿Quiso decir "voltage"?',
    ]


@pytest.mark.parametrize(("language", "said"), [("en", "Enter 0 N or more."), ("es", "0 N o más.")])
def test_a_range_without_an_upper_end_has_no_infinity(language, said):
    refused = InputError("load", -1.0, Range(0.0, float("inf"), "N"), "N")
    assert Writer(language).error(refused).endswith(said)


def test_another_language_is_refused():
    with pytest.raises(InputError, match='language: "xx" is not accepted. Enter en') as refused:
        Texts("xx")
    assert all(language in str(refused.value) for language in LANGUAGES)
