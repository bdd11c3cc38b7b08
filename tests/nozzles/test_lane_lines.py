"""The can lines of a pack and the nozzles of a stage, against exact lattices."""

from __future__ import annotations

import math

import numpy as np
import pytest

from packsim.constants import SIN60
from packsim.headers.arrangement import lane_cans_per_mm
from packsim.line import Header, Nozzle
from packsim.nozzles.lane_lines import lane_lines_mm, lane_shares, nozzle_places_mm
from packsim.pack.state import Pack

D = 66.0
NOZZLE = Nozzle("cone", math.radians(65.0), 1e5, 0.1)


def pack(across: list[float], lanes: int) -> Pack:
    centres = np.column_stack([np.arange(len(across)) * D, np.asarray(across)])
    return Pack(centres, D, 1000.0, len(across) * D, "lengthwise", "slack", lanes, 900.0)


def header(first: float, pitch: float, count: int, side: str = "below") -> Header:
    return Header(side, 100.0, 150.0, first, pitch, count, 0.2, NOZZLE)


def test_lines_of_a_lengthwise_pack_are_its_hexagonal_rows() -> None:
    rows = [D / 2 + k * D * SIN60 for k in (2, 0, 1, 2, 1, 0, 2)]
    found = lane_lines_mm(pack(rows, 3), left_mm=40.0)
    assert found == pytest.approx(40.0 + D / 2 + D * SIN60 * np.arange(3), abs=1e-12)
    assert lane_shares(pack(rows, 3)) == pytest.approx([2 / 7, 2 / 7, 3 / 7])
    assert lane_cans_per_mm(pack(rows, 3)) == pytest.approx(np.array([2, 2, 3]) / (7 * D))


def test_lines_of_a_crosswise_pack_are_half_a_can_apart() -> None:
    rows = [D / 2 + k * D for k in range(4)] + [D + k * D for k in range(3)]
    found = lane_lines_mm(pack(rows, 7))
    assert found == pytest.approx(D / 2 * np.arange(1, 8))
    assert np.sum(lane_shares(pack(rows, 7))) == pytest.approx(1.0)


def test_rounding_makes_no_lines_and_a_crack_makes_two() -> None:
    assert len(lane_lines_mm(pack([33.0, 33.0 + 1e-9, 90.0], 2))) == 2
    assert len(lane_lines_mm(pack([33.0, 33.5, 90.0], 3))) == 3


def test_a_pack_that_does_not_fit_has_no_lines() -> None:
    empty = Pack(np.empty((0, 2)), D, 50.0, D, "lengthwise", "does not fit", 0, 66.0)
    assert lane_lines_mm(empty).shape == (0,)
    assert lane_shares(empty).shape == (0,)


def test_headers_of_a_stage_count_together_or_by_side() -> None:
    both = [header(10.0, 50.0, 3), header(35.0, 50.0, 2), header(0.0, 60.0, 2, "above")]
    assert nozzle_places_mm(both, "below").tolist() == [10.0, 35.0, 60.0, 85.0, 110.0]
    assert nozzle_places_mm(both, "above").tolist() == [0.0, 60.0]
    assert nozzle_places_mm(both).tolist() == [0.0, 10.0, 35.0, 60.0, 85.0, 110.0]
    assert nozzle_places_mm([], "above").shape == (0,)
