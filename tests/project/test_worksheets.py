"""Worksheets are thin, were run top to bottom, and nbval really compares their figures."""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from airover.app import store
from airover.app.live import WIDGET

FOLDER = Path(__file__).resolve().parents[2] / "worksheets"
WORKSHEETS = sorted(FOLDER.glob("*.ipynb"))
LEAST_FIGURES = 10
LARGEST = 500_000  # bytes
THICK = (
    ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda, ast.For, ast.AsyncFor,
    ast.While, ast.Try, ast.TryStar, ast.With, ast.If, ast.ListComp, ast.DictComp, ast.SetComp,
    ast.GeneratorExp,
)  # fmt: skip

each = pytest.mark.parametrize("path", WORKSHEETS, ids=lambda path: path.stem)


def _code(notebook) -> list:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def _text(outputs) -> str:
    return "".join(out.get("data", {}).get("text/plain", "") for out in outputs)


def figures_stored(notebook) -> int:
    """How many checked figures the last cell stores; raises ValueError where its count differs.

    A figure is a line of a name, two spaces or more and a number; the last line counts them.
    """
    *lines, told = _text(_code(notebook)[-1].outputs).splitlines() or [""]
    found = [line for line in lines if re.fullmatch(r"\S.*?  +-?[\d.]+(e-?\d+)?", line)]
    if told != f"{len(found)} figures" or len(found) != len(lines):
        raise ValueError(f"{len(found)} figures of {len(lines)} lines stored; told was {told!r}")
    return len(found)


@each
def test_is_thin(path):
    """No definition, branch or loop: logic is in the kit, where it is tested."""
    for cell in _code(nbformat.read(path, as_version=4)):
        nodes = list(ast.walk(ast.parse(cell.source)))
        assert not [node for node in nodes if isinstance(node, THICK)], cell.source
        for node in nodes:
            assert not isinstance(node, ast.Import), cell.source
            if isinstance(node, ast.ImportFrom):
                assert node.module.split(".")[0] == "airover", cell.source


@each
def test_was_run_top_to_bottom_and_stored_clean(path):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    code = _code(notebook)
    assert [cell.execution_count for cell in code] == list(range(1, len(code) + 1))
    assert set(notebook.metadata) == {"kernelspec", "language_info"}
    outputs = [output for cell in code for output in cell.outputs]
    assert not [output for output in outputs if output.output_type == "error"]
    assert not [output for output in outputs if WIDGET in output.get("data", {})]
    assert path.stat().st_size < LARGEST
    assert str(Path.home()) not in path.read_text(encoding="utf-8")


@each
def test_stores_its_checked_figures(path):
    assert figures_stored(nbformat.read(path, as_version=4)) >= LEAST_FIGURES


@each
def test_follows_the_rhythm(path):
    """Question, panel, conclusion, limits, equations, checked figures; cautions in words."""
    cells = nbformat.read(path, as_version=4).cells
    words = "\n".join(cell.source for cell in cells)
    order = ["Question", "panel = ", "## Conclusion", "## Limits", "## Equations", "## Checked"]
    places = [words.find(word) for word in order]
    assert -1 not in places and places == sorted(places)
    assert re.search("fictional|invented", words) and re.search(
        "lock out (and tag out )?the power", words
    )
    *_, title, last = cells
    assert (
        title.metadata["jp-MarkdownHeadingCollapsed"] and last.metadata["jupyter"]["source_hidden"]
    )


@each
def test_panel_is_near_the_top_and_its_last_answer_is_stored(path):
    """A reader who has not run the worksheet sees verdict, picture, and how to start."""
    cells = nbformat.read(path, as_version=4).cells
    at, panel = next((at, cell) for at, cell in enumerate(cells) if cell.cell_type == "code")
    assert at <= 2 and panel.source.endswith("\npanel")
    said, pictured = panel.outputs
    assert "Run All Cells" in said.data["text/html"]
    assert "image/png" in pictured.data or path == WORKSHEETS[-1]  # its picture is the solution


@pytest.mark.parametrize("path", WORKSHEETS[:8], ids=lambda path: path.stem)
def test_has_cells_to_play_with(path):
    cells = nbformat.read(path, as_version=4).cells
    tries = [at for at, cell in enumerate(cells) if cell.source.startswith("**Try this:**")]
    assert len(tries) >= 2
    for at in tries:
        assert cells[at + 1].cell_type == "code" and cells[at + 1].outputs
        changed = re.findall(r"`([^`.]*[0-9.]+[^`]*)`", cells[at].source)
        assert changed  # says what to type


def _nbval(folder: Path) -> subprocess.CompletedProcess:
    options = ("-q", "-p", "no:cacheprovider", "--nbval", "--nbval-current-env")
    command = [sys.executable, "-m", "pytest", *options, "-c", os.devnull, "--rootdir", "."]
    command = [*command, "copy.ipynb"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_nbval_passes_a_stored_figure_and_fails_an_edited_one(tmp_path):
    """As the worksheets themselves are run by `python3 kit test`, on cells of one second."""
    cells = [nbformat.v4.new_code_cell(f'print("speed [rpm]  {rpm}")') for rpm in (1075, 825)]
    for count, cell in enumerate(cells, start=1):
        cell.execution_count = count
        cell.outputs = [nbformat.v4.new_output("stream", text="speed [rpm]  1075\n")]
    kernel = nbformat.read(WORKSHEETS[0], as_version=4).metadata
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=kernel), tmp_path / "copy.ipynb")
    ran = _nbval(tmp_path)
    assert ran.returncode == 1 and "1 failed, 1 passed" in ran.stdout, ran.stdout


def test_stripped_and_lost_figures_are_noticed_here():
    """nbval passes a notebook without outputs; the count of figures does not."""
    notebook = nbformat.read(WORKSHEETS[0], as_version=4)
    data = _code(notebook)[-1].outputs[0].data
    data["text/plain"] = "\n".join(data["text/plain"].splitlines()[1:])
    with pytest.raises(ValueError, match="figures"):
        figures_stored(notebook)
    for cell in _code(notebook):
        cell.outputs = []
    with pytest.raises(ValueError, match="0 figures"):
        figures_stored(notebook)


def test_storing_runs_the_cells_and_leaves_no_widget(tmp_path):
    source = "from ipywidgets import Text\nprint(6 * 7)\nText()"
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source)])
    path = tmp_path / "one.ipynb"
    nbformat.write(notebook, path)
    store.store(path)
    (cell,) = nbformat.read(path, as_version=4).cells
    (printed,) = cell.outputs
    assert cell.execution_count == 1 and printed.text == "42\n"
