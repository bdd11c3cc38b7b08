"""The chance of a tip on a line: repeats until it is known as well as asked for."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from packsim.chance.keep import Passage, is_kept, kept_repeat, passage_of, trim
from packsim.chance.rate import Rate, StageChance, rates_of
from packsim.chance.sample import Plan
from packsim.chance.spectrum import SURE, Spectrum
from packsim.counts.along_travel import room_along
from packsim.errors import between, one_of
from packsim.line import Scenario
from packsim.passage import PLACES

if TYPE_CHECKING:
    from scipy.sparse import csr_array

SIDES: Mapping[str, float] = {"left": 0.0, "centre": 0.5, "right": 1.0}
"""Where the pack enters, as a share of the slack that is to its left [-]."""

ACCURACY = 0.2
"""Relative standard error that is asked for when nobody says which."""

LEAST_REPEATS, MOST_REPEATS = 4, 32
"""Repeats made in any case, and at most."""

MATTERS = 1.0
"""Stages and lines are to be known as well as asked for from this many tips per million on."""

Progress = Callable[[float, int], None]


@dataclass(frozen=True, slots=True, eq=False)
class LineChance:
    """The chance of a tip on a whole line.

    Parameters
    ----------
    size : str
        Can size.
    stages : tuple of StageChance
        Stage by stage.
    line : Rate
        All stages together.
    spectrum : Spectrum
        What it was worked out from.
    kicks_mJ : mapping of str to float
        Mean kick energy by stage [mJ].
    side : float
        Share of the slack that lay to the left of the pack as it entered [-].
    accuracy : float
        Relative standard error asked for [-].
    cans : int
        Cans sampled, all repeats together.
    sides : mapping of str to Rate
        The line for a pack that enters left, in the centre and right; empty unless asked for.
    reason : str
        Why no can fits, or empty.
    lower_bound : bool
        Whether the slices hold cans that the whole line lets tip, so that more tip than this.
    """

    size: str
    stages: tuple[StageChance, ...]
    line: Rate
    spectrum: Spectrum
    kicks_mJ: Mapping[str, float]
    side: float
    accuracy: float
    cans: int
    sides: Mapping[str, Rate] = field(default_factory=dict)
    reason: str = ""
    lower_bound: bool = False

    @property
    def tips_per_million(self) -> float:
        """Tips per million cans fed, the whole line."""
        return self.line.tips_per_million

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """Its 95 % interval."""
        return self.line.interval

    @property
    def cans_counting_would_need(self) -> float:
        """Cans to count for the same standard error."""
        return self.line.cans_counting_would_need

    @property
    def reached(self) -> bool:
        """Whether the line and every stage that matters are known as well as asked for."""
        rates = (self.line, *self.stages)
        return all(r.error <= self.accuracy for r in rates if r.tips_per_million > MATTERS)

    def at(self, kicks_mJ: Mapping[str, float]) -> LineChance:
        """Return the same passages at other kick energies.

        Parameters
        ----------
        kicks_mJ : mapping of str to float
            Mean kick energies of some stages; the others keep theirs [mJ].

        Returns
        -------
        LineChance
            Without ``sides``.
        """
        kicks = {**self.kicks_mJ, **kicks_mJ}
        if self.reason:  # nothing fits, so nothing was run and no kick makes a chance
            return replace(self, kicks_mJ=kicks)
        line, stages = rates_of(self.spectrum, kicks)
        return replace(self, kicks_mJ=kicks, line=line, stages=stages, sides={})


def chance_of(
    scenario: Scenario,
    size: str,
    side: float | str | None = None,
    accuracy: float = ACCURACY,
    progress: Progress | None = None,
    *,
    sides: bool = False,
    plan: Plan | None = None,
) -> LineChance:
    """Return the chance of a tip, by stage and place, from the moving pack.

    Parameters
    ----------
    scenario : Scenario
        The line, at its kicks.
    size : str
        Which of its sizes.
    side : float or str, optional
        Where the pack enters: a key of `SIDES` or a share of the slack; the scenario's by default.
    accuracy : float
        Relative standard error to reach for the line and for every stage above one per million;
        repeats end there, or after `MOST_REPEATS`.
    progress : callable, optional
        Called with the repeats done and the most there may be.
    sides : bool
        Work out all three sides of entry too.
    plan : Plan, optional
        How finely to look.

    Returns
    -------
    LineChance
        The same for the same scenario, whatever was kept on disk.

    Notes
    -----
    In a passage in which nothing tips, every can has at every moment and in every direction φ an
    energy E a kick must bring to tip it (`packsim.passage.tip.needed_mJ`). Kicks come at rate ν,
    with exponential energies of mean E_k, so the expected tips are
    Σ cans ∫dt ν · mean_φ exp(−E/E_k).
    """
    between("accuracy", accuracy, 0.01, 10.0)
    share = scenario.mat.pack_enters if side is None else _share(side)
    scenario = replace(scenario, mat=replace(scenario.mat, pack_enters=share))
    made = _of_line(scenario, size, accuracy, plan or Plan(), progress)
    if sides:
        others = {
            name: made.line
            if at == share
            else chance_of(scenario, size, at, accuracy, progress, plan=plan).line
            for name, at in SIDES.items()
        }
        made = replace(made, sides=others)
    trim()
    return made


def kept_chance(scenario: Scenario, size: str) -> LineChance | None:
    """Return `chance_of` where every passage it takes is on the disk; None where one is not."""
    try:
        return _of_line(scenario, size, ACCURACY, Plan(), only_kept=True)
    except _NotKept:
        return None


class _NotKept(Exception):
    """A repeat that is asked for is not on the disk."""


def _of_line(
    scenario: Scenario,
    size: str,
    accuracy: float,
    plan: Plan,
    progress: Progress | None = None,
    *,
    only_kept: bool = False,
) -> LineChance:
    """Return the chance on a line as it stands; parameters as for `_settled`."""
    name = scenario.size(size).name
    passage = passage_of(scenario, name)
    kicks = {s.name: s.kicks.energy_mJ for s in scenario.stages}
    found = _settled(passage, scenario.seed, kicks, accuracy, plan, progress, only_kept=only_kept)
    holds = room_along(scenario, name).slices_hold
    return replace(found, size=name, side=scenario.mat.pack_enters, lower_bound=holds)


def _share(side: float | str) -> float:
    return SIDES[one_of("side", side, tuple(SIDES))] if isinstance(side, str) else side


def _settled(
    passage: Passage,
    seed: int,
    kicks: Mapping[str, float],
    accuracy: float,
    plan: Plan,
    progress: Progress | None,
    *,
    only_kept: bool = False,
) -> LineChance:
    """Add repeats until the answer is known as well as asked for.

    Raises `_NotKept` where one is not on the disk and ``only_kept`` is asked for.
    """
    if not passage.lanes.size:
        return _impossible(passage, kicks, accuracy)
    share = np.bincount(passage.lanes) / passage.lanes.size
    each: list[tuple[csr_array, ...]] = []
    while True:
        if only_kept and not is_kept(passage, seed, len(each), plan):
            raise _NotKept
        each.append(kept_repeat(passage, seed, len(each), plan))
        if progress is not None:
            progress(len(each), MOST_REPEATS)
        if len(each) < LEAST_REPEATS:
            continue
        spectrum = Spectrum.of(passage.stages, share, each)
        line, stages = rates_of(spectrum, kicks)
        stretches = plan.stretches(passage.lanes.size, passage.infeed_mm)
        cans = len(each) * stretches * passage.lanes.size
        found = LineChance(
            size="",
            stages=stages,
            line=line,
            spectrum=spectrum,
            kicks_mJ=kicks,
            side=0.5,
            accuracy=accuracy,
            cans=cans,
        )
        if found.reached or len(each) == MOST_REPEATS:
            return found


def _impossible(passage: Passage, kicks: Mapping[str, float], accuracy: float) -> LineChance:
    from scipy.sparse import csr_array  # heavy to import: few commands run passages

    none = csr_array((len(PLACES), SURE + 1))
    spectrum = Spectrum(passage.stages, np.ones(1), (none,) * len(passage.stages))
    nothing = (math.nan, (math.nan, math.nan), math.nan)
    places = np.full(3, math.nan), np.full((3, 2), math.nan)
    stages = tuple(StageChance(*nothing, name, *places) for name in passage.stages)
    return LineChance(
        size="",
        stages=stages,
        line=Rate(*nothing),
        spectrum=spectrum,
        kicks_mJ=kicks,
        side=0.5,
        accuracy=accuracy,
        cans=0,
        reason=passage.reason,
    )
