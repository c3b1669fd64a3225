"""Send the widgets of a new page in a few short messages.

ipywidgets sends a message when a widget is created and another for each later change, and it lists
every unset property of a layout. A new page has almost a thousand widgets, and their messages
account for much of its loading time on a slow connection.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

_PREFIX = "IPY_MODEL_"
_READ = ("_model_name", "_dom_classes", "_options_labels")  # read by the page's script
_OPTIONAL = ("tooltip", "tabbable")


class _Message(NamedTuple):
    stream: object
    kind: str
    content: dict
    more: dict


@contextmanager
def gathered(session) -> Iterator[None]:
    """Hold back the messages from ``session``, and send each new widget once with its final state.

    A widget is sent after the widgets that its state names. If the block raises an exception, the
    messages are sent as usual.

    Parameters
    ----------
    session : solara.server.kernel.SessionWebsocket
        Session of the page. Only the thread that creates the widgets may use it in the meantime.
    """
    opened: dict[str, _Message] = {}
    later: list[_Message] = []

    def send(stream, msg_or_type, content=None, **more) -> None:
        message = _Message(stream, msg_or_type, content, more)
        if not isinstance(msg_or_type, str) or not isinstance(content, dict):
            later.append(message)
            return
        name, data = content.get("comm_id"), content.get("data", {})
        if msg_or_type == "comm_open" and "state" in data and not more.get("buffers"):
            opened[name] = message
        elif _is_plain_update(message) and name in opened:
            opened[name].content["data"]["state"].update(data["state"])
        elif msg_or_type == "comm_close" and name in opened:
            del opened[name]
        else:
            later.append(message)

    session.send = send
    try:
        yield
    finally:
        del session.send  # the method of the class is used again
        whole = session.msg("comm_open", {})
        for number, message in enumerate(_in_order(opened)):
            if not _shorten(message.content["data"]["state"]):
                continue
            metadata = message.more.get("metadata") or {}
            # Only the number and the content differ, so that the messages compress well.
            header = whole["header"] | {"msg_id": f"{number}"}
            told = {"header": header, "msg_id": f"{number}", "content": message.content}
            session.send(message.stream, whole | told | {"metadata": metadata})
        for message in later:
            session.send(message.stream, message.kind, message.content, **message.more)


def _is_plain_update(message: _Message) -> bool:
    data = message.content.get("data", {})
    plain = data.get("method") == "update" and not data.get("buffer_paths")
    return message.kind == "comm_msg" and plain and not message.more.get("buffers")


def _in_order(opened: dict[str, _Message]) -> Iterator[_Message]:
    """Return the messages, sorted so that each widget follows the widgets that its state names."""
    left = dict(opened)

    def take(name: str) -> Iterator[_Message]:
        message = left.pop(name, None)
        if message is not None:
            for other in _named(message.content["data"]["state"]):
                yield from take(other)
            yield message

    for name in opened:
        yield from take(name)


def _named(value) -> Iterator[str]:
    """Return the names of the widgets in a state."""
    if isinstance(value, str) and value.startswith(_PREFIX):
        yield value.removeprefix(_PREFIX)
    elif isinstance(value, dict):
        for one in value.values():
            yield from _named(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _named(one)


def _shorten(state: dict) -> bool:
    """Remove what the page's script does not read, and return True if anything else is left.

    A layout or a style without set properties is not sent. The script creates it at its first
    change.
    """
    name = state.get("_model_name", "")
    is_part = name == "LayoutModel" or name.endswith("StyleModel")
    for key, value in list(state.items()):
        is_unread = key.startswith("_") and key not in _READ
        is_unset = (is_part or key in _OPTIONAL) and value in (None, "")
        if is_unread or is_unset:
            del state[key]
    return not is_part or len(state) > 1
