"""The page's server for tests, with a folder of its own for what is typed."""

import os
import re
import signal
import subprocess
from contextlib import contextmanager

from .browser import command

TOKEN = "a-token-of-the-tests"


@contextmanager
def served(folder, *words, program=()):
    """A running server and what it says: (process, port, its text). TOKEN opens its page.

    ``program`` is another command than that of the page.
    """
    own = {
        "AIROVER_TOKEN": TOKEN,
        "XDG_STATE_HOME": str(folder),
        "AIROVER_JOBS": str(folder / "jobs"),
    }
    env = {**os.environ, **own, "PYTHONUNBUFFERED": "1"}
    whole = [*(program or command("airover", "page")), "--no-open", "--port", "0", *words]
    with open(folder / "errors", "w") as errors:
        started = subprocess.Popen(
            whole, cwd=folder, env=env, text=True, stdout=subprocess.PIPE, stderr=errors
        )
    try:
        said = ""
        while "Ctrl-C" not in said:
            line = started.stdout.readline()
            assert line, (folder / "errors").read_text()
            said += line
        yield started, int(re.search(r"127\.0\.0\.1:(\d+)/", said)[1]), said
    finally:
        started.send_signal(signal.SIGTERM)
        started.wait(60)
        started.stdout.close()
