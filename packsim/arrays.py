"""Short names for the arrays that functions take and return, and things told apart by kind."""

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Places = NDArray[np.complex128]
"""Points of the plane as x + iy."""


def kinds(keys: Sequence[Hashable]) -> tuple[Ints, Ints]:
    """Return which kind each key is, numbered as they first come, and where each kind does so."""
    seen: dict[Hashable, int] = {}
    number = np.array([seen.setdefault(key, len(seen)) for key in keys], dtype=np.int64)
    return number, np.unique(number, return_index=True)[1]
