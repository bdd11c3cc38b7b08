"""What the whole passage must show: the order in which looser guides let cans go, and where."""

from __future__ import annotations

import freud
import numpy as np
import pytest

from packsim.line import Kicks
from packsim.passage.profile import empty_tally, mean_profile, tallied
from packsim.passage.run import run_passage
from packsim.passage.step import start, start_slice, step
from packsim.passage.track import build_track


def tips(line, can, slack: float, kick: float, seeds: int = 1) -> np.ndarray:
    kicks = Kicks(kick, 2.0, 0.3, 5.0)
    track = build_track(line(5, (slack,), length=2500.0, kicks=kicks, state="slack"), can)
    runs = [run_passage(track, seed=s, time_s=30.0, frame_every_s=30.0) for s in range(seeds)]
    return np.sum([run.tipped[0] for run in runs], axis=0)


@pytest.mark.slow
def test_below_the_safe_slack_no_kick_however_hard_tips_a_can(line, can) -> None:
    """Safe slack of this can on wires at 90 mm is 40.1 mm (edge), at the balance point exactly."""
    assert tips(line, can, 36.0, 5.0).sum() == 0


@pytest.mark.all
def test_opening_the_guides_lets_edge_cans_go_first_then_centre_cans(line, can) -> None:
    """Common practice, no source. The drift gathers the slack at the left guide: 42 mm there is
    past the edge limit of 40.1 mm; the cans behind need their neighbour to go along."""
    gentle = tips(line, can, 42.0, 0.2, 24)
    rough = tips(line, can, 42.0, 0.6, 2)
    # measured over 500 runs: 0.84 a run at the guide, 0.02 elsewhere, where one can bring another
    assert gentle[0] >= 8
    assert 4 * (gentle[1] + gentle[2]) <= gentle[0]
    assert rough[0] > rough[1] >= 1


@pytest.mark.slow
def test_the_rough_stages_dominate(line, can) -> None:
    """Common practice, no source: high-pressure stages tip the most."""
    stages = tuple(Kicks(energy, 2.0, 0.3, 5.0) for energy in (0.1, 0.5, 0.1))
    track = build_track(line(5, (46.0,) * 3, length=1500.0, kicks=stages, state="slack"), can)
    counts = run_passage(track, seed=3, time_s=45.0, frame_every_s=45.0).tipped.sum(axis=1)
    assert counts[1] >= 5
    assert counts[1] > 3 * counts[0] + 3 * counts[2]


def test_a_drift_opens_a_crack_that_the_mean_slack_does_not_show(line, can) -> None:
    """After a stage with drift the same slack stands in one place instead of shared out."""
    kicks = (Kicks(0.0, 1.0, 0.1), Kicks(0.0, 1.0, 0.1, 3.0))
    track = build_track(line(6, (9.0, 9.0), length=1500.0, kicks=kicks, state="slack"), can)
    rng = np.random.default_rng(1)
    state = start(track, rng)
    for _ in range(250):
        state, _ = step(state, track, 0.05, rng)
    profile = mean_profile(tallied(empty_tally(track, 750.0), state, track), track)
    assert profile.largest_gap_mm[3] > 1.5 * profile.largest_gap_mm[0]
    assert abs(profile.slack_mm[3] - profile.slack_mm[0]) < 2.0


def test_a_slack_pack_stays_a_honeycomb(line, can) -> None:
    """freud: hexatic order of cans with six neighbours inside, after 10 s of kicks."""
    track = build_track(line(12, (6.0,), kicks=Kicks(0.0, 2.0, 0.2), fill=0.99), can)
    state = start_slice(track, np.random.default_rng(1), 1500.0)
    rng = np.random.default_rng(1)
    for _ in range(200):
        state, _ = step(state, track, 0.05, rng)
    box = freud.box.Box(Lx=state.period_mm, Ly=4000.0, is2D=True)
    points = np.column_stack((state.x_mm, state.y_mm, np.zeros(len(state))))
    points[:, 1] -= points[:, 1].mean()
    order = freud.order.Hexatic(k=6)
    order.compute((box, box.wrap(points)), neighbors={"num_neighbors": 6})
    low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
    inside = np.minimum(state.y_mm - low, high - state.y_mm) > 60.0
    assert np.abs(order.particle_order)[inside].mean() > 0.97


def wandered(
    line, can, dt: float, tolerance: float, seeds: int = 6, drift: float = 1.0
) -> np.ndarray:
    """How far 4 s of kicks and drift carry the pack: mean across, spread along, spread across [mm].

    Half-way to the guide, before it stops the pack. Row 0 the means over the seeds, row 1 their
    standard errors.
    """
    kicks = Kicks(0.0, 2.0, 0.3, drift)
    track = build_track(line(8, (8.0,), length=3000.0, kicks=kicks, fill=0.98), can)
    found = []
    for seed in range(seeds):
        first = state = start_slice(track, np.random.default_rng(0), 1500.0)
        rng = np.random.default_rng(seed)
        for _ in range(round(4.0 / dt)):
            state, _ = step(state, track, dt, rng, tolerance_mm=tolerance, cap=2000)
        moved = state.place_mm - first.place_mm
        found.append((moved.imag.mean(), moved.real.std(), moved.imag.std()))
    return np.array([np.mean(found, axis=0), np.std(found, axis=0, ddof=1) / np.sqrt(seeds)])


def test_the_answer_does_not_hang_on_step_or_tolerance(line, can) -> None:
    """Measured here, in mm, each with its standard error over six seeds:

    =======  =========  =============  =============  =============
    step     tolerance  mean across    spread along   spread across
    =======  =========  =============  =============  =============
    0.2 s    0.02       3.908 ± 0.030  0.554 ± 0.005  0.427 ± 0.006
    0.1 s    0.02       3.948 ± 0.018  0.542 ± 0.015  0.417 ± 0.021
    0.05 s   0.02       3.903 ± 0.026  0.557 ± 0.012  0.403 ± 0.026
    0.025 s  0.02       3.939 ± 0.023  0.556 ± 0.019  0.425 ± 0.016
    12.5 ms  0.02       3.893 ± 0.017  0.549 ± 0.011  0.426 ± 0.013
    0.05 s   0.1        3.909 ± 0.027  0.565 ± 0.012  0.409 ± 0.026
    0.05 s   0.0025     3.901 ± 0.026  0.556 ± 0.012  0.402 ± 0.026
    =======  =========  =============  =============  =============

    No trend with the step stands out of its noise, and the tolerance counts for 0.002 mm.
    """
    usual = wandered(line, can, 0.05, 0.02)
    for dt in (0.2, 0.0125):
        other = wandered(line, can, dt, 0.02)
        assert (abs(other[0] - usual[0]) < 4.0 * np.hypot(usual[1], other[1])).all(), dt
    for tolerance in (0.1, 0.0025):
        # the same kicks fall on both, so far less than their noise parts them
        assert abs(wandered(line, can, 0.05, tolerance)[0] - usual[0]).max() < 0.01, tolerance


def by_place(line, can, drift: float, seeds: int = 12) -> np.ndarray:
    """Gap of the cans at each place across to the guide they drift to, after 20 s against it [mm].

    Row 0 the means over the seeds, row 1 their standard errors; the nearest lane comes first.
    """
    kicks = Kicks(0.0, 2.0, 0.3, drift)
    track = build_track(line(6, (8.0,), length=3000.0, kicks=kicks, fill=0.98), can)
    found = []
    for seed in range(seeds):
        state = start_slice(track, np.random.default_rng(0), 800.0)
        rng = np.random.default_rng(seed)
        for _ in range(200):
            state, _ = step(state, track, 0.1, rng)
        low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
        gap = np.sort(high - state.y_mm if drift > 0.0 else state.y_mm - low)
        found.append(gap.reshape(6, -1).mean(axis=1))
    return np.array([np.mean(found, axis=0), np.std(found, axis=0, ddof=1) / np.sqrt(seeds)])


def test_a_pack_pressed_to_the_left_is_the_mirror_of_one_pressed_to_the_right(line, can) -> None:
    """Cans are numbered from left to right, and sweeps go by the numbers, either way in turns."""
    left, right = by_place(line, can, -1.0), by_place(line, can, 1.0)
    assert right[0][0] < 0.5  # pressed, and hard enough to count
    assert (abs(left[0] - right[0]) <= 4.0 * np.hypot(left[1], right[1])).all()
    assert np.hypot(left[1], right[1]).max() < 0.05
