"""Typeset pages with typst from a template and plain data.

A template can read only the folder that contains the data and its files. Text typed by users cannot
become markup or code, and `plain` removes its control characters. The fonts come with typst and
matplotlib, so the same pages produce identical files on every machine. typst is available as a
single wheel without dependencies for Linux, macOS and Windows (84 MB) and typesets the first PDF in
80 ms.
"""

import datetime
import json
import tempfile
import unicodedata
from functools import lru_cache
from pathlib import Path

from matplotlib import get_data_path

from airover.core.errors import InputError
from airover.core.message import Message

LONGEST_WORD, PIECE = 24, 6  # characters, after which a longer word can break, at pieces
# Empty boxes allow a line break without a character that would be copied along with an address.
_BREAKS = (
    rf'#show regex("\S{{{LONGEST_WORD + 1},}}"): it => it.text.clusters().chunks({PIECE})'
    ".map(part => part.join()).join(box(width: 0pt));"
)
_ISOLATE, _END = "\u2068", "\u2069"
_FROM_THE_RIGHT = ("R", "AL", "AN")
_TURNING = ("LRE", "LRO", "RLE", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


def typeset(
    name: str, content: dict, files: dict[str, bytes], date, template: str, form="pdf", **options
):
    """Return the pages as one PDF file, or as a list of images if ``form`` is "png".

    The template reads ``content`` from NAME.json and reads ``files`` by name from the same folder.
    The PDF metadata contains ``date``.

    Raises
    ------
    InputError
        If typst cannot typeset the template.
    """
    import typst  # slow import, needed only for typesetting

    moment = datetime.datetime.combine(date, datetime.time(), datetime.UTC)
    with tempfile.TemporaryDirectory(prefix="airover-") as folder:
        root = Path(folder)
        (root / f"{name}.typ").write_text(_BREAKS + template, encoding="utf-8")
        told = json.dumps(content, ensure_ascii=False)
        (root / f"{name}.json").write_text(told, encoding="utf-8")
        for file, content_of in files.items():
            (root / file).write_bytes(content_of)
        try:
            return typst.compile(
                root / f"{name}.typ", root=root, font_paths=_fonts(), ignore_system_fonts=True,
                format=form, timestamp=moment, **options,
            )  # fmt: skip
        except typst.TypstError as error:
            raise _refusal(_first_line(error)) from None


def plain(text: str) -> str:
    """Return ``text`` without control characters and direction marks.

    Right-to-left text is isolated, so the text around it stays in order.
    """
    if text.isascii() and text.isprintable():
        return text
    kept = "".join(_allowed(c) for c in text)
    apart = any(unicodedata.bidirectional(c) in _FROM_THE_RIGHT for c in kept)
    return f"{_ISOLATE}{kept}{_END}" if apart else kept


def everywhere(change, value):
    """Apply ``change`` to every string in nested dicts and lists."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {name: everywhere(change, one) for name, one in value.items()}
    if isinstance(value, list):
        return [everywhere(change, one) for one in value]
    return value


def _refusal(reason: str) -> InputError:
    """Return the error for a page that cannot be typeset."""
    given = Message("typeset.given", reason=reason)
    if "decode image" in reason:
        return InputError("logo", given, Message("typeset.logo"))
    return InputError("template", given, Message("typeset.template"))


def _first_line(error) -> str:
    return (str(error).strip().splitlines() or ["?"])[0]


@lru_cache
def _fonts():
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[str(get_data_path() + "/fonts/ttf")])


def _allowed(character: str) -> str:
    if character in "\n\t":
        return " "
    if unicodedata.bidirectional(character) in _TURNING:
        return ""
    return (
        "\N{REPLACEMENT CHARACTER}"
        if unicodedata.category(character) in ("Cc", "Cs")
        else character
    )
