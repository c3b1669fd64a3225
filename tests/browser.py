"""A browser of this computer, driven without a window."""

import os
import shutil
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

# Nothing of the browser's own may go out: only what a page asks for is of interest.
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
NAMES = ("chromium", "chromium-browser", "google-chrome", "microsoft-edge", "chrome", "msedge")
PLACES = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "C:/Program Files/Google/Chrome/Application/chrome.exe",
    "C:/Program Files (x86)/Microsoft/Edge/Application/msedge.exe",
)
NONE = "no Chromium, Chrome or Edge was found; install one of them to try the pages in a browser"


def installed() -> str | None:
    """The path of a browser, or None."""
    found = [path for path in map(shutil.which, NAMES) if path]
    return next(iter([*found, *(path for path in PLACES if Path(path).exists())]), None)


@contextmanager
def started(*more):
    """A browser for tests, with ``more`` options; without one they are skipped, under CI they fail."""
    path = installed()
    if path is None and os.environ.get("CI"):
        pytest.fail(NONE)
    if path is None:
        pytest.skip(NONE)
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=[*QUIET, *more])
        try:
            yield browser
        finally:
            browser.close()


def command(*words) -> list[str]:
    """A module of this environment as a command."""
    return [sys.executable, "-m", *map(str, words)]
