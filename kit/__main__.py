"""Set up airover and run it, with nothing but Python 3.11 or later.

    python3 kit                 work the sample job here, then open the first worksheet
    python3 kit --no-open       only work the sample job
    python3 kit test [ARGS]     run every check; ARGS go to pytest
    python3 kit test --quick    run those that find most faults, in less than a minute
    python3 kit page            serve the page without code, and open it
    python3 kit work JOB.toml   this and every other verb go to the airover command

The first run makes .venv in this project's folder and installs the versions of kit/pins.txt
there, each checked by its hash. Later runs start at once. When the pins, pyproject.toml, this
Python or the folder's place have changed, or a set-up was broken off, .venv is made anew.
"""

import hashlib
import importlib.util
import json
import os
import platform
import re
import shutil
import signal
import subprocess
import sys
import sysconfig
import time
import venv
from pathlib import Path

if sys.version_info < (3, 11):
    sys.exit("airover needs Python 3.11 or later; this is " + platform.python_version() + ".")

ROOT = Path(__file__).resolve().parent.parent
SPACE_NEEDED = 2e9  # bytes: the environment, and what pip keeps besides
MOST_PROCESSES = 8  # of tests; each needs about 1 GB of memory
SOURCE_ONLY = "psychrolib"  # comes without a wheel; the pinned setuptools builds it

# Signs of something outside of the project that is in the way, and what they mean.
REASONS = {
    "DO NOT MATCH THE HASHES": "a package is not the one that kit/pins.txt lists, so nothing "
    "of it was installed; look at the package index or proxy that pip is set to use",
    "Windows Long Path": "this Windows takes no path of more than 260 letters; move the project to "
    "a folder with a short path, or let Windows take long paths",
    "No space left on device": "the disk is full; pip needs room here, for temporary files and "
    "for its cache",
    "Retrying (": "the packages could not be fetched; look at the network connection, or at the "
    "proxy and index that pip is set to use",
    "No matching distribution": "a package has no build for this computer and this Python; "
    "Python 3.11 to 3.14 on usual computers have them all",
}


class SetupError(Exception):
    """The environment cannot be made; the message is one sentence."""


class Place:
    """The environment of the project in the folder ``root``, and the files that it depends on."""

    def __init__(self, root: Path):
        self.root = root
        self.pins = root / "kit" / "pins.txt"
        self.venv = root / ".venv"
        self.stamp = self.venv / "airover-ready"
        self.log = self.venv / "airover-setup.log"

    def path(self, kind: str) -> Path:
        """The environment's folder of ``kind``, in the words of sysconfig."""
        base = str(self.venv)
        return Path(sysconfig.get_path(kind, "venv", {"base": base, "platbase": base}))

    @property
    def python(self) -> Path:
        return self.path("scripts") / ("python.exe" if os.name == "nt" else "python")

    def wanted(self) -> str:
        """What a finished environment is stamped with: all that it was made from."""
        made_from = hashlib.sha256(self.pins.read_bytes())
        made_from.update((self.root / "pyproject.toml").read_bytes())
        made_from.update(f"{sys.version} {platform.machine()} {self.root}".encode())
        return made_from.hexdigest()

    def is_ready(self) -> bool:
        stamped = self.stamp.read_text(encoding="utf-8") if self.stamp.is_file() else ""
        return stamped == self.wanted() and self.python.is_file()


def make_environment(place: Place) -> None:
    """Make an empty environment, in the place of any that is there."""
    if not importlib.util.find_spec("ensurepip"):
        raise SetupError(
            "this Python comes without its module ensurepip; install the rest of Python "
            "(on Debian and Ubuntu: sudo apt install python3-venv)"
        )
    if shutil.disk_usage(place.root).free < SPACE_NEEDED:
        raise SetupError(f"the disk of {place.root} has less than 2 GB free")
    # Within this process, because it may be running on the very environment that goes.
    venv.EnvBuilder(clear=True, symlinks=os.name != "nt", with_pip=True).create(place.venv)


def install_packages(place: Place) -> None:
    """Install the pinned packages, then the project itself as it lies here."""
    checked = ("--require-hashes", "--only-binary", ":all:")
    builder = place.venv / "airover-builder.txt"
    pins = place.pins.read_text(encoding="utf-8")
    builder.write_text(pinned("setuptools", pins), encoding="utf-8")
    pip_install(place, *checked, "-r", builder)
    pip_install(place, *checked, "--no-binary", SOURCE_ONLY, "-r", place.pins)
    pip_install(place, "--no-deps", "--editable", place.root)
    quieten(place)


def quieten(place: Place) -> None:
    """Let JupyterLab neither ask for news nor look for updates: the worksheets need no network."""
    settings = place.path("data") / "share" / "jupyter" / "lab" / "settings"
    settings.mkdir(parents=True, exist_ok=True)
    quiet = {"fetchNews": "false", "checkForUpdates": False}
    overrides = {"@jupyterlab/apputils-extension:notification": quiet}
    (settings / "overrides.json").write_text(json.dumps(overrides), encoding="utf-8")


def pinned(name: str, pins: str) -> str:
    """The part of the list of ``pins`` that is about one package."""
    parts = re.split(r"^(?=\S)", pins, flags=re.MULTILINE)
    return "".join(part for part in parts if part.startswith(f"{name}=="))


def pip_install(place: Place, *what) -> None:
    # Without build isolation: an isolated build would fetch its tools past the hashes.
    options = ("--no-input", "--progress-bar", "off", "--use-pep517", "--no-build-isolation")
    command = [str(place.python), "-m", "pip", "install", *options, *map(str, what)]
    # The user's settings of pip hold (index, proxy, certificates), but for those that
    # would put the packages elsewhere or ask for hashes of the project itself.
    env = {**os.environ, "PIP_USER": "0", "PIP_REQUIRE_HASHES": "0"}
    with open(place.log, "ab") as log:
        pip = subprocess.Popen(
            command, cwd=place.root, env=env, stdout=log, stderr=subprocess.STDOUT
        )
        if watch(pip, place):
            raise SetupError(reason(said_by_pip(place)))


def said_by_pip(place: Place) -> str:
    """All that pip has said so far, in the letters of this computer's region."""
    return place.log.read_text(encoding="locale", errors="replace")


def watch(pip: subprocess.Popen, place: Place) -> int:
    """Show how far ``pip`` is until it ends; in a terminal one line, elsewhere one now and then."""
    pause, end = (0.5, "\r") if sys.stdout.isatty() else (10.0, "\n")
    try:
        while True:
            try:
                return pip.wait(pause)
            except subprocess.TimeoutExpired:
                print(f"  {progress(place)}", end=end, flush=True)
    finally:
        pip.kill()  # Ctrl-C ends pip as well; one that has ended does not notice.


def progress(place: Place) -> str:
    """How many of the pinned packages that this computer needs are fetched and installed."""
    pins = re.findall(r"^([\w.-]+)==", place.pins.read_text(encoding="utf-8"), re.MULTILINE)
    log = said_by_pip(place)
    fetched = re.findall(r"^(?:Collecting|Processing) ", log, re.MULTILINE)
    not_for_here = re.findall(r"^Ignoring ", log, re.MULTILINE)
    folders = place.path("purelib").glob("*.dist-info")
    installed = {path.name.split("-")[0].lower().replace("_", "-") for path in folders}
    total = len(pins) - len(not_for_here)
    return f"{len(fetched)} fetched, {len(installed & set(pins))} installed, of {total} packages"


def reason(said: str) -> str:
    """One sentence on what went wrong: the first known reason, else the last error or line."""
    for sign, meaning in REASONS.items():
        if sign in said:
            return meaning
    lines = said.splitlines() or ["pip ended without a word"]
    return ([line for line in lines if line.startswith("ERROR:")] or lines)[-1]


def prepare(place: Place, make=make_environment, install=install_packages) -> None:
    """Make the environment unless a finished one is there; the stamp is written last."""
    if place.is_ready():
        return
    print("Setting up in .venv; this takes a minute or two, and only the first time.", flush=True)
    start = time.monotonic()
    try:
        place.stamp.unlink(missing_ok=True)
        make(place)
        install(place)
        place.stamp.write_text(place.wanted(), encoding="utf-8")
    except OSError as error:
        raise SetupError(reason(f"{error}; close what uses {place.venv}, or delete it")) from error
    except subprocess.CalledProcessError as error:  # ensurepip, within venv
        raise SetupError(reason(error.output.decode(errors="replace"))) from error
    print(f"\nThe set-up is ready after {time.monotonic() - start:.0f} s.", flush=True)


def run(place: Place, *args, cwd=None) -> int:
    """Run the environment's Python and return its exit code. Ctrl-C is the program's to answer,
    and who ends this process means the program."""
    child = subprocess.Popen([str(place.python), *map(str, args)], cwd=cwd)
    # Handled without raising: an exception in the middle of wait() can lose the child's exit code.
    before = {
        signal.SIGINT: signal.signal(signal.SIGINT, lambda *_: None),
        signal.SIGTERM: signal.signal(signal.SIGTERM, lambda *_: child.terminate()),
    }
    try:
        code = child.wait()
        return code if code >= 0 else 128 - code
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def airover(place: Place, *args, cwd=None) -> int:
    # -P: a file of the user's folder never stands in for a module of the environment.
    return run(place, "-P", "-m", "airover", *args, cwd=cwd)


def first_run(place: Place, no_open: bool) -> int:
    """Work the sample job; when it went well, open the first worksheet."""
    code = airover(place, "work", "data/jobs/roof-unit.toml", "--out", "results", cwd=place.root)
    if no_open or code:
        return code
    print("\nOpening JupyterLab; Ctrl-C ends it.", flush=True)
    # For this computer only, by token; --allow-root matters in containers alone.
    options = ("--ServerApp.ip=127.0.0.1", "--allow-root")
    worksheet = "worksheets/01-replacement.ipynb"
    return run(place, "-m", "jupyterlab", *options, worksheet, cwd=place.root)


def spread(args: list, place: Place) -> list:
    """Options of pytest that use every processor, unless ``args`` name some tests or a number."""
    some = any((place.root / arg.partition("::")[0]).exists() for arg in args)
    if some or any(arg.startswith(("-n", "--numprocesses", "--pdb")) for arg in args):
        return []
    number = min(os.cpu_count() or 1, MOST_PROCESSES)
    return ["-n", str(number), "--no-loadscope-reorder"]


def main(args: list, place: Place) -> int:
    if args in (["-h"], ["--help"]):
        print(__doc__)
        return 0
    prepare(place)
    if args in ([], ["--no-open"]):
        return first_run(place, no_open=bool(args))
    if args[0] == "test":
        options = spread(args[1:], place)
        return run(place, "-m", "pytest", *options, *args[1:], cwd=place.root)
    return airover(place, *args)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:], Place(ROOT)))
    except SetupError as error:
        sys.exit(f"The set-up was not finished: {error}.")
    except KeyboardInterrupt:
        sys.exit("\nBroken off; the next run starts the set-up afresh.")
