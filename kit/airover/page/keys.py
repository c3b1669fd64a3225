"""The key of an open page: which file keeps what is typed there and not saved."""

import re
import secrets
import time
from pathlib import Path
from urllib.parse import parse_qs

import platformdirs

from airover.errors import InputError
from airover.safe_file import make_folder
from airover.units import quoted

KEY = re.compile(r"[0-9a-f]{24}")  # 96 random bits: nobody guesses another one's page
DAY = 86400.0  # s
KEPT = 30  # days that a file outlives its last change


def new_key() -> str:
    """A key that was never given before."""
    return secrets.token_hex(12)


def key_of(query: str) -> str:
    """The key in the ``query`` of a page's address; raises InputError without exactly one.

    >>> key_of("job=0123456789abcdef01234567")
    '0123456789abcdef01234567'
    """
    given = parse_qs(query).get("job", [])
    if len(given) != 1 or not KEY.fullmatch(given[0]):
        raise InputError("job", quoted(", ".join(given)), "one key of 24 digits and letters a to f")
    return given[0]


def unsaved_folder() -> Path:
    """Where this user's unsaved work is kept, open to nobody else.

    Raises InputError when it cannot be made.
    """
    folder = platformdirs.user_state_path("airover", appauthor=False) / "unsaved"
    make_folder(folder, "folder of unsaved work")
    folder.chmod(0o700)
    return folder


def unsaved_file(folder: Path, key: str) -> Path:
    """The file of ``key``; raises InputError for a key that was not made by ``new_key``."""
    return folder / f"{key_of(f'job={key}')}.json"


def latest(folder: Path, key: str) -> Path | None:
    """The file that was written last by another page than that of ``key``; None without one."""
    found = [path for path in folder.glob("*.json") if KEY.fullmatch(path.stem)]
    others = [path for path in found if path.stem != key]
    return max(others, key=lambda path: path.stat().st_mtime, default=None)


def forget_old(folder: Path, days: float = KEPT) -> None:
    """Delete what nobody has touched for ``days``."""
    for path in folder.glob("*.json"):
        if KEY.fullmatch(path.stem) and path.stat().st_mtime < time.time() - days * DAY:
            path.unlink(missing_ok=True)
