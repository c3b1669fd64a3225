"""The lesson on fan laws: its figures, what it makes of predictions, and its panel."""

import numpy as np
import pytest
from scipy.optimize import brentq

from airover.app.checked import figures_of_lesson_fan
from airover.app.lesson_fan_panel import DIRECTIONS, LessonFanPanel
from airover.app.live import checked
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.texts import LANGUAGES, Texts
from airover.lesson import fan_laws_shown as shown
from airover.lesson.fan_laws import FALLS, FAST_RPM, RISES, SLOW_RPM, SPEEDS, STILL, slip, slip_rpm
from airover.lesson.fan_laws_shown import ASKED, STEPS, FanWriter, guessed, percent
from airover.lesson.notes import lesson_notes
from airover.model.cooling import at_temperature
from airover.physics import coil
from airover.physics.operating_point import crossings

RIGHT = {"flow": "2640 cfm", "pressure": "0.206 in. w.g.", "power": "283 W", "current": "+10 %"}


@pytest.fixture(scope="module")
def shared():
    return LessonFanPanel()


@pytest.fixture
def panel(shared):
    """One panel for the module, as it is for the next student."""
    with shared.filling():
        shared.language.value, shared.units.value, shared.ahead.value = "en", "US", 10
    shared.relabel()
    shared.begin_anew()
    return shared


@pytest.fixture(scope="module")
def lesson(shared):
    return shared.lesson


def test_speed_follows_the_laws_and_leaves_the_start_alone(lesson):
    swept = lesson.speed
    ratio = 1 + np.array(SPEEDS)[:, None] / 100
    for name, exponent in (("flow", 1), ("pressure", 2), ("power", 3)):
        start = swept.figures[name][swept.start]
        np.testing.assert_allclose(swept.figures[name], start * ratio**exponent)


def test_amps_rise_with_the_power_but_less(lesson):
    swept = lesson.speed
    assert np.all(np.diff(swept.band("current").mid) > 0)
    amps, power = swept.change("current", -1), swept.change("power", -1)
    assert 1 < amps.low < amps.high < power.mid


def test_a_blocked_coil_loads_a_propeller_more(lesson):
    """In every draw, whose plates differ."""
    swept = lesson.blocked
    assert np.all(np.diff(swept.figures["flow"], axis=0) < 0)
    for name in ("pressure", "winding", "condensing"):
        assert np.all(np.diff(swept.figures[name], axis=0) > 0), name
    for name in ("power", "current"):
        assert np.all(swept.figures[name][-1] > swept.figures[name][0]), name


def test_the_power_of_a_blocked_coil_by_another_road(lesson):
    """Curve and system by brentq at the curve's speed; the motor's speed in each draw is told by its
    airflow, and the hotter air off the coil is thinner."""
    points, site, power = lesson.points, lesson.job.site, []
    for dirt, flow in zip((1.0, 6.0), lesson.blocked.figures["flow"][[0, -1]], strict=True):
        k = float(np.median(lesson.system.resistance(points.density, dirt)))
        met = brentq(
            lambda q, k=k: points.at(q, FAST_RPM, points.density).pressure - k * q**2, 0.7, 1.35
        )
        hot = coil.leaving_temperature(site.heat.mid, met, site.outdoor_temperature.mid) + 273.15
        power.append(points.at(met, FAST_RPM, points.density).power * (flow / met) ** 3 / hot)
    # the air is here dry and of one density, draws by their middle: 0.5 %
    change = np.median(power[1] / power[0])
    assert lesson.blocked.change("power", -1).mid == pytest.approx(change, rel=5e-3)


def test_height_thins_the_air(lesson):
    """Pressure at 3500 m is 64.9 % of the sea's (standard atmosphere); the coil adds heat."""
    swept = lesson.height
    share = swept.change("power", -1).mid
    assert 0.64 < share < 0.72
    assert swept.direction("flow") == STILL and swept.direction("current") == FALLS
    assert swept.direction("winding") == RISES == swept.direction("condensing")


def test_swapped_motors_settle_where_the_torques_meet(lesson):
    """Another road: each draw's circuit on its own, every balance by brentq."""
    for fitted in lesson.fitted.values():
        run = fitted.run
        circuit = at_temperature(run.motor.rated, run.motor.shell, run.warm.nodes.part(0))
        for draw in (0, 41):
            one = circuit.rearranged(lambda value, at=draw: np.broadcast_to(value, (100,))[at])
            met = crossings(one, 236.0, 60.0, run.load.coefficient[draw])
            rpm = next(each.speed_rpm for each in met if each.stable)
            assert run.solution.speed_rpm[0, draw] == pytest.approx(rpm, abs=2.0)


def test_825_and_1075_rpm_do_not_swap(lesson):
    slow, fast = lesson.fitted[FAST_RPM, 8], lesson.fitted[SLOW_RPM, 6]
    assert slow.flow == FALLS and slow.amps == FALLS
    assert fast.flow == RISES and fast.amps == RISES
    assert SLOW_RPM < slow.bands["speed"].low and slow.bands["speed"].high < 900
    # The overloaded one runs near its breakdown torque, which no nameplate states: a wide range.
    assert SLOW_RPM < fast.bands["speed"].mid and fast.bands["speed"].high < FAST_RPM
    assert fast.bands["power"].mid > fast.row.ratings[-1]
    for rpm, poles in ((FAST_RPM, 6), (SLOW_RPM, 8)):
        own = lesson.fitted[rpm, poles]
        assert own.flow == STILL and 0.8 < own.bands["amps"].mid <= 1  # a fan within the rating


@pytest.mark.parametrize(
    "name, guess, word",
    [
        ("power", 1.33, "right"),
        ("power", 1.21, "squared"),
        ("power", 1.10, "straight"),
        ("power", 1.00, "still"),
        ("power", 0.75, "opposite"),
        ("power", 1.6, "much"),
        ("power", 1.05, "little"),
        ("flow", 1.10, "right"),
        ("flow", 1.33, "cubed"),
        ("pressure", 1.20, "right"),
        ("current", 1.33, "cubed"),
        ("current", 1.10, "right"),
        ("current", 1.21, "squared"),
    ],
)
def test_what_a_prediction_took_for_granted(name, guess, word):
    exponent = {"flow": 1, "pressure": 2, "power": 3}.get(name)
    true = 1.1**exponent if exponent else 1.10
    assert slip(name, 1.1, guess, Band(true, true, true)) == word


@pytest.mark.parametrize(
    "blade, poles, guess, word",
    [
        (FAST_RPM, 8, 880.0, "right"),
        (FAST_RPM, 8, 825.0, "plate"),
        (FAST_RPM, 8, 1075.0, "blade"),
        (SLOW_RPM, 6, 1075.0, "plate"),
        (SLOW_RPM, 6, 825.0, "blade"),
        (SLOW_RPM, 6, 1000.0, "much"),
        (SLOW_RPM, 6, 700.0, "little"),
    ],
)
def test_what_a_predicted_speed_took_for_granted(lesson, blade, poles, guess, word):
    assert slip_rpm(lesson.fitted[blade, poles], guess) == word


@pytest.mark.parametrize(
    "text, ratio", [("+10 %", 1.1), ("-5%", 0.95), ("33 %", 1.33), ("220 W", 1.1), ("0,5 %", 1.005)]
)
def test_predictions_are_amounts_or_changes(text, ratio):
    assert guessed("power", text, 200.0) == pytest.approx(ratio)


@pytest.mark.parametrize("text", ["", "much", "220", "220 A", "-99 %", "nan %"])
def test_what_is_neither_is_refused(text):
    with pytest.raises(InputError):
        guessed("power", text, 200.0)


def test_changes_are_told_with_their_sign():
    assert [percent(one) for one in (1.331, 1.049, 0.65, 1.0)] == [
        "+33 %",
        "+4.9 %",
        "-35 %",
        "0.0 %",
    ]


def test_nothing_is_told_before_a_prediction(panel):
    for step in STEPS:
        panel.step.value = step
        assert panel.now.slider is None or panel.now.slider.disabled
        assert "Make your predictions first" in panel.verdict.value and not panel.tables.value
        assert "283 W" not in panel.verdict.value


def test_predictions_open_slider_and_answer(panel):
    before = panel.picture.png
    panel.predict("speed", **RIGHT)
    assert list(panel.judged.iloc[:, -1]) == ["Correct."] * 4
    assert not panel.now.slider.disabled and panel.picture.png != before
    assert "power +33 %" in panel.verdict.value
    panel.now.slider.value = SPEEDS.index(-25)
    assert "power -58 %" in panel.verdict.value and "2,640 cfm" in panel.tables.value
    assert all(field.disabled for field in panel.now.fields.values())


def test_each_unreadable_prediction_is_told_beside_its_field(panel):
    panel.predict("speed", **RIGHT | {"power": "a lot", "current": ""})
    told = {name: place.value for name, place in panel.now.problems.items()}
    assert "a lot" in told["power"] and "blank" in told["current"]
    assert not told["flow"] and not panel.now.guesses and panel.now.slider.disabled
    panel.now.fields["power"].value, panel.now.fields["current"].value = "1.33 hp", "2 A"
    panel.keep()
    assert panel.now.guesses and not any(place.value for place in panel.now.problems.values())


def test_a_wrong_prediction_is_named(panel):
    panel.predict(
        "blocked", flow=FALLS, power=FALLS, current=STILL, winding=RISES, condensing=RISES
    )
    assert list(panel.judged.iloc[:, -1]) == [
        "Correct.",
        "Incorrect: rises.",
        "Incorrect: rises.",
        "Correct.",
        "Correct.",
    ]
    panel.predict(
        "swap", slow_speed="825 rpm", slow_flow=STILL, slow_amps=FALLS,
        fast_speed="1075 rpm", fast_flow=RISES, fast_amps=RISES,
    )  # fmt: skip
    why = list(panel.judged.iloc[:, -1])
    assert "plate" in why[0] and why[1] == "Incorrect: less than it needs." and why[2] == "Correct."


def test_another_change_of_speed_is_another_question(panel):
    panel.predict("speed", **RIGHT)
    panel.ahead.value = -10
    assert not panel.now.guesses and "-10 %" in panel.now.asked.value
    panel.predict("speed", flow="-10 %", pressure="-19 %", power="-27 %", current="-4 %")
    assert list(panel.judged.iloc[:, -1]) == ["Correct."] * 4


def test_the_next_student_begins_anew(panel):
    panel.predict("speed", **RIGHT)
    panel.step.value = "height"
    panel.reset.click()
    assert panel.step.value == "speed" and not panel.now.guesses
    assert all(not field.value for one in panel.steps.values() for field in one.fields.values())
    assert panel.now.place == SPEEDS.index(0)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("system", ["US", "SI"])
def test_every_step_in_both_languages_and_systems(lesson, language, system):
    told = FanWriter(language, system)
    words = []
    for step in STEPS:
        words.append(shown.question(lesson, step, told, 10))
        words.append(shown.sentence(lesson, step, 2, told))
        words.append(shown.figures(lesson, step, 2, told).to_string())
        guesses = {name: 1.0 if step == "speed" else DIRECTIONS[0] for name in ASKED[step]}
        guesses |= {name: 900.0 for name in guesses if name.endswith("_speed")}
        words.append(shown.judged(lesson, step, guesses, 10, told).to_string())
    text = "\n".join(words)
    assert "{" not in text and "nan" not in text
    for other in ("m3/s", "degC", " Pa") if system == "US" else ("cfm", "degF", "w.g."):
        assert other not in text
    if language == "es":
        assert "the " not in text and "rises" not in text and "Airflow" not in text


def test_language_and_units_change_what_is_shown_and_keep_what_was_predicted(panel):
    panel.predict("speed", **RIGHT)
    panel.language.value, panel.units.value = "es", "SI"
    assert panel.now.guesses and panel.now.slider.value == SPEEDS.index(10)
    assert "Correcto." in panel.tables.value and "potencia +33 %" in panel.verdict.value
    labels = [field.description for field in panel.now.fields.values()]
    assert labels == ["Caudal de aire", "Presión estática", "Potencia en la flecha", "Corriente"]
    assert "cfm" not in panel.verdict.value + panel.tables.value + panel.now.asked.value


def test_an_unexpected_error_is_raised(panel, monkeypatch):
    monkeypatch.setattr(shown, "question", None)
    monkeypatch.setattr(panel, "draw", lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        panel.step.value = "blocked"
    assert "No result" in panel.status.value
    monkeypatch.undo()
    panel.update()
    assert not panel.status.value


def test_notes_for_the_instructor():
    """50 minutes in each language; answers folded, or open for paper."""
    for language in LANGUAGES:
        texts = Texts(language)
        minutes = [int(line.split(":")[0]) for line in texts.below("lesson_fan.timing")]
        assert sum(minutes) == 50
        assert "<details>" in lesson_notes("lesson_fan", language)._repr_html_()
        assert "<details open>" in lesson_notes("lesson_fan", language, answers=True)._repr_html_()
    with pytest.raises(InputError, match="language"):
        lesson_notes("lesson_fan", "fr")


def test_answers_in_the_notes_are_those_of_the_figures(lesson):
    """The questions quote 213 W, 96 W and 5 %."""
    swept = lesson.speed
    start = swept.at_step("power", swept.start).mid
    assert f"{start:.0f}" == "213" and f"{start * (825 / 1075) ** 3:.0f}" == "96"
    rating = lesson.found.size.standard.power
    assert round(100 * ((rating / start) ** (1 / 3) - 1)) == 5
    assert round(100 * (1 - lesson.fitted[FAST_RPM, 8].bands["flow"].mid)) in range(17, 23)


def test_checked_figures_do_not_sit_on_a_rounding_edge(lesson):
    """Another platform may differ in the tenth digit; the text must not."""
    found = figures_of_lesson_fan(lesson)
    assert len(found) >= 40
    for factor in (1 - 1e-6, 1 + 1e-6):
        assert checked({name: factor * value for name, value in found.items()}) == checked(found)
