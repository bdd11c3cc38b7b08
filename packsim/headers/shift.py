"""Where the pack must ride so that its cans meet the nozzles that are there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from packsim.errors import Assumption
from packsim.headers.arrangement import Arrangement, arrange, arrange_all, rests_on, wander_mm
from packsim.line import Scenario
from packsim.nozzles.lane_lines import Misalignment, misalignment
from packsim.nozzles.shift import BestShift, Facing, joint_now, joint_shift, with_error
from packsim.pack.lattice import lane_pitch_mm
from packsim.spray.dose import lane_doses_mL
from packsim.spray.spray_load import SPRAY_ASSUMED, least_hold_margin
from packsim.spray.uniformity import uniformity


@dataclass(frozen=True, slots=True)
class SideShift:
    """The best shift for the nozzles of one side alone.

    Parameters
    ----------
    side : {"above", "below"}
        The side.
    now : Misalignment
        As the guides are set.
    best : BestShift
        Best shift for this side within the room.
    """

    side: str
    now: Misalignment
    best: BestShift


@dataclass(frozen=True, slots=True)
class LaneCase:
    """The best shift if the pack held another number of lanes.

    Parameters
    ----------
    lanes : int
        Lanes.
    clear_width_mm : float
        Guides set for them, with the slack there is now [mm].
    best : BestShift or None
        Best joint shift; None where the guides would leave the mat or nothing fits.
    """

    lanes: int
    clear_width_mm: float
    best: BestShift | None


@dataclass(frozen=True, slots=True)
class StageShift:
    """The best shift of one size in one stage.

    Parameters
    ----------
    at : Arrangement
        The pack and where it stands.
    error_mm : float
        How far off its place the pack may ride: half of its slack and half a setting step, either
        way, unless another error was asked for [mm].
    assumed : tuple of Assumption
        Everything here rests on these.
    sides : tuple of SideShift
        Each side alone; none where the pack does not fit, and nothing of what follows.
    joint_now_mm : tuple of float
        Worst and root mean square misalignment over all sides, as set [mm].
    joint : BestShift or None
        One shift for all sides together.
    nozzle_offset_with_error_mm : float
        Worst misalignment at the joint shift for any error within that [mm].
    cost_per_mm : tuple of float
        How the worst misalignment changes with a little more shift to the left and to the right
        [mm per mm].
    hold_margin, hold_margin_shifted : float
        Hold margin of the worst lane under all sprays, as set and after the joint shift [-]; nan
        where the cans pass no header.
    least_share, least_share_shifted : float
        Dose of the lane that gets least over the mean, inside or on top whichever is less, as set
        and after the joint shift [-]; nan likewise.
    other_lane_counts : tuple of LaneCase
        One lane fewer and one more.
    """

    at: Arrangement
    error_mm: float
    assumed: tuple[Assumption, ...]
    sides: tuple[SideShift, ...] = ()
    joint_now_mm: tuple[float, float] = (math.nan, math.nan)
    joint: BestShift | None = None
    nozzle_offset_with_error_mm: float = math.nan
    cost_per_mm: tuple[float, float] = (math.nan, math.nan)
    hold_margin: float = math.nan
    hold_margin_shifted: float = math.nan
    least_share: float = math.nan
    least_share_shifted: float = math.nan
    other_lane_counts: tuple[LaneCase, ...] = ()


@dataclass(frozen=True, slots=True)
class LineShift:
    """One shift of a size for all its stages together.

    Parameters
    ----------
    size : str
        Name of the size.
    stages : tuple of StageShift
        Each stage by itself.
    room_mm : tuple of float
        Room every stage has [mm].
    now_mm : tuple of float
        Worst and root mean square misalignment over all stages and sides, as set [mm].
    joint : BestShift or None
        The one shift, moved in every stage alike; None where a pack does not fit.
    """

    size: str
    stages: tuple[StageShift, ...]
    room_mm: tuple[float, float]
    now_mm: tuple[float, float]
    joint: BestShift | None

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything its stages rest on without a measurement, each once."""
        return tuple(dict.fromkeys(a for stage in self.stages for a in stage.assumed))


def find_shifts(
    scenario: Scenario,
    stages: Sequence[str] = (),
    sizes: Sequence[str] = (),
    error_mm: float | None = None,
) -> tuple[LineShift, ...]:
    """Find the best shift of every chosen size, stage by stage and for the line.

    Parameters
    ----------
    scenario : Scenario
        The case; shifts are from where its guides stand.
    stages, sizes : sequence of str
        Names; all when empty. Stages without a header are left out.
    error_mm : float, optional
        How far off its place the pack may ride [mm]; half its slack and half a setting step when
        omitted.

    Returns
    -------
    tuple of LineShift
        By size.

    Raises
    ------
    InputError
        If a name is unknown, no chosen stage has a header, or the error is below 0.
    """
    found: dict[str, list[StageShift]] = {}
    for at in arrange_all(scenario, stages, sizes):
        found.setdefault(at.can.name, []).append(_stage(scenario, at, error_mm))
    return tuple(_line(size, tuple(each)) for size, each in found.items())


def facings(at: Arrangement) -> tuple[Facing, ...]:
    """Can lines against the nozzles of each side; none where the pack does not fit."""
    if not at.pack.fits:
        return ()
    return tuple(Facing(at.lines_mm, at.nozzles_mm(side), at.shares) for side in at.sides)


def _stage(scenario: Scenario, at: Arrangement, error_mm: float | None) -> StageShift:
    error = wander_mm(at) if error_mm is None else error_mm
    assumed = (*rests_on(scenario, at, load=True), *SPRAY_ASSUMED)
    rows = facings(at)
    if not rows:
        return StageShift(at, error, assumed)
    joint = joint_shift(rows, at.room_mm)
    worst, cost = with_error(rows, joint.shift_for_worst_mm, error)
    return StageShift(
        at=at,
        sides=tuple(_side(at, side, row) for side, row in zip(at.sides, rows, strict=True)),
        joint_now_mm=joint_now(rows),
        joint=joint,
        error_mm=error,
        nozzle_offset_with_error_mm=worst,
        cost_per_mm=cost,
        hold_margin=_hold(scenario, at, 0.0),
        hold_margin_shifted=_hold(scenario, at, joint.shift_for_worst_mm),
        least_share=_least_share(scenario, at, 0.0),
        least_share_shifted=_least_share(scenario, at, joint.shift_for_worst_mm),
        other_lane_counts=_other_lanes(scenario, at),
        assumed=assumed,
    )


def _side(at: Arrangement, side: str, row: Facing) -> SideShift:
    now = misalignment(row.lines_mm, row.nozzles_mm, weights=row.weights)
    return SideShift(side, now, joint_shift([row], at.room_mm))


def _hold(scenario: Scenario, at: Arrangement, shift_mm: float) -> float:
    if not at.clear:
        return math.nan
    lines = at.lines_mm + shift_mm
    return least_hold_margin(lines, at.stance, at.clear, scenario.mat.open_fraction)


def _least_share(scenario: Scenario, at: Arrangement, shift_mm: float) -> float:
    lines = at.lines_mm + shift_mm
    doses = lane_doses_mL(lines, at.stance, at.clear, scenario.mat).values()
    shares = [uniformity(lanes, at.shares).least_share for lanes in doses]
    return min(shares, default=math.nan)


def _other_lanes(scenario: Scenario, at: Arrangement) -> tuple[LaneCase, ...]:
    """Give the same for a lane fewer and a lane more, the guides moved by one lane's width."""
    pitch = lane_pitch_mm(at.can.diameter_mm, at.stage.layout)
    found = []
    for change in (-1, 1):
        width = at.pack.clear_width_mm + change * pitch
        if width < at.can.diameter_mm:
            continue
        other = arrange(scenario, at.index, at.can.name, width)
        on_mat = other.left_mm >= 0.0 and other.left_mm + width <= scenario.mat.width_mm
        rows = facings(other) if on_mat else ()
        best = joint_shift(rows, other.room_mm) if rows else None
        lanes = other.pack.lanes if other.pack.fits else at.pack.lanes + change
        found.append(LaneCase(lanes, width, best))
    return tuple(found)


def _line(size: str, stages: tuple[StageShift, ...]) -> LineShift:
    room = min(s.at.room_mm[0] for s in stages), min(s.at.room_mm[1] for s in stages)
    rows = [row for s in stages for row in facings(s.at)]
    if any(s.joint is None for s in stages):
        return LineShift(size, stages, room, (math.nan, math.nan), None)
    return LineShift(size, stages, room, joint_now(rows), joint_shift(rows, room))
