"""All pairs of points no farther apart than a cutoff, out of the lists of neighbours."""

from __future__ import annotations

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.pack.neighbours import neighbour_lists


def neighbour_pairs(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Floats]:
    """Find all pairs, i < j, each once, and the vectors from i to j.

    In a period shorter than two cutoffs a pair may be near in several ways: each way is listed
    once. A point near its own image is listed as (i, i), once for each distance, not for each
    direction.
    """
    indptr, other, x, y = neighbour_lists(centres_mm, cutoff_mm, period_mm)
    owner = np.repeat(np.arange(len(centres_mm)), np.diff(indptr))
    once = (owner < other) | ((owner == other) & (x > 0.0))
    return np.column_stack((owner, other))[once], np.column_stack((x, y))[once]
