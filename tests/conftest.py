"""Settings for all tests: Hypothesis, the --quick selection, and distribution over processes."""

import gc
import os
import tempfile
from pathlib import Path, PurePath, PurePosixPath

import pytest
from hypothesis import settings

from tests.slowest import Slowest

# Every test starts with the sample job, regardless of the user's worksheets and other tests.
STATE = "AIROVER_STATE"
os.environ[STATE] = tempfile.mkdtemp(prefix="airover-state-")
# Every motor and oil film is calculated once in a run. Its processes and the commands that it
# starts share the results, and the user's own cache is left alone.
KEPT = None
if "PYTEST_XDIST_WORKER" not in os.environ:
    KEPT = tempfile.TemporaryDirectory(prefix="airover-cache-", ignore_cleanup_errors=True)
    os.environ["AIROVER_CACHE"] = KEPT.name
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # commands do not compile the kit again


def _with_own_state():
    before = os.environ[STATE]
    with tempfile.TemporaryDirectory(prefix="airover-state-", ignore_cleanup_errors=True) as folder:
        os.environ[STATE] = folder
        yield
        os.environ[STATE] = before


own_state_of_a_module = pytest.fixture(autouse=True, scope="module")(_with_own_state)
own_state_of_a_test = pytest.fixture(autouse=True)(_with_own_state)

# Local runs generate new cases each time, so that many runs try many cases. In CI, where results
# must be repeatable, cases are fixed.
settings.register_profile("few", max_examples=50)
settings.register_profile("same", settings.get_profile("few"), derandomize=True)
settings.load_profile("same" if os.environ.get("CI") else "few")

# Tests that `--quick` runs: in these files and folders, the tests whose names contain one of the
# words, or all tests if there are no words. Tests marked slow are excluded.
QUICK = {
    "published": (),
    "01-replacement.ipynb": (),
    "test_choose_electrical.py": (),
    "test_choose_load.py": (),
    "test_choose_mechanical.py": (),
    "test_documents_agree.py": (
        "half a",
        "460 V",
        "115 V",
        "825 rpm",
        "price",
        "commands",
        "costs",
    ),
    "test_fleet.py": ("no_rule", "renewals"),
    "test_job.py": (),
    "test_rooms.py": (),
    "test_nameplate.py": (),
    "test_one_motor.py": (),
    "test_ordinary.py": (),
    "test_proposal.py": ("labour_line", "firm_price"),
    "test_refusals.py": (),
    "test_scope.py": (),
    "test_stock.py": ("best_of_all", "stands_for_four", "next_motor"),
    "test_texts.py": (),
    "test_units.py": (),
}
SHARED = {"test_calibration.py": "test_catalog_data.py"}  # both use the circuits of the catalog
PUBLISHED = "published"  # one process runs this folder because CHECKS.md is compared with all of it
# These tests take the longest, so they start first to keep all processes busy until the end. Code
# for fleets is compiled by PUBLISHED, so the tests that run fleets in new processes come later.
LONGEST = (
    "test_setup.py",
    PUBLISHED,
    "test_page_app.py",
    "test_lab.py",
    "test_page.py",
    "test_reference.py",
    "test_page_server.py",
    "test_cli.py",
    "test_commands.py",
    "test_catalog_data.py",
    "test_bench.py",
    "test_fuzz.py",
    "test_uploads.py",
    "test_no_home.py",
    "test_soak.py",
    "test_verify.py",
    "test_fleet.py",
    "test_truck_decision.py",
    "test_heat_panel.py",
    "test_page_guarded.py",
    "08-stock.ipynb",
    "test_ordinary.py",
    "test_stock_panel.py",
    "test_proposal_panel.py",
    "test_server.py",
    "test_files.py",
    "test_documents_agree.py",
)


def pytest_addoption(parser):
    what = "only the tests that find most faults, in less than a minute"
    parser.addoption("--quick", action="store_true", help=what)
    what = "write the slowest tests of this run to tests/bench/RESULTS.md"
    parser.addoption("--slowest", action="store_true", help=what)


def pytest_configure(config):
    """Time the tests if asked. Processes of pytest-xdist report to the one that started them."""
    if config.getoption("--slowest") and not hasattr(config, "workerinput"):
        config.pluginmanager.register(Slowest(int(config.getoption("numprocesses", 0) or 1)))


def pytest_collection_finish():
    """Spare the garbage collector everything that is loaded by now, and that stays until the end."""
    gc.collect()
    gc.freeze()


def pytest_unconfigure():
    if KEPT is not None:
        KEPT.cleanup()


def pytest_ignore_collect(collection_path: Path, config):
    """Skip files that are not in the quick selection. Worksheets are removed after collection."""
    if not config.getoption("--quick") or collection_path.is_dir():
        return None
    roads = collection_path.name.startswith("test_roads")  # slow, and in the "published" folder
    return True if roads or _named(collection_path) not in QUICK else None


def pytest_collection_modifyitems(config, items):
    """Remove tests that are not in the quick selection, and start with the longest tests."""
    if config.getoption("--quick"):
        left_out = [item for item in items if not _is_quick(item)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if _is_quick(item)]
    items.sort(key=lambda item: _place(_group(item.nodeid)))


def _named(path: PurePath) -> str:
    """Return the folder name for published checks, or the file name for other tests."""
    return PUBLISHED if path.parent.name == PUBLISHED else path.name


def _is_quick(item) -> bool:
    words = QUICK.get(_named(item.path))  # worksheets are collected even with --quick
    named = words is not None and (not words or any(word in item.name for word in words))
    return named and item.get_closest_marker("slow") is None


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Run all tests of a file in one process because they share fixtures."""
    from xdist.scheduler import LoadScopeScheduling

    class ByGroup(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            return _group(nodeid)

    return ByGroup(config, log)


def _group(nodeid: str) -> str:
    """Return the name of the file or folder whose tests must stay together with this one."""
    name = _named(PurePosixPath(nodeid.partition("::")[0]))
    return SHARED.get(name, name)


def _place(group: str) -> int:
    return LONGEST.index(group) if group in LONGEST else len(LONGEST)
