"""What makes the slack at a stage larger or smaller than the tape measure says."""

from __future__ import annotations

import math

from packsim.can import Can
from packsim.check import non_negative, one_of, positive
from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.line.guides import Guides
from packsim.line.stage import LAYOUTS, Stage
from packsim.width.guide_wires import slackest_span
from packsim.width.slack_terms import SlackBudget, SlackTerm


def can_tolerance_mm(
    diameter_tol_mm: float, diameter_mm: float, pack_width_mm: float, layout: str
) -> tuple[float, float]:
    """How much the pack's width changes with the diameters of the cans in it.

    Parameters
    ----------
    diameter_tol_mm : float
        Plus/minus tolerance t of one can's diameter [mm].
    diameter_mm, pack_width_mm : float
        Nominal diameter, and nominal width of the touching pack [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.

    Returns
    -------
    worst_mm : float
        Every can of a row at its limit: t × pack width / diameter, which is t (1 + (n−1)√3/2)
        lengthwise and t m or t (m + ½) crosswise [mm].
    rss_mm : float
        Every can of a row independent of the next [mm].

    Notes
    -----
    Derived here. Across n lanes of touching cans the width is D₁/2 + Dₙ/2 plus √3/2 of the centre
    distances (Dᵢ + Dᵢ₊₁)/2, to first order in the differences. So an end can counts ½ + √3/4 and
    an inner one √3/2, and t times the root of the sum of squares is t √(¾(n−2) + 2(½ + √3/4)²);
    t for one lane. Crosswise a row of m cans counts 1 each, and a half-can offset ½ more:
    t √m or t √(m + ¼).

    Cans off one body maker share their error. The worst case is then the honest one.

    Examples
    --------
    >>> worst, rss = can_tolerance_mm(0.18, 66.0, 66.0 * (1 + 19 * 0.8660254), "lengthwise")
    >>> worst
    3.14
    >>> rss
    0.70
    """
    tol = non_negative("diameter_tol_mm", diameter_tol_mm)
    widths = positive("pack_width_mm", pack_width_mm) / positive("diameter_mm", diameter_mm)
    if one_of("layout", layout, LAYOUTS) == "crosswise":
        whole = math.floor(widths + 0.25)
        half = max(0.0, widths - whole)
        return tol * widths, tol * math.sqrt(whole + half**2)
    lanes = max(1, round(1.0 + (widths - 1.0) / SIN60))
    if lanes == 1:
        return tol * widths, tol
    ends = 2.0 * (0.5 + SIN60 / 2.0) ** 2
    return tol * widths, tol * math.sqrt(SIN60**2 * (lanes - 2) + ends)


def slack_budget(stage: Stage, can: Can, pack_width_mm: float) -> SlackBudget:
    """Return the slack budget of one can size in one stage.

    Parameters
    ----------
    stage : Stage
        The stage, its guides as set.
    can : Can
        The can size.
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
    terms = (
        _can_tolerance(can, pack_width_mm, stage.layout),
        *_thermal(stage, can, pack_width_mm),
        _bow(stage),
        _bracket_difference(guides),
        _setting_step(guides),
        _wear(guides),
    )
    return SlackBudget(
        stage=stage.name,
        size=can.name,
        layout=stage.layout,
        diameter_mm=can.diameter_mm,
        clear_width_mm=guides.narrowest_mm,
        pack_width_mm=float(pack_width_mm),
        setting_step_mm=guides.setting_step_mm,
        terms=terms,
    )


def _can_tolerance(can: Can, pack_width_mm: float, layout: str) -> SlackTerm:
    worst, rss = can_tolerance_mm(can.diameter_tol_mm, can.diameter_mm, pack_width_mm, layout)
    return SlackTerm(
        "can tolerance",
        -worst,
        worst,
        "tolerance",
        f"±{can.diameter_tol_mm:g} mm on each diameter over {pack_width_mm / can.diameter_mm:.2f}"
        " diameters across",
        spread_mm=rss,
    )


def _thermal(stage: Stage, can: Can, pack_width_mm: float) -> tuple[SlackTerm, SlackTerm]:
    guides = stage.guides
    warming = stage.temperature_C - guides.setting_temperature_C
    cans = -can.expansion_per_K * warming * pack_width_mm
    frame = guides.frame_expansion_per_K * warming * guides.narrowest_mm
    terms = []
    for name, change, alpha in (
        ("growth of cans", cans, can.expansion_per_K),
        ("growth of frame", frame, guides.frame_expansion_per_K),
    ):
        why = f"{alpha * 1e6:.1f} µm/(m K) over {warming:+.0f} K since setting"
        terms.append(
            SlackTerm(name, change, change, "fixed", why, scales=name == "growth of frame")
        )
    return terms[0], terms[1]


def _bow(stage: Stage) -> SlackTerm:
    guides = stage.guides
    span = slackest_span(guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    if span is None:
        return SlackTerm("bow at mid-span", 0.0, 0.0, "fixed", "a single bracket, no span")
    why = (
        f"both sides, span {span.span_mm:.0f} mm at {span.tension_N:.0f} N under"
        f" {stage.pack_pressure_N_per_m:g} N/m of push; none at a bracket"
    )
    if span.slack:
        why = f"both sides, {span.reason}"
    remedy = "add a bracket or raise the wire tension"
    return SlackTerm("bow at mid-span", 0.0, 2.0 * span.outward_mm, "fixed", why, remedy=remedy)


def _bracket_difference(guides: Guides) -> SlackTerm:
    if guides.shape == "funnel":
        why = "a funnel, whose brackets differ on purpose; slack is that of its narrowest"
        return SlackTerm("bracket difference", 0.0, 0.0, "fixed", why)
    return SlackTerm(
        "bracket difference",
        0.0,
        guides.widest_mm - guides.narrowest_mm,
        "fixed",
        f"brackets stand from {guides.narrowest_mm:g} to {guides.widest_mm:g} mm",
        remedy="set all brackets alike",
    )


def _setting_step(guides: Guides) -> SlackTerm:
    step = guides.setting_step_mm
    return SlackTerm(
        "setting step",
        -step,
        step,
        "tolerance",
        f"each side is right to half of its {step:g} mm step",
        spread_mm=step / math.sqrt(2.0),  # two sides, half a step each, independent
        remedy="use a finer setting step, or set with a gauge",
    )


def _wear(guides: Guides) -> SlackTerm:
    wear = 2.0 * guides.wear_mm
    why = f"{guides.wear_mm:g} mm worn off each side where it is worn, none elsewhere"
    return SlackTerm("wear", 0.0, wear, "fixed", why, remedy="renew the worn guides")
