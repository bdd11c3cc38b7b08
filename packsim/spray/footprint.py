"""The patch a spray covers where it lands."""

from __future__ import annotations

import math
from dataclasses import dataclass

from packsim.check import non_negative, one_of, positive
from packsim.line import Header
from packsim.spray.jets import flow_mm3_per_s, spread_mm, stand_off_mm


@dataclass(frozen=True, slots=True)
class Footprint:
    """What one nozzle covers on the plane it washes.

    Parameters
    ----------
    shape : {"disc", "ellipse"}
        Outline, of a cone or of a fan.
    half_long_mm, half_thin_mm : float
        Half extents of the outline; equal for a disc [mm].
    twist_rad : float
        Turn of the long side from straight across the mat, the right end downstream [rad].
    stand_off_mm : float
        Distance of the nozzle tip from the plane [mm].
    flow_mm3_per_s : float
        Flow of the nozzle [mm³/s].
    """

    shape: str
    half_long_mm: float
    half_thin_mm: float
    twist_rad: float
    stand_off_mm: float
    flow_mm3_per_s: float

    def __post_init__(self) -> None:
        one_of("shape", self.shape, ("disc", "ellipse"))
        positive("half_long_mm", self.half_long_mm)
        positive("half_thin_mm", self.half_thin_mm)
        positive("stand_off_mm", self.stand_off_mm)
        non_negative("flow_mm3_per_s", self.flow_mm3_per_s)

    @property
    def half_across_mm(self) -> float:
        """Half the width covered across the mat [mm]."""
        return self._half_extent(math.cos(self.twist_rad), math.sin(self.twist_rad))

    @property
    def half_along_mm(self) -> float:
        """Half the length covered along travel [mm]."""
        return self._half_extent(math.sin(self.twist_rad), math.cos(self.twist_rad))

    def _half_extent(self, along_long: float, along_thin: float) -> float:
        return math.hypot(self.half_long_mm * along_long, self.half_thin_mm * along_thin)


def footprint_of(header: Header, can_height_mm: float) -> Footprint:
    """Footprint of each nozzle of a header, on the can tops or on the mat.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat [mm].

    Returns
    -------
    Footprint
        Half extents h tan(a/2), straight rays. Taken as evenly wet; a fan tapers to its ends.

    Raises
    ------
    InputError
        If a header above stands no higher than the can tops.
    """
    nozzle = header.nozzle
    height = stand_off_mm(header, can_height_mm)
    flow = flow_mm3_per_s(nozzle, header.pressure_MPa)
    long = spread_mm(height, nozzle.angle_rad) / 2.0
    if nozzle.pattern == "cone":
        return Footprint(
            shape="disc",
            half_long_mm=long,
            half_thin_mm=long,
            twist_rad=0.0,
            stand_off_mm=height,
            flow_mm3_per_s=flow,
        )
    thin = spread_mm(height, nozzle.thin_angle_rad) / 2.0
    return Footprint(
        shape="ellipse",
        half_long_mm=long,
        half_thin_mm=thin,
        twist_rad=nozzle.twist_rad,
        stand_off_mm=height,
        flow_mm3_per_s=flow,
    )
