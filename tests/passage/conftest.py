"""An invented line for the passage: round numbers, no real machine behind them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from packsim.can import Can
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
from packsim.passage.track import Track
from packsim.spray.grids import Stretch

CAN = Can("demo 66", 66.0, 124.0, 0.0102, 74.0, 10.0, 23.0)
SIN60 = 3.0**0.5 / 2.0


def lane_width(lanes: int, diameter: float = 66.0) -> float:
    return diameter * (1.0 + (lanes - 1) * SIN60)


def make_stage(
    name: str,
    *,
    length: float = 1000.0,
    width: float,
    centre: float = 800.0,
    kicks: Kicks | None = None,
    duty: str = "rinse",
    **more: Any,
) -> Stage:
    wires = Wires((40.0, 90.0), 600.0, 0.0565, 1.36e6)
    left, right = centre - width / 2.0, centre + width / 2.0
    guides = Guides((Bracket(0.0, left, right), Bracket(length, left, right)), wires)
    shake = Kicks(0.05, 2.0, 0.2, 0.0) if kicks is None else kicks
    return Stage(name, duty, length, guides, shake, **more)


def loaded(track: Track, *stretches: Stretch) -> Track:
    """The track with a load by stretch of the line in place of its own."""
    return replace(track, standing=replace(track.standing, stretches=stretches))


@pytest.fixture(scope="session")
def can() -> Can:
    return CAN


@pytest.fixture(scope="session")
def line() -> Callable[..., Scenario]:
    """Build a line: ``line(lanes, slacks, ...)`` has one stage per slack."""

    def build(
        lanes: int = 8,
        slacks: tuple[float, ...] = (6.0,),
        *,
        length: float = 1000.0,
        speed: float = 90.0,
        kicks: Kicks | tuple[Kicks, ...] | None = None,
        can: Can = CAN,
        **more: Any,
    ) -> Scenario:
        each = kicks if isinstance(kicks, tuple) else (kicks,) * len(slacks)
        stages = tuple(
            make_stage(
                f"stage {i + 1}",
                length=length,
                width=lane_width(lanes, can.diameter_mm) + slack,
                kicks=each[i],
                **more,
            )
            for i, slack in enumerate(slacks)
        )
        return Scenario("demo", "invented", Mat(1600.0, speed), stages, (can,), can.name)

    return build


@pytest.fixture(scope="session")
def tolerant_can() -> Can:
    return replace(CAN, diameter_tol_mm=0.08)
