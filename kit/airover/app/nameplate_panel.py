"""Fill in the fields of a job from a typed, pasted or photographed nameplate.

The nameplate box is part of the job form (`CurrentJob`) in worksheet 01 and on the page. It never
replaces a value typed by the user unless the user confirms it.
"""

import io
from collections.abc import Callable
from contextlib import contextmanager

import ipywidgets as widgets

from airover.app import style, uploads
from airover.app.fields import Fields, Lines, word_of
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.core.units import Amount
from airover.records.nameplate import Nameplate
from airover.records.nameplate_photo import Photo, can_read, picture_of
from airover.records.nameplate_text import OPEN, SURE, Found, NameplateText, read_nameplate

EXAMPLE = "HP 1/3  V 208-230  A 1.9  RPM 1075  CAP 7.5/370  CCWLE"
WIDEST = 900  # px, maximum width of the displayed photo
_LINE, _LABEL = (200, 80, 0), (255, 255, 255)  # colors of the boxes and of the numbers on them


class NameplateBox:
    """Text box and photo of a nameplate above the fields of ``form``.

    Entering text fills in every field that has only one possible reading. A photo fills in only the
    fields that were read with certainty. A field with a different value in the form is left
    unchanged. The button ``replace`` fills in these fields as well, and the button ``anew`` clears
    the job first. The attribute ``view`` is the widget to display.

    Attributes
    ----------
    text
        Control for the nameplate text as printed.
    button
        Button that reads the text again.
    photo
        Control for selecting or taking a photo, or None without the optional dependency ``photo``.
    found
        Fields from the latest reading.
    confirm
        Confirmation controls by field. A check box is checked, or a list item is selected, as long
        as the form contains the value that was read.
    """

    def __init__(self, form: Fields, write: Writer, hints: bool = False):
        self.form, self._write, self._panel = form, write, None
        self.found: tuple[Found, ...] = ()
        self.confirm: dict[str, widgets.Widget] = {}
        self._from_photo, self._photo, self._own = False, None, {}
        self._remarks: dict[str, widgets.HTML] = {}
        self._syncing = False
        label, wide = write("capture.nameplate"), {"width": "auto"}
        self.text = Lines(rows=3, placeholder=write("page.such_as", example=EXAMPLE), layout=wide)
        self.text.continuous_update = False
        self.text.description = label if hints else ""
        self.button, self.replace, self.anew = (
            widgets.Button(description=write(f"capture.{name}"), layout={"width": "auto"})
            for name in ("read", "replace", "anew")
        )
        self.photo = None
        missing = widgets.HTML(style.quiet(write("capture.no_photo")))
        if can_read():
            self.photo = uploads.upload(write("capture.photo"), "image/*", self.open_photo)
            self.photo.layout.width = "auto"
        self.told, self.picture, self.left = (widgets.HTML() for _ in range(3))
        self.rows = widgets.VBox()
        self.rows.add_class("ao-fields-read")
        above = [] if hints else [widgets.HTML(style.text(label, "b"))]
        buttons = widgets.HBox([self.button, *([self.photo] if self.photo else [])])
        more = widgets.HBox([self.replace, self.anew])
        for row in (buttons, more):
            row.layout.flex_flow = "row wrap"
            row.add_class("ao-row")
        self._more = more
        parts = [*above, self.text, buttons, *([] if self.photo else [missing])]
        self.view = widgets.VBox([*parts, self.told, more, self.picture, self.rows, self.left])
        self._clear_result()
        self.text.observe(lambda _: self._show_text(), "value")
        for control in form.controls.values():
            control.observe(lambda _: self._sync(), "value")

    def follow(self, panel, clear: Callable[[], None]) -> None:
        """Connect the box to the fields of ``panel``. The function ``clear`` clears the job."""
        self._panel, self._clear = panel, clear
        panel.follow([self.text], self.read, as_typed=False)
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.button.on_click(lambda _: self.read())
        self.replace.on_click(lambda _: self.use_all())
        self.anew.on_click(lambda _: self.begin_anew())

    def read(self) -> None:
        """Read the text and fill in the fields that the user has not filled in."""
        self._show_text()
        self._fill_in()

    def open_photo(self, name: str, content: bytes) -> None:
        """Read a photo on this computer and show it with the recognized lines marked."""
        self._clear_result()
        self.told.value = style.status(self._write("capture.reading", name=name))
        try:
            photo = uploads.photo(content)
        except InputError as error:
            self._refuse(error)
            return
        self._show_photo(photo)
        self._fill_in()

    def use_all(self) -> None:
        """Replace the differing values in the form with the values that were read."""
        self._put({one.field: one.value for one in self.found if one.certainty != OPEN})

    def begin_anew(self) -> None:
        """Clear the job and fill in the values from the nameplate."""
        text, photo, shown = self.text.value, self._photo, self._from_photo
        with self._panel.filling():
            self._clear()
            self.text.value = text
        if shown:
            self._show_photo(photo)
        self._fill_in()

    def restore(self, text: str) -> None:
        """Show a stored ``text`` without filling in any field."""
        if self.text.value != text:
            self.text.value = text
        elif not text:
            self._clear_result()

    def say(self, write: Writer) -> None:
        """Update the remarks to the language and units of ``write``."""
        self._write = write
        self._sync()

    def _fill_in(self) -> None:
        """Fill in fields that need no confirmation and have no value typed by the user."""
        sure = [one for one in self.found if self._enters(one)]
        new = {one.field: one.value for one in sure if self._free(one)}
        if new:
            self._put(new)

    def _enters(self, one: Found) -> bool:
        """Return True if a field can be filled in without confirmation."""
        return one.certainty == SURE if self._from_photo else one.certainty != OPEN

    def _free(self, one: Found) -> bool:
        """Return True if this field has no value typed by the user."""
        now = self.form.controls[one.field].value.strip()
        return not now or now == self._own.get(one.field)

    def _put(self, values: dict[str, str]) -> None:
        """Write ``values`` to the form as a single change."""
        self._own |= values
        with self._panel.filling():
            self.form.restore(self.form.typed() | values)
        self._panel.update()
        self._panel.changed()

    def _show_photo(self, photo: Photo) -> None:
        with self._quietly():
            self.text.value = ""
        self._photo = photo
        self._show(photo.nameplate, True)
        words = self._write("capture.picture", count=len(self.found))
        self.picture.value = style.image(numbered(photo, self.found), words, WIDEST)

    def _show_text(self) -> None:
        """Show the values recognized in the text without filling in any field."""
        if self._syncing:
            return
        self._clear_result()
        if self.text.value.strip():
            try:
                self._show(read_nameplate(self.text.value), False)
            except InputError as error:
                self._refuse(error)

    def _show(self, read: NameplateText, from_photo: bool) -> None:
        self._from_photo = from_photo
        places = list(self.form.controls)
        found = (one for one in read.found if one.field in places)
        self.found = tuple(sorted(found, key=lambda one: places.index(one.field)))
        rows = []
        for at, one in enumerate(self.found, 1):
            self.confirm[one.field] = self._confirmation(one, at)
            self._remarks[one.field] = widgets.HTML()
            row = widgets.HBox([self.confirm[one.field], self._remarks[one.field]])
            row.layout.flex_flow = "row wrap"
            row.add_class("ao-read")
            rows.append(row)
        self.rows.children = rows
        words = {"left": "; ".join(read.left), "unused": "; ".join(read.unused)}
        told = [self._write(f"capture.{name}", words=said) for name, said in words.items() if said]
        self.left.value = "".join(map(style.quiet, told))
        self._sync()

    def _confirmation(self, one: Found, at: int):
        """Return the control that confirms a field: a check box or a dropdown list of readings."""
        label = self.form.label(one.field)
        if self._from_photo:
            label = f"{at}. {label}"
        if one.certainty == OPEN:
            offered = [(value, value) for value in (one.value, *one.others)]
            choose = (self._write("capture.choose"), "")
            control = widgets.Dropdown(description=label, options=[choose, *offered], value="")
            control.style.description_width = "initial"
        else:
            words = f"{label}: {word_of(one.value, self._write)}"
            control = widgets.Checkbox(description=words, indent=False)
        control.layout = {"width": "100%"}
        control.observe(lambda change: self._confirmed(one, change["new"]), "value")
        return control

    def _confirmed(self, one: Found, value) -> None:
        """Enter a reading that the user has confirmed, or remove it from the form."""
        if not self._syncing:
            value = value if one.certainty == OPEN else one.value if value else ""
            self._put({one.field: value})

    def _sync(self) -> None:
        """Update every confirmation and its remark to match the form."""
        if self._syncing or not self.found:
            return
        others = 0
        with self._quietly():
            for one in self.found:
                now = self.form.controls[one.field].value.strip()
                readings = (one.value, *one.others)
                same = next((value for value in readings if _same(one.field, now, value)), "")
                control = self.confirm[one.field]
                control.value = same if one.certainty == OPEN else bool(same)
                other = bool(now) and not same
                others += other and one.certainty != OPEN
                self._remarks[one.field].value = self._remark(one, now if other else "")
        filled = sum(bool(control.value) for control in self.confirm.values())
        told = [self._write("capture.filled", count=filled, of=len(self.found))]
        told += [self._write("capture.kept", count=others)] if others else []
        self.told.value = style.status(" ".join(told))
        self._more.layout.display = None if others else "none"

    def _remark(self, one: Found, other: str) -> str:
        words = self._write("capture.from", words=one.words)
        sure = self._write(f"capture.sure.{one.certainty}")
        kept = self._write("capture.other", value=other) if other else ""
        return style.quiet(" ".join(filter(None, [words, sure, kept])))

    def _refuse(self, error: InputError) -> None:
        self.told.value = style.problem(self._write.error(error))

    def _clear_result(self) -> None:
        self.found, self.confirm, self._remarks, self._photo = (), {}, {}, None
        self._from_photo = False
        self.rows.children = ()
        self.told.value = self.picture.value = self.left.value = ""
        self._more.layout.display = "none"

    @contextmanager
    def _quietly(self):
        """Return a context in which changes to the controls are ignored."""
        before, self._syncing = self._syncing, True
        try:
            yield
        finally:
            self._syncing = before


def numbered(photo: Photo, found: tuple[Found, ...]) -> bytes:
    """Return the photo as JPEG with numbered boxes around the recognized lines."""
    from PIL import ImageDraw

    picture = picture_of(photo.picture)
    scale = min(1.0, WIDEST / picture.width)
    picture = picture.resize([max(1, round(side * scale)) for side in picture.size])
    draw, size = ImageDraw.Draw(picture), max(14, picture.width // 24)
    numbers: dict[tuple, list[str]] = {}
    for at, one in enumerate(found, 1):
        for line in photo.lines_of(one):
            numbers.setdefault(line.corners, []).append(str(at))
    for corners, named in numbers.items():
        outline = [(x * picture.width, y * picture.height) for x, y in corners]
        draw.line([*outline, outline[0]], fill=_LINE, width=max(2, size // 8))
        words = ", ".join(named)
        wide = draw.textlength(words, font_size=size) + size // 3
        place = max(0.0, outline[0][0] - wide), outline[0][1]  # beside the text, not on top of it
        draw.rectangle(draw.textbbox(place, words, font_size=size), fill=_LINE)
        draw.text(place, words, fill=_LABEL, font_size=size)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()


def _same(field: str, one: str, other: str) -> bool:
    """Return True if two entries for a ``field`` have the same value."""
    return bool(one) and (one == other or _value(field, one) == _value(field, other))


def _value(field: str, text: str) -> tuple | str:
    try:
        values = dict(Nameplate(**{field: text})).values()
    except InputError:
        return text
    return tuple((one.low, one.high) if isinstance(one, Amount) else one for one in values)
