"""Web page files, compressed once so that the page opens quickly on a slow network."""

import gzip
import hashlib
from pathlib import Path
from typing import NamedTuple


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
    """Return the web page files by name."""
    found = {}
    for name, path in files.items():
        content = path.read_bytes()
        version = hashlib.sha256(content).hexdigest()[:12]
        kind = "text/css" if name.endswith(".css") else "text/javascript"
        found[name] = Asset(kind, version, content, gzip.compress(content, 9, mtime=0))
    return found
