"""What makes the slack at a stage larger or smaller than the tape measure says.

Slack is clear width less pack width. Each term adds to it: positive is looser, negative tighter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import InputError, non_negative, one_of, positive
from packsim.line import Guides, Stage
from packsim.pack.lattice import can_tolerance_mm
from packsim.width.guide_wires import slackest_span

BOW: Final = "bow at mid-span"
"""Term of what the wires give between brackets; a part of it goes with tension or span."""

SETTING_STEP: Final = "setting step"
"""Term of how well guides are set; nobody can take a part of it away."""


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

    def cases_mm(self, clear_width_mm: ArrayLike, method: str) -> tuple[Floats, Floats]:
        """Both cases of `case_mm` at other clear widths: straight lines in them [mm]."""
        more = np.asarray(clear_width_mm) - self.clear_width_mm
        cases = zip(self.case_mm(method), self.growth(method), strict=True)
        tight, loose = (case + more * (1.0 + growth) for case, growth in cases)
        return tight, loose

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
    return SlackBudget(
        layout=stage.layout,
        diameter_mm=can.diameter_mm,
        clear_width_mm=guides.narrowest_mm,
        pack_width_mm=float(pack_width_mm),
        setting_step_mm=guides.setting_step_mm,
        terms=(
            _can_tolerance(can, pack_width_mm, stage.layout),
            *_thermal(stage, can, pack_width_mm),
            _bow(stage),
            _bracket_difference(guides),
            _setting_step(guides),
            _wear(guides),
            *_step_at_brackets(guides),
        ),
    )


def _can_tolerance(can: Can, pack_width_mm: float, layout: str) -> SlackTerm:
    tol, across = can.diameter_tol_mm, pack_width_mm / can.diameter_mm
    worst, rss = can_tolerance_mm(tol, can.diameter_mm, pack_width_mm, layout)
    why = f"±{tol:g} mm on each diameter over {across:.2f} diameters across"
    return SlackTerm("can tolerance", -worst, worst, "tolerance", why, spread_mm=rss)


def _thermal(stage: Stage, can: Can, pack_width_mm: float) -> tuple[SlackTerm, SlackTerm]:
    guides, warming = stage.guides, stage.temperature_C - stage.guides.setting_temperature_C
    frame = _growth("frame", guides.frame_expansion_per_K, warming, guides.narrowest_mm)
    cans = _growth("cans", can.expansion_per_K, warming, -pack_width_mm)
    return cans, replace(frame, scales=True)


def _growth(what: str, alpha_per_K: float, warming_K: float, width_mm: float) -> SlackTerm:
    change = alpha_per_K * warming_K * width_mm
    why = f"{alpha_per_K * 1e6:.1f} µm/(m K) over {warming_K:+.0f} K since setting"
    return SlackTerm(f"growth of {what}", change, change, "fixed", why)


def _bow(stage: Stage) -> SlackTerm:
    guides = stage.guides
    span = slackest_span(guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    if span is None:
        return SlackTerm(BOW, 0.0, 0.0, "fixed", "a single bracket, no span")
    push = f"{stage.pack_pressure_N_per_m:g} N/m of push; none at a bracket"
    taut = f"span {span.span_mm:.0f} mm at {span.tension_N:.0f} N under {push}"
    why, remedy = f"both sides, {span.reason or taut}", "add a bracket or raise the wire tension"
    return SlackTerm(BOW, 0.0, 2.0 * span.outward_mm, "fixed", why, remedy=remedy)


def _bracket_difference(guides: Guides) -> SlackTerm:
    if guides.shape == "funnel":
        why = "a funnel, whose brackets differ on purpose; slack is that of its narrowest"
        return SlackTerm("bracket difference", 0.0, 0.0, "fixed", why)
    why = f"brackets stand from {guides.narrowest_mm:g} to {guides.widest_mm:g} mm"
    apart, remedy = guides.widest_mm - guides.narrowest_mm, "set all brackets alike"
    return SlackTerm("bracket difference", 0.0, apart, "fixed", why, remedy=remedy)


def _setting_step(guides: Guides) -> SlackTerm:
    step = guides.setting_step_mm
    spread = step / math.sqrt(2.0)  # two sides, half a step each, independent
    why = f"each side is right to half of its {step:g} mm step"
    remedy = "use a finer setting step, or set with a gauge"
    return SlackTerm(SETTING_STEP, -step, step, "tolerance", why, spread_mm=spread, remedy=remedy)


def _wear(guides: Guides) -> SlackTerm:
    why = f"{guides.wear_mm:g} mm worn off each side where it is worn, none elsewhere"
    return SlackTerm(
        "wear", 0.0, 2.0 * guides.wear_mm, "fixed", why, remedy="renew the worn guides"
    )


def _step_at_brackets(guides: Guides) -> tuple[SlackTerm, ...]:
    """Return the term of faces that stand in at brackets, where they do."""
    if guides.step_mm == 0.0:
        return ()
    why = f"each face stands in by {guides.step_mm:g} mm at a bracket, none between"
    remedy = "set the guide sections in line at the brackets"
    return (SlackTerm("step at brackets", -2.0 * guides.step_mm, 0.0, "fixed", why, remedy=remedy),)
