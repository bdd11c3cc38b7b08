"""How near the cans of one answer are to tipping; each number is worked out when asked for."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, Final

import numpy as np

from packsim.answers.worst_can import WorstCan
from packsim.arrays import Floats
from packsim.can import Stance
from packsim.pack.state import Pack
from packsim.tipping.gathered_slack import GatheredLean, gathered_lean
from packsim.tipping.lean import LeanEnvelope, own_lean
from packsim.tipping.safe_slack import SafeSlack, TipIndex, safe_slack, tip_index
from packsim.tipping.stops import HoldDown, lean_index
from packsim.width.slack_budget import SlackBudget

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


_NOBODY: Final = WorstLean(math.nan, 0.0, 0.0, "edge", 0.0)


_EQUAL: Final = 1.0 - 1e-9
"""Cans that lean alike differ by rounding alone; the first of them is named."""


def _worst(index: Floats, lean_rad: Floats) -> int:
    """Can of the largest index, of those whose index is infinite the one that leans farthest."""
    farthest = np.where(index >= _EQUAL * index.max(), lean_rad, -1.0)
    return int(np.argmax(farthest >= _EQUAL * farthest.max()))


def _place(pack: Pack, can: int) -> tuple[str, float]:
    y = float(pack.centres_mm[can, 1])
    edge = min(y, pack.clear_width_mm - y) < pack.diameter_mm
    return "edge" if edge else "centre", y


_NO_CAN: Final = TipIndex(math.nan, math.nan, 0.0, 0.0, "tight")
"""Where no can fits no can tips, but nothing there is safe either."""


def _laid(pack: Pack, stance: Stance, heights_mm: tuple[float, ...]) -> dict[str, Any]:
    return {
        "centres_mm": pack.centres_mm,
        "stance": stance,
        "period_mm": pack.length_mm,
        "left_mm": 0.0,
        "right_mm": pack.clear_width_mm,
        "wire_heights_mm": heights_mm,
    }


@lru_cache(maxsize=64)
def _once(
    leans: Callable[..., Any], pack: Pack, stance: Stance, heights_mm: tuple[float, ...]
) -> Any:
    """Return the leans of the first repeat of a pack.

    Sprays do not change how far a can may lean, only how far is too far: a header that is moved
    asks for none of it anew.
    """
    return leans(**_laid(pack.once(), stance, heights_mm))


@dataclass(frozen=True, eq=False)  # no slots: answers are kept beside the fields once asked for
class Tipping:
    """How near the cans of one answer are to tipping.

    Parameters
    ----------
    worst : WorstCan
        The can at its worst under the sprays.
    pack : Pack
        The pack as laid.
    budget : SlackBudget
        Its slack.
    heights_mm : tuple of float
        Heights of the guide wires where they hang lowest [mm].
    factor : float
        Safety factor on the safe slack [-].
    hold_down : HoldDown or None
        The hold-down mat, where there is one.
    """

    worst: WorstCan
    pack: Pack
    budget: SlackBudget
    heights_mm: tuple[float, ...]
    factor: float
    hold_down: HoldDown | None

    @cached_property
    def safe(self) -> SafeSlack:
        """Slack that cannot let a can past its balance point towards a guide."""
        return safe_slack(self.worst.sprayed, self.heights_mm, self.worst.balance_rad)

    @cached_property
    def safe_splashed(self) -> SafeSlack:
        """The same where the sprays push twice as hard."""
        return safe_slack(self.worst.sprayed, self.heights_mm, self.worst.splashed_rad[0])

    def _index(self, slack_mm: float) -> TipIndex:
        if not self.pack.fits:
            return _NO_CAN
        worst, heights = self.worst, self.heights_mm
        return tip_index(slack_mm, worst.sprayed, heights, worst.balance_rad, factor=self.factor)

    @cached_property
    def nominal(self) -> TipIndex:
        """With the slack as set."""
        return self._index(self.budget.slack_mm)

    @cached_property
    def loosest(self) -> TipIndex:
        """With the slack of the budget's loosest case; what the verdict rests on."""
        return self._index(self.budget.loosest_mm)

    @property
    def loosest_slack_mm(self) -> float:
        """That slack [mm]."""
        return self.budget.loosest_mm

    @property
    def allowed_slack_mm(self) -> float:
        """Safe slack over the safety factor [mm]."""
        return self.safe.slack_mm / self.factor

    def own_leans(self, pack: Pack) -> LeanEnvelope:
        """Own lean of every can of a pack as laid, its neighbours standing still."""
        laid = _laid(pack, self.worst.sprayed, self.heights_mm)
        return own_lean(**laid, balance_rad=self.worst.weakest_rad)

    def gathered_leans(self, pack: Pack) -> GatheredLean:
        """Lean of every can of a pack with all slack of its chain gathered beside it.

        A pack that is not full is parted along travel: its chains across are shorter than nominal,
        and more slack gathers than clear width less pack width.
        """
        laid = _laid(pack, self.worst.sprayed, self.heights_mm)
        return gathered_lean(**laid, balance_rad=self.worst.balance_rad)

    @cached_property
    def own(self) -> WorstLean:
        """Largest lean any single can has room for by itself in the pack as laid."""
        if not self.pack.fits:
            return _NOBODY
        found: LeanEnvelope = _once(own_lean, self.pack, self.worst.sprayed, self.heights_mm)
        index = self._against(found.worst_rad, self.worst.weakest_rad)
        can = _worst(index, found.worst_rad)
        lean, bearing = float(found.worst_rad[can]), float(found.worst_direction_rad[can])
        return WorstLean(float(index[can]), lean, bearing, *_place(self.pack, can))

    @cached_property
    def gathered(self) -> WorstLean:
        """Largest lean with all slack of a can's chain gathered beside it, in the pack as laid."""
        if not self.pack.fits:
            return _NOBODY
        found: GatheredLean = _once(gathered_lean, self.pack, self.worst.sprayed, self.heights_mm)
        index = self._against(found.worst_rad, self.worst.balance_rad)
        can = _worst(index, found.worst_rad)
        bearing = math.pi / 2.0 if found.to_right[can] else -math.pi / 2.0
        lean, slack = float(found.worst_rad[can]), float(found.slack_mm[can])
        return WorstLean(float(index[can]), lean, bearing, *_place(self.pack, can), slack)

    def _against(self, lean_rad: Floats, balance_rad: float) -> Floats:
        return lean_index(lean_rad, self.worst.sprayed.balance_under_load_rad(balance_rad))

    @property
    def blocked(self) -> bool:
        """Whether a hold-down mat keeps every can from tipping."""
        return self.hold_down is not None and self.hold_down.blocks

    @cached_property
    def verdict(self) -> str:
        """``tight``, ``held``, ``loose`` or ``can tip``; see `TipIndex`.

        The indices leave a hold-down mat out; where one blocks tipping, ``can tip`` is ``loose``.
        """
        said = self.loosest.verdict
        if said in ("held", "loose") and (self.gathered.index >= 1.0 or self.own.index >= 1.0):
            said = "can tip"  # more than the bound, where cans part along travel
        return "loose" if said == "can tip" and self.blocked else said
