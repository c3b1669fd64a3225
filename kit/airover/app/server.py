"""Serve all pages from one process, with separate widgets and a separate thread for each page.

The solara server exchanges widget messages between the browser and Python, with one thread per
connection. Messages cannot run code. airover itself defines the HTML page, the addresses, the
headers (`guard`) and the scripts that display the widgets, so the browser runs only the files in the
folder ``frame`` and requests nothing from other servers.
"""

import asyncio
import os
import secrets
import threading
import uuid
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from urllib.parse import urlencode

import anyio
from jinja2 import Environment, FileSystemLoader
from solara.lifecycle import on_kernel_start
from solara.server import kernel_context, settings
from solara.server import server as solara_server
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket

from airover.app.assets import read_assets
from airover.app.class_page import PANELS, ClassBook, LessonPage, class_view, get_lessons_ready
from airover.app.connections import LARGEST_MESSAGE, TARGET, Messages, memory_is_short
from airover.app.first_fields import First, first_fields
from airover.app.gathered import gathered
from airover.app.guard import Guard, key_of, latest, new_key, refusal, unsaved_file, unsaved_folder
from airover.app.kept_jobs import jobs_folder
from airover.app.lines import Line, ThreadLine, count_of
from airover.app.open_pages import MOST_PAGES, Begins, Page, Pages
from airover.app.page import SYSTEMS, App, get_ready
from airover.app.unsaved import Unsaved
from airover.core.errors import InputError
from airover.core.files import LANGUAGES
from airover.core.memory import return_memory
from airover.core.texts import Texts, Writer

# By default, solara reports usage statistics to its own server, reads app settings from the current
# folder and downloads missing files. These settings, made before solara is imported, prevent this.
os.environ |= {"SOLARA_TELEMETRY_MIXPANEL_ENABLE": "false", "SOLARA_ASSETS_PROXY": "false"}
os.environ.setdefault("SOLARA_HOME", str(unsaved_folder().parent / "solara"))
os.environ.pop("SOLARA_APP", None)


FRAME = Path(__file__).parent / "frame"
FILES = {path.name: path for path in FRAME.iterdir() if path.suffix in (".css", ".js")}
KEEP = "private, max-age=31536000, immutable"  # one year; a changed file has another address
LARGEST_FILE = LARGEST_MESSAGE - 500_000  # bytes
TRIMMED_EVERY = 30.0  # s between returns of free memory to the operating system
SHORT = "refusal.memory"  # key of the sentence about short memory
AFTER_LOSS = 300.0  # s that a page is kept after its connection is lost


def make_app(
    begins: Begins,
    texts: Texts,
    port: int,
    token: str,
    network: bool,
    instructor: str,
    students: str,
    idle: float,
) -> Starlette:
    """Return the server as a single-process ASGI application.

    On a ``network``, the answers of a class are shown only with the key ``instructor``. The token
    ``students`` opens only the lessons. A page without a message for ``idle`` [s] is put away.
    """
    settings.kernel.cull_timeout = f"{AFTER_LOSS:g}s"
    site = Site(begins, texts, network, instructor, idle)
    routes = [
        Route("/", site.page),
        Route("/lesson/answers", site.answers),
        Route("/lesson/{lesson}", site.lesson),
        Route("/files/{name}", site.file),
        Route("/pages/{name}", site.state),
        Route("/goodbye/{name}", site.goodbye, methods=["POST"]),
        WebSocketRoute("/jupyter/api/kernels/{kernel_id}/channels", site.messages),
    ]
    return Starlette(
        routes=routes,
        middleware=[
            Middleware(
                Guard,
                texts=texts,
                port=port,
                token=token,
                local=not network,
                students=students,
            ),
            Middleware(GZipMiddleware, minimum_size=1000),
        ],
        exception_handlers={
            HTTPException: lambda _, error: refusal(
                texts, error.status_code, texts(SHORT) if error.detail == SHORT else ""
            ),
            InputError: lambda _, error: refusal(texts, 500, Writer(texts.language).error(error)),
        },
        lifespan=site.lifespan,
    )


class Site:
    """Handlers for requests to each address."""

    def __init__(self, begins: Begins, texts: Texts, shared: bool, instructor: str, idle: float):
        self.begins, self.texts, self.shared, self.instructor = begins, texts, shared, instructor
        self.idle = idle
        self.pages = Pages()
        self._threads = anyio.CapacityLimiter(2 * MOST_PAGES)  # some pages are about to end
        self.book = ClassBook(unsaved_folder().parent / "class")
        self._lessons_ready = threading.Thread(target=get_lessons_ready, daemon=True)
        templates = Environment(loader=FileSystemLoader(FRAME), autoescape=True)
        self.assets = read_assets(FILES)
        self.template, self.view = map(templates.get_template, ("page.html", "class.html"))

    @asynccontextmanager
    async def lifespan(self, app):
        threading.Thread(target=self._get_ready, daemon=True).start()
        forget = on_kernel_start(self._listen)
        trimming = asyncio.create_task(_return_memory())
        yield
        trimming.cancel()
        forget()
        # A page sends messages while it is closed, so the event loop must stay free.
        for context in list(kernel_context.contexts.values()):
            await run_in_threadpool(context.close, reason="server-shutdown")

    def _get_ready(self) -> None:
        first_fields(*self.begins, {})
        get_ready()

    async def page(self, request: Request) -> Response:
        """Return the page, or redirect a request without a key to an address with a new key."""
        asked, begins = request.query_params, self._begins(request)
        try:
            key = key_of(request.url.query)
        except InputError:
            more = {name: asked[name] for name in Begins._fields if name in asked}
            return RedirectResponse(f"/?{urlencode({'job': new_key(), **more})}", 302)
        return self._open(request, key, begins)

    async def lesson(self, request: Request) -> Response:
        """Return the page of a lesson for a student."""
        lesson = request.path_params["lesson"]
        if lesson not in PANELS:
            raise HTTPException(404)
        if self._lessons_ready.ident is None:
            self._lessons_ready.start()
        return self._open(request, new_key(), self._begins(request), lesson)

    async def answers(self, request: Request) -> Response:
        """Return the instructor's view of the answers."""
        key = request.query_params.get("key", "")
        known = secrets.compare_digest(key.encode(), self.instructor.encode())
        if self.shared and not (self.instructor and known):
            raise HTTPException(403)
        begins = self._begins(request)
        told = class_view(self.book, begins.language)
        html = self.view.render(language=begins.language, **told)
        return HTMLResponse(html, headers={"Cache-Control": "no-store"})

    def _begins(self, request: Request) -> Begins:
        asked = request.query_params
        begins = Begins(
            asked.get("language", self.begins.language), asked.get("units", self.begins.units)
        )
        if begins.language not in LANGUAGES or begins.units not in SYSTEMS:
            raise HTTPException(404)
        return begins

    def _open(self, request: Request, key: str, begins: Begins, lesson: str = "") -> Response:
        session = request.cookies.get(solara_server.COOKIE_KEY_SESSION_ID) or uuid.uuid4().hex
        if memory_is_short():
            raise HTTPException(503, SHORT)
        name = self.pages.give(key, begins, session, lesson)
        if name is None:
            raise HTTPException(503)
        first = None if lesson else self._first(key, begins)
        answer = HTMLResponse(
            self._html(name, begins, first), headers={"Cache-Control": "no-store"}
        )
        answer.set_cookie(
            solara_server.COOKIE_KEY_SESSION_ID,
            session,
            httponly=True,
            samesite="lax",
            secure=request.url.scheme == "https",
        )
        return answer

    async def file(self, request: Request) -> Response:
        """Return a file of the page. Its address contains a hash, so browsers keep it."""
        asset = self.assets.get(request.path_params["name"])
        if asset is None:
            raise HTTPException(404)
        headers = {"Cache-Control": KEEP, "Vary": "Accept-Encoding", "ETag": f'"{asset.version}"'}
        if request.headers.get("if-none-match") == headers["ETag"]:
            return Response(status_code=304, headers=headers)
        if "gzip" not in request.headers.get("accept-encoding", ""):
            return Response(asset.content, media_type=asset.kind, headers=headers)
        headers["Content-Encoding"] = "gzip"
        return Response(asset.packed, media_type=asset.kind, headers=headers)

    async def state(self, request: Request) -> Response:
        """Return status 204 if a page is still open, or 404 otherwise."""
        if self._page_of(request) is None:
            raise HTTPException(404)
        return Response(status_code=204)

    async def goodbye(self, request: Request) -> Response:
        """Close a page when its browser tab is closed."""
        if self._page_of(request) is not None:
            await run_in_threadpool(_close, request.path_params["name"])
        return Response(status_code=204)

    async def messages(self, line: WebSocket) -> None:
        """Exchange widget messages with the browser that opened the page."""
        name = line.path_params["kernel_id"]
        page = self.pages.find(name, line.cookies.get(solara_server.COOKIE_KEY_SESSION_ID))
        known = page is not None and "session_id" in line.query_params
        if not known or not self.pages.connect(page):
            await line.close(1008)
            return
        if (surplus := self.pages.surplus(page.session)) is not None:
            await run_in_threadpool(_close, surplus)
        try:
            await self._exchange(name, page, line)
        finally:
            page.here = page.line is not None and page.line.is_open

    async def _exchange(self, name: str, page: Page, line: WebSocket) -> None:
        got = count_of(line.query_params.get("got", "0"))
        if got is None:
            await line.close(1008)
            return
        if page.line is None:
            page.line = Line()
            page.talking = asyncio.create_task(self._talk(name, page.line, line))
        await page.line.carry(line, got)
        if not page.line.is_open:
            asyncio.get_running_loop().call_later(AFTER_LOSS, self._give_up, name, page.line)

    async def _talk(self, name: str, line: Line, first: WebSocket) -> None:
        """Exchange widget messages over the line until the page is closed.

        Its widgets work in a thread of their own, with the cookies of its ``first`` websocket.
        """
        heard, messages = line.receive, Messages()

        async def receive():
            with suppress(TimeoutError):
                event = await asyncio.wait_for(heard(), self.idle)
                if messages.allows(event):
                    return event
            await run_in_threadpool(_close, name)
            return {"type": "websocket.disconnect", "code": 1001}

        line.receive = receive
        session = first.cookies[solara_server.COOKIE_KEY_SESSION_ID]
        loop = solara_server.app_loop(
            ThreadLine(line), first.cookies, {}, session, name, first.query_params["session_id"]
        )
        try:
            await anyio.to_thread.run_sync(asyncio.run, loop, limiter=self._threads)
        finally:
            await run_in_threadpool(_close, name)
        if name not in kernel_context.contexts:
            self.pages.end(name)

    def _give_up(self, name: str, line: Line) -> None:
        """Close a page whose browser has been disconnected for too long."""
        if not line.is_open and not line.ended:
            asyncio.get_running_loop().run_in_executor(None, _close, name)

    def _page_of(self, request: Request) -> Page | None:
        session = request.cookies.get(solara_server.COOKIE_KEY_SESSION_ID)
        return self.pages.find(request.path_params["name"], session)

    def _first(self, key: str, begins: Begins) -> First:
        """Return the first fields with the entries from an earlier visit."""
        _, state = Unsaved(unsaved_file(unsaved_folder(), key)).load_if_whole() or ("", {})
        page = dict(zip(("language", "units"), begins, strict=True)) | state.get("page", {})
        try:
            return first_fields(page["language"], page["units"], state)
        except InputError:  # of another version
            return first_fields(*begins, {})

    def _html(self, name: str, begins: Begins, first: First | None) -> str:
        texts, size = Texts(begins.language), f"{LARGEST_FILE / 1e6:g} MB"
        keys = [key for key in texts.texts if key.startswith("frame.")]
        said = {key.removeprefix("frame."): texts(key, size=size) for key in keys}
        told = said | {"name": name, "largest_file": LARGEST_FILE, "target": TARGET}
        files = {name: f"/files/{name}?{asset.version}" for name, asset in self.assets.items()}
        return self.template.render(
            frame=said, told=told, language=begins.language, files=files, first=first
        )

    def _listen(self):
        """Prepare a new connection to create its widgets when the page requests them."""
        context = kernel_context.get_current_context()
        name = context.id
        context.kernel.comm_manager.register_target(TARGET, lambda comm, _: self._show(name, comm))

        def ended() -> None:
            page = self.pages.of(name)
            self.pages.end(name)
            if page.app is not None:
                page.app.leave()
            if not page.here:  # otherwise, the browser has to be told
                context.kernel.session.websockets.clear()
                page.line.end()

        return ended

    def _show(self, name: str, comm) -> None:
        """Send the ID of the widget model to the page, and then the answer for stored entries."""
        page, session = self.pages.of(name), comm.kernel.session
        try:
            is_new = page.app is None
            if is_new:
                with gathered(session):
                    page.app = self._app(page)
                    self._agree(page, comm)
            comm.send({"model": page.app.view.model_id})
            if is_new and isinstance(page.app, App):
                with gathered(session):
                    page.app.update()
        except Exception:
            comm.send({"failed": True})
            raise

    def _agree(self, page: Page, comm) -> None:
        """Have the browser compare the inputs of each answer with the inputs that it shows."""
        app = page.app
        if not isinstance(app, App):
            return
        app.is_overtaken = lambda: page.line.has_news
        app.on_inputs = lambda inputs, drawing: comm.send({"inputs": inputs, "drawing": drawing})
        comm.on_msg(lambda _: app.agree())
        app.tell_inputs()

    def _app(self, page: Page) -> App | LessonPage:
        if page.lesson:
            return LessonPage(page.lesson, *page.begins, page.session, self.book)
        folder = unsaved_folder()
        app = App(*page.begins, jobs=jobs_folder())
        before = None if self.shared else latest(folder, page.key)
        app.keep_in(unsaved_file(folder, page.key), before)
        return app


async def _return_memory() -> None:
    """Return the free memory of earlier answers to the operating system from time to time."""
    while True:
        await asyncio.sleep(TRIMMED_EVERY)
        await run_in_threadpool(return_memory)


def _close(name: str) -> None:
    """Close a page after its current calculation. Call this function in a separate thread."""
    context = kernel_context.contexts.get(name)
    if context is not None:
        context.close(reason="page-close")
