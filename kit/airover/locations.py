"""Where the files that travel with the code are."""

from pathlib import Path


def data_folder() -> Path:
    """The folder of catalogue and sample jobs: in the installed package, else in the checkout.

    Raises FileNotFoundError when there is neither.
    """
    package = Path(__file__).resolve().parent
    candidates = (package / "data", package.parents[1] / "data")
    for folder in candidates:
        if folder.is_dir():
            return folder
    raise FileNotFoundError(
        "The data of airover was not found; looked in " + " and ".join(map(str, candidates)) + "."
    )
