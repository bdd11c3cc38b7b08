"""The lanes a clear width is meant for, and the slack budget as data: its terms and their sums.

Slack is clear width less pack width. Each term adds to it: positive is looser, negative tighter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from packsim.check import non_negative, one_of, positive
from packsim.errors import InputError


@dataclass(frozen=True, slots=True)
class SlackTerm:
    """One contribution to the slack.

    Parameters
    ----------
    name : str
        What it is.
    tightest_mm, loosest_mm : float
        What it adds to the slack in the tightest and in the loosest case [mm].
    kind : {"fixed", "tolerance"}
        ``fixed`` is known, or known to vary along the stage, and adds up in full; ``tolerance``
        is as likely either way and independent of the others.
    why : str
        Where the number comes from.
    spread_mm : float
        Half width it enters a root-sum-square with [mm]; 0 for a fixed term. It is below the half
        width of the worst case where many independent parts make up the term.
    remedy : str
        What makes it smaller; empty for a term nobody can change.
    scales : bool
        Whether it grows in proportion to the clear width.
    """

    name: str
    tightest_mm: float
    loosest_mm: float
    kind: str
    why: str
    spread_mm: float = 0.0
    remedy: str = ""
    scales: bool = False

    def __post_init__(self) -> None:
        one_of("kind", self.kind, ("fixed", "tolerance"))
        non_negative("spread_mm", self.spread_mm)
        if not self.tightest_mm <= self.loosest_mm:
            raise InputError("loosest_mm", self.loosest_mm, f"at least {self.tightest_mm} mm")
        if self.kind == "fixed" and self.spread_mm != 0.0:
            raise InputError("spread_mm", self.spread_mm, "0 for a fixed term")

    @property
    def range_mm(self) -> float:
        """Loosest less tightest, worst case [mm]."""
        return self.loosest_mm - self.tightest_mm

    def edges_mm(self, method: str) -> tuple[float, float]:
        """Return what it adds in full to the tightest and the loosest case of a method [mm].

        ``"worst"`` takes the ends; ``"rss"`` takes the middle of a tolerance, whose spread is then
        combined with the others.
        """
        if method == "worst" or self.kind == "fixed":
            return self.tightest_mm, self.loosest_mm
        middle = (self.tightest_mm + self.loosest_mm) / 2.0
        return middle, middle


@dataclass(frozen=True, slots=True)
class SlackBudget:
    """The slack of one can size in one stage, term by term.

    Parameters
    ----------
    stage, size : str
        Names of the stage and the can size.
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    diameter_mm : float
        Nominal can diameter [mm].
    clear_width_mm : float
        Clear width at the narrowest bracket, as set [mm].
    pack_width_mm : float
        Width of the touching pack of the lane count meant, nominal cans, cold [mm].
    setting_step_mm : float
        Smallest step a bracket is set to [mm].
    terms : tuple of SlackTerm
        Everything but the residual slack.
    """

    stage: str
    size: str
    layout: str
    diameter_mm: float
    clear_width_mm: float
    pack_width_mm: float
    setting_step_mm: float
    terms: tuple[SlackTerm, ...]

    @property
    def slack_mm(self) -> float:
        """Clear width less pack width, as measured cold with nominal cans [mm]."""
        return self.clear_width_mm - self.pack_width_mm

    @property
    def tightest_mm(self) -> float:
        """Slack when every term is at its tightest [mm]."""
        return self.case_mm("worst")[0]

    @property
    def loosest_mm(self) -> float:
        """Slack when every term is at its loosest [mm]."""
        return self.case_mm("worst")[1]

    @property
    def tightest_rss_mm(self) -> float:
        """Tightest slack with the tolerances combined by root-sum-square [mm]."""
        return self.case_mm("rss")[0]

    @property
    def loosest_rss_mm(self) -> float:
        """Loosest slack with the tolerances combined by root-sum-square [mm]."""
        return self.case_mm("rss")[1]

    def case_mm(self, method: str) -> tuple[float, float]:
        """Tightest and loosest slack by ``"worst"`` case or ``"rss"`` [mm].

        Root-sum-square treats the tolerances as independent: limits of about three standard
        deviations each give a limit of about three for the sum. Fixed terms add up in full.
        """
        one_of("method", method, ("worst", "rss"))
        edges = [term.edges_mm(method) for term in self.terms]
        spread = math.hypot(*(term.spread_mm for term in self.terms)) if method == "rss" else 0.0
        tight = self.slack_mm + math.fsum(edge[0] for edge in edges) - spread
        loose = self.slack_mm + math.fsum(edge[1] for edge in edges) + spread
        return tight, loose

    def term(self, name: str) -> SlackTerm:
        """Return the term called ``name``; raise `InputError` if there is none."""
        for term in self.terms:
            if term.name == name:
                return term
        raise InputError("term", repr(name), "one of " + ", ".join(t.name for t in self.terms))

    def without(self, name: str) -> SlackBudget:
        """Return this budget with the named term gone, as if it had been cured."""
        gone = self.term(name)
        return replace(self, terms=tuple(term for term in self.terms if term is not gone))

    def at_width(self, clear_width_mm: float) -> SlackBudget:
        """Return the budget with the guides set to another clear width [mm]."""
        ratio = positive("clear_width_mm", clear_width_mm) / self.clear_width_mm
        terms = tuple(
            replace(t, tightest_mm=t.tightest_mm * ratio, loosest_mm=t.loosest_mm * ratio)
            if t.scales
            else t
            for t in self.terms
        )
        return replace(self, clear_width_mm=float(clear_width_mm), terms=terms)
