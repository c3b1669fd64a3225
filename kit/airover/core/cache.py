"""Keep results: calculated arrays in the user's cache folder for later runs, or the last result.

Each file contains the arrays of one calculation and the SHA-256 hash of its own contents. The file
name is a hash of the inputs, the source code and the package versions, so a file is never used for
another calculation. A damaged file is ignored, and its arrays are recalculated. If no folder is
writable, nothing is saved, but the results are the same.

To use a different folder, set the environment variable AIROVER_CACHE. If it is set to an empty
string, nothing is saved.
"""

import hashlib
import json
import os
import platform
import tempfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache, wraps
from itertools import count
from operator import is_not
from pathlib import Path

import numpy as np

FOLDER = "AIROVER_CACHE"
MOST_KEPT = 1_000_000_000  # bytes, about 2000 motors; the least recently used are deleted first
ROOMS = Path(__file__).resolve().parents[1]
HASH = hashlib.sha256().digest_size
ENDING = ".arrays"
TRIMMED_EVERY = 50  # files saved, starting with the first
_saved = count()


def last_kept(function: Callable) -> Callable:
    """Return ``function`` with its last result kept for the same objects as arguments.

    Unlike in `functools.lru_cache`, the arguments need no hash, which takes long for a catalog.
    """
    last = None

    @wraps(function)
    def kept(*given):
        nonlocal last
        known = last  # replaced at once, because the page has several threads
        if known is None or len(given) != len(known[0]) or any(map(is_not, given, known[0])):
            known = last = given, function(*given)
        return known[1]

    return kept


def cache_folder() -> Path | None:
    """Return the cache folder, or None if there is none."""
    named = os.environ.get(FOLDER)
    if named is not None:
        return Path(named) if named else None
    try:
        import platformdirs
    except ModuleNotFoundError:
        return None
    return platformdirs.user_cache_path("airover", appauthor=False) / "motors"


def key_of(code: str, *values) -> str:
    """Return the name of the file for a calculation.

    Parameters
    ----------
    code : str
        Hash of the source code, from `code_hash`.
    values
        Inputs of the calculation, as arrays, numbers or strings.
    """
    whole = hashlib.sha256(code.encode())
    for value in map(np.asarray, values):
        whole.update(f"{value.dtype.str}{value.shape}".encode() + value.tobytes())
    return whole.hexdigest()


@cache
def code_hash(*parts: str) -> str:
    """Return the hash of the source code and the versions of Python and NumPy.

    Parameters
    ----------
    parts : str
        Names of the rooms and files whose code is used.
    """
    versions = (platform.machine(), platform.python_version(), np.__version__)
    whole = hashlib.sha256(repr(versions).encode())
    for part in parts:
        path = ROOMS / part
        for file in [path] if path.is_file() else sorted(path.glob("*.py")):
            whole.update(file.name.encode() + file.read_bytes())
    return whole.hexdigest()


def load(key: str) -> dict[str, np.ndarray] | None:
    """Return the arrays that were saved as ``key``, or None if there are none."""
    folder = cache_folder()
    if folder is None:
        return None
    path = folder / (key + ENDING)
    content = read(path)
    with suppress(OSError, ValueError, TypeError):
        if content is not None:
            arrays = _unpacked(content)
            with suppress(OSError):
                os.utime(path)
            return arrays
    return None


def save(key: str, **arrays: np.ndarray) -> None:
    """Save ``arrays`` of numbers as ``key``, completely or not at all."""
    folder = cache_folder()
    if folder is None:
        return
    saved = write(folder / (key + ENDING), _packed(arrays))
    if saved and next(_saved) % TRIMMED_EVERY == 0:
        with suppress(OSError):
            trim(folder)


def _packed(arrays: dict[str, np.ndarray]) -> bytes:
    """Return a line of JSON with the types and shapes of ``arrays``, followed by their contents.

    NumPy's own format takes several times as long to read.
    """
    arrays = {name: np.asarray(array) for name, array in arrays.items()}
    if any(array.dtype.hasobject for array in arrays.values()):
        raise TypeError("objects are not kept")
    head = {name: (array.dtype.str, array.shape) for name, array in arrays.items()}
    return b"".join([json.dumps(head).encode(), b"\n", *(one.tobytes() for one in arrays.values())])


def _unpacked(content: memoryview) -> dict[str, np.ndarray]:
    """Return the arrays in ``content``, as `_packed` wrote them."""
    head, content = bytes(content).split(b"\n", 1)
    arrays, start = {}, 0
    for name, (kind, shape) in json.loads(head).items():
        if np.dtype(kind).hasobject:
            raise TypeError("objects are not kept")
        found = np.ndarray(shape, kind, content, start)
        arrays[name] = found.copy()
        start += found.nbytes
    return arrays


def read(path: Path) -> memoryview | None:
    """Return the content that was written to ``path``, or None if it is damaged or missing."""
    with suppress(OSError):
        content = memoryview(path.read_bytes())
        if hashlib.sha256(content[HASH:]).digest() == content[:HASH]:
            return content[HASH:]
    return None


def write(path: Path, content: bytes | memoryview) -> bool:
    """Write ``content`` and its hash to ``path``, completely or not at all.

    The function returns False if the disk is full or the folder cannot be written.
    """
    draft = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".draft", delete=False) as file:
            draft = file.name
            file.write(hashlib.sha256(content).digest())
            file.write(content)
        os.replace(draft, path)
    except OSError:
        if draft is not None:
            with suppress(OSError):
                os.unlink(draft)
        return False
    return True


def trim(folder: Path, most: int = MOST_KEPT) -> None:
    """Delete the least recently used files in ``folder`` to limit it to ``most`` bytes."""
    held, kept = [], 0
    for one in os.scandir(folder):
        with suppress(OSError):  # another process has deleted it
            held.append((one.stat().st_mtime_ns, one.stat().st_size, one.path))
    for _, size, path in sorted(held, reverse=True):
        kept += size
        if kept > most:
            with suppress(OSError):
                os.unlink(path)
