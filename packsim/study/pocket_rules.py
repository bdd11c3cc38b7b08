"""The rule about a pack whose rows run straight across: its pockets at the guides."""

from __future__ import annotations

import math

from packsim.answers import Answer
from packsim.line import Scenario
from packsim.study.remark import Remark
from packsim.tipping.row_parting import RowParting, row_parting

__all__ = ["pockets"]


def pockets(scenario: Scenario, answer: Answer) -> Remark | None:
    """Short rows that could gather more slack than is safe, however tight the guides stand."""
    safe = answer.tipping.safe.slack_mm
    blocked = answer.hold_down is not None and answer.hold_down.blocks
    if safe <= 0.0 or blocked:
        return None
    found, limit = row_parting(answer.pack, safe), safe
    if found is not None and not found.can_gather:
        limit = safe / scenario.factor
        found = row_parting(answer.pack, limit)
    if found is None or not found.can_gather or found.parting_mm <= 0.0:
        return None  # nothing to part: the slack of full rows is past it already, and said so
    past = "lets a can past its balance point" if limit == safe else "is the most allowed"
    what = f"short rows leave pockets of {{pocket}} at the guides: {_when(scenario, answer, found)}"
    what += " its cans gather up to {row} of slack however tight the guides stand; {limit} " + past
    lengths = {
        "pocket": found.pocket_mm,
        "part": found.parting_mm,
        "row": found.row_slack_mm,
        "limit": limit,
    }
    do = "keep the infeed full and the rows together: no guide setting closes a pocket"
    return Remark("watch", what, do, lengths)


def _when(scenario: Scenario, answer: Answer, found: RowParting) -> str:
    """Say what has to happen along travel, and how little that is at this fill."""
    once = "once {part} of room along travel gathers beside one"
    length_mm = scenario.stage(answer.stage).length_mm
    if length_mm * (1.0 - answer.pack.fill) < found.parting_mm:
        return once + ", more than the whole stage holds at this fill,"
    rows = max(1, math.ceil(found.rows))
    hold = "1 row holds" if rows == 1 else f"{rows} rows hold"
    return f"{once}, what {hold} at a fill of {answer.pack.fill:g},"
