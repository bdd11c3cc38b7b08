from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from packsim.can import Stance
from packsim.errors import InputError
from packsim.tipping.overturning import (
    RowLoad,
    chain_energy_mJ,
    gathered_energies_mJ,
    lean_energy_mJ,
)
from packsim.tipping.row_chance import log_kick_chances
from packsim.tipping.safe_slack import safe_slack

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
WIRES = (45.0, 90.0)


def spread_tip_chances(slack: float, row: RowLoad, kick: float) -> np.ndarray:
    """The chance at one kick energy, straight."""
    return np.exp(log_kick_chances(slack, row, np.array([kick]))[0])


def tip_chance(energy_mJ: np.ndarray, kick: float) -> np.ndarray:
    """Chance that an exponential energy of this mean is above another."""
    return np.exp(-np.asarray(energy_mJ) / kick)


def both_sides(by_place: np.ndarray) -> np.ndarray:
    """Kicks point either way equally often."""
    return (by_place + by_place[..., ::-1]) / 2.0


def row(cans: int, wires: tuple[float, ...] = WIRES) -> RowLoad:
    return RowLoad(cans, CAN, wires)


@pytest.mark.parametrize(("slack", "kick"), [(30.0, 0.5), (70.0, 0.2), (120.0, 1.5), (400.0, 0.1)])
@pytest.mark.parametrize("cans", [2, 5, 20])
def test_spread_chance_is_the_mean_over_random_gaps(cans: int, slack: float, kick: float) -> None:
    rng = np.random.default_rng(cans)
    gaps = rng.dirichlet(np.ones(cans + 1), 20_000) * slack
    exact = spread_tip_chances(slack, row(cans), kick)
    for place in (1, 2, (cans + 1) // 2, cans):
        sample = tip_chance(chain_energy_mJ(gaps[:, -place:], CAN, WIRES), kick)
        error = float(sample.std()) / math.sqrt(len(sample))
        assert exact[place - 1] == pytest.approx(float(sample.mean()), abs=5.0 * error + 1e-5)


def test_the_edge_can_alone_is_one_line() -> None:
    # P(one given gap of n + 1 > need) = (1 - need/S)^n, the spacing law of S07 in the check values
    need = safe_slack(CAN, WIRES).edge_mm
    alone = float(lean_energy_mJ(1.0, CAN))
    got = spread_tip_chances(100.0, row(6), 0.4)[0]
    assert got == pytest.approx(math.exp(-alone / 0.4) * (1.0 - need / 100.0) ** 6, rel=1e-9)


def test_two_cans_by_quadrature() -> None:
    slack, kick = 75.0, 0.3
    load = row(2)

    def weight(c: float) -> float:
        return float(tip_chance(load.energy_mJ(np.array(load.reach_mm - c)), kick))

    def inner(c: float) -> float:
        room = slack - c - load.needed_gap_mm(load.reach_mm - c)
        return weight(c) * max(0.0, room)

    value, _ = quad(inner, 0.0, slack, points=[load.reach_mm], limit=400, epsabs=1e-14)
    exact = weight(0.0) * 2.0 / slack**2 * value
    assert spread_tip_chances(slack, load, kick)[1] == pytest.approx(exact, rel=1e-5)


@settings(max_examples=min(20, settings().max_examples))
@given(st.floats(0.0, 150.0), st.floats(0.0, 150.0), st.integers(1, 15))
def test_more_slack_never_lowers_a_chance(a: float, b: float, cans: int) -> None:
    less, more = (spread_tip_chances(s, row(cans), 0.5) for s in sorted((a, b)))
    assert np.all(less <= more * (1.0 + 1e-6) + 1e-12)
    assert np.all((more >= 0.0) & (more <= 1.0))


def test_below_safe_slack_the_chance_is_nothing() -> None:
    limit = safe_slack(CAN, WIRES).slack_mm
    assert spread_tip_chances(0.999 * limit, row(12), 5.0).max() == 0.0
    assert spread_tip_chances(1.02 * limit, row(12), 5.0).max() > 0.0
    assert np.isinf(gathered_energies_mJ(0.999 * limit, row(12))).all()
    assert np.isfinite(gathered_energies_mJ(1.001 * limit, row(12))).all()
    assert spread_tip_chances(0.0, row(3), 1.0).tolist() == [0.0, 0.0, 0.0]
    assert spread_tip_chances(-1.0, row(3), 1.0).tolist() == [0.0, 0.0, 0.0]


def test_gathered_energy_is_the_least_over_single_gaps() -> None:
    for slack in (20.0, 41.0, 48.0, 52.0, 100.0):
        got = gathered_energies_mJ(slack, row(5))
        for place in range(1, 6):
            each = chain_energy_mJ(slack * np.eye(place), CAN, WIRES)
            assert got[place - 1] == pytest.approx(float(each.min()), rel=1e-12)


def test_edge_cans_go_before_centre_cans() -> None:
    # common practice, no source
    slack = safe_slack(CAN, WIRES).edge_mm + 2.0
    energies = gathered_energies_mJ(slack, row(9))
    assert np.all(np.diff(energies) > 0.0)
    by_can = both_sides(tip_chance(energies, 0.3))
    assert by_can[0] == by_can.max()
    assert by_can[4] == by_can.min()
    np.testing.assert_allclose(by_can, by_can[::-1], rtol=1e-12)
    spread = both_sides(spread_tip_chances(60.0, row(9), 0.3))
    assert spread[0] > spread[4]


def test_a_load_that_has_used_up_the_balance_angle_tips_everything() -> None:
    gone = RowLoad(4, CAN, WIRES, balance_rad=0.0)
    assert spread_tip_chances(10.0, gone, 1.0).tolist() == [1.0] * 4
    assert gathered_energies_mJ(10.0, gone).tolist() == [0.0] * 4


def test_bad_rows_are_refused() -> None:
    with pytest.raises(InputError, match="cans"):
        row(0)
    with pytest.raises(InputError, match="sharing"):
        log_kick_chances(1.0, row(2), np.array([1.0]), "even")
    with pytest.raises(InputError, match="kicks_mJ"):
        log_kick_chances(1.0, row(2), np.array([1.0, 0.0]))
    with pytest.raises(InputError, match="slack_mm"):
        log_kick_chances(math.nan, row(2), np.array([1.0]))
