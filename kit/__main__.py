"""Install and run airover with Python 3.11 or later.

python3 kit                 evaluate the sample job and open the first worksheet
python3 kit --no-open       evaluate the sample job only
python3 kit test [ARGS]     run all tests and pass ARGS to pytest
python3 kit test --quick    run the most important tests in less than a minute
python3 kit test --slowest  run all tests and list the slowest in tests/bench/RESULTS.md
python3 kit page            open the web page in the browser
python3 kit work JOB.toml   run an airover command; all other commands are run the same way

The first run creates .venv in the project folder, installs the package versions listed in
kit/pins.txt, and verifies the hash of each package. Later runs start immediately. The folder .venv
is created again if the installation was interrupted, or if kit/pins.txt, pyproject.toml, the
Python version or the location of the project folder has changed.
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
    sys.exit(
        "airover requires Python 3.11 or later. This is Python " + platform.python_version() + "."
    )

ROOT = Path(__file__).resolve().parent.parent
SPACE_NEEDED = 2e9  # bytes for the environment and the pip cache
MOST_PROCESSES = 8  # test processes; each needs about 1 GB of memory
SOURCE_ONLY = "psychrolib"  # has no wheel, so it is built with the pinned setuptools

# Error messages in the pip output that indicate a problem outside the project, and their meaning.
REASONS = {
    "DO NOT MATCH THE HASHES": "a downloaded package does not match kit/pins.txt and was not "
    "installed; check the package index and proxy in your pip settings",
    "Windows Long Path": "Windows does not allow paths of more than 260 characters; move the "
    "project to a folder with a short path, or enable long paths in Windows",
    "No space left on device": "the disk is full; free some space for the packages, temporary "
    "files and the pip cache",
    "Retrying (": "the packages could not be downloaded; check the network connection, and the "
    "package index and proxy in your pip settings",
    "No matching distribution": "a package is not available for this computer and this Python "
    "version; use Python 3.11 to 3.14 on a common type of computer",
}


class SetupError(Exception):
    """Installation error with a one-sentence message."""


class Place:
    """Python environment of the project in the folder ``root``, with the files it depends on."""

    def __init__(self, root: Path):
        self.root = root
        self.pins = root / "kit" / "pins.txt"
        self.venv = root / ".venv"
        self.stamp = self.venv / "airover-ready"
        self.log = self.venv / "airover-setup.log"

    def path(self, kind: str) -> Path:
        """Return the environment's folder for ``kind``, a path name in sysconfig."""
        base = str(self.venv)
        return Path(sysconfig.get_path(kind, "venv", {"base": base, "platbase": base}))

    @property
    def python(self) -> Path:
        return self.path("scripts") / ("python.exe" if os.name == "nt" else "python")

    def wanted(self) -> str:
        """Return the hash of everything that a finished environment was created from."""
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
            "this Python installation does not include the module ensurepip; install it (on "
            "Debian and Ubuntu: sudo apt install python3-venv)"
        )
    if shutil.disk_usage(place.root).free < SPACE_NEEDED:
        raise SetupError(f"the disk that contains {place.root} has less than 2 GB of free space")
    # This runs in the current process, which may itself use the environment to be deleted.
    venv.EnvBuilder(clear=True, symlinks=os.name != "nt", with_pip=True).create(place.venv)


def install_packages(place: Place) -> None:
    """Install the pinned pip and packages, and then the project from this folder.

    The pip of the Python installation installs only the pinned pip and setuptools. It can be years
    old and differs between computers.
    """
    checked = ("--require-hashes", "--only-binary", ":all:")
    builder = place.venv / "airover-builder.txt"
    pins = place.pins.read_text(encoding="utf-8")
    builder.write_text(pinned("pip", pins) + pinned("setuptools", pins), encoding="utf-8")
    pip_install(place, *checked, "-r", builder)
    pip_install(place, *checked, "--no-binary", SOURCE_ONLY, "-r", place.pins)
    pip_install(place, "--no-deps", "--editable", place.root)
    compile_packages(place)
    quieten(place)


def compile_packages(place: Place) -> None:
    """Compile the packages on all processors. pip would compile them on one.

    Nothing is compiled if the environment variable PIP_NO_COMPILE is set, as with pip.
    """
    if "PIP_NO_COMPILE" not in os.environ:
        folders = {place.path("purelib"), place.path("platlib")}
        # Files that are not for this version of Python cannot be compiled, and are never used.
        run_logged(place, "compileall", "-q", "-j", "0", *folders)


def quieten(place: Place) -> None:
    """Turn off JupyterLab's news and update checks so that it does not use the network."""
    settings = place.path("data") / "share" / "jupyter" / "lab" / "settings"
    settings.mkdir(parents=True, exist_ok=True)
    quiet = {"fetchNews": "false", "checkForUpdates": False}
    overrides = {"@jupyterlab/apputils-extension:notification": quiet}
    (settings / "overrides.json").write_text(json.dumps(overrides), encoding="utf-8")


def pinned(name: str, pins: str) -> str:
    """Return the entry for the package ``name`` in the list ``pins``."""
    parts = re.split(r"^(?=\S)", pins, flags=re.MULTILINE)
    return "".join(part for part in parts if part.startswith(f"{name}=="))


def pip_install(place: Place, *what) -> None:
    # An isolated build would download its build tools without checking their hashes.
    options = ("--no-input", "--progress-bar", "off", "--no-compile", "--use-pep517",
               "--no-build-isolation")  # fmt: skip
    if run_logged(place, "pip", "install", *options, *what):
        raise SetupError(reason(said_by_pip(place)))


def run_logged(place: Place, module: str, *args) -> int:
    """Run a module of the environment's Python, and return its exit code.

    The output is added to the log, and the progress of the installation is printed.
    """
    command = [str(place.python), "-m", module, *map(str, args)]
    # The user's pip settings apply (index, proxy, certificates), except for settings that would
    # install the packages in another folder or require hashes for the project itself.
    env = {**os.environ, "PIP_USER": "0", "PIP_REQUIRE_HASHES": "0"}
    with open(place.log, "ab") as log:
        child = subprocess.Popen(
            command, cwd=place.root, env=env, stdout=log, stderr=subprocess.STDOUT
        )
        return watch(child, place)


def said_by_pip(place: Place) -> str:
    """Return the pip output so far, decoded with the computer's default encoding."""
    return place.log.read_text(encoding="locale", errors="replace")


def watch(child: subprocess.Popen, place: Place) -> int:
    """Print the progress of the installation until ``child`` ends, and return its exit code."""
    pause, end = (0.5, "\r") if sys.stdout.isatty() else (10.0, "\n")
    try:
        while True:
            try:
                return child.wait(pause)
            except subprocess.TimeoutExpired:
                print(f"  {progress(place)}", end=end, flush=True)
    finally:
        child.kill()  # stops it on Ctrl-C; has no effect if it has finished


def progress(place: Place) -> str:
    """Return the number of packages that were downloaded and installed, as text."""
    pins = re.findall(r"^([\w.-]+)==", place.pins.read_text(encoding="utf-8"), re.MULTILINE)
    log = said_by_pip(place)
    fetched = re.findall(r"^(?:Collecting|Processing) ", log, re.MULTILINE)
    not_for_here = re.findall(r"^Ignoring ", log, re.MULTILINE)
    folders = place.path("purelib").glob("*.dist-info")
    installed = {path.name.split("-")[0].lower().replace("_", "-") for path in folders}
    total = len(pins) - len(not_for_here)
    return (
        f"{len(fetched)} downloaded and {len(installed & set(pins))} installed of {total} packages"
    )


def reason(said: str) -> str:
    """Return the reason for a failure: the first known reason, or the last error or line."""
    for sign, meaning in REASONS.items():
        if sign in said:
            return meaning
    lines = said.splitlines() or ["pip stopped without an error message"]
    return ([line for line in lines if line.startswith("ERROR:")] or lines)[-1]


def prepare(place: Place, make=make_environment, install=install_packages) -> None:
    """Create the environment unless it is already finished, and mark it as finished."""
    if place.is_ready():
        return
    print(
        "Setting up airover in .venv. This takes a minute or two and is done only once.", flush=True
    )
    start = time.monotonic()
    try:
        place.stamp.unlink(missing_ok=True)
        make(place)
        install(place)
        place.stamp.write_text(place.wanted(), encoding="utf-8")
    except OSError as error:
        raise SetupError(
            reason(f"{error}; close the programs that use {place.venv}, or delete it")
        ) from error
    except subprocess.CalledProcessError as error:  # from ensurepip, in venv
        raise SetupError(reason(error.output.decode(errors="replace"))) from error
    print(f"\nSetup finished in {time.monotonic() - start:.0f} s.", flush=True)


def run(place: Place, *args, cwd=None) -> int:
    """Run the environment's Python and return its exit code.

    The child program handles Ctrl-C. If this process is terminated, the child is terminated too.
    """
    child = subprocess.Popen([str(place.python), *map(str, args)], cwd=cwd)
    # The handlers do not raise, because an exception in wait() can lose the child's exit code.
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
    # -P prevents files in the user's folder from replacing modules of the environment.
    return run(place, "-P", "-m", "airover", *args, cwd=cwd)


def first_run(place: Place, no_open: bool) -> int:
    """Evaluate the sample job and, if this succeeds, open the first worksheet."""
    code = airover(place, "work", "data/jobs/roof-unit.toml", "--out", "results", cwd=place.root)
    if no_open or code:
        return code
    print("\nOpening JupyterLab. Press Ctrl-C to stop it.", flush=True)
    # Only this computer has access, and a token is required. --allow-root is needed only in
    # containers.
    options = ("--ServerApp.ip=127.0.0.1", "--allow-root")
    worksheet = "worksheets/01-replacement.ipynb"
    return run(place, "-m", "jupyterlab", *options, worksheet, cwd=place.root)


def spread(args: list, place: Place) -> list:
    """Return the pytest options for using every processor.

    The list is empty if ``args`` contains test names or a number of processes.
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
        sys.exit(f"Setup was not finished: {error}.")
    except KeyboardInterrupt:
        sys.exit("\nInterrupted. The next run starts the setup again.")
