"""Stages that stand in line are set in line: they share a lane count and one sideways shift."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from packsim.answers import stage_packs
from packsim.can import Can
from packsim.line import Scenario, Stage
from packsim.nozzles.shift import Facing, joint_now, joint_shift
from packsim.width.lane_rule import lane_pitch_mm, lanes_width_mm
from packsim.width.reach import Reach

IN_LINE_MM: Final = 2.0
"""Neighbouring stages stand in line when the middles of their passes differ by no more than this
(assumed; cans pass a step of some millimetres at a guide's end)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shift:
    """The sideways move of a run of stages.

    Parameters
    ----------
    shift_mm : float
        Move of every middle, positive to the right [mm].
    gain_mm : float
        By how much it brings the worst can line of the run nearer to its nozzle [mm].
    limited : bool
        Whether more room would help.
    forced : bool
        Whether the pass would not fit where its middle is now.
    """

    shift_mm: float
    gain_mm: float
    limited: bool
    forced: bool


def runs_in_line(scenario: Scenario, size: str) -> tuple[tuple[int, ...], ...]:
    """Group the stages that stand in line and carry the same lanes of one size.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    size : str
        Size it carries.

    Returns
    -------
    tuple of tuple of int
        Neighbouring stages, by number, with one layout, one lane count, and middles within
        `IN_LINE_MM` of the stage before.
    """
    can = scenario.size(size)
    runs: list[list[int]] = []
    for i, stage in enumerate(scenario.stages):
        if runs and _in_line(scenario.stages[i - 1], stage, can):
            runs[-1].append(i)
        else:
            runs.append([i])
    return tuple(tuple(run) for run in runs)


def _in_line(one: Stage, other: Stage, can: Can) -> bool:
    lanes = [stage_packs(stage, can).judged.lanes for stage in (one, other)]
    apart = abs(one.guides.centre_mm - other.guides.centre_mm)
    return one.layout == other.layout and lanes[0] == lanes[1] and apart <= IN_LINE_MM


def line_lanes(stages: Sequence[Stage], diameter_mm: float, mat_width_mm: float) -> int:
    """Choose one lane count for stages in line.

    Parameters
    ----------
    stages : sequence of Stage
        Stages of one layout.
    diameter_mm : float
        Diameter of the new size [mm].
    mat_width_mm : float
        Mat width [mm].

    Returns
    -------
    int
        Of the counts the present widths are nearest to from below and above, the one the guides
        have to move least for, among those every bracket can reach; the smaller one of two alike.
        At least 1.
    """
    layout = stages[0].layout
    pitch = lane_pitch_mm(diameter_mm, layout)
    counts = set()
    for stage in stages:
        fit = 1 + math.floor((stage.guides.narrowest_mm - diameter_mm) / pitch + 1e-9)
        counts |= {max(1, fit), max(1, fit + 1)}

    def cost(lanes: int) -> tuple[float, float, int]:
        need = lanes_width_mm(lanes, diameter_mm, layout)
        short = 0.0
        for stage in stages:
            low, high = Reach.of(stage.guides, mat_width_mm).widths_mm
            short += max(0.0, need - high) + max(0.0, low - need)
        move = sum(abs(need - stage.guides.narrowest_mm) for stage in stages)
        return round(short, 9), round(move, 9), lanes

    return min(counts, key=cost)


def line_shift(
    lines_mm: Sequence[Floats], nozzles_mm: Sequence[Floats], room_mm: tuple[float, float]
) -> Shift:
    """Find the one shift that suits the worst can line of a run of stages.

    Parameters
    ----------
    lines_mm, nozzles_mm : sequences of ndarray
        Can lines and nozzles of each stage, as the middles are now; stages without nozzles have
        an empty array [mm].
    room_mm : tuple of float
        Least and greatest shift [mm]; 0 need not lie between them.

    Returns
    -------
    Shift
        The least worst distance over all stages, exactly; with no nozzle the least move.
    """
    low, high = room_mm
    base = min(max(0.0, low), high)
    pairs = zip(lines_mm, nozzles_mm, strict=True)
    rows = [Facing(a + base, b, np.ones(len(a))) for a, b in pairs if len(a) and len(b)]
    if not rows:
        return Shift(base, 0.0, limited=False, forced=base != 0.0)
    best = joint_shift(rows, (max(0.0, base - low), max(0.0, high - base)))
    gain = joint_now(rows)[0] - best.worst_mm
    shift = base + best.shift_for_worst_mm
    return Shift(shift, gain, best.limited_by_room, forced=base != 0.0)
