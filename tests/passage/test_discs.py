"""The ray cast of the tipping march, used as a sampling method, against published hard discs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from packsim.errors import InputError
from tests.oracles.discs import close_packed_boxes, event_chains, row_boxes

LONG = math.sqrt(2.0)  # chains as long as a whole number of even gaps would only swap the gaps
PER_DISC = math.pi / 4  # area of a disc of diameter 1


def measured(boxes, chain: float, warm: int, chains: int, along: str = "xy"):
    rng = np.random.default_rng(12)
    boxes, _ = event_chains(boxes, chain, warm, rng, along=along)
    boxes, factor = event_chains(boxes, chain, chains, rng, along=along)
    each = factor.mean(axis=0)
    return boxes, float(each.mean()), float(each.std(ddof=1) / math.sqrt(each.size))


@pytest.mark.parametrize(
    ("row", "packing"),
    [
        pytest.param("D21", 0.1, marks=pytest.mark.all),
        pytest.param("D22", 0.2, marks=pytest.mark.all),
        ("D23", 0.3),
    ],
)
def test_compressibility_of_the_fluid(published, row: str, packing: float) -> None:
    """The published note allows 0.5 % for a few hundred discs; 130 are used here."""
    boxes = close_packed_boxes(10, 12, packing, 48)
    _, factor, error = measured(boxes, 40.0, 60, 60)
    assert error < 0.006 * factor
    assert abs(factor - published[row].value) < 3.5 * error + 0.005 * factor


@pytest.mark.all
def test_pressure_of_72_discs_in_their_published_box(published) -> None:
    """Longer runs, kept out of here for time, gave 6.882 ± 0.009 and 6.913 ± 0.008."""
    boxes = close_packed_boxes(9, 8, 0.65, 32)
    boxes, factor, error = measured(boxes, 12.0, 120, 200)
    pressure, error = factor * boxes.packing / PER_DISC, error * boxes.packing / PER_DISC
    assert error < 0.05
    assert abs(pressure - published["D10"].value) < 3.5 * error + 0.01


def test_a_chain_leaves_no_overlap_and_keeps_the_packing() -> None:
    boxes = close_packed_boxes(6, 6, 0.7, 10)
    after, _ = event_chains(boxes, 3.0, 20, np.random.default_rng(1))
    assert after.packing == pytest.approx(0.7)
    vector = after.place_mm[:, :, None] - after.place_mm[:, None, :]
    x = vector.real - after.box_mm[0] * np.rint(vector.real / after.box_mm[0])
    y = vector.imag - after.box_mm[1] * np.rint(vector.imag / after.box_mm[1])
    apart = np.hypot(x, y) + 10.0 * np.eye(36)
    assert apart.min() > 1.0 - 1e-9


def gaps(boxes) -> np.ndarray:
    x = np.sort(np.mod(boxes.place_mm.real, boxes.box_mm[0]), axis=1)
    return np.diff(np.column_stack((x, x[:, 0] + boxes.box_mm[0])), axis=1) - 1.0


@pytest.mark.slow
def test_gaps_of_a_row_are_those_of_a_broken_stick(published) -> None:
    boxes, _, _ = measured(row_boxes(5, 0.5, 1500), LONG * 5, 150, 2, "x")
    longest = gaps(boxes).max(axis=1) / 5.0
    error = longest.std() / math.sqrt(longest.size)
    assert abs(longest.mean() - published["S01"].value) < 3.5 * error


@pytest.mark.all
def test_the_chance_of_a_large_gap_in_a_row(published) -> None:
    boxes, _, _ = measured(row_boxes(10, 0.5, 1500), LONG * 10, 250, 2, "x")
    beyond = (gaps(boxes).max(axis=1) > 0.3 * 10.0).mean()
    expected = published["S04"].value
    assert abs(beyond - expected) < 3.5 * math.sqrt(expected * (1 - expected) / 1500)


def test_pressure_of_a_full_row_nears_the_tonks_gas(published) -> None:
    """n rods in a ring: Z = (1 − 1/n) / (1 − filling) + 1/n (derived: the free length to the power
    n − 1 times the ring), which is Tonks' 1 / (1 − filling) for many."""
    n = 400
    _, factor, _ = measured(row_boxes(n, 0.95, 6), 20.0, 2, 2, "x")
    assert factor == pytest.approx((1 - 1 / n) / 0.05 + 1 / n, rel=0.02)
    assert factor == pytest.approx(published["S11"].value, rel=0.02)


@pytest.mark.parametrize("bad", [(9, 7, 0.5), (9, 8, 0.95), (1, 8, 0.5), (9, 8, 0.0)])
def test_bad_boxes_are_named(bad) -> None:
    with pytest.raises(InputError):
        close_packed_boxes(*bad, 4)


def test_bad_rows_are_named() -> None:
    with pytest.raises(InputError):
        row_boxes(5, 1.0, 4)
