"""How a nozzle's spray is spread over what it wets, as even patches one within the other.

Every answer is a sum over drops, so what a nozzle of any pattern does is the sum of what even
sprays of smaller angles do, each times its share of the flow; a share below 0 takes away.
"""

import math
from functools import lru_cache

import numpy as np

from packsim.line import Nozzle

Layers = tuple[tuple[float, float], ...]
"""Width over that of the whole spray, and share of the flow, of each even patch [-]."""

EVEN: Layers = ((1.0, 1.0),)
"""A full cone, and a flat fan: evenly wet."""

_SLOT_PARTS = 12
"""Parts the even sheet of a slot is made of: each gets its share exactly, and a can anywhere within
catches the same to 1 % (measured in tests)."""


@lru_cache(maxsize=256)
def layers_of(nozzle: Nozzle) -> Layers:
    """Return the even patches that make up the spray of a nozzle.

    Parameters
    ----------
    nozzle : Nozzle
        The nozzle; a measured table goes before its pattern.

    Returns
    -------
    tuple of (float, float)
        Width over that of the whole spray, and share of the flow; the shares sum to 1 [-].

    Notes
    -----
    Patches of a cone are discs, those of a fan ellipses of one thickness. A hollow cone is an even
    disc less an even disc within it. A table of what is caught between rising distances from the
    middle is met exactly: the outermost patch alone reaches the outermost part, which gives its
    share; then the next (onion peeling, [dasch1992]_).
    """
    if nozzle.measured_rad:
        ends = np.tan(nozzle.measured_rad) / math.tan(nozzle.measured_rad[-1])
        return _peeled(tuple(ends.tolist()), nozzle.measured_share)
    if nozzle.pattern == "hollow cone":
        inner = nozzle.hollow_share
        ring = 1.0 - inner**2
        return ((1.0, 1.0 / ring), (inner, -(inner**2) / ring)) if inner > 0.0 else EVEN
    if nozzle.pattern == "slot":
        ends = np.arange(1, _SLOT_PARTS + 1) / _SLOT_PARTS
        return _peeled(tuple(ends.tolist()), (1.0,) * _SLOT_PARTS)
    return EVEN


def _peeled(ends: tuple[float, ...], caught: tuple[float, ...]) -> Layers:
    """Return patches that end at ``ends`` and together put ``caught`` between them."""
    left = np.array(caught) / sum(caught)
    edges = np.array((0.0, *ends))
    found = []
    for k in range(len(ends) - 1, -1, -1):
        reached = np.minimum(edges / ends[k], 1.0)
        within = 2.0 / math.pi * (reached * np.sqrt(1.0 - reached**2) + np.arcsin(reached))
        parts = np.diff(within)
        share = left[k] / parts[k]
        left = left - share * parts
        found.append((float(ends[k]), float(share)))
    return tuple(found)
