"""Set up airover and run it with Python 3.11 or later; nothing else is required.

python3 kit                 evaluate the sample job, then open the first worksheet
python3 kit --no-open       only evaluate the sample job
python3 kit test [ARGS]     run all tests; ARGS are passed to pytest
python3 kit test --quick    run the tests that find the most faults, in less than a minute
python3 kit page            serve the page without code and open it
python3 kit work JOB.toml   run an airover command; every other command works the same way

The first run creates .venv in the project folder and installs the package versions listed in
kit/pins.txt, each verified by its hash. Later runs start immediately. If the pins, pyproject.toml,
this Python or the folder's location has changed, or a setup was interrupted, .venv is created
again.
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
SPACE_NEEDED = 2e9  # bytes: the environment and pip's cache
MOST_PROCESSES = 8  # test processes; each needs about 1 GB of memory
SOURCE_ONLY = "psychrolib"  # has no wheel; built by the pinned setuptools

# Signs of a problem outside the project in the pip output, and their meaning.
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
    """Setup failure; the message is one sentence."""


class Place:
    """Environment of the project in the folder ``root``, and the files it depends on."""

    def __init__(self, root: Path):
        self.root = root
        self.pins = root / "kit" / "pins.txt"
        self.venv = root / ".venv"
        self.stamp = self.venv / "airover-ready"
        self.log = self.venv / "airover-setup.log"

    def path(self, kind: str) -> Path:
        """Return the environment's folder of type ``kind``, as named in sysconfig."""
        base = str(self.venv)
        return Path(sysconfig.get_path(kind, "venv", {"base": base, "platbase": base}))

    @property
    def python(self) -> Path:
        return self.path("scripts") / ("python.exe" if os.name == "nt" else "python")

    def wanted(self) -> str:
        """Return the stamp of a finished environment: everything it was made from."""
        made_from = hashlib.sha256(self.pins.read_bytes())
        made_from.update((self.root / "pyproject.toml").read_bytes())
        made_from.update(f"{sys.version} {platform.machine()} {self.root}".encode())
        return made_from.hexdigest()

    def is_ready(self) -> bool:
        stamped = self.stamp.read_text(encoding="utf-8") if self.stamp.is_file() else ""
        return stamped == self.wanted() and self.python.is_file()


def make_environment(place: Place) -> None:
    """Create an empty environment, replacing any existing one."""
    if not importlib.util.find_spec("ensurepip"):
        raise SetupError(
            "this Python comes without its module ensurepip; install the rest of Python "
            "(on Debian and Ubuntu: sudo apt install python3-venv)"
        )
    if shutil.disk_usage(place.root).free < SPACE_NEEDED:
        raise SetupError(f"the disk of {place.root} has less than 2 GB free")
    # In this process, because it may be running in the environment to be deleted.
    venv.EnvBuilder(clear=True, symlinks=os.name != "nt", with_pip=True).create(place.venv)


def install_packages(place: Place) -> None:
    """Install the pinned packages, then the project itself from this folder."""
    checked = ("--require-hashes", "--only-binary", ":all:")
    builder = place.venv / "airover-builder.txt"
    pins = place.pins.read_text(encoding="utf-8")
    builder.write_text(pinned("setuptools", pins), encoding="utf-8")
    pip_install(place, *checked, "-r", builder)
    pip_install(place, *checked, "--no-binary", SOURCE_ONLY, "-r", place.pins)
    pip_install(place, "--no-deps", "--editable", place.root)
    quieten(place)


def quieten(place: Place) -> None:
    """Turn off JupyterLab's news and update checks, because worksheets need no network."""
    settings = place.path("data") / "share" / "jupyter" / "lab" / "settings"
    settings.mkdir(parents=True, exist_ok=True)
    quiet = {"fetchNews": "false", "checkForUpdates": False}
    overrides = {"@jupyterlab/apputils-extension:notification": quiet}
    (settings / "overrides.json").write_text(json.dumps(overrides), encoding="utf-8")


def pinned(name: str, pins: str) -> str:
    """Return the entry for one package in the list of ``pins``."""
    parts = re.split(r"^(?=\S)", pins, flags=re.MULTILINE)
    return "".join(part for part in parts if part.startswith(f"{name}=="))


def pip_install(place: Place, *what) -> None:
    # No build isolation: an isolated build would fetch its tools without hash checks.
    options = ("--no-input", "--progress-bar", "off", "--use-pep517", "--no-build-isolation")
    command = [str(place.python), "-m", "pip", "install", *options, *map(str, what)]
    # The user's pip settings apply (index, proxy, certificates), except those that would
    # install the packages elsewhere or require hashes for the project itself.
    env = {**os.environ, "PIP_USER": "0", "PIP_REQUIRE_HASHES": "0"}
    with open(place.log, "ab") as log:
        pip = subprocess.Popen(
            command, cwd=place.root, env=env, stdout=log, stderr=subprocess.STDOUT
        )
        if watch(pip, place):
            raise SetupError(reason(said_by_pip(place)))


def said_by_pip(place: Place) -> str:
    """Return the pip output so far, decoded with this computer's character set."""
    return place.log.read_text(encoding="locale", errors="replace")


def watch(pip: subprocess.Popen, place: Place) -> int:
    """Show the progress of ``pip`` until it ends: one line in a terminal, else occasional lines."""
    pause, end = (0.5, "\r") if sys.stdout.isatty() else (10.0, "\n")
    try:
        while True:
            try:
                return pip.wait(pause)
            except subprocess.TimeoutExpired:
                print(f"  {progress(place)}", end=end, flush=True)
    finally:
        pip.kill()  # on Ctrl-C pip must end too; no effect if it has already ended


def progress(place: Place) -> str:
    """Return how many of the pinned packages for this computer are fetched and installed."""
    pins = re.findall(r"^([\w.-]+)==", place.pins.read_text(encoding="utf-8"), re.MULTILINE)
    log = said_by_pip(place)
    fetched = re.findall(r"^(?:Collecting|Processing) ", log, re.MULTILINE)
    not_for_here = re.findall(r"^Ignoring ", log, re.MULTILINE)
    folders = place.path("purelib").glob("*.dist-info")
    installed = {path.name.split("-")[0].lower().replace("_", "-") for path in folders}
    total = len(pins) - len(not_for_here)
    return f"{len(fetched)} fetched, {len(installed & set(pins))} installed, of {total} packages"


def reason(said: str) -> str:
    """Return one sentence on the failure: the first known reason, else the last error or line."""
    for sign, meaning in REASONS.items():
        if sign in said:
            return meaning
    lines = said.splitlines() or ["pip ended without a word"]
    return ([line for line in lines if line.startswith("ERROR:")] or lines)[-1]


def prepare(place: Place, make=make_environment, install=install_packages) -> None:
    """Create the environment unless a finished one exists; the stamp is written last."""
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
    except subprocess.CalledProcessError as error:  # from ensurepip, in venv
        raise SetupError(reason(error.output.decode(errors="replace"))) from error
    print(f"\nThe set-up is ready after {time.monotonic() - start:.0f} s.", flush=True)


def run(place: Place, *args, cwd=None) -> int:
    """Run the environment's Python and return its exit code.

    Ctrl-C is left to the child program, and a request to end this process ends the child.
    """
    child = subprocess.Popen([str(place.python), *map(str, args)], cwd=cwd)
    # Handled without raising: an exception in wait() can lose the child's exit code.
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
    # -P: a file in the user's folder must never replace a module of the environment.
    return run(place, "-P", "-m", "airover", *args, cwd=cwd)


def first_run(place: Place, no_open: bool) -> int:
    """Evaluate the sample job and, if successful, open the first worksheet."""
    code = airover(place, "work", "data/jobs/roof-unit.toml", "--out", "results", cwd=place.root)
    if no_open or code:
        return code
    print("\nOpening JupyterLab; Ctrl-C ends it.", flush=True)
    # For this computer only, by token; --allow-root matters only in containers.
    options = ("--ServerApp.ip=127.0.0.1", "--allow-root")
    worksheet = "worksheets/01-replacement.ipynb"
    return run(place, "-m", "jupyterlab", *options, worksheet, cwd=place.root)


def spread(args: list, place: Place) -> list:
    """Return pytest options that use every processor.

    Return no options if ``args`` names tests or a number of processes.
    """
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
