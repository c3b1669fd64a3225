"""A mutant changes what is loaded, wherever that is known, and nothing else."""

import sys
import types

import pytest

from tests.mutants.copy import PROJECT
from tests.mutants.plant import plant, with_hits
from tests.mutants.planted import faults

TEXT = '''
import functools
FACTOR = 2.0

def doubled(x, extra=1.0):
    """Twice."""
    return FACTOR * x + extra

@functools.cache
def kept(x):
    return x + 1

class Room:
    height = 3.0

    def __init__(self, width):
        self.width = width

    @property
    def area(self):
        return self.width * self.height

    @classmethod
    def small(cls):
        return cls(1.0)
'''


@pytest.fixture
def module(monkeypatch):
    made = types.ModuleType("tests.made_up")
    made.__file__ = "made_up.py"
    exec(compile(TEXT, made.__file__, "exec"), made.__dict__)  # noqa: S102 - the text above
    monkeypatch.setitem(sys.modules, made.__name__, made)
    return made


@pytest.mark.parametrize(
    ("before", "after", "found"),
    [
        ("FACTOR * x", "FACTOR / x", (1.5, 5.0, 6.0, 1.0)),
        ("extra=1.0", "extra=2.0", (10.0, 5.0, 6.0, 1.0)),
        ("x + 1", "x - 1", (9.0, 3.0, 6.0, 1.0)),
        ("self.width * self.height", "self.width - self.height", (9.0, 5.0, -1.0, 1.0)),
        ("cls(1.0)", "cls(2.0)", (9.0, 5.0, 6.0, 2.0)),
        ("FACTOR = 2.0", "FACTOR = 3.0", (13.0, 5.0, 6.0, 1.0)),
        ("height = 3.0", "height = 4.0", (9.0, 5.0, 8.0, 1.0)),
    ],
)
def test_one_fault_is_planted(module, before, after, found):
    doubled, kept, room = module.doubled, module.kept, module.Room(2.0)  # as imported before
    assert (doubled(4), kept(4), room.area, module.Room.small().width) == (9.0, 5.0, 6.0, 1.0)
    assert TEXT.count(before) == 1
    plant(module, TEXT.replace(before, after), constants=True)
    assert (doubled(4), kept(4), room.area, module.Room.small().width) == found


def test_what_is_reached_is_told(module, monkeypatch):
    hits = []
    monkeypatch.setattr("builtins.__hit__", hits.append, raising=False)
    plant(module, with_hits(TEXT, "made_up"), constants=False)
    assert module.Room.small().area == 3.0 and module.doubled(1) == 3.0
    whole = ["made_up:Room.small", "made_up:Room.__init__", "made_up:Room.area", "made_up:doubled"]
    assert hits == whole


def test_each_fault_planted_by_hand_still_has_its_place_and_its_test():
    found = faults()
    assert len({one.name for one in found}) == len(found) > 25
    for one in found:
        assert one.before != one.after and one.text()
        file, _, test = one.test.partition("::")
        text = (PROJECT / file).read_text(encoding="utf-8")
        assert not test or f"def {test}(" in text, one.test
