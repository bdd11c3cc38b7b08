"""The rule about a pack whose rows run straight across: its pockets at the guides."""

from __future__ import annotations

import math

from packsim.line import Scenario
from packsim.setting.row_parting import RowParting, row_parting
from packsim.setup import Setup
from packsim.studies.remark import Remark

__all__ = ["pockets"]


def pockets(scenario: Scenario, setup: Setup) -> Remark | None:
    """Short rows that could gather more slack than is safe, however tight the guides stand."""
    safe = setup.tipping.safe.slack_mm
    blocked = setup.hold_down is not None and setup.hold_down.blocks
    if safe <= 0.0 or blocked:
        return None
    found, limit = row_parting(setup.pack, safe), safe
    if found is not None and not found.can_gather:
        limit = safe / scenario.factor
        found = row_parting(setup.pack, limit)
    if found is None or not found.can_gather or found.parting_mm <= 0.0:
        return None  # nothing to part: the slack of full rows is past it already, and said so
    past = "lets a can past its balance point" if limit == safe else "is the most allowed"
    what = f"short rows leave pockets of {{pocket}} at the guides: {_when(scenario, setup, found)}"
    what += " its cans gather up to {row} of slack however tight the guides stand; {limit} " + past
    lengths = {
        "pocket": found.pocket_mm,
        "part": found.parting_mm,
        "row": found.row_slack_mm,
        "limit": limit,
    }
    do = "keep the infeed full and the rows together: no guide setting closes a pocket"
    return Remark("watch", what, do, lengths)


def _when(scenario: Scenario, setup: Setup, found: RowParting) -> str:
    """Say what has to happen along travel, and how little that is at this fill."""
    once = "once {part} of room along travel gathers beside one"
    length_mm = scenario.stage(setup.stage).length_mm
    if length_mm * (1.0 - setup.pack.fill) < found.parting_mm:
        return once + ", more than the whole stage holds at this fill,"
    rows = max(1, math.ceil(found.rows))
    hold = "1 row holds" if rows == 1 else f"{rows} rows hold"
    return f"{once}, what {hold} at a fill of {setup.pack.fill:g},"
