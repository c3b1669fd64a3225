"""Write a `MovingPicture` as SVG, which takes a tenth of the time of its pixels.

A page draws a new figure for each entry of each visitor. The figure is set up with matplotlib, which
also places its ticks, and its few lines, areas and labels are written here. Only what these figures
use is supported: one pair of axes, lines with round or flat markers, filled areas, text without
equations, notes with leader lines, and a legend at the upper left.
"""

from collections.abc import Iterator
from html import escape

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Annotation, Text

from airover.reports.palette import EDGE, GRID, PAPER

SCALE = 100 / 72  # pixels per point
FONT = "DejaVu Sans, Verdana, sans-serif"
LINE_HEIGHT, ASCENT, DESCENT = 1.2, 0.76, 0.24  # as fractions of the font size
DASHES = {"--": (3.7, 1.6), ":": (1.0, 1.65)}  # as multiples of the line width
ANCHORS = {"left": "start", "center": "middle", "right": "end"}
TICK = 3 * SCALE  # pixels
INSIDE = 'clip-path="url(#axes)"'
ASIDE = 6.0  # pixels between an axis and its tick labels, and around the legend


def svg(figure) -> bytes:
    """Return the visible axes and texts of a matplotlib ``figure`` as an SVG file."""
    width, height = (72 * SCALE * inches for inches in figure.get_size_inches())
    place = _Place(figure, height)
    parts = [part for axes in figure.axes for part in _axes(axes, place)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" font-family="{FONT}">'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>{"".join(parts)}</svg>'
    ).encode()


class _Place:
    """Conversion of positions on a figure to pixels from its upper left corner."""

    def __init__(self, figure, height: float):
        self._scale, self._height = 72 * SCALE / figure.dpi, height

    def __call__(self, transform, points) -> np.ndarray:
        """Return ``points`` in pixels, shape (points, 2)."""
        x, y = self._scale * transform.transform(np.reshape(points, (-1, 2))).T
        return np.column_stack([x, self._height - y])


def _axes(axes, place: _Place) -> Iterator[str]:
    if axes.get_visible():
        yield from _scales(axes, place)
    shown = [one for one in axes.get_children() if isinstance(one, (*_WRITERS, Text))]
    if axes.get_visible():
        (left, bottom), (right, top) = place(axes.transAxes, [(0, 0), (1, 1)])
        inside = (
            f'x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}"'
        )
        yield f'<clipPath id="axes"><rect {inside}/></clipPath>'
    for one in sorted(shown, key=lambda one: one.get_zorder()):
        own_axes = axes.get_visible() or one.get_transform() == axes.figure.transFigure
        if one.get_visible() and own_axes:
            write = next((_WRITERS[kind] for kind in _WRITERS if isinstance(one, kind)), _text)
            yield from write(one, place)
    if axes.get_visible() and axes.get_legend() is not None:
        yield from _legend(axes, place)


def _scales(axes, place: _Place) -> Iterator[str]:
    """Yield the grid, the two edges of the axes, the tick labels and the axis labels."""
    (left, bottom), (right, top) = place(axes.transAxes, [(0, 0), (1, 1)])
    edges = []
    for axis, ends in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
        along_x, at = axis is axes.xaxis, axis.get_majorticklocs()
        at = at[(min(ends) <= at) & (at <= max(ends))]
        pairs = [(one, 0) if along_x else (0, one) for one in at]
        look = axis.get_major_ticks(1)[0].label1
        size, color = SCALE * look.get_fontsize(), to_hex(look.get_color())
        labels = axis.get_major_formatter().format_ticks(at)
        for (x, y), label in zip(place(axes.transData, pairs), labels, strict=True):
            grid = (
                f"M{x:.1f} {bottom:.1f}V{top:.1f}"
                if along_x
                else f"M{left:.1f} {y:.1f}H{right:.1f}"
            )
            yield f'<path d="{grid}" stroke="{GRID}" stroke-width="1.1"/>'
            edges.append(
                f"M{x:.1f} {bottom:.1f}v{TICK:.1f}"
                if along_x
                else f"M{left:.1f} {y:.1f}h-{TICK:.1f}"
            )
            x, y = (x, bottom + ASIDE) if along_x else (left - ASIDE, y)
            yield _written(
                label, x, y, size, color, *(("center", "top") if along_x else ("right", "center"))
            )
        name, size = axis.label.get_text(), SCALE * axis.label.get_fontsize()
        color = to_hex(axis.label.get_color())
        if along_x:
            foot = place(axes.figure.transFigure, (0, 0))[0, 1] - 0.3 * size
            yield _written(name, (left + right) / 2, foot, size, color, "center", "bottom")
        else:
            yield _written(
                name, 0.3 * size, (top + bottom) / 2, size, color, "center", "top", turned=True
            )
    edges.append(f"M{left:.1f} {top:.1f}V{bottom:.1f}H{right:.1f}")
    yield f'<path d="{"".join(edges)}" fill="none" stroke="{EDGE}" stroke-width="1.1"/>'


def _line(line: Line2D, place: _Place) -> Iterator[str]:
    points = place(line.get_transform(), line.get_xydata())
    if not len(points) or not np.isfinite(points).all():
        return
    color, style = to_hex(line.get_color()), line.get_linestyle()
    if style != "None" and len(points) > 1:
        yield f'<polyline points="{_points(points)}" fill="none" {_stroke(line, color, style)} {INSIDE}/>'
    size = SCALE * line.get_markersize() / 2
    for x, y in points if line.get_marker() in ("o", "_") else ():
        if line.get_marker() == "o":
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:.1f}" fill="{color}"/>'
        else:
            width = SCALE * line.get_markeredgewidth()
            yield f'<path d="M{x - size:.1f} {y:.1f}h{2 * size:.1f}" stroke="{color}" stroke-width="{width:.1f}"/>'


def _stroke(line: Line2D, color: str, style: str) -> str:
    width = SCALE * line.get_linewidth()
    dashes = ",".join(f"{width * part:.1f}" for part in DASHES.get(style, ()))
    more = f' stroke-dasharray="{dashes}"' if dashes else ' stroke-linejoin="round"'
    return f'stroke="{color}" stroke-width="{width:.1f}"{more}'


def _area(area, place: _Place) -> Iterator[str]:
    if isinstance(area, Polygon):
        paths, face, edge = [area.get_path()], area.get_facecolor(), area.get_edgecolor()
        width, transform = area.get_linewidth(), area.get_data_transform()
    else:
        paths, face, edge = area.get_paths(), area.get_facecolor()[0], area.get_edgecolor()[0]
        width, transform = area.get_linewidth()[0], area.get_transform()
    look = f'fill="{to_hex(face)}" fill-opacity="{face[3]:.3g}" stroke="{to_hex(edge)}"'
    for path in paths:
        points = path.vertices
        if len(points) and np.isfinite(points).all():
            yield f'<polygon points="{_points(place(transform, points))}" {look} stroke-width="{SCALE * width:.1f}" {INSIDE}/>'


def _note(note: Annotation, place: _Place) -> Iterator[str]:
    """Yield a text at an offset from a point of the data, with its leader line."""
    away = SCALE * np.array(note.get_position()) * (1, -1)
    coords = note.axes.transData if note.xycoords == "data" else note.xycoords
    (x, y), (dx, dy) = place(coords, note.xy)[0], away
    if note.arrow_patch is not None:
        yield f'<path d="M{x:.1f} {y:.1f}l{dx:.1f} {dy:.1f}" stroke="{EDGE}" stroke-width="1.1"/>'
    yield _text_at(note, x + dx, y + dy)


def _text(text: Text, place: _Place) -> Iterator[str]:
    yield _text_at(text, *place(text.get_transform(), text.get_position())[0])


def _text_at(text: Text, x: float, y: float) -> str:
    look = SCALE * text.get_fontsize(), to_hex(text.get_color()), text.get_ha(), text.get_va()
    return _written(text.get_text(), x, y, *look, halo=text.get_bbox_patch() is not None)


def _legend(axes, place: _Place) -> Iterator[str]:
    legend, ((x, y),) = axes.get_legend(), place(axes.transAxes, (0, 1))
    title, texts = legend.get_title(), legend.get_texts()
    size, color = SCALE * title.get_fontsize(), to_hex(title.get_color())
    x, step, long = x + 2 * ASIDE, 1.55 * size, 2.6 * size
    yield _written(title.get_text(), x, y + ASIDE, size, color, "left", "top")
    for row, (line, text) in enumerate(zip(legend.legend_handles, texts, strict=True), 1):
        middle = y + ASIDE + (row + 0.5) * step
        stroke = _stroke(line, to_hex(line.get_color()), line.get_linestyle())
        yield f'<path d="M{x:.1f} {middle:.1f}h{long:.1f}" {stroke}/>'
        yield _written(text.get_text(), x + long + ASIDE, middle, size, color, "left", "center")


def _written(
    words: str, x: float, y: float, size: float, color: str, ha: str, va: str,
    halo: bool = False, turned: bool = False,
) -> str:  # fmt: skip
    """Return lines of text at a position, which is turned by 90 degrees if ``turned`` is True."""
    lines = words.split("\n") if words else []
    more, step = len(lines) - 1, LINE_HEIGHT * size
    down = {"top": ASCENT * size, "center": (ASCENT - DESCENT) / 2 * size - more * step / 2,
            "bottom": -DESCENT * size - more * step}  # fmt: skip
    first = y + down.get(va, 0.0)
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if turned else ""
    edge = (
        f' stroke="{PAPER}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"'
        if halo
        else ""
    )
    return "".join(
        f'<text x="{x:.1f}" y="{first + number * step:.1f}" font-size="{size:.1f}" fill="{color}" '
        f'text-anchor="{ANCHORS[ha]}"{turn}{edge}>{escape(line)}</text>'
        for number, line in enumerate(lines)
    )  # fmt: skip


def _points(points: np.ndarray) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points.tolist())


_WRITERS = {Line2D: _line, Polygon: _area, PolyCollection: _area, Annotation: _note}
