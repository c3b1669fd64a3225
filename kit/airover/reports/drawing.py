"""Define the common style of all figures and save figures as PNG.

The colors are in `palette`. No global matplotlib settings are changed. Each figure is styled when
it is created, so figures do not affect each other. The font, DejaVu Sans, comes with matplotlib, so
figures look the same on every machine. A `MovingPicture` is updated when a slider moves. Its axes
are stored as pixels, and only its moving parts are redrawn.
"""

import io
import textwrap
from threading import Lock

import numpy as np
from matplotlib import figure, rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text
from PIL import Image

from airover.core.intervals import Band
from airover.reports.palette import BAND_EDGE, EDGE, GRID, INK, PAPER, SOFT

HEAD, PLAIN, SMALL = 10.5, 9.5, 9.0  # pt, on screens and phones
PRINT_PLAIN, PRINT_SMALL = 8.0, 7.5  # pt, in a column of a printed page
DOTS, FINE = 106, 138  # dots per inch, for figures updated by a slider and for static figures
WIDE = 6.2  # inches, for 660 pixels in a panel
THICK, LINE, THIN = 2.2, 1.8, 1.2  # pt
# Information is conveyed by line styles and labels, never by color alone.
DASHES = ("--", "-", ":")
BEHIND = {"facecolor": PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 0.8}
SHADE = {"facecolor": (BAND_EDGE, 0.333), "edgecolor": BAND_EDGE, "lw": 0.7}
LEADER = {"arrowstyle": "-", "color": EDGE, "lw": 0.8}

# upper limits for axes, as multiples of a power of ten
ENDS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.25, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0)
MOST_STILLS = 20  # axes kept as pixels by one picture, a few MB
OUTLINES, LETTERS = "path", "none"  # how an SVG file has its text
_UNDATED = {"Date": None, "Creator": None, "Format": None, "Type": None}
_SETTINGS = Lock()  # the threads of all pages share the settings of matplotlib


class Figure(figure.Figure):
    """Figure that shows all text as typed. matplotlib typesets text with two "$" as an equation."""

    def draw(self, renderer) -> None:
        for text in self.findobj(Text):
            text.set_parse_math(False)
        super().draw(renderer)


def svg(figure: Figure, text: str = OUTLINES) -> bytes:
    """Return the ``figure`` as an SVG file without dates or links.

    Text is saved as OUTLINES, which need no fonts, or as LETTERS in fonts that a browser has, which
    makes a smaller file.
    """
    fonts = ["DejaVu Sans", "Verdana"]
    settings = {"svg.fonttype": text, "svg.hashsalt": "airover", "font.sans-serif": fonts}
    file = io.BytesIO()
    with _SETTINGS, rc_context(settings):
        figure.savefig(file, format="svg", metadata=_UNDATED)
    return file.getvalue()


def frame(axes, grid: str = "both", small: float = SMALL, plain: float = PLAIN) -> None:
    """Format axes with two thin edges, a pale ``grid`` ("x", "y", "both" or "") and small ticks."""
    axes.spines[["top", "right"]].set_visible(False)
    for edge in axes.spines.values():
        edge.set(color=EDGE, linewidth=0.8)
    axes.tick_params(labelsize=small, labelcolor=SOFT, color=EDGE, length=3, width=0.8)
    axes.grid(visible=False)
    if grid:
        axes.grid(axis=grid, color=GRID, lw=0.8)
    axes.set_axisbelow(True)
    for label in (axes.xaxis.label, axes.yaxis.label):
        label.set(size=plain, color=INK)


def title(axes, words: str, size: float = HEAD, **more):
    """Add a title above the axes, aligned with their left edge, and return it."""
    return axes.set_title(words, loc="left", fontsize=size, color=INK, **more)


def unframed(axes, side: str) -> None:
    """Remove the tick marks on the ``side`` ("x" or "y") whose tick labels are names."""
    axes.tick_params(axis=side, length=0, labelcolor=INK)


def note(axes, words: str, place, away=(0, 0), color: str = INK, size: float = SMALL, **more):
    """Write ``words`` next to the data point ``place``, at an offset of ``away`` [pt]."""
    look = {"textcoords": "offset points", "fontsize": size, "bbox": BEHIND, "color": color}
    look |= {"parse_math": False}
    return axes.annotate(words, place, xytext=away, **{**look, **more})


def beside(axes, words: str, level: float):
    """Write ``words`` to the right of the axes at ``level``, wrapped, and return the label."""
    told = textwrap.fill(words, 7, break_long_words=False)
    place = {"xycoords": axes.get_yaxis_transform(), "annotation_clip": False}
    return note(axes, told, (1, level), (4, 0), va="center", **place)


def png(figure: Figure, dpi: int = FINE) -> bytes:
    """Return the figure as a PNG file with reproducible contents."""
    figure.dpi = dpi
    canvas = FigureCanvasAgg(figure)  # `savefig` would render twice, first for the layout
    canvas.draw()
    return _png(canvas)


def axis_end(value: float) -> float:
    """Return the smallest round axis limit that includes ``value``."""
    power = 10 ** np.floor(np.log10(value))
    return next(float(end * power) for end in ENDS if end * power >= value * (1 - 1e-12))


def outline(x, band: Band) -> np.ndarray:
    """Return the vertices of a ``band`` plotted against ``x``, shape (points, 2)."""
    return np.column_stack([np.r_[x, x[::-1]], np.r_[band.low, band.high[::-1]]])


class MovingPicture:
    """Figure of ``size`` [inches] that is updated when a slider moves.

    A subclass sets up its axes on ``figure`` and creates its moving parts with `line`, `band`,
    `upright` and `words`. Parts that are created first are in the background. The ``set`` method of
    a subclass fits the axes, calls `restore` and moves each part. Only these parts are redrawn.
    """

    def __init__(self, size: tuple[float, float], dots: float = DOTS, **more):
        self.figure = Figure(figsize=size, dpi=dots, **more)
        self.canvas = FigureCanvasAgg(self.figure)
        self.moving = []
        self._stills, self._is_vector = {}, False

    def set(self, *shown) -> None:
        """Move every moving part to match ``shown``."""
        raise NotImplementedError

    def png(self, *shown) -> bytes:
        """Return the figure for ``shown`` as a PNG file."""
        self._is_vector = False
        self.set(*shown)
        for artist in self.moving:
            if artist.get_visible():
                artist.axes.draw_artist(artist)
        return _png(self.canvas)

    def svg(self, *shown) -> bytes:
        """Return the figure for ``shown`` as an SVG file."""
        self._is_vector = True
        self.set(*shown)
        return svg(self.figure, LETTERS)

    def restore(self, ends=()) -> None:
        """Restore the pixels of the axes for the limits ``ends``.

        The axes are rendered only once for each set of limits.
        """
        if self._is_vector:
            return
        if ends not in self._stills:
            if len(self._stills) == MOST_STILLS:
                self._stills.clear()
            self.canvas.draw()
            self._stills[ends] = self.canvas.copy_from_bbox(self.figure.bbox)
        self.canvas.restore_region(self._stills[ends])

    def forget(self) -> None:
        """Discard the stored pixels after a change to a part that does not move."""
        self._stills.clear()

    def line(self, axes, style: str = "-", color: str = INK, **look):
        """Return a line or markers that `set` moves."""
        (line,) = axes.plot([], [], style, color=color, animated=True, **look)
        return self._moved(line)

    def band(self, axes, **look):
        """Return a filled area that `set` moves, shaded as a 90 % range by default."""
        (area,) = axes.fill([], [], animated=True, **(look or SHADE))
        return self._moved(area)

    def upright(self, axes, foot: float = 0.0, top: float = 1.0, **look):
        """Return a vertical line that `set` moves, from ``foot`` to ``top`` of the axes."""
        look = {"color": EDGE, "lw": THIN, **look}
        return self._moved(axes.axvline(np.nan, foot, top, animated=True, **look))

    def words(self, axes, text: str = "", place=(0, 0), **look):
        """Return a text label that `set` moves."""
        look = {"fontsize": SMALL, "color": INK, "bbox": BEHIND, "parse_math": False, **look}
        return self._moved(axes.text(*place, text, animated=True, **look))

    def note(self, axes, text: str = "", away=(0, 0), **look):
        """Return words at a data point that `set` moves, at an offset of ``away`` [pt]."""
        return self._moved(note(axes, text, (0, 0), away, animated=True, **look))

    def _moved(self, artist):
        self.moving.append(artist)
        return artist


def _png(canvas: FigureCanvasAgg) -> bytes:
    """Return the rendered ``canvas`` as a PNG file with at most 256 colors.

    This takes less time than the compression of all colors, and a third of the size.
    """
    size, pixels = canvas.get_width_height(), canvas.buffer_rgba()
    picture = Image.frombuffer("RGBA", size, pixels, "raw", "RGBA", 0, 1).convert("RGB")
    picture = picture.quantize(256, method=Image.Quantize.FASTOCTREE)
    # The nearly white edges of letters share the color of the paper, which stays white.
    picture.putpalette(bytes(255 if one == 254 else one for one in picture.getpalette()))
    file = io.BytesIO()
    picture.save(file, "PNG", dpi=(100, 100))
    return file.getvalue()
