"""Read files and report errors clearly, and save each file completely or not at all.

To save a file, this module writes a temporary draft next to the target and then replaces the target
with it. Meanwhile, it holds an operating system lock, which is released when the process ends.
Other processes wait for the lock. The next process to save the file deletes any draft that a killed
process left behind.

A set of files is recorded in the user's state folder until all of its files have been replaced. If
the process is killed in the meantime, `finish_sets` completes the set at the next start.

The folders returned by `data_folder` and stored in `TEXTS` are installed with the code.
"""

import errno
import glob
import json
import os
import secrets
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.units import quoted

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None
    import msvcrt

TEXTS = Path(__file__).parents[1] / "texts"
LANGUAGES = tuple(sorted(folder.name for folder in TEXTS.iterdir() if folder.is_dir()))
PATIENCE = 10.0  # s to wait for another process that is saving the same file
BUSY = errno.EAGAIN, errno.EACCES, errno.EDEADLK  # errors of a lock that another process has
WINDOWS = os.name == "nt"
STATE = "AIROVER_STATE"  # environment variable with the folder for state, instead of the user's
IN_THE_WAY = 1.0  # s; a reader or virus scanner may keep a file open on Windows


def read_text(path: str | os.PathLike, field, largest: int, errors: str = "strict") -> str:
    """Read the text of a UTF-8 file of at most ``largest`` bytes, without its byte order mark.

    If ``errors`` is "replace", bytes that are not valid UTF-8 are replaced by the Unicode
    replacement character.

    Raises
    ------
    InputError
        If the file cannot be opened, is not a regular file, is too large or is not valid UTF-8. The
        error names ``field``.
    """
    return decoded(read_bytes(path, field, largest), path, field, errors)


def read_bytes(path: str | os.PathLike, field, largest: int) -> bytes:
    """Read the contents of a file of at most ``largest`` bytes.

    Raises the same InputError as ``read_text``.
    """
    content = _content(path, field, largest)
    if content is None:
        accepted = Message("error.file.most", size=f"{largest / 1e6:g} MB")
        raise InputError(field, _wrong("larger", path), accepted)
    return content


def json_text(data) -> str:
    """Return ``data`` as indented JSON in ASCII characters.

    >>> print(json_text({"amps": 1.8}))
    {
     "amps": 1.8
    }
    """
    from pydantic_core import to_json  # faster than json, which indents text in Python

    return to_json(data, indent=1, ensure_ascii=True, inf_nan_mode="constants").decode()


def decoded(content: bytes, path: str | os.PathLike, field, errors: str = "strict") -> str:
    """Decode the ``content`` of a file. Raises the same InputError as ``read_text``."""
    try:
        return content.decode("utf-8-sig", errors)
    except UnicodeDecodeError as error:
        given = _wrong("not_utf8", path, number=error.start + 1)
        raise InputError(field, given, Message("error.file.utf8")) from None


def write_text(path: str | os.PathLike, text: str, field) -> None:
    """Save ``text`` as UTF-8 with LF line endings. See ``write_bytes``."""
    write_bytes(path, _encoded(text, field), field)


def write_bytes(path: str | os.PathLike, content: bytes, field, seen: bytes | None = None):
    """Save ``content`` so that a reader sees either the old or the new file, never a partial file.

    ``seen`` is the content that the caller expects to find in the file, or None to skip the check.

    Raises
    ------
    InputError
        If the file cannot be written or if its content differs from ``seen``. In either case, the
        old file is not changed. The error names ``field``.
    """
    with _errors_named(path, field):
        target = _writable(path, field)
        with _locked(target):
            if seen is not None and target.exists() and target.read_bytes() != seen:
                raise _changed(path, field)
            with _draft_of(target, content) as draft:
                _replace(draft, target)


def write_files(folder: str | os.PathLike, files: dict[str, str | bytes], field) -> list[Path]:
    """Write ``files``, a dict of text or bytes by file name, to ``folder``. Return the paths.

    The folder is created if it does not exist. No file is replaced until all of them are written
    in full. Old files are moved away before the first new file appears, so that the files of one
    job are never mixed with those of another. If the process is killed while it replaces the files,
    `finish_sets` replaces the others.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written. In this case, the old files are not
        changed. The error names ``field``.
    """
    finish_sets()
    make_folder(folder, field)
    paths, drafts = [Path(folder) / name for name in files], []
    with ExitStack() as held:
        for path, content in zip(paths, files.values(), strict=True):
            with _errors_named(path, field):
                target = _writable(path, field)
                held.enter_context(_locked(target))
                draft = held.enter_context(_draft_of(target, _encoded(content, field)))
                drafts.append((draft, target))
        if len(drafts) == 1:
            with _errors_named(paths[0], field):
                _replace(*drafts[0])
        else:
            with _errors_named(folder, field), _recorded(drafts):
                _replace_all(drafts)
    return paths


def finish_sets() -> None:
    """Complete the sets of files whose process was killed while it replaced them."""
    folder = _sets_folder()
    for record in () if folder is None else sorted(folder.glob("*.json")):
        with suppress(OSError, ValueError):  # a folder that is not available at present
            _finish(record)


def make_folder(path: str | os.PathLike, field) -> None:
    """Create the folder at ``path`` and its parents. If that fails, the error names ``field``."""
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise _unusable(field, path, error, "writable_folder") from None


def data_folder() -> Path:
    """Return the path of the data folder, which contains the catalog and the sample jobs.

    Raises
    ------
    FileNotFoundError
        If neither the package nor the repository has a data folder.
    """
    package = Path(__file__).resolve().parents[1]
    candidates = (package / "data", package.parents[1] / "data")
    for folder in candidates:
        if folder.is_dir():
            return folder
    raise FileNotFoundError(
        "The data of airover was not found; looked in " + " and ".join(map(str, candidates)) + "."
    )


def _wrong(key: str, path, **values) -> Message:
    """Return the error message for a bad file at ``path``."""
    return Message(f"error.file.{key}", file=quoted(str(path)), **values)


def _unusable(field, path, error: Exception, accepted: str) -> InputError:
    """Return the error for a path that the operating system rejected, with the system's message."""
    reason = getattr(error, "strerror", None) or str(error)
    given = f"{quoted(str(path))} ({reason})"
    return InputError(field, given, Message(f"error.file.{accepted}"))


@contextmanager
def _errors_named(path, field) -> Iterator[None]:
    """Convert an operating system error to an InputError that names ``path``."""
    try:
        yield
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise _unusable(field, path, error, "writable") from None


def _writable(path, field) -> Path:
    """Return the full path of a file to write, unless the file is read-only."""
    target = Path(path).resolve()
    if target.is_file() and not target.stat().st_mode & stat.S_IWUSR:
        raise InputError(field, _wrong("read_only", path), Message("error.file.writable"))
    return target


def _encoded(content: str | bytes, field) -> bytes:
    try:
        return content.encode("utf-8") if isinstance(content, str) else content
    except UnicodeEncodeError:
        given, accepted = Message("error.file.half"), Message("error.file.text_utf8")
        raise InputError(field, given, accepted) from None


def _changed(path, field) -> InputError:
    return InputError(field, _wrong("changed", path), Message("error.file.as_read"))


@contextmanager
def _locked(target: Path, clean: bool = True) -> Iterator[None]:
    """Keep other processes from saving ``target``, if its file system supports locks.

    Parameters
    ----------
    clean : bool, optional
        If True, delete the drafts of killed processes.
    """
    path = target.with_name(f".{target.name}.lock")
    file, has_locks = _lock_file(path)
    try:
        if has_locks and clean:
            own = f".{glob.escape(target.name)}.{'[0-9a-f]' * 8}"
            for left in (*target.parent.glob(f"{own}.draft"), *target.parent.glob(f"{own}.old")):
                left.unlink(missing_ok=True)
        yield
    finally:
        if WINDOWS:  # which deletes only closed files
            file.close()
        with suppress(OSError):
            path.unlink(missing_ok=True)
        file.close()


def _lock_file(path: Path) -> tuple[BinaryIO, bool]:
    """Return the open file, and True if it is locked or False if locks are not supported."""
    late = time.monotonic() + PATIENCE
    while True:
        file = path.open("ab")
        try:
            _lock(file.fileno())
            if _is_at(path, file.fileno()):
                return file, True
        except OSError as error:
            if error.errno not in BUSY:
                return file, False
        file.close()  # locked by another process, or deleted by it in the meantime
        if time.monotonic() > late:
            raise OSError(None, "another one has been saving it for long")
        time.sleep(0.005)


def _lock(number: int) -> None:
    """Lock the file with this descriptor, or raise an OSError at once."""
    if fcntl is None:
        msvcrt.locking(number, msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _is_at(path: Path, number: int) -> bool:
    """Return True if ``path`` is still the file with this descriptor."""
    try:
        return os.path.samestat(path.stat(), os.fstat(number))
    except FileNotFoundError:
        return False


@contextmanager
def _draft_of(target: Path, content: bytes) -> Iterator[Path]:
    """Write ``content`` to a draft, and delete the draft if it does not replace ``target``."""
    draft = target.with_name(f".{target.name}.{secrets.token_hex(4)}.draft")
    try:
        with draft.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, draft)
        yield draft
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _replace_all(drafts: list[tuple[Path, Path]]) -> None:
    """Replace the targets of all drafts, or none of the targets. Move all old files away first."""
    moved = [(draft.with_suffix(".old"), target) for draft, target in drafts if target.exists()]
    with ExitStack() as undo:
        for old, target in moved:
            os.replace(target, old)
            undo.callback(os.replace, old, target)
        for draft, target in drafts:
            undo.callback(_put_back, draft, target)
            _replace(draft, target)
        undo.pop_all()
    for old, _ in moved:
        with suppress(OSError):
            old.unlink()


def _put_back(draft: Path, target: Path) -> None:
    if not draft.exists():
        os.replace(target, draft)


@contextmanager
def _recorded(drafts: list[tuple[Path, Path]]) -> Iterator[None]:
    """Record the drafts and targets of a set, if a folder for state is writable."""
    folder, record = _sets_folder(), None
    with suppress(OSError):
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            content = json.dumps([[str(draft), str(target)] for draft, target in drafts])
            path = folder / f"{secrets.token_hex(8)}.json"
            with _draft_of(path, content.encode()) as draft:
                _replace(draft, path)
                record = path
    try:
        yield
    finally:
        if record is not None:
            with suppress(OSError):
                record.unlink(missing_ok=True)


def _finish(record: Path) -> None:
    """Replace the targets of a recorded set whose drafts have not replaced them yet."""
    pairs = json.loads(record.read_text(encoding="utf-8"))
    pairs = [(Path(draft), Path(target)) for draft, target in pairs]
    with ExitStack() as held:
        for _, target in pairs:
            held.enter_context(_locked(target, clean=False))
        if not record.exists():  # its own process has completed it
            return
        for draft, target in pairs:
            if draft.exists():
                _replace(draft, target)
            draft.with_suffix(".old").unlink(missing_ok=True)
        record.unlink()


def _sets_folder() -> Path | None:
    """Return the folder for the records of sets, or None if there is none."""
    named = os.environ.get(STATE)
    if named:
        return Path(named).resolve() / "sets"
    try:
        import platformdirs
    except ModuleNotFoundError:
        return None
    return platformdirs.user_state_path("airover", appauthor=False) / "sets"


def _replace(draft: Path, target: Path) -> None:
    """Replace the target with the draft, and flush the folder to disk."""
    if WINDOWS:  # Windows cannot open a folder
        return _replace_once_free(draft, target)
    os.replace(draft, target)
    folder = os.open(target.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _replace_once_free(draft: Path, target: Path) -> None:
    """Replace the target. On Windows, retry while another program has the target open."""
    late = time.monotonic() + IN_THE_WAY
    while True:
        try:
            return os.replace(draft, target)
        except PermissionError:
            if time.monotonic() > late:
                raise
        time.sleep(0.005)


def beside(folder: str | os.PathLike, name: str, field) -> Path:
    """Return the resolved path of the file ``name`` in ``folder`` or in a subfolder.

    Raises
    ------
    InputError
        If the name points outside the folder. The error names ``field``.
    """
    top = Path(folder).resolve()
    try:
        path = (top / name).resolve()
    except (OSError, ValueError, RuntimeError):  # for a link loop or a null byte
        path = top
    if top not in path.parents:
        raise InputError(field, _wrong("outside", name), Message("error.file.beside"))
    return path


def _content(path, field, largest: int) -> bytes | None:
    """Read a regular file. Return None if it is larger than ``largest`` bytes."""
    try:
        if Path(path).exists() and not Path(path).is_file():  # reading a pipe could block forever
            raise OSError(None, "not a plain file")
        with open(path, "rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size > largest:
                return None
            content = file.read(size + 1)
            if len(content) > size:  # the file has grown or does not report its size
                content += file.read(largest + 1 - size)
            return content if len(content) <= largest else None
    except (OSError, ValueError, TypeError) as error:
        raise _unusable(field, path, error, "readable") from None
