"""What both halves of the side elevation share, and the wires beside the edge can."""

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.can import Can
from packsim.line import Stage
from packsim.report.drawings.can_section import CanSection
from packsim.report.drawings.drawing import Circle, Label, Primitive, Stroke
from packsim.report.drawings.sheet_tools import NOTE_MM, TEXT_MM, box
from packsim.report.words.display import Display

WIRE_RADIUS_MM = 2.0
"""Radius wires are drawn with; their true one is not part of a scenario."""

SIDE_PAPER_MM = 34.0
"""Room left of the guide for the heights [mm of paper]."""


@dataclass(frozen=True, slots=True)
class ElevationView:
    """What both views share; lengths in real millimetres, ``scale`` of them to one on paper."""

    answer: Answer
    stage: Stage
    can: Can
    scale: float
    display: Display
    slack_mm: float
    apart_mm: float

    @property
    def top_mm(self) -> float:
        """Height of the can or of the hold-down, whichever is more [mm]."""
        return max(self.can.height_mm, self.stage.hold_down_mm or 0.0)

    @property
    def type_mm(self) -> float:
        """Size of type [mm]."""
        return TEXT_MM * self.scale

    def section(self, pivot_mm: float, lean_rad: float = 0.0) -> CanSection:
        """Return the can standing or leaning on a pivot [mm, rad]."""
        return CanSection(
            self.can, self.answer.stance.cg_mm, self.answer.water.sprayed, pivot_mm, lean_rad
        )

    def length(self, mm: float) -> str:
        """Format a length [mm] without its unit, which the notes name."""
        return self.display.bare(mm)


def wires_seen(view: ElevationView) -> tuple[Primitive, ...]:
    """Draw the wires as they hang at mid-span, where tipping is judged, with their heights."""
    scale, size = view.scale, view.type_mm
    parts: list[Primitive] = []
    governing = view.answer.tipping.safe.governing_wire_mm
    edge = -SIDE_PAPER_MM * scale + 3.0 * scale
    post = -2.0 * WIRE_RADIUS_MM - 2.5 * scale
    top = max(view.stage.guides.wires.heights_mm) + 4.0 * scale
    parts.append(box(post - 1.6 * scale, 0.0, post, top, "bracket"))
    for set_to in view.stage.guides.wires.heights_mm:
        hung = _hung(view, set_to)
        level = set_to if hung is None else hung
        parts.append(Stroke((post, level), (-WIRE_RADIUS_MM, level), "bracket"))
        parts.append(Circle((-WIRE_RADIUS_MM, level), WIRE_RADIUS_MM, "wire"))
        words = "down" if hung is None else view.length(level)
        words += " ←" if hung is not None and hung == governing else ""
        parts.append(Stroke((edge + 11.5 * scale, level), (post - 2.2 * scale, level), "dimension"))
        parts.append(Label((edge, level), words, size, "dimension"))
    note = Label((edge, top + 3.0 * scale), "wires", NOTE_MM * scale, "note")
    return (*parts, note)


def _hung(view: ElevationView, set_mm: float) -> float | None:
    """Height at mid-span of the wire set to a height; None for one that hangs on the mat."""
    heights = view.stage.guides.wires.heights_mm
    missing = len(heights) - len(view.answer.wire_heights_mm)
    place = heights.index(set_mm) - missing
    return view.answer.wire_heights_mm[place] if place >= 0 else None
