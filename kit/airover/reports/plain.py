"""Format plain text for a terminal or printer, and numbers for JSON."""

import textwrap
from math import isfinite

import numpy as np

from airover.core.intervals import Band
from airover.core.texts import Writer
from airover.records.limits import Limits

WIDTH = 96  # characters


def paragraphs(parts) -> str:
    """Return the nonempty ``parts`` separated by blank lines."""
    return "\n\n".join(part for part in parts if part) + "\n"


def listed(title: str, sentences) -> str:
    """Return ``sentences`` below a ``title``, or an empty string if there are none."""
    lines = [wrapped(f"- {sentence}", "", "  ") for sentence in sentences]
    return "\n".join([f"{title}:", *lines]) if lines else ""


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Wrap ``text`` at WIDTH, starting the first line with ``first`` and the others with ``rest``.

    Words are not split at hyphens, so a model number stays on one line.
    """
    ends = {"initial_indent": first, "subsequent_indent": rest}
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, **ends)


def changed_limits(limits: Limits, writer: Writer) -> list[str]:
    """Return a list with a sentence about changed limits, or an empty list if there are none."""
    changed = [one.message for one in limits.changed()]
    return [writer("limits.set", limits=changed)] if changed else []


def figure(value):
    """Return a Band or a number for JSON with six significant digits.

    Raises
    ------
    ArithmeticError
        If a number is not finite.
    """
    if isinstance(value, Band):
        return {
            "low": _rounded(value.low),
            "mid": _rounded(value.mid),
            "high": _rounded(value.high),
        }
    if isinstance(value, (float, np.floating)):
        return _rounded(value)
    return value.item() if isinstance(value, np.generic) else value


def _rounded(value) -> float:
    if not isfinite(value):
        raise ArithmeticError("a figure of the answer is not finite")
    return float(f"{value:.6g}") + 0.0  # avoid negative zero
