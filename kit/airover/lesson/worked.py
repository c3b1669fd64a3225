"""What the function behind a question gives back."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class Worked(NamedTuple):
    """A question worked out with one student's numbers, in SI units.

    ``value`` is the answer; ``slips`` are the values that usual slips lead to, by the slip's key;
    ``shown`` are further amounts that the solution tells: value and kind (a key of
    `kinds.KINDS`, "" for a plain number), by their place in the text.
    """

    value: float
    slips: Mapping[str, float] = MappingProxyType({})
    shown: Mapping[str, tuple[float, str]] = MappingProxyType({})
