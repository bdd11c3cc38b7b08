"""What pictures say over time: exact on moves that are known, honest about what is hidden."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.look.carried import shaken_on_line
from packsim.look.followed import Moment
from packsim.look.known import Known
from packsim.look.look import seen_in
from packsim.look.measure import measure_pack
from packsim.look.moves import against_neighbours, shifts_between
from packsim.look.over_time import Filmed, measure_film
from packsim.look.seen import View
from packsim.look.still import by_one_view
from packsim.pack.state import pack_between
from packsim.passage.infeed import Infeed, infeed_as_seen
from packsim.scenario import load_scenario
from tests.look.known_films import D, carried, packs, walking
from tests.look.render import Camera, Looks, Mat, picture

ROOT = Path(__file__).resolve().parents[2]
SEEDS = 12
PITCH = D / 0.97


def value(known: Known | None) -> Known:
    assert known is not None
    return known


@pytest.fixture(scope="module")
def films() -> list[Filmed]:
    return [
        measure_film(walking(seed, walk_mm=(0.4, 0.6), drift=0.8), still=True)
        for seed in range(SEEDS)
    ]


def test_speed_drift_and_shaking_are_those_of_the_cans_within_their_errors(films) -> None:
    truth = {
        "speed_mm_per_s": 90.0,
        "drift_mm_per_s": 0.8,
        "shake_across_mm": 0.6,
        "shake_along_mm": 0.4,
    }
    for name, true in truth.items():
        held = sum(value(getattr(one, name)).holds(true) for one in films)
        assert held >= SEEDS - 3, name
        assert np.mean([value(getattr(one, name)).value for one in films]) == pytest.approx(
            true, rel=0.15
        )
    assert {one.speed_from for one in films} == {"cans"}


@pytest.mark.all
def test_errors_of_centres_alone_are_no_shaking() -> None:
    each = [measure_film(walking(seed, walk_mm=0.0, error_mm=0.2)) for seed in range(10)]
    assert sum(value(one.shake_across_mm).holds(0.0) for one in each) >= 8
    assert any("below what the pictures can tell" in said for said in each[0].not_seen)


def test_cans_in_two_pictures_count_once(films) -> None:
    # 0.9 m of field and 11 times 9 mm of travel, eight lanes of cans 68 mm apart
    expected = 8 * (900.0 + 11 * 9.0) / PITCH
    for one in films:
        assert one.counted_once
        assert one.cans == pytest.approx(expected, rel=0.05)


def test_a_can_that_is_down_in_many_pictures_is_one() -> None:
    moments = walking(3)
    downed = []
    first = moments[0].looked.seen
    can = int(np.abs(first.centres_mm - (300.0, 240.0)).sum(axis=1).argmin())
    spot = first.centres_mm[can]
    for k, one in enumerate(moments):
        seen = one.looked.seen
        near = int(np.abs(seen.centres_mm - spot - (9.0 * k, 0.0)).sum(axis=1).argmin())
        state = seen.state.copy()
        state[near] = 2
        looked = replace(one.looked, seen=replace(seen, state=state))
        downed.append(replace(one, looked=looked))
    assert measure_film(downed, still=True).down == 1


def test_a_pack_that_looks_alike_a_can_further_on_tells_no_speed() -> None:
    moments = walking(1, walk_mm=0.0, uneven_mm=0.0, error_mm=0.1)
    found = measure_film(moments, still=True)
    assert (found.speed_mm_per_s, found.shake_across_mm, found.drift_mm_per_s) == (None, None, None)
    assert any("a can further on" in one and "--scenario" in one for one in found.not_seen)
    assert not found.counted_once
    told = measure_film(moments, still=True, mat_mm_per_s=93.0)
    assert told.speed_from == "scenario"
    assert value(told.speed_mm_per_s).value == pytest.approx(90.0, abs=0.5)


def test_more_than_a_can_between_pictures_is_told_by_uneven_cans() -> None:
    found = measure_film(walking(2, 6, 1.0, speed=95.0, walk_mm=0.2), still=True)
    assert found.speed_from == "cans"
    assert value(found.speed_mm_per_s).holds(95.0)


def test_cans_that_go_the_other_way_are_said() -> None:
    found = measure_film(walking(8, 6, speed=-90.0), still=True)
    assert value(found.speed_mm_per_s).value == pytest.approx(-90.0, abs=1.0)
    assert any("--travel" in one for one in found.not_seen)
    right = walking(8, 6)
    odd = measure_film(right, still=True, mat_mm_per_s=120.0)
    assert any("120 mm/s" in one for one in odd.not_seen)
    assert measure_film(right, still=True, mat_mm_per_s=92.0).not_seen == ()
    assert any("the camera stood" in one for one in measure_film(right).not_seen)


def test_pictures_that_share_no_can_say_so() -> None:
    apart = measure_film(walking(4, 3, 20.0, speed=40.0, walk_mm=0.1)[:2], still=True)
    assert apart.speed_mm_per_s is None
    assert apart.slack_mm is not None
    assert any("share too few" in one or "as well as" in one for one in apart.not_seen)


def test_without_times_slack_is_all_that_is_told() -> None:
    moments = [replace(one, time_s=None) for one in walking(5, 4)]
    found = measure_film(moments)
    assert found.interval_s is None
    assert value(found.slack_mm).holds(480.0 - D * (1.0 + 7.0 * math.sqrt(0.75)))
    assert any("not known when" in one for one in found.not_seen)


def test_shifts_hold_the_true_one_and_it_fits_best() -> None:
    one, other = packs(walking(6, 2, walk_mm=0.3))
    shifts = shifts_between(one, other)
    best = int(shifts.misfit_mm2.argmin())
    assert shifts.travel_mm[best] == pytest.approx(9.0, abs=0.1)
    assert np.diff(shifts.travel_mm) == pytest.approx(PITCH, abs=2.0)


def test_what_all_cans_share_is_no_move() -> None:
    rng = np.random.default_rng(0)
    places = rng.uniform(0.0, 900.0, (200, 2))
    x, y = places.T / 900.0
    bent = np.column_stack((3.0 + x - y * x, -2.0 + 0.5 * y * y))
    assert np.abs(against_neighbours(places, bent)).max() < 1e-9
    own = rng.normal(0.0, 0.2, (200, 2))
    left = against_neighbours(places, bent + own)
    assert left.std() == pytest.approx(own.std(), rel=0.05)


def test_pictures_of_one_camera_share_its_best_view() -> None:
    seen = packs(walking(7, 4, speed=0.0, walk_mm=0.0, error_mm=0.0))
    wrong = [
        replace(
            one,
            centres_mm=one.centres_mm * times,
            guides_mm=one.guides_mm * times,
            view=View(
                one.view.homography @ np.diag([1 / times, 1 / times, 1.0]),
                0.0,
                one.view.middle_px,
                one.view.reach_px,
            ),
            scale_error=abs(times - 1.0) + 1e-4,
        )
        for one, times in zip(seen, (1.0, 1.01, 0.99, 1.02), strict=True)
    ]
    found = by_one_view(wrong)
    assert found is not None
    for one in found:
        assert one.centres_mm == pytest.approx(seen[0].centres_mm, abs=1e-6)
        assert one.guides_mm == pytest.approx(seen[0].guides_mm, abs=1e-6)
    elsewhere = [replace(one, guides_mm=one.guides_mm + 8.0 * k) for k, one in enumerate(seen)]
    assert by_one_view(elsewhere) is None
    assert by_one_view([replace(seen[0], picture_px=(9, 9)), *seen[1:]]) is None


def test_the_step_of_a_kick_comes_back_from_a_film_of_the_passage() -> None:
    line = load_scenario(ROOT / "scenarios" / "swing_line.toml")
    size, stage = line.sizes[0].name, line.stages[0]
    found = measure_film(carried(line, size, 25, 0.1, 0.05), still=True)
    assert value(found.speed_mm_per_s).value == pytest.approx(line.mat.speed_mm_per_s, rel=0.002)
    shaken = shaken_on_line(line, stage.name, size, found)
    assert shaken is not None
    assert shaken.across_mm < stage.kicks.step_mm  # neighbours stop it
    assert value(shaken.kick_step_mm).value == pytest.approx(stage.kicks.step_mm, rel=0.25)


def test_one_picture_is_no_film() -> None:
    with pytest.raises(InputError, match="two or more"):
        measure_film(walking(0, 1))


@pytest.mark.all
def test_rendered_pictures_of_moving_cans_tell_their_speed_and_drift() -> None:
    rng = np.random.default_rng(4)
    pack = pack_between(480.0, 66.0, "lengthwise", 1400.0, 0.97, state="slack")
    place = pack.centres_mm + rng.normal(0.0, 0.3, pack.centres_mm.shape) - (500.0, 0.0)
    camera = Camera((460, 420), 0.8, (280.0, 240.0), far_mm=1600.0)
    seen, every = [], 0.2
    for k in range(5):
        at = place + np.array([85.0, 2.0]) * every * k
        mat = Mat(at[(at[:, 0] > -120.0) & (at[:, 0] < 720.0)], guides_mm=(0.0, 480.0))
        shown = picture(mat, camera, Looks(noise=0.008), rng)
        seen.append(seen_in(shown / 255.0, 66.0, f"{k}", travel="right"))
    still = by_one_view(seen)
    assert still is not None
    moments = [Moment(f"{k}", every * k, measure_pack(one)) for k, one in enumerate(still)]
    found = measure_film(moments, still=True)
    assert found.speed_from == "cans"
    assert value(found.speed_mm_per_s).value == pytest.approx(85.0, rel=0.02)
    assert value(found.drift_mm_per_s).value == pytest.approx(2.0, abs=0.4)
    # the guides stand still: one scale for all pictures leaves nothing for the slack to change by
    assert found.slack_differs_mm is not None
    assert found.slack_differs_mm < 0.3


def test_the_infeed_feeds_the_very_cans_in_the_middle_of_the_guides() -> None:
    pack = walking(9, 2)[0].looked.pack
    assert pack is not None
    usual = Infeed(np.empty(0, np.complex128), 10.0, D / 2.0, 0.1, reason="does not fit")
    fed = infeed_as_seen(usual, pack, 100.0, 100.0 + pack.clear_width_mm + 8.0)
    assert fed.place_mm.real == pytest.approx(pack.centres_mm[:, 0])
    assert fed.place_mm.imag == pytest.approx(pack.centres_mm[:, 1] + 104.0)
    assert (fed.length_mm, fed.reason, fed.radius_tol_mm) == (pack.length_mm, "", 0.1)
