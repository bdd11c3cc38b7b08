"""Every rule findings are made by, in the order an engineer would ask."""

from __future__ import annotations

from typing import Final

from packsim.answers import Answer
from packsim.line import Scenario
from packsim.study.machine_rules import (
    header_height,
    hold_down_height,
    nozzles,
    sprays_alone,
    wires,
)
from packsim.study.pack_rules import pack_fits, parted, room_for_a_can, tipping, window
from packsim.study.pocket_rules import pockets
from packsim.study.reach_rules import bracket_travel
from packsim.study.remark import Remark, Rule

__all__ = ["RULES"]


def all_well(scenario: Scenario, answer: Answer) -> Remark | None:
    """Nothing else had anything to say."""
    others = [rule for rule in RULES if rule is not all_well]
    if any(rule(scenario, answer) for rule in others):
        return None
    return Remark("note", "held, inside the guide window")


RULES: Final[tuple[Rule, ...]] = (
    pack_fits,
    wires,
    hold_down_height,
    header_height,
    sprays_alone,
    tipping,
    parted,
    window,
    bracket_travel,
    pockets,
    nozzles,
    room_for_a_can,
    all_well,
)
"""Every rule, in the order an engineer would ask."""
