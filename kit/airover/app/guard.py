"""Control access so that only users with the token can open the page.

The key of an open page identifies the file that stores its unsaved entries.
"""

import asyncio
import itertools
import re
import secrets
import time
from html import escape
from pathlib import Path
from urllib.parse import parse_qs, parse_qsl, urlencode, urlsplit

import platformdirs
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import HTMLResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from airover.app.connections import LARGEST_HEAD
from airover.core.errors import InputError
from airover.core.files import make_folder
from airover.core.message import Message
from airover.core.texts import Texts
from airover.core.units import quoted

KEY = re.compile(r"[0-9a-f]{24}")  # 96 random bits, so nobody can guess another page's key
DAY = 86400.0  # s
KEPT = 30  # days that a file is kept after its last change


def new_key() -> str:
    """Return a new random key."""
    return secrets.token_hex(12)


def key_of(query: str) -> str:
    """Return the key from the ``query`` part of a page address.

    Raises
    ------
    InputError
        If the query does not contain exactly one key.

    >>> key_of("job=0123456789abcdef01234567")
    '0123456789abcdef01234567'
    """
    given = parse_qs(query).get("job", [])
    if len(given) != 1 or not KEY.fullmatch(given[0]):
        raise InputError("job", quoted(", ".join(given)), Message("serve.a_key"))
    return given[0]


def unsaved_folder() -> Path:
    """Return the user's private folder for unsaved work.

    Raises
    ------
    InputError
        If the folder cannot be created.
    """
    folder = platformdirs.user_state_path("airover", appauthor=False) / "unsaved"
    make_folder(folder, Message("serve.unsaved_folder"))
    folder.chmod(0o700)
    return folder


def unsaved_file(folder: Path, key: str) -> Path:
    """Return the file for ``key``.

    Raises
    ------
    InputError
        If the key was not created by ``new_key``.
    """
    return folder / f"{key_of(f'job={key}')}.json"


def latest(folder: Path, key: str) -> Path | None:
    """Return the file that another page wrote most recently, or None if there is none."""
    found = [path for path in folder.glob("*.json") if KEY.fullmatch(path.stem)]
    others = [path for path in found if path.stem != key]
    return max(others, key=lambda path: path.stat().st_mtime, default=None)


def forget_old(folder: Path, days: float = KEPT) -> None:
    """Delete files with unsaved work that have not changed for ``days`` days."""
    for path in (*folder.glob("*.json"), *folder.glob("*.catalog")):
        if KEY.fullmatch(path.stem) and path.stat().st_mtime < time.time() - days * DAY:
            path.unlink(missing_ok=True)


TOKEN = re.compile(r"[\w-]{12,200}", re.ASCII)
AFTER_WRONG = 1.0  # s before the answer to a wrong token
NAMES = ("127.0.0.1", "localhost", "::1")  # host names of this computer
OWN = "/", "/lesson/answers"  # addresses that only a user with the page's token can open
ENTRANCES = (*OWN, "/lesson/fan", "/lesson/case")  # addresses that people open
# Sources that the page's files need. The inline styles of widgets cannot be listed individually.
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
    """Middleware that rejects unauthorized requests and websockets with status 403.

    A request must include the ``token`` in a header, in the cookie, or once in the address. The
    class token, ``students``, opens the lessons but no page with jobs. The response to a request
    with a wrong token is delayed. Requests from a page with another origin are rejected. If
    ``local`` is True, a request must also name this computer as its host.
    """

    def __init__(
        self,
        app: ASGIApp,
        texts: Texts,
        port: int,
        token: str,
        local: bool,
        students: str | None = None,
    ):
        self.app, self.texts, self.token, self.local = app, texts, token, local
        self.students = students
        self.cookie = f"airover-{port}"  # all ports share cookies

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        headers, query = Headers(scope=scope), scope["query_string"].decode("latin-1")
        asked = parse_qs(query).get("token", [""])[0]
        if sum(len(name) + len(value) for name, value in headers.raw) + len(query) > LARGEST_HEAD:
            app = self._refusal(scope, 400)
        elif not self._is_allowed_here(scope, headers):
            app = self._refusal(scope)
        elif not self._has_token(scope, headers, asked):
            if asked or "authorization" in headers or self.cookie in headers.get("cookie", ""):
                await asyncio.sleep(AFTER_WRONG)
            app = self._refusal(scope)
        elif scope["path"] in ENTRANCES and asked:
            kept = urlencode([pair for pair in parse_qsl(query) if pair[0] != "token"])
            app = RedirectResponse(scope["path"] + (f"?{kept}" if kept else ""), 302)
            # A student's address does not replace the instructor's cookie.
            if not self._is_known(headers, "", [self.token]):
                secure = scope["scheme"] == "https"
                app.set_cookie(self.cookie, asked, httponly=True, samesite="lax", secure=secure)
        else:
            app = self.app

        async def send_with_headers(message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        await app(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope, status: int = 403) -> ASGIApp:
        return _Refused() if scope["type"] == "websocket" else refusal(self.texts, status)

    def _is_allowed_here(self, scope: Scope, headers: Headers) -> bool:
        """Return True if a request names this computer and does not come from another site."""
        host = headers.get("host", "")
        if self.local and (urlsplit(f"//{host}").hostname or "") not in NAMES:
            return False
        changes = scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")
        origin = headers.get("origin")
        if changes and origin is not None and urlsplit(origin).netloc != host:
            return False
        # Other sites can link to this page but cannot embed any part of it.
        site, place = headers.get("sec-fetch-site"), headers.get("sec-fetch-dest", "document")
        if scope["path"] in ENTRANCES:
            return place == "document"
        return site in (None, "same-origin", "none")

    def _has_token(self, scope: Scope, headers: Headers, asked: str) -> bool:
        """Return True if a request has a token that gives access to its address."""
        asked = asked if scope["path"] in ENTRANCES else ""
        others = [self.students] if self.students and scope["path"] not in OWN else []
        return self._is_known(headers, asked, [self.token, *others])

    def _is_known(self, headers: Headers, asked: str, valid: list[str]) -> bool:
        kept = cookie_parser(headers.get("cookie", "")).get(self.cookie, "")
        told = headers.get("authorization", "").removeprefix("token ")
        pairs = itertools.product((kept, told, asked), valid)
        return any(secrets.compare_digest(*map(str.encode, pair)) for pair in pairs)


class _Refused:
    """Application that rejects a websocket before it opens."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await receive()
        await send({"type": "websocket.close", "code": 1008})


def refusal(texts: Texts, status: int, why: str = "") -> HTMLResponse:
    """Return a page with a one-sentence error message in the server's language.

    The sentence ``why`` depends on the ``status`` by default.
    """
    key = f"refusal.{status}"
    why = escape(why or texts(key if texts.has(key) else "refusal.other"))
    back = "" if status == 403 else f'<p><a href="/">{escape(texts("refusal.back"))}</a></p>'
    return HTMLResponse(
        f'<!DOCTYPE html><html lang="{texts.language}"><head><title>airover</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1"></head>'
        f"<body><main><h1>airover</h1><p>{why}</p>{back}</main></body></html>",
        status,
        HEADERS,
    )
