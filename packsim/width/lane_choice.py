"""Which lane count a clear width is meant for, also when the guides stand too narrow for it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from packsim.check import positive
from packsim.width.lane_rule import lane_pitch_mm, lanes_width_mm


@dataclass(frozen=True, slots=True)
class LaneChoice:
    """The lane count a clear width is meant for.

    Parameters
    ----------
    lanes : int
        Can centre lines along travel; 0 when not even one can fits.
    pack_width_mm : float
        Width of their touching pack [mm].
    slack_mm : float
        Clear width less pack width; negative when the pack is strained [mm].
    why : str
        Both neighbours and what they would need.
    """

    lanes: int
    pack_width_mm: float
    slack_mm: float
    why: str

    @property
    def strained(self) -> bool:
        """Whether the lanes fit only by stretching the pack lengthwise."""
        return self.slack_mm < 0.0


def lanes_for(clear_width_mm: float, diameter_mm: float, layout: str = "lengthwise") -> LaneChoice:
    """Return the lane count whose touching pack is nearest to a clear width.

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Wall to wall, and the nominal can diameter [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run. Crosswise, 2m − 1 lanes stand for rows of m and m − 1 cans
        (m D wide) and 2m lanes for rows of m and m ((m + ½) D wide).

    Returns
    -------
    LaneChoice
        A guide a little too narrow does not jam: it holds one lane more and stretches the pack.
        Half way between two exact fits the smaller count is taken; there neither is meant.

    Examples
    --------
    >>> lanes_for(1150.0, 66.0).lanes, lanes_for(1148.0, 66.0).strained
    (20, True)
    """
    width = positive("clear_width_mm", clear_width_mm)
    diameter = positive("diameter_mm", diameter_mm)
    pitch = lane_pitch_mm(diameter, layout)
    if width < diameter:
        return LaneChoice(0, diameter, width - diameter, "not even one can fits")
    below = 1 + math.floor((width - diameter) / pitch + 1e-9)
    under = lanes_width_mm(below, diameter, layout)
    slack, short = max(0.0, width - under), under + pitch - width
    why = f"{below} lanes leave {slack:.1f} mm, {below + 1} lanes are {short:.1f} mm short"
    if short < slack:
        return LaneChoice(below + 1, under + pitch, -short, why)
    return LaneChoice(below, under, slack, why)
