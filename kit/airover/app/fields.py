"""Define text fields, choices and sliders, and the form for a record."""

import re
from collections.abc import Callable
from functools import partial

import ipywidgets as widgets
from traitlets import validate

from airover.app import style
from airover.core.errors import InputError, shown
from airover.core.kinds import KINDS
from airover.core.message import Word
from airover.core.texts import Writer, typeset
from airover.core.units import Amount, coherent, convert, in_unit, with_unit
from airover.records.fields import Entered, Record, is_unknown
from airover.records.printed import ROTATIONS, printed_facts

# Unit, minimum, maximum and step of the outdoor-air slider.
OUTDOORS = {"US": ("degF", 68, 131, 1), "SI": ("degC", 20, 55, 1)}
SYSTEMS = ("US", "SI")
LONGEST_SHOWN = 28  # maximum number of typed characters quoted in an error message
_WIDE = {"width": "auto"}
_LABEL = {"description_width": "168px"}
SHAPE = {"style": {"description_width": "150px"}, "layout": _WIDE}


class _Typed:
    """Text control that distinguishes between user input and changes made by Python."""

    typing = False

    def set_state(self, sync_data) -> None:
        self.typing = True
        try:
            super().set_state(sync_data)
        finally:
            self.typing = False


class Line(_Typed, widgets.Text):
    """Single-line text control."""


class Lines(_Typed, widgets.Textarea):
    """Multi-line text control."""


class _Settled:
    """Control for one field, read when the user presses Enter or leaves the field.

    Attributes
    ----------
    settle
        Function that converts the user's input to the stored entry with its unit.
    filled
        True while the form sets this field because the user changed another field.
    """

    settle = staticmethod(lambda entry: entry)
    filled = False

    def fill(self, entry: str) -> None:
        """Set the entry after the user has changed another field."""
        self.filled = True
        try:
            self.value = entry
        finally:
            self.filled = False


class Entry(_Settled, widgets.Text):
    """Single-line text control for a field."""

    @validate("value")
    def _validate_value(self, proposal):
        return self.settle(proposal.value)


class Entries(_Settled, widgets.Textarea):
    """Multi-line text control for a field."""

    @validate("value")
    def _validate_value(self, proposal):
        return self.settle(proposal.value)


class Choice(_Settled, widgets.Dropdown):
    """Dropdown list of the accepted words for a field."""

    @validate("value")
    def _validate_value(self, proposal):
        proposal.value = self.settle(proposal.value)
        return super()._validate_value(proposal)


def text(label: str, example: str = "", write: Writer | None = None, **options) -> Line:
    """Return a single-line text control that is read on Enter or loss of focus."""
    hint = (write or Writer())("page.such_as", example=example) if example else ""
    return Line(
        description=label, placeholder=hint, continuous_update=False,
        style=_LABEL, layout=_WIDE, **options,
    )  # fmt: skip


def choice(label: str, options) -> widgets.Dropdown:
    """Return a dropdown list of ``options``: words, or pairs of displayed text and value."""
    return widgets.Dropdown(description=label, options=options, style=_LABEL, layout=_WIDE)


def worded(names, table: str, write: Writer) -> list[tuple[str, str]]:
    """Return the options of a dropdown list as pairs of displayed text and name."""
    return [(write(f"panel.{table}.{name}"), name) for name in names]


def units_shown(system: str, write: Writer | None = None) -> widgets.Dropdown:
    """Return a dropdown list for "US" or "SI" units, set to ``system``."""
    write = write or Writer()
    named = [(write(f"panel.system.{one}"), one) for one in SYSTEMS]
    control = choice(write("panel.units"), named)
    control.value = system
    return control


def slider(label: str, least: float, most: float, value: float, step: float = 1):
    """Return an integer slider, or a float slider if ``step`` is not an integer."""
    kind = widgets.IntSlider if step == int(step) else widgets.FloatSlider
    return kind(description=label, min=least, max=most, value=value, step=step, **SHAPE)


def number(label: str, value: float, least: float, most: float) -> widgets.BoundedFloatText:
    """Return a number control limited to values from ``least`` to ``most``."""
    return widgets.BoundedFloatText(
        description=label, value=value, min=least, max=most, style=_LABEL, layout=_WIDE
    )


def reach(control, least: float, most: float, value: float) -> None:
    """Set the range and value of ``control`` without letting its limits cross."""
    control.min = min(control.min, least)
    control.max = most
    control.min, control.value = least, min(max(value, least), most)


class _InUnits:
    """Control that shows a quantity in display units and provides its SI value as ``amount``."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple], **shape):
        super().__init__(**shape)
        self._label, self._kind, self._spans, self._unit = label, kind, spans, ""

    @property
    def amount(self) -> float:
        value = float(self.value)
        return float(coherent(value, self._kind, self._unit, self._label.lower()))

    def show(self, amount: float, system: str) -> None:
        """Show ``amount`` [SI] in the units of ``system``, with the range for those units."""
        self._unit, least, most, self.step = self._spans[system]
        self.description = f"{self._label} [{self._unit}]"
        reach(self, least, most, round(float(convert(amount, self._kind, self._unit))))


class AmountSlider(_InUnits, widgets.IntSlider):
    """Slider for a quantity with the ranges ``spans`` for "US" and "SI"."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple]):
        super().__init__(label, kind, spans, **SHAPE)


class AmountNumber(_InUnits, widgets.BoundedFloatText):
    """Number field for a quantity with the ranges ``spans`` for "US" and "SI"."""

    def __init__(self, label: str, kind: str, spans: dict[str, tuple]):
        super().__init__(label, kind, spans, style=_LABEL, layout=_WIDE)


def hint(words: str) -> widgets.HTML:
    """Return a hint in muted text, to be shown between controls."""
    return widgets.HTML(style.quiet(words))


_MARKS = {True: "\N{BLACK DOWN-POINTING TRIANGLE}", False: "\N{BLACK RIGHT-POINTING TRIANGLE}"}


class Folds:
    """Collapsible sections of controls, by title, for a page that is too narrow for tabs.

    Parameters
    ----------
    pages : dict[str, list]
        Controls of each section by title.
    opened : bool
        If True, open the first section.

    Attributes
    ----------
    parts
        Buttons, each followed by the section that it opens.
    buttons
        Buttons that open the sections, by title.
    """

    def __init__(self, pages: dict[str, list], opened: bool):
        self.buttons, self.parts = {}, []
        for title, parts in pages.items():
            body, button = widgets.VBox(parts), widgets.ToggleButton()
            button.add_class("ao-fold")
            self.buttons[title] = button
            self.parts += [button, body]
            button.observe(lambda change, title=title, body=body: self._show(title, body), "value")
            self._show(title, body)
        if opened:
            self.fold(next(iter(pages)))

    def fold(self, opened: str = "") -> None:
        """Collapse all sections except the one titled ``opened``."""
        for title, button in self.buttons.items():
            button.value = title == opened

    def _show(self, title: str, body: widgets.VBox) -> None:
        is_open = self.buttons[title].value
        self.buttons[title].description = f"{_MARKS[is_open]} {title}"
        body.layout.display = None if is_open else "none"


class Fold:
    """Collapsible section that shows its HTML only while it is open.

    Attributes
    ----------
    parts
        Button, followed by the section that it opens.
    """

    def __init__(self):
        self._title, self._html = "", str
        self._button, self._body = widgets.ToggleButton(), widgets.HTML()
        self._button.add_class("ao-fold")
        self._button.observe(lambda _: self._show(), "value")
        self.parts = [self._button, self._body]

    def hold(self, title: str, html: Callable[[], str]) -> None:
        """Set the title, and the function that returns the HTML; without a title, hide both."""
        self._title, self._html = title, html
        self._button.layout.display = None if title else "none"
        self._show()

    def _show(self) -> None:
        is_open = self._button.value and self._title != ""
        self._button.description = f"{_MARKS[is_open]} {self._title}"
        self._body.value = self._html() if is_open else ""
        self._body.layout.display = None if is_open else "none"


def tab(pages: dict[str, list]) -> widgets.Tab:
    """Return tabs of controls, by title."""
    boxes = [widgets.VBox(parts) for parts in pages.values()]
    for box in boxes:
        box.add_class("ao-tab")
    return widgets.Tab(children=boxes, titles=list(pages), selected_index=0)


class MotorChoice(widgets.Dropdown):
    """Dropdown list of motors that remembers the ``wanted`` motor even while it is not in the list.

    Until the user makes a selection, ``wanted`` is None and the first motor is selected.
    """

    def __init__(self, label: str):
        super().__init__(description=label, options=[], style=_LABEL, layout=_WIDE)
        self.wanted: str | None = None
        self.observe(self._chosen, "value")

    def offer(self, options: list[tuple[str, str]]) -> None:
        """Set the options of the list to ``options``, pairs of displayed text and motor name."""
        wanted, names = self.wanted, [name for _, name in options]
        self.options = options
        self.value = wanted if wanted in names else names[0]
        self.wanted = wanted

    def want(self, name: str | None) -> None:
        """Select the motor called ``name`` now, or as soon as it is in the list."""
        if name in [value for _, value in self.options]:
            self.value = name
        self.wanted = name

    def _chosen(self, change) -> None:
        self.wanted = self.value


class Fields:
    """Controls for one record, as attributes with the field names of a job file.

    The dict ``asked`` maps each page title to its fields. Each field is mapped to an example (a
    str, for a text line), to the accepted words (a dict, for a dropdown list), or to examples for a
    list (a tuple, for a text line with commas). An empty field means that the value is unknown. The
    record type ``kind`` validates each field separately. The label of a quantity shows its usual
    unit, which is added to a number entered without a unit. Otherwise, an entry stays as typed,
    even if it is rejected.

    The attribute ``pages`` contains the view of each page. ``problems`` contains the area below
    each control, which shows an error or, with ``hints``, an example. ``refused`` maps each
    rejected field to its error.
    """

    def __init__(
        self,
        record: str,
        asked: dict[str, dict],
        kind: type[Record] | None = None,
        write: Writer | None = None,
        hints: bool = False,
    ):
        self.record, self._kind, self._write = record, kind, write or Writer()
        self._hints, self.refused, self._judged = hints, {}, (None, {})
        self._hints_shown: dict[str, str] = {}  # HTML by field, in the present language and units
        self.usual_currency = lambda: ""  # of money that is typed without a currency
        self.asked = {name: accepted for page in asked.values() for name, accepted in page.items()}
        self.controls = {name: self._control(name) for name in self.asked}
        self.problems = {name: below() for name in self.asked}
        self._lists = [name for name, asked in self.asked.items() if isinstance(asked, tuple)]
        self.pages = {title: self._page(names) for title, names in asked.items()}
        self._tell_all()
        vars(self).update(self.controls)

    def given(self) -> dict:
        """Return the nonempty entries by field."""
        typed = {name: control.value.strip() for name, control in self.controls.items()}
        known = {name: value for name, value in typed.items() if value and not is_unknown(value)}
        lists = {name: _split(known[name]) for name in self._lists if name in known}
        return {**known, **lists}

    def others(self, record: Record) -> dict:
        """Return the fields of ``record`` that have no control here, in job file format."""
        return {name: value for name, value in _values(record).items() if name not in self.asked}

    def typed(self) -> dict[str, str]:
        """Return the text of every nonempty field."""
        return {name: one.value for name, one in self.controls.items() if one.value}

    def restore(self, typed: dict[str, str]) -> None:
        """Restore entries as they were typed, ignoring fields that are not in this form."""
        for name, control in self.controls.items():
            text = typed.get(name, "")
            if isinstance(self.asked[name], dict) and text not in dict(_choices(control)):
                control.options = [*control.options, (text, text)]
            control.value = text

    def fill(self, record: Record | None) -> None:
        """Fill in the controls from ``record``, or clear every field if it is None."""
        if record is None:
            self.restore({})
        else:
            values = _values(record)
            self.restore({name: _written(values[name]) for name in self.controls})

    def found(self) -> dict[str, InputError]:
        """Return the errors for invalid fields or, if all are valid, for an inconsistent field."""
        given = self.given()
        if given != self._judged[0]:  # one edit changes only one of the forms
            self._judged = given, self._errors(given)
        return self._judged[1]

    def _errors(self, given: dict) -> dict[str, InputError]:
        try:
            self._kind(**given)
        except InputError as error:
            whole = error
        else:
            return {}
        found = {}
        for name, value in given.items():
            try:
                self._kind(**{name: value})
            except InputError as error:
                found[name] = error
        if not found and (name := english(whole).replace(" ", "_")) in self.asked:
            found[name] = whole
        return found

    def show_problem(self, error: InputError | None) -> None:
        """Show the error for the field named in ``error``, and for each field that is rejected.

        Errors for all other fields are cleared.
        """
        found = self.found() if error is not None and self._kind is not None else {}
        for name in self.asked:
            if english(error) == f"{self.record} {_words(name)}":
                found.setdefault(name, error)
        self.tell(found)

    def tell(self, problems: dict[str, InputError]) -> None:
        """Show the errors below their fields and, if hints are enabled, the examples."""
        changed, self.refused = self.refused | problems, problems
        for name in changed:
            self._tell(name)

    def _tell_all(self) -> None:
        self._hints_shown = {
            name: style.text(self._hint(name) if self._hints else "", "span") for name in self.asked
        }
        for name in self.asked:
            self._tell(name)

    def _tell(self, name: str) -> None:
        error = self.refused.get(name)
        told = self._hints_shown[name] if error is None else style.wrong(self._refusal(name, error))
        self.problems[name].value = told

    def say(self, write: Writer) -> None:
        """Update labels, examples and errors to the language and units of ``write``."""
        if (write.language, write.system) == (self._write.language, self._write.system):
            return
        self._write = write
        for name, control in self.controls.items():
            control.description = self._labelled(name)
            if not self._hints and isinstance(control, Entry):
                control.placeholder = self._hint(name)
        self._tell_all()

    def label(self, name: str) -> str:
        """Return the label of a field, preceded on the page by the reading number."""
        label, number = named(self.record, name, self._write), self.record.partition(" ")[2]
        if not (number and self._hints):
            return label
        return f"{self._write('panel.motors.reading', number=number)}: {label}"

    def _refusal(self, name: str, error: InputError) -> str:
        """Return the reason why a field is rejected, with a long entry shortened."""
        typed = self.controls[name].value.strip()
        if not typed:
            return self._write("page.wrong.nothing", accepted=error.accepted)
        return self._write.beside(error, shown(typed, LONGEST_SHOWN))

    def _control(self, name: str):
        accepted = self.asked[name]
        if isinstance(accepted, dict):
            finding = name if self.record == "found" else ""
            words = [(word_of(word, self._write, finding), word) for word in accepted]
            if name == "rotation" and "rotation_seen_from" in self.asked:
                words = [*((self._printed(word), word) for word in ROTATIONS), *words]
            options = [(self._write("page.unknown"), ""), *words]
            control = Choice(options=options, style=_LABEL, layout=_WIDE)
        else:
            control = Entry(continuous_update=False, style=_LABEL, layout=_WIDE)
            control.placeholder = "" if self._hints else self._hint(name)
        entered = self._entered(name)
        if entered and not isinstance(accepted, tuple) and KINDS[entered.kind].is_plain_number:
            control.add_class("ao-number")
        control.add_class(f"ao-at-{self.record.replace(' ', '-')}-{name}")
        control.description = self._labelled(name)
        control.settle = partial(self._settle, name)
        return control

    def _printed(self, word: str) -> str:
        """Return the text for a rotation as printed on nameplates, such as "CWLE"."""
        facts = printed_facts("rotation", word)
        rotation, end = (Word(facts[name]) for name in ("rotation", "rotation_seen_from"))
        return self._write("field.printed_rotation", printed=word, rotation=rotation, end=end)

    def _entered(self, name: str) -> Entered | None:
        return None if self._kind is None else self._kind.entered(name)

    def _unit(self, name: str) -> str:
        """Return the unit assumed for a number in the field ``name``, or an empty string."""
        entered = self._entered(name)
        return entered.usual_unit(self._write.system) if entered else ""

    def _labelled(self, name: str) -> str:
        """Return the label of a field with its unit."""
        label, unit = self.label(name), self._unit(name)
        if not unit or re.search(rf"(?<!\w){re.escape(unit)}(?!\w)", label, re.IGNORECASE):
            return label
        return self._write("field.with_unit", label=label, unit=self._write.set(self._word(unit)))

    def _word(self, unit: str) -> str:
        """Return a unit as this form writes it: words, such as "years", are in its language."""
        key = f"unit_word.{unit}"
        return self._write(key) if self._write.texts.has(key) else unit

    def _settle(self, name: str, typed: str) -> str:
        """Return an entry with its unit, and fill in other fields whose values it contains."""
        if not typed or self._kind is None:
            return typed
        facts = self._kind.divided({name: typed}, name)
        others = {field: fact for field, fact in facts.items() if field != name}
        known = ((self.controls.get(field), fact) for field, fact in others.items())
        if all(control is not None and control.value in ("", fact) for control, fact in known):
            for field, fact in others.items():
                self.controls[field].fill(fact)
            typed = facts[name]
        if hasattr(self._kind, "in_currency"):
            typed = self._kind.in_currency(self.given() | {name: typed}, self.usual_currency())[
                name
            ]
        entered, unit = self._entered(name), self._unit(name)
        if not unit:
            return typed
        parts = _split(typed) if name in self._lists else [typed]
        between = "; " if ";" in typed else ", "
        return between.join(with_unit(part, entered.kind, self._word(unit)) for part in parts)

    def _example(self, name: str) -> str:
        asked, unit = self.asked[name], self._unit(name)
        parts = [] if isinstance(asked, dict) else [asked] if isinstance(asked, str) else asked
        if entered := self._entered(name):
            parts = [in_unit(part, entered.kind, unit) for part in parts if part] if unit else parts
            return ", ".join(parts).replace(unit, self._word(unit)) if unit else ", ".join(parts)
        return ", ".join(word_of(part, self._write) for part in parts)

    def _hint(self, name: str) -> str:
        example = self._example(name)
        example = typeset(example) if self._write.signs else example
        return self._write("page.such_as", example=example) if example else ""

    def _page(self, names) -> widgets.VBox:
        rows = [widgets.VBox([self.controls[name], self.problems[name]]) for name in names]
        for row in rows:
            row.add_class("ao-field")
        page = widgets.VBox(rows)
        page.add_class("ao-fields")
        return page


def below() -> widgets.HTML:
    """Return an area below a control for hints and errors."""
    place = widgets.HTML()
    place.add_class("ao-help")
    return place


def named(record: str, name: str, write: Writer) -> str:
    """Return the label of a field in ``record``."""
    key = f"page.{record.split()[0]}.{name}"
    return write(key) if write.texts.has(key) else _words(name).capitalize()


def word_of(word: str, write: Writer, finding: str = "") -> str:
    """Return the displayed text for an accepted word, or any other text unchanged.

    The text for a word can depend on the ``finding``.
    """
    own = (f"failure.state.{finding}.{word}", f"page.word.{word}", f"field.word.{word}")
    return next(map(write, filter(write.texts.has, own)), "") or write.texts.word(word)


def _values(record: Record) -> dict:
    """Return the values in ``record`` by their names in a file."""
    return dict(zip(record.names(), dict(record).values(), strict=True))


def _choices(control) -> list[tuple[str, str]]:
    """Return the options of a dropdown list as pairs of value and displayed text."""
    return [(value, shown) for shown, value in control.options]


def english(error: InputError | None) -> str:
    """Return the rejected field's name as used in files, or "" if there is no error."""
    return "" if error is None else Writer().field(error.field)


def accepted(error: InputError, write: Writer) -> str:
    """Return a sentence that describes the accepted input."""
    return write("panel.accepted", accepted=error.accepted)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _split(line: str) -> list[str]:
    parts = line.split(";" if ";" in line else ",")
    return [part.strip() for part in parts if part.strip()]


def _written(value) -> str:
    """Return the value of a record field as a user would type it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(_written, value))
    if isinstance(value, Amount):
        return value.text
    return "" if value is None else str(value)
