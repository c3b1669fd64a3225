"""A verified motor as tables (pandas)."""

import pandas as pd

from airover.bands import Band
from airover.verify.next_reading import PAIR
from airover.verify.readings import FIGURES, READINGS, told
from airover.verify.verified import Verified, percent

_AGAINST = {"expected": "what was expected", "plate": "the plate"}
WORTH = 0.01  # bits, or of the variance, from which a reading is worth a row
_COMPARED = ("reading", "given", "beside", "allowed", "result")


def comparisons(found: Verified) -> pd.DataFrame:
    """One row for each reading and what it is compared with; questioned ones last."""
    rows = [
        (
            _named(found, one.moment, one.name),
            one.text,
            _AGAINST[one.against],
            _range(one, found.system),
            one.state,
        )
        for one in found.judged
    ]
    rows += [
        (_named(found, one.moment, one.name), one.text, "", "", "questioned, left out")
        for one in found.questioned
    ]
    return pd.DataFrame(rows, columns=_COMPARED)


def inferred_figures(found: Verified) -> pd.DataFrame:
    """What nobody read: expected before, and inferred with the readings; 9 cases of 10."""
    rows = [
        (
            FIGURES[name][0],
            _between(found.bands_before[name], FIGURES[name][1], found.system),
            _between(band, FIGURES[name][1], found.system),
        )
        for name, band in found.bands.items()
    ]
    return pd.DataFrame(rows, columns=("figure", "expected before", "with the readings"))


def faults(found: Verified) -> pd.DataFrame:
    """None and every fault with its chance before and after, and what to look at."""
    rows = [(one.name, percent(one.before), percent(one.chance), one.state, one.look)
            for one in found.findings]  # fmt: skip
    columns = ("it may be", "usual chance", "with the readings", "result", "look at")
    return pd.DataFrame(rows, columns=columns)


def next_figures(found: Verified, most: int = 5) -> pd.DataFrame:
    """What else to read, the most useful first."""
    rows = [
        (
            "microfarads, by volts and amps" if one.name == PAIR else READINGS[one.name].words,
            f"{one.bits:.2f}",
            f"{100 * one.share:.0f} %",
        )
        for one in found.next[:most]
        if max(one.bits, one.share) >= WORTH
    ]
    return pd.DataFrame(
        rows, columns=("read", "bits it would tell", "of the shaft power's variance")
    )


def _named(found: Verified, moment: int, name: str) -> str:
    words = READINGS[name].words if name in READINGS else "outdoor temperature"
    return words if len(found.measured.reading) < 2 else f"{words}, reading {moment + 1}"


def _range(one, system: str) -> str:
    ends = [None if end is None else told(one.kind, end, system) for end in (one.low, one.high)]
    return f"at most {ends[1]}" if ends[0] is None else f"{ends[0]} to {ends[1]}"


def _between(band: Band, kind: str, system: str) -> str:
    return f"{told(kind, band.low, system)} to {told(kind, band.high, system)}"
