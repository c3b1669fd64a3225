"""Store the current job in a user folder that all worksheets read and write.

A worksheet stores the current job after every change, but a job file changes only when the user
clicks Save. Each stored version has a revision, so an open worksheet can detect when another
worksheet changes the job. A worksheet's other entries (sliders, readings) are stored in a separate
file under the job's key.
"""

import os
import uuid
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import platformdirs

from airover.app.current_job import sample_job
from airover.app.unsaved import State, Unsaved
from airover.core.errors import InputError
from airover.core.files import STATE, make_folder
from airover.core.message import Message
from airover.records.job import Job

SAMPLE = "sample"  # key of the fictional sample job
MOST_RECENT = 8
_OWN = (
    "name",
    "note",
    "invented",
    "finding",
    "found",
    "dates",
    "ticks",
    "customer",
    "cost",
    "limits",
)


@dataclass(frozen=True)
class Current:
    """Current job of all worksheets.

    Attributes
    ----------
    key : str
        Key, the same for all versions of a job.
    path : str
        File that the job was opened from or saved to, or an empty string.
    content : str
        Text of the file at that time.
    revision : str
        Revision, different for each stored version.
    """

    job: Job
    key: str
    path: str = ""
    content: str = ""
    revision: str = ""

    @property
    def is_sample(self) -> bool:
        """True if the nameplate, fan and site still match the fictional sample job."""
        return self.key == SAMPLE and _facts(self.job) == _facts(sample_job())

    @property
    def is_saved(self) -> bool:
        """True if the job is saved in its file, is blank, or is the unchanged sample."""
        if self.path:
            return Job.from_toml(self.content) == self.job
        return self.job in (Job(), sample_job())

    def changed(self, job: Job) -> "Current":
        """Return a copy that contains ``job`` and has no revision."""
        return replace(self, job=job, revision="")


def new_job(job: Job | None = None, path: str = "", content: str = "") -> Current:
    """Create a current job from ``job``, or a blank job by default."""
    return Current(job or Job(), uuid.uuid4().hex, path, content)


def the_sample() -> Current:
    """Return the fictional sample job as the current job."""
    return Current(sample_job(), SAMPLE)


def user_folder() -> Path:
    """Return the folder for the current job.

    The folder is set by the environment variable AIROVER_STATE. The default is the user's state
    folder.
    """
    named = os.environ.get(STATE)
    user = platformdirs.user_state_path("airover", appauthor=False) / "worksheets"
    return Path(named).resolve() if named else user


class JobFolder:
    """Storage for the current job in ``folder``; if ``folder`` is None, nothing is stored."""

    def __init__(self, folder: Path | None):
        self.folder = folder
        self._seen, self._newest = None, ""

    def load(self) -> Current:
        """Return the stored job, or the sample job on the first start.

        Raises
        ------
        InputError
            If the file is damaged.
        """
        return self._read("job") or the_sample()

    def store(self, current: Current) -> Current:
        """Store the job as a new version and return it.

        Raises
        ------
        InputError
            If the job cannot be stored.
        """
        new = replace(current, revision=uuid.uuid4().hex)
        self._write("job", {"job": _written(new)})
        self._seen, self._newest = self._stamp(), new.revision
        return new

    def newest(self) -> str:
        """Return the revision of the stored job, or an empty string if it cannot be read."""
        stamp = self._stamp()
        if stamp != self._seen:
            self._seen, self._newest = stamp, ""
            with suppress(InputError):
                self._newest = self.load().revision
        return self._newest

    def put_aside(self, current: Current) -> None:
        """Store an unsaved job before another job replaces it."""
        if not current.is_saved:
            self._write("previous", {"job": _written(current)})

    def aside(self) -> Current | None:
        """Return the job last stored by `put_aside`, or None."""
        with suppress(InputError):
            return self._read("previous")
        return None

    def recent(self) -> list[str]:
        """Return the recently opened or saved job files that still exist, newest first."""
        found = self._load("recent") or {}
        paths = found.get("paths", {}).values()
        return [path for path in paths if Path(path).is_file()]

    def remember(self, path: str) -> None:
        """Add ``path`` to the top of the list of recent files."""
        paths = list(dict.fromkeys([path, *self.recent()]))[:MOST_RECENT]
        self._write("recent", {"paths": {str(at): path for at, path in enumerate(paths)}})

    def entries(self, step: str, key: str) -> State:
        """Return the entries that worksheet ``step`` has stored for the job with this ``key``."""
        found = self._load(f"entries-{step}") or {}
        return found if found.get("of", {}).get("key") == key else {}

    def keep(self, step: str, key: str, entries: State) -> None:
        """Store a worksheet's entries that are not part of the job.

        Raises
        ------
        InputError
            If the entries cannot be stored.
        """
        self._write(f"entries-{step}", {"of": {"key": key}, **entries})

    def _read(self, name: str) -> Current | None:
        found = self._file(name).load()
        if found is None:
            return None
        kept = found[1].get("job", {})
        return Current(
            Job.from_toml(kept.get("facts", "")),
            *(kept.get(name, "") for name in ("key", "path", "content", "revision")),
        )

    def _load(self, name: str) -> State | None:
        found = self._file(name).load_if_whole()
        return found and found[1]

    def _write(self, name: str, state: State) -> None:
        if self.folder is not None:
            make_folder(self.folder, Message("serve.unsaved_folder"))
            self._file(name).save(state)

    def _file(self, name: str) -> Unsaved:
        return Unsaved(None if self.folder is None else self.folder / f"{name}.json")

    def _stamp(self) -> tuple | None:
        """Return a value that changes whenever the file is rewritten."""
        if self.folder is None:
            return None
        try:
            found = (self.folder / "job.json").stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_size, found.st_ino


def _facts(job: Job) -> tuple:
    return tuple(value for name, value in dict(job).items() if name not in _OWN)


def _written(current: Current) -> dict[str, str]:
    own = {name: getattr(current, name) for name in ("key", "path", "content", "revision")}
    return {"facts": current.job.to_toml()} | own
