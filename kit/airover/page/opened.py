"""Files that were handed to the page: text of a known kind and size, and nothing beside it.

Only the bytes that came with the upload are read. A job, readings and a catalogue name no other
file; of a company's details the logo would, and is left out.
"""

import re

from airover.errors import InputError
from airover.message import Message
from airover.records import CatalogueMotor, Company, Job, Measurements
from airover.records.catalogue import catalogue_of
from airover.records.company import FILE
from airover.records.toml import toml_table
from airover.safe_file import decoded
from airover.units import quoted

LARGEST = 1_000_000  # bytes
_FILE = Message("error.file.file")


def text_of(name: str, content: bytes, suffix: str) -> str:
    """The text of an uploaded file; raises InputError for another ``suffix``, one that is too
    large and one that is not UTF-8."""
    if not name.lower().endswith(suffix):
        raise InputError(_FILE, quoted(name), Message("error.file.suffix", suffix=suffix))
    if len(content) > LARGEST:
        accepted = Message("error.file.most", size=f"{LARGEST / 1e6:g} MB")
        raise InputError(_FILE, f"{len(content) / 1e6:.1f} MB", accepted)
    return decoded(content, name, _FILE)


def job(name: str, content: bytes) -> Job:
    """Raises InputError as `text_of` and `records.Job.from_toml` do."""
    return Job.from_toml(text_of(name, content, ".toml"))


def measurements(name: str, content: bytes) -> Measurements:
    """Raises InputError as `text_of` and `records.Measurements.from_toml` do."""
    return Measurements.from_toml(text_of(name, content, ".toml"))


def catalogue(name: str, content: bytes) -> tuple[CatalogueMotor, ...]:
    """Raises InputError as `text_of` and `records.catalogue.catalogue_of` do."""
    return catalogue_of(text_of(name, content, ".csv"))


def company(name: str, content: bytes) -> tuple[Company, bool]:
    """The company, and whether a logo was left out; raises InputError."""
    told = toml_table(text_of(name, content, ".toml"), FILE)
    logo = told.pop("logo", None)
    return Company(**told), logo is not None


def file_name(title: str) -> str:
    """``title`` as the name of a file, without its ending.

    >>> file_name("Roof unit, Customer 1")
    'roof-unit-customer-1'
    """
    return "-".join(re.findall(r"[a-z0-9]+", title.lower()))[:60] or "job"
