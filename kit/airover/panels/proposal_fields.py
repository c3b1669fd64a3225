"""What the panel of proposals asks: money and years, whose language, which files."""

import os
from pathlib import Path

from airover.cost.inputs import USUAL
from airover.locations import data_folder

TONGUES = [("English", "en"), ("Spanish", "es")]
AS_RECOMMENDED = ("as recommended", "")
MONEY = (
    "horizon", "energy_price", "labour_rate", "labour_hours", "visit_price", "capacitor_price",
    "discount_rate",
)  # fmt: skip
MORE = ("motor_life", "capacitor_hours", "second_visits", "belly_band_price", "lost_cooling")
HINT = (
    "As you write it, with its unit; a range is welcome. What is left empty is assumed as shown, "
    "and stands on the proposal as an estimate."
)


def placeholder(name: str) -> str:
    """What is taken where a field of money is left empty."""
    return f"assumed: {USUAL[name]}" if name in USUAL else "nothing counted"


def job_files() -> list[tuple[str, str]]:
    """Job files to choose from, each as its words and its path: those in the working folder, in
    the folder of the kit, and the samples."""
    folders = (Path.cwd(), data_folder().parent, data_folder() / "jobs")
    paths = [path for folder in folders for path in sorted(folder.glob("*.toml")) if _is_job(path)]
    return [(f"{path.name} in {path.parent.name}", str(path)) for path in dict.fromkeys(paths)]


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
