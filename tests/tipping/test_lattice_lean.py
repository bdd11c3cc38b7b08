"""Leans of even packs in formulas are those found can by can."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.pack.lattice import lanes_width_mm
from packsim.pack.state import pack_between
from packsim.tipping.gathered_slack import gathered_lean
from packsim.tipping.lattice_lean import LatticePacks
from packsim.tipping.lean import own_lean


def of_one(layout: str, lanes: int, fill: float, slack: float, body: tuple[float, float]):
    """One pack in formulas, and the same laid out."""
    diameter, height = body
    width = lanes_width_mm(lanes, diameter, layout) + slack
    wires = [0.2 * height, 0.6 * height, 0.9 * height]
    pack = LatticePacks(
        layout=layout,
        lanes=np.array([lanes]),
        fill=np.array([fill]),
        clear_width_mm=np.array([width]),
        diameter_mm=np.array([diameter]),
        height_mm=np.array([height]),
        wires_mm=[np.array([z]) for z in wires],
    )
    laid = pack_between(width, diameter, layout, 500.0, fill, state="slack", lanes=lanes).once()
    cans = laid.centres_mm, Stance(diameter, height, 0.01, 0.6 * height)
    between = {
        "left_mm": 0.0,
        "right_mm": width,
        "wire_heights_mm": wires,
        "period_mm": laid.length_mm,
    }
    own, gathered = own_lean(*cans, **between), gathered_lean(*cans, **between)
    return pack, float(own.worst_rad.max()), float(gathered.worst_rad.max())


@example("lengthwise", 3, 0.8125, 0.875, (72.0, 85.0))
@given(
    st.sampled_from(["lengthwise", "crosswise"]),
    st.integers(3, 30),
    st.floats(0.8, 1.0) | st.just(1.0),
    st.floats(0.0, 0.95) | st.just(0.0),
    st.tuples(st.floats(50.0, 75.0), st.floats(85.0, 170.0)),
)
def test_formulas_are_the_leans_found_can_by_can(layout, lanes, fill, slack, body):
    pack, own, gathered = of_one(layout, lanes, fill, slack * body[0], body)
    if not pack.regular[0]:
        return
    # Places are kept to 1e-9 mm; where a leaning can just grazes another, its lean feels the root
    # of that over a diameter, 4e-6 rad.
    assert float(pack.own_rad()[0]) == pytest.approx(own, rel=1e-6, abs=5e-6)
    assert float(pack.gathered_rad()[0]) == pytest.approx(gathered, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("lanes", "fill", "slack"), [(2, 1.0, 5.0), (9, 0.7, 5.0), (9, 1.0, 70.0)])
def test_what_the_formulas_do_not_hold_for_is_said(lanes, fill, slack):
    pack, *_ = of_one("lengthwise", lanes, fill, slack, (66.0, 124.0))
    assert not pack.regular[0]
    pack, *_ = of_one("lengthwise", 9, 0.9, 5.0, (66.0, 124.0))
    assert pack.regular[0]
