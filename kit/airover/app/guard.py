"""Who is answered: pages of this server, from names of this computer or with the token.

The key of an open page: which file keeps what is typed there and not saved.
"""

import re
import secrets
import time
from html import escape
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import platformdirs
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import HTMLResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from airover.core.errors import InputError
from airover.core.files import make_folder
from airover.core.message import Message
from airover.core.texts import Texts
from airover.core.units import quoted

KEY = re.compile(r"[0-9a-f]{24}")  # 96 random bits: nobody guesses another one's page
DAY = 86400.0  # s
KEPT = 30  # days that a file outlives its last change


def new_key() -> str:
    """A key that was never given before."""
    return secrets.token_hex(12)


def key_of(query: str) -> str:
    """The key in the ``query`` of a page's address; raises InputError without exactly one.

    >>> key_of("job=0123456789abcdef01234567")
    '0123456789abcdef01234567'
    """
    given = parse_qs(query).get("job", [])
    if len(given) != 1 or not KEY.fullmatch(given[0]):
        raise InputError("job", quoted(", ".join(given)), Message("serve.a_key"))
    return given[0]


def unsaved_folder() -> Path:
    """Return the folder of this user's unsaved work, open to nobody else.

    Raises InputError when it cannot be made.
    """
    folder = platformdirs.user_state_path("airover", appauthor=False) / "unsaved"
    make_folder(folder, Message("serve.unsaved_folder"))
    folder.chmod(0o700)
    return folder


def unsaved_file(folder: Path, key: str) -> Path:
    """The file of ``key``; raises InputError for a key that was not made by ``new_key``."""
    return folder / f"{key_of(f'job={key}')}.json"


def latest(folder: Path, key: str) -> Path | None:
    """The file that was written last by another page than that of ``key``; None without one."""
    found = [path for path in folder.glob("*.json") if KEY.fullmatch(path.stem)]
    others = [path for path in found if path.stem != key]
    return max(others, key=lambda path: path.stat().st_mtime, default=None)


def forget_old(folder: Path, days: float = KEPT) -> None:
    """Delete what nobody has touched for ``days``."""
    for path in folder.glob("*.json"):
        if KEY.fullmatch(path.stem) and path.stat().st_mtime < time.time() - days * DAY:
            path.unlink(missing_ok=True)


TOKEN = re.compile(r"[\w-]{12,200}", re.ASCII)
NAMES = ("127.0.0.1", "localhost", "::1")  # of this computer
# What the page's own files need. Styles stand in the widgets, so they cannot be named one by one.
POLICY = {
    "default-src": "'self'",
    "style-src": "'self' 'unsafe-inline'",
    "img-src": "'self' data: blob:",
    "font-src": "'self' data:",
    "object-src": "'none'",
    "base-uri": "'none'",
    "form-action": "'none'",
    "frame-ancestors": "'none'",
}
HEADERS = {
    "Content-Security-Policy": "; ".join(f"{what} {whence}" for what, whence in POLICY.items()),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class Guard:
    """Middleware: answers 403 to every request and websocket that is not to be answered.

    Without a ``token`` a request has to name this computer, so that no name that another site
    points here is answered; with one it has to carry it, in a header, the cookie or once in the
    address. A page of another origin is refused in both cases.
    """

    def __init__(self, app: ASGIApp, texts: Texts, port: int, token: str | None):
        self.app, self.texts, self.token = app, texts, token
        self.cookie = f"airover-{port}"  # cookies do not know ports

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        asked = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if not self._is_welcome(scope, headers, asked):
            app = _Refused() if scope["type"] == "websocket" else refusal(self.texts, 403)
        elif scope["path"] == "/" and asked and self.token:
            app = RedirectResponse("/", 302)
            app.set_cookie(self.cookie, self.token, httponly=True, samesite="lax")
        else:
            app = self.app

        async def send_with_headers(message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        await app(scope, receive, send_with_headers)

    def _is_welcome(self, scope: Scope, headers: Headers, asked: str) -> bool:
        host = headers.get("host", "")
        if self.token is None:
            if (urlsplit(f"//{host}").hostname or "") not in NAMES:
                return False
        elif not self._has_token(headers, asked if scope["path"] == "/" else ""):
            return False
        changes = scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")
        origin = headers.get("origin")
        if changes and origin is not None and urlsplit(origin).netloc != host:
            return False
        # A page of another site may lead here by a link, but not put a part of this one into itself.
        site, place = headers.get("sec-fetch-site"), headers.get("sec-fetch-dest", "document")
        if scope["path"] == "/":
            return place == "document"
        return site in (None, "same-origin", "none")

    def _has_token(self, headers: Headers, asked: str) -> bool:
        kept = cookie_parser(headers.get("cookie", "")).get(self.cookie, "")
        told = headers.get("authorization", "").removeprefix("token ")
        given = [one.encode() for one in (kept, told, asked)]
        return any(secrets.compare_digest(one, self.token.encode()) for one in given)


class _Refused:
    """A websocket that is refused before it is opened: 403."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await receive()
        await send({"type": "websocket.close", "code": 1008})


def refusal(texts: Texts, status: int) -> HTMLResponse:
    """One sentence on a page of its own, in the language of the server."""
    key = f"refusal.{status}"
    why = escape(texts(key if texts.has(key) else "refusal.other"))
    back = "" if status == 403 else f'<p><a href="/">{escape(texts("refusal.back"))}</a></p>'
    return HTMLResponse(
        f'<!DOCTYPE html><html lang="{texts.language}"><head><title>airover</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1"></head>'
        f"<body><main><h1>airover</h1><p>{why}</p>{back}</main></body></html>",
        status,
    )
