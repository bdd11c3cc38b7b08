"""Plans, fits and costs as plain data, ready for JSON: schema 1."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from packsim.passage.counting import poisson_interval
from packsim.plain import number
from packsim.trial.cost import Spoilage, SpoilageChange
from packsim.trial.foretell import FittedPrediction
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.statements import statements
from packsim.trial.trial import Trial
from packsim.trial.trial_plan import TrialPlan


def plan_json(plan: TrialPlan) -> dict[str, Any]:
    """Return a trial plan as plain values; lengths in mm, None where there is no number."""
    names = [room.stage for room in plan.stages]
    return {
        "schema": 1,
        "scenario": plan.scenario.name,
        "size": plan.size,
        "power": plan.power,
        "alpha": plan.alpha,
        "cans_per_minute": plan.cans_per_min,
        "stages": [
            {
                "stage": room.stage,
                "now_mm": room.now_mm,
                "window_mm": None if room.window_empty else [room.low_mm, room.high_mm],
                "last_safe_mm": None if room.none_safe else room.last_safe_mm,
            }
            for room in plan.stages
        ],
        "settings": [
            {
                "name": setting.name,
                "why": setting.why,
                "recommended": setting.recommended,
                "expected_per_million": setting.per_million,
                "widths_mm": dict(zip(names, setting.widths_mm, strict=True)),
            }
            for setting in plan.settings
        ],
        "comparisons": [
            {
                "what": one.what,
                "first_per_million": one.first_per_million,
                "second_per_million": one.second_per_million,
                "cans_at_each": number(one.cans),
            }
            for one in plan.comparisons
        ],
        "quiet": [{"per_million": rate, "cans": cans} for rate, cans in plan.quiet],
        "notes": list(plan.notes),
    }


def fit_json(
    fit: TrialFit, predictions: Sequence[FittedPrediction], size: str, run_cans: float
) -> dict[str, Any]:
    """Return a fit and its predictions as plain values; energies in mJ, lengths in mm."""
    return {
        "schema": 1,
        "scenario": fit.scenario.name,
        "seed": fit.scenario.seed,
        "model": {"sharing": fit.sharing, "slack": fit.slack_case, "common_factor": fit.common},
        "confidence": fit.confidence,
        "trials": [_trial(trial, fit) for trial in fit.trials],
        "groups": [_group(group) for group in fit.groups],
        "statements": list(statements(fit)),
        "predictions": [_prediction(one, size, run_cans) for one in predictions],
    }


def cost_json(change: SpoilageChange) -> dict[str, Any]:
    """Return a comparison of two settings as plain values."""
    rates = {"before": change.before, "after": change.after, "saved": change.saved}
    data: dict[str, Any] = {
        "schema": 1,
        "size": change.size,
        "before_mm": list(change.before_mm),
        "after_mm": list(change.after_mm),
        "cans_per_year": change.cans_per_year,
        "per_million": {key: _spoilage(rate) for key, rate in rates.items()},
        "cans_tipped_per_year": {key: _spoilage(change.cans(r)) for key, r in rates.items()},
        "assumed_duties": list(change.assumed),
    }
    if change.cost_per_can is not None:
        data["cost_per_year"] = {
            key: _spoilage(cost)
            for key, cost in ((k, change.cost(r)) for k, r in rates.items())
            if cost is not None
        }
    if change.break_even_cans is not None:
        data["break_even_cans"] = _spoilage(change.break_even_cans)
    return data


def _trial(trial: Trial, fit: TrialFit) -> dict[str, Any]:
    low, high = poisson_interval(trial.tipped, fit.confidence)
    return {
        "name": trial.name,
        "date": trial.date.isoformat(),
        "size": trial.size,
        "line": trial.line,
        "cans": trial.cans,
        "tipped": trial.tipped,
        "per_million": trial.per_million,
        "per_million_interval": [1e6 * low / trial.cans, 1e6 * high / trial.cans],
        "by_place": None if trial.by_place is None else list(trial.by_place),
        "stages": [
            {"stage": s.stage, "clear_width_mm": s.clear_width_mm, "tipped": s.tipped}
            for s in trial.stages
        ],
        "remarks": trial.remarks,
        "used": trial not in fit.left_out,
    }


def _group(group: GroupFit) -> dict[str, Any]:
    result, quality = group.estimate, group.quality
    energies = []
    for duty, base in zip(group.duties, group.base_mJ, strict=True):
        row: dict[str, Any] = {"duty": duty, "before_mJ": base, "energy_mJ": None}
        if result is not None:
            row["low_mJ"] = group.energy_mJ(duty, result.low)
            row["high_mJ"] = number(group.energy_mJ(duty, result.high))
            if result.status == "fitted":
                row["energy_mJ"] = group.energy_mJ(duty)
        energies.append(row)
    return {
        "status": group.status,
        "energies": energies,
        "tipped": group.tipped,
        "settings": group.settings,
        "deviance": None if quality is None else quality.deviance,
        "freedom": None if quality is None else quality.freedom,
        "p_value": None if quality is None else quality.p_value,
        "tips_the_model_rules_out": sum(one.tipped for one in group.ruled_out),
    }


def _prediction(one: FittedPrediction, size: str, run_cans: float) -> dict[str, Any]:
    return {
        "size": size,
        "widths_mm": list(one.widths_mm),
        "per_million": one.per_million,
        "interval": [one.low, number(one.high)],
        "run": None if one.run is None else {"cans": run_cans, "tipped": list(one.run)},
        "assumed_duties": list(one.assumed),
    }


def _spoilage(value: Spoilage) -> dict[str, float | None]:
    return {"best": number(value.best), "low": number(value.low), "high": number(value.high)}
