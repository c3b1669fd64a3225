"""What was typed and not saved, kept in a file over a reload."""

import datetime
import json
import os
from pathlib import Path

import ipywidgets as widgets

from airover.errors import InputError
from airover.panels.after_rest import running_loop
from airover.panels.proposal_fields import results_for
from airover.records import Job
from airover.safe_file import decoded, make_folder, read_bytes, write_text

VARIABLE = "AIROVER_UNSAVED"
LARGEST = 1_000_000  # bytes
FIELD = "unsaved job"


class Unsaved:
    """The texts of one job in ``folder``: by default the one that the variable AIROVER_UNSAVED
    names, else results/unsaved beside the folder of worksheets.

    ``when`` is the time of what an earlier session left there, or None. It is offered by a button
    and never put back unasked.
    """

    def __init__(self, folder: str | os.PathLike | None = None):
        folder = folder or os.environ.get(VARIABLE) or results_for("unsaved")
        self.path = Path(folder).resolve() / "job.json"
        self.when = self._left = None
        if self.path.is_file():
            self.when = datetime.datetime.fromtimestamp(self.path.stat().st_mtime)
            self._left = self._read()  # before anything is kept anew

    def keep(self, kept: Job, typed: dict) -> None:
        """Write what was ``typed``, by name, and the job of all that has no control. A script has
        no reload to outlive: there nothing is written. Raises InputError."""
        if running_loop() is not None:
            make_folder(self.path.parent, FIELD)
            told = {"without controls": kept.to_toml(), "typed": typed}
            write_text(self.path, json.dumps(told, ensure_ascii=False, indent=1), FIELD)

    def drop(self) -> None:
        """It is saved: there is nothing to bring back."""
        self.path.unlink(missing_ok=True)

    def found(self) -> tuple[Job, dict]:
        """What an earlier session left, as it was given to ``keep``. Raises InputError."""
        if isinstance(self._left, InputError):
            raise self._left
        try:
            told = json.loads(decoded(self._left, self.path, FIELD))
            return Job.from_toml(str(told["without controls"])), dict(told["typed"])
        except (ValueError, KeyError, TypeError, RecursionError) as error:
            given = f"{self.path.name}, which is damaged ({error}),"
            raise InputError(FIELD, given, "a file as this panel writes it") from None

    def _read(self) -> bytes | InputError:
        """What is there; why it cannot be read is told when somebody wants it back."""
        try:
            return read_bytes(self.path, FIELD, LARGEST)
        except InputError as error:
            return error

    def offer(self, restore) -> widgets.Button | None:
        """A button that calls ``restore``; None where nothing was left."""
        if self.when is None:
            return None
        today = self.when.date() == datetime.date.today()
        time = f"{self.when:%H:%M}" if today else f"{self.when:%H:%M on %Y-%m-%d}"
        button = widgets.Button(
            description=f"Restore what was typed at {time}",
            tooltip="It was not saved when this worksheet last ran",
        )
        button.on_click(lambda _: restore())
        return button
