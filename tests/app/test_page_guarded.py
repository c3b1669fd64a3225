"""Promises of the page's server that need a server of their own."""

import asyncio
import http.client
import shutil
import ssl
import subprocess
import sys
from contextlib import closing

import pytest
import websockets

from airover.app.cli import main
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


@pytest.fixture
def pair(tmp_path):
    """A certificate of this computer and its key."""
    command = "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost"
    names = ("-addext", "subjectAltName=IP:127.0.0.1", "-keyout", "key.pem", "-out", "own.pem")
    subprocess.run([*command.split(), *names], cwd=tmp_path, check=True, capture_output=True)
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
@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--certificate", "own.pem"], "--key: no file given. Needed: the options --certificate"),
        (["--certificate", "own.pem", "--key", "own.pem"], "is not a certificate that matches"),
        (["--certificate", "none.pem", "--key", "key.pem"], "(No such file or directory)"),
    ],
)
def test_a_certificate_that_cannot_be_used_gets_a_sentence(words, why, pair, monkeypatch, capsys):
    monkeypatch.chdir(pair[0].parent)
    assert main(["page", "--no-open", *words]) == 2
    assert why in capsys.readouterr().err
