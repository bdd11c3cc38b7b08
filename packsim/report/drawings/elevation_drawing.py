"""The side elevation across the mat: how far cans can lean on a wire and on each other.

Two views to one scale, seen downstream. Left: all slack gathered at the guide. Right: all of it
inside the pack. Slack is that of the loosest case of the budget, on which the verdict rests.
"""

import math

from packsim.answers import Answer
from packsim.line import Scenario
from packsim.report.drawings.can_section import CanSection
from packsim.report.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Label,
    Polyline,
    Primitive,
    Stroke,
)
from packsim.report.drawings.sheet_tools import (
    NOTE_MM,
    PAPER_WIDTH_MM,
    TEXT_MM,
    arc,
    box,
    fits,
    sheet,
)
from packsim.report.words.display import Display

SIDE_PAPER_MM = 34.0
"""Room left of the guide for the heights [mm of paper]."""


def elevation_drawing(
    answer: Answer, scenario: Scenario, display: Display | None = None
) -> Drawing:
    """Draw how far cans of one stage and size can lean, seen along travel.

    Parameters
    ----------
    answer : Answer
        The answers to draw.
    scenario : Scenario
        The case it belongs to.
    display : Display, optional
        Unit system of the dimensions, metric by default.

    Returns
    -------
    Drawing
        Edge can upright and leaning on its wire, a can leaning on its neighbour, wires, hold-down
        mat, centre of gravity, dome pool, balance angle and dimensions, in real millimetres.
    """
    return _Elevation(answer, scenario, display or Display()).drawing()


class _Elevation:
    """What both views share; lengths in real millimetres, ``scale`` of them to one on paper."""

    def __init__(self, answer: Answer, scenario: Scenario, display: Display) -> None:
        self.answer, self.display = answer, display
        self.stage, self.can = scenario.stage(answer.stage), scenario.size(answer.size)
        self.slack_mm, wide = max(0.0, answer.tipping.loosest_slack_mm), self.can.diameter_mm
        # guide view: slack, can, a can behind; then a gap; pack view: neighbour, slack, two cans
        self.apart_mm = self.slack_mm + 2.1 * wide + 1.1 * self.can.height_mm
        across = self.apart_mm + 3.0 * wide + self.slack_mm
        self.scale = across / (PAPER_WIDTH_MM - SIDE_PAPER_MM - 12.0)
        self.type_mm = TEXT_MM * self.scale
        self.top_mm = max(self.can.height_mm, self.stage.hold_down_mm or 0.0)

    def drawing(self) -> Drawing:
        """Put the views together: mat, cans, hold-down, notes."""
        scale, hold = self.scale, self.stage.hold_down_mm
        low = (-SIDE_PAPER_MM * scale, -26.0 * scale)
        right = low[0] + (PAPER_WIDTH_MM - 3.0) * scale
        mat = (box(low[0] + 26.0 * scale, -2.2 * scale, right, 0.0, "hold-down"),)
        over = self._hold_down(low[0] + 34.0 * scale, right)
        views = (*self._guide_view(), *self._pack_view())
        # a mat that hangs below the can tops is painted over them, for that is what is wrong
        crushes = hold is not None and hold < self.can.height_mm
        parts = (*mat, *views, *over) if crushes else (*mat, *over, *views)
        title = f"Side elevation · {self.answer.stage} · {self.answer.size}"
        ceiling = self.top_mm + 20.0 * scale
        return sheet(title, self._notes(), parts, low, ceiling, scale, self.display)

    def _section(self, pivot_mm: float, lean_rad: float = 0.0) -> CanSection:
        """Return the can standing or leaning on a pivot [mm, rad]."""
        stance, water = self.answer.stance, self.answer.water
        return CanSection(self.can, stance.cg_mm, water.sprayed, pivot_mm, lean_rad)

    def _length(self, mm: float) -> str:
        """Format a length [mm] without its unit, which the notes name."""
        return self.display.bare(mm)

    def _hold_down(self, x0: float, x1: float) -> tuple[Primitive, ...]:
        """Draw the hold-down mat, named in the free space between the views."""
        hold, scale = self.stage.hold_down_mm, self.scale
        if hold is None:
            return ()
        words = f"hold-down {self._length(hold)}"
        middle = (self.slack_mm + 1.92 * self.can.diameter_mm + self.apart_mm) / 2.0
        return (
            box(x0, hold, x1, hold + 2.2 * scale, "hold-down"),
            Label((middle, hold + 4.6 * scale), words, self.type_mm, "label", "middle"),
        )

    def _guide_view(self) -> tuple[Primitive, ...]:
        """Draw the edge can on its wire; wires with their heights."""
        wide, slack = self.can.diameter_mm, self.slack_mm
        lean = self.answer.tipping.loosest.edge_lean_rad
        words = (slack + wide, -17.5 * self.scale), "At the guide"
        return (
            *self._section(slack + 0.92 * wide).body("can behind"),
            *self._leaning(slack, lean, self._wires()),
            *self._foot_dimensions(0.0, slack, "slack"),
            Label(*words, self.type_mm, "label", "middle"),
        )

    def _pack_view(self) -> tuple[Primitive, ...]:
        """Draw a can inside the pack that leans on its neighbour."""
        wide, tall, size, scale = self.can.diameter_mm, self.can.height_mm, self.type_mm, self.scale
        pivot = self.apart_mm + wide + self.slack_mm
        end, after = pivot + wide, pivot + 2.0 * wide
        across, up = f"Ø {self._length(wide)}", self._length(tall)
        return (
            *self._section(end).body("can behind"),
            *self._section(self.apart_mm).body("can behind"),
            *self._leaning(pivot, self.answer.tipping.loosest.centre_lean_rad),
            *self._foot_dimensions(pivot - self.slack_mm, pivot, "slack", "start"),
            Dimension((pivot, 0.0), (end, 0.0), -12.0 * scale, across, size),
            Dimension((after, 0.0), (after, tall), -5.0 * scale, up, size),
            Label((pivot, -17.5 * scale), "Inside the pack", size, "label", "middle"),
        )

    def _leaning(
        self, pivot_mm: float, lean_rad: float, wires: tuple[Primitive, ...] = ()
    ) -> tuple[Primitive, ...]:
        """Draw one can as far as it can lean, upright dashed, under the wires, with its angles."""
        held = lean_rad < 0.999 * math.pi / 2.0
        shown = lean_rad if held else self.answer.worst.balance_rad
        upright, leaning = self._section(pivot_mm), self._section(pivot_mm, shown)
        words = f"lean {self.display.angle(lean_rad)}" if held else "nothing stops it"
        return (
            *leaning.body("can leaning"),
            *((upright.outline("can upright"),) if shown > 0.0 else ()),
            *leaning.gravity_mark(1.3 * self.scale),
            *wires,
            *self._angles(upright, shown, words),
        )

    def _angles(self, upright: CanSection, lean_rad: float, words: str) -> tuple[Primitive, ...]:
        """Upright wall, leaned wall and balance line from the pivot, with arcs and their angles."""
        alpha, scale = self.answer.worst.balance_rad, self.scale
        pivot = upright.at(0.0, 0.0)
        up = math.pi / 2.0
        inner, outer = self.top_mm + 6.0 * scale, self.top_mm + 13.0 * scale
        parts: list[Primitive] = [
            Stroke(pivot, (pivot[0], outer + 3.0 * scale), "lean"),
            self._section(pivot[0], lean_rad).wall_line(inner + 1.5 * scale, "lean"),
            self._section(pivot[0], alpha).wall_line(outer + 1.5 * scale, "balance"),
            Polyline(arc(pivot, outer, up, up + alpha), "balance"),
        ]
        if lean_rad > 0.0:
            parts.append(Polyline(arc(pivot, inner, up, up + lean_rad), "lean"))
        size = self.type_mm
        parts.append(Label((pivot[0] + 1.5 * scale, inner), words, size, "label"))
        text = f"tip angle {self.display.angle(alpha)}"
        parts.append(Label((pivot[0] + 1.5 * scale, outer), text, size, "limit"))
        return tuple(parts)

    def _foot_dimensions(
        self, x0: float, x1: float, name: str, beside: str = "end"
    ) -> tuple[Primitive, ...]:
        text = f"{name} {self._length(x1 - x0)}"
        if x1 <= x0:
            return ()
        size = self.type_mm
        where = "middle" if fits(text, size, x1 - x0) else beside
        return (Dimension((x0, 0.0), (x1, 0.0), -6.5 * self.scale, text, size, text_at=where),)

    def _notes(self) -> str:
        tipping, display = self.answer.tipping, self.display
        on, off = (
            display.angle(a)
            for a in (tipping.worst.balance_rad, tipping.worst.at_rest.balance_angle_rad)
        )
        first = (
            f"Worst-case slack {display.length(self.slack_mm)}, all of it in one place; safe slack "
            f"{display.length(tipping.safe.slack_mm)} ({tipping.safe.governing} can first). "
            f"Verdict: {tipping.verdict}."
        )
        second = (
            f"Tip angle {on} with the sprays on, {off} with them off, "
            f"{self.answer.water.said}. Wires at mid-span; ← supports the edge can. "
            f"{display.lengths_in.capitalize()}."
        )
        return f"{first} {second}"

    def _wires(self) -> tuple[Primitive, ...]:
        """Draw the wires as they hang at mid-span, where tipping is judged, with their heights."""
        scale, size = self.scale, self.type_mm
        parts: list[Primitive] = []
        governing = self.answer.tipping.safe.governing_wire_mm
        edge = -SIDE_PAPER_MM * scale + 3.0 * scale
        radius = max(self.stage.guides.wires.diameter_mm / 2.0, 0.2)
        post = -2.0 * radius - 2.5 * scale
        top = max(self.stage.guides.wires.heights_mm) + 4.0 * scale
        parts.append(box(post - 1.6 * scale, 0.0, post, top, "bracket"))
        heights, hanging = self.stage.guides.wires.heights_mm, self.answer.wire_heights_mm
        on_the_mat = [None] * (len(heights) - len(hanging))
        for set_to, hung in zip(heights, (*on_the_mat, *hanging), strict=True):
            level = set_to if hung is None else hung
            parts.append(Stroke((post, level), (-radius, level), "bracket"))
            parts.append(Circle((-radius, level), radius, "wire"))
            words = "down" if hung is None else self._length(level)
            words += " ←" if hung is not None and hung == governing else ""
            parts.append(
                Stroke((edge + 11.5 * scale, level), (post - 2.2 * scale, level), "dimension")
            )
            parts.append(Label((edge, level), words, size, "dimension"))
        note = Label((edge, top + 3.0 * scale), "wires", NOTE_MM * scale, "note")
        return (*parts, note)
