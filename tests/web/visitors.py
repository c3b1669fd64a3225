"""Many visitors of one page server on a network: ``python -m tests.web.visitors --visitors 100``.

Each visitor opens the page with the sample job, shows one of the steps and changes an entry every
20 s. The time is from sending the entry until the answer for it has arrived. The visitors exchange
the messages of a browser, but they draw nothing.
"""

import argparse
import asyncio
import json
import random
import re
import statistics
import tempfile
import time
from pathlib import Path
from uuid import uuid4

import httpx
import psutil
import websockets

from ..served_page import TOKEN, served

STEPS = {"Replacement": 0, "Roof sheet": 1, "Readings": 3, "Amps and volts": 6}
TARGET = "airover.page"
PATIENCE = 120.0  # s
GOT = "got "


class Visitor:
    """A page on the server at ``port`` as its browser sees it."""

    def __init__(self, port: int, number: int):
        self.port, self.step = port, list(STEPS.values())[number % len(STEPS)]
        self.random = random.Random(number)
        self.widgets: dict[str, dict] = {}
        self.inputs: list = []
        self.news = asyncio.Event()
        self.got = 0
        self.times: list[float] = []

    async def open(self) -> None:
        """Open the page, the sample job and the step."""
        await self.enter()
        await self.fill()

    async def fill(self) -> None:
        """Show the sample job and the step."""
        await self._told(self._named("description", "Sample job"), method="custom",
                         content={"event": "click"})  # fmt: skip
        await self.ready()
        steps = next(name for name, state in self.widgets.items()
                     if state.get("_model_name") == "TabModel" and len(state["children"]) == 8)  # fmt: skip
        if self.step:
            await self._put(steps, selected_index=self.step)
            await self._until(lambda: self.step in self.inputs and self._is_ready)

    async def enter(self, job: str = "") -> None:
        """Open a new page, or the page with the key ``job``."""
        address = f"127.0.0.1:{self.port}"
        async with httpx.AsyncClient(follow_redirects=True, timeout=PATIENCE) as client:
            key = f"&job={job}" if job else ""
            page = await client.get(f"http://{address}/?token={TOKEN}{key}")
            self.job = page.url.params["job"]
            cookie = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
        name = re.search(r'"name": "(\w+)"', page.text)[1]
        self.line = await websockets.connect(
            f"ws://{address}/jupyter/api/kernels/{name}/channels?session_id={uuid4().hex}&got=0",
            additional_headers={"Cookie": cookie}, max_size=None, ping_interval=None,
        )  # fmt: skip
        self.listening = asyncio.create_task(self._listen())
        await self._send("comm_open", {"comm_id": uuid4().hex, "target_name": TARGET, "data": {}})
        await self._until(lambda: self.inputs)

    async def ready(self) -> None:
        """Wait for the answer."""
        await self._until(lambda: self._is_ready)

    async def nudge(self) -> None:
        """Send a message that changes nothing."""
        await self._send("kernel_info_request", {})

    async def edit(self) -> None:
        """Change an entry and wait for the answer."""
        field, unit, value = self.random.choice((
            ("nameplate-current", "A", round(self.random.uniform(1.7, 2.1), 3)),
            ("site-outdoor_temperature", "degF", round(self.random.uniform(90, 115), 1)),
        ))  # fmt: skip
        begun = time.monotonic()
        await self._put(self._named("_dom_classes", f"ao-at-{field}"), value=f"{value:g}")
        await self._until(lambda: f"{value:g} {unit}" in self.inputs and self._is_ready)
        self.times.append(time.monotonic() - begun)

    async def stay(self, until: float, every: float) -> None:
        """Change entries until the time ``until``."""
        await asyncio.sleep(self.random.uniform(0, every))
        while time.monotonic() < until:
            next_one = time.monotonic() + every
            await self.edit()
            await asyncio.sleep(max(0.0, next_one - time.monotonic()))

    async def leave(self) -> None:
        self.listening.cancel()
        await self.line.close()

    @property
    def _is_ready(self) -> bool:
        return "ao-state" in self.widgets[self._named("_dom_classes", "ao-status")]["value"]

    def _named(self, key: str, value: str) -> str:
        return next(name for name, state in self.widgets.items() if value in state.get(key, ()))

    async def _put(self, widget: str, **state) -> None:
        await self._told(widget, method="update", state=state, buffer_paths=[])

    async def _told(self, widget: str, **data) -> None:
        await self._send("comm_msg", {"comm_id": widget, "data": data})

    async def _send(self, kind: str, content: dict) -> None:
        header = {"msg_id": uuid4().hex, "msg_type": kind, "username": "", "session": "visitor",
                  "date": "2026-01-01T00:00:00Z", "version": "5.3"}  # fmt: skip
        parts = {"parent_header": {}, "metadata": {}, "content": content, "buffers": []}
        await self.line.send(json.dumps({"header": header, "channel": "shell", **parts}))

    async def _until(self, is_so) -> None:
        async with asyncio.timeout(PATIENCE):
            while not is_so():
                if self.listening.done():
                    self.listening.result()
                    raise ConnectionError("the page was closed")
                self.news.clear()
                await self.news.wait()

    async def _listen(self) -> None:
        async for told in self.line:
            if isinstance(told, str) and told.startswith(GOT):
                continue
            self.got += 1
            if self.got % 50 == 0:
                await self.line.send(f"{GOT}{self.got}")
            if isinstance(told, str):
                self._hear(json.loads(told)["content"])

    def _hear(self, content: dict) -> None:
        data = content.get("data", {})
        if "state" in data:
            self.widgets.setdefault(content["comm_id"], {}).update(data["state"])
        if "inputs" in data:
            self.inputs = data["inputs"]
        self.news.set()


async def visit(port: int, process: psutil.Process, count: int, seconds: float, every: float):
    """Return the visitors, the memory [MB] and the processor time [s] of the server.

    The memory is that before and after the visitors opened the page, and at the end. Memory and time
    are those of the server and those of the processes that calculate for it.
    """
    memory = [_memory(process)]
    visitors = [Visitor(port, number) for number in range(count)]
    begun = time.monotonic()
    for one in visitors:
        await one.open()
    print(f"opened {count} pages in {time.monotonic() - begun:.0f} s", flush=True)
    memory.append(_memory(process))
    before = _spent(process)
    until = time.monotonic() + seconds
    await asyncio.gather(*(one.stay(until, every) for one in visitors))
    spent = [now - then for now, then in zip(_spent(process), before, strict=True)]
    memory.append(_memory(process))
    for one in visitors:
        await one.leave()
    return visitors, memory, spent


def _memory(process: psutil.Process) -> list[float]:
    others = process.children(recursive=True)
    return [process.memory_info().rss / 1e6, sum(one.memory_info().rss for one in others) / 1e6]


def _spent(process: psutil.Process) -> list[float]:
    others = process.children(recursive=True)
    return [sum(sum(one.cpu_times()[:2]) for one in some) for some in ([process], others)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition(":")[0])
    parser.add_argument("--visitors", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=90.0)
    parser.add_argument("--every", type=float, default=20.0, help="seconds between changes")
    asked = parser.parse_args()
    with served(Path(tempfile.mkdtemp()), "--network") as (started, port, _):
        process = psutil.Process(started.pid)
        time.sleep(5)  # until the first job has been evaluated
        visitors, memory, spent = asyncio.run(
            visit(port, process, asked.visitors, asked.seconds, asked.every)
        )
    times = sorted(time for one in visitors for time in one.times)
    at = statistics.quantiles(times, n=100)
    print(f"{asked.visitors} visitors, {len(times)} answers, one change per {asked.every:g} s each")
    print(
        f"answer: median {at[49]:.2f} s, 95th percentile {at[94]:.2f} s, longest {times[-1]:.2f} s"
    )
    for number, name in enumerate(("the server", "its other processes")):
        empty, opened, end = (one[number] for one in memory)
        print(f"{name}: {1e3 * spent[number] / len(times):.0f} ms of processor time per answer")
        print(f"  memory: {empty:.0f} MB empty, {opened:.0f} MB opened, {end:.0f} MB at the end")
    for name, step in STEPS.items():
        own = [time for one in visitors if one.step == step for time in one.times]
        if own:
            print(f"  {name}: median {statistics.median(own):.2f} s, longest {max(own):.2f} s")


if __name__ == "__main__":
    main()
