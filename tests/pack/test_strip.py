from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.distance import pdist

from packsim.constants import CONTACT_TOL_REL, MAX_CANS
from packsim.errors import InputError
from packsim.line import LAYOUTS, STATES
from packsim.pack.lattice import check_count
from packsim.pack.state import PACK_STATES, Pack, candidate_packs, pack_between
from tests.oracles.bounds import most_cans_per_metre, strip_cans_per_metre

D = 66.0
ROOT3 = math.sqrt(3.0)

widths = st.floats(1.0, 14.0).map(lambda w: w * D)
layouts = st.sampled_from(LAYOUTS)
fills = st.one_of(st.just(1.0), st.floats(0.2, 1.0))
states = st.sampled_from(PACK_STATES)


def least_distance(pack: Pack) -> float:
    """Between all cans of three periods laid end to end, by scipy."""
    shifts = np.array([[k * pack.length_mm, 0.0] for k in range(3)])
    return float(pdist((pack.centres_mm + shifts[:, None]).reshape(-1, 2)).min())


def test_a_stage_may_ask_for_the_states_that_the_pack_knows() -> None:
    assert STATES == PACK_STATES


@pytest.mark.parametrize("diameter", [52.95, 66.04, 1.0 / 3.0])
@pytest.mark.parametrize("lanes", [1, 2, 3, 7, 19, 61, 200])
def test_exact_widths_give_exact_lanes(lanes: int, diameter: float) -> None:
    along = pack_between(diameter * (1 + (lanes - 1) * ROOT3 / 2), diameter, length_mm=diameter)
    across = pack_between(diameter * (lanes + 1) / 2, diameter, "crosswise", diameter)
    for pack in (along, across):
        assert (pack.lanes, pack.state) == (lanes, "slack")
        assert pack.slack_mm == pytest.approx(0.0, abs=1e-9)
        assert len(pack) == lanes
        assert pack.pack_width_mm == pytest.approx(pack.clear_width_mm, rel=1e-12)
    assert along.length_mm == diameter
    assert across.length_mm == pytest.approx(diameter * (ROOT3 if lanes > 1 else 1), rel=1e-12)


def test_rows_across_alternate_as_the_width_allows() -> None:
    for width, counts in ((4.2 * D, [4, 3]), (4.7 * D, [4, 4])):
        pack = pack_between(width, D, "crosswise", state="slack")
        rows = np.unique(np.round(pack.centres_mm[:, 0], 6), return_counts=True)[1]
        assert rows[:2].tolist() == counts


def test_hexagonal_density_P01(published) -> None:
    few, many = (pack_between(D * (1 + (n - 1) * ROOT3 / 2), D) for n in (20, 21))
    more_cans = (many.cans_per_metre - few.cans_per_metre) / 1000.0
    more_width = many.clear_width_mm - few.clear_width_mm
    assert published["P01"].agrees(more_cans * math.pi * D**2 / 4 / more_width)


def test_two_staggered_rows_P20(published) -> None:
    pack = pack_between(2 + ROOT3, 2.0, length_mm=26.0)
    inside = pack.centres_mm[:, 0] + 1 <= 25 + 1e-9
    assert inside.sum() == published["P20"].inputs["n"]
    assert published["P20"].agrees(inside.sum() * math.pi / (26.0 * pack.clear_width_mm))


def test_rows_of_4_3_4_P21(published) -> None:
    pack = pack_between(4.0, 1.0, "crosswise", 3.0, state="slack")
    x = np.unique(np.round(pack.centres_mm[:, 0], 9))[:3]
    assert np.isin(np.round(pack.centres_mm[:, 0], 9), x).sum() == published["P21"].inputs["n"]
    assert published["P21"].agrees((x[2] - x[0] + 1.0) * pack.clear_width_mm)


@pytest.mark.parametrize(
    ("check", "state"),
    [("P13", "strained"), ("P14", "blocks"), ("P16", "blocks"), ("P18", "blocks")],
)
def test_densest_strips(published, check: str, state: str) -> None:
    # the formula is from memory (see the file); P14 and P16 equal a separate numerical search
    pack = pack_between(1.0 + published[check].inputs["w_d"], 1.0, state=state)
    assert published[check].agrees(pack.cans_per_metre / 1000.0)


def test_triples_beat_two_straight_rows_P09(published) -> None:
    pack = pack_between(published["P09"].inputs["strip_width_d"], 1.0, state="blocks")
    assert published["P09"].agrees(2000.0 / pack.cans_per_metre)


def room_with_columns(cans: np.ndarray) -> float:
    """Length of cans in a strip 2 diameters wide with a straight column of two set close to each
    end: a column goes as near as it can, hence nearer to a can off the guides."""
    column_y = np.array([[0.5], [1.5]])
    off = np.sqrt(np.maximum(0.0, 1.0 - (cans[:, 1] - column_y) ** 2))
    return float((cans[:, 0] + off).max() - (cans[:, 0] - off).min() + 1.0)


def test_triples_beat_straight_rows_near_the_published_length_P12(published) -> None:
    """2 n + 1 cans in 2 by n: published from n = 166 on; plain blocks between straight columns,
    without the record's special ends, must not beat it and need one diameter more."""
    known = published["P12"]
    assert known.inputs["n"] == 2 * known.value + 1
    pack = pack_between(known.inputs["strip_width_d"], 1.0, length_mm=175.0, state="blocks")
    cans = pack.centres_mm[np.argsort(pack.centres_mm[:, 0])]

    def shortest(count: int) -> float:
        starts = range(len(cans) - count + 1)
        return min(room_with_columns(cans[i : i + count]) for i in starts)

    fits = [n for n in range(160, 170) if shortest(2 * n + 1 - 4) <= n]
    assert fits[0] == known.value + 1


def test_candidates_come_in_order_and_exist_where_they_should() -> None:
    assert [p.state for p in candidate_packs(1130.0, D)] == ["slack", "strained", "blocks"]
    assert [p.state for p in candidate_packs(1.9 * D, D)] == ["slack", "blocks"]
    assert [p.state for p in candidate_packs(1.3 * D, D)] == ["slack", "strained"]
    assert [p.state for p in candidate_packs(4.0 * D, D, "crosswise")] == ["slack"]
    assert candidate_packs(D - 1.0, D) == ()


@pytest.mark.parametrize(
    ("width", "layout", "state", "words"),
    [
        (0.9, "lengthwise", "densest", "one can needs"),
        (1.9, "lengthwise", "strained", "overlap"),
        (1.3, "lengthwise", "blocks", "single lane"),
        (1.0 + ROOT3 / 2, "lengthwise", "blocks", "2 lanes fit exactly"),
        (1.3, "crosswise", "strained", "single lane"),
        (1.9, "crosswise", "strained", "overlap"),
        (1.7, "crosswise", "blocks", "rows of one"),
        (3.0, "crosswise", "blocks", "the rows fit exactly"),
    ],
)
def test_what_does_not_fit_says_why(width: float, layout: str, state: str, words: str) -> None:
    pack = pack_between(width * D, D, layout, state=state)
    assert pack.state == "does not fit"
    assert not pack.fits
    assert (pack.lanes, pack.centres_mm.shape) == (0, (0, 2))
    assert words in pack.reason


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("clear_width_mm", {"clear_width_mm": math.nan}),
        ("clear_width_mm", {"clear_width_mm": -1.0}),
        ("diameter_mm", {"diameter_mm": 0.0}),
        ("length_mm", {"length_mm": math.inf}),
        ("fill", {"fill": 0.0}),
        ("fill", {"fill": 1.1}),
        ("layout", {"layout": "slanted"}),
        ("state", {"state": "loose"}),
        ("lie", {"lie": "up"}),
        ("cans", {"length_mm": 1e9}),
        ("cans", {"clear_width_mm": 1e12}),
        ("cans", {"clear_width_mm": 2e5, "state": "blocks"}),
        ("cans", {"clear_width_mm": 2e5, "state": "blocks", "layout": "crosswise"}),
    ],
)
def test_bad_input_is_refused(key: str, change: dict[str, object]) -> None:
    call = {"clear_width_mm": 1130.0, "diameter_mm": D} | change
    with pytest.raises(InputError) as caught:
        pack_between(**call)
    assert caught.value.key == key


@pytest.mark.parametrize("diameter", [1.0, 66.0])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_width_short_by_a_contact_gives_the_lane(diameter: float, layout: str) -> None:
    exact = diameter * (1 + 4 * ROOT3 / 2) if layout == "lengthwise" else 3.0 * diameter
    short = CONTACT_TOL_REL * diameter
    assert pack_between(exact - 0.9 * short, diameter, layout).lanes == 5
    assert pack_between(exact - 1.1 * short, diameter, layout, state="slack").lanes == 4


@pytest.mark.parametrize(("width", "rows"), [(3.7, 3), (4.2, 4), (4.7, 4)])
def test_blocks_across_have_as_many_rows_as_fit_cans_across(width: float, rows: int) -> None:
    pack = pack_between(width * D, D, "crosswise", 1.0, state="blocks")
    assert len(np.unique(np.round(pack.centres_mm[:, 0], 6))) == 2 * rows


def test_a_pack_may_have_two_million_cans_and_no_more() -> None:
    check_count(MAX_CANS)
    with pytest.raises(InputError, match="at most 2000000 cans"):
        check_count(MAX_CANS + 1)
    # 1500 lines across in blocks of 750 rows: half of all places are taken
    wide = pack_between(750.7 * D, D, "crosswise", 1.0, state="blocks")
    assert len(wide) == 1500 * 750


def test_a_metre_of_pack_is_laid_where_no_length_is_said() -> None:
    assert pack_between(1.0 + ROOT3 / 2, 1.0).length_mm == 1000.0
    assert [pack.length_mm for pack in candidate_packs(1.0 + ROOT3 / 2, 1.0)] == [1000.0]


def test_centres_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        pack_between(1130.0, D).centres_mm[0, 0] = 1.0


@given(width=widths, layout=layouts, fill=fills, length=st.floats(1.0, 500.0))
def test_no_overlap_and_inside_for_every_width(
    width: float, layout: str, fill: float, length: float
) -> None:
    for pack in candidate_packs(width, D, layout, length, fill):
        x, y = pack.centres_mm.T
        assert least_distance(pack) >= D * (1 - 1e-9)
        assert y.min() >= D / 2 - 1e-6 * D
        assert y.max() <= width - D / 2 + 1e-6 * D
        assert x.min() >= 0.0
        assert x.max() < pack.length_mm
        assert pack.length_mm >= length * (1 - 1e-5)
        assert pack.lanes == len(np.unique(np.round(y / D, 8)))


@given(width=widths, layout=layouts)
def test_no_pack_beats_the_bounds(width: float, layout: str) -> None:
    best = strip_cans_per_metre(width, D)
    assert best <= most_cans_per_metre(width, D) * (1 + 1e-5)
    for pack in candidate_packs(width, D, layout):
        assert pack.cans_per_metre <= best * (1 + 1e-5)
        assert pack.density < math.pi / math.sqrt(12.0)


@given(width=widths, layout=layouts, fill=st.floats(0.2, 1.0), state=states)
def test_fill_scales_the_cans_per_metre(width: float, layout: str, fill: float, state: str) -> None:
    whole = pack_between(width, D, layout, state=state)
    part = pack_between(width, D, layout, fill=fill, state=state)
    assert part.cans_per_metre == pytest.approx(fill * whole.cans_per_metre, rel=1e-12)


@given(width=widths, layout=layouts, state=states, factor=st.floats(0.01, 50.0))
def test_everything_scales(width: float, layout: str, state: str, factor: float) -> None:
    one = pack_between(width, D, layout, 700.0, state=state)
    other = pack_between(factor * width, factor * D, layout, factor * 700.0, state=state)
    if one.slack_mm > 1e-5 * D or one.state == "strained":
        assert (one.lanes, one.state, len(one)) == (other.lanes, other.state, len(other))
        np.testing.assert_allclose(other.centres_mm, factor * one.centres_mm, rtol=1e-9)


@given(width=widths, layout=layouts)
def test_left_and_right_are_mirror_images(width: float, layout: str) -> None:
    left, right, middle = (
        pack_between(width, D, layout, state="slack", lie=lie)
        for lie in ("left", "right", "centred")
    )
    np.testing.assert_allclose(
        np.sort(left.centres_mm[:, 1]), np.sort(width - right.centres_mm[:, 1]), atol=1e-5 * D
    )
    np.testing.assert_allclose(
        middle.centres_mm, (left.centres_mm + right.centres_mm) / 2.0, atol=1e-9
    )


@given(width=widths, layout=layouts, state=st.sampled_from(["strained", "blocks"]))
def test_strained_and_blocks_use_the_whole_width(width: float, layout: str, state: str) -> None:
    pack = pack_between(width, D, layout, state=state)
    if pack.fits:
        y = pack.centres_mm[:, 1]
        assert y.min() == pytest.approx(D / 2, abs=1e-9)
        assert y.max() == pytest.approx(width - D / 2, abs=1e-9)
        assert (pack.slack_mm < 0.0) == (state == "strained" and layout == "lengthwise")


@given(width=widths, layout=layouts, more=st.floats(0.0, 3.0))
def test_wider_guides_never_lose_a_lane(width: float, layout: str, more: float) -> None:
    narrow = pack_between(width, D, layout, state="slack")
    wide = pack_between(width + more * D, D, layout, state="slack")
    assert wide.lanes >= narrow.lanes
    if wide.lanes == narrow.lanes:
        grown = wide.slack_mm - narrow.slack_mm
        assert grown == pytest.approx(more * D, abs=2e-6 * D)
