"""Small parts that several drawings share: arrows, scale bars, titles, points of an ellipse."""

import math
import textwrap
from collections.abc import Iterable
from typing import Final

from packsim.constants import MM_PER_INCH
from packsim.report.drawings.drawing import (
    Circle,
    Drawing,
    Label,
    Point,
    Polygon,
    Primitive,
    Stroke,
)
from packsim.report.words.display import Display
from packsim.spray.jets import Footprint

PAPER_WIDTH_MM: Final = 180.0
"""Width of a drawing on paper: fits A4 and Letter between margins of 15 mm."""

TEXT_MM: Final = 2.8
"""Size of type for dimensions and labels, on paper [mm]."""

NOTE_MM: Final = 2.7
"""Size of type for notes, on paper [mm]."""

TITLE_MM: Final = 3.6
"""Size of type for the title, on paper [mm]."""

TEXT_ASPECT: Final = 0.56
"""Mean width of a letter over its height in a plain sans-serif face; a little above the usual."""

ROUND_STEPS: Final = (1.0, 2.0, 5.0)


def box(x0: float, y0: float, x1: float, y1: float, role: str) -> Polygon:
    """Return a rectangle between two corners [mm]."""
    return Polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), role)


def wire(face_mm: float, out_mm: float, foot_mm: float, head_mm: float) -> Polygon:
    """Return a guide wire from above: from its face outward by its diameter [mm]."""
    return box(face_mm, foot_mm, face_mm + out_mm, head_mm, "wire")


def arrow(start_mm: Point, end_mm: Point, head_mm: float, role: str) -> tuple[Primitive, ...]:
    """Return an arrow with a filled head of the given length [mm]."""
    turn = math.atan2(end_mm[1] - start_mm[1], end_mm[0] - start_mm[0])
    back = (end_mm[0] - head_mm * math.cos(turn), end_mm[1] - head_mm * math.sin(turn))
    side = 0.3 * head_mm
    wings = tuple(
        (back[0] - s * side * math.sin(turn), back[1] + s * side * math.cos(turn)) for s in (1, -1)
    )
    return Stroke(start_mm, back, role), Polygon((end_mm, *wings), role)


def ellipse(
    centre_mm: Point, half_across_mm: float, half_up_mm: float, turn_rad: float, steps: int = 48
) -> tuple[Point, ...]:
    """Return points of an ellipse whose first axis is turned from the horizontal [mm]."""
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    turns = (2.0 * math.pi * k / steps for k in range(steps))
    rim = ((half_across_mm * math.cos(a), half_up_mm * math.sin(a)) for a in turns)
    x0, y0 = centre_mm
    return tuple((x0 + x * cos - y * sin, y0 + x * sin + y * cos) for x, y in rim)


def spray(patch: Footprint, at_mm: Point, role: str) -> Primitive:
    """Return what one nozzle covers: a circle, or the outline of a fan turned as it is."""
    if patch.shape == "disc":
        return Circle(at_mm, patch.half_long_mm, role)
    # the right end of a fan turned positive lies downstream: up the sheet
    return Polygon(ellipse(at_mm, patch.half_long_mm, patch.half_thin_mm, patch.twist_rad), role)


def sheet(
    title: str,
    notes: str,
    parts: tuple[Primitive, ...],
    low_mm: Point,
    ceiling_mm: float,
    scale: float,
    display: Display,
) -> Drawing:
    """Return parts as a drawing as wide as the paper: title and notes above, scale bar below."""
    letters = int((PAPER_WIDTH_MM - 6.0) / (TEXT_ASPECT * NOTE_MM))
    lines = textwrap.wrap(notes, letters, break_long_words=False, break_on_hyphens=False)
    left = low_mm[0] + 3.0 * scale
    high = (low_mm[0] + PAPER_WIDTH_MM * scale, ceiling_mm + (8.0 + 3.9 * len(lines)) * scale)
    head = heading((left, high[1] - 1.5 * scale), title, lines, scale)
    bar = scale_bar((left, low_mm[1] + 2.0 * scale), scale, display)
    return Drawing(title, low_mm, high, scale, (*parts, *head, *bar))


def heading(at_mm: Point, title: str, notes: Iterable[str], scale: float) -> tuple[Primitive, ...]:
    """Return a title with lines of notes under it, from its upper left corner down [mm]."""
    x, y = at_mm
    parts: list[Primitive] = [Label((x, y - 2.2 * scale), title, TITLE_MM * scale, "title")]
    for k, note in enumerate(notes):
        level = y - (7.0 + 3.9 * k) * scale
        parts.append(Label((x, level), note, NOTE_MM * scale, "note"))
    return tuple(parts)


def scale_bar(at_mm: Point, scale: float, display: Display) -> tuple[Primitive, ...]:
    """Return a bar of a round length, near 30 mm on paper, with its length [mm]."""
    unit = 1.0 if display.units == "metric" else MM_PER_INCH
    exact = 30.0 * scale / unit
    power = 10.0 ** math.floor(math.log10(exact))
    count = max((s * power for s in ROUND_STEPS if s * power <= exact), default=power)
    x, y = at_mm
    end, top, text = x + count * unit, y + 1.2 * scale, f"{count:g} {display.length_unit}"
    return (
        box(x, y, (x + end) / 2.0, top, "label"),
        Stroke((x, y), (end, y), "label"),
        Stroke((x, top), (end, top), "label"),
        Stroke((end, y), (end, top), "label"),
        Label((end + 1.5 * scale, (y + top) / 2.0), text, NOTE_MM * scale, "note"),
    )


def fits(text: str, size_mm: float, room_mm: float) -> bool:
    """Tell whether a text of one size has room in a length [mm]."""
    return TEXT_ASPECT * size_mm * len(text) <= room_mm


def arc(centre_mm: Point, radius_mm: float, from_rad: float, to_rad: float) -> tuple[Point, ...]:
    """Return points along an arc, angles from the horizontal axis, positive to the left [mm]."""
    turns = (from_rad + (to_rad - from_rad) * k / 24 for k in range(25))
    return tuple(
        (centre_mm[0] + radius_mm * math.cos(turn), centre_mm[1] + radius_mm * math.sin(turn))
        for turn in turns
    )
