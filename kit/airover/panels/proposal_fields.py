"""What the panel of proposals asks: money and years, whose language, which files."""

import os
from pathlib import Path

from airover.cost.inputs import USUAL
from airover.locations import data_folder
from airover.texts import Writer

TONGUES = [("English", "en"), ("Español", "es")]
MONEY = (
    "horizon", "energy_price", "labour_rate", "labour_hours", "visit_price", "capacitor_price",
    "discount_rate",
)  # fmt: skip
MORE = ("motor_life", "capacitor_hours", "second_visits", "belly_band_price", "lost_cooling")


def placeholder(name: str, write: Writer) -> str:
    """What is taken where a field of money is left empty."""
    if name not in USUAL:
        return write("panel.proposal.nothing_counted")
    return write("panel.proposal.assumed", value=USUAL[name])


def job_files(write: Writer) -> list[tuple[str, str]]:
    """Job files to choose from, each as its words and its path: those in the working folder, in
    the folder of the kit, and the samples."""
    folders = (Path.cwd(), data_folder().parent, data_folder() / "jobs")
    paths = [path for folder in folders for path in sorted(folder.glob("*.toml")) if _is_job(path)]
    return [
        (write("panel.proposal.file_in", name=path.name, folder=path.parent.name), str(path))
        for path in dict.fromkeys(paths)
    ]


def results_for(path) -> str:
    """The folder for the proposal of the job file at ``path``, beside the worksheets' folder."""
    above = Path("..") if Path.cwd().name == "worksheets" else Path()
    return os.fspath(above / "results" / Path(path).stem)


def _is_job(path: Path) -> bool:
    """Whether it has a nameplate; of a file that cannot be read, its typed path tells why."""
    try:
        return b"[nameplate]" in path.read_bytes()
    except OSError:
        return False
