"""The joint shift against brute force, and against two rows thrown far apart."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.shift import Facing, joint_shift
from tests.nozzles.rows import best_shift

places = st.lists(st.floats(0.0, 500.0), min_size=1, max_size=6, unique=True)
rooms = st.tuples(st.floats(0.0, 40.0), st.floats(0.0, 40.0))


def facing(lines: list[float], nozzles: list[float]) -> Facing:
    return Facing(np.sort(lines), np.sort(nozzles), np.ones(len(lines)) / len(lines))


def brute(rows: list[Facing], room: tuple[float, float]) -> tuple[float, float]:
    """Least worst and least rms on a fine grid, by plain distances."""
    best = [np.inf, np.inf]
    for shift in np.linspace(-room[0], room[1], 801):
        near = [
            np.min(np.abs(r.lines_mm[:, None] + shift - r.nozzles_mm[None, :]), axis=1)
            for r in rows
        ]
        best[0] = min(best[0], max(float(d.max()) for d in near))
        best[1] = min(best[1], float(np.sqrt(np.mean([np.mean(d**2) for d in near]))))
    return best[0], best[1]


@settings(max_examples=min(25, settings().max_examples))
@given(places, places, places, places, rooms)
@example([1.0], [1.0], [1.0], [1.0], (0.0, 1.0673546228420176e-76)).via("worst came out below 0")
def test_two_rows_against_brute_force(
    lines: list[float],
    nozzles: list[float],
    others: list[float],
    more: list[float],
    room: tuple[float, float],
) -> None:
    rows = [facing(lines, nozzles), facing(others, more)]
    got = joint_shift(rows, room)
    worst, rms = brute(rows, room)
    step = (room[0] + room[1]) / 800.0 + 1e-9  # 1e-9 for the rounding of places
    assert 0.0 <= got.worst_mm <= worst + 1e-9
    assert worst <= got.worst_mm + step  # every distance changes no faster than the shift
    assert 0.0 <= got.rms_mm <= rms + 1e-9
    assert rms <= got.rms_mm + step
    for shift in (got.shift_for_worst_mm, got.shift_for_rms_mm):
        assert -room[0] <= shift <= room[1]


def test_two_rows_are_one_row_with_a_wide_gap_between() -> None:
    rows = [facing([100.0, 161.0, 224.0], [90.0, 150.0, 210.0, 270.0])]
    rows.append(facing([103.0, 170.0], [95.0, 160.0, 225.0]))
    far = 10_000.0
    lines = np.concatenate([rows[0].lines_mm, rows[1].lines_mm + far])
    nozzles = np.concatenate([rows[0].nozzles_mm, rows[1].nozzles_mm + far])
    weights = np.concatenate([np.ones(3) / 3.0, np.ones(2) / 2.0])
    judge = best_shift(lines, nozzles, (30.0, 30.0), weights)
    got = joint_shift(rows, (30.0, 30.0))
    assert got.shift_for_worst_mm == pytest.approx(judge.shift_for_worst_mm, abs=1e-9)
    assert got.worst_mm == pytest.approx(judge.worst_mm, abs=1e-9)
    assert got.shift_for_rms_mm == pytest.approx(judge.shift_for_rms_mm, abs=1e-9)
    assert got.rms_mm == pytest.approx(judge.rms_mm, abs=1e-9)


def test_mirrored_rows_shift_the_other_way_and_rows_alike_change_nothing() -> None:
    rows = [facing([4.0, 70.0], [0.0, 60.0]), facing([9.0], [0.0, 55.0])]
    mirrored = [Facing(-r.lines_mm[::-1], -r.nozzles_mm[::-1], r.weights[::-1]) for r in rows]
    one, other = joint_shift(rows, (30.0, 20.0)), joint_shift(mirrored, (20.0, 30.0))
    assert one.shift_for_worst_mm == pytest.approx(-other.shift_for_worst_mm)
    assert one.worst_mm == pytest.approx(other.worst_mm)
    assert joint_shift(rows * 3, (30.0, 20.0)).rms_mm == pytest.approx(one.rms_mm)


def test_more_room_is_told_of_when_it_would_help() -> None:
    row = facing([10.0], [0.0, 60.0])
    assert joint_shift([row], (4.0, 0.0)).limited_by_room
    assert joint_shift([row], (4.0, 0.0)).worst_mm == pytest.approx(6.0)
    assert not joint_shift([row], (12.0, 0.0)).limited_by_room
    assert joint_shift([row], (0.0, 0.0)).shift_for_worst_mm == 0.0


def test_no_row_and_endless_room_are_refused() -> None:
    with pytest.raises(InputError, match="facings"):
        joint_shift([], (1.0, 1.0))
    with pytest.raises(InputError, match="room_mm"):
        joint_shift([facing([0.0], [0.0])], (1.0, float("inf")))
