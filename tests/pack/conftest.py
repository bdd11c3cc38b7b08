"""Loose packs such as a simulation leaves: no two cans overlap, some are missing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray


@dataclass(frozen=True)
class Loose:
    centres_mm: NDArray[np.float64]
    diameter_mm: float
    clear_width_mm: float
    length_mm: float


@pytest.fixture(scope="session")
def loose_pack() -> Callable[[int], Loose]:
    """A shaken pack by seed: square or staggered, 1 to 30 cans, about a quarter of them gone.

    Cans on a pitch of 1.12 D moved by up to 0.04 D each way keep 1.12 - 0.08 √2 > 1 apart.
    """

    def make(seed: int) -> Loose:
        rng = np.random.default_rng(seed)
        d = 66.0
        lanes, rows = int(rng.integers(1, 6)), int(rng.integers(1, 7))
        pitch = 1.12 * d
        row, lane = np.meshgrid(np.arange(rows), np.arange(lanes), indexing="ij")
        x = (row + lane % 2 * 0.5 * (seed % 2)).ravel() * pitch
        y = lane.ravel() * pitch + 0.54 * d
        centres = np.column_stack((x, y)) + rng.uniform(-0.04, 0.04, (len(x), 2)) * d
        stays = rng.random(len(centres)) > 0.25
        stays[0] |= not stays.any()
        width = (lanes - 1) * pitch + 1.08 * d + rng.choice([0.0, 0.3 * d])
        return Loose(centres[stays], d, width, rows * pitch)

    return make
