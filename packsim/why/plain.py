"""Reasons as plain data, ready for JSON: schema 1."""

from __future__ import annotations

from typing import Any

from packsim.answers import Answer
from packsim.plain import number
from packsim.why.plain_parts import (
    cans_json,
    degrees,
    energy_json,
    parting_json,
    sliding_json,
    sprays_json,
    wires_json,
)
from packsim.why.why import Reasons


def reasons_json(found: Reasons) -> dict[str, Any]:
    """Return reasons as nested dicts and lists of plain values.

    Parameters
    ----------
    found : Reasons
        The reasons.

    Returns
    -------
    dict
        Keys ``schema`` (1), ``scenario``, ``seed``, ``stage``, ``size``, ``width``, ``slack``,
        ``cans``, ``rows_parted``, ``wires``, ``hold_down``, ``sprays``, ``energy``, ``sliding``,
        ``rocking`` and ``assumed``. Lengths in mm, angles in degrees, forces in N, energies in mJ.
        None stands for a number that does not exist.
    """
    answer, rock = found.answer, found.rocking
    hold = answer.hold_down
    return {
        "schema": 1,
        "scenario": found.scenario.name,
        "seed": found.scenario.seed,
        "stage": answer.stage,
        "size": answer.size,
        "width": _width(answer),
        "slack": _slack(found),
        "cans": None if found.leans is None else cans_json(found.leans),
        "rows_parted": None if found.parting is None else parting_json(found.parting),
        "wires": wires_json(found.wires),
        "hold_down": None
        if hold is None
        else {
            "clearance_mm": hold.clearance_mm,
            "limit_mm": hold.limit_mm,
            "meets_deg": degrees(hold.meets_rad),
            "state": hold.state,
        },
        "sprays": None if found.spray is None else sprays_json(found.spray),
        "energy": None if found.energies is None else energy_json(found.energies, answer),
        "sliding": {
            "mat_friction": found.scenario.mat.friction,
            "on_neighbour": sliding_json(found.on_neighbour),
            "on_wire": None if found.on_wire is None else sliding_json(found.on_wire),
        },
        "rocking": {
            "start_deg": degrees(rock.start_rad),
            "period_s": rock.period_s,
            "speed_kept": rock.kept,
            "impulse_N_s": rock.impulse_N_s,
            "mat_speed_step_mm_per_s": rock.speed_mm_per_s,
            "onset_m_per_s2": rock.onset_m_per_s2,
        },
        "assumed": [{"key": a.key, "value": a.value, "why": a.why} for a in found.assumed],
    }


def _width(answer: Answer) -> dict[str, Any]:
    pack, budget, window = answer.pack, answer.budget, answer.window
    return {
        "layout": pack.layout,
        "state": pack.state,
        "lanes": pack.lanes,
        "lanes_meant": answer.lanes_meant.lanes,
        "diameter_mm": budget.diameter_mm,
        "pack_width_mm": budget.pack_width_mm,
        "clear_width_mm": budget.clear_width_mm,
        "slack_as_set_mm": budget.slack_mm,
        "terms": [
            {
                "name": t.name,
                "tightest_mm": t.tightest_mm,
                "loosest_mm": t.loosest_mm,
                "kind": t.kind,
                "spread_mm": t.spread_mm,
                "why": t.why,
            }
            for t in budget.terms
        ],
        "tightest_mm": budget.tightest_mm,
        "loosest_mm": budget.loosest_mm,
        "tightest_rss_mm": budget.tightest_rss_mm,
        "loosest_rss_mm": budget.loosest_rss_mm,
        "window_low_mm": None if window.empty else window.low_mm,
        "window_high_mm": None if window.empty else number(window.high_mm),
        "missing_mm": -window.width_mm if window.empty else 0.0,
        "high_by": window.high_by,
        "target_mm": window.target_mm,
    }


def _slack(found: Reasons) -> dict[str, Any]:
    tipping, stance = found.answer.tipping, found.answer.stance
    return {
        "radius_mm": stance.radius_mm,
        "height_mm": stance.height_mm,
        "cg_mm": stance.cg_mm,
        "mass_kg": stance.mass_kg,
        "pool_fraction": found.stage.pool_fraction,
        "balance_at_rest_deg": degrees(tipping.rest_angle_rad),
        "balance_sprayed_deg": degrees(tipping.balance_angle_rad),
        "centre_limit_mm": tipping.safe.centre_mm,
        "edge_limit_mm": tipping.safe.edge_mm,
        "governing_wire_mm": tipping.safe.governing_wire_mm,
        "safe_slack_mm": tipping.safe.slack_mm,
        "governing": tipping.safe.governing,
        "factor": found.scenario.factor,
        "allowed_mm": tipping.safe.slack_mm / found.scenario.factor,
        "loosest_mm": tipping.loosest_slack_mm,
        "lean_edge_deg": degrees(tipping.loosest.edge_lean_rad),
        "lean_centre_deg": degrees(tipping.loosest.centre_lean_rad),
        "index_edge": number(tipping.loosest.edge),
        "index_centre": number(tipping.loosest.centre),
        "index_own": number(tipping.own.index),
        "index_gathered": number(tipping.gathered.index),
        "verdict": tipping.verdict,
    }
