"""One check of one candidate: what was found, the limit, the margin, why, and whose rule it is."""

from typing import NamedTuple

from airover.bands import Band

PASS, ADAPT, FAIL, MISSING, NOTE = "pass", "adapt", "fail", "missing", "note"

TRADE = "common practice, no source"
MODEL = "worked out by this kit's motor and heat models"


class Check(NamedTuple):
    """``found``, ``limit`` and ``margin`` in ``unit``: a number, a Band, a text or None.

    ``state`` is one of pass, adapt, fail, missing, note; ``why`` is a sentence for people;
    ``source`` says where the rule comes from.
    """

    name: str
    state: str
    why: str
    source: str
    found: float | Band | str | None = None
    limit: float | Band | str | None = None
    margin: float | Band | None = None
    unit: str = ""


def unknown(name, found, limit, unit="") -> Check | None:
    """The check of a fact that nobody knows of the old motor or of this one; None if both do."""
    if limit is None:
        why = f"The old motor's {name} is not known: read or measure it."
    elif found is None:
        why = f"The catalogue does not say this motor's {name}: ask for it."
    else:
        return None
    return Check(name, MISSING, why, TRADE, found, limit, unit=unit)


def same(name, found, limit, why_not) -> Check:
    """A fact that has to be the same as the old motor's: pass, fail, or missing."""
    if missing := unknown(name, found, limit):
        return missing
    if found == limit:
        return Check(name, PASS, f"Same {name}: {found}.", TRADE, found, limit)
    return Check(name, FAIL, why_not, TRADE, found, limit)
