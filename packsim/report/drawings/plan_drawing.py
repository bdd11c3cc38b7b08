"""The pack from above: between its wires, under its nozzles, with the dimensions that set it.

Across the sheet is across the mat from its left edge, looking downstream; travel is up the sheet.
The pack is drawn as it stands at the narrowest bracket.
"""

from __future__ import annotations

from packsim.answers import Answer, clear_headers
from packsim.line import Header, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.report.drawings.drawing import Circle, Drawing, Label, Polygon, Primitive, Stroke
from packsim.report.drawings.pack_drawing import STRIP_REACH, moved_across, pack_primitives
from packsim.report.drawings.plan_sheet import PlanSheet, plan_dimensions, plan_notes
from packsim.report.drawings.sheet_tools import (
    NOTE_MM,
    PAPER_WIDTH_MM,
    arrow,
    box,
    ellipse,
    heading,
    scale_bar,
    wrapped,
)
from packsim.report.words.display import Display
from packsim.spray.jets import footprint_of

MARGIN_PAPER_MM = 3.0
STRIP_PAPER_MM = 66.0
"""Tallest the pack is drawn on paper, so that both drawings of a stage share one page."""
LANE_LABEL_ROOM_MM = 4.2


def plan_drawing(
    answer: Answer, scenario: Scenario, display: Display | None = None, *, set_name: str = ""
) -> Drawing:
    """Draw one stage with one can size from above.

    Parameters
    ----------
    answer : Answer
        The answers to draw.
    scenario : Scenario
        The case it belongs to.
    display : Display, optional
        Unit system of the dimensions, metric by default.
    set_name : str
        Added to the title, for a setting that is not the present one.

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
    sheet = PlanSheet(
        answer=answer, stage=stage, mat_mm=width, start_mm=start, scale=scale, display=shown
    )
    ground = _ground(sheet)
    cans = moved_across(pack_primitives(answer.pack), sheet.left_mm)
    parts = (
        *ground,
        *cans,
        *_lanes(sheet),
        *_nozzles(sheet),
        *_guides(sheet),
        *plan_dimensions(sheet),
        *_travel(sheet),
    )
    title = f"Plan · {answer.stage} · {answer.size}" + (f" · {set_name}" if set_name else "")
    left = min(-MARGIN_PAPER_MM * scale, (width - PAPER_WIDTH_MM * scale) / 2.0)
    low = (left, sheet.foot_mm - 20.0 * scale)
    notes = wrapped(plan_notes(sheet), NOTE_MM * scale, (PAPER_WIDTH_MM - 6.0) * scale)
    top = sheet.head_mm + (22.0 + 3.9 * len(notes)) * scale
    high = (left + PAPER_WIDTH_MM * scale, top)
    head = heading((left + MARGIN_PAPER_MM * scale, top - 1.5 * scale), title, notes, scale)
    bar = scale_bar((left + MARGIN_PAPER_MM * scale, low[1] + 2.0 * scale), scale, shown)
    return Drawing(title, low, high, scale, (*parts, *head, *bar))


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


def _ground(sheet: PlanSheet) -> tuple[Primitive, ...]:
    return (box(0.0, sheet.foot_mm, sheet.mat_mm, sheet.head_mm, "mat"),)


def _lanes(sheet: PlanSheet) -> tuple[Primitive, ...]:
    """Centre lines, numbered from the left as far as there is room."""
    if not sheet.answer.pack.fits:
        return ()
    lines = [float(x) for x in lane_lines_mm(sheet.answer.pack, sheet.left_mm)]
    pitch = (lines[-1] - lines[0]) / max(len(lines) - 1, 1) if len(lines) > 1 else sheet.mat_mm
    every = next(
        k for k in (1, 2, 5, 10, 20, 50, 10**9) if k * pitch >= LANE_LABEL_ROOM_MM * sheet.scale
    )
    parts: list[Primitive] = []
    for number, x in enumerate(lines, start=1):
        parts.append(Stroke((x, sheet.foot_mm), (x, sheet.head_mm + 1.0 * sheet.scale), "lane"))
        if number == 1 or number % every == 0:
            at = (x, sheet.head_mm + 2.8 * sheet.scale)
            parts.append(Label(at, str(number), 2.1 * sheet.scale, "note", "middle"))
    at = (sheet.left_mm - 1.5 * sheet.scale, sheet.head_mm + 2.8 * sheet.scale)
    parts.append(Label(at, "lane", 2.1 * sheet.scale, "note", "end"))
    return tuple(parts)


def _nozzles(sheet: PlanSheet) -> tuple[Primitive, ...]:
    """Headers in view; of several at one station and side the first."""
    parts: list[Primitive] = []
    done: set[tuple[str, float]] = set()
    height = sheet.answer.stance.height_mm
    for header in clear_headers(sheet.stage, height):
        level = header.station_mm - sheet.start_mm
        key = (header.side, header.station_mm)
        if key in done or not 0.0 <= level <= sheet.answer.pack.length_mm:
            continue
        done.add(key)
        parts += _header(header, level, height, sheet)
    return tuple(parts)


def _header(header: Header, level: float, height: float, sheet: PlanSheet) -> list[Primitive]:
    foot = footprint_of(header, height)
    places = [float(x) for x in header.positions_mm]
    role, pipe = f"footprint {header.side}", f"header {header.side}"
    parts: list[Primitive] = []
    for x in places:
        if foot.shape == "disc":
            parts.append(Circle((x, level), foot.half_long_mm, role))
        else:
            # the right end of a fan turned positive lies downstream: up the sheet
            outline = ellipse((x, level), foot.half_long_mm, foot.half_thin_mm, foot.twist_rad)
            parts.append(Polygon(outline, role))
    ends = (places[0] - 3.0 * sheet.scale, level), (places[-1] + 3.0 * sheet.scale, level)
    parts.append(Stroke(*ends, pipe))
    radius = (0.55 if header.side == "above" else 0.95) * sheet.scale
    parts += [Circle((x, level), radius, pipe) for x in places]
    return parts


def _guides(sheet: PlanSheet) -> tuple[Primitive, ...]:
    parts: list[Primitive] = [
        Stroke((face, sheet.foot_mm), (face, sheet.head_mm), "wire")
        for face in (sheet.left_mm, sheet.right_mm)
    ]
    for bracket in sheet.stage.guides.brackets:
        level = bracket.station_mm - sheet.start_mm
        if 0.0 <= level <= sheet.answer.pack.length_mm:
            parts += _bracket(sheet.left_mm, level, -1.0, sheet.scale)
            parts += _bracket(sheet.right_mm, level, 1.0, sheet.scale)
    return tuple(parts)


def _bracket(face: float, level: float, out: float, scale: float) -> list[Primitive]:
    """Draw a bracket to paper size: a pad behind the wire and an arm outward."""
    pad, arm = 1.6 * scale, 8.0 * scale
    return [
        box(
            face + out * pad, level - 0.7 * scale, face + out * arm, level + 0.7 * scale, "bracket"
        ),
        box(face, level - 2.0 * scale, face + out * pad, level + 2.0 * scale, "bracket"),
    ]


def _travel(sheet: PlanSheet) -> tuple[Primitive, ...]:
    x = max(sheet.mat_mm + 4.0 * sheet.scale, sheet.right_mm + 10.0 * sheet.scale)
    foot, length = sheet.foot_mm + 3.0 * sheet.scale, 22.0 * sheet.scale
    line = arrow((x, foot), (x, foot + length), 3.0 * sheet.scale, "label")
    at = (x + 2.6 * sheet.scale, foot + length / 2.0)
    turn = 1.5707963267948966
    return (
        *line,
        Label(
            at_mm=at,
            text="travel",
            size_mm=NOTE_MM * sheet.scale,
            role="note",
            anchor="middle",
            turn_rad=turn,
        ),
    )
