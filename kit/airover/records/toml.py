"""Tables in TOML, with one sentence when the text is none."""

import re
import tomllib

from airover.errors import InputError

LARGEST_FILE = 1_000_000  # bytes
DEEPEST = 12  # tables and lists in one another; the kit's own files have at most 5
LARGEST_WHOLE = 2**63  # the standard's 64 bits
# A key of very many parts takes Python's reader the square of their number.
_PART = r"""(?>[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?>{_PART}[ \t]*+\.[ \t]*+){{50}}")


def toml_table(text: str, field: str) -> dict:
    """The table that TOML ``text`` tells; raises InputError, naming ``field``, for other text,
    for tables within tables without end, and for whole numbers beyond 64 bits."""
    if _LONG_KEY.search(text):
        raise InputError(field, "a key of more than 50 parts", f"tables at most {DEEPEST} deep")
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        reason = str(error).splitlines()[0]
        raise InputError(field, f"text with an error ({reason})", "a table in TOML") from None
    _refuse_extremes(table, field)
    return table


def _refuse_extremes(value, field: str, depth: int = 0) -> None:
    """Refuse what later could not even be shown."""
    if depth > DEEPEST:
        raise InputError(field, "tables within tables", f"tables at most {DEEPEST} deep")
    if isinstance(value, int) and abs(value) > LARGEST_WHOLE:
        raise InputError(field, "a number of more than 64 bits", "numbers of at most 64 bits")
    if isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            _refuse_extremes(one, field, depth + 1)
