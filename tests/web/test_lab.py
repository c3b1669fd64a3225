"""A job in JupyterLab by clicks and keys: plate in, verdict, voltage, save, reload, proposal."""

import os
import re
import shutil
import socket
import subprocess
import time

import pytest

from airover.records import Job

from ..browser import command
from ..markdown import ROOT

sync_api = pytest.importorskip("playwright.sync_api")
expect = sync_api.expect
expect.set_options(timeout=60_000)  # ms; a busy machine is no fault of the page
WORKSHEETS = ("01-replacement", "02-motor", "07-proposal")
TOKEN = "only-for-this-test"
SLOW = 90_000  # ms, for a kernel that starts on a busy machine


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Where the worksheets lie, as a user has them; all settings are those of a new user."""
    folder = tmp_path_factory.mktemp("lab")
    for name in WORKSHEETS:
        shutil.copy(ROOT / "worksheets" / f"{name}.ipynb", folder)
    return folder


@pytest.fixture(scope="module")
def address(folder, tmp_path_factory):
    """JupyterLab for this computer only."""
    own, port = tmp_path_factory.mktemp("settings"), free_port()
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR",
             "JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR", "XDG_STATE_HOME")  # fmt: skip
    settings = os.environ | {name: str(own / name.lower()) for name in names}
    options = ("--no-browser", "--allow-root", f"--port={port}", "--ServerApp.port_retries=0",
               f"--IdentityProvider.token={TOKEN}", f"--ServerApp.root_dir={folder}")  # fmt: skip
    with open(own / "log", "w") as log:
        server = subprocess.Popen(
            command("jupyterlab", *options), cwd=folder, env=settings, stderr=log
        )
    try:
        yield answering(server, port)
    finally:
        server.terminate()
        server.wait(30)


def answering(server, port: int) -> str:
    late = time.monotonic() + 60
    while time.monotonic() < late and server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return f"http://127.0.0.1:{port}"
        except OSError:
            time.sleep(0.1)
    raise AssertionError("JupyterLab did not start")


@pytest.fixture
def page(browser):
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    page.set_default_timeout(SLOW)
    yield page
    page.close()


def run(page, address: str, name: str) -> None:
    """Open a worksheet and run it all, by the menu; the panel is in view afterwards."""
    page.goto(f"{address}/lab/tree/{name}.ipynb?reset&token={TOKEN}")
    run_all(page)


def run_all(page) -> None:
    """Run the worksheet by the menu, once its kernel is there: earlier clicks are forgotten."""
    at_rest = page.get_by_text(re.compile(r"\| Idle$"))
    expect(at_rest).to_be_visible(timeout=SLOW)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.locator(".airover .ao-verdict").first.wait_for(state="attached")
    expect(at_rest).to_be_visible(timeout=SLOW)
    page.locator(".airover .ao-verdict").first.scroll_into_view_if_needed()


def verdict(page):
    return page.locator(".airover .ao-verdict strong").first


def field(page, label: str):
    return page.locator(".airover").get_by_label(label, exact=True).locator("visible=true")


def tab(page, title: str) -> None:
    page.locator(".airover .lm-TabBar-tab", has_text=re.compile(f"^{title}$")).click()


def typed(page, label: str, words: str) -> None:
    """By keys, as people do; the field is left with the tab key."""
    field(page, label).click()
    page.keyboard.press("Control+a")
    page.keyboard.type(words)
    page.keyboard.press("Tab")


def test_a_plate_its_verdict_bad_input_another_voltage_saved_and_opened(page, address, folder):
    run(page, address, "01-replacement")
    expect(verdict(page)).to_contain_text("it fits as it is")
    first = verdict(page).text_content()

    typed(page, "Current", "plenty")
    problem = page.locator(".airover .ao-problem", has_text="Accepted").locator("visible=true")
    expect(problem.first).to_be_visible()
    assert verdict(page).text_content() == first  # of the earlier input, and said so
    expect(page.locator(".airover.ao-earlier")).to_have_count(1)
    typed(page, "Current", "1.9 A")
    expect(problem).to_have_count(0)

    tab(page, "Site")
    typed(page, "Voltage", "262 V")
    expect(verdict(page)).not_to_have_text(first)

    tab(page, "Files")
    typed(page, "Job file", "mine.toml")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved mine.toml")).to_be_visible()
    assert Job.read(folder / "mine.toml").site.voltage.text == "262 V"
    other = verdict(page).text_content()

    page.reload()
    run_all(page)
    expect(verdict(page)).to_have_text(first)
    tab(page, "Files")
    typed(page, "Job file", "mine.toml")
    page.get_by_role("button", name="Open", exact=True).click()
    expect(verdict(page)).to_have_text(other)


def test_voltage_by_the_keys(page, address):
    run(page, address, "02-motor")
    picture = page.locator(".airover img").first
    before = picture.get_attribute("src")
    slider = page.locator(".airover .widget-slider", has_text="Line voltage")
    slider.locator(".noUi-handle").focus()
    page.keyboard.press("ArrowLeft")
    expect(picture).not_to_have_attribute("src", before)
    expect(verdict(page)).to_contain_text("235 V")


def test_a_proposal_by_its_button(page, address, folder):
    run(page, address, "07-proposal")
    page.get_by_role("button", name=re.compile("proposal", re.IGNORECASE)).click()
    page.locator(".airover img[alt*='age 1']").first.wait_for()
    (made,) = folder.rglob("proposal.pdf")
    assert made.read_bytes().startswith(b"%PDF")
