"""A drawing taken apart into plain lines, circles and texts, for writers that know no more."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from packsim.report.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Entry,
    Hole,
    Label,
    Ordinate,
    Plain,
    Point,
    Polygon,
    Polyline,
    Primitive,
    Stroke,
)


def exploded(primitives: Iterable[Primitive]) -> Iterator[Plain]:
    """Yield the primitives with dimensions, holes and entries taken apart into lines and texts."""
    for thing in primitives:
        match thing:
            case Dimension():
                yield from _parts(thing)
            case Ordinate():
                yield from _ordinate(thing)
            case Hole():
                yield from _hole(thing)
            case Entry(at, _, text, size, role):
                yield Label(at, text, size, role)
            case _:
                yield thing


def painted(drawing: Drawing) -> Iterator[Plain]:
    """Yield all that a sheet shows, in real millimetres."""
    yield from exploded(drawing.primitives)
    (x0, y0), scale = drawing.low_mm, drawing.scale

    def at(point: Point) -> Point:
        return x0 + point[0] * scale, y0 + point[1] * scale

    for thing in exploded((*drawing.paper, *drawing.block)):
        match thing:
            case Circle(centre, radius, role):
                yield Circle(at(centre), radius * scale, role)
            case Stroke(start, end, role):
                yield Stroke(at(start), at(end), role)
            case Label():
                yield replace(thing, at_mm=at(thing.at_mm), size_mm=thing.size_mm * scale)
            case Polyline(points, role) | Polygon(points, role):
                yield type(thing)(tuple(map(at, points)), role)


def leader(ordinate: Ordinate) -> tuple[Point, ...]:
    """Return the corners of an ordinate's leader: straight, aslant, straight again."""
    (x0, y0), (x1, y1) = ordinate.at_mm, ordinate.end_mm
    leg = math.copysign(LEG * ordinate.size_mm, y1 - y0)
    return (x0, y0), (x0, y1 - 2.0 * leg), (x1, y1 - leg), (x1, y1)


LEG: Final = 0.7
"""Length of a straight end of a leader, over the size of the type."""


def _ordinate(ordinate: Ordinate) -> tuple[Plain, ...]:
    (x, y), size = ordinate.end_mm, ordinate.size_mm
    up = y > ordinate.at_mm[1]
    at = (x, y + math.copysign(0.3 * size, y - ordinate.at_mm[1]))
    held = "start" if up else "end"
    text = Label(at, ordinate.text, size, ordinate.role, held, turn_rad=math.pi / 2.0)
    return Polyline(leader(ordinate), ordinate.role), text


def _hole(hole: Hole) -> tuple[Plain, ...]:
    (x, y), radius = hole.centre_mm, hole.diameter_mm / 2.0
    out = radius + 0.25 * hole.size_mm
    return (
        Circle(hole.centre_mm, radius, hole.role),
        Stroke((x - out, y), (x + out, y), hole.role),
        Stroke((x, y - out), (x, y + out), hole.role),
        Label(number_place(hole), str(hole.number), hole.size_mm, "label"),
    )


def number_place(hole: Hole) -> Point:
    """Return where the number of a hole begins: to its upper right [mm]."""
    x, y = hole.centre_mm
    aside = hole.diameter_mm / 2.0 + 0.3 * hole.size_mm
    return x + aside, y + 0.8 * hole.size_mm


def _parts(dimension: Dimension) -> tuple[Plain, ...]:
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
    parts: list[Plain] = []
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
