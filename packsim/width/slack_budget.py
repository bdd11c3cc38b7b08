"""What makes the slack at a stage larger or smaller than the tape measure says.

Slack is clear width less pack width. Each term adds to it: positive is looser, negative tighter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from packsim.can import Can
from packsim.errors import InputError, non_negative, one_of, positive
from packsim.line import Stage
from packsim.width.slack_terms import (
    said_of,
    slack_inputs,
)


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
    def jams(self) -> bool:
        """Whether the pack is pressed between the guides when every term is at its tightest."""
        return self.tightest_mm < 0.0

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
        tight, loose = (self.slack_mm + math.fsum(edge[i] for edge in edges) for i in (0, 1))
        return tight - spread, loose + spread

    def growth(self, method: str) -> tuple[float, float]:
        """How much more than the clear width both cases of `case_mm` grow with it [-]."""
        edges = [term.edges_mm(method) for term in self.terms if term.scales]
        tight, loose = (math.fsum(edge[i] for edge in edges) for i in (0, 1))
        return tight / self.clear_width_mm, loose / self.clear_width_mm

    def term(self, name: str) -> SlackTerm:
        """Return the term called ``name``; raise `InputError` if there is none."""
        named = {term.name: term for term in self.terms}
        return named[one_of("term", name, tuple(named))]

    def without(self, name: str) -> SlackBudget:
        """Return this budget with the named term gone, as if it had been cured."""
        gone = self.term(name)
        return replace(self, terms=tuple(term for term in self.terms if term is not gone))


def slack_budget(stage: Stage, can: Can, pack_width_mm: float) -> SlackBudget:
    """Return the slack budget of one can size in one stage.

    Parameters
    ----------
    stage, can : Stage, Can
        The stage, its guides as set, and the can size.
    pack_width_mm : float
        Width of the touching pack of the lanes judged; see `packsim.width.lane_rule` [mm].

    Returns
    -------
    SlackBudget
        Terms and their sums. The place along the stage counts as a range: bow is 0 at a bracket
        and full at mid-span.

    Raises
    ------
    InputError
        If ``pack_width_mm`` is below one diameter.
    """
    if positive("pack_width_mm", pack_width_mm) < can.diameter_mm * (1.0 - 1e-9):
        raise InputError("pack_width_mm", pack_width_mm, f"at least one can, {can.diameter_mm} mm")
    guides = stage.guides
    given = slack_inputs(stage, can, pack_width_mm)
    terms = given.terms_mm()
    said = said_of(stage, can, pack_width_mm)
    return SlackBudget(
        layout=stage.layout,
        diameter_mm=can.diameter_mm,
        clear_width_mm=guides.narrowest_mm,
        pack_width_mm=float(pack_width_mm),
        setting_step_mm=guides.setting_step_mm,
        terms=tuple(
            SlackTerm(name, float(terms[name][0]), float(terms[name][1]), **more)
            for name, more in said.items()
        ),
    )
