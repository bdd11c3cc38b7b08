"""What touches in a whole pack, by the pairs that `neighbour_pairs` finds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.constants import CONTACT_TOL_REL
from packsim.pack.state import Pack
from tests.oracles.pairs import neighbour_pairs

__all__ = ["Contacts", "contacts"]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Contacts:
    """What touches in a pack.

    Parameters
    ----------
    pairs : ndarray of int, shape (m, 2)
        Touching cans, each pair once, lower number first.
    vectors_mm : ndarray, shape (m, 2)
        From the first to the second, across the period where that is nearer [mm].
    left, right : ndarray of int
        Cans that touch the left and the right guide.
    per_can : ndarray of int, shape (n,)
        Cans each can touches.
    """

    pairs: Ints
    vectors_mm: Floats
    left: Ints
    right: Ints
    per_can: Ints


def contacts(pack: Pack) -> Contacts:
    """Return the contacts of a pack, to within `CONTACT_TOL_REL` of a diameter.

    Parameters
    ----------
    pack : Pack
        Any pack, also an empty one.

    Returns
    -------
    Contacts
        Between cans and with the guides.

    Examples
    --------
    >>> from packsim.pack.state import pack_between
    >>> int(contacts(pack_between(1152.0, 66.0)).per_can.max())
    6
    """
    touch = CONTACT_TOL_REL * pack.diameter_mm
    cutoff = pack.diameter_mm + touch
    pairs, vectors = neighbour_pairs(pack.centres_mm, cutoff, pack.length_mm)
    radius, y = pack.diameter_mm / 2.0, pack.centres_mm[:, 1]
    left = np.flatnonzero(y <= radius + touch)
    right = np.flatnonzero(y >= pack.clear_width_mm - radius - touch)
    per_can = np.bincount(pairs.ravel(), minlength=len(pack))
    return Contacts(pairs, vectors, left, right, per_can)
