from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from packsim.line import Kicks
from packsim.pack.near import list_near
from packsim.pack.state import pack_between
from packsim.passage.profile import empty_tally, mean_profile, sideways_slack_mm, tallied
from packsim.passage.step import start, start_slice, step
from packsim.passage.track import build_track

D = 66.0


def slack_of(pack) -> np.ndarray:
    place = pack.centres_mm[:, 0] + 1j * pack.centres_mm[:, 1]
    near = list_near(place, np.full(place.size, D / 2), pack.length_mm, 0.6)
    low = np.full(place.size, D / 2)
    high = np.full(place.size, pack.clear_width_mm - D / 2)
    return sideways_slack_mm(near, place, low, high)


@pytest.mark.parametrize("slack", [0.0, 3.0, 20.0])
@pytest.mark.parametrize("lie", ["left", "centred", "right"])
def test_a_perfect_pack_has_exactly_the_slack_left_over(slack: float, lie: str) -> None:
    width = D * (1 + 9 * math.sqrt(3) / 2) + slack
    pack = pack_between(width, D, length_mm=600.0, state="slack", lie=lie)
    got, gap = slack_of(pack)
    assert got == pytest.approx(np.full(len(pack), slack), abs=1e-6)
    widest = slack / 2 if lie == "centred" else slack
    assert gap.max() == pytest.approx(widest, abs=1e-6)


def test_a_crosswise_pack_has_the_slack_of_its_full_rows() -> None:
    pack = pack_between(8 * D + 5.0, D, "crosswise", 600.0, state="slack")
    got, _ = slack_of(pack)
    assert got.min() == pytest.approx(5.0, abs=1e-6)


def test_a_strained_pack_has_none() -> None:
    pack = pack_between(D * (1 + 9 * math.sqrt(3) / 2) - 8.0, D, length_mm=600.0, state="strained")
    got, _ = slack_of(pack)
    assert got == pytest.approx(np.zeros(len(pack)), abs=1e-5)


def test_stretching_along_the_line_gives_slack_across_it() -> None:
    """Lanes nest deeper between cans that stand apart: line pitch √(D² − (D/2f)²), derived here."""
    fill, lanes, slack = 0.99, 24, 8.5
    width = D * (1 + (lanes - 1) * math.sqrt(3) / 2) + slack
    got, _ = slack_of(pack_between(width, D, length_mm=600.0, fill=fill, state="slack"))
    pitch = math.sqrt(D**2 - (D / (2 * fill)) ** 2)
    assert got == pytest.approx(np.full(got.shape, width - D - (lanes - 1) * pitch), abs=1e-6)


def test_void_fraction_of_windows_against_shapely(line, can) -> None:
    track = build_track(line(5, (9.0, 4.0), kicks=Kicks(0.0, 4.0, 0.5), fill=0.95), can)
    rng = np.random.default_rng(1)
    state = start(track, rng)
    for _ in range(40):
        state, _ = step(state, track, 0.05, rng)
    tally = tallied(empty_tally(track, 300.0), state, track)
    got = mean_profile(tally, track).void_fraction
    places = zip(state.station_mm, state.y_mm, strict=True)
    cans = [shapely.Point(x, y).buffer(33.0, 256) for x, y in places]
    cover = shapely.union_all(cans)
    for k in (0, 1, 4):
        a, b = tally.edges_mm[k], tally.edges_mm[k + 1]
        inside = (track.station_mm >= a) & (track.station_mm < b)
        clear = float((track.right_mm - track.left_mm)[inside].mean())
        window = shapely.box(a, 0.0, b, 1600.0)
        expected = 1.0 - cover.intersection(window).area / ((b - a) * clear)
        assert got[k] == pytest.approx(expected, abs=1e-3)


def test_a_slice_shows_the_density_of_its_pack(line, can) -> None:
    track = build_track(line(7, (6.0,), kicks=Kicks(0.0, 0.0)), can)
    state = start_slice(track, np.random.default_rng(0), 800.0)
    profile = mean_profile(tallied(empty_tally(track), state, track), track)
    width = D * (1 + 6 * math.sqrt(3) / 2) + 6.0
    expected = 1.0 - pack_between(width, D, length_mm=800.0).density
    assert profile.void_fraction[0] == pytest.approx(expected, rel=1e-9)
    assert np.isnan(profile.slack_mm[-1])


def test_places_across_are_counted_by_stage(line, can) -> None:
    track = build_track(line(5, (8.0, 8.0), kicks=Kicks(0.0, 0.0), state="slack"), can)
    state = start(track, np.random.default_rng(0))
    across = tallied(empty_tally(track), state, track).across
    inside = track.stage_at.take(track.cell(state.station_mm))
    assert across.sum(axis=1).tolist() == [(inside == 0).sum(), (inside == 1).sum()]
    assert (np.flatnonzero(across[0]).size) == 5  # five lanes, five bins
