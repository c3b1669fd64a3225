"""Controls of a panel: what people write, choose and slide, and the fields of a record."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.panels import style
from airover.records.fields import Record
from airover.texts import Writer
from airover.units import Amount, coherent, convert

# Unit, least, most and step of the slider of outdoor air.
OUTDOORS = {"US": ("degF", 68, 131, 1), "SI": ("degC", 20, 55, 1)}
UNKNOWN = ("not known", "")
SYSTEMS = [("US customary", "US"), ("SI", "SI")]
_WIDE = {"width": "auto"}
_LABEL = {"description_width": "168px"}
SHAPE = {"style": {"description_width": "150px"}, "layout": _WIDE}


class _Typed:
    """A text that knows when a change of it comes from somebody's keys, not from Python."""

    typing = False

    def set_state(self, sync_data) -> None:
        self.typing = True
        try:
            super().set_state(sync_data)
        finally:
            self.typing = False


class Line(_Typed, widgets.Text):
    """A line of text."""


class Lines(_Typed, widgets.Textarea):
    """Several lines of text."""


def text(label: str, example: str = "", **options) -> Line:
    """A line of text, read when it is left or Enter is pressed; a watched one as it is typed."""
    hint = f"such as {example}" if example else ""
    return Line(
        description=label, placeholder=hint, continuous_update=False,
        style=_LABEL, layout=_WIDE, **options,
    )  # fmt: skip


def choice(label: str, options) -> widgets.Dropdown:
    """One of a few ``options``: words, or pairs of what is shown and what is meant."""
    return widgets.Dropdown(description=label, options=options, style=_LABEL, layout=_WIDE)


def units_shown(system: str) -> widgets.Dropdown:
    """The choice between "US" and "SI", at ``system``."""
    control = choice("Units shown", SYSTEMS)
    control.value = system
    return control


def slider(label: str, least: float, most: float, value: float, step: float = 1):
    """A slider of whole numbers, or of others where ``step`` is a part of 1."""
    kind = widgets.IntSlider if step == int(step) else widgets.FloatSlider
    return kind(description=label, min=least, max=most, value=value, step=step, **SHAPE)


def number(label: str, value: float, least: float, most: float) -> widgets.BoundedFloatText:
    """A number from ``least`` to ``most``."""
    return widgets.BoundedFloatText(
        description=label, value=value, min=least, max=most, style=_LABEL, layout=_WIDE
    )


def reach(control, least: float, most: float, value: float) -> None:
    """Another span for ``control``, never with its least above its most on the way."""
    control.min = min(control.min, least)
    control.max = most
    control.min, control.value = least, min(max(value, least), most)


class _InUnits:
    """A control of an amount in the reader's units, ``amount`` in SI."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple], **shape):
        super().__init__(**shape)
        self._label, self._kind, self._spans, self._unit = label, kind, spans, ""

    @property
    def amount(self) -> float:
        value = float(self.value)
        return float(coherent(value, self._kind, self._unit, self._label.lower()))

    def show(self, amount: float, system: str) -> None:
        """Put it at ``amount`` [SI], in the unit and over the span of ``system``."""
        self._unit, least, most, self.step = self._spans[system]
        self.description = f"{self._label} [{self._unit}]"
        reach(self, least, most, round(float(convert(amount, self._kind, self._unit))))


class AmountSlider(_InUnits, widgets.IntSlider):
    """A slider of an amount; ``spans`` has unit, least, most and step for "US" and "SI"."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple]):
        super().__init__(label, kind, spans, **SHAPE)


class AmountNumber(_InUnits, widgets.BoundedFloatText):
    """A typed amount; ``spans`` as of an AmountSlider."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple]):
        super().__init__(label, kind, spans, style=_LABEL, layout=_WIDE)


def hint(words: str) -> widgets.HTML:
    """Words in the background between controls."""
    return widgets.HTML(style.quiet(words))


def tab(pages: dict[str, list]) -> widgets.Tab:
    """Controls behind tabs, by title."""
    boxes = [widgets.VBox(parts) for parts in pages.values()]
    for box in boxes:
        box.add_class("ao-page")
    return widgets.Tab(children=boxes, titles=list(pages), selected_index=0)


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
        self.problems = {name: beside() for name in fields}
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
        """Say at the field that ``error`` names what it accepts; clear all others."""
        for name, place in self.problems.items():
            at_fault = error and error.field == f"{self.record} {_words(name)}"
            accepted = Writer("en").value(error.accepted) if at_fault else ""
            place.value = style.problem(f"Accepted is {accepted}.") if at_fault else ""

    def _page(self, names) -> widgets.VBox:
        rows = [[self.controls[name], self.problems[name]] for name in names]
        return widgets.VBox([widget for row in rows for widget in row])


def beside() -> widgets.HTML:
    """A place for what is wrong with the control above it; it takes no room and moves nothing."""
    place = widgets.HTML()
    place.add_class("ao-beside")
    return place


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
