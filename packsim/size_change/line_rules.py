"""What to know about a size change that is no matter of one stage: size, rate, lanes, joints."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from packsim.findings import Finding, tell
from packsim.line import Bracket, Scenario
from packsim.size_change.size_change import SizeChange, StageChange

STEP_AT_JOINT_MM: Final = 3.0
"""A guide that stands this much farther in than the one before makes a corner cans run against
(assumed; a few millimetres are lost in the bow of the wires)."""


def line_rules(scenario: Scenario, change: SizeChange) -> Iterator[Finding]:
    """Yield what holds for the line: size set for, rate, lanes, corners between stages."""
    yield from _set_for(scenario, change)
    yield from _rate(change)
    for i, (one, other) in enumerate(pairwise(change.stages)):
        yield from _lanes_change(one, other)
        yield from _corner(scenario, i, one, other)


def _of_line(change: SizeChange, level: str, what: str, do: str, **words: str) -> Finding:
    return Finding(level, change.to_size, (), what, do, values=(words,))


def _set_for(scenario: Scenario, change: SizeChange) -> Iterator[Finding]:
    if change.from_size != scenario.set_for:
        what = (
            "the scenario says the guides are set for {set_for}, not {leaves}: 'now' is where they "
            "stand in the scenario"
        )
        do = "measure as found before moving anything"
        words = {"set_for": scenario.set_for, "leaves": change.from_size}
        yield _of_line(change, "watch", what, do, **words)


def _rate(change: SizeChange) -> Iterator[Finding]:
    if min(change.cans_per_min) <= 0.0:
        what = "one of the two sizes does not fit in some stage, so there is no rate to keep"
        do = "the mat speed is left as it is; set it when the size fits"
        yield _of_line(change, "change", what, do)
        return
    ratio = change.speed_mm_per_s[0] / change.speed_mm_per_s[1]
    if abs(ratio - 1.0) > 0.005:
        what = f"every dwell becomes {{percent}} % {'longer' if ratio > 1.0 else 'shorter'}"
        do = "check wash strength, rinse and drying for it"
        yield _of_line(change, "note", what, do, percent=f"{abs(ratio - 1.0) * 100:.1f}")


def _lanes_change(one: StageChange, other: StageChange) -> Iterator[Finding]:
    lanes = one.after.pack.lanes, other.after.pack.lanes
    was_one = one.before.pack.lanes == other.before.pack.lanes
    if one.after.pack.layout != other.after.pack.layout or lanes[0] == lanes[1] or not was_one:
        return
    yield tell(
        other.after,
        "watch",
        "{from} lanes in {before}, {to} in {stage}: the pack must re-form between the stages",
        "expect gaps there; watch the first cans",
        **{"from": str(lanes[0]), "to": str(lanes[1])},
        before=one.stage,
        stage=other.stage,
    )


def _corner(
    scenario: Scenario, index: int, one: StageChange, other: StageChange
) -> Iterator[Finding]:
    """Guides that step inwards from one stage to the next more than they do now."""
    now = [scenario.stages[i].guides.brackets for i in (index, index + 1)]
    new = _steps_in(one.brackets[-1], other.brackets[0])
    old = _steps_in(now[0][-1], now[1][0])
    for side, after, before in zip(("left", "right"), new, old, strict=True):
        if after > STEP_AT_JOINT_MM and after > before + 1e-6:
            yield tell(
                other.after,
                "watch",
                f"the {side} guide of {{stage}} stands {{step_mm}} farther in than {{before}}",
                "see that no can catches on the corner",
                stage=other.stage,
                before=one.stage,
                step_mm=after,
            )


def _steps_in(last: Bracket, first: Bracket) -> tuple[float, float]:
    return first.left_mm - last.left_mm, last.right_mm - first.right_mm
