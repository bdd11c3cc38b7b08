"""What a photograph says of the pack: exact on lattices, honest about its errors."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.answers import answer_stage
from packsim.answers.answer import OPEN_GAP
from packsim.answers.quantities import quantity
from packsim.errors import InputError
from packsim.look.beside import beside_line
from packsim.look.gaps import row_gaps, whole_rows
from packsim.look.known import Known
from packsim.look.measure import Looked, measure_pack
from packsim.look.rows import rows_of
from packsim.look.seen import SeenPack
from packsim.pack.state import Pack, pack_between
from packsim.pack.voids import find_voids
from packsim.passage import ROLES
from packsim.scenario import load_scenario
from tests.look.known_packs import mirrored, reordered, seen_of, turned, with_states, without
from tests.oracles.spacing import mean_longest

D = 66.09
ROOT = Path(__file__).resolve().parents[2]
LAYOUTS = ("lengthwise", "crosswise")
TRIES = 40
SEEDS = 200


def laid(width: float = 1391.0, layout: str = "lengthwise", fill: float = 1.0, **how) -> Pack:
    return pack_between(width, D, layout, 1200.0, fill, state="slack", **how)


def value(known: Known | None) -> float:
    assert known is not None
    return known.value


@pytest.mark.parametrize("layout", LAYOUTS)
def test_close_packed_lines_say_how_the_pack_is_turned_and_no_others(layout) -> None:
    """Lines that slip along each other stay straight; those drawn across them would turn."""
    pack = laid(467.3, layout)
    slipped = pack.centres_mm.copy()
    along, aside = (0, 1) if layout == "lengthwise" else (1, 0)
    slipped[:, along] += 0.02 * slipped[:, aside]
    rows = rows_of(seen_of(replace(pack, centres_mm=slipped)))
    assert rows.layout == layout
    assert rows.turned_rad.value == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("width", [1391.0, 1365.0, 467.3])
@pytest.mark.parametrize("fill", [1.0, 0.97])
def test_a_lattice_without_noise_says_what_packsim_says_of_it(layout, width, fill) -> None:
    pack = laid(width, layout, fill, lie="left")
    found = measure_pack(seen_of(pack))
    assert (found.layout, found.lanes, found.whole_width) == (layout, pack.lanes, True)
    assert value(found.clear_width_mm) == pytest.approx(width, abs=1e-6)
    assert value(found.slack_mm) == pytest.approx(pack.slack_mm, abs=1e-6)
    assert value(found.fill) == pytest.approx(fill, abs=1e-9)
    assert value(found.cans_per_metre) == pytest.approx(pack.cans_per_metre, abs=1e-6)
    assert found.rows.turned_rad.value == pytest.approx(0.0, abs=1e-9)
    assert (found.rows.torn, found.missing, found.not_seen) == (0.0, 0, ())
    assert found.gaps is not None
    assert found.gaps.left_mm.value == pytest.approx(0.0, abs=1e-6)
    assert found.gaps.right_mm.value == pytest.approx(pack.slack_mm, abs=1e-6)
    assert value(found.enters) == pytest.approx(0.0, abs=1e-6)
    own = found.pack
    assert own is not None
    assert own.pack_width_mm == pytest.approx(pack.pack_width_mm)
    for name in ("lanes", "layout", "state"):
        assert getattr(own, name) == getattr(pack, name)
    for name in ("density", "cans_per_metre", "fill", "slack_mm", "clear_width_mm"):
        assert getattr(own, name) == pytest.approx(getattr(pack, name), abs=1e-6), name
    same = pack_between(width, D, layout, own.length_mm - 1.0, fill, state="slack", lie="left")
    voids, whole = found.voids, find_voids(same, OPEN_GAP * D)
    assert voids is not None
    assert voids.free_area_fraction == pytest.approx(whole.free_area_fraction, abs=1e-7)
    assert voids.largest_circle_mm == pytest.approx(whole.largest_circle_mm, abs=1e-5)
    assert voids.by_place == whole.by_place


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("change", [mirrored, turned, lambda seen: reordered(seen, 3)])
def test_a_picture_mirrored_turned_or_with_its_cans_reordered_says_the_same(layout, change) -> None:
    seen = without(seen_of(laid(1396.0, layout, 0.98, lie="left"), 0.2, 5), 40, 41, 130)
    one, other = measure_pack(seen), measure_pack(change(seen))
    for name in ("lanes", "missing", "standing", "layout"):
        assert getattr(one, name) == getattr(other, name)
    for name in ("fill", "slack_mm", "clear_width_mm", "cans_per_metre", "least_width_mm"):
        assert value(getattr(other, name)) == pytest.approx(value(getattr(one, name)), abs=1e-6)
    assert one.gaps is not None
    assert other.gaps is not None
    ends = [other.gaps.left_mm.value, other.gaps.right_mm.value]
    ends = ends if change not in (mirrored, turned) else ends[::-1]
    if layout == "crosswise" or change is not mirrored:
        ours = [one.gaps.left_mm.value, one.gaps.right_mm.value]
        assert ends == pytest.approx(ours, abs=0.05)


@given(
    width=st.floats(300.0, 1600.0),
    layout=st.sampled_from(LAYOUTS),
    fill=st.floats(0.93, 1.0),
    lie=st.sampled_from(["left", "centred", "right"]),
    seed=st.integers(0, 99),
)
def test_lanes_and_layout_are_those_of_the_pack(width, layout, fill, lie, seed) -> None:
    pack = pack_between(width, D, layout, 700.0, fill, state="slack", lie=lie)
    found = measure_pack(seen_of(pack, 0.3, seed))
    assert (found.layout, found.lanes) == (layout, pack.lanes)


def spread_pack(share_gathered: float, rng: np.random.Generator, slack_mm: float = 12.0) -> Pack:
    """Rows straight across, the slack of each spread at random, or all in one gap in some."""
    lanes = 15
    pack = laid(D * 8 + slack_mm, "crosswise", fill=0.97, lie="left")
    centres = pack.centres_mm.copy()
    for x in np.unique(centres[:, 0].round(6)):
        row = np.flatnonzero(centres[:, 0].round(6) == x)
        row = row[centres[row, 1].argsort()]
        gaps = rng.dirichlet(np.ones(len(row) + 1))
        if rng.random() < share_gathered:
            gaps = np.eye(len(row) + 1)[rng.integers(len(row) + 1)]
        centres[row, 1] += slack_mm * gaps.cumsum()[:-1]
    assert pack.lanes == lanes
    return replace(pack, centres_mm=centres)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_slack_spread_at_random_and_slack_gathered_are_told_apart(share: float) -> None:
    rng = np.random.default_rng(11)
    found, pulls = [], []
    for seed in range(TRIES):
        seen = seen_of(spread_pack(share, rng), 0.15, seed)
        gaps = row_gaps(seen, rows_of(seen), (0.15, 0.15))
        assert gaps is not None
        assert gaps.gathered is not None
        found.append(gaps.gathered.value)
        pulls.append(gaps.gathered.holds(share))
        assert gaps.widest_gathered_mm == pytest.approx(12.0, abs=1.0)
        cans = gaps.by_place_mm.size
        spread = gaps.row_slack_mm.value * mean_longest(cans)
        assert gaps.widest_spread_mm == pytest.approx(spread)
    assert np.mean(found) == pytest.approx(share, abs=0.05)
    assert np.mean(pulls) > 0.85


def test_the_share_gathered_is_as_sure_as_the_slack_it_is_a_share_of() -> None:
    """Squares of gaps over the square S² of the slack: an error e in S is 2 e/S of that."""
    seen = seen_of(spread_pack(0.4, np.random.default_rng(11)), 0.15, 3)
    sure, less = (row_gaps(seen, rows_of(seen), (face, face)) for face in (0.15, 1.5))
    assert sure is not None
    assert less is not None
    assert sure.gathered is not None
    assert less.gathered is not None
    assert less.gathered.value == pytest.approx(sure.gathered.value)
    spread = 2.0 / (sure.gaps_mm.shape[1] + 1.0)  # the share of slack that is spread at random
    squares = spread + sure.gathered.value * (1.0 - spread)
    each = 2.0 * squares / (1.0 - spread) / sure.row_slack_mm.value
    more = math.sqrt(less.row_slack_mm.within**2 - sure.row_slack_mm.within**2)
    assert less.gathered.within**2 - sure.gathered.within**2 == pytest.approx((each * more) ** 2)


def test_a_widest_gap_of_slack_spread_at_random_is_what_a_broken_stick_has() -> None:
    rng = np.random.default_rng(2)
    widest = []
    for seed in range(20):
        seen = seen_of(spread_pack(0.0, rng), 0.0, seed)
        gaps = row_gaps(seen, rows_of(seen), (0.15, 0.15))
        assert gaps is not None
        widest.append(gaps.widest_mm.value / gaps.widest_spread_mm)
    assert np.mean(widest) == pytest.approx(1.0, abs=0.03)


def told(found: Looked) -> dict[str, Known | None]:
    assert found.gaps is not None
    assert found.spread is not None
    return {
        "clear width": found.clear_width_mm,
        "least width": found.least_width_mm,
        "slack": found.slack_mm,
        "left": found.gaps.left_mm,
        "right": found.gaps.right_mm,
        "row slack": found.gaps.row_slack_mm,
        "turned": found.rows.turned_rad,
    }


@pytest.mark.all
@pytest.mark.parametrize("layout", ["lengthwise", pytest.param("crosswise", marks=pytest.mark.all)])
def test_nineteen_of_twenty_errors_hold_the_truth(layout: str) -> None:
    pack = laid(1398.0, layout)
    slack, width = pack.slack_mm, pack.clear_width_mm
    rim = float(np.ptp(pack.centres_mm[:, 1])) + D
    truth = {
        "clear width": width,
        "least width": rim,
        "slack": slack,
        "left": slack / 2.0,
        "right": slack / 2.0,
        "row slack": slack,
        "turned": 0.0,
    }
    held = dict.fromkeys(truth, 0)
    for seed in range(SEEDS):
        rng = np.random.default_rng(1000 + seed)
        scale = 1.0 + 0.0003 * rng.normal()
        seen = seen_of(pack, 0.2, seed, scale_error=0.0003)
        seen = replace(seen, centres_mm=seen.centres_mm * scale, guides_mm=seen.guides_mm * scale)
        for name, known in told(measure_pack(seen)).items():
            assert known is not None
            held[name] += known.holds(truth[name])
    shares = {name: count / SEEDS for name, count in held.items()}
    assert {n: s for n, s in shares.items() if not 0.90 <= s <= 0.985} == {}


def test_cans_taken_away_are_missed_and_thin_the_fill() -> None:
    pack = laid(1398.0)
    middle = np.flatnonzero(np.abs(pack.centres_mm[:, 0] - 600.0) < 150.0)
    gone = middle[[5, 40, 41, 77]]
    found = measure_pack(without(seen_of(pack, 0.1), *gone))
    assert found.missing == 4
    assert value(found.fill) == pytest.approx(1.0 - 4 / len(pack), abs=0.002)
    assert value(found.fill) + found.fill.within >= 1.0 - 4 / len(pack)
    assert found.voids is not None
    assert int(found.voids.holds_a_can.sum()) + found.voids.by_place["edge pocket"] >= 3


def test_fill_of_packs_with_random_holes_is_within_its_error() -> None:
    pack, held = laid(1398.0), 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        gone = np.flatnonzero(rng.random(len(pack)) < 0.02)
        fill = measure_pack(without(seen_of(pack, 0.1, seed), *gone)).fill
        assert fill is not None
        held += fill.holds(0.98)
    assert 0.88 <= held / 60 <= 1.0


def test_leaning_and_lying_cans_are_counted_and_those_that_lie_are_in_no_lane() -> None:
    seen = with_states(seen_of(laid(1398.0), 0.1), leaning=120, down=200)
    found = measure_pack(seen)
    assert (found.leaning, found.down, found.standing) == (1, 1, len(seen) - 2)
    assert found.rows.lane[200] == -1
    assert found.missing == 0


@pytest.mark.parametrize("spread", [0.0, 0.12])
def test_a_spread_of_diameters_is_told_where_it_is_more_than_the_error(spread: float) -> None:
    rng = np.random.default_rng(4)
    seen = seen_of(laid(1398.0), 0.1)
    seen = replace(seen, diameters_mm=seen.diameters_mm + spread * rng.normal(size=len(seen)))
    found = measure_pack(seen).spread
    assert found is not None
    assert found.told == (spread > 0.0)
    assert found.spread_mm.holds(spread)
    assert found.least_mm < 0.04


def test_without_a_guide_there_is_no_width_and_it_says_how_much_it_is_at_least() -> None:
    pack = laid(1398.0, lie="left")
    seen = seen_of(pack, 0.1)
    seen = replace(
        seen, guides_mm=np.array([seen.guides_mm[0], math.nan]), not_seen=("the right guide",)
    )
    found = measure_pack(seen)
    assert (found.clear_width_mm, found.slack_mm, found.gaps, found.enters) == (None,) * 4
    assert found.least_width_mm.holds(pack.pack_width_mm)
    assert found.whole_width  # the mat beside the pack is in the picture
    assert "the right guide" in found.not_seen
    narrow = replace(
        seen, field_mm=np.array([[-9.0, 0.0], [1300.0, 0.0], [1300.0, 1390.0], [-9.0, 1390.0]])
    )
    cut = measure_pack(narrow)
    assert (cut.whole_width, cut.cans_per_metre) == (False, None)
    assert value(cut.fill) == pytest.approx(1.0, abs=0.01)


def test_what_leaves_cans_too_little_room_is_no_guide() -> None:
    seen = seen_of(laid(1391.0), 0.1, 4)
    near = replace(seen, guides_mm=seen.guides_mm + np.array([0.0, -30.0]))
    found = measure_pack(near)
    assert found.slack_mm is found.clear_width_mm is found.gaps is None
    assert "a guide: where one was taken to be, the cans do not fit in" in found.not_seen
    assert found.lanes == measure_pack(seen).lanes


def test_guides_lower_than_the_rims_stand_where_their_parallax_puts_them() -> None:
    pack = laid(1398.0)
    seen = seen_of(pack, guide_parallax=np.array([-0.2, 0.3]))
    level = measure_pack(seen)
    assert [one for one in level.not_seen if "0.50 mm" in one]
    found = measure_pack(seen, guides_below_mm=Known(20.0, 2.0))
    assert value(found.clear_width_mm) == pytest.approx(1398.0 + 20.0 * 0.5)
    # the height is the same error at both guides, and the usual camera is known to 30 %
    shared = 0.5 * math.hypot(2.0, 1.96 * 0.15 * 20.0)
    assert found.clear_width_mm.within == pytest.approx(shared, rel=1e-3)


def test_a_camera_whose_height_is_known_tells_the_parallax() -> None:
    pack = laid(1398.0)
    seen = seen_of(pack, guide_parallax=np.array([-9.0, 9.0]))
    eye = seen.view.eye_mm()
    high = Known(2000.0, 40.0)
    found = measure_pack(seen, guides_below_mm=Known(20.0, 0.0), camera_mm=high)
    wider = 20.0 * 1398.0 / 2000.0
    assert value(found.clear_width_mm) == pytest.approx(1398.0 + wider, abs=1e-6)
    assert found.clear_width_mm.within == pytest.approx(wider * 0.02 * _away(eye[1]), rel=1e-3)


def _away(eye_mm: float) -> float:
    """How far off the guides are on both sides, over the clear width; 1 for a camera between."""
    return (abs(0.0 - eye_mm) + abs(1398.0 - eye_mm)) / 1398.0


def test_the_diameters_error_is_in_the_width_and_hardly_in_the_slack() -> None:
    found = measure_pack(seen_of(laid(1398.0)), diameter_within_mm=0.1)
    assert found.clear_width_mm.within == pytest.approx(1398.0 * 0.1 / D, rel=1e-3)
    assert found.slack_mm.within == pytest.approx(found.slack_mm.value * 0.1 / D, rel=1e-3)


def test_a_lane_without_a_neighbour_has_no_whole_row() -> None:
    seen = seen_of(laid(467.3))
    rows = rows_of(seen)
    alone = replace(rows, lane=np.where(rows.lane % 2 == 0, rows.lane, -1))
    assert whole_rows(alone).shape == (0, 0)


def nobody(seen: SeenPack) -> SeenPack:
    return without(seen, *range(len(seen)))


def alone(seen: SeenPack) -> SeenPack:
    return replace(seen, centres_mm=seen.centres_mm * 3.0)


@pytest.mark.parametrize("change", [nobody, alone])
def test_cans_that_are_no_pack_are_refused(change) -> None:
    with pytest.raises(InputError, match=r"photo: got .* needs a pack"):
        measure_pack(change(seen_of(laid(467.3))))


def test_a_row_with_a_can_missing_is_no_whole_row() -> None:
    seen = seen_of(laid(1398.0))
    full = len(whole_rows(rows_of(seen)))
    assert len(whole_rows(rows_of(without(seen, 300)))) == full - 1


def test_the_very_cans_are_judged_as_packsim_judges_the_same_pack() -> None:
    """On the line the pack was made for: every quantity that does not depend on its length."""
    line = load_scenario(ROOT / "scenarios" / "swing_line.toml")
    answer = answer_stage(line, "wash", "sleek body")
    pack = pack_between(1388.5, 58.0, "lengthwise", 1200.0, 0.99, state="slack", lanes=27)
    found = beside_line(line, "wash", "sleek body", measure_pack(seen_of(pack)))
    assert found is not None
    for key in TOLD:
        one, other = (quantity(key).plain(each) for each in (found.as_seen, answer))
        assert one == (other if isinstance(other, str) else pytest.approx(other, rel=1e-6)), key
    low, high = found.tip_index_interval
    assert low <= answer.tipping.loosest.worst <= high
    assert high - low < 1e-6
    counts = np.bincount(found.role[found.role < 5], minlength=5)
    assert counts[ROLES.index("could go over")] > 20  # those beside both guides
    assert found.least_energy_mJ is not None
    assert found.least_energy_mJ > 0.0


def test_the_index_lies_within_its_own_interval_where_a_lane_more_may_fit() -> None:
    """Four millimetres more hold 28 lanes, with less slack than the 27 that are seen."""
    line = load_scenario(ROOT / "scenarios" / "swing_line.toml")
    looked = measure_pack(seen_of(pack_between(1388.5, 58.0, "lengthwise", 1200.0, 0.99)))
    assert looked.clear_width_mm is not None
    assert looked.slack_mm is not None
    width, slack = (
        replace(looked.clear_width_mm, value=1412.0),
        replace(looked.slack_mm, within=4.0),
    )
    found = beside_line(
        line, "wash", "sleek body", replace(looked, clear_width_mm=width, slack_mm=slack)
    )
    assert found is not None
    low, high = found.tip_index_interval
    assert low < 1.5 < found.as_seen.tipping.loosest.worst <= high


TOLD = (
    *("verdict", "lanes", "slack_mm", "clear_width_mm", "fill", "density", "cans_per_metre"),
    *("tip_index", "index_gathered", "gathered_slack_mm", "index_own", "lean_edge_deg"),
    *("largest_void_mm", "open_area_share", "safe_slack_mm", "nozzle_offset_mm", "least_share_top"),
)


def test_python_offers_it_and_a_notebook_shows_it() -> None:
    import packsim

    found = packsim.measure_pack(seen_of(laid(467.3)))
    shown = found._repr_html_()  # type: ignore[attr-defined]
    assert "clear_width_mm" in shown
    assert "within" in shown


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("state", ["slack", "strained", "blocks"])
def test_slack_and_layout_of_every_state_a_pack_may_be_in(layout: str, state: str) -> None:
    pack = pack_between(1405.0, D, layout, 900.0, 0.97, state=state)
    found = measure_pack(seen_of(pack, 0.2))
    assert found.layout == layout
    assert found.slack_mm is not None
    assert found.slack_mm.holds(pack.slack_mm)
    if state != "blocks":  # whose lanes are those of both kinds of block
        assert found.lanes == pack.lanes
    elif found.voids is not None and layout == "lengthwise":
        assert found.voids.by_place["crack"] > 0
