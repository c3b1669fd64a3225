"""Connection between a page and its browser that survives interruptions.

A browser can lose its connection in a tunnel, behind a wall, or when the phone goes to sleep. A
`Line` looks like one connection to solara for as long as the page is open. It exchanges messages
over a series of websockets. Both ends count the messages and keep each one until the other end has
confirmed it, so every message arrives once and in order. The other end is `frame/line.js`.

A text message that begins with "got" is a confirmation: "got 12" means that 12 messages arrived.

The widgets of a page work in a thread of their own. A `ThreadLine` is the line as this thread sees
it. Sending a message from the thread never waits for the event loop, which many threads share.
"""

import asyncio
from collections import deque

from solara.server import websocket
from starlette.websockets import WebSocket, WebSocketDisconnect

from airover.app.connections import size_of

LARGEST_KEPT = 30_000_000  # bytes kept in each direction before a line is given up
SOON = 0.005  # s in which messages from a thread are collected
LONGEST_COUNT = 12  # digits
GOT = "got "


class Line:
    """Connection to the browser of one page.

    Only the event loop of the server may use it, except for `post` and `end`.
    """

    def __init__(self):
        self.loop = asyncio.get_running_loop()
        self._posted: deque[str | bytes] = deque()  # messages from the thread of the page
        self._is_due = False  # they are about to be sent
        self._heard: asyncio.Queue[dict] = asyncio.Queue()
        self._received = 0
        self._kept: deque[str | bytes] = deque()  # messages that the browser has not confirmed
        self._confirmed = self._size = self._heard_size = 0
        self._more = asyncio.Event()
        self._socket: WebSocket | None = None
        self.ended = False

    @property
    def is_open(self) -> bool:
        """True while a browser is connected."""
        return self._socket is not None

    @property
    def has_news(self) -> bool:
        """True if messages from the browser wait for the page. Any thread may ask."""
        return not self._heard.empty()

    async def receive(self) -> dict:
        event = await self._heard.get()
        self._heard_size -= _size(event)
        return event

    def post(self, data: str | bytes) -> None:
        """Send a message soon. Any thread may call this method.

        Raises
        ------
        WebSocketDisconnect
            If the line has ended.
        """
        if self.ended:
            raise websocket.WebSocketDisconnect
        self._posted.append(data)
        if not self._is_due:
            self._is_due = True
            self.loop.call_soon_threadsafe(self.loop.call_later, SOON, self._keep_posted)

    def end(self) -> None:
        """End the line after the messages that were posted. Any thread may call this method."""
        asyncio.run_coroutine_threadsafe(self._end(), self.loop)

    async def close(self, code: int = 1000, reason: str | None = None) -> None:
        """End the line for good."""
        self.ended = True
        self._heard.put_nowait({"type": "websocket.disconnect", "code": code})
        await self._replace(None, code)

    async def carry(self, socket: WebSocket, got: int) -> None:
        """Exchange messages over ``socket`` until it closes or another one replaces it.

        Parameters
        ----------
        got : int
            Number of messages that the browser has received.
        """
        await socket.accept()
        if self.ended or not self._confirm(got):
            await socket.close(1008)
            return
        await self._replace(socket)
        sending = asyncio.create_task(self._send(socket, got))
        try:
            await self._hear(socket)
        except (WebSocketDisconnect, RuntimeError):
            pass  # the connection was lost while this end was sending
        finally:
            sending.cancel()
            if self._socket is socket:
                self._socket = None

    async def _hear(self, socket: WebSocket) -> None:
        await socket.send_text(f"{GOT}{self._received}")
        while True:
            event = await socket.receive()
            # The browser sends a message again that it sent over an earlier websocket.
            if event["type"] == "websocket.disconnect" or self._socket is not socket:
                return
            if (event.get("text") or "").startswith(GOT):
                got = count_of(event["text"].removeprefix(GOT))
                if got is None or not self._confirm(got):
                    return
            else:
                self._received += 1
                self._heard_size += _size(event)
                self._heard.put_nowait(event)
                if self._heard_size > LARGEST_KEPT:
                    await self.close(1008)
                    return
            await socket.send_text(f"{GOT}{self._received}")

    async def _send(self, socket: WebSocket, at: int) -> None:
        """Send the messages from number ``at`` on."""
        while True:
            self._more.clear()
            while at < self._confirmed + len(self._kept):
                data = self._kept[max(at - self._confirmed, 0)]
                at += 1
                try:
                    await (socket.send_text if isinstance(data, str) else socket.send_bytes)(data)
                except (WebSocketDisconnect, RuntimeError):
                    return
            await self._more.wait()

    def _keep_posted(self) -> None:
        self._is_due = False
        while self._posted:
            data = self._posted.popleft()
            self._kept.append(data)
            self._size += len(data)
        self._more.set()
        if self._size > LARGEST_KEPT:
            self._closing = asyncio.create_task(self.close(1008))

    async def _end(self) -> None:
        self._keep_posted()
        await self.close()

    def _confirm(self, got: int) -> bool:
        """Forget the first ``got`` messages, and return False if there were not that many."""
        if not self._confirmed <= got <= self._confirmed + len(self._kept):
            return False
        for _ in range(got - self._confirmed):
            self._size -= len(self._kept.popleft())
        self._confirmed = got
        return True

    async def _replace(self, socket: WebSocket | None, code: int = 1000) -> None:
        earlier, self._socket = self._socket, socket
        if earlier is not None:
            try:
                await earlier.close(code)
            except RuntimeError:
                pass  # it was already closed


class ThreadLine(websocket.WebsocketWrapper):
    """The ``line`` as the thread of the page uses it."""

    def __init__(self, line: Line):
        self._line = line

    def send_text(self, data: str) -> None:
        self._line.post(data)

    def send_bytes(self, data: bytes) -> None:
        self._line.post(data)

    def close(self) -> None:
        self._line.end()

    async def receive(self) -> str | bytes:
        heard = asyncio.run_coroutine_threadsafe(self._line.receive(), self._line.loop)
        event = await asyncio.wrap_future(heard)
        if event["type"] == "websocket.disconnect":
            raise websocket.WebSocketDisconnect
        return event["bytes"] if event.get("text") is None else event["text"]


def count_of(text: str) -> int | None:
    """Return the number of messages in a confirmation, or None if ``text`` is not a number."""
    return int(text) if text.isdecimal() and len(text) <= LONGEST_COUNT else None


def _size(event: dict) -> int:
    return size_of(event.get("text") or event.get("bytes") or "")
