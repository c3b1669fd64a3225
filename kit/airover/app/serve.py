"""The page's address: on this computer only, or for a network by a token."""

import secrets
import socket
import threading
import webbrowser

import uvicorn

from airover.app.guard import TOKEN, forget_old, unsaved_folder
from airover.core.errors import InputError
from airover.core.texts import Texts

PORT, TRIED = 8765, 20  # the usual one, and how many from there on
PING = 30.0  # s between two signs of life of a page, and until the answer
STOPPED = "\nThe page was closed."


def serve(
    port: int | None = None,
    network: bool = False,
    token: str | None = None,
    language: str = "en",
    units: str = "US",
    open_browser: bool = True,
) -> None:
    """Serve the page until it is closed by Ctrl-C; prints its address.

    Without a ``port`` the usual one, or the next that is free. With ``network`` other computers
    are answered too, but only with the ``token``, which is drawn where none is given. Raises
    InputError for a port that is not free, or a token that is too short or not asked for.
    """
    token = _token(network, token)
    texts = Texts(language)
    forget_old(unsaved_folder())
    line = _socket(port, "0.0.0.0" if network else "127.0.0.1")
    port = line.getsockname()[1]
    # It changes ipywidgets and threads for this whole process: only the one that serves.
    from airover.app.server import LARGEST_MESSAGE, Begins, make_app

    address, secret = f"http://127.0.0.1:{port}/", f"?token={token}" if token else ""
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(Begins(language, units), texts, port, token), loop="asyncio", lifespan="on",
            log_level="error", access_log=False, server_header=False, ws_max_size=LARGEST_MESSAGE,
            ws_ping_interval=PING, ws_ping_timeout=PING, timeout_graceful_shutdown=2,
        )
    )  # fmt: skip
    print(_told(address, port, secret), flush=True)
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address + secret]).start()
    try:
        server.run(sockets=[line])
    except KeyboardInterrupt:
        print(STOPPED)


def _token(network: bool, token: str | None) -> str | None:
    if token is not None and not network:
        raise InputError("--token", "a token without --network", "both together")
    if token is not None and not TOKEN.fullmatch(token):
        raise InputError(
            "--token", f"a token of {len(token)} letters", "12 or more of a-z, A-Z, 0-9, - and _"
        )
    return (token or secrets.token_urlsafe(24)) if network else None


def _socket(port: int | None, address: str) -> socket.socket:
    """A socket that listens at ``port``, or at the first free one of the usual ones."""
    if port is not None and not 0 <= port <= 65535:
        raise InputError("--port", port, "a number from 0 (any) to 65535")
    for one in range(PORT, PORT + TRIED) if port is None else [port]:
        try:
            found = socket.create_server((address, one), backlog=128)
        except OSError as error:
            why = error.strerror
        else:
            found.setblocking(False)
            return found
    raise InputError("--port", f"{one} ({why})", "a port that is free; 0 takes any")


def _told(address: str, port: int, secret: str) -> str:
    """What the person who starts the page has to know."""
    if not secret:
        return f"The page is at {address} for this computer only; Ctrl-C closes it."
    others = "".join(f"\n  http://{ip}:{port}/{secret}" for ip in _own_addresses())
    return (
        f"The page is at\n  {address}{secret}{others}\n"
        "Every computer and phone that can reach this one can open it, if it has such an address\n"
        "with its token: hand it on as you would a key. What is typed crosses the network as\n"
        "readable text, so use a network that you trust. Ctrl-C closes the page for all."
    )


def _own_addresses() -> list[str]:
    """Addresses of this computer in its networks; a best guess, nothing is sent."""
    found = set()
    try:
        found |= {one[4][0] for one in socket.getaddrinfo(socket.gethostname(), 0, socket.AF_INET)}
    except OSError:
        pass
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(
                ("192.0.2.1", 9)
            )  # an address for documents: only the way to it is looked up
            found.add(way.getsockname()[0])
        except OSError:
            pass
    return sorted(one for one in found if not one.startswith("127."))
