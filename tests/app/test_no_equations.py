"""Text that looks like an equation is shown as it is written, as JupyterLab typesets HTML."""

import re

import pandas as pd
import pytest

from airover.app import live, style
from airover.reports import writing

# JupyterLab's delimiters, searched in each run of text between two elements
EQUATION = re.compile(r"\$[^$]+\$|\$\$.+\$\$|\\\(.+\\\)|\\\[.+\\\]|\\begin\{.+\}.*\\end", re.DOTALL)
TEXTS = (
    "$5 or $6",
    "$$x$$",
    r"\(x\)",
    r"\[x\]",
    r"\begin{a}b\end{a}",
    r"a\$b$c$",
    "a & b &#36;x&#36;",
)


def has_equation(html: str) -> bool:
    return any(EQUATION.search(text) for text in re.split(r"<[^>]*>", html))


def plain(html: str) -> str:
    return re.sub(r"<[^>]*>", "", html)


@pytest.mark.parametrize("text", TEXTS)
def test_no_part_of_a_panel_is_typeset_as_an_equation(text):
    frame = pd.DataFrame({text: [text]})
    for made in (style.text(text), style.verdict("fits", text), style.listed(text, [text]),
                 style.table(frame), style.rows([text], [[text, text]]), style.folded(text)):  # fmt: skip
        assert not has_equation(made)
        assert style.escape(text) in plain(made)


@pytest.mark.parametrize("text", TEXTS[:-1])
def test_no_table_of_a_worksheet_is_typeset_as_an_equation(text):
    frame = pd.DataFrame({"motor": [text]})
    with live._as_text(frame):
        assert "mathjax_ignore" in frame._repr_html_()
    ordinary = pd.DataFrame({"motor": ["Demo A-005"]})
    with live._as_text(ordinary):
        assert "mathjax_ignore" not in ordinary._repr_html_()


def test_text_without_these_signs_is_not_changed():
    assert writing.no_equation("<p>1/3 hp, 68 USD</p>") == "<p>1/3 hp, 68 USD</p>"
