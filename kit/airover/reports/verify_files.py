"""A verified motor as files in a folder: text, JSON, tables, picture."""

import json
from pathlib import Path

from airover.figures import drawing
from airover.figures.verify import beside_expected
from airover.reports.verify import verified_dict, verify_report
from airover.safe_file import make_folder, write_bytes, write_text
from airover.tables import writing
from airover.tables.verify import comparisons, faults, inferred_figures
from airover.texts import Writer
from airover.verify.verified import Verified


def write_verified(
    found: Verified, folder: Path, language: str = "en", system: str = "US"
) -> list[Path]:
    """Write all that was ``found`` into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    write = Writer(language, system)
    texts = {
        "verified.txt": verify_report(found, language, system),
        "verified.json": json.dumps(verified_dict(found, system), indent=1) + "\n",
        "readings.csv": writing.csv(comparisons(found, write)),
        "inferred.csv": writing.csv(inferred_figures(found, write)),
        "faults.csv": writing.csv(faults(found, write)),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    write_bytes(folder / "readings.png", drawing.png(beside_expected(found, write)), "out")
    return [folder / name for name in (*texts, "readings.png")]
