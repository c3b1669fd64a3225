"""One look: few colours, each legible on its ground; letters that can be read on a phone."""

import re
from pathlib import Path

import pytest

import airover
from airover.reports import palette
from airover.reports.drawing import PLAIN, PRINT_SMALL
from airover.reports.motor import PAGE_SIZE as PHONE_SIZE
from airover.reports.proposal_figures import SIZE as PAPER_SIZE

PACKAGE = Path(airover.__file__).parent
HEX = re.compile(r"#[0-9a-fA-F]{3}(?:[0-9a-fA-F]{3})?\b(?!\()")
NAMED = {value for value in vars(palette).values() if HEX.fullmatch(str(value))}
BLACK = {"#000", "#333"}  # what is printed in black on white: a work order, a list to load
PHONE, MARGINS = 390, 28  # px of a phone's width, of that beside a picture


def test_texts_can_be_read_and_lines_and_marks_be_seen():
    grounds = [(pair, 4.5) for pair in palette.TEXTS] + [(pair, 3.0) for pair in palette.MARKS]
    assert not [pair for pair, least in grounds if palette.contrast(*pair) < least]


def test_neighbours_of_a_stack_differ_in_grey():
    for one, other in zip(palette.STACK, palette.STACK[1:], strict=False):
        assert palette.contrast(one, other) > 1.25


def test_the_contrast_of_black_white_and_a_known_grey():
    # 21 to 1 by definition; #767676 is the lightest grey of 4.5 to 1 on white.
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)
    assert palette.contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert palette.contrast("#777777", "#ffffff") < 4.5


def test_every_colour_is_of_the_palette():
    known = {*NAMED, *palette.STACK, *BLACK, "#fff"}
    paths = [
        path for kind in ("py", "css", "js", "typ", "j2") for path in PACKAGE.rglob(f"*.{kind}")
    ]
    strange = {
        f"{path.relative_to(PACKAGE)}: {colour}"
        for path in paths
        for colour in HEX.findall(path.read_text(encoding="utf-8"))
        if colour.lower() not in known
    }
    assert not strange


def test_letters_can_be_read_on_a_phone():
    for size, (wide, _) in ((PLAIN, PHONE_SIZE), (PRINT_SMALL, PAPER_SIZE)):
        assert size / 72 * (PHONE - MARGINS) / wide >= 10  # px
