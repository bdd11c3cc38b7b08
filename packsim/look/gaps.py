"""The gaps of rows from guide to guide: how wide, where, and how a row's slack is shared out.

A row goes from can to can and lane to lane: straight across where rows run crosswise, to and fro
between two steps where they run lengthwise. A gap is how far a can can move across until it meets
the next one of the row, or the guide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.look.known import TWO_SIDED, Known, known, mean_of_parts
from packsim.look.rows import SeenRows
from packsim.look.seen import SeenPack
from packsim.pack.lattice import lane_pitch_mm

LEAST_ROWS: Final = 4
"""Fewest whole rows whose gaps are told."""

_PARTS: Final = 6
"""Parts along travel that are compared, at most; each has two rows or more."""

_SOME_SLACK_REL: Final = 0.02
"""A row's slack below this share of a diameter is shared out too finely to be measured."""


_NOT_BESIDE: Final = 0.95
"""Cans so many diameters apart along travel pass each other: a gap across means little there."""


@dataclass(frozen=True, slots=True, eq=False)
class RowGaps:
    """The gaps of every whole row that is seen, and how its slack is shared out.

    Parameters
    ----------
    rows : int
        Whole rows seen, from guide to guide.
    row_slack_mm : Known
        Sum of the gaps of a row, mean over the rows. Where cans stand apart along travel it is
        more than clear width less pack width [mm].
    left_mm, right_mm, inside_mm : Known
        What of it lies at the left guide, at the right one, and between cans, mean over the rows
        [mm].
    cans : ndarray of int64, shape (r, g - 1)
        Cans of every row, from the left.
    gaps_mm : ndarray, shape (r, g)
        Every gap of every row, from the left guide to the right one; below 0 by errors alone [mm].
    widest_mm : Known
        Widest gap of a row, mean over the rows [mm].
    widest_spread_mm, widest_gathered_mm : float
        What that would be were the same slack spread at random, and all gathered in one gap [mm].
    gathered : Known or None
        Share of rows that have all their slack in one gap, the others spreading it at random, which
        has the same mean square of the gaps: 0 spread, 1 gathered, below 0 more even than at
        random. None where there is no slack to speak of [-].
    """

    rows: int
    row_slack_mm: Known
    left_mm: Known
    right_mm: Known
    inside_mm: Known
    cans: Ints
    gaps_mm: Floats
    widest_mm: Known
    widest_spread_mm: float
    widest_gathered_mm: float
    gathered: Known | None

    @property
    def by_place_mm(self) -> Floats:
        """Mean gap by place from the left guide to the right one, shape (g,) [mm]."""
        return np.asarray(self.gaps_mm.mean(axis=0))


def row_gaps(seen: SeenPack, rows: SeenRows, faces: Sequence[float]) -> RowGaps | None:
    """Measure the gaps of the rows that are seen from guide to guide.

    Parameters
    ----------
    seen : SeenPack
        The cans; without both guides there is no whole row.
    rows : SeenRows
        Their rows.
    faces : sequence of float
        Errors of both guide faces, and what they share, one standard deviation each [mm].

    Returns
    -------
    RowGaps or None
        None where a guide or all but a few rows are not seen.

    Notes
    -----
    Of a slack S spread at random over k gaps the mean square is 2 S²/(k (k + 1)) and the mean of
    the widest S (1 + 1/2 + … + 1/k)/k: spacings of points thrown on a line, derived here. Errors of
    centres make gaps look more uneven; their share in the mean square is taken off.
    """
    chains = whole_rows(rows)
    if not np.isfinite(seen.guides_mm).all() or len(chains) < LEAST_ROWS:
        return None
    gaps, errors, sums, grows = _gaps_mm(seen, rows, chains)
    count, k = gaps.shape
    slack, square = gaps.sum(axis=1), (gaps**2).sum(axis=1) - (errors**2).sum(axis=1)
    face = seen.guide_errors_mm
    cans = float(np.sqrt((seen.errors_mm[chains.ravel()] ** 2).mean()))
    ends = cans / math.sqrt(count)
    wide = float(grows.mean()) * seen.scale_error
    mean = gaps.mean(axis=0)
    summed = float(np.sqrt((sums**2).mean() / count))
    whole = known(float(slack.mean()), *faces, wide, summed)
    widest = gaps.max(axis=1)
    parts = np.array_split(np.argsort(seen.centres_mm[chains[:, 0], 0]), min(_PARTS, count // 2))
    gathered = None
    if whole.value > max(_SOME_SLACK_REL * seen.diameter_mm, whole.within):
        spread = 2.0 / (k + 1.0)
        each = [float(square[p].sum() / (slack[p] ** 2).sum()) for p in parts]
        off = 2.0 * float(np.mean(each)) * whole.within / TWO_SIDED / whole.value
        shares = [(one - spread) / (1.0 - spread) for one in each]
        gathered = mean_of_parts(shares, off / (1.0 - spread))
    harmonic = float((1.0 / np.arange(1, k + 1)).sum())
    return RowGaps(
        rows=count,
        row_slack_mm=whole,
        left_mm=known(float(mean[0]), float(face[0]), ends),
        right_mm=known(float(mean[-1]), float(face[1]), ends),
        inside_mm=known(float(mean[1:-1].sum()), math.sqrt(2.0) * ends, wide, summed),
        cans=chains,
        gaps_mm=gaps,
        widest_mm=known(float(widest.mean()), float(errors.mean()), float(face.max()) / k),
        widest_spread_mm=float(slack.mean()) * harmonic / k,
        widest_gathered_mm=float(slack.mean()),
        gathered=gathered,
    )


def whole_rows(rows: SeenRows) -> Ints:
    """Return the cans of every row without a can missing, from the left, shape (r, c)."""
    at = {
        (lane, step): can
        for can, (lane, step) in enumerate(zip(rows.lane.tolist(), rows.step.tolist(), strict=True))
        if lane >= 0
    }
    found = []
    for (lane, step), _ in sorted(at.items()):
        if rows.layout == "lengthwise":
            places = [(k, step + k % 2) for k in range(rows.lanes)] if lane == 0 else []
        else:
            first = lane if lane < 2 else -1
            places = [(k, step) for k in range(first, rows.lanes, 2)] if first >= 0 else []
        row = [at.get(place, -1) for place in places]
        if row and min(row) >= 0:
            found.append(row)
    longest = max(map(len, found), default=0)
    # short rows have a gap less: they say the same of their neighbours' slack
    kept = [row for row in found if len(row) == longest]
    return np.array(kept, np.int64).reshape(len(kept), longest)


def _gaps_mm(seen: SeenPack, rows: SeenRows, chains: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Gaps of every row and their errors, shape (r, c + 1), and the errors of their sums [mm].

    Last, by how much a sum grows for each part in one that the scale does [mm]. Of a row that ends
    a lane short of a guide the lane's pitch there is no gap. Across, errors of cans between two
    gaps leave the sum as it is; along, they do not where a row goes to and fro.
    """
    diameter = seen.diameter_mm
    x, y = seen.centres_mm[chains].transpose(2, 0, 1)
    error = seen.errors_mm[chains]
    dx, dy = np.diff(x, axis=1), np.diff(y, axis=1)
    dx = np.clip(dx, -_NOT_BESIDE * diameter, _NOT_BESIDE * diameter)
    reach = np.sqrt(diameter**2 - dx**2)
    slope = dx / reach
    sums = np.sqrt(((np.diff(slope, axis=1, prepend=0.0, append=0.0) * error) ** 2).sum(axis=1))
    grows = seen.clear_width_mm + (dx**2 / reach).sum(axis=1)
    inner = np.hypot(error[:, 1:], error[:, :-1]) * np.sqrt(1.0 + slope**2)
    pitch, last = lane_pitch_mm(diameter, rows.layout), rows.lanes - 1
    left = y[:, 0] - diameter / 2.0 - seen.guides_mm[0] - pitch * rows.lane[chains[:, 0]]
    right = seen.guides_mm[1] - y[:, -1] - diameter / 2.0
    right -= pitch * (last - rows.lane[chains[:, -1]])
    gaps = np.column_stack((left, dy - reach, right))
    return gaps, np.column_stack((error[:, 0], inner, error[:, -1])), sums, grows
