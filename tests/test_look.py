"""One look: few colours, each legible on its ground; pictures have frames and sizes of one kind."""

import ast
import re
from pathlib import Path

import pytest
from matplotlib.colors import CSS4_COLORS, to_hex
from matplotlib.figure import Figure

import airover
from airover.figures import palette
from airover.figures import style as figure_style
from airover.figures.page import SIZE as PHONE_SIZE
from airover.figures.proposal import SIZE as PAPER_SIZE
from airover.figures.style import HEAD, PLAIN, PRINT_SMALL, SHADE, SMALL

PACKAGE = Path(airover.__file__).parent
HEX = re.compile(r"#[0-9a-fA-F]{3}(?:[0-9a-fA-F]{3})?\b(?!\()")
NAMED = {name: value for name, value in vars(palette).items() if HEX.fullmatch(str(value))}
BLACK = {"#000", "#333"}  # what is printed in black on white: a work order, a list to load
PHONE, MARGINS = 390, 28  # px of a phone's width, of that beside a picture


@pytest.mark.parametrize("text, ground", palette.TEXTS)
def test_texts_can_be_read(text, ground):
    assert palette.contrast(text, ground) >= 4.5


@pytest.mark.parametrize("mark, ground", palette.MARKS)
def test_lines_and_marks_can_be_seen(mark, ground):
    assert palette.contrast(mark, ground) >= 3


def test_the_contrast_of_black_white_and_a_known_grey():
    # 21 to 1 by definition; #767676 is the lightest grey of 4.5 to 1 on white.
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)
    assert palette.contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert palette.contrast("#777777", "#ffffff") < 4.5


def test_neighbours_of_a_stack_differ_in_grey():
    for one, other in zip(palette.STACK, palette.STACK[1:], strict=False):
        assert palette.contrast(one, other) > 1.25


def test_a_band_seen_through_is_the_band_of_the_palette():
    colour, share = SHADE["facecolor"]
    through = [share * int(colour[at : at + 2], 16) + (1 - share) * 255 for at in (1, 3, 5)]
    named = [int(palette.BAND[at : at + 2], 16) for at in (1, 3, 5)]
    assert through == pytest.approx(named, abs=2)


PICTURES = {*PACKAGE.glob("figures/*.py"), PACKAGE / "lesson" / "figures.py"}


@pytest.mark.parametrize(
    "path",
    sorted(PICTURES - {Path(palette.__file__)}),
    ids=lambda path: f"{path.parent.name}.{path.stem}",
)
def test_no_picture_names_a_colour_or_a_size_of_letters_of_its_own(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    words = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)}
    texts = {word for word in words if isinstance(word, str)}
    assert not [text for text in texts if HEX.search(text) or re.fullmatch(r"C\d|tab:\w+", text)]
    assert not texts & set(CSS4_COLORS)
    sizes = [
        given.value
        for node in ast.walk(tree)
        for given in ([*node.keywords] if isinstance(node, ast.Call) else [])
        if given.arg in ("fontsize", "labelsize", "size") and isinstance(given.value, ast.Constant)
    ]
    assert not sizes


@pytest.mark.parametrize(
    "path",
    [
        path
        for kind in ("py", "css", "js", "typ", "j2")
        for path in sorted(PACKAGE.rglob(f"*.{kind}"))
    ],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_every_colour_is_of_the_palette(path):
    found = {colour.lower() for colour in HEX.findall(path.read_text(encoding="utf-8"))}
    assert found <= {*NAMED.values(), *palette.STACK, *BLACK, "#fff"}


def test_letters_can_be_read_on_a_phone():
    for size, (wide, _) in ((PLAIN, PHONE_SIZE), (PRINT_SMALL, PAPER_SIZE)):
        assert size / 72 * (PHONE - MARGINS) / wide >= 10  # px


def test_a_frame_leaves_nothing_of_matplotlibs_own():
    axes = Figure().subplots()
    axes.set(xlabel="speed [rpm]", ylabel="torque [N m]")
    figure_style.frame(axes)
    figure_style.title(axes, "Torque")
    assert [name for name, edge in axes.spines.items() if edge.get_visible()] == ["left", "bottom"]
    assert axes.get_axisbelow() is True
    for tick in (*axes.xaxis.get_major_ticks(), *axes.yaxis.get_major_ticks()):
        assert tick.label1.get_fontsize() == SMALL
        assert to_hex(tick.label1.get_color()) == palette.SOFT
        assert to_hex(tick.gridline.get_color()) == palette.GRID
    assert axes.xaxis.label.get_fontsize() == PLAIN and axes.title.get_text() == ""
    assert axes.get_title("left") == "Torque" and axes._left_title.get_fontsize() == HEAD
