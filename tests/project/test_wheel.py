"""What `pip install` gives: the data travels, and the sample job works far from the checkout."""

import json
import os
import platform
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from airover.core import files

ROOT = Path(__file__).parents[2]


def python(*args, cwd, site=None):
    """Run this Python, with the packages in the folder ``site`` before all others."""
    env = os.environ | ({"PYTHONPATH": str(site)} if site else {})
    command = [sys.executable, *map(str, args)]
    return subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, made from the source archive, as a package index would get both."""
    folder = tmp_path_factory.mktemp("dist")
    done = python("-m", "build", "--no-isolation", "--outdir", folder, ROOT, cwd=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = folder.glob("airover-*.whl")
    return path


@pytest.fixture(scope="module")
def site(wheel, tmp_path_factory):
    """A folder with nothing but the installed wheel."""
    folder = tmp_path_factory.mktemp("site")
    done = python("-m", "pip", "install", "--no-deps", "--target", folder, wheel, cwd=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


def test_every_file_of_the_data_travels(wheel):
    data = ROOT / "data"
    here = {
        path.relative_to(data).as_posix()
        for path in data.rglob("*")
        if path.is_file() and path.parent.name != "__pycache__"
    }
    inside = zipfile.ZipFile(wheel).namelist()
    travelled = [name.removeprefix("airover/data/") for name in inside if "/data/" in name]
    assert here
    assert set(travelled) == here


def test_the_wheel_holds_the_package_and_nothing_else(wheel):
    inside = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0].split("-")[0] for name in inside} == {"airover"}
    assert any(name.endswith("licenses/LICENSE") for name in inside)


def test_the_installed_package_finds_its_own_data(site, tmp_path):
    program = "from airover.core.files import data_folder; print(data_folder())"
    done = python("-P", "-c", program, cwd=tmp_path, site=site)
    assert done.stdout.strip() == str((site / "airover" / "data").resolve()), done.stderr
    assert files.data_folder() == ROOT / "data"


def test_the_sample_job_works_from_the_wheel(site, tmp_path):
    """Without extras, as `pip install` brings it: numba is hidden, and nothing is compiled."""
    job = site / "airover" / "data" / "jobs" / "roof-unit.toml"
    program = (
        "import runpy, sys; sys.modules['numba'] = None; "
        "runpy.run_module('airover', run_name='__main__', alter_sys=True)"
    )
    done = python("-P", "-c", program, "work", job, "--json", cwd=tmp_path, site=site)
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert any(one["verdict"] == "fits" for one in answer["candidates"])
    assert not list(tmp_path.iterdir()), "it left files that nobody asked for"


# What an extra brings


PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
FAST = set() if (sys.platform, platform.machine()) == ("darwin", "x86_64") else {"numba"}


def brought(names: list[str], found: set[tuple[str, str]], extra: str = "") -> set[tuple[str, str]]:
    """The packages of the requirements ``names``, each with an extra or "", and what they need."""
    for asked in map(Requirement, names):
        if asked.marker and not asked.marker.evaluate({"extra": extra}):
            continue
        for one in ["", *sorted(asked.extras)]:
            key = canonicalize_name(asked.name), one
            if key not in found:
                found.add(key)
                brought(requires(asked.name) or [], found, one)
    return found


@pytest.mark.parametrize(
    ("extra", "needed"),
    [
        # A kernel is started by its name, so no import shows that it is needed.
        ("worksheets", {"ipykernel", "ipywidgets", "jupyterlab", "nbclient", "nbformat"}),
        ("web", {"ipywidgets", "jinja2", "platformdirs", "solara", "solara-assets", "starlette", "uvicorn",
                 "websockets"}),
        ("fleet", {"dask", "distributed", "pyarrow"} | FAST),
        ("weather", {"pvlib"}),
        ("refrigerant", {"coolprop"}),
    ],
)  # fmt: skip
def test_an_extra_alone_brings_all_that_its_work_needs(extra, needed):
    wanted = PROJECT["dependencies"] + PROJECT["optional-dependencies"][extra]
    assert needed <= {name for name, _ in brought(wanted, set())}
