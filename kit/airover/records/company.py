"""Who offers the work: name, licence, currency, for how long an offer holds."""

import os
import re
from pathlib import Path
from typing import Annotated, Self

from pydantic import PlainValidator, ValidationInfo

from airover.errors import InputError
from airover.records.fields import Flag, Record, Text, whole
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_bytes, read_text
from airover.units import quoted

LARGEST_LOGO = 2_000_000  # bytes
_BEGINNINGS = {".png": b"\x89PNG\r\n", ".jpg": b"\xff\xd8\xff", ".jpeg": b"\xff\xd8\xff"}


def _currency(value, info: ValidationInfo) -> str:
    if not isinstance(value, str) or not re.fullmatch("[A-Z]{3}", value.strip()):
        raise InputError("currency", quoted(value), 'three capital letters, such as "USD"')
    return value.strip()


class Company(Record):
    """The contractor on a proposal; ``logo`` is a PNG or JPEG file beside the TOML file.

    ``validity_days`` is for how many days an offer holds. ``invented`` marks demonstration data.
    """

    name: Text = ""
    address: Text = ""
    contact: Text = ""
    licence: Text = ""
    logo: Text = ""
    currency: Annotated[str, PlainValidator(_currency)] = "USD"
    validity_days: whole(1, 366) = 30
    invented: Flag = False

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """The company in the TOML file at ``path``, its logo as a path that can be opened.

        Raises InputError that says what is wrong, also for a company without a name.
        """
        found = cls(**toml_table(read_text(path, "company file", LARGEST_FILE), "company file"))
        if not found.name:
            raise InputError("company name", "nothing", "the name that stands on the proposal")
        if not found.logo:
            return found
        return found.model_copy(update={"logo": str(Path(path).resolve().parent / found.logo)})

    def logo_bytes(self) -> bytes | None:
        """The logo's file; raises InputError when it is neither PNG nor JPEG."""
        if not self.logo:
            return None
        content = read_bytes(self.logo, "logo", LARGEST_LOGO)
        beginning = _BEGINNINGS.get(Path(self.logo).suffix.lower())
        if beginning is None or not content.startswith(beginning):
            raise InputError("logo", quoted(Path(self.logo).name), "a PNG or JPEG file")
        return content
