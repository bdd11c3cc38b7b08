"""The pack a stage is judged by, its rate and wires, its lines against sprays and nozzles."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import non_negative, one_of, positive
from packsim.line import SIDES, Header, Mat, Stage
from packsim.line.guides import Reach
from packsim.nozzles.lane_lines import (
    Misalignment,
    lane_lines_mm,
    lane_shares,
    misalignment,
    nozzle_places_mm,
)
from packsim.nozzles.shift import BestShift, Facing, joint_shift
from packsim.pack.state import STUDY_LENGTH_MM, Pack, pack_between
from packsim.spray.jets import passes
from packsim.width.guide_wires import slackest_span
from packsim.width.lane_rule import LanePack, LanePacks, packs_at


def stage_pack(
    stage: Stage, can: Can, clear_width_mm: float, length_mm: float = STUDY_LENGTH_MM
) -> Pack:
    """Return the looser pack of a size between guides of a width, filled as in a stage."""
    judged = packs_at(clear_width_mm, can.diameter_mm, stage.layout, stage.fill).judged
    strip = clear_width_mm, can.diameter_mm, stage.layout, length_mm
    return _slack_pack(*strip, judged.fill, judged.lanes)


@lru_cache(maxsize=64)
def _slack_pack(*strip_fill_lanes: Any) -> Pack:
    *strip_fill, lanes = strip_fill_lanes
    return pack_between(*strip_fill, state="slack", lanes=lanes)


def clear_headers(stage: Stage, height_mm: float) -> tuple[Header, ...]:
    """Headers a can of this height passes; one above that hangs into the cans sprays nothing."""
    return tuple(h for h in stage.headers if passes(h, height_mm))


def alike_mm(lines_mm: Iterable[float]) -> tuple[float, ...]:
    """Lines nearer to each other than a rounding are one: the same pack laid by other sums."""
    return tuple(round(float(line), 9) for line in lines_mm)


@lru_cache(maxsize=512)
def stage_packs(stage: Stage, can: Can) -> LanePacks:
    """Return the packs a size can stand in between a stage's guides as they are set.

    A stage that asks for strained or blocks is judged like any other, by the looser pack; the
    state asked for is what its pack might be.
    """
    width, diameter = stage.guides.narrowest_mm, can.diameter_mm
    packs = packs_at(width, diameter, stage.layout, stage.fill)
    if stage.state not in ("strained", "blocks"):
        return packs
    asked = pack_between(
        width, diameter, stage.layout, STUDY_LENGTH_MM, stage.fill, state=stage.state
    )
    if not asked.fits:
        return replace(packs, might_be=None)
    full = asked.cans_per_metre / asked.fill
    might_be = LanePack(
        lanes=asked.lanes,
        pack_width_mm=asked.pack_width_mm,
        slack_mm=asked.slack_mm,
        cans_per_metre=full,
        fill=asked.fill,
        state=stage.state,
    )
    return replace(packs, might_be=might_be)


def lowest_wires_mm(stage: Stage) -> tuple[float, ...]:
    """Heights of a stage's wires where they hang lowest, at mid-span of the slackest span [mm].

    A sagged wire supports less, so tipping is judged there; a wire sagged onto the mat is gone.
    """
    drop = drop_mm(stage)
    return tuple(z - drop for z in stage.guides.wires.heights_mm if z > drop)


def drop_mm(stage: Stage) -> float:
    """How much lower wires hang at mid-span of the slackest span than at the brackets [mm]."""
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    return 0.0 if span is None else span.drop_mm


def sprayed_lines_mm(stage: Stage, pack: Pack) -> Floats:
    """Lines of can centres the sprays of a stage meet, the pack in the middle of its pass.

    None where no can fits or nothing sprays.
    """
    if not pack.fits or not stage.headers:
        return np.zeros(0)
    return lane_lines_mm(pack, stage.guides.centre_mm - pack.clear_width_mm / 2.0)


@dataclass(frozen=True, slots=True)
class Alignment:
    """Can lines against nozzles.

    Parameters
    ----------
    now : Misalignment
        As the guides are set.
    best : BestShift
        What a shift of the pack could reach within the room there is.
    room_mm : tuple of float
        How far the pack may move to the left and to the right [mm].
    side : {"above", "below"}
        The side of the mat whose nozzles these are, the worse one of the two.
    """

    now: Misalignment
    best: BestShift
    room_mm: tuple[float, float]
    side: str


def alignment(stage: Stage, mat: Mat, pack: Pack) -> Alignment | None:
    """Return the side whose worst lane is farther off its nozzle, and one shift for both sides.

    None where no can fits or no header sprays.
    """
    if not pack.fits or not stage.headers:
        return None
    lines = sprayed_lines_mm(stage, pack)
    room = Reach.of(stage.guides, mat.width_mm).room_mm(pack.clear_width_mm, stage.guides.centre_mm)
    shares = lane_shares(pack)
    rows = {side: nozzle_places_mm(stage.headers, side) for side in SIDES}
    rows = {side: row for side, row in rows.items() if len(row)}
    best = joint_shift([Facing(lines, row, shares) for row in rows.values()], room)
    found = [
        Alignment(misalignment(lines, row, weights=shares), best, room, side)
        for side, row in rows.items()
    ]
    return max(found, key=lambda one: one.now.worst_mm)


KEEP: Final = ("rate", "dwell")
"""What a size change leaves as it was: cans per minute, or time in every stage."""


@dataclass(frozen=True, slots=True)
class CansFlow:
    """How fast cans come through: what lies on a metre of mat, and how fast the mat goes.

    Parameters
    ----------
    cans_per_m : float
        Cans per metre of mat [1/m]; 0 where nothing fits.
    speed_mm_per_s : float
        Mat speed [mm/s].

    Examples
    --------
    >>> flow = CansFlow(400.0, 100.0)
    >>> flow.cans_per_min, flow.dwell_s(3000.0)
    (2400.0, 30.0)
    """

    cans_per_m: float
    speed_mm_per_s: float

    def __post_init__(self) -> None:
        non_negative("cans_per_m", self.cans_per_m)
        positive("speed_mm_per_s", self.speed_mm_per_s)

    @property
    def cans_per_min(self) -> float:
        """Cans per minute [1/min]; 1 mm/s is 0.06 m/min."""
        return self.cans_per_m * (self.speed_mm_per_s * 60.0 / 1000.0)

    def dwell_s(self, length_mm: float) -> float:
        """Time a can spends in a stage of this length [s]."""
        return positive("length_mm", length_mm) / self.speed_mm_per_s

    def after_size_change(self, cans_per_m: float, keep: str) -> CansFlow:
        """Return the flow of the new size, keeping either the rate or the dwell.

        Parameters
        ----------
        cans_per_m : float
            Cans per metre of the new size [1/m].
        keep : {"rate", "dwell"}
            Same cans per minute at a new speed, so every dwell changes by the ratio of cans per
            metre; or the same speed, so the dwells stay and the cans per minute change by it.

        Returns
        -------
        CansFlow
            The new flow.

        Raises
        ------
        InputError
            If ``keep`` is neither, or a rate is to be kept with no cans on the mat.

        Examples
        --------
        >>> CansFlow(400.0, 100.0).after_size_change(500.0, "rate").speed_mm_per_s
        80.0
        >>> CansFlow(400.0, 100.0).after_size_change(500.0, "dwell").cans_per_min
        3000.0
        """
        if one_of("keep", keep, KEEP) == "dwell":
            return CansFlow(cans_per_m, self.speed_mm_per_s)
        # by the ratio alone: as many cans on a metre leave the speed as it is, to the last digit
        more = positive("cans_per_m", cans_per_m) / positive("cans_per_m", self.cans_per_m)
        return CansFlow(cans_per_m, self.speed_mm_per_s / more)
