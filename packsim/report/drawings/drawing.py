"""Drawings as data: primitives in real millimetres, each with a role; writers only paint.

The horizontal axis points right and the vertical axis up, whatever a drawing shows. What keeps its
size on paper, such as text, is given in real millimetres too, from the drawing's scale.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from packsim.errors import InputError, finite, one_of, positive
from packsim.report.drawings.roles import ROLES

Point = tuple[float, float]
"""Across and up [mm]."""


@dataclass(frozen=True, slots=True)
class Circle:
    """A true circle; centre and radius [mm]."""

    centre_mm: Point
    radius_mm: float
    role: str


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line between two points [mm]."""

    start_mm: Point
    end_mm: Point
    role: str


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open run of straight pieces [mm]."""

    points_mm: tuple[Point, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline, filled as its role says [mm]."""

    points_mm: tuple[Point, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text, as given; writers escape it.

    ``size_mm`` is the size of the type, capitals are about 0.7 of it high. ``anchor`` is the end
    that is held at ``at_mm``; upright it is always held by its middle. ``turn_rad`` turns its base
    line to the left.
    """

    at_mm: Point
    text: str
    size_mm: float
    role: str
    anchor: str = "start"
    turn_rad: float = 0.0

    def __post_init__(self) -> None:
        one_of("anchor", self.anchor, ("start", "middle", "end"))
        positive("size_mm", self.size_mm)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A distance measured between two points, left to right or bottom to top.

    Its line stands off by ``offset_mm``, positive to the left of start → end. The text stands over
    the middle of the line, or beside one end where the middle has no room.
    """

    start_mm: Point
    end_mm: Point
    offset_mm: float
    text: str
    size_mm: float
    role: str = "dimension"
    text_at: str = "middle"

    def __post_init__(self) -> None:
        one_of("text_at", self.text_at, ("middle", "start", "end"))
        positive("size_mm", self.size_mm)

    @property
    def measured_mm(self) -> float:
        """Distance between the two points [mm]."""
        return math.dist(self.start_mm, self.end_mm)


Primitive = Circle | Stroke | Polyline | Polygon | Label | Dimension


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing: its corners, and what to paint, first things first.

    ``title`` is also its accessible name; ``scale`` is real millimetres per millimetre of paper.
    """

    title: str
    low_mm: Point
    high_mm: Point
    scale: float
    primitives: tuple[Primitive, ...]

    def __post_init__(self) -> None:
        positive("scale", self.scale)
        for axis, (low, high) in enumerate(zip(self.low_mm, self.high_mm, strict=True)):
            if finite("high_mm", high) <= finite("low_mm", low):
                raise InputError(f"high_mm[{axis}]", high, f"more than {low}")
        for thing in self.primitives:
            one_of("role", thing.role, tuple(ROLES))

    @property
    def width_mm(self) -> float:
        """Real width of the sheet [mm]."""
        return self.high_mm[0] - self.low_mm[0]

    @property
    def height_mm(self) -> float:
        """Real height of the sheet [mm]."""
        return self.high_mm[1] - self.low_mm[1]


def arc(centre_mm: Point, radius_mm: float, from_rad: float, to_rad: float) -> tuple[Point, ...]:
    """Return points along an arc, angles from the horizontal axis, positive to the left [mm]."""
    turns = (from_rad + (to_rad - from_rad) * k / 24 for k in range(25))
    return tuple(
        (centre_mm[0] + radius_mm * math.cos(turn), centre_mm[1] + radius_mm * math.sin(turn))
        for turn in turns
    )


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
