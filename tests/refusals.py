"""Checks of an error message that a change of its wording does not break."""

import re

NUMBER = re.compile(
    r"(?<![\w.])(?:nan|inf|-?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:e[+-]?\d+)?)(?!\w)"
)


def figures(text: str) -> list[str]:
    """Return the numbers in ``text`` in their order; digits of a unit such as m3/s are none."""
    return [f"{float(number.replace(',', '')):g}" for number in NUMBER.findall(text)]


def assert_refused(error, field: str, *said: float | str):
    """Check that ``error`` names ``field`` in one line and says what is needed.

    All its numbers are given in ``said``, in their order; a word in ``said`` occurs somewhere.
    """
    text = str(error)
    assert text.startswith(f"{field}: ") and text.endswith(".") and "\n" not in text
    assert "Enter " in text or "Needed: " in text
    assert figures(text) == [f"{one:g}" for one in said if not isinstance(one, str)], text
    assert all(one in text for one in said if isinstance(one, str)), text
