"""Store unsaved work in a file so that it survives a page reload.

A state is a dict of dicts of strings, {form: {field: text}}, exactly as the user typed them.
"""

import base64
import datetime
import json
from pathlib import Path

from airover.core.errors import InputError
from airover.core.files import read_text, write_text
from airover.core.message import Message

LARGEST = 4_000_000  # bytes, with a logo
LARGEST_CATALOG = 8_000_000  # bytes, for a file of 5 MB
UNSAVED = Message("serve.unsaved_work")
State = dict[str, dict[str, str]]


class UnsavedCatalog:
    """Storage for the catalog of a page, next to the file ``entries`` with its entries.

    If ``entries`` is None, nothing is stored.
    """

    def __init__(self, entries: Path | None):
        self.path = None if entries is None else Path(entries).with_suffix(".catalog")

    def save(self, name: str, content: bytes) -> None:
        """Store the ``content`` of the file called ``name``, or of an imported table without a name.

        Raises
        ------
        InputError
            If the file cannot be written.
        """
        if self.path is not None:
            told = {"name": name, "content": base64.b64encode(content).decode()}
            write_text(self.path, json.dumps(told), UNSAVED)

    def forget(self) -> None:
        """Delete the stored catalog. Raises the same InputError as `Unsaved.forget`."""
        _forget(self.path)

    def load(self) -> tuple[str, bytes] | None:
        """Return the name and the content, or None if there is no catalog or if it is damaged."""
        if self.path is None or not self.path.exists():
            return None
        try:
            found = json.loads(read_text(self.path, UNSAVED, LARGEST_CATALOG))
            return str(found["name"]), base64.b64decode(found["content"], validate=True)
        except (InputError, ValueError, LookupError, TypeError, RecursionError):
            return None


class Unsaved:
    """Storage for a state in the file at ``path``; if ``path`` is None, nothing is stored."""

    def __init__(self, path: Path | None):
        self.path = None if path is None else Path(path)

    def save(self, state: State) -> None:
        """Write ``state`` atomically.

        Raises
        ------
        InputError
            If the file cannot be written.
        """
        if self.path is not None:
            now = datetime.datetime.now().replace(microsecond=0).isoformat(" ")
            text = json.dumps({"saved": now, "typed": state}, ensure_ascii=False, indent=1)
            write_text(self.path, text + "\n", UNSAVED)

    def forget(self) -> None:
        """Delete the stored state.

        Raises
        ------
        InputError
            If the file cannot be deleted.
        """
        _forget(self.path)

    def load_if_whole(self) -> tuple[str, State] | None:
        """Return the result of `load`, or None if the file is damaged."""
        try:
            return self.load()
        except InputError:
            return None

    def load(self) -> tuple[str, State] | None:
        """Return the save time and the state, or None if there is no file.

        Raises
        ------
        InputError
            If the file cannot be read or does not contain a state.
        """
        if self.path is None or not self.path.exists():
            return None
        text = read_text(self.path, UNSAVED, LARGEST)
        try:
            found = json.loads(text)
        except (ValueError, RecursionError) as error:
            raise _damaged(str(error)) from None
        if not _is_kept(found):
            raise _damaged(Message("serve.another_table"))
        return found["saved"], found["typed"]


def _forget(path: Path | None) -> None:
    if path is not None:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise InputError(UNSAVED, error.strerror, Message("serve.can_be_deleted")) from None


def _is_kept(found) -> bool:
    if not isinstance(found, dict) or not isinstance(found.get("saved"), str):
        return False
    typed = found.get("typed")
    return isinstance(typed, dict) and all(map(_is_texts, typed.values()))


def _is_texts(table) -> bool:
    return isinstance(table, dict) and all(isinstance(one, str) for one in table.values())


def _damaged(why: str | Message) -> InputError:
    return InputError(UNSAVED, why, Message("serve.written_here"))
