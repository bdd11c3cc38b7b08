"""The side elevation across the mat: how far cans can lean on a wire and on each other.

Two views to one scale, seen downstream. Left: all slack gathered at the guide. Right: all of it
inside the pack. Slack is that of the loosest case of the budget, on which the verdict rests.
"""

import math

from packsim.answers import Answer
from packsim.line import Scenario
from packsim.report.drawings.can_section import SIDE_PAPER_MM, CanSection, ElevationView, wires_seen
from packsim.report.drawings.drawing import (
    Dimension,
    Drawing,
    Label,
    Polyline,
    Primitive,
    Stroke,
    arc,
)
from packsim.report.drawings.sheet_tools import PAPER_WIDTH_MM, box, fits, sheet
from packsim.report.words.display import Display


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
    stage, can = scenario.stage(answer.stage), scenario.size(answer.size)
    slack = max(0.0, answer.tipping.loosest_slack_mm)
    wide = can.diameter_mm
    # guide view: slack, can, a can behind; then a gap; pack view: neighbour, slack, two cans
    apart = slack + 2.1 * wide + 1.1 * can.height_mm
    across = apart + 3.0 * wide + slack
    scale = across / (PAPER_WIDTH_MM - SIDE_PAPER_MM - 12.0)
    view = ElevationView(
        answer=answer,
        stage=stage,
        can=can,
        scale=scale,
        display=display or Display(),
        slack_mm=slack,
        apart_mm=apart,
    )
    low = (-SIDE_PAPER_MM * scale, -26.0 * scale)
    right = low[0] + (PAPER_WIDTH_MM - 3.0) * scale
    mat = (box(low[0] + 26.0 * scale, -2.2 * scale, right, 0.0, "hold-down"),)
    over = _hold_down(view, low[0] + 34.0 * scale, right)
    views = (*_guide_view(view), *_pack_view(view))
    # a mat that hangs below the can tops is painted over them, for that is what is wrong
    crushes = stage.hold_down_mm is not None and stage.hold_down_mm < can.height_mm
    parts = (*mat, *views, *over) if crushes else (*mat, *over, *views)
    title = f"Side elevation · {answer.stage} · {answer.size}"
    ceiling = view.top_mm + 20.0 * scale
    return sheet(title, _notes(view), parts, low, ceiling, scale, view.display)


def _hold_down(view: ElevationView, x0: float, x1: float) -> tuple[Primitive, ...]:
    """Draw the hold-down mat, named in the free space between the views."""
    hold, scale = view.stage.hold_down_mm, view.scale
    if hold is None:
        return ()
    words = f"hold-down {view.length(hold)}"
    middle = (view.slack_mm + 1.92 * view.can.diameter_mm + view.apart_mm) / 2.0
    return (
        box(x0, hold, x1, hold + 2.2 * scale, "hold-down"),
        Label((middle, hold + 4.6 * scale), words, view.type_mm, "label", "middle"),
    )


def _guide_view(view: ElevationView) -> tuple[Primitive, ...]:
    """Draw the edge can on its wire; wires with their heights."""
    wide, slack = view.can.diameter_mm, view.slack_mm
    lean = view.answer.tipping.loosest.edge_lean_rad
    words = (slack + wide, -17.5 * view.scale), "At the guide"
    return (
        *view.section(slack + 0.92 * wide).body("can behind"),
        *_leaning(view, slack, lean, wires_seen(view)),
        *_foot_dimensions(view, 0.0, slack, "slack"),
        Label(*words, view.type_mm, "label", "middle"),
    )


def _pack_view(view: ElevationView) -> tuple[Primitive, ...]:
    """Draw a can inside the pack that leans on its neighbour."""
    wide, tall, size, scale = view.can.diameter_mm, view.can.height_mm, view.type_mm, view.scale
    pivot = view.apart_mm + wide + view.slack_mm
    end, after = pivot + wide, pivot + 2.0 * wide
    across, up = f"Ø {view.length(wide)}", view.length(tall)
    return (
        *view.section(end).body("can behind"),
        *view.section(view.apart_mm).body("can behind"),
        *_leaning(view, pivot, view.answer.tipping.loosest.centre_lean_rad),
        *_foot_dimensions(view, pivot - view.slack_mm, pivot, "slack", "start"),
        Dimension((pivot, 0.0), (end, 0.0), -12.0 * scale, across, size),
        Dimension((after, 0.0), (after, tall), -5.0 * scale, up, size),
        Label((pivot, -17.5 * scale), "Inside the pack", size, "label", "middle"),
    )


def _leaning(
    view: ElevationView, pivot_mm: float, lean_rad: float, wires: tuple[Primitive, ...] = ()
) -> tuple[Primitive, ...]:
    """Draw one can as far as it can lean, upright dashed, under the wires, with its angles."""
    held = lean_rad < 0.999 * math.pi / 2.0
    shown = lean_rad if held else view.answer.tipping.balance_angle_rad
    upright, leaning = view.section(pivot_mm), view.section(pivot_mm, shown)
    words = f"lean {view.display.angle(lean_rad)}" if held else "nothing stops it"
    return (
        *leaning.body("can leaning"),
        *((upright.outline("can upright"),) if shown > 0.0 else ()),
        *leaning.gravity_mark(1.3 * view.scale),
        *wires,
        *_angles(view, upright, shown, words),
    )


def _angles(
    view: ElevationView, upright: CanSection, lean_rad: float, words: str
) -> tuple[Primitive, ...]:
    """Upright wall, leaned wall and balance line from the pivot, with arcs and their angles."""
    alpha, scale = view.answer.tipping.balance_angle_rad, view.scale
    pivot = upright.at(0.0, 0.0)
    up = math.pi / 2.0
    inner, outer = view.top_mm + 6.0 * scale, view.top_mm + 13.0 * scale
    parts: list[Primitive] = [
        Stroke(pivot, (pivot[0], outer + 3.0 * scale), "lean"),
        view.section(pivot[0], lean_rad).wall_line(inner + 1.5 * scale, "lean"),
        view.section(pivot[0], alpha).wall_line(outer + 1.5 * scale, "balance"),
        Polyline(arc(pivot, outer, up, up + alpha), "balance"),
    ]
    if lean_rad > 0.0:
        parts.append(Polyline(arc(pivot, inner, up, up + lean_rad), "lean"))
    size = view.type_mm
    parts.append(Label((pivot[0] + 1.5 * scale, inner), words, size, "label"))
    text = f"tip angle {view.display.angle(alpha)}"
    parts.append(Label((pivot[0] + 1.5 * scale, outer), text, size, "limit"))
    return tuple(parts)


def _foot_dimensions(
    view: ElevationView, x0: float, x1: float, name: str, beside: str = "end"
) -> tuple[Primitive, ...]:
    text = f"{name} {view.length(x1 - x0)}"
    if x1 <= x0:
        return ()
    size = view.type_mm
    where = "middle" if fits(text, size, x1 - x0) else beside
    return (Dimension((x0, 0.0), (x1, 0.0), -6.5 * view.scale, text, size, text_at=where),)


def _notes(view: ElevationView) -> str:
    tipping, display = view.answer.tipping, view.display
    on, off = (display.angle(a) for a in (tipping.balance_angle_rad, tipping.rest_angle_rad))
    first = (
        f"Worst-case slack {display.length(view.slack_mm)}, all of it in one place; safe slack "
        f"{display.length(tipping.safe.slack_mm)} ({tipping.safe.governing} can first). "
        f"Verdict: {tipping.verdict}."
    )
    second = (
        f"Tip angle {on} with the sprays on, {off} with them off, "
        f"{view.answer.water.said}. Wires at mid-span; ← supports the edge can. "
        f"{display.lengths_in.capitalize()}."
    )
    return f"{first} {second}"
