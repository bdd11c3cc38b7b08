"""Drawings as data: primitives in real millimetres, each with a role; writers only paint.

The horizontal axis points right and the vertical axis up, whatever a drawing shows. What keeps its
size on paper, such as text, is given in real millimetres too, from the drawing's scale.
"""

import math
from dataclasses import dataclass
from typing import Final

from packsim.errors import InputError, finite, one_of, positive
from packsim.report import palette
from packsim.report.words.drilling import shop_text


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
    "wire": Look("GUIDE_WIRES", palette.INK, 0.13, palette.INK, index=5),
    "face": Look("GUIDE_FACES", palette.INK, 0.6, index=5),
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
    "pipe": Look("PIPE", palette.INK, 0.35, index=7),
    "hole": Look("HOLES", palette.INK, 0.35, index=1),
    "datum": Look("DATUM", palette.ACCENT, 0.25, "", (4.0, 0.8, 0.6, 0.8), index=1),
    "frame": Look("FRAME", palette.INK, 0.35, index=7),
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
    the middle of the line, or beside one end where the middle has no room. With a ``unit`` of
    `shop_text` the text is that of the measured distance, whatever reads the drawing.
    """

    start_mm: Point
    end_mm: Point
    offset_mm: float
    text: str
    size_mm: float
    role: str = "dimension"
    text_at: str = "middle"
    unit: str = ""

    def __post_init__(self) -> None:
        one_of("text_at", self.text_at, ("middle", "start", "end"))
        positive("size_mm", self.size_mm)

    @property
    def measured_mm(self) -> float:
        """Distance between the two points [mm]."""
        return math.dist(self.start_mm, self.end_mm)


@dataclass(frozen=True, slots=True)
class Ordinate:
    """A place along the horizontal axis from a datum, upright at the end of a leader [mm].

    The leader runs up or down from ``at_mm`` to ``end_mm``; ``unit`` is one of `shop_text`.
    """

    at_mm: Point
    end_mm: Point
    datum_mm: float
    size_mm: float
    unit: str
    role: str = "dimension"

    @property
    def text(self) -> str:
        """What it says."""
        return shop_text(self.at_mm[0] - self.datum_mm, self.unit)


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole to drill, with its number, and its diameter or thread as it is ordered [mm]."""

    centre_mm: Point
    diameter_mm: float
    number: int
    what: str
    size_mm: float
    role: str = "hole"


@dataclass(frozen=True, slots=True)
class Entry:
    """What stands under a name in a title block [mm of paper]."""

    at_mm: Point
    tag: str
    text: str
    size_mm: float
    role: str = "label"


Plain = Circle | Stroke | Polyline | Polygon | Label
Primitive = Plain | Dimension | Ordinate | Hole | Entry


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing: its corners, and what to paint, first things first.

    ``title`` is also its accessible name; ``scale`` is real millimetres per millimetre of paper.
    ``paper`` is what belongs to the sheet and not to what it shows, ``block`` its title block: in
    millimetres of paper from the lower left corner.
    """

    title: str
    low_mm: Point
    high_mm: Point
    scale: float
    primitives: tuple[Primitive, ...]
    paper: tuple[Plain, ...] = ()
    block: tuple[Plain | Entry, ...] = ()

    def __post_init__(self) -> None:
        positive("scale", self.scale)
        for axis, (low, high) in enumerate(zip(self.low_mm, self.high_mm, strict=True)):
            if finite("high_mm", high) <= finite("low_mm", low):
                raise InputError(f"high_mm[{axis}]", high, f"more than {low}")
        for thing in (*self.primitives, *self.paper, *self.block):
            one_of("role", thing.role, tuple(ROLES))

    @property
    def width_mm(self) -> float:
        """Real width of the sheet [mm]."""
        return self.high_mm[0] - self.low_mm[0]

    @property
    def height_mm(self) -> float:
        """Real height of the sheet [mm]."""
        return self.high_mm[1] - self.low_mm[1]
