"""From the start of a process: the import, and a whole answer as JSON."""

import json
import os
import subprocess
import sys

from row import Row, timed

from airover.core.files import data_folder

EAGER = (
    "import numpy, scipy.optimize, pydantic, pint, pandas, matplotlib.figure; pint.UnitRegistry()"
)


def started(repeats: int) -> list[Row]:
    """The peers are a bare Python, and a Python that loads the same libraries at once."""
    job = data_folder() / "jobs" / "roof-unit.toml"
    bare, _ = timed(lambda: _python("-c", "pass"), repeats)
    command, _ = timed(lambda: _python("-c", "import airover.app.cli"), repeats)
    answer, done = timed(lambda: _python("-m", "airover", "work", str(job), "--json"), repeats)
    eager, _ = timed(lambda: _python("-c", EAGER), repeats)
    wrong = 0.0 if json.loads(done.stdout)["candidates"] else 1.0
    return [
        Row("start of Python, import airover.app.cli", command, "start of Python", bare, 0.0, 0.0),
        Row(
            "start to the answer as JSON", answer, "importing all its libraries", eager, wrong, 0.0
        ),
    ]


def _python(*arguments):
    """Run Python as users do, with the bytecode of an earlier run."""
    env = {name: one for name, one in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    command = [sys.executable, *arguments]
    return subprocess.run(command, env=env, capture_output=True, text=True, check=True)
