"""The reference pages are complete and say what the code says; the site builds without a warning."""

import importlib.util
import re
import subprocess
import sys

import pytest

from tests.markdown import ROOT

SITE = ROOT / "worksheets" / "guide" / "site"
OUTSIDE = re.compile(
    r"<(?:script|link|img|iframe|source)\b[^>]*(?:src|href)=[\"'](?:https?:)?//", re.IGNORECASE
)


@pytest.fixture(scope="module")
def reference():
    spec = importlib.util.spec_from_file_location("reference", SITE / "reference.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_reference_is_current(reference):
    """Every field, column, option, check and JSON key, as the code has it now."""
    for name, text in reference.pages().items():
        kept = (SITE.parent / name).read_text(encoding="utf-8")
        assert kept == text, "run python worksheets/guide/site/reference.py"


def test_a_field_without_its_meaning_is_found(reference, monkeypatch):
    told = reference.Meanings()
    del told.entries["job.site"]["elevation"]
    told.entries["job.site"]["height"] = "Not a field"
    told.unused.add(("job.site", "height"))
    reference.files_page(told)
    assert told.missing == ["job.site: elevation"]
    assert ("job.site", "height") in told.unused


def test_an_example_that_is_rejected_is_found(reference):
    with pytest.raises(ValueError, match="elevation"):
        reference.check_example(reference.Site, "elevation", '"900 kg"')


@pytest.mark.slow
def test_the_site_builds_and_fetches_nothing(tmp_path):
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-b", "html"]
    command += ["-c", str(SITE), "-d", str(tmp_path / "doctrees"), ".", str(tmp_path / "site")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    pages = list((tmp_path / "site").rglob("*.html"))
    assert len(pages) > 50
    assert not [page for page in pages if OUTSIDE.search(page.read_text(encoding="utf-8"))]
    replacement = tmp_path / "site" / "worksheets" / "guide" / "01-replacement.html"
    assert "<math" in replacement.read_text(encoding="utf-8")
    physics = tmp_path / "site" / "results" / "api" / "airover.physics.html"  # one page for a room
    assert "moist_air_density" in physics.read_text(encoding="utf-8")
    assert (tmp_path / "site" / "index.html").is_file()
