"""Facts of the trade that the answers must bear out (common practice, no source)."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace

import pytest

from packsim import can_size
from packsim.answers import Answer
from packsim.study import Study, study_line
from tests.shipped import studied

NEED = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))


@pytest.fixture(scope="module")
def swing() -> Study:
    return studied("swing_line.toml")


def one(small: SimpleNamespace, can: object = None, **stage: object) -> Answer:
    cans = None if can is None else (can,)
    return study_line(small.line(small.stage(**stage), cans=cans)).answers[0]


@pytest.mark.parametrize("top", [60.0, 80.0, 96.0, 110.0])
def test_edge_cans_go_before_centre_cans_under_a_wire_below_the_top(
    small: SimpleNamespace, top: float
) -> None:
    """Common practice, no source. Top wires below H cos α, as wires are."""
    for slack in (5.0, 15.0, 30.0):
        found = one(small, heights_mm=(40.0, top), width_mm=NEED + slack, state="slack").tipping
        assert found.loosest.edge > found.loosest.centre
        assert found.safe.governing == "edge"


def test_edge_cans_go_first_on_the_shipped_line(swing: Study) -> None:
    """Common practice, no source."""
    assert {s.tipping.safe.governing for s in swing.answers} == {"edge"}
    said = [f.what for f in swing.findings if "tips if it finds more" in f.what]
    assert said
    assert all("cans at the guides tip first" in what for what in said)


@pytest.mark.parametrize("dry", [True, False])
def test_a_slimmer_or_taller_can_bears_less_slack(small: SimpleNamespace, dry: bool) -> None:
    """Common practice, no source. The same wires; bodies of the catalogue."""
    pool = 0.0 if dry else 1.0
    wires = {"heights_mm": (30.0, 72.0, 100.0), "water_in_dome": (pool, pool)}

    def safe(size: str) -> float:
        return one(small, can_size(size), **wires).tipping.safe.slack_mm

    # slimmer at the same contents, then taller and taller at the same diameter
    assert safe("sleek_355ml") < safe("us_12oz_std")
    rising = ["us_12oz_std", "eu_440ml_std", "us_16oz_473ml", "eu_500ml_std"]
    safes = [safe(size) for size in rising]
    assert safes == sorted(safes, reverse=True)
    assert len(set(safes)) == len(safes)


def test_blowing_the_domes_off_makes_cans_steadier(small: SimpleNamespace, swing: Study) -> None:
    """Common practice, no source: a can is least stable between a flood and the blow-off."""
    angles = [
        one(small, water_in_dome=(pool, pool)).worst.at_rest.balance_angle_rad
        for pool in (1.0, 0.7, 0.4, 0.1, 0.0)
    ]
    assert angles == sorted(angles)
    for size in ("211 body", "sleek body"):
        rest = {s.stage: s.worst.at_rest.balance_angle_rad for s in swing.of_size(size)}
        assert max(rest, key=lambda stage: rest[stage]) == "blow-off"


def test_the_floods_govern_the_shipped_line(swing: Study) -> None:
    """Common practice, no source: high pressure from below is what turns cans over."""
    duty = {stage.name: stage.duty for stage in swing.scenario.stages}
    for size in ("211 body", "sleek body"):
        answers = swing.of_size(size)
        least = min(answers, key=lambda s: s.tipping.safe.slack_mm)
        worst = max(answers, key=lambda s: s.tipping.loosest.worst)
        assert (duty[least.stage], duty[worst.stage]) == ("flood", "flood")
        assert least.stage == worst.stage == "wash"


def test_the_slimmer_body_loosens_every_stage_of_the_swing_line(swing: Study) -> None:
    """Common practice, no source: guides left where they stood are too loose for it."""
    for stage in swing.scenario.stages:
        big, slim = (swing.answer(stage.name, size) for size in ("211 body", "sleek body"))
        # the strongest sprays, where a dome may still be empty and the can leans into them
        strong = stage.name in ("pre-wash", "wash", "rinse")
        assert big.tipping.verdict == ("loose" if strong else "held")
        assert slim.tipping.verdict == "can tip"
        assert slim.tipping.loosest.worst > big.tipping.loosest.worst


def test_a_hold_down_must_follow_the_can_height(root: Path) -> None:
    """Common practice, no source: a hold-down is reset whenever the can height changes."""
    found = studied("height_only.toml")
    for stage in ("pre-wash", "wash"):
        short, tall = (found.answer(stage, size).hold_down for size in ("12 oz", "16 oz"))
        assert short is not None
        assert tall is not None
        assert (short.state, tall.state) == ("blocks", "crushes")
    assert any(f.level == "stop" and "hold-down" in f.what for f in found.findings)


def test_longer_spans_and_slacker_wires_need_a_tighter_setting(small: SimpleNamespace) -> None:
    """Common practice, no source: bow at mid-span is slack the tape does not show."""
    from packsim.line import Bracket

    def high(span_mm: float, tension_N: float) -> float:
        brackets = (Bracket(0.0, 205.0, 795.0), Bracket(span_mm, 205.0, 795.0))
        return one(
            small,
            brackets=brackets,
            tension_N=tension_N,
            anchored=False,
            pack_pressure_N_per_m=20.0,
        ).window.high_mm

    assert high(2000.0, 600.0) < high(1000.0, 600.0)
    assert high(1000.0, 300.0) < high(1000.0, 600.0)
