"""Serve the page to users with the token, on this computer only or on its network.

The token is never part of a command, because any user of a computer can list the commands that run
on it. It is stored in the environment, or in a file that only the user can read.
"""

import logging
import os
import secrets
import socket
import ssl
import threading
import webbrowser
from pathlib import Path

import uvicorn
from websockets import http11

from airover.app import calculators
from airover.app.connections import (
    LARGEST_HEAD,
    LARGEST_MESSAGE,
    FewRecords,
    Protocol,
    Socket,
    allow_files,
    limit_handshakes,
    whole,
)
from airover.app.guard import TOKEN, forget_old, refusal, unsaved_folder
from airover.core.errors import InputError
from airover.core.files import read_text, write_text
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import quoted

PORT, TRIED = 8765, 20  # default port, and number of consecutive ports to try
PING = 30.0  # s between pings to a page, and maximum wait for a reply
OWN_TOKEN = "AIROVER_TOKEN"  # environment variable with the user's own token
KEPT_TOKEN, ENTRANCE = "token", "open.html"  # private files in the folder of the page
LARGEST_TOKEN = 1000  # bytes
LARGEST_CERTIFICATE = 100_000  # bytes, with the certificates that sign it
_DATES = {9: "early", 10: "expired"}  # codes of OpenSSL for a certificate that is not valid today
IDLE = 1800.0  # s without a message before a page is put away


def serve(
    port: int | None = None,
    network: bool = False,
    language: str = "en",
    units: str = "US",
    open_browser: bool = True,
    certificate: Path | None = None,
    key: Path | None = None,
    idle: float = IDLE,
) -> None:
    """Print the address of the page, and serve the page until Ctrl-C is pressed.

    Only users with the token can open the page. If ``network`` is True, they can be on other
    computers. The token is random, unless the user sets the environment variable `OWN_TOKEN`. If
    the page is served only on this computer, the token is the same at every start, so that an open
    page can be reloaded.

    Parameters
    ----------
    port : int or None, optional
        Port number. The default is the usual port or, if that is in use, the next free port.
    certificate, key : Path or None, optional
        PEM files with the certificate and its private key. With them, the connections are
        encrypted.
    idle : float, optional
        Time [s] without a message before a page is put away.

    Raises
    ------
    InputError
        If the port is in use, the user's token is too short, or a file cannot be used.
    """
    folder, write = unsaved_folder(), Writer(language)
    encryption = _encryption(certificate, key)
    token = _token(network, folder)
    forget_old(folder)
    allow_files()
    limit_handshakes()
    _limit_log()
    http11.MAX_LINE_LENGTH = LARGEST_HEAD  # of websockets, with all cookies in one line
    Protocol.refusals = {status: whole(refusal(write.texts, status)) for status in (400, 503)}
    line = _socket(port, "0.0.0.0" if network else "127.0.0.1")
    port = line.getsockname()[1]
    calculators.start() if network else calculators.read_apart()
    # The server modifies ipywidgets and threads in this process, so it is imported only here.
    from airover.app.server import Begins, make_app

    instructor, students = secrets.token_urlsafe(12), secrets.token_urlsafe(12)
    scheme = "https" if encryption else "http"
    address, secret = f"{scheme}://127.0.0.1:{port}/", f"?token={token}"
    begins = Begins(language, units)
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(begins, write.texts, port, token, network, instructor, students, idle),
            loop="asyncio", lifespan="on", http=Protocol, ws=Socket, log_config=None,
            log_level="error", access_log=False, server_header=False, ws_max_size=LARGEST_MESSAGE,
            h11_max_incomplete_event_size=LARGEST_HEAD,
            ws_ping_interval=PING, ws_ping_timeout=PING, timeout_graceful_shutdown=2, **encryption,
        )
    )  # fmt: skip
    if network:
        print(_class_told(address, secret, students, instructor, write), flush=True)
    print(_told(address, secret, network, write), flush=True)
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [_entrance(folder, address + secret)]).start()
    try:
        server.run(sockets=[line])
    except KeyboardInterrupt:
        print("", write("serve.stopped"), sep="\n")
    finally:
        calculators.end()


def _token(network: bool, folder: Path) -> str:
    """Return the user's own token, or a random one, which is kept in ``folder`` for local use."""
    own = os.environ.get(OWN_TOKEN)
    if own is not None:
        if not TOKEN.fullmatch(own):
            given = Message("serve.token_of", count=len(own))
            raise InputError(OWN_TOKEN, given, Message("serve.a_token"))
        return own
    path = folder / KEPT_TOKEN
    if not network and path.exists():
        kept = read_text(path, OWN_TOKEN, LARGEST_TOKEN, errors="replace")
        if TOKEN.fullmatch(kept):
            return kept
    token = secrets.token_urlsafe(24)
    if not network:
        _write_private(path, token)
    return token


def _encryption(certificate: Path | None, key: Path | None) -> dict[str, str]:
    """Return the server's settings for encryption, or no settings if there is no certificate.

    Raises
    ------
    InputError
        If one of the files is missing, or if they do not belong together.
    """
    if certificate is None and key is None:
        return {}
    for option, path in (("--certificate", certificate), ("--key", key)):
        if path is None:
            given = Message("page_encryption.missing")
            raise InputError(option, given, Message("page_encryption.both"))
        read_text(path, option, LARGEST_CERTIFICATE)
    try:
        # An empty password prevents a prompt for the password of an encrypted key.
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(certificate, key, password="")
        _check_dates(context, certificate)
    except ssl.SSLCertVerificationError as error:
        given = Message(
            f"page_encryption.{_DATES[error.verify_code]}", file=quoted(str(certificate))
        )
        raise InputError("--certificate", given, Message("page_encryption.valid")) from None
    except (OSError, ValueError):
        given = Message("page_encryption.unusable", file=quoted(str(certificate)))
        raise InputError("--certificate", given, Message("page_encryption.pair")) from None
    return {"ssl_certfile": str(certificate), "ssl_keyfile": str(key)}


def _check_dates(server: ssl.SSLContext, certificate: Path) -> None:
    """Negotiate with the server's certificate as a browser does that trusts the certificate.

    Raises
    ------
    ssl.SSLCertVerificationError
        If the certificate is not valid today.
    """
    client = ssl.create_default_context(cafile=certificate)
    client.check_hostname, client.verify_flags = False, ssl.VERIFY_X509_PARTIAL_CHAIN
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = client.wrap_bio(back, there), server.wrap_bio(there, back, server_side=True)
    for end in ends * 2:
        try:
            end.do_handshake()
        except ssl.SSLWantReadError:
            continue  # it waits for the other end
        except ssl.SSLCertVerificationError as error:
            if error.verify_code in _DATES:
                raise
            return


def _entrance(folder: Path, address: str) -> str:
    """Return the address of a private file that opens the page, to keep the token secret.

    The command that starts a browser can be seen by other users of this computer.
    """
    path = folder / ENTRANCE
    _write_private(path, f'<!DOCTYPE html><meta http-equiv="refresh" content="0;url={address}">')
    return path.as_uri()


def _write_private(path: Path, text: str) -> None:
    path.touch(mode=0o600)
    write_text(path, text, Message("serve.unsaved_folder"))


def _limit_log() -> None:
    """Write errors from all packages to standard error, up to a limit."""
    handler = logging.StreamHandler()
    handler.addFilter(FewRecords())
    logging.basicConfig(level=logging.ERROR, handlers=[handler], force=True)


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


def _told(address: str, secret: str, network: bool, write: Writer) -> str:
    """Return a message with the page addresses and how to stop the server."""
    if not network:
        return write("serve.here", address=address + secret)
    places = [address, *_elsewhere(address)]
    told = "\n".join(f"  {one}{secret}" for one in places)
    kind = "page_encryption.network" if address.startswith("https") else "serve.network"
    return write(kind, addresses=told)


def _class_told(address: str, secret: str, students: str, instructor: str, write: Writer) -> str:
    """Return a message with the addresses of the lessons for students and the instructor."""
    here = [f"{one}lesson/" for one in _elsewhere(address) or [address]]
    lessons = [f"  {one}{name}?token={students}" for one in here for name in ("fan", "case")]
    view = [f"  {one}answers{secret}&key={instructor}" for one in here]
    told = {"students": "\n".join(lessons), "instructor": "\n".join(view)}
    return write("lesson_page.addresses", **told) + "\n"


def _elsewhere(address: str) -> list[str]:
    """Return the addresses of the page for other computers on the network."""
    return [address.replace("127.0.0.1", ip) for ip in _own_addresses()]


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
