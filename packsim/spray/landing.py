"""How the sprays of a stage land on a can: on dome or wall, with what impulse, for how long.

New, replaces nothing: `packsim.spray.dose` says how much lands.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.line import Header, Mat
from packsim.spray.dose import caught_bands_mm, passed_mL_per_mm
from packsim.spray.impact import momentum_per_mL_Ns
from packsim.spray.inside_wall import inside_split
from packsim.spray.jets import footprint_of
from packsim.spray.sprays import axial_share


@dataclass(frozen=True, slots=True)
class Landing:
    """How what lands on one place of the cans lands, mean of a stage's cans.

    Parameters
    ----------
    wall_share : float
        Share of it that lands on a wall [-].
    dome_impulse_Ns, wall_impulse_Ns : float
        Momentum brought straight against the dome and straight against the wall [N s]; nan down the
        outside, where it runs along the wall.
    wet_s : float
        How long a point of the can is under a spray, all headers together [s].
    dry_s : float
        Longest time without between two of them; 0 where there is none [s].
    """

    wall_share: float
    dome_impulse_Ns: float
    wall_impulse_Ns: float
    wet_s: float
    dry_s: float


def landing(
    place: str, headers: Sequence[Header], can: Can, lines_mm: Floats, shares: Floats, mat: Mat
) -> Landing:
    """Return how the spray of some headers lands on one place.

    Parameters
    ----------
    place : {"inside", "top", "outside"}
        Through the mouth from below, on the dome, or down the outside.
    headers : sequence of Header
        The headers of that side, at least one.
    can : Can
        The size.
    lines_mm, shares : ndarray, shape (lanes,)
        Lines of can centres from the mat's left edge [mm], and the share of the cans on each [-].
    mat : Mat
        Its speed and open share.

    Returns
    -------
    Landing
        Means over the cans.
    """
    spans = [(h.station_mm, footprint_of(h, can.height_mm).half_along_mm) for h in headers]
    wet, dry = wet_and_dry_s(spans, mat.speed_mm_per_s)
    if place == "outside":
        return Landing(1.0, np.nan, np.nan, wet, dry)
    total, wall, dome_Ns, wall_Ns = 0.0, 0.0, 0.0, 0.0
    for header in headers:
        patch = footprint_of(header, can.height_mm)
        volume = caught_bands_mm(header, can.stance(0.0), lines_mm) * passed_mL_per_mm(header, mat)
        volume = shares[:, None] * volume
        per_mL = momentum_per_mL_Ns(header)
        total += volume.sum()
        if place == "top":
            dome_Ns += volume.sum() * per_mL * axial_share(patch)
            continue
        inner = can.height_mm - can.dome_depth_mm
        split = inside_split(patch, can.diameter_mm / 2.0, inner)
        across = lines_mm[:, None] - header.positions_mm
        on_wall, at_dome, at_wall = (
            float(np.sum(volume * np.interp(across, split.across_mm, each)))
            for each in (split.wall_share, split.dome_push, split.wall_push)
        )
        wall += on_wall
        dome_Ns += at_dome * per_mL
        wall_Ns += at_wall * per_mL
    return Landing(float(wall / total) if total else 0.0, float(dome_Ns), wall_Ns, wet, dry)


def wet_and_dry_s(
    spans_mm: Sequence[tuple[float, float]], speed_mm_per_s: float
) -> tuple[float, float]:
    """Return how long a point is under sprays on its way, and the longest time between two.

    Parameters
    ----------
    spans_mm : sequence of (float, float)
        Station of each header and half the length its spray covers along travel [mm].
    speed_mm_per_s : float
        Mat speed [mm/s].

    Returns
    -------
    tuple of float
        Wet time, sprays that meet counted once, and longest dry time between headers [s].
    """
    wet, dry, end = 0.0, 0.0, -np.inf
    for low, high in sorted((at - half, at + half) for at, half in spans_mm):
        if low > end and end > -np.inf:
            dry = max(dry, low - end)
        wet += max(0.0, high - max(low, end))
        end = max(end, high)
    return float(wet / speed_mm_per_s), float(dry / speed_mm_per_s)
