"""The answer as files in a folder: text, JSON, tables, picture."""

import json
from pathlib import Path

from airover.answer import Answer
from airover.figures import answer as figures
from airover.figures import drawing
from airover.reports.answer import report
from airover.safe_file import make_folder, write_bytes, write_text
from airover.tables import answer as tables
from airover.tables import writing
from airover.texts import Writer


def write_all(answer: Answer, folder: Path, language: str = "en", system: str = "US") -> list[Path]:
    """Write everything that a job gives into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    best, writer = answer.candidates[0], Writer(language, system)
    texts = {
        "answer.txt": report(answer, language=language, system=system),
        "answer.json": json.dumps(answer.to_dict(Writer("en", system)), indent=1) + "\n",
        "candidates.csv": writing.csv(tables.candidates(answer, writer), index=True),
        "checks-of-the-first.csv": writing.csv(tables.checks(best, writer)),
        "inputs.csv": writing.csv(tables.inputs(answer, writer)),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    write_bytes(folder / "torque.png", drawing.png(figures.torque(best, writer)), "out")
    return [folder / name for name in (*texts, "torque.png")]
