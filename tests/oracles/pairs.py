"""All pairs of points no farther apart than a cutoff, as the lists of neighbours are made of."""

from __future__ import annotations

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.pack.neighbours import _found


def neighbour_pairs(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Floats]:
    """Find all pairs, i < j, each once, and the vectors from i to j.

    In a period shorter than two cutoffs a pair may be near in several ways: each way is listed
    once. A point near its own image is listed as (i, i), once for each distance, not for each
    direction.
    """
    first, second, vectors = _found(centres_mm, cutoff_mm, period_mm)
    swap = first > second
    vectors[swap] *= -1.0
    return np.column_stack((np.minimum(first, second), np.maximum(first, second))), vectors
