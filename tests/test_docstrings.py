"""Everything public in the core says what it is, and that it refuses bad input."""

import ast
import importlib
import inspect
import pkgutil
import re
import textwrap

import pytest

import airover

from .markdown import names, table

PAGE = "DEVELOPERS.md"
LAYERS = {row[0]: names(row[1]) for row in table(PAGE, "Layers", "layer")}
PHYSICS, JUDGING = LAYERS["2"], [*LAYERS["4"], "reports"]


def modules(packages: list[str]) -> list:
    """The modules of ``packages``, and those inside of them."""
    prefixes = tuple(f"airover.{name}" for name in packages)
    found = pkgutil.walk_packages(airover.__path__, "airover.")
    listed = (one.name for one in found if one.name.startswith(prefixes))
    return [importlib.import_module(name) for name in listed]


def public(module) -> dict:
    """The public functions and classes that ``module`` defines, by name."""
    own = {k: v for k, v in vars(module).items() if getattr(v, "__module__", "") == module.__name__}
    return {k: v for k, v in own.items() if not k.startswith("_") and callable(v)}


def methods(cls: type) -> dict:
    """The public methods that ``cls`` defines, by name; of a class method the function."""
    own = {name: getattr(value, "__func__", value) for name, value in vars(cls).items()}
    return {k: v for k, v in own.items() if not k.startswith("_") and inspect.isfunction(v)}


def catalogue(packages: list[str], classes: bool) -> dict:
    """What has arguments, by its full name, each with the docstring of what it stands in.

    Functions; and with ``classes`` also classes, by their fields, and their methods.
    """
    found = {}
    for module in modules(packages):
        for name, thing in public(module).items():
            full = f"{module.__name__.removeprefix('airover.')}.{name}"
            if classes or not inspect.isclass(thing):
                found[full] = (thing, inspect.getdoc(module))
            if inspect.isclass(thing) and classes:
                around = inspect.getdoc(thing)
                found |= {f"{full}.{k}": (v, around) for k, v in methods(thing).items()}
    return found


PHYSICAL = catalogue(PHYSICS, classes=True)
ALL = PHYSICAL | catalogue(JUDGING, classes=False)


def explained(full: str) -> str:
    """Docstrings that tell about ``full``: its own, its class's, one that it points to."""
    thing, around = ALL[full]
    text = f"{inspect.getdoc(thing)}\n{around or ''}"
    for other in re.findall(r"\bas in (\w+)", text):
        text += ALL.get(f"{full.rpartition('.')[0]}.{other}", ("", ""))[0].__doc__ or ""
    return text


@pytest.mark.parametrize("full", ALL)
def test_everything_public_has_a_docstring(full):
    thing = ALL[full][0]
    own = inspect.getdoc(thing) or ""
    generated = own.startswith(f"{thing.__name__}(")  # what dataclasses and tuples write
    assert own and not generated


def refuses(thing) -> bool:
    """True when the code of ``thing`` checks a range or raises InputError itself."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(thing)))
    calls = (node.func for node in ast.walk(tree) if isinstance(node, ast.Call))
    return any(isinstance(f, ast.Name) and f.id in ("check", "InputError") for f in calls)


REFUSING = [full for full in ALL if refuses(ALL[full][0])]


@pytest.mark.parametrize("full", sorted(REFUSING))
def test_what_refuses_input_says_so(full):
    assert "InputError" in explained(full) or "errors as in" in explained(full)
