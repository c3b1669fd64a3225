"""The page's server: what it answers and to whom, in a browser and past it."""

import asyncio
import base64
import http.client
import json
import os
import re
import socket
import stat
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from urllib.parse import urlparse

import psutil
import pytest
from jupyter_client.session import Session
from jupyter_server.services.kernels.connection.base import serialize_msg_to_ws_v1
from tornado.httpclient import HTTPRequest
from tornado.websocket import WebSocketClosedError, websocket_connect

from airover.cli import main
from airover.errors import InputError
from airover.page import keys, serve

from . import browser
from .served_page import served

TOKEN = "a-token-of-the-tests"
KEY = "0123456789abcdef01234567"
NOBODY = "00000000-0000-0000-0000-000000000000"
V1 = "v1.kernel.websocket.jupyter" + ".org"  # of the messages: no host, though it looks like one
PATIENCE = 120  # s; a shared computer may be slow


# Keys and the files that they name


def test_a_new_key_is_one_that_is_accepted():
    assert keys.key_of(f"job={keys.new_key()}&more=1")
    assert keys.new_key() != keys.new_key()


@pytest.mark.parametrize(
    "query", ["", "job=", "job=../../etc/passwd", f"job={KEY}&job={KEY}", f"job={KEY}%0a", "job=x"]
)
def test_another_key_is_refused(query):
    with pytest.raises(InputError, match="^job: "):
        keys.key_of(query)


def test_unsaved_work_is_open_to_its_user_only(tmp_path, monkeypatch):
    monkeypatch.setattr(keys.platformdirs, "user_state_path", lambda *_, **__: tmp_path / "state")
    folder = keys.unsaved_folder()
    if os.name != "nt":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert keys.unsaved_file(folder, KEY) == folder / f"{KEY}.json"
    with pytest.raises(InputError):
        keys.unsaved_file(folder, "../x")


def test_only_what_is_old_and_ours_is_forgotten(tmp_path):
    old, new, other = (tmp_path / f"{name}.json" for name in (KEY, keys.new_key(), "notes"))
    for path in (old, new, other):
        path.write_text("{}")
    for path in (old, other):
        os.utime(path, (0, time.time() - 31 * keys.DAY))
    keys.forget_old(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([new, other])


# What is refused before anything is served


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--token", TOKEN], "--token: a token without --network"),
        (["--network", "--token", "short"], "--token: a token of 5 letters"),
        (["--network", "--token", "a token with spaces"], "--token: "),
        (["--port", "65536"], "--port: 65536"),
    ],
)
def test_wrong_options_get_a_sentence(words, why, capsys):
    assert main(["page", "--no-open", *words]) == 2
    assert capsys.readouterr().err.startswith(why)


def test_a_port_that_is_taken_is_told(capsys):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        assert main(["page", "--no-open", "--port", port]) == 2
    assert capsys.readouterr().err.startswith(f"--port: {port} (")


# A server, asked without a browser


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    words = ("--network", "--token", TOKEN, "--language", "es", "--units", "SI")
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


ASSETS = ["/voila/static/frame.css", "/voila/static/voila.js"]


def test_a_network_is_served_with_words_and_a_token(server):
    assert f"http://127.0.0.1:{server[1]}/?token={TOKEN}" in server[2]
    assert "Every computer and phone" in server[2] and "readable text" in server[2]


@pytest.mark.parametrize("token", [None, "another-token-of-tests"])
@pytest.mark.parametrize(
    "path",
    ["/", f"/?job={KEY}", "/nowhere", f"/api/kernels/{NOBODY}", *ASSETS]
    + [f"/api/kernels/{NOBODY}/channels", f"/?token={TOKEN[:-1]}"],
)
def test_without_the_token_nothing_is_answered(server, path, token):
    answer = ask(server, path, token=token)
    assert answer.status == 403
    assert "Location" not in answer.headers


def test_with_the_token_one_is_sent_on_without_it(server):
    answer = ask(server, f"/?token={TOKEN}", token=None)
    assert answer.status == 302
    assert re.fullmatch(r"/\?job=[0-9a-f]{24}", answer.headers["Location"])
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie


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
    ["/api", "/api/contents", "/api/contents/page.ipynb", "/api/kernels", "/api/kernelspecs"]
    + ["/api/sessions", "/api/terminals", "/api/status", "/api/config/x", "/api/me", "/login"]
    + [
        "/files/page.ipynb",
        "/voila/files/page.ipynb",
        "/voila/tree",
        "/tree",
        "/lab",
        "/page.ipynb",
    ]
    + ["/nbconvert/html/page.ipynb", "/voila/render/page.ipynb", "/terminals/1", "/edit/x"]
    + ["/voila/templates/base/static/voila.js", f"/api/kernels/{NOBODY}", "/voila/static/"]
    + [f"/api/kernels/{NOBODY}/restart", "/voila/labextensions/jupyterlab_pygments/install.json"]
    + [f"/voila/execution/{NOBODY}", "/voila/static/nothing.js"],
)
def test_no_other_address_leads_anywhere(server, path):
    assert ask(server, path).status == 404


def test_the_assets_of_the_page_are_there(server):
    assert {ask(server, path).status for path in ASSETS} == {200}


@pytest.mark.parametrize("up", ["..", "%2e%2e", "..%2f", ".%2e", "%252e%252e", "..\\", "%00/.."])
@pytest.mark.parametrize("base", ["/voila/static/", "/voila/labextensions/@jupyter-widgets/"])
def test_no_path_leads_out_of_the_assets(server, base, up):
    """The wanted files exist two folders above, so a server that climbs would find them."""
    for target in (
        f"{up}/page.ipynb",
        f"{up}/{up}/serve.py",
        "/" + __file__,
        f"{up}/" * 9 + "etc/hosts",
    ):
        assert ask(server, base + target).status in (400, 403, 404)


@pytest.mark.parametrize("method", ["DELETE", "POST", "PUT", "PATCH"])
def test_kernels_are_neither_made_nor_ended_by_request(server, method):
    assert ask(server, f"/api/kernels/{NOBODY}", method).status in (403, 405)


def test_another_site_starts_no_page(server):
    for place in ("image", "iframe", "script", "empty"):
        assert ask(server, f"/?job={KEY}", **{"Sec-Fetch-Dest": place}).status == 403
    other = {"Origin": "http://other.example"}
    assert ask(server, f"/goodbye/{NOBODY}", "POST", token=None, **other).status == 403


def test_this_computer_only_unless_asked(tmp_path):
    with served(tmp_path) as here:
        assert "for this computer only" in here[2]
        held = {one.laddr for one in psutil.Process(here[0].pid).net_connections("tcp")}
        assert {ip for ip, port in held if port == here[1]} == {"127.0.0.1"}
        assert ask(here, "/voila/static/frame.css", token=None).status == 200
        # A name that another site points at this computer.
        assert ask(here, "/", token=None, Host=f"other.example:{here[1]}").status == 403


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
        self.page.wait_for_selector("#rendered_cells .jupyter-widgets input")
        self.page.wait_for_selector("#frame-loading", state="hidden")

    @property
    def kernel(self):
        told = "JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
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
    assert len(opened.requests) > 20
    assert outside == []
    assert opened.errors == []


def test_the_page_says_what_it_is_and_hides_its_address_of_entry(opened):
    assert opened.page.title() == "airover: el motor del ventilador de una unidad exterior"
    assert opened.page.get_attribute("html", "lang") == "es"
    assert TOKEN not in opened.page.url
    assert "begin()" not in opened.page.content()
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


# Past the browser: messages to a kernel that a page has


def apart(doing):
    """Run a coroutine in a thread of its own: the browser's driver has a loop in this one."""
    with ThreadPoolExecutor(1) as threads:
        return threads.submit(asyncio.run, doing).result()


def message(session, kind, content, channel, raw):
    one = session.msg(kind, content)
    if not raw:
        return json.dumps({**one, "channel": channel}, default=str)
    return serialize_msg_to_ws_v1(one, channel, session.pack)


async def exchange(server, kernel, sent, raw):
    """Send messages as the page does, then ask who is there; the kinds of all that came back."""
    url = f"ws://127.0.0.1:{server[1]}/api/kernels/{kernel}/channels?session_id=tests"
    asked = HTTPRequest(url, headers={"Authorization": f"token {TOKEN}"})
    line = await websocket_connect(asked, subprotocols=[V1] if raw else None)
    session, kinds = Session(), []
    for kind, content, channel in [*sent, ("kernel_info_request", {}, "shell")]:
        text = message(session, kind, content, channel, raw)
        await line.write_message(text, binary=raw)
    end = time.monotonic() + 8
    while time.monotonic() < end:
        try:
            told = await asyncio.wait_for(line.read_message(), 2)
        except TimeoutError:
            break
        kinds += re.findall(
            r'"msg_type": ?"(\w+)"',
            told if isinstance(told, str) else told.decode(errors="replace"),
        )
    line.close()
    while await line.read_message() is not None:
        continue
    return kinds


@pytest.mark.parametrize("raw", [False, True])
def test_a_page_runs_no_code(opened, server, tmp_path, raw):
    mark = tmp_path / "ran"
    code = {"code": f"open({str(mark)!r}, 'w').close()", "silent": False, "store_history": False}
    code |= {"user_expressions": {}, "allow_stdin": False, "stop_on_error": False}
    sent = [("execute_request", code, one) for one in ("shell", "control")]
    sent += [("shutdown_request", {"restart": False}, one) for one in ("shell", "control")]
    sent += [("complete_request", {"code": "ope", "cursor_pos": 3}, "shell")]
    sent += [("debug_request", {"command": "initialize"}, "control"), ("input_reply", {}, "stdin")]
    kinds = apart(exchange(server, opened.kernel, sent, raw))
    assert "kernel_info_reply" in kinds, "the line itself works"
    assert not {"execute_reply", "execute_input", "shutdown_reply", "complete_reply"} & set(kinds)
    assert not mark.exists()
    assert ask(server, f"/api/kernels/{opened.kernel}").status == 200


def test_a_message_that_is_too_large_ends_the_line(opened, server):
    url = f"ws://127.0.0.1:{server[1]}/api/kernels/{opened.kernel}/channels"

    async def is_ended() -> bool:
        asked = HTTPRequest(url, headers={"Authorization": f"token {TOKEN}"})
        line = await websocket_connect(asked)
        try:
            with suppress(WebSocketClosedError):  # ended while it was still being sent
                await line.write_message("x" * (serve.LARGEST_MESSAGE + 1))
            while await asyncio.wait_for(line.read_message(), 10) is not None:
                continue
            return True
        finally:
            line.close()

    assert apart(is_ended())


def test_a_line_of_another_site_is_refused(opened, server):
    answer = ask(
        server,
        f"/api/kernels/{opened.kernel}/channels",
        token=None,
        Upgrade="websocket",
        Connection="Upgrade",
        Origin="http://other.example",
        **{
            "Sec-WebSocket-Key": base64.b64encode(b"0" * 16).decode(),
            "Sec-WebSocket-Version": "13",
        },
    )
    assert answer.status == 403


# Over a reload, and after an end


def test_what_was_typed_is_there_after_a_reload_and_the_old_kernel_is_not(opened, server):
    field = "#rendered_cells input[type=text]"
    opened.page.locator(field).first.fill("Techo de la escuela")
    opened.page.wait_for_timeout(2500)
    address, before = opened.page.url, opened.kernel
    opened.page.reload(wait_until="commit")
    opened.wait()
    assert opened.page.url == address
    assert opened.kernel != before
    assert opened.page.locator(field).first.input_value() == "Techo de la escuela"
    end = time.monotonic() + PATIENCE
    while ask(server, f"/api/kernels/{before}").status == 200:
        assert time.monotonic() < end
        time.sleep(0.5)


def test_a_dead_kernel_is_told_and_the_page_can_be_loaded_again(opened, server):
    kernel = opened.kernel
    found = [
        one
        for one in psutil.Process(server[0].pid).children(recursive=True)
        if any(kernel in word for word in one.cmdline())
    ]
    assert found
    for one in found:
        one.kill()
    trouble = opened.page.locator("#frame-trouble")
    trouble.wait_for(state="visible")
    assert "lo que escribió se guardó" in trouble.inner_text()
    trouble.get_by_role("button").wait_for(state="visible")
