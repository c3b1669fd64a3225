"""The layers of DEVELOPERS.md: who may import whom, and what is not loaded at the start."""

import ast
import graphlib
import json
import subprocess
import sys
from pathlib import Path

import pytest

import airover

from .markdown import ROOT, names, table

PACKAGE = Path(airover.__file__).parent
PAGE, HEADING = "DEVELOPERS.md", "Layers"
ROWS = [names(row[1]) for row in table(PAGE, HEADING, "layer")]
ORDER = [module for row in ROWS for module in row]
PHYSICS = {names(row[0])[0]: set(names(row[1])) for row in table(PAGE, HEADING, "module")}
INNER = {names(row[0])[0]: names(row[1]) for row in table(PAGE, HEADING, "package")}
OUTSIDE = {names(row[0])[0]: names(row[1]) for row in table(PAGE, HEADING, "from outside")}
LATE = ("pandas", "matplotlib", "ipywidgets", "pint")


def dotted(path: Path) -> str:
    """The module's name below airover; a package's __init__ has the package's name."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {dotted(path): path for path in sorted(PACKAGE.rglob("*.py"))}
del MODULES[""]  # airover itself, which imports nothing


def imported(source: str) -> set[str]:
    """Every module that Python ``source`` imports, at its top or later, by its full name."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "a relative import: the kit writes names in full"
            full = {f"{node.module}.{alias.name}".removeprefix("airover.") for alias in node.names}
            ours = node.module.split(".")[0] == "airover"
            found |= {f"airover.{_known(name)}" for name in full} if ours else {node.module}
    return found


def _known(name: str) -> str:
    """The module of a dotted name that may end in something inside of it."""
    return name if name in MODULES else name.rpartition(".")[0]


def inside(name: str) -> set[str]:
    """The kit's modules that module ``name`` imports."""
    found = imported(MODULES[name].read_text(encoding="utf-8"))
    return {full.removeprefix("airover.") for full in found if full.startswith("airover.")}


def outside(source: str) -> set[str]:
    """The packages that are neither Python's nor ours."""
    return {full.split(".")[0] for full in imported(source)} - sys.stdlib_module_names - {"airover"}


def top(name: str) -> str:
    return name.split(".")[0]


def test_the_table_names_every_module_once_and_no_other():
    assert sorted(ORDER) == sorted({top(name) for name in MODULES})


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_only_what_the_table_puts_before_it(name):
    before = ORDER[: ORDER.index(top(name)) + 1]
    assert {top(other) for other in inside(name)} <= set(before)


def test_no_circle_of_imports():
    # A part of a package names its neighbours in full, so the package itself is no step.
    graph = {name: inside(name) - {top(name), ""} for name in MODULES}
    assert list(graphlib.TopologicalSorter(graph).static_order())


@pytest.mark.parametrize("name", [name for name in MODULES if name.startswith("physics.")])
def test_physics_modules_stand_alone_but_for_the_listed(name):
    others = {other.removeprefix("physics.") for other in inside(name) if top(other) == "physics"}
    assert others == PHYSICS.get(name.removeprefix("physics."), set())


@pytest.mark.parametrize("package", INNER)
def test_inside_a_package_a_module_imports_only_what_stands_left_of_it(package):
    order = [f"{package}.{name}" for name in INNER[package]]
    assert sorted(order) == [name for name in MODULES if name.startswith(f"{package}.")]
    for place, name in enumerate(order):
        own = {other for other in inside(name) if top(other) == package} - {package}
        assert own <= {*order[:place]}, name


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_only_the_packages_allowed_to_it(name):
    for package in outside(MODULES[name].read_text(encoding="utf-8")):
        assert package in OUTSIDE, f"{package} is not in the table"
        assert OUTSIDE[package] == [] or {name, top(name)} & set(OUTSIDE[package])


def test_no_module_takes_what_another_keeps_to_itself():
    for name, path in MODULES.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert not [a.name for a in node.names if a.name.startswith("_")], name


def worksheets() -> list[Path]:
    return sorted((ROOT / "worksheets").glob("*.ipynb"))


def test_worksheets_import_the_kit_and_nothing_else():
    assert worksheets()
    for path in worksheets():
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        for cell in cells:
            if cell["cell_type"] == "code":
                assert {top(full) for full in imported("".join(cell["source"]))} <= {"airover"}


def loaded(program: str) -> set[str]:
    """Which of the late packages a fresh Python has loaded after ``program``."""
    told = f"import sys\n{program}\nprint(*sys.modules.keys() & {set(LATE)!r}, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


def test_the_command_starts_without_the_slow_packages():
    assert loaded("import airover.app.cli") == set()


def test_a_job_in_the_terminal_needs_neither_tables_nor_pictures():
    job = ROOT / "data" / "jobs" / "roof-unit.toml"
    program = f"from airover.app.cli import main\nmain(['work', {str(job)!r}, '--json'])"
    assert loaded(program) <= {"pint"}


def test_the_look_at_loaded_packages_sees_one():
    assert loaded("import pint") == {"pint"}
