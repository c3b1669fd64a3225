"""Run worksheets from top to bottom and store them.

Command: ``python -m airover.app.store FILE.ipynb ...``. The stored outputs are the texts, tables
and plots that nbval compares and that a reader without a kernel sees. Live widgets, times and the
machine's Python version are left out.
"""

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

WIDGET = "application/vnd.jupyter.widget-view+json"
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


def run(path: Path) -> nbformat.NotebookNode:
    """Run the worksheet at ``path`` in its folder and return it; raises CellExecutionError."""
    notebook = nbformat.read(path, as_version=4)
    place = {"metadata": {"path": str(path.resolve().parent)}}
    NotebookClient(
        notebook, timeout=300, kernel_name="python3", resources=place,
        store_widget_state=False, record_timing=False,
    ).execute()  # fmt: skip
    return notebook


def cleaned(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Return ``notebook`` without live widgets and without data about the machine."""
    notebook.metadata = nbformat.from_dict(
        {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    )
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            output.get("data", {}).pop(WIDGET, None)
    return notebook


def store(path: Path) -> None:
    """Run the worksheet at ``path`` and write it back with its outputs."""
    nbformat.write(cleaned(run(path)), path)


if __name__ == "__main__":
    for name in sys.argv[1:]:
        store(Path(name))
