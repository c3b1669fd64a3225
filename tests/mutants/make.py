"""The mutants of one source file: each is the file with one small fault.

The faults are those of mutmut's operators (a number one larger, + for -, < for <=, an argument
left out, ...). They are made everywhere in a file: mutmut itself leaves out constants,
properties and whatever else is decorated.
"""

from collections import Counter
from dataclasses import dataclass

import libcst as cst
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.mutators import mutation_operators

ARITHMETIC = (cst.BinaryOperation, cst.UnaryOperation, cst.AugAssign)
NUMBERS = (cst.Integer, cst.Float, cst.Imaginary)


@dataclass(frozen=True)
class Mutant:
    """One fault: its number in the file, where it is, and how the code reads with and without.

    ``where`` is the outermost function or method, dotted; empty for a module's or class's own
    statements. ``nth`` counts the same fault in the same place, so that it keeps its name when
    other lines change. ``numeric`` faults change a number or an arithmetic operator.
    """

    number: int
    where: str
    nth: int
    line: int
    before: str
    after: str
    numeric: bool


class Source:
    """A source file with its mutants in the order of their lines."""

    def __init__(self, text: str):
        wrapper = MetadataWrapper(cst.parse_module(text))
        self.module = wrapper.module
        walk = _Walk(wrapper.resolve(PositionProvider))
        self.module.visit(walk)
        self.changes = walk.found
        seen = Counter()
        self.mutants = [self._mutant(number, seen) for number in range(len(self.changes))]

    def _mutant(self, number: int, seen: Counter) -> Mutant:
        where, line, old, new = self.changes[number]
        before, after = (" ".join(self.module.code_for_node(one).split()) for one in (old, new))
        numeric = isinstance(old, NUMBERS) or (isinstance(old, ARITHMETIC) and "not " not in before)
        nth = seen[where, before, after]
        seen[where, before, after] += 1
        return Mutant(number, where, nth, line, before, after, numeric)

    def planted(self, number: int) -> str:
        """The file's text with one mutant in it."""
        _, _, old, new = self.changes[number]
        return self.module.deep_replace(old, new).code


class _Walk(cst.CSTVisitor):
    """Gathers (outermost function, line, node, node in its place)."""

    def __init__(self, positions):
        self.positions = positions
        self.found = []
        self.names = []  # of the classes and functions around
        self.function = ""  # the outermost one

    def on_visit(self, node) -> bool:
        if isinstance(node, (cst.Annotation, cst.Import, cst.ImportFrom, cst.Decorator)):
            return False
        if _is_text_alone(node):
            return False
        if isinstance(node, (cst.ClassDef, cst.FunctionDef)):
            self.names.append(node.name.value)
            if isinstance(node, cst.FunctionDef) and not self.function:
                self.function = ".".join(self.names)
        line = self.positions[node].start.line if node in self.positions else 0
        for kind, operator in mutation_operators:
            if isinstance(node, kind):
                self.found += [(self.function, line, node, new) for new in operator(node)]
        return True

    def on_leave(self, node) -> None:
        if isinstance(node, (cst.ClassDef, cst.FunctionDef)):
            if ".".join(self.names) == self.function:
                self.function = ""
            self.names.pop()


def _is_text_alone(node) -> bool:
    """Whether a statement is a docstring, or the list of a module's public names."""
    if isinstance(node, cst.Expr):
        return isinstance(node.value, (cst.SimpleString, cst.ConcatenatedString))
    if isinstance(node, cst.Assign):
        target = node.targets[0].target
        return isinstance(target, cst.Name) and target.value == "__all__"
    return False
