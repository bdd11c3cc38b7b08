"""Where brackets can be set: on the mat, on the marks of a rule, and what a funnel may do.

A can rides along a face of a funnel that turns in by β a side. The face pushes it inwards and, by
friction, back: the push points β + φ behind straight across, φ being the friction angle. The can
rests against two cans of the next line, and hands the push on to them as long as it points between
them. Past the rear one it is squeezed out backwards, against the can behind: it wedges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from packsim.errors import Assumption, non_negative, one_of, positive
from packsim.line import LAYOUTS, Guides


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
    aim_mm: tuple[float, float],
    window_mm: tuple[float, float],
    reach: Reach,
    step_mm: float,
) -> tuple[float, float] | None:
    """Set both faces on whole steps from their own mat edge, inside a window.

    Parameters
    ----------
    aim_mm : tuple of float
        Clear width and middle of the pass aimed at [mm].
    window_mm : tuple of float
        Clear widths to stay within [mm].
    reach : Reach
        What the brackets can do.
    step_mm : float
        Step of the rule; 0 leaves the setting as it is [mm].

    Returns
    -------
    left_mm, right_mm : float
        Distance of each face from its own mat edge [mm]; None where no whole steps are inside.

    Notes
    -----
    A pass about the middle of the mat keeps both sides alike, as long as that stays in the middle
    half of the window; else the width nearest to the one aimed at counts.

    Examples
    --------
    >>> on_marks((700.3, 500.0), (699.0, 702.0), Reach(1000.0, 0.0, 400.0), 0.5)
    (150.0, 150.0)
    >>> on_marks((700.3, 500.0), (700.2, 700.6), Reach(1000.0, 0.0, 400.0), 0.5)
    (149.5, 150.0)
    """
    aim, centre = aim_mm
    aside = 2.0 * centre - reach.mat_width_mm
    if aim + step_mm <= aim:  # no step, or finer than a width can tell
        return (reach.mat_width_mm - aim + aside) / 2.0, (reach.mat_width_mm - aim - aside) / 2.0
    near = math.ceil(reach.near_mm / step_mm - 1e-9)
    far = math.floor(min(reach.far_mm, reach.mat_width_mm) / step_mm + 1e-9)
    quarter = (window_mm[1] - window_mm[0]) / 4.0

    def cost(marks: tuple[int, int]) -> tuple[float, float, float]:
        off = abs(width(marks) - aim)
        turned = abs((marks[0] - marks[1]) * step_mm - aside)
        return round(max(0.0, off - quarter), 9), round(turned, 9), round(off, 9)

    def width(marks: tuple[int, int]) -> float:
        return reach.mat_width_mm - (marks[0] + marks[1]) * step_mm

    both = math.floor((reach.mat_width_mm - aim) / step_mm + 1e-9)
    pairs = [
        (left, total - left)
        for total in range(both - 1, both + 3)
        for left in (_left_mark(total, aside / step_mm, near, far),)
    ]
    low, high = window_mm[0] - 1e-9, window_mm[1] + 1e-9
    good = [m for m in pairs if near <= min(m) and max(m) <= far and low <= width(m) <= high]
    if not good:
        return None
    left, right = min(good, key=cost)
    return left * step_mm, right * step_mm


def _left_mark(total: int, aside: float, near: int, far: int) -> int:
    """Mark of the left face so that two marks of a sum lie nearest to the middle aimed at."""
    left = math.floor((total + aside) / 2.0 + 0.5 - 1e-9)
    return min(max(left, near, total - far), far, total - near)


GUIDE_FRICTION: Final = 0.3
"""Between can and guide."""

FUNNEL_ASSUMED: Final = (
    Assumption("funnel.friction", f"{GUIDE_FRICTION:g}", "metal on metal, wet or dry; no source"),
    Assumption("funnel.pack", "touching cans, free of friction among themselves", "derived here"),
)
"""What the rule of a funnel rests on."""

_REAR: Final = {"lengthwise": math.pi / 6.0, "crosswise": math.pi / 3.0}
"""Bearing of the rear neighbour from straight across: the next line stands half a can behind, or
the next row does."""


def steepest_rad(layout: str, friction: float = GUIDE_FRICTION) -> float:
    """Return the steepest a face may turn in for no can to wedge, 30° or 60° less atan μ [rad].

    Parameters
    ----------
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run: 30° lengthwise, 60° crosswise.
    friction : float
        Coefficient of friction μ between can and guide [-].

    Returns
    -------
    float
        Angle of one face to the travel, 0 at least [rad]. Derived here, see the module.

    Examples
    --------
    >>> math.degrees(steepest_rad("lengthwise"))
    13.3
    """
    one_of("layout", layout, LAYOUTS)
    return max(0.0, _REAR[layout] - math.atan(non_negative("friction", friction)))


def farthest_step_mm(layout: str, diameter_mm: float, friction: float = GUIDE_FRICTION) -> float:
    """Return how far a corner may stand in for a can to ride over it, R (1 − cos β) [mm].

    A can meets a corner that stands in by s at the bearing β from straight across with
    cos β = 1 − s/R; the push must again point between its neighbours, so β is `steepest_rad`.
    """
    radius = positive("diameter_mm", diameter_mm) / 2.0
    return 2.0 * radius * math.sin(steepest_rad(layout, friction) / 2.0) ** 2


def turns_in_rad(guides: Guides) -> tuple[tuple[float, float], ...]:
    """Return by how much each face, left and right, turns in between brackets [rad]."""
    return tuple(
        (
            math.atan2(b.left_mm - a.left_mm, b.station_mm - a.station_mm),
            math.atan2(a.right_mm - b.right_mm, b.station_mm - a.station_mm),
        )
        for a, b in pairwise(guides.brackets)
    )
