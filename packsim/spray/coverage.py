"""Whether the sprays of one header meet, and what the can tops see of them."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.line import Header
from packsim.spray.jets import footprint_of


@dataclass(frozen=True, slots=True)
class Coverage:
    """How the footprints of neighbouring nozzles meet on the plane they wash.

    Parameters
    ----------
    stand_off_mm : float
        Nozzle tip to that plane: the can tops from above, the mat from below [mm].
    width_mm : float
        Width one footprint covers across the mat [mm].
    overlap_mm : float
        Width two neighbours share; below 0 it is the dry stripe between them [mm].
    layers : float
        Footprint width over nozzle pitch: how many sprays a line meets on average [-].
    dry_below_mm : float
        Stand-off at which neighbours just meet; nearer than this they leave a stripe dry [mm].
    """

    stand_off_mm: float
    width_mm: float
    overlap_mm: float
    layers: float
    dry_below_mm: float


def coverage(header: Header, can_height_mm: float) -> Coverage:
    """Overlap of the neighbouring sprays of a header for a can height.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat; a taller can comes closer to the nozzles above and is met
        by narrower sprays [mm].

    Returns
    -------
    Coverage
        Width, overlap and the least stand-off without a dry stripe. Straight rays.

    Raises
    ------
    InputError
        If a header above stands no higher than the can tops.

    Examples
    --------
    >>> import math
    >>> from packsim.line import Nozzle
    >>> cone = Nozzle("cone", math.radians(90.0), 1e5, 0.1)
    >>> coverage(Header("above", 0.0, 200.0, 0.0, 120.0, 8, 0.1, cone), 150.0)
    Coverage(stand_off_mm=50.0, width_mm=100.0, overlap_mm=-20.0, layers=0.83, dry_below_mm=60.0)
    """
    patch = footprint_of(header, can_height_mm)
    width = 2.0 * patch.half_across_mm
    needed = patch.stand_off_mm * header.pitch_mm / width
    return Coverage(
        patch.stand_off_mm, width, width - header.pitch_mm, width / header.pitch_mm, needed
    )
