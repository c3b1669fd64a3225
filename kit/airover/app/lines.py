"""Connection between a page and its browser that survives interruptions.

A browser can lose its connection in a tunnel, behind a wall, or when the phone goes to sleep. A
`Line` looks like one connection to solara for as long as the page is open. It exchanges messages
over a series of websockets. Both ends count the messages and keep each one until the other end has
confirmed it, so every message arrives once and in order. The other end is `frame/line.js`.

A text message that begins with "got" is a confirmation: "got 12" means that 12 messages arrived.
"""

import asyncio
from collections import deque

from starlette.websockets import WebSocket, WebSocketDisconnect

LARGEST_KEPT = 30_000_000  # bytes kept in each direction before a line is given up
EVENT = 500  # bytes in memory for a message without content
LONGEST_COUNT = 12  # digits
GOT = "got "


class Line:
    """Connection that solara uses in place of the websocket ``first``.

    Only the event loop of the server may use it.
    """

    def __init__(self, first: WebSocket):
        self.cookies, self.headers, self.scope = first.cookies, first.headers, first.scope
        self.query_params, self.path_params = first.query_params, first.path_params
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

    async def accept(self) -> None:
        """Do nothing, because `carry` accepts each websocket."""

    async def receive(self) -> dict:
        event = await self._heard.get()
        self._heard_size -= _size(event)
        return event

    async def send_text(self, data: str) -> None:
        await self._keep(data)

    async def send_bytes(self, data: bytes) -> None:
        await self._keep(data)

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

    async def _keep(self, data: str | bytes) -> None:
        if self._size > LARGEST_KEPT:
            await self.close(1008)
        if self.ended:
            raise WebSocketDisconnect(1008)
        self._kept.append(data)
        self._size += len(data)
        self._more.set()

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


def count_of(text: str) -> int | None:
    """Return the number of messages in a confirmation, or None if ``text`` is not a number."""
    return int(text) if text.isdecimal() and len(text) <= LONGEST_COUNT else None


def _size(event: dict) -> int:
    return EVENT + len(event.get("text") or event.get("bytes") or "")
