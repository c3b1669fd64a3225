"""JupyterLab for this computer only, with the settings of a new user, driven in a browser."""

import os
import re
import shutil
import socket
import subprocess
import time
from contextlib import contextmanager

from airover.app.panel import AFTER_RUN, LATE

from .browser import command
from .markdown import ROOT

TOKEN = "only-for-this-test"
SLOW = 90_000  # ms, for a kernel that starts on a busy machine
OWN = (
    "JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR",
    "JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR", "XDG_STATE_HOME",
)  # fmt: skip


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]


@contextmanager
def serving(folder, own, names):
    """The address of a server on copies of the worksheets ``names`` in ``folder``; what it keeps
    for itself goes to the folder ``own``."""
    for name in names:
        shutil.copy(ROOT / "worksheets" / f"{name}.ipynb", folder)
    port = free_port()
    settings = os.environ | {name: str(own / name.lower()) for name in OWN}
    settings["AIROVER_STATE"] = str(own / "airover")
    options = ("--no-browser", "--allow-root", f"--port={port}", "--ServerApp.port_retries=0",
               f"--IdentityProvider.token={TOKEN}", f"--ServerApp.root_dir={folder}")  # fmt: skip
    with open(own / "log", "w") as log:
        server = subprocess.Popen(
            command("jupyterlab", *options), cwd=folder, env=settings, stderr=log
        )
    try:
        yield _answering(server, port)
    finally:
        server.terminate()
        server.wait(30)


def _answering(server, port: int) -> str:
    late = time.monotonic() + 60
    while time.monotonic() < late and server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return f"http://127.0.0.1:{port}"
        except OSError:
            time.sleep(0.1)
    raise AssertionError("JupyterLab did not start")


def run(page, address: str, name: str) -> None:
    """Open a worksheet and run it all, by the menu; the panel is in view afterwards."""
    page.goto(f"{address}/lab/tree/{name}.ipynb?reset&token={TOKEN}")
    run_all(page)


def run_all(page) -> None:
    """Run the worksheet that is open, once its kernel is there: earlier clicks are forgotten."""
    at_rest = page.get_by_text(re.compile(r"\| Idle$"))
    at_rest.wait_for(timeout=SLOW)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.locator(".airover .ao-verdict").first.wait_for(state="attached", timeout=SLOW)
    at_rest.wait_for(timeout=SLOW)
    page.wait_for_timeout(1000 * (max(AFTER_RUN) + LATE))  # nobody acts before the panel is in view
    page.locator(".airover .ao-verdict").first.scroll_into_view_if_needed()
