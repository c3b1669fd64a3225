"""Links within the project lead to files and headings that are there; every page can be reached."""

import re
from pathlib import Path

import pytest

from tests.markdown import ROOT

TOP = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"]
PAGES = [*TOP, "data/SOURCES.md", "tests/published/CHECKS.md"]
PAGES += sorted(path.relative_to(ROOT).as_posix() for path in ROOT.glob("worksheets/guide/*.md"))


def links(text: str) -> list[str]:
    """Where the links and pictures of a page in Markdown lead; code is no link."""
    prose = re.sub(r"^```.*?^```$|`[^`\n]*`", "", text, flags=re.MULTILINE | re.DOTALL)
    return re.findall(r"\]\(([^)\s]+)\)", prose)


def anchors(text: str) -> set[str]:
    """The names that hosted repositories give to the headings of a page."""
    prose = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    headings = re.findall(r"^#+ +(.*)$", prose, flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def target(page: Path, link: str) -> Path:
    return (page.parent / link.partition("#")[0]).resolve() if link[0] != "#" else page


def broken(page: Path, text: str) -> list[str]:
    """The links of ``text``, the text of ``page``, that lead to no file or to no heading of it."""
    return [link for link in links(text) if not _leads(target(page, link), link.partition("#")[2])]


def _leads(path: Path, anchor: str) -> bool:
    inside = path.is_file() and path.is_relative_to(ROOT)
    return inside and (not anchor or anchor in anchors(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page):
    assert not broken(ROOT / page, (ROOT / page).read_text(encoding="utf-8"))


def test_every_page_is_reached_from_the_readme():
    reached, ahead = set(), [ROOT / "README.md"]
    while ahead:
        page = ahead.pop()
        if page not in reached and page.suffix == ".md" and page.is_file():
            reached.add(page)
            text = page.read_text(encoding="utf-8")
            ahead += [target(page, link) for link in links(text)]
    assert {ROOT / page for page in PAGES} <= reached


def test_a_link_astray_is_found():
    page = ROOT / "README.md"
    assert broken(page, "[a](nowhere.md)") == ["nowhere.md"]
    assert broken(page, "[a](DEVELOPERS.md#no-such-heading)") == ["DEVELOPERS.md#no-such-heading"]
    assert broken(page, "![a](../outside.png)") == ["../outside.png"]
    assert not broken(page, "[a](DEVELOPERS.md#set-up-and-test) [b](#two-commands) `[c](d)`")
    assert anchors("# The counter's list\n```sh\n# no heading\n```\n") == {"the-counters-list"}
