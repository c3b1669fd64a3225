"""The generated page of checks says what this run found (runs last by its name)."""

from pkgutil import iter_modules

import pytest

from airover import physics
from airover.physics import compiled

from ..markdown import names, table
from .conftest import HEAD, PAGE, ROWS, SECOND, page


def test_the_page_of_checks_is_what_this_run_found(request):
    modules = {item.path.name for item in request.session.items if item.path.parent == PAGE.parent}
    if modules != {path.name for path in PAGE.parent.glob("test_*.py")}:
        pytest.skip("only part of the published checks was run")
    if not compiled.AVAILABLE:
        pytest.skip("independent methods that need numba were not run")
    if request.config.getoption("--write-checks"):
        PAGE.write_text(page(), encoding="utf-8")
    assert ROWS, "no published check was run"
    assert PAGE.read_text(encoding="utf-8").startswith(HEAD)
    assert PAGE.read_text(encoding="utf-8") == page(), "run pytest tests/published --write-checks"


def test_every_physics_module_has_an_independent_method():
    modules = {module.name for module in iter_modules(physics.__path__)}
    modules -= {"kernels", "machine_code"}  # run by `compiled`
    rows = table("tests/published/CHECKS.md", SECOND, "module")
    assert {name for row in rows for name in names(row[0])} >= modules
