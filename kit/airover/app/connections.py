"""Limit the connections to the page's server, the messages from a page and the size of the log.

Anyone on the same network, or a faulty program, can open connections and send any data. These
limits keep the page available to others.
"""

import asyncio
import json
import logging
import struct
import time
from collections import deque
from contextlib import suppress
from typing import ClassVar

from uvicorn.protocols.http.auto import AutoHTTPProtocol

MOST_CONNECTIONS = 400
FILES = 1024  # open files that the server needs at most, with its connections
PATIENCE = 10.0  # s for a request to arrive on a new connection
MOST_BUFFERS = 64  # binary parts of a message; a page sends one for each uploaded file
MOST_MESSAGES, WITHIN = 2000, 10.0  # messages of a page in so many seconds
MOST_LOGGED, MINUTE = 50, 60.0  # log records per minute [s]
_FULL = b"HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
_TYPES = {"header": dict, "parent_header": dict, "metadata": dict, "content": dict, "channel": str}


class Protocol(AutoHTTPProtocol):
    """HTTP protocol that closes connections that send no request.

    A connection is closed if no request arrives in time. If too many connections are open, the one
    that has waited longest for a request is closed. If no connection is waiting, a new one is
    refused.
    """

    waiting: ClassVar[dict] = {}  # protocols in the order in which they began to wait
    _late = None

    def connection_made(self, transport) -> None:
        if len(self.server_state.connections) >= MOST_CONNECTIONS:
            oldest = next(iter(Protocol.waiting), None)
            if oldest is None:
                transport.write(_FULL)
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
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self.waits(False)

    def on_response_complete(self) -> None:
        self.waits(True)
        super().on_response_complete()

    def handle_websocket_upgrade(self, *event) -> None:
        self.waits(False)
        super().handle_websocket_upgrade(*event)

    def waits(self, waits: bool) -> None:
        """Start or stop waiting for a request."""
        if self._late is not None:
            self._late.cancel()
        Protocol.waiting.pop(self, None)
        self._late = None
        if waits:
            Protocol.waiting[self] = None
            self._late = self.loop.call_later(PATIENCE, self.transport.close)


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


def is_message(event: dict) -> bool:
    """Return True if a websocket event is a complete widget message or the end of the connection.

    solara trusts the messages from a page. A few bytes can claim to contain billions of parts.
    """
    if event["type"] == "websocket.disconnect":
        return True
    text, content = event.get("text"), event.get("bytes")
    try:
        if text is None:
            text = _first_part(content)
        told = json.loads(text)
        header, content = told["header"], told["content"]
        shaped = all(isinstance(told[name], kind) for name, kind in _TYPES.items())
        named = isinstance(header["msg_type"], str) and isinstance(header["msg_id"], str)
        if not shaped or not named or not isinstance(told.get("buffers", []), list):
            return False
        if header["msg_type"] in ("comm_open", "comm_msg", "comm_close"):
            data = content.get("data", {})
            return isinstance(content["comm_id"], str) and isinstance(data, dict)
        return True
    except (ValueError, LookupError, TypeError, struct.error, RecursionError):
        return False


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
