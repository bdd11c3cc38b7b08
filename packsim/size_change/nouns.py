"""A size change as data: what moves where in every stage, and what to know before it is done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from packsim.assumption import Assumption
from packsim.check import one_of
from packsim.line import Bracket
from packsim.setting.throughput import KEEP
from packsim.setup import Setup

__all__ = [
    "LEVELS",
    "SOURCES",
    "Alert",
    "BracketMove",
    "HoldDownMove",
    "SizeChange",
    "StageChange",
    "WireMove",
    "WirePart",
    "bracket_moves",
]

LEVELS: Final = ("stop", "change", "watch", "note")
"""``stop``: cans cannot run so. ``change``: see to it first. ``watch``: keep an eye on it."""

SOURCES: Final = ("window", "stays", "low end", "reach", "record")
"""Where a new bracket setting comes from: the middle of the guide window; the present setting lies
inside it; an empty window's low end; the end of the brackets' travel or the mat's edge; the
setting on record."""

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing to know before the change is made.

    Parameters
    ----------
    level : {"stop", "change", "watch", "note"}
        How urgent it is.
    stages : tuple of str
        Names of the stages it holds for; none when it holds for the whole line.
    what_text, do_text : str
        What is the case, and what to do; ``{name}`` stands for a length.
    lengths_mm : tuple of (str, (float, float))
        Those lengths with their range over the stages [mm].
    """

    level: str
    stages: tuple[str, ...]
    what_text: str
    do_text: str = ""
    lengths_mm: tuple[tuple[str, Span], ...] = ()

    def __post_init__(self) -> None:
        one_of("level", self.level, LEVELS)

    def say(self, text: str, length: Callable[[float], str] | None = None) -> str:
        """Fill this alert's lengths into one of its texts, in mm unless told otherwise."""
        show = length or (lambda mm: f"{mm:.1f} mm")
        for name, (low, high) in self.lengths_mm:
            shown = show(low), show(high)
            words = shown[0] if shown[0] == shown[1] else f"{shown[0]} to {shown[1]}"
            text = text.replace("{" + name + "}", words)
        return text


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
class WireMove:
    """One wire of each side.

    Parameters
    ----------
    now_mm : float or None
        Its height above the mat; None for a wire to be added [mm].
    new_mm : float
        Its new height [mm].
    idle : bool
        Whether it serves neither size at its new height.
    """

    now_mm: float | None
    new_mm: float
    idle: bool = False

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 for one that is added [mm]."""
        return 0.0 if self.now_mm is None else abs(self.new_mm - self.now_mm)

    @property
    def direction(self) -> str:
        """``up``, ``down``, ``stay`` or ``add``."""
        if self.now_mm is None:
            return "add"
        if self.new_mm == self.now_mm:
            return "stay"
        return "up" if self.new_mm > self.now_mm else "down"


@dataclass(frozen=True, slots=True)
class WirePart:
    """The wires of one stage.

    Parameters
    ----------
    moves : tuple of WireMove
        Every wire of one side, lowest new height first; the other side is the same.
    why : str
        Why so many and no fewer, or where the heights come from.
    unserved : tuple of str
        Duties that no wire does at the new heights, in words.
    keeps_old : bool
        Whether the new heights serve the size that leaves, so that they need not be put back.
    """

    moves: tuple[WireMove, ...]
    why: str
    unserved: tuple[str, ...]
    keeps_old: bool

    @property
    def heights_mm(self) -> tuple[float, ...]:
        """New heights, lowest first [mm]."""
        return tuple(move.new_mm for move in self.moves)


@dataclass(frozen=True, slots=True)
class HoldDownMove:
    """The hold-down mat of one stage.

    Parameters
    ----------
    now_mm, new_mm : float
        Height of its underside above the mat [mm].
    clearance_mm : float
        New clearance over the tops of the new size [mm].
    why : str
        How the new height was chosen.
    """

    now_mm: float
    new_mm: float
    clearance_mm: float
    why: str

    @property
    def direction(self) -> str:
        """``up``, ``down`` or ``stay``."""
        if self.new_mm == self.now_mm:
            return "stay"
        return "up" if self.new_mm > self.now_mm else "down"


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
        Where that setting comes from; see `SOURCES`.
    wires : WirePart
        Its wires.
    hold_down : HoldDownMove or None
        Its hold-down mat, where there is one.
    shift_mm : float
        Move of the middle of the pass at the narrowest bracket, positive to the right [mm].
    before, after : Setup
        Every answer for the size that leaves as the stage stands, and for the one that comes as it
        shall stand.
    settled : bool
        Whether width and shift came to rest on one setting.
    """

    stage: str
    moves: tuple[BracketMove, ...]
    brackets: tuple[Bracket, ...]
    source: str
    wires: WirePart
    hold_down: HoldDownMove | None
    shift_mm: float
    before: Setup
    after: Setup
    settled: bool = True

    def __post_init__(self) -> None:
        one_of("source", self.source, SOURCES)


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
    speed_mm_per_s, cans_per_min : tuple of float
        Mat speed [mm/s] and cans per minute [1/min], before and after.
    alerts : tuple of Alert
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
    speed_mm_per_s: tuple[float, float]
    cans_per_min: tuple[float, float]
    alerts: tuple[Alert, ...]
    assumed: tuple[Assumption, ...]

    def __post_init__(self) -> None:
        one_of("keep", self.keep, KEEP)

    @property
    def moves(self) -> tuple[BracketMove, ...]:
        """Every bracket move of the line."""
        return tuple(move for stage in self.stages for move in stage.moves)


def alert(
    level: str,
    stage: str,
    what: str,
    do: str = "",
    lengths_mm: Mapping[str, float] | None = None,
) -> Alert:
    """Return an alert of one stage, or of the whole line for an empty name."""
    spans = tuple((name, (mm, mm)) for name, mm in (lengths_mm or {}).items())
    return Alert(level, (stage,) if stage else (), what, do, spans)
