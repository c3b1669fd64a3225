"""Limit the connections to the page's server, the messages from a page and the size of the log.

Anyone on the same network, or a faulty program, can open connections and send any data. These
limits keep the page available to others.
"""

import asyncio
import json
import logging
import os
import struct
import sys
import time
from collections import deque
from contextlib import suppress
from typing import ClassVar

from starlette.responses import Response
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol

MOST_CONNECTIONS = 400
FILES = 1024  # open files that the server needs at most, with its connections
PATIENCE = 10.0  # s for a request to arrive on a new connection
STUCK = 60.0  # s until a connection is closed whose other end reads nothing
LARGEST_HEAD = 16_000  # bytes of a request, which has no body, with its cookies
LARGEST_MESSAGE = 5_000_000  # bytes, for a message from the page with a file
LARGEST_TEXT = 100_000  # bytes, for a message without a file
LARGE_TEXT = 10_000  # bytes of a message without a file that is not needed if memory is short
LARGEST_UNREAD = 2 * LARGEST_MESSAGE  # bytes of messages that wait for their page
LARGEST_UNSENT = 40_000_000  # bytes that wait for a browser to read them
PIECE = 2048  # bytes that are decompressed at a time; a byte can hold a thousand
EVENT = 500  # bytes in memory for a message without content
MOST_BUFFERS = 64  # binary parts of a message; a page sends one for each uploaded file
MOST_MESSAGES, WITHIN = 2000, 10.0  # messages of a page in so many seconds
MOST_LOGGED, MINUTE = 50, 60.0  # log records per minute [s]
MOST_MEMORY, SHARE = 4e9, 0.5  # bytes of the server, and fraction of the computer's memory
TARGET = "airover.page"  # target name of the message that requests a page's widgets
OPEN, MESSAGE, QUESTION, END = "comm_open", "comm_msg", "kernel_info_request", "disconnect"
_SENT = {"value", "index", "selected_index"}  # properties of a widget that the browser changes
_TYPES = {"header": dict, "parent_header": dict, "metadata": dict, "content": dict, "channel": str}


class Reading:
    """Part of a protocol that ends a connection whose other end reads nothing for too long."""

    _stuck = None

    def pause_writing(self) -> None:
        super().pause_writing()
        self._stuck = self.loop.call_later(STUCK, self.transport.abort)

    def resume_writing(self) -> None:
        if self._stuck is not None:
            self._stuck.cancel()
            self._stuck = None
        super().resume_writing()

    def connection_lost(self, exc) -> None:
        self.resume_writing()
        super().connection_lost(exc)


class Protocol(Reading, H11Protocol):
    """HTTP protocol that closes connections that send no request or read no response.

    A connection is closed if no request arrives in time. If too many connections are open, the one
    that has waited longest for a request is closed. If no connection is waiting, a new one is
    refused. This parser holds one request at a time, and its size is limited.
    """

    waiting: ClassVar[dict] = {}  # protocols in the order in which they began to wait
    refusals: ClassVar[dict[int, bytes]] = {400: b"", 503: b""}  # whole responses by status
    _late = None

    def connection_made(self, transport) -> None:
        if len(self.server_state.connections) >= MOST_CONNECTIONS:
            oldest = next(iter(Protocol.waiting), None)
            if oldest is None:
                transport.write(Protocol.refusals[503])
                transport.close()
            else:
                oldest.waits(False)
                oldest.transport.abort()
        super().connection_made(transport)
        self.waits(True)

    def connection_lost(self, exc) -> None:
        self.waits(False)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        if self.transport.is_closing():
            return
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self.waits(False)

    def on_response_complete(self) -> None:
        self.waits(True)
        super().on_response_complete()

    def handle_websocket_upgrade(self, *event) -> None:
        self.waits(False)
        super().handle_websocket_upgrade(*event)

    def send_400_response(self, msg: str) -> None:
        """Refuse a request that is too large or cannot be read."""
        if self.cycle is None or self.cycle.response_complete:
            self.transport.write(Protocol.refusals[400])
        self.transport.close()

    def waits(self, waits: bool) -> None:
        """Start or stop waiting for a request."""
        if self._late is not None:
            self._late.cancel()
        Protocol.waiting.pop(self, None)
        self._late = None
        if waits:
            Protocol.waiting[self] = None
            self._late = self.loop.call_later(PATIENCE, _close, self.transport)


class Socket(Reading, WebSocketsSansIOProtocol):
    """Websocket protocol that limits the data that waits in either direction.

    A compressed message can be a thousand times as large as its bytes, and the answers to pings
    wait for a browser that does not read them.
    """

    _unread = 0

    def data_received(self, data: bytes) -> None:
        for at in range(0, len(data), PIECE):
            if self.transport.is_closing():
                return
            super().data_received(data[at : at + PIECE])
            unsent = self.transport.get_write_buffer_size()
            if self._unread > LARGEST_UNREAD or unsent > LARGEST_UNSENT:
                self.transport.abort()
        if not self.handshake_initiated:  # the whole request has arrived and cannot be read
            self.transport.write(Protocol.refusals[400])
            _close(self.transport)

    def send_receive_event_to_app(self) -> None:
        self._unread += sum(map(size_of, self.frames))
        super().send_receive_event_to_app()

    async def receive(self):
        event = await super().receive()
        if event["type"] == "websocket.receive":
            self._unread -= size_of(event.get("text") or event.get("bytes") or "")
        return event


def _close(transport) -> None:
    """Close a connection, even if its other end does not read the last response."""
    transport.close()
    asyncio.get_running_loop().call_later(PATIENCE, transport.abort)


def size_of(content: str | bytes) -> int:
    """Return the approximate size [bytes] of a message in memory."""
    return EVENT + len(content)


def whole(response: Response) -> bytes:
    """Return a response as the bytes that close a connection."""
    lines = [b"HTTP/1.1 %d " % response.status_code, b"Connection: close"]
    lines += [name + b": " + value for name, value in response.raw_headers]
    return b"\r\n".join([*lines, b"", response.body])


def limit_handshakes() -> None:
    """Close an encrypted connection whose negotiation takes too long."""
    asyncio.constants.SSL_HANDSHAKE_TIMEOUT = PATIENCE


def allow_files() -> None:
    """Allow as many open files as the connections need, if the operating system permits it."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        if 0 <= soft < FILES:
            resource.setrlimit(resource.RLIMIT_NOFILE, (FILES, hard))


def memory_is_short() -> bool:
    """Return True if this process has more memory than its limit.

    Only Linux tells how much memory a process has at present.
    """
    if sys.platform != "linux":
        return False
    page = os.sysconf("SC_PAGE_SIZE")
    with open("/proc/self/statm", encoding="ascii") as file:
        used = int(file.read().split()[1]) * page
    return used > min(MOST_MEMORY, SHARE * os.sysconf("SC_PHYS_PAGES") * page)


class Pace:
    """Limit the rate of events to ``most`` in ``within`` seconds."""

    def __init__(self, most: int, within: float):
        self.within, self._times = within, deque(maxlen=most)

    def allows(self) -> bool:
        """Count an event, and return False if there are too many."""
        now = time.monotonic()
        full = len(self._times) == self._times.maxlen and now - self._times[0] < self.within
        if not full:
            self._times.append(now)
        return not full


class FewRecords(logging.Filter):
    """Filter that drops log records when there are too many."""

    def __init__(self):
        super().__init__()
        self._pace = Pace(MOST_LOGGED, MINUTE)

    def filter(self, record: logging.LogRecord) -> bool:
        return self._pace.allows()


class Messages:
    """Check of all messages from one page."""

    def __init__(self):
        self._pace, self._is_open = Pace(MOST_MESSAGES, WITHIN), False

    def allows(self, event: dict) -> bool:
        """Return True for a message that the page's own script sends, or for the end of the line.

        A page requests its widgets once. If the server is short of memory, a page that sends much
        text is not allowed to continue.
        """
        kind = kind_of(event)
        if kind == END:
            return True
        asks_again, self._is_open = kind == OPEN and self._is_open, self._is_open or kind == OPEN
        if kind == "" or asks_again or not self._pace.allows():
            return False
        return len(event.get("text") or "") <= LARGE_TEXT or not memory_is_short()


def kind_of(event: dict) -> str:
    """Return the kind of a websocket event, or "" if the page's own script would not send it.

    solara trusts the messages from a page. A few bytes can claim to contain billions of parts, and
    other messages could create widgets or change what only Python changes.
    """
    if event["type"] == "websocket.disconnect":
        return END
    text, content = event.get("text"), event.get("bytes")
    try:
        if text is None:
            text = _first_part(content)
        if len(text) > LARGEST_TEXT:
            return ""
        told = json.loads(text)
        header, content = told["header"], told["content"]
        shaped = all(isinstance(told[name], kind) for name, kind in _TYPES.items())
        named = isinstance(header["msg_type"], str) and isinstance(header["msg_id"], str)
        if not shaped or not named or not isinstance(told.get("buffers", []), list):
            return ""
        return header["msg_type"] if _is_known(header["msg_type"], content) else ""
    except (ValueError, LookupError, TypeError, struct.error, RecursionError):
        return ""


def _is_known(kind: str, content: dict) -> bool:
    """Return True if the ``content`` is one that the page's own script sends."""
    if kind == QUESTION:
        return True
    if kind not in (OPEN, MESSAGE) or not isinstance(content["comm_id"], str):
        return False
    data = content.get("data", {})
    if not isinstance(data, dict):
        return False
    if kind == OPEN:
        return content["target_name"] == TARGET
    match data.get("method"):
        case "update":
            state, paths = data["state"], data["buffer_paths"]
            return isinstance(state, dict) and state.keys() <= _SENT and isinstance(paths, list)
        case "custom":
            return isinstance(data["content"], dict)
    return data.keys() == {"agree"}


def _first_part(content: bytes) -> bytes:
    """Return the first part of a binary message.

    Raises
    ------
    ValueError
        If the number or the places of its parts are impossible.
    """
    count = int.from_bytes(content[:4], "big")
    if not 1 <= count <= 1 + MOST_BUFFERS:
        raise ValueError("too many parts")
    start, *others = struct.unpack_from(f"!{count}I", content, 4)
    places = [4 * (count + 1), start, *others, len(content)]
    if start != places[0] or places != sorted(places):
        raise ValueError("parts out of order")
    return content[start : others[0] if others else None]
