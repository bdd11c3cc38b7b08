"""What one can body is: its size, where its weight sits, and the lean it can still come back from.

The body stands open end down, so the thick band of the wall is at the mat and the domed base is on
top; the dome recess faces up and holds a pool of liquid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from packsim.constants import GRAVITY_M_PER_S2, WATER_KG_PER_MM3
from packsim.errors import Assumption, InputError, between, non_negative, positive

if TYPE_CHECKING:  # the catalogue is read without arrays
    from packsim.arrays import Floats

Number = TypeVar("Number", float, "Floats")


@dataclass(frozen=True, slots=True)
class Stance:
    """How a can stands at one moment: its weight, where that acts, and its balance angle.

    Parameters
    ----------
    diameter_mm, height_mm : float
        Outside diameter and height of the body [mm].
    mass_kg : float
        Mass of metal and pool together [kg].
    cg_mm : float
        Height above the mat at which their common weight acts; a pool acts at the centre of its
        dome's sphere, above the rim [mm].

    Notes
    -----
    The can tips about the outer rim of its open end, a circle of the full outside diameter. Valid
    for a rigid body on a flat mat.
    """

    diameter_mm: float
    height_mm: float
    mass_kg: float
    cg_mm: float

    def __post_init__(self) -> None:
        positive("diameter_mm", self.diameter_mm)
        positive("height_mm", self.height_mm)
        positive("mass_kg", self.mass_kg)
        positive("cg_mm", self.cg_mm)

    @property
    def radius_mm(self) -> float:
        """Outside radius R = D/2 [mm]."""
        return self.diameter_mm / 2.0

    @property
    def weight_N(self) -> float:
        """Weight m g [N]."""
        return self.mass_kg * GRAVITY_M_PER_S2

    @property
    def balance_angle_rad(self) -> float:
        """Lean at which the centre of gravity stands over the rim, atan(R / h_g) [rad]."""
        return math.atan2(self.radius_mm, self.cg_mm)

    @property
    def arm_mm(self) -> float:
        """Distance from the rim to the centre of gravity, hypot(R, h_g) [mm]."""
        return math.hypot(self.radius_mm, self.cg_mm)

    @property
    def balance_energy_mJ(self) -> float:
        """Energy to the balance angle, weight times the rise of the centre of gravity [mJ]."""
        rise_mm = self.radius_mm**2 / (self.arm_mm + self.cg_mm)  # arm less height, all digits
        return self.weight_N * rise_mm

    def balance_under_load_rad(self, given_rad: float | None) -> float:
        """Return the balance angle given for a load, its own where none is [rad].

        Raises `InputError` if it is negative or a right angle and more.
        """
        if given_rad is None:
            return self.balance_angle_rad
        between("balance_rad", given_rad, 0.0, math.pi / 2.0, "rad")
        if given_rad >= math.pi / 2.0:
            raise InputError("balance_rad", given_rad, "less than π/2 rad")
        return given_rad


@dataclass(frozen=True, slots=True)
class Can:
    """One can size as it rides through the washer: trimmed, not yet necked.

    Parameters
    ----------
    name : str
        The size's own name; never parsed for a dimension.
    diameter_mm : float
        Outside diameter of the body [mm].
    height_mm : float
        Height of the trimmed, un-necked body [mm].
    mass_kg : float
        Mass of the dry body [kg].
    cg_mm : float
        Height of the centre of gravity of the dry body, open end down [mm].
    dome_depth_mm, dome_rim_radius_mm : float
        The recess that holds the pool, a spherical cap of this depth and rim radius [mm].
    diameter_tol_mm : float
        Plus/minus tolerance of the diameter [mm].
    expansion_per_K : float
        Linear thermal expansion of the metal [1/K].
    specific_heat_J_per_kgK : float
        Specific heat of the metal [J/(kg K)].
    assumed : tuple of Assumption
        Every value above that nobody measured for this can.
    """

    name: str
    diameter_mm: float
    height_mm: float
    mass_kg: float
    cg_mm: float
    dome_depth_mm: float
    dome_rim_radius_mm: float
    diameter_tol_mm: float = 0.0
    expansion_per_K: float = 2.394e-5
    specific_heat_J_per_kgK: float = 897.0
    assumed: tuple[Assumption, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        positive("diameter_mm", self.diameter_mm)
        positive("height_mm", self.height_mm)
        positive("mass_kg", self.mass_kg)
        between("cg_mm", self.cg_mm, 0.05 * self.height_mm, 0.95 * self.height_mm, "mm")
        between("diameter_tol_mm", self.diameter_tol_mm, 0.0, 0.2 * self.diameter_mm, "mm")
        between("dome_depth_mm", self.dome_depth_mm, 0.0, 0.5 * self.height_mm, "mm")
        between("dome_rim_radius_mm", self.dome_rim_radius_mm, 0.0, self.diameter_mm / 2.0, "mm")
        non_negative("expansion_per_K", self.expansion_per_K)
        positive("specific_heat_J_per_kgK", self.specific_heat_J_per_kgK)

    @property
    def dome_volume_mm3(self) -> float:
        """Volume the dome recess holds when full to its rim [mm³]."""
        return cap_volume_mm3(self.dome_depth_mm, self.dome_rim_radius_mm)

    def water_kept(self, lean_rad: float) -> float:
        """Return the share of a brim-full dome that stays at a lean, however long it lasts [-].

        The level surface then runs through the low point of the rim: a cap of half angle β − θ is
        left of the one of β, the angle of the rim from the sphere's centre. Derived here.
        """
        rim = 2.0 * math.atan2(self.dome_depth_mm, self.dome_rim_radius_mm)
        if rim <= lean_rad:
            return 0.0
        left, whole = (
            (2.0 + math.cos(half)) * math.sin(half / 2.0) ** 4 for half in (rim - lean_rad, rim)
        )
        return left / whole

    def stance(
        self, pool_fraction: float = 0.0, liquid_kg_per_mm3: float = WATER_KG_PER_MM3
    ) -> Stance:
        """Return the can's stance with its dome recess filled to a share of its volume.

        Parameters
        ----------
        pool_fraction : float
            Filled share of the dome volume, 0 (blown off) to 1 (brim full) [-].
        liquid_kg_per_mm3 : float
            Density of the liquid [kg/mm³].

        Returns
        -------
        Stance
            Mass of body and pool together, and the height it acts at.

        Raises
        ------
        InputError
            If ``pool_fraction`` is outside 0..1 or the density is not above 0.

        Notes
        -----
        The recess is a spherical cap, deepest in the middle, its rim level with the top of the
        inverted can. The liquid in it stays level as the can leans. The recess looks the same from
        its sphere's centre whichever way it is turned, so the liquid keeps its shape and place
        below that centre, and acts there on the can like a weight fixed at it, whatever its share.
        Derived here; a thin film gives the free surface of ships. Spilling is left out: a kick
        tips a can in 0.1 to 0.2 s, and a brim-full dome takes some 0.3 s to lose half its water
        over a rim 5 mm low (flow over a weir).

        Examples
        --------
        >>> can = Can("demo", 66.09, 124.3, 0.0102, 74.2, 10.0, 23.0)
        >>> can.stance().balance_angle_rad * 180 / math.pi
        24.01
        """
        between("pool_fraction", pool_fraction, 0.0, 1.0)
        positive("liquid_kg_per_mm3", liquid_kg_per_mm3)
        volume = pool_fraction * self.dome_volume_mm3
        pool_kg = volume * liquid_kg_per_mm3
        if self.mass_kg + pool_kg == self.mass_kg:  # nothing, or too little for any digit
            return Stance(self.diameter_mm, self.height_mm, self.mass_kg, self.cg_mm)
        depth, rim = self.dome_depth_mm, self.dome_rim_radius_mm
        pool_cg = _pool_cg_mm(self.height_mm, depth, rim)
        mass = self.mass_kg + pool_kg
        cg = (self.mass_kg * self.cg_mm + pool_kg * pool_cg) / mass
        return Stance(self.diameter_mm, self.height_mm, mass, cg)


def _pool_cg_mm(height_mm: Number, depth_mm: Number, rim_mm: Number) -> Number:
    """Height of the centre of the sphere a dome is part of, where its pool acts [mm]."""
    return height_mm - depth_mm + (rim_mm**2 + depth_mm**2) / (2.0 * depth_mm)


class Stances(NamedTuple):
    """Cans as they stand, arrays of one shape; names and meanings as of `Stance`."""

    diameter_mm: Floats
    height_mm: Floats
    mass_kg: Floats
    cg_mm: Floats

    @property
    def weight_N(self) -> Floats:
        """Weight [N]."""
        return self.mass_kg * GRAVITY_M_PER_S2

    @property
    def balance_angle_rad(self) -> Floats:
        """Lean at which the centre of gravity stands over the rim [rad]."""
        import numpy as np

        return np.arctan2(self.diameter_mm / 2.0, self.cg_mm)

    @property
    def arm_mm(self) -> Floats:
        """Distance from the rim to the centre of gravity [mm]."""
        import numpy as np

        return np.hypot(self.diameter_mm / 2.0, self.cg_mm)

    def with_pool(self, depth_mm: Floats, rim_mm: Floats, share: float | Floats) -> Stances:
        """Return these dry cans with a share of their domes filled with water; see `Can.stance`."""
        import numpy as np

        depth = np.maximum(depth_mm, 1e-9)  # a flat base holds nothing, wherever that would act
        pool_kg = share * cap_volume_mm3(depth, rim_mm) * WATER_KG_PER_MM3
        mass = self.mass_kg + pool_kg
        centre = _pool_cg_mm(self.height_mm, depth, rim_mm)
        cg = (self.mass_kg * self.cg_mm + pool_kg * centre) / mass
        return self._replace(mass_kg=mass, cg_mm=cg)


def cap_volume_mm3(depth_mm: Number, rim_radius_mm: Number) -> Number:
    """Volume of a spherical cap, πd(3a² + d²)/6 [mm³].

    Parameters
    ----------
    depth_mm : float
        Depth d of the cap [mm].
    rim_radius_mm : float
        Radius a of its rim [mm].

    Returns
    -------
    float
        Volume [mm³]. Source: any geometry table (Archimedes).

    Examples
    --------
    >>> cap_volume_mm3(1.0, 1.0) * 3 / (2 * math.pi)
    1.0
    """
    return math.pi * depth_mm * (3.0 * rim_radius_mm**2 + depth_mm**2) / 6.0
