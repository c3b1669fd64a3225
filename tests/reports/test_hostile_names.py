"""Names that are markup, formulas, math or signs of direction, in what the commands write.

A name stands in each output as it was typed, without the signs that turn the direction of text.
"""

import csv
import io
import json
import re

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from openpyxl import load_workbook
from pypdf import PdfReader

from airover.app.cli import BAD_INPUT, FITS, main
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.lesson.marks import read_answers
from airover.records.catalog import catalog_of
from airover.records.company import Company
from airover.records.job import Job
from airover.records.lesson import SchoolClass
from airover.reports.writing import guarded
from tests.business.test_fleet import INTEL_MAC, SAMPLE
from tests.reports.test_as_typed import SHORT, close

START = data_folder() / "start"
TURNED = "\u202e\u202d\u202a\u2066\u2067\u200f\u061c"
NAMES = ("=1+1;@x", SHORT, "$a_1$ and $b^2$", f"A{TURNED}B", "<script>x</script>", "n" * 300)
TYPED = [name.translate(dict.fromkeys(map(ord, TURNED))) for name in NAMES]
TELLING = TYPED[:5]  # a long one may be cut in a narrow column
CONTROLS = ("\x1b[31m", "a\x00b", "a\x07", "a\x9bb")


def rows(path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))


def saved(path, table) -> str:
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(table)
    return str(path)


def catalog(folder) -> str:
    """The motors of the start kit, with the names for makers and models."""
    head, *motors = rows(START / "motors.csv")
    motors = [*motors, *motors, *motors][: len(NAMES)]
    return saved(folder / "motors.csv", [head, *(
        [name[:60], f"{name[:60]}{at}", *motor[2:]]
        for at, (name, motor) in enumerate(zip(NAMES, motors, strict=True))
    )])  # fmt: skip


@pytest.fixture
def run(tmp_path, capsys, monkeypatch):
    """Run a command, look at all that it writes, and return its words and its folder."""
    texts = []
    drawn = Figure.draw

    def draw(figure, renderer):
        drawn(figure, renderer)
        texts.extend(one for one in figure.findobj(Text) if one.get_text())

    monkeypatch.setattr(Figure, "draw", draw)

    def command(*words):
        out = tmp_path / "out"
        assert main([*words, "--out", str(out)]) in (FITS, 3)
        told = capsys.readouterr()
        looked_at(told.out + told.err)
        for path in out.rglob("*"):
            if path.suffix == ".csv":
                text = path.read_text(encoding="utf-8")
                looked_at(text)
                cells = [cell for row in rows(path) for cell in row]
                assert cells and [one for one in cells if guarded(one) != one] == []
            elif path.suffix in (".txt", ".json", ".html", ".md", ".toml"):
                looked_at(path.read_text(encoding="utf-8"))
            elif path.suffix == ".xlsx":
                cells = cells_of(path)
                assert cells and {cell.data_type for cell in cells} == {"s"}
                looked_at("".join(cell.value for cell in cells))
            if path.suffix == ".html":
                assert "<script>x" not in path.read_text(encoding="utf-8")
        for one in texts:
            assert not one.get_parse_math() or one._preprocess_math(one.get_text()) == (
                one.get_text(), False), "no name is typeset as math"  # fmt: skip
            looked_at(one.get_text())
        return told.out, out

    return command


def looked_at(text: str) -> None:
    assert not set(text) & set(TURNED)
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", text.replace("\r\n", "\n"))


def cells_of(path) -> list:
    """The cells of a workbook that hold text or formulas."""
    cells = (cell for sheet in load_workbook(path) for row in sheet for cell in row)
    return [cell for cell in cells if isinstance(cell.value, str)]


def pdf_text(path) -> str:
    return close("".join(page.extract_text() for page in PdfReader(path).pages))


def test_a_list_for_the_counter(run, tmp_path):
    words = str(START / "nameplates.csv"), "--catalog", catalog(tmp_path)
    told, out = run("counter", *words)
    shown = close(told + "".join(path.read_text() for path in out.glob("*.csv")))
    assert sum(close(one) in shown for one in TELLING) >= 3


def test_the_stock_of_trucks_and_counter(run, tmp_path):
    head, *calls = rows(START / "calls.csv")
    for at, call in enumerate(calls):
        call[1] = NAMES[at % len(NAMES)][:60]
    file = saved(tmp_path / "calls.csv", [head, *calls])
    told, out = run("stock", file, "--catalog", catalog(tmp_path))
    shown = close(told + "".join(path.read_text() for path in out.glob("*.csv")))
    assert sum(close(one) in shown for one in TELLING) >= 3
    assert (out / "curve.png").read_bytes() and (out / "replay.png").read_bytes()


@pytest.mark.skipif(INTEL_MAC, reason="there is no numba for Intel Macs")
def test_a_fleet(run, tmp_path):
    pytest.importorskip("pyarrow")
    head, *units = rows(START / "units.csv")
    units = [[f"{name[:60]} {at}", *units[0][1:]] for at, name in enumerate(NAMES)]
    file = saved(tmp_path / "units.csv", [head, *units])
    _, out = run("fleet", file, "--catalog", catalog(tmp_path))
    listed = "".join(cell.value for cell in cells_of(out / "fleet.xlsx"))
    assert all(one in listed for one in TELLING)
    assert json.loads((out / "fleet.json").read_text())["rows"] == len(units)


@pytest.mark.skipif(INTEL_MAC, reason="there is no numba for Intel Macs")
def test_a_fleet_in_a_file_of_its_own_kind(run, tmp_path):
    """Names in Parquet are not read as cells of a table."""
    pq = pytest.importorskip("pyarrow.parquet")
    names = [*NAMES, *CONTROLS, None]
    units = pq.read_table(SAMPLE).slice(0, len(names))
    units = units.set_column(0, "unit", [names])
    pq.write_table(units, tmp_path / "units.parquet")
    _, out = run("fleet", str(tmp_path / "units.parquet"), "--catalog", catalog(tmp_path))
    listed = "".join(cell.value for cell in cells_of(out / "fleet.xlsx"))
    assert all(one in listed for one in (*TELLING[:3], TELLING[4]))


def school_class(folder) -> str:
    path = folder / "class.toml"
    names = [name[:70] for name in NAMES]
    path.write_text(
        f'name = {json.dumps(NAMES[2])}\nlanguage = "en"\nsystem = "US"\nseed = 7\n'
        f"count = 3\ninvented = true\nstudents = {json.dumps(names)}\n",
        encoding="utf-8",
    )
    return str(path)


def test_written_tests_and_their_grades(run, tmp_path):
    room = school_class(tmp_path)
    _, out = run("lesson", "paper", room)
    papers = "".join(pdf_text(path) for path in out.glob("*.pdf"))
    assert all(close(one) in papers for one in TELLING)
    answers = [["student", "1", "2", "3"], *([name[:70], "A", "=2", "$x$"] for name in NAMES)]
    told, out = run("lesson", "mark", room, saved(tmp_path / "answers.csv", answers))
    papers = pdf_text(out / "feedback.pdf")
    assert all(close(one) in papers for one in TELLING)
    assert sum(close(one) in close(told) for one in TELLING) >= 3


@pytest.mark.parametrize("sign", CONTROLS)
def test_control_characters_are_refused_in_a_sentence(sign, tmp_path):
    head, motor = rows(START / "motors.csv")[:2]
    table = io.StringIO()
    csv.writer(table).writerows([head, [f"Demo{sign}", *motor[1:]]])
    room = tmp_path / "class.toml"
    room.write_text(f"name = {json.dumps(sign)}\nstudents = ['A']\n", encoding="utf-8")
    (tmp_path / "answers.csv").write_text(f"student,1\nStudent A,{sign}\n", encoding="utf-8")
    students = SchoolClass.read(START / "class.toml")
    for read, *given in (
        (Job.from_toml, f"name = {json.dumps(sign)}"),
        (lambda: Company(name=f"E{sign}"),),
        (catalog_of, table.getvalue()),
        (SchoolClass.read, room),
        (read_answers, tmp_path / "answers.csv", students, 1),
    ):
        with pytest.raises(InputError) as caught:
            read(*given)
        looked_at(str(caught.value))


def test_signs_of_direction_in_a_job_reach_no_output(run, tmp_path, capsys):
    job = (START / "job.toml").read_text(encoding="utf-8")
    file = tmp_path / "job.toml"
    file.write_text(f"note = {json.dumps(NAMES[3])}\n{job}", encoding="utf-8")
    for words in (("work",), ("order",), ("roof",), ("proposal",)):
        run(words[0], str(file), "--catalog", catalog(tmp_path))
    file.write_text(f"{json.dumps(TURNED)} = 1\n{job}", encoding="utf-8")
    assert main(["work", str(file)]) == BAD_INPUT
    looked_at(capsys.readouterr().err)
