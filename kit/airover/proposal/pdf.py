"""The proposal as PDF, set by typst from a template that the user may change.

A template gets the proposal as data in ``proposal.json`` and shows it as text; it sees that file,
the pictures and the logo, and no other file of this machine.
"""

import datetime
import re
from pathlib import Path

from airover.errors import InputError
from airover.message import Message
from airover.proposal.safe_text import breakable, everywhere
from airover.safe_file import read_text
from airover.typeset import typeset

TEMPLATE = Path(__file__).parent / "template.typ"
LARGEST_TEMPLATE = 200_000  # bytes
LONGEST_LINE = 1000  # letters; tens of thousands of marks in a row keep typst busy for minutes
_PACKAGE = re.compile(r"""["']@[a-z]""")  # would be fetched from the network
_NAME = "proposal"


def read_template(path=None) -> str:
    """A template, by default the kit's; raises InputError when it cannot be used."""
    text = read_text(TEMPLATE if path is None else path, "template", LARGEST_TEMPLATE)
    if max(map(len, text.splitlines() or [""])) > LONGEST_LINE:
        given = Message("error.template.long_line", most=LONGEST_LINE)
        raise InputError("template", given, Message("error.template.shorter"))
    if _PACKAGE.search(text):
        given, accepted = Message("error.template.imports"), Message("error.template.one_file")
        raise InputError("template", given, accepted)
    return text


def pdf(content: dict, files: dict[str, bytes], date: datetime.date, template: str) -> bytes:
    """The pages as one PDF file. ``files`` by the names that ``content`` has for them.

    Raises InputError when the template cannot be set.
    """
    return typeset(_NAME, everywhere(breakable, content), files, date, template)


def pages(content: dict, files: dict[str, bytes], date, template: str, ppi=100) -> list[bytes]:
    """The same pages as PNG pictures of ``ppi`` pixels per inch. Raises as ``pdf``."""
    told = everywhere(breakable, content)
    found = typeset(_NAME, told, files, date, template, "png", ppi=ppi)
    return found if isinstance(found, list) else [found]
