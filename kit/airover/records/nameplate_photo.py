"""A photo of a nameplate: the lines that are read in it, where they lie, and the fields they give.

The reading runs on this computer with the models that come with the package of the extra ``photo``;
nothing is sent anywhere. The picture is read twice, as it is and with its contrast evened out. A
field is taken as read only where both readings agree; where they differ it is left open, and what
one of them alone has is to be confirmed. A camera's reading is never a measurement: every field is
shown with the words it came from and confirmed by the person who stands before the motor.
"""

import io
import math
from dataclasses import dataclass, replace
from functools import lru_cache

from airover.core.errors import InputError
from airover.core.message import Message
from airover.records.nameplate_text import LIKELY, OPEN, SURE, Found, NameplateText, read_nameplate

FIELD = Message("photo.photo")
LARGEST_FILE = 30_000_000  # bytes
LONGEST_SIDE = 1600  # pixels that are read; a larger picture is scaled down
MOST_PIXELS = 100_000_000
SURE_SCORE = 0.80  # of a line, below which its fields are to be confirmed


@dataclass(frozen=True)
class Line:
    """A line of text in a photo: its ``text``, its four corners (x, y) as shares of the picture's
    width and height, clockwise from the upper left, and the reader's ``score`` [-]."""

    text: str
    corners: tuple[tuple[float, float], ...]
    score: float


@dataclass(frozen=True)
class Photo:
    """What was read in a photo: its ``lines`` from top to bottom and the ``nameplate`` they give."""

    lines: tuple[Line, ...]
    nameplate: NameplateText

    def lines_of(self, found: Found) -> tuple[Line, ...]:
        """The lines that a field was read from."""
        words = {word for part in found.words.split(";") for word in part.split()}
        return tuple(one for one in self.lines if words & set(one.text.upper().split()))


def can_read() -> bool:
    """True where the extra ``photo`` is installed."""
    try:
        _reader()
    except ModuleNotFoundError:
        return False
    return True


def read_photo(content: bytes) -> Photo:
    """Read the nameplate in a picture (JPEG, PNG, WebP or another common format).

    Raises InputError for what is no picture, one without a fact of a motor, and where the extra
    ``photo`` is not installed.
    """
    picture = _picture(content)
    try:
        reader = _reader()
    except ModuleNotFoundError:
        raise InputError(FIELD, Message("photo.no_reader"), Message("photo.extra")) from None
    readings = [_lines(reader, one) for one in (picture, _evened(picture))]
    lines = max(readings, key=lambda one: sum(line.score * len(line.text) for line in one))
    texts = []
    for one in readings:
        try:
            texts.append(read_nameplate("\n".join(line.text for line in one)))
        except InputError:
            continue
    if not texts:
        raise InputError(FIELD, Message("nameplate_text.nothing"), Message("photo.closer"))
    return Photo(lines, _agreed(texts, len(readings), lines))


def _agreed(texts: list[NameplateText], readings: int, lines: tuple[Line, ...]) -> NameplateText:
    """One text of several readings: fields that all have are as sure as they were."""
    weak = " ".join(one.text.upper() for one in lines if one.score < SURE_SCORE).split()
    by_field: dict[str, list[Found]] = {}
    for text in texts:
        for one in text.found:
            by_field.setdefault(one.field, []).append(one)
    found = []
    for same in by_field.values():
        first, values = (
            same[0],
            {one.value for one in same} | {v for one in same for v in one.others},
        )
        if len(values) > 1:
            others = tuple(sorted(values - {first.value}))
            first = replace(first, certainty=OPEN, others=others)
        elif len(same) < readings or set(first.words.split()) & set(weak):
            first = replace(first, certainty=_lower(first.certainty))
        found.append(first)
    best = max(texts, key=lambda one: len(one.found))
    return NameplateText(tuple(found), best.unused, best.left)


def _lower(certainty: str) -> str:
    return LIKELY if certainty == SURE else certainty


@lru_cache
def _reader():
    from rapidocr_onnxruntime import RapidOCR

    return RapidOCR()


def _picture(content: bytes):
    """The picture as it is to be seen, no larger than is read."""
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(content)) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                given = f"{picture.width} x {picture.height}"
                raise InputError(FIELD, given, Message("photo.smaller"))
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except InputError:
        raise
    except Exception:  # noqa: BLE001  each format has errors of its own
        raise InputError(FIELD, Message("photo.no_picture"), Message("photo.formats")) from None
    scale = LONGEST_SIDE / max(upright.size)
    if scale < 1:
        upright = upright.resize([max(1, round(side * scale)) for side in upright.size])
    return upright


def _evened(picture):
    """The picture in gray, with shadows and glare evened out and a little sharper."""
    from PIL import ImageFilter, ImageOps

    gray = ImageOps.grayscale(picture)
    ground = gray.filter(ImageFilter.GaussianBlur(max(8, max(picture.size) // 30)))
    evened = ground.point(lambda level: max(1, level))
    import numpy as np
    from PIL import Image

    ratio = np.asarray(gray, float) / np.asarray(evened, float)
    spread = np.clip((ratio - 0.4) / 0.9 * 255, 0, 255).astype(np.uint8)
    return Image.fromarray(spread).filter(ImageFilter.UnsharpMask(2, 80)).convert("RGB")


def _lines(reader, picture) -> tuple[Line, ...]:
    """The lines in a picture, from top to bottom and left to right as they run in it."""
    import numpy as np

    result, _ = reader(np.asarray(picture)[:, :, ::-1])
    boxes = [(corners, text, float(score)) for corners, text, score in result or ()]
    if not boxes:
        return ()
    tilts = [math.atan2(c[1][1] - c[0][1], c[1][0] - c[0][0]) for c, _, _ in boxes]
    tilt = sorted(tilts)[len(tilts) // 2]

    def place(corners) -> tuple[float, float]:
        x = sum(one[0] for one in corners) / 4
        y = sum(one[1] for one in corners) / 4
        return (y * math.cos(tilt) - x * math.sin(tilt), x * math.cos(tilt) + y * math.sin(tilt))

    height = sorted(math.dist(c[0], c[3]) for c, _, _ in boxes)[len(boxes) // 2]
    boxes.sort(key=lambda one: place(one[0])[0])
    rows, last = [], -math.inf
    for box in boxes:
        down = place(box[0])[0]
        if down - last > 0.6 * height:
            rows.append([])
        rows[-1].append(box)
        last = down
    width, tall = picture.size
    return tuple(
        Line(text, tuple((x / width, y / tall) for x, y in corners), score)
        for row in rows
        for corners, text, score in sorted(row, key=lambda one: place(one[0])[1])
    )
