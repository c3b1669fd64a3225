"""A network that holds nothing but its own loopback: ``python -m tests.cut_off PROJECT``.

Run there, it starts a project that is set up, with all that it serves, and prints as JSON what
became of it and how often somebody looked for a way out. Linux only: elsewhere no single process
can be cut off.
"""

import json
import os
import socket
import struct
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import suppress
from pathlib import Path

from .lab import TOKEN, free_port

SET_FLAGS, UP = 0x8914, 1  # ioctl(2) of network devices on Linux
NO_WAY_OUT = ("Ip:OutNoRoutes", "Ip6OutNoRoutes", "Udp:OutDatagrams", "Udp6OutDatagrams")
PATIENCE = 300.0  # s


def _cut() -> list[str]:
    return ["unshare", "--net", *([] if os.geteuid() == 0 else ["--map-root-user"])]


def is_permitted() -> bool:
    """Whether this system lets this user cut a program off."""
    return subprocess.run([*_cut(), "true"], capture_output=True, check=False).returncode == 0


def report_on(project: Path, folder: Path) -> dict:
    """What happened to the ``project`` in such a network; ``folder`` takes what it writes."""
    done = subprocess.run(
        [*_cut(), sys.executable, "-m", "tests.cut_off", str(project)],
        cwd=Path(__file__).parents[1], env=os.environ | {"XDG_STATE_HOME": str(folder)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def switch_on_loopback() -> None:
    import fcntl  # Linux and macOS only

    with socket.socket() as any_socket:
        fcntl.ioctl(any_socket, SET_FLAGS, struct.pack("16sh14x", b"lo", UP))


def looked_for_a_way_out() -> int:
    """How often a program asked for an address, or a name, that loopback does not have."""
    lines = [line.split() for line in Path("/proc/net/snmp").read_text().splitlines()]
    counts = {
        head[0] + name: int(value)
        for head, values in zip(lines[::2], lines[1::2], strict=True)
        for name, value in zip(head[1:], values[1:], strict=True)
    }
    lines = Path("/proc/net/snmp6").read_text().splitlines()
    counts |= {name: int(value) for name, value in map(str.split, lines)}
    return sum(counts[name] for name in NO_WAY_OUT)


def ran(project: Path, *words: str) -> dict:
    """One start of ``python3 kit`` that ends by itself."""
    command = [sys.executable, "kit", *words]
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, check=False)
    return _seen(done.returncode, done.stdout + done.stderr)


def served(project: Path, command: list[str], address: str) -> dict:
    """A server, asked until it answers, then ended."""
    late = time.monotonic() + PATIENCE
    env = {**os.environ, "AIROVER_TOKEN": TOKEN}
    server = subprocess.Popen(
        command, cwd=project, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    try:
        while server.poll() is None and time.monotonic() < late:
            try:
                with browser.open(address, timeout=PATIENCE) as answer:
                    return _seen(answer.status, answer.read().decode())
            except urllib.error.URLError:
                time.sleep(0.1)
        raise AssertionError(f"no answer by {command}")
    finally:
        server.terminate()
        server.wait(PATIENCE)


def _seen(code: int, said: str) -> dict:
    return {"code": code, "said": said, "way_out": looked_for_a_way_out()}


def main(project: Path) -> dict:
    """All starts, one after the other."""
    found = {"sample job": ran(project, "--no-open")}
    page, lab = free_port(), free_port()
    words = ["page", "--no-open", "--port", str(page)]
    address = f"http://127.0.0.1:{page}/?token={TOKEN}"
    found["page"] = served(project, [sys.executable, "kit", *words], address)
    python = project / ".venv" / "bin" / "python"
    options = ["--ServerApp.ip=127.0.0.1", f"--port={lab}", "--no-browser", "--allow-root"]
    options += [f"--IdentityProvider.token={TOKEN}", "worksheets/01-replacement.ipynb"]
    address = f"http://127.0.0.1:{lab}/lab/tree/01-replacement.ipynb?token={TOKEN}"
    found["lab"] = served(project, [str(python), "-m", "jupyterlab", *options], address)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as outward, suppress(OSError):
        outward.connect(("192.0.2.1", 9))  # RFC 5737: an address that nobody has
    found["a look outside"] = looked_for_a_way_out()
    return found


if __name__ == "__main__":
    switch_on_loopback()
    print(json.dumps(main(Path(sys.argv[1]))))
