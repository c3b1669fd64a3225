"""What `pip install` gives: the data travels, and the sample job works far from the checkout."""

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from airover import locations

ROOT = Path(__file__).parents[1]


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
    here = {path.relative_to(data).as_posix() for path in data.rglob("*") if path.is_file()}
    inside = zipfile.ZipFile(wheel).namelist()
    travelled = [name.removeprefix("airover/data/") for name in inside if "/data/" in name]
    assert here
    assert set(travelled) == here


def test_the_wheel_holds_the_package_and_nothing_else(wheel):
    inside = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0].split("-")[0] for name in inside} == {"airover"}
    assert any(name.endswith("licenses/LICENSE") for name in inside)


def test_the_installed_package_finds_its_own_data(site, tmp_path):
    program = "from airover import locations; print(locations.data_folder())"
    done = python("-P", "-c", program, cwd=tmp_path, site=site)
    assert done.stdout.strip() == str((site / "airover" / "data").resolve()), done.stderr
    assert locations.data_folder() == ROOT / "data"


def test_the_sample_job_works_from_the_wheel(site, tmp_path):
    job = site / "airover" / "data" / "jobs" / "roof-unit.toml"
    done = python("-P", "-m", "airover", "work", job, "--json", cwd=tmp_path, site=site)
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert any(one["verdict"] == "fits" for one in answer["candidates"])
    assert not list(tmp_path.iterdir()), "it left files that nobody asked for"
