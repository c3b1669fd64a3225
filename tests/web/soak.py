"""Type, select and drag on the page while its connection is slow and is lost every few seconds.

``python -m tests.web.soak --minutes 10`` prints what went wrong, if anything. The answers for all
inputs are first read over a sound connection. Then, whenever the page claims that its answer is up
to date, the answer must be the one for the inputs on the screen. At the end of each round,
everything typed must be on the screen and in the file of the page.
"""

import argparse
import itertools
import json
import random
import re
import tempfile
import time
from pathlib import Path

from ..browser import started
from ..served_page import TOKEN, served
from .bad_network import bad_network

DELAYS = (0.0, 0.040, 0.100, 0.300)  # s, for a round trip
VALUES = {"nameplate-current": ("1.7", "1.9"), "site-outdoor_temperature": ("95", "110")}
SOUND = 60.0  # s in which a page with a sound connection must agree, on a busy machine
PARTS = "#page .ao-at-{} input"
# Records every pair of inputs and answer for which the page claims to be up to date.
WATCH = """() => {
  window.claims = [];
  let last = "";
  const number = (name) => parseFloat(document.querySelector(`#page .ao-at-${name} input`).value);
  window.claim = () => {
    const panel = [...document.querySelectorAll("#page [role=tabpanel]")]
      .find((one) => one.checkVisibility());
    if (!panel?.textContent || "pending" in document.documentElement.dataset) return null;
    if (!document.querySelector(".ao-state") || panel.closest(".ao-earlier")) return null;
    if (panel.querySelector(".ao-earlier") || document.querySelector(".ao-wide.ao-earlier")) return null;
    const inputs = {};
    for (const name of NAMES) inputs[name] = number(name);
    const slider = panel.querySelector("input[type=range]");
    return { step: panel.getAttribute("aria-labelledby") && document.getElementById(
               panel.getAttribute("aria-labelledby")).innerText, inputs,
             volts: slider && parseFloat(slider.value),
             told: panel.querySelector(".ao-verdict")?.textContent ?? "",
             text: panel.textContent };
  };
  setInterval(() => {
    const found = window.claim();
    const key = JSON.stringify(found);
    if (found && key !== last) window.claims.push(found);
    last = key;
  }, 40);
}""".replace("NAMES", json.dumps(list(VALUES)))
AGREED = """() => !("pending" in document.documentElement.dataset) && line.open && !line.waiting
  && window.claim() !== null"""


class Soak:
    """A visitor of the page behind the ``network``."""

    def __init__(self, page, network, folder: Path, seed: int):
        self.page, self.network, self.folder = page, network, folder
        self.random = random.Random(seed)
        self.faults: list[str] = []
        self.answers: dict[tuple, str] = {}
        self.typed: dict[str, str] = {}
        self.rounds = self.claims = self.cuts = self.reloads = 0

    def open(self, address: str) -> None:
        self.page.goto(address, wait_until="commit")
        self.page.get_by_label("Job name").wait_for()
        self.page.get_by_role("button", name="Sample job").click()
        for name in ("Old nameplate", "Site and supply"):
            button = self.page.get_by_role("button", name=re.compile(f" {name}$"))
            if button.get_attribute("aria-expanded") != "true":
                button.click()
        self.page.evaluate(WATCH)
        self.agree("the first answer")

    def learn(self) -> None:
        """Read the answers for all inputs over a sound connection."""
        self.step("Replacement")
        for values in itertools.product(*VALUES.values()):
            for name, value in zip(VALUES, values, strict=True):
                self.type(name, value)
            self.agree("a sound connection")
            self.answers[tuple(map(float, values))] = self.page.evaluate("claim().text")
        assert len(set(self.answers.values())) == len(self.answers), "the inputs have no effect"
        self.page.evaluate("claims.length = 0")

    def run(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            self.network.delay = self.random.choice(DELAYS) / 2
            self.round()
            self.rounds += 1
        self.network.mend()

    def round(self) -> None:
        """Use the page before, during and after a cut, then wait until all agrees."""
        self.step(self.random.choice(("Replacement", "Amps and volts")))
        self.act()
        self.network.cut()
        self.cuts += 1
        self.act()
        if self.rounds % 5 == 4:
            self.reload()
        self.page.wait_for_timeout(self.random.uniform(0, 2000))
        self.network.mend()
        self.act()
        self.agree(f"round {self.rounds}, {2e3 * self.network.delay:g} ms")
        self.check()

    def reload(self) -> None:
        """Reload the page with unsent entries in it."""
        self.reloads += 1
        self.take_claims()
        self.network.mend()
        self.page.reload(wait_until="commit")
        self.page.get_by_label("Job name").wait_for()
        self.page.evaluate(WATCH)
        self.unfold()  # now, because the page cannot open a section without a connection

    def unfold(self) -> None:
        """Open the sections of the fields."""
        self.page.locator("#page .ao-fold", has_text=re.compile(
            "Old nameplate|Site and supply")).evaluate_all(
            "all => all.forEach((one) => one.ariaExpanded === 'true' || one.click())")  # fmt: skip
        for name in VALUES:
            self.page.locator(PARTS.format(name)).wait_for()

    def act(self) -> None:
        """Type, select or drag."""
        for _ in range(self.random.randint(1, 3)):
            slider = self.page.get_by_role("slider").locator("visible=true")
            if self.random.random() < 0.5 and slider.count():
                slider.first.focus()
                for _ in range(self.random.randint(1, 6)):
                    key = self.random.choice(("ArrowLeft", "ArrowRight"))
                    self.page.keyboard.press(key)
            else:
                name = self.random.choice(list(VALUES))
                self.type(
                    name, self.random.choice(VALUES[name]), self.random.choice(("Tab", "Enter"))
                )

    def type(self, name: str, value: str, last: str = "Tab") -> None:
        field = self.page.locator(PARTS.format(name))
        if not field.is_visible():  # folded with the sample job
            self.unfold()
        field.focus()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(value, delay=self.random.choice((0, 20)))
        self.page.keyboard.press(last)
        self.typed[name] = value

    def step(self, name: str) -> None:
        self.page.get_by_role("tab", name=name, exact=True).click()

    def agree(self, when: str) -> None:
        until = time.monotonic() + SOUND
        while not self.page.evaluate(AGREED):
            if time.monotonic() > until:
                state = "({ ...document.documentElement.dataset, waiting: line.waiting, open: line.open })"
                self.faults.append(f"{when}: no agreement, {self.page.evaluate(state)}")
                return
            self.page.wait_for_timeout(50)

    def check(self) -> None:
        """Compare the screen and the file with what was typed, and the claims with the answers."""
        for name, value in self.typed.items():
            shown = self.page.locator(PARTS.format(name)).input_value()
            if _number(shown) != float(value):
                self.faults.append(f"round {self.rounds}: {name} {value} typed, {shown!r} shown")
        self.take_claims()

    def take_claims(self) -> None:
        for one in self.page.evaluate("claims.splice(0)"):
            self.claims += 1
            answer = self.answers.get(tuple(one["inputs"].values()))
            if one["step"] == "Replacement" and one["text"] != answer:
                where = next((at for at, pair in enumerate(zip(one["text"], answer or ""))
                              if pair[0] != pair[1]), 0)  # fmt: skip
                told = one["text"][max(where - 40, 0) : where + 40]
                self.faults.append(f"round {self.rounds}: {one['inputs']}, but {told!r}")
            said = re.search(r"At (\d+)\sV", one["told"])
            if one["step"] == "Amps and volts" and (not said or float(said[1]) != one["volts"]):
                self.faults.append(f"round {self.rounds}: {one['volts']} V, {one['told']!r}")

    def stored(self) -> None:
        """Compare the file of the page with what was typed."""
        self.page.wait_for_timeout(4000)
        key = re.search(r"job=(\w+)", self.page.url)[1]
        [file] = self.folder.rglob(f"{key}.json")
        typed = json.loads(file.read_text())["typed"]
        for name, value in self.typed.items():
            record, field = name.split("-", 1)
            if _number(typed[record][field]) != float(value):
                self.faults.append(f"{name}: {value} typed, {typed[record][field]!r} stored")
        if self.page.evaluate("localStorage.length"):
            self.faults.append("entries are still in the browser: " + self.page.evaluate(
                "JSON.stringify(localStorage)"))  # fmt: skip

    def __str__(self) -> str:
        counts = f"{self.rounds} rounds, {self.cuts} cuts, {self.reloads} reloads, "
        return f"{counts}{self.claims} answers claimed as up to date, {len(self.faults)} faults"


def _number(text: str) -> float:
    return float(re.match(r"[\d.]+", text)[0]) if re.match(r"[\d.]+", text) else float("nan")


def soak(browser, seconds: float, seed: int = 0) -> Soak:
    """Use a page behind a bad network for ``seconds`` and return what happened."""
    folder = Path(tempfile.mkdtemp())
    with served(folder) as (_, port, _), bad_network(port) as network:
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.set_default_timeout(1000 * SOUND)
        found = Soak(page, network, folder, seed)
        page.on("pageerror", lambda error: found.faults.append(str(error)))
        found.open(f"http://127.0.0.1:{network.port}/?token={TOKEN}")
        found.learn()
        found.run(seconds)
        found.stored()
        page.close()
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    with started() as browser:
        found = soak(browser, 60 * asked.minutes, asked.seed)
    print(*found.faults, found, sep="\n")
    raise SystemExit(bool(found.faults))


if __name__ == "__main__":
    main()
