"""A worksheet's page in the guide has its parts, and its table of checks says what CHECKS.md says."""

import re

import pytest

from tests.markdown import ROOT, section, table
from tests.published.conftest import KINDS

PAGES = [f"worksheets/guide/{path.stem}.md" for path in sorted(ROOT.glob("worksheets/*.ipynb"))]
CHECKED = "Comparison with published values"


def differences() -> dict[str, float]:
    """The largest difference [%] of each subject of the page of checks."""
    rows = [row for kind in KINDS for row in table("tests/published/CHECKS.md", kind, "subject")]
    largest = {}
    for subject, *_, difference, _, _ in rows:
        apart = abs(float(difference.removesuffix("%")))
        largest[subject] = max(apart, largest.get(subject, 0.0))
    return largest


LARGEST = differences()


@pytest.mark.parametrize("page", PAGES)
def test_a_page_has_its_parts(page):
    text = (ROOT / page).read_text(encoding="utf-8")
    name = page.removeprefix("worksheets/guide/").removesuffix(".md")
    sheet, picture = f"](../{name}.ipynb)", f"](../pictures/{name}.png)"
    for part in (
        sheet,
        picture,
        "**The question.**",
        "**Inputs.**",
        "## Equations",
        "## Limits",
    ):
        assert part in text
    assert "**Not covered.**" in section(page, "Limits")


@pytest.mark.parametrize("page", PAGES)
def test_what_was_checked_is_as_near_as_told(page):
    for subject, _, within in table(page, CHECKED, "subject"):
        assert LARGEST[subject] <= float(within.removesuffix("%")), subject


@pytest.mark.parametrize("page", PAGES)
def test_equations_are_closed(page):
    text = re.sub(r"`[^`\n]*`", "", (ROOT / page).read_text(encoding="utf-8"))
    shown = re.findall(r"\$\$(.*?)\$\$", text, flags=re.DOTALL)
    assert text.count("$$") == 2 * len(shown) and shown
    inline = re.sub(r"\$\$.*?\$\$", "", text, flags=re.DOTALL)
    assert not [one for one in inline.split("\n\n") if one.count("$") % 2]
    for equation in (*shown, *re.findall(r"\$([^$]+)\$", inline)):
        assert equation.count("{") == equation.count("}"), equation
        left, right = (re.findall(rf"\\{side}\b", equation) for side in ("left", "right"))
        assert len(left) == len(right), equation
