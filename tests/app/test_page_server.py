"""The page's server: what it answers and to whom, in a browser and past it."""

import asyncio
import http.client
import json
import os
import re
import socket
import stat
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import AsyncExitStack
from itertools import product
from urllib.parse import urlparse
from uuid import uuid4

import psutil
import pytest
import websockets

from airover.app import guard, serve
from airover.app.cli import main
from airover.app.open_pages import Begins, Page, Pages
from airover.core.errors import InputError
from tests import browser
from tests.served_page import TOKEN, served

KEY = "0123456789abcdef01234567"
NOBODY = "0" * 32
LARGEST_MESSAGE = 5_000_000  # bytes
MOST_PAGES, MOST_OF_ONE = 120, 10  # at one time, as the guide says; in one browser
TARGET = "airover.page"  # by which a page asks for its widgets
PATIENCE = 120  # s; a shared computer may be slow


# Keys and the files that they name


def test_a_new_key_is_one_that_is_accepted():
    assert guard.key_of(f"job={guard.new_key()}&more=1")
    assert guard.new_key() != guard.new_key()


@pytest.mark.parametrize(
    "query", ["", "job=", "job=../../etc/passwd", f"job={KEY}&job={KEY}", f"job={KEY}%0a", "job=x"]
)
def test_another_key_is_refused(query):
    with pytest.raises(InputError, match="^job: "):
        guard.key_of(query)


def test_unsaved_work_is_open_to_its_user_only(tmp_path, monkeypatch):
    monkeypatch.setattr(guard.platformdirs, "user_state_path", lambda *_, **__: tmp_path / "state")
    folder = guard.unsaved_folder()
    if os.name != "nt":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert guard.unsaved_file(folder, KEY) == folder / f"{KEY}.json"
    with pytest.raises(InputError):
        guard.unsaved_file(folder, "../x")


def test_only_what_is_old_and_ours_is_forgotten(tmp_path):
    old, new, other = (tmp_path / f"{name}.json" for name in (KEY, guard.new_key(), "notes"))
    for path in (old, new, other):
        path.write_text("{}")
    for path in (old, other):
        os.utime(path, (0, time.time() - 31 * guard.DAY))
    guard.forget_old(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([new, other])


# What is refused before anything is served


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--port", "65536"], "--port: 65536"),
    ],
)
def test_wrong_options_get_a_sentence(words, why, capsys):
    assert main(["page", "--no-open", *words]) == 2
    assert capsys.readouterr().err.startswith(why)


@pytest.mark.parametrize("own", ["short", "a token with spaces"])
def test_a_token_that_could_be_guessed_is_refused(own, monkeypatch, capsys):
    monkeypatch.setenv("AIROVER_TOKEN", own)
    assert main(["page", "--no-open"]) == 2
    assert capsys.readouterr().err.startswith(f"AIROVER_TOKEN: a token of {len(own)} characters")


def test_the_token_of_this_computer_is_kept_in_a_private_file(tmp_path, monkeypatch):
    monkeypatch.delenv("AIROVER_TOKEN", raising=False)
    token = serve._token(False, tmp_path)
    assert serve._token(False, tmp_path) == token and serve._token(True, tmp_path) != token
    address = serve._entrance(tmp_path, f"http://127.0.0.1:1/?token={token}")
    assert token not in address  # which is part of the command that starts a browser
    assert token in (tmp_path / "open.html").read_text()
    if os.name != "nt":
        modes = {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
        assert modes == {0o600} and len(list(tmp_path.iterdir())) == 2


def test_a_port_that_is_taken_is_told(capsys):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        assert main(["page", "--no-open", "--port", port]) == 2
    assert capsys.readouterr().err.startswith(f"--port: {port} (")


# A server, asked without a browser


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    words = ("--network", "--language", "es", "--units", "SI")
    with served(tmp_path_factory.mktemp("page"), *words) as running:
        yield running


def ask(server, path, method="GET", token=TOKEN, **headers):
    """The answer to one request, its path sent as it is written."""
    if token:
        headers["Authorization"] = f"token {token}"
    line = http.client.HTTPConnection("127.0.0.1", server[1], timeout=PATIENCE)
    try:
        line.request(method, path, headers=headers)
        answer = line.getresponse()
        answer.text = answer.read().decode(errors="replace")
        return answer
    finally:
        line.close()


ASSETS = ["/files/frame.css", "/files/widgets.js"]
CHANNELS = f"/jupyter/api/kernels/{NOBODY}/channels"


def test_a_network_is_served_with_words_and_a_token(server):
    assert f"http://127.0.0.1:{server[1]}/?token={TOKEN}" in server[2]
    assert "Cualquier computadora o teléfono" in server[2] and "sin cifrar" in server[2]


def test_without_the_token_nothing_is_answered(server):
    """All are asked at one time, because the answer to a wrong token is late."""
    paths = ["/", f"/?job={KEY}", "/nowhere", f"/pages/{NOBODY}", CHANNELS, *ASSETS]
    paths += [f"/?token={TOKEN[:-1]}", f"/files/frame.css?token={TOKEN}"]
    asked = list(product(paths, (None, "another-token-of-tests")))
    with ThreadPoolExecutor(len(asked)) as threads:
        answers = list(threads.map(lambda one: ask(server, one[0], token=one[1]), asked))
    assert not [one for one, found in zip(asked, answers, strict=True) if found.status != 403]
    assert not [
        one for one, found in zip(asked, answers, strict=True) if "Location" in found.headers
    ]


def test_with_the_token_one_is_sent_on_without_it(server):
    answer = ask(server, f"/?token={TOKEN}", token=None)
    assert answer.status == 302 and answer.headers["Location"] == "/"
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=lax" in cookie


def test_a_page_has_a_key_of_its_own_and_begins_as_its_address_says(server):
    first = ask(server, "/?language=en&units=US")
    assert re.fullmatch(r"/\?job=[0-9a-f]{24}&language=en&units=US", first.headers["Location"])
    assert ' lang="en"' in ask(server, first.headers["Location"]).text
    assert ' lang="es"' in ask(server, f"/?job={KEY}").text
    assert ask(server, "/?language=xx").status == 404


@pytest.mark.parametrize("path", ["/", "/nowhere", *ASSETS])
def test_every_answer_has_the_headers_that_keep_others_out(server, path):
    headers = ask(server, path).headers
    policy = headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'self'; ")
    assert "script-src" not in policy and "unsafe-eval" not in policy  # scripts: 'self' only
    assert "frame-ancestors 'none'" in policy and "http" not in policy
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    "path",
    ["/api", "/api/contents", "/api/kernels", f"/jupyter/api/kernels/{NOBODY}", "/login"]
    + ["/files", "/files/", "/files/serve.py", "/files/page.html", f"/pages/{NOBODY}"]
    + ["/static/main.js", "/static/assets/style.css", "/static/public/x", "/readyz", "/resourcez"]
    + ["/_solara/cdn/vega@5.21.0/build/vega.min.js", "/jupyter/nbextensions/x", "/apps"],
)
def test_no_other_address_leads_anywhere(server, path):
    """Those that solara's own server would answer are among them."""
    assert ask(server, path).status == 404


def test_the_assets_of_the_page_are_there(server):
    assert {ask(server, path).status for path in ASSETS} == {200}


@pytest.mark.parametrize("up", ["..", "%2e%2e", "..%2f", ".%2e", "%252e%252e", "..\\", "%00/.."])
def test_no_path_leads_out_of_the_assets(server, up):
    """The wanted files exist one or two folders above, so a server that climbs would find them."""
    for target in (
        f"{up}/serve.py",
        f"{up}/{up}/cli.py",
        "/" + __file__,
        f"{up}/" * 9 + "etc/hosts",
    ):
        assert ask(server, "/files/" + target).status in (400, 403, 404)


@pytest.mark.parametrize("method", ["DELETE", "POST", "PUT", "PATCH"])
def test_pages_are_neither_made_nor_ended_by_request(server, method):
    assert ask(server, f"/pages/{NOBODY}", method).status in (403, 405)


def test_another_site_starts_no_page(server):
    for place in ("image", "iframe", "script", "empty"):
        assert ask(server, f"/?job={KEY}", **{"Sec-Fetch-Dest": place}).status == 403
    other = {"Origin": "http://other.example"}
    assert ask(server, f"/goodbye/{NOBODY}", "POST", **other).status == 403
    other = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Dest": "script"}
    assert ask(server, ASSETS[1], **other).status == 403


def test_a_wrong_token_is_answered_late(server):
    began = time.monotonic()
    assert ask(server, ASSETS[0], token="another-token-of-tests").status == 403
    assert time.monotonic() - began >= 1.0


def test_this_computer_only_and_only_with_the_token(tmp_path):
    with served(tmp_path) as here:
        assert f"http://127.0.0.1:{here[1]}/?token={TOKEN}" in here[2]
        assert "on this computer" in here[2]
        process = psutil.Process(here[0].pid)
        held = {one.laddr for one in process.net_connections("tcp")}
        assert {ip for ip, port in held if port == here[1]} == {"127.0.0.1"}
        assert TOKEN not in " ".join(process.cmdline())
        assert ask(here, "/files/frame.css").status == 200
        for path in ("/", f"/?job={KEY}", "/files/frame.css"):  # of another account
            assert ask(here, path, token=None).status == 403
        # A name that another site points at this computer.
        assert ask(here, "/", Host=f"other.example:{here[1]}").status == 403


def test_too_many_pages_are_refused_with_a_sentence(tmp_path):
    async def all_open(here, visitors) -> int:
        async with AsyncExitStack() as lines:
            for one in visitors:
                await lines.enter_async_context(one.line())
            answer = await asyncio.to_thread(ask, here, f"/?job={KEY}")
            assert "Too many pages are open" in answer.text
            return answer.status

    with served(tmp_path) as here:
        visitors = [Visitor(here) for _ in range(MOST_PAGES)]
        assert apart(all_open(here, visitors)) == 503
        assert ask(here, f"/?job={KEY}").status == 200  # once the others are gone


def test_one_browser_locks_nobody_out(server):
    """Not with pages that it never opens, and not with more pages than one browser may have."""

    async def tried() -> None:
        async with AsyncExitStack() as lines:
            for one in visitors[:MOST_OF_ONE]:
                await lines.enter_async_context(one.line())
            with pytest.raises(websockets.InvalidStatus, match="403"):
                await one_more.line()
            refused = await asyncio.to_thread(ask, server, f"/?job={KEY}", Cookie=first.cookie)
            assert refused.status == 503 and "Hay demasiadas páginas abiertas" in refused.text
            again = await asyncio.to_thread(Visitor, server, first.cookie, first.key)
            assert again.status == 200, "an open page can be reloaded"
            other = await asyncio.to_thread(Visitor, server)
            assert "comm_msg" in await widgets_of(other)
            left = {"method": "POST", "Cookie": first.cookie}
            await asyncio.to_thread(ask, server, f"/goodbye/{first.name}", **left)
            await lines.enter_async_context(one_more.line())

    first = Visitor(server)
    visitors = [first] + [Visitor(server, first.cookie) for _ in range(80)]
    assert {one.status for one in visitors} == {200}
    one_more = visitors[MOST_OF_ONE]
    apart(tried())


def test_pages_without_a_browser_are_kept_until_there_are_too_many():
    """A tab that is asleep comes back to its page."""
    pages = Pages()

    def connected(session: str) -> Page:
        page = pages.of(pages.give(guard.new_key(), Begins("en", "US"), session))
        return page if pages.connect(page) else None

    asleep = [connected("one") for _ in range(MOST_OF_ONE)]
    assert connected("other") and all(asleep)
    for page in asleep:
        page.here = False
    assert pages.surplus("one") is None
    awake = [connected("one") for _ in range(MOST_OF_ONE)]
    assert all(awake)
    for page in asleep:
        assert pages.of(pages.surplus("one")) is page, "the oldest first, and none with a browser"
        pages.end(pages.surplus("one"))
    assert pages.surplus("one") is None
    assert pages.give(guard.new_key(), Begins("en", "US"), "one") is None
    lesson = pages.give(guard.new_key(), Begins("en", "US"), "pupil", "fan")
    assert lesson and pages.connect(pages.of(lesson))


# In a browser


class Opened:
    """A page of a browser, and all that it asked for and complained of."""

    def __init__(self, context, server):
        self.page = context.new_page()
        self.requests, self.errors = [], []
        self.page.on("request", lambda one: self.requests.append(one.url))
        self.page.on("websocket", lambda one: self.requests.append(one.url))
        self.page.on("console", self.note)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.set_default_timeout(PATIENCE * 1000)
        self.page.goto(f"http://127.0.0.1:{server[1]}/?token={TOKEN}", wait_until="commit")
        self.wait()

    def note(self, message):
        if message.type == "error":
            self.errors.append(message.text)

    def wait(self):
        self.page.wait_for_selector("#page .jupyter-widgets input")
        self.page.wait_for_selector("#frame-loading", state="hidden")

    @property
    def name(self):
        told = "JSON.parse(document.getElementById('frame-texts').textContent).name"
        return self.page.evaluate(told)


@pytest.fixture(scope="module")
def opened(server):
    with browser.started() as chromium:
        context = chromium.new_context(viewport={"width": 390, "height": 844}, locale="es-MX")
        yield Opened(context, server)


def test_the_page_asks_nobody_else_and_complains_of_nothing(opened, server):
    outside = [
        url
        for url in opened.requests
        if urlparse(url).scheme not in ("data", "blob")
        and urlparse(url).netloc != f"127.0.0.1:{server[1]}"
    ]
    assert len(opened.requests) >= 9
    assert outside == []
    assert opened.errors == []


def test_the_page_says_what_it_is_and_hides_its_address_of_entry(opened):
    assert opened.page.title() == "airover: cambio del motor del ventilador del condensador"
    assert opened.page.get_attribute("html", "lang") == "es"
    assert TOKEN not in opened.page.url
    assert opened.page.locator("main").count() >= 1


def test_a_phone_scrolls_in_one_direction(opened):
    for width in (390, 320, 1280):
        opened.page.set_viewport_size({"width": width, "height": 800})
        opened.page.wait_for_timeout(200)
        seen = opened.page.evaluate("document.documentElement.scrollWidth")
        assert seen <= width
    opened.page.set_viewport_size({"width": 390, "height": 844})
    tall = opened.page.evaluate("document.documentElement.scrollHeight")
    assert tall > 844, "the page itself scrolls, not a window within it"


# Past the browser: messages on the line of a page


def apart(doing):
    """Run a coroutine in a thread of its own: the browser's driver has a loop in this one."""
    with ThreadPoolExecutor(1) as threads:
        return threads.submit(asyncio.run, doing).result()


class Visitor:
    """A page that was asked for without a browser: its name and the cookie it was given to."""

    def __init__(self, server, cookie="", key=""):
        own, self.key = {"Cookie": cookie} if cookie else {}, key or guard.new_key()
        self.server, page = server, ask(server, f"/?job={self.key}", **own)
        self.status = page.status
        if self.status != 200:
            return
        self.name = re.search(r'"name": "([0-9a-f]{32})"', page.text)[1]
        self.cookie = page.headers["Set-Cookie"].partition(";")[0]
        self.address = f"ws://127.0.0.1:{server[1]}/jupyter/api/kernels/{self.name}/channels"

    def line(self, cookie=None, token=TOKEN, got=0, **headers):
        headers |= {"Cookie": self.cookie if cookie is None else cookie}
        headers |= {"Authorization": f"token {token}"}
        address = f"{self.address}?session_id=tests&got={got}"
        return websockets.connect(address, additional_headers=headers, max_size=None)

    def is_there(self) -> bool:
        status = ask(self.server, f"/pages/{self.name}", Cookie=self.cookie).status
        assert status in (204, 404)
        return status == 204


def message(kind, content, channel="shell"):
    header = {"msg_id": uuid4().hex, "msg_type": kind, "username": "", "session": "tests",
              "date": "2026-01-01T00:00:00Z", "version": "5.3"}  # fmt: skip
    parts = {"parent_header": {}, "metadata": {}, "content": content, "buffers": []}
    return json.dumps({"header": header, "channel": channel, **parts})


async def exchange(connecting, sent, last):
    """Send messages as a page does; the kinds of all that came back, until ``last`` or the end."""
    kinds = []
    async with connecting as line:
        for one in sent:
            await line.send(message(*one))
        while last not in kinds:
            try:
                told = await asyncio.wait_for(line.recv(), PATIENCE)
            except websockets.ConnectionClosed:
                break
            if isinstance(told, str) and not told.startswith("got "):
                kinds.append(json.loads(told)["header"]["msg_type"])
    return kinds


async def widgets_of(visitor) -> list[str]:
    """The kinds of messages until a page has its widgets."""
    asked = {"comm_id": uuid4().hex, "target_name": TARGET, "data": {}}
    return await exchange(visitor.line(), [("comm_open", asked)], "comm_msg")


def test_a_line_answers_for_widgets(server):
    kinds = apart(widgets_of(Visitor(server)))
    assert set(kinds) <= {"status", "comm_open", "comm_msg"} and "comm_msg" in kinds


def test_a_line_goes_on_over_the_next_websocket(server):
    """What was sent before a cut is not lost, and what was sent twice is used once."""

    async def received(line, count):
        """``count`` messages and the last confirmation."""
        found, confirmed = [], ""
        while len(found) < count:
            told = await asyncio.wait_for(line.recv(), PATIENCE)
            if str(told).startswith("got "):
                confirmed = told
            else:
                found.append(told)
        return found, confirmed

    async def tried():
        visitor = Visitor(server)
        asked = {"comm_id": uuid4().hex, "target_name": TARGET, "data": {}}
        async with visitor.line(got=0) as line:
            assert await line.recv() == "got 0"
            await line.send(message("comm_open", asked))
            first, _ = await received(line, 5)
        async with visitor.line(got=3) as line:
            assert await line.recv() == "got 1"
            again, _ = await received(line, 2)
            await line.send(message("kernel_info_request", {}))
            while "kernel_info_reply" not in str((await received(line, 1))[0]):
                pass
        assert again == first[3:]
        async with visitor.line(got=1) as line:  # fewer than were confirmed
            with pytest.raises(websockets.ConnectionClosed):
                while True:
                    await asyncio.wait_for(line.recv(), PATIENCE)

    apart(tried())


CODE = {"code": "", "silent": False, "store_history": False, "user_expressions": {},
        "allow_stdin": False, "stop_on_error": False}  # fmt: skip


@pytest.mark.parametrize("channel", ["shell", "control", "stdin"])
@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("execute_request", CODE),
        ("complete_request", {"code": "ope", "cursor_pos": 3}),
        ("inspect_request", {"code": "open", "cursor_pos": 3}),
        ("debug_request", {"command": "initialize"}),
        ("history_request", {"hist_access_type": "tail", "n": 9}),
        ("shutdown_request", {"restart": False}),
    ],
)
def test_a_page_runs_no_code_and_who_asks_for_it_is_shown_out(
    server, tmp_path, kind, content, channel
):
    mark, visitor = tmp_path / "ran", Visitor(server)
    content = (
        content | {"code": f"open({str(mark)!r}, 'w').close()"} if "code" in content else content
    )
    sent = [(kind, content, channel), ("kernel_info_request", {}, "shell")]
    kinds = apart(exchange(visitor.line(), sent, "kernel_info_reply"))
    assert set(kinds) <= {"status", "comm_close"}, "no reply"
    assert not mark.exists() and not visitor.is_there()


def test_a_message_that_is_too_large_ends_the_line(server):
    async def is_ended() -> bool:
        async with Visitor(server).line() as line:
            try:
                await line.send("x" * (LARGEST_MESSAGE + 1))
                while True:
                    await asyncio.wait_for(line.recv(), PATIENCE)
            except websockets.ConnectionClosed:
                return True

    assert apart(is_ended())


def status_of(connecting) -> int:
    async def tried():
        try:
            async with connecting:
                return 101
        except websockets.InvalidStatus as error:
            return error.response.status_code

    return apart(tried())


def test_a_line_of_another_site_or_browser_is_refused(server):
    visitor = Visitor(server)
    assert status_of(visitor.line(Origin="http://other.example")) == 403
    assert status_of(visitor.line(token="another-token-of-tests")) == 403
    assert status_of(visitor.line(cookie="")) == 403  # not the browser that the page was given to
    assert status_of(visitor.line(cookie=Visitor(server).cookie)) == 403
    assert status_of(visitor.line()) == 101


# Several at one time


def test_a_long_calculation_keeps_nobody_waiting(opened, server):
    """While one page works a job that was never worked before, another one answers."""
    other = opened.page.context.new_page()
    other.goto(f"http://127.0.0.1:{server[1]}/?language=en&units=US", wait_until="commit")
    other.locator("#page input[type=text]").first.wait_for()
    opened.page.get_by_role("button", name="Trabajo de ejemplo").click()
    status = opened.page.locator(".ao-status")
    status.get_by_role("link").wait_for()
    opened.page.get_by_role("button", name="Lugar y alimentación").click()
    opened.page.get_by_label("Voltaje de alimentación").fill("231 V")
    opened.page.keyboard.press("Tab")
    opened.page.locator(".ao-earlier").wait_for()
    for _ in range(3):
        other.get_by_role("button", name="Old nameplate").click()
        other.get_by_role("button", name="Sample job").click()
        other.locator(".ao-status", has_text="Up to date").wait_for()
        other.get_by_role("button", name="New job").click()
        other.locator(".ao-status", has_text="enough to start").wait_for()
    other.close()
    opened.page.locator(".ao-earlier").wait_for(state="detached")


def test_a_very_long_text_is_cut_and_the_page_stays(opened, server):
    field = opened.page.locator("#page input[type=text]").first
    before = field.input_value()
    field.fill("")
    field.focus()
    opened.page.keyboard.insert_text("\u00f1" * 30_000)
    opened.page.keyboard.press("Tab")
    opened.page.wait_for_function("() => !line.waiting")
    assert len(field.input_value()) == 20_000
    field.fill(before)
    opened.page.keyboard.press("Tab")
    opened.page.wait_for_function("() => !line.waiting")
    status = f"fetch('/pages/{opened.name}').then((one) => one.status)"
    assert opened.page.evaluate(status) == 204


# Over a reload, and after an end


def test_what_was_typed_is_there_after_a_reload_and_the_old_page_is_not(opened, server):
    sync_api = pytest.importorskip("playwright.sync_api")
    field = "#page input[type=text]"
    opened.page.locator(field).first.fill("Techo de la escuela")  # and left before it was worked
    address, before = opened.page.url, opened.name
    opened.page.reload(wait_until="commit")
    opened.wait()
    assert opened.page.url == address
    assert opened.name != before
    first = sync_api.expect(opened.page.locator(field).first)
    first.to_have_value("Techo de la escuela", timeout=PATIENCE * 1000)  # once widgets are there
    status = "fetch('/pages/{}').then((one) => one.status)"
    assert opened.page.evaluate(status.format(before)) == 404
    assert opened.page.evaluate(status.format(opened.name)) == 204


def test_a_page_that_was_ended_is_told_and_can_be_loaded_again(opened, server):
    opened.page.evaluate(f"navigator.sendBeacon('/goodbye/{opened.name}')")
    trouble = opened.page.locator("#frame-trouble")
    trouble.wait_for(state="visible")
    assert "Sus datos están guardados" in trouble.inner_text()
    trouble.get_by_role("button").wait_for(state="visible")
    trouble.get_by_role("button").click()
    opened.wait()
