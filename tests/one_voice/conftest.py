"""Settings and widths are compared here; passages for their chances would take an hour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from packsim.chance import LineChance, Rate, StageChance
from packsim.compare import compare
from packsim.line import Scenario
from packsim.trial import chances


def none_tip(scenario: Scenario, size: str, progress: object = None) -> LineChance:
    """A chance of 0 at every stage, without a passage."""
    nothing = 0.0, (0.0, 0.0), 0.0
    stages = tuple(StageChance(*nothing, s.name, None, None) for s in scenario.stages)  # type: ignore[arg-type]
    return LineChance(size, stages, Rate(*nothing), None, {}, 0.5, 0.2, 0)  # type: ignore[arg-type]


def none_run(scenario: Scenario, size: str, progress: object = None) -> LineChance:
    """A chance without a spectrum, from which nothing can be drawn."""
    return replace(none_tip(scenario, size), reason="not run")


@pytest.fixture(autouse=True, scope="module")  # a package without __init__ is the session
def no_passages() -> Iterator[None]:
    """Let no plan and no comparison of this folder run passages; other folders get theirs back."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(chances, "chance_of", none_tip)
        patch.setattr(compare, "chance_of", none_run)
        yield
