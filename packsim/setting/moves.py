"""What a hand has to move: brackets, wires and hold-downs, from where to where."""

from collections.abc import Iterable
from dataclasses import dataclass

from packsim.line import Bracket


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
