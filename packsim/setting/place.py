"""Some lanes of one size at a place across a stage: what their slack does, where guides then go.

The lanes of a pack with slack stand about the middle of the pass whatever its width is, so the load
of the sprays on them, the safe slack and the guide window follow from the lane count and the middle
alone. A setting is chosen from these; the answers of the stage as set then judge it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from packsim.answers import lowest_wires_mm, stage_packs, worst_can
from packsim.answers.worst_can import WorstCan
from packsim.arrays import Floats
from packsim.can import Can
from packsim.line import SIDES, Bracket, Scenario, Stage
from packsim.line.guides import Reach
from packsim.nozzles.lane_lines import nozzle_places_mm
from packsim.nozzles.shift import Facing
from packsim.pack.lattice import lane_places_mm, lanes_width_mm
from packsim.setting.moves import WirePart, gauge_steps, on_marks, step_of
from packsim.tipping.safe_slack import safe_slack, tip_index
from packsim.width.guide_window import GuideWindow, guide_window
from packsim.width.slack_budget import slack_budget

_TRIES = 4
"""Tries to find whole steps whose own middle keeps them in the window; one or two do."""


def stage_facings(stage: Stage, lines_mm: Floats) -> tuple[Facing, ...]:
    """Can lines against the nozzles of each side of a stage that has any."""
    rows = [nozzle_places_mm(stage.headers, side) for side in SIDES]
    return tuple(Facing(lines_mm, row, np.ones(len(lines_mm))) for row in rows if len(row))


@dataclass(frozen=True, slots=True)
class Judged:
    """Some lanes of a size in one stage, guides set to given brackets.

    Parameters
    ----------
    worst : WorstCan
        The can as it is worst there.
    wires_mm : tuple of float
        Wires where they hang lowest [mm].
    window : GuideWindow
        Clear widths neither too tight nor too loose for these lanes; its budget is that of the
        brackets as given.
    looser : Judged or None
        The fewer lanes that a thin infeed may run there instead, which are the worse case.
    """

    worst: WorstCan
    wires_mm: tuple[float, ...]
    window: GuideWindow
    looser: Judged | None = None

    @property
    def jams(self) -> bool:
        """Whether the tightest case has no slack."""
        return self.window.budget.clear_width_mm < self.window.low_mm - 1e-9

    @property
    def index(self) -> float:
        """Tip index of the loosest case, of the fewer lanes where they may run [-]."""
        if self.looser is not None:
            return self.looser.index
        slack, stance = self.window.budget.loosest_mm, self.worst.sprayed
        return tip_index(slack, stance, self.wires_mm, self.worst.balance_rad).worst

    @property
    def inside(self) -> bool:
        """Whether the guides stand inside the window; a hold-down is not counted on."""
        width_mm = self.window.budget.clear_width_mm
        return self.window.holds(width_mm) and self.worst.balance_rad > 0.0

    @property
    def safe(self) -> bool:
        """Whether they stand inside, and the infeed brings no fewer lanes."""
        return self.inside and self.looser is None


def judge(scenario: Scenario, stage: Stage, can: Can, lanes: int) -> Judged:
    """Judge some lanes between the guides of a stage.

    Parameters
    ----------
    scenario : Scenario
        For its mat and safety factor.
    stage : Stage
        The stage, guides, wires and hold-down as they shall stand.
    can : Can
        The size.
    lanes : int
        Lanes meant, 1 or more; whether they fit is one of the answers.

    Returns
    -------
    Judged
        For the narrowest bracket.
    """
    return _judged(stage, can, lanes, scenario.mat.open_fraction, scenario.factor)


@lru_cache(maxsize=512)
def _judged(stage: Stage, can: Can, lanes: int, open_fraction: float, factor: float) -> Judged:
    runs = stage_packs(stage, can).judged.lanes
    lines = lane_places_mm(lanes, can.diameter_mm, stage.layout, stage.guides.centre_mm)
    worst = worst_can(stage, can, open_fraction, lines)
    wires = lowest_wires_mm(stage)
    budget = slack_budget(stage, can, lanes_width_mm(lanes, can.diameter_mm, stage.layout))
    safe = safe_slack(worst.sprayed, wires, worst.balance_rad).slack_mm
    return Judged(
        worst=worst,
        wires_mm=wires,
        window=guide_window(budget, safe, factor),
        looser=_judged(stage, can, runs, open_fraction, factor) if 0 < runs < lanes else None,
    )


def with_faces(stage: Stage, left_mm: float, right_mm: float, sparing_mm: float = 0.0) -> Stage:
    """Return a stage with its guides moved to two faces at the narrowest bracket.

    Faces that would move by less than ``sparing_mm`` stay: no crew sets that, no rule shows it.
    """

    def kept(now_mm: float, new_mm: float) -> float:
        return now_mm if abs(now_mm - new_mm) < sparing_mm else new_mm

    guides = stage.guides.with_faces(left_mm, right_mm)
    brackets = tuple(
        Bracket(new.station_mm, kept(now.left_mm, new.left_mm), kept(now.right_mm, new.right_mm))
        for now, new in zip(stage.guides.brackets, guides.brackets, strict=True)
    )
    return replace(stage, guides=replace(guides, brackets=brackets))


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


def placed(job: Job, stage: Stage, lanes: int, shift_mm: float) -> tuple[Stage, str, bool]:
    """Set the guides about a shifted middle: the stage, the source, whether it takes a gauge."""
    own = step_of(stage, job.step_mm)
    exact, source, set_by = _on_steps(job, stage, lanes, shift_mm, own)
    if set_by is not None:
        return set_by, source, False
    for finer in gauge_steps(own, job.step_mm):
        _, source, set_by = _on_steps(job, stage, lanes, shift_mm, finer)
        if set_by is not None:
            return set_by, source, True
    return exact, source, True


def _on_steps(
    job: Job, stage: Stage, lanes: int, shift_mm: float, step_mm: float
) -> tuple[Stage, str, Stage | None]:
    """Return the stage as aimed at, the source, and the stage on whole steps, if any suit."""
    half = lanes_width_mm(lanes, job.new.diameter_mm, stage.layout) / 2.0
    centre = stage.guides.centre_mm + shift_mm
    reach, mat_mm = job.reach(stage), job.scenario.mat.width_mm
    judged = judge(job.scenario, with_faces(stage, centre - half, centre + half), job.new, lanes)
    for _ in range(_TRIES):
        source, aim, span = _aim(judged.window, reach, step_mm)
        least, most = reach.centres_mm(aim)
        middle = min(max(centre, least), most)
        exact = with_faces(stage, middle - aim / 2.0, middle + aim / 2.0)
        if source == "reach":
            return exact, source, exact
        marks = on_marks((aim, middle), span, reach, step_mm)
        if marks is None:
            break
        for spared_mm in (step_mm / 2.0, 0.0):
            tried = with_faces(stage, marks[0], mat_mm - marks[1], spared_mm)
            judged = judge(job.scenario, tried, job.new, lanes)
            if judged.inside or (judged.window.empty and not judged.jams):
                return exact, source, tried
    return exact, source, None


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
