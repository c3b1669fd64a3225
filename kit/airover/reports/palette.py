"""Colors of pictures, panels, page and papers: one small set, by use.

Color never carries a meaning alone: words, marks, dashes and hatching do. ``TEXTS`` and ``MARKS``
list pairs of color and ground, and tests/reports/test_look.py compares each pair with the contrast of
the Web Content Accessibility Guidelines 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for a line or mark
with a meaning (1.4.11). ``RULE`` and ``GRID`` only separate rows and scales. Templates of
papers repeat some colors; the same test finds any other.
"""

PAPER = "#ffffff"
WASH = "#f3f5f7"  # ground of a highlighted part
PALE = "#dfe5ea"  # a part of a bar
MIDDLE = "#c3ccd4"  # a part of a bar beside a pale one
RULE = "#ccd3da"  # hairlines between rows
GRID = "#e3e7eb"  # hairlines behind a picture

INK = "#1f2933"  # text; the motor
SOFT = "#52606d"  # text in the background
EDGE = "#66727e"  # frames of controls and axes, leaders, edges of bars
BLUE = "#1f5673"  # controls that can be pressed or are chosen
FAN = "#a84d1a"  # the fan; readings, predictions and limits beside the motor
BAND_EDGE = "#4a82ad"  # outline of a 90 % range, seen in gray and in print
BAND = "#c2d6e4"  # the same, a third of it over paper: the filled range

FITS = "#2f7d4f"
WORK = "#8a6100"
UNFIT = "#a33b2a"
WRONG = "#8c2f1b"  # rejected input
CAUTION_WASH = "#fffaf0"
VERDICTS = {"fits": FITS, "fits with work": WORK, "does not fit": UNFIT}

# The parts of a stack of temperatures, from below: light and dark in turns.
STACK = (PALE, "#7f8c99", MIDDLE, SOFT, "#eef1f4", "#c98e66", "#f6e6da")

# As the style sheets of panels, page and proposal name them; sizes that they share among them.
STYLES = {
    "ink": INK, "soft": SOFT, "line": RULE, "wash": WASH, "edge": EDGE, "strong": BLUE,
    "wrong": WRONG, "caution": WORK, "caution-wash": CAUTION_WASH, "heavy": "5px",
    "round": "4px", "headline": "18px", "earlier": "0.6",
}  # fmt: skip

TEXTS = (
    (INK, PAPER), (INK, WASH), (INK, PALE), (INK, MIDDLE), (INK, BAND), (INK, CAUTION_WASH),
    (SOFT, PAPER), (SOFT, WASH), (EDGE, PAPER), (BLUE, PAPER), (PAPER, BLUE),
    (FAN, PAPER), (WRONG, PAPER), (WRONG, WASH), (SOFT, CAUTION_WASH),
)  # fmt: skip
MARKS = (
    (EDGE, PAPER), (EDGE, WASH), (BAND_EDGE, PAPER), (FAN, PAPER), (FAN, BAND), (BLUE, PAPER),
    (FITS, WASH), (WORK, WASH), (UNFIT, WASH), (WRONG, PAPER), (WORK, CAUTION_WASH),
)  # fmt: skip


def css(prefix: str = "") -> str:
    """``STYLES`` as custom properties of a style sheet: ``--ink`` and so on, after a ``prefix``."""
    return " ".join(f"--{prefix}{name}: {value};" for name, value in STYLES.items())


def contrast(one: str, other: str) -> float:
    """Contrast of two colors "#rrggbb", 1 to 21: WCAG 2.2's relative luminances, lighter first."""
    darker, lighter = sorted(map(_luminance, (one, other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(color: str) -> float:
    parts = (int(color[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = (x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4 for x in parts)
    return sum(weight * x for weight, x in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
