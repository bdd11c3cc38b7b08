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
