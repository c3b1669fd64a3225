"""Read files with clear error messages, and save each file completely or not at all.

To save a file, this module writes a temporary draft next to the target and then replaces the target
with it. Only one process at a time can open the draft. Other processes wait, or delete the draft if
it is so old that its process must have been killed. The folders returned by `data_folder` and
stored in `TEXTS` are installed with the code.
"""

import os
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

TEXTS = Path(__file__).parents[1] / "texts"
LANGUAGES = tuple(sorted(folder.name for folder in TEXTS.iterdir() if folder.is_dir()))
LEFT_BEHIND = 5.0  # s; an older draft is abandoned, because writing takes milliseconds
PATIENCE = 10.0  # s to wait for another process that is saving the same file
WINDOWS = os.name == "nt"
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
        with _draft_of(target) as (draft, file):
            if seen is not None and target.exists() and target.read_bytes() != seen:
                raise _changed(path, field)
            _fill(file, content)
            _replace(draft, target)


def write_files(folder: str | os.PathLike, files: dict[str, str | bytes], field) -> list[Path]:
    """Write ``files``, a dict of text or bytes by file name, to ``folder``. Return the paths.

    The folder is created if it does not exist. No file is replaced until all of them are written
    in full, so that the files of one job are never mixed with those of another.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written. The error names ``field``.
    """
    make_folder(folder, field)
    paths, drafts = [Path(folder) / name for name in files], []
    with ExitStack() as open_drafts:
        for path, content in zip(paths, files.values(), strict=True):
            with _errors_named(path, field):
                target = _writable(path, field)
                draft, file = open_drafts.enter_context(_draft_of(target))
                _fill(file, _encoded(content, field))
                drafts.append((draft, target))
        for path, (draft, target) in zip(paths, drafts, strict=True):
            with _errors_named(path, field):
                _replace(draft, target)
    return paths


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
def _draft_of(target: Path) -> Iterator[tuple[Path, BinaryIO]]:
    """Open an empty draft of ``target``. Delete the draft if it does not replace the target."""
    draft = target.with_name(f".{target.name}.draft")
    file = _made(draft)
    try:
        yield draft, file
    except BaseException:
        file.close()  # Windows cannot delete an open file
        draft.unlink(missing_ok=True)
        raise


def _made(draft: Path) -> BinaryIO:
    late = time.monotonic() + PATIENCE
    while True:
        try:
            return draft.open("xb")
        except FileExistsError:
            _take_away(draft)
        if time.monotonic() > late:
            raise OSError(None, "another one has been saving it for long")
        time.sleep(0.005)


def _take_away(draft: Path) -> None:
    """Delete an abandoned draft, unless another process has finished it in the meantime."""
    with suppress(FileNotFoundError):
        if time.time() - draft.stat().st_mtime > LEFT_BEHIND:
            draft.unlink()


def _fill(file: BinaryIO, content: bytes) -> None:
    """Write the draft to disk and close it."""
    file.write(content)
    file.flush()
    os.fsync(file.fileno())
    file.close()


def _replace(draft: Path, target: Path) -> None:
    """Replace the target with the draft, and flush the folder to disk."""
    if WINDOWS:  # Windows cannot open a folder or delete a locked draft
        return _replace_once_free(draft, target)
    if target.exists():
        shutil.copymode(target, draft)
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
