"""Tables in TOML, with one sentence when the text is none."""

import tomllib

from airover.errors import InputError

LARGEST_FILE = 1_000_000  # bytes


def toml_table(text: str, field: str) -> dict:
    """The table that TOML ``text`` tells; raises InputError, naming ``field``, for other text."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        reason = str(error).splitlines()[0]
        raise InputError(field, f"text with an error ({reason})", "a table in TOML") from None
