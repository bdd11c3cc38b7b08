"""What is known of bodies, each number with its mark: metals, gauges, base; mass and centre."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any, Final

from packsim.errors import InputError, finite, non_negative, one_of, positive

MARKS: Final = ("read", "computed", "memory")
"""``read`` in the source, ``computed`` from other numbers, or from ``memory``."""

METALS: Final = ("aluminium", "steel")
"""The metals of ``metals.toml``."""


@dataclass(frozen=True, slots=True)
class Marked:
    """One number and how it is known.

    Parameters
    ----------
    value : float
        The number, in the unit of the field that holds it.
    mark : {"read", "computed", "memory"}
        How it is known.
    low, high : float or None
        Range it may lie in, where one is known; same unit.
    why : str
        What it was computed from, or what speaks for it.
    """

    value: float
    mark: str
    low: float | None = None
    high: float | None = None
    why: str = ""

    def __post_init__(self) -> None:
        finite("value", self.value)
        one_of("mark", self.mark, MARKS)
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise InputError("value", self.value, f"a value from {low} to {high}")

    @property
    def measured(self) -> bool:
        """Whether the number was read in a source, so that nothing is assumed."""
        return self.mark == "read"

    @property
    def reason(self) -> str:
        """How it is known, in words for an assumption."""
        span = "" if self.low is None else f", may be {self.low:g} to {self.high:g}"
        known = "from memory" if self.mark == "memory" else self.mark
        return f"{known}{span}" + (f": {self.why}" if self.why else "")


def no_such(key: str, got: object, known: list[str]) -> InputError:
    """Return the complaint about a name that is not one of ``known``, closest first."""
    close = get_close_matches(str(got), known, n=3, cutoff=0.4)
    hint = f"{' or '.join(close)} perhaps; " if close else ""
    return InputError(key, repr(got), f"{hint}one of {', '.join(known)}")


def load_table(name: str) -> Mapping[str, Any]:
    """Return one of this package's TOML tables, parsed."""
    text = files("packsim.catalogue").joinpath(name).read_text(encoding="utf-8")
    return tomllib.loads(text)


def as_marked(value: Any) -> Any:
    """Return a table with a mark as `Marked`, anything else as it is."""
    return Marked(**value) if isinstance(value, dict) and "mark" in value else value


@dataclass(frozen=True, slots=True)
class Gauges:
    """Metal thicknesses of a drawn-and-ironed body.

    Parameters
    ----------
    base_mm : float
        Thickness of the base, that of the sheet [mm].
    thin_wall_mm, thick_wall_mm : float
        Thickness of the ironed wall, and of its thick band at the open end [mm].
    thick_length_mm : float
        Height of the thick band [mm].
    density_kg_per_m3 : float
        Density of the metal [kg/m³].
    """

    base_mm: float
    thin_wall_mm: float
    thick_wall_mm: float
    thick_length_mm: float
    density_kg_per_m3: float

    def __post_init__(self) -> None:
        positive("base_mm", self.base_mm)
        positive("thin_wall_mm", self.thin_wall_mm)
        positive("thick_wall_mm", self.thick_wall_mm)
        non_negative("thick_length_mm", self.thick_length_mm)
        positive("density_kg_per_m3", self.density_kg_per_m3)

    def __str__(self) -> str:
        wall = f"wall {self.thin_wall_mm:g} mm, {self.thick_wall_mm:g} mm"
        return f"base {self.base_mm:g} mm, {wall} over {self.thick_length_mm:g} mm"


def body_model(
    diameter_mm: float,
    height_mm: float,
    gauges: Gauges,
    dome_depth_mm: float,
    dome_rim_radius_mm: float,
    bead_radius_mm: float,
    base_height_mm: float,
) -> tuple[float, float]:
    """Return mass [kg] and height of the centre of gravity [mm] of a body, open end down.

    Parameters
    ----------
    diameter_mm, height_mm : float
        Outside diameter and trimmed height of the body [mm].
    gauges : Gauges
        Thicknesses and density.
    dome_depth_mm, dome_rim_radius_mm : float
        The dome recess d and a, a spherical cap [mm].
    bead_radius_mm : float
        Rounding b of the ring it stands on when filled [mm].
    base_height_mm : float
        From the end of the straight wall to that ring, h_b [mm].

    Returns
    -------
    mass_kg, cg_mm : float
        Mass of the dry body [kg] and height of its centre of gravity above the mat [mm].

    Raises
    ------
    InputError
        If the body is too short for thick band and base, or too narrow for its wall and recess.

    Notes
    -----
    Derived here. Five thin shells, with R = D/2, H the height, L the thick band (heights above
    the mat in the last column)::

        thick band   pi (D - t2) L t2                      L/2
        thin wall    pi (D - t1) (H - h_b - L) t1          L + (H - h_b - L)/2
        shoulder     pi (R + q) hypot(R - q, h_b) t0       H - h_b (q + 2R)/(3(q + R))
        bead         2 pi^2 (a + b) b t0                   H
        dome         pi (a^2 + d^2) t0                     H - d/2

    The shoulder is a cone from the wall to the bead's outer radius q = a + 2b, the bead half a
    ring, the dome a spherical cap whose centroid is at half its depth (Archimedes). The base is
    taken at sheet thickness and its folds as sharp, so expect 5 to 10 % in mass; the centre of
    gravity moves by under 2 % over all usual gauges. Coatings and ink are not in it. If there is
    no room for the bead, b shrinks to (R - a)/2.

    Examples
    --------
    >>> light = Gauges(0.25, 0.097, 0.155, 20.0, 2720.0)
    >>> body_model(66.09, 124.3, light, 10.0, 22.5, 1.4, 9.0)
    (0.01018, 74.4)
    """
    wall = 20.0 * max(gauges.thin_wall_mm, gauges.thick_wall_mm)
    if positive("diameter_mm", diameter_mm) < wall:
        raise InputError("diameter_mm", diameter_mm, f"{wall:g} mm or more, 20 walls")
    least = non_negative("base_height_mm", base_height_mm) + gauges.thick_length_mm
    if positive("height_mm", height_mm) < least:
        raise InputError("height_mm", height_mm, f"{least:g} mm or more, thick band and base")
    radius, d = diameter_mm / 2.0, non_negative("dome_depth_mm", dome_depth_mm)
    if (a := non_negative("dome_rim_radius_mm", dome_rim_radius_mm)) > radius:
        raise InputError("dome_rim_radius_mm", a, f"{radius:g} or less")
    b = min(non_negative("bead_radius_mm", bead_radius_mm), (radius - a) / 2.0)
    q = a + 2.0 * b
    band = gauges.thick_length_mm
    straight = height_mm - base_height_mm - band
    t0, t1, t2 = gauges.base_mm, gauges.thin_wall_mm, gauges.thick_wall_mm
    shells = (  # metal volume [mm³], height of its centroid [mm]
        (math.pi * (diameter_mm - t2) * band * t2, band / 2.0),
        (math.pi * (diameter_mm - t1) * straight * t1, band + straight / 2.0),
        (
            math.pi * (radius + q) * math.hypot(radius - q, base_height_mm) * t0,
            height_mm - base_height_mm * (q + 2.0 * radius) / (3.0 * (q + radius)),
        ),
        (2.0 * math.pi**2 * (a + b) * b * t0, height_mm),
        (math.pi * (a * a + d * d) * t0, height_mm - d / 2.0),
    )
    volume = sum(shell for shell, _ in shells)
    cg_mm = sum(shell * at for shell, at in shells) / volume
    return volume * gauges.density_kg_per_m3 * 1e-9, cg_mm


@cache
def metal(metal_id: str) -> dict[str, Any]:
    """Return one row of ``metals.toml``: its name, and each property as `Marked`.

    Raises `InputError` if there is none of this key.
    """
    for row in load_table("metals.toml")["metal"]:
        if row["id"] == metal_id:
            return {key: as_marked(value) for key, value in row.items()}
    raise no_such("metal", metal_id, list(METALS))


def usual_gauges(metal_id: str) -> Gauges:
    """Return the gauges a metal is usually ironed to, and its density; raise as `metal`."""
    row = metal(metal_id)
    return Gauges(*(row[field.name].value for field in fields(Gauges)))


@cache
def base_rule() -> dict[str, Marked]:
    """Return the base of a 211 body that other diameters are scaled from."""
    return {key: Marked(**value) for key, value in load_table("metals.toml")["base"].items()}


def base_shape(diameter_mm: float) -> dict[str, float]:
    """Return the usual base of a body: that of the 211 body scaled with the diameter [mm].

    ``dome_depth_mm`` and ``dome_rim_radius_mm`` are of the recess that holds the pool,
    ``bead_radius_mm`` is the rounding of the stand ring, ``base_height_mm`` goes from the straight
    wall to that ring. The recess volume then goes as D³. Assumed: depth and stand diameter of the
    211 base are from memory, the scaling is a guess. A measured depth and rim should replace it,
    above all where the dome holds a pool.

    Examples
    --------
    >>> base_shape(66.09)["dome_depth_mm"], base_shape(58.0)["dome_depth_mm"]
    (10.0, 8.776)
    """
    rule = base_rule()
    scale = positive("diameter_mm", diameter_mm) / rule["diameter_mm"].value
    return {key: rule[key].value * scale for key in rule if key != "diameter_mm"}
