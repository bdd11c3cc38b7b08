"""What the sheets of a size change say, on the terminal and on paper alike."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from packsim.report.words.display import Display
from packsim.size_change import SizeChange, StageChange

__all__ = ["KEEP_WORDS", "SOURCE_WORDS", "stage_facts", "tips_text"]

SOURCE_WORDS: Final = {
    "window": "middle of the window",
    "stays": "as it stands, inside the window",
    "low end": "low end, so that it does not jam",
    "reach": "as far as the brackets go",
    "record": "setting on record for this size",
}
"""Where a stage's new setting comes from."""

KEEP_WORDS: Final = {"rate": "same cans per minute", "dwell": "same mat speed, same dwell"}
"""What is kept."""


def stage_facts(stage: StageChange, display: Display) -> list[str]:
    """Return what to know about one stage, in lines without an end mark."""
    before, after, window = stage.before, stage.after, stage.after.window
    suits = "empty"
    if not window.empty:
        suits = f"{display.length(window.low_mm, unit=False)} to {display.length(window.high_mm)}"
    lanes = [answer.pack.lanes for answer in (before, after)]
    width = _pair(before.pack.clear_width_mm, after.pack.clear_width_mm, display)
    lines = [
        f"wall to wall {width} ({SOURCE_WORDS[stage.source]}); guide window {suits}",
        f"lanes {lanes[0]} → {lanes[1]}; dwell {before.dwell_s:.1f} → {after.dwell_s:.1f} s; "
        f"cans {before.tipping.verdict} → {after.tipping.verdict}",
        _shift(stage, display),
    ]
    if stage.hold_down is not None:
        over = display.length(stage.hold_down.clearance_mm)
        lines.append(f"hold-down {over} over the can tops ({stage.hold_down.why})")
    return lines


def _shift(stage: StageChange, display: Display) -> str:
    words = "pack stays in the middle it has"
    if display.length(abs(stage.shift_mm), unit=False) != display.length(0.0, unit=False):
        side = "right" if stage.shift_mm > 0.0 else "left"
        words = f"pack shifts {display.length(abs(stage.shift_mm))} to the {side}"
    old, new = stage.before.alignment, stage.after.alignment
    if old is None or new is None:
        return words
    return (
        f"{words}; worst lane off its nozzle {_pair(old.now.worst_mm, new.now.worst_mm, display)}"
    )


def _pair(now_mm: float, new_mm: float, display: Display) -> str:
    shown = display.length(now_mm, unit=False), display.length(new_mm)
    return shown[1] if shown[0] == shown[1].split()[0] else f"{shown[0]} → {shown[1]}"


def tips_text(change: SizeChange, display: Display) -> tuple[str, str]:
    """Return the tips to be expected before and after, and what they rest on.

    Parameters
    ----------
    change : SizeChange
        The change.
    display : Display
        Unit system.

    Returns
    -------
    tips, basis : str
        For the whole line by the row model, slack spread over a row and gathered in one gap; and
        the trials by name, or that the kicks are assumed.
    """
    sums = []
    for answers in (
        [stage.before for stage in change.stages],
        [stage.after for stage in change.stages],
    ):
        spread = _whole_line(answer.chance.per_million for answer in answers)
        gathered = _whole_line(answer.chance_gathered.per_million for answer in answers)
        sums.append(" / ".join(display.per_million(rate) for rate in (spread, gathered)))
    trials = dict.fromkeys(stage.kicks_from for stage in change.stages if stage.kicks_from)
    basis = "slack spread / gathered; assumed kicks"
    if trials:
        basis = f"slack spread / gathered; kicks fitted to {'; '.join(trials)}"
        if not all(stage.kicks_from for stage in change.stages):
            basis += "; elsewhere assumed"
    return " → ".join(sums), basis


def _whole_line(per_million: Iterable[float]) -> float:
    """Join the chances of stages a can passes one after the other [cans in a million]."""
    shares = [rate / 1e6 for rate in per_million]
    if any(share >= 1.0 for share in shares):
        return 1e6
    return -1e6 * math.expm1(math.fsum(math.log1p(-share) for share in shares)) + 0.0
