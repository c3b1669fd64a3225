"""A picture as a file of PNG, drawn whole or with only its moving parts drawn anew."""

import io

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.image import imsave

from airover.figures.style import FINE


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
