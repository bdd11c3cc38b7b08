"""What kind of place a void is: unavoidable, at a guide, along a crack, or inside the pack."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.pack.faces import Faces

PLACES: Final = ("interstice", "interior", "edge pocket", "crack")
"""The kinds of place a void can be."""

SLIT: Final = 3.0
"""A void is long when its free area is more than this many times its largest circle.

Three cans gone from one line leave 3.7, two leave 2.5, one leaves 1.3; a square of touching cans
leaves 1.6.
"""

SLIT_FACES: Final = 6
"""A long void has at least as many faces, eight cans around it: a thin rhomb is not a crack."""

INTERSTICE, INTERIOR, EDGE_POCKET, CRACK = range(4)


def linked(count: int, links: Ints) -> tuple[int, Ints]:
    """Return how many groups links, shape (m, 2), make of so many nodes, and the group of each."""
    root, ends = np.arange(count), links.T
    while True:  # a group is known by its first node
        low, high = np.sort(root[ends], axis=0)
        if np.array_equal(low, high):
            break
        np.minimum.at(root, high, low)
        while not np.array_equal(root, root[root]):
            root = root[root]
    firsts, group = np.unique(root, return_inverse=True)
    return len(firsts), group


def places(
    faces: Faces, void: Ints, count: int, area_mm2: Floats, circle_mm: Floats, open_mm: float
) -> NDArray[np.str_]:
    """Name the place of each void.

    Parameters
    ----------
    faces : Faces
        The cut strip.
    void : ndarray of int, shape (f,)
        Void of each face.
    count : int
        Number of voids.
    area_mm2, circle_mm : ndarray, shape (count,)
        Free area and diameter of the largest circle of each void [mm², mm].
    open_mm : float
        Sides longer than this are open [mm].

    Returns
    -------
    ndarray of str, shape (count,)
        One of `PLACES` each.

    Notes
    -----
    The rules, first match first:

    - ``interstice``: a single face, closed on all sides. Three touching cans, or two touching cans
      that both touch the guide: the gap no packing avoids.
    - ``edge pocket``: reaches a guide.
    - ``crack``: long and thin by itself (`SLIT`, `SLIT_FACES`); or a link of a chain of two or
      more voids inside the pack, each next to the one before across a touching pair of cans, none
      next to more than two others, and all flanked by interstices of three cans, that is by closely
      packed cans. A shift between two blocks opens as such a chain of rhombs.
    - ``interior``: any other.
    """
    size = np.bincount(void, minlength=count)
    at_guide = np.bincount(void, weights=faces.guide > 0, minlength=count) > 0
    open_inside = np.bincount(void, (faces.opening_mm > open_mm).any(axis=1), count) > 0
    kind = np.full(count, INTERIOR)
    kind[at_guide] = EDGE_POCKET
    kind[(size == 1) & ~open_inside] = INTERSTICE
    inside = kind == INTERIOR
    slit = (size >= SLIT_FACES) & (area_mm2 > SLIT * (np.pi / 4.0) * circle_mm**2)
    packed = (kind == INTERSTICE) & ~at_guide
    near = void[faces.twins() // 3]
    kind[inside & (slit | _chained(near, inside, packed, count))] = CRACK
    named: NDArray[np.str_] = np.array(PLACES)[kind]
    return named


def _chained(near: Ints, inside: Bools, packed: Bools, count: int) -> Bools:
    """Which voids are links of a chain, by the rule in `places`."""
    near = near[near[:, 0] != near[:, 1]]
    flanked = np.zeros(count, dtype=bool)
    for this, other in ((0, 1), (1, 0)):
        flanked[near[packed[near[:, other]], this]] = True
    links = np.unique(np.sort(near[inside[near].all(axis=1)], axis=1), axis=0)
    degree = np.bincount(links.ravel(), minlength=count)
    number, chain = linked(count, links)
    most = np.zeros(number, dtype=np.int64)
    np.maximum.at(most, chain, np.where(flanked, degree, count))
    found: Bools = inside & (most[chain] <= 2) & (np.bincount(chain)[chain] >= 2)
    return found
