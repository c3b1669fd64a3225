"""Fields that are filled in before the widgets are loaded, and entries without a connection."""

import pytest

from ..served_page import TOKEN, served
from .bad_network import bad_network

SLOW = 60_000  # ms
STATE = "() => ({ ...document.documentElement.dataset })"


@pytest.fixture
def page(browser, tmp_path):
    with served(tmp_path) as (_, port, _), bad_network(port) as network:
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.set_default_timeout(SLOW)
        page.network, page.address = network, f"http://127.0.0.1:{network.port}/?token={TOKEN}"
        yield page
        page.close()


def entry(page, name, place="#page"):
    return page.locator(f"{place} .ao-at-nameplate-{name}").locator("input, select")


def told(page, name, value):
    page.wait_for_function(
        "([name, value]) => document.querySelector(`#page .ao-at-nameplate-${name} input`)?.value"
        " === value",
        arg=[name, value],
    )


def test_what_is_typed_before_the_widgets_moves_into_them(page):
    held = []
    page.route("**/widgets.js*", lambda route: held.append(route))
    page.goto(page.address, wait_until="commit")
    entry(page, "voltage", "#frame-form").fill("208-230")
    entry(page, "phase", "#frame-form").select_option("single-phase")
    entry(page, "current", "#frame-form").focus()
    page.keyboard.type("1.")
    held[0].continue_()
    page.locator("#frame-form").wait_for(state="detached")
    page.keyboard.type("9")
    page.keyboard.press("Tab")
    told(page, "voltage", "208-230 V")
    told(page, "current", "1.9 A")
    assert entry(page, "phase").input_value() == "single-phase"


def test_an_entry_without_a_connection_is_marked_and_sent_later_even_after_a_reload(page):
    page.goto(page.address, wait_until="commit")
    page.locator("#frame-form").wait_for(state="detached")
    page.network.cut()
    entry(page, "power").fill("1/3")
    page.keyboard.press("Tab")
    page.get_by_text("Your latest entries have not been sent.").wait_for()
    assert "pending" in page.evaluate(STATE)
    page.network.mend()
    told(page, "power", "1/3 hp")
    page.locator("#frame-trouble").wait_for(state="hidden")
    page.wait_for_function("() => !('pending' in document.documentElement.dataset)")
    page.network.cut()
    entry(page, "speed").fill("1075")
    page.keyboard.press("Tab")
    page.network.mend()
    page.evaluate("line.close()")  # nothing more is sent by this page
    page.reload(wait_until="commit")
    told(page, "speed", "1075 rpm")
    told(page, "power", "1/3 hp")
    page.wait_for_function("() => localStorage.length === 0")
