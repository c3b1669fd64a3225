"""Loading time on a slow network: ``python -m tests.web.slow_network``.

Chromium limits the rate to 1.6 Mbit/s and adds a round trip of 150 ms to each request, on the
screen of a phone. It does not limit the messages of the widgets. An entry is made as soon as the
first field accepts it, and must then be in its widget.
"""

import statistics
import tempfile
from pathlib import Path

from ..browser import started
from ..served_page import TOKEN, served

RATE, ROUND_TRIP = 1.6e6 / 8, 150.0  # bytes per s; ms
LIMITS = {"offline": False, "latency": ROUND_TRIP, "downloadThroughput": RATE,
          "uploadThroughput": RATE}  # fmt: skip
TIMES = 3
# Time of the first field that accepts an entry, and of the widgets [ms].
WATCH = """(() => {
  const look = () => {
    const one = document.querySelector("#frame-form input");
    if (one?.checkVisibility()) window.first = performance.now();
    else requestAnimationFrame(look);
  };
  look();
})();"""
READY = "() => performance.getEntriesByName('frame-ready')[0]?.startTime"
SENT = "() => document.querySelector('#page .ao-at-nameplate-voltage input').value === '230 V'"
SIZE = """() => performance.getEntriesByType("resource").concat(
  performance.getEntriesByType("navigation")).reduce((sum, one) => sum + one.transferSize, 0)"""


def visit(context, address: str) -> dict[str, float]:
    """Open the page, type the volts at once, and return the times [s] and the size [kB]."""
    page = context.new_page()
    page.set_default_timeout(120_000)
    page.add_init_script(WATCH)
    tools = context.new_cdp_session(page)
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", LIMITS)
    page.goto(address, wait_until="commit")
    page.locator(".ao-at-nameplate-voltage input").first.fill("230")
    page.wait_for_function(READY)
    page.locator("#page .ao-at-nameplate-voltage input").wait_for()
    page.keyboard.press("Tab")
    page.wait_for_function(SENT)
    found = {"first field [s]": page.evaluate("window.first") / 1000,
             "all of the page [s]": page.evaluate(READY) / 1000,
             "files [kB]": page.evaluate(SIZE) / 1000}  # fmt: skip
    page.close()
    return found


def main() -> None:
    with served(Path(tempfile.mkdtemp())) as (_, port, _), started() as browser:
        address = f"http://127.0.0.1:{port}/?token={TOKEN}"
        visits: dict[str, list[dict]] = {"first visit": [], "second visit": []}
        for _ in range(TIMES + 1):  # the first one starts the server's calculations
            context = browser.new_context(viewport={"width": 390, "height": 844})
            for found in visits.values():
                found.append(visit(context, address))
            context.close()
    print(f"{RATE * 8 / 1e6:g} Mbit/s, {ROUND_TRIP:g} ms, middle of {TIMES}")
    for name, found in visits.items():
        told = {key: statistics.median(one[key] for one in found[1:]) for key in found[0]}
        print(f"{name}: " + ", ".join(f"{key} {value:.2f}" for key, value in told.items()))


if __name__ == "__main__":
    main()
