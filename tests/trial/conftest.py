"""A small invented line that a trial can tell something about."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from packsim.catalogue import custom_can
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
from packsim.trial.trial import StageCount, Trial

LANES, DIAMETER = 9, 58.0
PACK_MM = DIAMETER * (1.0 + (LANES - 1) * np.sqrt(3.0) / 2.0)


def stage(name: str, duty: str, energy: float) -> Stage:
    """One stage without sprays: the row model alone decides."""
    width = PACK_MM + 44.0
    guides = Guides((Bracket(0.0, 100.0, 100.0 + width),), Wires((30.0, 80.0), 600.0, 0.05, 1.3e6))
    return Stage(
        name, duty, 4000.0, guides, Kicks(energy, 2.0), state="slack", water_in_dome=(1.0, 1.0)
    )


@pytest.fixture(scope="session")
def line() -> Scenario:
    """Two floods and an oven, one slim can; slack of 44 mm as set."""
    return Scenario(
        "trial line",
        "Invented.",
        Mat(800.0, 90.0),
        (stage("wash", "flood", 0.1), stage("rinse", "rinse", 0.1), stage("dry", "oven", 0.05)),
        (custom_can("slim", DIAMETER, 160.0),),
        "slim",
        seed=7,
    )


MakeTrial = Callable[..., Trial]


@pytest.fixture(scope="session")
def make_trial(line: Scenario) -> MakeTrial:
    """A trial with one slack at every stage."""

    def make(
        slack_mm: float, cans: int, counts: Sequence[int | None], tipped: int | None = None
    ) -> Trial:
        stages = tuple(
            StageCount(stage.name, PACK_MM + slack_mm, count)
            for stage, count in zip(line.stages, counts, strict=True)
        )
        total = sum(c or 0 for c in counts) if tipped is None else tipped
        name = f"slack {slack_mm:g}"
        return Trial(name, dt.date(2025, 3, 4), "slim", cans, total, stages)

    return make
