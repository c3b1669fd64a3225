"""The bank of questions: each template, in both languages and systems, for many students."""

import inspect
import math
import re
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.kinds import KINDS
from airover.core.texts import LANGUAGES, PLACE, Texts
from airover.core.units import convert
from airover.lesson.answers import ANSWERS
from airover.lesson.bank import SYSTEMS, read_bank
from airover.lesson.question import MAIN, Chance, ask, drawn, make_paper, within
from airover.lesson.written import number, plain, readings
from airover.records.job import Ticks
from airover.records.lesson import CHOICE, NUMBER, ORDER

BANK = read_bank()
BY_KEY = {template.key: template for template in BANK}
STUDENTS = [f"Student {count}" for count in range(4)]
# The kinds of quantity that have no accepted range of their own sense: shares may pass 100 %.
UNBOUNDED = {"share"}


def of(kind):
    return [pytest.param(one, id=one.key) for one in BANK if one.kind == kind]


def asked(template, student="", language="en", system="US"):
    return ask(template, Chance("numbers", 1, student, template.key), language, system)


def everywhere(template):
    """The template for each student, in each language and system."""
    for student in STUDENTS:
        for language in LANGUAGES:
            for system in SYSTEMS:
                yield asked(template, student, language, system)


def in_unit(question, value):
    """``value`` of a number's quantity as a student writes it who rounds to five figures."""
    quantity = question.marking.quantity
    number = convert(value, quantity, question.unit) if quantity else value
    return f"{number:.5g}" if abs(number) < 1e5 and abs(number) >= 1e-4 else f"{number:.6f}"


def test_the_bank_is_as_large_as_it_should_be():
    kinds = [template.kind for template in BANK]
    assert len(BANK) >= 48
    assert kinds.count(NUMBER) >= 20 and kinds.count(CHOICE) >= 12 and kinds.count(ORDER) >= 6
    named = {name.split(".")[-1] for name in Texts("en").texts if "lesson.subject." in name}
    assert {template.subject for template in BANK} == named
    assert {template.answer for template in BANK if template.answer} == set(ANSWERS)


@pytest.mark.parametrize("template", [pytest.param(one, id=one.key) for one in BANK])
def test_a_question_is_whole_in_every_language_and_system(template):
    for question in everywhere(template):
        texts = [question.text, question.solution, question.answer, *question.options]
        assert all(texts) and not any(PLACE.search(text) for text in texts)
        assert not any(re.search(r"nan|\binf\b|\.\.|  ", text) for text in texts)
        right = question.mark(question.answer)
        assert right.right and right.points == question.points and right.slip == ""
        blank = question.mark(" ")
        assert not blank.right and blank.points == 0 and question.answer in blank.told


@pytest.mark.parametrize("template", of(NUMBER))
def test_a_number_can_be_solved_and_is_told_from_every_slip(template):
    for question in everywhere(template):
        marking = question.marking
        assert (
            math.isfinite(marking.value) and marking.value > 0 or question.key == "units_to_carry"
        )
        if marking.quantity and marking.quantity not in UNBOUNDED:
            low, high, _ = KINDS[marking.quantity].accepted
            assert low <= marking.value <= high
        for key, value, share, told in marking.slips:
            room = within(template, marking.value) + within(template, value)
            assert abs(value - marking.value) > room
            mark = question.mark(in_unit(question, value))
            assert (mark.right, mark.slip, mark.told) == (False, key, told)
            assert mark.points == question.points * share and not PLACE.search(told)


@pytest.mark.parametrize("template", of(NUMBER))
def test_at_the_tolerance_it_is_right_and_beyond_it_wrong(template):
    question = asked(template)
    room = within(template, question.marking.value)
    for side in (-1, 1):
        inside = question.marking.value + side * 0.98 * room
        beyond = question.marking.value + side * (1.1 * room + 1e-3 * question.marking.value)
        assert question.mark(in_unit(question, inside)).right
        assert not question.mark(in_unit(question, beyond)).right or not question.marking.value


@pytest.mark.parametrize("template", of(NUMBER))
def test_each_student_has_numbers_of_their_own(template):
    spread = math.prod(len(draw.values) for draw in template.draw.values())
    texts = {asked(template, f"Student {count}").text for count in range(40)}
    assert len(texts) >= min(5, spread / 2)


@pytest.mark.parametrize("template", of(NUMBER))
def test_words_and_units_change_and_what_is_drawn_does_not(template):
    us, si = asked(template, "Ana"), asked(template, "Ana", "es", "SI")
    # What is read from the paper is rounded to its own digits: within a third of the tolerance.
    allowed = within(template, us.marking.value) / 3 + 1e-9
    assert us.marking.value == pytest.approx(si.marking.value, abs=allowed)
    assert drawn(template, Chance("a")) == drawn(template, Chance("a"))


@pytest.mark.parametrize("template", of(CHOICE) + of(ORDER))
def test_letters_are_the_same_in_every_language_and_system(template):
    assert asked(template, "Ana").answer == asked(template, "Ana", "es", "SI").answer


@pytest.mark.parametrize("template", of(CHOICE))
def test_exactly_one_option_is_right_and_the_others_are_told_why_not(template):
    for question in everywhere(template):
        assert len(set(question.options)) == len(question.options) >= 3
        letters = "ABCDEFGH"[: len(question.options)]
        marks = {letter: question.mark(f" ({letter.lower()}) ") for letter in letters}
        assert [letter for letter in letters if marks[letter].right] == [question.answer]
        for letter in letters.replace(question.answer, ""):
            assert marks[letter].slip in template.options and marks[letter].told
            assert template.options[marks[letter].slip].told is not None
        assert question.mark("H" if len(letters) < 8 else "Z").points == 0


@pytest.mark.parametrize("template", of(ORDER))
def test_an_order_has_one_right_sequence(template):
    for question in everywhere(template):
        letters = question.answer.split()
        assert len(set(question.options)) == len(question.options) == len(letters)
        assert letters != sorted(letters)
        assert question.mark(", ".join(letters).lower()).right
        for at in range(len(letters) - 1):
            swapped = [*letters]
            swapped[at], swapped[at + 1] = swapped[at + 1], swapped[at]
            mark = question.mark("".join(swapped))
            assert (mark.right, mark.slip) == (False, "order")
            assert 0 < mark.points < question.points
            assert f" {at + 1} " in mark.told
        back, short = question.mark(" ".join(letters[::-1])), question.mark(question.answer[:-2])
        assert (back.points, back.right, short.right) == (0, False, False)
        assert 0 < short.points < question.points and letters[-1] in short.told


def test_the_work_orders_own_order_is_that_of_the_kit():
    keys = list(BY_KEY["whole_job"].options)
    assert keys == sorted(keys, key=Ticks.names().index)


def test_the_same_paper_for_ever():
    """Drawn once and written down: a change here changes papers that are handed out already."""
    chance = Chance("numbers", 7, "Ana", "power_at_speed")
    assert [chance.below(1000) for _ in range(4)] == [175, 135, 882, 211]
    assert make_paper(BANK, 7, "Ana") == make_paper(BANK, 7, " Ana ")


def test_a_class_has_the_same_questions_with_numbers_of_their_own():
    papers = [make_paper(BANK, 3, student) for student in STUDENTS]
    assert len({tuple(one.key for one in paper.questions) for paper in papers}) == 1
    assert len({tuple(one.text for one in paper.questions) for paper in papers}) == len(STUDENTS)
    assert papers[0].questions != make_paper(BANK, 4, STUDENTS[0]).questions
    assert papers[0].points == sum(one.points for one in papers[0].questions)


@pytest.mark.parametrize("count, fan_laws, fitting", [(12, 3, 3), (8, 2, 2), (5, 2, 1), (1, 1, 0)])
def test_half_of_a_usual_paper_is_on_fan_laws_and_fitting(count, fan_laws, fitting):
    for seed in range(40):
        subjects = Counter(one.subject for one in make_paper(BANK, seed, count=count).questions)
        assert (subjects["fan_laws"], subjects["fitting"]) == (fan_laws, fitting)
        others = [number for name, number in subjects.items() if name not in MAIN]
        assert sum(others) == count - fan_laws - fitting and set(others) <= {1}


def test_papers_of_some_subjects():
    paper = make_paper(BANK, 1, subjects=["heat", "fan_laws"], count=6, language="es", system="SI")
    assert {one.subject for one in paper.questions} == {"heat", "fan_laws"}
    for wrong in ({"subjects": ["tides"]}, {"count": 500}, {"language": "fr"}, {"system": "cgs"}):
        with pytest.raises(InputError):
            make_paper(BANK, 1, **wrong)


# Answers by hand, on another road than the kit's functions: from the numbers in the comments.


def by_hand(name, expected, within=2e-3, **given):
    assert ANSWERS[name](**given).value == pytest.approx(expected, rel=within)


def test_fan_power_by_hand():
    # 1/3 hp = 248.57 W; 825 / 1075 = 0.76744, its cube 0.45200. Fan laws, any handbook (Bleier,
    # Fan Handbook; from memory, recomputed).
    by_hand("power_at_speed", 112.35, power=248.57, speed=1075.0, speed_new=825.0)
    # 24 / 20 = 1.2, its fifth power 2.48832
    by_hand("power_at_diameter", 248.83, power=100.0, diameter=0.508, diameter_new=0.6096)


def test_capacitor_by_hand():
    # 1e6 / (2 pi 60) = 2652.6; 2652.6 x 1.0 / 370 = 7.169 uF. Any handbook; from memory, recomputed.
    by_hand("microfarads", 7.169e-6, current=1.0, voltage=370.0, line=230.0)
    by_hand("amps_through", 1.0, capacitance=7.169e-6, voltage=370.0, line=230.0)


def test_rise_by_resistance_by_hand():
    # 18.2 / 14 = 1.3; 1.3 x (235 + 20) = 331.5, less 235 is 96.5 degC, less 45 degC is 51.5 K.
    # IEC 60034-1, rise by resistance; from memory, recomputed.
    given = {"resistance_cold": 14.0, "resistance_hot": 18.2, "temp_cold": 20.0, "temp_air": 45.0}
    by_hand("rise_by_resistance", 51.5, **given)


def test_bearing_life_by_hand():
    # 7800 / 600 = 13, its cube 2197; 2197e6 turns / (60 x 1075 an hour) = 34062 h. ISO 281.
    by_hand("bearing_hours", 34062.0, load_rating=7800.0, load=600.0, speed=1075.0)


def test_insulation_and_capacitor_life_by_hand():
    # 25 K are two and a half doublings: 2^2.5 = 5.6569. IEC 60216's rule of 10 K; recomputed.
    by_hand("insulation_hours", 113137.0, letter="F", cooler=25.0, interval=10.0)
    by_hand("capacitor_hours", 2500.0, hotter=20.0, interval=10.0, voltage=370.0)


def test_coil_air_by_hand():
    # The trade's 1.08 x cfm x degF: 40944 Btu/h = 12 kW, 2400 cfm = 1.13267 m3/s;
    # 40944 / (1.08 x 2400) = 15.80 degF = 8.78 K. Common practice, no source.
    by_hand("coil_air", 43.78, heat_flow=12e3, flow=1.13267, temp_outdoor=35.0)


def test_chance_of_a_cause_by_hand():
    # 10 x 0.8 = 8 with rust by water, 30 x 0.2 = 6 by bearings: 8 / 14. Bayes, any textbook.
    given = {"common_one": 10, "common_two": 30, "seen_one": 80, "seen_two": 20}
    by_hand("cause_chance", 8 / 14, **given)


def test_units_to_carry_by_hand():
    # 60 / 80 = 75 of 100 weeks; 44 + 32 = 76 are enough for one. Newsvendor, Zipkin; recomputed.
    given = {"none": 44, "one": 32, "two": 16, "gain": 60, "cost": 20}
    by_hand("units_to_carry", 1.0, **given)
    by_hand("units_to_carry", 2.0, **given | {"gain": 120})  # 85.7 of 100 weeks


def test_slip_poles_and_torque_by_hand():
    # 7200 / 6 = 1200 rpm; 1200 - 1075 = 125, 125 / 1200. Any handbook.
    by_hand("slip_of", 125 / 1200, speed=1075.0, poles=6)
    by_hand("poles_of", 8.0, speed=825.0)
    by_hand("starting_torque", 0.85**2, percent=85.0)


# Marking


def power_question():
    return asked(BY_KEY["power_at_speed"], "Ana")


def test_any_unit_of_the_quantity_is_read():
    question = power_question()
    watts = question.marking.value
    for text in (f"{watts:.1f}", f"= {watts:.0f} W", f"{watts / 745.7:.4f} hp",
                 f"{watts / 1000:.4f}kW", f"{watts:.1f}".replace(".", ",")):  # fmt: skip
        assert question.mark(text).right, text


def test_a_wrong_unit_is_told():
    question = power_question()
    watts = question.marking.value
    for text in (f"{watts:.1f} hp", f"{watts / 745.7:.4f}", f"{watts:.1f} A"):
        mark = question.mark(text)
        assert (mark.right, mark.points, mark.slip) == (False, 0, "unit"), text


# What people write, and what it means for a question of that kind.
WRITTEN = {
    "slip": ["{n} percent", "{n} per cent", "{n}%", "about {n}", "~{n}", "{n} por ciento", "s = {n}"],
    "poles": ["{word}", "{word} poles", "{n} polos", "= {n}", "it has {n}", "{n}."],
    "amps_through": ["{comma}", "about {n}", "{n} A approx", "{n} A approx.", "approximately {n} amps",
                     "aprox. {comma} A", "unos {n} amperios", "I = 2.65*x = {n} A",
                     "{n} (measured)", "{n} A or so"],
    "insulation_hours": ["{n} hours", "{spaced} h", "{power} h", "≈ {n}"],
}  # fmt: skip


@pytest.mark.parametrize("key", WRITTEN)
def test_numbers_are_read_as_people_write_them(key):
    for student in STUDENTS:
        question = asked(BY_KEY[key], student)
        shown = question.answer.split()[0]
        forms = {
            "n": shown, "comma": shown.replace(".", ","), "spaced": f"{float(shown):,.0f}".replace(",", " "),
            "power": f"{float(shown) / 1e4:g} x 10^4",
            "word": {"4": "four", "6": "six", "8": "ocho"}.get(shown, shown),
        }  # fmt: skip
        for form in WRITTEN[key]:
            mark = question.mark(form.format(**forms))
            assert mark.right and mark.points == question.points, form.format(**forms)


@pytest.mark.parametrize(
    "text, value",
    [("1/3", 1 / 3), ("one third", 1 / 3), ("un tercio", 1 / 3), ("8 1/3", 8 + 1 / 3), ("½", 0.5),
     ("8 and 1/3", 8 + 1 / 3), ("two and a half", 2.5), ("twenty-five", 25), ("treinta y dos", 32),
     ("eight and a third", 8 + 1 / 3), ("8\u2153", 8 + 1 / 3), ("1\u00bd", 1.5), ("8-1/3", 8 + 1 / 3),
     ("7 / 8", 0.875), ("nine point six", 9.6), ("nueve coma seis", 9.6), ("point five", 0.5),
     ("two point twenty-five", 2.25), ("minus five", -5), ("menos 5", -5), ("one & a half", 1.5),
     ("trescientos cincuenta", 350), ("ciento veinticinco", 125), ("mil doscientos", 1200),
     ("two thirds", 2 / 3), ("la mitad", 0.5)],
)  # fmt: skip
def test_fractions_and_words(text, value):
    values, unit = number(plain(text))
    assert values == [pytest.approx(value)] and unit == ""


def test_a_word_between_the_number_and_its_unit_is_not_part_of_the_unit():
    assert number("three quarters of a horsepower") == ([0.75], "horsepower")
    assert number("tres cuartos de hp") == ([0.75], "hp")
    assert number("2 of 400") is None and number("5 minus 3") is None


@pytest.mark.parametrize("key, text", [
    ("amps_through", "8 or 9 A"), ("amps_through", "8-9 A"), ("amps_through", "see back of the sheet"),
    ("amps_through", "< 9"), ("amps_through", "9 amperres"), ("amps_through", "?"),
    ("no_swap", "A or B"), ("no_swap", "Z"), ("no_swap", "the second"),
    ("prove_dead", "A A B C"), ("prove_dead", "not sure"), ("prove_dead", "3 1 2"),
])  # fmt: skip
def test_what_cannot_be_read_is_left_to_the_instructor(key, text):
    mark = asked(BY_KEY[key]).mark(text)
    assert not mark.read and mark.points == 0 and not mark.right


def test_points_that_the_instructor_types_are_taken():
    question = asked(BY_KEY["power_at_speed"])
    for text, points in (("2 points", 2), ("1.5 pts", 1.5), ("3 puntos", 3), ("0 points", 0)):
        mark = question.mark(text)
        assert (mark.points, mark.right, mark.read) == (points, points == 3, True)
    assert not question.mark("9 points").read


def test_letters_are_read_as_people_write_them():
    question = asked(BY_KEY["no_swap"])
    one = question.answer
    for text in (
        one,
        f"{one.lower()})",
        f"option {one}",
        f"{one}, it is too fast",
        f"answer: {one}",
    ):
        assert question.mark(text).right, text


def test_what_a_comma_may_mean():
    assert readings("", "1,075") == [1075.0, 1.075]
    assert readings("", "0,452") == [0.452]
    assert readings("-", "1.075,5") == [-1075.5] and readings("", "1 1/2") == [1.5]
    assert readings("", "9" * 400) == []


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60) | st.from_regex(r"[-+=~ ]*[0-9.,/ ]{1,12} ?[A-Za-z%]{0,4}"))
def test_no_text_of_a_student_raises(text):
    for key in ("power_at_speed", "coil_air", "units_to_carry", "no_swap", "prove_dead"):
        mark = asked(BY_KEY[key]).mark(text)
        assert 0 <= mark.points <= BY_KEY[key].points and mark.told
        assert mark.right == (mark.points == BY_KEY[key].points)


def test_nothing_given_at_all():
    assert power_question().mark(None).points == 0


# What is wrong in a file is told


GOOD = """
[q]
kind = "number"
points = 2
minutes = 2
answer = "life_left"
quantity = "share"
unit = { US = "%", SI = "%" }
tolerance = 3
draw.percent = { low = 20, high = 60, step = 5 }
ask = { en = "More by {percent}?", es = "¿Más en {percent}?" }
solution = { en = "{answer} x {ratio}", es = "{answer} x {ratio}" }
slips.linear = { en = "cube", es = "cubo" }
slips.square = { en = "cube", es = "cubo", share = 0.5 }
slips.lost = { en = "left", es = "queda" }
"""
PICK = """
[q]
kind = "choice"
points = 1
minutes = 1
right = "a"
ask = { en = "?", es = "?" }
solution = { en = "a", es = "a" }
options.a = { en = "1", es = "1" }
options.b = { en = "2", es = "2" }
options.c = { en = "3", es = "3" }
"""
WRONG = [
    (GOOD, "points = 2", "", "points"),
    (GOOD, "points", "pionts", "pionts"),
    (GOOD, 'es = "¿Más en {percent}?"', 'es = "¿Más?"', "percent"),
    (GOOD, ', es = "¿Más en {percent}?"', "", "es"),
    (GOOD, "{answer} x {ratio}", "{answer} {weather}", "weather"),
    (GOOD, '"life_left"', '"life_lost"', "life_lost"),
    (GOOD, "draw.percent", "draw.per_cent", "draw"),
    (GOOD, "low = 20", "low = 90", "range"),
    (GOOD, "step = 5", "step = 1e-6", "step"),
    (GOOD, "low = 20, high = 60, step = 5", "among = 5", "among"),
    (GOOD, "low = 20, high = 60, step = 5", 'among = [1, "up"]', "among"),
    (GOOD, "low = 20, high = 60, step = 5", 'among = ["up"]', "cannot be evaluated"),
    (GOOD, "step = 5", 'step = 5, kind = "power", unit = "kW"', "draw percent"),
    (GOOD, "{answer} x {ratio}", "{answer} x {2}", "brace"),
    (GOOD, '"share"', '"shares"', "quantity"),
    (GOOD, 'US = "%"', 'US = "A"', "unit"),
    (GOOD, "tolerance = 3", 'tolerance = "3 %"', "tolerance"),
    (GOOD, "tolerance = 3", "tolerance = 40", "apart"),
    (GOOD, "slips.lost", "slips.lots", "slips"),
    (GOOD, "share = 0.5", "share = 1.5", "share"),
    (PICK, 'options.c = { en = "3", es = "3" }', "", "options"),
    (PICK, 'right = "a"', 'right = "d"', "right"),
    (PICK, '"choice"', '"riddle"', "kind"),
]  # fmt: skip


@pytest.mark.parametrize("text, old, new, named", WRONG, ids=[f"{o} {n}" for _, o, n, _ in WRONG])
def test_a_file_that_is_wrong_is_refused_by_name(tmp_path, text, old, new, named):
    assert old in text
    (tmp_path / "bearings.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_bank(tmp_path)
    said = str(refused.value)
    assert "bearings.toml, question q" in said and named in said


def test_a_bank_may_be_in_english_alone_and_is_then_asked_in_english(tmp_path):
    english = re.sub(', es = "[^"]*"', "", PICK)
    (tmp_path / "bearings.toml").write_text(english, encoding="utf-8")
    (template,) = read_bank(tmp_path)
    assert (
        " es =" not in english
        and asked(template, "Ana", "es").options == asked(template, "Ana").options
    )


def test_every_question_is_in_every_language():
    assert all(template.ask.languages == LANGUAGES for template in BANK)


def test_the_same_files_are_good_otherwise(tmp_path):
    (tmp_path / "bearings.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "cost.toml").write_text(PICK.replace("[q]", "[p]"), encoding="utf-8")
    assert [one.key for one in read_bank(tmp_path)] == ["q", "p"]
    (tmp_path / "cost.toml").write_text(PICK, encoding="utf-8")
    with pytest.raises(InputError, match="q: a key that another question already uses"):
        read_bank(tmp_path)


def test_a_folder_without_a_bank_and_an_unknown_subject(tmp_path):
    with pytest.raises(InputError, match="question bank"):
        read_bank(tmp_path)
    (tmp_path / "tides.toml").write_text(GOOD, encoding="utf-8")
    with pytest.raises(InputError, match=re.escape('the subject "tides"')):
        read_bank(tmp_path)


def test_every_answer_asks_for_what_its_template_draws():
    for template in BANK:
        if template.answer:
            assert set(inspect.signature(ANSWERS[template.answer]).parameters) == set(template.draw)
