"""Update the outputs of worksheet cells that depend on a panel, and store its answer.

`Live` is the output of a cell below the panel. It is dimmed as soon as the panel's answer changes
and is updated when the controls stop changing. `Snapshot` stores the panel's answer as ordinary
output for readers who open a worksheet without running it. The style sheet hides the snapshot while
the panel is displayed.
"""

from html import escape

import pandas as pd
from IPython import get_ipython
from IPython.core.formatters import DisplayFormatter
from IPython.display import display

from airover.app import style
from airover.core.errors import InputError
from airover.reports.writing import MATH

WHOLE = ("display.max_colwidth", None)  # option of pandas: no words in a table are cut
WIDGET = "application/vnd.jupyter.widget-view+json"


class Words(str):
    """Text that a cell displays without quotation marks."""

    def __repr__(self) -> str:
        return str(self)


class Live:
    """Cell output that shows part of a panel's answer.

    Parameters
    ----------
    show
        Name of an attribute of ``panel``, or a function that returns a table, a figure or text. Its
        arguments are the attributes ``names`` (the answer by default) and the panel's writer.
    """

    told = "panel.page_earlier"  # shown above outdated output

    def __init__(self, panel, show, names=()):
        self._panel, self._show, self._names = panel, show, names or ("answer",)
        self._is_old, self._value = False, self._new()
        with _as_text(self._value):
            self._handle = display(self._value, display_id=True)

    def age(self) -> None:
        """Mark the output as outdated."""
        if not self._is_old and self._handle is not None:
            self._is_old = True
            self._handle.update(_aged(self._value, self._panel.writer(self.told)), raw=True)

    def refresh(self) -> None:
        """Update the output from the panel's answer."""
        self._is_old, self._value = False, self._new()
        if self._handle is not None:
            with _as_text(self._value):
                self._handle.update(self._value)

    def _new(self):
        panel = self._panel
        if panel.answer is None:
            return Words(panel.writer("worksheet.no_answer"))
        try:
            shown = self._shown()
        except InputError as error:
            return Words(panel.text("page_refused", why=panel.writer.error(error)))
        return Words(shown) if isinstance(shown, str) else shown

    def _shown(self):
        panel = self._panel
        if isinstance(self._show, str):
            return getattr(panel, self._show)
        return self._show(*(getattr(panel, name) for name in self._names), panel.writer)


class Checked(Live):
    """Checked values, calculated when their cell is run and marked as outdated after a change.

    Attributes
    ----------
    show
        Function of the attributes ``names`` that returns values by name.
    """

    told = "worksheet.run_again"

    def refresh(self) -> None:
        self.age()

    def _shown(self):
        return checked(self._show(*(getattr(self._panel, name) for name in self._names)))


class Snapshot:
    """Verdict and figure of a ``panel`` as the ordinary output of its cell."""

    def __init__(self, panel):
        self._panel = panel
        self._words = display(self._verdict(), display_id=True, raw=True)
        self._picture = display(self._pictured(), display_id=True)

    def refresh(self) -> None:
        """Update the verdict and the figure."""
        if self._words is not None:
            self._words.update(self._verdict(), raw=True)
            self._picture.update(self._pictured())

    def _verdict(self) -> dict[str, str]:
        start = style.quiet(self._panel.writer("worksheet.start"))
        verdict = getattr(self._panel, "verdict", None)
        said = verdict.value if hasattr(verdict, "value") else ""
        return {
            "text/html": f'{style.PRINT}{said}<div class="ao-screen">{start}</div>',
            "text/plain": repr(self._panel),
        }

    def _pictured(self):
        picture = self._panel.stored_picture
        return Words("") if picture is None or self._panel.answer is None else picture


def checked(figures: dict[str, float]) -> str:
    """Return one line for each entry in ``figures``, followed by the number of entries.

    Values are rounded to three significant digits because further digits may vary by platform.
    """
    width = max(map(len, figures))
    lines = [f"{name:{width}}  {_three_digits(value)}" for name, value in figures.items()]
    return "\n".join([*lines, f"{len(lines)} figures"])


def _three_digits(value: float) -> str:
    return f"{float(f'{value:.3g}'):g}"


def show_widget(view) -> None:
    """Display a widget without its text representation."""
    bundle = view._repr_mimebundle_()
    data = bundle[0] if isinstance(bundle, tuple) else bundle
    display({WIDGET: data[WIDGET]}, raw=True)


def _as_text(value):
    """Return a context in which a table is displayed in full and without equations."""
    options = list(WHOLE)
    if isinstance(value, pd.DataFrame) and MATH.search(value.to_csv()):
        options += ["display.html.use_mathjax", False]
    return pd.option_context(*options)


def _aged(value, told: str) -> dict[str, str]:
    """Return a cell's dimmed output, with the sentence ``told`` above it."""
    shell = get_ipython()
    formatter = DisplayFormatter() if shell is None else shell.display_formatter
    with _as_text(value):
        formatted = formatter.format(value)[0]
    if "text/markdown" in formatted:
        return {"text/markdown": f"*{told}*\n\n{formatted['text/markdown']}"}
    html = formatted.get("text/html") or f"<pre>{escape(formatted['text/plain'])}</pre>"
    if "image/png" in formatted:
        html = style.image(value.png, value.words, 640)
    return {"text/html": style.quiet(told) + style.faded(html)}
