"""What to know about the guide window of the new size before a size change is made."""

from __future__ import annotations

import math

from packsim.line import Scenario
from packsim.size_change.alert import Alert, alert
from packsim.size_change.size_change import StageChange

__all__ = ["window_alerts"]


def window_alerts(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    """Return what a stage's new setting has to do with its guide window.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    i : int
        Number of the stage.
    change : StageChange
        What is planned for it.

    Returns
    -------
    list of Alert
        None, or one: the window is empty, the setting lies outside it, or it is a narrow one.
    """
    window, width = change.after.window, change.after.pack.clear_width_mm
    spans = {"width": width, "low": window.low_mm, "high": window.high_mm}
    if change.after.tipping.balance_angle_rad <= 0.0:
        return []  # the sprays alone turn cans over: said by its own rule
    if window.empty:
        what = "no setting suits: between tight and loose {missing} are missing"
        spans["missing"] = -window.width_mm
        do = _attack(change, spans)
        if change.source == "low end":
            what += "; {width} is set, the low end, so that the pack does not jam"
        return [alert("change", change.stage, what, do, spans)]
    verdict = window.verdict(width)
    if verdict != "inside" and change.source == "record":
        what = f"the setting on record, {{width}}, is {verdict} for the guide window, {{low}} to"
        do = "delete it from the scenario to have it planned anew"
        return [alert("change", change.stage, what + " {high}", do, spans)]
    if verdict != "inside" and change.source == "window":
        spans["middle"] = (window.low_mm + window.high_mm) / 2.0
        what = "no whole step of both sides lies in the guide window, {low} to {high}"
        return [alert("watch", change.stage, what, "set it to {middle} with a gauge", spans)]
    if not window.finding or change.source != "window":
        return []
    step = change.after.budget.setting_step_mm
    what = window.finding.replace(f"{step:g} mm", "{step}")
    return [alert("watch", change.stage, what, "", {"step": step})]


def _attack(change: StageChange, spans: dict[str, float]) -> str:
    """Say what to reduce until an empty window opens, and what stays missing after all of it."""
    window, parts = change.after.window, []
    for i, part in enumerate(window.attack):
        spans[f"now{i}"], spans[f"take{i}"] = part.now_mm, part.take_mm
        parts.append(f"{part.term} takes {{now{i}}}, {{take{i}}} of it must go: {part.cure}")
    left = -window.width_mm - math.fsum(part.take_mm for part in window.attack)
    if left > 1e-6:
        spans["left"] = left
        parts.append("{left} stay missing: raise the safe slack or run cans of closer diameter")
    return "; then ".join(parts)
