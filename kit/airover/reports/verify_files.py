"""A verified motor as files in a folder: text, JSON, tables, picture."""

import json
from pathlib import Path

from airover.figures import drawing
from airover.figures.verify import beside_expected
from airover.reports.verify import verify_report
from airover.safe_file import make_folder, write_bytes, write_text
from airover.tables import writing
from airover.tables.verify import comparisons, faults, inferred_figures
from airover.verify.verified import Verified


def write_verified(found: Verified, folder: Path) -> list[Path]:
    """Write all that was ``found`` into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    texts = {
        "verified.txt": verify_report(found),
        "verified.json": json.dumps(found.to_dict(), indent=1) + "\n",
        "readings.csv": writing.csv(comparisons(found)),
        "inferred.csv": writing.csv(inferred_figures(found)),
        "faults.csv": writing.csv(faults(found)),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    write_bytes(folder / "readings.png", drawing.png(beside_expected(found)), "out")
    return [folder / name for name in (*texts, "readings.png")]
