"""Fields as people fill them in: copied from a nameplate, with or without units."""

from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.app.current_job import BLADE, NAMEPLATE, SITE, CurrentJob
from airover.app.fields import Fields
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.core.units import Amount
from airover.records.fan import Blade
from airover.records.job import Job, Site
from airover.records.nameplate import Nameplate

READERS = [(language, system) for language in ("en", "es") for system in ("US", "SI")]
# Ten invented nameplates: what is typed into each field, and what a job file then says.
PLATES = [
    ({"voltage": "208-230", "power": "1/3", "current": "1.9", "speed": "1075", "capacitor": "7.5/370", "rotation": "CWLE"},
     {"voltage": "208-230 V", "power": "1/3 hp", "current": "1.9 A", "speed": "1075 rpm", "capacitor": "7.5 uF",
      "capacitor_voltage": "370 V", "rotation": "clockwise", "rotation_seen_from": "lead end"}),
    ({"voltage": "200-230/60/1", "power": "1/4 HP", "current": "1.5 FLA", "poles": "6P", "capacitor": "5 MFD 370V"},
     {"voltage": "200-230 V", "frequency": "60 Hz", "phase": 1, "power": "1/4 HP", "current": "1.5 FLA", "poles": 6,
      "capacitor": "5 uF", "capacitor_voltage": "370 V"}),
    ({"voltage": "208/230", "frequency": "60", "power": ".25", "speed": "825", "capacitor": "45/5/440"},
     {"voltage": "208/230 V", "frequency": "60 Hz", "power": ".25 hp", "speed": "825 rpm", "capacitor": "45/5 uF",
      "capacitor_voltage": "440 V"}),
    ({"voltage": "460", "power": "1/2", "current": "1,4 A", "poles": "8 pole", "capacitor": "10uF/440"},
     {"voltage": "460 V", "power": "1/2 hp", "current": "1,4 A", "poles": 8, "capacitor": "10 uF",
      "capacitor_voltage": "440 V"}),
    ({"voltage": "230 V", "power": "1/6", "speed": "1,075", "capacitor": "5", "capacitor_voltage": "370/440"},
     {"voltage": "230 V", "power": "1/6 hp", "speed": "1,075 rpm", "capacitor": "5 uF", "capacitor_voltage": "440 V"}),
    ({"voltage": "115", "power": "186 W", "speed": "1625", "rotation": "CCWSE", "ambient_rating": "60"},
     {"voltage": "115 V", "power": "186 W", "speed": "1625 rpm", "rotation": "counterclockwise",
      "rotation_seen_from": "shaft end", "ambient_rating": "60 degC"}),
    ({"voltage": "N/A", "power": "1/3", "current": "-", "speed": "1075 RPM", "capacitor": "?"},
     {"power": "1/3 hp", "speed": "1075 RPM"}),
    ({"voltage": "220-240/50/1", "power": "0.25 kW", "current": "2", "speed": "920", "ambient_rating": "70C"},
     {"voltage": "220-240 V", "frequency": "50 Hz", "phase": 1, "power": "0.25 kW", "current": "2 A",
      "speed": "920 rpm", "ambient_rating": "70C"}),
    ({"voltage": "265", "power": "1/5", "current": "1.1", "speed": "1100", "capacitor": "5/370", "rotation": "CCWLE"},
     {"voltage": "265 V", "power": "1/5 hp", "current": "1.1 A", "speed": "1100 rpm", "capacitor": "5 uF",
      "capacitor_voltage": "370 V", "rotation": "counterclockwise", "rotation_seen_from": "lead end"}),
    ({"voltage": "208-230", "power": "3/4", "current": "4.2", "speed": "1140", "frame": "48Y", "rotation": "CWSE"},
     {"voltage": "208-230 V", "power": "3/4 hp", "current": "4.2 A", "speed": "1140 rpm", "frame": "48Y",
      "rotation": "clockwise", "rotation_seen_from": "shaft end"}),
]  # fmt: skip


def written(record) -> dict:
    """The known fields of a record as a file has them."""
    values = zip(record.names(), dict(record).values(), strict=True)
    plain = {name: one.text if isinstance(one, Amount) else one for name, one in values}
    return {name: one for name, one in plain.items() if one not in (None, "", ())}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(("typed", "stored"), PLATES)
def test_a_nameplate_is_typed_as_printed_in_any_language_and_units(typed, stored, reader):
    form = form_of(*reader)
    form.fill(None)
    for name, text in typed.items():
        form.nameplate.controls[name].value = text
    assert form.nameplate.found() == {}
    assert written(form.job().nameplate) == stored
    assert written(Job.from_toml(form.job().to_toml()).nameplate) == stored


@lru_cache
def form_of(language: str, system: str) -> CurrentJob:
    return CurrentJob(Writer(language, system))


SHOWN = [("nameplate", NAMEPLATE, Nameplate), ("blade", BLADE, Blade), ("site", SITE, Site)]
QUANTITIES = [
    (record, kind, name, system)
    for record, asked, kind in SHOWN
    for page in asked.values()
    for name in page
    if kind.entered(name)
    for system in ("US", "SI")
]


@settings(max_examples=100, deadline=None)
@given(
    st.sampled_from(QUANTITIES),
    st.one_of(
        st.integers(0, 5000).map(str),
        st.floats(0, 500).map(lambda value: f"{value:.2f}"),
        st.sampled_from(["1/3", "5 5/8", ".25", "208-230", "208/230", "1,4", "1,075", "-5", "abc"]),
    ),
)
def test_a_bare_number_and_the_number_with_the_shown_unit_give_the_same_record(field, number):
    record, kind, name, system = field
    form = getattr(form_of("en", system), record)
    unit = kind.entered(name).usual_unit(system)
    found = []
    for text in (number, f"{number} {unit}"):
        form.restore({})
        form.controls[name].value = text
        try:
            found.append(written(kind(**form.given())))
        except InputError:
            found.append("rejected")
    if found[0] != found[1]:  # 0.5 may be a fraction of one, so it is not taken for 0.5 %
        assert unit == "%" and found[0] == "rejected" and 0 < float(number.replace(",", ".")) <= 1


def test_the_unit_is_shown_with_the_label_and_changes_with_the_reader():
    form = Fields("blade", BLADE, Blade, Writer("en", "US"))
    assert form.diameter.description == "Fan diameter [in]"
    assert "22 in" in form.diameter.placeholder
    form.diameter.value, form.mass.value = "22", "3.5"
    form.say(Writer("en", "SI"))
    assert form.diameter.description == "Fan diameter [mm]"
    assert "560 mm" in form.diameter.placeholder
    assert form.given() == {"diameter": "22 in", "mass": "3.5 lb"}  # the meaning does not change
    form.diameter.value = "560"
    assert form.given()["diameter"] == "560 mm"


def test_printed_units_are_the_same_for_every_reader():
    shown = [
        [one.description for one in Fields("nameplate", {"": {name: "" for name in
         ("voltage", "power", "current", "speed", "frequency", "capacitor")}}, Nameplate,
         Writer("en", system)).controls.values()]
        for system in ("US", "SI")
    ]  # fmt: skip
    assert shown[0] == shown[1]
    assert "Horsepower [hp]" in shown[0] and "Run capacitor [uF]" in shown[0]


def test_a_printed_rotation_can_be_chosen_and_fills_both_fields():
    form = Fields("nameplate", NAMEPLATE, Nameplate, Writer("en", "US"))
    shown = {value: label for label, value in form.rotation.options}
    assert shown["CCWLE"] == "CCWLE (counterclockwise, viewed from the lead end)"
    at = [value for _, value in form.rotation.options].index("CCWLE")
    form.rotation.set_state({"index": at})  # as a browser sends it
    assert (form.rotation.value, form.rotation_seen_from.value) == ("counterclockwise", "lead end")


def test_a_field_that_is_filled_in_is_not_overwritten_but_asked_about():
    form = Fields("nameplate", NAMEPLATE, Nameplate, Writer("en", "US"))
    form.frequency.value = "50"
    form.voltage.value = "208-230/60/1"
    assert form.frequency.value == "50 Hz" and form.voltage.value == "208-230/60/1"
    form.tell(form.found())
    form.show_problem(InputError("nameplate voltage", "", ""))
    assert "does not agree with" in form.problems["voltage"].value
    assert "Correct one of them." in form.problems["voltage"].value


def test_a_fraction_of_one_is_not_taken_for_a_percentage():
    form = Fields("site", SITE, Site, Writer("en", "US"))
    form.relative_humidity.value = "0.5"
    assert form.relative_humidity.value == "0.5" and "relative_humidity" in form.found()
    form.relative_humidity.value = "50"
    assert form.relative_humidity.value == "50 %" and not form.found()


def test_phones_get_a_number_pad_only_where_a_number_is_all_that_is_typed():
    form = Fields("nameplate", NAMEPLATE, Nameplate, Writer("en", "US"))
    numbers = [name for name, one in form.controls.items() if "ao-number" in one._dom_classes]
    assert numbers == ["current", "speed"]  # but 208-230, 1/3, 7.5/370 and 5 5/8


def test_a_refusal_in_spanish_names_spanish_words_and_they_are_read():
    with pytest.raises(InputError) as refused:
        Nameplate(bearings="ruedas")
    assert Writer("es").error(refused.value).endswith('Escriba "de buje" o "de bolas".')
    assert Nameplate(bearings="de bolas").bearings == "ball"
