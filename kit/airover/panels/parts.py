"""What panels are made of: fields as people write them, a picture, and the panel itself."""

from contextlib import contextmanager

import ipywidgets as widgets

from airover.errors import InputError
from airover.panels import style
from airover.records.fields import Record
from airover.units import Amount

UNKNOWN = ("not known", "")
_WIDE = {"width": "auto"}
_LABEL = {"description_width": "168px"}


def text(label: str, example: str = "", **options) -> widgets.Text:
    """A line of text, read when it is left or Enter is pressed."""
    hint = f"such as {example}" if example else ""
    return widgets.Text(
        description=label, placeholder=hint, continuous_update=False,
        style=_LABEL, layout=_WIDE, **options,
    )  # fmt: skip


def choice(label: str, options) -> widgets.Dropdown:
    """One of a few ``options``: words, or pairs of what is shown and what is meant."""
    return widgets.Dropdown(description=label, options=options, style=_LABEL, layout=_WIDE)


class Fields:
    """The controls of one record, each an attribute of its name in a job file.

    ``asked`` maps the title of a page to its fields, and each field to an example ("1/3 hp": a
    line of text), to the words it accepts (a dict: a choice), or to the words of which it takes
    several (a tuple: a line with commas). What is left empty is not known. ``pages`` has the
    view of each page.
    """

    def __init__(self, record: str, asked: dict[str, dict]):
        self.record = record
        fields = {name: accepted for page in asked.values() for name, accepted in page.items()}
        self.controls = {name: _control(name, accepted) for name, accepted in fields.items()}
        self.problems = {name: _hidden() for name in fields}
        self._lists = [name for name in fields if isinstance(fields[name], tuple)]
        self.pages = {title: self._page(names) for title, names in asked.items()}
        vars(self).update(self.controls)

    def given(self) -> dict:
        """What was typed, by field; empty ones left out."""
        typed = {name: control.value.strip() for name, control in self.controls.items()}
        known = {name: value for name, value in typed.items() if value}
        lists = {name: _split(known[name]) for name in self._lists if name in known}
        return {**known, **lists}

    def fill(self, record: Record) -> None:
        """Write what ``record`` knows into the controls."""
        values = dict(zip(record.names(), dict(record).values(), strict=True))
        for name, control in self.controls.items():
            control.value = _written(values[name])

    def show_problem(self, error: InputError | None) -> None:
        """Say under the field that ``error`` names what it accepts; clear all others."""
        for name, place in self.problems.items():
            at_fault = error and error.field == f"{self.record} {_words(name)}"
            place.value = style.problem(f"Accepted is {error.accepted}.") if at_fault else ""
            place.layout.display = None if at_fault else "none"

    def _page(self, names) -> widgets.VBox:
        rows = [[self.controls[name], self.problems[name]] for name in names]
        return widgets.VBox([widget for row in rows for widget in row])


def _control(name: str, accepted):
    label = _words(name).capitalize()
    if isinstance(accepted, dict):
        return choice(label, [UNKNOWN, *((word, word) for word in accepted)])
    return text(label, accepted if isinstance(accepted, str) else ", ".join(accepted))


def _words(name: str) -> str:
    return name.replace("_", " ")


def _split(line: str) -> list[str]:
    return [part.strip() for part in line.split(",") if part.strip()]


def _written(value) -> str:
    """A value of a record as people write it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(_written, value))
    if isinstance(value, Amount):
        return value.text
    return "" if value is None else str(value)


def _hidden() -> widgets.HTML:
    return widgets.HTML(layout={"display": "none"})


class Picture:
    """A PNG with its words: itself in a worksheet, HTML in a panel."""

    def __init__(self, png: bytes, words: str):
        self.png, self.words = png, words

    def html(self, width: int = 640) -> str:
        return style.image(self.png, self.words, width)

    def __repr__(self) -> str:
        return self.words

    def _repr_png_(self) -> bytes:
        return self.png


class Panel:
    """A panel of one question. A kind of panel has ``controls``, ``compute`` and ``draw``.

    Input that cannot be accepted is told in a sentence, and the last good answer stays, marked as
    of the earlier input. Any other error is raised, and the panel then says that it is working
    instead of showing an old answer as if it were new.
    """

    def __init__(self):
        self.answer = None
        self.status = _hidden()
        self.view = widgets.VBox()
        self.view.add_class("airover")
        self._filling = False

    def compute(self):
        """Read the controls and return the answer; draws nothing. Raises InputError."""
        raise NotImplementedError

    def draw(self) -> None:
        """Show ``self.answer``."""
        raise NotImplementedError

    def refused(self, error: InputError | None) -> None:
        """Show at the controls what is wrong with them; None when nothing is."""
        raise NotImplementedError

    def update(self) -> None:
        """Work out what the controls say, once, and show it."""
        self._tell(style.quiet("Working ..."), earlier=True)
        try:
            self.answer = self.compute()
        except InputError as error:
            self._refuse(error)
            return
        self.refused(None)
        self.draw()
        self._tell("", earlier=False)

    def open_with(self, read, path, fill) -> None:
        """``fill`` the controls with what ``read`` finds at ``path`` and work it; a file that
        cannot be accepted is told and changes nothing."""
        try:
            found = read(path)
        except InputError as error:
            self._refuse(error)
            return
        fill(found)
        self.update()

    def watch(self, controls) -> None:
        """Update whenever one of ``controls`` is changed by hand."""
        for control in controls:
            control.observe(self._changed, "value")

    @contextmanager
    def filling(self):
        """Within it controls may be set without an update for each."""
        self._filling = True
        try:
            yield
        finally:
            self._filling = False

    def _changed(self, change) -> None:
        if not self._filling:
            self.update()

    def _refuse(self, error: InputError) -> None:
        sentences = (str(error), *getattr(error, "__notes__", ()))
        still = "Not worked; what stands below is of the earlier input."
        self._tell(style.problem(*sentences, still), earlier=True)
        self.refused(error)

    def _tell(self, html: str, earlier: bool) -> None:
        self.status.value = html
        self.status.layout.display = None if html else "none"
        (self.view.add_class if earlier else self.view.remove_class)("ao-earlier")

    def __repr__(self) -> str:
        return f"{type(self).__name__}: run this cell to use it"

    def _repr_mimebundle_(self, **options):
        bundle = self.view._repr_mimebundle_(**options)
        data, *metadata = bundle if isinstance(bundle, tuple) else (bundle,)
        data = {**data, "text/plain": repr(self)}
        return (data, *metadata) if metadata else data
