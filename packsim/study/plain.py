"""A study as plain data, ready for JSON: schema 1."""

from __future__ import annotations

import math
from typing import Any

from packsim.answers import Alignment, Answer, Tipping, WorstLean
from packsim.assumption import Assumption
from packsim.findings import Finding
from packsim.plain import number
from packsim.study.study import Study
from packsim.width.guide_window import GuideWindow
from packsim.width.slack_terms import SlackBudget

__all__ = ["study_json"]


def study_json(study: Study) -> dict[str, Any]:
    """Return a study as nested dicts and lists of plain values.

    Parameters
    ----------
    study : Study
        The study.

    Returns
    -------
    dict
        Keys ``schema`` (1), ``scenario``, ``seed``, ``answers`` and ``findings``. Lengths in mm,
        angles in degrees, times in s, cans per minute. None stands for a number that does not
        exist: no window, no limit, a lean that nothing stops.
    """
    return {
        "schema": 1,
        "scenario": study.scenario.name,
        "about": study.scenario.about.strip(),
        "seed": study.seed,
        "set_for": study.scenario.set_for,
        "factor": study.scenario.factor,
        "answers": [_answer(answer) for answer in study.answers],
        "findings": [_finding(finding) for finding in study.findings],
    }


def _answer(answer: Answer) -> dict[str, Any]:
    pack, voids = answer.pack, answer.voids
    return {
        "stage": answer.stage,
        "size": answer.size,
        "pack": {
            "layout": pack.layout,
            "state": pack.state,
            "lanes": pack.lanes,
            "clear_width_mm": pack.clear_width_mm,
            "pack_width_mm": pack.pack_width_mm,
            "slack_mm": pack.slack_mm,
            "cans_per_metre": pack.cans_per_metre,
            "density": pack.density,
            "fill": pack.fill,
            "reason": pack.reason,
        },
        "voids": {
            "count": voids.count,
            "length_mm": pack.length_mm,
            "free_area_fraction": number(voids.free_area_fraction),
            "largest_circle_mm": number(voids.largest_circle_mm),
            "by_place": dict(voids.by_place),
        },
        "tipping": _tipping(answer.tipping),
        "hold_down": None
        if answer.hold_down is None
        else {
            "clearance_mm": answer.hold_down.clearance_mm,
            "limit_mm": answer.hold_down.limit_mm,
            "state": answer.hold_down.state,
        },
        "spray": _spray(answer),
        "budget": _budget(answer.budget),
        "window": _window(answer.window),
        "window_rss": _window(answer.window_rss),
        "nozzles": _nozzles(answer.alignment),
        "flow": {
            "cans_per_minute": answer.flow.cans_per_min,
            "speed_mm_per_s": answer.flow.speed_mm_per_s,
            "dwell_s": answer.dwell_s,
        },
        "chance": {
            "model": "row; slack spread, as set; all gathered, as set; spread, loosest case",
            "per_million": answer.chance.per_million,
            "per_million_gathered": answer.chance_gathered.per_million,
            "per_million_loosest": answer.chance_loosest.per_million,
        },
        "assumed": [_assumption(assumption) for assumption in answer.assumed],
    }


def _tipping(tipping: Tipping) -> dict[str, Any]:
    return {
        "balance_angle_deg": math.degrees(tipping.balance_angle_rad),
        "rest_angle_deg": math.degrees(tipping.rest_angle_rad),
        "safe_slack_mm": tipping.safe.slack_mm,
        "safe_slack_edge_mm": tipping.safe.edge_mm,
        "safe_slack_centre_mm": tipping.safe.centre_mm,
        "governing": tipping.safe.governing,
        "governing_wire_mm": tipping.safe.governing_wire_mm,
        "loosest_slack_mm": tipping.loosest_slack_mm,
        "index_edge": number(tipping.loosest.edge),
        "index_centre": number(tipping.loosest.centre),
        "index_own": number(tipping.own_index),
        "own_place": tipping.own_place,
        "own": _worst(tipping.own),
        "index_gathered": number(tipping.gathered.index),
        "gathered": _worst(tipping.gathered),
        "verdict": tipping.verdict,
    }


def _worst(worst: WorstLean) -> dict[str, Any]:
    return {
        "lean_deg": math.degrees(worst.lean_rad),
        "direction_deg": math.degrees(worst.direction_rad) % 360.0,
        "towards": worst.towards,
        "place": worst.place,
        "across_mm": worst.across_mm,
        "slack_mm": worst.slack_mm,
    }


def _spray(answer: Answer) -> dict[str, Any] | None:
    if answer.spray is None:
        return None
    return {
        "least_hold_margin": number(float(answer.spray.hold_margin.min())),
        "least_normal_N": number(float(answer.spray.normal_N.min())),
        "weight_N": answer.stance.weight_N,
        "lifted_lanes": int(answer.spray.lifted.sum()),
    }


def _budget(budget: SlackBudget) -> dict[str, Any]:
    return {
        "slack_mm": budget.slack_mm,
        "tightest_mm": budget.tightest_mm,
        "loosest_mm": budget.loosest_mm,
        "tightest_rss_mm": budget.tightest_rss_mm,
        "loosest_rss_mm": budget.loosest_rss_mm,
        "terms": [
            {
                "name": term.name,
                "tightest_mm": term.tightest_mm,
                "loosest_mm": term.loosest_mm,
                "why": term.why,
            }
            for term in budget.terms
        ],
    }


def _window(window: GuideWindow) -> dict[str, Any]:
    return {
        "low_mm": None if window.empty else window.low_mm,
        "high_mm": None if window.empty else number(window.high_mm),
        "target_mm": window.target_mm,
        "high_by": window.high_by,
        "empty_because": window.empty_because or None,
        "attack": [part.advice for part in window.attack],
    }


def _nozzles(alignment: Alignment | None) -> dict[str, Any] | None:
    if alignment is None:
        return None
    return {
        "side": alignment.side,
        "worst_misalignment_mm": alignment.now.worst_mm,
        "rms_misalignment_mm": alignment.now.rms_mm,
        "best_shift_mm": alignment.best.shift_for_worst_mm,
        "worst_after_shift_mm": alignment.best.worst_mm,
        "rms_shift_mm": alignment.best.shift_for_rms_mm,
        "rms_after_shift_mm": alignment.best.rms_mm,
        "limited_by_room": alignment.best.limited_by_room,
    }


def _assumption(assumption: Assumption) -> dict[str, str]:
    return {"key": assumption.key, "value": assumption.value, "why": assumption.why}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "level": finding.level,
        "size": finding.size,
        "stages": list(finding.stages),
        "what": finding.what,
        "do": finding.do,
    }
