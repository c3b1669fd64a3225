"""Photos of invented nameplates, drawn: turned, blurred, scratched, stamped, with glare or a corner off.

``python -m tests.photos --count 200`` reads them and prints the fractions of fields that are right,
wrong and left blank, as figures for worksheets/guide.
"""

import argparse
import io
import random
import re
from collections import Counter
from pathlib import Path

import matplotlib
import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from airover.core.errors import InputError
from airover.records.nameplate_photo import read_photo
from airover.records.nameplate_text import SURE
from tests.nameplates import expected, invent, printed

FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
NAMES = ("DejaVuSans", "DejaVuSans-Bold", "DejaVuSansMono", "DejaVuSansMono-Bold", "DejaVuSerif-Bold",
         "DejaVuSerif")  # fmt: skip
HARMS = ("none", "blur", "scratches", "glare", "stamped", "corner", "dark", "several")


def photo(facts_text: str, harm: str, draw: random.Random) -> bytes:
    """A JPEG of a nameplate that says ``facts_text``, with one kind of ``harm``."""
    font = ImageFont.truetype(FONTS / f"{draw.choice(NAMES)}.ttf", draw.randint(26, 40))
    lines = [line.strip() for line in facts_text.split("\n") if line.strip()]
    wide = [part for line in lines for part in _wrapped(line, 34)]
    step = round(font.size * draw.uniform(1.5, 1.9))
    width = max(round(font.getlength(line)) for line in wide) + 120
    size = (width, step * len(wide) + 110)
    ground, ink = draw.choice(((196, 40), (228, 25), (60, 225), (170, 60)))
    harms = {harm} if harm != "several" else set(draw.sample(HARMS[1:-1], 2))
    plate = Image.new("L", size, ground)
    pen = ImageDraw.Draw(plate)
    for at, line in enumerate(wide):
        place = (60, 50 + at * step)
        if "stamped" in harms:
            pen.text((place[0] + 2, place[1] + 2), line, fill=min(255, ground + 45), font=font)
            pen.text(place, line, fill=max(0, ground - 70), font=font)
        else:
            pen.text(place, line, fill=ink, font=font)
    pen.rectangle((8, 8, size[0] - 9, size[1] - 9), outline=ink, width=3)
    if "scratches" in harms:
        for _ in range(draw.randint(8, 16)):
            ends = [(draw.randrange(size[0]), draw.randrange(size[1])) for _ in range(2)]
            pen.line(ends, fill=draw.choice((ground, 120)), width=draw.randint(1, 3))
    if "corner" in harms:
        reach = draw.randint(60, 130)
        corner = draw.choice(((0, 0), (size[0], 0), (0, size[1]), size))
        pen.polygon(
            [corner, (abs(corner[0] - reach), corner[1]), (corner[0], abs(corner[1] - reach))],
            fill=105,
        )
    level = np.asarray(plate, float)
    if "glare" in harms:
        y, x = np.mgrid[: size[1], : size[0]]
        middle, spread = (draw.uniform(0, size[0]), draw.uniform(0, size[1])), draw.uniform(60, 130)
        level += 140 * np.exp(-((x - middle[0]) ** 2 + (y - middle[1]) ** 2) / (2 * spread**2))
    if "dark" in harms:
        level = level * np.linspace(draw.uniform(0.2, 0.45), 0.9, size[0])
    noise = np.random.default_rng(draw.randrange(2**32)).normal(0, draw.uniform(2, 9), level.shape)
    picture = Image.fromarray(np.clip(level + noise, 0, 255).astype(np.uint8))
    picture = picture.rotate(
        draw.uniform(-15, 15), Image.Resampling.BICUBIC, expand=True, fillcolor=105
    )
    if "blur" in harms:
        picture = picture.filter(ImageFilter.GaussianBlur(draw.uniform(1.0, 2.0)))
    out = io.BytesIO()
    picture.convert("RGB").save(out, "JPEG", quality=draw.randint(60, 92))
    return out.getvalue()


def _wrapped(line: str, longest: int) -> list[str]:
    """``line`` in parts between two facts, which stand apart by two spaces."""
    parts = [""]
    for fact in line.split("  "):
        joined = f"{parts[-1]}  {fact}".strip()
        if len(joined) <= longest or not parts[-1]:
            parts[-1] = joined
        else:
            parts.append(fact)
    return parts


def _same(one: str, other: str) -> bool:
    """True for the same value, as 1 A and 1.0 A."""
    return one == other or re.sub(r"\.0(?= )", "", one) == re.sub(r"\.0(?= )", "", other)


def trial(count: int, first: int = 0) -> dict[str, Counter]:
    """Fields that are right, wrong and open, by kind of harm, of ``count`` drawn photos."""
    told: dict[str, Counter] = {}
    for seed in range(first, first + count):
        draw = random.Random(seed)
        facts = invent(draw)
        harm = HARMS[seed % len(HARMS)]
        counts = told.setdefault(harm, Counter())
        wanted = expected(facts)
        try:
            found = read_photo(photo(printed(facts, draw), harm, draw)).nameplate
        except InputError:
            counts["open"] += len(wanted)
            continue
        sure = {one.field for one in found.found if one.certainty == SURE}
        for field, value in wanted.items():
            if field not in found.fields:
                counts["open"] += 1
            elif _same(found.fields[field], value):
                counts["right"] += 1
                counts["right and sure"] += field in sure
            else:
                counts["wrong"] += 1
                counts["wrong and sure"] += field in sure
        extra = set(found.fields) - set(wanted) - {"rotation_seen_from"}
        counts["invented"] += len(extra)
        counts["invented and sure"] += len(extra & sure)
    return told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="seed of the first photo")
    given = parser.parse_args()
    told = trial(given.count, given.first)
    whole = sum(told.values(), Counter())
    for harm, counts in [*told.items(), ("all", whole)]:
        total = counts["right"] + counts["wrong"] + counts["open"]
        shares = {name: f"{100 * value / total:.1f} %" for name, value in counts.items()}
        print(f"{harm:10} {total:5} fields", shares, flush=True)


if __name__ == "__main__":
    main()
