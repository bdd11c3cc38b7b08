"""The photograph of the README says of its pack what is known of it."""

from __future__ import annotations

import pytest

from packsim.look import look_at, measure_pack
from packsim.look.known import Known
from packsim.look.photograph import focal_length_px
from packsim.scenario import load_scenario
from tests.look.known_packs import seen_of, without
from tests.look.shipped_photo import GONE, HIGH_MM, LINE, PLACE, SIZE, known_pack


@pytest.mark.all
def test_the_shipped_photograph_is_read_within_its_errors() -> None:
    can = load_scenario(LINE).size(SIZE)
    seen = look_at(PLACE, can.diameter_mm)
    focal = focal_length_px(PLACE)
    assert focal is not None
    height = float(seen.view.eye_mm(focal)[2])
    assert height == pytest.approx(HIGH_MM, rel=0.05)
    wires_mm = 114.0
    below = Known(can.height_mm - 9.0 - wires_mm, 4.0)
    found = measure_pack(seen, 0.25, below, Known(height, 0.05 * height))
    truth = measure_pack(without(seen_of(known_pack()), *GONE))
    assert (found.layout, found.lanes, found.missing) == ("lengthwise", 24, 2)
    assert (found.leaning, found.down) == (0, 0)
    assert found.whole_width
    for name in ("clear_width_mm", "slack_mm", "cans_per_metre", "fill"):
        known, true = getattr(found, name), getattr(truth, name)
        assert known.holds(true.value), (name, known, true)
    assert found.gaps is not None
    assert truth.gaps is not None
    for name in ("left_mm", "right_mm", "row_slack_mm", "gathered"):
        known, true = getattr(found.gaps, name), getattr(truth.gaps, name)
        assert known.holds(true.value), (name, known, true)
