"""What to know about a size change that is no matter of one stage."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from packsim.line import Bracket, Scenario
from packsim.size_change.alert import Alert, alert
from packsim.size_change.size_change import SizeChange, StageChange

__all__ = ["STEP_AT_JOINT_MM", "line_alerts"]

STEP_AT_JOINT_MM: Final = 3.0
"""A guide that stands this much farther in than the one before makes a corner cans run against
(assumed; a few millimetres are lost in the bow of the wires)."""


def line_alerts(scenario: Scenario, change: SizeChange) -> list[Alert]:
    """Return what holds for the line: size set for, rate, lanes, joints between stages.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    change : SizeChange
        The planned change.

    Returns
    -------
    list of Alert
        In the order above.
    """
    found = _set_for(scenario, change.from_size) + _rate(change)
    for index, (one, other) in enumerate(pairwise(change.stages)):
        found += _joint(scenario, one, other, index)
    return found


def _set_for(scenario: Scenario, from_size: str) -> list[Alert]:
    if from_size == scenario.set_for:
        return []
    what = (
        f"the scenario says the guides are set for {scenario.set_for}, not {from_size}: "
        "'now' is where they stand in the scenario"
    )
    return [alert("watch", "", what, "measure as found before moving anything")]


def _rate(change: SizeChange) -> list[Alert]:
    if min(change.cans_per_min) <= 0.0:
        what = "one of the two sizes does not fit in some stage, so there is no rate to keep"
        return [alert("change", "", what, "the mat speed is left as it is")]
    ratio = change.speed_mm_per_s[0] / change.speed_mm_per_s[1]
    if abs(ratio - 1.0) <= 0.005:
        return []
    words = "longer" if ratio > 1.0 else "shorter"
    what = f"every dwell becomes {abs(ratio - 1.0) * 100:.1f} % {words}"
    return [alert("note", "", what, "check wash strength, rinse and drying for it")]


def _joint(scenario: Scenario, one: StageChange, other: StageChange, index: int) -> list[Alert]:
    """Guides that step inwards from one stage to the next more than they do now."""
    found = []
    if one.after.pack.layout == other.after.pack.layout:
        lanes = one.after.lanes_meant.lanes, other.after.lanes_meant.lanes
        was = one.before.lanes_meant.lanes == other.before.lanes_meant.lanes
        if lanes[0] != lanes[1] and was:
            what = f"{lanes[0]} lanes in {one.stage}, {lanes[1]} in {other.stage}"
            found.append(alert("watch", other.stage, what, "the pack has to nest anew in between"))
    now = [scenario.stages[i].guides.brackets for i in (index, index + 1)]
    new = _steps_in(one.brackets[-1], other.brackets[0])
    old = _steps_in(now[0][-1], now[1][0])
    for side, after, before in zip(("left", "right"), new, old, strict=True):
        if after > STEP_AT_JOINT_MM and after > before + 1e-6:
            what = f"the {side} guide of {other.stage} stands {{step}} farther in than {one.stage}"
            do = "see that no can catches on the corner"
            found.append(alert("watch", other.stage, what, do, {"step": after}))
    return found


def _steps_in(last: Bracket, first: Bracket) -> tuple[float, float]:
    return first.left_mm - last.left_mm, last.right_mm - first.right_mm
