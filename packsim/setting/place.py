"""Where the guides of a stage are set for some lanes, and what hangs on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from packsim.answers import stage_packs
from packsim.can import Can
from packsim.line import Scenario, Stage
from packsim.nozzles.lane_lines import worth_a_shift_mm
from packsim.nozzles.shift import Facing, joint_now, joint_shift
from packsim.setting.heights import hold_down_for, step_of
from packsim.setting.judge import judge, lane_places_mm, stage_facings, with_faces
from packsim.setting.line_setting import StageSetting
from packsim.setting.moves import WirePart
from packsim.width.guide_window import GuideWindow
from packsim.width.lane_rule import lanes_width_mm
from packsim.width.reach import Reach, on_marks

_TURNS = 4
"""Tries to find whole steps whose own middle keeps them in the window; one or two do."""


@dataclass(frozen=True, slots=True)
class Job:
    """What a line is to be set for.

    Parameters
    ----------
    scenario : Scenario
        The line as found.
    old, new : Can
        Size that runs now and size it is to be set for.
    step_mm : float or None
        Step of new settings; None for each stage's own [mm].
    keep : {"rate", "dwell"}
        What is kept: cans per minute, or the mat speed.
    wires : tuple of WirePart
        Wires of every stage, as they shall hang.
    """

    scenario: Scenario
    old: Can
    new: Can
    step_mm: float | None
    keep: str
    wires: tuple[WirePart, ...]

    def stage(self, i: int) -> Stage:
        """Return a stage as found but for its wires, which hang as they shall."""
        stage = self.scenario.stages[i]
        heights = self.wires[i].heights_mm
        if not heights or heights == stage.guides.wires.heights_mm:
            return stage
        wires = replace(stage.guides.wires, heights_mm=heights)
        return replace(stage, guides=replace(stage.guides, wires=wires))

    def reach(self, stage: Stage) -> Reach:
        """Return the reach of a stage's brackets; the whole mat where no can fits within it."""
        reach = Reach.of(stage.guides, self.scenario.mat.width_mm)
        if reach.widths_mm[1] < self.new.diameter_mm:  # its own finding says so
            return Reach(self.scenario.mat.width_mm, 0.0, math.inf)
        return reach


def line_shift_mm(job: Job, run: Sequence[int], lanes: int) -> float:
    """Return the one shift of a run of stages that suits its worst lane, 0 where it gains little.

    Nozzles above and below, and of each stage, are rows of their own, as in `packsim.headers`.
    """
    lows, highs, rows = [], [], list[Facing]()
    for stage in (job.scenario.stages[i] for i in run):
        now, diameter = stage.guides.centre_mm, job.new.diameter_mm
        width = lanes_width_mm(lanes, diameter, stage.layout)
        low, high = job.reach(stage).centres_mm(width)
        lows.append(low - now)
        highs.append(high - now)
        rows += stage_facings(stage, lane_places_mm(lanes, diameter, stage.layout, now))
    low, high = max(lows), min(highs)
    if low > high:  # no shift suits all: each stage is brought within its own reach
        return 0.0
    base = min(max(0.0, low), high)  # not 0 where the pass would not fit about its present middle
    if not rows:
        return base
    moved = [Facing(row.lines_mm + base, row.nozzles_mm, row.weights) for row in rows]
    best = joint_shift(moved, (max(0.0, base - low), max(0.0, high - base)))
    gain = joint_now(moved)[0] - best.worst_mm
    return base + (best.shift_for_worst_mm if gain > worth_a_shift_mm(job.new.diameter_mm) else 0.0)


def set_stage(job: Job, i: int, lanes: int, shift_mm: float) -> StageSetting:
    """Set one stage for some lanes, its middle shifted [mm]."""
    found, stage = job.scenario.stages[i], job.stage(i)
    known = found.setting_for(job.new.name) if job.new is not job.old else None
    gauge = False
    if known is not None:
        source = "record"
        stage = replace(stage, guides=replace(stage.guides, brackets=known.brackets))
        lanes = max(1, stage_packs(stage, job.new).fit_lanes)
    elif (
        shift_mm == 0.0
        and job.reach(stage).farthest_beyond_mm(stage.guides) <= 1e-6
        and judge(job.scenario, stage, job.new, lanes).inside
    ):
        source = "stays"
    else:
        stage, source, gauge = _placed(job, stage, lanes, shift_mm)
    judged = judge(job.scenario, stage, job.new, lanes)
    step = step_of(found, job.step_mm)
    hold = hold_down_for(found, job.old, job.new, judged.at_rest, judged.balance_rad, step)
    if hold is not None and hold.new_mm != stage.hold_down_mm:
        stage = replace(stage, hold_down_mm=hold.new_mm)
    centre = stage.guides.centre_mm
    lines = lane_places_mm(lanes, job.new.diameter_mm, stage.layout, centre)
    rows = stage_facings(stage, lines)
    pairs = list(zip(found.guides.brackets, stage.guides.brackets, strict=True))
    faces = [(a.left_mm - b.left_mm, a.right_mm - b.right_mm) for a, b in pairs]
    return StageSetting(
        stage=stage,
        lanes=lanes,
        judged_lanes=stage_packs(stage, job.new).judged.lanes,
        window=judged.window,
        source=source,
        gauge=gauge,
        shift_mm=centre - found.guides.centre_mm,
        wires=job.wires[i],
        hold_down=hold,
        index=judged.index,
        jams=judged.jams,
        safe=judged.safe,
        offset_mm=joint_now(rows)[0] if rows else 0.0,
        move_mm=max(abs(move) for pair in faces for move in pair),
    )


def _placed(job: Job, stage: Stage, lanes: int, shift_mm: float) -> tuple[Stage, str, bool]:
    """Set the guides about a shifted middle: the stage, the source, whether it takes a gauge."""
    half = lanes_width_mm(lanes, job.new.diameter_mm, stage.layout) / 2.0
    centre, step = stage.guides.centre_mm + shift_mm, step_of(stage, job.step_mm)
    reach, mat_mm = job.reach(stage), job.scenario.mat.width_mm
    judged = judge(job.scenario, with_faces(stage, centre - half, centre + half), job.new, lanes)
    for _ in range(_TURNS):
        source, aim, span = _aim(judged.window, reach, step)
        least, most = reach.centres_mm(aim)
        middle = min(max(centre, least), most)
        exact = with_faces(stage, middle - aim / 2.0, middle + aim / 2.0)
        if source == "reach":
            return exact, source, False
        marks = on_marks((aim, middle), span, reach, step)
        if marks is None:
            break
        for spared_mm in (step / 2.0, 0.0):
            tried = with_faces(stage, marks[0], mat_mm - marks[1], spared_mm)
            judged = judge(job.scenario, tried, job.new, lanes)
            if judged.inside or (judged.window.empty and not judged.jams):
                return tried, source, False
    return exact, source, True


def _aim(
    window: GuideWindow, reach: Reach, step_mm: float
) -> tuple[str, float, tuple[float, float]]:
    """Return the source of a setting, the clear width aimed at, and the widths it may have."""
    least, most = reach.widths_mm
    low, high = window.low_mm, window.high_mm
    source = "window"
    if window.empty:
        source, high = "low end", low + max(step_mm, 0.0)
    if low > most or high < least:
        return "reach", most if low > most else least, (least, most)
    span = (max(low, least), min(high, most))
    return source, span[0] if window.empty else (span[0] + span[1]) / 2.0, span
