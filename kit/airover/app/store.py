"""Run worksheets from top to bottom and store them.

The command is ``python -m airover.app.store FILE.ipynb ...``. The stored outputs are the text,
tables and plots that nbval compares and that readers see without running the worksheet. Live
widgets, times and the machine's Python version are omitted. The worksheets use the sample job, not
the current job of the user who stores them.
"""

import os
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient

from airover.app.job_folder import STATE
from airover.app.live import WIDGET

KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


def run(path: Path) -> nbformat.NotebookNode:
    """Run the worksheet at ``path`` in its folder and return it.

    Raises
    ------
    CellExecutionError
        If a cell raises an error.
    """
    notebook = nbformat.read(path, as_version=4)
    place = {"metadata": {"path": str(path.resolve().parent)}}
    client = NotebookClient(
        notebook, timeout=300, kernel_name="python3", resources=place,
        store_widget_state=False, record_timing=False,
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        client.execute(env=os.environ | {STATE: folder})
    return notebook


def cleaned(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Return ``notebook`` without live widgets and without data about the machine."""
    notebook.metadata = nbformat.from_dict(
        {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    )
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs = [one for one in cell.outputs if WIDGET not in one.get("data", {})]
    return notebook


def store(path: Path) -> None:
    """Run the worksheet at ``path`` and save it with its outputs."""
    nbformat.write(cleaned(run(path)), path)


if __name__ == "__main__":
    for name in sys.argv[1:]:
        store(Path(name))
