"""Where in a can the spray from below lands: on the underside of its dome, or on its wall.

New, replaces nothing: `packsim.spray.dose` counts what passes the mouth and asks no further.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from packsim.arrays import Floats
from packsim.spray.jets import Footprint

_RAYS = 3000
_CHORD_CELLS = 8
_PLACES = 81
"""Together to 0.5 % of what is caught (measured in tests against rays drawn at random)."""


@dataclass(frozen=True, slots=True, eq=False)
class InsideSplit:
    """What becomes of the spray that passes a mouth, by the place of the nozzle across the mat.

    Parameters
    ----------
    across_mm : ndarray, shape (n,)
        Can's line from the nozzle, rising [mm].
    wall_share : ndarray, shape (n,)
        Share of the dose that meets the wall before the dome [-].
    dome_push, wall_push : ndarray, shape (n,)
        Momentum straight at the dome and straight at the wall over all the dose brings, each of
        what lands there [-].
    """

    across_mm: Floats
    wall_share: Floats
    dome_push: Floats
    wall_push: Floats


@lru_cache(maxsize=64)
def inside_split(patch: Footprint, radius_mm: float, inner_height_mm: float) -> InsideSplit:
    """Follow straight rays through the mouth of a can that passes over a nozzle.

    Parameters
    ----------
    patch : Footprint
        Footprint of the nozzle on the mat.
    radius_mm : float
        Radius of the can; the wall is a tenth of a millimetre [mm].
    inner_height_mm : float
        Height of the dome's underside above the mat, taken as flat [mm].

    Returns
    -------
    InsideSplit
        Shares for every place across at which anything is caught.

    Notes
    -----
    Derived here. A ray a from the nozzle's axis at the mat rises by the stand-off d on a, so it is
    m + a z/d from the can's axis at height z, m where it passes the mouth. As the can moves on,
    m runs evenly along the chord of the mouth at that place across. The ray meets the dome if it
    is within the radius at the dome's height, else the wall; there its push straight at the wall
    is the sine of its angle times the cosine between its way and the wall's outward normal.
    """
    reach = patch.half_across_mm + radius_mm
    across = np.linspace(-reach, reach, _PLACES) * (1.0 - 1e-6)
    total = np.zeros((4, _PLACES))
    for share, part in patch.parts:
        total += share * _caught(part, across, radius_mm, inner_height_mm)
    volume, wall, dome_push, wall_push = total
    ratio = [np.divide(x, volume, out=np.zeros_like(x), where=volume > 1e-9 * volume.max())
             for x in (wall, dome_push, wall_push)]  # fmt: skip
    return InsideSplit(across, *ratio)


def _caught(patch: Footprint, lines: Floats, radius: float, height: float) -> Floats:
    """Length caught, of it on the wall, and the pushes on dome and wall, for each line [mm]."""
    along, across = _rays(patch)
    stand_off = patch.stand_off_mm
    slant = np.sqrt(along**2 + across**2 + stand_off**2)
    sine, cosine = np.hypot(along, across) / slant, stand_off / slant
    aside = across - lines[:, None]  # of the can's axis, where the ray passes the mouth
    half = np.sqrt(np.maximum(radius**2 - aside**2, 0.0))
    risen = height / stand_off
    higher, back = aside + across * risen, along * risen
    wide = np.sqrt(np.maximum(radius**2 - higher**2, 0.0))
    on_dome = np.minimum(half, wide - back) - np.maximum(-half, -wide - back)
    on_dome = np.maximum(on_dome, 0.0)
    length, push = (np.zeros_like(half) for _ in range(2))
    reached = np.hypot(along, across)
    for cell in (np.arange(_CHORD_CELLS) + 0.5) / _CHORD_CELLS * 2.0 - 1.0:
        at = cell * half
        on_wall = np.hypot(at + back, higher) > radius
        missed = (at * across - aside * along) / reached  # by the ray of the axis, from above
        length += on_wall
        push += on_wall * np.sqrt(np.maximum(1.0 - (missed / radius) ** 2, 0.0))
    rest = 2.0 * half - on_dome
    push = rest * sine * np.divide(push, length, out=np.zeros_like(push), where=length > 0.0)
    return np.stack([x.mean(axis=1) for x in (2.0 * half, rest, on_dome * cosine, push)])


def _rays(patch: Footprint) -> tuple[Floats, Floats]:
    """Places of rays on the mat from the nozzle, along and across: an even spiral."""
    number = np.arange(_RAYS) + 0.5
    out, turn = np.sqrt(number / _RAYS), number * math.pi * (3.0 - math.sqrt(5.0))
    long, thin = patch.half_long_mm * out * np.cos(turn), patch.half_thin_mm * out * np.sin(turn)
    sin, cos = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
    return long * sin + thin * cos, long * cos - thin * sin
