"""Metals a body is made of, and the usual shape of its base, from ``metals.toml``."""

from dataclasses import dataclass
from functools import cache
from typing import Final

from packsim.catalogue.body import Gauges
from packsim.catalogue.rows import Marked, as_marked, load_table, no_such
from packsim.check import positive

METALS: Final = ("aluminium", "steel")
"""The metals of the table."""


@dataclass(frozen=True, slots=True)
class Metal:
    """One body metal with the gauges it is usually ironed to.

    Parameters
    ----------
    id, label : str
        Key and name.
    density_kg_per_m3 : Marked
        Density [kg/m³].
    expansion_per_K : Marked
        Linear thermal expansion [1/K].
    specific_heat_J_per_kgK : Marked
        Specific heat [J/(kg K)].
    base_mm, thin_wall_mm, thick_wall_mm, thick_length_mm : Marked
        Usual gauges, as in `Gauges` [mm].
    """

    id: str
    label: str
    density_kg_per_m3: Marked
    expansion_per_K: Marked
    specific_heat_J_per_kgK: Marked
    base_mm: Marked
    thin_wall_mm: Marked
    thick_wall_mm: Marked
    thick_length_mm: Marked

    @property
    def gauges(self) -> Gauges:
        """The usual gauges with this metal's density."""
        return Gauges(
            self.base_mm.value,
            self.thin_wall_mm.value,
            self.thick_wall_mm.value,
            self.thick_length_mm.value,
            self.density_kg_per_m3.value,
        )


@dataclass(frozen=True, slots=True)
class BaseShape:
    """Shape of a domed base.

    Parameters
    ----------
    dome_depth_mm, dome_rim_radius_mm : float
        The recess that holds the pool [mm].
    bead_radius_mm : float
        Rounding of the stand ring [mm].
    base_height_mm : float
        From the straight wall to the stand ring [mm].
    """

    dome_depth_mm: float
    dome_rim_radius_mm: float
    bead_radius_mm: float
    base_height_mm: float


@cache
def metal(metal_id: str) -> Metal:
    """Return one metal of the table; raise `InputError` if there is none of this key."""
    for row in load_table("metals.toml")["metal"]:
        if row["id"] == metal_id:
            return Metal(**{key: as_marked(value) for key, value in row.items()})
    raise no_such("metal", metal_id, list(METALS))


@cache
def base_rule() -> dict[str, Marked]:
    """Return the base of a 211 body that other diameters are scaled from."""
    return {key: Marked(**value) for key, value in load_table("metals.toml")["base"].items()}


def base_shape(diameter_mm: float) -> BaseShape:
    """Return the usual base of a body: that of the 211 body scaled with the diameter [mm].

    The recess volume then goes as D³. Assumed: depth and stand diameter of the 211 base are from
    memory, the scaling is a guess. A measured depth and rim should replace it, above all where the
    dome holds a pool.

    Examples
    --------
    >>> base_shape(66.09).dome_depth_mm, base_shape(58.0).dome_depth_mm
    (10.0, 8.776)
    """
    rule = base_rule()
    scale = positive("diameter_mm", diameter_mm) / rule["diameter_mm"].value
    return BaseShape(
        rule["dome_depth_mm"].value * scale,
        rule["dome_rim_radius_mm"].value * scale,
        rule["bead_radius_mm"].value * scale,
        rule["base_height_mm"].value * scale,
    )
