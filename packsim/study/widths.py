"""The same line with its guides at another setting, as a person would name it."""

from __future__ import annotations

from packsim.answers import answer_line
from packsim.line import Scenario


def at_width(scenario: Scenario, clear_width_mm: float) -> Scenario:
    """Return the line with every stage at one clear width [mm], each bracket's middle kept."""
    stages = tuple(stage.with_clear_width(clear_width_mm) for stage in scenario.stages)
    return scenario.with_stages(stages)


def at_window(scenario: Scenario, size: str) -> Scenario:
    """Return the line with every stage at the target of its guide window for a size.

    Where no width suits every case, a stage is set as close as the pack allows, to the low end.
    """
    stages = []
    for stage, answer in zip(scenario.stages, answer_line(scenario, size), strict=True):
        stages.append(stage.with_clear_width(answer.window.setting_mm))
    return scenario.with_stages(tuple(stages))
