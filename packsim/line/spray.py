"""What sprays at the pack: a nozzle's pattern and flow, and a header that carries a row of them."""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from packsim.constants import WATER_KG_PER_MM3
from packsim.errors import InputError, between, finite, non_negative, one_of, positive, whole

SIDES = ("above", "below")
"""Sides of the mat a header can spray from; a stage may have headers on one side only."""

MEDIA = ("liquid", "gas")
"""What a header may spray; the two are told apart everywhere and never added."""

GAS_BELOW_KG_PER_MM3 = 1e-7
"""What is lighter than this, 100 kg/m³, is a gas: no liquid is, and no gas at a header's pressure
reaches it."""

PATTERNS = ("cone", "hollow cone", "fan", "slot")
"""How a nozzle may spread its spray."""

Layers = tuple[tuple[float, float], ...]
"""Width over that of the whole spray, and share of the flow, of each even patch [-]."""

EVEN: Layers = ((1.0, 1.0),)
"""A full cone, and a flat fan: evenly wet."""

_SLOT_PARTS = 12
"""Parts the even sheet of a slot is made of: each gets its share exactly, and a can anywhere within
catches the same to 1 % (measured in tests)."""

MAX_NOZZLES = 2_000
"""More nozzles on one header than any mat has room for: above it the entry is a typing error."""


@dataclass(frozen=True, slots=True)
class Nozzle:
    """One nozzle.

    Parameters
    ----------
    pattern : {"cone", "hollow cone", "fan", "slot"}
        Full cone; ring; flat fan, thinner to its ends; sheet as dense at its ends as in its middle.
    angle_rad : float
        Full opening angle of the cone, or of the fan in its wide plane [rad].
    flow_mm3_per_s : float
        Flow at the reference pressure [mm³/s].
    reference_MPa : float
        Pressure at which that flow was rated [MPa].
    thin_angle_rad : float
        Full opening angle of a fan across its thin side [rad].
    twist_rad : float
        Turn of a fan's wide plane from straight across the mat [rad].
    velocity_coefficient : float
        Jet speed over the ideal √(2p/ρ), 0..1 [-].
    hollow_share : float
        Share of the width of a hollow cone that stays empty in its middle, 0..0.95 [-].
    measured_rad : tuple of float
        Angles from the axis across the spray, rising, the last half of the opening angle [rad];
        empty where nobody measured it.
    measured_share : tuple of float
        What was caught between each of those and the one before, or the axis, on any scale.
    """

    pattern: str
    angle_rad: float
    flow_mm3_per_s: float
    reference_MPa: float
    thin_angle_rad: float = math.radians(8.0)
    twist_rad: float = 0.0
    velocity_coefficient: float = 0.95
    hollow_share: float = 0.6
    measured_rad: tuple[float, ...] = ()
    measured_share: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        one_of("pattern", self.pattern, PATTERNS)
        between("angle_rad", self.angle_rad, 1e-3, math.radians(170.0), "rad")
        positive("flow_mm3_per_s", self.flow_mm3_per_s)
        positive("reference_MPa", self.reference_MPa)
        between("thin_angle_rad", self.thin_angle_rad, 1e-3, math.radians(170.0), "rad")
        between("twist_rad", self.twist_rad, -math.pi / 2, math.pi / 2, "rad")
        between("velocity_coefficient", self.velocity_coefficient, 0.05, 1.0)
        between("hollow_share", self.hollow_share, 0.0, 0.95)
        self._check_table()

    @property
    def round(self) -> bool:
        """Whether its spray is round: a cone, full or hollow."""
        return self.pattern in ("cone", "hollow cone")

    def _check_table(self) -> None:
        angles, shares = self.measured_rad, self.measured_share
        if len(angles) != len(shares):
            raise InputError("measured_share", f"{len(shares)} shares", f"{len(angles)}, as angles")
        if not angles:
            return
        if any(b <= a for a, b in pairwise((0.0, *angles))):
            raise InputError(
                "measured_rad", "angles that do not rise", "angles rising from the axis"
            )
        if abs(angles[-1] - self.angle_rad / 2.0) > 1e-3:
            half = f"{math.degrees(self.angle_rad / 2.0):.4g} deg last, half the spray angle"
            raise InputError("measured_rad", f"{math.degrees(angles[-1]):.4g} deg last", half)
        if min(shares) < 0.0 or not sum(shares) > 0.0:
            raise InputError("measured_share", min(shares), "shares of 0 or more, not all 0")


@lru_cache(maxsize=256)
def layers_of(nozzle: Nozzle) -> Layers:
    """Return the even patches that make up the spray of a nozzle.

    Parameters
    ----------
    nozzle : Nozzle
        The nozzle; a measured table goes before its pattern.

    Returns
    -------
    tuple of (float, float)
        Width over that of the whole spray, and share of the flow; the shares sum to 1 [-].

    Notes
    -----
    Every answer is a sum over drops, so a spray of any pattern does what even sprays of smaller
    angles do together, each times its share of the flow; a share below 0 takes away. Patches of a
    cone are discs, those of a fan ellipses of one thickness. A hollow cone is an even
    disc less an even disc within it. A table of what is caught between rising distances from the
    middle is met exactly: the outermost patch alone reaches the outermost part, which gives its
    share; then the next (onion peeling, [dasch1992]_).
    """
    if nozzle.measured_rad:
        ends = np.tan(nozzle.measured_rad) / math.tan(nozzle.measured_rad[-1])
        return _peeled(tuple(ends.tolist()), nozzle.measured_share)
    if nozzle.pattern == "hollow cone":
        inner = nozzle.hollow_share
        ring = 1.0 - inner**2
        return ((1.0, 1.0 / ring), (inner, -(inner**2) / ring)) if inner > 0.0 else EVEN
    if nozzle.pattern == "slot":
        ends = np.arange(1, _SLOT_PARTS + 1) / _SLOT_PARTS
        return _peeled(tuple(ends.tolist()), (1.0,) * _SLOT_PARTS)
    return EVEN


def _peeled(ends: tuple[float, ...], caught: tuple[float, ...]) -> Layers:
    """Return patches that end at ``ends`` and together put ``caught`` between them."""
    left = np.array(caught) / sum(caught)
    edges = np.array((0.0, *ends))
    found = []
    for k in range(len(ends) - 1, -1, -1):
        reached = np.minimum(edges / ends[k], 1.0)
        within = 2.0 / math.pi * (reached * np.sqrt(1.0 - reached**2) + np.arcsin(reached))
        parts = np.diff(within)
        share = left[k] / parts[k]
        left = left - share * parts
        found.append((float(ends[k]), float(share)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Header:
    """A pipe across the mat with equally spaced nozzles.

    Parameters
    ----------
    side : {"above", "below"}
        Which side of the mat it sprays from.
    station_mm : float
        Place along the stage [mm].
    mat_distance_mm : float
        Distance of the nozzle tips from the mat surface [mm].
    first_mm : float
        First nozzle, from the mat's left edge [mm].
    pitch_mm : float
        Nozzle pitch [mm].
    count : int
        Number of nozzles.
    pressure_MPa : float
        Gauge pressure at the nozzle [MPa].
    nozzle : Nozzle
        The nozzle all of them are.
    liquid_kg_per_mm3 : float
        Density of what is sprayed [kg/mm³].
    splash_factor : float
        Push on a can over the momentum that strikes it: 1 where the splash runs off sideways, 2
        where all of it is thrown straight back [-].
    pipe_mm : float or None
        Inside diameter of the pipe, None where it is not known [mm].
    pipe_roughness_mm : float
        Roughness of its inside; 0.045 is new steel pipe [mm].
    """

    side: str
    station_mm: float
    mat_distance_mm: float
    first_mm: float
    pitch_mm: float
    count: int
    pressure_MPa: float
    nozzle: Nozzle
    liquid_kg_per_mm3: float = WATER_KG_PER_MM3
    splash_factor: float = 1.0
    pipe_mm: float | None = None
    pipe_roughness_mm: float = 0.045

    def __post_init__(self) -> None:
        one_of("side", self.side, SIDES)
        non_negative("station_mm", self.station_mm)
        positive("mat_distance_mm", self.mat_distance_mm)
        finite("first_mm", self.first_mm)
        positive("pitch_mm", self.pitch_mm)
        whole("count", self.count, 1, MAX_NOZZLES, f"1 to {MAX_NOZZLES} nozzles")
        non_negative("pressure_MPa", self.pressure_MPa)
        positive("liquid_kg_per_mm3", self.liquid_kg_per_mm3)
        between("splash_factor", self.splash_factor, 1.0, 2.0)
        if self.pipe_mm is not None:
            between("pipe_mm", self.pipe_mm, 5.0, 1000.0, "mm")
        between("pipe_roughness_mm", self.pipe_roughness_mm, 0.0, 5.0, "mm")

    @property
    def positions_mm(self) -> NDArray[np.float64]:
        """Nozzle places across the mat from its left edge, shape (count,) [mm]."""
        return self.first_mm + self.pitch_mm * np.arange(self.count, dtype=np.float64)


def medium_of(header: Header) -> str:
    """Return whether a header sprays a ``liquid`` or a ``gas``."""
    return "gas" if header.liquid_kg_per_mm3 < GAS_BELOW_KG_PER_MM3 else "liquid"
