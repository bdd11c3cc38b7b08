"""A row of cans from guide to guide: its cans, and its two bounds on tips."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.line import Kicks, Scenario
from packsim.pack.state import pack_between
from packsim.tipping.row_chance import row_cans
from packsim.why import reasons

NEED = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))
"""Width of eleven touching lanes of the small can [mm]."""


def bounds(line: Scenario) -> tuple[float, float]:
    found = reasons(line, "wash", "can").energies
    assert found is not None
    return found.row_random_per_million, found.row_gathered_per_million


def test_cans_of_a_row() -> None:
    assert row_cans(pack_between(590.0, 60.0)) == 11
    # rows of 10 and 9 by turns, of 9 and 9
    assert row_cans(pack_between(601.0, 60.0, "crosswise", state="slack")) == 10
    assert row_cans(pack_between(575.0, 60.0, "crosswise", state="slack")) == 9


def test_one_can_between_two_guides(small: SimpleNamespace) -> None:
    """One can, slack S shared by two gaps: its tip is free where the gap at the wire lets it."""
    slack, kick = 50.0, 2.0
    stage = small.stage(width_mm=60.0 + slack, state="slack", kicks=Kicks(kick, 1.5))
    # a gap of 40 mm and more at the wire of 96 lets it tip, at the cost of its own energy
    # of lifting its centre of gravity from 72 mm to hypot(30, 72) = 78 mm
    energy = 0.01 * 9.80665 * (78.0 - 72.0)
    shared = (slack - 40.0) / slack  # of all ways to share the slack, to one side
    each = [1e6 * -math.expm1(-45.0 * share * math.exp(-energy / kick)) for share in (shared, 1.0)]
    assert bounds(small.line(stage)) == pytest.approx(each, rel=1e-6)


@settings(max_examples=min(25, settings().max_examples))
@given(slack=st.floats(0.0, 45.0), energy=st.floats(0.05, 5.0), rate=st.floats(0.1, 5.0))
def test_both_bounds_grow_with_every_cause(
    small: SimpleNamespace, slack: float, energy: float, rate: float
) -> None:
    def at(s: float, e: float, r: float) -> tuple[float, float]:
        stage = small.stage(width_mm=NEED + s, state="slack", kicks=Kicks(e, r))
        return bounds(small.line(stage))

    base = at(slack, energy, rate)
    assert 0.0 <= base[0] <= base[1] * (1.0 + 1e-3) <= 1e6 * (1.0 + 1e-3)
    for more in (
        at(slack + 3.0, energy, rate),
        at(slack, energy * 1.5, rate),
        at(slack, energy, rate * 2.0),
    ):
        assert all(m >= b * (1.0 - 1e-9) for m, b in zip(more, base, strict=True))
    assert at(slack, 0.0, rate) == (0.0, 0.0)
