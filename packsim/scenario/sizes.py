"""From a size table to a `Can`: out of the catalogue, or of the user's own making."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from packsim.assumption import Assumption
from packsim.can import Can
from packsim.catalogue import Gauges, can_size, custom_can, metal
from packsim.errors import InputError
from packsim.scenario.line_tables import SizeTable

__all__ = ["CAN_FIELDS", "GAUGE_FIELDS", "build_size"]

CAN_FIELDS: Final = {
    "diameter": "diameter_mm",
    "diameter_tol": "diameter_tol_mm",
    "height": "height_mm",
    "mass": "mass_kg",
    "cg_height": "cg_mm",
    "dome_depth": "dome_depth_mm",
    "dome_rim_radius": "dome_rim_radius_mm",
    "expansion": "expansion_per_K",
    "specific_heat": "specific_heat_J_per_kgK",
}
"""Keys of a size table and the fields of `Can` they fill."""

GAUGE_FIELDS: Final = {
    "base": "base_mm",
    "thin_wall": "thin_wall_mm",
    "thick_wall": "thick_wall_mm",
    "thick_length": "thick_length_mm",
    "density": "density_kg_per_m3",
}
"""Keys of its gauges table and the fields of `Gauges` they fill."""

_PER_MM3: Final = 1e9
"""Cubic millimetres in a cubic metre: gauges carry their density per cubic metre."""


def build_size(table: SizeTable, index: int) -> Can:
    """Return one can size.

    Parameters
    ----------
    table : SizeTable
        As the file has it.
    index : int
        Its place among the sizes, for complaints.

    Returns
    -------
    Can
        With its own assumptions and those the file carries along.

    Raises
    ------
    InputError
        With the key path from the file's top.
    """
    try:
        can = _can(table)
    except InputError as problem:
        raise _under(problem, f"sizes[{index}]") from None
    carried = tuple(Assumption(entry.key, entry.value, entry.why) for entry in table.assumed)
    known = {entry.key for entry in carried}
    own = tuple(entry for entry in can.assumed if entry.key not in known)
    return replace(can, assumed=own + carried)


def _can(table: SizeTable) -> Can:
    given: dict[str, float | None] = {name: getattr(table, key) for key, name in CAN_FIELDS.items()}
    made_of, gauges = table.metal or "aluminium", _gauges(table)
    if table.catalogue is not None:
        return can_size(table.catalogue, name=table.name, metal=made_of, gauges=gauges, **given)
    diameter, height = given.pop("diameter_mm"), given.pop("height_mm")
    if diameter is None or height is None:
        key = "diameter" if diameter is None else "height"
        raise InputError(key, "nothing", "a length, or an id under the key catalogue")
    return custom_can(table.name, diameter, height, metal=made_of, gauges=gauges, **given)


def _gauges(table: SizeTable) -> Gauges | None:
    """Return the thicknesses given, with the metal's usual ones for the rest."""
    if table.gauges is None:
        return None
    given = {
        name: getattr(table.gauges, key)
        for key, name in GAUGE_FIELDS.items()
        if getattr(table.gauges, key) is not None
    }
    if "density_kg_per_m3" in given:
        given["density_kg_per_m3"] *= _PER_MM3
    return replace(metal(table.metal or "aluminium").gauges, **given)


def _under(problem: InputError, here: str) -> InputError:
    """Put a complaint of the can or the catalogue under the key as the file has it."""
    keys = {name: key for key, name in CAN_FIELDS.items()} | {key: key for key in CAN_FIELDS}
    keys |= {name: f"gauges.{key}" for key, name in GAUGE_FIELDS.items()}
    key = keys.get(problem.key, "catalogue")
    return InputError(f"{here}.{key}", problem.got, problem.allowed)
