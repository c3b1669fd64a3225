"""Serve the page to this computer only, or to a network with a token."""

import secrets
import socket
import threading
import webbrowser

import uvicorn

from airover.app.guard import TOKEN, forget_old, unsaved_folder
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.texts import Writer

PORT, TRIED = 8765, 20  # default port, and number of consecutive ports to try
PING = 30.0  # s between pings to a page, and maximum wait for a reply


def serve(
    port: int | None = None,
    network: bool = False,
    token: str | None = None,
    language: str = "en",
    units: str = "US",
    open_browser: bool = True,
) -> None:
    """Print the address of the page, and serve the page until Ctrl-C is pressed.

    If ``network`` is True, other computers can connect, but only with the ``token``. By default,
    the token is generated at random.

    Parameters
    ----------
    port : int or None, optional
        Port number. The default is the usual port or, if that is in use, the next free port.

    Raises
    ------
    InputError
        If the port is in use, the token is too short, or a token is given without ``network``.
    """
    token = _token(network, token)
    write = Writer(language)
    forget_old(unsaved_folder())
    line = _socket(port, "0.0.0.0" if network else "127.0.0.1")
    port = line.getsockname()[1]
    # The server modifies ipywidgets and threads in this process, so it is imported only here.
    from airover.app.server import LARGEST_MESSAGE, Begins, make_app

    instructor, students = secrets.token_urlsafe(12), secrets.token_urlsafe(12)
    address, secret = f"http://127.0.0.1:{port}/", f"?token={token}" if token else ""
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(Begins(language, units), write.texts, port, token, instructor, students),
            loop="asyncio", lifespan="on",
            log_level="error", access_log=False, server_header=False, ws_max_size=LARGEST_MESSAGE,
            ws_ping_interval=PING, ws_ping_timeout=PING, timeout_graceful_shutdown=2,
        )
    )  # fmt: skip
    if token:
        print(_class_told(port, secret, students, instructor, write), flush=True)
    print(_told(address, port, secret, write), flush=True)
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address + secret]).start()
    try:
        server.run(sockets=[line])
    except KeyboardInterrupt:
        print("", write("serve.stopped"), sep="\n")


def _token(network: bool, token: str | None) -> str | None:
    if token is not None and not network:
        raise InputError("--token", Message("serve.token_alone"), Message("serve.both"))
    if token is not None and not TOKEN.fullmatch(token):
        given = Message("serve.token_of", count=len(token))
        raise InputError("--token", given, Message("serve.a_token"))
    return (token or secrets.token_urlsafe(24)) if network else None


def _socket(port: int | None, address: str) -> socket.socket:
    """Return a socket that listens on ``port``, or on the first free port from PORT up."""
    if port is not None and not 0 <= port <= 65535:
        raise InputError("--port", port, Message("serve.a_port"))
    for one in range(PORT, PORT + TRIED) if port is None else [port]:
        try:
            found = socket.create_server((address, one), backlog=128)
        except OSError as error:
            why = error.strerror
        else:
            found.setblocking(False)
            return found
    raise InputError("--port", f"{one} ({why})", Message("serve.a_free_port"))


def _told(address: str, port: int, secret: str, write: Writer) -> str:
    """Return a message with the page addresses and how to stop the server."""
    if not secret:
        return write("serve.here", address=address)
    places = [f"{address}{secret}", *(f"http://{ip}:{port}/{secret}" for ip in _own_addresses())]
    return write("serve.network", addresses="\n".join(f"  {one}" for one in places))


def _class_told(port: int, secret: str, students: str, instructor: str, write: Writer) -> str:
    """Return a message with the addresses of the lessons for students and the instructor."""
    here = [f"http://{ip}:{port}/lesson/" for ip in _own_addresses() or ["127.0.0.1"]]
    lessons = [f"  {one}{name}?token={students}" for one in here for name in ("fan", "case")]
    view = [f"  {one}answers{secret}&key={instructor}" for one in here]
    told = {"students": "\n".join(lessons), "instructor": "\n".join(view)}
    return write("lesson_page.addresses", **told) + "\n"


def _own_addresses() -> list[str]:
    """Return the probable network addresses of this computer, without sending any data."""
    found = set()
    try:
        found |= {one[4][0] for one in socket.getaddrinfo(socket.gethostname(), 0, socket.AF_INET)}
    except OSError:
        pass
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(
                ("192.0.2.1", 9)
            )  # reserved for documentation; connecting over UDP sends no data
            found.add(way.getsockname()[0])
        except OSError:
            pass
    return sorted(one for one in found if not one.startswith("127."))
