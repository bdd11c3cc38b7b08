"""The patch a spray covers where it lands, and how its flow is spread over it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.check import non_negative, one_of, positive
from packsim.errors import InputError
from packsim.line import Header
from packsim.spray.jets import flow_mm3_per_s, spread_mm, stand_off_mm

FAN_SHAPES = ("ellipse", "rectangle")
"""A fan that tapers towards its ends, or one that is even to its ends."""


@dataclass(frozen=True, slots=True)
class RadialTable:
    """A measured spray: its density ring by ring, from the axis outwards.

    Parameters
    ----------
    edges : tuple of float
        Outer edge of each ring as a share of the footprint radius, rising, the last 1 [-].
    density : tuple of float
        Volume per area caught in that ring, in any unit, 0 or more [-]. A hollow cone has 0 in
        its first ring.
    """

    edges: tuple[float, ...]
    density: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(b > a for a, b in zip((0.0, *self.edges), self.edges, strict=False))
        if not self.edges or not rising or abs(self.edges[-1] - 1.0) > 1e-12:
            raise InputError("edges", self.edges, "ring edges rising from above 0 to 1")
        if len(self.density) != len(self.edges):
            raise InputError("density", self.density, f"{len(self.edges)} values, one per ring")
        for i, value in enumerate(self.density):
            non_negative(f"density[{i}]", value)
        positive("density", sum(self.density))


@dataclass(frozen=True, slots=True)
class Footprint:
    """What one nozzle covers on the plane it washes.

    Parameters
    ----------
    shape : {"disc", "ellipse", "rectangle"}
        Outline.
    half_long_mm, half_thin_mm : float
        Half extents of the outline; equal for a disc [mm].
    twist_rad : float
        Turn of the long side from straight across the mat, the right end downstream [rad].
    stand_off_mm : float
        Distance of the nozzle tip from the plane [mm].
    flow_mm3_per_s : float
        Flow of the nozzle [mm³/s].
    rings : RadialTable or None
        Measured density of a disc; even when None.
    """

    shape: str
    half_long_mm: float
    half_thin_mm: float
    twist_rad: float
    stand_off_mm: float
    flow_mm3_per_s: float
    rings: RadialTable | None = None

    def __post_init__(self) -> None:
        one_of("shape", self.shape, ("disc", *FAN_SHAPES))
        positive("half_long_mm", self.half_long_mm)
        positive("half_thin_mm", self.half_thin_mm)
        positive("stand_off_mm", self.stand_off_mm)
        non_negative("flow_mm3_per_s", self.flow_mm3_per_s)
        if self.shape != "disc" and self.rings is not None:
            raise InputError("rings", self.rings, "none for a fan: a radial table is for a cone")

    @property
    def half_across_mm(self) -> float:
        """Half the width covered across the mat [mm]."""
        return self._half_extent(math.cos(self.twist_rad), math.sin(self.twist_rad))

    @property
    def half_along_mm(self) -> float:
        """Half the length covered along travel [mm]."""
        return self._half_extent(math.sin(self.twist_rad), math.cos(self.twist_rad))

    @property
    def layers(self) -> tuple[Floats, Floats]:
        """Even discs whose sum is the spray of a cone: radii [mm] and signed shares of its flow.

        A density that steps from ring to ring is a stack of even discs, one per step.
        """
        if self.rings is None:
            return np.array([self.half_long_mm]), np.array([1.0])
        radii = self.half_long_mm * np.asarray(self.rings.edges)
        steps = -np.diff(np.append(np.asarray(self.rings.density), 0.0))
        volume = steps * radii**2
        kept = steps != 0.0
        return radii[kept], volume[kept] / np.sum(volume)

    def _half_extent(self, along_long: float, along_thin: float) -> float:
        long, thin = self.half_long_mm * along_long, self.half_thin_mm * along_thin
        return abs(long) + abs(thin) if self.shape == "rectangle" else math.hypot(long, thin)


def footprint_of(
    header: Header,
    can_height_mm: float,
    rings: RadialTable | None = None,
    fan_shape: str = "ellipse",
) -> Footprint:
    """Footprint of each nozzle of a header, on the can tops or on the mat.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat [mm].
    rings : RadialTable, optional
        Measured density of a cone; even when omitted. Ignored for a fan.
    fan_shape : {"ellipse", "rectangle"}
        Outline of a fan.

    Returns
    -------
    Footprint
        Half extents h tan(a/2), straight rays.

    Raises
    ------
    InputError
        If a header above stands no higher than the can tops.
    """
    one_of("fan_shape", fan_shape, FAN_SHAPES)
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
            rings=rings,
        )
    thin = spread_mm(height, nozzle.thin_angle_rad) / 2.0
    return Footprint(
        shape=fan_shape,
        half_long_mm=long,
        half_thin_mm=thin,
        twist_rad=nozzle.twist_rad,
        stand_off_mm=height,
        flow_mm3_per_s=flow,
    )
