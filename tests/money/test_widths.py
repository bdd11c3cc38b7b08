"""Clear widths a chance is shown at: today's and the proposed one, and some about them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.money.at_widths import BESIDE, BETWEEN, LEAST_MM, widths_mm

width = st.floats(300.0, 2000.0)


@given(now=width, then=width)
def test_both_settings_are_shown_exactly_and_what_lies_beside_them(now: float, then: float) -> None:
    found = widths_mm(now, then)
    assert {now, then} <= set(found)
    assert found == sorted(found)
    beside = max(LEAST_MM, BESIDE * abs(now - then))
    assert found[0] == pytest.approx(min(now, then) - beside)
    assert found[-1] == pytest.approx(max(now, then) + beside)
    assert len(found) <= BETWEEN + 2
    others = [one for one in found if one not in (now, then)]
    assert all(min(abs(one - now), abs(one - then)) > LEAST_MM / 4.0 for one in others)


@pytest.mark.parametrize(
    ("now", "then", "by_hand"),
    [
        # a quarter of the 40 mm beyond both ends, and five even places from 490 to 550
        (500.0, 540.0, [490.0, 500.0, 505.0, 520.0, 535.0, 540.0, 550.0]),
        # the least beyond; what would be the setting itself is there once
        (600.0, 600.0, [597.0, 598.5, 600.0, 601.5, 603.0]),
        # 0.7 mm from a setting is too near to be a place of its own
        (600.0, 600.8, [597.0, 598.7, 600.0, 600.8, 602.1, 603.8]),
    ],
)
def test_a_few_widths_by_hand(now: float, then: float, by_hand: list[float]) -> None:
    assert widths_mm(now, then) == pytest.approx(by_hand)
    assert widths_mm(then, now) == pytest.approx(by_hand)
