"""The pack from above: between its wires, under its nozzles, with the dimensions that set it.

Across the sheet is across the mat from its left edge, looking downstream; travel is up the plan.
The pack is drawn as it stands at the narrowest bracket.
"""

import math

from packsim.answers import Answer, clear_headers
from packsim.line import Header, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.report.drawings.drawing import Circle, Drawing, Label, Primitive, Stroke
from packsim.report.drawings.pack_drawing import (
    STRIP_REACH,
    PlanSheet,
    pack_primitives,
    plan_dimensions,
    plan_notes,
)
from packsim.report.drawings.sheet_tools import (
    NOTE_MM,
    PAPER_WIDTH_MM,
    arrow,
    box,
    sheet,
    spray,
)
from packsim.report.words.display import Display
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
    shown = display or Display()
    stage = scenario.stage(answer.stage)
    start = _best_start_mm(stage, answer.pack.length_mm)
    width = scenario.mat.width_mm
    strip = answer.pack.length_mm + 2.0 * STRIP_REACH * answer.pack.diameter_mm
    scale = max(
        width / (PAPER_WIDTH_MM - 2.0 * _side_paper_mm(stage, width)), strip / STRIP_PAPER_MM
    )
    plan = PlanSheet(
        answer=answer, stage=stage, mat_mm=width, start_mm=start, scale=scale, display=shown
    )
    parts = (
        box(0.0, plan.foot_mm, width, plan.head_mm, "mat"),
        *pack_primitives(answer.pack, plan.left_mm),
        *_lanes(plan),
        *_nozzles(plan),
        *_guides(plan),
        *plan_dimensions(plan),
        *_travel(plan),
    )
    title = f"Plan · {answer.stage} · {answer.size}"
    left = min(-MARGIN_PAPER_MM * scale, (width - PAPER_WIDTH_MM * scale) / 2.0)
    low = (left, plan.foot_mm - 20.0 * scale)
    return sheet(title, plan_notes(plan), parts, low, plan.head_mm + 14.0 * scale, scale, shown)


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


def _lanes(plan: PlanSheet) -> tuple[Primitive, ...]:
    """Centre lines, numbered from the left as far as there is room."""
    if not plan.answer.pack.fits:
        return ()
    lines = [float(x) for x in lane_lines_mm(plan.answer.pack, plan.left_mm)]
    pitch = (lines[-1] - lines[0]) / max(len(lines) - 1, 1) if len(lines) > 1 else plan.mat_mm
    every = next(
        k for k in (1, 2, 5, 10, 20, 50, 10**9) if k * pitch >= LANE_LABEL_ROOM_MM * plan.scale
    )
    parts: list[Primitive] = []
    for number, x in enumerate(lines, start=1):
        parts.append(Stroke((x, plan.foot_mm), (x, plan.head_mm + 1.0 * plan.scale), "lane"))
        if number == 1 or number % every == 0:
            at = (x, plan.head_mm + 2.8 * plan.scale)
            parts.append(Label(at, str(number), 2.1 * plan.scale, "note", "middle"))
    at = (plan.left_mm - 1.5 * plan.scale, plan.head_mm + 2.8 * plan.scale)
    parts.append(Label(at, "lane", 2.1 * plan.scale, "note", "end"))
    return tuple(parts)


def _nozzles(plan: PlanSheet) -> tuple[Primitive, ...]:
    """Headers in view; of several at one station and side the first."""
    parts: list[Primitive] = []
    done: set[tuple[str, float]] = set()
    height = plan.answer.stance.height_mm
    for header in clear_headers(plan.stage, height):
        level = header.station_mm - plan.start_mm
        key = (header.side, header.station_mm)
        if key in done or not 0.0 <= level <= plan.answer.pack.length_mm:
            continue
        done.add(key)
        parts += _header(header, level, height, plan)
    return tuple(parts)


def _header(header: Header, level: float, height: float, plan: PlanSheet) -> list[Primitive]:
    foot = footprint_of(header, height)
    places = [float(x) for x in header.positions_mm]
    pipe = f"header {header.side}"
    parts = [spray(foot, (x, level), f"footprint {header.side}") for x in places]
    ends = (places[0] - 3.0 * plan.scale, level), (places[-1] + 3.0 * plan.scale, level)
    parts.append(Stroke(*ends, pipe))
    radius = (0.55 if header.side == "above" else 0.95) * plan.scale
    parts += [Circle((x, level), radius, pipe) for x in places]
    return parts


def _guides(plan: PlanSheet) -> tuple[Primitive, ...]:
    parts: list[Primitive] = [
        Stroke((face, plan.foot_mm), (face, plan.head_mm), "wire")
        for face in (plan.left_mm, plan.right_mm)
    ]
    for bracket in plan.stage.guides.brackets:
        level = bracket.station_mm - plan.start_mm
        if 0.0 <= level <= plan.answer.pack.length_mm:
            parts += _bracket(plan.left_mm, level, -1.0, plan.scale)
            parts += _bracket(plan.right_mm, level, 1.0, plan.scale)
    return tuple(parts)


def _bracket(face: float, level: float, out: float, scale: float) -> list[Primitive]:
    """Draw a bracket to paper size: a pad behind the wire and an arm outward."""
    pad, arm = 1.6 * scale, 8.0 * scale
    thin, thick, back = 0.7 * scale, 2.0 * scale, face + out * pad
    return [
        box(back, level - thin, face + out * arm, level + thin, "bracket"),
        box(face, level - thick, back, level + thick, "bracket"),
    ]


def _travel(plan: PlanSheet) -> tuple[Primitive, ...]:
    x = max(plan.mat_mm + 4.0 * plan.scale, plan.right_mm + 10.0 * plan.scale)
    foot, length = plan.foot_mm + 3.0 * plan.scale, 22.0 * plan.scale
    line = arrow((x, foot), (x, foot + length), 3.0 * plan.scale, "label")
    at, size = (x + 2.6 * plan.scale, foot + length / 2.0), NOTE_MM * plan.scale
    return (*line, Label(at, "travel", size, "note", "middle", turn_rad=math.pi / 2.0))
