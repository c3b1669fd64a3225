"""The proposal as PDF, set by typst from a template that the user may change.

A template gets the proposal as data in ``proposal.json`` and shows it as text: nothing that was
typed can become markup or code. It sees one folder with that file, the pictures and the logo, and
no other file of this machine. Fonts are those that come with typst and matplotlib, so that the
same proposal has the same bytes on every machine.
"""

import datetime
import json
import re
import tempfile
from functools import lru_cache
from pathlib import Path

from airover.errors import InputError
from airover.figures_proposal import font_folder
from airover.proposal.safe_text import breakable, everywhere
from airover.safe_file import read_text

TEMPLATE = Path(__file__).parent / "template.typ"
LARGEST_TEMPLATE = 200_000  # bytes
_PACKAGE = re.compile(r"""["']@[a-z]""")  # would be fetched from the network
_MAIN, _DATA = "proposal.typ", "proposal.json"


def read_template(path=None) -> str:
    """A template, by default the kit's; raises InputError when it cannot be used."""
    text = read_text(TEMPLATE if path is None else path, "template", LARGEST_TEMPLATE)
    if _PACKAGE.search(text):
        given = "one that imports a package, which would be fetched from the network,"
        raise InputError("template", given, "a template of one file")
    return text


def pdf(content: dict, files: dict[str, bytes], date: datetime.date, template: str) -> bytes:
    """The pages as one PDF file. ``files`` by the names that ``content`` has for them.

    Raises InputError when the template cannot be set.
    """
    return _set(content, files, date, template, "pdf")


def pages(content: dict, files: dict[str, bytes], date, template: str, ppi=100) -> list[bytes]:
    """The same pages as PNG pictures of ``ppi`` pixels per inch. Raises as ``pdf``."""
    found = _set(content, files, date, template, "png", ppi=ppi)
    return found if isinstance(found, list) else [found]


def _set(content, files, date: datetime.date, template: str, form: str, **options):
    import typst  # here, since it costs time and only a PDF needs it

    moment = datetime.datetime.combine(date, datetime.time(), datetime.UTC)
    data = json.dumps(everywhere(breakable, content), ensure_ascii=False)
    with tempfile.TemporaryDirectory(prefix="airover-") as name:
        root = Path(name)
        (root / _MAIN).write_text(template, encoding="utf-8")
        (root / _DATA).write_text(data, encoding="utf-8")
        for file, content_of in files.items():
            (root / file).write_bytes(content_of)
        try:
            return typst.compile(
                root / _MAIN, root=root, font_paths=_fonts(), ignore_system_fonts=True,
                format=form, timestamp=moment, **options,
            )  # fmt: skip
        except typst.TypstError as error:
            given = f"one that typst cannot set ({_first_line(error)})"
            raise InputError("template", given, "a template in typst's language") from None


def _first_line(error) -> str:
    return (str(error).strip().splitlines() or ["no reason given"])[0]


@lru_cache
def _fonts():
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[font_folder()])
