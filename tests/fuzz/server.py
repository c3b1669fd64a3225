"""Bad neighbors of the page's server: ``python -m tests.fuzz.server``.

Each trial starts a server of its own, attacks it and prints what the attack cost: the largest memory of
the server, the bytes that it logged, and the seconds until it answered somebody else. Times are of the
clock, because it is the others who wait.

- ``messages``: malformed messages with a valid token, among them 64 bytes that ask for gigabytes
- ``connections``: idle connections without a token
- ``requests``: requests without a token that do not end, have no bounds, or come all at once
- ``readers``: browsers that ask for much and read nothing
- ``compressed``: messages with a valid token that are a thousand times as large as their bytes
- ``pings``: pings whose answers nobody reads
- ``page``: one page that fills its widgets and makes others
- ``visits``: visitors who open the page at the same time
- ``reloads``: pages that are asked for and never opened
"""

import argparse
import asyncio
import http.client
import json
import random
import re
import socket
import struct
import sys
import tempfile
import threading
import time
import zlib
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from uuid import uuid4

import psutil
import websockets

from airover.app import guard
from tests.served_page import TOKEN, served

PATIENCE = 120.0  # s; a shared computer may be slow
MB = 1_000_000


# Ends connections that are stuck sooner than for users.
IMPATIENT = [
    sys.executable, "-c",
    "from airover.app import connections, serve; connections.STUCK = 3.0; "
    + "serve.serve(0, open_browser=False)",
]  # fmt: skip


class Server:
    """A running server: its ``port``, its largest memory and its log."""

    def __init__(self, folder: Path, *words, program=IMPATIENT):
        self.folder, self.words, self.program = folder, words, program

    def __enter__(self):
        self._stack = ExitStack()
        process, self.port, self.said = self._stack.enter_context(
            served(self.folder, *self.words, program=self.program)
        )
        self.process, self.most, self._ends = psutil.Process(process.pid), 0, threading.Event()
        self._thread = threading.Thread(target=self._watch)
        self._thread.start()
        return self

    def __exit__(self, *why):
        self._ends.set()
        self._thread.join()
        self._stack.close()

    def _watch(self):
        with suppress(psutil.NoSuchProcess):
            while not self._ends.wait(0.05):
                self.most = max(self.most, self.process.memory_info().rss)

    @property
    def logged(self) -> int:
        return (self.folder / "errors").stat().st_size

    def ask(self, path: str, cookie: str = "", token: str = TOKEN, patience: float = PATIENCE):
        """The answer to one request, and the seconds that it took."""
        began = time.monotonic()
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=patience)
        headers = {"Cookie": cookie} if cookie else {}
        try:
            line.request("GET", path, headers=headers | {"Authorization": f"token {token}"})
            answer = line.getresponse()
            answer.text = answer.read().decode(errors="replace")
        finally:
            line.close()
        return answer, time.monotonic() - began

    def wait(self) -> float:
        """Seconds until somebody else has a page, or infinity."""
        try:
            answer, seconds = self.ask(f"/?job={guard.new_key()}", patience=20.0)
        except (OSError, http.client.HTTPException):
            return float("inf")
        return seconds if answer.status == 200 else float("inf")


class Visit:
    """A page that was asked for without a browser."""

    def __init__(self, server: Server, cookie: str = ""):
        answer, _ = server.ask(f"/?job={guard.new_key()}", cookie)
        self.status = answer.status
        if self.status == 200:
            self.name = re.search(r'"name": "([0-9a-f]{32})"', answer.text)[1]
            self.cookie = answer.headers["Set-Cookie"].partition(";")[0]
            self.address = f"ws://127.0.0.1:{server.port}/jupyter/api/kernels/{self.name}/channels"

    def line(self, more: str = ""):
        headers = {"Cookie": self.cookie, "Authorization": f"token {TOKEN}"}
        return websockets.connect(
            f"{self.address}?session_id=tests{more}", additional_headers=headers, max_size=50 * MB
        )

    async def opens(self, line) -> float:
        """Ask for the widgets; the seconds until they are there."""
        began = time.monotonic()
        asked = {"comm_id": uuid4().hex, "target_name": "airover.page", "data": {}}
        await line.send(json.dumps(message("comm_open", asked)))
        while True:
            told = await asyncio.wait_for(line.recv(), PATIENCE)
            if isinstance(told, bytes) or told.startswith("got "):
                continue
            data = json.loads(told)["content"].get("data", {})
            if "model" in data:
                return time.monotonic() - began


def message(kind: str, content: dict) -> dict:
    header = {"msg_id": uuid4().hex, "msg_type": kind, "username": "", "session": "tests",
              "date": "2026-01-01T00:00:00Z", "version": "5.3"}  # fmt: skip
    parts = {"parent_header": {}, "metadata": {}, "content": content, "buffers": []}
    return {"header": header, "channel": "shell", **parts}


def packed(*parts: bytes) -> bytes:
    """A binary message with these parts."""
    at = 4 * (len(parts) + 1)
    places = []
    for part in parts:
        places.append(at)
        at += len(part)
    return struct.pack(f"!{len(parts) + 1}I", len(parts), *places) + b"".join(parts)


GOOD = message("comm_msg", {"comm_id": "0" * 32, "data": {"method": "custom", "content": {}}})
BOMBS = (
    struct.pack("!i", 2**31 - 1) + bytes(60),  # 64 bytes that ask for 8 GB of offsets
    struct.pack("!i", -(2**31)) + bytes(60),
    struct.pack("!4I", 2, 2**32 - 1, 0, 0) + bytes(48),
    packed(json.dumps(GOOD).encode(), *([b""] * 50_000)),
    packed(b"\xff" * 64),
    b"", b"\0", b"{}",
    "", "null", "[]", "{}", "NaN", "[" * 100_000, '{"a":' * 50_000, "\ud7ff" * 100, '"' + "x" * 10**6 + '"',
    json.dumps(GOOD | {"header": None}),
    json.dumps(GOOD | {"header": {}}),
    json.dumps(GOOD | {"header": GOOD["header"] | {"msg_type": ["comm_msg"]}}),
    json.dumps(GOOD | {"content": "text"}),
    json.dumps(GOOD | {"channel": 7}),
    json.dumps(GOOD | {"content": {"comm_id": {}, "data": 1}}),
    json.dumps(GOOD | {"buffers": "none"}),
    "1" * 1_000_000,
    "got " + "9" * 10_000, "got -1", "got 7", "got ",
)  # fmt: skip


def malformed(draws: random.Random) -> str | bytes:
    """A good message with a few of its bytes or values changed."""
    if draws.random() < 0.2:
        return draws.choice(BOMBS)
    whole = json.loads(json.dumps(GOOD))
    place = draws.choice([whole, whole["header"], whole["content"], whole["content"]["data"]])
    key = draws.choice(list(place))
    place[key] = draws.choice([None, 0, -1, [], {}, "", "x" * 1000, True, 1e308, [place.copy()]])
    text = json.dumps(whole)
    if draws.random() < 0.5:
        return text
    content = bytearray(packed(text.encode(), draws.randbytes(draws.randrange(20))))
    for _ in range(draws.randrange(1, 5)):
        content[draws.randrange(len(content))] = draws.randrange(256)
    return bytes(content)


async def _throw(visit: Visit, bombs, more: str) -> None:
    """Send messages until the server ends the line."""
    with suppress(websockets.WebSocketException, OSError):
        async with visit.line(more) as line:
            for bomb in bombs:
                await line.send(bomb)
            with suppress(TimeoutError):
                async with asyncio.timeout(0.2):
                    async for _ in line:
                        pass


def messages(server: Server, count: int, seed: int = 1) -> dict:
    """Throw the bombs and ``count`` malformed messages, each at a new page or three at a time."""
    draws = random.Random(seed)
    thrown = [[bomb] for bomb in BOMBS]
    while sum(map(len, thrown)) < count:
        thrown.append([malformed(draws) for _ in range(draws.randrange(1, 4))])
    longest = 0.0
    for number, bombs in enumerate(thrown):
        with suppress(OSError, http.client.HTTPException):
            visit = Visit(server)
            if visit.status == 200:
                asyncio.run(_throw(visit, bombs, draws.choice(["", "&got=0"])))
        if number % 20 == 0:
            longest = max(longest, server.wait())
    return {"messages": sum(map(len, thrown)), "others wait, s": max(longest, server.wait())}


@contextmanager
def idle(port: int, count: int):
    """Connections that say nothing."""
    lines = []
    try:
        for _ in range(count):
            line = socket.socket()
            line.settimeout(1.0)
            with suppress(OSError):
                line.connect(("127.0.0.1", port))
            lines.append(line)
        yield lines
    finally:
        for line in lines:
            line.close()


def connections(server: Server, count: int, seconds: float = 5.0) -> dict:
    """Hold ``count`` idle connections for some seconds while somebody else asks for a page."""
    if sys.platform == "linux":
        server.process.rlimit(psutil.RLIMIT_NOFILE, (1024, 1024))  # as on an ordinary computer
    with idle(server.port, count):
        until, longest = time.monotonic() + seconds, 0.0
        while time.monotonic() < until:
            longest = max(longest, server.wait())
            time.sleep(0.5)
    return {"connections": count, "others wait, s": longest}


ENDLESS = (
    b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: ",  # a header
    b"GET /",  # an address
    b"POST /goodbye/x HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 9000000000\r\n\r\n",
    b"POST /goodbye/x HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\nX: ",
)
UPGRADE = (
    b"GET /jupyter/api/kernels/x/channels HTTP/1.1\r\nHost: 127.0.0.1\r\nUpgrade: websocket\r\n"
    b"Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
    b"Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n"
)
UNREADABLE = (  # websockets that are refused by their parser
    UPGRADE + b"X: " + b"x" * 30_000 + b"\r\n\r\n",
    UPGRADE + b"X: 1\r\n" * 200 + b"\r\n",
    UPGRADE.replace(b"HTTP/1.1", b"HTTP/1.0") + b"\r\n",
)
HEADERS = b"".join(b"X-%d: 1\r\n" % number for number in range(20_000))
MANY = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n" * 2000


def poured(port: int, head: bytes, size: int, piece: bytes = b"x" * 65_536, rest=0.0) -> bytes:
    """Send ``head`` and then ``size`` bytes; what the server says before it ends the connection."""
    said = b""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as line:
        with suppress(OSError):
            line.sendall(head)
            for _ in range(size // len(piece)):
                line.sendall(piece)
                time.sleep(rest)
        with suppress(OSError):
            while told := line.recv(65_536):
                said += told
    return said


def requests(server: Server, count: int) -> dict:
    """Send ``count`` MB of each endless request, and the slow and the many ones."""
    with ThreadPoolExecutor(20) as threads:
        for head in ENDLESS:
            threads.submit(poured, server.port, head, count * MB)
            threads.submit(poured, server.port, head, 1000, b"x", 0.05)
        threads.submit(poured, server.port, ENDLESS[0] + b"1\r\n" + HEADERS, 0)
        for head in (MANY,) * 4 + UNREADABLE:
            threads.submit(poured, server.port, head, 0)
        longest = server.wait()
    left = held(server)
    return {"MB each": count, "left": left, "others wait, s": max(longest, server.wait())}


def unread(port: int, head: bytes, times: int) -> socket.socket:
    """A connection that sends ``head`` again and again and reads nothing."""
    line = socket.socket()
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    line.settimeout(0.5)
    with suppress(OSError):
        line.connect(("127.0.0.1", port))
        for _ in range(times):
            line.sendall(head)
    return line


def readers(server: Server, count: int) -> dict:
    """Hold ``count`` connections that read nothing, until the server has ended them."""
    head = (
        f"GET /files/widgets.js HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: token {TOKEN}\r\n\r\n"
    )
    lines = [unread(server.port, head.encode() * 200, 3) for _ in range(count)]
    longest, until = server.wait(), time.monotonic() + 5 * PATIENCE
    while held(server) > 10 and time.monotonic() < until:
        time.sleep(0.5)
    left = held(server)
    for line in lines:
        line.close()
    return {"connections": count, "left": left, "others wait, s": max(longest, server.wait())}


def held(server: Server) -> int:
    """The number of connections that the server holds."""
    found = server.process.net_connections("tcp")
    return sum(one.status == "ESTABLISHED" and one.laddr.port == server.port for one in found)


def frames(server: Server, visit: Visit, sent: bytes, times: int) -> None:
    """Send bytes over the websocket of a page, past any library, and read nothing."""
    head = (
        f"GET /jupyter/api/kernels/{visit.name}/channels?session_id=tests HTTP/1.1\r\n"
        f"Host: 127.0.0.1\r\nCookie: {visit.cookie}\r\nAuthorization: token {TOKEN}\r\n"
        "Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n"
        "Sec-WebSocket-Extensions: permessage-deflate\r\n\r\n"
    )
    with socket.socket() as line:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        line.settimeout(10.0)
        line.connect(("127.0.0.1", server.port))
        line.sendall(head.encode())
        assert b" 101 " in line.recv(2000)
        with suppress(OSError):
            for _ in range(times):
                line.sendall(sent)
            line.recv(1)


def frame(opcode: int, content: bytes) -> bytes:
    """A frame of a websocket with a mask of zeros. The opcode has the bits before it."""
    size = len(content)
    length = bytes([0x80 | size]) if size < 126 else b"\xfe" + struct.pack("!H", size)
    return bytes([opcode]) + length + bytes(4) + content


def deflated(content: bytes) -> bytes:
    """The content as permessage-deflate sends it."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -12)
    return (packer.compress(content) + packer.flush(zlib.Z_SYNC_FLUSH))[:-4]


def compressed(server: Server, count: int) -> dict:
    """Send ``count`` messages of 4.9 MB in 5 kB each, over ten pages at the same time."""
    before = server.process.memory_info().rss
    bomb = frame(0xC1, deflated(b" " * 4_900_000))
    with ThreadPoolExecutor(10) as threads:
        for _ in range(10):
            threads.submit(frames, server, Visit(server), bomb * 40, count // 400)
    return {
        "messages": count,
        "more, MB": (server.most - before) / MB,
        "others wait, s": server.wait(),
    }


def pings(server: Server, count: int) -> dict:
    """Send ``count`` pings over each of ten pages, and read no answer."""
    before = server.process.memory_info().rss
    ping = frame(0x89, b"x" * 125)
    with ThreadPoolExecutor(10) as threads:
        for _ in range(10):
            threads.submit(frames, server, Visit(server), ping * 1000, count // 1000)
    return {
        "pings": count,
        "more, MB": (server.most - before) / MB,
        "others wait, s": server.wait(),
    }


def page(server: Server, count: int) -> dict:
    """Send ``count`` messages that fill the widgets of a page, and as many that make others."""
    before, server.most = server.process.memory_info().rss, 0

    async def told(messages, size=0) -> int:
        visit, sent = await asyncio.to_thread(Visit, server), 0
        async with visit.line() as line:
            asked = {"comm_id": uuid4().hex, "target_name": "airover.page", "data": {}}
            await line.send(json.dumps(message("comm_open", asked)))
            names, data = [], {}
            while not names or "model" not in data:
                heard = await asyncio.wait_for(line.recv(), PATIENCE)
                heard = {"content": {}} if heard.startswith("got ") else json.loads(heard)
                data = heard["content"].get("data", {})
                if "value" in data.get("state", {}):
                    names.append(heard["content"]["comm_id"])
            reading = asyncio.create_task(_read(line))
            with suppress(websockets.WebSocketException):
                for number in range(count):
                    await line.send(json.dumps(messages(names[number % len(names)], number)))
                    sent += 1
                    await asyncio.sleep(0.006)  # slower than the limit
            reading.cancel()
        return sent

    def fills(name, number):
        state = {"value": f"{number}" + "x" * 90_000, "description": "x" * 90_000}
        del state["description" if number % 2 else "value"]
        content = {
            "comm_id": name,
            "data": {"method": "update", "state": state, "buffer_paths": []},
        }
        return message("comm_msg", content)

    def opens(name, number):
        return message("comm_open", {"comm_id": uuid4().hex, "target_name": "x", "data": {}})

    def asks_again(name, number):
        asked = {"comm_id": uuid4().hex, "target_name": "airover.page", "data": {}}
        return message("comm_open", asked)

    sent = [asyncio.run(told(one)) for one in (fills, opens, asks_again)]
    more = (server.most - before) / MB
    return {"accepted": max(sent), "more, MB": more, "others wait, s": server.wait()}


async def _read(line) -> None:
    with suppress(websockets.WebSocketException):
        async for _ in line:
            pass


def visits(server: Server, count: int) -> dict:
    """Open ``count`` pages at the same time."""

    async def all_open() -> list[float]:
        async with asyncio.TaskGroup() as group:
            found = [group.create_task(one_opens()) for _ in range(count)]
        return [one.result() for one in found]

    async def one_opens() -> float:
        visit = await asyncio.to_thread(Visit, server)
        if visit.status != 200:
            return float("inf")
        async with visit.line() as line:
            seconds = await visit.opens(line)
            await asyncio.sleep(1.0)
            return seconds

    before = server.process.memory_info().rss
    seconds = asyncio.run(all_open())
    opened = [one for one in seconds if one < float("inf")]
    each = (server.most - before) / max(len(opened), 1)
    return {
        "visits": count,
        "opened": len(opened),
        "slowest, s": max(opened, default=0.0),
        "each, MB": each / MB,
    }


def reloads(server: Server, count: int) -> dict:
    """Ask for ``count`` pages in one browser and open none."""
    cookie, seen = "", []
    for _ in range(count):
        visit = Visit(server, cookie)
        seen.append(visit.status)
        cookie = cookie or visit.cookie
    return {"reloads": count, "refused": count - seen.count(200), "others wait, s": server.wait()}


TRIALS = {
    "messages": (messages, 1000),
    "connections": (connections, 1100),
    "requests": (requests, 100),
    "readers": (readers, 400),
    "compressed": (compressed, 4000),
    "pings": (pings, 1_000_000),
    "page": (page, 1000),
    "visits": (visits, 20),
    "reloads": (reloads, 100),
}


def tried(name: str, count: int | None, folder: Path) -> dict:
    """The figures of one trial against a server of its own."""
    trial, usual = TRIALS[name]
    with Server(folder) as server:
        found = trial(server, count or usual)
        found |= {"memory, MB": server.most / MB, "log, MB": server.logged / MB}
    return found


def main(argv=None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.server", description=__doc__)
    parser.add_argument("trials", nargs="*", choices=[*TRIALS, []], default=list(TRIALS))
    parser.add_argument("--count", type=int, help="messages, connections, visits or reloads")
    arguments = parser.parse_args(argv)
    for name in arguments.trials:
        with tempfile.TemporaryDirectory(prefix="server-") as folder:
            found = tried(name, arguments.count, Path(folder))
        print(name, ", ".join(f"{key} {value:.4g}" for key, value in found.items()), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
