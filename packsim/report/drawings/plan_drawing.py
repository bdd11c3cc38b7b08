"""The pack from above: between its wires, under its nozzles, with the dimensions that set it.

Across the sheet is across the mat from its left edge, looking downstream; travel is up the plan.
The pack is drawn as it stands at the narrowest bracket.
"""

import math

from packsim.answers import Answer, clear_headers
from packsim.line import Header, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.report.drawings.drawing import Circle, Dimension, Drawing, Label, Primitive, Stroke
from packsim.report.drawings.pack_drawing import STRIP_REACH, has_wide_voids, pack_primitives
from packsim.report.drawings.sheet_tools import (
    NOTE_MM,
    PAPER_WIDTH_MM,
    TEXT_MM,
    arrow,
    box,
    fits,
    sheet,
    spray,
    wire,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import ROWS, pack_words
from packsim.spray.jets import footprint_of

MARGIN_PAPER_MM = 3.0
STRIP_PAPER_MM = 66.0
"""Tallest the pack is drawn on paper, so that both drawings of a stage share one page."""
LANE_LABEL_ROOM_MM = 4.2


def plan_drawing(answer: Answer, scenario: Scenario, display: Display | None = None) -> Drawing:
    """Draw one stage with one can size from above.

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
        Mat edges, wires, brackets, cans, voids, lane centre lines, nozzles with their footprints,
        dimensions, scale bar and travel arrow, in real millimetres.
    """
    return _Plan(answer, scenario, display or Display()).drawing()


class _Plan:
    """Where things stand on a plan: across from the mat's left edge, up from the pack's start.

    The pack starts at ``start_mm`` along the stage; ``scale`` is real millimetres per millimetre of
    paper.
    """

    def __init__(self, answer: Answer, scenario: Scenario, display: Display) -> None:
        self.answer, self.display = answer, display
        self.stage, self.mat_mm = scenario.stage(answer.stage), scenario.mat.width_mm
        pack, guides = answer.pack, self.stage.guides
        self.start_mm = _best_start_mm(self.stage, pack.length_mm)
        self.left_mm = guides.centre_mm - guides.narrowest_mm / 2.0
        self.right_mm = self.left_mm + guides.narrowest_mm
        self.foot_mm = -STRIP_REACH * pack.diameter_mm
        self.head_mm = pack.length_mm + STRIP_REACH * pack.diameter_mm
        room = PAPER_WIDTH_MM - 2.0 * _side_paper_mm(self.stage, self.mat_mm)
        strip = pack.length_mm + 2.0 * STRIP_REACH * pack.diameter_mm
        self.scale = max(self.mat_mm / room, strip / STRIP_PAPER_MM)

    def drawing(self) -> Drawing:
        """Put the parts together, from the back to the front."""
        scale, width = self.scale, self.mat_mm
        parts = (
            box(0.0, self.foot_mm, width, self.head_mm, "mat"),
            *pack_primitives(self.answer.pack, self.left_mm),
            *self._lanes(),
            *self._nozzles(),
            *self._guides(),
            *self._dimensions(),
            *self._travel(),
        )
        title = f"Plan · {self.answer.stage} · {self.answer.size}"
        left = min(-MARGIN_PAPER_MM * scale, (width - PAPER_WIDTH_MM * scale) / 2.0)
        low = (left, self.foot_mm - 20.0 * scale)
        top = self.head_mm + 14.0 * scale
        return sheet(title, self._notes(), parts, low, top, scale, self.display)

    def _lanes(self) -> tuple[Primitive, ...]:
        """Centre lines, numbered from the left as far as there is room."""
        if not self.answer.pack.fits:
            return ()
        lines = [float(x) for x in lane_lines_mm(self.answer.pack, self.left_mm)]
        pitch = (lines[-1] - lines[0]) / max(len(lines) - 1, 1) if len(lines) > 1 else self.mat_mm
        every = next(
            k for k in (1, 2, 5, 10, 20, 50, 10**9) if k * pitch >= LANE_LABEL_ROOM_MM * self.scale
        )
        parts: list[Primitive] = []
        for number, x in enumerate(lines, start=1):
            parts.append(Stroke((x, self.foot_mm), (x, self.head_mm + 1.0 * self.scale), "lane"))
            if number == 1 or number % every == 0:
                at = (x, self.head_mm + 2.8 * self.scale)
                parts.append(Label(at, str(number), 2.1 * self.scale, "note", "middle"))
        at = (self.left_mm - 1.5 * self.scale, self.head_mm + 2.8 * self.scale)
        parts.append(Label(at, "lane", 2.1 * self.scale, "note", "end"))
        return tuple(parts)

    def _nozzles(self) -> tuple[Primitive, ...]:
        """Headers in view; of several at one station and side the first."""
        parts: list[Primitive] = []
        done: set[tuple[str, float]] = set()
        height = self.answer.stance.height_mm
        for header in clear_headers(self.stage, height):
            level = header.station_mm - self.start_mm
            key = (header.side, header.station_mm)
            if key in done or not 0.0 <= level <= self.answer.pack.length_mm:
                continue
            done.add(key)
            parts += self._header(header, level, height)
        return tuple(parts)

    def _header(self, header: Header, level: float, height: float) -> list[Primitive]:
        foot = footprint_of(header, height)
        places = [float(x) for x in header.positions_mm]
        pipe = f"header {header.side}"
        parts = [spray(foot, (x, level), f"footprint {header.side}") for x in places]
        ends = (places[0] - 3.0 * self.scale, level), (places[-1] + 3.0 * self.scale, level)
        parts.append(Stroke(*ends, pipe))
        radius = (0.55 if header.side == "above" else 0.95) * self.scale
        parts += [Circle((x, level), radius, pipe) for x in places]
        return parts

    def _guides(self) -> tuple[Primitive, ...]:
        thick = self.stage.guides.wires.diameter_mm
        parts: list[Primitive] = [
            wire(face, out, self.foot_mm, self.head_mm)
            for face, out in ((self.left_mm, -thick), (self.right_mm, thick))
        ]
        for bracket in self.stage.guides.brackets:
            level = bracket.station_mm - self.start_mm
            if 0.0 <= level <= self.answer.pack.length_mm:
                parts += _bracket(self.left_mm, level, -1.0, self.scale)
                parts += _bracket(self.right_mm, level, 1.0, self.scale)
        return tuple(parts)

    def _travel(self) -> tuple[Primitive, ...]:
        x = max(self.mat_mm + 4.0 * self.scale, self.right_mm + 10.0 * self.scale)
        foot, length = self.foot_mm + 3.0 * self.scale, 22.0 * self.scale
        line = arrow((x, foot), (x, foot + length), 3.0 * self.scale, "label")
        at, size = (x + 2.6 * self.scale, foot + length / 2.0), NOTE_MM * self.scale
        return (*line, Label(at, "travel", size, "note", "middle", turn_rad=math.pi / 2.0))

    def _dimensions(self) -> tuple[Primitive, ...]:
        """Below: mat edge, faces, mat edge. Above: pack width and the slack beside it."""
        scale, size = self.scale, TEXT_MM * self.scale
        left, right, foot = self.left_mm, self.right_mm, self.foot_mm
        below = foot - 6.0 * scale
        parts: list[Primitive] = []
        for x0, x1, name in (
            (0.0, left, ""),
            (left, right, "clear width "),
            (right, self.mat_mm, ""),
        ):
            text = name + self.display.bare(x1 - x0)
            # a text wider than its space stands outside, on the free side
            outside = {left: "start", self.mat_mm: "end"}.get(x1, "middle")
            where = "middle" if fits(text, size, abs(x1 - x0)) else outside
            parts.append(Dimension((x0, foot), (x1, foot), below - foot, text, size, text_at=where))
        whole = f"mat {self.display.bare(self.mat_mm)}"
        off = below - foot - 6.0 * scale
        parts.append(Dimension((0.0, foot), (self.mat_mm, foot), off, whole, size))
        return (*parts, *self._slack())

    def _slack(self) -> tuple[Primitive, ...]:
        pack = self.answer.pack
        if not pack.fits:
            at = ((self.left_mm + self.right_mm) / 2.0, (self.foot_mm + self.head_mm) / 2.0)
            return (
                Label(at, f"does not fit: {pack.reason}", TEXT_MM * self.scale, "limit", "middle"),
            )
        across = pack.centres_mm[:, 1]
        radius, size = pack.diameter_mm / 2.0, TEXT_MM * self.scale
        low = self.left_mm + float(across.min()) - radius
        high = self.left_mm + float(across.max()) + radius
        head, off = self.head_mm, 8.0 * self.scale
        text = f"over the cans {self.display.bare(high - low)}"
        parts: list[Primitive] = [Dimension((low, head), (high, head), off, text, size)]
        for x0, x1, where in ((self.left_mm, low, "start"), (high, self.right_mm, "end")):
            gap = x1 - x0
            if gap > 0.005 * pack.diameter_mm:
                text = self.display.bare(gap)
                parts.append(Dimension((x0, head), (x1, head), off, text, size, text_at=where))
        return tuple(parts)

    def _notes(self) -> str:
        """Say what the plan shows, in a few sentences."""
        pack, display, guides = self.answer.pack, self.display, self.stage.guides
        said = [
            f"{pack_words(self.answer, display.length)}; rows {ROWS[pack.layout]}; "
            f"slack {display.length(self.answer.slack_mm)} in all. Stage from "
            f"{display.length(self.start_mm)} to {display.length(self.start_mm + pack.length_mm)}; "
            f"{display.lengths_in}, cold, nominal."
        ]
        if has_wide_voids(pack):
            said.append("Shaded: voids wider than the gaps between touching cans.")
        if guides.widest_mm != guides.narrowest_mm:
            ends = display.bare(guides.narrowest_mm), display.length(guides.widest_mm)
            said.append(f"Brackets stand from {' to '.join(ends)}; drawn at the narrowest.")
        sides = {header.side for header in self.stage.headers}
        if "above" in sides:
            end = ";" if "below" in sides else "."
            said.append(f"Filled dots and solid outlines: nozzles above and what they cover{end}")
        if "below" in sides:
            said.append("rings and dashed outlines: below.")
        return " ".join(said)


def _side_paper_mm(stage: Stage, mat_mm: float) -> float:
    """Room beside the mat on paper: for the arrow, and for texts of a face near the mat's edge."""
    near = (mat_mm - stage.guides.narrowest_mm) / 2.0 - abs(stage.guides.centre_mm - mat_mm / 2.0)
    return 14.0 if near < 0.07 * mat_mm else MARGIN_PAPER_MM + 3.0


def _best_start_mm(stage: Stage, length_mm: float) -> float:
    """Start of the piece of stage that shows a header and a bracket, if any piece does."""
    things = [h.station_mm for h in stage.headers]
    brackets = [b.station_mm for b in stage.guides.brackets]
    starts = [0.0] + [t - length_mm / 2.0 for t in (*things, *brackets)]
    starts += [(t + b - length_mm) / 2.0 for t in things for b in brackets]

    def score(start: float) -> tuple[int, int, float]:
        seen = [sum(start <= t <= start + length_mm for t in group) for group in (things, brackets)]
        return min(seen), sum(seen), -abs(start)

    return max(starts, key=score)


def _bracket(face: float, level: float, out: float, scale: float) -> list[Primitive]:
    """Draw a bracket to paper size: a pad behind the wire and an arm outward."""
    pad, arm = 1.6 * scale, 8.0 * scale
    thin, thick, back = 0.7 * scale, 2.0 * scale, face + out * pad
    return [
        box(back, level - thin, face + out * arm, level + thin, "bracket"),
        box(face, level - thick, back, level + thick, "bracket"),
    ]
