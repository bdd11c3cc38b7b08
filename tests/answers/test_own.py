"""Own lean of single cans: nested cans are stopped by somebody, whatever way they lean."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from packsim.answers import answer_stage
from packsim.answers.tipping import Tipping, WorstLean, towards
from packsim.can import Stance
from packsim.pack.state import PACK_STATES, Pack, pack_between

STANCE = Stance(60.0, 120.0, 0.01, 72.0)
ALPHA = math.atan(5.0 / 12.0)


def tipping(pack: Pack, heights_mm: tuple[float, ...]) -> Tipping:
    worst: Any = SimpleNamespace(sprayed=STANCE, weakest_rad=ALPHA, balance_rad=ALPHA)
    budget: Any = None
    return Tipping(worst, pack, budget, heights_mm, 2.0, None)


def own_worst(pack: Pack, *heights_mm: float) -> WorstLean:
    return tipping(pack, heights_mm).own


def gathered_worst(pack: Pack, *heights_mm: float) -> WorstLean:
    return tipping(pack, heights_mm).gathered


@pytest.mark.parametrize("layout", ["lengthwise", "crosswise"])
@pytest.mark.parametrize("state", PACK_STATES)
@pytest.mark.parametrize("slack", [0.5, 4.0, 8.0, 13.0])
def test_a_full_pack_with_little_slack_has_no_can_that_nothing_stops(
    layout: str, state: str, slack: float
) -> None:
    """A corner met after no travel at all gave a direction of no length, and a free fall."""
    width = slack + (60.0 * (1.0 + 10.0 * math.sqrt(0.75)) if layout == "lengthwise" else 600.0)
    pack = pack_between(width, 60.0, layout, 500.0, state=state)
    index = own_worst(pack, 48.0, 96.0).index
    # the bound of all slack at the wire, or of the gap a squeezed pack opens along its lanes
    along = 60.0 * (2.0 * math.sqrt(1.0 - 0.75 * (1.0 - 1.0 / 11.0) ** 2) - 1.0)
    # a pocket in a crack may be up to twice the slack from corner to corner
    inside = max(along, 2.0 * slack if state == "blocks" else slack)
    most = max(math.atan(slack / 96.0), math.asin(inside / 120.0)) / ALPHA
    assert index <= most + 1e-9


def test_one_can_between_two_guides_leans_on_the_wire() -> None:
    """A single lane, slack 10 mm, half at either side: atan(5 / 96)."""
    pack = pack_between(70.0, 60.0, state="slack")
    worst = own_worst(pack, 48.0, 96.0)
    index, place = worst.index, worst.place
    assert place == "edge"
    # off the guide's normal the wire is met later; straight at it is the least of the worst
    assert index >= math.atan(5.0 / 96.0) / ALPHA - 1e-12


def test_nothing_stops_a_can_without_wires_and_none_stands_where_nothing_fits() -> None:
    pack = pack_between(200.0, 60.0, state="slack")
    assert own_worst(pack).index == math.inf
    nobody = own_worst(pack_between(50.0, 60.0), 96.0)
    assert math.isnan(nobody.index)


def test_the_place_is_centre_inside(small: SimpleNamespace) -> None:
    """An infeed at half its rate leaves room along travel, the same at every lane."""
    stage = small.stage(fill=0.5, width_mm=60.0 * (1.0 + 10.0 * math.sqrt(0.75)))
    answer = answer_stage(small.line(stage), "wash", "can")
    # 120 mm from can to can along a lane; the next lane's cans, 60 mm on and 51.96 mm aside,
    # stop a can after 60 − √(60² − 51.96²) = 30 mm straight on, later in other directions
    assert answer.tipping.own.index >= math.asin(30.0 / 120.0) / ALPHA - 1e-9
    assert answer.tipping.own.place in ("edge", "centre")


def test_the_bearing_is_told() -> None:
    eighths = [towards(math.radians(45.0 * k + 20.0)) for k in range(-4, 4)]
    assert len(set(eighths)) == 8
    # all of 10 mm of slack lies at the right guide: only the cans beside it have room
    pack = pack_between(640.0, 60.0, "crosswise", 500.0, state="slack", lie="left")
    worst = own_worst(pack, 96.0)
    assert worst.across_mm > 500.0
    assert worst.place == "edge"
    # not straight at the wire, which is met later off its normal, but on that side
    assert "right" in worst.towards
    assert worst.index >= math.atan(10.0 / 96.0) / ALPHA - 1e-12


def test_gathered_slack_is_all_of_the_row_and_more_where_the_pack_is_parted() -> None:
    """Nested: W − W_n. Parted along travel to D/f, lanes step √(D² − (D/2f)²)."""
    width = 60.0 * (1.0 + 10.0 * math.sqrt(0.75)) + 6.0
    full = gathered_worst(pack_between(width, 60.0), 96.0)
    assert full.slack_mm == pytest.approx(6.0, abs=1e-6)
    assert full.index == pytest.approx(math.atan(6.0 / 96.0) / ALPHA, rel=1e-6)
    assert full.towards in ("to the left guide", "to the right guide")
    parted = gathered_worst(pack_between(width, 60.0, fill=0.98), 96.0)
    step = math.sqrt(60.0**2 - (30.0 / 0.98) ** 2)
    assert parted.slack_mm == pytest.approx(width - 60.0 - 10.0 * step, rel=1e-9)
    assert parted.index > full.index
    assert math.isnan(gathered_worst(pack_between(50.0, 60.0), 96.0).index)
