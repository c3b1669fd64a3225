"""Read TOML tables, and report invalid TOML in one sentence."""

import re
import tomllib

from airover.core.errors import NOTHING, InputError, is_plain, one_of
from airover.core.message import Message
from airover.core.units import quoted

LARGEST_FILE = 1_000_000  # bytes
DEEPEST = 12  # nested tables and lists; the package's own files have at most 5 levels
LARGEST_WHOLE = 2**63  # 64-bit integers, as in the TOML standard
_DEEP = Message("error.toml.deep", count=DEEPEST)
# The parsing time of tomllib grows with the square of the number of parts in a key.
_PART = r"""(?>[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?>{_PART}[ \t]*+\.[ \t]*+){{50}}")


def toml_table(text: str, field) -> dict:
    """Parse TOML ``text`` and return its table.

    Raises
    ------
    InputError
        If the text is not valid TOML, if tables are nested too deeply, or if an integer has more
        than 64 bits. The error names ``field``.
    """
    if _LONG_KEY.search(text):
        raise InputError(field, Message("error.toml.long_key"), _DEEP)
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        given = Message("error.toml.broken", reason=str(error).splitlines()[0])
        raise InputError(field, given, Message("error.toml.table")) from None
    _refuse_extremes(table, field)
    return table


def only(table: dict, accepted, place) -> None:
    """Raise InputError if ``table`` has a name that is not in ``accepted``."""
    for name in table:
        if name not in accepted:
            given = Message("error.field.unknown_name", name=quoted(name))
            raise InputError(place, given, one_of(accepted))


def plain(value: object, place) -> str:
    """Return a string without leading or trailing spaces.

    Raises
    ------
    InputError
        If the value is not a string. The error names ``place``.
    """
    if not isinstance(value, str) or not value.strip() or not is_plain(value):
        raise InputError(place, as_typed(value), Message("error.field.text"))
    return value.strip()


def as_typed(value: object) -> str | Message:
    """Return a table value in the form used in an error message."""
    if value is None:
        return NOTHING
    return quoted(value if isinstance(value, str | int | float) else str(value))


def _refuse_extremes(value, field, depth: int = 0) -> None:
    """Reject nested tables and numbers that an error message cannot display."""
    if depth > DEEPEST:
        raise InputError(field, Message("error.toml.within"), _DEEP)
    if isinstance(value, int) and abs(value) > LARGEST_WHOLE:
        given, accepted = Message("error.toml.large_number"), Message("error.toml.number")
        raise InputError(field, given, accepted)
    if isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            _refuse_extremes(one, field, depth + 1)
