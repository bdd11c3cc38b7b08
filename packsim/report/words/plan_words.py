"""How many cans a trial takes, in words."""

import math

from packsim.report.words.numbers import per_million, thousands
from packsim.trial.trial_plan import TrialPlan


def cans_needed(plan: TrialPlan) -> list[tuple[str, str, str]]:
    """Return how many cans each question takes: the question, its rates, cans with their hours."""
    rows = []
    for one in plan.comparisons:
        rates = f"{per_million(one.first_tips_per_million)} against "
        rates += f"{per_million(one.second_tips_per_million)} tips per million"
        rows.append((one.what, rates, f"{_cans_and_hours(plan, one.cans)} at each"))
    for rate, cans in plan.quiet:
        what = f"to show fewer than {rate:g} tips per million"
        rows.append((what, "if not one can tips (95 %)", _cans_and_hours(plan, cans)))
    return rows


def _cans_and_hours(plan: TrialPlan, cans: float) -> str:
    if not math.isfinite(cans):
        return "never"
    hours = plan.hours(cans)
    if not math.isfinite(hours):
        return f"{per_million(cans)} cans"
    time = f"{hours * 60:.0f} min" if hours < 1.5 else f"{thousands(hours)} h"
    return f"{per_million(cans)} cans, {time}"
