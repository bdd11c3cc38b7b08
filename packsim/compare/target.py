"""A target for the tips of a line: what was tried to keep to it, and what does."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.chance import LineChance
from packsim.compare.differing import Differing
from packsim.compare.machine_changes import EFFORTS
from packsim.line import Scenario


@dataclass(frozen=True, slots=True)
class Way:
    """One thing to do, and the tips that are left then.

    Parameters
    ----------
    what : str
        What is done.
    effort : {"none", "turn", "move", "buy"}
        See `packsim.compare.machine_changes.EFFORTS`.
    stages : tuple of str
        Stages in which it is done.
    line : Scenario
        The line then.
    chance : LineChance
        Its chance of a tip.
    share : float
        Share of what is possible in which the target is kept [-].
    share_interval : tuple of float
        Its 95 % interval: what so many draws can tell [-].
    tips_when_sure : float
        Tips per million that are not passed in the share that was asked for.
    reaches : bool
        Whether the target is kept in the share that was asked for.
    machine : tuple of Differing
        What differs then from the line as set.
    """

    what: str
    effort: str
    stages: tuple[str, ...]
    line: Scenario
    chance: LineChance
    share: float
    share_interval: tuple[float, float]
    tips_when_sure: float
    reaches: bool
    machine: tuple[Differing, ...]

    @property
    def tips_per_million(self) -> float:
        """Tips per million of the whole line, every input as it is taken."""
        return self.chance.tips_per_million

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """Its 95 % interval: the error of the passages alone."""
        return self.chance.tips_per_million_interval

    @property
    def widths_mm(self) -> float:
        """Clear widths of all stages added up [mm]."""
        return sum(stage.guides.narrowest_mm for stage in self.line.stages)


@dataclass(frozen=True, slots=True)
class Target:
    """What was asked for, what was tried, and what reaches it.

    Parameters
    ----------
    size : str
        The can size.
    at_most : float
        Tips per million of the whole line that are not to be passed.
    sure : float
        Share of what is possible in which that has to be so [-].
    seed, draws : int
        Seed of what was drawn, and how much.
    tried : tuple of Way
        Everything that was tried, the line as set first.
    """

    size: str
    at_most: float
    sure: float
    seed: int
    draws: int
    tried: tuple[Way, ...]

    @property
    def ways(self) -> tuple[Way, ...]:
        """Those that reach it, cheapest first; of equal effort the fewest stages, least closed."""
        found = [way for way in self.tried if way.reaches]
        found.sort(key=lambda way: (EFFORTS.index(way.effort), len(way.stages), -way.widths_mm))
        return tuple(found)

    @property
    def best(self) -> Way:
        """The cheapest that reaches it; where none does, the one that comes nearest."""
        return (*self.ways, min(self.tried, key=lambda way: way.tips_when_sure))[0]
