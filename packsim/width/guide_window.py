"""How wide the guides may be set: neither too tight for the pack nor too loose for its balance."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import at_least, non_negative, one_of
from packsim.pack.lattice import lane_pitch_mm
from packsim.width.slack_budget import SlackBudget, SlackTerm
from packsim.width.slack_terms import BOW


@dataclass(frozen=True, slots=True)
class Attack:
    """One term of a slack budget worth reducing, and by how much.

    Parameters
    ----------
    term : str
        Its name in the budget.
    now_mm : float
        What it takes of the window now [mm].
    take_mm : float
        What has to go from it, the larger terms before it being cured already [mm].
    advice : str
        The same in words, lengths in mm.
    cure : str
        What makes the term smaller, and by which factor where that is known; no lengths.
    """

    term: str
    now_mm: float
    take_mm: float
    advice: str
    cure: str = ""


@dataclass(frozen=True)  # no slots: what to reduce is kept beside the fields once asked for
class GuideWindow:
    """Every clear width that is neither too tight nor too loose.

    Parameters
    ----------
    method : {"worst", "rss"}
        How the tolerances were combined.
    low_mm, high_mm : float
        Below ``low_mm`` the tightest case has no slack, above ``high_mm`` the loosest case has
        more than allowed; crossed when the window is empty [mm].
    high_by : {"safe slack", "next lane"}
        What ends the window above.
    allowed_mm : float
        Slack the loosest case may have [mm].
    budget : SlackBudget
        What it follows from.
    factor : float
        Safety factor [-].
    """

    method: str
    low_mm: float
    high_mm: float
    high_by: str
    allowed_mm: float
    budget: SlackBudget
    factor: float

    @cached_property
    def _cured(self) -> tuple[tuple[Attack, ...], float]:
        return _attack(self.budget, self.method, self.allowed_mm)

    @property
    def attack(self) -> tuple[Attack, ...]:
        """For an empty window, what to reduce, largest first, until it opens."""
        return self._cured[0]

    @property
    def empty_because(self) -> str:
        """Why no width will do, or empty."""
        if not self.empty:
            return ""
        said = f"safe slack over {self.factor:g}"
        limit = said if self.high_by == "safe slack" else "room for a lane more"
        limit = f"{self.allowed_mm:.1f} mm ({limit})"
        return _empty_because(self.budget, self.method, limit, self._cured[1])

    @property
    def empty(self) -> bool:
        """Whether no width will do."""
        return self.low_mm > self.high_mm

    @property
    def ends_mm(self) -> tuple[float, float] | None:
        """Both ends; None when it is empty [mm]."""
        return None if self.empty else (self.low_mm, self.high_mm)

    @property
    def width_mm(self) -> float:
        """High less low; negative by what is missing when empty [mm]."""
        return self.high_mm - self.low_mm

    def holds(self, clear_width_mm: float) -> bool:
        """Whether a clear width lies inside, to a rounding error [mm]."""
        return self.low_mm - 1e-9 <= clear_width_mm <= self.high_mm + 1e-9

    def verdict(self, clear_width_mm: float) -> str:
        """Say ``"too tight"``, ``"inside"`` or ``"too loose"`` of a clear width [mm].

        In an empty window a width may be both; ``"too tight and too loose"`` then.
        """
        tight = clear_width_mm < self.low_mm
        loose = clear_width_mm > self.high_mm
        words = [word for word, holds in (("too tight", tight), ("too loose", loose)) if holds]
        return " and ".join(words) or "inside"


def guide_window(
    budget: SlackBudget, safe_slack_mm: float, factor: float = 2.0, *, method: str = "worst"
) -> GuideWindow:
    """Return every clear width at the narrowest bracket that suits one size in one stage.

    Parameters
    ----------
    budget : SlackBudget
        The budget at any width; only its terms and pack width count.
    safe_slack_mm : float
        Most slack that cannot let a can past its balance point; infinite where a hold-down makes
        that impossible [mm].
    factor : float
        Safety factor on it, at least 1 [-].
    method : {"worst", "rss"}
        How tolerances combine.

    Returns
    -------
    GuideWindow
        From tightest case = 0 to loosest case = safe slack / factor. Above, the window also ends
        where the loosest case has room for one more lane (D √3/2 lengthwise, D/2 crosswise), as
        the pack then nests anew.

    Notes
    -----
    Both cases are straight lines in the clear width W, slope 1 plus that of the terms that scale
    with W, so each end is one division.
    """
    one_of("method", method, ("worst", "rss"))
    at_least("factor", factor, 1.0)
    if safe_slack_mm != math.inf:
        non_negative("safe_slack_mm", safe_slack_mm)
    ends = window_ends_mm(
        budget.clear_width_mm,
        budget.case_mm(method),
        budget.growth(method),
        lane_mm=lane_pitch_mm(budget.diameter_mm, budget.layout),
        allowed_mm=safe_slack_mm / factor,
    )
    low, high, ceiling = map(float, ends)
    high_by = "safe slack" if safe_slack_mm / factor <= ceiling else "next lane"
    return GuideWindow(
        method=method,
        low_mm=low,
        high_mm=high,
        high_by=high_by,
        allowed_mm=ceiling,
        budget=budget,
        factor=factor,
    )


def window_ends_mm(
    clear_width_mm: ArrayLike,
    cases_mm: tuple[ArrayLike, ArrayLike],
    growth: tuple[Floats | float, Floats | float],
    *,
    lane_mm: ArrayLike,
    allowed_mm: ArrayLike,
) -> tuple[Floats, Floats, Floats]:
    """Return both ends of guide windows, and the slack the loosest case may have.

    Parameters
    ----------
    clear_width_mm : array_like
        A clear width; all are broadcast together [mm].
    cases_mm : pair of array_like
        Slack in the tightest and the loosest case at that width [mm].
    growth : pair of array_like
        How much more than the width each of them grows with it [-].
    lane_mm : array_like
        Width one lane more takes [mm].
    allowed_mm : array_like
        Safe slack over the safety factor [mm].

    Returns
    -------
    low, high, ceiling : ndarray
        Crossed where no width suits [mm].
    """
    ceiling = np.asarray(np.minimum(allowed_mm, lane_mm))
    low = _width_where(clear_width_mm, cases_mm[0], growth[0], 0.0)
    high = _width_where(clear_width_mm, cases_mm[1], growth[1], ceiling)
    low, high = np.broadcast_arrays(low, high)
    return low, high, np.asarray(ceiling)


def _width_where(
    clear_width_mm: ArrayLike,
    case_mm: ArrayLike,
    growth: Floats | float,
    slack_mm: Floats | float,
) -> Floats:
    """Clear width at which a case that is known at one equals a slack [mm]."""
    left = slack_mm - np.asarray(case_mm, dtype=np.float64)
    return np.asarray(clear_width_mm, dtype=np.float64) + left / (1.0 + growth)


def _missing_mm(budget: SlackBudget, method: str, ceiling_mm: float) -> float:
    ends = (
        _width_where(budget.clear_width_mm, case, growth, slack)
        for case, growth, slack in zip(
            budget.case_mm(method), budget.growth(method), (0.0, ceiling_mm), strict=True
        )
    )
    low, high = map(float, ends)
    return low - high


def _attack(
    budget: SlackBudget, method: str, ceiling_mm: float
) -> tuple[tuple[Attack, ...], float]:
    """Reducible terms, the one that gives most first, and what stays missing after them all."""
    attacks: list[Attack] = []
    while (missing := _missing_mm(budget, method, ceiling_mm)) > 0.0:
        names = [term.name for term in budget.terms if term.remedy]
        gains = {
            name: missing - _missing_mm(budget.without(name), method, ceiling_mm) for name in names
        }
        name = max(gains, key=lambda key: gains[key], default="")
        if not name or gains[name] <= 0.0:
            return tuple(attacks), missing
        take = min(gains[name], missing)
        attacks.append(_attack_on(budget.term(name), gains[name], take))
        budget = budget.without(name)
    return tuple(attacks), 0.0


def _attack_on(term: SlackTerm, now_mm: float, take_mm: float) -> Attack:
    keep, cure = 1.0 - take_mm / now_mm, term.remedy
    if term.name == BOW and keep > 0.0:
        cure += f" (tension ×{1.0 / keep:.2f}, or spans ×{math.sqrt(keep):.2f})"
    advice = f"{term.name} takes {now_mm:.1f} mm, {take_mm:.1f} mm of it must go: {cure}"
    return Attack(term.name, now_mm, take_mm, advice, cure)


def _empty_because(budget: SlackBudget, method: str, limit: str, left_mm: float) -> str:
    tight, loose = budget.case_mm(method)
    largest = max(budget.terms, key=lambda term: term.range_mm)
    text = (
        f"the slack varies by {loose - tight:.1f} mm but may reach only {limit}; largest term:"
        f" {largest.name}, {largest.range_mm:.1f} mm"
    )
    if left_mm > 0.0:
        text += (
            f"; {left_mm:.1f} mm stay missing with every remedy: allow that much more slack, or run"
            " cans of closer diameter"
        )
    return text
