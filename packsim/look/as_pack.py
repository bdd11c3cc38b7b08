"""A seen pack as a `Pack`: a stretch of it that repeats, for all that is asked of packs."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.look.rows import SeenRows
from packsim.look.seen import SeenPack
from packsim.pack.lattice import lanes_width_mm
from packsim.pack.state import Pack
from packsim.width.lane_rule import lanes_per_metre

_LEAST_SHARE: Final = 0.7
"""A stretch may be so much shorter than what is seen where its ends then fit better."""

_LEAST_STEPS: Final = 4
"""Steps along travel of the shortest stretch: two cans of a lane."""


def pack_of(seen: SeenPack, rows: SeenRows) -> Pack | None:
    """Return a stretch of a seen pack as one period of a pack.

    Parameters
    ----------
    seen : SeenPack
        The cans.
    rows : SeenRows
        Their rows.

    Returns
    -------
    Pack
        Its cans are those seen there but for those that lie; where a guide is not seen its face is
        taken at the outermost rim. None where less than two cans of a lane are seen.

    Notes
    -----
    A pack repeats, a picture does not. The stretch is cut along the lattice, so that no can is cut
    and none counted twice, and of all stretches of nearly the length seen that one is taken whose
    two ends fit best: a few cans at the seam have neighbours that stand elsewhere in the picture.
    """
    grid = _grid(rows)
    ends = _ends(seen.centres_mm[:, 0], grid)
    if ends is None:
        return None
    first, last, length = ends
    x, y = seen.centres_mm.T
    here = np.flatnonzero((rows.lane >= 0) & (rows.step >= first) & (rows.step < last))
    start = float(np.nanmean(_of(x, grid[first])))
    left, right = faces_mm(seen, rows)
    width, lanes, diameter = right - left, rows.lanes, seen.diameter_mm
    centres = np.column_stack(((x[here] - start) % length, y[here] - left))
    centres.flags.writeable = False
    full = lanes_per_metre(lanes, diameter, rows.layout)
    needs = lanes_width_mm(lanes, diameter, rows.layout)
    return Pack(
        centres_mm=centres,
        diameter_mm=diameter,
        clear_width_mm=width,
        length_mm=length,
        layout=rows.layout,
        state="slack" if width >= needs else "strained",
        lanes=lanes,
        pack_width_mm=needs,
        fill=min(1.0, 1000.0 * len(here) / length / full),
    )


def faces_mm(seen: SeenPack, rows: SeenRows) -> tuple[float, float]:
    """Return the guide faces, at the outermost rim of the pack where one is not seen [mm]."""
    y, radius = seen.centres_mm[rows.lane >= 0, 1], seen.diameter_mm / 2.0
    rims = float(y.min()) - radius, float(y.max()) + radius
    left, right = (
        rim if math.isnan(face) else float(face)
        for rim, face in zip(rims, seen.guides_mm, strict=True)
    )
    return left, right


def _grid(rows: SeenRows) -> Ints:
    """Can by step and lane, −1 where none stands."""
    inside = np.flatnonzero(rows.lane >= 0)
    grid = np.full((int(rows.step[inside].max()) + 1, rows.lanes), -1)
    grid[rows.step[inside], rows.lane[inside]] = inside
    return grid


def _of(values: Floats, cans: Ints) -> Floats:
    """Return a value of each can, nan for none."""
    return np.where(cans >= 0, values[cans], np.nan)


def _ends(x: Floats, grid: Ints) -> tuple[int, int, float] | None:
    """First step, the step after the last and the length of the stretch whose ends fit best [mm].

    Of two rows of steps a whole number of periods apart the cans of a lane should be equally far
    apart: how far they are not is what the seam tears. Only rows that reach all lanes are ends.
    """
    along = _of(x, grid)
    # a period is two steps; with both of them every lane has its can
    pair = np.where(np.isnan(along[:-1]), along[1:], along[:-1])
    reach = np.isfinite(pair).mean(axis=1)
    whole = np.flatnonzero(reach >= 0.8 * reach.max())
    longest = int(whole[-1] - whole[0]) // 2 * 2
    if longest < _LEAST_STEPS:
        return None
    best: tuple[float, int, int, float] | None = None
    for steps in range(longest, max(_LEAST_STEPS, int(_LEAST_SHARE * longest)) - 1, -2):
        for first in whole[whole + steps <= whole[-1]].tolist():
            apart = along[first + steps : first + steps + 2] - along[first : first + 2]
            apart = apart[np.isfinite(apart)]
            if apart.size < 0.5 * grid.shape[1]:
                continue
            # a shorter stretch has to fit better to be worth what it leaves out
            tear = float(apart.std()) * longest / steps
            if best is None or tear < best[0] - 1e-9:
                best = tear, first, first + steps, float(apart.mean())
    return None if best is None else best[1:]
