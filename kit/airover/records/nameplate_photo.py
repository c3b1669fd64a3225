"""Text recognition in nameplate photos.

The photo is read on the local computer with the models in the optional extra ``photo``, and no data
is sent to a server. The image is read twice, once unchanged and once with equalized contrast. If
both passes find a field, it is accepted only if the values agree; otherwise, it is left empty. The
certainty of a field that is found in only one pass is reduced. A photo does not replace reading the
nameplate on the motor. Every field is therefore displayed with the words found in the photo, and
the technician must confirm it.
"""

import io
import math
import warnings
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.util import find_spec
from threading import Lock

from airover.core.errors import InputError
from airover.core.message import Message
from airover.records.nameplate_text import LIKELY, OPEN, SURE, Found, NameplateText, read_nameplate

FIELD = Message("photo.photo")
LARGEST_FILE = 30_000_000  # bytes
LONGEST_SIDE = 1600  # pixels; a larger image is scaled down before reading
MOST_PIXELS = 50_000_000  # a progressive JPEG of this size needs 300 MB
# Pillow starts other programs for some other formats.
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP")
_ONE = Lock()  # photos are read one at a time
SURE_SCORE = 0.80  # if a line has a lower score, its fields must be confirmed


@dataclass(frozen=True)
class Line:
    """Line of text in a photo.

    Attributes
    ----------
    text : str
        Text of the line.
    corners : tuple[tuple[float, float], ...]
        Four corners (x, y) as fractions of the width and height of the image, clockwise from the
        upper left.
    score : float
        Confidence score of the text recognition, 0 to 1.
    """

    text: str
    corners: tuple[tuple[float, float], ...]
    score: float


@dataclass(frozen=True)
class Photo:
    """Text lines read from a photo, from top to bottom, and the resulting nameplate.

    ``picture`` is the upright photo as a JPEG of at most LONGEST_SIDE.
    """

    lines: tuple[Line, ...]
    nameplate: NameplateText
    picture: bytes

    def lines_of(self, found: Found) -> tuple[Line, ...]:
        """Return the lines from which a field was read."""
        parts = ["".join(part.split()) for part in found.words.split(";")]
        holding = [
            one for one in self.lines if any(x in "".join(one.text.upper().split()) for x in parts)
        ]
        if holding:
            return tuple(holding)
        words = {word for part in found.words.split(";") for word in part.split()}
        words = {word for word in words if any(map(str.isdigit, word))} or words
        shared = [len(words & set(one.text.upper().split())) for one in self.lines]
        most = max(shared, default=0)
        return tuple(one for one, count in zip(self.lines, shared) if count == most > 0)


def can_read() -> bool:
    """Return True if the extra ``photo`` is installed."""
    return find_spec("rapidocr_onnxruntime") is not None


def read_photo(content: bytes) -> Photo:
    """Read a nameplate from an image in JPEG, PNG, WebP or another common format.

    Raises
    ------
    InputError
        If the file is not an image, if the image shows no motor data, or if the extra ``photo`` is
        not installed.
    """
    picture = picture_of(content)
    try:
        reader = _reader()
    except ModuleNotFoundError:
        raise InputError(FIELD, Message("photo.no_reader"), Message("photo.extra")) from None
    with _ONE:
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
    shown = io.BytesIO()
    picture.save(shown, "JPEG", quality=90)
    return Photo(lines, _agreed(texts, len(readings), lines), shown.getvalue())


def _agreed(texts: list[NameplateText], readings: int, lines: tuple[Line, ...]) -> NameplateText:
    """Combine several readings of a photo.

    If a field has the same value in all readings, its certainty does not change. If the values
    differ, the field is left empty. The certainty is reduced if a field is missing from a reading
    or if its line has a low score.
    """
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


def picture_of(content: bytes):
    """Return the image in its displayed orientation, scaled down if it is too large.

    Raises
    ------
    InputError
        If the file is not an image or has too many pixels.
    """
    from PIL import Image, ImageOps

    Image.init()  # some formats are otherwise unknown
    bombs = Image.DecompressionBombWarning, Image.DecompressionBombError
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", bombs[0])
            picture = Image.open(io.BytesIO(content), formats=FORMATS)
        with picture:
            if picture.width * picture.height > MOST_PIXELS:
                given = f"{picture.width} x {picture.height}"
                raise InputError(FIELD, given, Message("photo.smaller"))
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a large JPEG is decoded smaller
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (InputError, MemoryError):
        raise
    except bombs:
        raise InputError(FIELD, Message("photo.many"), Message("photo.smaller")) from None
    except Exception:  # noqa: BLE001  each format raises its own errors
        raise InputError(FIELD, Message("photo.no_picture"), Message("photo.formats")) from None
    scale = LONGEST_SIDE / max(upright.size)
    if scale < 1:
        upright = upright.resize([max(1, round(side * scale)) for side in upright.size])
    return upright


def _evened(picture):
    """Return the image in grayscale, slightly sharpened, with equalized contrast."""
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
    """Return the lines in an image, sorted from top to bottom and left to right."""
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
