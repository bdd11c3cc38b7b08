"""How likely gaps between neighbours are, when nobody knows how they are spread.

Gaps are 0 or more. In a dense pack most are small; in a loose one cans of a row may all stand a few
millimetres apart, and an exponential fitted to their gaps would pull the place where gaps begin
towards them. So the gaps of each of the lattice's directions are taken as a mixture: none at all,
exponentials of four means, which begin at once, and sums of three exponentials of four means, which
have a hump away from 0. The shares of the mixture are those that make the gaps likeliest. Distances
are measured with a normal error, a fifth of them with three times that, and a few are of no pair.

Derived here. With E_k the density of a sum of k exponentials of mean m after a normal error s, and
E_0 the normal's, m dE_k/dx = E_(k-1) - E_k; and dE_k/ds = s d²E_k/dx², as heat spreads.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Floats, Ints

CLASSES: Final = 3
"""Directions of the lattice in which neighbours stand."""

_SHAPES: Final = (
    (0, 0.0),
    *((1, mean) for mean in (0.4, 1.0, 2.5, 6.0)),
    *((3, mean) for mean in (1.0, 2.0, 4.0, 8.0)),
)
"""How many exponentials are summed, and the mean of the sum [mm]: from the error of a distance to
the widest gap of neighbours."""

_TOUCHES: Final = 0.4
"""Shapes of that mean or less touch: such gaps are below what a picture tells [mm]."""

_WIDE_SHARE, _WIDE = 0.2, 3.0
"""Share of distances with a larger error, and how much larger: a glare, a shadow, a hidden rim."""

_NO_PAIR, _NO_PAIR_MM = 0.02, 20.0
"""Share of distances that are of no pair, and over how many mm those are spread."""

_PRIOR: Final = 1.0
"""Pairs that each shape is taken to have had before any was looked at."""

_TURNS: Final = 40
_FARTHEST: Final = 25.0


class Likely(NamedTuple):
    """Log likelihood of p distances and what follows from it.

    ``by_off`` (p,) are its slopes by distance [1/mm], ``by_error`` that by the log of the error,
    ``touch`` (p,) is each pair's chance to touch.
    """

    log: float
    by_off: Floats
    by_error: float
    touch: Floats


def likely(off_mm: Floats, kind: Ints, error_mm: float, *, exactly: bool = True) -> Likely:
    """Return how likely distances less a diameter are.

    Parameters
    ----------
    off_mm : ndarray, shape (p,)
        Distances less the diameter [mm].
    kind : ndarray of int64, shape (p,)
        Direction of each pair, below `CLASSES`.
    error_mm : float
        Error of most distances, one standard deviation [mm].
    exactly : bool
        Whether gaps of nothing are one of the shapes.
    """
    shapes = _SHAPES if exactly else _SHAPES[1:]
    parts = [
        share * np.stack([_shape(off_mm, error, one) for one in shapes], axis=-1)
        for share, error in ((1.0 - _WIDE_SHARE, error_mm), (_WIDE_SHARE, _WIDE * error_mm))
    ]
    density, by_off, by_error = (1.0 - _NO_PAIR) * (parts[0] + parts[1])
    rest, log, touch = _NO_PAIR / _NO_PAIR_MM, 0.0, np.zeros(len(off_mm))
    slopes = np.zeros((2, len(off_mm)))
    for c in range(CLASSES):
        of = np.flatnonzero(kind == c)
        share = np.full(len(shapes), 1.0 / len(shapes))
        for _ in range(_TURNS):
            whose = density[of] * share
            whose /= whose.sum(axis=1, keepdims=True) + rest
            share = whose.sum(axis=0) + _PRIOR
            share /= share.sum()
        total = density[of] @ share + rest
        log += float(np.log(total).sum() + _PRIOR * np.log(share).sum())
        slopes[0, of], slopes[1, of] = by_off[of] @ share / total, by_error[of] @ share / total
        touch[of] = whose[:, [mean <= _TOUCHES for _, mean in shapes]].sum(axis=1)
    return Likely(log, slopes[0], float(slopes[1].sum()), touch)


def _shape(off: Floats, error: float, shape: tuple[int, float]) -> Floats:
    """Return density and its slopes by distance and by the log of the error, (3, p)."""
    from scipy.special import ndtr

    normal = np.exp(-0.5 * (off / error) ** 2) / (error * math.sqrt(2.0 * math.pi))
    if not shape[0]:
        return np.stack((normal, -off / error**2 * normal, ((off / error) ** 2 - 1.0) * normal))
    k, m = shape[0], shape[1] / shape[0]
    u = np.maximum(off / error - error / m, -9.0)
    near = np.minimum(u, _FARTHEST)
    mills = ndtr(near) * np.exp(0.5 * near**2) * math.sqrt(2.0 * math.pi)
    parts = [np.ones_like(u), mills, near * mills + 1.0]
    parts.append((near * parts[2] + mills) / 2.0)
    far = u > _FARTHEST  # there it is not felt that no gap is below 0
    beyond = np.exp(np.where(far, 0.5 * (error / m) ** 2 - off / m, 0.0)) / error
    alone = [np.zeros_like(u), np.ones_like(u), u, (u**2 + 1.0) / 2.0]
    sums = [normal * (1.0 - m * off / error**2), normal]
    for n in range(1, k + 1):
        felt = np.where(far, beyond * alone[n], normal * np.maximum(parts[n], 1e-30))
        sums.append((error / m) ** n * felt)
    before, last, now = sums[-3:]
    return np.stack((now, (last - now) / m, error**2 * (before - 2.0 * last + now) / m**2))
