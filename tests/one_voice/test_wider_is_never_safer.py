"""Opening the guides never looks safer, unless the cans prove that the looser pack cannot be."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from packsim.answers import Answer, answer_stage
from packsim.line import Scenario
from packsim.pack.lattice import lanes_width_mm
from packsim.scenario import load_scenario

SHIPPED = ("first_look.toml", "height_only.toml", "oven_lane.toml", "swing_line.toml")
STEPS = 10
"""Widths tried per stage and size: from the tightest to two lanes too wide."""


def opened(scenario: Scenario, stage: str, size: str, fill: float | None) -> list[Answer]:
    """Answer a stage over widths from its judged lanes' exact fit to two lanes more."""
    now, can = scenario.stage(stage), scenario.size(size)
    lanes = answer_stage(scenario, stage, size).pack.lanes
    low, high = (lanes_width_mm(n, can.diameter_mm, now.layout) for n in (lanes, lanes + 2))
    more = lanes_width_mm(lanes + 1, can.diameter_mm, now.layout)
    found = []
    for width in sorted([*np.linspace(low, high, STEPS), more - 1.0, more]):
        set_to = now.with_clear_width(float(width))
        if fill is not None:
            set_to = replace(set_to, fill=fill)
        stages = tuple(set_to if s.name == stage else s for s in scenario.stages)
        found.append(answer_stage(scenario.with_stages(stages), stage, size))
    return found


def proven(before: Answer, after: Answer) -> bool:
    """Whether the lanes of the narrower width cannot carry the cans that come at the wider one."""
    judged = after.packs.judged
    return before.packs.judged.cans_per_metre < judged.fill * judged.cans_per_metre


@pytest.mark.parametrize("fill", [None, 0.9])
@pytest.mark.parametrize("name", SHIPPED)
def test_wider_is_never_safer(root: Path, name: str, fill: float | None) -> None:
    scenario = load_scenario(root / "scenarios" / name)
    ends = dict.fromkeys((scenario.stages[0].name, scenario.stages[-1].name))
    stages = {s.name: s for s in scenario.stages}
    sprayed = next((n for n, s in stages.items() if s.headers), scenario.stages[0].name)
    steps = 0
    for stage in dict.fromkeys((*ends, sprayed)):
        for can in scenario.sizes:
            answers = opened(scenario, stage, can.name, fill)
            for before, after in pairwise(answers):
                if after.pack.lanes > before.pack.lanes:
                    assert proven(before, after), (stage, can.name, after.pack.clear_width_mm)
                    steps += 1
                    continue
                where = stage, can.name, before.pack.clear_width_mm, after.pack.clear_width_mm
                assert after.pack.lanes == before.pack.lanes, where
                assert after.slack_mm >= before.slack_mm, where
                assert after.tipping.loosest_slack_mm >= before.tipping.loosest_slack_mm, where
                assert after.tipping.loosest.worst >= before.tipping.loosest.worst, where
    assert steps > 0  # the exception was met, and its proof looked at
