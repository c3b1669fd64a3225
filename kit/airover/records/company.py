"""Who offers the work: name, licence, currency, for how long an offer holds."""

import os
import re
import struct
from pathlib import Path
from typing import Annotated, Self

from pydantic import PlainValidator, ValidationInfo

from airover.errors import InputError
from airover.records.fields import Flag, Record, Text, whole
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import beside, read_bytes, read_text
from airover.units import quoted

LARGEST_LOGO = 2_000_000  # bytes
MOST_PIXELS = 10_000_000  # a PNG of 2 MB may hold a thousand times as many, all alike
MARK = 0xFF  # before each segment of a JPEG
_FRAMES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # segments that tell the size
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
        logo = beside(Path(path).resolve().parent, found.logo, "logo")
        return found.model_copy(update={"logo": str(logo)})

    def logo_bytes(self) -> bytes | None:
        """The logo's file; raises InputError when it is neither PNG nor JPEG, or has so many
        pixels that nobody could unpack them."""
        if not self.logo:
            return None
        content = read_bytes(self.logo, "logo", LARGEST_LOGO)
        beginning = _BEGINNINGS.get(Path(self.logo).suffix.lower())
        if beginning is None or not content.startswith(beginning):
            raise InputError("logo", quoted(Path(self.logo).name), "a PNG or JPEG file")
        width, height = picture_size(content)
        if not 0 < width * height <= MOST_PIXELS:
            given = f"{quoted(Path(self.logo).name)} of {width} x {height} pixels"
            raise InputError("logo", given, f"a picture of 1 to {MOST_PIXELS} pixels")
        return content


def picture_size(content: bytes) -> tuple[int, int]:
    """Width and height that a PNG or JPEG says it has; zeros where it does not say."""
    if content.startswith(_BEGINNINGS[".png"]):
        told = content[12:16] == b"IHDR" and len(content) >= 24
        return struct.unpack(">II", content[16:24]) if told else (0, 0)
    place = 2
    while place + 9 <= len(content) and content[place] == MARK:
        kind, length = struct.unpack(">BH", content[place + 1 : place + 4])
        if kind in _FRAMES:
            height, width = struct.unpack(">HH", content[place + 5 : place + 9])
            return width, height
        place += 1 if kind == MARK else 2 + length  # any number of marks may stand before a kind
    return 0, 0
