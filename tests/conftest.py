"""Settings of all tests: Hypothesis, the quick part, and what the processes of a run share."""

import os
from pathlib import Path, PurePosixPath

import pytest
from hypothesis import settings

# At a desk every run looks at new cases; where a verdict hangs on it, at the same ones each time.
settings.register_profile("same", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("same")

# What `--quick` runs: the main job on ordinary jobs, the other jobs once each, published values,
# refusals, texts. Of these files it leaves out what is marked slow.
QUICK = {
    "01-replacement.ipynb",
    "test_ordinary.py",
}
PUBLISHED = "published"  # one process runs this folder: CHECKS.md is compared with all of it
# These take longest, so they start first.
LONGEST = (
    "test_setup.py",
    PUBLISHED,
)


def pytest_addoption(parser):
    what = "only the tests that find most faults, in less than a minute"
    parser.addoption("--quick", action="store_true", help=what)


def pytest_ignore_collect(collection_path: Path, config):
    """Leave out files that are not in the quick part."""
    if not config.getoption("--quick") or collection_path.is_dir():
        return None
    return True if not {collection_path.name, collection_path.parent.name} & QUICK else None


def pytest_collection_modifyitems(config, items):
    """Leave slow tests out of the quick part, and begin with what takes longest."""
    if config.getoption("--quick"):
        slow = [item for item in items if item.get_closest_marker("slow")]
        config.hook.pytest_deselected(items=slow)
        items[:] = [item for item in items if item not in slow]
    items.sort(key=lambda item: _place(_group(item.nodeid)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Give all tests of a file to one process: they share fixtures."""
    from xdist.scheduler import LoadScopeScheduling

    class ByGroup(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            return _group(nodeid)

    return ByGroup(config, log)


def _group(nodeid: str) -> str:
    """The file of a test by its name, or the folder that stays together."""
    path = PurePosixPath(nodeid.partition("::")[0])
    return PUBLISHED if path.parent.name == PUBLISHED else path.name


def _place(group: str) -> int:
    return LONGEST.index(group) if group in LONGEST else len(LONGEST)
