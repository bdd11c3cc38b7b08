"""The can at its worst in a stage: each question takes the dome water that is worse for it.

Nobody knows how full a dome is: sprays fill it, a blow-off empties it, a can that rocks spills. A
full dome is heavier and stands harder against a spray, but its weight acts higher and it balances
at a smaller angle. Which is worse hangs on the question.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from packsim.answers.stage_pack import alike_mm, clear_headers
from packsim.arrays import Bools, Floats
from packsim.can import Can, Stance
from packsim.line import Header, Stage
from packsim.spray.spray_load import SprayLoad, spray_loads
from packsim.spray.worst_moments import DIRECTIONS_RAD, WorstMoments, worst_moments
from packsim.width.wire_heights import Margins, WireBand, wire_bands

QUARTERS: Final = 4
"""Parts a range of dome water is cut into for the chance of a tip. A share between may tip more:
by less than a tenth over every stage of the shipped lines (measured in tests)."""

_LEAST_ACROSS: Final = {"lengthwise": math.sqrt(0.75), "crosswise": 0.5}
"""Least share across of a direction that leads to a guide: from straight across to where the cans
of the pack touch, which is the way a can pushes its chain along."""


@dataclass(frozen=True, slots=True)
class DomeWater:
    """How full the domes of one answer are, and at which share each question was answered.

    Parameters
    ----------
    low, high : float
        What is known of a stage: shares of the dome's volume [-].
    sprayed : float
        Share with the least balance angle towards a guide under the sprays: it decides safe slack,
        tip index, verdict and window [-].
    at_rest : float
        Share with the least balance angle without sprays [-].
    """

    low: float
    high: float
    sprayed: float
    at_rest: float

    @property
    def said(self) -> str:
        """The share that decides safe slack, tip index and window, in words."""
        return fill_words(self.sprayed, self.low, self.high)

    @property
    def said_at_rest(self) -> str:
        """The share that decides the angle at rest, in words."""
        return fill_words(self.at_rest, self.low, self.high)


@dataclass(frozen=True, slots=True, eq=False)
class WorstCan:
    """One size in one stage, its dome as full as is worse for each question.

    Parameters
    ----------
    water : DomeWater
        Those shares.
    sprayed, at_rest : Stance
        The can at two of them.
    balance_rad : float
        Least balance angle towards a guide of any lane at any moment under the sprays; 0 where
        they lift or overturn a can [rad].
    weakest_rad, weakest_direction_rad : float
        The same in the weakest of all directions, and that direction [rad].
    splashed_rad : tuple of float
        Both angles, towards a guide and in the weakest direction, where all the splash is thrown
        straight back and the sprays push twice as hard as their momentum [rad].
    least_mJ : float
        Least energy that tips a can by itself anywhere, in any direction [mJ].
    may_lift : bool
        Whether the sprays may lift a can with the least water; where not, they do so nowhere.
    loads : tuple of (Stance, float)
        Stance and balance angle of every share that may tip most cans; see `row_chance` [rad].
    """

    water: DomeWater
    sprayed: Stance
    at_rest: Stance
    balance_rad: float
    weakest_rad: float
    weakest_direction_rad: float
    splashed_rad: tuple[float, float]
    least_mJ: float
    may_lift: bool
    loads: tuple[tuple[Stance, float], ...]


def worst_can(stage: Stage, can: Can, open_fraction: float, lines_mm: Iterable[float]) -> WorstCan:
    """Find the dome water that is worse for each question about a size in a stage.

    Parameters
    ----------
    stage : Stage
        Its headers and its dome water.
    can : Can
        The size.
    open_fraction : float
        Share of the spray from below that the mat lets through [-].
    lines_mm : iterable of m floats
        Lines of can centres from the mat's left edge; none where no can fits [mm].

    Returns
    -------
    WorstCan
        At its worst.

    Notes
    -----
    The forces of the sprays are the same for every share, and water weighs in proportion to it, so
    what rights a can at a lean is linear in the share: the worse end is the worst of all.
    """
    headers = clear_headers(stage, can.height_mm)
    lines = alike_mm(lines_mm)
    water = stage.water_in_dome
    return _worst(headers, can, open_fraction, lines, water, stage.layout)


def stage_sprays(
    stage: Stage, can: Can, open_fraction: float, lines_mm: Iterable[float], shares: Sequence[float]
) -> tuple[SprayLoad | None, ...]:
    """Return the load of a stage's sprays on a can with some shares of dome water; see `worst_can`.

    None for each where no can fits or nothing sprays.
    """
    headers = clear_headers(stage, can.height_mm)
    return _loads(headers, can, open_fraction, alike_mm(lines_mm), tuple(shares))


@lru_cache(maxsize=256)
def _loads(
    headers: tuple[Header, ...],
    can: Can,
    open_fraction: float,
    lines: tuple[float, ...],
    shares: tuple[float, ...],
) -> tuple[SprayLoad | None, ...]:
    if not headers or not lines:
        return (None,) * len(shares)
    return spray_loads(lines, [can.stance(share) for share in shares], headers, open_fraction)


def towards_guides(layout: str) -> Bools:
    """Return which of `DIRECTIONS_RAD` lead to a guide in a pack of a layout."""
    return np.asarray(np.abs(np.sin(DIRECTIONS_RAD)) >= _LEAST_ACROSS[layout] - 1e-9)


def balances_rad(
    moments: WorstMoments | None, stance: Stance, harder: float | Floats = 1.0
) -> Floats:
    """Least balance angle by direction, shape (..., d), of sprays that push harder, shape (...)."""
    if moments is None:
        return np.full((*np.shape(harder), len(DIRECTIONS_RAD)), stance.balance_angle_rad)
    return moments.tips(stance, harder)[0]


@lru_cache(maxsize=512)
def stage_moments(
    headers: tuple[Header, ...], can: Can, open_fraction: float, lines: tuple[float, ...]
) -> WorstMoments | None:
    """Largest moments of headers on a size in its lines; None where nothing sprays or none fits."""
    if not headers or not lines:
        return None
    return worst_moments(lines, (can.stance(), can.stance(1.0)), headers, open_fraction)


@lru_cache(maxsize=512)
def _worst(
    headers: tuple[Header, ...],
    can: Can,
    open_fraction: float,
    lines: tuple[float, ...],
    water: tuple[float, float],
    layout: str,
) -> WorstCan:
    low, high = water
    ends = (high, low)  # what rights a can at a lean is linear in the share: one end is worse
    moments = stage_moments(headers, can, open_fraction, lines)
    across = towards_guides(layout)
    even = [low + (high - low) * i / QUARTERS for i in range(QUARTERS + 1)]
    shares = list(dict.fromkeys((*even, *ends)))
    stances = {share: can.stance(share) for share in shares}
    pushing = headers if moments is not None else ()
    harder = max(1.0, 2.0 / max((h.splash_factor for h in pushing), default=1.0))
    asked = [stances[share] for share in (*shares, *ends)]
    pushes = np.array([1.0] * len(shares) + [harder] * len(ends))
    # all shares at once, and the ends once more where the sprays push harder
    balance, energy = _tips(moments, asked, pushes)
    guide = dict(zip(shares, balance[:, across].min(axis=1).tolist(), strict=False))
    least_mJ = dict(zip(shares, energy.tolist(), strict=False))
    sprayed = min(ends, key=guide.__getitem__)
    weakest = np.min([balance[shares.index(share)] for share in ends], axis=0)
    splashed = balance[len(shares) :].min(axis=0)
    rest = _rest_share(can, water)
    return WorstCan(
        water=DomeWater(low, high, sprayed, rest),
        sprayed=stances[sprayed],
        at_rest=can.stance(rest),
        balance_rad=guide[sprayed],
        weakest_rad=float(weakest.min()),
        weakest_direction_rad=float(DIRECTIONS_RAD[weakest.argmin()]),
        splashed_rad=(float(splashed[across].min()), float(splashed.min())),
        least_mJ=min(least_mJ[share] for share in even),
        may_lift=moments is not None and moments.may_lift(stances[low]),
        loads=tuple((stances[q], guide[q]) for q in dict.fromkeys((sprayed, *even))),
    )


def _tips(
    moments: WorstMoments | None, stances: Sequence[Stance], harder: Floats
) -> tuple[Floats, Floats]:
    """Balance angle of each stance by direction, and the least energy to it of each [mJ]."""
    if moments is None:
        energies = np.array([stance.balance_energy_mJ for stance in stances])
        return np.array([balances_rad(None, stance) for stance in stances]), energies
    balance, energy = moments.tips(stances, harder)
    return balance, energy.min(axis=1)


def stage_bands(stage: Stage, can: Can) -> tuple[WireBand, WireBand]:
    """Return the heights a size wants its wires at in a stage, the domes as is worst at rest."""
    rest = can.stance(_rest_share(can, stage.water_in_dome))
    return wire_bands(can.name, rest, Margins())


def _rest_share(can: Can, water: tuple[float, float]) -> float:
    """Return the share of dome water with the least balance angle of a can without sprays [-]."""
    low, high = water
    return min((high, low), key=lambda share: can.stance(share).balance_angle_rad)


def fill_words(share: float, low: float, high: float) -> str:
    """Say a share of dome water, and that it is the worst where a range was looked at.

    Examples
    --------
    >>> fill_words(0.0, 0.0, 1.0), fill_words(0.4, 0.4, 0.4), fill_words(0.43, 0.0, 1.0)
    ('worst with the domes empty', 'domes 40 % full', 'worst with the domes 43 % full')
    """
    return (
        f"worst with the domes {full_words(share)}" if high > low else f"domes {full_words(share)}"
    )


def full_words(share: float) -> str:
    """Say how full a dome is."""
    return {0.0: "empty", 1.0: "brim full"}.get(share, f"{100.0 * share:.0f} % full")
