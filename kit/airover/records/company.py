"""Who offers the work: name, licence, currency, for how long an offer holds."""

import os
import re
from pathlib import Path
from typing import Annotated, Self

from pydantic import PlainValidator, ValidationInfo

from airover.errors import NOTHING, InputError
from airover.message import Message
from airover.records.fields import Flag, Record, Text, whole
from airover.records.picture import JPEG, PNG, picture_size, profile_size
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import beside, read_bytes, read_text
from airover.units import quoted

FILE = Message("error.company.file")
LARGEST_LOGO = 2_000_000  # bytes
MOST_PIXELS = 10_000_000  # a PNG of 2 MB may hold a thousand times as many, all alike
LARGEST_PROFILE = 50_000  # bytes; usual ones of screens have 3 kB
_BEGINNINGS = {".png": PNG, ".jpg": JPEG, ".jpeg": JPEG}


def _currency(value, info: ValidationInfo) -> str:
    if not isinstance(value, str) or not re.fullmatch("[A-Z]{3}", value.strip()):
        accepted = Message("error.money.capitals", example="USD")
        raise InputError("currency", quoted(value), accepted)
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
        found = cls(**toml_table(read_text(path, FILE, LARGEST_FILE), FILE))
        if not found.name:
            raise InputError("company name", NOTHING, Message("error.company.name"))
        if not found.logo:
            return found
        logo = beside(Path(path).resolve().parent, found.logo, "logo")
        return found.model_copy(update={"logo": str(logo)})

    def logo_bytes(self) -> bytes | None:
        """The logo's file; raises InputError when it is neither PNG nor JPEG, or has so many
        pixels that nobody could unpack them."""
        if not self.logo:
            return None
        content = read_bytes(self.logo, "logo", LARGEST_LOGO)
        beginning = _BEGINNINGS.get(Path(self.logo).suffix.lower())
        name = quoted(Path(self.logo).name)
        if beginning is None or not content.startswith(beginning):
            raise InputError("logo", name, Message("error.company.picture"))
        width, height = picture_size(content)
        if not 0 < width * height <= MOST_PIXELS:
            given = Message("error.company.size", file=name, size=f"{width} x {height}")
            raise InputError("logo", given, Message("error.company.pixels", most=MOST_PIXELS))
        if profile_size(content) > LARGEST_PROFILE:
            given = Message("error.company.large_profile", file=name)
            accepted = Message("error.company.profile", size=f"{LARGEST_PROFILE // 1000} kB")
            raise InputError("logo", given, accepted)
        return content
