"""What present wires do, and the least change, against brute force over every outcome."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.width.wire_heights import WireBand, wire_moves

LOW, MID, TALL = (
    WireBand("short", "lower", 8.0, 40.0),
    WireBand("short", "upper", 75.0, 105.0),
    WireBand("tall", "upper", 110.0, 150.0),
)


def test_good_wires_stay():
    assert wire_moves([120.0, 20.0, 80.0], [LOW, MID, TALL]) == ((), ())


def test_idle_wire_moves_to_the_size_that_lacks_one():
    assert wire_moves([20.0, 60.0, 80.0], [LOW, MID, TALL]) == (((60.0, 150.0),), ())


def test_one_of_two_alike_moves_rather_than_a_wire_being_added():
    moves, added = wire_moves([20.0, 30.0, 80.0], [LOW, MID, TALL])
    assert len(moves) == 1
    assert moves[0][0] in (20.0, 30.0)
    assert added == ()


def test_a_wire_goes_to_the_nearer_of_two_places():
    bands = [WireBand("short", "upper", 40.0, 50.0), WireBand("tall", "upper", 101.0, 105.0)]
    assert wire_moves([100.0], bands) == (((100.0, 105.0),), (50.0,))


def test_too_few_wires_are_added_to():
    assert wire_moves([20.0], [LOW, MID, TALL]) == ((), (105.0, 150.0))
    assert wire_moves([], [LOW]) == ((), (24.0,))


def test_what_no_wire_can_do_is_not_moved_for():
    assert wire_moves([20.0], [LOW, WireBand("flat", "upper", 80.0, 70.0)]) == ((), ())


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


@given(
    st.lists(st.tuples(st.integers(1, 60), st.integers(0, 15)), max_size=5),
    st.lists(st.integers(1, 75), max_size=4, unique=True),
)
def test_least_change_against_brute_force(pairs, wires):
    bands = [WireBand(str(i), "lower", float(a), float(a + b)) for i, (a, b) in enumerate(pairs)]
    moves, added = wire_moves([float(z) for z in wires], bands)
    assert (len(added), len(moves)) == least_cost(wires, bands)
    after = [float(z) for z in wires]
    for start, end in moves:
        after[after.index(start)] = end
    after += added
    assert all(any(band.holds(z) for z in after) for band in bands)


def test_a_wall_of_wires_is_refused():
    with pytest.raises(InputError, match="at most 12"):
        wire_moves([float(z) for z in range(1, 15)], [LOW])
