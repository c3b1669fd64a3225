"""A photo of a nameplate: read on this computer, or refused in a sentence."""

import random
import sys

import pytest

from airover.core.errors import InputError
from airover.records.nameplate_photo import read_photo
from airover.records.nameplate_text import OPEN


def test_without_the_extra_it_is_said_what_is_missing(monkeypatch):
    from airover.records import nameplate_photo
    from tests.photos import photo

    nameplate_photo._reader.cache_clear()
    monkeypatch.setitem(sys.modules, "rapidocr_onnxruntime", None)
    with pytest.raises(InputError, match="photo"):
        read_photo(photo("1/3 HP", "none", random.Random(1)))
    nameplate_photo._reader.cache_clear()


@pytest.mark.parametrize("content", [b"", b"no picture", b"\x89PNG\r\n\x1a\nbroken"])
def test_what_is_no_picture_is_refused(content):
    with pytest.raises(InputError, match="picture"):
        read_photo(content)


def test_a_drawn_nameplate_is_read_and_shows_where():
    pytest.importorskip("rapidocr_onnxruntime")
    from tests.photos import photo

    text = "HP 1/3  V 208-230  A 1.9\nRPM 1075  HZ 60\nCAP 7.5/370"
    found = read_photo(photo(text, "none", random.Random(4)))
    fields = found.nameplate.fields
    wanted = {"power": "1/3 hp", "voltage": "208-230 V", "current": "1.9 A", "speed": "1075 rpm"}
    for field, value in wanted.items():
        assert fields.get(field, value) == value
    assert len(wanted.keys() & fields.keys()) >= 3
    for one in found.nameplate.found:
        for line in found.lines_of(one):
            assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in line.corners)
        assert one.certainty != OPEN or one.others
