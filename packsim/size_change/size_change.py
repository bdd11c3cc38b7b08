"""A size change as data: what moves where, what to know first, and the line after it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from packsim.answers import Answer
from packsim.errors import Assumption
from packsim.findings import Finding
from packsim.line import Bracket
from packsim.setting import LineSetting
from packsim.setting.heights import HoldDownMove, WirePart


@dataclass(frozen=True, slots=True)
class BracketMove:
    """The move of one bracket on one side.

    Parameters
    ----------
    stage : str
        Name of the stage.
    station_mm : float
        Place along it [mm].
    side : {"left", "right"}
        Looking downstream.
    now_mm, new_mm : float
        Guide face from the mat edge of its own side [mm].
    """

    stage: str
    station_mm: float
    side: str
    now_mm: float
    new_mm: float

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 or more [mm]."""
        return abs(self.new_mm - self.now_mm)

    @property
    def direction(self) -> str:
        """``in`` towards the middle of the mat, ``out`` towards its edge, or ``stay``."""
        if self.new_mm == self.now_mm:
            return "stay"
        return "in" if self.new_mm > self.now_mm else "out"


def bracket_moves(
    stage: str, now: Iterable[Bracket], new: Iterable[Bracket], mat_width_mm: float
) -> tuple[BracketMove, ...]:
    """Return the move of every bracket, left and right at each station.

    Parameters
    ----------
    stage : str
        Name of the stage.
    now, new : iterable of Bracket
        Brackets as they stand and as they shall, at the same stations.
    mat_width_mm : float
        Mat width, for the distance of right faces from their edge [mm].

    Returns
    -------
    tuple of BracketMove
        In order along the stage.
    """
    moves = []
    for old, to in zip(now, new, strict=True):
        right = mat_width_mm - old.right_mm, mat_width_mm - to.right_mm
        moves.append(BracketMove(stage, old.station_mm, "left", old.left_mm, to.left_mm))
        moves.append(BracketMove(stage, old.station_mm, "right", *right))
    return tuple(moves)


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another lane count for the line, and what it costs.

    Parameters
    ----------
    lanes : int
        The lanes.
    safe : bool
        Whether every stage is safe with them.
    tip_index : float
        Largest of any stage, loosest case [-].
    nozzle_offset_mm : float
        Distance of the worst lane from its nozzle [mm].
    cans_per_min, speed_mm_per_s : float
        Cans per minute [1/min] and mat speed [mm/s].
    move_mm : float
        Farthest any guide face moves [mm].
    """

    lanes: int
    safe: bool
    tip_index: float
    nozzle_offset_mm: float
    cans_per_min: float
    speed_mm_per_s: float
    move_mm: float

    @classmethod
    def of(cls, setting: LineSetting) -> Alternative:
        """Sum up a setting of the line."""
        return cls(
            setting.lanes,
            setting.safe,
            setting.index,
            setting.offset_mm,
            setting.cans_per_min[1],
            setting.speed_mm_per_s[1],
            setting.move_mm,
        )


@dataclass(frozen=True, slots=True)
class StageChange:
    """What changes in one stage.

    Parameters
    ----------
    stage : str
        Its name.
    moves : tuple of BracketMove
        Every bracket, left and right.
    brackets : tuple of Bracket
        Where they shall stand.
    source : {"window", "stays", "low end", "reach", "record"}
        Where that setting comes from; see `packsim.setting.line_setting.SOURCES`.
    gauge : bool
        Whether no whole step lies in the window, so that it takes a gauge.
    wires : WirePart
        Its wires.
    hold_down : HoldDownMove or None
        Its hold-down mat, where there is one.
    shift_mm : float
        Move of the middle of the pass at the narrowest bracket, positive to the right [mm].
    before, after : Answer
        Every answer for the size that leaves as the stage stands, and for the one that comes as it
        shall stand.
    kicks_from : str
        Trial its kick energy was fitted to; empty where no trial was.
    """

    stage: str
    moves: tuple[BracketMove, ...]
    brackets: tuple[Bracket, ...]
    source: str
    gauge: bool
    wires: WirePart
    hold_down: HoldDownMove | None
    shift_mm: float
    before: Answer
    after: Answer
    kicks_from: str = ""


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A whole size change.

    Parameters
    ----------
    scenario : str
        Name of the scenario.
    from_size, to_size : str
        Size that leaves and size that comes.
    keep : {"rate", "dwell"}
        What is kept: cans per minute, or the mat speed and with it every dwell.
    step_mm : float or None
        Step new settings are whole multiples of; None for each stage's own setting step [mm].
    mat_width_mm : float
        Mat width [mm].
    stages : tuple of StageChange
        In order along travel.
    lanes_because : str
        Why these lanes.
    alternatives : tuple of Alternative
        One lane fewer and one more.
    speed_mm_per_s, cans_per_min : tuple of float
        Mat speed [mm/s] and cans per minute [1/min], before and after.
    alerts : tuple of Finding
        What to know, most urgent first.
    assumed : tuple of Assumption
        What all of it rests on without a measurement.
    """

    scenario: str
    from_size: str
    to_size: str
    keep: str
    step_mm: float | None
    mat_width_mm: float
    stages: tuple[StageChange, ...]
    lanes_because: str
    alternatives: tuple[Alternative, ...]
    speed_mm_per_s: tuple[float, float]
    cans_per_min: tuple[float, float]
    alerts: tuple[Finding, ...]
    assumed: tuple[Assumption, ...]

    @property
    def moves(self) -> tuple[BracketMove, ...]:
        """Every bracket move of the line."""
        return tuple(move for stage in self.stages for move in stage.moves)
