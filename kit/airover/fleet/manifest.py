"""What of a fleet is done: parts are written whole or not at all, and a manifest names them.

A part counts when the manifest names it. A run that was killed leaves at most one part that is not
named, which is worked anew and comes out the same.
"""

import hashlib
import json
from pathlib import Path

from airover.errors import InputError
from airover.safe_file import make_folder, read_text, write_bytes, write_text
from airover.units import quoted

NAME, LARGEST = "manifest.json", 50_000_000


def fingerprint(path) -> str:
    """SHA-256 of a file; raises InputError when it cannot be read."""
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        given = f"{quoted(str(path))} ({error.strerror})"
        raise InputError("units", given, "a file that can be read") from None


def code() -> str:
    """SHA-256 of all the kit's code: other code may give other figures."""
    folder = Path(__file__).resolve().parents[1]
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*.py")):
        whole.update(path.relative_to(folder).as_posix().encode() + path.read_bytes())
    return whole.hexdigest()


class Manifest:
    """The manifest of the folder ``out`` for one run's ``inputs``: what they are, by name."""

    def __init__(self, out: Path, inputs: dict):
        make_folder(out, "out")
        self.out, self.inputs = Path(out), inputs
        self.parts = {}
        self._resume()

    def _resume(self) -> None:
        """Take over what is done; refuse a folder of another run or with other files."""
        if not (self.out / NAME).exists():
            if any(path.suffix == ".parquet" for path in self.out.iterdir()):
                given = f"{quoted(str(self.out))}, which has Parquet files but no manifest,"
                raise InputError("out", given, "an empty folder, or one of the same run")
            return self._write()
        held = json.loads(read_text(self.out / NAME, "manifest", LARGEST))
        for name, value in self.inputs.items():
            if held["inputs"].get(name) != value:
                given = f"{quoted(str(self.out))}, which was begun with another {name},"
                raise InputError("out", given, "a new folder, or the same inputs to go on")
        self.parts = {int(number): part for number, part in held["parts"].items()}
        for draft in self.out.glob(".*.draft"):  # of a run that was killed
            draft.unlink()

    def done(self, number: int) -> bool:
        """Whether a part is named and its files are there."""
        part = self.parts.get(number)
        return part is not None and all((self.out / name).exists() for name in part["files"])

    def add(self, number: int, files: dict[str, bytes], facts: dict) -> None:
        """Write the ``files`` of a part, then name it."""
        for name, content in files.items():
            write_bytes(self.out / name, content, "out")
        sums = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
        self.parts[number] = facts | {"files": sums}
        self._write()

    def _write(self) -> None:
        parts = {str(number): self.parts[number] for number in sorted(self.parts)}
        rows, accepted, rejected = (
            sum(part[name] for part in parts.values()) for name in ("rows", "accepted", "rejected")
        )
        told = {"inputs": self.inputs, "rows_done": rows}
        told |= {"accepted": accepted, "rejected": rejected, "parts": parts}
        write_text(self.out / NAME, json.dumps(told, indent=1) + "\n", "manifest")
