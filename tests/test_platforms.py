"""Windows and macOS, as far as another system can tell: what they do differently is put on here."""

import ast

import pytest

from .test_house import FILES, text

KIT = {name: path for name, path in FILES.items() if name.startswith("kit/")}
CODE = [name for name in KIT if name.endswith(".py")]

# Windows: a file of one of these names is a device, whatever its ending; these letters cannot be.
PORTS = {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
DEVICES = {"con", "prn", "aux", "nul"} | PORTS
LETTERS = set('<>:"|?*\\')
LONGEST_PATH = 100  # letters; Windows has 260 for the project's own place as well


# Texts: the usual code of Windows is another one in each region


def untold(source: str) -> list[str]:
    """The calls that read or write a text without a word on its code."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    return [ast.unparse(call) for call in calls if _opens_text(call) and not _has_code(call)]


def _opens_text(call: ast.Call) -> bool:
    name = getattr(call.func, "attr", getattr(call.func, "id", None))
    if name in ("read_text", "write_text"):
        return isinstance(call.func, ast.Attribute)  # safe_file's functions are called by name
    modes = [one.value for one in call.args if isinstance(one, ast.Constant)]
    if name == "open" and isinstance(call.func, ast.Name):
        return "b" not in "".join(map(str, modes[-1:]))
    return "text=True" in map(ast.unparse, call.keywords)  # of a process


def _has_code(call: ast.Call) -> bool:
    return any(word.arg == "encoding" for word in call.keywords)


@pytest.mark.parametrize("name", CODE)
def test_every_text_has_its_code(name):
    assert not untold(text(KIT[name]))


def test_this_rule_finds_what_it_looks_for():
    assert len(untold("open(p)\nopen(p, 'w')\np.read_text()\np.write_text(t)")) == 4
    assert untold("run(c, text=True)") and not untold("draw(x, y, text=told)")
    assert not untold("open(p, 'rb')\np.read_text(encoding='utf-8')\nread_text(p, 'field', 9)")


# Files


def test_every_system_can_keep_the_names_of_the_files():
    parts = {part for name in FILES for part in name.split("/")}
    assert not [part for part in parts if part.lower().split(".")[0] in DEVICES]
    assert not [part for part in parts if LETTERS & set(part) or part[-1] in ". "]
    assert not [name for name in FILES if len(name) > LONGEST_PATH]
    assert len({name.lower() for name in FILES}) == len(FILES)
