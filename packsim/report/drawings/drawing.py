"""Drawings as data: primitives in real millimetres, each with a role; writers only paint.

The horizontal axis points right and the vertical axis up, whatever a drawing shows. What keeps its
size on paper, such as text, is given in real millimetres too, from the drawing's scale.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from packsim.errors import InputError, finite, one_of, positive
from packsim.report import palette


@dataclass(frozen=True, slots=True)
class Look:
    """How one role is painted, on screen, paper and in files: widths and dashes on paper.

    "" is no colour. ``layer`` and the colour number ``index`` are for drawing files.
    """

    layer: str
    line: str
    width_mm: float = 0.18
    fill: str = ""
    dash_mm: tuple[float, ...] = ()
    bold: bool = False
    index: int = 7


_AIR = "#e3e7ea"
_VOID = "#f0c9b8"
_WATER = "#b9d6dd"

ROLES: Final[dict[str, Look]] = {
    "mat": Look("MAT", palette.QUIET, 0.18, "#f7f8f9", index=8),
    "strip": Look("BETWEEN_GUIDES", "", 0.0, _AIR, index=9),
    "void": Look("VOIDS", palette.ACCENT, 0.15, _VOID, index=30),
    "can": Look("CANS", palette.INK, 0.22, palette.PAPER, index=7),
    "can behind": Look("CANS_BEHIND", palette.QUIET, 0.15, palette.PALE, index=9),
    "can upright": Look("CANS_UPRIGHT", palette.QUIET, 0.2, "", (1.4, 0.8), index=8),
    "can leaning": Look("CANS_LEANING", palette.INK, 0.4, palette.PAPER, index=7),
    "dome": Look("DOMES", palette.INK, 0.18, index=7),
    "pool": Look("POOLS", palette.LINES[1], 0.15, _WATER, index=140),
    "lane": Look("LANE_CENTRES", palette.QUIET, 0.12, "", (3.0, 0.7, 0.5, 0.7), index=8),
    "wire": Look("GUIDE_WIRES", palette.INK, 0.6, palette.INK, index=5),
    "bracket": Look("BRACKETS", palette.INK, 0.25, "#9aa6b0", index=5),
    "hold-down": Look("HOLD_DOWN", palette.INK, 0.3, "#c6ced5", index=6),
    "header above": Look("HEADERS_ABOVE", palette.LINES[1], 0.3, palette.LINES[1], index=140),
    "header below": Look("HEADERS_BELOW", palette.LINES[3], 0.3, "", (1.2, 0.6), index=42),
    "footprint above": Look("FOOTPRINTS_ABOVE", "#6aa9b7", 0.15, "", index=140),
    "footprint below": Look("FOOTPRINTS_BELOW", "#bfa35c", 0.15, "", (0.6, 0.6), index=42),
    "balance": Look("BALANCE", palette.ACCENT, 0.3, "", (2.0, 0.8), index=1),
    "lean": Look("LEAN", palette.INK, 0.25, index=7),
    "centre of gravity": Look("CENTRE_OF_GRAVITY", palette.INK, 0.25, palette.INK, index=7),
    "dimension": Look("DIMENSIONS", palette.QUIET, 0.15, index=8),
    "limit": Look("LIMITS", palette.ACCENT, 0.2, palette.ACCENT, index=1),
    "note": Look("NOTES", palette.QUIET, 0.15, index=8),
    "label": Look("LABELS", palette.INK, 0.15, palette.INK, index=7),
    "title": Look("TITLE", palette.INK, 0.15, bold=True, index=7),
}
"""Every role a primitive may have. Neighbours differ in line width, dash or fill, not by colour
alone."""

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


Plain = Circle | Stroke | Polyline | Polygon | Label
Primitive = Plain | Dimension


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


def exploded(primitives: Iterable[Primitive]) -> Iterator[Plain]:
    """Yield the primitives with every dimension taken apart into lines and a text."""
    for thing in primitives:
        yield from _parts(thing) if isinstance(thing, Dimension) else (thing,)


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
