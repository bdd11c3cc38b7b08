"""Where brackets can be set: within their travel, on the mat, on the marks of a rule."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

from packsim.line import Guides


@dataclass(frozen=True, slots=True)
class Reach:
    """How near to and how far from its mat edge a guide face can stand.

    Parameters
    ----------
    mat_width_mm : float
        Mat width [mm].
    near_mm, far_mm : float
        Nearest and farthest, the same for both sides; ``far_mm`` may be infinite [mm].
    """

    mat_width_mm: float
    near_mm: float
    far_mm: float

    @classmethod
    def of(cls, guides: Guides, mat_width_mm: float) -> Reach:
        """Return the reach of a stage's brackets; the mat's edge is the end where none is known."""
        near, far = guides.travel_mm or (0.0, math.inf)
        return cls(mat_width_mm, max(0.0, near), far)

    @property
    def widths_mm(self) -> tuple[float, float]:
        """Least and greatest clear width [mm]."""
        return max(0.0, self.mat_width_mm - 2.0 * self.far_mm), self.mat_width_mm - 2.0 * (
            self.near_mm
        )

    def centres_mm(self, clear_width_mm: float) -> tuple[float, float]:
        """Least and greatest middle of a pass of this width; crossed when it is out of reach."""
        half, mat = clear_width_mm / 2.0, self.mat_width_mm
        low = max(self.near_mm + half, mat - self.far_mm - half)
        return low, min(self.far_mm + half, mat - self.near_mm - half)

    def farthest_beyond_mm(self, guides: Guides) -> float:
        """By how much the worst face of some guides is out of reach; 0 when none is [mm]."""
        return max(
            self.beyond_mm(gap)
            for b in guides.brackets
            for gap in (b.left_mm, self.mat_width_mm - b.right_mm)
        )

    def room_mm(self, clear_width_mm: float, centre_mm: float) -> tuple[float, float]:
        """Room of a pass to the left and to the right before a face is out of reach [mm]."""
        low, high = self.centres_mm(clear_width_mm)
        return max(0.0, centre_mm - low), max(0.0, high - centre_mm)

    def beyond_mm(self, gap_mm: float) -> float:
        """By how much a face at this distance from its edge is out of reach [mm]."""
        return max(0.0, self.near_mm - gap_mm, gap_mm - self.far_mm)


def on_marks(
    clear_width_mm: float,
    centre_mm: float,
    window_mm: tuple[float, float],
    reach: Reach,
    step_mm: float,
) -> tuple[float, float]:
    """Set both faces on whole steps from their own mat edge.

    Parameters
    ----------
    clear_width_mm, centre_mm : float
        Setting aimed at [mm].
    window_mm : tuple of float
        Clear widths to stay within where the steps allow it [mm].
    reach : Reach
        What the brackets can do.
    step_mm : float
        Step of the rule; 0 leaves the setting as it is [mm].

    Returns
    -------
    left_mm, right_mm : float
        Distance of each face from its own mat edge [mm].

    Notes
    -----
    Each side is rounded by itself, so a pass in the middle of the mat stays there. Only where that
    leaves the reach or the window are the neighbouring marks tried, nearest first.

    Examples
    --------
    >>> on_marks(700.3, 500.0, (699.0, 702.0), Reach(1000.0, 0.0, 400.0), 0.5)
    (150.0, 150.0)
    """
    aims = (centre_mm - clear_width_mm / 2.0, reach.mat_width_mm - centre_mm - clear_width_mm / 2.0)
    if step_mm <= 0.0:
        return aims
    near = [round(aim / step_mm) for aim in aims]
    choices = [
        ((near[0] + i) * step_mm, (near[1] + j) * step_mm) for i, j in product((0, -1, 1), repeat=2)
    ]

    def cost(gaps: tuple[float, float]) -> tuple[float, float, float]:
        width = reach.mat_width_mm - gaps[0] - gaps[1]
        beyond = sum(reach.beyond_mm(gap) for gap in gaps)
        outside = max(0.0, window_mm[0] - width, width - window_mm[1])
        off = sum(abs(gap - aim) for gap, aim in zip(gaps, aims, strict=True))
        return round(beyond, 9), round(outside, 9), round(off, 9)

    return min(choices, key=cost)
