"""What makes the slack at a stage larger or smaller than the tape measure says.

Slack is clear width less pack width. Each term adds to it: positive is looser, negative tighter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from packsim.can import Can
from packsim.errors import InputError, non_negative, one_of, positive
from packsim.line import Guides, Stage
from packsim.pack.lattice import can_tolerance_mm
from packsim.width.guide_wires import slackest_span
from packsim.width.slack_terms import (
    BOW,
    BRACKETS,
    CAN_TOLERANCE,
    CANS_GROW,
    FRAME_GROWS,
    SETTING_STEP,
    STEP,
    WEAR,
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
    said = _said(stage, can, pack_width_mm)
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


def _said(stage: Stage, can: Can, pack_width_mm: float) -> dict[str, dict[str, Any]]:
    """Kind, reason and remedy of each term there is, in order."""
    guides = stage.guides
    warming = f"over {stage.temperature_C - guides.setting_temperature_C:+.0f} K since setting"
    step_mm, wear_mm = guides.setting_step_mm, guides.wear_mm
    said: dict[str, dict[str, Any]] = {
        CAN_TOLERANCE: _can_tolerance(can, pack_width_mm, stage.layout),
        CANS_GROW: {"why": f"{can.expansion_per_K * 1e6:.1f} µm/(m K) {warming}"},
        FRAME_GROWS: {
            "why": f"{guides.frame_expansion_per_K * 1e6:.1f} µm/(m K) {warming}",
            "scales": True,
        },
        BOW: _bow(stage),
        BRACKETS: _bracket_difference(guides),
        SETTING_STEP: {
            "kind": "tolerance",
            "why": f"each side is right to half of its {step_mm:g} mm step",
            "spread_mm": step_mm / math.sqrt(2.0),  # two sides, half a step each, independent
            "remedy": "use a finer setting step, or set with a gauge",
        },
        WEAR: {
            "why": f"{wear_mm:g} mm worn off each side where it is worn, none elsewhere",
            "remedy": "renew the worn guides",
        },
    }
    if guides.step_mm != 0.0:
        said[STEP] = {
            "why": f"each face stands in by {guides.step_mm:g} mm at a bracket, none between",
            "remedy": "set the guide sections in line at the brackets",
        }
    return {name: {"kind": "fixed"} | more for name, more in said.items()}


def _can_tolerance(can: Can, pack_width_mm: float, layout: str) -> dict[str, Any]:
    tol, across = can.diameter_tol_mm, pack_width_mm / can.diameter_mm
    _, rss = can_tolerance_mm(tol, can.diameter_mm, pack_width_mm, layout)
    why = f"±{tol:g} mm on each diameter over {across:.2f} diameters across"
    return {"kind": "tolerance", "why": why, "spread_mm": rss}


def _bow(stage: Stage) -> dict[str, Any]:
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    if span is None:
        return {"why": "a single bracket, no span"}
    push = f"{stage.pack_pressure_N_per_m:g} N/m of push; none at a bracket"
    taut = f"span {span.span_mm:.0f} mm at {span.tension_N:.0f} N under {push}"
    return {
        "why": f"both sides, {span.reason or taut}",
        "remedy": "add a bracket or raise the wire tension",
    }


def _bracket_difference(guides: Guides) -> dict[str, Any]:
    if guides.shape == "funnel":
        why = "a funnel, whose brackets differ on purpose; slack is that of its narrowest"
        return {"why": why}
    why = f"brackets stand from {guides.narrowest_mm:g} to {guides.widest_mm:g} mm"
    return {"why": why, "remedy": "set all brackets alike"}
