"""A new page is sent as few messages, and its files once."""

import re

import pytest

from airover.app.gathered import gathered
from tests.app.test_page_server import ask
from tests.served_page import served


class Session:
    """A session that keeps what is sent."""

    def __init__(self):
        self.sent = []

    def msg(self, kind, content):
        return {"header": {"msg_type": kind}, "msg_type": kind, "content": content}

    def send(self, stream, msg_or_type, content=None, **more):
        if isinstance(msg_or_type, dict):
            msg_or_type, content = msg_or_type["msg_type"], msg_or_type["content"]
        self.sent.append((msg_or_type, content, more))


def opens(session, name, **state):
    content = {"comm_id": name, "data": {"state": state, "buffer_paths": []}}
    session.send("io", "comm_open", content, metadata={"version": "2"})


def updates(session, name, buffers=None, **state):
    data = {"method": "update", "state": state, "buffer_paths": []}
    session.send("io", "comm_msg", {"comm_id": name, "data": data}, buffers=buffers)


def test_each_widget_is_sent_once_with_its_final_state_after_those_it_names():
    session = Session()
    with gathered(session):
        opens(session, "box", children=[])
        opens(session, "text", value="", layout="IPY_MODEL_layout")
        opens(session, "layout", _model_name="LayoutModel", width=None, height="4px")
        opens(
            session,
            "style",
            _model_name="HTMLStyleModel",
            _view_name="StyleView",
            description_width="",
        )
        updates(session, "text", value="typed")
        updates(session, "box", children=["IPY_MODEL_text"])
        assert not session.sent
    assert [(kind, content["comm_id"]) for kind, content, _ in session.sent] == [
        ("comm_open", "layout"), ("comm_open", "text"), ("comm_open", "box"),
    ]  # fmt: skip
    states = {content["comm_id"]: content["data"]["state"] for _, content, _ in session.sent}
    assert states["text"]["value"] == "typed" and states["box"]["children"] == ["IPY_MODEL_text"]
    assert states["layout"] == {"_model_name": "LayoutModel", "height": "4px"}
    updates(session, "text", value="later")
    assert len(session.sent) == 4  # sent at once


def test_what_cannot_be_merged_follows_in_its_order():
    session = Session()
    with gathered(session):
        opens(session, "one", value=1)
        opens(session, "gone", value=1)
        session.send("io", "comm_close", {"comm_id": "gone", "data": {}})
        updates(session, "one", buffers=[b"x"], value=2)
        updates(session, "other", value=3)
    assert [(kind, content["comm_id"]) for kind, content, _ in session.sent] == [
        ("comm_open", "one"), ("comm_msg", "one"), ("comm_msg", "other"),
    ]  # fmt: skip


def test_a_failure_loses_no_message():
    session = Session()
    with pytest.raises(ValueError), gathered(session):
        opens(session, "one", value=1)
        raise ValueError
    assert len(session.sent) == 1 and "send" not in vars(session)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with served(tmp_path_factory.mktemp("light"), "--network") as running:
        yield running


def test_files_are_packed_once_and_kept_by_the_browser(server):
    page = ask(server, f"/?job={'0' * 24}").text
    total = 0
    addresses = re.findall(r'"(/files/[^"]+)"', page)
    assert len(addresses) == 6
    for address in addresses:
        answer = ask(server, address, **{"Accept-Encoding": "gzip"})
        assert answer.headers["Content-Encoding"] == "gzip"
        assert "immutable" in answer.headers["Cache-Control"]
        total += int(answer.headers["Content-Length"])
        again = ask(server, address, **{"If-None-Match": answer.headers["ETag"]})
        assert (again.status, again.text) == (304, "")
        plain = ask(server, address)
        assert plain.status == 200 and "Content-Encoding" not in plain.headers
    assert total < 30_000  # bytes
