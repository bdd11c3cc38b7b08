"""Short rows of a crosswise pack: what they can gather once the rows beside them part."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.pack.crosswise import row_parting
from packsim.pack.state import pack_between
from packsim.tipping.gathered_slack import lateral_travel_mm

D = 66.0
TOUCHING = D * math.sqrt(3.0) / 2.0


def test_a_short_row_between_upright_full_rows_has_a_diameter_at_no_slack() -> None:
    found = row_parting(pack_between(9.0 * D, D, "crosswise", 800.0, state="slack"), D)
    assert found is not None
    assert (found.pocket_mm, found.pockets) == (pytest.approx(D / 2.0), 2)
    assert found.row_slack_mm == pytest.approx(D)
    # nothing in the way once the rows beside it are a diameter away, up and down: 2 (1 − √3/2) D
    assert found.parting_mm == pytest.approx(2.0 * (D - TOUCHING))
    assert math.isinf(found.rows)  # a full pack has no lengthwise slack to gather


def test_equal_rows_have_one_pocket_and_half_a_diameter() -> None:
    found = row_parting(pack_between(9.5 * D, D, "crosswise", 800.0, state="slack"), 10.0)
    assert found is not None
    assert found.pockets == 1
    assert found.row_slack_mm == pytest.approx(D / 2.0)
    too_much = row_parting(pack_between(9.5 * D, D, "crosswise", 800.0, state="slack"), 34.0)
    assert too_much is not None
    assert not too_much.can_gather


@given(
    st.floats(0.0, 1.0), st.floats(0.0, 30.0), st.sampled_from(["slack", "strained"]), st.booleans()
)
def test_parted_by_so_much_the_row_gathers_the_slack(
    share: float, room: float, state: str, equal: bool
) -> None:
    """Against the pack pushed to either side, can by can, with its rows parted as told."""
    width = (9.5 if equal else 9.0) * D + max(room, 0.01)
    pack = pack_between(width, D, "crosswise", 800.0, state=state)
    most = width - (9.0 if equal else 8.0) * D
    slack = room + share * (most - room)
    # pushed cans may brush by 1e-6 of a diameter, so the last 0.1 mm on each side comes at once
    assume(share == 1.0 or most - slack > 0.3)
    found = row_parting(pack, slack)
    assert found is not None
    assert found.row_slack_mm == pytest.approx(most)
    touching = float(np.diff(np.unique(pack.centres_mm[:, 0].round(6))).min())
    by = (touching + found.parting_mm / 2.0) / touching
    left, right = lateral_travel_mm(
        pack.centres_mm * [by, 1.0],
        D,
        left_mm=0.0,
        right_mm=pack.clear_width_mm,
        period_mm=pack.length_mm * by,
    )
    assert float((left + right).max()) == pytest.approx(slack, abs=0.02)


def test_rows_that_hold_the_opening() -> None:
    """At a fill of 0.97 each row of 57.16 mm holds 1.77 mm; 2 (66 − 57.16) = 17.69 mm: ten rows."""
    found = row_parting(pack_between(9.0 * D, D, "crosswise", 800.0, fill=0.97, state="slack"), D)
    assert found is not None
    each = TOUCHING * 0.03 / 0.97
    assert found.rows == pytest.approx(2.0 * (D - TOUCHING) / each)
    assert 9.9 < found.rows < 10.1


def test_a_strained_pack_spreads_its_slack_and_keeps_its_pockets() -> None:
    pack = pack_between(9.0 * D + 8.0, D, "crosswise", 800.0, state="strained")
    found = row_parting(pack, 0.0)
    assert found is not None
    across = np.unique(pack.centres_mm[:, 1].round(6))
    assert found.pocket_mm == pytest.approx(float(across[1]) - D / 2.0)
    assert found.row_slack_mm == pytest.approx(9.0 * D + 8.0 - 8 * D)
    assert found.parting_mm == 0.0 or found.parting_mm > 0.0
    assert found.parting_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("layout", "width", "state"),
    [("lengthwise", 600.0, "densest"), ("crosswise", 70.0, "slack"), ("crosswise", 50.0, "slack")],
)
def test_no_rows_no_answer(layout: str, width: float, state: str) -> None:
    assert row_parting(pack_between(width, D, layout, 500.0, state=state), 10.0) is None


def test_two_lines_have_rows_and_one_line_has_none() -> None:
    """Rows of one can, 1.6 D wide: each lies 0.5 D from the next, with 0.6 D across."""
    found = row_parting(pack_between(1.6 * D, D, "crosswise", 800.0, state="slack"), 0.1 * D)
    assert found is not None
    assert (found.pocket_mm, found.pockets) == (pytest.approx(D / 2.0), 1)
    assert found.row_slack_mm == pytest.approx(0.6 * D)
    assert row_parting(pack_between(1.3 * D, D, "crosswise", 800.0, state="slack"), 1.0) is None
