"""Counts of a seen pack: cans on a metre, fill, cans missing; and how their diameters differ."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.look.known import TWO_SIDED, Known, mean_of_parts
from packsim.look.rows import SeenRows
from packsim.look.seen import SeenPack
from packsim.width.lane_rule import lanes_per_metre, packs_at

_GIVES_WAY: Final = 0.05
"""Of the room of a can that is missing its neighbours have taken so much at most, as a share."""

_LEAST_IN_LANE: Final = 3
"""Cans of a lane that tell how far apart they stand."""


@dataclass(frozen=True, slots=True)
class DiameterSpread:
    """How much the diameters of the cans differ, as far as the picture tells.

    Parameters
    ----------
    cans : int
        Cans whose rims were measured.
    rim_error_mm : float
        Error of one rim, one standard deviation [mm].
    spread_mm : Known
        Standard deviation of the diameters without that error [mm].
    told : bool
        Whether the picture tells it from the error, with 95 % confidence.
    least_mm : float
        Least spread that so many rims would tell [mm].
    """

    cans: int
    rim_error_mm: float
    spread_mm: Known
    told: bool
    least_mm: float


def lane_share(seen: SeenPack, rows: SeenRows) -> Known | None:
    """Cans of a lane over those of a touching one, mean over the lanes [-].

    From the first can of a lane to its last, so that it does not matter where the picture ends.
    """
    pitch = _in_lane_mm(seen, rows)
    shares = []
    for lane in range(rows.lanes):
        x = seen.centres_mm[rows.lane == lane, 0]
        if x.size >= _LEAST_IN_LANE:
            shares.append(pitch * (x.size - 1) / float(np.ptp(x)))
    if len(shares) < 2:
        return None
    return mean_of_parts(shares, seen.scale_error)


def _in_lane_mm(seen: SeenPack, rows: SeenRows) -> float:
    """Distance of the cans of a lane of a touching pack [mm]."""
    return 1000.0 / lanes_per_metre(2, seen.diameter_mm, rows.layout) * 2.0


def fill_of(seen: SeenPack, rows: SeenRows, share: Known, width: Known | None) -> Known:
    """Cans over those of the most lanes that fit, full: what a scenario calls its fill [-]."""
    lanes = rows.lanes
    if width is not None:
        fit = packs_at(width.value, seen.diameter_mm, rows.layout).fit_lanes
        lanes = max(fit, 1)
    times = rows.lanes / lanes
    return Known(min(1.0, share.value * times), share.within * times)


def cans_per_metre(seen: SeenPack, rows: SeenRows, share: Known, own: float) -> Known:
    """Cans on a metre of mat, from the share of a touching pack's in its lanes [1/m].

    ``own`` is the error of the diameter as a share of it, one standard deviation [-].
    """
    full = lanes_per_metre(rows.lanes, seen.diameter_mm, rows.layout)
    error = share.value * full * own
    return Known(share.value * full, math.hypot(share.within * full, TWO_SIDED * error))


def cans_missing(seen: SeenPack, rows: SeenRows) -> Floats:
    """Return where there is room for a can between two of a lane, shape (m, 2) [mm].

    Where cans lie there are as many less.
    """
    pitch, found = _in_lane_mm(seen, rows), []
    lying = seen.centres_mm[seen.are("down")]
    slop = _GIVES_WAY * pitch + 3.0 * float(np.median(seen.errors_mm))
    for lane in range(rows.lanes):
        cans = seen.centres_mm[rows.lane == lane]
        cans = cans[np.argsort(cans[:, 0])]
        for i in np.flatnonzero(np.diff(cans[:, 0]) + slop >= 2.0 * pitch).tolist():
            one, other = cans[i], cans[i + 1]
            room = int((other[0] - one[0] + slop) // pitch) - 1
            beside = np.abs(lying[:, 1] - (one[1] + other[1]) / 2.0) < seen.diameter_mm
            between = (lying[:, 0] > one[0]) & (lying[:, 0] < other[0]) & beside
            free = room - int(between.sum())
            found += [one + (other - one) * (k + 1) / (room + 1) for k in range(free)]
    return np.array(found).reshape(-1, 2)


def diameter_spread(seen: SeenPack) -> DiameterSpread | None:
    """Spread of the diameters: what of that of the rims is more than their error."""
    from scipy.special import chdtri

    measured = np.isfinite(seen.diameters_mm) & seen.are("standing")
    count = int(measured.sum())
    if count < 3:
        return None
    freedom = count - 1
    error2 = float((seen.diameter_errors_mm[measured] ** 2).mean())
    all2 = float(seen.diameters_mm[measured].var(ddof=1))
    spread = math.sqrt(max(0.0, all2 - error2))
    least = math.sqrt(error2 * max(0.0, float(chdtri(freedom, 0.05)) / freedom - 1.0))
    off2 = all2 * math.sqrt(2.0 / freedom)  # standard error of a variance of normal errors
    within = TWO_SIDED * off2 / (2.0 * spread) if spread > least else least
    return DiameterSpread(count, math.sqrt(error2), Known(spread, within), spread > least, least)
