from __future__ import annotations

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
import shapely

from packsim.errors import InputError
from packsim.kept import digest_of
from packsim.passage.track import build_track, loaded_track
from packsim.scenario import load_scenario
from packsim.tipping.stops import meeting_lean_rad
from packsim.width.guide_faces import GRID_MM, faces_with_bow, reach_of_disc
from packsim.width.slack_budget import slack_budget


def at(track, station: float) -> tuple[float, float]:
    stations = np.array([station])
    low, high, _ = track.limits_mm(stations, np.array([33.0]))
    return float(low[0]), float(high[0])


def test_stages_follow_each_other_with_their_own_faces(line, can) -> None:
    scenario = line(slacks=(4.0, 10.0), length=1000.0)
    track = build_track(scenario, can)
    assert track.bounds_mm.tolist() == [0.0, 1000.0, 2000.0]
    for station, stage in ((500.0, 0), (1500.0, 1)):
        left, right = scenario.stages[stage].guides.faces_mm([500.0])
        assert at(track, station) == pytest.approx((left[0] + 33.0, right[0] - 33.0))
    assert track.stage_at[track.cell([-10.0, 10.0, 999.0, 1001.0, 1999.0, 2050.0])].tolist() == [
        -1, 0, 0, 1, 1, -1
    ]  # fmt: skip


def test_the_bow_between_brackets_is_there(line, can) -> None:
    scenario = line(length=1200.0, pack_pressure_N_per_m=30.0)
    track = build_track(scenario, can)
    stage = scenario.stages[0]
    stations = np.linspace(0.0, 1200.0, 13)
    left, right = faces_with_bow(stage.guides, stations, 30.0, stage.temperature_C)
    assert right[6] - left[6] > stage.guides.widest_mm + 1.0
    assert np.interp(stations, track.station_mm, track.left_mm) == pytest.approx(left, abs=1e-4)
    assert np.interp(stations, track.station_mm, track.right_mm) == pytest.approx(right, abs=1e-4)


def test_heat_takes_from_the_slack_what_the_budget_says(line, can) -> None:
    hot = line(lanes=24, slacks=(8.0,), temperature_C=60.0)
    cold = line(lanes=24, slacks=(8.0,))
    widths = []
    for scenario in (cold, hot):
        track = build_track(scenario, can)
        widths.append(float((track.right_mm - track.left_mm).min()))
    pack = 66.0 * (1 + 23 * math.sqrt(3) / 2)
    terms = slack_budget(hot.stages[0], can, pack_width_mm=pack).terms
    growth = sum(term.loosest_mm for term in terms if term.name.startswith("growth"))
    assert growth < -0.3
    assert widths[1] - widths[0] == pytest.approx(growth, abs=0.01)


def test_a_disc_rolls_over_a_corner() -> None:
    """shapely: a disc at the reach touches the stepped face, and nowhere cuts it."""
    x = np.arange(0.0, 400.0, GRID_MM)
    face = np.where(x < 200.0, 0.0, 5.0)
    reach = reach_of_disc(face, 33.0)
    edge = shapely.LineString(np.column_stack((x, face)))
    near = [edge.distance(shapely.Point(u, y)) for u, y in zip(x, reach, strict=True)]
    inner = (x > 40) & (x < 360)
    assert np.array(near)[inner] == pytest.approx(np.full(inner.sum(), 33.0), abs=0.02)
    assert reach[(x < 150) | (x > 260)] == pytest.approx(
        33.0 + face[(x < 150) | (x > 260)], abs=1e-12
    )


def test_stance_balance_and_hold_down_are_per_stage(line, can) -> None:
    base = line(slacks=(4.0, 4.0))
    wet = replace(base.stages[0], water_in_dome=(1.0, 1.0), hold_down_mm=130.0)
    scenario = base.with_stages((wet, base.stages[1]))
    standing = build_track(scenario, can).standing
    balance, energy = _load(standing)
    assert balance[0] < balance[1]
    assert balance[0] == can.stance(1.0).balance_angle_rad
    assert energy == pytest.approx([_rise_mJ(can.stance(1.0)), _rise_mJ(can.stance(0.0))])
    assert standing.meeting_rad[0] == meeting_lean_rad(can.stance(1.0), 130.0)
    assert np.isinf(standing.meeting_rad[1])


def _load(standing) -> tuple[np.ndarray, np.ndarray]:
    """Balance angle and energy in the middle of both stages."""
    return standing.load.at(np.array([500.0, 1500.0]), np.zeros(2), np.zeros(2))


def _rise_mJ(stance) -> float:
    """Weight times the rise of the centre of gravity to its highest point."""
    return stance.weight_N * (math.hypot(stance.radius_mm, stance.cg_mm) - stance.cg_mm)


def test_to_another_process_goes_what_a_line_is_and_not_what_was_worked_out(root) -> None:
    """Tables of the loads at every node are 48 MB."""
    track = loaded_track(load_scenario(root / "scenarios" / "swing_line.toml"), "sleek body")
    rng = np.random.default_rng(3)
    where = rng.uniform(0, 9000, 200), rng.uniform(200, 1500, 200), rng.uniform(0, 6, 200)
    found, _ = track.standing.load.at(*where), track.standing.least
    sent = pickle.dumps(track)
    assert len(sent) < 1_000_000
    there = pickle.loads(sent)  # noqa: S301 (our own)
    np.testing.assert_array_equal(there.standing.load.at(*where), found)
    assert digest_of(there) == digest_of(track)


def test_a_bad_friction_is_named(line, can) -> None:
    with pytest.raises(InputError, match="can_friction"):
        build_track(line(slacks=(4.0, 4.0)), can, can_friction=-1.0)


def test_a_pack_that_does_not_fit_is_a_reason_not_an_error(line, can) -> None:
    scenario = line()
    narrow = scenario.stages[0].with_clear_width(50.0)
    track = build_track(scenario.with_stages((narrow,)), can)
    assert len(track.infeed) == 0
    assert "one can needs" in track.infeed.reason
