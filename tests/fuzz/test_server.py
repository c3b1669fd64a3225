"""A short form of the trials against the server, which `server.py` runs at length."""

import json
import logging
import random

import pytest

from airover.app import connections
from airover.app.connections import FewRecords, Pace, is_message
from tests.fuzz.server import BOMBS, GOOD, MB, TRIALS, Server, malformed, packed

FEW = {"messages": len(BOMBS) + 10, "connections": 450}


@pytest.mark.parametrize("name", FEW)
def test_bad_neighbors_stop_nobody(name, tmp_path):
    with Server(tmp_path) as server:
        found = TRIALS[name][0](server, FEW[name])
        assert found["others wait, s"] < float("inf")
        assert server.most < 800 * MB and server.logged < MB


def received(message) -> dict:
    kind = "text" if isinstance(message, str) else "bytes"
    return {"type": "websocket.receive", kind: message}


def test_messages_of_a_page_are_accepted():
    text = json.dumps(GOOD)
    for good in (text, packed(text.encode(), b"", b"a photo"), packed(text.encode())):
        assert is_message(received(good))
    assert is_message({"type": "websocket.disconnect"})


@pytest.mark.parametrize("number", range(len(BOMBS)))
def test_a_bomb_is_refused_before_it_is_opened(number):
    assert not is_message(received(BOMBS[number]))


def test_any_message_is_judged_without_an_error():
    draws = random.Random(7)
    judged = [is_message(received(malformed(draws))) for _ in range(5000)]
    assert 100 < sum(judged) < 4000


def test_a_page_that_sends_too_much_is_stopped_and_the_log_stays_short():
    pace = Pace(3, 1000.0)
    assert [pace.allows() for _ in range(5)] == [True, True, True, False, False]
    few, record = FewRecords(), logging.makeLogRecord({"msg": "again"})
    assert sum(few.filter(record) for _ in range(10_000)) == connections.MOST_LOGGED
