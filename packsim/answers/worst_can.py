"""The can at its worst in a stage: each question takes the dome water that is worse for it.

Nobody knows how full a dome is: sprays fill it, a blow-off empties it, a can that rocks spills. A
full dome is heavier and stands harder against a spray, but its centre of gravity is higher and it
balances at a smaller angle. Which is worse hangs on the question, and may be neither end.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from packsim.can import Can, Stance
from packsim.line import Header, Stage
from packsim.spray.spray_forces import spray_forces
from packsim.spray.spray_load import SprayLoad, least_balance_rad, load_on
from packsim.tipping.hold_down import HoldDown, hold_down
from packsim.tipping.overturning import lean_energy_mJ

SAMPLES: Final = 17
"""Shares looked at over a range of dome water before the least is refined between its neighbours;
the load is smooth in the share but where another place along the stage becomes the worst."""

QUARTERS: Final = 4
"""Parts a range of dome water is cut into for the chance of a tip. A share between may tip more:
by less than a tenth over every stage of the shipped lines (measured in tests)."""

_EQUAL: Final = 1e-9
"""Relative difference below which two shares are as bad: numerical."""


@dataclass(frozen=True, slots=True)
class DomeWater:
    """How full the domes of one answer are, and at which share each question was answered.

    Parameters
    ----------
    low, high : float
        What is known of a stage: shares of the dome's volume [-].
    sprayed : float
        Share with the least balance angle under the sprays: it decides safe slack, tip index,
        verdict, window and hold-down [-].
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
        Least balance angle of any lane at any moment under the sprays; 0 where they lift or
        overturn a can [rad].
    spray, lightest : SprayLoad or None
        Load of the sprays on the can with that angle, and on the one with the least water, which
        they lift and press over most; None where nothing sprays.
    loads : tuple of (Stance, float)
        Stance and balance angle of every share that may tip most cans; see `row_chance` [rad].
    """

    water: DomeWater
    sprayed: Stance
    at_rest: Stance
    balance_rad: float
    spray: SprayLoad | None
    lightest: SprayLoad | None
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
        With the loads of the sprays.

    Notes
    -----
    The forces of the sprays are the same for every share. Angle and hold margin of one moment are
    smooth in it; the least of all moments is looked for at `SAMPLES` shares and refined.
    """
    headers = clear_headers(stage, can.height_mm)
    # lines nearer to each other than this are one: the same pack laid by other sums
    lines = tuple(round(float(line), 9) for line in lines_mm)
    return _worst(headers if lines else (), can, open_fraction, lines, stage.water_in_dome)


@lru_cache(maxsize=512)
def _worst(
    headers: tuple[Header, ...],
    can: Can,
    open_fraction: float,
    lines: tuple[float, ...],
    water: tuple[float, float],
) -> WorstCan:
    low, high = water
    forces = spray_forces(lines, can.stance(), headers, open_fraction) if headers else None

    def balance_rad(share: float) -> float:
        return least_balance_rad(can.stance(share), forces)

    def energy_mJ(share: float) -> float:
        balance = balance_rad(share)
        return float(lean_energy_mJ(balance, can.stance(share), balance))

    sprayed, rest = worst_share(balance_rad, low, high), _rest(can, water)
    even = (low + (high - low) * i / QUARTERS for i in range(QUARTERS + 1))
    shares = dict.fromkeys((sprayed, worst_share(energy_mJ, low, high), *even))
    stance = can.stance(sprayed)
    return WorstCan(
        water=DomeWater(low, high, sprayed, rest),
        sprayed=stance,
        at_rest=can.stance(rest),
        balance_rad=balance_rad(sprayed),
        spray=None if forces is None else load_on(stance, forces),
        lightest=None if forces is None else load_on(can.stance(low), forces),
        loads=tuple((can.stance(share), balance_rad(share)) for share in shares),
    )


def rest_share(can: Can, stage: Stage) -> float:
    """Return the share of dome water with the least balance angle of a can without sprays [-]."""
    return _rest(can, stage.water_in_dome)


@lru_cache(maxsize=512)
def _rest(can: Can, water: tuple[float, float]) -> float:
    return worst_share(lambda share: can.stance(share).balance_angle_rad, *water)


def worst_share(of: Callable[[float], float], low: float, high: float) -> float:
    """Return the share between two at which a quantity is least, the lowest of equals [-]."""
    if low == high:
        return low
    shares = np.linspace(low, high, SAMPLES)
    values = np.array([of(float(share)) for share in shares])
    least = float(values.min())
    at = int(np.argmax(values <= least + _EQUAL * abs(least)))
    if values.max() - least <= _EQUAL * abs(least):
        return low
    from scipy.optimize import minimize_scalar

    ends = float(shares[max(at - 1, 0)]), float(shares[min(at + 1, SAMPLES - 1)])
    found = minimize_scalar(of, bounds=ends, method="bounded", options={"xatol": 1e-6})
    return float(found.x if found.fun < least - 1e-6 * abs(least) else shares[at])


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


def stage_hold_down(stage: Stage, worst: WorstCan) -> HoldDown | None:
    """Return what a stage's hold-down mat does to its cans; None where there is none.

    Judged at the balance angle under the sprays: a can past that falls on while they act, as a run
    counts it.
    """
    if stage.hold_down_mm is None:
        return None
    return hold_down(worst.sprayed, stage.hold_down_mm, worst.balance_rad)


def clear_headers(stage: Stage, height_mm: float) -> tuple[Header, ...]:
    """Headers a can of this height passes; one above that hangs into the cans sprays nothing."""
    return tuple(h for h in stage.headers if h.side == "below" or h.mat_distance_mm > height_mm)
