"""Read files uploaded to the page after checking their type and size.

Only the uploaded bytes are read. Jobs, readings and catalogs cannot refer to other files. Company
details can refer to a logo, which is omitted.
"""

import re

import ipywidgets as widgets

from airover.app.calculators import read
from airover.core.errors import InputError
from airover.core.files import decoded
from airover.core.message import Message
from airover.core.toml import toml_table
from airover.core.units import quoted
from airover.records.catalog import Catalog
from airover.records.company import FILE, Company
from airover.records.importing import catalog_from
from airover.records.job import Job
from airover.records.nameplate_photo import Photo, read_photo
from airover.records.readings import Measurements
from airover.records.sheets import Sheet, sheet_of

LARGEST = 1_000_000  # bytes
LARGEST_TABLE = 4_500_000  # bytes, for a table or a photo
LARGEST_INSIDE = 50_000_000  # bytes, for a decompressed workbook
TABLES = ".csv,.txt,.tsv,.xlsx,.parquet"
_FILE = Message("error.file.file")


def text_of(name: str, content: bytes, suffix: str) -> str:
    """Return the text of an uploaded file.

    Raises
    ------
    InputError
        If the file has another ``suffix``, is too large or is not UTF-8 text.
    """
    if not name.lower().endswith(suffix):
        raise InputError(_FILE, quoted(name), Message("error.file.suffix", suffix=suffix))
    check_size(content, LARGEST)
    return decoded(content, name, _FILE)


def job(name: str, content: bytes) -> Job:
    """Return the job from an uploaded file.

    Raises
    ------
    InputError
        For the same reasons as in `text_of` and `records.Job.from_toml`.
    """
    return Job.from_toml(text_of(name, content, ".toml"))


def measurements(name: str, content: bytes) -> Measurements:
    """Return the readings from an uploaded file.

    Raises
    ------
    InputError
        For the same reasons as in `text_of` and `Measurements.from_toml`.
    """
    return Measurements.from_toml(text_of(name, content, ".toml"))


def catalog(name: str, content: bytes) -> Catalog:
    """Return the motors from an uploaded table with any headings.

    Raises
    ------
    InputError
        If the file is too large, or for the same reasons as in `records.importing.catalog_from`.
    """
    check_size(content, LARGEST_TABLE)
    return read(catalog_from, name, content, LARGEST_INSIDE)


def table(name: str, content: bytes) -> Sheet:
    """Return an uploaded table as text cells.

    Raises
    ------
    InputError
        If the file is too large, or for the same reasons as in `records.sheets.sheet_of`.
    """
    check_size(content, LARGEST_TABLE)
    return read(sheet_of, name, content, "", LARGEST_INSIDE)


def photo(content: bytes) -> Photo:
    """Return an uploaded photo of a nameplate with the data that was read from it.

    Raises
    ------
    InputError
        If the file is too large, or for the same reasons as in
        `records.nameplate_photo.read_photo`.
    """
    check_size(content, LARGEST_TABLE)
    return read(read_photo, content)


def check_size(content: bytes, largest: int) -> None:
    """Raise InputError if an uploaded file is too large."""
    if len(content) > largest:
        accepted = Message("error.file.most", size=f"{largest / 1e6:g} MB")
        raise InputError(_FILE, f"{len(content) / 1e6:.1f} MB", accepted)


def company(name: str, content: bytes) -> tuple[Company, bool]:
    """Return the company from an uploaded file, and True if its logo was omitted.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    given = toml_table(text_of(name, content, ".toml"), FILE)
    logo = given.pop("logo", None)
    return Company(**given), logo is not None


def file_name(title: str) -> str:
    """Convert ``title`` to a file name without extension.

    >>> file_name("Roof unit, Customer 1")
    'roof-unit-customer-1'
    """
    return "-".join(re.findall(r"[a-z0-9]+", title.lower()))[:60] or "job"


def upload(words: str, suffix: str, opens) -> widgets.FileUpload:
    """Return a button that passes an uploaded file with this ``suffix`` to ``opens``.

    The arguments of ``opens`` are the file's name and content. The same file can be uploaded again.
    """
    control = widgets.FileUpload(description=words, accept=suffix, multiple=False)

    def changed(change):
        files = change["new"]
        if files:
            control.value = ()
            opens(files[0]["name"], bytes(files[0]["content"]))

    control.observe(changed, "value")
    return control
