"""A network between the browser and the page that is slow and that loses connections."""

import asyncio
import threading
from contextlib import contextmanager, suppress

CHUNK = 65_536


class Network:
    """Passes the bytes of each connection on after ``delay`` [s], until it is cut.

    ``delay`` is for one direction, half of a round trip; a new connection takes a round trip. All
    connections share the ``rate`` [bytes/s] of each direction.
    """

    def __init__(self, to: int):
        self._to, self.delay, self.rate, self._up = to, 0.0, float("inf"), True
        self._busy = {"there": 0.0, "back": 0.0}  # time until which each direction is in use
        self.carried = 0  # bytes to the browser
        self._ends: set[asyncio.StreamWriter] = set()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._server = self._do(asyncio.start_server(self._met, "127.0.0.1", 0))
        self.port = self._server.sockets[0].getsockname()[1]

    def cut(self) -> None:
        """Lose all connections, and refuse new ones until `mend` is called."""
        self._up = False
        self._do(self._abort())

    def mend(self) -> None:
        self._up = True

    def close(self) -> None:
        self.cut()
        self._do(self._end())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def _do(self, work):
        return asyncio.run_coroutine_threadsafe(work, self._loop).result()

    async def _end(self) -> None:
        self._server.close()
        others = asyncio.all_tasks() - {asyncio.current_task()}
        for one in others:
            one.cancel()
        await asyncio.gather(*others, return_exceptions=True)

    async def _abort(self) -> None:
        for end in list(self._ends):
            end.transport.abort()

    async def _met(self, reader, writer) -> None:
        self._ends.add(writer)
        try:
            await asyncio.sleep(2 * self.delay)
            if self._up:
                there = await asyncio.open_connection("127.0.0.1", self._to)
                self._ends.add(there[1])
                ways = [self._pass(reader, there[1], "there"), self._pass(there[0], writer, "back")]
                await asyncio.gather(*ways)
                self._ends.discard(there[1])
        except (OSError, asyncio.CancelledError):
            pass  # the server or this network was closed
        finally:
            writer.transport.abort()
            self._ends.discard(writer)

    async def _pass(self, reader, writer, way: str) -> None:
        """Read and write at the same time, so that a delay does not limit the rate."""
        due: asyncio.Queue = asyncio.Queue()

        async def write() -> None:
            while (item := await due.get()) is not None:
                when, data = item
                await asyncio.sleep(max(0.0, when - self._loop.time()))
                writer.write(data)
                await writer.drain()

        writing = self._loop.create_task(write())
        with suppress(OSError):
            while data := await reader.read(CHUNK):
                begin = max(self._loop.time(), self._busy[way])
                self._busy[way] = begin + len(data) / self.rate
                self.carried += len(data) if way == "back" else 0
                due.put_nowait((self._busy[way] + self.delay, data))
        due.put_nowait(None)
        with suppress(OSError, asyncio.CancelledError):
            await writing
        writer.transport.abort()


@contextmanager
def bad_network(to: int):
    """A network in front of the port ``to`` of this computer."""
    network = Network(to)
    try:
        yield network
    finally:
        network.close()
