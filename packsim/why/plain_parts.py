"""Parts of the reasons as plain data."""

from __future__ import annotations

import math
from typing import Any

from packsim.answers import Answer
from packsim.plain import number
from packsim.tipping.row_parting import RowParting
from packsim.tipping.sliding import Sliding
from packsim.why.energy import Energies
from packsim.why.leaning import CanLeans
from packsim.why.sprays import SprayTerms
from packsim.why.wires import WireReasons


def degrees(rad: float) -> float | None:
    """Return an angle [rad] in degrees, None if it is not finite."""
    return number(math.degrees(rad))


def cans_json(leans: CanLeans) -> list[dict[str, Any]]:
    """Every can of the pack as laid, for half a metre or so of mat, after which it repeats."""
    own, all_in = leans.own, leans.gathered
    return [
        {
            "along_mm": float(leans.centres_mm[i, 0]),
            "across_mm": float(leans.centres_mm[i, 1]),
            "held": bool(own.held[i]),
            "own_lean_deg": degrees(float(own.worst_rad[i])),
            "own_direction_deg": math.degrees(float(own.worst_direction_rad[i])) % 360.0,
            "own_index": number(float(own.index[i])),
            "gathered_slack_mm": float(all_in.slack_mm[i]),
            "gathered_left_deg": degrees(float(all_in.left_rad[i])),
            "gathered_right_deg": degrees(float(all_in.right_rad[i])),
            "gathered_index": number(float(all_in.index[i])),
        }
        for i in range(len(own))
    ]


def parting_json(parting: RowParting) -> dict[str, Any]:
    """Return what short rows of a crosswise pack could gather."""
    return {
        "pocket_mm": parting.pocket_mm,
        "row_slack_mm": parting.row_slack_mm,
        "parting_for_safe_slack_mm": number(parting.parting_mm),
        "rows_that_hold_it": number(parting.rows),
    }


def wires_json(wires: WireReasons) -> dict[str, Any]:
    """Return each wire, how it hangs, and the fewest for all sizes."""
    span = wires.span
    return {
        "wires": [
            {
                "height_mm": w.height_mm,
                "lowest_mm": w.lowest_mm,
                "limit_mm": w.limit_mm,
                "governs": w.governs,
                "serves": list(w.serves),
            }
            for w in wires.wires
        ],
        "span": None
        if span is None
        else {
            "span_mm": span.span_mm,
            "tension_N": span.tension_N,
            "sag_mm": span.sag_mm,
            "bow_mm": span.bow_mm,
            "give_mm": span.give_mm,
            "takeup_mm": span.takeup_mm,
            "slack": span.slack,
        },
        "bands": [
            {
                "size": b.size,
                "duty": b.use,
                "low_mm": b.low_mm,
                "high_mm": b.high_mm,
                "served": b not in wires.open_bands,
            }
            for b in wires.bands
        ],
        "fewest_mm": list(wires.plan.heights_mm),
        "why": wires.plan.why,
    }


def sprays_json(spray: SprayTerms) -> dict[str, Any]:
    """Return the load of the sprays header by header."""
    return {
        "lane": spray.lane,
        "across_mm": spray.across_mm,
        "along_mm": spray.along_mm,
        "headers": [
            {
                "side": h.side,
                "station_mm": h.station_mm,
                "push_N": h.push_N,
                "lateral_N": list(h.lateral_N),
                "moment_N_mm": list(h.moment_N_mm),
            }
            for h in spray.headers
        ],
        "weight_N": spray.weight_N,
        "normal_N": spray.normal_N,
        "moment_N_mm": spray.moment_N_mm,
        "balance_lost_deg": degrees(spray.lost_rad),
        "balance_deg": degrees(spray.balance_rad),
        "hold_margin": spray.hold_margin,
        "best_shift_mm": spray.shift_mm,
        "least_margin": spray.margin_now,
        "least_margin_shifted": spray.margin_shifted,
        "balance_shifted_deg": degrees(spray.shifted_balance_rad),
    }


def energy_json(energy: Energies, answer: Answer) -> dict[str, Any]:
    """Return overturning energies against the kicks."""
    return {
        "cans_in_row": energy.cans,
        "alone_mJ": energy.alone_mJ,
        "slack_mm": energy.slack_mm,
        "gathered_edge_mJ": number(energy.edge_mJ),
        "gathered_second_mJ": number(energy.second_mJ),
        "gathered_middle_mJ": number(energy.middle_mJ),
        "even_mJ": number(energy.even_mJ),
        "kick_mJ": energy.kick_mJ,
        "kick_rate_per_s": energy.kick_rate_per_s,
        "dwell_s": energy.dwell_s,
        "kick_trial": energy.kick_trial or None,
        "tips_per_million": answer.chance.per_million,
        "tips_per_million_loosest": answer.chance_loosest.per_million,
    }


def sliding_json(slide: Sliding) -> dict[str, Any]:
    """Return what becomes of a can that leans so far."""
    return {
        "lean_deg": degrees(slide.lean_rad),
        "limit_deg": degrees(slide.limit_rad),
        "friction_needed": number(slide.friction_needed),
        "outcome": slide.outcome,
    }
