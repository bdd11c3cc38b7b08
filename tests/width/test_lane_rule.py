"""The one lane rule: the looser pack is judged, the squeezed one is carried beside it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.pack.lattice import lanes_width_mm
from packsim.pack.state import pack_between
from packsim.width.lane_rule import lanes_per_metre, packs_at

D = 66.0
PITCH = {"lengthwise": D * math.sqrt(3.0) / 2.0, "crosswise": D / 2.0}
LAYOUTS = pytest.mark.parametrize("layout", ["lengthwise", "crosswise"])


@LAYOUTS
@given(lanes=st.integers(1, 40), over=st.floats(0.0, 0.999))
def test_the_judged_pack_is_the_most_lanes_that_fit(layout, lanes, over):
    """Closed form: W_n = D + (n − 1) pitch, and the rest of the width is slack."""
    pitch = PITCH[layout]
    packs = packs_at(D + (lanes - 1) * pitch + over * pitch, D, layout)
    assert packs.judged.lanes == packs.fit_lanes == lanes
    assert packs.judged.pack_width_mm == pytest.approx(D + (lanes - 1) * pitch)
    assert packs.judged.slack_mm == pytest.approx(over * pitch, abs=1e-4)
    assert packs.judged.fill == 1.0


@LAYOUTS
@pytest.mark.parametrize("lanes", [2, 24, 25])
def test_an_exact_fit_is_that_many_lanes_without_slack(layout, lanes):
    packs = packs_at(lanes_width_mm(lanes, D, layout), D, layout)
    assert (packs.judged.lanes, packs.judged.slack_mm, packs.might_be) == (lanes, 0.0, None)


def test_a_guide_1_mm_too_narrow_for_24_lanes_may_run_23_loose_lanes():
    """Issue 12: it was answered as 24 lanes without slack."""
    packs = packs_at(lanes_width_mm(24, D, "lengthwise") - 1.0, D)
    assert packs.judged.lanes == 23
    assert packs.judged.slack_mm == pytest.approx(PITCH["lengthwise"] - 1.0)
    assert packs.might_be is not None
    assert (packs.might_be.lanes, packs.might_be.squeezed_mm) == (24, pytest.approx(1.0))


@given(lanes=st.integers(2, 40), over=st.floats(0.001, 0.999), fill=st.floats(0.5, 1.0))
def test_squeezed_lanes_are_those_of_the_lattice(lanes, over, fill):
    """The lattice lays the squeezed lines can by can; its count decides whether they carry."""
    width = lanes_width_mm(lanes, D, "lengthwise") + over * PITCH["lengthwise"]
    laid = pack_between(width, D, state="strained")
    delivered = fill * 1000.0 * lanes / D
    assume(abs(laid.cans_per_metre - delivered) > 1e-6)
    might_be = packs_at(width, D, fill=fill).might_be
    assert (might_be is not None) == (laid.fits and laid.cans_per_metre > delivered)
    if might_be is not None:
        assert might_be.lanes == laid.lanes == lanes + 1
        assert might_be.cans_per_metre == pytest.approx(laid.cans_per_metre)
        assert might_be.fill * might_be.cans_per_metre == pytest.approx(delivered)


@pytest.mark.parametrize("cans", [1, 2, 5])
def test_rows_squeezed_crosswise_stand_and_touch(cans):
    """Rows of m and m, s aside of each other: no two centres nearer than D, and some at D."""
    aside = 0.8 * D / 2.0
    might_be = packs_at(cans * D + aside, D, "crosswise", fill=0.8).might_be
    assert might_be is not None
    assert might_be.lanes == 2 * cans
    period = 2.0 * 1000.0 * cans / might_be.cans_per_metre  # two rows of m cans
    row = np.arange(cans) * D
    first, second = row + 0j, row + aside + 1j * period / 2.0
    cans_at = np.concatenate([first, second, first + 1j * period])
    gaps = np.abs(cans_at[:, None] - cans_at[None, :])[np.triu_indices(len(cans_at), 1)]
    assert gaps.min() == pytest.approx(D)


def test_a_row_of_one_can_more_does_not_squeeze_in_crosswise():
    assert packs_at(lanes_width_mm(6, D, "crosswise") + 32.9, D, "crosswise").might_be is None


@LAYOUTS
@given(width=st.floats(66.0, 2500.0), fill=st.floats(0.3, 1.0))
def test_the_judged_lanes_are_the_fewest_that_carry_the_cans(layout, width, fill):
    """By trying every count: fewer lanes hold fewer cans than the infeed delivers."""
    packs = packs_at(width, D, layout, fill)
    delivered = fill * lanes_per_metre(packs.fit_lanes, D, layout)
    carry = [
        n
        for n in range(1, packs.fit_lanes + 1)
        if lanes_per_metre(n, D, layout) > delivered * (1 - 1e-9)
    ]
    assert packs.judged.lanes == carry[0]
    assert packs.judged.fill * packs.judged.cans_per_metre == pytest.approx(delivered)
    assert packs.judged.slack_mm == pytest.approx(
        width - lanes_width_mm(carry[0], D, layout), abs=1e-4
    )


@pytest.mark.parametrize(("fill", "lanes"), [(0.97, 24), (0.96, 24), (0.95, 23), (0.90, 22)])
def test_a_thin_infeed_may_bring_fewer_lanes(fill, lanes):
    """24 lanes, 24 f of them delivered: 23.28, 23.04, 22.8 and 21.6 lanes' worth of cans."""
    packs = packs_at(lanes_width_mm(24, D, "lengthwise"), D, fill=fill)
    assert packs.judged.lanes == lanes
    assert packs.judged.fill == pytest.approx(24 * fill / lanes)
    assert ("fill" in packs.why) == (lanes < 24)


@LAYOUTS
@given(width=st.floats(40.0, 2500.0), k=st.floats(0.1, 10.0), fill=st.floats(0.5, 1.0))
def test_scaling(layout, width, k, fill):
    a, b = packs_at(width, D, layout, fill), packs_at(width * k, D * k, layout, fill)
    close = (width - D) / PITCH[layout] % 1.0
    assume(1e-5 < close < 1.0 - 1e-5)  # not on an exact fit, where rounding decides
    shares = [n / a.fit_lanes for n in range(1, a.fit_lanes)]
    assume(all(abs(fill - share) > 1e-6 for share in shares))
    assert (a.judged.lanes, a.fit_lanes) == (b.judged.lanes, b.fit_lanes)
    assert b.judged.slack_mm == pytest.approx(k * a.judged.slack_mm, abs=1e-3)
    if a.might_be is not None and b.might_be is not None:
        assert b.might_be.squeezed_mm == pytest.approx(k * a.might_be.squeezed_mm, abs=1e-3)


@LAYOUTS
@pytest.mark.parametrize("fill", [1.0, 0.97, 0.9])
def test_wider_is_never_less_slack_unless_the_cans_prove_a_lane_more(layout, fill):
    last = packs_at(500.0, D, layout, fill)
    for width in np.arange(500.25, 500.0 + 3.0 * PITCH["lengthwise"], 0.25):
        now = packs_at(float(width), D, layout, fill)
        if now.judged.slack_mm < last.judged.slack_mm:
            delivered = now.judged.fill * now.judged.cans_per_metre
            assert last.judged.cans_per_metre < delivered
        last = now


def test_no_lane_in_less_than_a_can():
    packs = packs_at(60.0, 66.0)
    assert not packs.fits
    assert packs.might_be is None
    assert packs.why == "one can needs 66 mm, the guides stand 60 mm apart"


def test_both_packs_are_told():
    assert packs_at(1149.0, 66.0).why == "19 lanes leave 54.2 mm; 20 lanes are 3.0 mm short"


def test_unknown_layout_is_refused():
    with pytest.raises(InputError, match="lengthwise, crosswise"):
        packs_at(1000.0, 66.0, "diagonal")
