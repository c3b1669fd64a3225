"""Plain text for a terminal or a printer (lines, lists, paragraphs), and figures for JSON."""

import textwrap

import numpy as np

from airover.core.intervals import Band

WIDTH = 96  # characters


def paragraphs(parts) -> str:
    """Return the ``parts`` with an empty line between them; empty ones are left out."""
    return "\n\n".join(part for part in parts if part) + "\n"


def listed(title: str, sentences) -> str:
    """Return ``sentences`` below a ``title``, one line or more each; "" where there are none."""
    lines = [wrapped(f"- {sentence}", "", "  ") for sentence in sentences]
    return "\n".join([f"{title}:", *lines]) if lines else ""


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return ``text`` in lines of at most WIDTH; ``first`` and ``rest`` begin them.

    A model number stays on one line.
    """
    ends = {"initial_indent": first, "subsequent_indent": rest}
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, **ends)


def figure(value):
    """Return a Band or a number for JSON in six significant digits; other values as they are.

    Raises ArithmeticError for a number that is not finite.
    """
    if isinstance(value, Band):
        return {name: figure(float(end)) for name, end in value._asdict().items()}
    if isinstance(value, float | np.floating):
        if not np.isfinite(value):
            raise ArithmeticError("a figure of the answer is not finite")
        return float(f"{value:.6g}") + 0.0  # no minus zero
    return value.item() if isinstance(value, np.generic) else value
