"""What present wires do, and the least change, against brute force over every outcome."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.width.wire_heights import WireBand
from packsim.width.wire_moves import wire_moves

LOW, MID, TALL = (
    WireBand("short", "lower", 8.0, 40.0),
    WireBand("short", "upper", 75.0, 105.0),
    WireBand("tall", "upper", 110.0, 150.0),
)


def test_good_wires_stay():
    answer = wire_moves([120.0, 20.0, 80.0], [LOW, MID, TALL])
    assert answer.good
    assert answer.moves_mm == answer.added_mm == ()
    assert [duty.alone for duty in answer.duties] == [(LOW,), (MID,), (TALL,)]


def test_idle_wire_moves_to_the_size_that_lacks_one():
    answer = wire_moves([20.0, 60.0, 80.0], [LOW, MID, TALL])
    assert [duty.idle for duty in answer.duties] == [False, True, False]
    assert answer.unserved == (TALL,)
    assert answer.moves_mm == ((60.0, 150.0),)
    assert answer.added_mm == ()


def test_one_of_two_alike_moves_rather_than_a_wire_being_added():
    answer = wire_moves([20.0, 30.0, 80.0], [LOW, MID, TALL])
    assert len(answer.moves_mm) == 1
    assert answer.moves_mm[0][0] in (20.0, 30.0)
    assert answer.added_mm == ()


def test_too_few_wires_are_added_to():
    answer = wire_moves([20.0], [LOW, MID, TALL])
    assert answer.moves_mm == ()
    assert answer.added_mm == (105.0, 150.0)
    assert wire_moves([], [LOW]).added_mm == (24.0,)


def test_what_no_wire_can_do_is_not_moved_for():
    answer = wire_moves([20.0], [LOW, WireBand("flat", "upper", 80.0, 70.0)])
    assert not answer.good
    assert answer.moves_mm == answer.added_mm == ()
    assert [band.size for band in answer.impossible] == ["flat"]


def least_cost(wires, bands):
    """Wires to add, then wires to move: every set left alone, every choice of band tops."""
    tops = sorted({band.high_mm for band in bands})
    best = None
    for kept in (k for n in range(len(wires) + 1) for k in combinations(wires, n)):
        for n in range(len(tops) + 1):
            for new in combinations(tops, n):
                if all(any(b.holds(z) for z in (*kept, *new)) for b in bands):
                    added = max(0, n - (len(wires) - len(kept)))
                    cost = (added, n - added)
                    best = cost if best is None else min(best, cost)
    return best


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, 60), st.integers(0, 15)), max_size=5),
    st.lists(st.integers(1, 75), max_size=4, unique=True),
)
def test_least_change_against_brute_force(pairs, wires):
    bands = [WireBand(str(i), "lower", float(a), float(a + b)) for i, (a, b) in enumerate(pairs)]
    answer = wire_moves([float(z) for z in wires], bands)
    assert (len(answer.added_mm), len(answer.moves_mm)) == least_cost(wires, bands)
    after = [float(z) for z in wires]
    for start, end in answer.moves_mm:
        after[after.index(start)] = end
    after += answer.added_mm
    assert all(any(band.holds(z) for z in after) for band in bands)


def test_a_wall_of_wires_is_refused():
    with pytest.raises(InputError, match="at most 12"):
        wire_moves([float(z) for z in range(1, 15)], [LOW])
