"""A small washer with headers, and the invented swing line."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from packsim.catalogue import custom_can
from packsim.line import (
    Bracket,
    Guides,
    Header,
    Kicks,
    Mat,
    Nozzle,
    Scenario,
    Stage,
    Wires,
)
from packsim.scenario import load_scenario

SIN60 = math.sqrt(3.0) / 2.0
DIAMETER = 66.0
PITCH = DIAMETER * SIN60


def make_header(side: str, first_mm: float, pitch_mm: float = PITCH, count: int = 10) -> Header:
    """A header of cones; above it stands clear of the cans."""
    nozzle = Nozzle("cone", math.radians(60.0), 1.3e4, 0.2)
    return Header(
        side, 600.0, 320.0 if side == "above" else 150.0, first_mm, pitch_mm, count, 0.2, nozzle
    )


def make_washer(
    *headers: Header, clear_width_mm: float = 606.0, centre_mm: float = 400.0
) -> Scenario:
    """One stage, ten lanes of 66 mm cans in their slack, on a mat of 800 mm."""
    half = clear_width_mm / 2.0
    guides = Guides(
        (Bracket(0.0, centre_mm - half, centre_mm + half),),
        Wires((40.0, 90.0), 600.0, 0.05, 1.3e6),
        setting_step_mm=1.0,
    )
    stage = Stage("wash", "flood", 2000.0, guides, Kicks(0.05, 2.0), headers=tuple(headers))
    can = custom_can("demo", DIAMETER, 124.0)
    return Scenario("demo", "", Mat(800.0, 90.0), (stage,), (can,), "demo")


def place_of_first_lane(
    centre_mm: float = 400.0, lanes: int = 10, pitch_mm: float = PITCH
) -> float:
    """Where the first of the lanes of a pack about the centre is."""
    return centre_mm - (lanes - 1) * pitch_mm / 2.0


@pytest.fixture(scope="session")
def header() -> Callable[..., Header]:
    return make_header


@pytest.fixture(scope="session")
def washer() -> Callable[..., Scenario]:
    return make_washer


@pytest.fixture(scope="session")
def first_lane_mm() -> Callable[..., float]:
    return place_of_first_lane


@pytest.fixture(scope="session")
def swing(root: Path) -> Scenario:
    return load_scenario(root / "scenarios" / "swing_line.toml")
