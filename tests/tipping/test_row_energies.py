"""Chances of a row for many kick energies at once: one by one, and by sampled gap patterns."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_simpson, simpson
from scipy.optimize import bisect

from packsim.can import Stance
from packsim.tipping.overturning import RowLoad, gathered_energies_mJ, row_energies_mJ
from packsim.tipping.row_chance import log_kick_chances, log_stage_chances

STANCE = Stance(58.0, 138.0, 0.0185, 90.0)
ROWS = {
    "wide row, tight": (30.0, RowLoad(24, STANCE, (28.0, 68.0, 108.0), 0.12)),
    "wide row, loose": (60.0, RowLoad(24, STANCE, (50.0,))),
    "short row": (40.0, RowLoad(3, STANCE, (90.0,), 0.2)),
    "one can": (60.0, RowLoad(1, STANCE, (90.0,))),
    "a wire above the shoulder": (25.0, RowLoad(10, STANCE, (30.0, 130.0), 0.12)),
}


def spread_tip_chances(slack: float, row: RowLoad, kick: float) -> np.ndarray:
    """The chance at one kick energy, straight."""
    return np.exp(log_kick_chances(slack, row, np.array([kick]))[0])


def tip_chance(energy_mJ: np.ndarray, kick: float) -> np.ndarray:
    """Chance that an exponential energy of this mean is above another."""
    return np.exp(-np.asarray(energy_mJ) / kick)


def both_sides(by_place: np.ndarray) -> np.ndarray:
    """Kicks point either way equally often."""
    return (by_place + by_place[..., ::-1]) / 2.0


@pytest.mark.parametrize("name", ROWS)
def test_many_kick_energies_at_once_are_those_one_by_one(name: str) -> None:
    slack, row = ROWS[name]
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    kicks = alone * np.array([0.03, 0.1, 0.5, 2.0, 50.0])
    logs = log_kick_chances(slack, row, kicks)
    for i, kick in enumerate(kicks):
        plain = spread_tip_chances(slack, row, float(kick))
        seen = plain > 1e-200
        assert np.exp(logs[i])[seen] == pytest.approx(plain[seen], rel=2e-3)
        assert (logs[i][~seen] < math.log(1e-199)).all()


def test_sampled_gap_patterns_give_the_same_chances() -> None:
    rng = np.random.default_rng(np.random.SeedSequence(11))
    slack, kick, exposures = 60.0, 0.4, 1.5
    row = RowLoad(4, STANCE, (40.0, 90.0))
    gaps = slack * rng.dirichlet(np.ones(row.cans + 1), size=60_000)
    left, right = row_energies_mJ(gaps, STANCE, row.wire_heights_mm)
    per_kick = (tip_chance(left, kick) + tip_chance(right, kick)) / 2.0
    mean, error = per_kick.mean(axis=0), per_kick.std(axis=0) / math.sqrt(len(gaps))
    exact = np.exp(log_kick_chances(slack, row, np.array([kick])))[0]
    assert (np.abs(both_sides(exact) - mean) < 4.0 * error + 1e-9).all()
    stage = np.exp(log_stage_chances(slack, row, exposures, np.array([kick])))[0]
    assert stage == pytest.approx(-np.expm1(-exposures * both_sides(exact)), rel=1e-6)


def test_gathered_slack_tips_by_the_energy_of_one_can() -> None:
    row = RowLoad(5, STANCE, (80.0,))
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    logs = log_kick_chances(row.reach_mm + 1.0, row, np.array([0.1, 0.2]), "gathered")
    assert logs[:, 1:] == pytest.approx(np.tile([[-alone / 0.1], [-alone / 0.2]], 4))
    assert np.isneginf(log_kick_chances(1.0, row, np.array([0.1]), "gathered")).all()


@given(
    slack=st.floats(30.0, 100.0),
    cans=st.integers(1, 12),
    kicks=st.lists(st.floats(0.02, 50.0), min_size=2, max_size=5, unique=True),
)
def test_rougher_kicks_tip_more_and_the_row_is_its_own_mirror(
    slack: float, cans: int, kicks: list[float]
) -> None:
    row = RowLoad(cans, STANCE, (40.0, 90.0))
    logs = log_stage_chances(slack, row, 10.0, np.array(sorted(kicks)))
    with np.errstate(invalid="ignore"):
        assert not (np.diff(logs, axis=0) < -1e-9).any()
    assert (logs <= 1e-12).all()
    assert np.exp(logs) == pytest.approx(np.exp(logs[:, ::-1]))


def test_no_slack_no_kicks_no_balance() -> None:
    row = RowLoad(4, STANCE, (90.0,))
    kicks = np.array([0.1, 1.0])
    assert np.isneginf(log_kick_chances(0.0, row, kicks)).all()
    assert np.isneginf(log_stage_chances(60.0, row, 0.0, kicks)).all()
    fallen = RowLoad(4, STANCE, (90.0,), 0.0)
    assert (log_kick_chances(5.0, fallen, kicks) == 0.0).all()


@pytest.mark.parametrize("slack", [14.0, 18.5, 26.0])
@pytest.mark.parametrize("wires", [(90.0,), (28.0, 68.0, 108.0), (30.0, 130.0)])
def test_the_chance_of_a_chain_is_its_integral(slack: float, wires: tuple[float, ...]) -> None:
    """By scipy, from one place where the room ends to the next, found to 1e-12 mm."""
    row, kick, n = RowLoad(3, STANCE, wires, 0.12), 0.05, 3

    def room(c: np.ndarray) -> np.ndarray:
        return slack - c - row.needed_gap_mm(row.reach_mm - c)

    grid = np.linspace(0.0, slack, 20_000)
    turns = np.flatnonzero(np.diff(room(grid) > 0.0))
    cuts = [bisect(lambda c: (room(np.array(c)) > 0.0) - 0.5, grid[i], grid[i + 1]) for i in turns]
    ends = sorted({0.0, slack, min(row.reach_mm, slack), *cuts})
    two = three = before = 0.0
    for a, b in ((a, b) for a, b in pairwise(ends) if b - a > 1e-6):
        c = np.linspace(a + 1e-10, b - 1e-10, 4001)
        w, open_mm = np.exp(-row.energy_mJ(row.reach_mm - c) / kick), np.maximum(room(c), 0.0)
        upto = before + cumulative_simpson(w, x=c, initial=0.0)
        two += simpson(w * open_mm**2, x=c) / 2.0
        three += simpson(w * open_mm * upto, x=c)
        before = upto[-1]
    start = math.exp(-float(row.energy_mJ(np.array(row.reach_mm))) / kick)
    want = start * math.factorial(n) / slack**n * np.array([two, three])
    assert spread_tip_chances(slack, row, kick)[1:] == pytest.approx(want, rel=1e-6, abs=1e-250)


def test_slack_of_just_a_reach_lets_a_can_go_alone() -> None:
    row = RowLoad(4, STANCE, (90.0,), 0.12)
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    assert gathered_energies_mJ(row.reach_mm, row).tolist() == [alone] * 4
    below = gathered_energies_mJ(row.reach_mm * (1 - 1e-9), row)
    assert below == pytest.approx(alone * np.arange(1.0, 5.0))
    assert np.isinf(gathered_energies_mJ(0.1, row)).all()
