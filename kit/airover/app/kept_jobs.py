"""List the jobs that the page saves as TOML files in the user's folder, and detect conflicts.

A job that is open on two devices is stored in a single file. Each page remembers the content that
it last read or wrote. A page replaces a file only if the file still has this content. The
worksheets do the same with their job files (`records.job.JobFile`).
"""

import datetime
import os
import tomllib
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from airover.app import uploads
from airover.core.errors import InputError
from airover.core.files import make_folder
from airover.core.message import Message
from airover.core.toml import LARGEST_FILE
from airover.core.units import quoted
from airover.records.job import FILE, Job, JobFile, Ticks

FOLDER = "AIROVER_JOBS"  # environment variable with the folder of the kept jobs
_STEPS = len(Ticks.names())


def jobs_folder() -> Path:
    """Return the user's folder for jobs, which is not created until a job is saved."""
    named = os.environ.get(FOLDER)
    return Path(named).resolve() if named else platformdirs.user_documents_path() / "airover-jobs"


@dataclass(frozen=True)
class KeptJob:
    """Entry in the list of saved jobs.

    Attributes
    ----------
    file : str
        File name in the folder.
    day : datetime.date
        Date of the last change.
    done, steps : int
        Number of completed steps and total number of steps in the work order.
    """

    file: str
    name: str
    customer: str
    day: datetime.date
    done: int
    steps: int = _STEPS

    def has(self, words: str) -> bool:
        """Return True if each of ``words`` is in the name, customer, file name or date."""
        text = f"{self.name} {self.customer} {self.file} {self.day.isoformat()}".lower()
        return all(word in text for word in words.lower().split())


class KeptJobs:
    """Jobs in ``folder``, or no jobs if it is None. Only files in this folder are read."""

    def __init__(self, folder: Path | None):
        self.folder = folder
        self._seen: dict[str, JobFile] = {}  # as this page last read or wrote them, by name
        self._lines: dict[tuple, KeptJob | None] = {}

    def found(self, words: str = "", by_customer: bool = False) -> list[KeptJob]:
        """Return the jobs that match ``words``, sorted with the newest first or by customer.

        Files that are not jobs are left out.
        """
        paths = [] if self.folder is None else self.folder.glob("*.toml")
        lines = {_stamp(path): path for path in paths if path.is_file()}
        self._lines = {
            stamp: self._lines[stamp] if stamp in self._lines else _line(lines[stamp])
            for stamp in sorted(lines, key=lambda stamp: (stamp[1], stamp[0]), reverse=True)
        }
        jobs = [one for one in self._lines.values() if one is not None and one.has(words)]
        return sorted(jobs, key=lambda one: one.customer.lower()) if by_customer else jobs

    def open(self, file: str) -> Job:
        """Return the job in ``file`` and remember its content.

        Raises
        ------
        InputError
            If the file cannot be read, or is not in the folder.
        """
        self._seen[file] = JobFile.read(self._path(file))
        return self._seen[file].job

    def keep(self, file: str, job: Job) -> None:
        """Write the job to ``file`` if the job has changed.

        Raises
        ------
        InputError
            If the file cannot be written, or if another device has changed it.
        """
        seen = self._seen.get(file)
        if seen is None:
            self._seen[file] = JobFile(self._path(file), b"", job).saved(job)
        elif seen.job != job:
            self._seen[file] = seen.saved(job)

    def keep_as_new(self, job: Job) -> str:
        """Write the job to a new file named after the customer and the job, and return its name.

        Raises
        ------
        InputError
            If the folder or the file cannot be written.
        """
        make_folder(self.folder, FILE)
        known = job.customer.name in job.name
        title = job.name if known else f"{job.customer.name} {job.name}"
        stem, number = uploads.file_name(title), 1
        while (self.folder / (file := f"{stem}{f'-{number}' if number > 1 else ''}.toml")).exists():
            number += 1
        self.keep(file, job)
        return file

    def has_read(self, file: str) -> bool:
        """Return True if this page has read or written the file."""
        return file in self._seen

    def is_changed(self, file: str) -> bool:
        """Return True if another device has changed or deleted the file since it was read."""
        if not self.has_read(file):
            return False
        try:
            return self._path(file).read_bytes() != self._seen[file].content
        except OSError:
            return True

    def overwrite(self, file: str, job: Job) -> None:
        """Replace the file with ``job`` even if another device has changed it.

        Raises
        ------
        InputError
            If the file cannot be written.
        """
        path = self._path(file)
        content = path.read_bytes() if path.exists() else b""
        self._seen[file] = JobFile(path, content, job).saved(job)

    def _path(self, file: str) -> Path:
        """Return the path of ``file``, which must be the plain name of a job file."""
        if self.folder is None or Path(file).name != file or not file.endswith(".toml"):
            raise InputError(FILE, quoted(file), Message("flow.kept.a_file"))
        return self.folder / file


def copied(job: Job, name: str) -> Job:
    """Return a copy of ``job`` called ``name``, without completed steps."""
    return job.model_copy(update={"name": name, "ticks": Ticks()})


def _stamp(path: Path) -> tuple:
    found = path.stat()
    return path.name, found.st_mtime_ns, found.st_size


def _line(path: Path) -> KeptJob | None:
    """Return the entry for the job in a file, or None if the file is not a job."""
    if path.stat().st_size > LARGEST_FILE:
        return None
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError):
        return None
    customer, ticks = (given.get(name, {}) for name in ("customer", "ticks"))
    if not isinstance(customer, dict) or not isinstance(ticks, dict):
        return None
    day = datetime.date.fromtimestamp(path.stat().st_mtime)
    named = str(given.get("name", "")), str(customer.get("name", ""))
    return KeptJob(path.name, *named, day, len(ticks))
