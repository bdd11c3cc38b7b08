"""Overlaps of listed pairs, straight from their definition."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from packsim.passage.near import Near


def overlaps_mm(near: Near, place_mm: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Overlap of every listed pair, negative where there is a gap [mm]."""
    ends = near.pairs()
    return np.asarray(near.sums_mm(*ends) - np.abs(near.vectors_mm(place_mm, *ends)))
