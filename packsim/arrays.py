"""Short names for the arrays that functions take and return."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Indices = NDArray[np.uint32]
"""Numbers of cans in long lists: half the memory, and a kernel asks of none whether it is < 0."""
Bools = NDArray[np.bool_]
Places = NDArray[np.complex128]
"""Points of the plane as x + iy."""
