"""The reference of the code: every public name of layers 1 to 5 has a docstring, pdoc reads them."""

import inspect
import subprocess
import sys
from collections import namedtuple

import pytest

from .markdown import ROOT
from .test_docstrings import LAYERS, methods, modules, public

PACKAGES = [name for layer in "12345" for name in LAYERS[layer]]
MODULES = {module.__name__: module for module in modules(PACKAGES)}


def undocumented(module) -> list[str]:
    """The module and its public functions and classes, where nothing is said of them.

    A method may be told in the docstring of its class, and a property by its name.
    """
    own = {module.__name__: module, **public(module)}
    return [name for name, thing in own.items() if not _said(thing)]


def _said(thing) -> bool:
    """A docstring of its own: neither inherited, nor the one that Python makes of the fields."""
    told = vars(thing).get("__doc__") if inspect.isclass(thing) else thing.__doc__
    made = inspect.isclass(thing) and (told or "").startswith(f"{thing.__name__}(")
    return bool(told and told.strip()) and not made


@pytest.mark.parametrize("name", MODULES)
def test_every_public_name_has_its_docstring(name):
    assert not undocumented(MODULES[name])


@pytest.mark.parametrize("name", [name for name in MODULES if ".physics." in name])
def test_every_method_of_the_physics_has_its_docstring(name):
    classes = [thing for thing in public(MODULES[name]).values() if inspect.isclass(thing)]
    assert not [k for cls in classes for k, method in methods(cls).items() if not _said(method)]


def test_a_name_without_docstring_is_found():
    assert not _said(namedtuple("Point", "x"))
    assert not _said(lambda: None)
    assert _said(_said)


def test_the_reference_is_made_without_a_warning(tmp_path):
    some = ["airover.errors", "airover.physics.heat", "airover.choose.check", "airover.records"]
    command = [sys.executable, "-W", "error", "-m", "pdoc", *some, "-o", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and not done.stderr, done.stderr
    page = (tmp_path / "airover" / "physics" / "heat.html").read_text(encoding="utf-8")
    assert "film_coefficient" in page and "Churchill and Bernstein" in page
