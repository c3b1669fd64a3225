"""Common look of all pictures (text sizes, frame, grid, bands, dashes), and pictures as PNG.

Colors come from `palette`. Nothing is set for matplotlib globally: each picture gets its look where
it is made, so that one never changes another. The font, DejaVu Sans, comes with matplotlib, so
pictures are the same on every machine. A picture is drawn whole, or only its moving parts anew.
"""

import io

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.image import imsave

from airover.reports.palette import BAND_EDGE, EDGE, GRID, INK, PAPER, SOFT

HEAD, PLAIN, SMALL = 10.5, 9.5, 9.0  # pt, on a screen and for a phone
PRINT_PLAIN, PRINT_SMALL = 8.0, 7.5  # pt, in a column of a paper
DOTS, FINE = 106, 138  # of an inch: a picture that follows a slider, one that stands
WIDE = 6.2  # inches, of a panel's picture: 660 pixels
THICK, LINE, THIN = 2.2, 1.8, 1.2  # pt
# Line styles carry the meaning together with the labels; colour never alone.
DASHES = ("--", "-", ":")
BEHIND = {"facecolor": PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 0.8}
SHADE = {"facecolor": (BAND_EDGE, 0.333), "edgecolor": BAND_EDGE, "lw": 0.7}
LEADER = {"arrowstyle": "-", "color": EDGE, "lw": 0.8}


def frame(axes, grid: str = "both", small: float = SMALL, plain: float = PLAIN) -> None:
    """Two thin edges, a pale grid behind what is drawn ("x", "y", "both" or ""), quiet ticks."""
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


def title(axes, words: str, size: float = HEAD, **more) -> None:
    """What a picture shows, above its left edge."""
    axes.set_title(words, loc="left", fontsize=size, color=INK, **more)


def unframed(axes, side: str) -> None:
    """No ticks at the ``side`` ("x" or "y") whose labels are names, in ink."""
    axes.tick_params(axis=side, length=0, labelcolor=INK)


def note(axes, words: str, place, away=(0, 0), color: str = INK, size: float = SMALL, **more):
    """``words`` beside a ``place`` of the data, ``away`` by so many points, clear of lines."""
    look = {"textcoords": "offset points", "fontsize": size, "bbox": BEHIND, "color": color}
    return axes.annotate(words, place, xytext=away, **{**look, **more})


def png(figure: Figure, dpi: int = FINE) -> bytes:
    """The picture as a PNG file; the same figure gives the same bytes."""
    picture = io.BytesIO()
    figure.savefig(picture, format="png", dpi=dpi, metadata={"Software": None})
    return picture.getvalue()


def redrawn(canvas: FigureCanvasAgg, moving) -> bytes:
    """A picture as a PNG file: its still parts are on the ``canvas``, the ``moving`` go on top.

    Drawing these alone, with light compression, is what lets a picture follow a slider.
    """
    for artist in moving:
        artist.axes.draw_artist(artist)
    picture = io.BytesIO()
    pixels = np.asarray(canvas.buffer_rgba())[..., :3]
    fast = {"compress_level": 2}
    imsave(picture, pixels, format="png", metadata={"Software": None}, pil_kwargs=fast)
    return picture.getvalue()
