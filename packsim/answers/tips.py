"""Which can of a pack can lean farthest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.pack.state import Pack
from packsim.tipping.gathered_slack import GatheredLean, gathered_lean
from packsim.tipping.lean import LeanEnvelope, own_lean

_EIGHTHS = (
    "downstream",
    "downstream and right",
    "to the right guide",
    "upstream and right",
    "upstream",
    "upstream and left",
    "to the left guide",
    "downstream and left",
)


@dataclass(frozen=True, slots=True)
class WorstLean:
    """The can of a pack that can lean farthest.

    Parameters
    ----------
    index : float
        Its lean over the balance angle [-]; infinite where nothing stops it, nan where the pack
        does not fit.
    lean_rad : float
        The lean [rad].
    direction_rad : float
        Its bearing, from travel towards the right guide [rad].
    place : {"edge", "centre"}
        ``edge`` when the can stands within the first can width of a guide.
    across_mm : float
        Its centre from the left guide [mm].
    slack_mm : float
        Slack that gathers there [mm]; 0 for an own lean, where neighbours stand still.
    """

    index: float
    lean_rad: float
    direction_rad: float
    place: str
    across_mm: float
    slack_mm: float = 0.0

    @property
    def towards(self) -> str:
        """The bearing in words."""
        return towards(self.direction_rad)


def towards(direction_rad: float) -> str:
    """Say a bearing in words, to an eighth of a turn.

    Examples
    --------
    >>> towards(math.pi / 2), towards(-3.0)
    ('to the right guide', 'upstream')
    """
    return _EIGHTHS[round(direction_rad / (math.pi / 4.0)) % 8]


def own_leans(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> LeanEnvelope:
    """Own lean of every can of a pack as laid, its slack shared between both guides.

    Parameters
    ----------
    pack : Pack
        The pack, one that fits.
    stance : Stance
        The can in this stage.
    balance_rad : float
        Effective balance angle [rad].
    heights_mm : tuple of float
        Heights of the guide wires [mm].

    Returns
    -------
    LeanEnvelope
        Of the cans in the order of the pack.
    """
    return own_lean(
        pack.centres_mm,
        stance,
        period_mm=pack.length_mm,
        left_mm=0.0,
        right_mm=pack.clear_width_mm,
        wire_heights_mm=heights_mm,
        balance_rad=balance_rad,
    )


def gathered_leans(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> GatheredLean:
    """Lean of every can of a pack with all slack of its chain gathered beside it; as `own_leans`.

    A pack that is not full is parted along travel: its chains across are shorter than nominal, and
    more slack gathers than clear width less pack width.
    """
    return gathered_lean(
        pack.centres_mm,
        stance,
        period_mm=pack.length_mm,
        left_mm=0.0,
        right_mm=pack.clear_width_mm,
        wire_heights_mm=heights_mm,
        balance_rad=balance_rad,
    )


def own_worst(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> WorstLean:
    """Largest own lean in a pack; arguments as for `own_leans`, a pack that does not fit too."""
    if not pack.fits:
        return _NOBODY
    pack = pack.once()
    found = own_leans(pack, stance, balance_rad, heights_mm)
    can = _worst(found.index, found.worst_rad)
    lean, bearing = float(found.worst_rad[can]), float(found.worst_direction_rad[can])
    return WorstLean(float(found.index[can]), lean, bearing, *_place(pack, can))


def gathered_worst(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> WorstLean:
    """Largest gathered lean in a pack; arguments as for `own_leans`, one that does not fit too."""
    if not pack.fits:
        return _NOBODY
    pack = pack.once()
    found = gathered_leans(pack, stance, balance_rad, heights_mm)
    can = _worst(found.index, found.worst_rad)
    bearing = math.pi / 2.0 if found.to_right[can] else -math.pi / 2.0
    lean, slack = float(found.worst_rad[can]), float(found.slack_mm[can])
    return WorstLean(float(found.index[can]), lean, bearing, *_place(pack, can), slack_mm=slack)


_PACKS_AT_ONCE = 200  # so that places beside each other keep their digits


def leans_as_laid_rad(
    packs: Sequence[Pack], stance: Stance, heights_mm: Sequence[float]
) -> tuple[Floats, Floats]:
    """Return the largest own and the largest gathered lean in each of some packs.

    Parameters
    ----------
    packs : sequence of n Pack
        Packs that fit, as laid, all of one length and one size.
    stance : Stance
        The can in this stage.
    heights_mm : sequence of float
        Heights of the guide wires [mm].

    Returns
    -------
    own_rad, gathered_rad : ndarray, shape (n,)
        As of `own_worst` and `gathered_worst`, all packs beside each other looked at as one [rad].
    """
    found = []
    for start in range(0, len(packs), _PACKS_AT_ONCE):
        some = packs[start : start + _PACKS_AT_ONCE]
        widths = np.array([pack.clear_width_mm for pack in some])
        apart = 2.0 * widths.max() + stance.height_mm + 2.0 * stance.diameter_mm
        left, cans = apart * np.arange(len(some)), [len(pack) for pack in some]
        aside = np.column_stack((np.zeros(len(some)), left))
        centres = [pack.centres_mm + shift for pack, shift in zip(some, aside, strict=True)]
        between: dict[str, Any] = {
            "left_mm": np.repeat(left, cans),
            "right_mm": np.repeat(left + widths, cans),
            "wire_heights_mm": heights_mm,
            "period_mm": some[0].length_mm,
        }
        place = np.concatenate(centres), stance
        leans = own_lean(*place, **between).worst_rad, gathered_lean(*place, **between).worst_rad
        starts = np.cumsum([0, *cans[:-1]])
        found.append([np.maximum.reduceat(lean, starts) for lean in leans])
    own, gathered = np.concatenate(found, axis=1)
    return own, gathered


_NOBODY = WorstLean(math.nan, 0.0, 0.0, "edge", 0.0)


_EQUAL = 1.0 - 1e-9
"""Cans that lean alike differ by rounding alone; the first of them is named."""


def _worst(index: Floats, lean_rad: Floats) -> int:
    """Can of the largest index, of those whose index is infinite the one that leans farthest."""
    farthest = np.where(index >= _EQUAL * index.max(), lean_rad, -1.0)
    return int(np.argmax(farthest >= _EQUAL * farthest.max()))


def _place(pack: Pack, can: int) -> tuple[str, float]:
    y = float(pack.centres_mm[can, 1])
    edge = min(y, pack.clear_width_mm - y) < pack.diameter_mm
    return "edge" if edge else "centre", y
