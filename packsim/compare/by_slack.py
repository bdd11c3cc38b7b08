"""How the tips of a line change with its slack: passages with all guides a little in and out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from packsim.answers.stage_pack import stage_packs
from packsim.arrays import Floats
from packsim.can import Can
from packsim.chance import Spectrum, chance_of
from packsim.line import Scenario, Stage
from packsim.line.input_range import InputRange
from packsim.line.knobs import with_faces_moved
from packsim.pack.lattice import lane_pitch_mm, lanes_width_mm

_STEP_MM = 0.5  # moves are whole numbers of it, so that passages are found again
_SPARE_MM = 0.1  # what is left of the slack, or short of one more lane
_MOST = 0.975  # share of the draws that lie within the moves


@dataclass(frozen=True, slots=True, eq=False)
class BySlack:
    """A line with its guides closed, as they are, and opened.

    Parameters
    ----------
    slack_mm : ndarray, shape (stages, draws)
        By how much the slack of each stage is other than as taken, in every draw [mm].
    low_mm, high_mm : float
        By how much the guides are closed and opened; 0 where they cannot be [mm].
    closed, opened : Spectrum or None
        Barriers then.
    """

    slack_mm: Floats
    low_mm: float
    high_mm: float
    closed: Spectrum | None
    opened: Spectrum | None


def by_slack(line: Scenario, size: str, values: Mapping[str, Floats], draws: int) -> BySlack:
    """Carry a line with its guides closed and opened as far as its slack is not known.

    Parameters
    ----------
    line : Scenario
        The line.
    size : str
        The can size.
    values : mapping of str to ndarray, shape (draws,)
        Values of its inputs, from `packsim.compare.common_draws.common_values`.
    draws : int
        How many.

    Returns
    -------
    BySlack
        Moves hold 95 % of the draws in every stage, but leave the lanes as they are: what lies
        beyond counts as at the end.
    """
    can = line.size(size)
    ranges = {place: one for one in line.ranges for place in one.places}
    slack = np.stack(
        [_slack_mm(line, i, can, ranges, values) + np.zeros(draws) for i in range(len(line.stages))]
    )
    out, into = (max(0.0, float(np.quantile(way, _MOST, axis=1).max())) for way in (slack, -slack))
    rooms = [_room_mm(stage, can) for stage in line.stages]
    low = min(_whole(into), *(max(0.0, room[0]) for room in rooms))
    high = min(_whole(out), *(max(0.0, room[1]) for room in rooms))
    closed, opened = (None if by_mm == 0.0 else _moved(line, size, by_mm) for by_mm in (-low, high))
    return BySlack(slack, low, high, closed, opened)


def _whole(mm: float) -> float:
    return _STEP_MM * math.ceil(mm / _STEP_MM - 1e-9)


def _slack_mm(
    line: Scenario,
    i: int,
    can: Can,
    ranges: Mapping[str, InputRange],
    values: Mapping[str, Floats],
) -> Floats | float:
    """By how much the slack of a stage is other than as taken, for the lanes it has."""

    def off(place: str) -> Floats | float:
        one = ranges.get(place)
        return 0.0 if one is None or one.key not in values else values[one.key] - one.value

    stage, here = line.stages[i], f"stages.{i}"
    k = stage.guides.brackets.index(stage.guides.narrowest)
    faces = f"{here}.guides.brackets.{k}"
    width = off(f"{here}.clear_width()") + off(f"{faces}.right_mm") - off(f"{faces}.left_mm")
    wide = lanes_width_mm(max(stage_packs(stage, can).judged.lanes, 1), 1.0, stage.layout)
    return width - wide * off(f"sizes.{line.sizes.index(can)}.diameter_mm")


def _room_mm(stage: Stage, can: Can) -> tuple[float, float]:
    """How far guides can close before the lanes touch both, and open before one more fits."""
    lanes = stage_packs(stage, can).judged.lanes
    slack = stage.guides.narrowest_mm - lanes_width_mm(lanes, can.diameter_mm, stage.layout)
    return slack - _SPARE_MM, lane_pitch_mm(can.diameter_mm, stage.layout) - slack - _SPARE_MM


@lru_cache(maxsize=64)
def _moved(line: Scenario, size: str, by_mm: float) -> Spectrum | None:
    """Return the barriers with all guides opened by some length [mm]; None where nothing fits."""
    moved = line.with_stages(
        tuple(with_faces_moved(stage, -by_mm / 2.0, by_mm / 2.0) for stage in line.stages)
    )
    chance = chance_of(moved, size)
    return None if chance.reason else chance.spectrum
