"""What a funnel may do: how steep a face, how far in a corner, before a can wedges.

A can rides along a face of a funnel that turns in by β a side. The face pushes it inwards and, by
friction, back: the push points β + φ behind straight across, φ being the friction angle. The can
rests against two cans of the next line, and hands the push on to them as long as it points between
them. Past the rear one it is squeezed out backwards, against the can behind: it wedges.
"""

import math
from itertools import pairwise
from typing import Final

from packsim.errors import Assumption, non_negative, one_of, positive
from packsim.line import LAYOUTS, Guides

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
