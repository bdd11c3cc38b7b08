"""The view once more, from cans that touch.

The outline of a body is round over its edge, so light moves the edge that is seen inwards, by more
on one side than on the other and by up to some hundredths of the radius. All cans share that: it
spoils no centre against the next, but the size and the flattening of all circles, and at a slant,
where walls come in sight, a little of the perspective. Distances of centres have no such fault. Of
many neighbours some touch, and those are D apart. Slack and gaps only make others longer: so the
lower edge of the distances is taken, never their mean, and slack is not absorbed in the scale.

Derived here. The six numbers of the view are improved together, from those of the lower edges
(`packsim.look.photo.lower_edges`) and from those of the rims: to those that make the gaps of all
pairs likeliest, however they are spread (`packsim.look.photo.gap_shapes`), held by what rims say as
strong as rims are sure. So scale, slant and lens carry each other's errors: those of that
likelihood where it is greatest. They grow where few cans touch, as then no gap tells where gaps
begin. Of a pack drawn apart evenly rims alone can tell.

Cans of a full pack touch exactly, those of a loose one only nearly. Where few touch, a share of
gaps of nothing draws the place where gaps begin to the first few of them: so the gaps are fitted
with and without it, both fits count by their likelihood, and what they differ by is in the error.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Floats
from packsim.look.photo.gap_fit import GapFit
from packsim.look.photo.lower_edges import neighbours
from packsim.look.photo.rectify import view_of

_ERROR_MM: Final = (0.06, 0.4)
"""Least and largest error of a distance that is begun with: centres and diameters differ [mm]."""

_OF_CENTRES: Final = 1.7
"""That error in errors of a centre, as rims' own spread has them: two centres, each spoilt by light
a little more than its spread shows. As rendered, pictures of seed 7001."""

_MOST_PAIRS: Final = 1500
"""Pairs that are asked, spread over all."""


class Touch(NamedTuple):
    """What distances between neighbours say of a view.

    ``numbers`` (6,) are those of `packsim.look.photo.rectify`; ``grown`` what the mean diameter is
    of the one given, which is 1 without a known length; ``error`` that of long lengths as a share,
    one standard deviation; ``share`` of the pairs that touch, nan where too few are seen;
    ``lattice_rad`` where a close-packed line points on the new plane; ``said`` what known lengths
    say against it.
    """

    numbers: Floats
    grown: float
    error: float
    share: float
    lattice_rad: float
    said: tuple[str, ...] = ()


def touching(
    numbers: Floats,
    size_px: tuple[int, int],
    centres_px: Floats,
    how: tuple[float, float, float],
    lengths: Sequence[tuple[Floats, float]] = (),
) -> Touch:
    """Return the view in which neighbours that touch are a diameter apart.

    Parameters
    ----------
    numbers : ndarray, shape (6,)
        The view by rims.
    size_px : tuple of int
        Width and height of the picture.
    centres_px : ndarray, shape (n, 2)
        Centres in the picture [px].
    how : tuple of float
        The diameter [mm], the error of the rims' size as a share of it, and that of a centre along
        an axis [mm].
    lengths : sequence of tuple
        Known lengths level with the rims: ends, shape (2, 2) [px], and the length [mm].

    Returns
    -------
    Touch
        That view, and how sure it is.
    """
    diameter, rims_error, error = how
    pairs, kind, _ = neighbours(view_of(numbers, size_px).to_mm(centres_px))
    every = max(1, math.ceil(len(pairs) / _MOST_PAIRS))
    fit = GapFit(
        numbers=numbers,
        size_px=size_px,
        centres_px=centres_px,
        pairs=pairs[::every],
        kind=kind[::every],
        how=(diameter, rims_error, float(np.clip(_OF_CENTRES * error, *_ERROR_MM))),
        lengths=tuple(lengths),
    )
    exact = fit.improved(fit.starts(), exactly=True)
    loose = fit.improved([exact.at], exactly=False)
    odds = 1.0 / (1.0 + math.exp(float(np.clip(exact.unlikely - loose.unlikely, -50.0, 50.0))))
    apart = exact.at - loose.at
    cov = odds * exact.cov + (1.0 - odds) * loose.cov + odds * (1.0 - odds) * np.outer(apart, apart)
    numbers, grown = fit.view_at(loose.at + odds * apart)
    plane = view_of(numbers, size_px).to_mm(centres_px)
    error = math.hypot(
        fit.long_error(numbers, grown, cov[:7, :7]),
        fit.beginning(numbers, grown),
    )
    share = odds * exact.share + (1.0 - odds) * loose.share
    return Touch(numbers, grown, error, share, neighbours(plane)[2])
