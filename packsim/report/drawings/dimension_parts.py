"""Dimensions taken apart into what every writer knows: lines and a text."""

import math
from collections.abc import Iterable

from packsim.report.drawings.drawing import Dimension, Label, Point, Primitive, Stroke


def exploded(primitives: Iterable[Primitive]) -> tuple[Primitive, ...]:
    """Return the primitives with every dimension taken apart into lines and a text."""
    flat: list[Primitive] = []
    for thing in primitives:
        flat.extend(_parts(thing) if isinstance(thing, Dimension) else (thing,))
    return tuple(flat)


def _parts(dimension: Dimension) -> tuple[Primitive, ...]:
    """Extension lines, the dimension line with a slanted tick at each end, and its text."""
    (x0, y0), (x1, y1) = dimension.start_mm, dimension.end_mm
    length = dimension.measured_mm or 1.0
    along = ((x1 - x0) / length, (y1 - y0) / length)
    left = (-along[1], along[0])
    off, size, role = dimension.offset_mm, dimension.size_mm, dimension.role
    side = math.copysign(1.0, off)

    def place(base: Point, out: float, ahead: float = 0.0) -> Point:
        return (
            base[0] + left[0] * out + along[0] * ahead,
            base[1] + left[1] * out + along[1] * ahead,
        )

    tick = 0.35 * size
    beyond = 0.0 if dimension.text_at == "middle" else 1.2 * size
    parts: list[Primitive] = []
    for base in (dimension.start_mm, dimension.end_mm):
        if abs(off) > size:
            ends = place(base, 0.5 * size * side), place(base, off + tick * side)
            parts.append(Stroke(*ends, role))
        at = place(base, off)
        parts.append(Stroke(place(at, -tick, -tick), place(at, tick, tick), role))
    start = place(dimension.start_mm, off, -beyond)
    end = place(dimension.end_mm, off, beyond)
    parts.append(Stroke(start, end, role))
    spots = {
        "middle": (place(dimension.start_mm, off + 0.75 * size, length / 2.0), "middle"),
        "start": (place(dimension.start_mm, off, -beyond - 0.3 * size), "end"),
        "end": (place(dimension.end_mm, off, beyond + 0.3 * size), "start"),
    }
    at, anchor = spots[dimension.text_at]
    turn = math.atan2(along[1], along[0])
    return (*parts, Label(at, dimension.text, size, role, anchor, turn_rad=turn))
