"""A short form of the trials against the server, which `server.py` runs at length."""

import asyncio
import json
import logging
import random
import sys
from contextlib import AsyncExitStack

import pytest
import websockets

from airover.app import connections, guard
from airover.app.connections import END, MESSAGE, FewRecords, Messages, Pace, kind_of
from tests.fuzz.server import BOMBS, GOOD, MB, TRIALS, Server, Visit, malformed, message, packed

FEW = {
    "messages": len(BOMBS) + 10,
    "connections": 450,
    "requests": 5,
    "readers": 20,
    "compressed": 400,
    "pings": 100_000,
    "page": 300,
}


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """One server for all trials: what one of them leaves behind counts in the next one as well."""
    with Server(tmp_path_factory.mktemp("server")) as found:
        yield found


@pytest.mark.parametrize("name", FEW)
def test_bad_neighbors_stop_nobody(name, server):
    found = TRIALS[name][0](server, FEW[name])
    assert found["others wait, s"] < float("inf")
    assert server.most < 800 * MB and server.logged < MB
    assert found.get("left", 0) == 0, "a connection that reads nothing is ended"
    assert found.get("accepted", 0) < FEW[name], "and so is a page that sends what no page sends"


def cookies(size: int) -> str:
    """Cookies of other programs on the same computer."""
    return "; ".join(f"other-{number}={'x' * 100}" for number in range(size // 112))


def test_a_browser_with_very_many_cookies_is_told(server):
    many = Visit(server, cookies(12_000))
    many.cookie = f"{many.cookie}; {cookies(12_000)}"

    async def opened() -> float:
        async with many.line() as line:
            return await many.opens(line)

    assert many.status == 200 and asyncio.run(opened()) > 0
    for size in (25_000, 60_000, 400_000):
        answer, _ = server.ask("/", cookies(size))
        assert answer.status == 400 and "Delete the cookies" in answer.text
    with pytest.raises((websockets.InvalidStatus, OSError)):
        many.cookie += f"; {cookies(12_000)}"
        asyncio.run(opened())
    assert server.wait() < float("inf") and server.logged < MB


FEW_CONNECTIONS = [
    sys.executable, "-c",
    "from airover.app import connections, serve; connections.MOST_CONNECTIONS = 3; "
    + "serve.serve(0, open_browser=False)",
]  # fmt: skip
NO_MEMORY = [
    sys.executable, "-c",
    "from airover.app import connections, serve; connections.MOST_MEMORY = 1.0; "
    + "serve.serve(0, open_browser=False)",
]  # fmt: skip


def test_a_connection_too_many_is_told(tmp_path):
    """If every other one has a page, which is not ended for it."""
    with Server(tmp_path, program=FEW_CONNECTIONS) as server:

        async def tried() -> None:
            async with AsyncExitStack() as lines:
                for visit in visits:
                    line = await lines.enter_async_context(visit.line())
                    await visit.opens(line)
                answer, _ = await asyncio.to_thread(server.ask, "/")
                assert answer.status == 503 and "Too many pages are open" in answer.text

        visits = [Visit(server) for _ in range(3)]
        asyncio.run(tried())
        assert server.wait() < float("inf")


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells its memory")
def test_a_server_without_memory_refuses_new_pages_in_a_sentence(tmp_path):
    with Server(tmp_path, program=NO_MEMORY) as server:
        answer, _ = server.ask(f"/?job={guard.new_key()}")
        assert answer.status == 503 and "is short of memory" in answer.text
        assert server.ask("/files/widgets.js")[0].status == 200


def received(message) -> dict:
    kind = "text" if isinstance(message, str) else "bytes"
    return {"type": "websocket.receive", kind: message}


def test_messages_of_a_page_are_accepted():
    text = json.dumps(GOOD)
    for good in (text, packed(text.encode(), b"", b"a photo"), packed(text.encode())):
        assert kind_of(received(good)) == MESSAGE
    assert kind_of({"type": "websocket.disconnect"}) == END


@pytest.mark.parametrize("number", range(len(BOMBS)))
def test_a_bomb_is_refused_before_it_is_opened(number):
    assert not kind_of(received(BOMBS[number]))


def test_any_message_is_judged_without_an_error():
    draws = random.Random(7)
    judged = [bool(kind_of(received(malformed(draws)))) for _ in range(5000)]
    assert 100 < sum(judged) < 4000


def update(**state) -> dict:
    data = {"method": "update", "state": state, "buffer_paths": []}
    return received(json.dumps(message("comm_msg", {"comm_id": "0" * 32, "data": data})))


def opening(target: str) -> dict:
    asked = {"comm_id": "0" * 32, "target_name": target, "data": {}}
    return received(json.dumps(message("comm_open", asked)))


def test_a_page_changes_only_what_its_user_can_change_and_asks_once():
    assert kind_of(update(value="1.9 A")) == kind_of(update(index=1)) == MESSAGE
    assert not kind_of(update(description="x")) and not kind_of(update(value=1, children=[]))
    assert not kind_of(update(value="x" * connections.LARGEST_TEXT))
    assert not kind_of(opening("jupyter.widget")) and not kind_of(opening("solara.control"))
    page, wanted = Messages(), opening(connections.TARGET)
    assert page.allows(wanted) and not page.allows(wanted)


def test_a_server_that_is_short_of_memory_ends_who_sends_much(monkeypatch):
    page, much = Messages(), update(value="x" * 2 * connections.LARGE_TEXT)
    assert page.allows(much) and not connections.memory_is_short()
    monkeypatch.setattr(connections, "memory_is_short", lambda: True)
    assert not page.allows(much) and page.allows(update(value="1.9 A"))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells it")
def test_the_memory_of_the_server_is_known(monkeypatch):
    monkeypatch.setattr(connections, "MOST_MEMORY", 1000.0)
    assert connections.memory_is_short()


def test_a_page_that_sends_too_much_is_stopped_and_the_log_stays_short():
    pace = Pace(3, 1000.0)
    assert [pace.allows() for _ in range(5)] == [True, True, True, False, False]
    few, record = FewRecords(), logging.makeLogRecord({"msg": "again"})
    assert sum(few.filter(record) for _ in range(10_000)) == connections.MOST_LOGGED
