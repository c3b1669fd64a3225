"""Promises of the page's server that need a server of their own."""

import asyncio
import base64
import hashlib
import http.client
import shutil
import ssl
import subprocess
import sys
from contextlib import closing
from urllib.parse import urlsplit

import pytest
import websockets

from airover.app.cli import main
from tests import browser
from tests.served_page import TOKEN, served
from tests.web.visitors import Visitor

IDLE = 4.0  # s
PATIENT = [
    sys.executable, "-c",
    f"from airover.app.serve import serve; serve(0, open_browser=False, idle={IDLE})",
]  # fmt: skip


async def awake(visitor: Visitor, doing) -> None:
    """Do something slow while the visitor sends a message every second."""
    task = asyncio.ensure_future(doing)
    while not task.done():
        await visitor.nudge()
        await asyncio.wait([task], timeout=1.0)
    await task


def test_an_idle_page_is_put_away_and_comes_back_whole(tmp_path):
    async def tried(port: int):
        first = Visitor(port, 0)
        await first.enter()
        await awake(first, first.fill())
        await awake(first, first.edit())
        before = first.inputs
        with pytest.raises(websockets.ConnectionClosed):
            while True:
                await first.line.ping()
                await asyncio.sleep(0.5)
        await first.leave()
        again = Visitor(port, 0)
        await again.enter(first.job)
        await awake(again, again.ready())
        await again.leave()
        assert again.inputs == before and any("A" in str(one) for one in before)

    with served(tmp_path, program=PATIENT) as (_, port, _):
        asyncio.run(tried(port))


needs_openssl = pytest.mark.skipif(not shutil.which("openssl"), reason="makes the certificate")


def openssl(folder, words: str, given: bytes = b"") -> bytes:
    command = ["openssl", *words.split()]
    done = subprocess.run(command, cwd=folder, input=given, check=True, capture_output=True)
    return done.stdout


@pytest.fixture
def pair(tmp_path):
    """A certificate of this computer and its key."""
    openssl(
        tmp_path,
        "req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost "
        "-addext subjectAltName=IP:127.0.0.1 -keyout key.pem -out own.pem",
    )
    return tmp_path / "own.pem", tmp_path / "key.pem"


@needs_openssl
def test_a_page_with_a_certificate_is_encrypted(pair, tmp_path):
    certificate, key = pair
    with served(tmp_path, "--certificate", certificate, "--key", key) as (_, port, said):
        assert f"https://127.0.0.1:{port}/?token={TOKEN}" in said and "http://" not in said
        trusted = ssl.create_default_context(cafile=certificate)
        place = {"host": "127.0.0.1", "port": port, "timeout": 120}
        with closing(http.client.HTTPSConnection(**place, context=trusted)) as line:
            line.request("GET", f"/?token={TOKEN}")
            answer = line.getresponse()
            assert answer.status == 302
            assert answer.headers["Location"] == "/" and "Secure" in answer.headers["Set-Cookie"]
        unencrypted = closing(http.client.HTTPConnection(**place))
        with unencrypted as line, pytest.raises((http.client.HTTPException, OSError)):
            line.request("GET", f"/?token={TOKEN}")
            line.getresponse()


@needs_openssl
def test_a_browser_gets_its_answer_over_encrypted_lines_only(pair, tmp_path):
    certificate, key = pair
    public = openssl(tmp_path, f"x509 -in {certificate} -pubkey -noout")
    of_key = hashlib.sha256(openssl(tmp_path, "pkey -pubin -outform der", public)).digest()
    trusted = f"--ignore-certificate-errors-spki-list={base64.b64encode(of_key).decode()}"
    words = ("--network", "--certificate", certificate, "--key", key)
    with served(tmp_path, *words) as (_, port, said), browser.started(trusted) as chromium:
        page = chromium.new_page()
        page.set_default_timeout(120_000)
        asked, troubles = [], []
        page.on("request", lambda one: asked.append(one.url))
        page.on("websocket", lambda one: asked.append(one.url))
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.goto(f"https://127.0.0.1:{port}/?token={TOKEN}", wait_until="commit")
        page.locator("#page").get_by_role("button", name="Sample job").click()
        page.locator(".ao-status", has_text="it fits as is. Up to date.").wait_for()
        schemes = {urlsplit(url).scheme for url in asked if f"127.0.0.1:{port}" in url}
        assert schemes == {"https", "wss"} and troubles == []
        cookies = page.context.cookies()
        assert len(cookies) == 2 and all(one["secure"] and one["httpOnly"] for one in cookies)
        page.get_by_label("Units", exact=True).select_option("mm, °C")
        page.reload(wait_until="commit")
        page.locator(".ao-status", has_text="it fits as is. Up to date.").wait_for()
    assert f"https://127.0.0.1:{port}/?token={TOKEN}" in said and "http://" not in said


@needs_openssl
@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--certificate", "own.pem"], "--key: no file given. Needed: the options --certificate"),
        (["--certificate", "own.pem", "--key", "own.pem"], "is not a certificate that matches"),
        (["--certificate", "none.pem", "--key", "key.pem"], "(No such file or directory)"),
        (["--certificate", "own.pem", "--key", "other.pem"], "is not a certificate that matches"),
        (["--certificate", "own.pem", "--key", "locked.pem"], "private key without a password"),
        (["--certificate", "own.der", "--key", "key.pem"], "is not UTF-8 text"),
        (["--certificate", "old.pem", "--key", "key.pem"], '"old.pem" has expired. Needed: '),
    ],
)
def test_a_certificate_that_cannot_be_used_gets_a_sentence(words, why, pair, monkeypatch, capsys):
    folder = pair[0].parent
    openssl(folder, "genrsa -out other.pem 2048")
    openssl(folder, "rsa -in key.pem -aes128 -passout pass:secret -out locked.pem")
    openssl(folder, "x509 -in own.pem -outform der -out own.der")
    openssl(folder, "x509 -in own.pem -signkey key.pem -days -1 -out old.pem")
    monkeypatch.chdir(folder)
    assert main(["page", "--no-open", *words]) == 2
    told = capsys.readouterr().err
    assert why in told and told.count("\n") == 1
