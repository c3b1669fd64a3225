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


def same(name, found, limit, why_not, source=TRADE) -> Check:
    """A fact that has to be the same as the old motor's: pass, fail, or missing."""
    if limit is None or limit == "":
        why = f"The old motor's {name} is not known: read or measure it."
        return Check(name, MISSING, why, source, found, None)
    if found is None or found == "":
        why = f"The catalogue does not say this motor's {name}: ask for it."
        return Check(name, MISSING, why, source, None, limit)
    if found == limit:
        return Check(name, PASS, f"Same {name}: {found}.", source, found, limit)
    return Check(name, FAIL, why_not, source, found, limit)
