"""Web page files, trimmed and compressed once so that the page opens quickly on a slow network."""

import gzip
import hashlib
import re
from pathlib import Path
from typing import NamedTuple

# Prefixes of classes in the style sheet of the widgets that the page does not use.
UNUSED = "v-", "mdi", "fa-", "fas", "far", "fab", "theme--", "application--", "katex"
_UNUSED = re.compile(rf"\.(?:{'|'.join(UNUSED)})")
_SELECTORS = re.compile(r",(?![^(\[]*[)\]])")  # commas outside of parentheses
_QUOTED = r""""(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'"""
_BRACE = re.compile(rf"[{{}}]|{_QUOTED}")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_QUOTED_OR_COMMENT = re.compile(rf"{_QUOTED}|{_COMMENT.pattern}", re.DOTALL)


class Asset(NamedTuple):
    """Web page file with its content compressed in advance.

    Attributes
    ----------
    kind : str
        Media type.
    version : str
        First characters of the content's SHA-256 hash, which are part of the file's address.
    """

    kind: str
    version: str
    content: bytes
    packed: bytes


def read_assets(files: dict[str, Path]) -> dict[str, Asset]:
    """Return the web page files by name, with the widget style sheet trimmed."""
    found = {}
    for name, path in files.items():
        content = path.read_bytes()
        if name == "widgets.css":
            content = used_rules(content.decode("utf-8")).encode("utf-8")
        version = hashlib.sha256(content).hexdigest()[:12]
        kind = "text/css" if name.endswith(".css") else "text/javascript"
        found[name] = Asset(kind, version, content, gzip.compress(content, 9, mtime=0))
    return found


def used_rules(css: str) -> str:
    """Return ``css`` without the rules for icons and for widgets that are not on the page.

    A rule is removed if each of its selectors names a class that starts with one of `UNUSED`. Icon
    fonts are also removed. Comments are removed, except for copyright notices, which are moved to
    the top.

    >>> used_rules(".v-btn{a:b}.widget-x,.v-y{c:d}@media print{.mdi-z{e:f}.p{g:h}}")
    '.widget-x{c:d}@media print{.p{g:h}}'
    """
    notices = [one for one in _COMMENT.findall(css) if "opyright" in one]
    plain = _QUOTED_OR_COMMENT.sub(lambda one: "" if one[0].startswith("/*") else one[0], css)
    return "\n".join([*notices, _used(plain)])


def _used(css: str) -> str:
    kept, at = [], 0
    while (start := css.find("{", at)) >= 0:
        head, end = css[at:start].strip(), _block_end(css, start)
        body = css[start + 1 : end]
        if head.startswith(("@media", "@supports")):
            if inside := _used(body):
                kept.append(f"{head}{{{inside}}}")
        elif not head.startswith("@font-face"):
            used = [one for one in _SELECTORS.split(head) if not _UNUSED.search(one)]
            if used:
                kept.append(f"{','.join(used)}{{{body}}}")
        at = end + 1
    return "".join(kept)


def _block_end(css: str, start: int) -> int:
    """Return the position of the brace that closes the brace at ``start``."""
    depth = 0
    for brace in _BRACE.finditer(css, start):
        depth += {"{": 1, "}": -1}.get(brace[0], 0)
        if depth == 0:
            return brace.start()
    return len(css)
