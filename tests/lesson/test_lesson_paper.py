"""A class's papers, key, answer sheet and marking: the invented class of 24, and refusals."""

import csv
import io
import json
import re
import runpy
from collections import Counter

import openpyxl
import pytest
from matplotlib import get_data_path
from matplotlib.ft2font import FT2Font

from airover.app.cli import BAD_INPUT, FITS, main
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.lesson import report
from airover.lesson.bank import read_bank
from airover.lesson.marks import (
    BLANK,
    LARGEST_SHEET,
    MISSED,
    PART,
    RIGHT,
    UNREAD,
    answer_sheet,
    class_papers,
    mark_class,
    read_answers,
)
from airover.lesson.report import class_points, class_text, missed, write_marks, write_papers
from airover.records.lesson import SchoolClass
from airover.reports.writing import csv as as_csv
from tests.markdown import ROOT

LESSON = data_folder() / "lesson"
HOSTILE = (
    '#panic("worked") $x^2$ *b* _i_ @r // /* \\',
    "]#panic() ``` #{",
    "<script>alert(1)</script>",
    '=HYPERLINK("http://example.com";"x")',
    "{name} {page} {0}, O'Neill",
)
# Letters that the first font lacks come from this one.
LETTERS = set(FT2Font(f"{get_data_path()}/fonts/ttf/DejaVuSans.ttf").get_charmap())


@pytest.fixture(scope="module")
def bank():
    return read_bank()


@pytest.fixture(scope="module")
def room():
    return SchoolClass.read(LESSON / "class.toml")


@pytest.fixture(scope="module")
def marked(bank, room):
    return mark_class(bank, room, read_answers(LESSON / "answers.csv", room, room.count))


def small(room, *names, **changed) -> SchoolClass:
    return room.model_copy(update={"students": names or room.students[:2], "count": 3, **changed})


def pages(pdf: bytes) -> int:
    """How many pages a PDF says it has: the largest count of its tree of pages."""
    return max(map(int, re.findall(rb"/Type\s*/Pages\b[^>]*?/Count (\d+)", pdf)))


def texts_of(value) -> list[str]:
    """Every text in plain data."""
    if isinstance(value, str):
        return [value]
    inside = value.values() if isinstance(value, dict) else value
    return [text for one in inside for text in texts_of(one)]


def refusal(call, *arguments, **named) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **named)
    return str(caught.value)


def sheet(tmp_path, text: str):
    path = tmp_path / "answers.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("language, system", [("en", "US"), ("es", "SI")])
def test_the_class_has_whole_sheets_of_paper_and_a_short_key(bank, room, language, system):
    room = room.said_in(language, system)
    papers = class_papers(bank, room)
    paper, key = report.paper_pdf(room, papers), report.key_pdf(room, papers)
    assert pages(paper) == 2 * len(papers)  # both sides of a sheet are one student's
    assert pages(key) <= 1 + len(papers)
    assert paper == report.paper_pdf(room, class_papers(bank, room))
    assert len(paper) < 2_000_000 and len(key) < 1_000_000


def test_another_seed_is_another_paper(bank, room):
    one, other = (class_papers(bank, small(room, seed=seed)) for seed in (1, 2))
    assert one[0].questions != other[0].questions
    keys = [[question.key for question in paper.questions] for paper in one]
    assert keys[0] == keys[1] and one[0].questions != one[1].questions


@pytest.mark.parametrize("language, system", [("en", "US"), ("es", "SI")])
def test_every_letter_has_a_glyph(bank, room, language, system):
    room = room.model_copy(
        update={"language": language, "system": system, "students": ("José Ñandú",), "count": 40}
    )
    papers = class_papers(bank, room)
    marks = mark_class(bank, room, {"José Ñandú": ("¿?",) * 40})
    for content in (
        report.paper_content(room, papers),
        report.key_content(room, papers),
        report.feedback_content(marks),
    ):
        assert not {c for text in texts_of(content) for c in text if ord(c) not in LETTERS}


def test_spanish_is_spanish_and_in_its_units(bank, room):
    room = small(room, language="es", system="SI")
    content = report.paper_content(room, class_papers(bank, room))
    assert content["paper"] == "a4"
    assert content["caution"]["title"] == "Antes de empezar"
    assert "preguntas" in content["students"][0]["total"]
    assert not [text for text in texts_of(content["students"]) if re.search(r"\bthe\b", text)]
    assert answer_sheet(room, 3).startswith("alumno,1,2,3\n")


def test_the_cautions_say_that_no_paper_is_a_licence(bank, room):
    said = " ".join(report.paper_content(room, class_papers(bank, small(room)))["caution"]["items"])
    for word in (
        "not qualify you for a license",
        "lock out the power",
        "local codes",
        "replaces a measurement",
    ):
        assert word in said


def test_names_are_text_whatever_was_typed(bank, room, tmp_path):
    room = small(room, *HOSTILE, name='#panic("x") *b*')
    written = write_papers(room, class_papers(bank, room), tmp_path)
    assert [path.name for path in written] == ["paper.pdf", "key.pdf", "answers.csv"]
    cells = list(csv.reader(io.StringIO((tmp_path / "answers.csv").read_text(encoding="utf-8"))))
    assert [row[0] for row in cells[1:]] == [*HOSTILE[:3], f"'{HOSTILE[3]}", HOSTILE[4]]
    content = report.paper_content(room, class_papers(bank, room))
    assert [one["name"] for one in content["students"]] == list(HOSTILE)


def test_a_sheet_comes_back_as_it_was_written(room, tmp_path):
    room = small(room, *HOSTILE)
    given = {name: ("=1+1", "-5 %", "@x") for name in HOSTILE}
    path = sheet(tmp_path, answer_sheet(room, 3, given))
    assert "'=1+1" in path.read_text(encoding="utf-8")
    assert read_answers(path, room, 3) == given


def test_semicolons_other_order_small_letters_and_absent_students(room, tmp_path):
    room = small(room, "Ana", "Bo", "Cy", "Di")
    path = sheet(tmp_path, "2;Alumno;1;3\n1,5 A; ana ;B;\n;BO;;\n;;;\n7;'cy;x;y\n")
    assert read_answers(path, room, 3) == {"Ana": ("B", "1,5 A", ""), "Cy": ("x", "7", "y")}


@pytest.mark.parametrize(
    "text, said",
    [
        ("student,1,2\nAna,a,b\n", 'no column "3"'),
        ("student,1,2,3,4\nAna,a,b,c,d\n", 'the unknown column "4"'),
        ("student,1,2,2,3\nAna,a,b,c,d\n", 'a second column "2"'),
        ("1,2,3\na,b,c\n", 'no column "student"'),
        ("student,1,2,3\nEva,a,b,c\n", 'line 2, student: "Eva" is not accepted. Enter a student'),
        ("student,1,2,3\nAna,a,b,c\nANA,a,b,c\n", 'line 3, student: "Ana" a second time'),
        ("student,1,2,3\nAna,a,b\n", "this row has 3 cells"),
        ("student,1,2,3\n", "no student"),
        ("student,1,2,3\nAna,a\x07,b,c\n", "line 2, question 1"),
        (f"student,1,2,3\nAna,{'a' * 201},b,c\n", "at most 200 characters"),
        ('student,1,2,3\nAna,"a\n', "this row can't be read"),
        (" " * (LARGEST_SHEET + 1), "a file of at most 1 MB"),
    ],
)
def test_a_sheet_that_cannot_be_marked_is_refused(room, tmp_path, text, said):
    told = refusal(read_answers, sheet(tmp_path, text), small(room, "Ana", "Bo"), 3)
    assert said in told and "\n" not in told


def test_a_workbook_of_answers_is_read_as_it_looks(room, tmp_path):
    book = openpyxl.Workbook()
    for row in (["Student", 1, 2, 3], [], ["José", "a", 0.571, 1075.0], ["Ana", None, None, None]):
        book.active.append(row)
    book.active["C3"].number_format = "0.0%"
    book.save(tmp_path / "answers.xlsx")
    given = read_answers(tmp_path / "answers.xlsx", small(room, "Ana", "José"), 3)
    assert given == {"José": ("a", "57.1%", "1075")}


def test_a_sheet_from_a_windows_spreadsheet_is_read(room, tmp_path):
    path, file = tmp_path / "answers.csv", tmp_path / "class.toml"
    path.write_bytes("student;1;2;3\nJosé;a;½;90 °F\n".encode("cp1252"))
    assert read_answers(path, small(room, "José"), 3) == {"José": ("a", "½", "90 °F")}
    file.write_bytes('name = "Mañana"\nstudents = ["José"]\n'.encode("cp1252"))
    assert SchoolClass.read(file).name == "Mañana"
    path.write_bytes(b"student,1,2,3\nJos\x81,a,b,c\n")
    assert "not UTF-8" in refusal(read_answers, path, small(room, "José"), 3)


def test_answers_that_cannot_be_read_are_listed_and_not_lost(bank, room, tmp_path):
    room = small(room, "Ana", "Bo", subjects=["plate"], count=4)
    ana = class_papers(bank, room)[0]
    at = next(at for at, one in enumerate(ana.questions) if one.kind == "number")
    given = [one.answer for one in ana.questions]
    given[at] = "see the back"
    marks = mark_class(bank, room, {"Ana": tuple(given)})
    worth = ana.questions[at].points
    assert marks.scripts[0].states[at] == UNREAD and marks.scripts[0].open_points == worth
    assert marks.scripts[0].points == ana.points - worth
    said = " ".join(class_text(marks).split())
    assert f'Ana, question {at + 1} ({worth} points): "see the back"' in said
    assert f"up to {worth} more after grading" in said
    assert marks.to_dict()["to_grade"][0]["given"] == "see the back"
    names = {path.name for path in write_marks(marks, tmp_path)}
    table = (tmp_path / "to-grade.csv").read_text(encoding="utf-8")
    assert "to-grade.csv" in names and "see the back" in table and ana.questions[at].answer in table
    row = report.feedback_content(marks)["students"][0]["rows"][at]
    assert row["points"] == "not graded yet" and row["state"] == UNREAD
    graded = mark_class(bank, room, {"Ana": (*given[:at], f"{worth} points", *given[at + 1 :])})
    assert graded.scripts[0].points == ana.points and not graded.unread
    write_marks(graded, tmp_path)
    assert not (tmp_path / "to-grade.csv").exists()


def test_each_sheet_names_its_quiz_and_paper(bank, room):
    room = small(room, "Ana", "Bo", "Cy", seed=31)
    papers = class_papers(bank, room)
    told = report.paper_content(room, papers)
    assert told["seed"] == "quiz 31"
    assert [one["paper"] for one in told["students"]] == ["paper 1", "paper 2", "paper 3"]
    assert [row[0] for row in report.key_content(room, papers)["grid"]["rows"]] == [
        "1. Ana", "2. Bo", "3. Cy",
    ]  # fmt: skip
    marks = mark_class(bank, room, {"Cy": ("", "", "")})
    assert report.feedback_content(marks)["students"][0]["paper"] == "paper 3"


@pytest.mark.parametrize(
    "changed, said",
    [
        ({"students": ["A", " a "]}, "twice"),
        ({"students": []}, "a list of 1 to 200 names"),
        ({"students": ["A\nB"]}, "one line"),
        ({"students": [7]}, "name 1"),
        ({"count": 41}, "a whole number from 1 to 40"),
        ({"seed": -1}, "a whole number from 0"),
        ({"language": "fr"}, '"en" or "es"'),
        ({"system": "metric"}, '"US" or "SI"'),
        ({"pupils": ["A"]}, "Unknown field"),
    ],
)
def test_a_class_that_cannot_be_is_refused(changed, said):
    assert said in refusal(SchoolClass, **{"name": "N", "students": ["A"], **changed})


def test_a_class_needs_a_name_and_students_and_known_subjects(bank, tmp_path):
    path = tmp_path / "class.toml"
    for text, said in (("seed = 1", "class name"), ('name = "N"', "students is missing")):
        path.write_text(text, encoding="utf-8")
        assert said in refusal(SchoolClass.read, path)
    strange = SchoolClass(name="N", students=["A"], subjects=["dance"])
    assert "subjects" in refusal(class_papers, bank, strange)


def test_the_stored_answers_are_what_the_script_makes(room):
    made = runpy.run_path(str(data_folder() / "make_lesson.py"))["answers"](room)
    stored = (LESSON / "answers.csv").read_text(encoding="utf-8")
    again = "run data/make_lesson.py again: the bank of questions has changed"
    assert answer_sheet(room, room.count, made) == stored, again


def right_by_hand(question, given: str) -> bool:
    """Whether an answer of the invented class is right, told without the kit's marking."""
    if question.kind != "number":
        return given.upper().replace(" ", "") == question.answer.replace(" ", "")
    number, _, unit = given.partition(" ")
    wanted, _, asked = question.answer.partition(" ")
    room = re.search(r"[\d.]+", question.tolerance)
    room = float(room[0]) if room else 0.0
    room = room if question.marking.tolerance_k else abs(float(wanted)) * room / 100
    rounding = 0.006 * abs(float(wanted))  # the key shows three figures
    return bool(given) and unit in ("", asked) and abs(float(number) - float(wanted)) <= (
        room + rounding if room else 0.0
    )  # fmt: skip


def test_the_stored_class_is_marked_as_by_hand(bank, room, marked):
    rows = list(csv.reader(io.StringIO((LESSON / "answers.csv").read_text(encoding="utf-8"))))[1:]
    papers = {paper.student: paper for paper in class_papers(bank, room)}
    assert [row[0] for row in rows] == [one.student for one in marked.scripts] and len(rows) == 24
    counts = [Counter() for _ in range(room.count)]
    for (name, *given), script in zip(rows, marked.scripts, strict=True):
        questions = papers[name].questions
        right = [right_by_hand(*pair) for pair in zip(questions, given, strict=True)]
        assert right == [state == RIGHT for state in script.states], name
        least = sum(one.points for one, good in zip(questions, right, strict=True) if good)
        partly = sum(one.points for one, s in zip(questions, script.states) if s == PART)
        assert least <= script.points <= least + partly
        assert [not text for text in given] == [state == BLANK for state in script.states]
        for at, good in enumerate(right):
            counts[at][good] += 1
    assert [one.counts[RIGHT] for one in marked.asked] == [one[True] for one in counts]
    assert [sum(one.counts.values()) for one in marked.asked] == [24] * room.count


def test_slips_add_up_and_the_hardest_comes_first(marked):
    for one in marked.asked:
        assert sum(slip.count for slip in one.slips) == one.counts[PART] + one.counts[MISSED]
        assert all(slip.words for slip in one.slips)
        assert 0 <= one.share <= 1
    rights = [one.counts[RIGHT] for one in marked.hardest]
    assert rights == sorted(rights)
    assert any(slip.key not in ("", "order", "unit") for one in marked.asked for slip in one.slips)


def test_right_answers_get_all_points_and_blank_ones_none(bank, room):
    room = small(room)
    first, second = class_papers(bank, room)
    keys = {first.student: tuple(one.answer for one in first.questions)}
    marks = mark_class(bank, room, keys | {second.student: ("", "", "?")})
    assert marks.scripts[0].points == first.points
    assert marks.scripts[1].points == 0 and marks.scripts[1].states == (BLANK, BLANK, UNREAD)
    assert mark_class(bank, room, keys).absent == (second.student,)


def test_the_feedback_names_the_slip_and_a_page_is_each_students(marked):
    content = report.feedback_content(marked)
    for script, told in zip(marked.scripts, content["students"], strict=True):
        for state, mark, row in zip(script.states, script.marks, told["rows"], strict=True):
            said = row["told"].replace("\u00a0", " ")
            assert said == ("" if state == RIGHT else mark.told)
    assert pages(report.feedback_pdf(marked)) == len(marked.scripts)


def test_the_picture_has_a_mark_for_each_answer(marked):
    axes = missed(marked).axes[0]
    assert sum(len(line.get_xdata()) for line in axes.lines) == 24 * marked.room.count
    assert axes.get_xlabel() and axes.get_ylabel()
    names = [tick.get_text() for tick in axes.get_yticklabels()]
    assert names[0].endswith(f", {marked.hardest[0].number}")


def test_a_class_of_which_nobody_handed_in(bank, room, tmp_path):
    marks = mark_class(bank, small(room), {})
    assert "none of 2 papers" in class_text(marks)
    assert [path.name for path in write_marks(marks, tmp_path)] == [
        "marks.txt", "marks.csv", "marks.json",
    ]  # fmt: skip


def test_the_table_guards_names(bank, room):
    room = small(room, "=1+1", "Bo")
    marks = mark_class(bank, room, {"=1+1": ("x", "x", "x")})
    lines = as_csv(class_points(marks)).splitlines()
    assert lines[1].startswith("'=1+1,0,") and lines[2].endswith(",,,")


def test_the_command(tmp_path, capsys, room):
    file = tmp_path / "class.toml"
    file.write_text(
        'name = "Test"\nsubjects = ["safety"]\ncount = 2\nstudents = ["Ana", "Bo"]\n',
        encoding="utf-8",
    )
    paper = ["lesson", "paper", str(file), "--language", "es", "--units", "SI"]
    assert main([*paper, "--out", str(tmp_path / "out")]) == FITS
    assert {path.name for path in (tmp_path / "out").iterdir()} == {
        "paper.pdf", "key.pdf", "answers.csv",
    }  # fmt: skip
    (tmp_path / "a.csv").write_text("student,1,2\nAna,A,B\n", encoding="utf-8")
    mark = ["lesson", "mark", str(file), str(tmp_path / "a.csv")]
    capsys.readouterr()
    assert main([*mark, "--json", "--out", str(tmp_path / "marks")]) == FITS
    told = json.loads(capsys.readouterr().out)
    assert told["absent"] == ["Bo"] and len(told["students"][0]["questions"]) == 2
    assert len(list((tmp_path / "marks").iterdir())) == 6  # one order of a single letter is unread
    (tmp_path / "a.csv").write_text("student,1,2\nEva,A,B\n", encoding="utf-8")
    assert main(mark) == BAD_INPUT
    assert "Eva" in capsys.readouterr().err


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_help_and_the_guide_list_every_subject(bank, language, capsys):
    subjects = {template.subject for template in bank}
    with pytest.raises(SystemExit):
        main(["lesson", "paper", "--help", "--language", language])
    told = " ".join(capsys.readouterr().out.split())
    assert subjects == set(re.search(r": (fan_laws.*?)\.", told)[1].split(", "))
    guide = (ROOT / "worksheets/guide/class.md").read_text(encoding="utf-8")
    assert subjects == set(re.findall(r"^\| `(\w+)` \| [A-Z]", guide, re.MULTILINE))
