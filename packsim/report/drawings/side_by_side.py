"""Drawings of two states of a machine, small, without words, and to one scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from packsim.report.drawings.drawing import (
    Circle,
    Drawing,
    Point,
    Polygon,
    Polyline,
    Stroke,
)

Shape = Circle | Stroke | Polyline | Polygon

WORDS: Final = {"dimension", "note", "label", "title", "lane", "footprint above", "footprint below"}
"""Roles of what is too small to read there."""

_EDGE: Final = 0.02
"""Room about what is drawn, as a share of its width."""


def side_by_side(
    drawings: Sequence[Drawing], paper_mm: float, most_up_mm: float
) -> tuple[Drawing, ...]:
    """Return drawings without words, all with the same corners and to the same scale.

    Parameters
    ----------
    drawings : sequence of Drawing
        At least one.
    paper_mm : float
        Width of each on paper [mm].
    most_up_mm : float
        Height on paper that is shown at most, of the middle of what is there [mm].

    Returns
    -------
    tuple of Drawing
        One for each.
    """
    kept = [_shapes(one) for one in drawings]
    across, up = zip(*(point for shapes in kept for point in _points(shapes)), strict=True)
    edge = _EDGE * (max(across) - min(across))
    low, high = (min(across) - edge, min(up) - edge), (max(across) + edge, max(up) + edge)
    scale = (high[0] - low[0]) / paper_mm
    hidden = max(0.0, (high[1] - low[1]) - most_up_mm * scale) / 2.0
    low, high = (low[0], low[1] + hidden), (high[0], high[1] - hidden)
    return tuple(
        replace(one, low_mm=low, high_mm=high, scale=scale, primitives=shapes, paper=(), block=())
        for one, shapes in zip(drawings, kept, strict=True)
    )


def _shapes(drawing: Drawing) -> tuple[Shape, ...]:
    return tuple(
        thing
        for thing in drawing.primitives
        if isinstance(thing, Shape) and thing.role not in WORDS
    )


def _points(shapes: Iterable[Shape]) -> Iterable[Point]:
    for thing in shapes:
        match thing:
            case Circle((x, y), radius, _):
                yield from ((x - radius, y - radius), (x + radius, y + radius))
            case Stroke(start, end, _):
                yield from (start, end)
            case Polyline(points, _) | Polygon(points, _):
                yield from points
