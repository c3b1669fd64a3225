"""Lessons as pages for a class: who may see what, and what the instructor sees."""

import csv
import re

import pytest

from airover.app.class_page import CASE, FAN, ClassBook, LessonPage, class_view
from airover.core.errors import InputError
from airover.core.texts import Texts
from tests.app.test_page_server import ask
from tests.served_page import served

TOKEN = "a-token-of-the-tests"
RIGHT = {"flow": "+10 %", "pressure": "+21 %", "power": "+33 %", "current": "+15 %"}
WRONG = RIGHT | {"pressure": "+10 %", "power": "+10 %"}


@pytest.fixture
def book(tmp_path):
    return ClassBook(tmp_path / "class")


def joined(book, name, lesson=FAN, session=None, language="en"):
    page = LessonPage(lesson, language, "US", session or name, book)
    page.name.value = name
    page.join_button.click()
    return page


def predict(page, typed, step="speed"):
    panel = page.panel
    panel.step.value = step
    for name, text in typed.items():
        panel.now.fields[name].value = text
    panel.now.keep.click()


def row_of(book, name, lesson=FAN):
    told = class_view(book, "en")["lessons"][(FAN, CASE).index(lesson)]
    return dict(told["rows"])[name]


def test_a_name_is_needed_and_nothing_is_shown_before(book):
    page = LessonPage(FAN, "es", "SI", "one", book)
    assert page.panel is None and not page.place.children
    for name in ("", "  ", "x" * 81):
        page.name.value = name
        page.join_button.click()
        assert "alert" in page.told.value and page.panel is None
    page.name.value = " José  Pérez "
    page.join_button.click()
    assert [one.name for one in book.students] == ["José Pérez"]
    assert page.panel.language.value == "es" and page.panel.units.value == "SI"


def test_the_instructor_sees_who_predicted_what(book):
    ana, bo = joined(book, "Ana"), joined(book, "Bo", language="es")
    predict(ana, RIGHT)
    predict(bo, WRONG)
    joined(book, "Cy")
    told = class_view(book, "en")
    assert told["joined"] == "3 joined."
    assert told["lessons"][0]["heads"][0][1] == "2 of 3 answered"
    assert row_of(book, "Ana")[0]["head"].startswith("4 of 4 correct (")
    assert row_of(book, "Bo")[0]["head"].startswith("2 of 4 correct (")
    assert "Shaft power: +33 %" in row_of(book, "Ana")[0]["said"]
    assert not any(cell["said"] for cell in row_of(book, "Cy"))
    blocked = {"flow": "falls", "power": "rises", "current": "falls", "winding": "rises",
               "condensing": "rises"}  # fmt: skip
    predict(ana, blocked, "blocked")
    assert row_of(book, "Ana")[1]["head"].startswith("4 of 5 correct (")


def test_what_cannot_be_read_is_no_answer(book):
    page = joined(book, "Ana")
    predict(page, RIGHT | {"power": "lots"})
    assert not book.student("Ana").answers and not book.path.exists()


def test_no_student_sees_an_answer_of_another(book):
    predict(joined(book, "Ana"), RIGHT)
    other = joined(book, "Bo")
    assert not any(step.guesses for step in other.panel.steps.values())
    assert all(not field.value for field in other.panel.now.fields.values())


def test_a_reload_shows_the_student_their_own_answers_again(book):
    predict(joined(book, "Ana"), WRONG)
    again = LessonPage(FAN, "en", "US", "Ana", book)
    step = again.panel.steps["speed"]
    assert {name: field.value for name, field in step.fields.items()} == WRONG
    assert step.guesses and again.panel.step.value == "blocked"
    again.other_button.click()
    assert again.panel is None and again.join_box.layout.display is None
    again.name.value = "Bo"
    again.join_button.click()
    assert not again.panel.steps["speed"].guesses
    assert [one.name for one in book.students] == ["Ana", "Bo"]
    assert row_of(book, "Ana")[0]["said"] and not row_of(book, "Bo")[0]["said"]


def test_a_choice_of_motor_is_listed_with_its_attempts(book):
    page = joined(book, "Ana", CASE)
    panel = page.panel
    assert panel.outcome is None and panel.verdict.value  # unsolved when it opens
    page.panel.install_button.click()
    assert not book.student("Ana").answers  # no motor was selected
    best = panel.answer.best[0].case.motor.name
    other = next(name for _, name in panel.motor.options if name not in ("", best))
    for name in (other, best):
        panel.motor.value = name
        panel.works["capacitor"].value = True
        panel.install_button.click()
        (cell,) = [cell for cell in row_of(book, "Ana", CASE) if cell["said"]]
        assert cell["head"].startswith("Best" if name == best else "Not the best")
    assert cell["said"][-1] == "attempt 2"
    again = LessonPage(CASE, "en", "US", "Ana", book)
    assert again.panel.motor.value == best and again.panel.outcome is not None


def test_the_answers_are_in_a_table_that_no_spreadsheet_runs(book):
    predict(joined(book, "=1+1"), RIGHT)
    predict(joined(book, "José"), WRONG)
    with open(book.path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["student"] for row in rows] == ["'=1+1", "José"]
    assert [(row["correct"], row["entries"]) for row in rows] == [("4", "4"), ("2", "4")]


def test_a_folder_that_cannot_be_written_is_told_to_the_instructor(tmp_path):
    (tmp_path / "class").write_text("a file")
    book = ClassBook(tmp_path / "class")
    predict(joined(book, "Ana"), RIGHT)
    assert "folder for the class" in class_view(book, "en")["trouble"]
    assert row_of(book, "Ana")[0]["said"]


def test_a_class_is_limited(book):
    for count in range(200):
        book.join(f"s{count}", f"Student {count}")
    with pytest.raises(InputError, match="200"):
        book.join("s200", "One more")


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with served(tmp_path_factory.mktemp("class"), "--network") as running:
        yield running


@pytest.mark.parametrize("lesson", [FAN, CASE])
def test_a_lesson_needs_the_token(server, lesson):
    path = f"/lesson/{lesson}"
    assert ask(server, path, token=None).status == 403
    sent = ask(server, f"{path}?token={TOKEN}", token=None)
    assert (sent.status, sent.headers["Location"]) == (302, path)
    assert "HttpOnly" in sent.headers["Set-Cookie"]
    assert ask(server, path).status == 200


def test_the_token_of_a_class_opens_its_lessons_and_nothing_else(server):
    token = re.search(r"/lesson/fan\?token=(\S+)", server[2])[1]
    assert token != TOKEN and f"/lesson/case?token={token}" in server[2]
    sent = ask(server, f"/lesson/fan?token={token}", token=None)
    assert sent.status == 302 and token in sent.headers["Set-Cookie"]
    assert ask(server, "/lesson/case", token=token).status == 200
    key = re.search(r"answers\?token=\S+&key=(\S+)", server[2])[1]
    for path in ("/", f"/?token={token}", "/?job=" + 24 * "0", f"/lesson/answers?key={key}"):
        assert ask(server, path, token=token).status == 403


def test_only_the_instructor_sees_the_answers(server):
    key = re.search(r"answers\?token=\S+&key=(\S+)", server[2])[1]
    assert ask(server, "/lesson/answers").status == 403
    assert ask(server, "/lesson/answers?key=").status == 403
    assert ask(server, f"/lesson/answers?key={key[:-1]}").status == 403
    assert ask(server, f"/lesson/answers?key={key}", token=None).status == 403
    found = ask(server, f"/lesson/answers?key={key}")
    assert found.status == 200 and Texts("en")("lesson_page.view") in found.text
    sent = ask(server, f"/lesson/answers?token={TOKEN}&key={key}", token=None)
    assert sent.headers["Location"] == f"/lesson/answers?key={key}"
    assert ask(server, "/lesson/nothing").status == 404
