"""Scope: what the method does not cover is recognised, and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.job import Job
from airover.records.scope import check_scope, suits
from airover.records.scope import refusals as errors


def refusals(job) -> list[str]:
    return list(map(str, errors(job)))


COVERED = {
    "nameplate": {
        "voltage": "208-230 V", "frequency": "60 Hz", "phase": 1, "power": "1/6-1/3 hp",
        "speed": "1075 rpm", "kind": "permanent split capacitor, four ratings at one speed",
        "service": "condenser fan of a split system with indoor blower elsewhere",
        "drive": "direct, no belt", "enclosure": "totally enclosed air over",
    },
    "site": {"outdoor_temperature": "115 degF", "elevation": "7000 ft", "phase": 3, "hazardous": False},
}  # fmt: skip


def test_the_usual_job_is_covered():
    job = Job(**COVERED)
    assert refusals(job) == []
    assert check_scope(job) is None
    assert refusals(Job()) == []


COVERED_TEXTS = [
    "PSC", "permanent split-capacitor, single-phase", "capacitor start, capacitor run",
    "no belt", "belt: none", "belt drive: no", "direct drive; never a belt", "belly band",
    "not for hazardous locations", "non-hazardous place", "explosion proof: no",
    "not explosion-proof", "universal mount", "zone 2 unit", "class B insulation",
    "single-phase motor on a three-phase supply", "not three-phase", "two leads and one speed",
    "4 ratings, 2 line leads", "condenser fan, indoor blower separate", "no indoor blower",
    "no run capacitor markings legible", "outdoor fan of a heat pump", "1075 rpm, 3 leads",
]  # fmt: skip


@pytest.mark.parametrize("field", ["kind", "service", "drive"])
def test_no_false_alarm(field):
    for text in COVERED_TEXTS:
        assert refusals(Job(nameplate={field: text})) == [], text


@pytest.mark.parametrize(
    ("subject", "texts"),
    [
        ("three-phase motors", ["three-phase", "3-Phase", "3 ph", "3ph", "polyphase", "three-phase, not single-phase"]),
        ("electronically commutated (ECM) or variable-speed motors", ["ECM", "EC motor", "electronically commutated", "brushless DC", "variable-speed", "inverter", "ECM not PSC"]),
        ("multi-speed motors", ["two-speed", "2 speed", "2-speed motor", "multi-speed", "multispeed", "dual speed", "PSC, three speeds"]),
        ("belt drives", ["belt", "V-belt drive", "belted", "belt, not direct"]),
        ("indoor blowers", ["indoor blower", "Blower", "furnace fan", "air handler", "blower, not condenser fan"]),
        ("hazardous locations", ["explosion-proof", "hazardous location", "Class I, Division 1", "Class I Div. 2", "class 1 zone 2"]),
        ("motors without a run capacitor", ["shaded pole", "shaded-pole", "split-phase", "no run capacitor", "without a capacitor", "universal motor"]),
        ("motors with only a start capacitor", ["capacitor start", "capacitor-start induction run"]),
    ],
)  # fmt: skip
@pytest.mark.parametrize("field", ["kind", "service", "drive"])
def test_what_is_typed_is_recognised(field, subject, texts):
    for text in texts:
        found = refusals(Job(nameplate={field: text}))
        assert len(found) == 1, text
        assert found[0].startswith(
            f'nameplate {field}: "{text}" is outside the scope of this method. '
        )
        assert found[0].endswith(f", not {subject}.")


@pytest.mark.parametrize(
    ("table", "fields", "sentence"),
    [
        ("nameplate", {"phase": 3}, "nameplate phase: 3 is outside the scope of this method. It covers single-phase motors, not three-phase motors."),
        ("nameplate", {"speed": "1075/825 rpm"}, 'nameplate speed: "1075/825 rpm" is outside the scope of this method. It covers single-speed motors, not multi-speed motors.'),
        ("nameplate", {"speed": "300-1100 rpm"}, 'nameplate speed: "300-1100 rpm" is outside the scope of this method. It covers single-speed motors, not multi-speed motors.'),
        ("nameplate", {"enclosure": "explosion-proof"}, 'nameplate enclosure: "explosion proof" is outside the scope of this method. It covers ordinary outdoor locations, not hazardous locations.'),
        ("nameplate", {"voltage": "700 V"}, 'nameplate voltage: "700 V" is outside the scope of this method. Enter at most 600 V; the models are not valid above this limit.'),
        ("nameplate", {"frequency": "25 Hz"}, 'nameplate frequency: "25 Hz" is not accepted. Enter 50 Hz or 60 Hz.'),
        ("site", {"frequency": "50-60 Hz"}, None),
        ("site", {"frequency": "55 Hz"}, 'site frequency: "55 Hz" is not accepted. Enter 50 Hz or 60 Hz.'),
        ("site", {"voltage": "690 V"}, 'site voltage: "690 V" is outside the scope of this method. Enter at most 600 V; the models are not valid above this limit.'),
        ("site", {"elevation": "12,000 ft"}, 'site elevation: "12,000 ft" is outside the scope of this method. Enter at most 11,480 ft or 3,500 m; the models are not valid above this limit.'),
        ("site", {"outdoor_temperature": "150 degF"}, 'site outdoor temperature: "150 degF" is outside the scope of this method. Enter at most 140 degF or 60 degC; the models are not valid above this limit.'),
        ("site", {"outdoor_temperature_min": "-50 degC"}, 'site outdoor temperature min: "-50 degC" is not accepted. Enter -40 degF or -40 degC or warmer.'),
        ("site", {"hazardous": True}, "site hazardous: True is outside the scope of this method. It covers ordinary outdoor locations, not hazardous locations."),
        ("site", {"hazardous": "Class I Division 2"}, 'site hazardous: "Class I Division 2" is outside the scope of this method. It covers ordinary outdoor locations, not hazardous locations.'),
        ("site", {"hazardous": "not known"}, 'site hazardous: "not known" is outside the scope of this method. It covers ordinary outdoor locations, not hazardous locations.'),
        ("site", {"hazardous": "not a classified place"}, None),
        ("site", {"hazardous": "Non-hazardous"}, None),
        ("nameplate", {"speed": "1050-1075 rpm"}, None),
        ("nameplate", {"speed": "1075/900 rpm", "frequency": "60/50 Hz"}, None),
    ],
)  # fmt: skip
def test_facts_outside_the_method(table, fields, sentence):
    assert refusals(Job(**{table: fields})) == ([sentence] if sentence else [])


def test_several_reasons_are_all_told_and_the_first_is_raised():
    job = Job(nameplate={"phase": 3, "kind": "ECM"}, site={"elevation": "4000 m"})
    sentences = refusals(job)
    assert len(sentences) == 3
    with pytest.raises(InputError) as caught:
        check_scope(job)
    assert [str(caught.value), *caught.value.__notes__] == sentences


@given(st.text(max_size=60), st.sampled_from(["kind", "service", "drive"]))
def test_any_text_gives_sentences_without_an_exception(text, field):
    try:
        job = Job(nameplate={field: text})
    except InputError:
        return
    assert all(sentence.startswith("nameplate ") for sentence in refusals(job))


def test_where_the_replacement_suits_is_one_sentence():
    for place in ("homes", "small offices", "apartments", "light commercial"):
        assert place in Writer("en")(suits())
