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


def write_all(answer: Answer, folder: Path) -> list[Path]:
    """Write everything that a job gives into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    best = answer.candidates[0]
    texts = {
        "answer.txt": report(answer),
        "answer.json": json.dumps(answer.to_dict(), indent=1) + "\n",
        "candidates.csv": writing.csv(tables.candidates(answer), index=True),
        "checks-of-the-first.csv": writing.csv(tables.checks(best)),
        "inputs.csv": writing.csv(tables.inputs(answer)),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    write_bytes(folder / "torque.png", drawing.png(figures.torque(best)), "out")
    return [folder / name for name in (*texts, "torque.png")]
