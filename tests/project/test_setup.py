"""The set-up: the pinned list, what remakes the environment, and what each verb runs."""

import ast
import importlib.util
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import airover
from airover.core import files
from tests import cut_off

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "kit" / "__main__.py"
PINS = (ROOT / "kit" / "pins.txt").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def load(path):
    spec = importlib.util.spec_from_file_location("kit_main", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


kit = load(SCRIPT)


# The pinned list


def pinned_requirements():
    """Each requirement of the list with its hashes, as (Requirement, text)."""
    bare = re.sub(r"^\s*#.*\n", "", PINS, flags=re.MULTILINE).replace("\\\n", " ")
    return [(Requirement(line.split("--hash")[0]), line) for line in bare.splitlines()]


def test_every_pin_is_one_version_with_hashes():
    assert len(pinned_requirements()) > 50
    for requirement, text in pinned_requirements():
        assert [mark.operator for mark in requirement.specifier] == ["=="], text
        assert re.search(r"--hash=sha256:[0-9a-f]{64}(\s|$)", text), text


def test_the_list_names_no_host_and_no_place_on_a_disk():
    assert "://" not in PINS
    assert "file:" not in PINS
    assert not re.search(r"--(extra-)?index|--find-links|--trusted-host", PINS)
    assert not re.search(r"\b[\w-]+\.(com|org|net|io|dev|example)\b", PINS)
    assert not re.search(r"(^|[\s(=])([A-Za-z]:\\|/|~)", PINS, re.MULTILINE)


def wanted_requirements():
    extras = PROJECT["project"]["optional-dependencies"]
    lists = (
        PROJECT["project"]["dependencies"],
        extras["worksheets"],
        extras["web"],
        extras["fast"],
        extras["weather"],
        extras["refrigerant"],
        extras["fleet"],
        extras["dev"],
        PROJECT["build-system"]["requires"],
    )
    return [Requirement(text) for texts in lists for text in texts]


def test_the_list_covers_what_the_project_asks_for():
    pins = {}
    for pin, _ in pinned_requirements():
        (mark,) = pin.specifier
        pins.setdefault(canonicalize_name(pin.name), []).append(mark.version)
    for wanted in wanted_requirements():
        versions = pins.get(canonicalize_name(wanted.name))
        assert versions and all(map(wanted.specifier.contains, versions)), wanted


def test_one_package_is_picked_from_the_list():
    picked = kit.pinned("numpy", PINS)
    assert set(re.findall(r"^(\S+?)==", picked, re.MULTILINE)) == {"numpy"}
    assert picked.count("numpy==") == PINS.count("\nnumpy==")
    assert "--hash=" in picked


# The script itself


def test_the_script_needs_the_standard_library_only():
    tree = ast.parse(SCRIPT.read_text(encoding="utf-8"))
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.Import)]
    froms = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    names = {alias.name for node in imports for alias in node.names} | {n.module for n in froms}
    assert names
    assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names


def test_an_old_python_can_read_the_script_and_is_told_so():
    ast.parse(SCRIPT.read_text(encoding="utf-8"), feature_version=(3, 8))
    pretend = f"import runpy, sys; sys.version_info = (3, 10, 9); runpy.run_path({str(SCRIPT)!r})"
    command = [sys.executable, "-c", pretend]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert re.fullmatch(
        r"airover requires Python 3\.11 or later\. This is Python [\d.]+\S*\n", done.stderr
    )


def test_the_version_is_the_same_everywhere():
    citation = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert f"\nversion: {airover.__version__}\n" in citation
    assert re.search(r"^## (\S+)", changes, re.MULTILINE)[1] == airover.__version__


# What remakes the environment


@pytest.fixture
def place(tmp_path):
    """A project in a temporary folder, not yet set up."""
    (tmp_path / "kit").mkdir()
    (tmp_path / "kit" / "pins.txt").write_text("numpy==2.0 --hash=sha256:0\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    return kit.Place(tmp_path)


class Installer:
    """Stands in for venv and pip: notes what was asked, and makes the files that they would."""

    def __init__(self, broken_off_by=None):
        self.broken_off_by = broken_off_by
        self.done = []

    def make(self, place):
        self.done.append("make")
        place.python.parent.mkdir(parents=True, exist_ok=True)
        place.python.touch()

    def install(self, place):
        self.done.append("install")
        if self.broken_off_by:
            raise self.broken_off_by

    def prepare(self, place):
        kit.prepare(place, self.make, self.install)
        return self


def test_a_second_run_finds_the_environment_ready(place, capsys):
    assert Installer().prepare(place).done == ["make", "install"]
    assert "Setting up" in capsys.readouterr().out
    assert Installer().prepare(place).done == []
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("name", ["kit/pins.txt", "pyproject.toml"])
def test_a_changed_file_remakes_the_environment(place, name):
    Installer().prepare(place)
    with open(place.root / name, "a") as file:
        file.write("# changed\n")
    assert Installer().prepare(place).done == ["make", "install"]


def test_another_python_remakes_the_environment(place, monkeypatch):
    Installer().prepare(place)
    monkeypatch.setattr(kit.sys, "version", "3.99.0 (another)")
    assert Installer().prepare(place).done == ["make", "install"]


def test_a_moved_project_remakes_the_environment(place):
    Installer().prepare(place)
    moved = place.root.with_name("moved")
    shutil.copytree(place.root, moved)
    assert not kit.Place(moved).is_ready()
    assert place.is_ready()


def test_a_lost_interpreter_remakes_the_environment(place):
    Installer().prepare(place)
    place.python.unlink()
    assert Installer().prepare(place).done == ["make", "install"]


@pytest.mark.parametrize("cause", [KeyboardInterrupt(), kit.SetupError("no network")], ids=repr)
def test_a_broken_off_setup_is_made_anew(place, cause):
    with pytest.raises(type(cause)):
        Installer(broken_off_by=cause).prepare(place)
    assert not place.is_ready()
    assert Installer().prepare(place).done == ["make", "install"]
    assert place.is_ready()


def test_a_remake_that_is_broken_off_leaves_no_old_stamp(place):
    Installer().prepare(place)
    pins = place.pins.read_text()
    place.pins.write_text("numpy==2.1 --hash=sha256:1\n")
    with pytest.raises(KeyboardInterrupt):
        Installer(broken_off_by=KeyboardInterrupt()).prepare(place)
    place.pins.write_text(pins)
    assert not place.is_ready()


def test_pip_itself_is_checked_before_it_installs_the_others(place, monkeypatch):
    """The pip of the Python installation installs nothing else, and each pin with its hash."""
    place.pins.write_text(PINS)
    place.venv.mkdir()
    installed = []

    def note(place, *what):
        assert "--require-hashes" in what or what[-2:] == ("--editable", place.root)
        if "-r" in what:
            text = what[-1].read_text()
            installed.append(set(re.findall(r"^([\w-]+)==", text, re.MULTILINE)))

    others = []
    monkeypatch.setattr(kit, "pip_install", note)
    monkeypatch.setattr(kit, "run_logged", lambda place, *words: others.append(words))
    monkeypatch.delenv("PIP_NO_COMPILE", raising=False)
    kit.install_packages(place)
    assert installed[0] == {"pip", "setuptools"} and installed[1] > installed[0]
    assert others == [("compileall", "-q", "-j", "0", place.path("purelib"))]
    monkeypatch.setenv("PIP_NO_COMPILE", "1")
    kit.compile_packages(place)
    assert len(others) == 1


# What is said when it cannot be made


def test_the_pythons_that_are_named_are_those_of_the_project():
    named = re.findall(r"Python (\d\.\d+) to (\d\.\d+)", " ".join(kit.REASONS.values()))
    known = re.findall(r"Python :: (\d\.\d+)", " ".join(PROJECT["project"]["classifiers"]))
    assert named == [(known[0], known[-1])]
    assert PROJECT["project"]["requires-python"] == f">={known[0]}"
    assert f"Python {known[0]} or later" in kit.__doc__.splitlines()[0]


def test_a_python_without_ensurepip_is_named(place, monkeypatch):
    monkeypatch.setattr(kit.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(kit.SetupError, match="not include the module ensurepip.*python3-venv"):
        kit.make_environment(place)


def test_a_full_disk_is_named_before_anything_is_made(place, monkeypatch):
    usage = shutil.disk_usage(place.root)._replace(free=10**9)
    monkeypatch.setattr(kit.shutil, "disk_usage", lambda path: usage)
    with pytest.raises(kit.SetupError, match="less than 2 GB of free"):
        kit.make_environment(place)
    assert not place.venv.exists()


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("WARNING: Retrying (Retry(total=4\nERROR: No matching distribution", "network"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM", "does not match kit/pins.txt"),
        ("ERROR: Could not install: [Errno 28] No space left on device", "disk is full"),
        ("ERROR: No matching distribution found for numpy==9", "not available for this computer"),
        ("ERROR: Could not install\nHINT: no Windows Long Path support", "short path"),
        ("Collecting a\nERROR: something else\nmore", "ERROR: something else"),
        ("[Errno 13] Permission denied: '.venv'", "Permission denied"),
        ("", "without an error message"),
    ],
)
def test_a_failure_is_told_in_one_sentence(said, sentence):
    assert sentence in kit.reason(said)
    assert "\n" not in kit.reason(said)


def test_a_file_in_the_way_is_told(place):
    def blocked(place):
        raise PermissionError(13, "Permission denied", str(place.venv))

    with pytest.raises(kit.SetupError, match="Permission denied.*close the programs that use"):
        kit.prepare(place, make=blocked)


# What each verb runs


@pytest.fixture
def ran(place, monkeypatch):
    """Runs ``main`` on a finished environment; gives the commands it would run, with folders."""
    Installer().prepare(place)
    commands = []

    def run_main(*args, code=0):
        def note(place, *command, cwd=None):
            commands.append((command, cwd))
            return code

        monkeypatch.setattr(kit, "run", note)
        assert kit.main(list(args), place) == code
        return commands

    return run_main


def test_other_verbs_go_to_the_command_in_the_users_folder(ran):
    commands = ran("work", "JOB.toml", "--json", code=3)
    assert commands == [(("-P", "-m", "airover", "work", "JOB.toml", "--json"), None)]


def test_the_verb_test_runs_pytest_in_the_project(ran, place):
    ((command, folder),) = ran("test", "-k", "fan", code=1)
    assert (command[:3], command[-2:]) == (("-m", "pytest", "-n"), ("-k", "fan"))
    assert folder == place.root


@pytest.mark.parametrize("args", [("kit/pins.txt::one",), ("-n", "4")])
def test_some_tests_run_in_one_process(ran, place, args):
    assert ran("test", *args) == [(("-m", "pytest", *args), place.root)]


def test_no_open_stops_after_the_sample_job(ran, place):
    sample = ("-P", "-m", "airover", "work", "data/jobs/roof-unit.toml", "--out", "results")
    assert ran("--no-open") == [(sample, place.root)]


def test_without_a_verb_the_worksheet_opens_for_this_computer_only(ran):
    _, (lab, _) = ran()
    assert lab[:2] == ("-m", "jupyterlab")
    assert lab[-1] == "worksheets/01-replacement.ipynb"
    assert "--ServerApp.ip=127.0.0.1" in lab
    assert not any("token" in word or "password" in word for word in lab)


def test_a_sample_job_that_goes_wrong_opens_nothing(ran):
    assert len(ran(code=2)) == 1


def test_help_sets_nothing_up(place, capsys):
    assert kit.main(["--help"], place) == 0
    assert "python3 kit test" in capsys.readouterr().out
    assert not place.venv.exists()


class Here(kit.Place):
    """The environment that the tests run in."""

    python = Path(sys.executable)


def test_the_exit_code_and_the_folder_are_kept(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    program = "import os, pathlib, sys; pathlib.Path('here').write_text(os.getcwd()); sys.exit(3)"
    assert kit.run(Here(ROOT), "-c", program) == 3
    assert Path((tmp_path / "here").read_text()) == Path(os.getcwd())


posix = pytest.mark.skipif(os.name == "nt", reason="signals to a group of processes are POSIX")


@posix
def test_a_killed_program_gives_the_code_of_the_shell():
    kill = "import os, signal; os.kill(os.getpid(), signal.SIGTERM)"
    assert kit.run(Here(ROOT), "-c", kill) == 128 + signal.SIGTERM


WAITS = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # where the caller ignores Ctrl-C
try:
    print("waiting", flush=True)
    time.sleep(30)
except KeyboardInterrupt:
    sys.exit(7)
"""


def started_waiting(folder):
    """A process that has run a program which waits."""
    (folder / "waits.py").write_text(WAITS)
    outer = (
        f"import runpy, sys; kit = runpy.run_path({str(SCRIPT)!r}); from pathlib import Path; "
        f"place = type('Here', (kit['Place'],), dict(python=Path(sys.executable)))(Path()); "
        f"sys.exit(kit['run'](place, {str(folder / 'waits.py')!r}))"
    )
    command = [sys.executable, "-c", outer]
    started = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert started.stdout.readline() == "waiting\n"
    return started


@posix
def test_ctrl_c_is_the_programs_to_answer(tmp_path):
    with started_waiting(tmp_path) as started:
        os.killpg(started.pid, signal.SIGINT)
        _, said = started.communicate(timeout=20)
    assert started.returncode == 7
    assert "Traceback" not in said


@posix
def test_who_ends_kit_ends_the_program(tmp_path):
    with started_waiting(tmp_path) as started:
        os.kill(started.pid, signal.SIGTERM)  # to kit alone, as a service manager may
        _, said = started.communicate(timeout=20)  # which the program would hold open
    assert started.returncode == 128 + signal.SIGTERM
    assert "Traceback" not in said


# Where the data is


def test_the_data_of_the_checkout_is_found():
    assert files.data_folder() == ROOT / "data"


def test_lost_data_is_a_clear_error(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "__file__", str(tmp_path / "kit" / "airover" / "core" / "files.py"))
    with pytest.raises(FileNotFoundError, match="data of airover was not found; looked in"):
        files.data_folder()


# Once in full


def copy_of_the_project(folder):
    out = (".git", ".venv", ".*_cache", "__pycache__", ".hypothesis", "results", "dist")
    return shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(*out))


def start_kit(project, *args):
    """Run ``python3 kit`` with ``args`` in ``project``; gives what it did."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    env["PIP_NO_COMPILE"] = "1"  # few modules are ever loaded
    command = [sys.executable, "kit", *args]
    return subprocess.run(
        command, cwd=project, env=env, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """This project if its own kit has set it up, or else a copy after its first start.

    So a first start, such as that of .ci/run, is not repeated right after it.
    """
    here, script = kit.Place(ROOT), ROOT / "kit" / "__main__.py"
    is_used = here.is_ready() and Path(sys.prefix) == here.venv
    if is_used and here.stamp.stat().st_mtime > script.stat().st_mtime:
        return here
    place = kit.Place(copy_of_the_project(tmp_path_factory.mktemp("first") / "project"))
    place.venv.mkdir()
    (place.venv / "half").write_text("left by a set-up that was broken off")

    first = start_kit(place.root, "test", "--version")
    if kit.REASONS["Retrying ("] in first.stderr and "CI" not in os.environ:
        pytest.skip("no connection to a package index")
    assert first.returncode == 0, first.stderr
    assert first.stdout.count("Setting up") == 1
    assert " installed of " in first.stdout, "nothing was shown while it installed"
    assert not (place.venv / "half").exists()
    return place


@pytest.mark.slow
def test_the_pins_install_in_an_empty_environment(installed):
    """What the second start says, and what pip thinks of the result."""
    second = start_kit(installed.root, "test", "--version")
    assert second.returncode == 0, second.stderr
    assert "Setting up" not in second.stdout

    python = str(installed.python)
    subprocess.run([python, "-m", "pip", "check"], capture_output=True, check=True)
    command = "airover.exe" if os.name == "nt" else "airover"
    assert (installed.path("scripts") / command).is_file()

    # Where JupyterLab itself looks for the settings that kit writes.
    command = "from jupyterlab.labapp import LabApp; print(LabApp().app_settings_dir)"
    asked = [python, "-c", command]
    folder = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()
    overrides = json.loads((Path(folder) / "overrides.json").read_text())
    assert overrides["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="only Linux cuts a program off the network")
def test_after_the_first_start_no_network_is_needed(installed, tmp_path):
    """Nothing so much as looks for one, so nothing can wait for it either."""
    if not cut_off.is_permitted() and "CI" not in os.environ:
        pytest.skip("this system lets nobody cut a program off the network")
    found = cut_off.report_on(installed.root, tmp_path)
    looked = found.pop("a look outside")
    for name, one in found.items():
        assert one["way_out"] == 0, f"{name} looks for the network"
        assert "Setting up" not in one["said"], name
    codes = {name: one["code"] for name, one in found.items()}
    assert codes == {"sample job": 0, "page": 200, "lab": 200}
    assert "fits" in found["sample job"]["said"]
    assert "jupyter-config-data" in found["lab"]["said"]
    assert 'id="frame-texts"' in found["page"]["said"]
    assert looked > 0  # so the count does count
