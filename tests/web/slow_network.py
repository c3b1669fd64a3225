"""Time to an answer on a slow network: ``python -m tests.web.slow_network``.

All that the page and its server exchange passes through a network of 1.6 Mbit/s in each direction
with a round trip of 150 ms, which a new connection takes too. The browser has the screen of a phone.
The nameplate is typed at once, as soon as the first fields accept it. At the second visit, one field
is typed anew.
"""

import statistics
import tempfile
from pathlib import Path

import psutil

from ..browser import started
from ..served_page import TOKEN, served
from .bad_network import bad_network

RATE, ROUND_TRIP = 1.6e6 / 8, 0.150  # bytes per s; s
TIMES = 3
TYPED = {
    "first visit": {"voltage": "208-230", "power": "1/3", "speed": "1075"},
    "second visit": {"current": "1.8"},
}
FIRST = ".ao-at-nameplate-{} :is(input, select)"
READY = "() => performance.getEntriesByName('frame-ready')[0]?.startTime"
ANSWERED = """([name, value]) => document.querySelector("#page .ao-state")
  && !("pending" in document.documentElement.dataset) && !document.querySelector(".ao-earlier .ao-state")
  && parseFloat(document.querySelector(`#page .ao-at-nameplate-${name} input`).value) === parseFloat(value)
  && performance.now()"""


def visit(context, network, server, address: str, typed: dict[str, str]) -> dict[str, float]:
    """Open the page, type at once, and return the times [s] and the size [kB]."""
    spent = sum(server.cpu_times()[:2])
    page = context.new_page()
    page.set_default_timeout(120_000)
    before = network.carried
    page.goto(address, wait_until="commit")
    for name, words in typed.items():
        page.locator(FIRST.format(name)).first.fill(words)
    page.keyboard.press("Tab")
    field = page.evaluate("performance.now()")
    name, words = list(typed.items())[-1]
    answered = page.wait_for_function(ANSWERED, arg=[name, words]).json_value()
    found = {
        "typed [s]": field / 1000,
        "all of the page [s]": page.evaluate(READY) / 1000,
        "answer [s]": answered / 1000,
        "received [kB]": (network.carried - before) / 1000,
        "processor time of the server [s]": sum(server.cpu_times()[:2]) - spent,
    }
    found["address"] = page.url
    page.close()
    return found


def main() -> None:
    visits: dict[str, list[dict]] = {name: [] for name in TYPED}
    with (
        served(Path(tempfile.mkdtemp())) as (process, port, _),
        bad_network(port) as network,
        started() as browser,
    ):
        network.delay, network.rate = ROUND_TRIP / 2, RATE
        server = psutil.Process(process.pid)
        for _ in range(TIMES + 1):  # the first one starts the server's calculations
            context = browser.new_context(viewport={"width": 390, "height": 844})
            address = f"http://127.0.0.1:{network.port}/?token={TOKEN}"
            for name, found in visits.items():
                found.append(visit(context, network, server, address, TYPED[name]))
                address = found[-1].pop("address")
            context.close()
    print(f"{RATE * 8 / 1e6:g} Mbit/s, {1000 * ROUND_TRIP:g} ms, middle of {TIMES}")
    for name, found in visits.items():
        told = {key: statistics.median(one[key] for one in found[1:]) for key in found[0]}
        print(f"{name}: " + ", ".join(f"{key} {value:.2f}" for key, value in told.items()))


if __name__ == "__main__":
    main()
