"""Files that are uploaded to the page and are bombs: each gets one sentence, and others are served.

A bomb is small, and holds very much. On a network, the processes that calculate read the tables and
the photos, each within its limit of memory.
"""

import io
import os
import struct
import threading
import zipfile
import zlib

import openpyxl
import psutil
import pytest
from openpyxl.xml.constants import SHEET_MAIN_NS
from PIL import Image

from airover.app import calculators, uploads
from airover.app.calculators import Calculators
from airover.app.page import App
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.records.nameplate_photo import LONGEST_SIDE, picture_of, read_photo
from tests.fuzz import samples
from tests.fuzz.rules import is_sentence

MB = 1_000_000
ROOM = 600 * MB  # bytes for a process, which needs half of it to begin with
MOTORS = (data_folder() / "start" / "motors.csv").read_bytes()


def refused(call, *given) -> str:
    with pytest.raises(InputError) as caught:
        call(*given)
    is_sentence(caught.value)
    return str(caught.value)


def picture(kind: str, size=(40, 30), **more) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "gray").save(out, kind, **more)
    return out.getvalue()


def moving(kind: str, count: int = 30) -> bytes:
    pictures = [Image.new("RGB", (40, 30), (level, 0, 0)) for level in range(count)]
    out = io.BytesIO()
    pictures[0].save(out, kind, save_all=True, append_images=pictures[1:])
    return out.getvalue()


def with_text(size: int) -> bytes:
    """A picture with a text that is compressed a thousandfold."""
    good, text = samples.png(2, 2), b"Comment\0\0" + zlib.compress(bytes(size))
    return good[:33] + samples.chunk(b"zTXt", text) + good[33:]


BOMBS = {
    "a PNG of 3600 million pixels": samples.png(60_000, 60_000, rows=1),
    "a PNG of 64 million pixels": samples.png(8_000, 8_000, rows=1),
    "a JPEG of 4225 million pixels": samples.jpeg(65_000, 65_000),
    "a cut PNG": picture("PNG", (400, 300))[:200],
    "a cut JPEG": picture("JPEG", (400, 300))[:300],
    "a PNG without its picture": samples.png(3_000, 3_000, rows=0),
    "a compressed text": with_text(200 * MB),
    "a program": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n%%EOF\n",
    "a document": b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n",
    "a table": MOTORS,
    "an archive": b"PK\x03\x04" + bytes(100),
    "a TIFF": picture("TIFF"),
    "an icon": picture("ICO"),
    "a drawing": b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>",
    "another ending": b"RIFF" + struct.pack("<I", 2**31) + b"WEBPVP8L" + bytes(20),
}


def children() -> int:
    return len(psutil.Process().children(recursive=True))


@pytest.mark.parametrize("name", BOMBS)
def test_a_photo_that_is_no_photo_gets_a_sentence(name, monkeypatch):
    monkeypatch.setattr(os, "system", None)
    before = children()
    told = refused(read_photo, BOMBS[name])
    assert "picture" in told and children() == before


@pytest.mark.parametrize(
    "content",
    [moving("GIF"), moving("WEBP"), moving("PNG"), picture("JPEG", (7000, 7000), progressive=True)],
    ids=["a moving GIF", "a moving WebP", "a moving PNG", "49 million pixels"],
)
def test_a_large_or_moving_picture_is_one_small_picture(content):
    found = picture_of(content)
    assert found.mode == "RGB" and max(found.size) <= LONGEST_SIDE


def test_a_large_upload_is_refused_before_it_is_read():
    told = refused(uploads.photo, bytes(uploads.LARGEST_TABLE + 1))
    assert "4.5 MB" in told
    assert "4.5 MB" in refused(uploads.table, "a.xlsx", bytes(uploads.LARGEST_TABLE + 1))


def book(**parts: bytes) -> bytes:
    """A workbook with some of its parts replaced: styles, sheet1, sharedStrings or workbook."""
    out, plain = io.BytesIO(), io.BytesIO()
    table = openpyxl.Workbook()
    for row in (("Model", "Volts", "Price"), ("A-1", "208-230", 90)):
        table.active.append(row)
    table.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            key = name.rpartition("/")[2].removesuffix(".xml")
            new.writestr(name, parts.get(key, old.read(name)))
    return out.getvalue()


MAIN = f'xmlns="{SHEET_MAIN_NS}"'.encode()
LAUGHS = b"".join(
    b'<!ENTITY a%d "%s">' % (at + 1, b"&a%d;" % at * 10) for at in range(9)
)  # each is ten of the one before
BOOKS = {
    "very many styles": book(
        styles=b"<styleSheet %s><cellXfs>" % MAIN + b"<xf/>" * 6 * MB + b"</cellXfs></styleSheet>"
    ),
    "one row without end": book(
        sheet1=b"<worksheet %s><sheetData><row>" % MAIN
        + b"<c><v>1</v></c>" * (3 * MB)
        + b"</row></sheetData></worksheet>"
    ),
    "more than is allowed": book(sheet1=b"<worksheet>" + bytes(60 * MB)),
    "entities of entities": book(
        sheet1=b'<!DOCTYPE x [<!ENTITY a0 "x">%s]><worksheet %s><sheetData><row><c t="str"><v>&a9;</v>'
        b"</c></row></sheetData></worksheet>" % (LAUGHS, MAIN)
    ),
    "no sheet": book(workbook=b"<workbook %s/>" % MAIN),
    "half": book()[:1000],
}


HEAVY = "very many styles", "one row without end"


@pytest.fixture(scope="module")
def pool():
    found = Calculators(2, longest=120.0, largest=ROOM)
    yield found
    found.end()


@pytest.fixture
def shared(pool, monkeypatch):
    """The page as on a network, with two processes that calculate."""
    monkeypatch.setattr(calculators, "_calculators", pool)
    pool.run(uploads.catalog, "motors.csv", MOTORS)  # it has its packages
    return pool


@pytest.mark.skipif(os.sys.platform != "linux", reason="only Linux limits the memory")
@pytest.mark.parametrize("name", BOOKS)
def test_a_workbook_that_is_a_bomb_gets_a_sentence(name, shared):
    """The memory of the process that reads it ends the first two."""
    before, most = psutil.Process().memory_info().rss, 0
    served, page = [], App()

    def others():
        served.append(uploads.catalog("motors.csv", MOTORS))

    other = threading.Thread(target=others)
    other.start()
    assert len(BOOKS[name]) < uploads.LARGEST_TABLE
    page.open_catalog("motors.xlsx", BOOKS[name])
    assert "motors.xlsx" in page.file_told.value and page.form.own_motors is None
    if name in HEAVY:
        assert "too much memory" in page.file_told.value
    most = psutil.Process().memory_info().rss
    other.join()
    assert len(served[0]) > 2, "and somebody else is served meanwhile"
    assert most - before < 200 * MB
    assert len(shared.run(uploads.catalog, "motors.csv", MOTORS)) > 2


def test_many_uploads_to_one_page_take_no_more_than_one():
    page, process = App(), psutil.Process()
    page.open_catalog("motors.csv", MOTORS)
    before = process.memory_info().rss
    for number in range(60):
        noted = MOTORS.replace(b"A-005", b"A-%03d" % number) + b"\n" * 1_000_000
        page.open_catalog("motors.csv", noted)
        assert page.form.own_motors is not None
    assert process.memory_info().rss - before < 100 * MB


def test_a_table_is_imported_in_another_process(shared, monkeypatch):
    asked = []
    run = shared.run
    monkeypatch.setattr(
        shared, "run", lambda one, *given: asked.append(one.__name__) or run(one, *given)
    )
    page = App()
    page.imports.open_file("motors.csv", MOTORS)
    assert page.imports.good > 1 and asked == ["sheet_of", "_imported"]
    with pytest.raises(InputError, match="picture"):
        uploads.photo(BOMBS["a table"])
    assert asked[-1] == "read_photo"
