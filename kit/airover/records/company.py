"""Who offers the work: name, licence, currency, for how long an offer holds."""

import os
import re
from pathlib import Path
from typing import Annotated, Self

from pydantic import PlainValidator, ValidationInfo

from airover.errors import InputError
from airover.records.fields import Flag, Record, Text, whole
from airover.records.picture import JPEG, PNG, picture_size, profile_size
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import beside, read_bytes, read_text
from airover.units import quoted

LARGEST_LOGO = 2_000_000  # bytes
MOST_PIXELS = 10_000_000  # a PNG of 2 MB may hold a thousand times as many, all alike
LARGEST_PROFILE = 50_000  # bytes; usual ones of screens have 3 kB
_BEGINNINGS = {".png": PNG, ".jpg": JPEG, ".jpeg": JPEG}


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
        if profile_size(content) > LARGEST_PROFILE:
            given = f"{quoted(Path(self.logo).name)} with a profile of colours that is larger"
            raise InputError("logo", given, f"a profile of at most {LARGEST_PROFILE // 1000} kB")
        return content
