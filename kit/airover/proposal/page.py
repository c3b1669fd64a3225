"""The proposal as one page of HTML: every text escaped, nothing from outside."""

import base64
from pathlib import Path

from airover.figures import palette
from airover.html_page import html_page

TEMPLATE = Path(__file__).parent / "templates" / "proposal.html"
_TYPES = {"svg": "image/svg+xml", "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg"}


def html(content: dict, files: dict[str, bytes]) -> str:
    """The whole page; ``files`` are the pictures and the logo by their names in ``content``."""
    images = {name: _inline(name, data) for name, data in files.items()}
    values = {"images": images, "verdicts": palette.VERDICTS, "colors": palette.css()}
    return html_page(TEMPLATE, content=content, **values)


def _inline(name: str, data: bytes) -> str:
    kind = _TYPES[name.rpartition(".")[2]]
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
