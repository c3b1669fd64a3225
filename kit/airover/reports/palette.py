"""Define the colors of figures, panels, pages and printed documents by use.

No information is conveyed by color alone. Text, markers, dashes and hatching are used as well.
``TEXTS`` and ``MARKS`` list pairs of foreground and background colors. tests/reports/test_look.py
checks that each pair has the contrast required by the Web Content Accessibility Guidelines 2.2: 4.5
to 1 for text (1.4.3), and 3 to 1 for lines and markers that convey information (1.4.11). ``RULE``
and ``GRID`` are used only to separate rows and to mark scales. The templates for printed documents
repeat some of the colors, and the same test reports any color that is not defined here.
"""

PAPER = "#ffffff"
WASH = "#f3f5f7"  # background of a highlighted part
PALE = "#dfe5ea"  # part of a bar
MIDDLE = "#c3ccd4"  # part of a bar next to a pale part
RULE = "#ccd3da"  # thin lines between rows
GRID = "#e3e7eb"  # thin grid lines

INK = "#1f2933"  # text; the motor
SOFT = "#52606d"  # secondary text
EDGE = "#66727e"  # frames of controls and axes, leader lines, edges of bars
BLUE = "#1f5673"  # buttons and selected controls
FAN = "#a84d1a"  # the fan; readings, predictions and limits compared with the motor
BAND_EDGE = "#4a82ad"  # outline of a 90 % range, visible in gray and in print
BAND = "#c2d6e4"  # BAND_EDGE at one-third opacity on white paper: fill of a 90 % range

FITS = "#2f7d4f"
WORK = "#8a6100"
UNFIT = "#a33b2a"
WRONG = "#8c2f1b"  # rejected input
CAUTION_WASH = "#fffaf0"
VERDICTS = {"fits": FITS, "fits with work": WORK, "does not fit": UNFIT}

# Parts of the stacked temperature bar from bottom to top, alternating between light and dark.
STACK = (PALE, "#7f8c99", MIDDLE, SOFT, "#eef1f4", "#c98e66", "#f6e6da")

# Names and shared sizes in the style sheets of the panels, the page and the proposal.
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
    """Return ``STYLES`` as CSS custom properties, such as ``--ink``.

    Parameters
    ----------
    prefix : str, optional
        Text to add before each name.
    """
    return " ".join(f"--{prefix}{name}: {value};" for name, value in STYLES.items())


def contrast(one: str, other: str) -> float:
    """Return the WCAG 2.2 contrast ratio (1 to 21) of two "#rrggbb" colors."""
    darker, lighter = sorted(map(_luminance, (one, other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(color: str) -> float:
    parts = (int(color[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = (x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4 for x in parts)
    return sum(weight * x for weight, x in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
