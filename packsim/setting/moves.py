"""What moves when a line is set: brackets, wires, and the hold-down over the new cans."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Final

from packsim.can import Can, Stance
from packsim.line import Stage
from packsim.line.guides import Reach
from packsim.tipping.stops import clearance_limit_mm

HALF: Final = "half of the greatest clearance that keeps cans from tipping"
"""Why a hold-down is set so whose present clearance does not suit the new size."""


class _Move:
    """What is set from one distance to another; ``_words`` for a longer one and a shorter one."""

    __slots__ = ()
    _words: ClassVar = ("up", "down")

    now_mm: float | None
    new_mm: float

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 or more, 0 for one that is added [mm]."""
        return 0.0 if self.now_mm is None else abs(self.new_mm - self.now_mm)

    @property
    def direction(self) -> str:
        """``in`` to the middle of the mat, or ``out``; ``up``, or ``down``; ``stay``; ``add``."""
        if self.now_mm is None:
            return "add"
        return "stay" if self.new_mm == self.now_mm else self._words[self.new_mm < self.now_mm]


@dataclass(frozen=True, slots=True)
class BracketMove(_Move):
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

    _words = ("in", "out")


@dataclass(frozen=True, slots=True)
class WireMove(_Move):
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


_MARK: Final = 1e-3
"""A step this near to whole marks of a rule, in marks, is one: files round them."""


@dataclass(frozen=True, slots=True)
class HoldDownMove(_Move):
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


def step_of(stage: Stage, rule_mm: float | None) -> float:
    """Step that settings of a stage are whole multiples of [mm].

    That of the rule, where there is one; but no rule sets a bracket finer than its holes are apart,
    if these stand on marks of the rule.
    """
    own = stage.guides.setting_step_mm
    if rule_mm is None:
        return own
    marks = own / rule_mm
    return own if marks > 1.5 and abs(marks - round(marks)) < _MARK else rule_mm


GAUGE_MM: Final = 0.1
"""What is set with a gauge is a whole number of these, and a sheet can say it (our choice) [mm]."""


def gauge_steps(own_mm: float, rule_mm: float | None) -> tuple[float, ...]:
    """Return the steps finer than a bracket's own that a gauge sets, coarsest first [mm].

    The marks of the rule and half of them where there is one, so that the rule shows what was set;
    tenths of a millimetre last.
    """
    marks = () if rule_mm is None else (rule_mm, rule_mm / 2.0)
    return tuple(step for step in (*marks, GAUGE_MM) if step < own_mm * (1.0 - _MARK))


def on_mark(aim_mm: float, step_mm: float, good: Callable[[float], bool]) -> float:
    """Nearest whole step that is good; the height aimed at where none beside it is [mm]."""
    if aim_mm + step_mm <= aim_mm:  # no step, or finer than a height can tell
        return aim_mm
    marks = [whole(aim_mm / step_mm) * step_mm for whole in (math.floor, math.ceil)]
    return min(filter(good, marks), key=lambda z: abs(z - aim_mm), default=aim_mm)


def hold_down_for(
    stage: Stage, old: Can, new: Can, stance: Stance, balance_rad: float, step_mm: float
) -> HoldDownMove | None:
    """Choose the height of a stage's hold-down mat for the new size.

    Parameters
    ----------
    stage : Stage
        The stage as it stands.
    old, new : Can
        Size that leaves and size that comes.
    stance : Stance
        The new size as it stands in the stage.
    balance_rad : float
        Its least balance angle in any direction [rad].
    step_mm : float
        Step of the setting [mm].

    Returns
    -------
    HoldDownMove or None
        The height on record, or the present clearance over the new tops where cans cannot tip
        under it, or half of the greatest clearance that keeps them from it. None without a
        hold-down.
    """
    now = stage.hold_down_mm
    if now is None:
        return None
    top, known = new.height_mm, stage.setting_for(new.name)
    if known is not None and known.hold_down_mm is not None and new.name != old.name:
        height = known.hold_down_mm
        return HoldDownMove(now, height, height - top, "height on record for this size")
    limit = clearance_limit_mm(stance, balance_rad)
    if limit <= 0.0:  # the sprays alone carry the can over: no clearance would hold it
        limit = clearance_limit_mm(stance)
    clearance = now - old.height_mm
    why = "same clearance over the can tops"
    if not 0.0 < clearance < limit:
        clearance, why = limit / 2.0, HALF
    elif new.height_mm == old.height_mm:
        return HoldDownMove(now, now, clearance, why)
    height = on_mark(top + clearance, step_mm, lambda z: top < z < top + limit)
    return HoldDownMove(now, height, height - top, why)


def on_marks(
    aim_mm: tuple[float, float], window_mm: tuple[float, float], reach: Reach, step_mm: float
) -> tuple[float, float] | None:
    """Set both faces on whole steps from their own mat edge, inside a window.

    Parameters
    ----------
    aim_mm : tuple of float
        Clear width and middle of the pass aimed at [mm].
    window_mm : tuple of float
        Clear widths to stay within [mm].
    reach : Reach
        What the brackets can do.
    step_mm : float
        Step of the rule; 0 leaves the setting as it is [mm].

    Returns
    -------
    left_mm, right_mm : float
        Distance of each face from its own mat edge [mm]; None where no whole steps are inside.

    Notes
    -----
    A pass about the middle of the mat keeps both sides alike, as long as that stays in the middle
    half of the window; else the width nearest to the one aimed at counts.

    Examples
    --------
    >>> on_marks((700.3, 500.0), (699.0, 702.0), Reach(1000.0, 0.0, 400.0), 0.5)
    (150.0, 150.0)
    >>> on_marks((700.3, 500.0), (700.2, 700.6), Reach(1000.0, 0.0, 400.0), 0.5)
    (149.5, 150.0)
    """
    aim, centre = aim_mm
    aside = 2.0 * centre - reach.mat_width_mm
    if aim + step_mm <= aim:  # no step, or finer than a width can tell
        return (reach.mat_width_mm - aim + aside) / 2.0, (reach.mat_width_mm - aim - aside) / 2.0
    near = math.ceil(reach.near_mm / step_mm - 1e-9)
    far = math.floor(min(reach.far_mm, reach.mat_width_mm) / step_mm + 1e-9)
    quarter = (window_mm[1] - window_mm[0]) / 4.0

    def cost(marks: tuple[int, int]) -> tuple[float, float, float]:
        off = abs(width(marks) - aim)
        turned = abs((marks[0] - marks[1]) * step_mm - aside)
        return round(max(0.0, off - quarter), 9), round(turned, 9), round(off, 9)

    def width(marks: tuple[int, int]) -> float:
        return reach.mat_width_mm - (marks[0] + marks[1]) * step_mm

    # the sum of both: as wide as aimed at, or as near as the middle half of the window lets it come
    # to where the middle aimed at is in reach; in the window and within reach
    least, wanted, most = (
        (reach.mat_width_mm - w) / step_mm for w in (window_mm[1], aim, window_mm[0])
    )
    turn = min(abs(aside) / step_mm, far - near)
    total = _held(wanted, 2 * near + turn, 2 * far - turn)
    total = _held(total, wanted - quarter / step_mm, wanted + quarter / step_mm)
    both = math.floor(_held(total, max(2 * near, least), min(2 * far, most)) + 1e-9)
    lefts = {n: _left_mark(n, aside / step_mm, near, far) for n in range(both - 1, both + 3)}
    pairs = [(left, total - left) for total, left in lefts.items()]
    low, high = window_mm[0] - 1e-9, window_mm[1] + 1e-9
    good = [m for m in pairs if near <= min(m) and max(m) <= far and low <= width(m) <= high]
    if not good:
        return None
    left, right = min(good, key=cost)
    return left * step_mm, right * step_mm


def _held(value: float, least: float, most: float) -> float:
    return min(max(value, least), most)


def _left_mark(total: int, aside: float, near: int, far: int) -> int:
    """Mark of the left face so that two marks of a sum lie nearest to the middle aimed at."""
    left = math.floor((total + aside) / 2.0 + 0.5 - 1e-9)
    return min(max(left, near, total - far), far, total - near)
