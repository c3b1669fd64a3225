"""The reference of the code: public names have docstrings, and their examples hold."""

import doctest
import importlib
import inspect
import pkgutil

import airover
from tests.markdown import ROOT

EDGES = ("airover.__main__", "airover.app")  # what people touch


def modules() -> list:
    """The modules that other code may build on: all but the edges."""
    found = (one.name for one in pkgutil.walk_packages(airover.__path__, "airover."))
    return [importlib.import_module(name) for name in found if not name.startswith(EDGES)]


def undocumented(module) -> list[str]:
    """The module and its public functions and classes, where nothing is said of them."""
    own = {name: thing for name, thing in vars(module).items() if _is_public(module, name, thing)}
    return [f"{module.__name__}.{name}" for name, thing in own.items() if not _said(thing)]


def _is_public(module, name: str, thing) -> bool:
    here = getattr(thing, "__module__", "") == module.__name__
    return here and callable(thing) and not name.startswith("_")


def _said(thing) -> bool:
    """A docstring of its own: neither inherited, nor the one that Python makes of the fields."""
    told = vars(thing).get("__doc__") if inspect.isclass(thing) else thing.__doc__
    made = inspect.isclass(thing) and (told or "").startswith(f"{thing.__name__}(")
    return bool(told and told.strip()) and not made


def test_every_public_name_has_its_docstring():
    assert not [name for module in modules() for name in undocumented(module)]


def test_the_examples_in_docstrings_hold():
    texts = (ROOT / "kit" / "airover" / "app").glob("*.py")
    edges = [path.stem for path in texts if ">>>" in path.read_text(encoding="utf-8")]
    with_examples = [importlib.import_module(f"airover.app.{name}") for name in edges]
    results = [doctest.testmod(module) for module in (*modules(), *with_examples)]
    assert sum(one.attempted for one in results) > 50
    assert sum(one.failed for one in results) == 0, "see what is printed"
